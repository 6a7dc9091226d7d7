"""Where a crack would run, and in what words: across the pull, from its worst place to the nearest edges both ways.

A crack opens where the pull is worst and runs across it. The straight line is a first guess, no computed crack.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from api.places import Places

__all__ = ["Crack", "crack_at"]

Point = tuple[float, float]

SHORTEST = 0.005
"""A piece of the line shorter than this [m] is no crack, but a line that touches the slab from outside."""
INSIDE = 5e-4
"""The line is cut this far [m] inside the rim, so that it never runs along an edge instead of into the slab."""
REACH = 3e-3
"""The worst place lies on the line within this [m]: it is a node of the mesh, whose arcs are polygons."""


@dataclass(frozen=True, slots=True)
class Crack:
    """The ends of a straight crack [m], that which lies nearer its beginning first, and the whole in words."""

    ends: tuple[Point, Point]
    words: str


def crack_at(places: Places, at: Point, angle: float) -> Crack | None:
    """The crack through a place [m] where the pull goes at angle [degrees from +x]; None if the slab is not there."""
    piece = _through(places, at, math.radians(angle) + math.pi / 2)
    if piece is None:
        return None
    ends = sorted(((x, y) for x, y in (piece.coords[0], piece.coords[-1])), key=lambda end: math.dist(end, at))
    begin, end = ends
    middle = ((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2)
    return Crack((begin, end), _words(places.rim(begin), places.rim(end), places.rail(middle)))


def _words(begin: str, end: str, rail: str) -> str:
    if begin == end:
        return f"a crack would cut off a piece at {begin}"
    kind, _, opening = rail.partition(" rail of ")
    if opening and opening in begin + end:
        rail = f"its {kind.removeprefix('the ')} rail"
    cutting = f", cutting {rail}" if rail else ""
    return f"a crack would run from {begin} to {end}{cutting}"


def _through(places: Places, at: Point, heading: float) -> shapely.LineString | None:
    """The part of the line at heading [rad] that lies in the slab and passes the place."""
    x0, y0, x1, y1 = places.region.bounds
    far = math.hypot(x1 - x0, y1 - y0)
    step = (far * math.cos(heading), far * math.sin(heading))
    line = shapely.LineString([(at[0] - step[0], at[1] - step[1]), (at[0] + step[0], at[1] + step[1])])
    found = [part for part in _lines(places.region.buffer(-INSIDE).intersection(line)) if part.length > SHORTEST]
    here = shapely.Point(at)
    near = [part for part in found if part.distance(here) <= REACH]
    return max(near, key=lambda part: part.length, default=None)


def _lines(found: BaseGeometry) -> list[shapely.LineString]:
    parts = getattr(found, "geoms", [found])
    return [part for part in parts if isinstance(part, shapely.LineString) and part.length]
