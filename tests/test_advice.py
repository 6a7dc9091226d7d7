"""Advice is what a changed case really comes to: every item is read again, solved again, and meets its figures."""

from __future__ import annotations

import copy
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from api.advice.bench import moment_of, pulled
from api.advice.search import first_that_passes, ladder
from api.advice.waiting import when_words
from api.case import read_case
from api.command import main
from api.figures import pull_words
from api.records import Answer
from api.solve import solve_case
from api.tasks import solve_body
from api.words import summary

Json = dict[str, Any]
PSI = 6894.757293168361
INCH = 0.0254

BASE: Json = {
    "case": 1,
    "title": "Shelf",
    "units": "us",
    "slab": {"thickness": 1.5, "outline": [[0, 0], [72, 0], [72, 20], [0, 20]]},
    "concrete": {"density": 145, "compressive_strength": 5000},
}


def rest(x: float) -> Json:
    return {"kind": "line", "points": [[x, 1], [x, 19]], "action": "rest"}


def case_of(*stages: Json, **more: Any) -> Json:
    return copy.deepcopy(BASE) | {"stage": list(stages)} | more


SPAN = case_of(
    {
        "name": "use, rare",
        "age": 28,
        "up": "show",
        "support": [rest(2), rest(70)],
        "load": [{"kind": "point", "at": [36, 10], "force": 300, "size": 4}],
    }
)
CARRY = case_of(
    {
        "name": "carry flat",
        "age": 1,
        "up": "show",
        "multiplier": 1.5,
        "support": [{"kind": "hand", "at": [x, y]} for x in (2, 70) for y in (3, 17)],
    },
    life={"stages": [], "cast": "2026-03-02 16:00"},
)
LIP = case_of(
    {
        "name": "use, seats",
        "age": 28,
        "up": "show",
        "support": [
            {"kind": "line", "points": [[0, 1], [72, 1]], "action": "rest"},
            {"kind": "line", "points": [[0, 8], [72, 8]], "action": "rest"},
        ],
        "load": [{"kind": "point", "at": [36, 18.5], "force": 250, "size": 2}],
    }
)


@cache
def advised(name: str) -> Json:
    case = {"span": SPAN, "carry": CARRY, "lip": LIP}[name]
    return solve_case(read_case(case), advice=True).answer


def items(name: str) -> dict[str, Json]:
    return {item["kind"]: item for item in advised(name)["advice"]}


def worst_again(case: Json, stage: str) -> Any:
    """What the stage of a changed case comes to when that is read and solved afresh, as anybody would."""
    read = read_case(case)
    solved = solve_case(read, advice=False)
    k = [one.id for one in read.stage].index(stage)
    return pulled(solved.piece.stages[k], solved.analysis.stages[k])


@pytest.mark.parametrize("name", ["span", "carry", "lip"])
def test_every_item_meets_its_figures_when_its_case_is_solved_again(name: str) -> None:
    found = advised(name)["advice"]
    assert found
    for item in found:
        again = worst_again(item["case"], item["stage"])
        assert item["status_after"] == again.status
        assert item["face"] == again.face
        assert math.isclose(item["after_Pa"], again.pull, rel_tol=1e-6, abs_tol=again.bar)
        assert math.isclose(item["allowed_Pa"], again.allowed, rel_tol=1e-9)
        # The printed figure is exactly the one that comes out again.
        assert pull_words(again.pull, "us") in item["what"]


@pytest.mark.parametrize("name", ["span", "carry", "lip"])
def test_the_answer_with_advice_keeps_its_grammar_and_is_printed(name: str) -> None:
    answer = advised(name)
    Answer.model_validate(answer)
    told = " ".join(summary(answer, "us", 120).split())
    assert "What would help:" in told
    assert all(" ".join(item["what"].split()) in told for item in answer["advice"])


def test_a_span_is_cured_by_a_support_at_its_middle() -> None:
    support = items("span")["support"]
    assert support["status_after"] == "holds"
    (x, _) = support["case"]["stage"][0]["support"][-1]["at"]
    # Common sense, no source: the load stands at the middle of the span.
    assert abs(x - 36 * INCH) < 6 * INCH


def test_thickness_is_the_least_trade_size_that_holds() -> None:
    thickness = items("span")["thickness"]
    found = thickness["case"]["slab"]["thickness"]
    assert thickness["status_after"] == "holds"
    assert math.isclose(found / (INCH / 8), round(found / (INCH / 8)), abs_tol=1e-6)
    thinner = copy.deepcopy(thickness["case"])
    thinner["slab"]["thickness"] = found - INCH / 8
    assert worst_again(thinner, "use-rare").status != "holds"
    # Simple beam: the pull of a weight goes like 1/h, of a force like 1/h2; both parts are told with two figures each.
    assert "its own weight goes from" in thickness["what"]
    assert "what the loads add goes from" in thickness["what"]


