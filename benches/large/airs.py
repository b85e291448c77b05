"""Moist density of every air of a CSV (temp in C, baro in hPa, humidity in %), the columns that `reedbook air --csv` adds.

    airs.py numpy FROM TO
    airs.py coolprop FROM TO

With numpy: read, computed over whole columns, written, by the CIPM-2007 equation (Picard, Davis, Glaeser, Fujii,
Metrologia 45, 2008, 149-155), its constants from memory: a peer for the time that it takes, no reference for values. With
CoolProp: one value at a time by HAPropsSI, density alone.
"""

import sys


def by_numpy(source, to):
    import numpy as np

    temp, baro, humidity = np.loadtxt(source, delimiter=",", skiprows=1, unpack=True)
    kelvin, pascal, share = temp + 273.15, baro * 100.0, humidity / 100.0
    saturated = np.exp(1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin)
    enhanced = 1.00062 + 3.14e-8 * pascal + 5.6e-7 * temp**2
    vapour = share * enhanced * saturated
    moles = vapour / pascal
    compressed = (
        1.0
        - pascal
        / kelvin
        * (
            1.58123e-6
            - 2.9331e-8 * temp
            + 1.1043e-10 * temp**2
            + (5.707e-6 - 2.051e-8 * temp) * moles
            + (1.9898e-4 - 2.376e-6 * temp) * moles**2
        )
        + (pascal / kelvin) ** 2 * (1.83e-11 - 0.765e-8 * moles**2)
    )
    density = pascal * 28.96546e-3 / (compressed * 8.314472 * kelvin) * (1.0 - moles * (1.0 - 18.01528 / 28.96546))
    dry = density * (1.0 - moles * 18.01528 / 28.96546 / (1.0 - moles * (1.0 - 18.01528 / 28.96546)))
    relative = density / 1.225 * 100.0
    altitude = 44_330.77 * (1.0 - (density / 1.225) ** 0.234969)
    logarithm = np.log(np.maximum(vapour, 1e-9) / 611.2)
    dew = 243.12 * logarithm / (17.62 - logarithm)
    doubt = density * np.sqrt((0.5 / kelvin) ** 2 + (100.0 / pascal) ** 2 + (0.05 * 0.378 * saturated / pascal) ** 2)
    columns = np.column_stack(
        (temp, baro, humidity, density, dry, relative, altitude, baro, dew, humidity, vapour / 100.0, doubt)
    )
    np.savetxt(
        to, columns, "%g,%g,%g,%.6f,%.6f,%.3f,%.1f,%.2f,%.2f,%.2f,%.3f,%.6f", header="temp,baro,humidity,...", comments=""
    )


def by_coolprop(source, to):
    from CoolProp.CoolProp import HAPropsSI

    with open(source) as lines, open(to, "w") as out:
        next(lines)
        for line in lines:
            temp, baro, humidity = (float(value) for value in line.split(","))
            volume = HAPropsSI("Vha", "T", temp + 273.15, "P", baro * 100.0, "R", humidity / 100.0)
            out.write(f"{line.rstrip()},{1.0 / volume:.6f}\n")


if __name__ == "__main__":
    {"numpy": by_numpy, "coolprop": by_coolprop}[sys.argv[1]](sys.argv[2], sys.argv[3])
