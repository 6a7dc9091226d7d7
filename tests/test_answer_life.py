"""What is told of a whole life: governing states, roaming loads, levels, hands, verdict, weight, what is not checked.

The results are made up: what is checked is how they are told, not whether they are true.
"""

from __future__ import annotations

import copy
import dataclasses
import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from api.answer import answer_from
from api.case import read_case
from api.map_words import cautions_of
from api.not_checked import not_checked
from api.records import Answer
from api.translate import piece_from
from api.verdict import stage_sentence
from api.words import summary
from fem.plate.analysis import Analysis, Grid
from fem.plate.model import (
    Face,
    LevelLimit,
    Peak,
    StageResult,
    SupportResult,
    Tension,
    Tipping,
    Walk,
    Worst,
)

PSI = 6894.757293168361
LBF = 4.4482216152605
INCH = 0.0254
GRID = Grid(np.array([[0.0, 0.0], [2.4, 0.0], [0.0, 0.6]]), np.array([[0, 1, 2]]))

CASE: dict[str, Any] = {
    "case": 1,
    "title": "A made-up top",
    "units": "us",
    "slab": {
        "thickness": 1.5,
        "outline": [[0, 0], [96, 0], [96, 25.5], [0, 25.5]],
        "opening": [
            {"name": "sink", "shape": "rectangle", "center": [48, 12], "size": [30, 16], "corner_radius": 0.75}
        ],
    },
    "concrete": {"density": 145, "modulus": "3e6 psi", "cracking_strength": "390 psi"},
    "stage": [
        {
            "name": "carry flat",
            "age": 3,
            "up": "show",
            "cracking_strength": "390 psi",
            "support": [
                {"name": "left hand", "kind": "hand", "at": [2, 12], "limit": "60 lbf"},
                {"name": "right hand", "kind": "hand", "at": [94, 12]},
                {"name": "rail", "kind": "line", "points": [[90, 2], [90, 24]], "action": "rest"},
            ],
            "load": [{"name": "person", "kind": "point", "roaming": True, "force": 300, "size": 4}],
        }
    ],
}

Build = Callable[..., dict[str, Any]]


def tension(psi: float, angle: float = 0.0) -> Tension:
    return Tension(psi * PSI, 5 * PSI, angle, None, None, 0.0)


def supports(left: float, right: float) -> tuple[SupportResult, ...]:
    return (
        SupportResult(0, "left hand", left * LBF, None, False, 1.0),
        SupportResult(1, "right hand", right * LBF, None, False, 1.0),
        SupportResult(2, "rail", 20 * LBF, None, False, 1.0),
    )


def worst(variation: str = "", at: tuple[float, float] | None = None, **changed: Any) -> Worst:
    # The pull at every point of the grid goes along x: a crack has one way to run.
    moment = np.array([[900.0, 100.0, 0.0]] * 3)
    plain = Worst(variation, at, np.zeros(3), moment, moment, None, supports(50, 50))
    return dataclasses.replace(plain, **changed)


def result(status: Any = "cracks", psi: float = 863, **changed: Any) -> StageResult:
    """The underside's worst place is in front of the sink, where a pull along x opens a crack to and fro."""
    peaks: dict[Face, Peak] = {
        "show": Peak((0.3, 0.3), tension(100), None),
        "underside": Peak((48 * INCH, 0.0), tension(psi), None),
    }
    field = np.array([[900.0, 100.0, 0.0]] * 3)
    plain = StageResult(
        status=status, rocks=False, converged=True, w=np.zeros(3), moment=field, local_moment=field, peaks=peaks,
        deflection=1e-3, deflection_error=1e-5, equilibrium_residual=1e-12, supports=supports(50, 50), probes=(),
        tips=None, worst={"show": worst(), "underside": worst()},
    )  # fmt: skip
    return dataclasses.replace(plain, **changed)


def tipping(tips: Tipping) -> StageResult:
    none = np.zeros((0, 3))
    return result(
        "tips", w=np.zeros(0), moment=none, local_moment=none, peaks=None, deflection=None, deflection_error=None,
        equilibrium_residual=None, supports=(), tips=tips, worst={},
    )  # fmt: skip


def answer_of(one: StageResult, **changed: Any) -> dict[str, Any]:
    """The answer that a stage's result makes, checked against its grammar and as JSON."""
    case = read_case(copy.deepcopy(CASE) | changed)
    analysis = Analysis(100, 150, 30.0, False, GRID, 458 * LBF, (1.2, 0.3), np.zeros((0, 4)), (one,))
    made = answer_from(case, piece_from(case), analysis, [{}])
    Answer.model_validate_json(json.dumps(made, allow_nan=False))
    return made


