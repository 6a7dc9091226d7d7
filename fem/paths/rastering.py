"""From the graded grid to the raster: which triangle each node lies in, and what it takes from the corners.

All triangles are filled row by row at once. The raster lies along the slab's own edges, so that a slab that is turned
turns its raster, and its paths, with it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import sparse, spatial

from fem.paths.isotropic import deviator
from fem.paths.raster import Raster, grown

__all__ = ["REACH", "raster_under"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

MARGIN = 8  # nodes round the slab: room for a line's last step beyond the edge and for the ground it takes there
REACH = 2  # nodes outside the slab to which its edge values are carried
BESIDE = 0.3  # cells: a node this close to the edge is no place to begin a line
MOST_VALUES = 10_000_000  # nodes times fields: about 250 MB
SLIGHT = 1e-3  # a direction less marked than this is an accident of the grid
ASKEW = 0.3  # rad


def raster_under(
    points: FloatArray, triangles: IntArray, stresses: FloatArray, faint: FloatArray, cell: float
) -> Raster:
    """The raster, nodes one cell [m] apart, under triangles (q, 3) of points (p, 2) [m] with stresses (f, p, 3).

    faint (f,): a deviator smaller than this has no direction. ValueError when the raster would hold more than
    MOST_VALUES.
    """
    z = points[:, 0] + 1j * points[:, 1]
    edges = _edges(triangles, len(z))
    turn = _frame(z, triangles, edges, stresses)
    w = z * turn.conjugate() / cell
    used = w[np.unique(triangles)]
    low = complex(used.real.min(), used.imag.min())
    high = complex(used.real.max(), used.imag.max())
    # Whole sizes stay whole when a turned slab's last digits differ.
    columns, rows = (2 * (int(np.ceil(size - 1e-6)) // 2 + MARGIN + 1) for size in _parts(high - low))
    if columns * rows * len(stresses) > MOST_VALUES:
        raise ValueError(
            f"paths {cell * 6:.3g} m apart on a slab {columns * cell:.3g} by {rows * cell:.3g} m: too fine, "
            f"{columns * rows} nodes for each of {len(stresses)} fields, together at most {MOST_VALUES}; "
            "take a larger spacing"
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
    return Raster(cell, corner, turn, columns, rows, inside, rim, w[edges], on_nodes, np.asarray(take @ mean), faint)


def _parts(z: complex | ComplexArray) -> tuple[Any, Any]:
    """Real and imaginary part."""
    return z.real, z.imag


def _edges(triangles: IntArray, p: int) -> IntArray:
    """Sides that belong to one triangle only, (b, 2)."""
    side = np.concatenate((triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]])).astype(np.intp)
    key = side.min(axis=1) * p + side.max(axis=1)
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(side[np.sort(first[count == 1])])


def _frame(z: ComplexArray, triangles: IntArray, edges: IntArray, stresses: FloatArray) -> complex:
    """The direction of the raster's rows, a unit number that turns with the slab.

    Rows lie along or across most of the edge; a round slab has no such direction, and takes that of its stresses,
    formed so that both faces agree. Of the four ways that are left, the one that looks to where most of the slab
    lies, or, if the slab lies evenly, to where most of the stress does.
    """
    corner = z[triangles]
    b, c = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(b.real * c.imag - b.imag * c.real)
    side = z[edges[:, 1]] - z[edges[:, 0]]
    length = np.maximum(np.abs(side), 1e-300)
    fourfold = complex((side**4 / length**3).sum())
    pull = (deviator(stresses) * (stresses[..., 0] + stresses[..., 1])).sum(axis=0)[triangles].mean(axis=1)
    twofold = complex((area * pull).sum())
    turn = 1 + 0j
    if abs(fourfold) > SLIGHT * length.sum():
        turn = complex(np.exp(0.25j * np.angle(fourfold)))
    elif abs(twofold) > SLIGHT * float((area * np.abs(pull)).sum()):
        turn = complex(np.exp(0.5j * np.angle(twofold)))
    w = corner.mean(axis=1) * turn.conjugate()
    box = [f(part) for part in _parts(corner * turn.conjugate()) for f in (np.min, np.max)]
    middle, size = complex(box[0] + box[1], box[2] + box[3]) / 2, max(box[1] - box[0], box[3] - box[2])
    stress = (stresses**2).sum(axis=(0, 2))[triangles].mean(axis=1)
    for weight in (area, area * stress):
        ahead = complex((weight * (w - middle)).sum() / max(weight.sum(), 1e-300))
        if abs(ahead) > SLIGHT * size:
            # The borders between the four lie askew: the middle of many a slab lies right along a diagonal.
            return turn * 1j ** int(np.rint((np.angle(ahead) - ASKEW) / (np.pi / 2)))
    return turn


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
    first = np.ceil(corner.imag.min(axis=1) - 1e-9).astype(np.intp)
    last = np.floor(corner.imag.max(axis=1) + 1e-9).astype(np.intp)
    row, triangle = _runs(first, np.where(flat, 0, np.maximum(last - first + 1, 0)))
    left, right = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for k in range(3):
        start, side = corner[triangle, k], (corner[:, k - 2] - corner[:, k])[triangle]
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
    tree = spatial.cKDTree(np.column_stack(_parts(sample)))
    away, nearest = tree.query(np.column_stack((near % columns, near // columns)))
    nearest = np.asarray(nearest, dtype=np.intp)
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
    take = sparse.csr_array((weight[filled].ravel(), use[filled].ravel(), start), shape=(len(inside), len(w)))
    return take, rim, clear


def _edge_samples(
    w: ComplexArray, edges: IntArray, columns: int, rows: int
) -> tuple[BoolArray, ComplexArray, IntArray, FloatArray]:
    """Nodes near the edge (n,), and places half a cell apart on it: the place, the edge's piece, the part along it."""
    side = w[edges[:, 1]] - w[edges[:, 0]]
    count = np.ceil(2 * np.abs(side)).astype(np.intp) + 1
    step, edge = _runs(np.zeros_like(count), count)
    part = step / np.maximum(count[edge] - 1, 1)
    sample = w[edges[edge, 0]] + part * side[edge]
    rim = np.zeros((rows, columns), dtype=np.bool_)
    rim[np.rint(sample.imag).astype(np.intp), np.rint(sample.real).astype(np.intp)] = True
    return grown(rim, REACH).ravel(), sample, edge, part


def _barycentric(corner: ComplexArray, at: ComplexArray) -> FloatArray:
    """Weights (k, 3) of the corners (k, 3) of triangles at places (k,) in them."""
    a, b, c = corner[:, 0], corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = b.real * c.imag - b.imag * c.real
    at = at - a
    second = (at.real * c.imag - at.imag * c.real) / area
    third = (b.real * at.imag - b.imag * at.real) / area
    weight = np.clip(np.column_stack((1 - second - third, second, third)), 0.0, 1.0)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))
