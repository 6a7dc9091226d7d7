"""A result on disk: a folder that is either whole or not there.

Everything is written into a hidden folder beside the target and renamed at the end. A folder that this program wrote is
replaced; one that holds anything else is refused, so that nobody's files are lost.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from api.errors import CaseError, Problem

__all__ = ["LIFE", "SHAPE", "check_target", "remove_leftovers", "replaced_folder", "write_json"]

LIFE, SHAPE = "life", "shape"
"""Pictures are maps/{stage id}.{face}.png: the whole life stands as a stage, a stage's bent shape as a face."""
OURS = {
    "result.json": (),
    "problem.json": (),
    "maps": (".png",),
    "fields": (".vtu",),
    "steel": (".dxf", ".pdf", ".svg", ".csv", ".png"),
}
"""What a result folder may hold: files, or folders with the endings of what lies in them."""


def check_target(out: Path) -> None:
    """CaseError if out cannot become a result folder: a file, a mount, or a folder with things that are not ours."""
    if out.is_symlink() and not out.exists():
        raise _refused(out, "is a link to nothing", "remove the link or give another folder")
    if not out.exists():
        parent = next(folder for folder in out.absolute().parents if folder.exists())
        if not parent.is_dir():
            raise _refused(out, f"cannot be made: {parent} is not a folder", "give another folder")
        if not os.access(parent, os.W_OK | os.X_OK):
            raise _refused(out, f"cannot be made: no right to write in {parent}", "give another folder")
        return
    if not out.is_dir():
        raise _refused(out, "is a file", "give a folder that does not exist yet")
    target = out.resolve()
    if target.is_mount():
        raise _refused(out, "is a mount and cannot be replaced", f"give a folder inside it: {out / 'result'}")
    if not os.access(target.parent, os.W_OK | os.X_OK):
        raise _refused(out, f"cannot be replaced: no right to write in {target.parent}", "give another folder")
    foreign = sorted(_foreign(target))
    if foreign:
        named = ", ".join(foreign[:3]) + (", ..." if len(foreign) > 3 else "")
        raise _refused(out, f"holds what this program did not write: {named}", "give another folder, or move that away")


@contextlib.contextmanager
def replaced_folder(out: Path) -> Iterator[Path]:
    """An empty folder to fill, which takes out's place when the block ends well and vanishes when it does not.

    CaseError if out cannot be replaced (see check_target).
    """
    check_target(out)
    target = out.resolve()
    made = [folder for folder in (target.parent, *target.parent.parents) if not folder.exists()]
    fresh = _beside(target, "part")
    shutil.rmtree(fresh, ignore_errors=True)  # of a killed process that had our number
    try:
        fresh.mkdir(parents=True)
        yield fresh
        _swap(fresh, target)
    except BaseException:
        shutil.rmtree(fresh, ignore_errors=True)
        for folder in made:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def remove_leftovers(out: Path, pid: int) -> None:
    """Take away what a process that was killed left beside out."""
    target = out.resolve()
    shutil.rmtree(_beside(target, "part", pid), ignore_errors=True)
    kept = _beside(target, "old", pid)
    if kept.exists() and not target.exists():
        kept.rename(target)
    shutil.rmtree(kept, ignore_errors=True)


def write_json(path: Path, data: Any) -> None:
    """The data as JSON, one line a key; a number that is not finite is a ValueError, never a NaN in a file."""
    text = ",\n".join(f"{json.dumps(key)}: {json.dumps(value, allow_nan=False)}" for key, value in data.items())
    path.write_text(f"{{{text}}}\n", encoding="utf-8")


def _swap(fresh: Path, target: Path) -> None:
    """Put fresh where target is; if that fails, target is as it was."""
    if not target.exists():
        fresh.rename(target)
        return
    # Looked at again: somebody may have put a file there while the case was being solved.
    check_target(target)
    old = _beside(target, "old")
    target.rename(old)
    try:
        fresh.rename(target)
    except BaseException:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _beside(target: Path, kind: str, pid: int | None = None) -> Path:
    return target.parent / f".{target.name}.{os.getpid() if pid is None else pid}.{kind}"


def _foreign(folder: Path) -> Iterator[str]:
    """Names in a folder that no result folder has."""
    entries = list(folder.iterdir())
    if entries and not any(entry.name in ("result.json", "problem.json") for entry in entries):
        yield from (entry.name for entry in entries)
        return
    for entry in entries:
        if entry.name not in OURS or entry.is_symlink():
            yield entry.name
        elif endings := OURS[entry.name]:
            if not entry.is_dir():
                yield entry.name
                continue
            yield from (f"{entry.name}/{inner.name}" for inner in entry.iterdir() if inner.suffix not in endings)
        elif not _is_ours(entry):
            yield entry.name


def _is_ours(file: Path) -> bool:
    """Whether a result.json or problem.json is this program's: by how it begins."""
    with contextlib.suppress(OSError), file.open("rb") as stream:
        return stream.read(32).startswith((b'{"answer": ', b'{"type": "urn:tensionlay:'))
    return False


def _refused(out: Path, what: str, fix: str) -> CaseError:
    return CaseError([Problem("--out", f"{out} {what}", fix)])
