"""Quadratic triangles on the plate's own mesh, their sides on the true arcs: six nodes, displacements (ux, uy).

Nodes are the mesh's n nodes, then the m middles of its sides in the order of mesh.edges: the display grid of the plate.
The element is isoparametric, so that a side on an arc follows it to the third order and a linear displacement stays
exact. Source: Zienkiewicz & Taylor, The Finite Element Method, vol. 1, 5th ed. (2000), ch. 8 and 9.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from meshing.mesh import Mesh

__all__ = ["CORNERS_AND_MIDDLES", "QuadraticMesh", "gradients", "values"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: An element's own coordinates (L1, L2) of its six nodes.
CORNERS_AND_MIDDLES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
#: Three points, each with a third of the area: exact for degree 2 (Zienkiewicz & Taylor, table 9.2).
_POINTS = np.array([[1 / 6, 1 / 6], [2 / 3, 1 / 6], [1 / 6, 2 / 3]])
_NEWTON_STEPS = 4


def values(at: FloatArray) -> FloatArray:
    """The six shape functions at own coordinates (..., 2): (..., 6)."""
    b, c = at[..., 0], at[..., 1]
    a = 1 - b - c
    return np.stack([a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * c * a], axis=-1)


def gradients(at: FloatArray) -> FloatArray:
    """Their derivatives by the own coordinates at (..., 2): (..., 2, 6)."""
    b, c = at[..., 0], at[..., 1]
    a, zero = 1 - b - c, np.zeros_like(b)
    by_b = np.stack([1 - 4 * a, 4 * b - 1, zero, 4 * (a - b), 4 * c, -4 * c], axis=-1)
    by_c = np.stack([1 - 4 * a, zero, 4 * c - 1, -4 * b, 4 * b, 4 * (a - c)], axis=-1)
    return np.stack([by_b, by_c], axis=-2)


@dataclass(frozen=True, eq=False)
class QuadraticMesh:
    """N = n + m nodes and e elements over a mesh; freedom 2 k is ux of node k, 2 k + 1 its uy."""

    mesh: Mesh

    @cached_property
    def nodes(self) -> FloatArray:
        """Corners of the triangles, then middles of their sides on the true arc: (N, 2) [m]."""
        mesh = self.mesh
        edges, of_triangle = mesh.edges
        middle = mesh.nodes[edges].mean(axis=1)
        side = of_triangle[mesh.side_triangle, mesh.side_corner]
        half = mesh.side_s.mean(axis=1)
        # A loop over the shape's curves, which are few.
        for loop, curve in set(zip(mesh.side_loop.tolist(), mesh.side_curve.tolist(), strict=True)):
            on = (mesh.side_loop == loop) & (mesh.side_curve == curve)
            middle[side[on]] = mesh.shape.loops[loop].curves[curve].point(half[on])
        return np.concatenate([mesh.nodes, middle])

    @cached_property
    def elements(self) -> IntArray:
        """Node numbers (e, 6): corners counter-clockwise, then the middles of sides 0-1, 1-2, 2-0."""
        return np.concatenate([self.mesh.triangles, len(self.mesh.nodes) + self.mesh.edges[1]], axis=1)

    @property
    def size(self) -> int:
        """Number of freedoms, 2 N."""
        return 2 * len(self.nodes)

    def slopes(self, at: FloatArray, elements: IntArray | None = None) -> tuple[FloatArray, FloatArray]:
        """Derivatives by x and y of the shape functions (e, g, 2, 6) [1/m] and the Jacobian's determinant (e, g) [m2].

        at (g, 2), alike in all elements, or (e, 2), one point of each; elements (e,): which, None for all.
        """
        own = gradients(at) if elements is None else gradients(at)[:, None]
        corner = self.nodes[self.elements if elements is None else self.elements[elements]]
        J = own @ corner[:, None]
        det = J[..., 0, 0] * J[..., 1, 1] - J[..., 0, 1] * J[..., 1, 0]
        adjugate = np.stack(
            [np.stack([J[..., 1, 1], -J[..., 0, 1]], -1), np.stack([-J[..., 1, 0], J[..., 0, 0]], -1)], -2
        )
        return adjugate / det[..., None, None] @ own, det

    def stiffness(self, D: FloatArray) -> sp.csc_matrix:
        """Stiffness of the free slab, sparse (2 N, 2 N); D (3, 3) [N/m] turns (exx, eyy, 2 exy) into forces per length.

        Three points a triangle: its energy exactly where its sides are straight, a linear field exactly everywhere.
        """
        slope, det = self.slopes(_POINTS)
        e, g = det.shape
        B = np.zeros((e, g, 3, 6, 2))
        B[:, :, 0, :, 0] = B[:, :, 2, :, 1] = slope[:, :, 0]
        B[:, :, 1, :, 1] = B[:, :, 2, :, 0] = slope[:, :, 1]
        half = np.linalg.cholesky(D).T @ B.reshape(e, g, 3, 12) * np.sqrt(det / 6)[..., None, None]
        half = half.reshape(e, 3 * g, 12)
        Ke = half.transpose(0, 2, 1) @ half
        freedoms = (2 * self.elements[..., None] + np.arange(2)).reshape(e, 12)
        rows, columns = np.repeat(freedoms, 12, axis=1).ravel(), np.tile(freedoms, (1, 12)).ravel()
        return sp.coo_matrix((Ke.ravel(), (rows, columns)), shape=(self.size, self.size)).tocsc()

    @cached_property
    def weights(self) -> FloatArray:
        """Integral of every node's shape function over the slab, (N,) [m2]."""
        det = self.slopes(_POINTS)[1]
        share = det / 6 @ values(_POINTS)
        return np.bincount(self.elements.ravel(), share.ravel()).astype(np.float64)

    @cached_property
    def _bent(self) -> npt.NDArray[np.bool_]:
        """Which elements have a side on an arc, (e,)."""
        corner = self.mesh.corners
        straight = (corner + np.roll(corner, -1, axis=1)) / 2
        off = np.abs(self.nodes[self.elements[:, 3:]] - straight).max(axis=(1, 2))
        return np.asarray(off > 1e-9 * np.abs(corner - corner[:, :1]).max(axis=(1, 2)))

    def own_coordinates(self, points: FloatArray, elements: IntArray) -> FloatArray:
        """Own coordinates (k, 2) of points (k, 2) [m] in elements (k,), or just beyond their arcs."""
        corner = self.mesh.corners
        a = corner[:, 0]
        inverse = np.linalg.inv(np.stack([corner[:, 1] - a, corner[:, 2] - a], axis=-1))
        off = points - a[elements]
        at = (inverse[elements] @ off[..., None])[..., 0]
        bent = np.flatnonzero(self._bent[elements])
        node = self.nodes[self.elements[elements[bent]]]
        here = at[bent]
        for _ in range(_NEWTON_STEPS):
            miss = points[bent] - np.einsum("ka,kad->kd", values(here), node)
            J = np.einsum("kia,kad->kdi", gradients(here), node)
            here = here + np.linalg.solve(J, miss[..., None])[..., 0]
        at[bent] = here
        return at

    def interpolation(self, points: FloatArray, element: IntArray) -> sp.csr_matrix:
        """The sparse operator (k, N) that reads a field given at the nodes at points (k, 2) [m] of elements (k,)."""
        value = values(self.own_coordinates(points, element))
        start = np.arange(0, value.size + 1, 6)
        return sp.csr_matrix(
            (value.ravel(), self.elements[element].ravel(), start), shape=(len(points), len(self.nodes))
        )
