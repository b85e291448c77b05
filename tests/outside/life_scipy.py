#!/usr/bin/env python3
"""Computes what src/engine/life.rs and src/engine/wear.rs compute, by another way.

Lives: the program solves the equations of the likelihood. Here shape and scale are had from
scipy.stats.weibull_min.fit on censored data and, as a second opinion, from lifelines; the intervals from the
likelihood summed up of scipy's own log-density and log-survival, maximised at each trial by a general search.
Wear: the program centres its sums in floating point. Here the sums are exact fractions, the quantiles
scipy's, and the hours to a limit are where the band, evaluated point by point, is seen to cross it.

Optional, not part of `cargo test`; its results stand in tests/reference/life.toml and wear.toml, the records in
life_records.csv, wear_records.csv and norris.csv there.

    python3 -m venv venv && venv/bin/pip install scipy lifelines
    venv/bin/python tests/outside/life_scipy.py            compares the three ways, prints the differences
    venv/bin/python tests/outside/life_scipy.py --life     prints the computed rows of life.toml
    venv/bin/python tests/outside/life_scipy.py --wear     prints the computed rows of wear.toml

scipy 1.17.1, numpy 2.4.6 and lifelines 0.30.3 were used when this was written. Ends with 0 when scipy and lifelines
agree to a part in 10 000 (lifelines stops its search there), 1 when they do not, 2 when it cannot run.
"""

import csv
import sys
from fractions import Fraction
from pathlib import Path

try:
    import numpy as np
    from lifelines import WeibullFitter
    from scipy.optimize import brentq, minimize_scalar
    from scipy.stats import CensoredData, chi2, t as student, weibull_min
except ImportError as missing:
    print(f"{missing}: pip install scipy lifelines", file=sys.stderr)
    sys.exit(2)

REFERENCE = Path(__file__).resolve().parent.parent / "reference"
LIMITS = [0.1, 1.0, 10.0, 50.0]
LEVELS = [0.5, 0.9, 0.99]


def rows_of(name):
    with open(REFERENCE / name, newline="") as file:
        return list(csv.DictReader(file))


def lives(record):
    """Hours of failures, hours of all others; who failed at unknown hours beyond his is among the others."""
    failed, others = [], []
    for row in rows_of("life_records.csv"):
        if int(row["record"]) == record:
            known = row["failed"] == "1" and row["at_least"] == "0"
            (failed if known else others).append(float(row["hours"]))
    return np.array(failed), np.array(others)


def likelihood(record, shape, scale):
    failed, others = lives_cached(record)
    return (weibull_min.logpdf(failed, shape, scale=scale).sum()
            + weibull_min.logsf(others, shape, scale=scale).sum())


CACHE = {}


def lives_cached(record):
    if record not in CACHE:
        CACHE[record] = lives(record)
    return CACHE[record]


def best_over_shape(record, scale_of):
    """The greatest likelihood over all shapes, the scale following from each."""
    found = minimize_scalar(lambda log: -likelihood(record, np.exp(log), scale_of(np.exp(log))),
                            bounds=(-6.0, 5.0), method="bounded", options={"xatol": 1e-11})
    return -found.fun, np.exp(found.x)


def best_over_scale(record, shape):
    middle = np.log(np.mean(np.concatenate(lives_cached(record))))
    found = minimize_scalar(lambda log: -likelihood(record, shape, np.exp(log)),
                            bounds=(middle - 8.0, middle + 30.0), method="bounded", options={"xatol": 1e-11})
    return -found.fun, np.exp(found.x)


def fit(record):
    failed, others = lives_cached(record)
    data = CensoredData(uncensored=failed, right=others)
    # scipy's own search ends early; its answer is the start of a finer one.
    shape, _, scale = weibull_min.fit(data, floc=0)
    found = minimize_scalar(lambda log: -best_over_scale(record, np.exp(log))[0],
                            bounds=(np.log(shape) - 0.1, np.log(shape) + 0.1), method="bounded",
                            options={"xatol": 1e-9})
    fine = np.exp(found.x)
    return fine, best_over_scale(record, fine)[1], shape, scale


def ends(function, estimate, fall):
    """Where a profile, given over a logarithm, has fallen by so much on both sides."""
    top = function(np.log(estimate))
    result = []
    for way in (-1.0, 1.0):
        step = 0.05
        while top - function(np.log(estimate) + way * step) < fall:
            step *= 1.5
            if step > 13.0:
                break
        if step > 13.0:
            result.append(None)
            continue
        off = brentq(lambda d: top - function(np.log(estimate) + way * d) - fall, 0.0, step, xtol=1e-12)
        result.append(float(estimate * np.exp(way * off)))
    return result


