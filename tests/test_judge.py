"""A given layout of steel judged: on the command line, in the answer, over HTTP."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.case import read_case
from api.command import main
from api.errors import CaseError
from api.jobs import Bounds
from api.records import Answer
from api.solve import Solved, solve_case
from api.steel.files import drawn
from api.words import judged_summary, layout_carries
from tests.serving import serving
from tests.steel_cases import RAIL, TOP, with_sink

INCH = 0.0254
SECOND = RAIL | {"name": "front 2", "points": [[1, 3.6], [47, 3.6]]}
CUT = {"name": "over the sink", "face": "underside", "points": [[1, 12], [47, 12]]}
SHORT = {"name": "short", "face": "show", "points": [[2, 22.5], [5, 22.5]]}


@pytest.fixture(scope="module")
def judged() -> Solved:
    """Four runs beside, over and behind a sink."""
    return solve_case(read_case(with_sink(RAIL, SECOND, CUT, SHORT)), judge=True)


def entry(solved: Solved) -> dict[str, Any]:
    """What is said of the layout."""
    found: dict[str, Any] = solved.answer["steel"]["judged"]
    return found


def test_the_answer_keeps_to_its_grammar(judged: Solved) -> None:
    Answer.model_validate(json.loads(json.dumps(judged.answer, allow_nan=False)))


def test_every_run_has_its_worth(judged: Solved) -> None:
    worth = {one["mark"]: one for one in entry(judged)["worth"]}
    assert list(worth) == ["front", "front 2", "over the sink", "short"]
    assert worth["front"]["idle"] < 0.5
    assert worth["short"]["idle"] == 1
    assert worth["over the sink"]["idle"] > 18 / 46, "at least what lies over the opening"


def test_the_run_that_the_opening_cuts_is_named_with_the_place(judged: Solved) -> None:
    assert entry(judged)["cut_by_opening"] == ["over the sink"]
    (cut,) = entry(judged)["cuts"]
    assert cut["mark"] == "over the sink"
    assert cut["at"] == pytest.approx([24 * INCH, 12 * INCH], abs=1e-3)


def test_its_length_stands_against_the_plans(judged: Solved) -> None:
    assert entry(judged)["length_m"] == pytest.approx((3 * 46 + 3) * INCH)
    plan = judged.answer["steel"]["plan"]
    assert entry(judged)["plan_length_m"] == (None if plan["failures"] else plan["length_m"])


def test_a_layout_with_a_gap_carries_less_than_it_owes(judged: Solved) -> None:
    assert entry(judged)["load_factor"] < 1
    assert not layout_carries(judged.answer)
    assert entry(judged)["binds"]["face"] in ("show", "underside")


def test_what_is_proven_and_drawn_is_the_layout(judged: Solved) -> None:
    layout = drawn(judged)
    assert layout is not None
    assert layout.steel is not None
    assert layout.steel.plan is None
    solved = drawn(solve_case(read_case(with_sink(RAIL, SECOND))))
    assert solved is not None
    assert solved.steel is not None
    assert (solved.steel.plan is None) == bool(judged.answer["steel"]["plan"]["failures"])


def test_it_is_told_run_by_run(judged: Solved) -> None:
    told = " ".join(judged_summary(judged.answer, "us").split())
    for words in (
        "The given layout (four runs, 12 ft)",
        "An opening cuts one.",
        "over the sink (46 in, cut by an opening)",
        "short (3 in) does nothing",
        "weakest on the",
    ):
        assert words in told


def test_the_plan_laid_by_hand_carries_what_the_plan_does() -> None:
    planned = solve_case(read_case(copy.deepcopy(TOP)))
    plan = planned.answer["steel"]["plan"]
    runs = [
        {
            "face": run["face"],
            "points": [[f"{x} m", f"{y} m"] for x, y in run["points"]],
            "depth": f"{run['depth_m']} m",
        }
        for run in plan["runs"]
    ]
    given = copy.deepcopy(TOP)
    given["steel"] |= {"run": runs, "plan": False}
    answer = solve_case(read_case(given), judge=True).answer
    # Points of an answer are rounded to 0.1 mm.
    assert answer["steel"]["judged"]["load_factor"] == pytest.approx(plan["load_factor"], rel=2e-3)
    assert answer["steel"]["plan"] is None
    assert layout_carries(answer)


def test_steel_at_mid_depth_gets_the_strength_it_has() -> None:
    ways = [[[0.5, y], [47.5, y]] for y in range(1, 24, 2)] + [[[x, 0.5], [x, 23.5]] for x in range(1, 48, 2)]
    factors = []
    for depth in (1.0, 0.75):
        case = copy.deepcopy(TOP)
        case["steel"] |= {"plan": False, "run": [{"face": "underside", "points": way, "depth": depth} for way in ways]}
        factors.append(solve_case(read_case(case)).answer["steel"]["judged"]["load_factor"])
    # By hand, d - a / 2 with a = As fy / (0.85 f'c s) = 0.0172 x 70 / (0.85 x 5 x 1.5) = 0.189 in at the closest.
    assert factors[1] / factors[0] == pytest.approx((0.75 - 0.0945) / (1.0 - 0.0945), rel=0.01)


def test_no_layout_is_refused() -> None:
    for case in (TOP, {key: value for key, value in TOP.items() if key != "steel"}):
        with pytest.raises(CaseError, match=r"steel.run: there is no layout to judge"):
            solve_case(read_case(copy.deepcopy(case)), judge=True)


def toml_of(case: dict[str, Any], path: Path) -> Path:
    """The case as a file: JSON is a case file too."""
    path.write_text(json.dumps(case))
    return path


def test_the_command_writes_sheets_and_tells_by_its_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = toml_of(with_sink(RAIL, CUT), tmp_path / "case.json")
    out = tmp_path / "out"
    assert main(["judge", str(case), "--out", str(out), "--no-maps"]) == 1
    told = capsys.readouterr().out
    assert "The given layout (two runs, 8 ft)" in told
    assert f"Written to {out}" in told
    assert {path.name for path in out.iterdir()} == {"result.json", "steel"}
    answer = json.loads((out / "result.json").read_text())
    assert (
        {path.name for path in (out / "steel").iterdir()}
        == {Path(name).name for name in answer["steel"]["files"]}
        >= {"sheet.dxf", "sheet.pdf", "cut-list.csv", "report.pdf"}
    )


def test_the_command_refuses_a_case_without_a_layout(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = toml_of(TOP, tmp_path / "case.json")
    assert main(["judge", str(case), "--out", str(tmp_path / "out")]) == 2
    assert "there is no layout to judge" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.slow
def test_the_maps_of_a_layout_are_drawn(tmp_path: Path) -> None:
    case = toml_of(with_sink(RAIL, plan=False), tmp_path / "case.json")
    assert main(["judge", str(case), "--out", str(tmp_path / "out")]) == 1
    for face in ("show", "underside"):
        assert (tmp_path / "out" / "steel" / f"use.{face}.png").stat().st_size > 10_000


@pytest.fixture(scope="module")
def client() -> Iterator[httpx.Client]:
    """A server that does real work."""
    with serving(Bounds(workers=1)) as one:
        yield one


def test_over_http_a_layout_is_judged_when_asked(client: httpx.Client) -> None:
    case = with_sink(RAIL, CUT, plan=False)
    record = client.post("/api/analyses", params={"wait": 60, "judge": True}, json=case).json()
    assert record["state"] == "done", record["problem"]
    assert record["result"]["steel"]["judged"]["cut_by_opening"] == ["over the sink"]
    listed = client.get(f"/api/analyses/{record['id']}/steel/cut-list.csv")
    assert listed.status_code == 200
    refused = client.post("/api/analyses", params={"judge": True}, json=TOP)
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["where"] == "steel.run"
