"""Geometry of a case before anything is meshed: each fault with its place and a way out that works."""

from __future__ import annotations

import ast
import copy
import re
from typing import Any

import pytest

from api.case import read_case
from api.errors import CaseError, Problem

Data = dict[str, Any]


def slab(outline: object, *openings: Data, **stage: object) -> Data:
    """A case in metres with this outline and these openings; it rests on a small patch near (0.1, 0.1)."""
    support = {"kind": "point", "at": [0.1, 0.1], "action": "rest"}
    return {
        "case": 1,
        "title": "Test",
        "units": "si",
        "slab": {"thickness": 0.04, "outline": outline, "opening": list(openings)},
        "concrete": {"density": 2300, "compressive_strength": "40 MPa"},
        "stage": [{"name": "a", "age": 28, "up": "show", "support": [support], **stage}],
    }


def faults(case: Data) -> tuple[Problem, ...]:
    """Its problems, none if it is sound."""
    try:
        read_case(case)
    except CaseError as error:
        return error.problems
    return ()


def the_fault(case: Data) -> Problem:
    """The one problem of a case with just one."""
    problems = faults(case)
    assert len(problems) == 1, problems
    return problems[0]


def numbers(text: str) -> Any:
    """The list of numbers that a fix gives."""
    match = re.search(r"\[\[.*?\]\]|\[[^\]]*\]", text)
    assert match, text
    return ast.literal_eval(match[0])


BOX = [[0, 0], [2, 0], [2, 0.6], [0, 0.6]]
SINK = {"shape": "rectangle", "center": [1.0, 0.3], "size": [0.5, 0.3]}


def test_a_sound_slab_has_no_faults() -> None:
    assert faults(slab(BOX, SINK)) == ()
    assert faults(slab({"shape": "polygon", "points": BOX}, SINK)) == ()
    assert faults(slab([*BOX[:2], [2, 0.3], *BOX[2:]], SINK)) == ()  # a corner that is straight harms nothing


@pytest.mark.parametrize(
    ("outline", "where", "what", "fix"),
    [
        (
            [[0, 0], [2, 0], [0, 0.6], [2, 0.6]],
            "slab.outline[1]",
            "crosses or touches the side from slab.outline[3] near [1, 0.3]",
            "in order",
        ),
        ([*BOX, [0, 0]], "slab.outline[4]", "repeats the first", "closes by itself"),
        ([BOX[0], BOX[0], *BOX[1:]], "slab.outline[1]", "the same point as slab.outline[0]", "leave it out"),
        ([[0, 0], [2, 0], [2, 0.001], [2, 0.6], [0, 0.6]], "slab.outline[2]", "only 1 mm long", "2 mm or longer"),
        ([[0, 0], [1, 0], [2, 0]], "slab.outline", "on one line", "some area"),
        ([[0, 0], [2, 0], [2, 0.6], [1, 0.6], [1, -0.1], [0.9, 0.6]], "slab.outline[0]", "crosses", "in order"),
        ([[0, 0], [2, 0], [1, 0.3], [1, 0.3005], [0, 0.6]], "slab.outline[3]", "long", "leave the point out"),
        ([[0, 0], [2, 0], [2, 0.29], [3, 0.3], [2, 0.31], [2, 0.6]], "slab.outline[3]", "needle", "cut it off"),
        ([[0, 0, 0.4], [2, 0], [2, 0.6], [0, 0.6, 0.3]], "slab.outline[0]", "radius of 400 mm does not fit", "300 mm"),
        ([[0, 0], [2, 0], [2, 0.6, 0.7], [0, 0.6]], "slab.outline[2]", "radius of 700 mm does not fit", "600 mm"),
        ([[0, 0], [1, 0, 0.1], [2, 0], [2, 0.6], [0, 0.6]], "slab.outline[1]", "straight", "leave the radius out"),
        ({"shape": "polygon", "points": [*BOX, [0, 0]]}, "slab.outline.points[4]", "repeats the first", "leave it out"),
        ({"shape": "curve", "points": [[0, 0], [2, 0, -1], [2, 0.6], [0, 0.6, -1]]}, None, "", ""),
        (
            {"shape": "curve", "points": [[0, 0], [1, 0, -1], [1, 0.6], [0, 0.6, -1.5]]},
            "slab.outline",
            "cross",
            "in order",
        ),
        (
            {"shape": "rectangle", "center": [1, 0.3], "size": [2, 0.6], "corner_radius": 0.35},
            "slab.outline.corner_radius",
            "350 mm does not fit",
            "300 mm",
        ),
        ([[0, 0], [126, 0], [126, 25.5], [0, 25.5]], "slab.outline", "too large", '"126 in"'),
        ([[0, 0], [0.04, 0], [0.04, 0.06], [0, 0.06]], "slab.outline", "too small", "at least 80 mm"),
        ([[0, 0], [1, 0], [1, 0.07], [0, 0.07]], "slab.outline", "too small", "twice the thickness"),
    ],
)
def test_a_fault_of_the_outline(outline: object, where: str | None, what: str, fix: str) -> None:
    supported = slab(outline, support=[{"kind": "area", "points": [[0.9, 0.2], [1, 0.2], [1, 0.4]], "action": "rest"}])
    if where is None:
        assert faults(supported) == ()
        return
    problem = faults(supported)[0]
    assert problem.where == where
    assert what in problem.what
    assert fix in problem.fix