def life_row(kind, record, value, **inputs):
    name = ", ".join([f"record {record}"] + [f"{key} {number}" for key, number in inputs.items()])
    given = ", ".join([f"record = {float(record)}"] + [f"{key} = {float(number)}" for key, number in inputs.items()])
    return kind, f'    {{ name = "{name}", expected = {value:.9g}, inputs = {{ {given} }} }},'


def life_rows():
    rows = []
    for record in (1, 2, 3, 4):
        shape, scale, _, _ = fit(record)
        rows.append(life_row("shape", record, shape))
        rows.append(life_row("ln scale", record, np.log(scale)))
        for level in LEVELS:
            fall = chi2.ppf(level, 1) / 2.0
            low, high = ends(lambda log: best_over_scale(record, np.exp(log))[0], shape, fall)
            rows.append(life_row("shape, low", record, low, level=level))
            rows.append(life_row("shape, high", record, high, level=level))
        for limit in LIMITS + [100.0 * (1.0 - np.exp(-1.0))]:
            hazard = -np.log1p(-limit / 100.0)
            hours = scale * hazard ** (1.0 / shape)
            is_scale = limit in LIMITS
            if is_scale:
                rows.append(life_row("ln hours", record, np.log(hours), limit=limit))
            for level in LEVELS:
                fall = chi2.ppf(level, 1) / 2.0
                low, high = ends(
                    lambda log: best_over_shape(record, lambda b: np.exp(log) * hazard ** (-1.0 / b))[0], hours, fall)
                kind = "ln hours" if is_scale else "ln scale"
                inputs = {"limit": limit, "level": level} if is_scale else {"level": level}
                if low is not None:
                    rows.append(life_row(f"{kind}, low", record, np.log(low), **inputs))
                if high is not None:
                    rows.append(life_row(f"{kind}, high", record, np.log(high), **inputs))
        for shape in (1.5, 3.0):
            best, scale = best_over_scale(record, shape)
            rows.append(life_row("ln scale", record, np.log(scale), shape=shape))
            for level in LEVELS:
                fall = chi2.ppf(level, 1) / 2.0
                low, high = ends(lambda log: likelihood(record, shape, np.exp(log)), scale, fall)
                rows.append(life_row("ln scale, low", record, np.log(low), shape=shape, level=level))
                rows.append(life_row("ln scale, high", record, np.log(high), shape=shape, level=level))
    for shape in (1.0, 2.5, 4.0):
        for confidence in (0.5, 0.9, 0.95):
            # The scale at which the chance of seeing no failure is what the confidence leaves.
            def none_fail(log, shape=shape):
                return weibull_min.logsf(lives_cached(5)[1], shape, scale=np.exp(log)).sum()
            log = brentq(lambda log: none_fail(log) - np.log1p(-confidence), -3.0, 12.0, xtol=1e-13)
            rows.append(life_row("ln bound", 5, log, shape=shape, confidence=confidence))
    for level in (0.5, 0.8, 0.9, 0.95, 0.99, 0.999):
        rows.append(("chi-square", f'    {{ name = "level {level}", expected = {chi2.ppf(level, 1):.12g}, '
                                   f'inputs = {{ level = {level} }} }},'))
    return rows


def readings(record):
    if record == 0:
        return [(Fraction(row["x"]), Fraction(row["y"])) for row in rows_of("norris.csv")]
    return [(Fraction(row["hours"]), Fraction(row["millimetres"])) for row in rows_of("wear_records.csv")
            if int(row["record"]) == record]


class Line:
    """A line of exact fractions."""

    def __init__(self, points):
        self.n = len(points)
        self.t = sum(p[0] for p in points) / self.n
        self.y = sum(p[1] for p in points) / self.n
        self.stt = sum((p[0] - self.t) ** 2 for p in points)
        self.syy = sum((p[1] - self.y) ** 2 for p in points)
        self.sty = sum((p[0] - self.t) * (p[1] - self.y) for p in points)
        self.rate = self.sty / self.stt
        self.s2 = (self.syy - self.sty**2 / self.stt) / (self.n - 2)

    def edge(self, hours, level, side):
        q = student.ppf(0.5 + level / 2.0, self.n - 2)
        away = hours - float(self.t)
        spread = np.sqrt(1.0 + 1.0 / self.n + away**2 / float(self.stt))
        return float(self.y) + float(self.rate) * away + side * q * np.sqrt(float(self.s2)) * spread


