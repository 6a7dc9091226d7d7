"""A solved case on disk: result.json, pictures of its life and of every stage, one field file a stage."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

from api.case import Case
from api.fields import write_fields
from api.maps import MapPool, Picture, life_scene, scene_from, shape_scene
from api.progress import Progress, silent
from api.result_folder import LIFE, SHAPE, check_target, replaced_folder, write_json
from api.solve import FACES, Solved, solve_case
from api.workers import usable_cores

__all__ = ["solve_into", "write_result"]

MOST_DRAWING = 4
"""Processes that draw one case's maps at most: each takes half a gigabyte and a second to start."""


def solve_into(
    case: Case,
    out: Path,
    maps: bool = True,
    progress: Progress = silent,
    jobs: int | None = None,
    advice: bool | None = None,
) -> dict[str, Any]:
    """Solve the case, write it to out, return its answer; jobs processes draw the maps (as cores allow).

    advice as in solve_case.

    CaseError, before any work, if out cannot be replaced; MapError if the maps cannot be drawn.
    """
    check_target(out)
    with contextlib.ExitStack() as open_things:
        # Opened before the solving: loading the drawing library takes as long as that.
        most = min(usable_cores(), MOST_DRAWING)
        pool = open_things.enter_context(MapPool(jobs or most)) if maps else None
        solved = solve_case(case, progress, advice)
        write_result(solved, out, pool, progress)
    return solved.answer


def write_result(solved: Solved, out: Path, pool: MapPool | None = None, progress: Progress = silent) -> None:
    """Write the folder out, whole or not at all; with maps if there is a pool to draw them.

    CaseError if it holds what this program did not write; MapError if a map cannot be drawn.
    """
    with replaced_folder(out) as folder:
        write_json(folder / "result.json", solved.answer)
        if pool is not None:
            (folder / "maps").mkdir()
            pool.start(_scenes(solved, folder / "maps"))
        (folder / "fields").mkdir()
        for k, stage in enumerate(solved.case.stage):
            write_fields(folder / "fields" / f"{stage.id}.vtu", solved.piece, solved.analysis, k)
        if pool is not None:
            pool.finish(progress)


def _scenes(solved: Solved, folder: Path) -> list[tuple[Picture, Path]]:
    """What to draw, and into which file: the whole life, then every stage's faces and its bent shape."""
    case, piece, analysis = solved.case, solved.piece, solved.analysis
    scenes: list[tuple[Picture, Path]] = [
        (life_scene(case, piece, analysis, face), folder / f"{LIFE}.{face}.png") for face in FACES
    ]
    for k, stage in enumerate(case.stage):
        scenes += [
            (scene_from(case, piece, analysis, solved.paths, k, face), folder / f"{stage.id}.{face}.png")
            for face in FACES
        ]
        scenes.append((shape_scene(case, piece, analysis, k), folder / f"{stage.id}.{SHAPE}.png"))
    return scenes
