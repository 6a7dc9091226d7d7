"""What a given layout is worth. Common practice, no source, where nothing else is said."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.capacity import carried_by
from fem.steel.judging import judge, working_legs
from fem.steel.model import Demand, Face, Judgement, Point, Rules, Run, Steel

FloatArray = npt.NDArray[np.float64]

THICK = 0.038
WIRE = Steel("wire", "wire", 0.004, 0.004, 12.6e-6, 485e6, 550e6, 200e9)
RULES = Rules(0.03, 0.114, (0.0, pi / 2), 0.005, 0.3, 0.3)
ANGLES = np.arange(12) * pi / 12
SLAB = shapely.box(0, 0, 2.4, 1.2)
SINK = shapely.box(0.8, 0.4, 1.6, 0.8)
WITH_SINK = shapely.Polygon(SLAB.exterior, [SINK.exterior])
LOW, HIGH = 0.030, 0.008


def worth(steel: Steel, at: float) -> float:
    """A simple law: pull times arm less a little, nothing below."""
    return max(steel.area * steel.yield_strength * (at - 0.002), 0.0)


def run(*points: Point, mark: str = "A", face: Face = "underside", depth: float | None = None) -> Run:
    return Run(mark, face, points, (LOW if face == "underside" else HIGH) if depth is None else depth, WIRE)


def demand_at(points: FloatArray, show: FloatArray, underside: FloatArray) -> Demand:
    """Moments (mx, my, mxy) owed on each face at every point; the second stage governs the show face."""
    c, s = np.cos(ANGLES), np.sin(ANGLES)
    kernel = np.stack([c * c, s * s, 2 * s * c])
    owed = [np.maximum(np.broadcast_to(each, (len(points), 3)) @ kernel, 0) for each in (show, underside)]
    owed = [np.where(each < 1e-9, 0.0, each) for each in owed]
    number = np.ones((len(points), len(ANGLES)), dtype=np.int64)
    faces: tuple[Face, Face] = ("show", "underside")
    return Demand(
        points, ANGLES, dict(zip(faces, owed, strict=True)), {"show": number, "underside": 0 * number}, ("use", "turn")
    )


def grid(region: shapely.Polygon, step: float = 0.05) -> FloatArray:
    x0, y0, x1, y1 = region.bounds
    points = np.stack(
        np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step)), axis=-1
    ).reshape(-1, 2)
    return points[shapely.contains_xy(region, points[:, 0], points[:, 1])]


def judged(given: list[Run], region: shapely.Polygon, demand: Demand) -> Judgement:
    return judge(given, region, THICK, demand, RULES, worth)


def strength(given: list[Run], region: shapely.Polygon, at: Point, along: Point, face: Face = "underside") -> float:
    """Strength in a direction at a place: what is carried there of one newton metre per metre."""
    t = np.asarray(along) / np.hypot(*along)
    moment = np.array([t[0] ** 2, t[1] ** 2, t[0] * t[1]])
    nothing = np.zeros(3)
    points = np.array([at])
    demand = demand_at(points, moment, nothing) if face == "show" else demand_at(points, nothing, moment)
    angle = np.arctan2(t[1], t[0]) % pi
    number = round(angle / (pi / 12)) % 12
    assert abs(np.sin(ANGLES[number] - angle)) < 1e-9
    only = np.arange(12) == number
    needed: dict[Face, FloatArray] = {key: np.where(only, value, 0.0) for key, value in demand.needed.items()}
    return judged(given, region, replace(demand, needed=needed)).carried.factor


NONE, ALONG, BOTH = np.zeros(3), np.array([100.0, 0, 0]), np.array([100.0, 60.0, 20.0])


# A layout of straight whole runs is weighed just as a plan's runs are.
def test_straight_runs_carry_what_they_do_in_a_plan() -> None:
    given = [run((0.02, y), (2.38, y), mark=f"A{k}") for k, y in enumerate(np.arange(0.05, 1.2, 0.1).tolist())]
    given += [run((x, 0.02), (x, 1.18), mark="B", face="show") for x in np.arange(0.05, 2.4, 0.1).tolist()]
    inner = shapely.box(0.3, 0.3, 2.1, 0.9)
    demand = demand_at(grid(inner), BOTH / 4, BOTH)
    found, plain = judged(given, SLAB, demand).carried, carried_by(given, demand, SLAB, THICK, RULES, worth)
    assert found.factor == pytest.approx(plain.factor, rel=1e-9)
    assert (found.at, found.face, found.stage) == (plain.at, plain.face, plain.stage)
    for face, use in plain.use.items():
        assert found.use[face] == pytest.approx(use, rel=1e-9)


def test_length_and_marks() -> None:
    given = [run((0.1, 0.1), (1.1, 0.1), (1.1, 0.6), mark="Q7")]
    found = judged(given, SLAB, demand_at(grid(SLAB), NONE, ALONG))
    assert found.length == pytest.approx(1.5, rel=1e-12)
    assert [one.mark for one in found.worth] == ["Q7"]
    assert found.worth[0].length == found.length


# The run leaves its line for an opening 0.8 m wide: two pieces are left that end at its sides.
def test_what_an_opening_cuts_is_cut() -> None:
    given = [run((0.02, 0.6), (2.38, 0.6), mark="C"), run((0.02, 0.2), (2.38, 0.2), mark="D")]
    demand = demand_at(grid(WITH_SINK), NONE, ALONG)
    found = judged(given, WITH_SINK, demand)
    assert found.cut_by_opening == ("C",)
    assert [(mark, np.round(at, 6).tolist()) for mark, at in found.cuts] == [("C", [1.2, 0.6])]
    assert found.worth[0].idle == pytest.approx(0.8 / 2.36, abs=2e-6)
    assert found.worth[0].why == "cut out by an opening"
    assert (found.worth[1].idle, found.worth[1].why) == (0, "")
    pieces = [run((0.02, 0.6), (0.8, 0.6)), run((1.6, 0.6), (2.38, 0.6)), given[1]]
    plain = carried_by(pieces, demand, WITH_SINK, THICK, RULES, worth)
    assert found.carried.use["underside"] == pytest.approx(plain.use["underside"], rel=1e-4)


def test_what_the_edge_cuts_is_cut() -> None:
    found = judged([run((0.4, 0.5), (3.4, 0.5), mark="E")], SLAB, demand_at(grid(SLAB), NONE, ALONG))
    assert found.worth[0].idle == pytest.approx(1 / 3, abs=2e-6)
    assert found.worth[0].why == "outside the slab"
    assert found.cut_by_opening == ()
    assert [(mark, np.round(at, 6).tolist()) for mark, at in found.cuts] == [("E", [2.9, 0.5])]
    assert found.notes == ("the edge cuts E: what lies outside the slab counts nothing",)


def ring(box: shapely.Polygon, off: float, rounded: float = 0.0) -> list[Point]:
    """Round a box, off outside of it (inside if negative), back to its begin."""
    shape = box.buffer(off - rounded, join_style="mitre")
    shape = shape.buffer(rounded, quad_segs=6) if rounded else shape
    return [(float(x), float(y)) for x, y in shape.exterior.coords]


# Across a sink's corner the pull runs on the diagonal. A ring bent round the sink pulls out there; two straight runs
# that cross at the corner and go on past it carry it.
@pytest.mark.parametrize("rounded", [0.0, 0.03, 0.06])
def test_a_ring_bent_round_an_opening_adds_nothing_across_its_corners(rounded: float) -> None:
    way = ring(SINK, 0.06, rounded)
    found = judged([run(*way, mark="O")], WITH_SINK, demand_at(grid(WITH_SINK), NONE, BOTH))
    assert len(found.pulls_out) == 4
    for corner in shapely.get_coordinates(SINK.exterior)[:-1]:
        assert min(np.hypot(*(corner - np.asarray(at))) for _, at in found.pulls_out) < 0.1
    assert "pulls out where it bends round an inner corner" in found.worth[0].why
    corner = (0.8 - 0.06, 0.4 - 0.06)
    assert strength([run(*way)], WITH_SINK, corner, (1, 1)) == pytest.approx(0, abs=30 if rounded else 1e-6)
    crossed = [run((0.02, 0.34), (2.38, 0.34)), run((0.74, 0.02), (0.74, 1.18))]
    assert strength(crossed, WITH_SINK, corner, (1, 1)) > 800
    # Beside the sink it does carry, once built up.
    assert strength([run(*way)], WITH_SINK, (1.2, 0.34), (1, 0)) > 700


# The same ring near the slab's edge has slab inside its bends: they hold as hooks do, at once.
def test_a_bend_at_an_outer_corner_anchors_like_a_hook() -> None:
    way = ring(SLAB, -0.03)
    found = judged([run(*way)], SLAB, demand_at(grid(SLAB), NONE, BOTH))
    assert found.pulls_out == ()
    straight = [run((0.03, 0.03), (2.37, 0.03))]
    whole = strength(straight, SLAB, (1.2, 0.03), (1, 0))
    assert strength([run(*way)], SLAB, (1.2, 0.03), (1, 0)) == pytest.approx(whole, rel=1e-9)
    assert strength([run(*way)], SLAB, (0.06, 0.03), (1, 0)) == pytest.approx(whole, rel=1e-9)
    assert strength(straight, SLAB, (0.06, 0.03), (1, 0)) == pytest.approx(whole * 0.03 / 0.3, rel=1e-9)
    # Beyond its bend a leg gives nothing.
    assert strength([run(*way)], SLAB, (0.02, 0.03), (1, 0)) == pytest.approx(0, abs=1e-9)


# ACI 318-19 25.3.1: a hook goes on for 12 diameters, 48 mm here, behind its bend.
@pytest.mark.parametrize(("tail", "share"), [(0.05, 1.0), (0.046, 0.2)])
def test_a_hook_needs_its_tail(tail: float, share: float) -> None:
    hooked = [run((0.03, 0.6 + tail), (0.03, 0.6), (2.3, 0.6))]
    whole = strength(hooked, SLAB, (1.2, 0.6), (1, 0))
    assert strength(hooked, SLAB, (0.03 + 0.06, 0.6), (1, 0)) == pytest.approx(share * whole, rel=1e-9)


L_SHAPE = shapely.Polygon([(0, 0), (2, 0), (2, 0.6), (0.6, 0.6), (0.6, 1.8), (0, 1.8)])


def test_a_run_bent_round_the_notch_of_an_l_pulls_out() -> None:
    inner = run((0.56, 1.7), (0.56, 0.56), (1.9, 0.56), mark="I")
    outer = run((0.04, 1.7), (0.04, 0.04), (1.9, 0.04), mark="U")
    found = judged([inner, outer], L_SHAPE, demand_at(grid(L_SHAPE), NONE, BOTH))
    assert [(mark, np.round(at, 9).tolist()) for mark, at in found.pulls_out] == [("I", [0.56, 0.56])]
    assert strength([inner], L_SHAPE, (0.86, 0.56), (1, 0)) == pytest.approx(
        strength([run((0.56, 0.56), (1.9, 0.56))], L_SHAPE, (0.86, 0.56), (1, 0)), rel=1e-9
    )


# Bent by 15 degrees a run goes on; its pull builds up along the way from its end.
def test_a_gentle_bend_goes_on() -> None:
    c, s = np.cos(pi / 12), np.sin(pi / 12)
    bent = run((1.1, 0.6), (1.2, 0.6), (1.2 + 1.0 * c, 0.6 + 1.0 * s))
    whole = strength([bent], SLAB, (1.2 + 0.5 * c, 0.6 + 0.5 * s), (c, s))
    assert strength([bent], SLAB, (1.2 + 0.1 * c, 0.6 + 0.1 * s), (c, s)) == pytest.approx(whole * 0.2 / 0.3, rel=1e-6)


# In the middle of the slab the arm is half the thickness to both faces; near the underside it is 30 and 8 mm.
def test_a_mid_depth_mat_gets_its_small_true_strength() -> None:
    def mat(depth: float) -> list[Run]:
        return [run((0.02, y), (2.38, y), mark=f"M{y:.2f}", depth=depth) for y in (0.3, 0.414, 0.528, 0.642, 0.756)]

    demand = demand_at(np.array([[1.2, 0.5], [1.0, 0.6]]), ALONG, ALONG)
    middle = judged(mat(0.019), SLAB, demand)
    each = WIRE.area * WIRE.yield_strength
    assert middle.carried.factor == pytest.approx(each * (0.019 - 0.002) / 0.114 / 100, rel=1e-9)
    assert judged(mat(LOW), SLAB, demand).carried.factor == pytest.approx(each * 0.006 / 0.114 / 100, rel=1e-9)
    only = judged(mat(LOW), SLAB, demand_at(demand.points, NONE, ALONG)).carried.factor
    assert only == pytest.approx(each * 0.028 / 0.114 / 100, rel=1e-9)
    assert len(middle.notes) == 1
    assert middle.notes[0].startswith("at mid-depth: M0.30, M0.41, M0.53, M0.64 and M0.76; a small arm")
    assert judged(mat(LOW), SLAB, demand).notes == ()


def test_crosswise_runs_carry_nothing_along() -> None:
    given = [run((x, 0.02), (x, 1.18), mark=f"X{k}") for k, x in enumerate(np.arange(0.1, 2.4, 0.1).tolist())]
    found = judged(given, SLAB, demand_at(grid(SLAB), NONE, ALONG))
    assert found.carried.factor == 0
    assert found.carried.angle == 0
    assert (found.carried.use["underside"] == inf).all()
    assert (found.carried.use["show"] == 0).all()
    assert {(one.idle, one.why) for one in found.worth} == {(1.0, "nothing is owed along it")}


# Owed along x on the underside in the right half only: half of a low run is idle, all of one near the show face.
def test_idle_is_where_nothing_is_owed_on_a_face_that_it_serves() -> None:
    points = grid(SLAB)
    demand = demand_at(points, NONE, ALONG)
    right = np.where(points[:, :1] > 1.2, 1.0, 0.0)
    demand = replace(demand, needed={face: right * owed for face, owed in demand.needed.items()})
    low, high = run((0.0, 0.6), (2.4, 0.6), mark="L"), run((0.0, 0.6), (2.4, 0.6), mark="H", face="show")
    found = judged([low, high], SLAB, demand)
    assert found.worth[0].idle == pytest.approx(0.5, abs=0.114 / 2.4 + 0.01)
    assert found.worth[1].idle == pytest.approx(1.0, rel=1e-9)
    assert found.worth[0].why == "nothing is owed along it"


def test_a_leg_too_short_to_anchor_does_nothing() -> None:
    given = [run((1.0, 0.5), (1.14, 0.5), mark="S")]
    demand = demand_at(grid(SLAB), NONE, ALONG)
    found = judged(given, SLAB, demand)
    assert (found.worth[0].idle, found.worth[0].why) == (1.0, "too short to anchor")
    assert found.carried.factor == 0
    assert working_legs(given, SLAB, THICK, RULES) == ()


def test_working_legs_are_straight_and_inside() -> None:
    given = [run(*ring(SLAB, -0.03), mark="P"), run((0.02, 0.6), (2.38, 0.6), mark="C")]
    legs = working_legs(given, WITH_SINK, THICK, RULES)
    assert [(leg.mark, len(leg.points)) for leg in legs] == [("P", 2)] * 4 + [("C", 2)] * 2
    for leg in legs:
        assert WITH_SINK.buffer(1e-5).covers(shapely.LineString(leg.points))


# Wherever the ring begins, and whichever way it goes round, it is worth the same.
def test_a_ring_has_no_begin() -> None:
    way = ring(SLAB, -0.03)[:-1]
    demand = demand_at(grid(SLAB, 0.02), NONE, np.array([30.0, 30.0, 0.0]))
    uses = []
    for k in range(4):
        turned = [*way[k:], *way[:k]]
        for points in (turned, turned[::-1]):
            uses.append(judged([run(*points, points[0])], SLAB, demand).carried.use["underside"])
    for use in uses[1:]:
        assert use == pytest.approx(uses[0], rel=1e-9)


def test_an_empty_layout_carries_nothing() -> None:
    found = judged([], SLAB, demand_at(grid(SLAB), NONE, ALONG))
    assert (found.carried.factor, found.length, found.worth) == (0, 0, ())
    assert judged([], SLAB, demand_at(grid(SLAB), NONE, NONE)).carried.factor == inf


def test_a_run_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="run 'Z' has no length"):
        judged([run((1, 1), (1, 1), mark="Z")], SLAB, demand_at(grid(SLAB), NONE, ALONG))


# A round ring of 24 chords, 15 degrees apart: each goes on in the next, so that all are built up alike.
def test_a_round_ring_has_no_weak_place() -> None:
    table = shapely.Point(0, 0).buffer(0.6, quad_segs=32)
    turns = (np.arange(25) - 0.5) * pi / 12
    way = run(*[(float(0.55 * np.cos(t)), float(0.55 * np.sin(t))) for t in turns])
    each = []
    for t in (np.arange(24) * pi / 12).tolist():
        middle = 0.55 * np.cos(pi / 24)
        at = float(middle * np.cos(t)), float(middle * np.sin(t))
        each.append(strength([way], table, at, (float(-np.sin(t)), float(np.cos(t)))))
    assert each == pytest.approx([each[0]] * 24, rel=1e-3)
    assert each[0] > 500
