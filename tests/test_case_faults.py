"""Every fault of a case names its place, says what it is and how to put it right; several are reported together."""

from __future__ import annotations

import copy
import pickle
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from api.case import load_case, read_case
from api.errors import CaseError, Problem

Path_ = tuple[str | int, ...]
MISSING = object()


@pytest.fixture(scope="module")
def island(project: Path) -> dict[str, Any]:
    """The L-shaped island as parsed TOML."""
    return tomllib.loads((project / "cases" / "l-island-with-sink.toml").read_text(encoding="utf-8"))


def changed(case: dict[str, Any], path: Path_, value: object) -> dict[str, Any]:
    """A copy of the case with one value replaced, or taken out if it is MISSING."""
    case = copy.deepcopy(case)
    table: Any = case
    for step in path[:-1]:
        table = table[step]
    if value is MISSING:
        del table[path[-1]]
    else:
        table[path[-1]] = value
    return case


def faults(case: object) -> tuple[Problem, ...]:
    """The problems of a case that has some."""
    with pytest.raises(CaseError) as caught:
        read_case(case)  # type: ignore[arg-type]  # hostile on purpose
    for problem in caught.value.problems:
        assert problem.what
        assert problem.fix
    return caught.value.problems


SUPPORT = ("stage", 2, "support", 0)

