"""Corners: what a bent run is worth at its bend, and a straight one that goes on past the corner."""

from __future__ import annotations

import math

from fem.steel.detailing import HAIR
from fem.steel.model import Check, Quantity, Rules, Steel

__all__ = ["bend_check", "past_corner_check"]


def bend_check(mark: str, steel: Steel, turn: float, inner: bool) -> Check:
    """What a run that turns by turn [rad] is worth at its bend; inner: it bends round an inner corner of the slab.

    A pulled wire presses against the inside of its bend: at an inner corner (a sink's, an L's) that is the thin
    concrete between wire and edge. It breaks away, so what lies past the bend counts nothing. The force is equilibrium,
    the rule common practice, no source: two straight runs that cross at the corner, each anchored past it.
    """
    force = steel.wires * steel.area * (steel.ultimate_strength if steel.brittle else steel.yield_strength)
    out = 2 * force * math.sin(abs(turn) / 2)
    return Check(
        "bend at an inner corner" if inner else "bend",
        "equilibrium of the bend; common practice",
        "R = 2 As fy sin(turn / 2), outward through the cover" if inner else "R = 2 As fy sin(turn / 2)",
        (Quantity("As fy", force, "force"), Quantity("turn", abs(turn), "angle")),
        Quantity("R", out, "force"),
        ok=not inner,
        place=mark,
        note="pulls out of the corner and counts nothing there: lay two straight runs that cross and go on past it"
        if inner
        else "",
    )


def past_corner_check(mark: str, past: float, rules: Rules) -> Check:
    """Whether a straight run goes on far enough [m] past a corner to count there with its full strength."""
    return Check(
        "anchored past the corner",
        "ACI 318-19 7.7.3, 25.4; EN 1992-1-1 8.4",
        "l >= ld, l being what goes on past the corner",
        (),
        Quantity("l", past, "length"),
        ">=",
        Quantity("ld", rules.anchorage, "length"),
        past >= rules.anchorage - HAIR,
        place=mark,
        note="" if past >= rules.anchorage - HAIR else "it counts in proportion; let it run on to the edge",
    )
