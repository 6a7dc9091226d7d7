"""The ready-made life: each default with its source, each overridden, stages written out, faults, odd shapes."""

from __future__ import annotations

import copy
import math
from typing import Any

import numpy as np
import pytest
from shapely.geometry import MultiPoint, Polygon

from api.case import Case, read_case
from api.case_life import MOMENTS
from api.case_model import Stage
from api.drawing import drawing_of, filled
from api.errors import CaseError
from api.life import drafts_of
from api.life.defaults import DEFAULTS, FAST_STRIP, SETTING
from api.life.sides import long_side
from api.translate import piece_from

INCH = 0.0254
LBF = 0.45359237 * 9.80665
PSI = LBF / INCH**2
DAY = 86400.0

TOP = [[0, 0], [96, 0], [96, 25.5], [0, 25.5]]
L_SHAPE = [[0, 0], [96, 0], [96, 25.5], [25.5, 25.5, 1], [25.5, 72], [0, 72]]
HEXAGON = [[30 * math.cos(math.radians(a)), 30 * math.sin(math.radians(a))] for a in range(0, 360, 60)]
ROUND = {"shape": "circle", "center": [0, 0], "diameter": 48}
OVAL = {"shape": "ellipse", "center": [0, 0], "size": [80, 40]}
SINK = {"name": "Sink", "shape": "rectangle", "center": [48, 12], "size": [30, 16], "corner_radius": 0.75}
CABINETS = [
    {"at": [0, 0.5], "size": [33, 24]},
    {"at": [33, 0.5], "size": [30, 24]},
    {"at": [63, 0.5], "size": [33, 24]},
]
RING = [{"kind": "line", "points": [[9, 9], [-9, 9], [-9, -9], [9, -9], [9, 9]], "action": "rest"}]


def top(**changes: Any) -> dict[str, Any]:
    """A galley top that says no more than its shape, its concrete and its cabinets; changes replace whole tables."""
    case: dict[str, Any] = {
        "case": 1,
        "title": "Top",
        "units": "us",
        "slab": {"thickness": 1.5, "outline": TOP, "opening": [SINK]},
        "concrete": {"density": 145, "compressive_strength": 5000},
        "cabinet": CABINETS,
        "life": {},
    }
    return copy.deepcopy({**case, **changes})


def odd(outline: Any, **life: Any) -> dict[str, Any]:
    """A piece of another outline, on a small ring of rails about the origin."""
    case = top(slab={"thickness": 1.5, "outline": outline}, life={"set": {"support": RING}, **life})
    del case["cabinet"]
    return case


def stages(case: dict[str, Any]) -> dict[str, Stage]:
    """Every stage of the case as read, by its id."""
    return {stage.id: stage for stage in read_case(case).stage}


def assumed(case: dict[str, Any]) -> dict[str, str]:
    """What is told as assumed, by its place."""
    return {note.where: note.what for note in reversed(piece_from(read_case(case)).assumed)}


def faults(case: dict[str, Any]) -> dict[str, str]:
    """The faults of a case, by place."""
    with pytest.raises(CaseError) as caught:
        read_case(case)
    return {problem.where: f"{problem.what} - {problem.fix}" for problem in caught.value.problems}


