"""The moment averaged over a disc of one thickness: the number that decides.

The mean of a curvature over a region is an integral of the slope round its rim (Gauss), and Bell's slope is
continuous. So no second derivative is ever sampled near a kink or a corner, and the mean is the same sum for a sharp
corner, a fillet and a line.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely

from fem.plate.bell import BellPlate
from meshing.mesh import Mesh

__all__ = ["DiscMean", "Discs", "disc_mean", "discs", "rims"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_ROUND = 16
# Discs whose rims are in memory together.
_AT_ONCE = 8000


@dataclass(frozen=True, eq=False)
class Discs:
    """The rims of p discs: points (k, 2) [m] and step (k, 2) [1/m], outward normal x length / area of the disc.

    owner (k,) is the disc of each rim point, element (k,) the triangle that holds it.
    """

    points: FloatArray
    step: FloatArray
    owner: IntArray
    element: IntArray

    def joined(self, other: Discs, count: int) -> Discs:
        """These count discs, then the other's."""
        return Discs(
            np.concatenate([self.points, other.points]),
            np.concatenate([self.step, other.step]),
            np.concatenate([self.owner, count + other.owner]),
            np.concatenate([self.element, other.element]),
        )


@dataclass(frozen=True, eq=False)
class DiscMean:
    """Mean curvatures (kxx, kyy, 2 kxy), with k = -w'', over p discs: sparse rows on the freedoms."""

    parts: tuple[sp.csr_matrix, ...]

    @cached_property
    def rows(self) -> sp.csr_matrix:
        """The operator (3 p, 6 n) in one piece."""
        return self.parts[0] if len(self.parts) == 1 else sp.vstack(self.parts, format="csr")

    def __call__(self, u: FloatArray) -> FloatArray:
        """Means (p, 3, c) [1/m] from freedoms u (6 n, c)."""
        return np.concatenate([_product(part, u) for part in self.parts]).reshape(-1, 3, u.shape[1])

    def each(self, u: FloatArray) -> FloatArray:
        """Means (p, 3) [1/m], that of each disc from its own freedoms, u (6 n, p)."""
        rows = self.rows
        disc = np.repeat(np.arange(rows.shape[0]), np.diff(rows.indptr)) // 3
        sums = np.add.reduceat(np.append(rows.data * u[rows.indices, disc], 0.0), rows.indptr[:-1])
        return np.asarray(np.where(np.diff(rows.indptr) > 0, sums, 0.0)).reshape(-1, 3)

    def at(self, points: IntArray) -> DiscMean:
        """The means at some of the points (k,) alone."""
        return DiscMean((self.rows[(3 * points[:, None] + np.arange(3)).ravel()],))

    def joined(self, other: DiscMean) -> DiscMean:
        """These points, then the other's."""
        return DiscMean((*self.parts, *other.parts))


def _product(rows: sp.csr_matrix, u: FloatArray) -> FloatArray:
    # SciPy takes a few columns faster one by one.
    return np.asarray(rows @ u if u.shape[1] > 3 else np.stack([rows @ column for column in u.T], axis=1))


def disc_mean(
    bell: BellPlate, points: FloatArray, radius: float, region: shapely.Polygon, round_each: Discs | None = None
) -> DiscMean:
    """The averaging operator at points (p, 2) [m], over the part of each disc of this radius [m] that is slab.

    round_each: the discs, if they are known already.
    """
    if round_each is None:
        round_each = discs(bell.mesh, points, radius, region)
    ends = np.arange(_AT_ONCE, len(points), _AT_ONCE)
    order = np.argsort(round_each.owner, kind="stable")
    parts = np.split(order, np.searchsorted(round_each.owner[order], ends))
    rows = [_rows(bell, round_each, part, len(points)) for part in parts]
    return DiscMean((rows[0] if len(rows) == 1 else sp.csr_matrix(sum(rows[1:], rows[0])),))


