"""Regions with their own depth: whose depth counts where, weight, and laws of a stepped plate."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.plate.bell import BellPlate, bending_rigidity
from fem.plate.depth import Depths, depth_borders, depth_mean, depths_of, weight_load
from fem.plate.free_plate import FreePlate
from fem.plate.model import DepthRegion, PlateCase, Point
from fem.plate.principal import face_stress, principal_tension
from meshing.shape import Shape, ellipse, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate
from tests.bent_plates import mean_moment, mean_over, turned_ends

FloatArray = npt.NDArray[np.float64]

T = 0.04
SHAPE = Shape(rectangle((1.0, 0.3), (2.0, 0.6), 0.05), (ellipse((1.5, 0.3), (0.3, 0.3)),))
REGION = SHAPE.region()


def box(x0: float, y0: float, x1: float, y1: float, depth: float) -> DepthRegion:
    return DepthRegion(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), depth)


def plate_case(*regions: DepthRegion, poisson: float = 0.2) -> PlateCase:
    return PlateCase(T, 2400.0, poisson, regions=regions)


def depths(*regions: DepthRegion) -> Depths:
    found = depths_of(plate_case(*regions), REGION)
    assert found is not None
    return found


def test_no_region_on_the_slab_is_one_depth() -> None:
    assert depths_of(plate_case(), REGION) is None
    assert depths_of(plate_case(box(5.0, 5.0, 6.0, 6.0, 0.03)), REGION) is None


def test_the_later_region_counts_and_the_border_is_the_regions() -> None:
    both = depths(box(0.2, 0.1, 0.8, 0.5, 0.030), box(0.5, 0.2, 0.7, 0.4, 0.020))
    at = np.array([[0.1, 0.3], [0.3, 0.3], [0.6, 0.3], [0.75, 0.3], [0.2, 0.3], [1.2, 0.3]])
    assert both.at(at).tolist() == [0.04, 0.03, 0.02, 0.03, 0.03, 0.04]
    assert both.scale_at(at) == pytest.approx((both.at(at) / T) ** 3, rel=1e-12)
    covered = depths(box(0.5, 0.2, 0.7, 0.4, 0.020), box(0.2, 0.1, 0.8, 0.5, 0.030))
    assert covered.at(at[[2]]).tolist() == [0.03]


def test_a_region_reaches_the_nodes_on_an_arc() -> None:
    left = depths(box(-1.0, -1.0, 0.6, 1.0, 0.03))
    mesh = triangulate(SHAPE, T)
    x = mesh.nodes[:, 0]
    assert (left.at(mesh.nodes)[x < 0.599] == 0.03).all()
    assert (left.at(mesh.nodes)[x > 0.601] == T).all()
    # What runs along the slab's own edge is no step.
    assert left.border_distance(np.array([[0.0, 0.3], [0.7, 0.3]])) == pytest.approx([0.6, 0.1], abs=1e-4)


def test_the_thinnest_part_within_the_disc_carries_the_moment() -> None:
    one = depths(box(0.2, 0.1, 0.8, 0.5, 0.030))
    x = np.array([0.1, 0.179, 0.181, 0.199, 0.201, 0.5])
    at = np.stack([x, np.full(6, 0.3)], axis=1)
    assert one.stress_at(at, T / 2).tolist() == [0.04, 0.04, 0.03, 0.03, 0.03, 0.03]
    assert one.stress_at(at, 0.0).tolist() == [0.04, 0.04, 0.04, 0.04, 0.03, 0.03]
    # A thicker region is not trusted to its very edge.
    thick = depths(box(0.2, 0.1, 0.8, 0.5, 0.050))
    assert thick.stress_at(at, T / 2).tolist() == [0.04, 0.04, 0.04, 0.04, 0.04, 0.05]


# 1.5 in less a drip groove of 1/4 in: (1.5 / 1.25)2 = 1.44 times the pull. Common practice, no source.
def test_a_groove_counts_in_the_pull_and_not_in_the_stiffness() -> None:
    inch = 0.0254
    case = PlateCase(1.5 * inch, 2400.0, 0.2, regions=(box(-1.0, 0.02, 3.0, 0.03, 1.25 * inch),))
    groove = depths_of(case, REGION)
    assert groove is not None
    at = np.array([[0.5, 0.025], [0.5, 0.04], [0.5, 0.06]])
    moment = np.tile([100.0, -20.0, 30.0], (3, 1))
    with_groove, without = (
        principal_tension(face_stress(moment, t, "underside"))[0]
        for t in (groove.stress_at(at, 0.75 * inch), case.thickness)
    )
    assert with_groove / without == pytest.approx([1.44, 1.44, 1.0], rel=1e-12)
    assert (groove.scale_at(at) == 1.0).all()
    assert depth_borders(case) == ()
    plain = FreePlate(triangulate(SHAPE, case.thickness), case.thickness, 0.2)
    grooved = FreePlate(plain.mesh, case.thickness, 0.2, groove)
    stiffness = plain.bell.stiffness(plain.rigidity)
    difference = stiffness - grooved.bell.stiffness(plain.rigidity, groove.rigidity_scale(plain.bell))
    # Round-off: a processor may multiply two like arrays in another order.
    assert abs(difference).max() < 1e-14 * abs(stiffness).max()
    # No place along the groove is farther than a thickness from a spot.
    spots = groove.spots
    reach = shapely.distance(
        shapely.MultiPoint(spots), shapely.points(np.linspace(0.06, 1.94, 200), np.full(200, 0.025))
    )
    assert reach.max() < case.thickness


def test_only_the_wide_part_of_a_region_bends() -> None:
    pan: tuple[Point, ...] = (
        (0.2, 0.1), (0.5, 0.1), (0.5, 0.29), (1.1, 0.29), (1.1, 0.31), (0.5, 0.31), (0.5, 0.5), (0.2, 0.5))  # fmt: skip
    found = depths(DepthRegion(pan, 0.03))
    at = np.array([[0.3, 0.3], [0.9, 0.3]])
    assert found.at(at).tolist() == [0.03, 0.03]
    assert found.scale_at(at) == pytest.approx([0.75**3, 1.0], rel=1e-12)
    (border,) = depth_borders(plate_case(DepthRegion(pan, 0.03)))
    assert shapely.Polygon(border).area == pytest.approx(0.3 * 0.4, rel=1e-9)


@pytest.mark.parametrize("followed", [False, True], ids=["across triangles", "along sides"])
def test_the_slab_weighs_by_its_depths(followed: bool) -> None:
    case = PlateCase(T, 2400.0, 0.2, 10.0, 0.042, (box(0.3, 0.13, 0.8, 0.41, 0.03), box(0.1, 0.02, 1.9, 0.027, 0.03)))
    mesh = triangulate(SHAPE, T, None, depth_borders(case) if followed else ())
    plate = FreePlate(mesh, T, 0.2)
    found = depths_of(case, REGION)
    weight, *moments = weight_load(plate.bell, case, found) @ plate.rigid_motions
    area, mx, my = plate.bell.body_load @ plate.rigid_motions
    pan, groove = 0.5 * 0.28 * 0.01, 1.8 * 0.007 * 0.01
    expected = 24000 * (
        0.042 * np.array([area, mx, my]) - pan * np.array([1, 0.55, 0.27]) - groove * np.array([1, 1, 0.0235])
    )
    # A cut triangle's depth is the mean of 6 x 6 samples a point of its quadrature.
    assert [weight, *moments] == pytest.approx(expected, rel=3e-4)
    assert weight_load(plate.bell, case, None) == pytest.approx(24000 * 0.042 * plate.bell.body_load, rel=1e-12)


def test_a_region_over_all_is_a_thinner_slab() -> None:
    mesh = triangulate(SHAPE, T)
    bell = BellPlate(mesh)
    thin = depths(box(-1.0, -1.0, 3.0, 1.0, 0.03))
    K = bell.stiffness(bending_rigidity(1.0, 0.2, T), thin.rigidity_scale(bell))
    other = bell.stiffness(bending_rigidity(1.0, 0.2, 0.03))
    assert abs(K - other).max() < 1e-12 * abs(other).max()


def test_a_region_as_deep_as_the_slab_changes_nothing() -> None:
    case = plate_case(box(0.3, 0.1, 0.8, 0.5, T))
    same = depths_of(case, REGION)
    assert same is not None
    mesh = triangulate(SHAPE, T, None, depth_borders(case))
    with_region, without = FreePlate(mesh, T, 0.2, same), FreePlate(mesh, T, 0.2)
    ends = turned_ends(without, 0.0, 2.0, 0.05, 0.55)
    one, other = (plate.solve(ends[:, None])[:, 0] for plate in (with_region, without))
    # Round-off in the stiffness (a processor may multiply like arrays in another order) times its condition of 1e9.
    assert one == pytest.approx(other, rel=1e-7, abs=1e-7 * np.abs(other).max())
    points = np.array([[0.3, 0.3], [0.5, 0.3], [0.31, 0.11], [0.8, 0.5], [0.0, 0.3]])
    size = np.abs(mean_moment(without, other, points)).max()
    # Beside the border the mean is put together from two sides, each a sum round its own rim.
    assert np.abs(mean_moment(with_region, one, points) - mean_moment(without, other, points)).max() < 2e-3 * size


def test_the_mesh_follows_the_border_and_is_bounded() -> None:
    case = plate_case(box(0.3, 0.1, 0.8, 0.5, 0.03), box(0.7, -0.2, 0.9, 0.3, 0.02))
    borders = depth_borders(case)
    mesh = triangulate(SHAPE, T, None, borders)
    ring = shapely.LineString([(0.3, 0.1), (0.3, 0.5), (0.8, 0.5), (0.8, 0.3)])
    on = np.asarray(shapely.distance(ring, shapely.points(mesh.nodes)) < 1e-9)
    assert on.sum() >= ring.length / (0.25 * T)
    # A side a triangle has on the border at every place of it: nothing cuts through.
    edges = mesh.nodes[mesh.edges[0]]
    along = np.asarray(shapely.linestrings(edges[on[mesh.edges[0]].all(axis=1)]))
    kept = along[
        np.asarray(shapely.length(shapely.intersection(along, ring.buffer(1e-9)))) > 0.99 * shapely.length(along)
    ]
    assert shapely.union_all(kept).length == pytest.approx(ring.length, rel=1e-6)
    assert mesh.smallest_angle > 15
    plain = len(triangulate(SHAPE, T).nodes)
    # A comb of 40 m of border: the size beside it gives way.
    comb = [np.array(shapely.box(0.02 * k, 0.1, 0.02 * k + 0.01, 0.5).exterior.coords) for k in range(2, 50)]
    assert len(triangulate(SHAPE, T, None, comb).nodes) < plain + 6000
    assert len(triangulate(SHAPE, T, Fineness(), ()).nodes) == plain


@pytest.mark.parametrize("gap", [1e-2, 1e-3, 1e-4, 1e-6, 1e-9, 0.0])
def test_borders_that_nearly_touch_do_not_pinch_the_mesh(gap: float) -> None:
    boxes = [shapely.box(0.3, 0.1, 0.8, 0.5), shapely.box(0.8 + gap, 0.1, 1.2, 0.5), shapely.box(0.3, gap, 0.4, 0.1)]
    slit = shapely.difference(boxes[0], shapely.box(0.5, 0.2, 0.9, 0.2 + max(gap, 1e-9)))
    borders = [shapely.get_coordinates(shapely.get_exterior_ring(area)) for area in (*boxes, slit)]
    assert triangulate(SHAPE, T, None, borders).smallest_angle > 12


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_turned_or_mirrored_slab_turns_its_answer(mirrored: bool) -> None:
    corners = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 0.6], [0.0, 0.6]])
    recess = np.array([[0.5, 0.1], [1.1, 0.15], [1.0, 0.45], [0.6, 0.5]])
    spots = np.array([[0.3, 0.2], [0.8, 0.3], [1.3, 0.1], [0.5, 0.12], [1.05, 0.3]])
    angle = 0.7
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    if mirrored:
        turn = turn @ np.diag([-1.0, 1.0])

    def moments(by: FloatArray) -> FloatArray:
        shape = Shape(polygon(corners @ by.T))
        points = tuple((float(x), float(y)) for x, y in recess @ by.T)
        case = plate_case(DepthRegion(points, 0.026))
        mesh = triangulate(shape, T, None, depth_borders(case))
        plate = FreePlate(mesh, T, 0.2, depths_of(case, shape.region()))
        s = (np.arange(400) + 0.5) / 400
        load = np.zeros(plate.bell.size)
        for start, end, out in ((corners[3], corners[0], [-1.0, 0.0]), (corners[1], corners[2], [1.0, 0.0])):
            along = (start + s[:, None] * (end - start)) @ by.T
            outward = np.tile(by @ np.array(out), (400, 1))
            load += plate.bell.functionals(along, np.full(400, 0.6 / 400), np.zeros(400, dtype=np.int64), 1, outward)[
                :, 0
            ]
        m = mean_moment(plate, plate.solve(load[:, None])[:, 0], spots @ by.T)
        return np.asarray(by.T @ np.stack([m[:, [0, 2]], m[:, [2, 1]]], axis=1) @ by)

    # Two meshes of one slab, each good to 4e-3 beside a step.
    assert np.abs(moments(turn) - moments(np.eye(2))).max() < 8e-3


def test_means_over_a_step_are_a_sum_of_both_sides() -> None:
    case = plate_case(box(0.3, -0.1, 0.8, 0.7, 0.03))
    found = depths_of(case, REGION)
    assert found is not None
    plate = FreePlate(triangulate(SHAPE, T, None, depth_borders(case)), T, 0.2, found)
    x = plate.mesh.nodes[:, 0]
    # w = -x2 / 2 has the curvature 1 everywhere; the mean of the scale by areas.
    u = np.zeros((len(x), 6))
    u[:, 0], u[:, 1], u[:, 3] = -(x**2) / 2, -x * plate.bell.node_length, -(plate.bell.node_length**2)
    points = np.array([[0.3, 0.3], [0.31, 0.3], [0.5, 0.3], [0.8, 0.0], [1.2, 0.3]])
    mean = depth_mean(plate.bell, points, T / 2, REGION, found)
    got = mean(u.reshape(-1, 1))[:, 0, 0]
    cap = (np.arccos(0.5) - 0.5 * np.sqrt(0.75)) / np.pi
    share = np.array([0.5, 1 - cap, 1, 0.5, 0])
    assert got == pytest.approx(1 - share * (1 - 0.75**3), rel=2e-3)


def test_deflection_is_read_by_the_mean() -> None:
    plate = FreePlate(triangulate(SHAPE, T), T, 0.2)
    assert mean_over(plate, plate.rigid_motions[:, 1], np.array([0.4]), 0.1, 0.5) == pytest.approx([0.4], rel=1e-9)