# Beside each value where it is from, typed out a second time so that neither list can slip alone.
SOURCES = [
    ("strip.age", 3 * DAY, "common practice, no source"),
    ("strip.form_pull", 1000.0, "VDI/BV-BS 6205"),  # 1 kN/m2, oiled form, as a published lifting calculation quotes it
    ("strip.multiplier", 1.3, "PCI Design Handbook"),  # 6th ed. table 5.2.1, smooth mould, form oil
    ("strip.least_strength", 2000 * PSI, "PCI MNL-116"),
    ("strip.band", 0.1, "common practice, no source"),
    ("turn.multiplier", 1.5, "common practice, no source"),
    ("carry.age", 3 * DAY, "common practice, no source"),
    ("carry.multiplier", 1.5, "common practice, no source"),
    ("carry.across", 0.2, "common practice, no source"),
    ("carry.grip", 0.2, "common practice, no source"),
    ("carry.lift", 50 * LBF, "NIOSH"),  # revised lifting equation, 51 lb
    ("haul.age", 7 * DAY, "common practice, no source"),
    ("haul.multiplier", 1.5, "PCI Design Handbook"),  # table 5.2.1, travel
    ("haul.angle", 10.0, "common practice, no source"),
    ("haul.across", 0.5, "49 CFR 393.102"),
    ("set.multiplier", 1.2, "PCI Design Handbook"),  # table 5.2.1, yard handling and erection
    ("cabinet.panel", 0.625 * INCH, "common practice, no source"),
    ("cabinet.level", INCH / 16, "common practice, no source"),
    ("bracket.width", 2 * INCH, "common practice, no source"),
    ("use.foot", 300 * LBF, "ASCE 7-16"),  # table 4.3-1, stair treads
    ("use.foot_size", 4 * INCH, "common practice, no source"),
    ("use.elsewhere", 100 * LBF, "common practice, no source"),
    ("use.lip", 50 * LBF / (12 * INCH), "common practice, no source"),
    ("use.sitter", 250 * LBF, "common practice, no source"),
    ("use.strain", 200e-6, "ACI 209R-92"),
    ("use.creep", 2.0, "ACI 209R-92"),
    ("slab.tolerance", INCH / 16, "common practice, no source"),
]


@pytest.mark.parametrize(("key", "value", "source"), SOURCES)
def test_default_has_its_value_and_says_where_it_is_from(key: str, value: float, source: str) -> None:
    row = DEFAULTS[key]
    assert row.value == pytest.approx(value, rel=1e-12, abs=0)
    assert source in row.why


def test_every_default_gives_a_reason() -> None:
    assert all(row.why and key == row.key for key, row in DEFAULTS.items())


def test_the_smallest_case_gets_its_whole_life() -> None:
    names = [stage.name for stage in read_case(top()).stage]
    assert names == [
        "strip",
        "strip, peeling",
        "turn, rising",
        "turn, letting down",
        "carry",
        "haul",
        "set, sliding in",
        "set",
        "use, rare",
        "use, lasting",
    ]


def test_strip_lies_on_its_long_side_and_is_pulled_by_the_form() -> None:
    strip = stages(top())["strip"]
    assert (strip.up, strip.age, strip.multiplier, strip.form_pull) == ("underside", 3 * DAY, 1.3, 1000.0)
    bed, *hands = strip.support
    assert bed.kind == "edge"
    assert bed.points == pytest.approx(np.array([[0, 0], [96 * INCH, 0]]))
    assert [hand.kind for hand in hands] == ["hand"] * 5
    assert all(hand.kind == "hand" and hand.at[1] == pytest.approx(23.5 * INCH) for hand in hands)


def test_peeling_is_a_line_that_travels_from_the_lifted_side_to_the_bed() -> None:
    (load,) = stages(top())["strip-peeling"].load
    assert load.kind == "line"
    assert load.to is not None
    # 1 kN/m2 over a band of 100 mm.
    assert load.force_per_length == pytest.approx(100.0)
    assert [point[1] for point in load.points] == pytest.approx([25.5 * INCH - 1e-3] * 2)
    assert [point[1] for point in load.to] == pytest.approx([1e-3] * 2)


def test_turning_carrying_and_hauling_stand_on_the_long_side() -> None:
    found = stages(top())
    postures = {name: found[name].posture for name in ("turn-rising", "turn-letting-down", "carry", "haul")}
    assert list(postures.values()) == ["turning", "turning", "on edge", "leaning"]
    assert [found[name].up for name in postures] == ["underside", "show", "show", "show"]
    assert all(found[name].down is not None for name in postures)
    assert (found["carry"].across, found["haul"].across, found["haul"].angle) == (0.2, 0.5, 10.0)


def test_carrying_hands_are_a_fifth_in_two_below_and_two_above() -> None:
    hands = [hand for hand in stages(top())["carry"].support if hand.kind == "hand"]
    assert [hand.at[0] / INCH for hand in hands] == pytest.approx([19.2, 19.2, 76.8, 76.8])
    assert [hand.at[1] / INCH for hand in hands] == pytest.approx([0, 23.5, 0, 23.5])
    assert [hand.carries for hand in hands] == ["both", "face", "both", "face"]