def wear_row(kind, record, value, **inputs):
    name = ", ".join([f"record {record}"] + [f"{key} {number}" for key, number in inputs.items()])
    given = ", ".join([f"record = {float(record)}"] + [f"{key} = {float(number)}" for key, number in inputs.items()])
    return kind, f'    {{ name = "{name}", expected = {value:.12g}, inputs = {{ {given} }} }},'


def crossing(function, start, way):
    """The first place from a start, in steps of a tenth of an hour, where a function changes its sign."""
    at, before = start, function(start)
    while abs(at - start) < 5000.0:
        after = function(at + 0.1 * way)
        if before * after <= 0.0:
            return brentq(function, min(at, at + 0.1 * way), max(at, at + 0.1 * way), xtol=1e-13)
        at, before = at + 0.1 * way, after
    return None


def wear_rows():
    rows = []
    for record, worn, side in ((1, 0.50, 1.0), (2, 53.90, -1.0), (3, 0.10, 1.0)):
        line = Line(readings(record))
        rows.append(wear_row("rate", record, float(line.rate)))
        rows.append(wear_row("rate error", record, np.sqrt(float(line.s2 / line.stt))))
        rows.append(wear_row("at zero", record, float(line.y - line.rate * line.t)))
        error = float(line.s2) * (1.0 / line.n + float(line.t**2 / line.stt))
        rows.append(wear_row("at zero error", record, np.sqrt(error)))
        rows.append(wear_row("scatter", record, np.sqrt(float(line.s2))))
        rows.append(wear_row("correlation", record, float(line.sty) / np.sqrt(float(line.stt * line.syy))))
        for level in LEVELS:
            for hours in (10.0, 40.0):
                rows.append(wear_row("next, low", record, line.edge(hours, level, -1.0), hours=hours, level=level))
                rows.append(wear_row("next, high", record, line.edge(hours, level, 1.0), hours=hours, level=level))
            soonest = crossing(lambda h: line.edge(h, level, side) - worn, float(line.t), 1.0)
            latest = crossing(lambda h: line.edge(h, level, -side) - worn, float(line.t), 1.0)
            inputs = {"limit": worn, "least": float(side < 0), "level": level}
            if soonest is not None:
                rows.append(wear_row("soonest", record, soonest, **inputs))
            if latest is not None:
                rows.append(wear_row("latest", record, latest, **inputs))
    for freedom in (1, 2, 3, 4, 7, 10, 34, 100, 1000, 20000):
        for level in (0.5, 0.9, 0.95, 0.999):
            rows.append(("student", f'    {{ name = "{freedom} at {level}", expected = '
                                    f'{student.ppf(0.5 + level / 2.0, freedom):.12g}, '
                                    f'inputs = {{ freedom = {float(freedom)}, level = {level} }} }},'))
    return rows


REASONS = {
    "life": ("1e-06", "the general searches end at some 1e-8, and a flat top doubles the digits lost"),
    "wear": ("1e-09", "half of the last digit printed, twelve"),
    "student": ("1e-08", "far out at one degree of freedom a rounding of the level counts a thousandfold"),
}


def show(rows, name):
    kinds = list(dict.fromkeys(kind for kind, _ in rows))
    for kind in kinds:
        tolerance, reason = REASONS.get(kind, REASONS[name])
        print(f'\n[[group]]\nkind = "{kind}"\ntolerance = {tolerance}\ntolerance_reason = "{reason}"')
        print('source = "scipy 1.17.1, tests/outside/life_scipy.py"\nflag = "COMPUTED"\nrows = [')
        for row in (row for found, row in rows if found == kind):
            print(row)
        print("]")


def compare():
    worst = 0.0
    for record in (1, 2, 3, 4):
        failed, others = lives_cached(record)
        fine, scale, coarse, coarse_scale = fit(record)
        fitter = WeibullFitter().fit(np.concatenate([failed, others]),
                                     np.concatenate([np.ones(len(failed)), np.zeros(len(others))]))
        off = [abs(coarse / fine - 1), abs(coarse_scale / scale - 1),
               abs(fitter.rho_ / fine - 1), abs(fitter.lambda_ / scale - 1)]
        worst = max(worst, *off)
        print(f"record {record}: shape {fine:.7f}, scale {scale:.4f}; off by",
              ", ".join(f"{value:.1e}" for value in off), "(scipy, scipy, lifelines, lifelines)")
    return 0 if worst < 1e-4 else 1


if __name__ == "__main__":
    if sys.argv[1:] == ["--life"]:
        show(life_rows(), "life")
    elif sys.argv[1:] == ["--wear"]:
        show(wear_rows(), "wear")
    else:
        sys.exit(compare())
