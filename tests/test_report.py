"""The calculation report: a PDF of every section, on the right paper, the same bytes each time, proof against texts."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from api.case import load_case
from api.report import ReportError, write_report
from api.report.writing import report_data
from api.solve import Solved, solve_case
from tests.report_samples import invented_steel, with_steel

HOSTILE = 'Top #panic("x") $x$ \\ "quoted" *b* _e_ `c` <label> @ref // /* ~ -- ' + "W" * 400 + "\u202e\u0007 ü 漢"
PAPER = {"us": (612.0, 792.0), "si": (595.28, 841.89)}


@pytest.fixture(scope="module", params=["odd-island-us", "odd-island-si"])
def solved(request: pytest.FixtureRequest, project: Path) -> Solved:
    """One piece in both systems of units, with steel made by hand."""
    plain = solve_case(load_case(project / "cases" / f"{request.param}.toml"), advice=False)
    return with_steel(plain, invented_steel(plain))


@pytest.fixture(scope="module")
def data(solved: Solved) -> dict[str, Any]:
    """What the template lays out of it."""
    return report_data(solved, {"A map": "map0.png"})


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("maps") / "a map.png"
    Image.new("RGB", (40, 30), "grey").save(file)
    return file


def texts(entry: Any) -> Iterator[str]:
    """Every string in data."""
    if isinstance(entry, str):
        yield entry
    elif isinstance(entry, dict):
        for value in entry.values():
            yield from texts(value)
    elif isinstance(entry, list):
        for value in entry:
            yield from texts(value)


def sections(data: dict[str, Any]) -> list[str]:
    return [block["text"] for block in data["blocks"] if block["kind"] == "heading" and block["level"] == 1]


def test_a_report_is_written_on_the_paper_of_its_units(solved: Solved, picture: Path, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    write_report(solved, file, {"A map": picture})
    page = file.read_bytes()
    assert page.startswith(b"%PDF")
    boxes = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", page)
    assert len(boxes) >= 6
    for wide, high in boxes:
        assert (float(wide), float(high)) == pytest.approx(PAPER[solved.case.units], abs=0.01)
    assert b"CreationDate" not in page
    assert b"ModDate" not in page
    write_report(solved, tmp_path / "again.pdf", {"A map": picture})
    assert (tmp_path / "again.pdf").read_bytes() == page


def test_it_has_every_section_in_order(data: dict[str, Any]) -> None:
    assert sections(data) == [
        "What was assumed",
        "The slab",
        "Concrete",
        "Loads, supports and factors",
        "Does it crack?",
        "The steel",
        "What is owed",
        "Checks, one by one",
        "If it cracks: does it bend or snap?",
        "The plan",
        "At the code's cover",
        "The layout of the case",
        "Cautions",
        "Maps",
    ]


def test_every_check_is_told_with_clause_result_and_answer(solved: Solved, data: dict[str, Any]) -> None:
    blocks = [block for block in data["blocks"] if block["kind"] == "check"]
    assert [(block["name"], block["state"]) for block in blocks] == [
        ("depth of the stress block", "value"),
        ("section strength", "pass"),
        ("anchorage", "value"),
        ("spacing", "pass"),
        ("fit", "fail"),
    ]
    assert blocks[1]["clause"] == "ACI 318-19 22.3, 21.2.2"
    bar = "± 2.6" if solved.case.units == "us" else "± 12"
    assert any(bar in text for text in texts(blocks[1]["result"]))
    assert "thinner cover" in blocks[4]["note"]


def test_every_stage_and_face_has_its_pull_with_bar_and_allowed(solved: Solved, data: dict[str, Any]) -> None:
    table = next(b for b in data["blocks"] if b["kind"] == "table" and b["columns"][1]["head"] == "face")
    assert len(table["rows"]) == 2 * len(solved.piece.stages)
    for row in table["rows"]:
        pull, allowed = row[2]["cell"], row[3]["cell"]
        assert "±" in pull or pull == "none"
        assert float(allowed) > 0


def test_supports_are_told_with_their_sum(solved: Solved, data: dict[str, Any]) -> None:
    """The sum of what supports bear is the factored weight: here, 1.3 x 2310 N = 3010 N (stage 1)."""
    rows = [row for block in data["blocks"] if block["kind"] == "facts" for row in block["rows"]]
    bear = next(row["value"] for row in rows if row["label"] == "they bear")
    words = list(texts(bear))
    assert words[-2:] == ["; together ", "676 lbf" if solved.case.units == "us" else "3010 N"]


def test_runs_are_listed_and_drawn(solved: Solved, data: dict[str, Any]) -> None:
    assert solved.steel is not None
    assert solved.steel.plan is not None
    marks = {run.mark for run in solved.steel.plan.runs}
    table = next(b for b in data["blocks"] if b["kind"] == "table" and b["columns"][0]["head"] == "mark")
    assert {row[0]["cell"]["bold"] for row in table["rows"]} == marks
    drawings = [block for block in data["blocks"] if block["kind"] == "drawing"]
    drawn = {item["text"] for drawing in drawings for item in drawing["items"] if "text" in item}
    assert marks <= drawn
    assert "FRONT EDGE" in drawn


def test_hostile_texts_are_words_and_nothing_else(solved: Solved, tmp_path: Path) -> None:
    case = solved.case.model_copy(update={"title": HOSTILE})
    stages = (replace(solved.piece.stages[0], name=HOSTILE), *solved.piece.stages[1:])
    steel = solved.steel
    assert steel is not None
    check = replace(steel.checks[0], name=HOSTILE, place=HOSTILE, formula=HOSTILE, note=HOSTILE, clause=HOSTILE)
    hostile = replace(
        solved,
        case=case,
        piece=replace(solved.piece, stages=stages),
        steel=replace(
            steel, steel=replace(steel.steel, name=HOSTILE, source=HOSTILE), checks=(check,), notes=(HOSTILE,)
        ),
    )
    write_report(hostile, tmp_path / "hostile.pdf", {})
    assert (tmp_path / "hostile.pdf").read_bytes().startswith(b"%PDF")


def test_a_slab_without_steel_has_a_report_too(solved: Solved, tmp_path: Path) -> None:
    plain = replace(solved, steel=None)
    assert "The plan" not in sections(report_data(plain, {}))
    write_report(plain, tmp_path / "plain.pdf")
    assert (tmp_path / "plain.pdf").stat().st_size > 10_000


def test_a_plan_that_is_none_says_why(solved: Solved) -> None:
    steel = solved.steel
    assert steel is not None
    assert steel.plan is not None
    failed = replace(steel.plan, runs=(), failures=("no run fits",), mat=None, cuts=())
    data = report_data(replace(solved, steel=replace(steel, plan=failed, code_cover=None, judged=None)), {})
    words = list(texts(data))
    assert "No run fits" in words
    assert "No plan carries what is owed." in words


def test_data_is_plain_and_finite(data: dict[str, Any]) -> None:
    json.dumps(data, allow_nan=False)


def test_a_map_that_is_no_picture_is_an_error(solved: Solved, tmp_path: Path) -> None:
    (tmp_path / "bad.png").write_text("this is no picture")
    with pytest.raises(ReportError, match="could not be laid out"):
        write_report(solved, tmp_path / "report.pdf", {"bad": tmp_path / "bad.png"})
    assert not (tmp_path / "report.pdf").exists()
