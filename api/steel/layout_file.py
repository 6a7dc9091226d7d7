"""A layout drawn in a DXF file beside the case: every line and polyline of its layer is one run, in metres."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

from api.drawing_file import JOIN, Drawn, drawing_file
from api.steel.grammar import MOST_RUN_POINTS, MOST_RUNS, Layout, SteelRun
from api.units import clean

__all__ = ["runs_from_file"]

Point = tuple[float, float]

READ = ("LWPOLYLINE", "POLYLINE", "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")
CHORD = math.radians(15)
"""An arc becomes chords of so much each: between their ends a wire bent to it stays within 1 % of its radius."""


def runs_from_file(layout: Layout, folder: Path | None, where: str) -> tuple[SteelRun, ...]:
    """The runs of a drawing, nameless; CaseError, with its place below where, if it cannot be read or has none."""
    instead = "give the runs as [[steel.run]] with their points"
    drawn = drawing_file(layout, folder, where, "the layout", READ, MOST_RUNS, instead)
    ways = [_points(drawn, entity) for entity in drawn.entities]
    if not ways:
        raise drawn.fault("there is no line in the drawing", "draw every run as a line or an open polyline")
    runs = []
    for way in ways:
        if len(way) > MOST_RUN_POINTS:
            fix = f"at most {MOST_RUN_POINTS} are taken (an arc counts one for every 15 degrees): draw it as several"
            raise drawn.fault(f"a run has {len(way)} points", fix)
        if not all(abs(value) <= 1000 for point in way for value in point):
            raise drawn.fault("a run lies more than a kilometre off", "check the unit of the drawing")
        if len(way) > 1:
            points = tuple((clean(x), clean(y)) for x, y in way)
            runs.append(SteelRun.model_construct(name=None, face=layout.face, points=points, depth=layout.depth))
    return tuple(runs)


def _points(drawn: Drawn, entity: Any) -> list[Point]:
    """The way of one run, no two points of it on one spot."""
    scale, kind = drawn.scale, entity.dxftype()
    if kind == "LINE":
        way = [(entity.dxf.start.x * scale, entity.dxf.start.y * scale)]
        way.append((entity.dxf.end.x * scale, entity.dxf.end.y * scale))
    elif kind in ("ARC", "CIRCLE"):
        center = entity.dxf.center.x * scale, entity.dxf.center.y * scale
        begin, end = (0.0, 360.0) if kind == "CIRCLE" else (entity.dxf.start_angle, entity.dxf.end_angle)
        sweep = math.radians((end - begin) % 360 or 360)
        way = _arc(center, entity.dxf.radius * scale, math.radians(begin), sweep)
    elif kind == "ELLIPSE":
        raise drawn.fault("the drawing has an ellipse", "turn it into a polyline of lines and arcs")
    else:
        way = _polyline(drawn, entity)
    return [way[0], *(b for a, b in pairwise(way) if math.dist(a, b) >= JOIN)] if way else []


def _polyline(drawn: Drawn, entity: Any) -> list[Point]:
    """The way of a polyline, back to its begin if it is closed."""
    scale = drawn.scale
    if entity.dxftype() == "LWPOLYLINE":
        vertices = [(x * scale, y * scale, bulge) for x, y, bulge in entity.get_points("xyb")]
        closed = bool(entity.closed)
    else:
        if not entity.is_2d_polyline:
            raise drawn.fault("a polyline is drawn in space", "flatten it to a polyline in the plane")
        spots = [(vertex.dxf.location, vertex.dxf.bulge) for vertex in entity.vertices]
        vertices = [(spot.x * scale, spot.y * scale, bulge) for spot, bulge in spots]
        closed = bool(entity.is_closed)
    if closed and vertices:
        vertices = [*vertices, vertices[0]]
    way = [vertices[0][:2]] if vertices else []
    for a, b in pairwise(vertices):
        way += _bulged(a[:2], b[:2], a[2]) if abs(a[2]) > 1e-6 else [b[:2]]
    return way


def _bulged(start: Point, end: Point, bulge: float) -> list[Point]:
    """The points behind the start of an arc whose bulge is tan of a quarter of its angle, + left."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    offset = (1 - bulge * bulge) / (4 * bulge)
    center = (start[0] + end[0]) / 2 - dy * offset, (start[1] + end[1]) / 2 + dx * offset
    begin = math.atan2(start[1] - center[1], start[0] - center[0])
    return [*_arc(center, math.dist(center, start), begin, 4 * math.atan(bulge))[1:-1], end]


def _arc(center: Point, radius: float, begin: float, sweep: float) -> list[Point]:
    """Points along an arc from begin [rad], turned by sweep, a CHORD or less apart."""
    count = max(math.ceil(abs(sweep) / CHORD - 1e-9), 1)
    angles = [begin + sweep * k / count for k in range(count + 1)]
    return [(center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles]