def test_the_first_screen_says_stage_place_crack_weight_and_people() -> None:
    told = answer_of(result())["verdict"]["sentences"]
    assert told == [
        "Carrying flat will probably crack it: the pull is 860 psi, it can take 260 on day 3.",
        "Worst place: underside, in front of opening 'sink'; a crack would run from the front edge to opening 'sink', "
        "cutting its front rail.",
        "458 lb: ten people at no more than 50 lb each, or a cart or a machine.",
    ]
    metric = answer_of(result(), units="si", **_metric())["verdict"]["sentences"]
    assert metric[0] == "Carrying flat will probably crack it: the pull is 6.0 MPa, it can take 1.8 on day 3."
    assert metric[2] == "208 kg: ten people at no more than 23 kg each, or a cart or a machine."


def _metric() -> dict[str, Any]:
    """The same case with bare numbers in SI."""
    si: dict[str, Any] = read_case(copy.deepcopy(CASE)).si()
    return {key: si[key] for key in ("slab", "concrete", "stage")}


def test_the_governing_state_is_named_with_its_place() -> None:
    at = (48 * INCH, 1.5 * INCH)
    answer = answer_of(result(worst={"show": worst(), "underside": worst("person", at)}))
    stage = answer["stages"][0]
    assert stage["governing"] == {
        "show": {"variation": "", "at": None, "place": None},
        "underside": {"variation": "person", "at": list(at), "place": "in front of opening 'sink'"},
    }
    assert stage["peak"]["underside"]["place"] == "under load 'person', in front of opening 'sink'"
    assert stage_sentence(stage, "us").startswith("Carrying flat ('person' in front of opening 'sink') will probably")
    let_go = answer_of(result(worst={"show": worst(), "underside": worst("hand 'left hand' lets go")}))
    row = let_go["verdict"]["rows"][0]
    assert (row["variation"], row["variation_place"]) == ("hand 'left hand' lets go", None)
    assert "Carrying flat (hand 'left hand' lets go) will probably crack it" in summary(let_go, "us")


def test_results_without_variations_still_work() -> None:
    stage = answer_of(result(worst={}))["stages"][0]
    assert stage["governing"]["show"] == {"variation": "", "at": None, "place": None}
    assert stage["variations"] == 1


def test_roaming_loads_tell_their_worst_places_and_no_nan() -> None:
    spots = np.array([[0.1, 0.1], [1.2192, 0.02], [2.0, 0.6]])
    pull = np.array([[1e6, 2e6], [3e6, 5e6], [np.nan, np.nan]])
    stage = answer_of(result(walks=(Walk("person", spots, pull, 1e4),)))["stages"][0]
    walk = stage["walks"][0]
    assert (walk["places"], walk["change_Pa"], walk["least_load_that_tips_N"]) == (3, 1e4, None)
    assert walk["worst"]["underside"]["tension_Pa"] == 5e6
    assert walk["worst"]["underside"]["place"] == "in front of opening 'sink'"
    # As it stands, one hand or the other let go, and three places.
    assert stage["variations"] == 1 + 2 + 3
    nowhere = Walk("person", spots, np.full((3, 2), np.nan), math.nan)
    lost = answer_of(result(walks=(nowhere,)))["stages"][0]
    assert lost["walks"][0]["worst"] == {"show": None, "underside": None}
    assert lost["notes"] == ["walks[0].change_Pa has no finite value and is left out"]


def test_a_person_who_tips_it_is_told_with_the_least_load() -> None:
    tips = Tipping(
        ((90 * INCH, 0.0), (90 * INCH, 0.6)), 149.2 * LBF, (0.0, 0.3), "person", (96 * INCH, 12 * INCH), 163.4 * LBF
    )
    spots = np.array([[0.1, 0.1]])
    stage = answer_of(dataclasses.replace(tipping(tips), walks=(Walk("person", spots, np.full((1, 2), np.nan), 0.0),)))
    entry = stage["stages"][0]
    assert entry["walks"][0]["least_load_that_tips_N"] == pytest.approx(163.4 * LBF)
    assert entry["governing"] == {"show": None, "underside": None}
    told = stage_sentence(entry, "us")
    assert told == (
        "Carrying flat will not balance: 163 lbf of 'person' at the right edge, near its middle tip it about support "
        "'rail'; 150 lbf down at the left edge, near its middle (x 0, y 11.8 in) would hold it."
    )
    assert "725 N of 'person'" in stage_sentence(entry, "si")
    row = stage["verdict"]["rows"][0]
    assert (row["face"], row["pull_Pa"], row["share"]) == (None, None, None)
    assert row["why_null"]


