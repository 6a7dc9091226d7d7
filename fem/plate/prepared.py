"""All that follows from the shape alone, made once: mesh, factor, reading points. Stages are then columns."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from fem.plane.standing import EdgePlate
from fem.plate.bearing import Ground
from fem.plate.depth import depths_of, weight_load
from fem.plate.footing import Site
from fem.plate.free_plate import FreePlate
from fem.plate.model import PlateCase
from fem.plate.pull import Spots
from fem.plate.reading import Places
from fem.plate.sampling import Sampling, sampling
from meshing.mesh import Mesh
from meshing.shape import Arc, Loop
from meshing.sizing import REENTRANT, narrow_places

__all__ = ["Prepared", "prepare"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Prepared:
    """A slab ready for any stages: the free plate, its site, the reading points on the mesh, what contacts share."""

    mesh: Mesh
    plate: PlateCase
    free: FreePlate
    site: Site
    laying: Future[Sampling]

    @cached_property
    def grid(self) -> Sampling:
        """The reading points on the mesh; they are laid out while the slab is being factorised and solved."""
        return self.laying.result()

    @cached_property
    def ground(self) -> Ground:
        """What all contact problems of the slab share."""
        x0, y0, x1, y1 = self.site.region.bounds
        length = float(np.hypot(x1 - x0, y1 - y0))
        return Ground(self.free.rigid_motions, length, _rim(self.mesh.shape.outline), float(self.free.rigidity[0, 0]))

    @cached_property
    def weight(self) -> FloatArray:
        """Load vector of the slab's own weight, (6 n,) [N]."""
        return weight_load(self.free.bell, self.plate, self.free.depths)

    @cached_property
    def edgewise(self) -> EdgePlate:
        """The same slab in its own plane, for what stands on edge."""
        return EdgePlate(self.mesh, self.plate.thickness, self.plate.poisson)

    @cached_property
    def narrow(self) -> FloatArray:
        """Places narrower than three thicknesses: middle x, y, width [m], direction across [rad], (k, 4)."""
        return narrow_places(self.mesh.shape, 3 * self.plate.thickness)

    def places(self, sample: Sampling) -> Places:
        """What the shape alone says of the sample points."""
        mesh = self.mesh
        radius = np.full(len(sample.points), np.inf)
        first = mesh.triangles[mesh.side_triangle, mesh.side_corner]
        second = mesh.triangles[mesh.side_triangle, (mesh.side_corner + 1) % 3]
        middle = sample.middle_of[mesh.side_triangle, mesh.side_corner]
        sharp = [corner for corner, inside in mesh.shape.corners if inside > REENTRANT]
        for number, loop in enumerate(mesh.shape.loops):
            for index, curve in enumerate(loop.curves):
                # Only an edge that is hollow seen from the slab concentrates the pull.
                if isinstance(curve, Arc) and (curve.turn > 0) == (number > 0):
                    on = (mesh.side_loop == number) & (mesh.side_curve == index)
                    for at in (first, second, middle):
                        radius[at[on]] = curve.smallest_radius
        return Places(
            sample.points,
            radius,
            self.narrow,
            np.asarray(sharp).reshape(-1, 2),
            self.plate.thickness,
            self.depth(sample.points),
            self._step(sample.points),
        )

    def spots(self, points: FloatArray) -> Spots:
        """Any points (q, 2) [m] of the slab, to ask many states for their pull there."""
        mean = self.grid.means_at(points)
        return Spots(points, mean, self.depth(points), self.free.rigidity, self.free.poisson, self.plate.thickness / 2)

    def depth(self, points: FloatArray) -> FloatArray:
        """Depth that counts for the stress at points (p, 2), (p,) [m]."""
        depths = self.free.depths
        if depths is None:
            return np.full(len(points), self.plate.thickness)
        return depths.stress_at(points, self.plate.thickness / 2)

    def _step(self, points: FloatArray) -> FloatArray:
        depths = self.free.depths
        return np.full(len(points), np.inf) if depths is None else depths.border_distance(points)


def prepare(mesh: Mesh, plate: PlateCase) -> Prepared:
    """The slab, its reading points being laid out beside whatever comes next."""
    site = Site.of(mesh, plate.thickness)
    depths = depths_of(plate, site.region)
    free = FreePlate(mesh, plate.thickness, plate.poisson, depths)
    _ = free.bell.coefficients  # both sides need it
    beside = ThreadPoolExecutor(1)
    laying = beside.submit(sampling, free.bell, plate.thickness / 2, site.region, depths)
    beside.shutdown(wait=False)
    _ = free.factor
    return Prepared(mesh, plate, free, site, laying)


def _rim(outline: Loop) -> FloatArray:
    """Some forty places along the outline, corners among them, where somebody could press the slab down: (k, 2) [m]."""
    step = outline.length / 40
    pieces = []
    for curve in outline.curves:
        count = 2 * max(round(curve.length / step / 2), 1)
        pieces.append(curve.point(np.arange(count) / count))
    return np.concatenate(pieces)
