#!/usr/bin/env python3
"""Computes what src/engine/doubt.rs and src/engine/gauging.rs compute, by another way.

The program adds up contributions of named sources. Here the formulas are written with the numbers of the package
uncertainties, which carry their derivatives along, and correlations are had from it: for H.2 of the GUM from the
printed matrix of correlations, which the program's test takes apart by Cholesky.

Optional, not part of `cargo test`; its results stand in tests/reference/gauging.toml.

    python3 -m venv venv && venv/bin/pip install uncertainties numpy
    venv/bin/python tests/outside/gauging_uncertainties.py           computes every row again and compares
    venv/bin/python tests/outside/gauging_uncertainties.py --rows    draws the cases anew, prints their groups

uncertainties 3.2.3 and numpy 2.4.6 were used when this was written. Ends with 0 when all rows agree, 1 when one
does not, 2 when it cannot run. Sizes in mm, differences and doubts in um, temperatures in C, their doubts in K,
coefficients of expansion in 1e-6/K.
"""

import math
import random
import sys
import tomllib
from pathlib import Path

try:
    from uncertainties import correlated_values, correlation_matrix, ufloat, umath
except ImportError as missing:
    print(f"{missing}: pip install uncertainties numpy", file=sys.stderr)
    sys.exit(2)

TABLE = Path(__file__).resolve().parent.parent / "reference" / "gauging.toml"
STEEL = 11.5


def um(value, doubt):
    # The package warns of a number with a doubt of nought.
    return (ufloat(value, doubt) if doubt else value) / 1000


def growth(expansion, temperature):
    return 1 + expansion * 1e-6 * (temperature - 20)


def thermometer(case):
    """Two temperatures told by one thermometer, each with a doubt of its own beside."""
    common = 1000 * um(0, case["thermometer_k"])
    return tuple(case[name + "_c"] + 1000 * um(0, case[name + "_k"]) + common for name in ("gauge", "part"))


def size(case):
    gauge, part = thermometer(case)
    reading = case["reading_mm"] + um(0, case["step_um"]) + um(0, case["setting_um"])
    return reading * growth(case["gauge_expansion"], gauge) / growth(case["part_expansion"], part)


def on_master(case):
    gauge, part = thermometer(case)
    master = case["master_mm"] + um(0, case["master_um"])
    now = master * growth(STEEL, gauge) + um(case["difference_um"], case["step_um"])
    return now / growth(case["part_expansion"], part)


def on_piston(case):
    """Piston by a steel micrometer, bore by a gauge zeroed on the piston: their clearance."""
    gauge, part = thermometer(case)
    read = case["piston_mm"] + um(0, case["micrometer_um"])
    piston = read * growth(STEEL, gauge) / growth(case["piston_expansion"], part)
    now = piston * growth(case["piston_expansion"], part) + um(case["difference_um"], case["step_um"])
    return now / growth(case["case_expansion"], part) - piston


def by_micrometer(case):
    """Piston by a steel micrometer, bore by a gauge that was set to the same micrometer at a round size."""
    gauge, part = thermometer(case)
    micrometer = um(0, case["micrometer_um"])
    piston = (case["piston_mm"] + micrometer) * growth(STEEL, gauge) / growth(case["piston_expansion"], part)
    now = (case["master_mm"] + micrometer) * growth(STEEL, gauge) + um(case["difference_um"], case["step_um"])
    return now / growth(case["case_expansion"], part) - piston


def bores(case):
    """All diameters of a map, by depth and axis. A gauge's stated doubt is the hand's, new each time, and a common rest."""
    gauge, part = thermometer(case)
    zero = (case["master_mm"] + um(0, case["master_um"])) * growth(STEEL, gauge)
    stated = case.get("stated_um", 0.0)
    hand = case.get("hand_um", stated / 2)
    common = um(0, math.sqrt(max(0.0, stated**2 - hand**2)))
    return {
        tuple(name.split("_")[1:]): (zero + um(value, case["step_um"]) + um(0, hand) + common)
        / growth(case["part_expansion"], part)
        for name, value in case.items()
        if name.startswith("at_")
    }


def one_bore(case):
    """The first of them."""
    return next(iter(bores(case).values()))


def widest(pairs):
    return max((one - other if one.n > other.n else other - one for one, other in pairs), key=lambda apart: apart.n)


def taper(case):
    found = list(bores(case).items())
    return widest((a, b) for (p, a) in found for (q, b) in found if p[1] == q[1] and p[0] < q[0])


def out_of_round(case):
    found = list(bores(case).items())
    return widest((a, b) for (p, a) in found for (q, b) in found if p[0] == q[0] and p[1] < q[1])


def gap(case):
    feeler = um(0, case["feeler_um"])
    now, then = (case[name + "_mm"] + um(0, case["step_um"]) + feeler for name in ("now", "then"))
    return (now - then + um(0, case["ring_um"])) / math.pi


def impedance(what, case):
    """H.2 of the GUM: resistance, reactance and impedance in ohm, from three means and their correlations."""
    rows = [[1, case["r_vi"], case["r_vp"]], [case["r_vi"], 1, case["r_ip"]], [case["r_vp"], case["r_ip"], 1]]
    doubts = [case["u_v"], case["u_i"] / 1000, case["u_p"]]
    matrix = [[rows[a][b] * doubts[a] * doubts[b] for b in range(3)] for a in range(3)]
    v, i, p = correlated_values([case["v"], case["i"] / 1000, case["p"]], matrix)
    found = [v / i * umath.cos(p), v / i * umath.sin(p), v / i]
    one = int(case["of"]) - 1
    if what == "correlation":
        return correlation_matrix(found)[one][int(case["with"]) - 1]
    return found[one].n if what == "value" else found[one].s