def test_own_weight_goes_like_one_over_h_and_people_like_one_over_h2() -> None:
    """Simply supported beam under its weight and a force: 6 M / h2 with M of the weight going like h (statics)."""
    item = items("span")["thickness"]
    ratio = item["case"]["slab"]["thickness"] / (1.5 * INCH)
    words = item["what"].split("Of the pull, ")[1]
    figures = [float(word) for word in words.replace(",", " ").split() if word.isdigit()]
    assert len(figures) == 4
    # The figures are rounded to 10 psi; the averaging length grows with the thickness.
    assert abs(figures[1] - figures[0] / ratio) <= 10 + 0.06 * figures[1]
    assert abs(figures[3] - figures[2] / ratio**2) <= 10 + 0.12 * figures[3]


def test_waiting_gives_a_clock_time_at_which_it_just_holds() -> None:
    wait = items("carry")["wait to carry"]
    assert wait["status_after"] == "holds"
    assert "Do not carry before " in wait["what"]
    sooner = copy.deepcopy(wait["case"])
    sooner["stage"][0]["age"] -= 1 / 24
    assert worst_again(sooner, "carry-flat").status != "holds"


def test_hands_are_found_for_two_three_four_and_six_people() -> None:
    found = [item for item in advised("carry")["advice"] if item["kind"] == "hands"]
    assert [len(item["case"]["stage"][0]["support"]) for item in found] == [2, 3, 4, 6]
    assert all(one["kind"] == "hand" for item in found for one in item["case"]["stage"][0]["support"])
    # Two hands 0.207 L in from the ends pull a strip least (statics); the tried places are 4.6 in apart.
    (a, b) = sorted(one["at"][0] for one in found[0]["case"]["stage"][0]["support"])
    assert abs(a - 0.207 * 72 * INCH) < 4.6 * INCH
    assert abs(b - 0.793 * 72 * INCH) < 4.6 * INCH


def test_on_edge_is_far_better_than_flat() -> None:
    """A deep beam: section modulus b d2 / 6 on edge is d / t times that of lying flat (statics)."""
    edge = items("carry")["on edge"]
    assert edge["status_after"] == "holds"
    assert edge["after_Pa"] < edge["before_Pa"] / 4


def test_what_tips_is_held_down() -> None:
    hold = items("lip")["hold-down"]
    assert hold["before_Pa"] is None
    assert hold["case"]["stage"][0]["support"][-1]["action"] == "hold"
    assert "keeps 'use, seats' from tipping" in hold["what"]


def test_a_shorter_overhang_does_not_tip_and_keeps_its_load_at_the_lip() -> None:
    shorter = items("lip")["overhang"]
    case = shorter["case"]
    back = max(y for _, y, *_ in case["slab"]["outline"])
    assert shorter["status_after"] == "holds"
    assert math.isclose(back - case["stage"][0]["load"][0]["at"][1], 1.5 * INCH, rel_tol=1e-9)


def test_the_same_case_gets_the_same_advice() -> None:
    again = solve_case(read_case(CARRY), advice=True).answer["advice"]
    assert again == advised("carry")["advice"]


def test_advice_is_given_unasked_only_where_stages_were_made_of_life() -> None:
    assert solve_case(read_case(SPAN)).answer["advice"] == []
    made = read_case(BASE | {"life": {"stages": ["carry"]}})
    assert made._lived
    assert not read_case(made.si())._lived
    assert not read_case(SPAN)._lived


def test_advice_is_asked_for_on_the_command_line_and_over_http(tmp_path: Path) -> None:
    file = tmp_path / "carry.json"
    file.write_text(json.dumps(CARRY))
    assert main(["solve", str(file), "--out", str(tmp_path / "out"), "--no-maps", "--advice"]) == 1
    told = json.loads((tmp_path / "out" / "result.json").read_text())["advice"]
    assert [item["what"] for item in told] == [item["what"] for item in advised("carry")["advice"]]
    assert main(["solve", str(file), "--out", str(tmp_path / "out"), "--no-maps", "--no-advice"]) == 1
    assert json.loads((tmp_path / "out" / "result.json").read_text())["advice"] == []
    body = json.dumps(SPAN).encode()
    assert json.loads(solve_body(body, None)[0])["advice"] == []


def test_no_more_is_tried_than_is_allowed() -> None:
    tried: list[str] = []

    def progress(step: int, of: int, what: str) -> None:
        tried.append(what)

    solve_case(read_case(SPAN), progress, advice=True)
    assert 0 < sum("trying what would help" in what for what in tried) <= 40


def test_times() -> None:
    assert when_words(22 * 3600.0, "2026-03-02 16:00") == "Tue 14:00"
    assert when_words(9 * 86400.0, "2026-03-02 16:00") == "Wed 2026-03-11 16:00"
    assert when_words(7 * 86400.0, None) == "day 7"


def test_sizes_go_up_in_steps() -> None:
    assert ladder(1.5 * INCH, 2 * INCH, INCH / 8) == [round(k * INCH / 8, 9) for k in (13, 14, 15, 16)]
    assert first_that_passes([], lambda size: None, lambda size: None) is None


def test_what_is_done_in_a_stage() -> None:
    assert [moment_of(name) for name in ("strip, peeling", "Carry flat", "use, rare", "")] == ["strip", "carry", "", ""]
