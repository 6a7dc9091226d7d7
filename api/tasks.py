"""What worker processes are asked to do: whole tasks by name, from plain data to plain data."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from api.batch import Row
from api.case import load_case, read_case
from api.figures import Units
from api.json_body import parse_body
from api.progress import Progress, silent
from api.solve import solve_case
from api.store import solve_into
from api.words import place_words, stage_sentence, worst_face, worst_first

__all__ = ["ready", "solve_body", "solve_file"]


def solve_file(file: Path, name: str, target: Path, maps: bool, progress: Progress = silent) -> Row:
    """Read a case file, solve it into its folder, and say what became of it; CaseError as from reading."""
    begin = time.monotonic()
    case = load_case(file)
    answer = solve_into(case, target, maps, progress)
    return _row(name, answer, case.units, time.monotonic() - begin)


def solve_body(body: bytes, progress: Progress = silent) -> tuple[bytes, list[str]]:
    """The answer to a case in JSON as JSON, and its stages' ids."""
    answer = solve_case(read_case(parse_body(body)), progress).answer
    return json.dumps(answer, allow_nan=False).encode(), [stage["id"] for stage in answer["stages"]]


def ready(progress: Progress = silent) -> None:
    """Nothing: by the time it is done, everything that work needs has been loaded."""


def _row(name: str, answer: dict[str, Any], units: Units, seconds: float) -> Row:
    stage = worst_first(answer["stages"])[0]
    face = worst_face(stage)
    told = stage_sentence(stage, units)
    if face is None:
        return Row(name, stage["name"], stage["status"], seconds=round(seconds, 3), sentence=told)
    peak = stage["peak"][face]
    return Row(
        name,
        stage["name"],
        stage["status"],
        stage["use_of_allowed"][face],
        peak["tension_Pa"],
        peak["error_Pa"],
        round(seconds, 3),
        sentence=f"{told.removesuffix('.')} ({place_words(stage, face)}).",
    )
