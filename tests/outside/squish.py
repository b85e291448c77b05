#!/usr/bin/env python3
"""Computes squish velocities and head cuts without reedbook's formulas.

Optional, not part of `cargo test`; its figures stand in tests/reference/head.toml. To run it:

    python3 -m venv venv && venv/bin/pip install scipy && venv/bin/python tests/outside/squish.py

(scipy 1.17.1 was used when this was written.)

The chamber is two control volumes, band and bowl, at one density. Each volume is found at each crank angle by
integrating the gap over the radius numerically; the throw that gives the stroke and the two dead centres are found by
root finding. The mass that leaves the band is the finite difference of its mass; the velocity is that mass flow over
density and the ring it crosses. Peaks, clearances, speeds and cuts are searched by scipy.
"""

import math

import scipy
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar


class Crank:
    """The crown's depth below its highest place, from the throw that gives the stroke."""

    def __init__(self, stroke, rod, offset=0.0):
        self.rod, self.offset = rod, offset
        self.throw = brentq(lambda r: self._travel(r) - stroke, stroke / 4, stroke / 2 + 1e-9, xtol=1e-16)
        self.top, self.highest = self._extreme(self.throw, -1)

    def _height(self, throw, angle):
        pin = throw * math.sin(angle) - self.offset
        return throw * math.cos(angle) + math.sqrt(self.rod**2 - pin**2)

    def _extreme(self, throw, sign):
        """Angle and height of the highest (-1) or lowest (+1) place: where the height stops changing."""
        step = 1e-4
        slope = lambda a: self._height(throw, a + step) - self._height(throw, a - step)
        around = 0.0 if sign < 0 else math.pi
        angle = brentq(slope, around - 0.5, around + 0.5, xtol=1e-15)
        return angle, self._height(throw, angle)

    def _travel(self, throw):
        return self._extreme(throw, -1)[1] - self._extreme(throw, 1)[1]

    def depth(self, after_top_deg):
        return self.highest - self._height(self.throw, math.radians(after_top_deg) + self.top)


class Head:
    def __init__(self, bore, bowl, clearance, chamber, angle_deg=0.0):
        self.bore, self.bowl, self.clearance = bore, bowl, clearance
        self.chamber, self.slope = chamber, math.tan(math.radians(angle_deg))

    def gap(self, radius, depth):
        return self.clearance + depth + (self.bore / 2 - radius) * self.slope

    def band_volume(self, depth):
        ring = lambda r: 2 * math.pi * r * self.gap(r, depth)
        return quad(ring, self.bowl / 2, self.bore / 2, epsabs=0, epsrel=1e-13)[0]

    def volume(self, depth):
        return self.chamber + math.pi / 4 * self.bore**2 * depth

    def nearer(self, cut):
        other = Head(self.bore, self.bowl, self.clearance - cut, self.volume(-cut))
        other.slope = self.slope
        return other


CHARGE_KG = 1e-4  # drops out


def velocity(head, crank, before_top_deg, rpm):
    """The flow out of the band over the ring, the flow by central differences of fourth order of the band's mass."""
    step_deg = 0.02

    def mass_in_band(before):
        depth = crank.depth(-before)
        density = CHARGE_KG / head.volume(depth)
        return density * head.band_volume(depth)

    # `before` falls as time passes.
    at = lambda k: mass_in_band(before_top_deg - k * step_deg)
    change = (8 * (at(1) - at(-1)) - (at(2) - at(-2))) / 12
    flow = -change / (step_deg / (6 * rpm))
    depth = crank.depth(-before_top_deg)
    ring = math.pi * head.bowl * head.gap(head.bowl / 2, depth)
    return flow / (CHARGE_KG / head.volume(depth) * ring)


def peak(head, crank, rpm):
    found = minimize_scalar(lambda b: -velocity(head, crank, b, rpm), bounds=(0.5, 60), method="bounded",
                            options={"xatol": 1e-7})
    return -found.fun, found.x


def flat(bore, bowl, clearance, bowl_volume):
    """A head given by its bowl proper instead of its chamber."""
    return Head(bore, bowl, clearance, bowl_volume + math.pi / 4 * bore**2 * clearance)


def main():
    print(f"scipy {scipy.__version__}")
    crank = Crank(0.0545, 0.110)
    offset = Crank(0.0545, 0.110, 0.0012)
    small = Crank(0.0397, 0.085)
    heads = [
        ("flat, bowl 38, 7 cm3, 1.00 mm", flat(0.054, 0.038, 0.00100, 7.0e-6), crank, 12000),
        ("flat, bowl 38, 7 cm3, 0.75 mm", flat(0.054, 0.038, 0.00075, 7.0e-6), crank, 12000),
        ("flat, half the area, 10.5 cm3, 0.75 mm", flat(0.054, 0.054 / math.sqrt(2), 0.00075, 10.5e-6), crank, 12000),
        ("opens 1 degree", Head(0.054, 0.038, 0.00090, 9.0e-6, 1.0), crank, 12500),
        ("opens 8 degrees", Head(0.054, 0.034, 0.00080, 10.0e-6, 8.0), crank, 12500),
        ("closes 1.5 degrees", Head(0.054, 0.038, 0.00110, 9.5e-6, -1.5), crank, 11000),
        ("offset pin, opens 2 degrees", Head(0.054, 0.037, 0.00095, 9.2e-6, 2.0), offset, 12000),
        ("50 cm3, flat", Head(0.040, 0.027, 0.00060, 3.9e-6), small, 13500),
    ]
    for name, head, drive, rpm in heads:
        speed, at = peak(head, drive, rpm)
        print(f"peak    {name}: chamber {head.chamber!r} m3, {speed:.6f} m/s at {at:.4f} deg")
        for before in (40, 20, 5, -15):
            print(f"        {before:4d} deg: {velocity(head, drive, before, rpm):.6f} m/s")
        print(f"        gap volume {head.band_volume(0.0) * 1e6:.9f} cm3")
        if not name.startswith("flat"):
            wanted = 30.0
            cut = brentq(lambda c: peak(head.nearer(c), drive, rpm)[0] - wanted, head.clearance - 0.006,
                         head.clearance - (0.0002 if head.slope >= 0 else 0.0004), xtol=1e-12)
            print(f"        {wanted} m/s with {1000 * (head.clearance - cut):.6f} mm")
            rpm_wanted = brentq(lambda n: peak(head, drive, n)[0] - wanted, 1000, 29000, xtol=1e-6)
            print(f"        {wanted} m/s at {rpm_wanted:.3f} rpm")

    bore, stroke, depth, chamber = 0.054, 0.0545, 0.0270625, 9.5e-6
    area = quad(lambda r: 2 * math.pi * r, 0, bore / 2, epsabs=0, epsrel=1e-13)[0]
    full = lambda c: (area * stroke + chamber - area * c) / (chamber - area * c)
    top = lambda c: (area * depth + chamber - area * c) / (chamber - area * c)
    base = lambda c: (area * (depth + c) + chamber - area * c) / (chamber - area * c)
    for name, ratio, wanted in [("full", full, 15.0), ("full", full, 13.0), ("trapped, top", top, 8.0),
                                ("trapped, top", top, 7.0), ("trapped, base", base, 8.0), ("trapped, base", base, 7.0)]:
        cut = brentq(lambda c: ratio(c) - wanted, -0.003, 0.003, xtol=1e-15)
        print(f"cut     {name} {wanted}: {1000 * cut:.7f} mm")


if __name__ == "__main__":
    main()
