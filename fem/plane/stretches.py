"""The stretch of the slab's lower edge that a support has under it, whatever the place of the support is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from fem.plane.rim import Rim, Stretch
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Point, PointPlace

__all__ = ["clipped", "foot_of", "stretch_of"]

FloatArray = npt.NDArray[np.float64]

#: A line that keeps within this distance of the edge [m] lies along it; the edge is searched in steps of _STEP.
_NEAR = 1e-3
_STEP = 5e-4


def stretch_of(
    rim: Rim, place: PointPlace | LinePlace | EdgePlace | AreaPlace, down: FloatArray, least: float
) -> list[Stretch]:
    """Stretches [m] of a loop under a place, cut to what faces down (2,); [] where nothing does.

    A point has the stretch of its size about the spot under it; an edge is that edge; a line or an area the part of
    the edge within 1 mm of it, or, if none is, what lies between the spots nearest to a line's two ends. What would be
    shorter than least [m] is made as long.
    """
    if isinstance(place, EdgePlace):
        found = [(place.begin, place.end)]
    elif isinstance(place, PointPlace):
        spot = foot_of(rim, place.at, down)
        found = [] if spot is None else [(spot - place.size / 2, spot + place.size / 2)]
    else:
        found = _beside(rim, place)
        if not found and isinstance(place, LinePlace):
            found = _between_ends(rim, place, down)
    return [part for whole in found for part in clipped(rim, _widened(whole, least), down)]


def clipped(rim: Rim, stretch: Stretch, down: FloatArray) -> list[Stretch]:
    """The parts of a stretch that face down."""
    parts = []
    for begin, end in rim.facing(down):
        for turn in (-1, 0, 1):
            low = max(stretch[0], begin + turn * rim.length)
            high = min(stretch[1], end + turn * rim.length)
            if high - low > 1e-6:
                parts.append((low, high))
    return sorted(parts)


def foot_of(rim: Rim, at: Point, down: FloatArray) -> float | None:
    """Distance along the loop of the spot straight under a point: where the way down leaves the slab.

    For a point with no edge under it, the nearest spot that faces down; None if none faces down.
    """
    a, b, distance, length = _facing_chords(rim, down)
    if not len(a):
        return None
    aside = np.array([-down[1], down[0]])
    here = np.asarray(at, dtype=np.float64)
    xa, xb = (a - here) @ aside, (b - here) @ aside
    share: FloatArray = np.clip(-xa / np.where(xa == xb, 1.0, xb - xa), 0.0, 1.0)
    depth = ((1 - share)[:, None] * a + share[:, None] * b - here) @ down
    under = (np.minimum(xa, xb) <= 1e-9) & (np.maximum(xa, xb) >= -1e-9) & (depth > -_NEAR)
    if not under.any():
        return _nearest(rim, here, down)
    k = int(np.argmin(np.where(under, depth, np.inf)))
    return float(distance[k] + share[k] * length[k])


def _nearest(rim: Rim, here: FloatArray, down: FloatArray) -> float:
    a, b, distance, length = _facing_chords(rim, down)
    step = b - a
    share = np.clip(np.einsum("ki,ki->k", here - a, step) / np.einsum("ki,ki->k", step, step), 0.0, 1.0)
    k = int(np.argmin(np.hypot(*(a + share[:, None] * step - here).T)))
    return float(distance[k] + share[k] * length[k])


def _facing_chords(rim: Rim, down: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Two chords a side that faces down: ends a, b (k, 2), distance of a (k,) and length (k,) along the loop [m]."""
    sides = rim.faces(down)
    p, begin = rim.points[sides], rim.begin[sides]
    half = (rim.end[sides] - begin) / 2
    a, b = np.concatenate([p[:, 0], p[:, 1]]), np.concatenate([p[:, 1], p[:, 2]])
    return a, b, np.concatenate([begin, begin + half]), np.tile(half, 2)


def _beside(rim: Rim, place: LinePlace | AreaPlace) -> list[Stretch]:
    """Stretches within 1 mm of a line or an area, to half a millimetre."""
    if isinstance(place, AreaPlace) and not place.points:
        return [(0.0, rim.length)]
    count = int(np.ceil(rim.length / _STEP))
    distance: FloatArray = np.linspace(0.0, rim.length, count, endpoint=False)
    side, t = rim.side_at(distance)
    weight = np.stack([(1 - t) * (1 - 2 * t), 4 * t * (1 - t), t * (2 * t - 1)], axis=1)
    x, y = np.einsum("ka,kad->dk", weight, rim.points[side])
    near = np.zeros(count, dtype=bool)
    if isinstance(place, LinePlace):
        chain = shapely.LineString(place.points)
        near = np.asarray(shapely.contains_xy(chain.buffer(_NEAR, cap_style="flat"), x, y))
        if not near.any():
            near = np.asarray(shapely.distance(chain, shapely.points(x, y)) <= _NEAR)
    else:
        near = np.asarray(shapely.contains_xy(shapely.Polygon(place.points).buffer(_NEAR), x, y))
    if near.all():
        return [(0.0, rim.length)]
    first = distance[near & ~np.roll(near, 1)]
    last = distance[near & ~np.roll(near, -1)]
    if not len(first):
        return []
    last = np.roll(last, -int(np.searchsorted(last, first[0])))
    return list(zip(first.tolist(), (last + rim.length * (last < first)).tolist(), strict=True))


def _between_ends(rim: Rim, place: LinePlace, down: FloatArray) -> list[Stretch]:
    if not rim.facing(down):
        return []
    begin, end = sorted(
        _nearest(rim, np.asarray(at, dtype=np.float64), down) for at in (place.points[0], place.points[-1])
    )
    return [(begin, end)] if end - begin <= rim.length / 2 else [(end, begin + rim.length)]


def _widened(stretch: Stretch, least: float) -> Stretch:
    short = max(least - (stretch[1] - stretch[0]), 0.0) / 2
    return stretch[0] - short, stretch[1] + short
