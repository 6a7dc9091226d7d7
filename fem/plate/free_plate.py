"""The free plate, factorised once: any balanced set of forces in, its deflection out, for every stage of a slab's life.

Three statically determinate pins stand in for the three rigid motions. They carry nothing when the forces balance.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import SuperLU, splu

from fem.plate.bell import BellPlate, bending_rigidity
from fem.plate.depth import Depths
from meshing.mesh import Mesh

__all__ = ["FreePlate"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

# Columns that are solved together: at most, and at least where there are two cores to share them.
_BLOCK, _FEW = 32, 4


@dataclass(frozen=True, eq=False)
class FreePlate:
    """A plate of modulus 1 Pa: deflections scale with 1 / E, so that every age of the concrete shares the factor.

    thickness [m] is that of the whole slab but for the regions that depths, if given, tell of.
    """

    mesh: Mesh
    thickness: float
    poisson: float
    depths: Depths | None = None

    @cached_property
    def bell(self) -> BellPlate:
        """The interpolation of w."""
        return BellPlate(self.mesh)

    @cached_property
    def rigidity(self) -> FloatArray:
        """D (3, 3) [m3] for a modulus of 1 Pa, at the slab's thickness."""
        return bending_rigidity(1.0, self.poisson, self.thickness)

    @cached_property
    def pins(self) -> IntArray:
        """Three nodes far apart, (3,): a corner, the node farthest from it, the node farthest from the line between."""
        nodes = self.mesh.nodes
        first = int(np.argmax(np.hypot(*(nodes - nodes.mean(axis=0)).T)))
        second = int(np.argmax(np.hypot(*(nodes - nodes[first]).T)))
        along = nodes[second] - nodes[first]
        off = nodes - nodes[first]
        third = int(np.argmax(np.abs(off[:, 0] * along[1] - off[:, 1] * along[0])))
        return np.array([first, second, third])

    @cached_property
    def kept(self) -> IntArray:
        """Freedoms that are solved for: all but w at the pins."""
        return np.delete(np.arange(self.bell.size), 6 * self.pins)

    @cached_property
    def factor(self) -> SuperLU:
        """Factor of the pinned stiffness."""
        scale = None if self.depths is None else self.depths.rigidity_scale(self.bell)
        K = self.bell.stiffness(self.rigidity, scale)[self.kept][:, self.kept].tocsc()
        return splu(K, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def solve(self, columns: FloatArray) -> FloatArray:
        """Deflections (6 n, c) under load columns (6 n, c), with w = 0 at the pins."""
        out = np.zeros_like(columns)
        loads = np.ascontiguousarray(columns[self.kept])
        factor = self.factor
        count = columns.shape[1]
        block = min(_BLOCK, max(-(-count // 2), _FEW))  # no core idles over a handful of columns
        blocks = [slice(k, k + block) for k in range(0, count, block)]

        def one(block: slice) -> FloatArray:
            return np.asarray(factor.solve(loads[:, block]))

        if len(blocks) < 2:
            parts = [one(block) for block in blocks]
        else:
            with ThreadPoolExecutor(2) as pool:
                parts = list(pool.map(one, blocks))
        for block, part in zip(blocks, parts, strict=True):
            out[self.kept, block] = part
        return out

    @cached_property
    def rigid_motions(self) -> FloatArray:
        """Freedoms of w = 1, x and y: (6 n, 3)."""
        nodes, length = self.mesh.nodes, self.bell.node_length
        motions = np.zeros((len(nodes), 6, 3))
        motions[:, 0, 0] = 1.0
        motions[:, 0, 1:] = nodes
        motions[:, 1, 1] = length
        motions[:, 2, 2] = length
        return motions.reshape(-1, 3)