def test_the_largest_radius_named_fits() -> None:
    outline: list[list[float]] = [[0, 0, 0.4], [2, 0], [2.5, 0.6, 1.5], [0, 0.6, 0.2]]
    edge = {"kind": "edge", "action": "rest"}
    while problems := faults(slab(outline, support=[edge])):
        corner = int(problems[0].where[-2])
        figure, unit = problems[0].fix.split(" is ")[1].split()
        largest = float(figure) * (0.001 if unit == "mm" else 1)
        assert largest < outline[corner][2]
        one = copy.deepcopy(outline)
        one[corner][2] = largest * 1.01
        assert any(fault.where == problems[0].where for fault in faults(slab(one, support=[edge])))
        outline[corner][2] = largest * 0.999  # the figure is rounded
    assert outline[0][2] > 0.3


@pytest.mark.parametrize(
    ("center", "size", "what"),
    [
        ([1.9, 0.3], [0.5, 0.3], "crosses the outline"),
        ([2.5, 0.3], [0.5, 0.3], "lies outside the outline, 250 mm away"),
        ([1.0, 0.15], [0.5, 0.3], "touches the outline"),
        ([1.0, 0.152], [0.5, 0.3], "only 2 mm of concrete is left"),
        ([0.1, 0.5], [0.3, 0.3], "crosses the outline"),
    ],
)
def test_an_opening_too_near_to_the_edge_and_the_move_that_cures_it(
    center: list[float], size: list[float], what: str
) -> None:
    opening = {"shape": "rectangle", "center": center, "size": size}
    support = {"kind": "edge", "action": "rest"}
    problem = the_fault(slab(BOX, opening, support=[support]))
    assert problem.where == "slab.opening[0]"
    assert what in problem.what
    dx, dy = numbers(problem.fix)
    opening["center"] = [center[0] + dx, center[1] + dy]
    assert faults(slab(BOX, opening, support=[support])) == ()


def test_an_opening_as_large_as_the_slab_must_shrink() -> None:
    problem = the_fault(slab(BOX, {"shape": "rectangle", "center": [1, 0.3], "size": [2.2, 0.3]}))
    assert "crosses the outline" in problem.what
    assert "make it smaller" in problem.fix


@pytest.mark.parametrize(
    ("x", "state"),
    [(1.0, "overlaps"), (1.3, "overlaps"), (1.35, "touches"), (1.353, "almost touches"), (1.36, None)],
)
def test_openings_too_near_to_one_another(x: float, state: str | None) -> None:
    other = {"shape": "rectangle", "center": [x, 0.3], "size": [0.2, 0.2]}
    case = slab(BOX, SINK, other)
    if state is None:
        assert faults(case) == ()
        return
    problem = the_fault(case)
    assert problem.where == "slab.opening[1]"
    assert problem.what == f"the opening {state} slab.opening[0]"
    apart = float(problem.fix.split()[2]) / 1000
    other["center"] = [x + apart, 0.3]
    assert faults(slab(BOX, SINK, other)) == ()


@pytest.mark.parametrize("size", [[0, 0.2], [0.2, -0.2], [0.001, 0.2]])
def test_an_opening_without_size_is_a_fault(size: list[float]) -> None:
    assert "size" in the_fault(slab(BOX, {**SINK, "size": size})).what


