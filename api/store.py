"""A solved case on disk: result.json, one picture a stage and face, one field file a stage."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from api.case import Case
from api.progress import Progress, silent
from api.result_folder import check_target, replaced_folder, write_json
from api.solve import Solved, solve_case

__all__ = ["solve_into", "write_result"]


def solve_into(case: Case, out: Path, maps: bool = True, progress: Progress = silent) -> dict[str, Any]:
    """Solve the case, write it to out, return its answer. CaseError, before any work, if out cannot be replaced."""
    check_target(out)
    solved = solve_case(case, progress)
    write_result(solved, out, maps, progress)
    return solved.answer


def write_result(solved: Solved, out: Path, maps: bool = True, progress: Progress = silent) -> None:
    """Write the folder out: whole, or not at all. CaseError if it holds what this program did not write."""
    with replaced_folder(out) as folder:
        write_json(folder / "result.json", solved.answer)
