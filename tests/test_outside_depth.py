"""Stepped plates against answers from outside: beams of two depths by integration, a round plate of two depths."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from fem.plate.depth import depth_borders, depths_of, weight_load
from fem.plate.footing import Site, footing
from fem.plate.free_plate import FreePlate
from fem.plate.model import DepthRegion, EdgePlace, PlateCase
from fem.plate.principal import face_stress
from meshing.shape import Shape, ellipse, polygon
from meshing.triangulate import triangulate
from tests.bent_plates import across, held_at, mean_moment, mean_over, turned_ends

FloatArray = npt.NDArray[np.float64]

INCH = 0.0254
T, THIN = 1.5 * INCH, 1.25 * INCH
LONG, WIDE = 2.0, 0.4
STRIP = Shape(polygon(np.array([[0, 0], [LONG, 0], [LONG, WIDE], [0, WIDE]])))


def stepped(begin: float, end: float, depth: float, followed: bool = True) -> tuple[FreePlate, PlateCase]:
    """A strip without lateral contraction, of another depth from begin to end."""
    points = ((begin, -1.0), (end, -1.0), (end, 1.0), (begin, 1.0))
    case = PlateCase(T, 2400.0, 0.0, regions=(DepthRegion(points, depth),))
    mesh = triangulate(STRIP, T, None, depth_borders(case) if followed else ())
    return FreePlate(mesh, T, 0.0, depths_of(case, STRIP.region())), case


def beam(x: FloatArray, moment: FloatArray, rigidity: FloatArray) -> FloatArray:
    """Deflection (k,) of w'' = -M / EI by sums over x (k,), held at both ends."""
    step = np.diff(x)
    k = moment / rigidity
    turn = np.concatenate([[0.0], np.cumsum((k[1:] + k[:-1]) / 2 * step)])
    fall = np.concatenate([[0.0], np.cumsum((turn[1:] + turn[:-1]) / 2 * step)])
    return np.asarray((x - x[0]) / (x[-1] - x[0]) * fall[-1] - fall)


# Pure bending: the moment is the same on both sides of a step. Beam theory by integration.
@pytest.mark.parametrize(("depth", "bar"), [(THIN, 2e-3), (T / 2, 6e-3)])
def test_a_step_under_pure_bending(depth: float, bar: float) -> None:
    plate, _ = stepped(0.7, 1.3, depth)
    u = plate.solve(turned_ends(plate, 0.0, LONG, 0.0, WIDE)[:, None])[:, 0]
    x = np.linspace(0.1, 1.9, 181)
    points = np.stack([x, np.full(len(x), 0.203)], axis=1)
    assert mean_moment(plate, u, points)[:, 0] == pytest.approx(1.0, rel=bar)
    fine = np.linspace(0.0, LONG, 400_001)
    D = plate.rigidity[0, 0] * np.where((fine > 0.7) & (fine < 1.3), (depth / T) ** 3, 1.0)
    expected = beam(fine, np.ones_like(fine), D)
    ends = mean_over(plate, u, np.array([0.0, 1.0, LONG]), 0.0, WIDE)
    # A curvature that leaps, on nodes where it may not: the size of a triangle times its leap over the length.
    assert ends[1] - (ends[0] + ends[2]) / 2 == pytest.approx(expected[200_000], rel=bar)


# 1.5 in less 1/4 in: (1.5 / 1.25)2 = 1.44 times the stress under the same moment. Common practice, no source.
def test_a_recess_of_a_quarter_inch_is_pulled_1_44_times() -> None:
    plate, case = stepped(0.7, 1.3, THIN)
    assert plate.depths is not None
    u = plate.solve(turned_ends(plate, 0.0, LONG, 0.0, WIDE)[:, None])[:, 0]
    points = np.array([[1.0, 0.2], [0.72, 0.2], [0.69, 0.1], [0.4, 0.2]])
    moment = mean_moment(plate, u, points)
    stress = face_stress(moment, plate.depths.stress_at(points, T / 2), "underside")[:, 0]
    assert stress / (6 / case.thickness**2) == pytest.approx([1.44, 1.44, 1.44, 1.0], rel=2e-3)


# Simply supported, of two depths, under its own weight, lighter where thinner. Beam theory by integration.
@pytest.mark.parametrize(("depth", "followed", "bar"), [(THIN, True, 5e-4), (THIN, False, 3e-3), (T / 2, True, 4e-3)])
def test_a_stepped_beam_under_its_own_weight(depth: float, followed: bool, bar: float) -> None:
    plate, case = stepped(0.83, 3.0, depth, followed)
    load = weight_load(plate.bell, case, plate.depths)
    ends = np.stack([across(plate, x, 0.0, WIDE) for x in (0.0, LONG)], axis=1)
    u, force = held_at(plate, load, ends)
    x = np.linspace(0.0, LONG, 400_001)
    here = np.where(x > 0.83, depth, T)
    q = case.density * case.gravity * here * WIDE
    moment = beam(x, q, np.ones_like(x))
    expected = beam(x, moment, plate.rigidity[0, 0] * WIDE * (here / T) ** 3)
    at = np.array([0.4, 0.8, 1.0, 1.2, 1.6])
    assert mean_over(plate, u, at, 0.0, WIDE) == pytest.approx(np.interp(at, x, expected), rel=bar)
    left = float(((LONG - x) * q).sum() * (x[1] - x[0]) / LONG)
    total = float(q.sum() * (x[1] - x[0]))
    assert force == pytest.approx([left, total - left], rel=5e-4)


# A round plate of two depths under an even moment M on its rim: inside w' = -c r, outside w' = -(a r + d / r), slope
# and radial moment alike at the step. The axisymmetric solution, Timoshenko & Woinowsky-Krieger (1959), art. 15 and 17.
@pytest.mark.parametrize("nu", [0.0, 0.2])
@pytest.mark.parametrize(("depth", "bar"), [(THIN, 2e-3), (T / 2, 1e-2)])
def test_a_round_plate_of_two_depths(nu: float, depth: float, bar: float) -> None:
    R, c = 0.8, 0.4
    shape = Shape(ellipse((0.0, 0.0), (2 * R, 2 * R)))
    angle = np.arange(360) * 2 * np.pi / 360
    circle = tuple((float(x), float(y)) for x, y in c * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    case = PlateCase(T, 2400.0, nu, regions=(DepthRegion(circle, depth),))
    plate = FreePlate(triangulate(shape, T, None, depth_borders(case)), T, nu, depths_of(case, shape.region()))
    rim = footing(Site.of(plate.mesh, T), EdgePlace(0, 0.0, shape.outline.length), clamp=True, concentrated=False)
    column = plate.bell.functionals(rim.points, rim.weight, rim.contact, rim.size, rim.normal)
    u = plate.solve(column @ np.where(rim.slope, -rim.tributary, 0.0)[:, None])[:, 0]
    D, ratio = plate.rigidity[0, 0], (depth / T) ** 3
    # Unknowns: curvature inside, a and d outside; kappa_r = a - d / r2, kappa_t = a + d / r2.
    A = np.array([
        [c, -c, -1 / c],
        [ratio * (1 + nu), -(1 + nu), (1 - nu) / c**2],
        [0.0, D * (1 + nu), -D * (1 - nu) / R**2],
    ])  # fmt: skip
    inner, a, d = np.linalg.solve(A, [0.0, 0.0, 1.0])
    r = np.concatenate([np.linspace(0.02, c - T / 2, 9), np.linspace(c + T / 2, R - 0.03, 9)])
    spots = r[:, None] * np.array([np.cos(0.3), np.sin(0.3)])
    inside = r < c
    radial = np.where(inside, D * ratio * (1 + nu) * inner, D * ((1 + nu) * a - (1 - nu) * d / r**2))
    hoop = np.where(inside, radial, D * ((1 + nu) * a + (1 - nu) * d / r**2))
    mean, half = (radial + hoop) / 2, (radial - hoop) / 2
    expected = np.stack([mean + half * np.cos(0.6), mean - half * np.cos(0.6), half * np.sin(0.6)], axis=1)
    found = mean_moment(plate, u, spots)
    assert np.abs(found - expected).max() < bar * np.abs(expected).max()
