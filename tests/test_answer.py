"""The answer's dictionary against made-up results, so that every branch is met whatever the solver finds.

The figures are invented: what is checked is how they are told, not whether they are true.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from api.answer import answer_from, case_hash
from api.case import Case, read_case
from api.records import Answer
from api.translate import Piece, piece_from
from api.words import all_hold, stage_sentence, summary, worst_face, worst_first
from fem.paths import Path
from fem.plate.analysis import Analysis, Grid
from fem.plate.model import (
    Face,
    Peak,
    ProbeResult,
    StageResult,
    SupportResult,
    Tension,
    Tipping,
)

PSI = 6894.757293168361
LBF = 4.4482216152605
NOTHING = np.zeros((0, 3))

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
            "name": "carry",
            "age": 3,
            "up": "show",
            "cracking_strength": "390 psi",
            "support": [
                {"name": "left hand", "kind": "point", "at": [2, 12], "size": 4, "action": "rest"},
                {"name": "rail", "kind": "line", "points": [[90, 2], [90, 24]], "action": "hold"},
            ],
        }
    ],
}


def tension(psi: float, error: float = 5.0, local: float | None = None) -> Tension:
    return Tension(psi * PSI, error * PSI, 30.0, None if local is None else local * PSI, 10 * PSI, 0.0)


def result(
    status: Any = "cracks", underside: Tension | None = None, show: Tension | None = None, **changed: Any
) -> StageResult:
    """A stage's result; the underside's worst place is the left front corner of the opening."""
    peaks: dict[Face, Peak] = {
        "show": Peak((0.3, 0.3), show or tension(100), None),
        "underside": Peak((33 * 0.0254, 4 * 0.0254), underside or tension(863, 11, 900), (33 * 0.0254, 4.2 * 0.0254)),
    }
    supports = (
        SupportResult(0, "left hand", 900.0, None, False, 1.0),
        SupportResult(1, "rail", 500.0, None, False, 0.4),
    )
    field = np.zeros((3, 3))
    plain = StageResult(
        status=status, rocks=False, converged=True, w=np.zeros(3), moment=field, local_moment=field, peaks=peaks,
        deflection=1e-3, deflection_error=1e-5, equilibrium_residual=1e-12, supports=supports, probes=(), tips=None,
    )  # fmt: skip
    return dataclasses.replace(plain, **changed)


def tipping_result(tips: Tipping | None) -> StageResult:
    return result(
        "tips", w=np.zeros(0), moment=NOTHING, local_moment=NOTHING, peaks=None, deflection=None, deflection_error=None,
        equilibrium_residual=None, supports=(), tips=tips,
    )  # fmt: skip


def analysis_of(*results: StageResult) -> Analysis:
    grid = Grid(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 0.5]]), np.array([[0, 1, 2]]))
    return Analysis(100, 150, 30.0, False, grid, 250 * LBF, (1.2, 0.3), np.zeros((0, 4)), results)


@pytest.fixture(scope="module")
def case() -> Case:
    return read_case(CASE)


@pytest.fixture(scope="module")
def piece(case: Case) -> Piece:
    return piece_from(case)


@pytest.fixture(scope="module")
def build(case: Case, piece: Piece) -> Callable[[StageResult], dict[str, Any]]:
    """The answer that a stage's result makes; it is checked against its own grammar and as JSON each time."""

    def answer(one: StageResult, paths: tuple[Path, ...] = ()) -> dict[str, Any]:
        made = answer_from(case, piece, analysis_of(one), [{"underside": paths}])
        Answer.model_validate_json(json.dumps(made, allow_nan=False))
        return made

    return answer


Build = Callable[..., dict[str, Any]]


def test_a_stage_that_cracks_is_told_as_the_trade_would(build: Build) -> None:
    answer = build(result())
    stage = answer["stages"][0]
    assert stage["peak"]["underside"]["place"] == "left front corner of opening 'sink'"
    assert stage["use_of_allowed"]["underside"] == pytest.approx(863 / 260, rel=1e-10)  # read to 12 digits
    assert stage["use_of_cracking"]["underside"] == pytest.approx(863 / 390, rel=1e-10)
    assert stage["age_s"] == 3 * 86400
    assert (
        stage_sentence(stage, "us") == "Carrying will probably crack it: the pull is 860 psi, it can take 260 on day 3."
    )
    assert stage_sentence(stage, "si").endswith("the pull is 6.0 MPa, it can take 1.8 on day 3.")
    assert not all_hold(answer)


