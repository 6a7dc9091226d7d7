"""Where a slab might be held: places for hands along its rim, for cups all over it, for bearers across it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.model import LinePlace
from fem.plate.prepared import Prepared

__all__ = ["bearer_candidates", "inner_candidates", "rim_candidates"]

FloatArray = npt.NDArray[np.float64]

# A turn of the rim sharper than this is a corner, where a hand is always tried [rad].
_CORNER = np.radians(30)


def rim_candidates(prepared: Prepared, count: int = 40, size: float = 0.1) -> FloatArray:
    """So many places for hands of this size [m] along the outline: its corners, and evenly between them, (c, 2) [m].

    They are set in from the edge by half a hand; those that then lie in an opening are left out.
    """
    region = prepared.site.region
    whole = shapely.Polygon(region.exterior)
    inner = shapely.buffer(whole, -size / 2, join_style="mitre")
    if inner.is_empty:
        inner = shapely.buffer(whole, -0.05 * float(np.sqrt(whole.area)), join_style="mitre")
    rings = [part.exterior for part in shapely.get_parts(inner) if not part.is_empty]
    length = sum(ring.length for ring in rings)
    places = [_round_ring(ring, max(round(count * ring.length / length), 1), 0.05 * size) for ring in rings]
    found = np.concatenate(places) if places else np.zeros((0, 2))
    return found[prepared.site.depth(found) > 0.2 * size]


def inner_candidates(prepared: Prepared, count: int = 40, size: float = 0.2) -> FloatArray:
    """About so many places for cups of this size [m], in rows all over the slab, clear of every edge, (c, 2) [m]."""
    room = shapely.buffer(prepared.site.region, -size / 2)
    if room.is_empty:
        return np.zeros((0, 2))
    x0, y0, x1, y1 = room.bounds
    step = float(np.sqrt(room.area / count))
    x, y = (np.linspace(a, b, max(round((b - a) / step), 1) + 1) for a, b in ((x0, x1), (y0, y1)))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return grid[shapely.intersects_xy(shapely.buffer(room, 1e-6), grid)]


def bearer_candidates(prepared: Prepared, count: int = 20) -> tuple[LinePlace, ...]:
    """So many lines square across the slab's longest direction, evenly apart, from edge to edge."""
    region = prepared.site.region
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))[:4]
    first, second = corners[1] - corners[0], corners[3] - corners[0]
    along, across = (first, second) if np.hypot(*first) >= np.hypot(*second) else (second, first)
    out = []
    for station in (np.arange(count) + 0.5) / count:
        start = corners[0] + station * along
        chord = shapely.intersection(region, shapely.LineString([start - 0.01 * across, start + 1.01 * across]))
        if chord.length > 0:
            ends = shapely.get_coordinates(chord)
            reach = (ends - start) @ across
            ends = ends[[int(reach.argmin()), int(reach.argmax())]]
            out.append(LinePlace(tuple((float(x), float(y)) for x, y in ends)))
    return tuple(out)


def _round_ring(ring: shapely.LinearRing, count: int, roughness: float) -> FloatArray:
    """Corners of a ring, and as many places between them as make up the count; nearly even."""
    plain = shapely.get_coordinates(shapely.simplify(ring, roughness))[:-1]
    side = np.roll(plain, -1, axis=0) - plain
    before = np.roll(side, 1, axis=0)
    turn = np.arctan2(before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0], (before * side).sum(axis=1))
    corner = plain[np.abs(turn) > _CORNER]
    at = np.sort(shapely.line_locate_point(ring, shapely.points(corner)))
    if not 0 < len(at) <= count:
        at = np.zeros(1)
    span = np.diff(np.append(at, at[0] + ring.length))
    pieces = np.ones(len(at), dtype=np.int64)
    for _ in range(count - len(at)):
        pieces[int(np.argmax(span / pieces))] += 1
    along = [a + s * np.arange(n) / n for a, s, n in zip(at, span, pieces, strict=True)]
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, np.concatenate(along) % ring.length))
