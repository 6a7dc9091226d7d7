"""A folder of cases: one line and one folder a case, whatever happens to its neighbours."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from api.batch import find_cases, run_batch
from api.command import main
from api.errors import CaseError
from tests.processes import gone

HOLDS = """
case = 1
title = "A small slab"
units = "si"
[slab]
thickness = 0.04
outline = [[0, 0], [0.8, 0], [0.8, 0.5], [0, 0.5]]
[concrete]
density = 2400
compressive_strength = 40e6
[[stage]]
name = "rest"
age = 28
up = "show"
support = [
    { name = "left", kind = "line", points = [[0.05, 0.02], [0.05, 0.48]], action = "rest" },
    { name = "right", kind = "line", points = [[RIGHT, 0.02], [RIGHT, 0.48]], action = "rest" },
]
"""

FRAGILE = """
import os, signal, time
from api.tasks import solve_file as solve

def solve_file(file, name, target, maps, progress):
    if "dies" in name:
        from api.result_folder import replaced_folder
        with replaced_folder(target):
            os.kill(os.getpid(), signal.SIGKILL)
    if "fails" in name:
        raise ZeroDivisionError("a bug")
    return solve(file, name, target, maps, progress)
"""


def write(file: Path, right: float = 0.75, text: str = HOLDS) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text.replace("RIGHT", str(right)), encoding="utf-8")


def table(out: Path) -> list[dict[str, str]]:
    with (out / "summary.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_all_hold(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(tmp_path / "cases" / "a.toml")
    write(tmp_path / "cases" / "deep" / "b.toml")
    assert main(["batch", str(tmp_path / "cases"), "--out", str(tmp_path / "out"), "--no-maps"]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    first, second, last = printed.out.splitlines()
    assert first.startswith("a.toml: holds. Rest holds: the pull is 0.") or first.startswith(
        "a.toml: holds. Rest holds"
    )
    assert second.startswith("deep/b.toml: holds. ")
    assert last.startswith("2 of 2 cases hold; ")
    assert json.loads((tmp_path / "out" / "deep" / "b" / "result.json").read_text())["answer"] == 1
    assert [row["case"] for row in table(tmp_path / "out")] == ["a.toml", "deep/b.toml"]


def test_one_that_fails_does_not_stop_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fragile_batch.py").write_text(FRAGILE)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr("api.batch.SOLVE", "fragile_batch:solve_file")
    cases, out = tmp_path / "cases", tmp_path / "out"
    for name in ("a", "b-dies", "c-fails", "d"):
        write(cases / f"{name}.toml")
    write(cases / "e-bad.toml", text=HOLDS.replace("0.04", "-0.04").replace('"show"', '"down"'))
    write(cases / "f-tips.toml", right=0.1)
    write(cases / "g.toml", text="case = ")
    assert main(["batch", str(cases), "--out", str(out), "--no-maps", "--jobs", "2"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("a.toml: holds.")
    assert lines[1].startswith("b-dies.toml: NO ANSWER. the process that worked on it was ended by SIGKILL")
    assert lines[2] == "c-fails.toml: NO ANSWER. ZeroDivisionError: a bug"
    assert lines[3].startswith("d.toml: holds.")
    assert lines[4].startswith("e-bad.toml: NO ANSWER. slab.thickness: ")
    assert lines[4].endswith("(and 1 more)")
    assert lines[5].startswith("f-tips.toml: TIPS. Rest does not stand: it tips about support 'right'; ")
    assert lines[6].startswith("g.toml: NO ANSWER. the file g.toml cannot be understood")
    assert lines[7].startswith("2 of 7 cases hold;")

    problem = json.loads((out / "e-bad" / "problem.json").read_text())
    assert problem["title"] == "The case is wrong"
    assert [fault["where"] for fault in problem["errors"]] == ["slab.thickness", "stage[0].up"]
    assert sorted(entry.name for entry in out.iterdir()) == sorted(
        ["a", "b-dies", "c-fails", "d", "e-bad", "f-tips", "g", "summary.csv"]
    )
    rows = {row["case"]: row for row in table(out)}
    assert rows["a.toml"]["status"] == "holds"
    assert float(rows["a.toml"]["peak_Pa"]) > float(rows["a.toml"]["error_Pa"]) > 0
    assert rows["f-tips.toml"]["status"] == "tips"
    assert rows["f-tips.toml"]["peak_Pa"] == ""
    assert "SIGKILL" in rows["b-dies.toml"]["problem"]


def test_a_second_run_replaces_results_by_problems_and_back(tmp_path: Path) -> None:
    cases, out = tmp_path / "cases", tmp_path / "out"
    lines: list[str] = []
    for text in (HOLDS, "nonsense", HOLDS):
        write(cases / "a.toml", text=text)
        run_batch(cases, out, jobs=1, maps=False, say=lines.append)
        names = sorted(entry.name for entry in (out / "a").iterdir())
        assert names == (["problem.json"] if text == "nonsense" else ["fields", "result.json"])


def test_somebody_elses_folder_is_kept_and_told(tmp_path: Path) -> None:
    lines: list[str] = []
    write(tmp_path / "cases" / "a.toml")
    (tmp_path / "out" / "a").mkdir(parents=True)
    (tmp_path / "out" / "a" / "notes.txt").write_text("mine")
    assert not run_batch(tmp_path / "cases", tmp_path / "out", jobs=1, maps=False, say=lines.append)
    assert "holds what this program did not write: notes.txt" in lines[0]
    assert [entry.name for entry in (tmp_path / "out" / "a").iterdir()] == ["notes.txt"]


def test_results_may_lie_among_the_cases(tmp_path: Path) -> None:
    write(tmp_path / "a.toml")
    for out in (tmp_path / "out", tmp_path):
        (tmp_path / "out").mkdir(exist_ok=True)
        (tmp_path / "out" / "stray.toml").write_text("")
        found = [task.name for task in find_cases(tmp_path, out)]
        assert found == (["a.toml"] if out != tmp_path else ["a.toml", "out/stray.toml"])


def test_names_that_would_share_a_folder_are_told(tmp_path: Path) -> None:
    for name in ("a.toml", "A.toml", "b.toml", "b/c.toml", "d.TOML"):
        write(tmp_path / name)
    tasks = {task.name: task.obstacle for task in find_cases(tmp_path, tmp_path / "out")}
    assert tasks["A.toml"] == ""
    assert tasks["a.toml"] == "its result folder would be that of A.toml: rename one of them"
    assert tasks["b.toml"] == "its result folder would hold that of b/c.toml: rename one of them"
    assert tasks["b/c.toml"] == tasks["d.TOML"] == ""


def test_links_in_a_circle_and_hidden_folders_are_not_entered(tmp_path: Path) -> None:
    write(tmp_path / "deep" / "a.toml")
    write(tmp_path / ".git" / "b.toml")
    (tmp_path / "deep" / "round").symlink_to(tmp_path)
    (tmp_path / "linked.toml").symlink_to(tmp_path / "deep" / "a.toml")
    assert [task.name for task in find_cases(tmp_path, tmp_path / "out")] == ["deep/a.toml", "linked.toml"]


def test_calls_that_make_no_sense(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty, file = tmp_path / "empty", tmp_path / "file"
    empty.mkdir()
    file.write_text("")
    for folder, out, told in (
        (tmp_path / "none", tmp_path / "out", "does not exist"),
        (file, tmp_path / "out", "is no folder"),
        (empty, tmp_path / "out", "no .toml file"),
        (empty, file, "is a file"),
    ):
        assert main(["batch", str(folder), "--out", str(out)]) == 2
        assert told in capsys.readouterr().err
    assert main(["batch", str(empty), "--out", "x", "--jobs", "0"]) == 2


def test_a_table_that_is_not_ours_is_kept(tmp_path: Path) -> None:
    write(tmp_path / "cases" / "a.toml")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "summary.csv").write_text("my,own,table\n")
    with pytest.raises(CaseError, match="not a table of this program"):
        run_batch(tmp_path / "cases", tmp_path / "out", jobs=1, maps=False)
    assert (tmp_path / "out" / "summary.csv").read_text() == "my,own,table\n"


def test_an_interruption_ends_the_workers_and_leaves_whole_results(tmp_path: Path, project: Path) -> None:
    for k in range(30):
        write(tmp_path / "cases" / f"{k:02}.toml")
    code = f"import sys; sys.path[0] = {str(project)!r}; from api.command import main; sys.exit(main())"
    args = ["batch", tmp_path / "cases", "--out", tmp_path / "out", "--no-maps", "--jobs", "2"]
    with subprocess.Popen(
        [sys.executable, "-c", code, *map(str, args)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        process.stdout.readline()
        workers = _children(process.pid)
        os.kill(process.pid, signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "interrupted" in errors
    assert workers
    assert all(gone(pid) for pid in workers)
    entries = list((tmp_path / "out").iterdir())
    assert entries
    assert not [entry for entry in entries if entry.name.startswith(".")]
    assert all((entry / "result.json").exists() for entry in entries)


def _children(pid: int) -> list[int]:
    """Processes that any thread of a process has started."""
    lists = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(child) for one in lists for child in one.read_text().split()]
