"""From a case to its answer: translate, solve, trace the tension paths, put it into the contract's words. No files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from api.answer import StagePaths, answer_from
from api.case import Case
from api.errors import CaseError, Problem
from api.progress import Progress, silent
from api.translate import Piece, piece_from
from fem.paths import tension_paths
from fem.plate.analysis import Analysis, analyse
from fem.plate.bow import bow_borders
from fem.plate.depth import depth_borders
from fem.plate.model import Face
from fem.plate.principal import face_stress
from meshing.mesh import Mesh
from meshing.triangulate import MeshingError, triangulate

__all__ = ["FACES", "Solved", "mesh_of", "path_spacing", "solve_case", "trace_paths"]

FloatArray = npt.NDArray[np.float64]

FLOOR = 0.15
"""Paths run where the pull exceeds this share of the allowed strength: less says nothing about where steel belongs."""
FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class Solved:
    """A case with everything that was found about it; answer is what result.json holds."""

    case: Case
    piece: Piece
    analysis: Analysis
    paths: tuple[StagePaths, ...]
    answer: dict[str, Any]


def solve_case(case: Case, progress: Progress = silent) -> Solved:
    """Everything about a case, from its shape to its answer; a pure function of the case."""
    steps = len(case.stage) + 6
    done = 0

    def step(what: str) -> None:
        nonlocal done
        progress(min(done, steps), steps, what)
        done += 1

    step("reading the shape")
    piece = piece_from(case)
    step("dividing the slab into triangles")
    mesh = mesh_of(piece)
    analysis = analyse(mesh, piece.plate, piece.stages, piece.probes, step=step)
    step("tracing the tension paths")
    paths = trace_paths(piece, analysis)
    step("writing the answer")
    answer = answer_from(case, piece, analysis, paths)
    progress(steps, steps, "solved")
    return Solved(case, piece, analysis, paths, answer)


def mesh_of(piece: Piece) -> Mesh:
    """Triangles of the piece; CaseError if its shape cannot be divided into them."""
    try:
        borders = (*depth_borders(piece.plate), *bow_borders(piece.stages))
        return triangulate(piece.shape, piece.plate.thickness, borders=borders)
    except MeshingError as error:
        fix = "leave out detail that is small against the thickness, or say what the slab really is in fewer corners"
        raise CaseError((Problem("slab", str(error), fix),)) from error


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
