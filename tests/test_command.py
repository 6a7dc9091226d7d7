"""The command line as a shop would use it: real solves of small slabs, in processes of their own where that matters."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from api.command import main
from api.records import Answer

SLAB = """
case = 1
title = "A small slab"
units = "us"

[slab]
thickness = 1.5
outline = [[0, 0], [30, 0], [30, 20], [0, 20]]

[concrete]
density = 145
compressive_strength = 5000

[[stage]]
name = "rest"
age = 28
up = "show"

[[stage.support]]
name = "left"
kind = "line"
points = [[2, 1], [2, 19]]
action = "rest"

[[stage.support]]
name = "right"
kind = "line"
points = [[RIGHT, 1], [RIGHT, 19]]
action = "rest"
"""
HOLDS, TIPS = SLAB.replace("RIGHT", "28"), SLAB.replace("RIGHT", "8")
CRACKS = HOLDS + '\n[[stage.load]]\nname = "engine"\nkind = "point"\nat = [15, 10]\nsize = 4\nforce = "2000 lbf"\n'

Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a case file and return its path."""

    def written(text: str) -> Path:
        file = tmp_path / "slab.toml"
        file.write_text(text, encoding="utf-8")
        return file

    return written


def tensionlay(*args: str | Path, cwd: Path | None = None, project: Path) -> subprocess.Popen[str]:
    """The program in a process of its own, started as the installed one: the working folder is not searched."""
    code = f"import sys; sys.path[0] = {str(project)!r}; from api.command import main; sys.exit(main())"
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)],
        cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


@pytest.mark.parametrize(("text", "code", "status"), [(HOLDS, 0, "holds"), (CRACKS, 1, "cracks"), (TIPS, 1, "tips")])
def test_solve_says_by_its_exit_code_whether_all_holds(
    write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, code: int, status: str
) -> None:
    out = tmp_path / "out"
    assert main(["solve", str(write(text)), "--out", str(out), "--no-maps"]) == code
    answer = json.loads((out / "result.json").read_text())
    assert Answer.model_validate(answer).stages[0].status == status
    printed = capsys.readouterr()
    assert printed.err == ""
    assert printed.out.startswith("A small slab: 1.5 in thick, 76 lb\n")
    for part in ("Assumed:", "Not checked: a drop or a knock", "a licensed engineer decide", f"Written to {out}"):
        assert part in printed.out
    assert [entry.name for entry in tmp_path.iterdir() if entry.name.startswith(".")] == []


def test_a_strip_between_two_lines_agrees_with_beam_theory(write: Write, tmp_path: Path) -> None:
    """The weight between two lines 26 in apart, w L2 / 8 less the overhangs' w c2 / 2 (statics), pulls the underside.

    Free along both sides it bends like a wide beam, whose middle carries up to nu of its moment across: the pull lies
    within some percent of the beam's.
    """
    out = tmp_path / "out"
    main(["solve", str(write(HOLDS)), "--out", str(out), "--no-maps"])
    peak = json.loads((out / "result.json").read_text())["stages"][0]["peak"]["underside"]
    weight = 145 / 12**3 * 1.5  # psi
    moment = weight * (26**2 / 8 - 2**2 / 2)
    assert peak["tension_Pa"] / 6894.757 == pytest.approx(6 * moment / 1.5**2, rel=0.08)


def test_the_answer_reads_the_case_it_carries(write: Write, tmp_path: Path) -> None:
    out, again = tmp_path / "out", tmp_path / "again"
    main(["solve", str(write(HOLDS)), "--out", str(out), "--no-maps"])
    first = json.loads((out / "result.json").read_text())
    file = tmp_path / "again.json"
    file.write_text(json.dumps(first["case"]))
    assert main(["solve", str(file), "--out", str(again), "--no-maps"]) == 0
    second = json.loads((again / "result.json").read_text())
    assert second["hash"] == first["hash"]
    assert second["stages"] == first["stages"]


