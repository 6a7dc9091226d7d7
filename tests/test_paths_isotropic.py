"""Isotropic points and their index, on fields whose zeros are known.

With d = (sx - sy)/2 + i sxy as a function of z = x + i y: d = z - c is a wedge (+1/2) at c, its conjugate a trisector
(-1/2). Source: Delmarcelle & Hesselink, The topology of symmetric, second-order tensor fields, IEEE Visualization 1994,
pp. 140-147.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.paths import isotropic_points
from tests.paths_fields import Grid, from_deviator, grid_over, ring_region

SQUARE = grid_over(shapely.box(-1, -1, 1, 1), 0.1, 0.1)
CENTER = 0.13 + 0.21j


def complex_points(grid: Grid) -> npt.NDArray[np.complex128]:
    return np.asarray(grid[0][:, 0] + 1j * grid[0][:, 1])


@pytest.mark.parametrize(("conjugate", "index"), [(False, 0.5), (True, -0.5)], ids=["wedge", "trisector"])
def test_a_simple_point_is_found_where_it_lies(conjugate: bool, index: float) -> None:
    d = complex_points(SQUARE) - CENTER
    points, indices = isotropic_points(
        *SQUARE, from_deviator(2e6 * np.exp(0.4j) * (d.conjugate() if conjugate else d), 1e6)
    )
    # d is linear, so the grid holds it exactly; 1e-8 m is the share by which the field is shifted.
    np.testing.assert_allclose(points, [[CENTER.real, CENTER.imag]], rtol=0, atol=1e-8)
    assert indices.tolist() == [index]


@pytest.mark.parametrize("conjugate", [False, True])
def test_a_point_on_a_node_is_counted_once(conjugate: bool) -> None:
    # The node in the middle of eight triangles, and the middle of a side shared by two.
    points = np.array([[x, y] for y in (-1.0, 0.0, 1.0) for x in (-1.0, 0.0, 1.0)])
    triangles = np.array([t for k in (0, 1, 3, 4) for t in ((k, k + 1, k + 4), (k, k + 4, k + 3))])
    for center in (0.0, 0.5 + 0.5j, 0.5):
        d = points[:, 0] + 1j * points[:, 1] - center
        found, index = isotropic_points(points, triangles, from_deviator(d.conjugate() if conjugate else d, 0.0))
        assert len(found) == 1
        assert abs(complex(*found[0]) - center) < 1e-8
        assert index.tolist() == [-0.5 if conjugate else 0.5]


def test_the_direction_turns_by_the_index_on_a_walk_round_the_point() -> None:
    # An independent road to the index: add up the turning of the direction itself, nearest way at each of 400 steps.
    for conjugate, index in ((False, 0.5), (True, -0.5)):
        walk = CENTER + 0.3 * np.exp(2j * np.pi * np.linspace(0, 1, 401))
        d = walk - CENTER if not conjugate else (walk - CENTER).conjugate()
        angle = np.angle(d) / 2
        step = (np.diff(angle) + np.pi / 2) % np.pi - np.pi / 2
        found = isotropic_points(*SQUARE, from_deviator(complex_points(SQUARE) - CENTER, 0.0))
        if conjugate:
            found = isotropic_points(*SQUARE, from_deviator((complex_points(SQUARE) - CENTER).conjugate(), 0.0))
        assert step.sum() / (2 * np.pi) == pytest.approx(index, abs=1e-9)
        assert found[1].sum() == index


def test_indices_inside_add_up_to_the_turning_along_the_boundary() -> None:
    # The law of the winding number: d = (z - a)(z - b)(z - c)* turns once forward in all, so the indices add up to 1/2.
    z = complex_points(SQUARE)
    d = (z - 0.4 - 0.1j) * (z + 0.5) * (z - 0.1 + 0.6j).conjugate()
    points, index = isotropic_points(*SQUARE, from_deviator(d, 0.0))
    assert sorted(index.tolist()) == [-0.5, 0.5, 0.5]
    at = points[:, 0] + 1j * points[:, 1]
    # The grid bends the cubic field a little: 0.1 m triangles, so well within a quarter of one.
    for truth in (0.4 + 0.1j, -0.5, 0.1 - 0.6j):
        assert np.abs(at - truth).min() < 0.025
    assert index[np.abs(at - 0.1 + 0.6j).argmin()] == -0.5


def test_a_double_zero_comes_out_as_two_wedges() -> None:
    points, index = isotropic_points(*SQUARE, from_deviator((complex_points(SQUARE) - CENTER) ** 2, 0.0))
    assert index.sum() == 1.0
    assert np.hypot(*(points - [CENTER.real, CENTER.imag]).T).max() < 0.1


def test_pressure_round_a_hole_has_none() -> None:
    # Lame's tube: the difference of the principal stresses goes like 1/r2 and is nowhere zero (Timoshenko & Goodier,
    # art. 28).
    grid = grid_over(ring_region(0.2, 0.6), 0.03, 0.06)
    z = complex_points(grid)
    points, index = isotropic_points(*grid, from_deviator(-z / z.conjugate() / np.abs(z) ** 2, 1.0))
    assert points.shape == (0, 2)
    assert index.shape == (0,)


def test_a_field_without_direction_has_none() -> None:
    n = len(SQUARE[0])
    for stress in (np.zeros((n, 3)), np.tile([1e6, 1e6, 0.0], (n, 1)), np.tile([2e6, 1e6, 3e5], (n, 1))):
        assert len(isotropic_points(*SQUARE, stress)[0]) == 0
    assert len(isotropic_points(SQUARE[0], np.empty((0, 3), dtype=np.intp), np.tile([2e6, 1e6, 3e5], (n, 1)))[1]) == 0


def test_turning_the_grid_moves_points_and_keeps_indices() -> None:
    z = complex_points(SQUARE)
    d = (z - CENTER) * (z + 0.4).conjugate()
    e = np.exp(0.5j)
    points, index = isotropic_points(*SQUARE, from_deviator(d, 0.0))
    moved = np.column_stack(((z * e).real, (z * e).imag))
    points_moved, index_moved = isotropic_points(moved, SQUARE[1], from_deviator(d * e**2, 0.0))
    np.testing.assert_allclose(points_moved @ [1, 1j], points @ [1, 1j] * e, rtol=0, atol=1e-7)
    assert index_moved.tolist() == index.tolist()
