"""Ceramic balls, sleeves and warm seats reckoned apart, in decimal arithmetic of 30 digits: COMPUTED rows of
tests/reference/fits_warm.toml.

Nothing of the program's model is used. A bearing is two raceways and a ball, each as large as its own temperature makes it;
what is left between them is measured. A temperature where a fit is nought is found by halving.

Run with any Python 3, no packages: python3 tests/outside/fits_ceramic.py
Sizes in mm, coefficients in 1e-6/K, temperatures in C, clearance in um.
"""

from decimal import Decimal, getcontext

getcontext().prec = 30
STEEL, CERAMIC = "12.5", "3.0"


def exact(value):
    return Decimal(str(value))


def grown(size, expansion, temperature):
    return exact(size) * (1 + exact(expansion) * Decimal("1e-6") * (exact(temperature) - 20))


def clearance(bore, outside, ball, cold_um, ball_expansion, inner_c, outer_c, ball_c):
    """Diametral clearance, um, of three bodies at three temperatures."""
    outer = (exact(bore) + 4 * exact(outside)) / 5
    inner = outer - 2 * exact(ball) - exact(cold_um) / 1000
    warm = grown(outer, STEEL, outer_c) - grown(inner, STEEL, inner_c) - 2 * grown(ball, ball_expansion, ball_c)
    return 1000 * warm


def gain(bore, outside, ball, cold_um, inner_c, outer_c):
    """What ceramic balls leave more than steel ones, both as warm as the inner ring."""
    with_balls = lambda expansion: clearance(bore, outside, ball, cold_um, expansion, inner_c, outer_c, inner_c)
    return with_balls(CERAMIC) - with_balls(STEEL)


def nought(fit):
    """Halves 20 to 400 C until a fit that loosens with heat is nought."""
    low, high = Decimal(20), Decimal(400)
    assert fit(low) > 0 > fit(high)
    for _ in range(90):
        middle = (low + high) / 2
        low, high = (middle, high) if fit(middle) > 0 else (low, middle)
    return low


def in_sleeve(case, case_expansion, bearing, outside, bore, expansion, share, at, bearing_c, in_place):
    press = lambda c: max(grown(outside, expansion, c) - grown(case, case_expansion, c), Decimal(0))
    # A bore cut in place is wider on the bench by what the case had closed.
    given = exact(bore) + (exact(share) * press(20) if in_place else 0)
    return grown(bearing, "11.5", bearing_c) - grown(given, expansion, at) + exact(share) * press(at)


def sleeve_nought(case, case_expansion, bearing, outside, bore, expansion, share, in_place):
    return nought(lambda c: in_sleeve(case, case_expansion, bearing, outside, bore, expansion, share, c, c, in_place))


def sleeve_drops_in(case, case_expansion, bearing, bearing_c, slip_um, outside, bore, expansion, share, in_place):
    fit = lambda c: in_sleeve(case, case_expansion, bearing, outside, bore, expansion, share, c, bearing_c, in_place)
    return nought(lambda c: fit(c) + exact(slip_um) / 1000)


def simple_nought(hole, hole_expansion, shaft, shaft_expansion):
    return nought(lambda c: grown(shaft, shaft_expansion, c) - grown(hole, hole_expansion, c))


ROWS = {
    "25 x 52, ball 7.94, inner at 110 C": gain(25, 52, 7.94, 20, 110, 90),
    "25 x 62, ball 11.5, inner at 130 C": gain(25, 62, 11.5, 15, 130, 110),
    "20 x 47, ball 7.94, cold morning": gain(20, 47, 7.94, 12, -10, -10),
    "steel, 25 x 52, 100 and 90 C": clearance(25, 52, 7.94, 20.5, STEEL, 100, 90, 100),
    "ceramic, 25 x 52, 100 and 90 C": clearance(25, 52, 7.94, 20.5, CERAMIC, 100, 90, 100),
    "ceramic, 25 x 62, 130 and 110 C": clearance(25, 62, 11.5, 15, CERAMIC, 130, 110, 130),
    "ceramic, 25 x 62, balls 10 K cooler": clearance(25, 62, 11.5, 15, CERAMIC, 130, 110, 120),
    "62 in aluminium": simple_nought(61.961, 23, 62, 11.5),
    "62 in magnesium": simple_nought(61.961, 26, 62, 11.5),
    "steel sleeve in aluminium, case still holds": sleeve_nought(67.94, 23, 62, 68, 62.01, 11.5, 0.8, False),
    "aluminium sleeve in magnesium": sleeve_nought(67.94, 26, 62, 68, 61.99, 23, 0.8, False),
    "aluminium sleeve let go first": sleeve_nought(67.995, 26, 62, 68, 61.95, 23, 0.8, False),
    "bored in place": sleeve_nought(67.94, 23, 62, 68, 61.985, 11.5, 0.8, True),
    "drops into a pressed sleeve": sleeve_drops_in(67.94, 23, 62, 20, 30, 68, 61.99, 11.5, 0.8, False),
    "out of the freezer into one bored in place": sleeve_drops_in(67.94, 23, 62, -18, 30, 68, 61.985, 11.5, 0.8, True),
    "the case has let go before": sleeve_drops_in(67.99, 23, 62, 20, 30, 68, 61.985, 11.5, 0.8, False),
}

for name, value in ROWS.items():
    print(f"{name}: {value:.9f}")
