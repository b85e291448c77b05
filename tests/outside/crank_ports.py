#!/usr/bin/env python3
"""Crank, windows and angle-areas computed by other means than reedbook's, for tests/reference/crank.toml and ports.toml.

Optional, not part of `cargo test`. To run it:

    python3 -m venv outside && outside/bin/pip install scipy
    outside/bin/python tests/outside/crank_ports.py

It prints each value by the name of its row, in mm, degrees and m/s as the rows have them. Nothing here is
taken from reedbook; where it can, another route is gone:

- the crank: the piston pin is the upper of the two points in which a line meets a circle about the crank pin; top and
  bottom dead centre are searched for as its extremes, and the throw is solved from the stroke between them;
- one depth: the speed that a rigid rod allows, integrated from the top as a differential equation (solve_ivp);
- the window: its open width at each height, from the circles of its corners, integrated (quad);
- angle-area: not area over angle but, with the order of integration turned round, the width at each height times the
  angle for which the piston leaves that height open.
"""

import math

import scipy
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar


class Crank:
    """Stroke, rod and offset in mm; angles in radians, measured from true top dead centre."""

    def __init__(self, stroke, rod, offset=0.0):
        self.rod, self.offset = rod, offset
        self.throw = stroke / 2
        if offset:
            self.throw = brentq(lambda r: self._stroke(r) - stroke, 0.4 * stroke, 0.5 * stroke, xtol=1e-14)
        self.top_angle = self._extreme(self.throw, -1.0, 1.0)
        self.bottom = self._extreme(self.throw, math.pi - 1.0, math.pi + 1.0) - self.top_angle
        self.highest = self._height(self.throw, self.top_angle)
        self.stroke = self.highest - self._height(self.throw, self.top_angle + self.bottom)

    def _height(self, throw, angle):
        """The pin on the line x = offset, a rod away from the crank pin and above it."""
        x, y = throw * math.sin(angle), throw * math.cos(angle)
        return y + math.sqrt(self.rod**2 - (self.offset - x) ** 2)

    def _slope(self, throw, angle):
        """Height for a change of angle: the velocity along the rod is the same at both of its ends."""
        x, y = throw * math.sin(angle), throw * math.cos(angle)
        across, up = self.offset - x, self._height(throw, angle) - y
        return (across * y - up * x) / up

    def _extreme(self, throw, low, high):
        return brentq(lambda angle: self._slope(throw, angle), low, high, xtol=1e-15, rtol=1e-15)

    def _stroke(self, throw):
        top = self._extreme(throw, -1.0, 1.0)
        bottom = self._extreme(throw, math.pi - 1.0, math.pi + 1.0)
        return self._height(throw, top) - self._height(throw, bottom)

    def depth(self, angle):
        return self.highest - self._height(self.throw, angle + self.top_angle)

    def speed(self, angle):
        """Depth for a change of angle, mm a radian."""
        return -self._slope(self.throw, angle + self.top_angle)

    def down(self, depth):
        """Angle at a depth on the way down."""
        return brentq(lambda a: self.depth(a) - depth, 0.0, self.bottom, xtol=1e-15, rtol=1e-15)

    def up(self, depth):
        """Angle at a depth on the way up."""
        return brentq(lambda a: self.depth(a) - depth, self.bottom, 2 * math.pi, xtol=1e-15, rtol=1e-15)