def test_carried_flat_only_if_asked_by_as_many_as_the_weight_needs() -> None:
    assert "carry-flat" not in stages(top())
    case = top(life={"carry": {"flat": True}})
    hands = stages(case)["carry-flat"].support
    # (96 x 25.5 - 30 x 16 + corners) x 1.5 in3 at 145 lb/ft3 is 248 lb: at 50 lb each five, so six, two by two.
    assert len(hands) == 6
    assert "248 lbf" in assumed(case)["life.carry.people"]


def test_hauled_flat_on_three_bearers_each_of_which_may_go() -> None:
    bearers = stages(top(life={"haul": {"flat": True}}))["haul"].support
    whole = [bearer.name for bearer in bearers]
    assert whole == ["bearer 1", "bearer 2, part 1", "bearer 2, part 2", "bearer 3"]
    assert all(bearer.kind == "line" and bearer.may_go for bearer in bearers)


def test_set_slides_in_by_half_its_length_and_is_shimmed() -> None:
    found = stages(top())
    sliding, down = found["set-sliding-in"], found["set"]
    assert sliding.slide == pytest.approx((48 * INCH, 0))
    assert [hand.kind for hand in sliding.support].count("hand") == 2
    assert down.shims == pytest.approx(INCH / 16)
    assert down.levels
    assert all(support.kind == "line" for support in down.support)
    assert "set-sliding-in" not in stages(top(life={"set": {"slide": False}}))


def test_without_zones_a_foot_keeps_off_the_rails_of_the_sink() -> None:
    case = top()
    loads = stages(case)["use-rare"].load
    feet = [load for load in loads if load.kind == "point" and load.force > 400]
    assert sum(Polygon(load.roaming).area for load in feet if load.roaming) < (96 * 25.5 - 42 * 16) * INCH**2
    assert all(load.kind == "point" and load.roaming is not None for load in loads)
    assert loads[-1].kind == "point"
    assert loads[-1].roaming == ()
    assert "at least 6 in from an opening" in assumed(case)["zone"]


def test_zones_say_where_people_stand_and_where_nobody_is() -> None:
    zones = [
        {"kind": "stand", "points": [[1, 1], [20, 1], [20, 20], [1, 20]], "name": "by the wall"},
        {"kind": "nobody", "points": [[80, 5], [90, 5], [90, 20], [80, 20]]},
    ]
    loads = stages(top(zone=zones))["use-rare"].load
    foot, *others = [load for load in loads if load.kind == "point"]
    assert foot.name == "somebody stands in by the wall"
    assert foot.roaming is not None
    assert Polygon(foot.roaming).area == pytest.approx(19 * 19 * INCH**2)
    # A hole in a region is cut open: two parts that leave the zone out, together all the rest.
    parts = [Polygon(load.roaming) for load in others if load.roaming]
    assert len(parts) == 2
    assert sum(part.area for part in parts) == pytest.approx((96 * 25.5 - 10 * 15) * INCH**2, rel=1e-5)


def test_seats_load_the_lip_inside_the_sit_zone() -> None:
    zone = {"kind": "sit", "points": [[70, 20], [100, 20], [100, 30], [70, 30]]}
    lean, sitter = stages(top(zone=[zone]))["use-seats"].load
    assert lean.kind == "edge"
    assert lean.points is not None
    # The outline runs counter-clockwise: up the right end from y = 20 in, then back along the lip to x = 70 in.
    assert lean.points[0] == pytest.approx((96 * INCH, 20 * INCH), abs=2e-6)
    assert lean.points[1] == pytest.approx((70 * INCH, 25.5 * INCH), abs=2e-6)
    assert lean.force_per_length == pytest.approx(50 * LBF / (12 * INCH))
    assert sitter.kind == "point"
    assert sitter.force == pytest.approx(250 * LBF)
    assert sitter.roaming
    # Only the strip along the lip, a seat deep.
    assert Polygon(sitter.roaming).area < (30 + 10) * 4 * INCH**2
    assert "use-seats" not in stages(top())


