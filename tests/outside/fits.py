"""Fits reckoned apart, in decimal arithmetic of 30 digits: the COMPUTED rows of tests/reference/fits.toml for lengths,
interference hot, the temperature at which a part drops in, sleeves and what is left of a bearing's clearance.

Run with any Python 3, no packages: python3 tests/outside/fits.py
Sizes in mm, coefficients in 1e-6/K, temperatures in C, interference and clearance in um.
"""

from decimal import Decimal, getcontext

getcontext().prec = 30


def exact(value):
    return Decimal(str(value))


def grown(size, expansion, temperature):
    return exact(size) * (1 + exact(expansion) * Decimal("1e-6") * (exact(temperature) - 20))


def interference(hole, hole_expansion, hole_c, shaft, shaft_expansion, shaft_c):
    return 1000 * (grown(shaft, shaft_expansion, shaft_c) - grown(hole, hole_expansion, hole_c))


def drops_in(hole, hole_expansion, shaft, shaft_expansion, shaft_c, slip):
    press = interference(hole, hole_expansion, 20, shaft, shaft_expansion, shaft_c)
    return 20 + 1000 * (press + exact(slip)) / (exact(hole_expansion) * exact(hole))


def in_sleeve(case, case_expansion, bearing, bearing_expansion, outside, bore, expansion, passed_on, at):
    in_case = interference(case, case_expansion, at, outside, expansion, at)
    free = interference(bore, expansion, at, bearing, bearing_expansion, at)
    return free + exact(passed_on) * max(in_case, Decimal(0))


def left(initial, shaft, shaft_share, case, case_share, bore, outside, warmer):
    pressed = max(exact(shaft), 0) * exact(shaft_share) + max(exact(case), 0) * exact(case_share)
    raceway = (exact(bore) + 4 * exact(outside)) / 5
    return exact(initial) - pressed - Decimal("12.5e-3") * raceway * exact(warmer)


ROWS = {
    "steel bore of 66.4 read at 32 C": exact(66.4) / grown(1, 11.5, 32),
    "aluminium piston of 53.94 read at 5 C": exact(53.94) / grown(1, 23, 5),
    "52 bearing in aluminium at 100 C": interference(51.97, 23, 100, 51.995, 11.5, 100),
    "52 bearing in magnesium at 100 C": interference(51.97, 26, 100, 51.995, 11.5, 100),
    "liner in a hot cylinder": interference(60, 23, 150, 60.06, 10.5, 180),
    "52 bearing at 20 C into aluminium": drops_in(51.961, 23, 52, 11.5, 20, 20),
    "52 bearing from the freezer": drops_in(51.961, 23, 52, 11.5, -18, 20),
    "warm steel bearing over a cold crank": drops_in(24.99, 11.5, 25.011, 11.5, -18, 10),
    "cold": in_sleeve(57.95, 23, 52, 11.5, 58, 51.995, 11.5, 0.8, 20),
    "at 90 C": in_sleeve(57.95, 23, 52, 11.5, 58, 51.995, 11.5, 0.8, 90),
    "at 140 C the case has let go": in_sleeve(57.95, 23, 52, 11.5, 58, 51.995, 11.5, 0.8, 140),
    "25 x 52 C3": left(20.5, 12, 0.8, 15, 0.7, 25, 52, 10),
    "loose in the case": left(20.5, 12, 0.8, -8, 0.7, 25, 52, 0),
    "outer ring warmer": left(15, 0, 0.8, 0, 0.7, 20, 47, -6),
}

for name, value in ROWS.items():
    print(f"{name}: {value:.9f}")
