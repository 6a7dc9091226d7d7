"""Supports, loads and other places that do not lie on the slab: how far off, and where to move them."""

from __future__ import annotations

import math
from itertools import pairwise

import shapely.ops
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from api.case_model import (
    AnyLoad,
    AnySupport,
    EdgeLoad,
    EdgeSupport,
    HandSupport,
    LineLoad,
    LineSupport,
    PointLoad,
    PointSupport,
)
from api.drawing import Drawing, filled
from api.edges import ON_EDGE, locate
from api.errors import Problem
from api.units import LENGTH, in_words
from api.variations import LEAST_LENGTH, TRAVELS, travelled
from api.wording import points_text, spot_text

__all__ = ["area_off", "line_off", "place_faults", "point_off"]

Point = tuple[float, float]


def place_faults(drawing: Drawing, item: AnySupport | AnyLoad, where: str, who: str) -> list[Problem]:
    """Faults of where a support or a load stands; who names it."""
    if isinstance(item, PointSupport | HandSupport | PointLoad):
        if item.at is None:
            return area_off(drawing, item.roaming, f"{where}.roaming", "the region of the load") if item.roaming else []
        return point_off(drawing, item.at, f"{where}.at", who)
    if isinstance(item, LineLoad) and item.to is not None:
        return _travel_off(drawing, item, where)
    if isinstance(item, LineSupport | LineLoad):
        return line_off(drawing, item.points, f"{where}.points", who)
    if isinstance(item, EdgeSupport | EdgeLoad):
        return _edge_off(drawing, item, where)
    return area_off(drawing, item.points, f"{where}.points", who) if item.points else []


def _travel_off(drawing: Drawing, load: LineLoad, where: str) -> list[Problem]:
    """A travelling load that is nowhere on the slab at some place of its way; a part of it may lie off."""
    for key, share in (("points", 0.0), ("to", 1.0)):
        for k, (a, b) in enumerate(pairwise(travelled(load, share))):
            if math.dist(a, b) < 1e-4:
                return [Problem(f"{where}.{key}[{k + 1}]", "the same point twice", "leave one of them out")]
    for k in range(TRAVELS):
        share = k / (TRAVELS - 1)
        if drawing.region.intersection(LineString(travelled(load, share))).length <= LEAST_LENGTH:
            what = f"the load misses the slab when it has gone {share:.0%} of its way"
            near = f"{where}.points" if share < 0.5 else f"{where}.to"
            return [Problem(near, what, "let it start, travel and end on the slab")]
    return []


def point_off(drawing: Drawing, at: Point, where: str, who: str) -> list[Problem]:
    """A point that lies off the concrete by more than 1 mm."""
    off = drawing.region.distance(Spot(at))
    if off <= ON_EDGE:
        return []
    nearest = min((locate(loop, at) for loop in drawing.shape.loops), key=lambda spot: spot.off)
    far = in_words(nearest.off, LENGTH, drawing.system)
    inside = [k for k, loop in enumerate(drawing.shape.openings) if filled(loop).contains(Spot(at))]
    place = f"lies in slab.opening[{inside[0]}], {far} from its edge" if inside else f"lies {far} off the slab"
    return [
        Problem(where, f"{who} {place}", f"the nearest spot of the slab is {spot_text(nearest.at, drawing.system)}")
    ]


def line_off(drawing: Drawing, points: tuple[Point, ...], where: str, who: str) -> list[Problem]:
    """A chain of lines with a part off the concrete, or with the same point twice."""
    for k, (a, b) in enumerate(pairwise(points)):
        if math.dist(a, b) < 1e-4:
            return [Problem(f"{where}[{k + 1}]", "the same point twice", "leave one of them out")]
    line = LineString(points)
    if drawing.region.buffer(ON_EDGE).covers(line):
        return []
    outside = line.difference(drawing.region)
    on_slab = line.intersection(drawing.region)
    parts = [on_slab] if isinstance(on_slab, LineString) else list(getattr(on_slab, "geoms", []))
    kept = [part for part in parts if isinstance(part, LineString) and part.length > 1e-3]
    what = f"{in_words(outside.length, LENGTH, drawing.system)} of {who} lies off the slab"
    written = [f"points = {points_text(part.coords, drawing.system)}" for part in kept]
    if not kept:
        near = shapely.ops.nearest_points(line, drawing.region)[1].coords[0]
        fix = f"move it onto the slab: its nearest spot is {spot_text(near, drawing.system)}"
    elif len(kept) == 1:
        fix = f"keep to the slab: {written[0]}"
    else:
        fix = f"split it into {len(kept)}: {'; '.join(written[:4])}"
    return [Problem(where, what, fix)]


def area_off(drawing: Drawing, points: tuple[Point, ...], where: str, who: str) -> list[Problem]:
    """An area off the slab. An area may lie over an opening (only the concrete counts) but not over the outer edge."""
    area = Polygon(points)
    if not area.is_valid or area.area < 1e-6:
        what = "the sides of the area cross or touch" if not area.is_valid else "the area has no size"
        return [Problem(where, what, "list its corners in order, once round")]
    slab = filled(drawing.shape.outline)
    if area.difference(slab.buffer(ON_EDGE)).area <= 1e-9:
        if area.intersection(drawing.region).area > 1e-6:
            return []
        return [Problem(where, f"{who} lies in an opening: there is no concrete", "move it onto the concrete")]
    common = area.intersection(slab)
    over = max(slab.distance(Spot(p)) for p in points)
    far = f"{in_words(over, LENGTH, drawing.system)} over the edge"
    if common.area <= 1e-6:
        return [Problem(where, f"{who} lies off the slab", "move it onto the slab")]
    fix = "pull it in to the edge"
    if isinstance(common, Polygon) and len(common.exterior.coords) <= 9:
        fix = f"keep to the slab: points = {points_text(common.exterior.coords[:-1], drawing.system)}"
    return [Problem(where, f"{who} reaches {far}", fix)]


def _edge_off(drawing: Drawing, item: EdgeSupport | EdgeLoad, where: str) -> list[Problem]:
    count = len(drawing.shape.openings)
    if item.opening is not None and item.opening >= count:
        there = f"the slab has {count} (0 to {count - 1})" if count else "the slab has none"
        return [Problem(f"{where}.opening", f"there is no opening {item.opening}", f"{there}; count from 0")]
    if item.points is None:
        return []
    loop = drawing.shape.loops[0 if item.opening is None else item.opening + 1]
    edge = "the outline" if item.opening is None else f"the edge of slab.opening[{item.opening}]"
    problems = []
    for k, point in enumerate(item.points):
        spot = locate(loop, point)
        if spot.off > ON_EDGE:
            what = f"the point lies {in_words(spot.off, LENGTH, drawing.system)} off {edge}"
            fix = f"the nearest spot on it is {spot_text(spot.at, drawing.system)}"
            problems.append(Problem(f"{where}.points[{k}]", what, fix))
    if not problems and math.dist(locate(loop, item.points[0]).at, locate(loop, item.points[1]).at) < 1e-3:
        fix = "give two spots, or leave points out for the whole edge"
        problems.append(Problem(f"{where}.points", "both ends are the same spot", fix))
    return problems
