"""The outline drawn in a DXF file beside the case: one closed curve of lines and true arcs, in metres.

Read are closed polylines with their bulges, circles, whole ellipses, and chains of lines, arcs and open polylines whose
ends meet within 0.1 mm. What would have to be guessed (no unit, several closed curves, a fork, a gap) is a fault.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from api.drawing_file import JOIN, Drawn, drawing_file
from api.shapes import MOST_CORNERS, Circle, Curved, Ellipse, OutlineFile
from api.units import clean
from api.wording import spot_text

__all__ = ["outline_from_file"]

Point = tuple[float, float]

READ = ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")


@dataclass(frozen=True, slots=True)
class Side:
    """A straight line or an arc from start to end [m]; bulge as in DXF: tan of a quarter of its angle, + left."""

    start: Point
    end: Point
    bulge: float = 0.0

    def back(self) -> Side:
        """The same the other way round."""
        return Side(self.end, self.start, -self.bulge)


def outline_from_file(outline: OutlineFile, folder: Path | None) -> Circle | Ellipse | Curved:
    """The one closed curve of the drawing; CaseError if there is none, or more than one, or it cannot be read."""
    instead = "give the outline as a list of corners"
    drawn = drawing_file(outline, folder, "slab.outline", "the outline", READ, 2 * MOST_CORNERS, instead)
    try:
        whole = [_round(drawn, entity) for entity in drawn.entities if entity.dxftype() in ("CIRCLE", "ELLIPSE")]
        loops, sides = _polylines(drawn)
        curves = [*whole, *(_curved(loop) for loop in [*loops, *_chains(drawn, sides)])]
    except ValidationError as error:
        first = error.errors()[0]
        detail = first.get("ctx", {}).get("what", first["msg"])
        fix = 'check the unit of the drawing, or give unit = "mm"'
        raise drawn.fault(f"the curve cannot be taken: {detail}", fix) from None
    if len(curves) != 1:
        found = f"{len(curves)} closed curves on the layers {drawn.layers()}" if curves else "no closed curve"
        raise drawn.fault(f"there is {found}", "put the outline, and only it, on a layer, and name it: layer = ...")
    return curves[0]


def _round(drawn: Drawn, entity: Any) -> Circle | Ellipse:
    """A circle or a whole ellipse; a part of an ellipse is a fault."""
    scale = drawn.scale
    center = tuple(clean(value * scale) for value in (entity.dxf.center.x, entity.dxf.center.y))
    if entity.dxftype() == "CIRCLE":
        return Circle.model_validate({"shape": "circle", "center": center, "diameter": 2 * entity.dxf.radius * scale})
    if not math.isclose(abs(entity.dxf.end_param - entity.dxf.start_param), 2 * math.pi, rel_tol=1e-6):
        raise drawn.fault("the drawing has a part of an ellipse", "turn it into a polyline of lines and arcs")
    major = entity.dxf.major_axis
    long = 2 * math.hypot(major.x, major.y) * scale
    angle = math.degrees(math.atan2(major.y, major.x))
    size = (clean(long), clean(long * entity.dxf.ratio))
    return Ellipse.model_validate({"shape": "ellipse", "center": center, "size": size, "angle": clean(angle)})


def _polylines(drawn: Drawn) -> tuple[list[list[Side]], list[Side]]:
    """Closed polylines as loops, and all other sides one by one."""
    scale = drawn.scale
    loops: list[list[Side]] = []
    loose: list[Side] = []
    for entity in drawn.entities:
        kind = entity.dxftype()
        if kind == "LINE":
            loose.append(Side(_flat(entity.dxf.start, scale), _flat(entity.dxf.end, scale)))
        elif kind == "ARC":
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360 or 360)
            loose.append(Side(_flat(entity.start_point, scale), _flat(entity.end_point, scale), math.tan(sweep / 4)))
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            sides, closed = _sides(drawn, entity)
            if closed and sides:
                loops.append(sides)
            else:
                loose += sides
    return loops, loose


def _sides(drawn: Drawn, entity: Any) -> tuple[list[Side], bool]:
    """The sides of a polyline, none shorter than JOIN, and whether it closes."""
    scale = drawn.scale
    if entity.dxftype() == "LWPOLYLINE":
        vertices = [(x * scale, y * scale, bulge) for x, y, bulge in entity.get_points("xyb")]
        closed = bool(entity.closed)
    else:
        if not entity.is_2d_polyline:
            raise drawn.fault("a polyline is drawn in space", "flatten it to a polyline in the plane")
        vertices = [
            (vertex.dxf.location.x * scale, vertex.dxf.location.y * scale, vertex.dxf.bulge)
            for vertex in entity.vertices
        ]
        closed = bool(entity.is_closed)
    if not closed and len(vertices) > 2 and math.dist(vertices[0][:2], vertices[-1][:2]) < JOIN:
        vertices, closed = vertices[:-1], True
    pairs = list(zip(vertices, [*vertices[1:], vertices[0]], strict=True)) if vertices else []
    sides = [Side(a[:2], b[:2], a[2]) for a, b in (pairs if closed else pairs[:-1])]
    return [side for side in sides if math.dist(side.start, side.end) >= JOIN], closed


def _chains(drawn: Drawn, sides: list[Side]) -> list[list[Side]]:
    """Loops made of loose sides by joining ends within JOIN; CaseError at a fork or an open end."""
    left, loops = list(sides), []
    while left:
        chain = [left.pop(0)]
        while math.dist(chain[-1].end, chain[0].start) >= JOIN:
            end = chain[-1].end
            near = [side for side in left if min(math.dist(side.start, end), math.dist(side.end, end)) < JOIN]
            if len(near) > 1:
                raise drawn.fault(f"the lines fork at {spot_text(end, 'si')} m", "put the outline alone on a layer")
            if not near:
                gap = min(
                    (math.dist(p, end) for side in (*left, chain[0]) for p in (side.start, side.end)), default=0.0
                )
                what = f"the outline is open at {spot_text(end, 'si')} m: the next end is {gap * 1000:.3g} mm away"
                raise drawn.fault(what, "join the ends: they must meet within 0.1 mm")
            left.remove(near[0])
            following = near[0] if math.dist(near[0].start, end) < JOIN else near[0].back()
            chain.append(Side(end, following.end, following.bulge))
        loops.append(chain)
    return loops


def _curved(loop: list[Side]) -> Curved:
    """The loop as the case writes it; an arc of more than a half turn becomes two."""
    points: list[tuple[float, float, float]] = []
    for side in loop:
        half = math.tan(math.atan(side.bulge) / 2)
        points.append((*_cleaned(side.start), clean(half if abs(side.bulge) > 1 else side.bulge)))
        if abs(side.bulge) > 1:
            points.append((*_cleaned(_top(side)), clean(half)))
    return Curved.model_validate({"shape": "curve", "points": points})


def _top(side: Side) -> Point:
    """The middle of an arc: off the chord's middle by bulge times half the chord, to the right when it turns left."""
    (x0, y0), (x1, y1) = side.start, side.end
    half = side.bulge / 2
    return (x0 + x1) / 2 + (y1 - y0) * half, (y0 + y1) / 2 - (x1 - x0) * half


def _flat(location: Any, scale: float) -> Point:
    return float(location.x) * scale, float(location.y) * scale


def _cleaned(point: Point) -> Point:
    return clean(point[0]), clean(point[1])
