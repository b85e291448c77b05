#!/usr/bin/env python3
"""Compares reedbook's reading of airport reports with the PyPI package "metar".

Optional, not part of `cargo test`: it needs Python and `pip install metar`
(version 2.0.2 was used when this was written).

    python3 tests/outside/metar_package.py                          the package against the print
    python3 tests/outside/metar_package.py target/debug/reedbook    and reedbook against the package

Ends with 0 when all agree, 1 when something differs, 2 when it cannot run.
"""

import json
import math
import subprocess
import sys

try:
    from metar import Metar
except ImportError:
    print("The package metar is missing: pip install metar", file=sys.stderr)
    sys.exit(2)

# Each report with the temperature and dew point (C) that it prints, so that the package is
# itself checked. Sources: ICAO Annex 3 examples, published airport reports (under letters that no
# station has), AFMAN 15-111.
REPORTS = [
    ("METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018 "
     "BECMG TL1700 0800 FG BECMG AT1800 9999 NSW", 17.0, 16.0),
    ("SPECI YUDO 151115Z 05025G37KT 3000 1200NE +TSRA BKN005CB 25/22 Q1008 "
     "TEMPO TL1200 0600 BECMG AT1200 8000 NSW NSC", 25.0, 22.0),
    ("ZZSF 240156Z 26016G22KT 9SM BKN012 13/08 A3006 RMK AO2 PK WND 26027/0109 SLP179 "
     "T01280083", 12.8, 8.3),
    ("ZZAB 100156Z 32010KT 280V340 10SM TS FEW033 BKN075CB OVC100 19/14 A2999 RMK AO2 "
     "TSB09RAB09E56 SLP085 T01940144", 19.4, 14.4),
    ("ZZME 230853Z AUTO 18014G18KT 10SM CLR 16/M02 A3008 RMK AO2 SLP117 T01561022", 15.6, -2.2),
    ("ZZVA 171100Z 00000KT 9999 FEW016 BKN250 21/19 Q1013 NOSIG", 21.0, 19.0),
    ("ZZGT 170253Z 02/02 A2990 RMK SLP147 T00220017", 2.2, 1.7),
    ("KABC 170253Z 03/M01 A2990 RMK AO2 SLP982 T00261015", 2.6, -1.5),
]
# Both sides print tenths; anything more is a difference in reading.
TOLERANCE_K = 0.05


def by_package(report):
    decoded = Metar.Metar(report, strict=False)
    return decoded.temp.value("C"), decoded.dewpt.value("C")


def find(document, key):
    """The first number called `key` anywhere in a JSON document."""
    if isinstance(document, dict):
        if isinstance(document.get(key), (int, float)):
            return float(document[key])
        document = list(document.values())
    if isinstance(document, list):
        for part in document:
            found = find(part, key)
            if found is not None:
                return found
    return None


def by_reedbook(binary, report):
    command = [binary, "air", "--metar", report, "--elevation", "0 m", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(command)}\n{done.stderr}")
    document = json.loads(done.stdout)
    found = find(document, "temperature_c"), find(document, "dew_point_c")
    if None in found:
        raise RuntimeError(f"no temperature_c or dew_point_c in\n{done.stdout}")
    return found


def differences(who, report, found, expected):
    names = ("temperature", "dew point")
    return [
        f"{report[:20]}...: {name} is {value:.2f} C by {who}, expected {wanted:.2f} C"
        for name, value, wanted in zip(names, found, expected)
        if not math.isclose(value, wanted, abs_tol=TOLERANCE_K)
    ]


def main():
    if len(sys.argv) > 2:
        print(__doc__)
        return 2
    binary = sys.argv[1] if len(sys.argv) == 2 else None
    problems = []
    for report, temperature, dew_point in REPORTS:
        package = by_package(report)
        problems += differences("the package", report, package, (temperature, dew_point))
        if binary:
            try:
                ours = by_reedbook(binary, report)
            except (OSError, RuntimeError, ValueError) as error:
                print(error, file=sys.stderr)
                return 2
            problems += differences("reedbook", report, ours, package)
    for problem in problems:
        print(problem)
    sides = "reedbook and the package" if binary else "the package and the print"
    print(f"{len(REPORTS)} reports, {len(problems)} differences between {sides}.")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
