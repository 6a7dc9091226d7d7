"""From a case to its answer: translate, solve, trace the tension paths, put it into the contract's words. No files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from api.advice import MOST_SOLVES, advice_from
from api.answer import StagePaths, answer_from
from api.case import Case, check_judged
from api.meshes import mesh_of
from api.progress import Progress, silent
from api.steel.found import Laid, SteelFound
from api.translate import Piece, piece_from
from fem.paths import tension_paths
from fem.plate.analysis import Analysis, analyse_and_keep, analyse_prepared
from fem.plate.model import Face
from fem.plate.prepared import Prepared, prepare
from fem.plate.principal import face_stress
from fem.plate.stages import Solved as StagesSolved

__all__ = ["FACES", "Solved", "mesh_of", "path_spacing", "solve_case", "trace_paths"]

FloatArray = npt.NDArray[np.float64]

FLOOR = 0.15
"""Paths run where the pull exceeds this share of the allowed strength: less says nothing about where steel belongs."""
FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class Solved:
    """A case with everything that was found about it; answer is what result.json holds.

    steel is None where the case has no [steel], or nothing can be said of it (the answer's warnings say why); judged:
    the case's own layout of it was what was asked for.
    """

    case: Case
    piece: Piece
    analysis: Analysis
    paths: tuple[StagePaths, ...]
    answer: dict[str, Any]
    steel: SteelFound | None = None
    judged: bool = False


def solve_case(
    case: Case, progress: Progress = silent, advice: bool | None = None, judge: bool = False, steel: bool = True
) -> Solved:
    """Everything about a case, from its shape to its answer; a pure function of what it is given.

    advice: whether to try what would help, which takes many times as long; None: where stages were made of [life].
    judge: the case's own layout of steel is what is proven (CaseError if it has none), and advice is not given unasked.
    steel: False leaves its [steel] out, where only the slab's own pull is asked for.
    """
    if judge:
        check_judged(case)
        advice = bool(advice)
    advised = case._lived if advice is None else advice
    steps = len(case.stage) + 6 + (MOST_SOLVES if advised else 0) + (3 if case.steel and steel else 0)
    done = 0

    def step(what: str) -> None:
        nonlocal done
        progress(min(done, steps), steps, what)
        done += 1

    step("reading the shape")
    piece = piece_from(case)
    step("dividing the slab into triangles")
    mesh = mesh_of(piece)
    step("bending the free slab under every support and load")
    prepared = prepare(mesh, piece.plate)
    solved = None
    if case.steel and steel:
        # What its steel owes is asked of the same supports and loads, with factors.
        analysis, solved = analyse_and_keep(prepared, piece.stages, piece.probes, step)
    else:
        analysis = analyse_prepared(prepared, piece.stages, piece.probes, step)
    step("tracing the tension paths")
    paths = trace_paths(piece, analysis)
    laid = None if solved is None else _laid(case, piece, prepared, analysis, solved, step, judge)
    step("writing the answer")
    answer = answer_from(case, piece, analysis, paths, laid)
    if advised:
        answer["advice"] = advice_from(case, piece, prepared, analysis, step)
    progress(steps, steps, "solved")
    return Solved(case, piece, analysis, paths, answer, None if laid is None else laid.found, judge)


def _laid(
    case: Case,
    piece: Piece,
    prepared: Prepared,
    analysis: Analysis,
    solved: StagesSolved,
    step: Callable[[str], None],
    judge: bool,
) -> Laid:
    """The steel of a case that has [steel]: only then is what it takes loaded."""
    from api.steel.laying import lay

    return lay(case, piece, prepared, analysis, solved, step, judge)


def trace_paths(piece: Piece, analysis: Analysis) -> tuple[StagePaths, ...]:
    """Tension paths of every stage and face, in the stages' order; none where a stage tips."""
    keys = [(k, face) for k in range(len(piece.stages)) for face in FACES]
    found = tension_paths(
        analysis.grid.points,
        analysis.grid.triangles,
        [_shown_stress(analysis, piece, k, face) for k, face in keys],
        [FLOOR * piece.stages[k].allowed for k, _ in keys],
        path_spacing(piece),
    )
    by_key = dict(zip(keys, found, strict=True))
    return tuple({face: by_key[k, face] for face in FACES} for k in range(len(piece.stages)))


def _shown_stress(analysis: Analysis, piece: Piece, k: int, face: Face) -> FloatArray:
    """The stress (p, 3) [Pa] of the state that governs a face of a stage: 6 m / t2, and what is in the plane."""
    stage = analysis.stages[k]
    if face not in stage.worst:
        return face_stress(stage.moment, piece.plate.thickness, face)
    state = stage.worst[face]
    stress = face_stress(state.moment, piece.plate.thickness, face)
    return stress if state.membrane is None else stress + state.membrane


def path_spacing(piece: Piece) -> float:
    """Distance between paths [m]: 1.5 thicknesses, or a thirtieth of the slab's longer side if that is more."""
    outline = piece.shape.outline.polyline(1e-4)
    return max(1.5 * piece.plate.thickness, float(np.ptp(outline, axis=0).max()) / 30)