def test_how_far_out_of_level_is_told_for_the_tightest_support_and_for_all() -> None:
    limits = (
        LevelLimit(2, "middle cabinet", 0.0021, 0.0042, "show", "underside"),
        LevelLimit(1, "right", None, 0.003, None, "show", "it lifts off before that"),
    )
    answer = answer_of(result("holds", 200, levels=limits))
    assert (
        "Shim within 1/16 in: 'middle cabinet' may be 1/16 in high but 5/32 in low." in answer["verdict"]["sentences"]
    )
    metric = answer_of(result("holds", 200, levels=limits), units="si", **_metric())
    assert "Shim within 2.1 mm: 'middle cabinet' may be 2.1 mm high but 4.2 mm low." in metric["verdict"]["sentences"]
    printed = " ".join(summary(answer, "us").split())
    assert "as high as was looked but 3/32 in low: 'right'. Carrying flat: it lifts off before that." in printed
    free = LevelLimit(1, "right", 0.0001, None, "show", None, "", "it may be missing altogether")
    tight = answer_of(result("holds", 200, levels=(free,)))["verdict"]["sentences"]
    assert "Shim as level as can be: 'right' may be under 1/32 in high but low without harm." in tight
    none = answer_of(result("cracks", levels=(LevelLimit(2, "rail", 0.0, 0.0),)))["verdict"]["sentences"]
    assert any("shims do not help" in line for line in none)


def test_hands_are_compared_with_their_limits() -> None:
    one_gone = worst("hand 'right hand' lets go", None, supports=supports(75, 0)[::2])
    answer = answer_of(result(worst={"show": worst(), "underside": one_gone}))
    left, right = answer["stages"][0]["hands"]
    assert left["force_N"] == pytest.approx(50 * LBF)
    assert left["most_N"] == pytest.approx(75 * LBF)
    assert left["over"]
    assert (right["limit_N"], right["over"]) == (None, False)
    assert (
        "Carrying flat: 'left hand' bears 75 lbf, and is to bear no more than 60 lbf." in answer["verdict"]["sentences"]
    )
    assert "'left hand' 50 lbf, up to 75 lbf (OVER its 60 lbf); 'right hand' 50 lbf." in summary(answer, "us")
    assert [(row["name"], row["hand"], row["over"]) for row in answer["handling"]] == [
        ("left hand", True, True),
        ("right hand", True, False),
        ("rail", False, False),
    ]


def test_the_other_face_has_its_row_only_beyond_what_is_allowed() -> None:
    assert [row["face"] for row in answer_of(result())["verdict"]["rows"]] == ["underside"]
    both: dict[Face, Peak] = {
        "show": Peak((0.3, 0.3), tension(300), None),
        "underside": Peak((48 * INCH, 0.0), tension(863), None),
    }
    assert [row["face"] for row in answer_of(result(peaks=both))["verdict"]["rows"]] == ["underside", "show"]


def test_no_crack_where_nothing_pulls_or_where_it_pulls_alike_every_way() -> None:
    row = answer_of(
        result("holds", -20, peaks={face: Peak((0.3, 0.3), tension(-1), None) for face in ("show", "underside")})
    )
    assert row["verdict"]["rows"][0]["what_a_crack_would_do"] is None
    alike = np.array([[900.0, 850.0, 0.0]] * 3)
    free = answer_of(result(worst={"show": worst(), "underside": worst(moment=alike)}))["verdict"]["rows"][0]
    assert free["crack"] is None
    assert "any way" in free["what_a_crack_would_do"]


def test_what_is_not_checked_shrinks_by_what_the_case_looks_at() -> None:
    plain = copy.deepcopy(CASE)
    assert "people elsewhere than the loads say" not in not_checked(read_case(plain))  # a person roams
    assert "a twist while it is carried" not in not_checked(read_case(plain))  # hands let go
    assert "shrinkage and curling" in not_checked(read_case(plain))
    more = copy.deepcopy(CASE)
    more["stage"][0] |= {
        "lasting": True,
        "levels": True,
        "bow": [{"drying": "show", "strain": 2e-4}, {"warmer": "show", "difference": 10}],
    }
    assert not_checked(read_case(more)) == ("a drop or a knock", "what the steel does once it has cracked")
    foot = cautions_of(read_case(more))[0]
    assert foot == "Not checked: a drop or a knock, and what the steel does once it has cracked."


def test_advice_is_printed_with_its_figures() -> None:
    answer = answer_of(result())
    item = {"kind": "hands", "before_Pa": 863 * PSI, "after_Pa": 90 * PSI, "status_after": "holds", "case": None}
    item |= {"stage": "carry", "allowed_Pa": 262 * PSI, "face": "show"}
    answer["advice"] = [item | {"what": "Carry it 20 in from its ends."}]
    Answer.model_validate_json(json.dumps(answer))
    told = summary(answer, "us")
    assert "What would help:\n  Carry it 20 in from its ends. (pull 860 psi now, 90 psi then)" in told


def test_zones_are_explained() -> None:
    zones = [
        {"kind": "stand", "points": [[70, 2], [90, 2], [90, 20], [70, 20]]},
        {"kind": "nobody", "points": [[2, 2], [12, 2], [12, 20], [2, 20]]},
    ]
    told = answer_of(result(), zone=zones)["verdict"]["sentences"]
    assert "On the maps, green: somebody may stand there; hatched: nobody stands there." in told
