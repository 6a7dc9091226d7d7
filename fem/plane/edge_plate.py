"""The free slab in its plane, factorised once: any balanced forces in, its displacements out.

Three statically determinate pins stand in for the three rigid motions of the plane; they carry nothing when the forces
balance. The modulus is 1 Pa: stresses do not depend on it and displacements scale with 1 / E.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import SuperLU, splu

from fem.plane.quadratic import QuadraticMesh
from meshing.mesh import Mesh

__all__ = ["EdgePlate", "plane_stress"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def plane_stress(nu: float) -> FloatArray:
    """Stresses (sx, sy, sxy) of strains (exx, eyy, 2 exy) for a modulus of 1 Pa, (3, 3).

    nu Poisson's ratio; ValueError unless -1 < nu <= 0.5. Source: Timoshenko & Goodier, Theory of Elasticity, 3rd ed.
    (1970), art. 16.

    >>> plane_stress(0.0).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 0.5]]
    """
    if not -1 < nu <= 0.5:
        raise ValueError(f"no such slab: nu = {nu}; need -1 < nu <= 0.5")
    return np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]]) / (1 - nu**2)


@dataclass(frozen=True, eq=False)
class EdgePlate:
    """A slab of even thickness [m] in its plane: everything that depends on the shape alone."""

    mesh: Mesh
    thickness: float
    poisson: float

    @cached_property
    def grid(self) -> QuadraticMesh:
        """The interpolation of the displacements."""
        return QuadraticMesh(self.mesh)

    @cached_property
    def elasticity(self) -> FloatArray:
        """(3, 3), for a modulus of 1 Pa."""
        return plane_stress(self.poisson)

    @cached_property
    def center(self) -> FloatArray:
        """Centre of the slab's area, (2,) [m]."""
        weights = self.grid.weights
        return np.asarray(weights @ self.grid.nodes / weights.sum())

    @cached_property
    def length(self) -> float:
        """Size of the slab: the farthest node's distance from its centre [m]."""
        return float(np.hypot(*(self.mesh.nodes - self.center).T).max())

    @cached_property
    def kept(self) -> IntArray:
        """Freedoms that are solved for: all but both of one node and, far from it, the one across the line between."""
        nodes = self.mesh.nodes
        first = int(np.argmax(np.hypot(*(nodes - nodes.mean(axis=0)).T)))
        second = int(np.argmax(np.hypot(*(nodes - nodes[first]).T)))
        dx, dy = np.abs(nodes[second] - nodes[first])
        return np.delete(np.arange(self.grid.size), [2 * first, 2 * first + 1, 2 * second + (1 if dx > dy else 0)])

    @cached_property
    def factor(self) -> SuperLU:
        """Factor of the pinned stiffness."""
        K = self.grid.stiffness(self.thickness * self.elasticity)[self.kept][:, self.kept].tocsc()
        return splu(K, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def solve(self, columns: FloatArray) -> FloatArray:
        """Displacements (2 N, c) [m] under load columns (2 N, c) [N] for a modulus of 1 Pa, zero at the pins."""
        out = np.zeros_like(columns)
        out[self.kept] = self.factor.solve(np.ascontiguousarray(columns[self.kept]))
        return out

    def body_load(self, direction: FloatArray) -> FloatArray:
        """Load vector (2 N,) of a unit force per area in a direction (2,)."""
        return np.outer(self.grid.weights, direction).ravel()

    def rigid_motions(self, down: FloatArray) -> FloatArray:
        """Displacements (2 N, 3) of unit motions: down (2,), a turn [rad] about the centre, aside."""
        off = self.grid.nodes - self.center
        turn = np.stack([-off[:, 1], off[:, 0]], axis=1)
        aside = np.array([-down[1], down[0]])
        whole = np.ones(len(off))
        return np.stack([np.outer(whole, down).ravel(), turn.ravel(), np.outer(whole, aside).ravel()], axis=1)