@pytest.mark.parametrize(
    ("at", "what", "nearest"),
    [
        ([2.1, 0.3], "lies 100 mm off the slab", [2, 0.3]),
        ([1.0, 0.3], "lies in slab.opening[0], 150 mm from its edge", None),
        ([1.0, -0.0011], "lies 1.1 mm off the slab", [1, 0]),
        ([30, 0.3], "lies 28 m off the slab", [2, 0.3]),
    ],
)
def test_a_point_off_the_slab(at: list[float], what: str, nearest: list[float] | None) -> None:
    support = {"kind": "point", "at": at, "action": "rest"}
    load = {"kind": "point", "at": at, "force": 100}
    problems = faults(slab(BOX, SINK, support=[support], load=[load]))
    assert [problem.where for problem in problems] == ["stage[0].support[0].at", "stage[0].load[0].at"]
    assert all(what in problem.what for problem in problems)
    spot = numbers(problems[0].fix)
    if nearest is not None:
        assert spot == nearest
    assert faults(slab(BOX, SINK, support=[{**support, "at": spot}])) == ()


def test_a_point_within_a_millimetre_of_an_edge_is_taken() -> None:
    for at in ([1.0, -0.0009], [2.0, 0.6], [0.7503, 0.3]):
        assert faults(slab(BOX, SINK, support=[{"kind": "point", "at": at, "action": "rest"}])) == ()


def test_a_probe_off_the_slab() -> None:
    problem = the_fault({**slab(BOX, SINK), "probe": [{"name": "p", "at": [1.0, 0.3]}]})
    assert problem.where == "probe[0].at"
    assert "in slab.opening[0]" in problem.what


def test_a_line_over_the_edge_is_to_be_cut_there() -> None:
    line = {"kind": "line", "points": [[0.5, -0.05], [0.5, 0.65]], "action": "rest"}
    problem = the_fault(slab(BOX, SINK, support=[line]))
    assert problem.where == "stage[0].support[0].points"
    assert "100 mm of the support lies off the slab" in problem.what
    assert numbers(problem.fix) == [[0.5, 0], [0.5, 0.6]]


def test_a_line_over_an_opening_is_to_be_split() -> None:
    line = {"kind": "line", "points": [[1.0, 0], [1.0, 0.6]], "action": "rest"}
    problem = the_fault(slab(BOX, SINK, support=[line]))
    assert "300 mm of the support lies off the slab" in problem.what
    assert "split it into 2: points = [[1, 0], [1, 0.15]]; points = [[1, 0.45], [1, 0.6]]" in problem.fix


def test_a_line_far_off_and_a_line_without_length() -> None:
    far = {"kind": "line", "points": [[3, 0], [3, 0.6]], "action": "rest"}
    assert "nearest spot is [2, " in the_fault(slab(BOX, support=[far])).fix
    nothing = {"kind": "line", "points": [[1, 0.1], [1, 0.1]], "action": "rest"}
    assert the_fault(slab(BOX, support=[nothing])).what == "the same point twice"


@pytest.mark.parametrize(
    ("points", "what", "fix"),
    [
        ([[-0.1, 0.1], [0.5, 0.1], [0.5, 0.3], [-0.1, 0.3]], "reaches 100 mm over the edge", "points = [["),
        ([[0.1, 0.1], [0.5, 0.3], [0.5, 0.1], [0.1, 0.3]], "cross or touch", "in order"),
        ([[0.1, 0.1], [0.5, 0.1], [0.3, 0.1]], "cross or touch", "in order"),
        ([[3, 0.1], [3.5, 0.1], [3.5, 0.3]], "lies off the slab", "onto the slab"),
        ([[0.9, 0.2], [1.1, 0.2], [1.1, 0.4]], "lies in an opening", "onto the concrete"),
    ],
)
def test_an_area_off_the_slab(points: list[list[float]], what: str, fix: str) -> None:
    support = {"kind": "edge", "action": "rest"}
    load = {"kind": "area", "points": points, "pressure": 100}
    problem = the_fault(slab(BOX, SINK, support=[support], load=[load]))
    assert problem.where == "stage[0].load[0].points"
    assert what in problem.what
    assert fix in problem.fix


def test_an_area_may_lie_over_an_opening() -> None:
    area = {"kind": "area", "points": BOX, "action": "rest"}
    assert faults(slab(BOX, SINK, support=[area])) == ()