GRAMMAR: list[tuple[Path_, object, str, str, str]] = [
    (("case",), MISSING, "case", "is missing", "case = 1"),
    (("case",), 2, "case", "later version", "case = 1"),
    (("case",), True, "case", "no version", "case = 1"),
    (("case",), "1", "case", "no version", "case = 1"),
    (("units",), MISSING, "units", "is missing", '"us"'),
    (("units",), "metric", "units", "no system of units", '"si"'),
    (("title",), MISSING, "title", "is missing", "title = "),
    (("title",), "", "title", "empty", "one line"),
    (("title",), "a\x1bb", "title", "cannot be printed", "one line"),
    (("title",), "\ud800", "title", "cannot be printed", "one line"),
    (("title",), 7, "title", "must be text", "one line"),
    (("slab",), MISSING, "slab", "is missing", "thickness and outline"),
    (("slab",), [1], "slab", "must be a table", "{ key = value"),
    (("slab", "thicknes"), 1, "slab.thicknes", 'unknown key "thicknes"', 'did you mean "thickness"'),
    (("steel",), {"cove": {}}, "steel.cove", 'unknown key "cove"', 'did you mean "cover"'),
    (("stage", 0, "posture"), "standing", "stage[0].posture", "not understood", '"on edge"'),
    (("stage", 0, "posture"), "leaning", "stage[0].angle", '"angle" is missing', "degrees from upright"),
    (("stage", 0, "angle"), 10, "stage[0].angle", "goes with a leaning piece", "leave angle out"),
    (("stage", 0, "angle"), 90, "stage[0].angle", "out of range", "89.9 degree"),
    (("stage", 0, "angle"), 0, "stage[0].angle", "more than 0", "0.1 degree"),
    (("stage", 0, "down"), [[0, 0], [96, 0]], "stage[0].down", "a flat piece has no lower side", "leave down out"),
    (("stage", 0, "down"), [[0, 0]], "stage[0].down", "an entry is missing", "all of them"),
    (("stage", 0, "across"), 0.2, "stage[0].across", "this stage is flat", "multiplier does it"),
    (("stage", 0, "form_pull"), "21 lbf/ft", "stage[0].form_pull", "not a pressure", "psi"),
    (("stage", 0, "lasting"), 1, "stage[0].lasting", "true or false", "without quotes"),
    (("stage", 0, "levels"), "yes", "stage[0].levels", "true or false", "without quotes"),
    (("stage", 0, "shims"), 0, "stage[0].shims", "more than 0", "between"),
    (("stage", 0, "slide"), [0, 0], "stage[0].slide", "slides by nothing", "leave slide out"),
    (("stage", 0, "slide"), ["9 m", 0], "stage[0].slide", "no support touches the piece", "hands"),
    (("stage", 0, "slid"), [9, 0], "stage[0].slid", "unknown key", 'did you mean "slide"'),
    ((*SUPPORT, "carries"), "edge", "stage[2].support[0].carries", "no edge to carry", "leave carries out"),
    (SUPPORT, {"kind": "hand", "at": [9, 9], "gap": 1}, "stage[2].support[0].gap", "does not go", "limit"),
    (SUPPORT, {"kind": "hand", "at": [9, 9], "limitt": 1}, "stage[2].support[0].limitt", "unknown key", '"limit"'),
    (("stage", 5, "load", 0, "roaming"), True, "stage[5].load[0]", "stands and roams", "leave out either"),
    (("stage", 5, "load", 0, "roaming"), "x", "stage[5].load[0].roaming", "no region to roam", "roaming = true"),
    (("stage", 5, "load", 0, "roaming"), [[0, 0], [9, 0]], "stage[5].load[0].roaming", "no region", "3 to 200"),
    (("stage", 5, "load", 0, "at"), MISSING, "stage[5].load[0]", "no place", "roaming = true"),
    (("stage", 0, "bow"), [{}], "stage[0].bow[0]", "no cause", "give one of"),
    (("stage", 0, "bow"), [{"drying": "show"}], "stage[0].bow[0]", "one of them is missing", "strain"),
    (("stage", 0, "bow"), [{"difference": 10}], "stage[0].bow[0]", "one of them is missing", "warmer"),
    (
        ("stage", 0, "bow"),
        [{"curvature": 0.001, "drying": "show", "strain": 3e-4}],
        "stage[0].bow[0]",
        "more than one",
        "give",
    ),
    (("stage", 0, "bow"), [{"curvatur": 1}], "stage[0].bow[0].curvatur", "unknown key", 'did you mean "curvature"'),
    (("stage", 0, "bow"), [{"curvature": "3 m"}], "stage[0].bow[0].curvature", "not a curvature", "0.01 1/m"),
    (("slab", "waterfall"), True, "slab.waterfall", "a waterfall is not computed here", "a line of support"),
    (("ribs",), [{}], "ribs", "a rib is not computed here", "flat slab alone"),
    (("stair",), {}, "stair", "building code", "engineer"),
    (("slab", "basin"), {}, "slab.basin", "is a shell", "an opening"),
    (("slab", "tolerance"), 1, "slab.tolerance", "leaves too little", "a third"),
    (("slab", "region"), [{"shape": "disc", "depth": 1}], "slab.region[0]", "cannot be read", "a shape"),
    (
        ("slab", "region"),
        [{"points": [[1, 1], [5, 1], [5, 5]]}],
        "slab.region[0].depth",
        "is missing",
        "depth",
    ),
    (
        ("slab", "region"),
        [{"points": [[1, 1], [5, 1], [5, 5]], "depht": 1, "depth": 1}],
        "slab.region[0].depht",
        "unknown key",
        'did you mean "depth"',
    ),
    (
        ("slab", "region"),
        [{"points": [[1, 1], [5, 1], [5, 5]], "depth": 3}],
        "slab.region[0].depth",
        "that is a rib",
        "leave the region out",
    ),
    (("stage",), {"name": "a"}, "stage", "must be a list", "[[ ... ]]"),
    (("stage",), [], "stage", "at least 1", "add"),
    (("stage", 0, "support"), [], "stage[0].support", "no support", "slab falls"),
    (("stage", 0, "support"), MISSING, "stage[0].support", "is missing", "slab falls"),
    (("stage", 0, "up"), "top", "stage[0].up", '"top" is not understood', "faces are physical"),
    (("stage", 0, "up"), "underneath", "stage[0].up", "not understood", 'did you mean "underside"'),
    (("stage", 0, "age"), 0, "stage[0].age", "must be more than 0", "must lie between"),
    (("stage", 0, "age"), "3 in", "stage[0].age", "is a length, not a time", "20 h"),
    (("stage", 0, "id"), "Strip!", "stage[0].id", "not an id", "a-z"),
    (("stage", 0, "id"), "life", "stage[0].id", "reserved", "another id"),
    (("stage", 1, "name"), "Life", "stage[1].id", "reserved", "another id"),
    (("stage", 1, "name"), "strip", "stage[1].name", "a second stage", "its own name"),
    (("stage", 1, "name"), "Strip", "stage[1].id", 'id "strip"', 'id = "strip-2"'),
    (("stage", 1, "name"), "石", "stage[1].id", "no id can be made", "id = "),
    (("stage", 0, "multiplier"), -1, "stage[0].multiplier", "out of range", "between 0 and"),
    (("stage", 0, "multiplier"), "1.2", "stage[0].multiplier", "plain number", "without a unit"),
    (("stage", 0, "safety"), 0, "stage[0].safety", "out of range", "between 1 and"),
    ((*SUPPORT, "kind"), "pont", "stage[2].support[0].kind", "no kind known", 'did you mean "point"'),
    ((*SUPPORT, "kind"), MISSING, "stage[2].support[0].kind", "is missing", "point, line, edge, area, hand"),
    ((*SUPPORT, "action"), MISSING, "stage[2].support[0].action", "is missing", '"rest"'),
    ((*SUPPORT, "action"), "held", "stage[2].support[0].action", "not understood", 'did you mean "hold"'),
    ((*SUPPORT, "points"), [[1, 1]], "stage[2].support[0].points", "goes with area or edge or line", "known here"),
    ((*SUPPORT, "at"), [1, 2, 3], "stage[2].support[0].at", "not a point", "[x, y]"),
    ((*SUPPORT, "at"), ["x", 2], "stage[2].support[0].at[0]", "not a quantity", "38 mm"),
    ((*SUPPORT, "gap"), "4 psi", "stage[2].support[0].gap", "is a pressure, not a length", "unit: in"),
    ((*SUPPORT, "gap"), float("nan"), "stage[2].support[0].gap", "not a finite number", "unit: in"),
    ((*SUPPORT, "gap"), "inf", "stage[2].support[0].gap", "not a quantity", "unit: in"),
    ((*SUPPORT, "gap"), False, "stage[2].support[0].gap", "not true or false", "unit: in"),
    ((*SUPPORT, "gap"), 5, "stage[2].support[0].gap", "out of range", '"5 mm"'),
    ((*SUPPORT, "stiffness"), 0, "stage[2].support[0].stiffness", "more than 0", "between"),
    (("stage", 5, "load", 0, "force"), "300 lb", "stage[5].load[0].force", "a mass, not a force", "lbf"),
    (("stage", 5, "load", 1, "force_per_length"), MISSING, "stage[5].load[1]", "no amount", "moment_per_length"),
    (("stage", 5, "load", 0), {"kind": "area"}, "stage[5].load[0]", "no amount", "pressure or force"),
    (
        ("concrete", "compressive_strength"),
        MISSING,
        "concrete",
        "strength of the concrete is missing",
        "cracking_strength",
    ),
    (("concrete", "strength_gain"), {"a": 4}, "concrete.strength_gain.beta", "is missing", "beta"),
    (("concrete", "poisson"), 0.7, "concrete.poisson", "out of range", "0.49"),
    (("slab", "outline"), 5, "slab.outline", "cannot be read", "3 or more corners"),
    (("slab", "outline"), {"shape": "hexagon"}, "slab.outline", "cannot be read", '"polygon"'),
    (("slab", "outline"), {"shape": "circle", "center": [0, 0]}, "slab.outline.diameter", "is missing", "diameter"),
    (("slab", "outline"), [[0, 0], [9, 0]], "slab.outline", "at least 3", "add"),
    (("slab", "outline"), [[k, k * k / 500] for k in range(500)], "slab.outline", "at most 400", "several cases"),
    (("slab", "outline"), {"file": "a.dxf"}, "slab.outline.file", "cannot be used here", "list of corners"),
    (("slab", "opening", 0, "shape"), "oval", "slab.opening[0].shape", "no shape known", "ellipse"),
    (("slab", "opening", 0, "radius"), 1, "slab.opening[0].radius", "unknown key", '"corner_radius"'),
    (("probe", 1, "name"), "inner corner", "probe[1].name", "a second probe", "own name"),
]


