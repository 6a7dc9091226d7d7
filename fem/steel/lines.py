"""Straight runs that might be laid: lines a pitch apart in one direction, ended by the covers to edges and openings.

Lines are first put where they do most: as near as cover allows to the edges that run along with them, and at the two
sides of the slab; between those they are spread evenly, no closer than the pitch. So a narrow rail holds as many as
fit. A run is a line's whole chord: never cut by an opening, past it through the rails. Past a hollow corner, one with
slab on more than half a turn, more lines lie as near as cover allows; there a run may also be a trimmer, which ends
once it is anchored beyond the corner on both sides. Which of those that lie too close are laid is for others to say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from fem.steel.capacity import Bars
from fem.steel.model import Covers, Rules, Steel

__all__ = ["candidates", "main_directions"]

FloatArray = npt.NDArray[np.float64]

_PARALLEL = math.radians(0.5)
_HAIR = 1e-7


@dataclass(frozen=True, eq=False)
class _Turned:
    """A slab turned so that the runs lie along x: its free part (less covers), sides and hollow corners with covers."""

    free: BaseGeometry
    begin: FloatArray
    end: FloatArray
    cover: FloatArray
    hollow: list[tuple[FloatArray, float]]


def candidates(
    region: shapely.Polygon, angle: float, steel: Steel, covers: Covers, rules: Rules, trimmers: bool = False
) -> Bars:
    """All runs that might be laid in a direction [rad]; with trimmers, also those across hollow corners."""
    half = max(steel.width, steel.diameter) / 2
    turned = _turned(region, angle, covers, rules.most / 2)
    if turned.free.is_empty:
        return Bars(angle, *np.empty((3, 0)))
    offsets = _offsets(turned, half, rules)
    offset, begin, end = _chords(turned.free, offsets, half)
    if trimmers:
        short = _trimmers(turned, half, rules)
        offset, begin, end = (np.concatenate(pair) for pair in zip((offset, begin, end), short, strict=True))
    long = end - begin >= rules.least_length
    return Bars(angle, offset[long], begin[long], end[long])


def main_directions(region: shapely.Polygon, directions: tuple[float, ...]) -> tuple[float, ...]:
    """The one or two directions that most of the slab's edges run along, square to each other if such are there."""
    begin, end, _ = _sides(region, 0.0, 0.0)
    step = end - begin
    length, heading = np.hypot(*step.T), np.arctan2(step[:, 1], step[:, 0])

    def along(angle: float) -> float:
        return float(length @ np.cos(2 * (heading - angle)) ** 8)

    if not directions:
        return ()
    first = max(directions, key=along)
    square = [angle for angle in directions if abs(abs(angle - first) - math.pi / 2) < _PARALLEL]
    return tuple(sorted({first, *square[:1]}))


def _turned(region: shapely.Polygon, angle: float, covers: Covers, apart: float) -> _Turned:
    flat = shapely.geometry.polygon.orient(affinity.rotate(region, -angle, origin=(0, 0), use_radians=True))
    outer = shapely.Polygon(flat.exterior).buffer(-covers.edge)
    free = outer.difference(shapely.MultiPolygon([shapely.Polygon(r) for r in flat.interiors]).buffer(covers.opening))
    begin, end, cover = _sides(flat, covers.edge, covers.opening)
    return _Turned(free, begin, end, cover, _hollow(flat, covers, apart))


