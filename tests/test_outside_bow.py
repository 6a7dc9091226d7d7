"""Bows against answers from outside: held edges, beams on two and three lines, a disc with a warm middle."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from fem.plate.bow import bow_load, bow_moment, bow_region
from fem.plate.footing import Site, footing
from fem.plate.free_plate import FreePlate
from fem.plate.model import EdgePlace, Point
from fem.plate.principal import face_stress
from meshing.shape import Shape, ellipse, polygon
from meshing.triangulate import triangulate
from tests.bent_plates import across, held_at, local_moment, mean_moment, mean_over

FloatArray = npt.NDArray[np.float64]

T, K0 = 0.04, 2e-3
LONG, WIDE = 2.0, 0.4
STRIP = Shape(polygon(np.array([[0, 0], [LONG, 0], [LONG, WIDE], [0, WIDE]])))


def strip(nu: float = 0.0) -> FreePlate:
    return FreePlate(triangulate(STRIP, T), T, nu)


# Edges held from moving and turning, all round: sigma = E alpha dT / (2 (1 - nu)), the whole slab alike. Timoshenko &
# Woinowsky-Krieger (1959), art. 14. The curvature of a warmer face is alpha dT / t.
# The hats that hold an arc are as fine as its mesh: the slab turns a little between them.
@pytest.mark.parametrize(
    ("shape", "bar"),
    [(STRIP, 1e-4), (Shape(ellipse((0.0, 0.0), (1.2, 0.8))), 1e-2)],
    ids=["rectangle", "ellipse"],
)
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_held_edges(shape: Shape, bar: float, nu: float) -> None:
    E, alpha, warmer = 30e9, 10e-6, 12.0
    curvature = alpha * warmer / T
    plate = FreePlate(triangulate(shape, T), T, nu)
    rim = footing(Site.of(plate.mesh, T), EdgePlace(0, 0.0, shape.outline.length), clamp=True, concentrated=False)
    columns = plate.bell.functionals(rim.points, rim.weight, rim.contact, rim.size, rim.normal)
    u, _ = held_at(plate, bow_load(plate.bell, plate.rigidity, None, curvature), columns)
    assert np.abs(u[::6]).max() < 0.01 * bar * curvature
    spots = plate.mesh.nodes[::5]
    region = shape.region()
    added = bow_moment(spots, T / 2, region, None, plate.rigidity, curvature)
    stress = face_stress(E * (mean_moment(plate, u, spots) + added), T, "underside")
    # The underside is the longer face: held flat it is pressed, and nothing twists.
    expected = -E * alpha * warmer / (2 * (1 - nu)) * np.array([1.0, 1.0, 0.0])
    assert np.abs(stress - expected).max() < bar * -expected[0]


# Beam theory by integration: w'' = -k0 where it bows, on two lines no moment. Without lateral contraction the mean of w
# over the width obeys it whatever the slab does across.
@pytest.mark.parametrize(("begin", "end"), [(0.0, LONG), (0.63, 1.31)])
def test_a_strip_on_two_lines(begin: float, end: float) -> None:
    plate = strip()
    area = bow_region(((begin, -1.0), (end, -1.0), (end, 1.0), (begin, 1.0)), STRIP.region())
    ends = np.stack([across(plate, x, 0.0, WIDE) for x in (0.0, LONG)], axis=1)
    u, force = held_at(plate, bow_load(plate.bell, plate.rigidity, area, K0), ends)
    x = np.linspace(0.1, 1.9, 10)
    fine = np.linspace(0.0, LONG, 200_001)
    turn = np.cumsum(np.where((fine > begin) & (fine < end), K0, 0.0)) * (fine[1] - fine[0])
    fall = np.cumsum(turn) * (fine[1] - fine[0])
    expected = np.interp(x, fine, fine / LONG * fall[-1] - fall)
    # The sums are good to 2e-5; a border that no side follows costs 2e-4.
    assert mean_over(plate, u, x, 0.0, WIDE) == pytest.approx(expected, rel=1e-3)
    assert np.abs(force).max() < 1e-6 * plate.rigidity[0, 0] * K0 / LONG


# Three lines, spans L: the middle one pushes with 3 EI k0 / L, the moment over it is -3/2 EI k0. Common practice (force
# method: k0 L2 / 2 at the middle of 2 L, which P (2 L)3 / 48 EI takes away).
def test_a_strip_on_three_lines() -> None:
    plate = strip()
    lines = np.stack([across(plate, x, 0.0, WIDE) for x in (0.0, LONG / 2, LONG)], axis=1)
    u, force = held_at(plate, bow_load(plate.bell, plate.rigidity, None, K0), lines)
    D, span = plate.rigidity[0, 0], LONG / 2
    assert force == pytest.approx(1.5 * D * WIDE * K0 / span * np.array([-1, 2, -1]), rel=1e-4)
    x = np.array([0.3, 0.6, 0.9])
    spots = np.stack([x, np.full(3, 0.17)], axis=1)
    added = bow_moment(spots, 0.0, STRIP.region(), None, plate.rigidity, K0)
    moment = (local_moment(plate, u, spots) + added)[:, 0]
    assert moment == pytest.approx(-1.5 * D * K0 * x / span, rel=5e-3)


# A free round plate whose inner circle bows. The moments obey the equations of a disc with a warm middle in its plane,
# E alpha T standing for E t3 k0 / 12: m_r = C (I(b) / b2 - I(r) / r2), m_t = C (I(b) / b2 + I(r) / r2 - k), I the
# integral of k r from the middle. Timoshenko & Goodier, Theory of Elasticity, art. 150 (thin circular disk), from
# memory.
@pytest.mark.parametrize("nu", [0.0, 0.2])
@pytest.mark.parametrize("followed", [False, True], ids=["across triangles", "along sides"])
def test_a_disc_with_a_warm_middle(nu: float, followed: bool) -> None:
    b, c = 1.0, 0.5
    shape = Shape(ellipse((0.0, 0.0), (2 * b, 2 * b)))
    angle = np.arange(720) * 2 * np.pi / 720
    circle = c * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    points: tuple[Point, ...] = tuple((float(x), float(y)) for x, y in circle)
    borders = (np.concatenate([circle, circle[:1]]),) if followed else ()
    plate = FreePlate(triangulate(shape, T, None, borders), T, nu)
    region = shape.region()
    area = bow_region(points, region)
    u = plate.solve(bow_load(plate.bell, plate.rigidity, area, K0)[:, None])[:, 0]
    r = np.concatenate([np.linspace(0.05, c - T, 12), np.linspace(c + T, 0.95, 12)])
    spots = r[:, None] * np.array([np.cos(0.3), np.sin(0.3)])
    C = plate.rigidity[0, 0] * (1 - nu**2)
    inside = np.minimum(r, c) ** 2 / 2 * K0
    radial = C * (c**2 / 2 * K0 / b**2 - inside / r**2)
    hoop = C * (c**2 / 2 * K0 / b**2 + inside / r**2 - np.where(r < c, K0, 0.0))
    m = mean_moment(plate, u, spots) + bow_moment(spots, T / 2, region, area, plate.rigidity, K0)
    mean, half = (radial + hoop) / 2, (radial - hoop) / 2
    expected = np.stack([mean + half * np.cos(0.6), mean - half * np.cos(0.6), half * np.sin(0.6)], axis=1)
    # A thickness from the border; a mean over a disc so small differs from its middle by 1e-3. Over the hoop's leap.
    error = np.abs(m - expected).max() / (C * K0)
    assert error < (2e-3 if followed else 2e-2)
