"""Test strips broken in bending: from the load at break to the cracking strength that may be counted on, and its range.

A strip is small and cast by the same hands as the slab, so it beats every formula; but few are broken, and the value
used must be one that nearly all of the concrete reaches. So the low side is a one-sided 5 % fractile for the number of
strips, and the high side (what it may take before it cracks, for steel that must then carry) two deviations up.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["ASSUMED_VARIATION", "StripTest", "fractile_factor", "from_strips", "strength_at_break"]

# Ordinary shops scatter by 10 to 15 % (in the spirit of ACI 214, from memory): the upper end where too few were broken.
ASSUMED_VARIATION = 0.15

# EN 1990:2002, table D1, kn for the 5 % characteristic value, from memory (each is the normal's or Student's 5 % point
# times sqrt(1 + 1 / n), which the tests check): number of tests, scatter known beforehand, scatter from the tests.
_FRACTILE = (
    (1, 2.31, None),
    (2, 2.01, None),
    (3, 1.89, 3.37),
    (4, 1.83, 2.63),
    (5, 1.80, 2.33),
    (6, 1.77, 2.18),
    (8, 1.74, 2.00),
    (10, 1.72, 1.92),
    (20, 1.68, 1.76),
    (30, 1.67, 1.73),
)


@dataclass(frozen=True, slots=True)
class StripTest:
    """Cracking strength [Pa] tested at an age [s]: mean, low (5 % fractile), high (mean + 2 deviations), in words."""

    age: float
    mean: float
    low: float
    high: float
    source: str


def strength_at_break(load: float, *, width: float, depth: float, span: float, points: int = 1) -> float:
    """Cracking strength [Pa] of a strip of width b and depth d on a span L [m] that breaks under a load P [N].

    3 P L / (2 b d2) for one load at midspan (ASTM C293), P L / (b d2) for the load halved onto the third points
    (ASTM C78); the strip's own weight is left out, which is on the safe side.

    >>> round(strength_at_break(1000.0, width=0.1, depth=0.04, span=0.3))
    2812500
    >>> round(strength_at_break(1000.0, width=0.1, depth=0.04, span=0.3, points=2))
    1875000
    """
    if not (load > 0 and width > 0 and depth > 0 and span > 0 and points in (1, 2)):
        raise ValueError(f"no such test: P = {load} N, b = {width} m, d = {depth} m, L = {span} m, {points} points")
    return (1.5 if points == 1 else 1.0) * load * span / (width * depth**2)


def fractile_factor(count: int, *, from_tests: bool) -> float:
    """Factor k of the 5 % value, mean - k deviations, for so many tests (the next lower row).

    from_tests says that the deviation is that of the tests themselves, at least 3. Source: EN 1990:2002, table D1.

    >>> fractile_factor(3, from_tests=True), fractile_factor(7, from_tests=False)
    (3.37, 1.77)
    """
    if count < (3 if from_tests else 1):
        raise ValueError(f"too few tests: {count}")
    _, known, own = next(row for row in reversed(_FRACTILE) if row[0] <= count)
    return own if from_tests and own is not None else known


def from_strips(age: float, mean: float, *, count: int = 1, deviation: float | None = None) -> StripTest:
    """What count strips of a mean strength [Pa] and a standard deviation [Pa], broken at an age [s], are good for.

    Fewer than 3 strips, or no deviation: one of 15 % of the mean is assumed, as if known beforehand. ValueError if the
    strips scatter so widely that no low-side value is left.
    """
    own = deviation if count >= 3 else None
    spread = ASSUMED_VARIATION * mean if own is None else own
    k = fractile_factor(count, from_tests=own is not None)
    low = mean - k * spread
    if not (mean > 0 and low > 0):
        raise ValueError(f"the strips scatter too widely: mean {mean} Pa, deviation {spread} Pa, {count} tests")
    scatter = "a scatter of 15 % assumed" if own is None else f"their scatter {spread / mean:.2g} of the mean"
    strips = "1 test strip" if count == 1 else f"{count} test strips"
    source = f"{strips}, mean less {k:.3g} deviations ({low / mean:.2g} of it, EN 1990 table D1; {scatter})"
    return StripTest(age, mean, low, mean + 2 * spread, source)