def _sides(region: shapely.Polygon, edge: float, opening: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sides of the polygon, begin and end (s, 2), and the cover to each (s,)."""
    rings = [np.asarray(ring.coords)[:, :2] for ring in (region.exterior, *region.interiors)]
    cover = [np.full(len(ring) - 1, opening if k else edge) for k, ring in enumerate(rings)]
    return (
        np.concatenate([ring[:-1] for ring in rings]),
        np.concatenate([ring[1:] for ring in rings]),
        np.concatenate(cover),
    )


def _hollow(region: shapely.Polygon, covers: Covers, apart: float) -> list[tuple[FloatArray, float]]:
    """Corners with slab on more than half a turn, each with its cover; a rounded one is all its points (k, 2)."""
    found = []
    for number, ring in enumerate((region.exterior, *region.interiors)):
        points = np.asarray(ring.coords)[:-1, :2]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        corners = points[turn < -1e-4 * np.hypot(*before.T) * np.hypot(*after.T)]
        if len(corners):
            gaps = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T) > apart
            corners = np.roll(corners, -1 - int(gaps.argmax()), axis=0) if gaps.any() else corners
            breaks = np.flatnonzero(np.hypot(*np.diff(corners, axis=0).T) > apart) + 1
            cover = covers.opening if number else covers.edge
            found += [(corner, cover) for corner in np.split(corners, breaks)]
    return found


def _offsets(turned: _Turned, half: float, rules: Rules) -> FloatArray:
    """Where lines lie: first the places that ask for one, then evenly between them."""
    _, low, _, high = turned.free.bounds
    low, high = low + half + _HAIR, high - half - _HAIR
    if high <= low:
        return np.array([(low + high) / 2])
    step = turned.end - turned.begin
    length = np.hypot(*step.T)
    flat = (abs(step[:, 1]) <= length * math.sin(_PARALLEL)) & (length >= rules.least_length)
    inward = np.sign(step[flat, 0]) * (turned.cover[flat] + half + 10 * _HAIR)
    place = (turned.begin + turned.end)[flat, 1] / 2 + inward
    kept = [low, high] if high - low >= rules.pitch else [(low + high) / 2]
    for at in place[np.argsort(-length[flat], kind="stable")]:
        if low < at < high and np.abs(np.array(kept) - at).min() >= rules.pitch:
            kept.append(float(at))
    kept.sort()
    even = [
        np.linspace(a, b, max(int((b - a) / rules.pitch * (1 + 1e-9)), 1), endpoint=False) for a, b in pairwise(kept)
    ]
    return np.concatenate([*even, kept[-1:]])


def _chords(free: BaseGeometry, offsets: FloatArray, half: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The parts of lines whose whole width is free: offset, begin, end (r,)."""
    west, _, east, _ = free.bounds
    shapely.prepare(free)
    parts: list[tuple[float, float, float]] = []
    three = np.stack([_pieces(free, offsets + side, west, east) for side in (0.0, half, -half)], axis=1)
    for offset, pieces in zip(offsets, three, strict=True):
        left = pieces[0]
        for other in pieces[1:]:
            left = left.intersection(other) if not left.is_empty else left
        for line in shapely.get_parts(left):
            if line.geom_type == "LineString" and not line.is_empty:
                x = shapely.get_coordinates(line)[:, 0]
                parts.append((float(offset), float(x.min()), float(x.max())))
    offset, begin, end = np.array(parts).reshape(-1, 3).T
    return offset, begin, end


def _pieces(free: BaseGeometry, offsets: FloatArray, west: float, east: float) -> npt.NDArray[np.object_]:
    """What of each horizontal line lies in the free part, put onto y = 0."""
    ends = np.empty((len(offsets), 2, 2))
    ends[:, 0, 0], ends[:, 1, 0], ends[..., 1] = west - 1.0, east + 1.0, offsets[:, None]
    cut = shapely.intersection(shapely.linestrings(ends), free)
    flat = shapely.transform(cut, lambda xy: xy * (1.0, 0.0))
    return np.asarray(flat, dtype=np.object_)


def _trimmers(turned: _Turned, half: float, rules: Rules) -> FloatArray:
    """Runs past hollow corners, as near as cover allows and a few pitches on: whole, and ended when anchored (3, r)."""
    reach = rules.anchorage + rules.most / 2
    made = []
    for corner, cover in turned.hollow:
        for side in (1.0, -1.0):
            tip = corner[np.argmax(side * corner[:, 1])]
            away = cover + half + 10 * _HAIR + np.arange(0.0, rules.most, rules.pitch)
            for at, west, east in np.transpose(_chords(turned.free, tip[1] + side * away, half)):
                if west < tip[0] < east:
                    near = corner[
                        (abs(corner[:, 1] - at) < rules.most) & (corner[:, 0] > west) & (corner[:, 0] < east), 0
                    ]
                    made += [
                        (at, west, east),
                        (
                            at,
                            max(min(near, default=tip[0]) - reach, west),
                            min(max(near, default=tip[0]) + reach, east),
                        ),
                    ]
    return np.array(sorted(set(made))).reshape(-1, 3).T