def test_a_bowl_full_of_water_hangs_on_the_rim_of_a_sink() -> None:
    lasting = stages(top())["use-lasting"]
    (bowl,) = lasting.load
    assert bowl.kind == "edge"
    assert bowl.force_per_length is not None
    assert bowl.opening == 0
    case = read_case(top())
    loop = drawing_of(case).shape.openings[0]
    # 30 x 16 in less the corners, 200 mm deep, 1000 kg/m3.
    assert bowl.force_per_length * loop.length == pytest.approx(filled(loop).area * 0.2 * 1000 * 9.80665, rel=1e-6)
    assert lasting.lasting
    assert lasting.creep == 2.0
    assert (lasting.bow[0].drying, lasting.bow[0].strain) == ("show", 200e-6)


def test_only_openings_that_are_called_so_hold_water() -> None:
    hob = {**SINK, "name": "hob"}
    assert stages(top(slab={"thickness": 1.5, "outline": TOP, "opening": [hob]}))["use-lasting"].load == ()


OVERRIDES = [
    ("strip", {"age": "20 h"}, "strip", lambda stage: stage.age == 20 * 3600),
    ("strip", {"multiplier": 1.4}, "strip", lambda stage: stage.multiplier == 1.4),
    ("strip", {"safety": 2}, "strip", lambda stage: stage.safety == 2),
    ("strip", {"up": "show"}, "turn", lambda stage: stage.up == "show"),
    ("strip", {"form_pull": "2 kPa"}, "strip", lambda stage: stage.form_pull == 2000),
    ("strip", {"band": "50 mm"}, "strip-peeling", lambda stage: stage.load[0].force_per_length == 50),
    ("strip", {"bed": [[96, 25.5], [0, 25.5]]}, "strip", lambda stage: stage.support[1].at[1] < 3 * INCH),
    ("strip", {"hands": 7}, "strip", lambda stage: len(stage.support) == 8),
    ("turn", {"age": 4}, "turn-rising", lambda stage: stage.age == 4 * DAY),
    ("turn", {"foam": "100 lbf/in2"}, "turn-rising", lambda stage: stage.support[0].stiffness < 7e5),
    ("turn", {"hands": 3}, "turn-rising", lambda stage: len(stage.support) == 4),
    ("turn", {"down": [[0, 25.5], [96, 25.5]]}, "turn-rising", lambda stage: stage.down[0][1] > 0.6),
    ("carry", {"across": 0.3}, "carry", lambda stage: stage.across == 0.3),
    ("carry", {"grip": 0.1}, "carry", lambda stage: stage.support[0].at[0] < 10 * INCH),
    ("carry", {"limit": "60 lbf"}, "carry", lambda stage: stage.support[0].limit > 260),
    ("carry", {"flat": True, "people": 4}, "carry-flat", lambda stage: len(stage.support) == 4),
    ("carry", {"flat": True, "lift": "25 lbf"}, "carry-flat", lambda stage: len(stage.support) == 10),
    ("carry", {"flat": True, "hands": [[5, 5], [90, 5], [48, 22]]}, "carry-flat", lambda s: len(s.support) == 3),
    ("haul", {"angle": 5}, "haul", lambda stage: stage.angle == 5),
    ("haul", {"across": 0.8}, "haul", lambda stage: stage.across == 0.8),
    ("haul", {"foam": "20 lbf/in3"}, "haul", lambda stage: stage.support[0].stiffness < 6e6),
    ("haul", {"edge_foam": "100 lbf/in2"}, "haul", lambda stage: stage.support[1].stiffness < 7e5),
    ("haul", {"flat": True, "bearer": [[[9, 0], [9, 25]], [[87, 0], [87, 25]]]}, "haul", lambda s: len(s.support) == 2),
    ("set", {"slide": [0, -24]}, "set-sliding-in", lambda stage: stage.slide == pytest.approx((0, -24 * INCH))),
    ("set", {"shims": "2 mm"}, "set", lambda stage: stage.shims == 0.002),
    ("set", {"shims": 0}, "set", lambda stage: stage.shims is None),
    ("use", {"age": 60}, "use-rare", lambda stage: stage.age == 60 * DAY),
    ("use", {"foot": "400 lbf"}, "use-rare", lambda stage: stage.load[0].force > 1700),
    ("use", {"foot": 0}, "use-rare", lambda stage: len(stage.load) == 1),
    ("use", {"foot_size": 2}, "use-rare", lambda stage: stage.load[0].size == 2 * INCH),
    ("use", {"elsewhere": "50 lbf"}, "use-rare", lambda stage: stage.load[-1].force < 230),
    ("use", {"clear": 0}, "use-rare", lambda stage: len(stage.load) >= 2),
    ("use", {"bowl": []}, "use-lasting", lambda stage: stage.load == ()),
    ("use", {"bowl": [{"opening": 0, "weight": "100 N"}]}, "use-lasting", lambda s: s.load[0].force_per_length < 60),
    ("use", {"bowl_depth": "100 mm"}, "use-lasting", lambda stage: stage.load[0].force_per_length < 150),
    ("use", {"drying": "underside"}, "use-lasting", lambda stage: stage.bow[0].drying == "underside"),
    ("use", {"strain": 0}, "use-lasting", lambda stage: stage.bow == ()),
    ("use", {"creep": 1}, "use-lasting", lambda stage: stage.creep == 1),
]


