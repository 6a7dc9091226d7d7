"""The result folder: whole or not there, ours replaced, anybody else's refused."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from api.errors import CaseError
from api.result_folder import check_target, remove_leftovers, replaced_folder, write_json


def fill(out: Path, **data: object) -> None:
    with replaced_folder(out) as folder:
        write_json(folder / "result.json", {"answer": 1} | data)
        (folder / "maps").mkdir()
        (folder / "maps" / "a.show.png").write_bytes(b"png")


def test_a_folder_is_made_with_its_parents_and_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    fill(out, old=True)
    (out / "maps" / "gone.show.png").write_bytes(b"png")
    fill(out, new=True)
    assert json.loads((out / "result.json").read_text()) == {"answer": 1, "new": True}
    assert [file.name for file in (out / "maps").iterdir()] == ["a.show.png"]
    assert [entry.name for entry in out.parent.iterdir()] == ["b"]


def test_an_empty_folder_may_be_used(tmp_path: Path) -> None:
    fill(tmp_path / "new")
    (tmp_path / "empty").mkdir()
    fill(tmp_path / "empty")
    assert (tmp_path / "empty" / "result.json").exists()


@pytest.mark.parametrize("name", ["notes.txt", "maps/mine.txt", "maps/plan.png", ".hidden", "result.json"])
def test_what_we_did_not_write_is_not_lost(tmp_path: Path, name: str) -> None:
    out = tmp_path / "out"
    file = out / name
    file.parent.mkdir(parents=True)
    file.write_text('{"somebody": "else"}')
    with pytest.raises(CaseError, match="holds what this program did not write"):
        fill(out)
    assert file.read_text() == '{"somebody": "else"}'


def test_a_strange_file_beside_our_own_is_not_lost(tmp_path: Path) -> None:
    out = tmp_path / "out"
    fill(out)
    for name in ("notes.txt", "maps/notes.txt"):
        (out / name).write_text("mine")
        with pytest.raises(CaseError, match=name):
            fill(out)
        (out / name).unlink()
    fill(out)


def test_a_file_that_comes_while_we_work_is_not_lost(tmp_path: Path) -> None:
    out = tmp_path / "out"
    fill(out, old=True)

    def meddle() -> None:
        with replaced_folder(out) as folder:
            write_json(folder / "result.json", {"answer": 1})
            (out / "notes.txt").write_text("mine")

    with pytest.raises(CaseError, match="notes"):
        meddle()
    assert (out / "notes.txt").read_text() == "mine"
    assert json.loads((out / "result.json").read_text())["old"]
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_an_error_leaves_the_old_result_and_nothing_else(tmp_path: Path, error: type[BaseException]) -> None:
    def break_off(out: Path) -> None:
        with replaced_folder(out) as folder:
            (folder / "half").write_text("half")
            raise error

    fill(tmp_path / "out", old=True)
    with pytest.raises(error):
        break_off(tmp_path / "out")
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]
    with pytest.raises(error):
        break_off(tmp_path / "x" / "y" / "out")
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_places_that_cannot_become_a_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CaseError, match="is a file"):
        check_target(tmp_path / "file")
    with pytest.raises(CaseError, match="is not a folder"):
        check_target(tmp_path / "file" / "out")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(CaseError, match="link to nothing"):
        check_target(tmp_path / "link")
    with pytest.raises(CaseError, match="mount"):
        check_target(Path("/proc"))


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    fill(tmp_path / "real")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    fill(tmp_path / "link", new=True)
    assert (tmp_path / "link").is_symlink()
    assert json.loads((tmp_path / "real" / "result.json").read_text())["new"]


def test_what_a_killed_process_left_is_taken_away(tmp_path: Path) -> None:
    (tmp_path / ".out.123.part").mkdir()
    (tmp_path / ".out.123.old").mkdir()
    (tmp_path / ".out.123.old" / "result.json").write_text("{}")
    (tmp_path / ".out.124.part").mkdir()
    remove_leftovers(tmp_path / "out", 123)
    assert sorted(os.listdir(tmp_path)) == [".out.124.part", "out"]


def test_json_has_no_nan(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        write_json(tmp_path / "x.json", {"a": float("nan")})
