"""Where stresses in the plane are read: the plate's own sample points, averaged over a disc and as they are.

The mean of a strain over a region is an integral of the displacement round its rim (Gauss), so no derivative is ever
sampled near a corner: the same reading as that of the moments, over the same discs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely

from fem.plane.edge_plate import EdgePlate
from fem.plane.edge_stress import EdgeStress, strains
from fem.plate.averaging import Discs, discs

__all__ = ["EdgeSampling", "SamplePoints", "edge_sampling"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


#: Error as a multiple of the quarrel: of the field, of its pull along a free edge, of the mean over a disc. Each holds
#: the truth at 98 % or more of all points of plates with holes of two sizes in tension, on two meshes each.
_FIELD, _EDGE, _MEAN = 1.7, 0.3, 0.5


class SamplePoints(Protocol):
    """The mesh's n nodes, its m side middles on the true arc, then k spots, as fem.plate.sampling has them."""

    @property
    def points(self) -> FloatArray:
        """All p = n + m + k of them, (p, 2) [m]."""

    @property
    def spot_element(self) -> IntArray:
        """The triangle that holds each spot, (k,)."""


@dataclass(frozen=True, eq=False)
class EdgeSampling:
    """Built once for a slab and its sample points, used for every way the slab stands.

    displacement (r, N) reads ux or uy at the r rim points of all discs; by_x and by_y (p, r) sum it over each rim,
    owner (r,) is its disc. spot_slope (k, 2, 6) are the slopes of the shape functions at the spots.
    """

    plate: EdgePlate
    stress: EdgeStress
    displacement: sp.csr_matrix
    owner: IntArray
    by_x: sp.csr_matrix
    by_y: sp.csr_matrix
    spot_element: IntArray
    spot_slope: FloatArray

    def mean(self, u: FloatArray) -> FloatArray:
        """Stress (p, 3) [Pa] averaged over the discs, from displacements u (2 N,) [m] for a modulus of 1 Pa."""
        at = self.displacement @ u.reshape(-1, 2)
        x, y = self.by_x @ at, self.by_y @ at
        return np.asarray(np.stack([x[:, 0], y[:, 1], x[:, 1] + y[:, 0]], axis=1) @ self.plate.elasticity)

    def local(self, u: FloatArray, bearing: BoolArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The field's own stress (p, 3) [Pa], its error and that of the mean, (p,) [Pa] each.

        The triangles' quarrel is the measure of both: as it is at a point, and on the average round the disc's rim.
        """
        stress, quarrel, along = self.stress.at_nodes(u, bearing)
        nodes = self.plate.grid.elements[self.spot_element]
        spots = strains(self.spot_slope, u.reshape(-1, 2)[nodes]) @ self.plate.elasticity
        local_error = np.concatenate([np.where(along, _EDGE, _FIELD) * quarrel, _FIELD * quarrel[nodes].max(axis=1)])
        round_rim = np.bincount(self.owner, np.abs(self.displacement @ quarrel)) / np.bincount(self.owner)
        return np.concatenate([stress, spots]), local_error, _MEAN * round_rim


def edge_sampling(
    plate: EdgePlate, sample: SamplePoints, region: shapely.Polygon, round_each: Discs | None = None
) -> EdgeSampling:
    """Sampling at a plate's sample points; region is the slab.

    round_each: the discs, where the plate has them already (Sampling.discs); None: of one thickness.
    """
    points = sample.points
    if round_each is None:
        round_each = discs(plate.mesh, points, plate.thickness / 2, region)
    shape = (len(points), len(round_each.owner))
    at = np.arange(shape[1])
    spots = points[len(plate.grid.nodes) :]
    own = plate.grid.own_coordinates(spots, sample.spot_element)
    return EdgeSampling(
        plate,
        EdgeStress(plate),
        plate.grid.interpolation(round_each.points, round_each.element),
        round_each.owner,
        sp.csr_matrix((round_each.step[:, 0], (round_each.owner, at)), shape=shape),
        sp.csr_matrix((round_each.step[:, 1], (round_each.owner, at)), shape=shape),
        sample.spot_element,
        plate.grid.slopes(own, sample.spot_element)[0][:, 0],
    )
