"""Zones become places: regions that a load may roam, without holes, and the stretches of edge where people sit."""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely.geometry import LineString, MultiLineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from api.case_life import Zone
from api.case_values import MOST_POINTS
from api.drawing import Drawing, filled
from api.errors import Problem
from api.place_faults import area_off

__all__ = ["lip_strip", "lips", "plain_parts", "zone_area", "zone_faults"]

Spot = tuple[float, float]

# A stretch of edge shorter than this [m] seats nobody; a region smaller than this [m2] takes no foot.
LEAST_LIP = 0.050
LEAST_REGION = 1e-4


def zone_faults(zones: tuple[Zone, ...], drawing: Drawing) -> list[Problem]:
    """Zones whose sides cross, and zones with no concrete in them; one may reach over the edge."""
    problems: list[Problem] = []
    for k, zone in enumerate(zones):
        area, where = Polygon(zone.points), f"zone[{k}].points"
        if not area.is_valid or area.area < 1e-6:
            problems += area_off(drawing, zone.points, where, "the zone")
        elif area.intersection(drawing.region).area < LEAST_REGION:
            problems.append(Problem(where, "the zone lies off the slab", "move it onto the concrete"))
        elif zone.kind == "sit" and not lips(drawing, zone_area(zone)):
            what = "no edge of the slab runs through this sit zone: nobody can sit in it"
            problems.append(Problem(where, what, "let it reach over the outer edge where people sit"))
    return problems


def zone_area(zone: Zone) -> Polygon:
    """The zone as a polygon [m]."""
    return Polygon(zone.points)


def plain_parts(area: BaseGeometry) -> list[list[Spot]]:
    """An area as polygons without holes, corner by corner [m]; crumbs are left out."""
    found: list[list[Spot]] = []
    left = list(_polygons(area))
    while left:
        part = left.pop()
        if part.interiors:
            left += _polygons(_cut(part))
        elif part.area >= LEAST_REGION:
            plain = _few_corners(part)
            found.append([(round(x, 6), round(y, 6)) for x, y in plain.exterior.coords[:-1]])
    return sorted(found)


def lips(drawing: Drawing, zone: Polygon) -> list[tuple[Spot, Spot] | None]:
    """Stretches of the outline inside a zone, [from, to] counter-clockwise; None stands for all of it."""
    ring = drawing.shape.outline.polyline(2e-5).tolist()
    inside = LineString([*ring, ring[0]]).intersection(zone.buffer(1e-6))
    if isinstance(inside, MultiLineString):
        inside = shapely.line_merge(inside, directed=True)
    parts = [part for part in getattr(inside, "geoms", [inside]) if isinstance(part, LineString)]
    found: list[tuple[Spot, Spot] | None] = []
    for part in parts:
        if part.length < LEAST_LIP:
            continue
        if part.is_closed:
            return [None]
        (x0, y0), (x1, y1) = part.coords[0], part.coords[-1]
        found.append(((float(x0), float(y0)), (float(x1), float(y1))))
    return found


def lip_strip(drawing: Drawing, zone: Polygon, depth: float) -> BaseGeometry:
    """The strip along the outline inside a zone, so deep [m]."""
    slab = filled(drawing.shape.outline)
    return slab.difference(slab.buffer(-depth)).intersection(zone).intersection(drawing.region)


def _polygons(area: BaseGeometry) -> Iterable[Polygon]:
    parts = getattr(area, "geoms", [area])
    return [part for part in parts if isinstance(part, Polygon) and part.area >= LEAST_REGION]


def _cut(part: Polygon) -> BaseGeometry:
    """The polygon cut in two through the middle of its first hole, so that the hole opens."""
    x0, y0, x1, y1 = part.bounds
    middle: Point = Polygon(part.interiors[0]).representative_point()
    left = part.intersection(shapely.box(x0, y0, middle.x, y1))
    right = part.intersection(shapely.box(middle.x, y0, x1, y1))
    return shapely.GeometryCollection([*_polygons(left), *_polygons(right)])


def _few_corners(part: Polygon) -> Polygon:
    """The polygon with at most 200 corners, none outside it by more than half a millimetre."""
    plain = part
    for tolerance in (5e-4, 2e-3, 1e-2, 3e-2):
        inner = part if tolerance < 1e-3 else part.buffer(-tolerance)
        plain = max(_polygons(shapely.simplify(inner, tolerance)), key=lambda one: one.area, default=plain)
        if len(plain.exterior.coords) <= MOST_POINTS:
            break
    return plain
