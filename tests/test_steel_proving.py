"""A plan is laid again with what the check found short, until the check finds nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.check import Checked
from fem.steel.model import Carried, Demand, Plan
from fem.steel.proving import edge_strip, plan_points, prove

FloatArray = npt.NDArray[np.float64]

WITH_SINK = shapely.Polygon([(0, 0), (2, 0), (2, 0.8), (0, 0.8)], [[(0.5, 0.2), (1.2, 0.2), (1.2, 0.6), (0.5, 0.6)]])
ANGLES = np.array([0.0, 1.0])
NOTHING = Carried(np.inf, {}, None, None, None, "")
PLAN = Plan((), 0.0, 0.0, NOTHING, None, (), 0, 0.0)


def test_points_lie_on_a_grid_and_along_every_edge_half_a_thickness_in() -> None:
    points = plan_points(WITH_SINK, 0.04, 0.03)
    off = shapely.distance(shapely.points(points), WITH_SINK.boundary)
    assert np.min(off) >= edge_strip(0.04) == 0.02
    along = shapely.segmentize(shapely.boundary(shapely.buffer(WITH_SINK, -0.0201)), 0.01)
    inside = np.random.default_rng(0).uniform((0, 0), (2, 0.8), (4000, 2))
    inside = inside[shapely.contains_xy(shapely.buffer(WITH_SINK, -0.02), inside[:, 0], inside[:, 1])]
    for spots, reach in ((shapely.get_coordinates(along), 0.016), (inside, 0.03 / np.sqrt(2) + 1e-6)):
        nearest = np.hypot(*(spots[:, None] - points[None]).transpose(2, 0, 1)).min(axis=1)
        assert nearest.max() < reach
    assert len(np.unique(points, axis=0)) == len(points)


def test_a_slab_thinner_than_its_thickness_has_no_points() -> None:
    assert len(plan_points(shapely.box(0, 0, 1, 0.03), 0.04, 0.02)) == 0


def owed(points: FloatArray) -> Demand:
    needed = np.tile(points[:, :1], (1, 2))
    number = np.zeros((len(points), 2), dtype=np.int64)
    return Demand(points, ANGLES, {"show": needed, "underside": 2 * needed}, {"show": number}, ("use",))


def checked(short: list[tuple[float, float]]) -> Checked:
    factor = 0.9 if short else 1.1
    return Checked(factor, (0.0, 0.0), "show", 0.0, factor, 1.0, 10, 2, np.array(short).reshape(-1, 2))


def test_what_is_short_is_asked_for_in_the_next_round() -> None:
    laid: list[Demand] = []
    turns: list[int] = []
    answers = [checked([(0.3, 0.0), (0.4, 0.0)]), checked([(0.7, 0.0)]), checked([])]

    def lay(demand: Demand) -> Plan:
        laid.append(demand)
        return PLAN

    def check(found: Plan, turn: int) -> Checked:
        turns.append(turn)
        return answers[turn]

    found = prove(lay, owed, check, np.array([[0.1, 0.0]]))
    assert [demand.points[:, 0].tolist() for demand in laid] == [[0.1], [0.1, 0.3, 0.4], [0.1, 0.3, 0.4, 0.7]]
    # The second plan still fell short by a tenth: so much more is asked for everywhere.
    assert laid[1].needed["underside"][:, 1].tolist() == [0.2, 0.6, 0.8]
    assert laid[-1].needed["underside"][:, 1].tolist() == pytest.approx([0.2 / 0.9, 0.6 / 0.9, 0.8 / 0.9, 1.4 / 0.9])
    assert laid[-1].governs["show"].shape == (4, 2)
    assert (found.rounds, turns) == (3, [0, 1, 2])
    assert found.checked.passes
    assert found.demand.needed["underside"][:, 1].tolist() == [0.2, 0.6, 0.8, 1.4]


def test_it_ends_after_the_last_round_and_says_that_it_fails() -> None:
    found = prove(lambda demand: PLAN, owed, lambda plan, turn: checked([(0.3, 0.0)]), np.zeros((1, 2)), most=3)
    assert found.rounds == 3
    assert not found.checked.passes
    assert len(found.demand.points) == 3


def test_a_plan_with_failures_is_not_laid_again() -> None:
    failing = replace(PLAN, failures=("nothing fits",))
    found = prove(lambda demand: failing, owed, lambda plan, turn: checked([(0.3, 0.0)]), np.zeros((1, 2)))
    assert (found.rounds, len(found.demand.points)) == (1, 1)


def test_so_many_short_points_are_thinned() -> None:
    many = [(0.001 * k, 0.0) for k in range(1000)]
    found = prove(lambda demand: PLAN, owed, lambda plan, turn: checked(many), np.zeros((1, 2)), most=2)
    assert len(found.demand.points) == 1 + 200


def test_no_round_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one round"):
        prove(lambda demand: PLAN, owed, lambda plan, turn: checked([]), np.zeros((1, 2)), most=0)