class Window:
    """Depths and measures in mm."""

    def __init__(self, top, floor, width, bridge=0.0, top_radius=0.0, floor_radius=0.0, count=1):
        self.top, self.floor, self.width, self.bridge = top, floor, width, bridge
        self.top_radius, self.floor_radius, self.count = top_radius, floor_radius, count

    def open_width(self, depth):
        """Open width at a depth: from the right-hand edge of the outline to that of the bridge, twice."""
        if not self.top <= depth <= self.floor:
            return 0.0
        edge = self.width / 2
        from_top, from_floor = depth - self.top, self.floor - depth
        for radius, away in ((self.top_radius, from_top), (self.floor_radius, from_floor)):
            if away < radius:
                centre = self.width / 2 - radius
                edge = min(edge, centre + math.sqrt(radius**2 - (radius - away) ** 2))
        return 2 * max(0.0, edge - self.bridge / 2)

    def pieces(self, low, high):
        """The stretch from low to high, cut where the width bends."""
        low, high = max(low, self.top), min(high, self.floor)
        cuts = [self.top + self.top_radius, self.floor - self.floor_radius]
        # Where the arc leaves the bridge the width bends too.
        for radius, edge, sign in ((self.top_radius, self.top, 1), (self.floor_radius, self.floor, -1)):
            over = radius - (self.width - self.bridge) / 2
            if over > 0:
                cuts.append(edge + sign * (radius - math.sqrt(radius**2 - over**2)))
        ends = sorted({low, high, *(cut for cut in cuts if low < cut < high)})
        return zip(ends, ends[1:]) if low < high else []

    def area(self, low, high):
        return sum(integral(self.open_width, a, b) for a, b in self.pieces(low, high))

    def opens(self):
        """The first depth with any width."""
        over = self.top_radius - (self.width - self.bridge) / 2
        return self.top + (self.top_radius - math.sqrt(self.top_radius**2 - over**2) if over > 0 else 0.0)


def integral(function, low, high):
    """Both ends may hold a root: x = low + (high - low)(3u^2 - 2u^3) takes it away."""
    span = high - low
    return quad(
        lambda u: function(low + span * u * u * (3 - 2 * u)) * span * 6 * u * (1 - u),
        0.0, 1.0, epsabs=1e-13, epsrel=1e-13, limit=200,
    )[0]


def angle_area(windows, crank):
    """mm2 deg over the whole opening: each height's width times the angle for which the crown stands below it."""
    total = 0.0
    for window in windows:
        for low, high in window.pieces(0.0, crank.stroke):
            total += window.count * integral(
                lambda y: window.open_width(y) * (crank.up(y) - crank.down(y)), low, high)
    return math.degrees(total)


def skirt_angle_area(windows, skirt, crank):
    """The same for an intake: each height stands open while the skirt is above it, about the top."""
    total = 0.0
    for window in windows:
        for low, high in window.pieces(skirt, skirt + crank.stroke):
            total += window.count * integral(
                lambda y: window.open_width(y) * (crank.down(y - skirt) + 2 * math.pi - crank.up(y - skirt)),
                low, high)
    return math.degrees(total)


def blowdown(exhaust, transfers, crank):
    """Degrees, and mm2 deg until the first transfer opens: width times the angle from its height's opening to then."""
    until = crank.down(min(window.opens() for window in transfers))
    since = crank.down(min(window.opens() for window in exhaust))
    total = 0.0
    for window in exhaust:
        for low, high in window.pieces(0.0, crank.depth(until)):
            total += window.count * integral(
                lambda y: window.open_width(y) * (until - crank.down(y)), low, high)
    return math.degrees(until - since), math.degrees(total)


def show(kind, name, value):
    print(f"{kind:32} {name:44} {value:.12g}")


PLAIN = Crank(54.5, 110.0)
CRANKS = {
    "54.5 x 110": PLAIN,
    "54.5 x 110, offset 1.5": Crank(54.5, 110.0, 1.5),
    "54.5 x 110, offset -1.5": Crank(54.5, 110.0, -1.5),
    "39.2 x 80, offset 6": Crank(39.2, 80.0, 6.0),
    "72 x 125, offset -8": Crank(72.0, 125.0, -8.0),
}

EXHAUST = Window(26.0, 56.0, 42.0, 0.0, 9.0, 12.0)
NEARLY = Window(26.0, 54.502, 42.0, 0.0, 9.0, 12.0)
JUST = Window(26.0, 54.499, 42.0, 0.0, 9.0, 12.0)
BRIDGED = Window(25.5, 54.0, 46.0, 2.5, 8.0, 6.0)
OVAL = Window(26.5, 53.5, 20.0, 3.0, 10.0, 10.0)
AUXILIARY = Window(28.0, 45.0, 9.0, 0.0, 3.5, 4.5, count=2)
TRANSFER = Window(41.0, 54.5, 24.0, 0.0, 3.0, 2.0, count=4)
BOOST = Window(40.2, 54.5, 28.0, 0.0, 4.0, 0.0)
INTAKE = Window(57.0, 86.0, 38.0, 3.0, 6.0, 10.0)
SKIRT = 60.0


