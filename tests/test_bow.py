"""Bow: what every imposed curvature owes, whatever the slab."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from fem.plate.bow import bow_borders, bow_load, bow_moment, bow_region
from fem.plate.depth import Depths, depths_of
from fem.plate.free_plate import FreePlate
from fem.plate.model import AreaPlace, Bow, DepthRegion, PlateCase, Point, Stage
from meshing.shape import Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate
from tests.bent_plates import mean_moment

FloatArray = npt.NDArray[np.float64]

T, NU, K0 = 0.04, 0.2, 3e-3
CORNERS = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 0.6], [0.65, 0.6], [0.65, 1.5], [0.0, 1.5]])
ODD = Shape(
    polygon(CORNERS, [0.0, 0.03, 0.0, 0.02, 0.0, 0.05]),
    (rectangle((1.35, 0.3), (0.5, 0.34), 0.04), ellipse((0.3, 1.1), (0.3, 0.3))),
)
PATCH: tuple[Point, ...] = ((0.1, 0.2), (0.9, 0.1), (0.8, 0.5), (0.2, 0.9))
SPOTS = np.array([[0.3, 0.5], [0.6, 0.3], [1.0, 0.05], [0.15, 1.3], [0.85, 0.3]])


@pytest.mark.parametrize("deep", [False, True], ids=["one depth", "a recess"])
def test_the_free_slab_bows_to_a_paraboloid_and_is_not_pulled(deep: bool) -> None:
    region = ODD.region()
    depths: Depths | None = None
    if deep:
        depths = depths_of(PlateCase(T, 0.0, NU, regions=(DepthRegion(PATCH, 0.025),)), region)
    plate = FreePlate(triangulate(ODD, T), T, NU, depths)
    u = plate.solve(bow_load(plate.bell, plate.rigidity, None, K0, depths)[:, None])[:, 0]
    x, y = plate.mesh.nodes.T
    flat = u[::6] + K0 / 2 * (x**2 + y**2)
    plane = np.stack([np.ones_like(x), x, y], axis=1)
    left = flat - plane @ np.linalg.lstsq(plane, flat, rcond=None)[0]
    # A quadratic is held exactly; the factor's round-off remains.
    assert np.abs(left).max() < 1e-7 * K0
    points = np.concatenate([plate.mesh.nodes[::7], SPOTS])
    size = plate.rigidity[0, 0] * (1 + NU) * K0
    pulled = mean_moment(plate, u, points) + bow_moment(points, T / 2, region, None, plate.rigidity, K0, depths)
    # Beside a step the share of a disc is that of a polygon of 32 sides, where the mean is a sum over another.
    assert np.abs(pulled).max() < (2e-3 if deep else 1e-6) * size


def test_a_bow_balances_itself_and_does_not_care_how_it_is_written() -> None:
    plate = FreePlate(triangulate(ODD, T), T, NU)
    region, bell, D = ODD.region(), plate.bell, plate.rigidity
    part = bow_load(bell, D, bow_region(PATCH, region), K0)
    rigid = plate.rigid_motions
    assert np.abs(rigid.T @ part).max() < 1e-10 * (np.abs(rigid).T @ np.abs(part)).max()
    assert bow_load(bell, D, bow_region(PATCH[::-1], region), -K0) == pytest.approx(
        -part, rel=1e-9, abs=1e-9 * K0 * D.max()
    )
    # The whole slab by its rim and by quadrature: the rim's chords keep within 0.02 mm of the arcs.
    whole = bow_load(bell, D, None, K0)
    round_the_rim = bow_load(bell, D, region, K0)
    assert (
        np.abs(plate.solve((whole - round_the_rim)[:, None])).max() < 1e-3 * np.abs(plate.solve(whole[:, None])).max()
    )


def test_two_halves_bow_like_the_whole() -> None:
    plate = FreePlate(triangulate(ODD, T), T, NU)
    region, D = ODD.region(), plate.rigidity
    halves = [
        bow_region(tuple(map(tuple, np.array(box).tolist())), region)
        for box in ([[-1.0, -1], [0.8, -1], [0.8, 3], [-1, 3]], [[0.8, -1.0], [3, -1], [3, 3], [0.8, 3]])
    ]
    whole = bow_load(plate.bell, D, region, K0)
    summed = sum(bow_load(plate.bell, D, half, K0) for half in halves)
    assert np.abs(plate.solve((whole - summed)[:, None])).max() < 1e-5 * np.abs(plate.solve(whole[:, None])).max()
    shares = sum(bow_moment(SPOTS, T / 2, region, half, D, K0) for half in halves)
    assert shares == pytest.approx(bow_moment(SPOTS, T / 2, region, None, D, K0), rel=1e-9, abs=1e-15)


def test_the_part_of_a_disc_that_bows_is_taken_off() -> None:
    region = Shape(rectangle((0.5, 0.5), (1.0, 1.0))).region()
    half = bow_region(((-1.0, -1.0), (0.5, -1.0), (0.5, 2.0), (-1.0, 2.0)), region)
    D = np.array([[2.0, 0.5, 0.0], [0.5, 2.0, 0.0], [0.0, 0.0, 0.75]])
    points = np.array([[0.2, 0.5], [0.5, 0.5], [0.9, 0.5], [0.5 + 0.05, 0.5], [0.0, 0.0], [0.5, 0.0]])
    taken = bow_moment(points, 0.1, region, half, D, 1.0)
    cap = (np.arccos(0.5) - 0.5 * np.sqrt(0.75)) / np.pi
    # Discs are polygons of 32 sides here: their areas are 0.6 % off, their shares less.
    assert taken[:, 0] == pytest.approx(-2.5 * np.array([1, 0.5, 0, cap, 1, 0.5]), rel=6e-3, abs=1e-12)
    assert (taken[:, 1] == taken[:, 0]).all()
    assert (taken[:, 2] == 0).all()
    at = bow_moment(points, 0.0, region, half, D, 1.0)
    assert at[[0, 2, 4], 0].tolist() == [-2.5, 0.0, -2.5]


def test_no_points_and_points_all_round_are_the_whole_slab() -> None:
    region = ODD.region()
    assert bow_region((), region) is None
    assert bow_region(((-1.0, -1.0), (3.0, -1.0), (3.0, 3.0), (-1.0, 3.0)), region) is None
    part = bow_region(((-1.0, 0.2), (0.5, 0.2), (0.5, 0.4), (-1.0, 0.4)), region)
    assert part is not None
    assert part.area == pytest.approx(0.5 * 0.2, rel=1e-12)


def test_borders_of_bows_are_closed_and_told_once() -> None:
    bows = (Bow("sun", K0, AreaPlace(PATCH)), Bow("drying", K0))
    stages = tuple(Stage(name, "show", 1.0, 3e10, 3e6, 2e6, (), bows=bows) for name in ("one", "two"))
    (border,) = bow_borders(stages)
    assert border.tolist() == [list(point) for point in (*PATCH, PATCH[0])]


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_turned_or_mirrored_slab_turns_its_bow(mirrored: bool) -> None:
    angle = 0.7
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    if mirrored:
        turn = turn @ np.diag([-1.0, 1.0])
    patch = np.array(PATCH)

    def pulls(by: FloatArray) -> FloatArray:
        shape = Shape(polygon(CORNERS @ by.T))
        points, spots = patch @ by.T, SPOTS @ by.T
        fine = Fineness(border=0.25)
        plate = FreePlate(triangulate(shape, T, fine, (np.concatenate([points, points[:1]]),)), T, NU)
        region = shape.region()
        area = bow_region(tuple((float(x), float(y)) for x, y in points), region)
        u = plate.solve(bow_load(plate.bell, plate.rigidity, area, K0)[:, None])[:, 0]
        m = mean_moment(plate, u, spots) + bow_moment(spots, T / 2, region, area, plate.rigidity, K0)
        tensor = np.stack([m[:, [0, 2]], m[:, [2, 1]]], axis=1)
        return np.asarray(by.T @ tensor @ by)

    size = FreePlate(triangulate(ODD, T), T, NU).rigidity[0, 0] * K0
    # Two meshes of one slab; beside the border the sums round a disc meet its kink at other angles.
    assert np.abs(pulls(turn) - pulls(np.eye(2))).max() < 3e-3 * size
