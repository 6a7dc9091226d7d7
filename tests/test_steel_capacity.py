"""What runs carry at a point: hand calculations, laws, and a second road written by other hands (fem.steel.check)."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.capacity import FACES, Bars, arm, beside, carried_by, in_directions, strength_tensor
from fem.steel.check import strength_at
from fem.steel.ground import ground_of
from fem.steel.model import Demand, Face, Rules, Run, Steel

FloatArray = npt.NDArray[np.float64]
Scalar = TypeVar("Scalar", np.float64, np.int64)

WIRE = Steel("wire", "wire", 0.004, 0.004, 12e-6, 500e6, 550e6, 200e9)
RULES = Rules(0.04, 0.12, (0.0, np.pi / 2), 0.01, anchorage=0.1, lap=0.2)
THICKNESS = 0.04
SLAB = shapely.box(0, 0, 2, 1)
SINK = shapely.Polygon([(0, 0), (2, 0), (2, 1), (0, 1)], [[(0.6, 0.2), (1.4, 0.2), (1.4, 0.7), (0.6, 0.7)]])


def moment(steel: Steel, arm: float) -> float:
    """A stand-in for the strength of a run: 1 kN times its arm."""
    return 1000.0 * arm


def level(y: float, x0: float = 0.0, x1: float = 2.0, depth: float = 0.03, face: Face = "underside") -> Run:
    return Run("", face, ((x0, y), (x1, y)), depth, WIRE)


def underside(runs: list[Run], points: list[tuple[float, float]], region: shapely.Polygon = SLAB) -> FloatArray:
    return strength_tensor(runs, np.array(points), region, THICKNESS, RULES, moment)["underside"]


# Tents a whole fraction of their half width apart add up to the same everywhere: strength over spacing, as by hand.
@pytest.mark.parametrize("parts", [1, 2, 3])
def test_evenly_spaced_runs_give_strength_over_spacing(parts: int) -> None:
    spacing = RULES.most / parts
    runs = [level(y) for y in np.arange(spacing / 2, 1, spacing)]
    found = underside(runs, [(1.0, y) for y in np.linspace(0.13, 0.83, 23)])
    np.testing.assert_allclose(found[:, 0], 1000 * 0.03 / spacing, rtol=1e-12, atol=0)
    assert not found[:, 1:].any()


# In a rail 0.2 wide between sink and front, at u = 0.05 from both of two runs: 2 R (1 - 0.05 / 0.12) / W with W the
# tent's area to both edges, 0.1 - 0.1^2 / 0.24 each. By hand.
def test_a_rail_has_all_that_lies_in_it_and_nothing_from_beyond_the_opening() -> None:
    inside = [level(0.05), level(0.15)]
    beyond = [level(0.75), level(0.8)]
    found = underside(inside + beyond, [(1.0, 0.1)], SINK)
    by_hand = 2 * 30.0 * (1 - 0.05 / 0.12) / (2 * (0.1 - 0.1**2 / 0.24))
    np.testing.assert_allclose(found[0, 0], by_hand, rtol=1e-12)


def test_strength_grows_over_the_anchorage_from_either_end() -> None:
    found = underside([level(0.5, 0.5, 1.5)], [(x, 0.5) for x in (0.49, 0.51, 0.55, 0.6, 1.0, 1.47, 1.6)])[:, 0]
    full = 30.0 / 0.12
    np.testing.assert_allclose(found, full * np.array([0, 0.1, 0.5, 1, 1, 0.3, 0]), rtol=1e-9, atol=1e-9)


def test_a_run_serves_the_far_face_by_its_short_arm() -> None:
    found = strength_tensor([level(0.5)], np.array([[1.0, 0.5]]), SLAB, THICKNESS, RULES, moment)
    np.testing.assert_allclose(found["show"], found["underside"] / 3, rtol=1e-12)
    assert found["show"][0, 0] > 0
    assert [arm(0.03, THICKNESS, face) for face in FACES] == pytest.approx([0.01, 0.03])


def test_a_point_on_an_edge_is_read_just_inside() -> None:
    on, near = underside([level(0.03)], [(1.0, 0.0), (1.0, 1e-5)])
    np.testing.assert_allclose(on, near, rtol=1e-3)
    assert on[0] > 0


@pytest.mark.parametrize("turn", [0.3, 1.1, 2.6])
def test_a_turned_slab_has_the_turned_strength(turn: float) -> None:
    rng = np.random.default_rng(4)
    points = rng.uniform((0, 0), (2, 1), (200, 2))
    points = points[shapely.contains_xy(SINK, points)]
    runs = _random_runs(rng, 12)
    c, s = np.cos(turn), np.sin(turn)
    rotation = np.array([[c, s], [-s, c]])
    turned_runs = [
        Run("", run.face, tuple(map(tuple, np.array(run.points) @ rotation)), run.depth, run.steel) for run in runs
    ]
    turned_slab = shapely.transform(SINK, lambda xy: xy @ rotation)
    angles = np.linspace(0, np.pi, 7)
    before = strength_tensor(runs, points, SINK, THICKNESS, RULES, moment)
    after = strength_tensor(turned_runs, points @ rotation, turned_slab, THICKNESS, RULES, moment)
    for face in before:
        np.testing.assert_allclose(
            in_directions(after[face], angles + turn), in_directions(before[face], angles), rtol=1e-7, atol=1e-6
        )


# The same definition in other hands' code: two roads to one number.
@pytest.mark.parametrize("seed", range(5))
def test_the_independent_check_finds_the_same(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform((0, 0), (2, 1), (500, 2))
    points = points[shapely.contains_xy(SINK, points)]
    runs = _random_runs(rng, 25)
    angles = np.linspace(0, np.pi, 19)
    pulls = {face: np.array([moment(WIRE, arm(run.depth, THICKNESS, face)) for run in runs]) for face in FACES}
    theirs = strength_at(points, angles, runs, SINK, RULES, pulls)
    ours = strength_tensor(runs, points, SINK, THICKNESS, RULES, moment)
    for face in theirs:
        np.testing.assert_allclose(in_directions(ours[face], angles), theirs[face], rtol=1e-9, atol=1e-9)
        assert theirs[face].max() > 0


def test_the_load_factor_is_that_of_the_worst_place_and_direction() -> None:
    points, angles = np.array([[1.0, 0.4], [1.0, 0.5]]), np.array([0.0, np.pi / 4])
    needed = np.array([[20.0, 0.0], [100.0, 80.0]])
    both: dict[Face, FloatArray] = {"show": np.zeros((2, 2)), "underside": needed}
    which = np.array([[0, 0], [0, 1]])
    demand = Demand(points, angles, both, _both(which), ("turn", "use"))
    found = carried_by([level(0.5)], demand, SLAB, THICKNESS, RULES, moment)
    strength = 30 / 0.12
    np.testing.assert_allclose(found.use["underside"], [20 / strength * 6, 80 / (strength / 2)], rtol=1e-9)
    assert found.factor == pytest.approx(strength / 2 / 80)
    assert (found.at, found.face, found.angle, found.stage) == ((1.0, 0.5), "underside", np.pi / 4, "use")
    assert not found.use["show"].any()


def test_what_nothing_carries_and_what_nothing_is_owed() -> None:
    angles = np.zeros(1)
    owed: dict[Face, FloatArray] = {"show": np.zeros((1, 1)), "underside": np.ones((1, 1))}
    which = _both(np.zeros((1, 1), dtype=np.int64))
    bare = carried_by([], Demand(np.array([[1.0, 0.5]]), angles, owed, which, ("use",)), SLAB, 0.04, RULES, moment)
    assert (bare.factor, bare.use["underside"][0], bare.stage) == (0.0, np.inf, "use")
    free = Demand(np.array([[1.0, 0.5]]), angles, _both(np.zeros((1, 1))), which, ("use",))
    assert carried_by([], free, SLAB, 0.04, RULES, moment).factor == np.inf


def _both(value: npt.NDArray[Scalar]) -> dict[Face, npt.NDArray[Scalar]]:
    return {"show": value, "underside": value}


def _random_runs(rng: np.random.Generator, count: int) -> list[Run]:
    runs: list[Run] = []
    while len(runs) < count:
        middle, angle, half = rng.uniform((0, 0), (2, 1)), rng.uniform(0, np.pi), rng.uniform(0.1, 0.5)
        step = half * np.array([np.cos(angle), np.sin(angle)])
        line = shapely.LineString([middle - step, middle + step])
        if SINK.contains(line):
            (x0, y0), (x1, y1) = middle - step, middle + step
            points = ((float(x0), float(y0)), (float(x1), float(y1)))
            runs.append(Run("", "show", points, float(rng.uniform(0.005, 0.035)), WIRE))
    return runs


# Where the demand is small the tent would let runs lie up to twice the widest spacing apart: this does not.
def test_passing_near_means_within_half_the_widest_spacing_and_no_opening_between() -> None:
    bars = Bars(0.0, np.array([0.15, 0.75]), np.array([0.0, 0.5]), np.array([2.0, 1.5]))
    points = np.array([[1.0, 0.09], [1.0, 0.2099], [1.0, 0.08], [1.0, 0.72], [0.4, 0.72], [1.0, 0.65]])
    found = beside(ground_of(shapely.box(0, 0, 2, 1), points), bars, RULES).toarray()
    np.testing.assert_array_equal(found, [[1, 0], [1, 0], [0, 0], [0, 1], [0, 0], [0, 0]])
    behind = beside(
        ground_of(SINK, np.array([[1.0, 0.19]])), Bars(0.0, np.array([0.21]), *np.array([[0.0], [2.0]])), RULES
    )
    assert behind.nnz == 0
