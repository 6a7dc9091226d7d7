"""Sides of an odd shape: the long side it can stand on, the far side along which hands hold it, lines across it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from meshing.shape import Line, Loop

__all__ = ["Side", "chord", "long_side", "parts_on"]

Point = tuple[float, float]

# How straight a side of the hull must be to be one [m], and the least share of the piece's length it must have.
STRAIGHT = 1e-3
LEAST_SHARE = 0.1
# Where nothing is straight, the piece stands on this share of its outline.
ROUND_SHARE = 0.1
# How deep it may be bowed there, as a share of that stretch: more than a circle's 0.079.
MOST_BOWED = 0.2
HALF_HAND = 0.0508


@dataclass(frozen=True)
class Side:
    """A side the piece can stand on, from begin counter-clockwise to end on the outline; all else lies to its left.

    area is the outline filled; along and away are unit vectors along the side and into the piece.
    """

    begin: Point
    end: Point
    area: Polygon

    @property
    def length(self) -> float:
        """Straight distance from begin to end [m]."""
        return math.dist(self.begin, self.end)

    @property
    def along(self) -> Point:
        """Unit vector from begin to end."""
        return (self.end[0] - self.begin[0]) / self.length, (self.end[1] - self.begin[1]) / self.length

    @property
    def away(self) -> Point:
        """Unit vector square to the side, into the piece."""
        x, y = self.along
        return -y, x

    @property
    def extent(self) -> tuple[float, float]:
        """The whole piece's least and greatest distance along the side, from begin [m]."""
        t = (np.asarray(self.area.exterior.coords) - self.begin) @ np.asarray(self.along)
        return float(t.min()), float(t.max())

    @property
    def height(self) -> float:
        """How far the piece reaches from the side [m]."""
        return float(((np.asarray(self.area.exterior.coords) - self.begin) @ np.asarray(self.away)).max())

    @property
    def points(self) -> list[Point]:
        """[begin, end]."""
        return [self.begin, self.end]

    @property
    def balance(self) -> float:
        """How far along the side the middle of the area lies [m] (openings not counted)."""
        middle = self.area.centroid
        return self.at_of((middle.x, middle.y))

    def at_of(self, point: Point) -> float:
        """How far along the side a point lies, from begin [m]."""
        x, y = self.along
        return (point[0] - self.begin[0]) * x + (point[1] - self.begin[1]) * y

    def spot(self, t: float, n: float) -> Point:
        """The point t along the side and n away from it [m]."""
        (x, y), (u, v) = self.along, self.away
        return self.begin[0] + t * x + n * u, self.begin[1] + t * y + n * v

    def far(self, t: float) -> Point:
        """The point of the outline farthest from the side at the distance t along it."""
        return self.spot(t, self._reach(t)[1])

    def near(self, t: float) -> Point:
        """The point of the outline nearest to the side at the distance t along it."""
        return self.spot(t, self._reach(t)[0])

    def far_hands(self, count: int, slab: Polygon) -> list[Point]:
        """So many hands evenly along the far side, in from the edge by half a hand where the concrete is as deep."""
        low, high = self.extent
        return [self.inside(low + (high - low) * (k + 0.5) / count, slab, far=True) for k in range(count)]

    def near_hands(self, count: int, slab: Polygon) -> list[Point]:
        """As far_hands, along the near side."""
        low, high = self.extent
        return [self.inside(low + (high - low) * (k + 0.5) / count, slab, far=False) for k in range(count)]

    def inside(self, t: float, slab: Polygon, *, far: bool) -> Point:
        """The spot of a hand at the far or near edge, t along the side."""
        edge = self._reach(t)[1 if far else 0]
        spot = self.spot(t, edge - HALF_HAND if far else edge + HALF_HAND)
        return spot if slab.covers(Spot(spot)) else self.spot(t, edge)

    def _reach(self, t: float) -> tuple[float, float]:
        """Least and greatest distance from the side of the outline at t along it [m]; t is kept within the piece."""
        low, high = self.extent
        t = min(max(t, low + 1e-4), high - 1e-4)
        cut = self.area.intersection(LineString([self.spot(t, -25.0), self.spot(t, 25.0)]))
        n = (np.asarray(_coordinates(cut)) - self.begin) @ np.asarray(self.away)
        return float(n.min()), float(n.max())


