"""Pieces to draw without solving anything: a case's own shape, supports and loads under a made-up moment field."""

from __future__ import annotations

import os
import signal
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import Delaunay

from api.case import Case, load_case
from api.translate import Piece, piece_from
from fem.plate.analysis import Analysis, Grid
from fem.plate.model import (
    Face,
    Peak,
    Point,
    Roaming,
    StageResult,
    Status,
    SupportResult,
    Tension,
    Tipping,
    Variation,
    Worst,
)
from fem.plate.principal import face_stress, principal_tension
from meshing.shape import Shape

__all__ = ["die", "example", "invented_analysis", "lack", "lack_nothing", "tipping", "walked"]

FloatArray = npt.NDArray[np.float64]
FACES: tuple[Face, Face] = ("show", "underside")


def example(project: Path, name: str = "l-island-with-sink") -> tuple[Case, Piece, Analysis]:
    """A case of the project with an analysis that nobody computed."""
    case = load_case(project / "cases" / f"{name}.toml")
    piece = piece_from(case)
    return case, piece, invented_analysis(piece)


def invented_analysis(piece: Piece, step: float = 0.04) -> Analysis:
    """Moments that look like a slab's, on a plain grid."""
    grid = _grid(piece.shape, step)
    stages = tuple(_stage(piece, k, grid) for k in range(len(piece.stages)))
    area = piece.shape.region().area
    center = piece.shape.region().centroid
    weight = area * piece.plate.thickness * piece.plate.density * piece.plate.gravity
    return Analysis(
        len(grid.points), len(grid.triangles), 30.0, False, grid, weight, (center.x, center.y), np.zeros((0, 4)), stages
    )


def walked(piece: Piece, analysis: Analysis, k: int, at: Point, other: str = "hand lets go") -> tuple[Piece, Analysis]:
    """The same with a load that roams in stage k: at a place it governs the show face; a variation the underside."""
    stage, result = piece.stages[k], analysis.stages[k]
    changed = replace(
        stage,
        roaming=(Roaming("walker", 1334.4, 0.1),),
        variations=(Variation(other, supports=stage.supports[1:] or None, multiplier=1.2),),
    )
    spread = np.exp(-np.hypot(*(analysis.grid.points - at).T) / 0.3)
    moment = result.moment - spread[:, None] * np.array([0.4, 0.4, 0.0]) * np.abs(result.moment).max()
    worst: dict[Face, Worst] = {
        "show": Worst("walker", at, result.w, moment, moment, None, result.supports),
        "underside": Worst(other, None, result.w, 1.2 * result.moment, result.moment, None, result.supports[1:]),
    }
    pull = {face: principal_tension(face_stress(worst[face].moment, piece.plate.thickness, face))[0] for face in FACES}
    peaks = {face: _peak(analysis.grid.points, worst[face].moment, piece.plate.thickness, face) for face in FACES}
    varied = replace(result, worst=worst, envelope=pull, peaks=peaks)
    stages = (*analysis.stages[:k], varied, *analysis.stages[k + 1 :])
    piece = replace(piece, stages=(*piece.stages[:k], changed, *piece.stages[k + 1 :]))
    return piece, replace(analysis, stages=stages)


def tipping(piece: Piece) -> StageResult:
    """A stage that falls over a line across the slab."""
    low = piece.shape.region().bounds
    axis = ((low[0] + 0.1, low[1]), (low[2], low[3] - 0.4))
    nothing = np.zeros(0)
    return StageResult(
        "tips",
        False,
        True,
        nothing,
        np.zeros((0, 3)),
        np.zeros((0, 3)),
        None,
        None,
        None,
        None,
        (),
        (),
        Tipping(axis, 330.0, (low[2] - 0.1, low[1] + 0.2)),
    )