@pytest.mark.parametrize(("moment", "told", "identity", "shows"), OVERRIDES)
def test_what_is_told_replaces_the_default_and_is_not_assumed(
    moment: str, told: dict[str, Any], identity: str, shows: Any
) -> None:
    case = top(life={moment: told})
    assert shows(stages(case)[identity])
    assert f"life.{moment}.{next(iter(told))}" not in assumed(case)


def test_a_user_may_leave_stages_out_and_add_others() -> None:
    own = {"name": "on trestles", "age": 14, "up": "show", "support": RING}
    own["support"] = [{"kind": "line", "points": [[x, 1], [x, 25]], "action": "rest"} for x in (20, 76)]
    assert list(stages(top(stage=[own], life={"stages": ["carry", "strip"]}))) == [
        "on-trestles",
        "strip",
        "strip-peeling",
        "carry",
    ]


def test_peeling_may_be_left_out() -> None:
    assert "strip-peeling" not in stages(top(life={"strip": {"peel": False}}))


def test_a_fast_mix_is_stripped_after_a_day() -> None:
    concrete = {"density": 145, "compressive_strength": 5000, "strength_gain": {"a": 0.7, "beta": 0.98}}
    assert stages(top(concrete=concrete))["strip"].age == FAST_STRIP == DAY
    for told in ({"cement": "III"}, {"cement": "R"}, {"cement": "I", "curing": "steam"}):
        concrete = {"density": 145, "compressive_strength": 5000, **told}
        assert stages(top(concrete=concrete))["strip"].age == DAY
    assert stages(top(concrete={**concrete, "cement": "I", "curing": "moist"}))["strip"].age == 3 * DAY


def test_defaults_of_age_give_way_to_what_is_told() -> None:
    early = stages(top(life={"carry": {"age": 2}}))
    assert (early["strip"].age, early["turn-rising"].age, early["carry"].age) == (2 * DAY, 2 * DAY, 2 * DAY)
    late = stages(top(life={"strip": {"age": 10}}))
    assert (late["carry"].age, late["haul"].age, late["use-rare"].age) == (10 * DAY, 10 * DAY, 28 * DAY)


def test_weak_concrete_at_stripping_is_said() -> None:
    # ACI 209R-92 type I: t / (4 + 0.85 t) = 2000 / 5000 at t = 2.42 days.
    weak = assumed(top(life={"strip": {"age": 1}}))["life.strip"]
    assert weak == "stripped at 24 h: the concrete reaches the 2000 psi that plants ask for only at 2.42 days"
    assert "life.strip" not in assumed(top())


def test_the_thickness_is_checked_a_sixteenth_thin_unless_told() -> None:
    assert read_case(top()).slab.tolerance == pytest.approx(INCH / 16)
    told = {"thickness": 1.5, "outline": TOP, "tolerance": 0}
    assert read_case(top(slab=told)).slab.tolerance == 0


