"""Bends or snaps: whether the steel across a crack takes over what the concrete carried when it cracks."""

from __future__ import annotations

from collections.abc import Sequence

from fem.steel.model import Bending, Check, Code, Concrete, Face, Point, Quantity, Verdict
from fem.steel.section import Layer, section_strength, upper_cracking_moment

__all__ = ["bending", "bending_checks", "moved", "takes_over", "verdict_of"]

LEAST_COVER = 0.001


def bending(
    stage: str,
    face: Face,
    at: Point,
    angle: float,
    layers: Sequence[Layer],
    thickness: float,
    placing: float,
    concrete: Concrete,
    code: Code,
) -> Bending:
    """Whether the slab bends or snaps at a place, the concrete being that of the stage.

    layers lie across the crack: depths from the pressed face, areas per width along the pull (a run that lies at an
    angle t to the pull counts with cos2 t). Without steel that works nothing bends.
    """
    low, high = takes_over(layers, thickness, placing, concrete, code)
    return Bending(stage, face, at, angle, low, high, verdict_of(low, high))


def takes_over(
    layers: Sequence[Layer], thickness: float, placing: float, concrete: Concrete, code: Code
) -> tuple[float, float]:
    """Nominal strength of the steel over the upper-bound cracking moment, at the two ends of the placing tolerance.

    The real strength without the code's reductions is compared with concrete that is at its strongest: practice asks
    phi Mn >= Mcr (ACI 318-19 9.6.2) with a modulus of rupture that is a low-side value; what cracks late hits harder.
    """
    cracks = upper_cracking_moment(concrete, thickness)
    low, high = (
        section_strength(moved(layers, by, thickness), thickness, concrete, code).nominal / cracks
        for by in (-placing, placing)
    )
    return min(low, high), max(low, high)


def moved(layers: Sequence[Layer], by: float, thickness: float) -> tuple[Layer, ...]:
    """The layers, all by so much [m] nearer the pulled face, as far as they stay in the slab."""

    def depth(layer: Layer) -> float:
        edge = layer.steel.diameter / 2 + LEAST_COVER
        return min(max(layer.depth + by, edge), thickness - edge)

    return tuple(Layer(depth(layer), layer.area, layer.steel) for layer in layers)


def verdict_of(low: float, high: float) -> Verdict:
    """Bends if both ratios are at least 1, snaps if both are less, else not sure; no steel where both are 0.

    >>> verdict_of(1.1, 1.9), verdict_of(0.4, 0.9), verdict_of(0.4, 1.2), verdict_of(0.0, 0.0)
    ('bends', 'snaps', 'not sure', 'no steel')
    """
    if not low <= high:
        raise ValueError(f"the lower ratio {low} is above the higher {high}")
    if high <= 0:
        return "no steel"
    return "bends" if low >= 1 else "snaps" if high < 1 else "not sure"


def bending_checks(
    found: Bending, layers: Sequence[Layer], thickness: float, placing: float, concrete: Concrete, code: Code
) -> tuple[Check, ...]:
    """The steps of one verdict: what cracks the slab at most, and the strength at both ends of the tolerance."""
    cracks = upper_cracking_moment(concrete, thickness)
    place = f"{found.stage}, {found.face}"
    first = Check(
        "the most it carries before it cracks",
        "12 sqrt(f'c) in psi, or test strips: mean and 2 standard deviations",
        "Mcr,high = fr,high h2 / 6",
        (Quantity("fr,high", concrete.high, "stress"), Quantity("h", thickness, "length")),
        Quantity("Mcr,high", cracks, "moment per length"),
        place=place,
    )
    ends = []
    for by, ratio, words in ((-placing, found.low, "too deep"), (placing, found.high, "too near the face")):
        there = moved(layers, by, thickness)
        ends.append(
            Check(
                "bends or snaps",
                "in the spirit of EN 1992-1-1 9.2.1.1(1)"
                if code == "EN 1992-1-1"
                else "in the spirit of ACI 318-19 9.6.2",
                "r = Mn / Mcr,high at this end of the placing tolerance",
                (
                    *(Quantity(f"d{k + 1}", layer.depth, "length") for k, layer in enumerate(there)),
                    *(Quantity(f"As{k + 1}", layer.area, "area per length") for k, layer in enumerate(there)),
                    Quantity("Mn", ratio * cracks, "moment per length"),
                    Quantity("Mcr,high", cracks, "moment per length"),
                ),
                Quantity("r", ratio, "number"),
                ">=",
                Quantity("1", 1.0, "number"),
                ratio >= 1,
                place=f"{place}, wires {words}",
                note="" if ratio >= 1 else "the steel takes less than what cracked the slab: it snaps there",
            )
        )
    return (first, *ends)