@pytest.mark.parametrize(("path", "value", "where", "what", "fix"), GRAMMAR)
def test_a_fault_of_grammar(
    island: dict[str, Any], path: Path_, value: object, where: str, what: str, fix: str
) -> None:
    problems = faults(changed(island, path, value))
    assert [problem.where for problem in problems] == [where]
    assert what in problems[0].what
    assert fix in problems[0].fix


# The unit that was meant: the same digits with another unit.
@pytest.mark.parametrize(
    ("path", "value", "meant"),
    [
        (("slab", "thickness"), 38, '"38 mm"'),
        (("slab", "thickness"), "38 m", '"38 mm"'),
        (("slab", "outline"), [["0 m", 0], ["126 m", 0], ["126 m", 25], [0, 25]], '"126 in"'),
        (("slab", "outline"), [[0, 0], [3200, 0], [3200, 650], [0, 650]], '"3200 mm"'),
        (("slab", "outline"), [[0, 0], [3.2, 0], [3.2, 0.65], [0, 0.65]], '"3.2 ft" or "3.2 m"'),
        (("concrete", "density"), 2400, '"2400 kg/m3"'),
        (("concrete", "compressive_strength"), 45, '"45 MPa"'),
        (("concrete", "compressive_strength"), "6000 Pa", '"6000 psi"'),
    ],
)
def test_a_slip_of_units_is_met_with_the_unit_that_was_meant(
    island: dict[str, Any], path: Path_, value: object, meant: str
) -> None:
    problems = faults(changed(island, path, value))
    assert len(problems) == 1
    assert f"did you mean {meant}" in problems[0].fix