def test_everything_taken_from_the_table_is_told_as_assumed() -> None:
    notes = assumed(top(life={"carry": {"flat": True}}))
    for key in ("strip.form_pull", "turn.multiplier", "carry.across", "haul.angle", "use.foot", "use.creep", "use.age"):
        assert DEFAULTS[key].why in notes[f"life.{key}"]
    assert "life.stages" in notes
    assert DEFAULTS["cabinet.panel"].why in notes["cabinet[0].panel"]
    assert "slab.tolerance" in notes


def test_the_written_out_case_reads_back_as_itself() -> None:
    zones = [{"kind": "sit", "points": [[70, 20], [100, 20], [100, 30], [70, 30]]}]
    case = read_case(top(zone=zones, bracket=[{"at": [90, 20], "to": [90, 25]}]))
    again = read_case(case.si())
    assert again.si() == case.si()
    assert case.life is None
    assert len(again.cabinet) == 3
    assert len(again.stage) == 11


def test_the_time_of_casting_is_kept() -> None:
    case = read_case(top(life={"cast": "2026-03-02 16:00"}))
    assert case.life is not None
    assert (case.life.cast, case.life.stages) == ("2026-03-02 16:00", ())
    assert read_case(case.si()).si() == case.si()


def test_a_file_in_si_units_means_the_same() -> None:
    us, si = read_case(top()).si(), read_case(read_case(top()).si()).si()
    assert us == si


@pytest.mark.parametrize(
    ("life", "where", "told"),
    [
        ({"stages": ["strip", "cary"]}, "life.stages[1]", 'did you mean "carry"'),
        ({"strip": {"age": "2 h"}}, "life.strip.age", "age before setting"),
        ({"strip": {"age": 3}, "turn": {"age": 2}}, "life.turn.age", "turn at 2 days comes before strip at 3 days"),
        ({"strip": {"age": 4}, "haul": {"age": 3}}, "life.haul.age", "comes before strip"),
        ({"use": {"age": 5}, "set": {"age": 6}}, "life.use.age", "comes before set"),
        ({"haul": {"angel": 9}}, "life.haul.angel", 'did you mean "angle"'),
        ({"hual": {}}, "life.hual", 'did you mean "haul"'),
        ({"stages": ["strip"], "haul": {"angle": 9}}, "life.haul", "not among the stages"),
        ({"use": {"bowl": [{"opening": 4}]}}, "life.use.bowl[0].opening", "no opening 4"),
        ({"cast": "yesterday"}, "life.cast", "not a date"),
        ({"haul": {"flat": True, "bearer": [[[9, 90], [20, 90]], [[8, 0], [8, 9]]]}}, "life.haul", "lies off the slab"),
        ({"carry": {"flat": True, "hands": [[5, 5], [90, 50]]}}, "life.carry", "off the slab"),
    ],
)
def test_a_fault_is_told_at_the_key_its_writer_knows(life: dict[str, Any], where: str, told: str) -> None:
    found = faults(top(life=life))
    assert told in found[where]
    assert not any(place.startswith("stage") for place in found)


def test_setting_is_four_hours() -> None:
    assert SETTING == 4 * 3600
    assert stages(top(life={"strip": {"age": "4 h"}}))["strip"].age == SETTING


def test_without_cabinets_it_stands_nowhere() -> None:
    case = top()
    del case["cabinet"]
    assert "where does it stand?" in faults(case)["life.stages"]
    case["life"] = {"stages": ["strip", "turn", "carry", "haul"]}
    assert len(stages(case)) == 6


def test_a_stage_called_like_a_ready_made_one_is_refused() -> None:
    own = {"name": "Carry", "age": 14, "up": "show", "support": [{"kind": "edge", "action": "rest"}]}
    assert "ready-made stage" in faults(top(stage=[own]))["stage[0].name"]


def test_a_case_without_stages_and_without_life_is_refused() -> None:
    case = top()
    del case["life"]
    assert '"stage" is missing' in faults(case)["stage"]
    assert '"stage" is missing' in faults({**case, "life": {"stages": []}})["stage"]