def cranks():
    for name, crank in CRANKS.items():
        show("throw mm", name, crank.throw)
        show("bottom deg", name, math.degrees(crank.bottom))
        for angle in (0.5, 15.0, 79.0, 130.0, 200.0, 300.0, 352.0):
            show("depth mm", f"{name} at {angle:g}", crank.depth(math.radians(angle)))
        for share in (0.01, 0.47, 0.75, 0.995):
            depth = share * crank.stroke
            show("down deg", f"{name}, {share:g} of the stroke", math.degrees(crank.down(depth)))
            show("up deg", f"{name}, {share:g} of the stroke", math.degrees(crank.up(depth)))
        per_second = 12_000 * 2 * math.pi / 60 * 1e-3
        best = minimize_scalar(lambda a: -crank.speed(a), bounds=(0.5, 2.5), method="bounded", options={"xatol": 1e-12})
        show("peak speed m/s", f"{name} at 12 000", -best.fun * per_second)
        show("peak speed at deg", f"{name}", math.degrees(best.x))
        show("speed m/s", f"{name} at 250, 12 000", crank.speed(math.radians(250)) * per_second)


def cranks_by_motion():
    """The rod's two conditions as a differential equation in time, from top dead centre to 130 degrees."""
    crank = CRANKS["54.5 x 110, offset 1.5"]

    def motion(angle, state):
        along_crank = angle + crank.top_angle
        x, y = crank.throw * math.sin(along_crank), crank.throw * math.cos(along_crank)
        across, up = crank.offset - x, state[0] - y
        return [(across * y - up * x) / up]

    run = solve_ivp(motion, (0.0, math.radians(130)), [crank.highest], method="DOP853", rtol=1e-13, atol=1e-13)
    show("depth by motion mm", "54.5 x 110, offset 1.5 at 130", crank.highest - run.y[0][-1])


def windows():
    for name, window in {"exhaust": EXHAUST, "bridged": BRIDGED, "oval under a bridge": OVAL}.items():
        show("window full mm2", name, window.area(0.0, 100.0))
        for depth in (26.2, 27.0, 31.0, 40.0, 50.0, 54.5):
            show("window open mm2", f"{name} at {depth:g}", window.area(0.0, depth))
    show("window opens mm", "oval under a bridge", OVAL.opens())
    for depth in (60.0, 70.0, 85.0):
        show("window open from below mm2", f"intake at {depth:g}", INTAKE.area(depth, 200.0))


def areas():
    sets = {"one exhaust": [EXHAUST], "floor just below the crown": [NEARLY], "floor just above the crown": [JUST],
            "bridged": [BRIDGED], "oval": [OVAL],
            "exhaust and auxiliaries": [EXHAUST, AUXILIARY], "transfers and boost": [TRANSFER, BOOST]}
    for crank_name in ("54.5 x 110", "54.5 x 110, offset 1.5"):
        crank = CRANKS[crank_name]
        for name, ports in sets.items():
            show("angle-area mm2 deg", f"{name}, {crank_name}", angle_area(ports, crank))
        degrees, area = blowdown([EXHAUST, AUXILIARY], [TRANSFER, BOOST], crank)
        show("blowdown deg", crank_name, degrees)
        show("blowdown mm2 deg", crank_name, area)
        show("intake angle-area mm2 deg", crank_name, skirt_angle_area([INTAKE], SKIRT, crank))
        travel = INTAKE.floor - SKIRT
        show("intake opens deg", crank_name, math.degrees(crank.up(travel)) - 360)
        show("intake closes deg", crank_name, math.degrees(crank.down(travel)))


if __name__ == "__main__":
    print(f"scipy {scipy.__version__}")
    cranks()
    cranks_by_motion()
    windows()
    areas()
