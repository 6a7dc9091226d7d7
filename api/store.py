"""A solved case on disk: result.json, pictures of its life and of every stage, one field file a stage, its steel."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from api.case import Case
from api.fields import write_fields
from api.maps import MapPool, Picture, life_scene, scene_from, shape_scene, use_scene
from api.progress import Progress, silent
from api.result_folder import LIFE, SHAPE, check_target, replaced_folder, write_json
from api.solve import FACES, Solved, solve_case
from api.workers import usable_cores

__all__ = ["solve_into", "tell_files", "write_result", "write_steel"]

MOST_DRAWING = 4
"""Processes that draw one case's maps at most: each takes half a gigabyte and a second to start."""


def solve_into(
    case: Case,
    out: Path,
    maps: bool = True,
    progress: Progress = silent,
    jobs: int | None = None,
    advice: bool | None = None,
    judge: bool = False,
) -> dict[str, Any]:
    """Solve the case, write it to out, return its answer; jobs processes draw the maps (as cores allow).

    advice, judge as in solve_case.

    CaseError, before any work, if out cannot be replaced; MapError if the maps cannot be drawn.
    """
    check_target(out)
    with contextlib.ExitStack() as open_things:
        # Opened before the solving: loading the drawing library takes as long as that.
        most = min(usable_cores(), MOST_DRAWING)
        pool = open_things.enter_context(MapPool(jobs or most)) if maps else None
        solved = solve_case(case, progress, advice, judge)
        write_result(solved, out, pool, progress)
    return solved.answer


def write_result(solved: Solved, out: Path, pool: MapPool | None = None, progress: Progress = silent) -> None:
    """Write the folder out, whole or not at all; with maps if there is a pool to draw them.

    Of a layout of steel that was judged no stage is drawn and no fields are written: they are those of any solve.

    CaseError if it holds what this program did not write; MapError if a map cannot be drawn.
    """
    with replaced_folder(out) as folder:
        tell_files(solved, pool is not None)
        write_json(folder / "result.json", solved.answer)
        scenes = _scenes(solved, folder) if pool is not None else []
        for place in {path.parent for _, path in scenes}:
            place.mkdir()
        if pool is not None:
            pool.start(scenes)
        if not solved.judged:
            (folder / "fields").mkdir()
            for k, stage in enumerate(solved.case.stage):
                write_fields(folder / "fields" / f"{stage.id}.vtu", solved.piece, solved.analysis, k)
        if pool is not None:
            pool.finish(progress)
        write_steel(solved, folder)


def tell_files(solved: Solved, maps: bool = True) -> None:
    """Name the files about the steel in the answer."""
    if solved.steel is not None:
        from api.steel.files import file_names

        solved.answer["steel"]["files"] = list(file_names(solved, maps))


def write_steel(solved: Solved, folder: Path, draw: Callable[[Picture, Path], None] | None = None) -> None:
    """Sheets, cut list and report below a result folder, if there is steel: only then is what draws them loaded.

    draw, if given, draws the maps of demand over strength first; the report shows the maps that are there.
    """
    if solved.steel is None:
        return
    from api.steel.files import write_files

    if draw is not None:
        for scene, path in _steel_scenes(solved, folder):
            path.parent.mkdir(exist_ok=True)
            draw(scene, path)
    write_files(solved, folder)


def _scenes(solved: Solved, folder: Path) -> list[tuple[Picture, Path]]:
    """What to draw, and into which file: the whole life, every stage's faces and bent shape, the steel."""
    case, piece, analysis = solved.case, solved.piece, solved.analysis
    if solved.judged:
        return _steel_scenes(solved, folder)
    maps = folder / "maps"
    scenes: list[tuple[Picture, Path]] = [
        (life_scene(case, piece, analysis, face), maps / f"{LIFE}.{face}.png") for face in FACES
    ]
    for k, stage in enumerate(case.stage):
        scenes += [
            (scene_from(case, piece, analysis, solved.paths, k, face), maps / f"{stage.id}.{face}.png")
            for face in FACES
        ]
        scenes.append((shape_scene(case, piece, analysis, k), maps / f"{stage.id}.{SHAPE}.png"))
    return scenes + _steel_scenes(solved, folder)


def _steel_scenes(solved: Solved, folder: Path) -> list[tuple[Picture, Path]]:
    """Maps of demand over strength, a map of its own for each face; none where there is no layout to draw."""
    if solved.steel is None:
        return []
    from api.steel.files import FOLDER, USE, drawn

    layout = drawn(solved)
    if layout is None or layout.steel is None:
        return []
    return [
        (use_scene(solved.case, solved.piece, layout.steel, face), folder / FOLDER / f"{USE}.{face}.png")
        for face in FACES
    ]
