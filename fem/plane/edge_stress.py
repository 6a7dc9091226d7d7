"""The stress of the elements themselves: averaged where they meet, put right where the edge is free, and their quarrel.

At a free edge nothing pulls across, so the stress there is the modulus times the strain along the edge, which the
displacements of the edge give by themselves; a projecting free corner has none at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from fem.plane.edge_plate import EdgePlate
from fem.plane.quadratic import CORNERS_AND_MIDDLES
from fem.plane.rim import Rim, rim

__all__ = ["EdgeStress", "strains"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

#: Derivative by t, 0 to 1, of the three functions of a side at its start, middle and end.
_ALONG = np.array([[-3.0, 4.0, -1.0], [-1.0, 0.0, 1.0], [1.0, -4.0, 3.0]])
#: A corner turns by more than this [rad].
_SMOOTH = 0.05


def strains(slope: FloatArray, u: FloatArray) -> FloatArray:
    """(exx, eyy, 2 exy) (..., 3) from slopes of shape functions (..., 2, 6) [1/m] and displacements (..., 6, 2) [m]."""
    G = slope @ u
    return np.stack([G[..., 0, 0], G[..., 1, 1], G[..., 0, 1] + G[..., 1, 0]], axis=-1)


@dataclass(frozen=True, eq=False)
class EdgeStress:
    """Reads stresses at the N nodes of a slab's grid."""

    plate: EdgePlate

    @cached_property
    def _slopes(self) -> FloatArray:
        return self.plate.grid.slopes(CORNERS_AND_MIDDLES)[0]

    @cached_property
    def _rims(self) -> list[Rim]:
        return [rim(self.plate.grid, loop) for loop in range(len(self.plate.mesh.shape.loops))]

    @cached_property
    def _sorted(self) -> tuple[IntArray, IntArray]:
        """Places in elements (6 e,) sorted by their node, and where each node's begin (N,)."""
        flat = self.plate.grid.elements.ravel()
        order = np.argsort(flat, kind="stable")
        return order, np.searchsorted(flat[order], np.arange(len(self.plate.grid.nodes)))

    def at_nodes(self, u: FloatArray, bearing: BoolArray) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Stress (N, 3) [Pa] under displacements u (2 N,) for 1 Pa, and how far its elements are from it (N,) [Pa].

        bearing (N,): nodes whose edge is pressed upon; elsewhere the edge is free. Last, the nodes (N,) whose stress is
        that along a free edge.
        """
        grid = self.plate.grid
        xy = u.reshape(-1, 2)
        own = strains(self._slopes, xy[grid.elements][:, None]) @ self.plate.elasticity
        flat = own.reshape(-1, 3)
        order, first = self._sorted
        count = np.diff(np.append(first, len(order)))
        stress = np.add.reduceat(flat[order], first, axis=0) / count[:, None]
        on_edge = np.zeros(len(stress), dtype=bool)
        for edge in self._rims:
            nodes, along = _free_stress(edge, xy)
            free = ~bearing[nodes] & ~np.isnan(along[:, 0])
            stress[nodes[free]] = along[free]
            on_edge[nodes[free]] = True
        off = flat - stress[grid.elements.ravel()]
        quarrel = np.sqrt(off[:, 0] ** 2 + off[:, 1] ** 2 + 2 * off[:, 2] ** 2)
        at_node = np.maximum.reduceat(quarrel[order], first)
        # At a side's middle two triangles agree in what they miss of a curving field: its ends see it.
        ends = at_node[self.plate.mesh.edges[0]].max(axis=1)
        n = len(at_node) - len(ends)
        return stress, np.concatenate([at_node[:n], np.maximum(at_node[n:], ends)]), on_edge


def _free_stress(edge: Rim, u: FloatArray) -> tuple[IntArray, FloatArray]:
    """Nodes of a loop (2 b,) and the stress there if the edge is free (2 b, 3) for 1 Pa; nan at a re-entrant corner."""
    tangent = np.einsum("ta,bad->btd", _ALONG, edge.points)
    growth = np.einsum("ta,bad->btd", _ALONG, u[edge.nodes])
    squared = np.einsum("btd,btd->bt", tangent, tangent)
    strain = np.einsum("btd,btd->bt", tangent, growth) / squared
    unit = tangent / np.sqrt(squared)[..., None]
    # At a node two sides meet: the nearer middle knows more.
    size = np.sqrt(squared[:, 1])
    before = np.roll(np.arange(len(size)), 1)
    share = (size / (size + size[before]))[:, None]
    there = share * unit[before, 2] + (1 - share) * unit[:, 0]
    there /= np.hypot(*there.T)[:, None]
    e = share[:, 0] * strain[before, 2] + (1 - share[:, 0]) * strain[:, 0]
    turn = np.arctan2(
        unit[before, 2, 0] * unit[:, 0, 1] - unit[before, 2, 1] * unit[:, 0, 0],
        np.einsum("bd,bd->b", unit[before, 2], unit[:, 0]),
    )
    projects = turn > 0 if edge.slab_on_left else turn < 0
    e = np.where(np.abs(turn) < _SMOOTH, e, np.where(projects, 0.0, np.nan))
    nodes = np.concatenate([edge.nodes[:, 0], edge.nodes[:, 1]])
    along = np.concatenate([there, unit[:, 1]])
    value = np.concatenate([e, strain[:, 1]])[:, None]
    return nodes, value * np.stack([along[:, 0] ** 2, along[:, 1] ** 2, along[:, 0] * along[:, 1]], axis=1)
