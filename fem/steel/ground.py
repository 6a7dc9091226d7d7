"""How far the slab reaches to both sides of a point, straight across a direction, until an edge or opening ends it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["Ground", "ground_of"]

FloatArray = npt.NDArray[np.float64]

#: Points closer to an edge than this [m] are read this far inside: on the edge itself a chord may run on either side.
INSIDE = 1e-6
_BLOCK = 2_000_000


@dataclass(frozen=True, eq=False)
class Ground:
    """Points (q, 2) [m] of a slab, none on its edge, and the sides of its polygon, begin and end (s, 2) [m]."""

    points: FloatArray
    begin: FloatArray
    end: FloatArray

    def along(self, angle: float) -> FloatArray:
        """Coordinate of the points in a direction (q,) [m]."""
        return np.asarray(self.points @ (np.cos(angle), np.sin(angle)))

    def across(self, angle: float) -> FloatArray:
        """Coordinate of the points across a direction, to its left (q,) [m]."""
        return np.asarray(self.points @ (-np.sin(angle), np.cos(angle)))

    def reach(self, angle: float, most: float) -> tuple[FloatArray, FloatArray]:
        """The chord across a direction through every point: how far it goes to the right and left, (q,) [m] each.

        At most so far as most [m].
        """
        t, n = (np.cos(angle), np.sin(angle)), (-np.sin(angle), np.cos(angle))
        a_along, b_along, a_across, b_across = self.begin @ t, self.end @ t, self.begin @ n, self.end @ n
        along, across = self.along(angle), self.across(angle)
        right, left = np.full(len(along), most), np.full(len(along), most)
        slope = np.divide(b_across - a_across, b_along - a_along, out=np.zeros_like(a_along), where=a_along != b_along)
        for block in np.array_split(np.arange(len(along)), max(1, len(along) * len(a_along) // _BLOCK)):
            here = along[block, None]
            crosses = (a_along <= here) != (b_along <= here)
            point, side = np.nonzero(crosses)
            off = a_across[side] + slope[side] * (along[block][point] - a_along[side]) - across[block][point]
            np.minimum.at(left, block[point[off > 0]], off[off > 0])
            np.minimum.at(right, block[point[off <= 0]], -off[off <= 0])
        return right, left


def ground_of(region: shapely.Polygon, points: FloatArray) -> Ground:
    """The ground under points (q, 2) [m] of a slab; those on its edge, or a hair outside, are moved just inside."""
    points = np.array(points, dtype=np.float64)
    inner = region.buffer(-INSIDE, join_style="mitre")
    shapely.prepare(inner)
    spots = np.asarray(shapely.points(points))
    off = np.flatnonzero(~shapely.covers(inner, spots))
    if len(off) and not inner.is_empty:
        points[off] = shapely.get_coordinates(np.asarray(shapely.shortest_line(inner, spots[off])))[::2]
    rings = [np.asarray(ring.coords)[:, :2] for ring in (region.exterior, *region.interiors)]
    return Ground(points, np.concatenate([ring[:-1] for ring in rings]), np.concatenate([ring[1:] for ring in rings]))
