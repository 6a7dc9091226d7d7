"""From the form to the site: stripped, turned, carried, hauled; each moment one or two stages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint

from api.life.defaults import DEFAULTS, shown
from api.life.draft import Draft, Making
from api.life.sides import Side, chord, parts_on
from api.strength import earliest_compressive_age
from api.units import FORCE, PRESSURE, TIME, in_words

__all__ = ["carried", "hauled", "stripped", "turned"]

Point = tuple[float, float]

LEAST_BEARER = 0.050
HAND = 0.1016
# So far within an edge a line surely lies on the concrete [m].
HAIR = 1e-3
# More hands tried where so many do not balance the piece; so far within them its middle has to be [m].
MORE = 12
BALANCE = 0.030
BEARERS = (1 / 6, 1 / 2, 5 / 6)
STRAPS = (0.2, 0.8)


def stripped(making: Making) -> list[Draft]:
    """One long side stays on the bed, hands lift the other; the form clings evenly, and along a line that travels."""
    choice, life = making.choice, making.case.life
    assert life is not None
    _young(making)
    bed = making.side(life.strip.bed, "life.strip.bed")
    supports = [_edge(bed, "bed under the long side"), *_lifting(making, bed, "strip", life.strip.hands)]
    up, pull = choice.value("strip.up"), choice.number("strip.form_pull")
    drafts = [making.draft("strip", "strip", up, form_pull=pull, support=supports)]
    if choice.value("strip.peel"):
        first, last = _fronts(making, bed)
        line = {
            "name": "where the form lets go",
            "kind": "line",
            "points": first,
            "to": last,
            "force_per_length": pull * choice.number("strip.band"),
        }
        drafts.append(making.draft("strip", "strip, peeling", up, multiplier=1.0, support=supports, load=[line]))
    return drafts


def turned(making: Making) -> list[Draft]:
    """About one long edge on foam: first rising as it lay, then let down show face up; one stage if it lay so."""
    choice, life = making.choice, making.case.life
    assert life is not None
    side = making.side(life.turn.down, "life.turn.down")
    foam = {**_edge(side, "foam under the edge"), "stiffness": choice.number("turn.foam"), "carries": "both"}
    supports = [foam, *_lifting(making, side, "turn", life.turn.hands)]
    common: dict[str, Any] = {"posture": "turning", "down": side.points, "support": supports}
    if choice.value("strip.up") == "show":
        return [making.draft("turn", "turn", "show", **common)]
    return [
        making.draft("turn", "turn, rising", "underside", **common),
        making.draft("turn", "turn, letting down", "show", **common),
    ]


def carried(making: Making) -> list[Draft]:
    """On edge, two hands under it and two at the top; flat as well where the case asks for it."""
    choice, life = making.choice, making.case.life
    assert life is not None
    side = making.side(life.carry.down, "life.carry.down")
    limit = {} if life.carry.limit is None else {"limit": life.carry.limit}
    hands = []
    for k, t in enumerate(_grips(side, choice.number("carry.grip")), 1):
        t_low = min(max(t, 0.0), side.length)
        lower = {"kind": "hand", "at": side.near(t_low), "carries": "both", **limit}
        upper = {"kind": "hand", "at": side.inside(t, making.slab, far=True), "carries": "face", **limit}
        hands += [{"name": f"hand {k} under it", **lower}, {"name": f"hand {k} at the top", **upper}]
    across = choice.number("carry.across")
    drafts = [making.draft("carry", "carry", "show", posture="on edge", down=side.points, across=across, support=hands)]
    return [*drafts, _carried_flat(making, side)] if life.carry.flat else drafts


def hauled(making: Making) -> list[Draft]:
    """Leaning on foam, shaken across; or flat on bearers, each missing in turn."""
    choice, life = making.choice, making.case.life
    assert life is not None
    side = making.side(life.haul.down, "life.haul.down")
    if life.haul.flat:
        return [making.draft("haul", "haul", "show", support=_bearers(making, side))]
    area = {
        "name": "foam behind",
        "kind": "area",
        "points": _around(making),
        "action": "rest",
        "stiffness": choice.number("haul.foam"),
        "carries": "face",
    }
    edge = {**_edge(side, "foam under the edge"), "stiffness": choice.number("haul.edge_foam"), "carries": "edge"}
    leaning: dict[str, Any] = {"posture": "leaning", "angle": choice.number("haul.angle"), "down": side.points}
    across = choice.number("haul.across")
    return [
        making.draft("haul", "haul", "show", **leaning, across=across, support=[area, edge, *_straps(making, side)])
    ]


def _straps(making: Making, side: Side) -> list[dict[str, Any]]:
    """Two straps round piece and frame, which keep it on the foam when the lorry swerves."""
    low, high = side.extent
    stiffness = making.choice.number("haul.strap")
    supports: list[dict[str, Any]] = []
    for k, share in enumerate(STRAPS, 1):
        line = chord(side, low + share * (high - low))
        for j, part in enumerate(parts_on(line, making.slab, LEAST_BEARER), 1):
            name = f"strap {k}" if j == 1 else f"strap {k}, part {j}"
            supports.append(
                {
                    "name": name,
                    "kind": "line",
                    "points": part,
                    "action": "hold",
                    "stiffness": stiffness,
                    "carries": "face",
                }
            )
    return supports


def _edge(side: Side, name: str) -> dict[str, Any]:
    return {"name": name, "kind": "edge", "points": side.points, "action": "rest"}


def _lifting(making: Making, side: Side, moment: str, told: int | None) -> list[dict[str, Any]]:
    """Hands along the far side, evenly."""
    count = told
    if count is None:
        low, high = side.extent
        row = DEFAULTS[f"{moment}.spacing"]
        count = max(2, math.ceil((high - low) / float(row.value)))
        ways = [[*side.points, *side.far_hands(n, making.slab)] for n in range(count, count + MORE)]
        count += _first_balanced(making, ways)
        spacing = shown(row.value, row.dimension, making.drawing.system)
        making.choice.note(f"life.{moment}.hands", f"{count}, no farther than {spacing} apart: {row.why}")
    spots = side.far_hands(count, making.slab)
    face = {"carries": "face"} if moment == "turn" else {}
    return [{"name": f"hand {k}", "kind": "hand", "at": spot, **face} for k, spot in enumerate(spots, 1)]


def _first_balanced(making: Making, ways: Sequence[Sequence[Point]]) -> int:
    """The first of these ways to hold the piece, each a set of places, on which it balances; 0 if it does on none.

    Evenly spaced hands may all miss the legs of a U: a few more reach them.
    """
    middle = making.slab.centroid
    held = (k for k, spots in enumerate(ways) if MultiPoint(spots).convex_hull.buffer(-BALANCE).contains(middle))
    return next(held, 0)


def _fronts(making: Making, bed: Side) -> tuple[list[Point], list[Point]]:
    """The line along which the form lets go, from end to end of the piece: first at its far side, last at the bed."""
    low, high = bed.extent
    heights = np.linspace(bed.height - HAIR, bed.height / 2, 100)
    lines = [[bed.spot(low, float(n)), bed.spot(high, float(n))] for n in heights]
    # A far side that is a point or a bow has no line along it: the first one that is as long as a hand.
    far = next((line for line in lines if making.slab.intersection(LineString(line)).length > HAND), lines[-1])
    return far, [bed.spot(low, HAIR), bed.spot(high, HAIR)]


def _young(making: Making) -> None:
    """A note where the concrete is weaker than it should be to leave the form."""
    if making.case.concrete.compressive_strength is None:
        return
    least, age = making.choice.number("strip.least_strength"), making.ages["strip"]
    reached = earliest_compressive_age(making.case, least)
    if reached is None or reached > age:
        needs = in_words(least, PRESSURE, making.drawing.system)
        when = "never" if reached is None else f"only at {shown(round(reached / 3600) * 3600.0, TIME, 'si')}"
        what = f"stripped at {shown(age, TIME, 'si')}: the concrete reaches the {needs} that plants ask for {when}"
        making.choice.note("life.strip", what)


def _grips(side: Side, share: float) -> tuple[float, float]:
    """Where the two grips are along the side [m]: in from the ends, but with the middle of the piece between them."""
    balance, length = side.balance, side.length
    return min(share * length, balance / 2), max((1 - share) * length, (balance + length) / 2)


def _carried_flat(making: Making, side: Side) -> Draft:
    choice, life = making.choice, making.case.life
    assert life is not None
    spots = life.carry.hands
    if spots is None:
        spots = tuple(_along_both_sides(making, side, life.carry.people or _people(making, side)))
        choice.note("life.carry.hands", f"{len(spots)} hands evenly along the two long sides")
    limit = life.carry.limit
    more = {} if limit is None else {"limit": limit}
    hands = [{"name": f"hand {k}", "kind": "hand", "at": spot, **more} for k, spot in enumerate(spots, 1)]
    return making.draft("carry", "carry flat", "show", support=hands)


def _people(making: Making, side: Side) -> int:
    lift = making.choice.number("carry.lift")
    count = max(4, 2 * math.ceil(making.weight / max(lift, 1.0) / 2))
    count = min(count, 40)
    counts = range(count, 42, 2)
    count += 2 * _first_balanced(making, [_along_both_sides(making, side, n) for n in counts])
    shown = in_words(making.weight, FORCE, making.drawing.system)
    making.choice.note("life.carry.people", f"{count} people: it weighs {shown}, and has to balance on their hands")
    return count


def _along_both_sides(making: Making, side: Side, people: int) -> list[Point]:
    near = people // 2
    return [*side.near_hands(near, making.slab), *side.far_hands(people - near, making.slab)]


def _bearers(making: Making, side: Side) -> list[dict[str, Any]]:
    life = making.case.life
    assert life is not None
    lines: list[list[Point]]
    if life.haul.bearer is not None:
        lines = [list(pair) for pair in life.haul.bearer]
    else:
        making.choice.note("life.haul.bearer", "three, a sixth of the length in and midway; common practice, no source")
        low, high = side.extent
        lines = [list(_ends(chord(side, low + share * (high - low)))) for share in BEARERS]
    supports: list[dict[str, Any]] = []
    for k, line in enumerate(lines, 1):
        parts = parts_on(LineString(line), making.slab, LEAST_BEARER) or [line]
        for j, part in enumerate(parts, 1):
            name = f"bearer {k}" if len(parts) == 1 else f"bearer {k}, part {j}"
            supports.append({"name": name, "kind": "line", "points": part, "action": "rest", "may_go": True})
    return supports


def _ends(line: LineString) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = line.coords
    return (x0, y0), (x1, y1)


def _around(making: Making) -> list[Point]:
    """The outline as a polygon of few corners, none off the slab by a millimetre."""
    for chord_error in (2e-4, 5e-4, 9e-4):
        points = making.drawing.shape.outline.polyline(chord_error)
        if len(points) <= 200:
            break
    else:
        points = np.asarray(shapely.simplify(making.area, 8e-4).exterior.coords)[:-1]
    return [(float(x), float(y)) for x, y in points]
