"""Plates for the checks: a shape and its supports in, what a probe reads out; D = 1 N m unless a modulus is given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fem.plate.analysis import Analysis, analyse
from fem.plate.model import (
    Action,
    AreaPlace,
    EdgePlace,
    Face,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Probe,
    ProbeResult,
    Stage,
    StageResult,
    Support,
)
from meshing.mesh import Mesh
from meshing.shape import Shape, polygon
from meshing.sizing import Fineness
from meshing.triangulate import triangulate

__all__ = [
    "CENTER",
    "FloatArray",
    "Place",
    "Plate",
    "Solved",
    "all_round",
    "held",
    "mesh_of",
    "rectangular",
    "side",
    "unit_modulus",
]

FloatArray = npt.NDArray[np.float64]
Place = PointPlace | LinePlace | EdgePlace | AreaPlace

CENTER: Point = (0.0, 0.0)
_MESHES: dict[tuple[Shape, float, Fineness], Mesh] = {}


def unit_modulus(thickness: float, poisson: float) -> float:
    """The modulus [Pa] that makes E t3 / (12 (1 - nu2)) one newton metre."""
    return 12 * (1 - poisson**2) / thickness**3


def mesh_of(shape: Shape, thickness: float, fineness: Fineness | None = None) -> Mesh:
    """The mesh of a slab as a user gets it; made once for all tests, as it never changes."""
    key = shape, thickness, fineness or Fineness()
    if key not in _MESHES:
        _MESHES[key] = triangulate(*key)
    return _MESHES[key]


@dataclass(frozen=True)
class Solved:
    """One stage's answer, read by the probes' places."""

    analysis: Analysis
    result: StageResult
    spots: dict[Point, ProbeResult] = field(repr=False)

    def w(self, at: Point = CENTER) -> float:
        """Deflection at a probe [m]."""
        w = self.spots[at].w
        assert w is not None
        return w

    def moment(self, at: Point = CENTER) -> FloatArray:
        """Moments (mx, my, mxy) of the field at a probe [N m/m]."""
        spot = self.spots[at]
        assert spot.moment is not None, spot.why_null
        return np.asarray(spot.moment)

    @property
    def forces(self) -> FloatArray:
        """Force of each support [N]."""
        return np.array([support.force for support in self.result.supports])


@dataclass(frozen=True)
class Plate:
    """A slab without weight of D = 1 N m, at a user's default settings."""

    shape: Shape
    thickness: float = 0.04
    poisson: float = 0.3
    density: float = 0.0
    modulus: float | None = None
    up: Face = "show"
    fineness: Fineness | None = None
    cracking: float = 1e12

    def solve(
        self,
        supports: Sequence[Support],
        loads: Sequence[Load] = (),
        spots: Sequence[Point] = (CENTER,),
        pressure: float = 0.0,
    ) -> Solved:
        """The answer under loads and an even pressure [Pa] on the whole slab, at spots."""
        if pressure:
            loads = [*loads, Load("pressure", AreaPlace(), pressure)]
        stage = Stage(
            "test",
            self.up,
            1.0,
            self.modulus or unit_modulus(self.thickness, self.poisson),
            self.cracking,
            self.cracking,
            tuple(supports),
            tuple(loads),
        )
        analysis = analyse(
            mesh_of(self.shape, self.thickness, self.fineness),
            PlateCase(self.thickness, self.density, self.poisson),
            [stage],
            [Probe(f"probe {k}", at) for k, at in enumerate(spots)],
        )
        (result,) = analysis.stages
        return Solved(analysis, result, dict(zip(spots, result.probes, strict=True)))


def rectangular(a: float, b: float) -> Shape:
    """A rectangle a wide and b deep about the origin, its outline beginning at the left front corner."""
    return Shape(polygon([[-a / 2, -b / 2], [a / 2, -b / 2], [a / 2, b / 2], [-a / 2, b / 2]]))


def side(shape: Shape, number: int, last: int | None = None) -> EdgePlace:
    """Curve number of the outline, or all curves from number to last."""
    starts = shape.outline.curve_starts
    return EdgePlace(0, float(starts[number]), float(starts[(number if last is None else last) + 1]))


def all_round(shape: Shape, action: Action = "hold") -> list[Support]:
    """The whole outline as one support."""
    return [Support("outline", EdgePlace(0, 0.0, shape.outline.length), action)]


def held(*places: Place, action: Action = "hold") -> list[Support]:
    """A support at each place."""
    return [Support(f"support {k}", place, action) for k, place in enumerate(places)]
