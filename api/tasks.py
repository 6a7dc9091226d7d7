"""What worker processes are asked to do: whole tasks by name, from plain data to plain data."""

from __future__ import annotations

import json
import tempfile
import time
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from api.batch import Row
from api.case import load_case, read_case
from api.figures import Units
from api.json_body import parse_body
from api.map_worker import LIBRARIES, draw_map, make_ready
from api.maps import PIXELS_WIDE, MapError, Picture, life_scene, scene_from, shape_scene
from api.progress import Progress, silent
from api.solve import Solved, solve_case
from api.store import solve_into, tell_files, write_steel
from api.words import place_words, stage_sentence, worst_face, worst_first
from fem.plate.model import Face

__all__ = ["draw_body", "ready", "solve_body", "solve_file", "steel_body"]


def solve_file(file: Path, name: str, target: Path, maps: bool, progress: Progress = silent) -> Row:
    """Read a case file, solve it into its folder, and say what became of it; CaseError as from reading."""
    begin = time.monotonic()
    case = load_case(file)
    # One case of several at a time: its maps get one process, the cores have their work.
    answer = solve_into(case, target, maps, progress, jobs=1)
    return _row(name, answer, case.units, time.monotonic() - begin)


def solve_body(
    body: bytes, advice: bool | None, judge: bool = False, progress: Progress = silent
) -> tuple[bytes, list[str], list[str]]:
    """The answer to a case in JSON as JSON, its stages' ids, the files about its steel; the rest as in solve_case."""
    solved = solve_case(read_case(parse_body(body)), progress, advice, judge)
    tell_files(solved)
    answer = solved.answer
    files = answer["steel"]["files"] if answer["steel"] else []
    return json.dumps(answer, allow_nan=False).encode(), [stage["id"] for stage in answer["stages"]], files


def draw_body(body: bytes, stage: int | None, view: Face | Literal["shape"], progress: Progress = silent) -> bytes:
    """A picture of a stage of a case in JSON, or of its whole life (None), as PNG; MapError if none can be drawn."""
    _check_drawing()
    solved = _solved(body)
    scene = _scene(solved, stage, view)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "map.png"
        draw_map(scene, file, PIXELS_WIDE)
        return file.read_bytes()


def steel_body(body: bytes, judge: bool = False, progress: Progress = silent) -> dict[str, bytes]:
    """Every file about the steel of a case in JSON, by its name in the answer; MapError if a map cannot be drawn."""
    _check_drawing()
    solved = solve_case(read_case(parse_body(body)), advice=False, judge=judge)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        write_steel(solved, out, lambda scene, path: draw_map(scene, path, PIXELS_WIDE))
        return {path.relative_to(out).as_posix(): path.read_bytes() for path in sorted(out.rglob("*.*"))}


def _check_drawing() -> None:
    if missing := make_ready(PIXELS_WIDE):
        packages = " ".join(LIBRARIES[library] for library in missing)
        raise MapError("this machine cannot draw maps", f"install {packages} (Debian's names) where the server runs")


def _scene(solved: Solved, stage: int | None, view: Face | Literal["shape"]) -> Picture:
    case, piece, analysis = solved.case, solved.piece, solved.analysis
    if view == "shape":
        if stage is None:
            raise ValueError("the whole life has no one shape")
        return shape_scene(case, piece, analysis, stage)
    if stage is None:
        return life_scene(case, piece, analysis, view)
    return scene_from(case, piece, analysis, solved.paths, stage, view)


# The maps of one case are asked for one after the other: it is solved again for the first of them only.
@lru_cache(maxsize=2)
def _solved(body: bytes) -> Solved:
    return solve_case(read_case(parse_body(body)), advice=False, steel=False)


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
