"""The table [steel] of a case: what it may say, every way in which it can be wrong, what is assumed, drawn layouts."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from api.case import Case, load_case, read_case
from api.errors import CaseError
from api.steel.concrete_at import concrete_at
from api.steel.known import known_steels, laid_steel
from api.steel.settings import settings_of, table_of

INCH, PSI, DAY = 0.0254, 6894.757293168361, 86400.0

BASE: dict[str, Any] = {
    "case": 1,
    "title": "Top with a sink",
    "units": "us",
    "slab": {
        "thickness": 1.5,
        "outline": [[0, 0], [60, 0], [60, 25], [0, 25]],
        "opening": [{"shape": "rectangle", "center": [30, 12], "size": [20, 14], "corner_radius": 0.75}],
    },
    "concrete": {"density": 145, "compressive_strength": 5000},
    "stage": [
        {
            "name": "in use",
            "age": 28,
            "up": "show",
            "support": [
                {"kind": "line", "action": "rest", "points": [[1, 0], [1, 25]]},
                {"kind": "line", "action": "rest", "points": [[59, 0], [59, 25]]},
            ],
        }
    ],
}


def with_steel(steel: object, **more: Any) -> dict[str, Any]:
    """The case with a table [steel]."""
    return {**copy.deepcopy(BASE), "steel": steel, **more}


def read(steel: object, **more: Any) -> Case:
    """The case read."""
    return read_case(with_steel(steel, **more))


WRONG: list[tuple[object, str, str, str]] = [
    ({"use": "9 gage wire"}, "steel.use", 'no reinforcement "9 gage wire"', 'did you mean "9 gauge wire"'),
    ({"use": "rebar"}, "steel.use", "no reinforcement", "[[steel.own]]"),
    ({"use": ""}, "steel.use", "empty", "one line"),
    ({"code": "ACI"}, "steel.code", "not understood", '"aci"'),
    ({"cover": {"show": 0}}, "steel.cover.show", "more than 0", "between"),
    ({"cover": {"top": 0.5}}, "steel.cover.top", 'unknown key "top"', "known here: show, underside, edge, opening"),
    ({"cover": {"show": 1.2}}, "steel.cover.show", "no layer of 9 gauge wire fits", "show = 0.97 in would do"),
    ({"cover": {"show": 0.9, "underside": 0.9}}, "steel.cover.show", "leave nothing", "thicker slab"),
    ({"use": "No. 3 bar", "cover": {"show": 0.9}}, "steel.cover.show", "no layer of No. 3 bar fits", "would do"),
    ({"placing": "2 lbf"}, "steel.placing", "not a length", "38 mm"),
    ({"spacing": {"least": 6}}, "steel.spacing.least", "farther apart than the most, 4.5 in", "at most 4.5 in"),
    ({"spacing": {"least": 0.2}}, "steel.spacing.least", "no concrete gets between", "0.296 in"),
    (
        {"use": "2x2 14 gauge mesh", "spacing": {"least": "10 mm"}},
        "steel.spacing.least",
        "lie on one another",
        "2.08 in",
    ),
    ({"use": "9 gauge ladder 4 in", "spacing": {"least": 3}}, "steel.spacing.least", "lie on one another", "4 in"),
    ({"directions": []}, "steel.directions", "too few entries", "add"),
    ({"directions": ["north"]}, "steel.directions[0]", "not a quantity", "degree"),
    ({"owed_above": 2}, "steel.owed_above", "out of range", "between 0 and 1"),
    ({"plan": False}, "steel.plan", "nothing is planned", "[[steel.run]]"),
    ({"plan": "yes"}, "steel.plan", "true or false", "without quotes"),
    ({"run": [{"points": [[1, 1], [9, 1]]}]}, "steel.run[0].face", '"face" is missing', "the face it lies near"),
    ({"run": [{"face": "top", "points": [[1, 1], [9, 1]]}]}, "steel.run[0].face", "not understood", "physical"),
    ({"run": [{"face": "show", "points": [[1, 1]]}]}, "steel.run[0].points", "at least 2 needed", "add"),
    (
        {"run": [{"face": "show", "points": [[1, 1], [70, 1]]}]},
        "steel.run[0].points",
        "10 in of the run lies off the slab",
        "[[1, 1], [60, 1]]",
    ),
    ({"run": [{"face": "show", "points": [[1, 1], [1, 1]]}]}, "steel.run[0].points[1]", "same point twice", "leave"),
    (
        {"run": [{"face": "show", "points": [[1, 1], [9, 1]], "depth": 1.48}]},
        "steel.run[0].depth",
        "1.48 in is not within the slab, 1.5 in deep",
        "between 0.074 in and 1.43 in",
    ),
    (
        {"run": [{"face": "show", "points": [[1, 1], [9, 1]], "steel": "No. 4 bar"}]},
        "steel.run[0].steel",
        'no reinforcement "No. 4 bar"',
        "No. 3 bar",
    ),
    ({"run": [{"face": "show", "points": [[1, 1], [9, 1]]}] * 501}, "steel.run", "at most 500", "several cases"),
    ({"own": [{"name": "x", "diameter": 0.1, "yield_strength": 70000}] * 21}, "steel.own", "at most 20", "several"),
    (
        {"own": [{"name": "x", "diameter": 0.1, "yield_strength": 70}]},
        "steel.own[0].yield_strength",
        "range",
        '"70 ksi"',
    ),
    ({"own": [{"name": "x", "diameter": 0.1}]}, "steel.own[0].yield_strength", "is missing", '"70 ksi"'),
    (
        {"own": [{"name": "x", "diameter": 0.1, "yield_strength": "70 ksi", "brittle": True}]},
        "steel.own[0]",
        "modulus, which is missing",
        "45 GPa",
    ),
    (
        {"own": [{"name": "x", "diameter": 0.1, "yield_strength": "70 ksi", "ultimate_strength": "60 ksi"}]},
        "steel.own[0]",
        "snap before it yields",
        "at least",
    ),
    (
        {"own": [{"name": "x", "diameter": 0.1, "yield_strength": "70 ksi", "wires": 2}]},
        "steel.own[0]",
        "width of their strip",
        "out to out",
    ),
    (
        {"own": [{"name": "9 gauge wire", "diameter": 0.1, "yield_strength": "70 ksi"}]},
        "steel.own[0].name",
        "table of common reinforcement",
        "another name",
    ),
    ({"layout": {"file": "a.dxf", "face": "show"}}, "steel.layout.file", "cannot be used here", "[[steel.run]]"),
    ({"layout": {"file": "a.dxf"}}, "steel.layout[0].face", "is missing", "the face it lies near"),
    (7, "steel", "must be a table", "{ key = value"),
]


@pytest.mark.parametrize(("steel", "where", "what", "fix"), WRONG)
def test_wrong_steel_is_told_with_its_place_and_remedy(steel: object, where: str, what: str, fix: str) -> None:
    with pytest.raises(CaseError) as caught:
        read(steel)
    found = [problem for problem in caught.value.problems if problem.where == where]
    assert found, caught.value.problems
    assert what in found[0].what
    assert fix in found[0].fix


def test_more_lines_than_can_be_looked_through_are_refused() -> None:
    thin = {"name": "thin", "diameter": "1 mm", "yield_strength": "500 MPa"}
    with pytest.raises(CaseError, match=r"steel.spacing.least: runs would have \d+ lines"):
        read({"own": [thin], "use": "thin", "spacing": {"least": "2.2 mm"}})


def test_steel_needs_a_compressive_strength() -> None:
    concrete = {"density": 145, "cracking_strength": 500, "modulus": "4 Mpsi"}
    with pytest.raises(CaseError, match=r"concrete.compressive_strength: \[steel\] needs it"):
        read({}, concrete=concrete)
    assert read_case({**copy.deepcopy(BASE), "concrete": concrete}).steel is None


def test_a_second_own_of_one_name_is_refused() -> None:
    own = {"name": "x", "diameter": 0.1, "yield_strength": "70 ksi"}
    with pytest.raises(CaseError, match=r'steel.own\[1\].name: a second "x"'):
        read({"own": [own, own]})


def test_false_is_no_steel_as_before() -> None:
    assert read(False).steel is None
    assert "steel" not in read(False).si()


def test_a_case_with_steel_reads_back_from_its_si_form() -> None:
    case = read(
        {
            "use": "mine",
            "cover": {"show": "1/2 in"},
            "directions": [0, "90 degree", -45],
            "own": [{"name": "mine", "diameter": 0.148, "area": "0.0172 in2", "yield_strength": "70 ksi"}],
            "run": [{"face": "show", "points": [[1, 1], [59, 1]], "depth": 0.6, "name": "front"}],
        }
    )
    assert read_case(case.si()).si() == case.si()
    assert case.si()["steel"]["own"][0]["area"] == pytest.approx(0.0172 * INCH**2, rel=1e-9)


def test_every_default_is_told_as_assumed_and_none_that_is_given() -> None:
    every = {note.where for note in settings_of(read({})).assumed}
    assert every >= {
        "steel.use",
        "steel.code",
        "steel.cover.show",
        "steel.cover.underside",
        "steel.cover.edge",
        "steel.cover.opening",
        "steel.placing",
        "steel.spacing.least",
        "steel.spacing.most",
        "steel.stock",
        "steel.aggregate",
        "steel.directions",
        "steel.owed_above",
    }
    told = {
        "use": "9 gauge wire",
        "code": "aci",
        "cover": {"show": 0.5, "underside": 0.4, "edge": 0.5, "opening": 0.5},
        "placing": 0.25,
        "spacing": {"least": 2, "most": 4},
        "stock": 96,
        "aggregate": 0.25,
        "directions": [0, 90],
        "owed_above": 0.3,
    }
    assert {note.where for note in settings_of(read(told)).assumed} == {"steel"}, "only the concrete is left"


def test_defaults_are_those_of_a_shop() -> None:
    # Common practice, no source, but for the code's cover (ACI 318-19 table 20.5.1.3.3: 5/8 in) and 3 h (7.7.2.3).
    found = settings_of(read({}))
    assert found.steel.name == "9 gauge wire"
    assert found.steel.yield_strength == pytest.approx(70_000 * PSI)
    assert (found.covers.show, found.covers.underside) == pytest.approx((INCH / 2, 3 * INCH / 8))
    assert (found.code_covers.show, found.code_covers.underside) == pytest.approx((5 * INCH / 8, 5 * INCH / 8))
    assert found.rules.most == pytest.approx(4.5 * INCH)
    assert found.rules.placing == pytest.approx(3 * INCH / 8)
    assert found.owed_above == 0.2
    assert found.code == "ACI 318-19"
    assert [math.degrees(angle) for angle in found.rules.directions] == pytest.approx([0, 45, 90, 135])


def test_covers_thicker_than_the_codes_stay() -> None:
    assert settings_of(read({"cover": {"underside": 0.7}})).code_covers.underside == pytest.approx(0.7 * INCH)


def test_directions_follow_a_turned_slab() -> None:
    c, s = math.cos(math.radians(20)), math.sin(math.radians(20))
    corners = [[x * c - y * s, x * s + y * c] for x, y in ((0, 0), (60, 0), (60, 25), (0, 25))]
    support = [{"kind": "edge", "action": "rest"}]
    stage = [{"name": "in use", "age": 28, "up": "show", "support": support}]
    case = read({}, slab={"thickness": 1.5, "outline": corners}, stage=stage)
    assert [math.degrees(angle) for angle in settings_of(case).rules.directions] == pytest.approx([20, 65, 110, 155])


def test_told_directions_count_once_whichever_way_they_point() -> None:
    found = settings_of(read({"directions": [180, 0, -90, 90, 30]})).rules.directions
    assert [math.degrees(angle) for angle in found] == pytest.approx([0, 30, 90])


def test_own_steel_fills_in_what_is_left_out() -> None:
    own = {"name": "mine", "diameter": 0.2, "yield_strength": "60 ksi", "cross_pitch": 4, "wires": 2, "width": 2}
    steel = known_steels(table_of(read({"own": [own]})))["mine"]
    assert steel.area == pytest.approx(math.pi * (0.2 * INCH) ** 2 / 4)
    assert steel.outside == steel.diameter == pytest.approx(0.2 * INCH)
    assert steel.ultimate_strength == steel.yield_strength
    assert steel.modulus == pytest.approx(29e6 * PSI)
    assert steel.weld == pytest.approx(25_000 * PSI * steel.area), "ASTM A951: 25,000 psi times the larger wire"
    # Two wires, and a crosswire of 2 in every 4 in, of steel of 7850 kg/m3.
    assert steel.mass == pytest.approx(7850 * steel.area * (2 + 0.5))


def test_stock_that_is_told_is_that_of_the_plan() -> None:
    assert laid_steel(table_of(read({"stock": "8 ft"}))).stock == pytest.approx(96 * INCH)


def test_high_side_of_untested_concrete_is_12_roots() -> None:
    concrete = concrete_at(read({}), 28 * DAY)
    assert concrete.high == pytest.approx(12 * math.sqrt(5000) * PSI, rel=1e-3)
    assert concrete.cracking == pytest.approx(7.5 * math.sqrt(5000) * PSI, rel=1e-3)
    young = concrete_at(read({}), 3 * DAY)
    # ACI 209R-92 Type I moist at 3 days: 3 / (4 + 0.85 x 3) = 0.458 of f'c.
    assert young.high == pytest.approx(12 * math.sqrt(5000 * 3 / 6.55) * PSI, rel=1e-3)


def test_high_side_of_tested_concrete_is_two_deviations_up() -> None:
    coupon = {"age": 28, "width": 2, "depth": 1.5, "span": 9, "load": 200, "count": 3, "deviation": 10}
    case = read({}, concrete={"density": 145, "compressive_strength": 5000, "coupon": [coupon]})
    mean = 1.5 * 200 * 9 / (2 * 1.5**2) * PSI
    assert concrete_at(case, 28 * DAY).high == pytest.approx(mean * (1 + 2 * 10 / 200), rel=1e-6)
    # A value told of the concrete has no scatter of its own: 15 % are taken.
    told = read({}, concrete={"density": 145, "compressive_strength": 5000, "cracking_strength": 900})
    assert concrete_at(told, 28 * DAY).high == pytest.approx(900 * 1.3 * PSI, rel=1e-3)


def test_runs_are_reckoned_in_concrete_of_28_days() -> None:
    stage = copy.deepcopy(BASE["stage"][0])
    found = settings_of(read({}, stage=[{**stage, "name": "carry", "age": 3}, stage]))
    assert found.concrete_age == 28 * DAY
    assert found.concrete.compressive == pytest.approx(5000 * PSI, rel=1e-3)


def test_given_runs_lie_in_layers_where_they_cross() -> None:
    runs = [
        {"face": "underside", "points": [[1, 2], [59, 2]], "name": "front"},
        {"face": "underside", "points": [[3, 1], [3, 24]]},
        {"face": "show", "points": [[3, 1], [3, 24]], "depth": 0.75},
    ]
    given = settings_of(read({"run": runs})).given
    assert [run.mark for run in given] == ["front", "run 2", "run 3"]
    assert [run.layer for run in given] == [0, 1, 0]
    d = 0.148
    depths = [1.5 - 3 / 8 - d / 2, 1.5 - 3 / 8 - 3 * d / 2, 0.75]
    assert [run.depth / INCH for run in given] == pytest.approx(depths, rel=1e-9)


def draw(path: Path, units: int = 1) -> None:
    """A layout in inches: two lines, a bent polyline with an arc, on one layer; a line on another."""
    document = ezdxf.new(units=units)  # type: ignore[attr-defined]  # ezdxf offers it without saying so
    space = document.modelspace()
    space.add_line((1, 2), (59, 2), dxfattribs={"layer": "low"})
    space.add_line((1, 23), (59, 23), dxfattribs={"layer": "low"})
    space.add_lwpolyline(
        [(2, 4, 0), (2, 20, -math.tan(math.pi / 8)), (4, 22, 0), (50, 22, 0)], format="xyb", dxfattribs={"layer": "low"}
    )
    space.add_line((1, 1), (50, 24), dxfattribs={"layer": "other"})
    document.saveas(path)


def written(folder: Path, layout: str) -> Path:
    """A case file beside the drawing."""
    path = folder / "case.toml"
    path.write_text(
        'case = 1\ntitle = "drawn"\nunits = "us"\n[slab]\nthickness = 1.5\noutline = [[0,0],[60,0],[60,25],[0,25]]\n'
        "[concrete]\ndensity = 145\ncompressive_strength = 5000\n"
        '[[stage]]\nname = "use"\nage = 28\nup = "show"\nsupport = [{ kind = "edge", action = "rest" }]\n'
        f"[steel]\nlayout = {layout}\n"
    )
    return path


def test_layout_is_read_from_a_layer_of_a_drawing(tmp_path: Path) -> None:
    draw(tmp_path / "lay.dxf")
    case = load_case(written(tmp_path, '{ file = "lay.dxf", layer = "low", face = "underside" }'))
    runs = table_of(case).run
    assert len(runs) == 3
    assert np.array(runs[0].points) == pytest.approx(np.array([[1, 2], [59, 2]]) * INCH, rel=1e-9)
    arc = np.array(runs[2].points[1:-1])
    assert np.hypot(*(arc - np.array([4, 20]) * INCH).T) == pytest.approx(2 * INCH, rel=1e-9), "on a true arc"
    assert len(arc) == 7
    assert "layout" not in {key for key, value in case.si()["steel"].items() if value}
    assert read_case(case.si()).si() == case.si(), "it can be sent again without the drawing"


def test_two_layouts_serve_two_faces(tmp_path: Path) -> None:
    draw(tmp_path / "lay.dxf")
    one, two = (
        f'{{ file = "lay.dxf", layer = "{name}", face = "{face}" }}'
        for name, face in (("low", "underside"), ("other", "show"))
    )
    runs = table_of(load_case(written(tmp_path, f"[{one}, {two}]"))).run
    assert [run.face for run in runs] == ["underside"] * 3 + ["show"]


@pytest.mark.parametrize(
    ("layout", "where", "what"),
    [
        ('{ file = "gone.dxf", face = "show" }', "steel.layout.file", "no such drawing"),
        ('{ file = "lay.dxf", face = "show", layer = "x" }', "steel.layout.layer", "no curve on this layer"),
        ('{ file = "lay.dxf", face = "show", unit = "mm" }', "steel.layout.unit", "says another unit"),
        ('{ file = "../lay.dxf", face = "show" }', "steel.layout.file", "beside the case"),
        ('[{ file = "lay.dxf", face = "show" }, { file = "lay.pdf", face = "show" }]', "steel.layout[1].file", "kind"),
        ('{ file = "far.dxf", face = "show" }', "steel.layout.file", "lies off the slab"),
        ('{ file = "lay.dxf", face = "show", depth = 1.49 }', "steel.layout.depth", "not within the slab"),
    ],
)
def test_wrong_layout_is_told_at_its_key(tmp_path: Path, layout: str, where: str, what: str) -> None:
    draw(tmp_path / "lay.dxf")
    draw(tmp_path / "far.dxf", units=2)
    with pytest.raises(CaseError) as caught:
        load_case(written(tmp_path, layout))
    assert caught.value.problems[0].where == where
    assert what in caught.value.problems[0].what