def test_the_table_shows_verdict_pull_bar_shares_age_place_and_crack(build: Build) -> None:
    lines = summary(build(result()), "us", 130).splitlines()
    assert lines[0] == "A made-up top: 1.5 in thick, 250 lb"
    first = next(k for k, line in enumerate(lines) if line.startswith("carry"))
    assert lines[first].split()[:8] == ["carry", "CRACKS", "underside", "860", "psi", "260", "psi", "332"]
    assert "left front corner" in lines[first]
    assert lines[first + 1].split()[:5] == ["\u00b120", "day", "3", "(221", "%)"]
    # The first screen is sentences; what it rests on comes last.
    titles = [
        lines.index(next(line for line in lines if line.startswith(word))) for word in ("Carrying", "stage", "Not")
    ]
    assert titles == sorted(titles)
    assert max(map(len, summary(build(result()), "us", 120).splitlines())) <= 120
    assert max(map(len, summary(build(result()), "us", 80).splitlines())) <= 110


def test_a_stage_that_holds_and_one_that_is_too_close(build: Build) -> None:
    holding = build(result("holds", underside=tension(87)))["stages"][0]
    assert (
        stage_sentence(holding, "us") == "Carrying should not crack it: the pull is 100 psi, it can take 260 on day 3."
    )
    assert worst_face(holding) == "show"
    close = build(result("marginal", underside=tension(257, 6)))["stages"][0]
    assert stage_sentence(close, "us").startswith("Carrying is too close to call: the pull is 260 psi, give or take 10")
    between = build(result("marginal", underside=tension(300)))["stages"][0]
    assert stage_sentence(between, "us").endswith("it can take 260 on day 3 and cracks at about 390 psi.")


def test_a_hairline_is_told_with_its_own_place(build: Build) -> None:
    stage = build(result("marginal", underside=tension(200, 5, 480)))["stages"][0]
    told = stage_sentence(stage, "us")
    assert "may start a hairline crack at one spot (underside, left front corner of opening 'sink')" in told
    assert "peaks there at 480 psi and the concrete cracks at 390 psi" in told


def test_nothing_pulled_is_said_so(build: Build) -> None:
    answer = build(result("holds", underside=tension(-20), show=tension(-1)))
    assert answer["stages"][0]["use_of_allowed"] == {"show": 0.0, "underside": 0.0}
    assert "none" in summary(answer, "us")


def test_tipping_is_an_answer_with_nulls_and_words(build: Build) -> None:
    tips = Tipping(((90 * 0.0254, 0.0), (90 * 0.0254, 0.6)), 73.4 * LBF, (0.0, 0.0))
    answer = build(tipping_result(tips))
    stage = answer["stages"][0]
    assert stage["peak"] == stage["use_of_allowed"] == stage["use_of_cracking"] == {"show": None, "underside": None}
    assert stage["deflection_max_m"] is None
    assert [support["force_N"] for support in stage["supports"]] == [None, None]
    assert stage["paths"] == {"show": [], "underside": []}
    assert stage["tips"]["about"] == "support 'rail'"
    told = stage_sentence(stage, "us")
    # Rounded up: 73 lbf would not hold it.
    assert told == (
        "Carrying will not balance: it tips about support 'rail'; "
        "74 lbf down at the left front outer corner (x 0, y 0 in) would hold it."
    )


def test_a_fall_about_no_support_is_told_by_its_line(build: Build) -> None:
    tips = Tipping(((0.0, 0.0), (1.0, 0.5)), 100.0, (0.0, 0.5))
    stage = build(tipping_result(tips))["stages"][0]
    assert "tips about the line from x 0, y 0 mm to x 1000, y 500 mm; 100 N down" in stage_sentence(stage, "si")
    assert "no balance was found" in stage_sentence(build(tipping_result(None))["stages"][0], "us")


