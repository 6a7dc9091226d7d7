"""What a footing needs to know of the slab it stands under."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from meshing.mesh import Mesh

__all__ = ["Site"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Site:
    """What a footing needs to know of the slab: its true region, its thickness and how far a force is spread [m]."""

    mesh: Mesh
    region: shapely.Polygon
    thickness: float
    spread: float
    spacing: float
    most_on_edge: int = 320

    @staticmethod
    def of(mesh: Mesh, thickness: float) -> Site:
        """Spread of 1.25 field sizes and contacts 1.6 field sizes apart (convergence study in DEVELOPERS.md)."""
        region = mesh.shape.region()
        shapely.prepare(region)
        return Site(mesh, region, thickness, 1.25 * mesh.field_size, 1.6 * mesh.field_size)

    def coarser(self, factor: float) -> Site:
        """The same slab with contacts this much farther apart."""
        return replace(self, spacing=factor * self.spacing, most_on_edge=max(int(self.most_on_edge / factor), 4))

    def depth(self, points: FloatArray) -> FloatArray:
        """Distance of points (k, 2) from the nearest edge, 0 outside: (k,) [m]."""
        spots = shapely.points(points)
        return np.where(shapely.covers(self.region, spots), shapely.distance(self.region.boundary, spots), 0.0)
