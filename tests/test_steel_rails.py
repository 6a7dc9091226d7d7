"""Runs laid whatever is owed: two in every rail, two along every overhang. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
import shapely

from fem.steel.model import Covers, Face, Rules, Run, Steel
from fem.steel.rails import LeastRuns, least_runs

WIRE = Steel("wire", "wire", 0.004, 0.004, 12.6e-6, 485e6, 550e6, 200e9)
COVERS = Covers(0.01, 0.01, 0.010, 0.014)
RULES = Rules(0.025, 0.114, (0.0, pi / 4, pi / 2, 3 * pi / 4), 0.005, 0.3, 0.3)
GALLEY = shapely.box(0, 0, 2.44, 0.65)
SINK = shapely.box(0.84, 0.076, 1.60, 0.482)
HALF = 0.002


def depth_of(face: Face, layer: int) -> float:
    depth = 0.01 + 0.004 * (layer + 0.5)
    return depth if face == "show" else 0.038 - depth


def with_holes(outline: shapely.Polygon, *holes: shapely.Polygon) -> shapely.Polygon:
    return shapely.Polygon(outline.exterior, [hole.exterior for hole in holes])


def find(
    region: shapely.Polygon,
    supports: list[shapely.Geometry] | None = None,
    laid: list[Run] | None = None,
    layers: int = 4,
    rules: Rules = RULES,
) -> LeastRuns:
    return least_runs(region, WIRE, COVERS, rules, depth_of, layers, supports or [], laid or [])


def offsets(found: LeastRuns, angle: float) -> list[float]:
    """Offsets to the left of a direction of the runs that lie in it."""
    n = np.array([-np.sin(angle), np.cos(angle)])
    out = []
    for run in found.runs:
        (x0, y0), (x1, y1) = run.points
        if abs(np.sin(np.arctan2(y1 - y0, x1 - x0) - angle)) < 1e-6:
            out.append(float(np.array(run.points).mean(axis=0) @ n))
    return sorted(out)


# By hand: rails 76 mm in front of the sink, 168 mm behind it, both narrower than its 760 mm; beside it 840 mm of slab
# against its 406 mm are no rail. In front the two runs lie at the covers of edge and sink; behind, one by the sink and
# one as far off as the widest spacing.
def test_a_sink_has_a_rail_in_front_and_one_behind() -> None:
    found = find(with_holes(GALLEY, SINK))
    assert [(strip.why, strip.opening, strip.has) for strip in found.strips] == [("rail", 0, 2), ("rail", 0, 2)]
    assert [strip.width for strip in found.strips] == pytest.approx([0.076, 0.168], rel=1e-9)
    assert found.strips[0].at[1] == pytest.approx(0.038, rel=1e-9)
    front = [0.010 + HALF, 0.076 - 0.014 - HALF]
    behind = [0.482 + 0.014 + HALF, 0.482 + 0.014 + HALF + 0.114]
    assert offsets(found, 0.0) == pytest.approx([*front, *behind], abs=3e-6)
    for run in found.runs:
        assert run.length == pytest.approx(2.44 - 2 * (0.010 + HALF), rel=1e-6)
        assert (run.face, run.layer, run.depth, run.why) == ("underside", 0, depth_of("underside", 0), "rail")
    assert len({run.mark for run in found.runs}) == 4


def test_a_narrow_rail_holds_one_run_and_a_very_narrow_one_none() -> None:
    for width, has in ((0.045, 1), (0.026, 0)):
        found = find(with_holes(GALLEY, shapely.box(0.84, width, 1.6, 0.4)))
        narrow = found.strips[0]
        assert narrow.has == has
        assert narrow.width == pytest.approx(width, rel=1e-9)
        inside = [y for y in offsets(found, 0.0) if y < width]
        assert inside == pytest.approx([(0.010 + width - 0.014) / 2][:has], abs=3e-6)


def test_a_small_hole_makes_no_rail() -> None:
    tap = shapely.Point(1.2, 0.04).buffer(0.0175)
    assert find(with_holes(GALLEY, tap)).strips == ()


# Two sinks 60 mm apart: runs in the strip between them lie crosswise, in a layer of their own; each sink tells of it.
def test_between_two_openings() -> None:
    left, right = shapely.box(0.6, 0.1, 1.2, 0.55), shapely.box(1.26, 0.1, 1.9, 0.55)
    found = find(with_holes(GALLEY, left, right))
    across = [strip for strip in found.strips if strip.angle == pytest.approx(pi / 2, rel=1e-9)]
    assert [strip.width for strip in across] == pytest.approx([0.06, 0.06], rel=1e-9)
    assert [strip.has for strip in across] == [2, 2]
    assert sorted(-x for x in offsets(found, pi / 2)) == pytest.approx([1.2 + 0.016, 1.26 - 0.016], abs=3e-6)
    assert {run.layer for run in found.runs if abs(run.points[0][0] - run.points[1][0]) < 1e-9} == {0}
    assert {run.layer for run in found.runs} == {0, 1}


def test_what_the_plan_has_laid_there_counts() -> None:
    region = with_holes(GALLEY, SINK)

    def laid(*heights: float) -> list[Run]:
        return [Run("A", "show", ((0.02, y), (2.42, y)), 0.012, WIRE) for y in heights]

    assert len(find(region, laid=laid(0.02, 0.05, 0.5, 0.6)).runs) == 0
    one = find(region, laid=laid(0.02, 0.5, 0.6))
    assert offsets(one, 0.0) == pytest.approx([0.076 - 0.016], abs=3e-6)
    assert [strip.has for strip in one.strips] == [2, 2]
    # In the middle of the rail it is nearer than the pitch to either edge: no place is left.
    beside = find(region, laid=laid(0.036, 0.5, 0.6))
    assert (len(beside.runs), beside.strips[0].has) == (0, 1)


# A bar 99 cm deep on two lines 61 cm apart: 38 cm of overhang. Two runs near the show face along its free edge.
def test_an_overhang_has_two_runs_along_its_free_edge() -> None:
    bar = shapely.box(0, 0, 2.44, 0.99)
    lines: list[shapely.Geometry] = [shapely.LineString([(0, y), (2.44, y)]) for y in (0.02, 0.61)]
    found = find(bar, lines)
    assert [(strip.why, strip.opening, strip.has) for strip in found.strips] == [("overhang", None, 2)]
    assert found.strips[0].width == pytest.approx(0.38, rel=1e-6)
    assert found.strips[0].at[1] == pytest.approx(0.99, abs=1e-5)
    assert offsets(found, 0.0) == pytest.approx([0.99 - 0.012 - 0.114, 0.99 - 0.012], abs=3e-6)
    assert {(run.face, run.layer, run.depth, run.why) for run in found.runs} == {
        ("show", 0, depth_of("show", 0), "overhang")
    }


def test_a_short_overhang_needs_none() -> None:
    lines: list[shapely.Geometry] = [shapely.LineString([(x, 0.1), (x, 0.56)]) for x in (0.1, 2.34)]
    assert find(GALLEY, lines).strips == ()


# Supports that end 0.3 m short of the left edge and of the back: both edges overhang, the corner too.
def test_an_overhang_round_a_corner() -> None:
    slab = shapely.box(0, 0, 2.0, 1.0)
    lines: list[shapely.Geometry] = [shapely.LineString([(0.3, y), (2.0, y)]) for y in (0.0, 0.7)]
    found = find(slab, lines)
    assert sorted(round(strip.angle, 6) for strip in found.strips) == [0.0, round(pi / 2, 6)]
    assert [strip.has for strip in found.strips] == [2, 2]
    assert {run.layer for run in found.runs} == {0, 1}


def test_a_round_table_has_runs_at_its_four_sides() -> None:
    table = shapely.Point(0, 0).buffer(0.6, quad_segs=16)
    found = find(table, [shapely.Point(0, 0).buffer(0.25)], rules=replace(RULES, directions=(0.0, pi / 2)))
    assert [strip.has for strip in found.strips] == [2] * 4
    assert [strip.width for strip in found.strips] == pytest.approx([0.35] * 4, abs=0.002)
    near, far = 0.6 - 0.057, 0.6 - 0.057 - 0.114
    for angle in (0.0, pi / 2):
        assert offsets(found, angle) == pytest.approx([-near, -far, far, near], abs=3e-6)
    assert min(run.length for run in found.runs) > 0.45


def test_rounded_corners_change_nothing() -> None:
    bar = shapely.box(0, 0, 2.44, 0.99).buffer(-0.03).buffer(0.03)
    lines: list[shapely.Geometry] = [shapely.LineString([(0.1, y), (2.34, y)]) for y in (0.1, 0.61)]
    found = find(with_holes(bar, shapely.box(0.8, 0.15, 1.5, 0.5).buffer(-0.02).buffer(0.02)), lines)
    assert {(strip.why, strip.has) for strip in found.strips} == {("rail", 2), ("overhang", 2)}
    assert offsets(found, 0.0)[-1] == pytest.approx(0.99 - 0.012, abs=3e-6)


# A law: the slab turned with its directions and supports gets the same runs, turned.
def test_a_turned_slab_gets_the_same_runs() -> None:
    turn = 0.3
    R = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    region = with_holes(shapely.box(0, 0, 2.44, 0.99), SINK)
    line = np.array([[0.0, 0.6], [2.44, 0.6]])
    lines = [np.array([[0.0, 0.02], [2.44, 0.02]]), line]
    turned = shapely.Polygon(
        shapely.get_coordinates(region.exterior) @ R.T, [shapely.get_coordinates(region.interiors[0]) @ R.T]
    )
    rules = replace(RULES, directions=tuple((angle + turn) % pi for angle in RULES.directions))
    before = find(region, [shapely.LineString(one) for one in lines])
    after = find(turned, [shapely.LineString(one @ R.T) for one in lines], rules=rules)
    assert len(before.runs) == 6
    moved = sorted(tuple((np.array(run.points) @ R.T).mean(axis=0).round(5).tolist()) for run in before.runs)
    assert sorted(tuple(np.array(run.points).mean(axis=0).round(5).tolist()) for run in after.runs) == moved


def test_no_more_layers_than_fit() -> None:
    left, right = shapely.box(0.6, 0.1, 1.2, 0.55), shapely.box(1.26, 0.1, 1.9, 0.55)
    found = find(with_holes(GALLEY, left, right), layers=1)
    assert len({(run.face, run.layer) for run in found.runs}) == 1
    assert {strip.has for strip in found.strips} == {0, 2}


def test_no_opening_and_no_support_asks_for_nothing() -> None:
    assert find(GALLEY) == LeastRuns((), ())