def _grid(shape: Shape, step: float) -> Grid:
    region = shape.region()
    x0, y0, x1, y1 = region.bounds
    x, y = np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step))
    inner = np.column_stack([x.ravel(), y.ravel()])
    inner = inner[shapely.contains_xy(region.buffer(-step / 2), inner)]
    rings = [
        shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(loop.polyline(1e-4)), step))[:-1]
        for loop in shape.loops
    ]
    points = np.concatenate([inner, *rings])
    triangles = Delaunay(points).simplices
    keep = shapely.contains_xy(region, points[triangles].mean(axis=1))
    triangles = triangles[keep]
    a, b, c = (points[triangles[:, i]] for i in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    triangles[area < 0] = triangles[area < 0][:, ::-1]
    return Grid(points, triangles[np.abs(area) > 1e-12].astype(np.int64))


def _stage(piece: Piece, k: int, grid: Grid) -> StageResult:
    stage = piece.stages[k]
    moment = (
        _moments(piece.shape, grid.points, k)
        * stage.allowed
        * piece.plate.thickness**2
        / 6
        * (0.35, 0.7, 1.3, 0.9, 0.5, 1.8)[k % 6]
    )
    peaks = {face: _peak(grid.points, moment, piece.plate.thickness, face) for face in FACES}
    worst = max(peak.tension.tension for peak in peaks.values())
    status: Status = "holds" if worst < stage.allowed else "marginal" if worst < stage.cracking else "cracks"
    supports = tuple(
        SupportResult(i, support.name, 300.0 + 77 * i, None, i == 2, 0.0 if i == 2 else 0.6 if i == 1 else 1.0)
        for i, support in enumerate(stage.supports)
    )
    return StageResult(
        status,
        False,
        True,
        _sag(piece.shape, grid.points),
        moment,
        1.2 * moment,
        peaks,
        1e-3,
        1e-5,
        1e-12,
        supports,
        (),
        None,
    )


def _moments(shape: Shape, p: FloatArray, k: int) -> FloatArray:
    x0, y0, x1, y1 = shape.region().bounds
    u, v = (p[:, 0] - x0) / (x1 - x0), (p[:, 1] - y0) / (y1 - y0)
    moment = np.column_stack([0.4 * np.sin(4 * u + k), 0.35 * np.cos(3 * v + k), 0.25 * np.sin(3 * u * v + k)])
    for loop in shape.openings:
        ring = loop.polyline(1e-3)
        corner = ring[int(np.argmin(ring @ [1.0, 1.0]))]
        moment += np.exp(-np.hypot(*(p - corner).T) / 0.08)[:, None] * np.array([0.9, 0.4, -0.5])
    inner = np.array([x0 + 0.27 * (x1 - x0), y0 + 0.36 * (y1 - y0)])
    return np.asarray(moment + np.exp(-np.hypot(*(p - inner).T) / 0.15)[:, None] * np.array([-0.5, -0.6, 0.5]))


def _sag(shape: Shape, p: FloatArray) -> FloatArray:
    x0, y0, x1, y1 = shape.region().bounds
    u, v = (p[:, 0] - x0) / (x1 - x0), (p[:, 1] - y0) / (y1 - y0)
    return np.asarray(1e-3 * (np.sin(3 * u) - 0.3 * u * v))


def _peak(points: FloatArray, moment: FloatArray, thickness: float, face: Face) -> Peak:
    tension, angle = principal_tension(face_stress(moment, thickness, face))
    k = int(np.argmax(tension))
    at = (float(points[k, 0]), float(points[k, 1]))
    worst = float(tension[k])
    return Peak(at, Tension(worst, 0.03 * worst, float(angle[k]), 1.2 * worst, 0.01 * worst), (at[0] + 0.03, at[1]))


def die(*args: object, progress: object = None) -> None:
    """A drawing process that ends as one does whose graphics library is broken."""
    os.kill(os.getpid(), signal.SIGSEGV)


def lack(*args: object, progress: object = None) -> tuple[str, ...]:
    """A drawing process on a machine without a library."""
    return ("libEGL.so.1",)


def lack_nothing(*args: object, progress: object = None) -> tuple[str, ...]:
    """A drawing process that is ready at once."""
    return ()