@pytest.mark.parametrize(
    ("zone", "told"),
    [
        ({"kind": "stand", "points": [[200, 0], [210, 0], [210, 9]]}, "lies off the slab"),
        ({"kind": "stand", "points": [[0, 0], [10, 10], [10, 0], [0, 10]]}, "cross"),
        ({"kind": "sit", "points": [[2, 2], [9, 2], [9, 9]]}, "no edge of the slab"),
    ],
)
def test_a_zone_must_lie_on_the_slab(zone: dict[str, Any], told: str) -> None:
    assert told in faults(top(zone=[zone]))["zone[0].points"]


@pytest.mark.parametrize("outline", [L_SHAPE, HEXAGON, ROUND, OVAL], ids=["L", "hexagon", "round", "oval"])
def test_odd_shapes_live_too(outline: Any) -> None:
    supports = [{"kind": "area", "points": [[8, 8], [-2, 8], [-2, 2], [8, 2]], "action": "rest"}]
    if outline is L_SHAPE:
        supports = [{"kind": "area", "points": [[8, 8], [2, 8], [2, 2], [8, 2]], "action": "rest"}]
    case = odd(outline, carry={"flat": True}, set={"support": supports})
    found = stages(case)
    assert {stage.split("-")[0] for stage in found} == set(MOMENTS)
    piece = piece_from(read_case(case))
    assert len(piece.stages) == len(found)


def test_an_l_is_carried_on_its_long_leg_with_its_middle_between_the_hands() -> None:
    case = odd(L_SHAPE)
    case["life"]["stages"] = ["carry"]
    del case["life"]["set"]
    below = [hand.at for hand in stages(case)["carry"].support if hand.kind == "hand" and hand.carries == "both"]
    middle = filled(drawing_of(read_case(case)).shape.outline).centroid.x
    assert below[0][0] < middle < below[1][0]
    assert [at[1] for at in below] == [0, 0]


def test_as_many_hands_as_it_takes_to_balance_a_u() -> None:
    # Legs 10 in wide at both ends of a U 92 x 33 in: its middle lies deeper than the hands that miss both legs.
    u_shape = [[0, 0], [92, 0], [92, 33], [82, 33], [82, 10], [10, 10], [10, 33], [0, 33]]
    case = odd(u_shape, stages=["strip", "carry"], carry={"flat": True})
    del case["life"]["set"]
    found = stages(case)
    middle = drawing_of(read_case(case)).region.centroid
    for name in ("strip", "carry-flat"):
        hands = [hand.at for hand in found[name].support if hand.kind == "hand"]
        assert max(y for _, y in hands) > 30 * INCH
        assert MultiPoint([*hands, (0.1, 0), (2.2, 0)]).convex_hull.contains(middle)


def test_a_round_piece_stands_on_a_stretch_of_its_edge() -> None:
    case = read_case(odd(ROUND))
    drawing = drawing_of(case)
    side = long_side(drawing.shape.outline, filled(drawing.shape.outline))
    # A tenth of the outline about its foremost point: the chord is the diameter times sin(18 degrees).
    assert side.length == pytest.approx(48 * INCH * math.sin(math.radians(18)), rel=1e-6)
    assert side.along == pytest.approx((1, 0), abs=1e-6)


@pytest.mark.parametrize("angle", [0, 30, 139])
def test_an_oval_stands_on_its_flat_side_however_it_is_turned(angle: float) -> None:
    case = read_case(odd({**OVAL, "angle": angle}))
    area = filled(drawing_of(case).shape.outline)
    side = long_side(drawing_of(case).shape.outline, area)
    # The end of the short axis is the spot nearest to the middle; the long axis lies along the side.
    assert side.balance == pytest.approx(side.length / 2, rel=0.05)
    turned = math.degrees(math.atan2(side.along[1], side.along[0])) - angle
    assert min(turned % 180, -turned % 180) < 2


def test_drafts_are_plain_data_and_validated_as_stages() -> None:
    data = top(life={"stages": ["strip"]})
    case = Case.model_validate(
        {**data, "units": "si", "slab": {"thickness": 0.04, "outline": [[0, 0], [2, 0], [2, 0.6]]}, "cabinet": []}
        | {"concrete": {"density": 2320, "compressive_strength": 35e6}}
    )
    drafts, notes = drafts_of(case)
    assert [draft.where for draft in drafts] == ["life.strip"] * 2
    assert all(isinstance(draft.data, dict) for draft in drafts)
    assert notes
