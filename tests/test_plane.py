"""Laws of a slab in its plane: exact fields, balance, turning, and what bears it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fem.plane.rim import rim
from fem.plane.standing import Standing, stand
from fem.plane.stretches import foot_of, stretch_of
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Point, PointPlace
from meshing.shape import Shape, ellipse, polygon, rectangle
from tests.plane_slabs import Slab, edge_load, size_of, slab, turned
from tests.plates import FloatArray

DOWN: Point = (0.0, -1.0)
RIGID = np.inf
W = 1000.0
ELL = np.array([[0, 0], [2.4, 0], [2.4, 0.65], [0.65, 0.65], [0.65, 1.8], [0, 1.8]])
HOLED = Shape(polygon(ELL, [0, 0.1, 0, 0.03, 0, 0]), (ellipse((1.6, 0.3), (0.6, 0.35), 0.3),))
SINK = Shape(polygon(ELL), (rectangle((1.6, 0.32), (0.6, 0.35)),))
BOARD = Shape(rectangle((1.0, 0.25), (2.0, 0.5)))


def hands(*places: tuple[float, float], size: float = 0.1) -> list[PointPlace]:
    return [PointPlace(at, size) for at in places]


def on(piece: Slab, *places: PointPlace | LinePlace | EdgePlace | AreaPlace, spring: float = RIGID) -> Standing:
    return stand(piece.plate, piece.reading, W, DOWN, places, [spring] * len(places))


# The patch test: a linear displacement is met exactly, on arcs and crooked triangles alike (Zienkiewicz & Taylor, The
# Finite Element Method, vol. 1, 5th ed. (2000), ch. 10). Strains by Hooke's law of plane stress, written out here.
def test_even_stress_is_exact_beside_arcs() -> None:
    piece, nu = slab(HOLED, poisson=0.3, spots=((0.3, 0.9), (1.25, 0.3))), 0.3
    sx, sy, sxy = 3.0, -1.0, 0.7
    load, pulled = edge_load(piece.plate, lambda x: np.tile([sx, sy, sxy], (len(x), 1)))
    u = piece.plate.solve(load[:, None])[:, 0]
    assert_allclose(
        piece.reading.mean(u)[: len(piece.plate.grid.nodes)], np.tile([sx, sy, sxy], (len(u) // 2, 1)), 1e-4
    )
    local, *errors = piece.reading.local(u, pulled)
    assert_allclose(local, np.tile([sx, sy, sxy], (len(local), 1)), rtol=1e-9)
    assert max(error.max() for error in errors) < 1e-9
    exx, eyy, gxy = sx - nu * sy, sy - nu * sx, 2 * (1 + nu) * sxy
    x, y = (piece.plate.grid.nodes - piece.plate.grid.nodes[0]).T
    free = u.reshape(-1, 2) - np.stack([exx * x, eyy * y + gxy * x], axis=1)
    turn = np.stack([np.ones_like(x), np.zeros_like(x), -y, np.zeros_like(x), np.ones_like(x), x], axis=1)
    turn = turn.reshape(-1, 2, 3).reshape(-1, 3)
    left = free.ravel() - turn @ np.linalg.lstsq(turn, free.ravel(), rcond=None)[0]
    assert np.abs(left).max() < 1e-9 * np.abs(u).max()


def test_rigid_motion_costs_nothing() -> None:
    plate = slab(HOLED).plate
    K = plate.grid.stiffness(plate.elasticity)
    assert np.abs(K @ plate.rigid_motions(np.array([0.6, 0.8]))).max() < 1e-12 * abs(K).max() * len(plate.mesh.nodes)


def test_area_and_centre_are_those_of_the_shape() -> None:
    plate, region = slab(HOLED).plate, HOLED.region(1e-7)
    assert plate.grid.weights.sum() == pytest.approx(region.area, rel=1e-5)
    assert_allclose(plate.center, [region.centroid.x, region.centroid.y], rtol=1e-5)


@pytest.mark.parametrize(
    "places",
    [
        hands((0.3, 0.02), (2.0, 0.02)),
        hands((0.1, 0.02), (1.0, 0.02), (2.0, 0.02)),
        [LinePlace(((0.2, 0.0), (0.5, 0.0))), EdgePlace(0, 1.2, 1.5)],
        [AreaPlace()],
    ],
)
@pytest.mark.parametrize("spring", [RIGID, 2e5])
def test_forces_balance_the_weight(places: list[PointPlace], spring: float) -> None:
    piece = slab(SINK)
    found = on(piece, *places, spring=spring)
    weight = W * SINK.region().area
    assert not found.tips
    assert found.converged
    assert found.residual < 1e-9
    assert sum(found.forces) == pytest.approx(weight, rel=1e-9)
    assert min(found.forces) >= 0


# Two narrow hands: their shares by the lever rule, each within half a hand of its middle.
def test_two_hands_share_by_the_lever_rule() -> None:
    found = on(slab(SINK), *hands((0.3, 0.02), (2.0, 0.02), size=0.02))
    x = SINK.region().centroid.x
    share = (x - 0.3) / 1.7
    assert_allclose(np.array(found.forces) / sum(found.forces), [1 - share, share], atol=0.01 / 1.7)


# A board without sideways strain (nu = 0) on a rigid even floor: sy = - weight above / thickness, and nothing else, by
# equilibrium. Quadratic displacements: exact.
def test_board_on_a_floor_is_pressed_by_what_stands_on_it() -> None:
    piece = slab(BOARD, poisson=0.0, spots=((0.7, 0.2),))
    found = on(piece, EdgePlace(0, 0.0, 2.0))
    above = W * (0.5 - piece.sample.points[:, 1]) / piece.plate.thickness
    off = np.abs(found.local - np.stack([0 * above, -above, 0 * above], axis=1)) / above.max()
    projecting = [piece.near(at) for at in ((0.0, 0.5), (2.0, 0.5))]
    assert np.delete(off, projecting, axis=0).max() < 1e-6
    inside = (piece.sample.points[:, 1] > 0.1) & (piece.sample.points[:, 1] < 0.4)
    assert np.abs(found.mean[inside, 1] + above[inside]).max() < 1e-3 * above.max()


def turned_stress(stress: FloatArray, c: float, s: float) -> FloatArray:
    """Stresses (p, 3) turned by an angle of this cosine and sine."""
    sx, sy, sxy = stress.T
    across = 2 * s * c * sxy
    xx, yy = c * c * sx + s * s * sy - across, s * s * sx + c * c * sy + across
    return np.stack([xx, yy, s * c * (sx - sy) + (c * c - s * s) * sxy], axis=1)


def test_turned_slab_turns_its_stress() -> None:
    mesh, angle = slab(SINK).plate.mesh, 0.7
    c, s = np.cos(angle), np.sin(angle)
    places = [EdgePlace(0, 0.2, 0.4), EdgePlace(0, 1.9, 2.1)]
    one = slab(mesh)
    other = slab(turned(mesh, angle))
    a = on(one, *places)
    b = stand(other.plate, other.reading, W, (s, -c), places, [RIGID, RIGID])
    assert_allclose(b.forces, a.forces, rtol=1e-9)
    assert np.abs(b.local - turned_stress(a.local, c, s)).max() < 1e-9 * size_of(a.local).max()
    # The means are taken over discs of sixteen sides that do not turn: 1 % of the largest stress, at a hand's end.
    assert np.abs(b.mean - turned_stress(a.mean, c, s)).max() < 0.015 * size_of(a.mean).max()


def test_mirrored_slab_mirrors_its_stress() -> None:
    flip = np.array([2.4, 0]) + ELL * [-1, 1]
    mirrored = Shape(polygon(flip), (rectangle((0.8, 0.32), (0.6, 0.35)),))
    spots = ((0.3, 0.9), (1.6, 0.07), (1.1, 0.3), (2.2, 0.3))
    one = slab(SINK, spots=spots)
    other = slab(mirrored, spots=tuple((2.4 - x, y) for x, y in spots))
    a, b = on(one, *hands((0.3, 0.02), (2.0, 0.02))), on(other, *hands((2.1, 0.02), (0.4, 0.02)))
    assert_allclose(b.forces, a.forces, rtol=2e-3)
    # Two meshes: the means differ by their errors, a hundredth of the largest at these spots.
    assert np.abs(b.mean[other.spots] * [1, 1, -1] - a.mean[one.spots]).max() < 0.01 * size_of(a.mean[one.spots]).max()


@pytest.mark.parametrize(
    "places",
    [[], hands((0.1, 0.02), (0.4, 0.02)), hands((2.2, 0.02)), [EdgePlace(0, 3.3, 3.6)]],
    ids=["nothing", "all on one side", "one hand beside", "the upper edge"],
)
def test_slab_that_cannot_balance_tips(places: list[PointPlace]) -> None:
    found = on(slab(SINK), *places)
    assert found.tips
    assert found.forces == ()
    assert found.mean.shape == (0, 3)


def test_support_that_would_pull_lifts_off() -> None:
    # Between its second and its third hand the board sags, and its end beyond the second rises off the first.
    piece = slab(BOARD)
    found = on(piece, *hands((0.05, 0.0), (0.3, 0.0), (1.9, 0.0)))
    assert found.forces[0] == 0.0
    two = on(piece, *hands((0.3, 0.0), (1.9, 0.0)))
    assert_allclose(found.forces[1:], two.forces, rtol=1e-9)
    assert_allclose(found.mean, two.mean, atol=1e-9 * size_of(two.mean).max())


# A stiff board on three springs far softer than itself: alike springs, alike shares; one twice as stiff, twice the
# share (a rigid body on springs).
def test_springs_share_by_stiffness() -> None:
    piece = slab(BOARD)
    places = hands((0.2, 0.01), (1.0, 0.01), (1.8, 0.01))
    even = stand(piece.plate, piece.reading, W, DOWN, places, [1e4] * 3)
    assert_allclose(even.forces, np.full(3, W / 3), rtol=1e-3)
    middle = stand(piece.plate, piece.reading, W, DOWN, places, [1e4, 2e4, 1e4])
    assert_allclose(middle.forces, [W / 4, W / 2, W / 4], rtol=1e-3)
    # A softer slab lets the middle go its own way: the modulus counts beside springs.
    bent = stand(piece.plate, piece.reading, W, DOWN, places, [1e8] * 3, modulus=1e9)
    stiff = stand(piece.plate, piece.reading, W, DOWN, places, [1e8] * 3, modulus=1e11)
    assert bent.forces[1] > stiff.forces[1] * 1.02


def test_stress_scales_with_the_weight() -> None:
    piece = slab(SINK)
    places = hands((0.3, 0.02), (1.2, 0.02), (2.0, 0.02))
    one = stand(piece.plate, piece.reading, W, DOWN, places, [RIGID, 1e6, RIGID])
    part = stand(piece.plate, piece.reading, 0.4 * W, DOWN, places, [RIGID, 1e6, RIGID])
    assert_allclose(part.mean, 0.4 * one.mean, rtol=1e-7, atol=1e-9 * size_of(one.mean).max())


def test_free_edges_carry_no_pull_across() -> None:
    piece = slab(HOLED)
    found = on(piece, *hands((0.3, 0.02), (2.0, 0.02)))
    edge = rim(piece.plate.grid, 1)
    tangent = (edge.points[:, 2] - edge.points[:, 0]) / np.hypot(*(edge.points[:, 2] - edge.points[:, 0]).T)[:, None]
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    sx, sy, sxy = found.local[edge.nodes[:, 1]].T
    across = np.stack([sx * normal[:, 0] + sxy * normal[:, 1], sxy * normal[:, 0] + sy * normal[:, 1]])
    assert np.abs(across).max() < 1e-9 * size_of(found.local).max()


def lower_edge(shape: Shape, place: PointPlace | LinePlace | EdgePlace | AreaPlace, down: FloatArray) -> FloatArray:
    return np.array(stretch_of(rim(slab(shape).plate.grid, 0), place, down, 0.02))


def test_stretch_under_each_kind_of_place() -> None:
    down, starts = np.array(DOWN), BOARD.outline.curve_starts
    assert_allclose(lower_edge(BOARD, PointPlace((0.5, 0.3), 0.2), down), [[0.4, 0.6]], atol=1e-9)
    assert_allclose(lower_edge(BOARD, PointPlace((0.5, -0.3), 0.0), down), [[0.49, 0.51]], atol=1e-9)
    assert_allclose(lower_edge(BOARD, PointPlace((0.0, 0.3), 0.2), down), [[0.0, 0.1]], atol=1e-9)
    assert_allclose(lower_edge(BOARD, EdgePlace(0, 1.5, 2.3), down), [[1.5, 2.0]], atol=1e-9)
    assert_allclose(lower_edge(BOARD, LinePlace(((0.3, 5e-4), (0.7, 5e-4))), down), [[0.3, 0.7]], atol=1e-3)
    assert_allclose(lower_edge(BOARD, LinePlace(((0.3, -0.1), (0.7, -0.1))), down), [[0.3, 0.7]], atol=1e-9)
    assert_allclose(lower_edge(BOARD, LinePlace(((0.3, 0.45), (0.3, 0.05))), down), [[0.29, 0.31]], atol=1e-9)
    area = AreaPlace(((0.3, -0.1), (0.7, -0.1), (0.7, 0.1), (0.3, 0.1)))
    assert_allclose(lower_edge(BOARD, area, down), [[0.3, 0.7]], atol=2e-3)
    # Stood on its left side, gravity along -x: the stretch is counted on from the start of the outline.
    left = lower_edge(BOARD, PointPlace((0.5, 0.3), 0.1), np.array([-1.0, 0.0]))
    assert_allclose(left, [[starts[3] + 0.15, starts[3] + 0.25]], atol=1e-9)
    assert not len(lower_edge(BOARD, EdgePlace(0, 2.6, 3.0), down))


def test_point_under_an_arm_of_an_ell_stands_where_the_way_down_leaves_the_slab() -> None:
    edge = rim(slab(SINK).plate.grid, 0)
    up = np.array([0.0, 1.0])
    starts = SINK.outline.curve_starts
    assert foot_of(edge, (1.5, 0.1), up) == pytest.approx(starts[2] + 2.4 - 1.5)
    assert foot_of(edge, (0.3, 0.1), up) == pytest.approx(starts[4] + 0.65 - 0.3)


def test_round_slab_rolls_onto_its_lowest_spot() -> None:
    round_table = Shape(ellipse((0.0, 0.0), (1.2, 1.2)))
    edge = rim(slab(round_table).plate.grid, 0)
    spot = foot_of(edge, (0.0, 0.0), np.array(DOWN))
    assert spot == pytest.approx(0.75 * round_table.outline.length, rel=1e-9)
    found = on(slab(round_table), *hands((-0.2, -0.5), (0.2, -0.5)))
    assert_allclose(found.forces, np.full(2, W * np.pi * 0.36 / 2), rtol=5e-3)


def test_down_must_be_a_unit_vector() -> None:
    piece = slab(BOARD)
    with pytest.raises(ValueError, match="no unit vector"):
        stand(piece.plate, piece.reading, W, (0.0, -2.0), hands((0.2, 0)), [RIGID])