def test_no_nan_leaves_the_program(build: Build) -> None:
    stage = build(result(deflection=math.nan, equilibrium_residual=np.float64(np.inf)))["stages"][0]
    assert stage["deflection_max_m"] is None
    assert stage["equilibrium_residual"] is None
    assert stage["notes"] == [
        "deflection_max_m has no finite value and is left out",
        "equilibrium_residual has no finite value and is left out",
    ]


def test_numpy_scalars_become_plain_ones(build: Build) -> None:
    supports = (SupportResult(0, "left hand", np.float64(1.0), None, np.bool_(True), np.float64(0.5)),)  # type: ignore[arg-type]
    stage = build(result(supports=supports))["stages"][0]
    assert stage["supports"][0]["lifted"] is True


def test_a_support_that_must_pull_is_warned_of(build: Build) -> None:
    supports = (
        SupportResult(0, "left hand", 2000.0, None, False, 1.0),
        SupportResult(1, "rail", -330.0, None, False, 1.0),
    )
    warnings = build(result(supports=supports))["warnings"]
    assert warnings[-1]["where"] == "stage[0].support[1]"
    assert "  Carrying: 'rail' must hold the slab down with 74 lbf" in summary(build(result(supports=supports)), "us")
    assert warnings[-1]["what"] == "'rail' must hold the slab down with 74 lbf: fasten it for that"


def test_probes_tell_why_they_are_null(build: Build) -> None:
    probes = (
        ProbeResult("here", (0.1, 0.1), 1e-4, (1.0, 2.0, 3.0), tension(-5), tension(40, local=41)),
        ProbeResult("corner", (0.0, 0.0), 1e-4, None, None, None, "a sharp inner corner: no bound"),
    )
    told = build(result(probes=probes))["stages"][0]["probes"]
    assert told[0]["moment_Nm_per_m"] == [1.0, 2.0, 3.0]
    assert told[1]["moment_Nm_per_m"] is None
    assert told[1]["why_null"] == "a sharp inner corner: no bound"


def test_paths_are_rounded_not_changed(build: Build) -> None:
    points = np.array([[0.123456, 0.2], [0.3, 0.25]])
    path = Path(points, np.array([1234567.0, 1.5e6]), np.array([True, False]))
    told = build(result(), (path,))["stages"][0]["paths"]["underside"][0]
    assert told == {"points": [[0.1235, 0.2], [0.3, 0.25]], "tension_Pa": [1235000.0, 1.5e6], "distinct": [True, False]}


def test_worst_first_puts_falls_before_cracks_before_shares(build: Build) -> None:
    made = [
        build(result("holds", underside=tension(200)))["stages"][0],
        build(result("cracks", underside=tension(800)))["stages"][0],
        build(result("holds", underside=tension(220)))["stages"][0],
        build(tipping_result(None))["stages"][0],
        build(result("cracks", underside=tension(900)))["stages"][0],
    ]
    order = [made.index(stage) for stage in worst_first(made)]
    assert order == [3, 4, 1, 2, 0]


def test_the_hash_knows_the_case_and_not_how_it_was_written(case: Case) -> None:
    again = read_case(case.si())
    assert case_hash(case.si()) == case_hash(again.si())
    metric = json.loads(json.dumps(CASE)) | {"units": "si"}
    metric["slab"] = {
        "thickness": "1.5 in",
        "outline": [["0 in", "0 in"], ["96 in", "0 in"], ["96 in", "25.5 in"], ["0 in", "25.5 in"]],
        "opening": [
            {"name": "sink", "shape": "rectangle", "center": ["48 in", "12 in"], "size": ["30 in", "16 in"],
             "corner_radius": "0.75 in"}
        ],
    }  # fmt: skip
    metric["concrete"] |= {"density": "145 lb/ft3"}
    metric["stage"][0]["support"][0] |= {"at": ["2 in", "12 in"], "size": "4 in"}
    metric["stage"][0]["support"][1] |= {"points": [["90 in", "2 in"], ["90 in", "24 in"]]}
    assert case_hash(read_case(metric).si()) == case_hash(case.si())
    thicker = json.loads(json.dumps(CASE))
    thicker["slab"]["thickness"] = 1.5001
    assert case_hash(read_case(thicker).si()) != case_hash(case.si())
    assert len(case_hash(case.si())) == 64