def test_every_fault_is_told_at_once(write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = HOLDS.replace("thickness = 1.5", "thickness = -1.5").replace('up = "show"', 'up = "down"')
    assert main(["solve", str(write(text)), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert told.startswith("2 things to put right:\n")
    assert "  slab.thickness\n    a thickness must be more than 0" in told
    assert "  stage[0].up\n" in told
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("args", [["solve"], ["solve", "x.toml"], ["bake"], ["solve", "x", "--out", "y", "--fast"], []])
def test_a_wrong_call_is_exit_code_2(args: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(args) == 2
    assert "Usage: tensionlay" in capsys.readouterr().err


def test_a_case_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["solve", str(tmp_path / "none.toml"), "--out", str(tmp_path / "out")]) == 2
    assert "none.toml does not exist" in capsys.readouterr().err


def test_a_failure_of_the_program_is_one_line_or_a_traceback(
    write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: Any, **others: Any) -> None:
        raise ZeroDivisionError("a bug\nof two lines")

    monkeypatch.setattr("api.store.solve_case", fail)
    args = ["solve", str(write(HOLDS)), "--out", str(tmp_path / "out")]
    assert main(args) == 3
    assert capsys.readouterr().err == "tensionlay failed: ZeroDivisionError: a bug (--debug shows where)\n"
    assert main([*args, "--debug"]) == 3
    assert "Traceback" in capsys.readouterr().err
    monkeypatch.setenv("TENSIONLAY_DEBUG", "1")
    assert main(args) == 3
    assert "Traceback" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_schemas_are_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    assert "slab" in json.loads(capsys.readouterr().out)["properties"]
    assert main(["schema", "--answer"]) == 0
    assert "stages" in json.loads(capsys.readouterr().out)["properties"]


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert main(["solve", "--help"]) == 0
    assert "Exit code" in capsys.readouterr().out
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("tensionlay, version ")


def test_a_reader_that_goes_away_is_no_failure(write: Write, tmp_path: Path, project: Path) -> None:
    process = tensionlay("schema", project=project)
    with process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == ""
        assert process.wait(60) == 0


def test_a_decoy_beside_the_case_is_not_imported(write: Write, tmp_path: Path, project: Path) -> None:
    for name in ("api", "fem", "meshing"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text("raise SystemExit('the decoy was imported')")
    cases = tmp_path / "cases"
    cases.mkdir()
    (cases / "a.toml").write_text(HOLDS)
    for args in (["solve", "cases/a.toml", "--out", "one"], ["batch", "cases", "--out", "all", "--jobs", "1"]):
        with tensionlay(*args, "--no-maps", cwd=tmp_path, project=project) as process:
            _, errors = process.communicate(timeout=120)
            assert (process.returncode, errors) == (0, "")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interruption_leaves_nothing_behind(project: Path, tmp_path: Path, number: int) -> None:
    out = tmp_path / "deep" / "out"
    case = project / "cases" / "l-island-with-sink.toml"
    with tensionlay("solve", case, "--out", out, project=project) as process:
        time.sleep(1.0)
        os.kill(process.pid, number)
        _, errors = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "interrupted" in errors
    assert list(tmp_path.iterdir()) == []


# Late enough that the mesher, which puts its own signal handlers in place, has been and gone.
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interruption_while_maps_are_drawn_leaves_nothing_behind(project: Path, tmp_path: Path, number: int) -> None:
    out = tmp_path / "deep" / "out"
    case = project / "cases" / "l-island-with-sink.toml"
    with tensionlay("solve", case, "--out", out, project=project) as process:
        assert process.stderr is not None
        assert any("drawing the maps" in line for line in process.stderr)
        os.kill(process.pid, number)
        _, errors = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "interrupted" in errors
    assert list(tmp_path.iterdir()) == []


def test_startup_needs_nothing_heavy(project: Path) -> None:
    code = "import sys, api.command; print(*sorted(sys.modules))"
    loaded = subprocess.run(
        [sys.executable, "-c", code], cwd=project, capture_output=True, text=True, check=True
    ).stdout
    heavy = {"numpy", "scipy", "pydantic", "pint", "shapely", "gmsh", "pyvista", "vtkmodules", "fastapi", "uvicorn"}
    assert heavy.isdisjoint(loaded.split())