def test_faults_of_every_kind_are_reported_together(island: dict[str, Any]) -> None:
    case = changed(island, ("slab", "thickness"), 38)
    case = changed(case, ("stage", 0, "support", 0, "gap"), "4 psi")
    case = changed(case, ("stage", 1, "upp"), "show")
    case = changed(case, ("stage", 2, "support", 0, "at"), [40, 40])
    case = changed(case, ("stage", 4, "support", 1, "points"), [[1, -5], [24, 36]])
    where = {problem.where for problem in faults(case)}
    assert where == {
        "slab.thickness",
        "stage[0].support[0].gap",
        "stage[1].upp",
        "stage[2].support[0].at",
        "stage[4].support[1].points",
    }


def test_a_later_version_is_refused_without_reading_the_rest(island: dict[str, Any]) -> None:
    assert [problem.where for problem in faults({**island, "case": 7, "walls": 3})] == ["case"]


def test_a_flood_of_faults_is_cut_and_counted(island: dict[str, Any]) -> None:
    problems = faults({**island, **{f"key{k}": k for k in range(300)}})
    assert len(problems) == 41
    assert problems[-1].what == "and 260 more faults"


def test_what_is_no_table_at_all_is_a_fault() -> None:
    for value in (None, 3, "case", [1, 2], {"": 1}, {}, {"case": 1}):
        assert faults(value)


def test_depth_is_bounded(island: dict[str, Any]) -> None:
    deep: Any = 1
    for _ in range(5000):
        deep = [deep]
    assert "nested" in faults({**island, "title": deep})[0].what


def test_huge_numbers_are_faults(island: dict[str, Any]) -> None:
    assert faults(changed(island, ("slab", "thickness"), 10**5000))[0].where == "slab.thickness"
    assert faults(changed(island, ("stage", 0, "multiplier"), 10**5000))[0].where == "stage[0].multiplier"
    assert faults({**island, "case": 10**5000})[0].where == "case"


def test_a_case_error_survives_a_process_boundary(island: dict[str, Any]) -> None:
    with pytest.raises(CaseError) as caught:
        read_case({**island, "units": "metric"})
    again = pickle.loads(pickle.dumps(caught.value))
    assert again.problems == caught.value.problems
    assert "no system of units" in str(again)