def test_edge_points_must_lie_on_the_edge() -> None:
    edge: Data = {"kind": "edge", "points": [[0.5, 0.02], [2, 0]], "action": "rest"}
    problem = the_fault(slab(BOX, SINK, support=[edge]))
    assert problem.where == "stage[0].support[0].points[0]"
    assert "20 mm off the outline" in problem.what
    assert numbers(problem.fix) == [0.5, 0]
    edge["points"] = [[0.5, 0.0009], [2, 0]]
    assert faults(slab(BOX, SINK, support=[edge])) == ()
    edge["points"] = [[0.5, 0], [0.5, 0]]
    assert "the same spot" in the_fault(slab(BOX, SINK, support=[edge])).what
    edge.update(points=[[0.75, 0.3], [1.25, 0.3]], opening=0)
    assert faults(slab(BOX, SINK, support=[edge])) == ()
    edge["opening"] = 1
    assert "no opening 1" in the_fault(slab(BOX, SINK, support=[edge])).what
    edge["opening"] = True
    assert "number of an opening" in the_fault(slab(BOX, SINK, support=[edge])).what


def test_an_edge_point_at_a_rounded_corner_is_told_the_nearest_spot() -> None:
    rounded = [[0, 0], [2, 0, 0.05], [2, 0.6], [0, 0.6]]
    edge = {"kind": "edge", "points": [[0, 0], [2, 0]], "action": "rest"}
    problem = the_fault(slab(rounded, SINK, support=[edge]))
    # The arc's middle lies (sqrt(2) - 1) r = 20.7 mm from the corner.
    assert "20.7 mm off the outline" in problem.what
    edge["points"] = [[0, 0], numbers(problem.fix)]
    assert faults(slab(rounded, SINK, support=[edge])) == ()


GROOVE: Data = {"points": [[0.1, 0.02], [1.9, 0.02], [1.9, 0.04], [0.1, 0.04]], "depth": 0.03}


@pytest.mark.parametrize(
    ("regions", "where", "what"),
    [
        ([GROOVE], None, ""),
        ([{**GROOVE, "points": BOX}], None, ""),
        ([{**GROOVE, "points": [[0.1, -0.1], [1, -0.1], [1, 0.1]]}], "[0].points", "the region reaches 100 mm over"),
        ([{**GROOVE, "points": [[3, 0], [4, 0], [4, 1]]}], "[0].points", "the region lies off the slab"),
        ([{**GROOVE, "points": [[0.1, 0.1], [0.2, 0.2], [0.2, 0.1], [0.1, 0.2]]}], "[0].points", "cross or touch"),
        ([GROOVE, {"shape": "circle", "center": [0.1, 0.1], "diameter": 0.3, "depth": 0.03}], "[1]", "over the edge"),
        ([GROOVE, {"shape": "circle", "center": [0.5, 0.1], "diameter": 0.15, "depth": 0.03}], "[1]", "overlaps"),
        ([GROOVE, {"shape": "circle", "center": [0.5, 0.1], "diameter": 0.11, "depth": 0.03}], None, ""),
        ([{**GROOVE, "depth": 0.041}], "[0].depth", "that is a rib"),
        (
            [{"shape": "rectangle", "center": [0.4, 0.3], "size": [0.1, 0.1], "corner_radius": 0.06, "depth": 0.03}],
            "[0].corner_radius",
            "does not fit",
        ),
    ],
)
def test_regions_of_their_own_depth(regions: list[Data], where: str | None, what: str) -> None:
    case = slab(BOX, SINK)
    case["slab"]["region"] = regions
    if where is None:
        assert faults(case) == ()
        return
    problem = the_fault(case)
    assert problem.where == f"slab.region{where}"
    assert what in problem.what


def test_a_tolerance_that_leaves_nothing_of_a_region() -> None:
    case = slab(BOX, SINK)
    case["slab"].update(region=[{**GROOVE, "depth": 0.008}], tolerance=0.005)
    assert the_fault(case).where == "slab.region[0].depth"
    case["slab"].update(region=[], tolerance=0.014)
    assert the_fault(case).where == "slab.tolerance"


def test_a_bow_off_the_slab() -> None:
    bow = {"curvature": 0.001, "points": [[3, 0], [4, 0], [4, 1]]}
    problem = the_fault(slab(BOX, SINK, bow=[bow]))
    assert problem.where == "stage[0].bow[0].points"
    assert "the bow lies off the slab" in problem.what


def test_a_hand_off_the_slab() -> None:
    problem = the_fault(slab(BOX, SINK, support=[{"kind": "hand", "at": [1, 0.3]}]))
    assert problem.where == "stage[0].support[0].at"
    assert "in slab.opening[0]" in problem.what
