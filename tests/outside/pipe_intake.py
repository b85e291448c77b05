#!/usr/bin/env python3
"""Computes what src/engine/pipe.rs and src/engine/intake.rs compute, by other ways.

Optional, not part of `cargo test`; its results stand in tests/reference/pipe.toml and intake.toml.

    python3 -m venv venv && venv/bin/pip install scipy cantera
    venv/bin/python tests/outside/pipe_intake.py

scipy 1.17.1 and cantera 3.2.0 were used when this was written. Ends with 0 when the checks it makes
of itself hold, 1 when one does not, 2 when it cannot run.
"""

import math
import sys

try:
    import cantera
    import numpy as np
    import scipy
    from scipy.integrate import quad, solve_ivp
    from scipy.optimize import brentq
    from scipy.special import i1, j1, jn_zeros, k1
except ImportError as missing:
    print(f"{missing}: pip install scipy cantera", file=sys.stderr)
    sys.exit(2)

GAMMA, R = 1.40, 287.05


def volume_of_revolution(length, inlet, outlet):
    """The cone turned about its axis, summed slice by slice."""
    radius = lambda x: 0.5 * (inlet + (outlet - inlet) * x / length)
    return quad(lambda x: math.pi * radius(x) ** 2, 0.0, length, epsabs=0.0, epsrel=1e-13)[0]


def angle_between_sides(length, inlet, outlet):
    """The two sides as vectors, and the angle between them; positive when they part."""
    upper = np.array([length, (outlet - inlet) / 2])
    lower = np.array([length, (inlet - outlet) / 2])
    cross = lower[0] * upper[1] - lower[1] * upper[0]
    return math.degrees(math.atan2(cross, upper @ lower))


def sections():
    print("section: length mm, inlet mm, outlet mm -> volume cm3, included angle degrees")
    for section in [(300.0, 38.0, 44.0), (250.0, 44.0, 90.0), (120.0, 118.0, 118.0),
                    (260.0, 118.0, 26.0), (40.0, 30.0, 110.0)]:
        volume = volume_of_revolution(*section) * 1e-3
        print(f"  {section} -> {volume:.6f} {angle_between_sides(*section):.6f}")


def echo_speed(duration, temperatures, length):
    """Speed at which a wave sent out as the exhaust opens is back as it closes.

    The wave is followed through gas whose temperature falls along the pipe from the first to the second value; equal
    values are the case of the closed formula. Gives the speed and the length of the way there.
    """
    hot, cool = temperatures
    a = lambda x: math.sqrt(GAMMA * R * (hot + (cool - hot) * x / length))
    arrive = lambda t, y: y[0] - length
    arrive.terminal = True
    out = solve_ivp(lambda t, y: [a(min(y[0], length))], (0.0, 1.0), [0.0], events=arrive,
                    rtol=1e-11, atol=1e-13)
    back_after = 2.0 * out.t_events[0][0]
    open_for = lambda rpm: (duration / 360.0) * (60.0 / rpm)
    return brentq(lambda rpm: open_for(rpm) - back_after, 100.0, 100_000.0, xtol=1e-10)


def tuned_speeds():
    print("tuned speed: duration deg, K at both ends, length m -> rpm, wave speed m/s")
    for duration, kelvin, length in [(195.0, 668.15, 0.70), (180.0, 873.15, 0.85), (202.0, 773.15, 0.62)]:
        rpm = echo_speed(duration, (kelvin, kelvin), length)
        print(f"  {duration} {kelvin} {length} -> {rpm:.5f} {math.sqrt(GAMMA * R * kelvin):.6f}")
        step = 0.5
        per_kelvin = (echo_speed(duration, (kelvin + step, kelvin + step), length)
                      - echo_speed(duration, (kelvin - step, kelvin - step), length)) / (2 * step)
        hotter = echo_speed(duration, (kelvin + 60, kelvin + 60), length)
        print(f"      rpm per kelvin {per_kelvin:.6f}, 60 K hotter {hotter:.5f}")
    uneven = echo_speed(195.0, (923.15, 523.15), 0.70)
    even = echo_speed(195.0, (723.15, 723.15), 0.70)
    print(f"  gas from 650 C at the piston to 250 C at the baffle: {uneven:.1f} rpm; all at the mean 450 C: {even:.1f} rpm")


def frozen_gamma():
    print("dry air: C -> its own gamma, frozen speed of sound m/s, sqrt(1.40 R T) over it")
    air = cantera.Solution("air.yaml")
    for celsius in [20.0, 350.0, 395.0, 500.0, 550.0, 600.0]:
        kelvin = celsius + 273.15
        air.TPX = kelvin, 101325.0, "O2:0.20946, N2:0.78084, AR:0.00934"
        gamma = air.cp / air.cv
        sound = math.sqrt(gamma * cantera.gas_constant / air.mean_molecular_weight * kelvin)
        print(f"  {celsius} -> {gamma:.5f} {sound:.4f} {math.sqrt(GAMMA * R * kelvin) / sound:.5f}")
    # Burnt gas for comparison: complete products of petrol taken as iso-octane, lambda 0.9 would add CO and H2.
    gas = cantera.Solution("gri30.yaml")
    for celsius in [395.0, 600.0]:
        gas.TPX = celsius + 273.15, 101325.0, "CO2:8, H2O:9, N2:47"
        sound = math.sqrt(gas.cp / gas.cv * cantera.gas_constant / gas.mean_molecular_weight * gas.T)
        print(f"  burnt gas at {celsius}: gamma {gas.cp / gas.cv:.4f}, {sound:.2f} m/s, "
              f"R {cantera.gas_constant / gas.mean_molecular_weight:.2f}")