def _rows(bell: BellPlate, round_each: Discs, which: IntArray, count: int) -> sp.csr_matrix:
    rim, step = round_each.points[which], round_each.step[which]
    triangles = len(bell.center)
    key, group = np.unique(round_each.owner[which] * triangles + round_each.element[which], return_inverse=True)
    slope = bell.basis(round_each.element[which], rim, ((1, 0), (0, 1)))
    # -(slope x normal): xx, yy and twice xy, summed over the rim points that one disc has in one element.
    k = len(rim)
    x, y = 2 * np.arange(k), 2 * np.arange(k) + 1
    rows = np.concatenate([3 * group, 3 * group + 1, 3 * group + 2, 3 * group + 2])
    data = -np.concatenate([step[:, 0], step[:, 1], step[:, 1], step[:, 0]])
    sums = sp.csr_matrix((data, (rows, np.concatenate([x, y, x, y]))), shape=(3 * len(key), 2 * k))
    owner, element = np.divmod(key, triangles)
    parts = np.asarray(sums @ slope.reshape(2 * k, 21)).reshape(-1, 3, 21)
    values: FloatArray = np.einsum("gim,gma->gia", parts, bell.coefficients[element])
    place = np.broadcast_to((3 * owner[:, None] + np.arange(3))[:, :, None], values.shape)
    columns = np.broadcast_to(bell.freedoms[element][:, None], values.shape)
    return sp.coo_matrix((values.ravel(), (place.ravel(), columns.ravel())), shape=(3 * count, bell.size)).tocsr()


def discs(mesh: Mesh, points: FloatArray, radius: float, region: shapely.Polygon) -> Discs:
    """The discs of this radius [m] about points (p, 2) [m], cut by the slab's edge, with the triangles round them."""
    rim, step, owner = rims(points, radius, region)
    return Discs(rim, step, owner, mesh.locate(rim))


def rims(points: FloatArray, radius: float, region: shapely.Polygon) -> tuple[FloatArray, FloatArray, IntArray]:
    """Rims of the discs about points (p, 2), within the slab.

    Returns rim points (k, 2) [m], outward normal x length / area (k, 2) [1/m], and their disc (k,). Of a
    disc that a slot cuts in two, the piece that holds its centre counts.
    """
    spots = np.asarray(shapely.points(points))
    whole = np.asarray(shapely.distance(region.boundary, spots) >= radius)
    angle = (np.arange(_ROUND) + 0.5) * 2 * np.pi / _ROUND
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    full = points[whole][:, None] + radius * normal
    cut = np.flatnonzero(~whole)
    rim, step, owner = _cut_rims(spots[cut], radius, region)
    return (
        np.concatenate([full.reshape(-1, 2), rim]),
        np.concatenate([np.tile(normal * (2 / radius / _ROUND), (len(full), 1)), step]),
        np.concatenate([np.repeat(np.flatnonzero(whole), _ROUND), cut[owner]]),
    )


def _cut_rims(
    spots: npt.NDArray[np.object_], radius: float, region: shapely.Polygon
) -> tuple[FloatArray, FloatArray, IntArray]:
    if not len(spots):
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, dtype=np.int64)
    discs = shapely.buffer(spots, radius, quad_segs=8)
    pieces = shapely.intersection(discs, region)
    torn = np.flatnonzero(shapely.get_type_id(pieces) != shapely.GeometryType.POLYGON)
    for k in torn:
        parts = [part for part in shapely.get_parts(pieces[k]) if part.area > 0]
        pieces[k] = min(parts, key=lambda part: (shapely.distance(part, spots[k]), -part.area))
    pieces = shapely.segmentize(shapely.orient_polygons(pieces), radius / 3)
    rings, piece = shapely.get_rings(pieces, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    side = (points[1:] - points[:-1])[same]
    middle = ((points[1:] + points[:-1]) / 2)[same]
    owner = piece[ring[:-1][same]]
    step = np.stack([side[:, 1], -side[:, 0]], axis=1) / shapely.area(pieces)[owner, None]
    return middle, step, owner
