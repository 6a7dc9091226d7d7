"""One square raster under the whole slab on which every stress field is looked up quickly.

Lines are traced through a few thousand places at a time, and finding the triangle of each would cost more than all the rest. So
the fields are carried once from the graded grid to the nodes of a raster and read from it bilinearly: the deviator as one
complex number (fem/paths/isotropic.py), never an angle. The raster lies along the slab's own edges, so that a slab
that is turned turns its raster and its paths with it. Places are complex numbers in raster units: a node is i + j * 1j.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage, sparse, spatial

from fem.paths.isotropic import deviator

__all__ = ["Raster", "raster_under"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

_OFF = 1e-7  # cells: places just between two nodes, common on straight slabs, must not be told apart by the last digit
MARGIN = 8  # nodes round the slab: room for a line's last step beyond the edge and for the ground it takes there
BESIDE = 0.3  # cells: a node this close to the edge is no place to begin a line
REACH = 2  # nodes outside the slab to which its edge values are carried
MOST_VALUES = 10_000_000  # nodes times fields: about 250 MB


@dataclass(frozen=True, eq=False, slots=True)
class Raster:
    """A raster of rows x columns nodes, n in all, node (i, j) at number j * columns + i, and f fields on it.

    cell [m], corner and turn (a unit number) place it: z [m] = turn * cell * (w + corner); directions, too, are the raster's. inside (n,): node in
    the slab and clear of its edge; rim (n,): the slab's edge is near; edges (b, 2): ends of the edge's pieces. deviator and mean (n, f) [Pa];
    faint (f,): a deviator too small to give a direction [Pa].
    """

    cell: float
    corner: complex
    turn: complex
    columns: int
    rows: int
    inside: BoolArray
    rim: BoolArray
    edges: ComplexArray
    deviator: ComplexArray
    mean: FloatArray
    faint: FloatArray

    @property
    def fields(self) -> int:
        """Number of stress fields."""
        return self.mean.shape[1]

    def node(self, w: ComplexArray) -> IntArray:
        """Number of the nearest node to each place w."""
        column, row = np.rint(w.real + _OFF), np.rint(w.imag + _OFF)
        return np.asarray((row * self.columns + column).astype(np.intp))

    def sample_deviator(self, w: ComplexArray, field: IntArray) -> ComplexArray:
        """Deviator [Pa] of the given field at each place w (k,)."""
        d = self.deviator.ravel()
        at, x, y = self._corner(w, field)
        low, high = d.take(at), d.take(at + self.columns * self.mean.shape[1])
        at += self.mean.shape[1]
        low += x * (d.take(at) - low)
        high += x * (d.take(at + self.columns * self.mean.shape[1]) - high)
        return np.asarray(low + y * (high - low))

    def sample_mean(self, w: ComplexArray, field: IntArray) -> FloatArray:
        """Mean of the two principal stresses [Pa] of the given field at each place w (k,)."""
        m = self.mean.ravel()
        at, x, y = self._corner(w, field)
        low, high = m.take(at), m.take(at + self.columns * self.mean.shape[1])
        at += self.mean.shape[1]
        low += x * (m.take(at) - low)
        high += x * (m.take(at + self.columns * self.mean.shape[1]) - high)
        return np.asarray(low + y * (high - low))

    def tension(self, w: ComplexArray, field: IntArray) -> FloatArray:
        """Larger principal stress [Pa] of the given field at each place w (k,)."""
        return np.asarray(self.sample_mean(w, field) + np.abs(self.sample_deviator(w, field)))

    def to_slab(self, w: ComplexArray) -> FloatArray:
        """Places w (k,) as points (k, 2) [m] of the slab."""
        z = self.turn * self.cell * (w + self.corner)
        return np.column_stack((z.real, z.imag))

    def _corner(self, w: ComplexArray, field: IntArray) -> tuple[IntArray, FloatArray, FloatArray]:
        """Table index of the node below and left of each place, and where the place lies in that cell."""
        x, y = w.real, w.imag
        column, row = np.floor(x), np.floor(y)
        at = (row * self.columns + column).astype(np.intp)
        at *= self.mean.shape[1]
        at += field
        return at, x - column, y - row


def raster_under(points: FloatArray, triangles: IntArray, stresses: FloatArray, cell: float) -> Raster:
    """The raster with nodes one cell [m] apart under triangles (q, 3) of points (p, 2) [m], for stresses (f, p, 3) [Pa].

    ValueError when the raster would hold more than MOST_VALUES.
    """
    z = points[:, 0] + 1j * points[:, 1]
    edges = _edges(triangles, len(z))
    turn = _axis(z[edges[:, 1]] - z[edges[:, 0]], z, triangles, stresses)
    w = z * turn.conjugate() / cell
    used = w[np.unique(triangles)]
    low = complex(used.real.min(), used.imag.min())
    high = complex(used.real.max(), used.imag.max())
    # Whole sizes stay whole when a turned slab's last digits differ.
    columns, rows = (2 * (int(np.ceil(size - 1e-6)) // 2 + MARGIN + 1) for size in ((high - low).real, (high - low).imag))
    if columns * rows * len(stresses) > MOST_VALUES:
        raise ValueError(
            f"paths {cell * 6:.3g} m apart on a slab {columns * cell:.3g} by {rows * cell:.3g} m: too fine, "
            f"{columns * rows} nodes for each of {len(stresses)} fields, together at most {MOST_VALUES}; take a larger spacing"
        )
    # The slab's middle lies on the raster's middle: a symmetric slab has a symmetric raster.
    corner = (low + high) / 2 - complex(columns - 1, rows - 1) / 2
    w = w - corner
    of_node, inside = _triangle_of_node(w, triangles, columns, rows)
    take, rim, inside = _interpolation(w, triangles, edges, of_node, inside, columns, rows)
    # The deviator turns twice as fast as the axes. Its two parts side by side are one complex number to NumPy.
    d = np.ascontiguousarray(deviator(stresses).T * turn.conjugate() ** 2)
    mean = np.ascontiguousarray(((stresses[..., 0] + stresses[..., 1]) / 2).T)
    on_nodes = np.asarray(take @ d.view(np.float64)).view(np.complex128)
    faint = 1e-6 * np.abs(stresses).max(axis=(1, 2))
    return Raster(cell, corner, turn, columns, rows, inside, rim, w[edges], on_nodes, np.asarray(take @ mean), faint)


def _edges(triangles: IntArray, p: int) -> IntArray:
    """Sides that belong to one triangle only, (b, 2)."""
    side = np.concatenate((triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]])).astype(np.intp)
    key = side.min(axis=1) * p + side.max(axis=1)
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(side[np.sort(first[count == 1])])


def _axis(side: ComplexArray, z: ComplexArray, triangles: IntArray, stresses: FloatArray) -> complex:
    """The direction in which the raster lies: that of most of the slab's edge, or across it; a unit number.

    A round slab has no such direction: then it is that of the stresses, taken so that both faces agree.
    """
    length = np.abs(side)
    unit = side[length > 0] / length[length > 0]
    fourfold = complex((unit**4 * length[length > 0]).sum())
    if abs(fourfold) > 1e-3 * length.sum():
        return complex(np.exp(0.25j * np.angle(fourfold)))
    corner = z[triangles]
    b, c = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(b.real * c.imag - b.imag * c.real)
    pull = (deviator(stresses) * (stresses[..., 0] + stresses[..., 1])).sum(axis=0)[triangles].mean(axis=1)
    size = float((area * np.abs(pull)).sum())
    twofold = complex((area * pull).sum())
    return complex(np.exp(0.5j * np.angle(twofold))) if abs(twofold) > 1e-3 * size else 1 + 0j


def _runs(first: IntArray, count: IntArray) -> tuple[IntArray, IntArray]:
    """Numbers first, first + 1, ... count of them for every entry, in one array; and the entry each belongs to."""
    owner = np.repeat(np.arange(len(count)), count)
    start = np.repeat(np.cumsum(count) - count, count)
    return first[owner] + np.arange(len(owner)) - start, owner


def _triangle_of_node(w: ComplexArray, triangles: IntArray, columns: int, rows: int) -> tuple[IntArray, BoolArray]:
    """A triangle in which each node lies, (n,), and whether it lies in any, (n,): all triangles row by row at once."""
    corner = w[triangles]
    b, c = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    flat = np.abs(b.real * c.imag - b.imag * c.real) < 1e-9
    low = np.ceil(corner.imag.min(axis=1) - 1e-9).astype(np.intp)
    high = np.floor(corner.imag.max(axis=1) + 1e-9).astype(np.intp)
    row, triangle = _runs(low, np.where(flat, 0, np.maximum(high - low + 1, 0)))
    left, right = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        start, side = corner[triangle, a], (corner[:, b] - corner[:, a])[triangle]
        with np.errstate(divide="ignore", invalid="ignore"):
            part = (row - start.imag) / side.imag
            x = start.real + part * side.real
        crosses = (part >= -1e-9) & (part <= 1 + 1e-9)
        left = np.where(crosses, np.minimum(left, x), left)
        right = np.where(crosses, np.maximum(right, x), right)
    met = left <= right
    row, triangle, left, right = row[met], triangle[met], left[met], right[met]
    begin = np.ceil(left - 1e-9).astype(np.intp)
    column, span = _runs(begin, np.maximum(np.floor(right + 1e-9).astype(np.intp) - begin + 1, 0))
    node = row[span] * columns + column
    of_node = np.zeros(columns * rows, dtype=np.intp)
    inside = np.zeros(columns * rows, dtype=np.bool_)
    of_node[node] = triangle[span]
    inside[node] = True
    return of_node, inside


def _interpolation(
    w: ComplexArray,
    triangles: IntArray,
    edges: IntArray,
    of_node: IntArray,
    inside: BoolArray,
    columns: int,
    rows: int,
) -> tuple[sparse.csr_array, BoolArray, BoolArray]:
    """Weights (n, p) that carry grid values to the nodes, which nodes lie near the edge, and which clear of it inside.

    Nodes just outside take the value of the nearest point of the edge, so that bilinear reading is right up to it.
    """
    rim, sample, edge, part = _edge_samples(w, edges, columns, rows)
    near, within = np.flatnonzero(rim), np.flatnonzero(inside)
    away, nearest = spatial.cKDTree(np.column_stack((sample.real, sample.imag))).query(
        np.column_stack((near % columns, near // columns))
    )
    clear = inside.copy()
    clear[near[away < BESIDE]] = False
    nearest, near = nearest[~inside[near]], near[~inside[near]]
    use = np.zeros((len(inside), 3), dtype=np.intp)
    weight = np.zeros((len(inside), 3))
    use[within] = triangles[of_node[within]]
    weight[within] = _barycentric(w[use[within]], within % columns + 1j * (within // columns))
    use[near, :2] = edges[edge[nearest]]
    weight[near, 0], weight[near, 1] = 1 - part[nearest], part[nearest]
    filled = np.zeros(len(inside), dtype=np.bool_)
    filled[near] = filled[within] = True
    start = np.concatenate(([0], np.cumsum(3 * filled)))
    return sparse.csr_array((weight[filled].ravel(), use[filled].ravel(), start), shape=(len(inside), len(w))), rim, clear


def _edge_samples(
    w: ComplexArray, edges: IntArray, columns: int, rows: int
) -> tuple[BoolArray, ComplexArray, IntArray, FloatArray]:
    """Nodes near the edge (n,), and places along it half a cell apart: the place, the edge's piece, the part along it."""
    side = w[edges[:, 1]] - w[edges[:, 0]]
    count = np.ceil(2 * np.abs(side)).astype(np.intp) + 1
    step, edge = _runs(np.zeros_like(count), count)
    part = step / np.maximum(count[edge] - 1, 1)
    sample = w[edges[edge, 0]] + part * side[edge]
    rim = np.zeros((rows, columns), dtype=np.bool_)
    rim[np.rint(sample.imag).astype(np.intp), np.rint(sample.real).astype(np.intp)] = True
    rim = ndimage.maximum_filter(rim, size=2 * REACH + 1)
    return rim.ravel(), sample, edge, part


def _barycentric(corner: ComplexArray, at: ComplexArray) -> FloatArray:
    """Weights (k, 3) of the corners (k, 3) of triangles at places (k,) in them."""
    a, b, c = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = b.real * c.imag - b.imag * c.real
    at = at - a
    second = (at.real * c.imag - at.imag * c.real) / area
    third = (b.real * at.imag - b.imag * at.real) / area
    weight = np.clip(np.column_stack((1 - second - third, second, third)), 0.0, 1.0)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))