def swing(pieces, case, kelvin, speed=0.02):
    """A slug of air on the spring of the case, integrated in time: the mean period over ten swings.

    `pieces` are (length, area); the case is compressed without loss of heat, pressure against volume as it is and not made
    linear; the push is small, so that the period is that of a small swing. The inertia is the kinetic energy of all pieces.
    """
    density = 101325.0 / (R * kelvin)
    area = pieces[0][1]
    # Kinetic energy of the flow seen at the first piece's area: rho/2 sum(l a (area/a)^2) u^2.
    mass = density * sum(length * a * (area / a) ** 2 for length, a in pieces)

    def motion(_, y):
        moved, flow = y
        pressure = 101325.0 * (case / (case + area * moved)) ** GAMMA
        return [flow, (pressure - 101325.0) * area / mass]

    inward = lambda t, y: y[0]
    inward.direction = 1.0
    run = solve_ivp(motion, (0.0, 0.4), [0.0, speed], events=inward, rtol=1e-11, atol=1e-16)
    crossings = run.t_events[0]
    crossings = crossings[crossings > 1e-6][:11]
    assert len(crossings) == 11
    return (crossings[-1] - crossings[0]) / 10.0


def tract(bore_mm, length_m):
    return length_m, math.pi / 4 * (bore_mm * 1e-3) ** 2


def intakes():
    print("intake: pieces (bore mm, length m), case cm3, K -> Hz, one swing a revolution rpm, at 160 degrees rpm")
    for pieces, case_cm3, kelvin in [([(36.0, 0.18)], 462.5, 293.15), ([(28.0, 0.12)], 300.0, 303.15),
                                     ([(38.0, 0.10), (34.0, 0.08), (45.0, 0.03)], 462.5, 293.15)]:
        period = swing([tract(*piece) for piece in pieces], case_cm3 * 1e-6, kelvin)
        revolution = 60.0 / period
        # The crank turns 160 degrees while the slug swings one way.
        timed = 160.0 / (period / 2.0) / 360.0 * 60.0
        print(f"  {pieces} {case_cm3} {kelvin} -> {1.0 / period:.6f} {revolution:.5f} {timed:.5f}")


def free_end():
    """Levine and Schwinger's integral for an unflanged, thin-walled tube end at low frequency, in radii.

    They print 0.6133 (from memory); the integral itself gives 0.6127.
    """
    integrand = lambda x: -math.log(2.0 * i1(x) * k1(x)) / (x * x)
    # Near 0, where the logarithm is lost in rounding, 2 I1 K1 = 1 + x^2/2 (ln(x/2) + Euler's constant - 1/4).
    least = 1e-3
    near_nothing = -least / 2 * (math.log(least / 2) - 1.0 + np.euler_gamma - 0.25)
    # Past 200 it is ln(x) to one part in 10^5.
    far = (math.log(200.0) + 1.0) / 200.0
    middle = quad(integrand, least, 1.0, limit=400)[0] + quad(integrand, 1.0, 200.0, limit=400)[0]
    return (near_nothing + middle + far) / math.pi


def flush_end(modes=60):
    """End correction of a tube flush with an infinite wall at low frequency, in radii, by matching modes.

    Outside, a mouth velocity u(r) makes the potential integral U(k) J0(k r) dk with U its Hankel transform; inside, it is a steady
    flow and modes J0(j r) that die away. The flow is taken as 1 + sum(c_n J0(j_n r)/J0(j_n)), the potential continuous.
    """
    zeros = jn_zeros(1, modes)

    # Hankel transforms over the unit disc of 1 and of J0(j_n r)/J0(j_n).
    k = np.linspace(1e-6, 400.0, 200_001)
    h = k[1] - k[0]
    weights = np.full(k.size, h)
    weights[0] = weights[-1] = h / 2
    transforms = [j1(k) / k] + [k * j1(k) / (k * k - z * z) for z in zeros]
    gram = np.array([[np.sum(weights * a * b) for b in transforms] for a in transforms])
    # Beyond the last k each product is 1/k^3 times cos^2(k - 3 pi/4), whose mean is half.
    gram += (2.0 / math.pi) * 0.5 / (2.0 * k[-1] ** 2)
    # Projected on mode n: outside sum(gram c) equals inside -c_n/(j_n) times the norm 1/2.
    inner = gram[1:, 1:] + np.diag(1.0 / (2.0 * zeros))
    amplitudes = np.linalg.solve(inner, -gram[1:, 0])
    return 2.0 * (gram[0, 0] + gram[0, 1:] @ amplitudes)


def main():
    print(f"scipy {scipy.__version__}, cantera {cantera.__version__}")
    sections()
    tuned_speeds()
    frozen_gamma()
    intakes()
    free, flush = free_end(), flush_end()
    print(f"end correction in radii: free {free:.5f}, flush {flush:.5f} (a stiff piston in the wall: {8 / (3 * math.pi):.5f})")
    if abs(free - 0.613) > 1e-3 or abs(flush - 0.8217) > 1e-3:
        print("An end correction is not the one in the program.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
