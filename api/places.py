"""Places on a slab in words: "left front corner of opening 'sink'" instead of a pair of numbers.

Left, right, front and back are as seen looking at the show face: front is low y, left is low x. What a person would
point at comes first: a corner of an opening or an inner corner, then a support or a load, then an edge, then a part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Load, PointPlace, Stage, Support
from meshing.shape import Arc, Loop, Shape

__all__ = ["Places", "side_words"]

Point = tuple[float, float]
Box = tuple[float, float, float, float]

CORNER_REACH = 2.0
"""A corner is named for places within this many thicknesses of it: the averaged pull peaks up to one beside it."""
CONTACT_REACH = 1.0
"""A support or a load is named for places within this many thicknesses of it."""
EDGE_REACH = 1.5
"""An edge is named for places within this many thicknesses of it."""
AXIS_REACH = 0.25
"""A support lies on the axis of a fall if it comes within this many thicknesses of it."""
STRIP_SHARE = 0.35
"""The slab beside an opening is called by the opening where it is longer than wide and narrower than this share."""
SHARP = math.radians(10)
"""A corner that turns less than this is no corner to the eye."""


@dataclass(frozen=True, slots=True)
class _Corner:
    geometry: BaseGeometry
    at: Point
    loop: int
    inner: bool


class Places:
    """Names places on one slab; openings holds the openings' names in the shape's order."""

    def __init__(self, shape: Shape, thickness: float, openings: Sequence[str]) -> None:
        """Keep the shape; the corners are found when first asked for."""
        self._shape = shape
        self._thickness = thickness
        self._openings = [_opening_words(name, len(openings)) for name in openings]

    def of(self, at: Point, stage: Stage | None = None) -> str:
        """The place at [m] in words, by what lies nearest: corners, the stage's supports and loads, edges, parts."""
        point = shapely.Point(at)
        corner = self._corner(at, point)
        contact = self._contact(at, point, stage)
        if corner and not (contact and contact[0] < corner[0] / 2):
            return corner[1]
        side = self._beside_opening(at, point) or self._edge(at, point)
        if contact:
            return f"{contact[1]}, {side}" if side else contact[1]
        return side or self._part(at)

    def axis(self, axis: tuple[Point, Point], stage: Stage) -> str:
        """What a falling slab turns about, by the supports that lie on the axis; "" if none does."""
        line = shapely.LineString(axis)
        touching: list[tuple[float, str]] = []
        for support in stage.supports:
            geometry = self._geometry(support)
            if line.length and geometry is not None and geometry.distance(line) <= AXIS_REACH * self._thickness:
                touching.append((line.project(geometry.centroid), support.name))
        if not touching:
            return ""
        first, last = min(touching)[1], max(touching)[1]
        return f"support '{first}'" if first == last else f"the line through supports '{first}' and '{last}'"

    def rim(self, at: Point) -> str:
        """What of the slab's rim lies nearest: "the front edge", "the sink", or a corner that a crack would run to."""
        point = shapely.Point(at)
        loop = int(np.argmin([ring.distance(point) for ring in self._rings]))
        corner = self._corner(at, point)
        if corner is not None:
            return corner[1] if corner[1].startswith("the ") else f"the {corner[1]}"
        return self._openings[loop - 1] if loop else _edge_words(self._rings[0], self._rings[0].project(point))[3:]

    def rail(self, at: Point) -> str:
        """The narrow part of the slab beside an opening in which a place lies, "its front rail"; "" if in none."""
        point = shapely.Point(at)
        distances = [ring.distance(point) for ring in self._rings[1:]]
        if not distances:
            return ""
        k = int(np.argmin(distances))
        word = self._beyond(at, k)
        rail = {"in front of": "front", "behind": "back", "left of": "left", "right of": "right"}[word]
        return f"the {rail} rail of {self._openings[k]}" if self._in_strip(at, word, k) else ""

    @cached_property
    def region(self) -> shapely.Polygon:
        """The slab in the plane, openings left out."""
        return self._shape.region(1e-4)

    @cached_property
    def _boxes(self) -> list[Box]:
        return [_box(loop) for loop in self._shape.loops]

    @cached_property
    def _rings(self) -> list[shapely.LinearRing]:
        return [shapely.LinearRing(loop.polyline(1e-4)) for loop in self._shape.loops]

    @cached_property
    def _corners(self) -> list[_Corner]:
        return [corner for k, loop in enumerate(self._shape.loops) for corner in _corners_of(loop, k)]

    def _corner(self, at: Point, point: shapely.Point) -> tuple[float, str] | None:
        near = [(corner.geometry.distance(point), k) for k, corner in enumerate(self._corners)]
        near = [(distance, k) for distance, k in near if distance <= CORNER_REACH * self._thickness]
        if not near:
            return None
        # An inner corner or an opening's corner pulls; an outer one merely lies there.
        distance, k = min(near, key=lambda entry: (not self._corners[entry[1]].inner, entry[0]))
        corner = self._corners[k]
        if not corner.inner and distance > self._thickness:
            return None
        return distance, self._corner_words(corner)

    def _corner_words(self, corner: _Corner) -> str:
        words = side_words(corner.at, self._boxes[corner.loop], 1 / 3)
        if corner.loop:
            return f"{words} corner of {self._openings[corner.loop - 1]}".lstrip()
        if not corner.inner:
            return f"{words} outer corner".lstrip()
        alone = sum(other.inner and other.loop == 0 for other in self._corners) == 1
        return "the inner corner" if alone else f"{words} inner corner".lstrip()

    def _contact(self, at: Point, point: shapely.Point, stage: Stage | None) -> tuple[float, str] | None:
        if stage is None:
            return None
        found: list[tuple[float, str]] = []
        for kind, things in (("over support", stage.supports), ("under load", stage.loads)):
            for thing in things:
                distance = self._distance(thing, point)
                if distance is not None and distance <= CONTACT_REACH * self._thickness:
                    end = self._end_words(thing, at)
                    found.append((distance, f"{kind} '{thing.name}'{end}"))
        return min(found, default=None)

    def _distance(self, thing: Support | Load, point: shapely.Point) -> float | None:
        geometry = self._geometry(thing)
        return None if geometry is None else float(geometry.distance(point))

    def _geometry(self, thing: Support | Load) -> BaseGeometry | None:
        match thing.place:
            case PointPlace(at=at, size=size):
                return shapely.box(at[0] - size / 2, at[1] - size / 2, at[0] + size / 2, at[1] + size / 2)
            case LinePlace(points=points):
                return shapely.LineString(points)
            case EdgePlace(loop=loop, begin=begin, end=end):
                curve = self._shape.loops[loop]
                # The whole loop is no place: every edge of the slab would be called by it.
                return None if end - begin > 0.999 * curve.length else shapely.LineString(_stretch(curve, begin, end))
            case AreaPlace(points=points):
                return shapely.Polygon(points) if points else None

    def _end_words(self, thing: Support | Load, at: Point) -> str:
        """Where along a line a place lies, if it lies near one of its ends."""
        line = self._geometry(thing)
        if not isinstance(line, shapely.LineString) or line.length < 6 * self._thickness:
            return ""
        if math.dist(line.coords[0], line.coords[-1]) < 1e-3:  # it comes back to where it began: it has no ends
            x0, y0, x1, y1 = line.bounds
            side = side_words(at, (x0, y0, x1, y1), 1 / 3)
            return f", its {side}" if side else ""
        along = line.project(shapely.Point(at))
        if CORNER_REACH * self._thickness < along < line.length - CORNER_REACH * self._thickness:
            return ""
        (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
        step = (x1 - x0, y1 - y0) if along > line.length / 2 else (x0 - x1, y0 - y1)
        if abs(step[0]) > abs(step[1]):
            return ", right end" if step[0] > 0 else ", left end"
        return ", back end" if step[1] > 0 else ", front end"

    def _beside_opening(self, at: Point, point: shapely.Point) -> str | None:
        distances = [ring.distance(point) for ring in self._rings[1:]]
        if not distances:
            return None
        k = int(np.argmin(distances))
        word = self._beyond(at, k)
        if distances[k] > EDGE_REACH * self._thickness and not self._in_strip(at, word, k):
            return None
        return f"{word} {self._openings[k]}"

    def _beyond(self, at: Point, opening: int) -> str:
        """On which side of an opening a place lies."""
        x0, y0, x1, y1 = self._boxes[opening + 1]
        u, v = (at[0] - (x0 + x1) / 2) / (x1 - x0), (at[1] - (y0 + y1) / 2) / (y1 - y0)
        beyond = {"in front of": -v, "behind": v, "left of": -u, "right of": u}
        return max(beyond, key=lambda key: beyond[key])

    def _in_strip(self, at: Point, word: str, opening: int) -> bool:
        """Whether the place lies between the opening and the outline, where the slab is narrow."""
        x0, y0, x1, y1 = self._boxes[opening + 1]
        left, front, right, back = self._boxes[0]
        across = word in ("in front of", "behind")
        if not (x0 <= at[0] <= x1 if across else y0 <= at[1] <= y1):
            return False
        start, end = {
            "in front of": ((at[0], y0), (at[0], front)),
            "behind": ((at[0], y1), (at[0], back)),
            "left of": ((x0, at[1]), (left, at[1])),
            "right of": ((x1, at[1]), (right, at[1])),
        }[word]
        width = self.region.intersection(shapely.LineString([start, end])).length
        length, whole = (x1 - x0, back - front) if across else (y1 - y0, right - left)
        return bool(width < length and width < STRIP_SHARE * whole)

    def _edge(self, at: Point, point: shapely.Point) -> str | None:
        ring = self._rings[0]
        if ring.distance(point) > EDGE_REACH * self._thickness:
            return None
        return f"{_edge_words(ring, ring.project(point))}{self._along_words(at)}"

    def _along_words(self, at: Point) -> str:
        left, front, right, back = self._boxes[0]
        u, v = (at[0] - left) / (right - left), (at[1] - front) / (back - front)
        middle = abs(u - 0.5) < 0.1 or abs(v - 0.5) < 0.1
        return ", near its middle" if middle else ""

    def _part(self, at: Point) -> str:
        words = side_words(at, self._boxes[0], 1 / 3)
        return f"{words} part of the slab" if words else "middle of the slab"


def side_words(at: Point, box: Box, dead_share: float) -> str:
    """Words such as "left front" or "back" within a box (x0, y0, x1, y1); "" about its middle.

    The middle reaches dead_share of the half size to each side.

    >>> side_words((0.1, 0.1), (0.0, 0.0, 1.0, 1.0), 0.3), side_words((0.5, 0.9), (0.0, 0.0, 1.0, 1.0), 0.3)
    ('left front', 'back')
    """
    x0, y0, x1, y1 = box
    u, v = (2 * at[0] - x0 - x1) / (x1 - x0), (2 * at[1] - y0 - y1) / (y1 - y0)
    words = ["left"] * (u < -dead_share) + ["right"] * (u > dead_share)
    words += ["front"] * (v < -dead_share) + ["back"] * (v > dead_share)
    return " ".join(words)


def _opening_words(name: str, count: int) -> str:
    return f"opening '{name}'" if name else ("the opening" if count == 1 else "an opening")


def _box(loop: Loop) -> Box:
    x0, y0, x1, y1 = shapely.LinearRing(loop.polyline(1e-4)).bounds
    return x0, y0, x1, y1


def _edge_words(ring: shapely.LinearRing, along: float) -> str:
    """Which edge: by the way it faces, since the outline runs counter-clockwise."""
    step = min(1e-3, ring.length / 1000)
    before, after = ring.interpolate((along - step) % ring.length), ring.interpolate((along + step) % ring.length)
    facing = (after.y - before.y, before.x - after.x)
    if max(abs(facing[0]), abs(facing[1])) < 2 * min(abs(facing[0]), abs(facing[1])):
        depth = "front" if facing[1] < 0 else "back"
        return f"at the {'left' if facing[0] < 0 else 'right'} {depth} edge"
    if abs(facing[0]) > abs(facing[1]):
        return "at the left edge" if facing[0] < 0 else "at the right edge"
    return "at the front edge" if facing[1] < 0 else "at the back edge"


def _corners_of(loop: Loop, number: int) -> list[_Corner]:
    """Sharp and rounded corners of a loop; a circle or an ellipse has none."""
    curves = loop.curves
    if all(isinstance(curve, Arc) and math.dist(curve.center, _center(curves[0])) < 1e-9 for curve in curves):
        return []
    corners: list[_Corner] = []
    for curve, angle in zip(curves, loop.corner_angles, strict=True):
        if abs(angle - math.pi) > SHARP:
            start = curve.start
            corners.append(_Corner(shapely.Point(start), start, number, bool(number) or angle > math.pi))
        if isinstance(curve, Arc) and abs(curve.turn) > SHARP:
            points = curve.point(np.linspace(0, 1, 9))
            middle = (float(points[4, 0]), float(points[4, 1]))
            corners.append(_Corner(shapely.LineString(points), middle, number, bool(number) or curve.turn < 0))
    return corners


def _center(curve: object) -> Point:
    return curve.center if isinstance(curve, Arc) else (math.inf, math.inf)


def _stretch(loop: Loop, begin: float, end: float) -> list[Point]:
    """Points along a loop's true edge from begin to end [m]."""
    ring = shapely.LinearRing(loop.polyline(1e-4))
    scale = ring.length / loop.length
    along = np.linspace(begin, end, max(2, math.ceil(64 * (end - begin) / loop.length)))
    return [(p.x, p.y) for p in (ring.interpolate(s * scale % ring.length) for s in along)]
