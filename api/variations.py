"""The other ways a stage may come: a hand lets go, a support is missing or shimmed, the piece slides, a load travels.

Each is solved by itself and the stage answers for the worst; they are not combined with one another.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from api import case_model
from api.drawing import Drawing
from api.edges import ON_EDGE
from api.placing import load_from
from api.units import LENGTH, UnitSystem, in_words
from fem.plate.model import AreaPlace, Edgewise, LinePlace, Load, PointPlace, Stage, Support, Variation

__all__ = [
    "LEAST_LENGTH",
    "SLIDES",
    "TRAVELS",
    "other_ways",
    "sliding",
    "travelled",
    "travelling",
]

Point = tuple[float, float]

SLIDES = 12
"""Places at which a sliding piece is looked at, besides the last."""
TRAVELS = 21
"""Places at which a travelling load is looked at, both ends among them."""

# Shorter stretches and smaller areas of a support that lie on the slab bear nothing [m, m2].
LEAST_LENGTH, LEAST_AREA = 1e-3, 1e-5


def other_ways(drawing: Drawing, case_stage: case_model.Stage, stage: Stage) -> Iterator[Variation]:
    """Every variation of a stage besides those of its posture; stage is the same in the plate's terms."""
    yield from _without(case_stage, stage)
    yield from _at_rest(case_stage, stage)
    if case_stage.shims:
        yield from _shimmed(case_stage, stage, case_stage.shims, drawing.system)
    if case_stage.slide is not None:
        yield from _slid(drawing, case_stage, stage.supports, case_stage.slide)
    yield from _travelled_loads(drawing, case_stage)


def sliding(drawing: Drawing, case_stage: case_model.Stage, supports: tuple[Support, ...], off: Point) -> list[Support]:
    """The supports that touch a piece which still has so far to go, in the piece's own coordinates; hands go with it.

    A support that stands fixed in the room appears at its place less the piece's present offset.
    """
    found = []
    for written, support in zip(case_stage.support, supports, strict=True):
        if isinstance(written, case_model.HandSupport):
            found.append(support)
            continue
        moved = _moved(drawing, support, (-off[0], -off[1]))
        if moved is not None:
            found.append(moved)
    return found


def travelling(stage: case_model.Stage) -> list[case_model.LineLoad]:
    """The loads of a stage that travel."""
    return [load for load in stage.load if isinstance(load, case_model.LineLoad) and load.to is not None]


def travelled(load: case_model.LineLoad, share: float) -> tuple[Point, ...]:
    """Where a travelling load is when it has gone this share of its way."""
    ends = zip(load.points, load.to or load.points, strict=True)
    return tuple((x0 + share * (x1 - x0), y0 + share * (y1 - y0)) for (x0, y0), (x1, y1) in ends)


def _without(case_stage: case_model.Stage, stage: Stage) -> Iterator[Variation]:
    """Each hand letting go in turn, and each other support that may go."""
    if len(stage.supports) < 2:
        return
    for k, written in enumerate(case_stage.support):
        if isinstance(written, case_model.HandSupport):
            name = f"hand '{written.name}' lets go"
        elif written.may_go:
            name = f"'{written.name}' is missing"
        else:
            continue
        left = (*stage.supports[:k], *stage.supports[k + 1 :])
        yield Variation(name, left, edgewise=_less(stage.edgewise, k))


def _less(edgewise: Edgewise | None, gone: int) -> Edgewise | None:
    """The part in the plane, borne by the supports that are left."""
    if edgewise is None:
        return None
    return replace(edgewise, bearing=tuple(k - (k > gone) for k in edgewise.bearing if k != gone))


def _at_rest(case_stage: case_model.Stage, stage: Stage) -> Iterator[Variation]:
    """Each support that can pull, and all of them, only bearing: few are bolted as well as one thinks."""
    pulling = [
        k
        for k, (written, support) in enumerate(zip(case_stage.support, stage.supports, strict=True))
        if support.action != "rest" and not isinstance(written, case_model.HandSupport)
    ]
    for k in pulling:
        yield Variation(f"'{stage.supports[k].name}' at rest", _resting(stage.supports, {k}))
    if len(pulling) > 1:
        yield Variation("all supports at rest", _resting(stage.supports, set(pulling)))


def _resting(supports: tuple[Support, ...], which: set[int]) -> tuple[Support, ...]:
    return tuple(replace(one, action="rest") if k in which else one for k, one in enumerate(supports))


def _shimmed(case_stage: case_model.Stage, stage: Stage, shim: float, system: UnitSystem) -> Iterator[Variation]:
    """Each support but hands in turn so much high and so much low."""
    thick = in_words(shim, LENGTH, system, 3 if system == "us" else 2)
    for k, written in enumerate(case_stage.support):
        if isinstance(written, case_model.HandSupport):
            continue
        for word, change in (("high", -shim), ("low", shim)):
            support = replace(stage.supports[k], gap=stage.supports[k].gap + change)
            supports = (*stage.supports[:k], support, *stage.supports[k + 1 :])
            yield Variation(f"'{written.name}' {thick} {word}", supports)


def _slid(
    drawing: Drawing, case_stage: case_model.Stage, supports: tuple[Support, ...], slide: Point
) -> Iterator[Variation]:
    for k in range(SLIDES):
        share = (SLIDES - k) / SLIDES
        off = (share * slide[0], share * slide[1])
        left = in_words(math.hypot(*off), LENGTH, drawing.system)
        yield Variation(f"sliding, {left} to go", tuple(sliding(drawing, case_stage, supports, off)))


def _moved(drawing: Drawing, support: Support, by: Point) -> Support | None:
    """The support elsewhere under the slab; None if it does not touch it there."""
    place, region = support.place, drawing.region
    if isinstance(place, PointPlace):
        at = (place.at[0] + by[0], place.at[1] + by[1])
        return replace(support, place=replace(place, at=at)) if region.distance(Spot(at)) <= ON_EDGE else None
    if isinstance(place, LinePlace):
        points = tuple((x + by[0], y + by[1]) for x, y in place.points)
        line = LineString(points)
        touching = region.covers(line) or _common(region, line).length > LEAST_LENGTH
        return replace(support, place=LinePlace(points)) if touching else None
    if isinstance(place, AreaPlace) and place.points:
        area = translate(Polygon(place.points), *by)
        corners = tuple((float(x), float(y)) for x, y in shapely.get_coordinates(area)[:-1])
        touching = region.covers(area) or _common(region, area).area > LEAST_AREA
        return replace(support, place=AreaPlace(corners)) if touching else None
    raise ValueError(f"the support {support.name} is the slab's own edge: it cannot stand fixed while the slab slides")


def _common(region: Polygon, part: BaseGeometry) -> BaseGeometry:
    """What both have in common, asked for cheaply where it is nothing."""
    return region.intersection(part) if region.intersects(part) else Polygon()


def _travelled_loads(drawing: Drawing, case_stage: case_model.Stage) -> Iterator[Variation]:
    """All loads of a stage that travel, at the same share of their ways."""
    loads = travelling(case_stage)
    if not loads:
        return
    names = ", ".join(f"'{load.name}'" for load in loads)
    for k in range(TRAVELS):
        share = k / (TRAVELS - 1)
        there = tuple(_load_at(drawing, load, share) for load in loads)
        yield Variation(f"{names} {share:.0%} of the way", loads=there)


def _load_at(drawing: Drawing, load: case_model.LineLoad, share: float) -> Load:
    return replace(load_from(drawing, load), place=LinePlace(travelled(load, share)))