def long_side(loop: Loop, area: Polygon) -> Side:
    """The longest straight side on which the piece can stand without falling along it; of equal ones the front one.

    Where no such side is straight, a short stretch of the outline on which it stands lowest.
    """
    points = np.asarray(area.exterior.coords)
    sides = []
    for curve in loop.curves:
        if not isinstance(curve, Line):
            continue
        side = Side(curve.start, curve.end, area)
        low, high = side.extent
        outside = ((points - side.begin) @ np.asarray(side.away)).min() < -STRAIGHT
        if not outside and side.length >= LEAST_SHARE * (high - low):
            sides.append(side)
    standing = [side for side in sides if 0.05 * side.length < side.balance < 0.95 * side.length]
    if not standing:
        return _round_side(loop, area)
    longest = max(side.length for side in standing)
    alike = [side for side in standing if side.length > longest - STRAIGHT]
    return min(alike, key=lambda side: (side.begin[1] + side.end[1], side.begin[0] + side.end[0]))


def _round_side(loop: Loop, area: Polygon) -> Side:
    """The stretch of a bowed outline, one in 360 places, on which the piece stands with its middle lowest."""
    places, half = 360, round(ROUND_SHARE / 2 * 360)
    ring = np.asarray([_at(loop, s) for s in np.linspace(0.0, loop.length, places + 1)[:-1]])
    begin, end = np.roll(ring, half, axis=0), np.roll(ring, -half, axis=0)
    step = end - begin
    length = np.hypot(*step.T)
    along = step / np.maximum(length, 1e-9)[:, None]
    away = np.column_stack([-along[:, 1], along[:, 0]])
    middle = np.asarray(area.centroid.coords[0]) - begin
    height, balance = np.einsum("ki,ki->k", middle, away), np.einsum("ki,ki->k", middle, along) / length
    over = np.einsum("pki,ki->pk", ring[:, None] - begin, away)
    # Nothing may hang far below the chord, and the middle must be over it: a kilometre is added for each that fails.
    below = -over.min(axis=0) > MOST_BOWED * length
    falls = (balance < 0.1) | (balance > 0.9)
    key = height + 1e3 * below + 1e3 * falls
    best = np.lexsort((ring[:, 0].round(5), ring[:, 1].round(5), key.round(5)))[0]
    (x0, y0), (x1, y1) = begin[best].tolist(), end[best].tolist()
    return Side((x0, y0), (x1, y1), area)


def _at(loop: Loop, s: float) -> Point:
    """The point s along the loop [m], from its start."""
    s %= loop.length
    starts = loop.curve_starts
    k = min(int(np.searchsorted(starts, s, side="right")) - 1, len(loop.curves) - 1)
    curve = loop.curves[k]
    x, y = curve.point(np.array([(s - starts[k]) / curve.length]))[0].tolist()
    return float(x), float(y)


def chord(side: Side, t: float) -> LineString:
    """The line across the whole piece, square to the side, t along it."""
    return LineString([side.spot(t, -25.0), side.spot(t, 25.0)])


def parts_on(line: LineString, slab: Polygon, least: float) -> list[list[Point]]:
    """The parts of a line on the concrete that are at least so long [m], from end to end."""
    cut = line.intersection(slab)
    parts = [cut] if isinstance(cut, LineString) else list(getattr(cut, "geoms", []))
    kept = [part for part in parts if isinstance(part, LineString) and part.length >= least]
    return [[(float(x), float(y)) for x, y in part.coords] for part in kept]


def _coordinates(cut: object) -> list[Point]:
    parts = getattr(cut, "geoms", [cut])
    return [(float(x), float(y)) for part in parts for x, y in part.coords]
