"""Slabs in their plane for the checks: a shape in, a stand or given pulls on the edges, stresses out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
import shapely

from fem.plane.rim import rim
from fem.plane.standing import EdgePlate, EdgeSampling, edge_sampling
from fem.plate.bell import BellPlate
from fem.plate.gauss import gauss_01
from fem.plate.sampling import Sampling, sampling
from meshing.mesh import Mesh
from meshing.shape import Line, Loop, Shape
from meshing.sizing import Fineness
from tests.plates import FloatArray, mesh_of

__all__ = ["Field", "Slab", "edge_load", "size_of", "slab", "turned"]

Field = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class Slab:
    """A slab, its sample points and what reads them."""

    plate: EdgePlate
    sample: Sampling
    reading: EdgeSampling
    spots: slice

    def near(self, at: tuple[float, float]) -> int:
        """The node nearest to a place."""
        return int(np.argmin(np.hypot(*(self.plate.grid.nodes - at).T)))


@cache
def slab(
    mesh: Mesh | Shape,
    thickness: float = 0.04,
    poisson: float = 0.2,
    spots: tuple[tuple[float, float], ...] = (),
    fineness: Fineness | None = None,
) -> Slab:
    """A slab of this mesh, or of the mesh a user would get; made once for all tests."""
    mesh = mesh_of(mesh, thickness, fineness) if isinstance(mesh, Shape) else mesh
    region = mesh.shape.region()
    shapely.prepare(region)
    extra = np.asarray(spots, dtype=np.float64).reshape(-1, 2)
    sample = sampling(BellPlate(mesh), thickness / 2, region).with_spots(extra)
    plate = EdgePlate(mesh, thickness, poisson)
    count = len(plate.grid.nodes)
    return Slab(plate, sample, edge_sampling(plate, sample, region, sample.discs), slice(count, count + len(extra)))


def edge_load(plate: EdgePlate, stress: Field) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """Load vector (2 N,) of a stress field's pull on all edges, and the nodes it acts at; stress (k, 2) -> (k, 3)."""
    t, weight = gauss_01(6)
    value = np.stack([(1 - t) * (1 - 2 * t), 4 * t * (1 - t), t * (2 * t - 1)], axis=1)
    slope = np.stack([4 * t - 3, 4 - 8 * t, 4 * t - 1], axis=1)
    load, pulled = np.zeros((len(plate.grid.nodes), 2)), np.zeros(len(plate.grid.nodes), dtype=bool)
    for loop in range(len(plate.mesh.shape.loops)):
        edge = rim(plate.grid, loop)
        at = np.einsum("ga,bad->bgd", value, edge.points)
        along = np.einsum("ga,bad->bgd", slope, edge.points) * (1 if edge.slab_on_left else -1)
        sx, sy, sxy = np.moveaxis(stress(at.reshape(-1, 2)).reshape(*at.shape[:2], 3), 2, 0)
        nx, ny = along[..., 1], -along[..., 0]
        pull = np.stack([sx * nx + sxy * ny, sxy * nx + sy * ny], axis=-1) * plate.thickness
        np.add.at(load, edge.nodes, np.einsum("bgd,g,ga->bad", pull, weight, value))
        pulled[edge.nodes] = True
    return load.ravel(), pulled


def turned(mesh: Mesh, angle: float) -> Mesh:
    """The same triangles of a slab with straight sides, turned about the origin."""
    c, s = np.cos(angle), np.sin(angle)
    R = np.array([[c, s], [-s, c]])

    def line(curve: Line) -> Line:
        a, b = (np.array([curve.start, curve.end]) @ R).tolist()
        return Line((a[0], a[1]), (b[0], b[1]))

    loops = [Loop(tuple(line(c) for c in loop.curves if isinstance(c, Line))) for loop in mesh.shape.loops]
    return replace(mesh, shape=Shape(loops[0], tuple(loops[1:])), nodes=np.asarray(mesh.nodes @ R))


def size_of(stress: FloatArray) -> FloatArray:
    """Size of stresses (..., 3), alike however the axes lie."""
    return np.asarray(np.sqrt(stress[..., 0] ** 2 + stress[..., 1] ** 2 + 2 * stress[..., 2] ** 2))
