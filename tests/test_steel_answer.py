"""The entry `steel` of an answer: what it holds, how it hangs together, its words, its files on disk and over HTTP."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.case import read_case
from api.jobs import Bounds
from api.records import Answer, answer_schema
from api.solve import Solved, solve_case
from api.steel.files import drawn, file_names
from api.steel.words import cracks_words, steel_lines, verdict_of
from api.store import write_result
from api.words import summary
from tests.serving import serving
from tests.steel_cases import TOP

INCH = 0.0254
PLAIN = {key: value for key, value in TOP.items() if key != "steel"}


@pytest.fixture(scope="module")
def top() -> Solved:
    """The plain top, planned."""
    return solve_case(read_case(copy.deepcopy(TOP)))


def entry(solved: Solved) -> dict[str, Any]:
    """Its entry of the answer."""
    found: dict[str, Any] = solved.answer["steel"]
    return found


def test_the_answer_keeps_to_its_grammar(top: Solved) -> None:
    Answer.model_validate(json.loads(json.dumps(top.answer, allow_nan=False)))
    assert "SteelAnswer" in answer_schema()["$defs"]


def test_what_is_owed_is_carried(top: Solved) -> None:
    plan = entry(top)["plan"]
    assert plan["failures"] == []
    assert plan["load_factor"] >= 1, "at those points too at which it was checked"
    assert entry(top)["demand"]["points"] > 2500
    assert plan["bound_m"] <= plan["length_m"] + 1e-9
    assert plan["length_m"] == pytest.approx(sum(run["length_m"] for run in plan["runs"]), rel=1e-9), "none is lapped"
    assert plan["length_m"] < plan["mat"]["length_m"]
    assert plan["saving"] == pytest.approx(1 - plan["length_m"] / plan["mat"]["length_m"])


def test_the_face_that_is_pulled_owes(top: Solved) -> None:
    demand = entry(top)["demand"]
    assert demand["show"] is None
    most = demand["underside"]
    # A strip by hand: 1.2 D on a span of 46 in, and 1.6 x 300 lbf in its middle, spread over its width of 24 in; the
    # plate peaks under the load, by less than twice for one as wide as this (common practice, no source).
    weight = 1.2 * 145 / 1728 * 1.5 * 46**2 / 8
    strip = (weight + 1.6 * 300 * 46 / 4 / 24) * 4.4482216
    assert strip < most["most_Nm_per_m"] < 2 * strip
    assert most["stage"] == "in use, 1.2 D + 1.6 L"
    assert most["place"] == "middle of the slab"
    assert demand["stages"] == ["in use, 1.4 D", "in use, 1.2 D + 1.6 L"]


def test_runs_keep_cover_spacing_and_stock(top: Solved) -> None:
    found = entry(top)
    for run in found["plan"]["runs"]:
        (x0, y0), (x1, y1) = (tuple(value / INCH for value in point) for point in run["points"])
        assert min(x0, x1) >= 0.5 - 1e-2
        assert min(y0, y1) >= 0.5 - 1e-2
        assert max(x0, x1) <= 47.5 + 1e-2
        assert max(y0, y1) <= 23.5 + 1e-2
        half = 0.148 / 2
        depth = run["depth_m"] / INCH
        near = depth - half - 0.5 if run["face"] == "show" else 1.5 - depth - half - 3 / 8
        assert near == pytest.approx(run["layer"] * 0.148, abs=1e-6)
    assert sum(cut["count"] for cut in found["plan"]["cuts"]) == len(found["plan"]["runs"])
    assert found["plan"]["stock_pieces"] * found["steel"]["stock_m"] >= found["plan"]["length_m"]


def test_both_covers_are_answered(top: Solved) -> None:
    found = entry(top)
    assert found["covers"]["show_m"] == pytest.approx(INCH / 2)
    assert found["code_covers"]["show_m"] == pytest.approx(5 * INCH / 8)
    # Common practice, no source: two crossed 9 gauge wires need 0.30 in, and two covers of 5/8 in leave 0.25 of 1.5 in.
    assert found["code_cover"] is None
    assert "more depth" in found["why_no_code_cover"]


def test_at_the_codes_cover_one_layer_carries_less(top: Solved) -> None:
    one_way = copy.deepcopy(TOP)
    one_way["steel"] = {"directions": [0], "owed_above": 0.5}
    one_way["stage"][0]["load"][0]["force"] = "150 lbf"
    found = entry(solve_case(read_case(one_way)))
    assert found["plan"]["load_factor"] > found["code_cover"]["load_factor"] > 0.5
    assert any("5/8 in show face" in line for line in steel_lines(found, "us"))


def test_bends_or_snaps_is_told_with_its_place(top: Solved) -> None:
    found = entry(top)
    assert [(one["stage"], one["face"]) for one in found["bends"]] == [("in use", "underside")]
    assert found["bends"][0]["low"] < found["bends"][0]["high"]
    assert found["if_it_cracks"] == verdict_of(found["bends"])
    assert found["if_it_cracks_words"] in top.answer["verdict"]["sentences"]


HARD: dict[str, Any] = {"stage": "use", "face": "underside", "place": "middle of the slab", "use_of_cracking": 0.9}
LESS: dict[str, Any] = {"stage": "carry", "face": "show", "place": "the inner corner", "use_of_cracking": 0.4}
SNAPS = {"verdict": "snaps", "low": 0.4, "high": 0.8}
BENDS = {"verdict": "bends", "low": 1.2, "high": 2.0}
UNSURE = {"verdict": "not sure", "low": 0.7, "high": 1.3}
NONE = {"verdict": "no steel", "low": 0.0, "high": 0.0}
WHERE = "(use, underside, middle of the slab: the steel holds"


@pytest.mark.parametrize(
    ("bends", "verdict", "words"),
    [
        (
            [HARD | BENDS],
            "bends",
            f"If it cracks: it bends, though the wire may sit 3/8 in off {WHERE} 1.2 to 2 of what the crack lets go).",
        ),
        (
            [LESS | NONE, HARD | BENDS],
            "bends",
            f"If it cracks: it bends, though the wire may sit 3/8 in off {WHERE} 1.2 to 2 of what the crack lets go). "
            "Where it is pulled less it would snap: carry (show face).",
        ),
        (
            [LESS | BENDS, HARD | SNAPS],
            "snaps",
            f"If it cracks: it snaps, wherever the wire sits {WHERE} 0.4 to 0.8 of what the crack lets go).",
        ),
        (
            [HARD | UNSURE, LESS | BENDS],
            "not sure",
            f"If it cracks: not sure, the wire may sit 3/8 in off {WHERE} 0.7 to 1.3 of what the crack lets go).",
        ),
        (
            [HARD | NONE],
            "snaps",
            "If it cracks: it snaps (use, underside, middle of the slab: no steel runs across the crack there).",
        ),
        ([], None, ""),
    ],
)
def test_what_happens_if_it_cracks_in_words(bends: list[dict[str, Any]], verdict: str | None, words: str) -> None:
    assert verdict_of(bends) == verdict
    assert cracks_words(bends, 3 * INCH / 8, "us") == words


def test_steel_lowers_no_colour(top: Solved) -> None:
    bare = solve_case(read_case(copy.deepcopy(PLAIN)))
    assert top.answer["stages"] == bare.answer["stages"], "pull and paths are those of the slab without it"
    assert any("Steel lowers no colour" in one for one in top.answer["verdict"]["sentences"])
    assert bare.answer["steel"] is None
    assert "what the steel does once it has cracked" in bare.answer["verdict"]["not_checked"]
    assert "what the steel does once it has cracked" not in top.answer["verdict"]["not_checked"]


def test_the_terminal_tells_the_plan(top: Solved) -> None:
    told = " ".join(summary(top.answer, "us").split())
    for words in (
        "If it cracks:",
        "runs of 9 gauge wire",
        "times what is owed",
        "The plan binds on the underside",
        "Cut ",
    ):
        assert words in told
    assert "nan" not in told.lower()


def test_all_that_is_assumed_of_it_stands_in_the_answer(top: Solved) -> None:
    where = {one["where"] for one in top.answer["assumed"]}
    assert where >= {"steel.use", "steel.cover.show", "steel.owed_above", "steel.placing", "stage[0].factored"}
    assert "steel.directions" not in where


def test_a_plan_that_cannot_be_says_so_and_draws_no_sheet() -> None:
    weak = copy.deepcopy(TOP)
    weak["stage"][0]["load"][0]["force"] = "3000 lbf"
    solved = solve_case(read_case(weak))
    plan = entry(solved)["plan"]
    assert plan["failures"]
    assert plan["load_factor"] < 1
    assert "No plan of 9 gauge wire carries what is owed" in " ".join(solved.answer["verdict"]["sentences"])
    assert drawn(solved) is None
    assert file_names(solved) == ("steel/report.pdf",)


def test_a_piece_that_always_tips_has_no_steel_and_a_reason() -> None:
    tips = copy.deepcopy(TOP)
    tips["stage"][0]["support"][1]["points"] = [[4, 0], [4, 24]]
    answer = solve_case(read_case(tips)).answer
    assert answer["steel"] is None
    assert [one["what"] for one in answer["warnings"] if one["where"] == "steel"] == [
        "every stage tips: without balance nothing tells what steel owes, and it cures no tipping"
    ]
    assert "steel" in summary(answer, "us")


def test_where_nothing_is_owed_nothing_is_planned() -> None:
    light = copy.deepcopy(TOP)
    light["stage"][0]["load"] = []
    light["steel"]["owed_above"] = 1
    found = entry(solve_case(read_case(light)))
    assert (found["demand"]["show"], found["demand"]["underside"]) == (None, None)
    assert found["plan"]["runs"] == []
    assert found["plan"]["load_factor"] is None
    assert found["if_it_cracks"] is None


def test_files_on_disk_are_those_that_the_answer_names(top: Solved, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write_result(top, out)
    answer = json.loads((out / "result.json").read_text())
    written = {path.relative_to(out).as_posix() for path in (out / "steel").iterdir()}
    assert written == set(answer["steel"]["files"])
    assert {"steel/sheet.dxf", "steel/sheet.pdf", "steel/cut-list.csv", "steel/report.pdf"} <= written
    assert (out / "steel" / "report.pdf").read_bytes().startswith(b"%PDF")
    write_result(top, out)  # a folder of ours is replaced, its steel included


def test_a_case_without_steel_loads_nothing_of_it() -> None:
    script = (
        "import sys, json\n"
        "from api.case import read_case\n"
        "from api.solve import solve_case\n"
        f"solve_case(read_case(json.loads({json.dumps(PLAIN)!r})))\n"
        "heavy = ('fem.steel.planning', 'api.steel.laying', 'ezdxf', 'typst', 'api.sheet.writing')\n"
        "print(sorted(set(heavy) & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=120)
    assert done.stdout.strip() == "[]"


@pytest.fixture(scope="module")
def client() -> Iterator[httpx.Client]:
    """A server that does real work."""
    with serving(Bounds(workers=1)) as one:
        yield one


def test_over_http_the_answer_and_its_files(client: httpx.Client, top: Solved) -> None:
    record = client.post("/api/analyses", params={"wait": 60}, json=TOP).json()
    assert record["state"] == "done", record["problem"]
    result = record["result"]
    assert result["hash"] == top.answer["hash"]
    assert result["steel"]["plan"]["length_m"] == pytest.approx(entry(top)["plan"]["length_m"])
    begins = {"sheet.dxf": b"  0\n", "sheet.pdf": b"%PDF", "sheet-1.svg": b"<", "report.pdf": b"%PDF"}
    begins |= {"cut-list.csv": b"", "use.underside.png": b"\x89PNG"}
    assert {f"steel/{name}" for name in begins} <= set(result["steel"]["files"])
    for name, begin in begins.items():
        response = client.get(f"/api/analyses/{record['id']}/steel/{name}")
        assert response.status_code == 200, response.text
        assert response.content.startswith(begin)
        assert len(response.content) > 40
    assert client.get(f"/api/analyses/{record['id']}/steel/sheet-1.svg").headers["content-type"] == "image/svg+xml"
    missing = client.get(f"/api/analyses/{record['id']}/steel/../../secret")
    assert missing.status_code == 404
    unknown = client.get(f"/api/analyses/{record['id']}/steel/sheet.exe")
    assert unknown.status_code == 404
    assert "sheet.pdf" in unknown.json()["detail"]


def test_over_http_no_steel_has_no_files_and_a_drawing_is_refused(client: httpx.Client) -> None:
    record = client.post("/api/analyses", params={"wait": 60}, json=PLAIN).json()
    refused = client.get(f"/api/analyses/{record['id']}/steel/sheet.pdf")
    assert refused.status_code == 404
    assert "nothing was laid" in refused.json()["detail"]
    layout = {"file": "layout.dxf", "face": "show"}
    wrong = client.post("/api/analyses", json=TOP | {"steel": {"layout": layout}})
    assert wrong.status_code == 422
    assert wrong.json()["errors"][0]["where"] == "steel.layout.file"