def no_file(path: Path) -> None:
    """Leave the place empty."""


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (no_file, "does not exist"),
        (lambda path: path.mkdir(), "cannot be read"),
        (lambda path: path.write_bytes(b"case = 1\ntitle = '\xff'"), "not UTF-8 text"),
        (lambda path: path.write_bytes(b"#" * 1_000_001), "too large"),
        (lambda path: path.write_text("case = 1\ntitle = = 2"), "line 2, column 9"),
        (lambda path: path.write_text("case = 1\ncase = 2"), "cannot be understood"),
        (lambda path: path.write_text("case = " + "9" * 5000), "number too long"),
        (lambda path: path.write_text("a = " + "[" * 5000), "nested too deep"),
        (lambda path: path.write_bytes(b"\x00\x01"), "cannot be understood"),
    ],
)
def test_a_file_that_cannot_be_read_is_a_fault(tmp_path: Path, make: Callable[[Path], object], what: str) -> None:
    path = tmp_path / "case.toml"
    make(path)
    with pytest.raises(CaseError) as caught:
        load_case(path)
    (problem,) = caught.value.problems
    assert what in problem.what
    assert "case.toml" in problem.what
    assert str(tmp_path) not in problem.what


def test_a_broken_json_file_names_its_line(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_text('{"case": 1,\n "title": }')
    with pytest.raises(CaseError, match="line 2 column 11"):
        load_case(path)
    path.write_text("[" * 100_000)
    with pytest.raises(CaseError, match="nested too deep"):
        load_case(path)
    path.write_text("[1]")
    with pytest.raises(CaseError, match="case"):
        load_case(path)


EVEN = [[10, 2.5], [60, 2.5]]


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (("hold", "0 in"), ("hold", "0.2 in"), True),
        (("hold", "0.2 in"), ("rest", "0 in"), True),
        (("clamp", "-0.1 in"), ("hold", "0 in"), True),
        (("hold", "0.1 in"), ("hold", "0.1 in"), False),
        (("hold", "0 in"), ("rest", "0.2 in"), False),
        (("rest", "0 in"), ("rest", "0.2 in"), False),
    ],
)
def test_what_holds_where_another_does_not_let_the_slab_be_is_a_fault(
    island: dict[str, Any], first: tuple[str, str], second: tuple[str, str], said: bool
) -> None:
    two = [
        {"name": f"rail {k}", "kind": "line", "points": EVEN, "action": action, "gap": gap}
        for k, (action, gap) in enumerate((first, second))
    ]
    case = changed(island, ("stage", 2, "support"), [*island["stage"][2]["support"], *two])
    if not said:
        read_case(case)
        return
    (problem,) = faults(case)
    assert problem.where.endswith(".gap")
    assert "'rail 1' and 'rail 0'" in problem.what or "'rail 0' and 'rail 1'" in problem.what


def test_supports_that_only_cross_or_give_do_not_contradict_each_other(island: dict[str, Any]) -> None:
    crossing = {"name": "across", "kind": "line", "points": [[30, 1], [30, 20]], "action": "hold", "gap": "0.2 in"}
    soft = {
        "name": "felt",
        "kind": "line",
        "points": EVEN,
        "action": "hold",
        "gap": "0.2 in",
        "stiffness": "500 lbf/in2",
    }
    rail = {"name": "rail", "kind": "line", "points": EVEN, "action": "hold"}
    case = changed(island, ("stage", 2, "support"), [rail, crossing, soft])
    read_case(case)


def test_a_shim_under_what_is_held_down_on_the_same_spots_is_a_fault(island: dict[str, Any]) -> None:
    two = [{"name": name, "kind": "line", "points": EVEN, "action": "hold"} for name in ("rail", "batten")]
    case = changed(island, ("stage", 2, "support"), two)
    case["stage"][2]["shims"] = "1/16 in"
    assert [problem.where for problem in faults(case)] == ["stage[2].shims"]