KINDS = {
    "size at 20 C": size,
    "bore from a steel master": on_master,
    "clearance, zeroed on the piston": on_piston,
    "clearance, one micrometer": by_micrometer,
    "taper": taper,
    "out of round": out_of_round,
    "growth from the gap": gap,
    "bore by hand": one_bore,
    "taper by hand": taper,
    "out of round by hand": out_of_round,
}


def expected(kind, case):
    """In mm, a doubt in um; of H.2 in ohm."""
    if kind.startswith("H.2, "):
        return impedance(kind.removeprefix("H.2, "), case)
    doubt = kind.startswith("doubt of ")
    found = KINDS[kind.removeprefix("doubt of ")](case)
    return 1000 * found.s if doubt else found.n


def pick(draw, low, high, digits):
    return round(draw.uniform(low, high), digits)


def drawn(kind, draw):
    """The inputs of one case."""
    case = {}
    if kind == "growth from the gap":
        then = pick(draw, 0.15, 0.4, 2)
        case |= {"now_mm": round(then + pick(draw, -0.02, 0.3, 2), 2), "then_mm": then}
        return case | {"step_um": pick(draw, 2, 15, 1), "feeler_um": pick(draw, 0, 10, 1), "ring_um": pick(draw, 0, 9, 1)}
    # One thermometer for both, one for each, or some of each.
    shared = draw.choice([0.0, pick(draw, 0.2, 3, 1)])
    own = (lambda: 0.0) if shared and draw.random() < 0.5 else (lambda: pick(draw, 0.1, 3, 1))
    case |= {"gauge_c": pick(draw, -5, 40, 1), "gauge_k": own(), "part_c": pick(draw, -20, 90, 1), "part_k": own()}
    case |= {"thermometer_k": shared}
    expansion = lambda: draw.choice([23.0, 10.5, 26.0, 11.5])
    bore = pick(draw, 38, 90, 3)
    if kind == "size at 20 C":
        case |= {"reading_mm": draw.choice([bore, pick(draw, 0.02, 1, 3), pick(draw, -0.4, -0.01, 3)])}
        case |= {"step_um": pick(draw, 0.3, 6, 2), "setting_um": pick(draw, 0, 4, 2)}
        return case | {"gauge_expansion": expansion(), "part_expansion": expansion()}
    case |= {"step_um": pick(draw, 0.3, 6, 2)}
    if kind.startswith("clearance"):
        case |= {"piston_mm": bore, "micrometer_um": pick(draw, 1, 6, 2), "piston_expansion": draw.choice([23.0, 19.5])}
        case |= {"difference_um": pick(draw, 20, 140, 0), "case_expansion": expansion()}
        if kind.endswith("micrometer"):
            case |= {"master_mm": round(bore)}
            case["difference_um"] += round(1000 * (bore - round(bore)))
        return case
    case |= {"master_mm": bore, "master_um": pick(draw, 0, 4, 2), "part_expansion": expansion()}
    if kind.startswith("bore from"):
        return case | {"difference_um": pick(draw, -900, 900, 0)}
    if kind.endswith("by hand"):
        # With only one figure given, with the hand said beside it, and with a hand that is all of it.
        stated = pick(draw, 0.5, 6, 2)
        case |= {"stated_um": stated}
        case |= draw.choice([{}, {"hand_um": round(stated * draw.uniform(0.1, 0.95), 2)}, {"hand_um": stated}])
    for depth in ("top", "middle", "bottom")[: draw.choice([2, 3, 3])]:
        for axis in ("across", "along", "left")[: draw.choice([2, 2, 3])]:
            # Half a micrometre apart at least, so that one pair is the widest beyond doubt.
            case[f"at_{depth}_{axis}"] = 2 * len(case) % 7 + pick(draw, 0, 90, 0) + 0.25 * len(case)
    return case


def written(kind, cases, unit, digits):
    print(f"""
[[group]]
kind = "{kind}"
tolerance = 1e-9
tolerance_reason = "the digits written here, in {unit}; both ways are of first order, so only rounding is between them"
source = "tests/outside/gauging_uncertainties.py: the Python package uncertainties 3.2.3"
flag = "COMPUTED"
rows = [""")
    for number, case in enumerate(cases, 1):
        inputs = ", ".join(f"{name} = {float(value)}" for name, value in case.items())
        print(f'    {{ name = "case {number}", expected = {expected(kind, case):.{digits}f}, inputs = {{ {inputs} }} }},')
    print("]")


def rows():
    draw = random.Random(20260301)
    for kind in KINDS:
        cases = [drawn(kind, draw) for _ in range(12)]
        written(kind, cases, "mm", 12)
        written("doubt of " + kind, cases, "um", 11)


def compare():
    groups = tomllib.loads(TABLE.read_text())["group"]
    count, wrong = 0, 0
    for group in (group for group in groups if "gauging_uncertainties.py" in group["source"]):
        for row in group["rows"]:
            off = abs(expected(group["kind"], row["inputs"]) - row["expected"])
            count += 1
            if not off <= group["tolerance"]:
                wrong += 1
                print(f"{group['kind']}, {row['name']}: off by {off}")
    print(f"{count} rows, {wrong} disagree")
    return 1 if wrong or not count else 0


if __name__ == "__main__":
    if sys.argv[1:] == ["--rows"]:
        rows()
    elif sys.argv[1:]:
        print(__doc__, file=sys.stderr)
        sys.exit(2)
    else:
        sys.exit(compare())
