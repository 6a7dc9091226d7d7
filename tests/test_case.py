"""Reading a case: SI values, defaults, the dump that reads back, the translation for the plate, the schema."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from api.case import Case, case_schema, load_case, read_case
from api.case_model import slug
from api.edges import locate
from api.shapes import loop_of
from api.translate import Piece, piece_from
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PointPlace
from meshing.shape import ellipse

PSI = 0.45359237 * 9.80665 / 0.0254**2


def simple(**changes: Any) -> dict[str, Any]:
    """A sound US case; changes replace or add keys of its first table."""
    case: dict[str, Any] = {
        "case": 1,
        "title": "Test",
        "units": "us",
        "slab": {
            "thickness": 1.5,
            "outline": [[0, 0], [60, 0], [60, 24], [0, 24]],
            "opening": [{"shape": "circle", "center": [40, 12], "diameter": "10 in", "name": "hob"}],
        },
        "concrete": {"density": 145, "compressive_strength": 6000},
        "stage": [
            {
                "name": "Set: flat!",
                "age": 3,
                "up": "show",
                "support": [
                    {"kind": "line", "points": [[2, 0], [2, 24]], "action": "rest"},
                    {"kind": "point", "at": [55, 12], "action": "rest", "name": "leg"},
                ],
                "load": [{"kind": "point", "at": [20, 12], "force": 300}],
            }
        ],
        "probe": [{"name": "middle", "at": [30, 12]}],
    }
    return {**copy.deepcopy(case), **changes}


def with_stage(**changes: Any) -> dict[str, Any]:
    """The simple case with keys of its stage replaced or added."""
    case = simple()
    case["stage"][0].update(changes)
    return case


def piece_with(**changes: Any) -> Piece:
    """The piece of the simple case with keys of its stage replaced or added."""
    return piece_from(read_case(with_stage(**changes)))


def test_numbers_become_si() -> None:
    case = read_case(simple())
    assert case.slab.thickness == 0.0381
    assert case.slab.opening[0].name == "hob"
    assert case.concrete.density == pytest.approx(2322.677, rel=1e-6)
    assert case.concrete.compressive_strength == pytest.approx(6000 * PSI, rel=1e-9)
    assert case.stage[0].age == 3 * 86400.0
    assert case.units == "us"


def test_defaults_are_filled_in() -> None:
    stage = read_case(simple()).stage[0]
    assert stage.id == "set-flat"
    assert (stage.multiplier, stage.safety, stage.posture) == (1.0, 1.5, "flat")
    assert [support.name for support in stage.support] == ["support 1", "leg"]
    assert stage.load[0].name == "load 1"
    assert stage.support[0].kind == "line"
    assert stage.support[0].gap == 0.0
    assert read_case(simple()).concrete.poisson == 0.2


def test_the_dump_is_json_in_si_and_reads_as_the_same_case() -> None:
    case = read_case(simple())
    dump = json.loads(json.dumps(case.si(), allow_nan=False))
    assert dump["units"] == "si"
    assert dump["stage"][0]["age"] == 3.0
    again = read_case(dump)
    assert again.si() == case.si()
    assert again.stage == case.stage


def test_every_case_of_the_project_dumps_and_reads_back(project: Path) -> None:
    for path in sorted((project / "cases").glob("*.toml")):
        case = load_case(path)
        assert read_case(case.si()).si() == case.si(), path.name


def test_json_files_are_read_too(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_text(json.dumps(simple()), encoding="utf-8")
    assert load_case(path) == read_case(simple())


@pytest.mark.parametrize(
    ("name", "made"),
    [("Carry, flat (2)", "carry-flat-2"), ("Küche", "kuche"), ("a" * 60, "a" * 40), ("--x--", "x"), ("石", "")],
)
def test_slug(name: str, made: str) -> None:
    assert slug(name) == made


def test_a_false_roaming_and_a_flat_posture_say_nothing_new() -> None:
    case = with_stage(posture="flat")
    case["stage"][0]["load"][0]["roaming"] = False
    assert read_case(case).si() == read_case(simple()).si()


def test_both_senses_of_rotation_give_a_counter_clockwise_loop() -> None:
    forth = [(0.0, 0.0, 0.0), (2.0, 0.0, 0.1), (2.0, 1.0, 0.0), (0.0, 1.0, 0.0)]
    for corners in (tuple(forth), tuple(reversed(forth))):
        points = loop_of(corners).polyline(1e-5)
        x, y = points.T
        assert 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) > 0


def test_a_curve_of_sides_and_arcs_keeps_its_arcs_true() -> None:
    # A stadium: rectangle 2 x 1 with half circles at its ends; area 2 + pi / 4, length 4 + pi, by hand.
    points = [[0, 0], [2, 0, 1], [2, 1], [0, 1, 1]]
    for order in (points, [[0, 1], [2, 1, -1], [2, 0], [0, 0, -1]]):
        outline = {"shape": "curve", "points": order}
        data = {**simple(), "units": "si", "probe": [], "slab": {"thickness": 0.04, "outline": outline}}
        data["stage"][0]["support"] = [{"kind": "point", "at": [1, 0.5], "action": "rest"}]
        data["stage"][0]["load"] = []
        data["concrete"] = {"density": 2300, "compressive_strength": "40 MPa"}
        case = read_case(data)
        piece = piece_from(case)
        assert piece.shape.outline.length == pytest.approx(4 + math.pi, rel=1e-9)
        assert piece.shape.region().area == pytest.approx(2 + math.pi / 4, rel=1e-4)
        assert read_case(case.si()).si() == case.si()


def test_strength_at_the_age_of_the_stage() -> None:
    piece = piece_from(read_case(simple()))
    # Practice: 6000 psi, day 3, Type I: cracking 393 psi, allowed 262.
    assert piece.stages[0].cracking / PSI == pytest.approx(393, abs=0.6)
    assert piece.stages[0].allowed / PSI == pytest.approx(262, abs=0.6)
    assert "ACI 318-19" in piece.strength_sources[0]


def test_measured_strength_comes_before_every_formula() -> None:
    piece = piece_with(cracking_strength="500 psi", modulus="3000 ksi", safety=2)
    assert piece.stages[0].cracking == pytest.approx(500 * PSI, rel=1e-9)
    assert piece.stages[0].allowed == pytest.approx(250 * PSI, rel=1e-9)
    assert piece.stages[0].modulus == pytest.approx(3e6 * PSI, rel=1e-9)
    assert "measured" in piece.strength_sources[0]


def test_a_28_day_cracking_strength_grows_with_age() -> None:
    case = simple(concrete={"density": 145, "modulus": "4000 ksi", "cracking_strength": "700 psi"})
    stage = piece_from(read_case(case)).stages[0]
    # sqrt(3 / (4 + 0.85 x 3)) = 0.677, ACI 209R-92 Type I moist
    assert stage.cracking / PSI == pytest.approx(700 * 0.677, rel=1e-3)
    assert stage.modulus / PSI == pytest.approx(4e6 * 0.677, rel=1e-3)


def test_strength_gain_of_the_case_is_used() -> None:
    gain = {"a": "0.7 day", "beta": 0.98}
    case = simple(concrete={"density": 145, "compressive_strength": 6000, "strength_gain": gain})
    piece = piece_from(read_case(case))
    assert piece.stages[0].cracking / PSI == pytest.approx(581 * math.sqrt(0.824), rel=1e-3)
    assert not any(note.where == "concrete.strength_gain" for note in piece.assumed)


def test_places_of_supports_and_loads() -> None:
    supports = [
        {"kind": "point", "at": [50, 20], "size": 4, "action": "rest", "stiffness": "2000 lbf/in"},
        {"kind": "line", "points": [[2, 0], [2, 12], [4, 24]], "action": "hold", "gap": "-1/16 in"},
        {"kind": "edge", "points": [[60, 0], [0, 24]], "action": "rest"},
        {"kind": "edge", "opening": 0, "action": "clamp"},
        {"kind": "area", "points": [[5, 5], [15, 5], [10, 15]], "action": "rest", "stiffness": "20 lbf/in3"},
    ]
    stage = piece_with(support=supports).stages[0]
    point, line, edge, rim, area = stage.supports
    assert point.place == PointPlace((1.27, 0.508), 0.1016)
    assert point.stiffness == pytest.approx(2000 * 175.126835, rel=1e-8)
    assert line.place == LinePlace(((0.0508, 0.0), (0.0508, 0.3048), (0.1016, 0.6096)))
    assert (line.action, line.gap, line.stiffness) == ("hold", -0.0015875, math.inf)
    assert isinstance(edge.place, EdgePlace)
    assert edge.place.begin == pytest.approx(60 * 0.0254)
    assert edge.place.end == pytest.approx(144 * 0.0254)
    assert isinstance(rim.place, EdgePlace)
    assert (rim.place.loop, rim.place.begin) == (1, 0.0)
    assert rim.place.end == pytest.approx(math.pi * 0.254, rel=1e-9)
    assert isinstance(area.place, AreaPlace)
    assert area.stiffness == pytest.approx(20 * 271447.14116097, rel=1e-6)


def test_an_edge_stretch_runs_counter_clockwise_and_may_pass_the_start() -> None:
    # The outline starts at (0, 0) and runs counter-clockwise: from the left side's middle to the front side's middle.
    supports = [{"kind": "edge", "points": [[0, 12], [30, 0]], "action": "rest"}]
    (edge,) = piece_with(support=supports).stages[0].supports
    assert isinstance(edge.place, EdgePlace)
    assert (edge.place.end - edge.place.begin) / 0.0254 == pytest.approx(42, rel=1e-9)
    assert edge.place.begin / 0.0254 == pytest.approx(156, rel=1e-9)


def test_loads_carry_their_amounts_with_their_signs() -> None:
    loads = [
        {"kind": "point", "at": [20, 12], "force": -50, "size": 4},
        {"kind": "line", "points": [[5, 2], [30, 2]], "force_per_length": "50 lbf/ft"},
        {"kind": "edge", "force_per_length": 1, "moment_per_length": -2, "opening": 0},
        {"kind": "area", "pressure": "20 psf"},
        {"kind": "area", "points": [[5, 5], [15, 5], [15, 15], [5, 15]], "force": 100},
        {"kind": "area", "force": "200 lbf"},
    ]
    amounts = [(load.amount, load.moment) for load in piece_with(load=loads).stages[0].loads]
    concrete = 60 * 24 * 0.0254**2 - math.pi * 0.127**2
    expected = [
        (-222.411, 0),
        (729.695, 0),
        (175.127, -8.89644),
        (957.605, 0),
        (444.822 / 0.254**2, 0),
        (889.644 / concrete, 0),
    ]
    for (amount, moment), (wanted, wanted_moment) in zip(amounts, expected, strict=True):
        # rtol: the figures above have six digits; the round opening is a polygon within 0.02 mm
        assert amount == pytest.approx(wanted, rel=1e-4)
        assert moment == pytest.approx(wanted_moment, rel=1e-4)


def test_a_force_on_an_area_counts_on_the_concrete_only() -> None:
    loads = [{"kind": "area", "points": [[30, 2], [50, 2], [50, 22], [30, 22]], "force": 100}]
    piece = piece_with(load=loads)
    concrete = (20 * 20 - math.pi * 25) * 0.0254**2
    assert piece.stages[0].loads[0].amount == pytest.approx(444.822 / concrete, rel=1e-4)
    assert any("over an opening" in note.what for note in piece.warnings)


def test_a_point_a_hair_off_the_edge_is_put_on_it() -> None:
    supports = [
        {"kind": "point", "at": ["60.03 in", 12], "action": "rest"},
        {"kind": "point", "at": [0, 12], "action": "rest"},
    ]
    piece = piece_with(support=supports)
    place = piece.stages[0].supports[0].place
    assert isinstance(place, PointPlace)
    assert place.at == pytest.approx((1.524, 0.3048), rel=1e-12)


def test_what_was_left_out_is_said() -> None:
    piece = piece_from(read_case(simple()))
    said = {note.where: note.what for note in piece.assumed}
    assert "0.2" in said["concrete.poisson"]
    assert "ACI 318-19" in said["concrete.modulus"]
    assert "ACI 209R-92" in said["concrete.strength_gain"]
    assert "393 psi" in said["stage[0].cracking_strength"]
    assert "1.5" in said["stage[0].safety"]
    assert "sharp corners" in said["slab.outline"]
    assert "rigid" in said["stage[0].support[0].stiffness"]
    assert "Westergaard" in said["stage[0].load[0].size"]
    assert "Westergaard" in said["stage[0].support[1].size"]


def test_two_supports_on_one_place_with_two_gaps_are_doubted() -> None:
    line = {"kind": "line", "points": [[2, 0], [2, 24]], "action": "rest"}
    piece = piece_with(support=[line, {**line, "gap": "2 mm"}, {"kind": "point", "at": [55, 12], "action": "rest"}])
    assert [note.where for note in piece.warnings if "another gap" in note.what] == ["stage[0].support[1].gap"]


def test_a_narrow_rail_is_doubted() -> None:
    case = simple()
    case["slab"]["opening"][0]["center"] = [40, 8]
    piece = piece_from(read_case(case))
    assert any("less than three thicknesses" in note.what for note in piece.warnings)
    assert not piece_from(read_case(simple())).warnings


def test_probes_are_kept() -> None:
    piece = piece_from(read_case(simple()))
    assert [(probe.name, probe.at) for probe in piece.probes] == [("middle", (0.762, 0.3048))]


def test_locate_on_an_ellipse_agrees_with_a_fine_polygon() -> None:
    loop = ellipse((0.762, 0.3048), (1.524, 0.6096), 0.3)
    s = np.linspace(0, 1, 20001)
    curve = np.concatenate([part.point(s) for part in loop.curves])
    for at in [(1.6, 0.5), (0.2, 0.1), (0.762, 0.7), (0.7, 0.2)]:
        spot = locate(loop, at)
        away = np.hypot(*(curve - np.asarray(at)).T)
        assert spot.off == pytest.approx(float(away.min()), abs=1e-8)
        k = int(away.argmin())
        along = float(np.hypot(*np.diff(curve[: k + 1], axis=0).T).sum())
        assert spot.along == pytest.approx(along, abs=2e-4)


def test_the_schema_names_units_signs_and_bounds() -> None:
    schema = case_schema()
    text = json.dumps(schema)
    for word in ("lb/ft3", "kg/m3", "pulls the underside", "acts with gravity", "counter-clockwise", "stiffness"):
        assert word in text
    assert set(schema["required"]) == {"case", "title", "units", "slab", "concrete"}
    assert schema["additionalProperties"] is False
    assert set(schema["properties"]) >= {"case", "title", "units", "slab", "concrete", "stage", "probe"}


def test_a_case_cannot_be_changed() -> None:
    case: Case = read_case(simple())
    with pytest.raises(ValueError, match="frozen"):
        case.title = "other"


def test_a_slab_thinner_by_its_tolerance_weighs_as_before() -> None:
    case = simple()
    case["slab"]["tolerance"] = "1/16 in"
    plate = piece_from(read_case(case)).plate
    assert plate.thickness == pytest.approx(1.4375 * 0.0254)
    assert plate.weight_thickness == pytest.approx(1.5 * 0.0254)
    assert piece_from(read_case(simple())).plate.weight_thickness is None


def test_regions_with_a_depth_of_their_own() -> None:
    case = simple()
    round_one = {"shape": "circle", "center": [10, 12], "diameter": 8, "depth": 1, "name": "recess"}
    case["slab"]["region"] = [{"points": [[20, 1], [30, 1], [30, 2]], "depth": "1.25 in"}, round_one]
    read = read_case(case)
    assert read_case(read.si()).si() == read.si()
    groove, recess = piece_from(read).plate.regions
    assert groove.points == ((0.508, 0.0254), (0.762, 0.0254), (0.762, 0.0508))
    assert groove.depth == pytest.approx(1.25 * 0.0254)
    off = [abs(math.dist(point, (0.254, 0.3048)) - 4 * 0.0254) for point in recess.points]
    assert max(off) < 1e-9
    # Corners on the circle, sides within 0.1 mm of it.
    sagitta = 4 * 0.0254 * (1 - math.cos(math.pi / len(recess.points)))
    assert sagitta <= 1.01e-4


def test_bows_by_curvature_by_drying_and_by_warmth() -> None:
    # Signs by hand: + where the underside would be the longer face. 300e-6 / 38.1 mm; 10e-6 / K x 20 K / 38.1 mm.
    bows = [
        {"curvature": "0.002 1/m", "name": "told"},
        {"drying": "show", "strain": 300e-6},
        {"drying": "underside", "strain": 300e-6, "points": [[1, 1], [9, 1], [9, 9]]},
        {"warmer": "underside", "difference": 20},
        {"warmer": "show", "difference": "36 delta_degF"},
    ]
    case = with_stage(bow=bows)
    read = read_case(case)
    assert read_case(read.si()).si() == read.si()
    made = piece_from(read).stages[0].bows
    dried, warmed = 300e-6 / 0.0381, 200e-6 / 0.0381
    assert [bow.curvature for bow in made] == pytest.approx([0.002, dried, -dried, warmed, -warmed], rel=1e-9)
    assert [bow.name for bow in made] == ["told", "bow 2", "bow 3", "bow 4", "bow 5"]
    assert [bool(bow.place.points) for bow in made] == [False, False, True, False, False]
    assert any(note.where == "concrete.expansion" for note in piece_from(read).assumed)


def test_what_lasts_is_allowed_less_and_bends_more() -> None:
    plain, lasting = (piece_with(**changes) for changes in ({}, {"lasting": True, "creep": 2}))
    assert lasting.stages[0].allowed == pytest.approx(0.7 * plain.stages[0].allowed)
    assert lasting.stages[0].cracking == plain.stages[0].cracking
    assert lasting.stages[0].modulus == pytest.approx(plain.stages[0].modulus / 3)
    assert any("0.7 of the allowed" in note.what for note in lasting.assumed)


def test_form_pull_and_levels_are_handed_on() -> None:
    stage = piece_with(form_pull="21 psf", levels=True).stages[0]
    # 1 psf = 47.88 Pa
    assert stage.form_pull == pytest.approx(21 * 47.880259, rel=1e-6)
    assert stage.levels
