"""The plate's main line: a shape and its stages in, every stage's answer on one display grid out.

One mesh follows from the shape, the free plate is factorised once, and every support, load and stage is a few more
columns. A stage answers for the worst of its states: as it stands, each variation, each place of a roaming load.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.footings import KnownPlaces
from fem.plate.model import PlateCase, Probe, Stage, StageResult
from fem.plate.prepared import Prepared, prepare
from fem.plate.stages import Solved, answer_stages
from meshing.mesh import Mesh

__all__ = ["Analysis", "Grid", "analyse", "analyse_and_keep", "analyse_prepared", "moved"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Grid:
    """Where the fields are given: points (p, 2) [m] and triangles (q, 3) between them, counter-clockwise."""

    points: FloatArray
    triangles: IntArray


@dataclass(frozen=True, eq=False)
class Analysis:
    """Mesh figures, the display grid, the slab's plain weight [N] and centre of gravity [m], one result a stage.

    narrow (k, 4): places narrower than three thicknesses (middle x, y, width [m], direction across [rad]), where
    thin-plate theory is at its limit. coarsened: the slab is so large for its thickness that the mesh had to be kept
    coarser than wanted.
    """

    mesh_nodes: int
    mesh_triangles: int
    smallest_angle: float
    coarsened: bool
    grid: Grid
    weight: float
    center_of_gravity: tuple[float, float]
    narrow: FloatArray
    stages: tuple[StageResult, ...]


def analyse(
    mesh: Mesh,
    plate: PlateCase,
    stages: Sequence[Stage],
    probes: Sequence[Probe] = (),
    step: Callable[[str], None] = lambda what: None,
) -> Analysis:
    """Solve every stage of one slab on one mesh with one factorisation; step is told in plain words what is done."""
    step("bending the free slab under every support and load")
    return analyse_prepared(prepare(mesh, plate), stages, probes, step)


def analyse_prepared(
    prepared: Prepared,
    stages: Sequence[Stage],
    probes: Sequence[Probe] = (),
    step: Callable[[str], None] = lambda what: None,
) -> Analysis:
    """The same for a slab that is prepared already."""
    return _analysis(prepared, answer_stages(prepared, stages, probes, step)[0])


def analyse_and_keep(
    prepared: Prepared,
    stages: Sequence[Stage],
    probes: Sequence[Probe] = (),
    step: Callable[[str], None] = lambda what: None,
) -> tuple[Analysis, Solved]:
    """The same, and what was solved for it: asked again about like stages, only what is new is solved.

    All columns stay in memory, some hundred megabytes for a whole life.
    """
    results, solved = answer_stages(prepared, stages, probes, step, Solved(KnownPlaces()))
    return _analysis(prepared, results), solved


def moved(
    prepared: Prepared, stage: Stage, before: Solved | None = None, probes: Sequence[Probe] = ()
) -> tuple[StageResult, Solved]:
    """One stage of a slab whose shape has not changed, and what was solved for it.

    Hand that back as before, and only what has moved is solved anew: a page may call this while a support is dragged.
    """
    results, solved = answer_stages(prepared, [stage], probes, before=before or Solved(KnownPlaces()))
    return results[0], solved


def _analysis(prepared: Prepared, results: tuple[StageResult, ...]) -> Analysis:
    mesh, grid = prepared.mesh, prepared.grid
    whole = prepared.weight @ prepared.free.rigid_motions
    middle = whole if whole[0] > 0 else prepared.free.bell.body_load @ prepared.free.rigid_motions
    return Analysis(
        len(mesh.nodes),
        len(mesh.triangles),
        mesh.smallest_angle,
        mesh.coarsened,
        Grid(grid.points, grid.triangles),
        float(whole[0]),
        (float(middle[1] / middle[0]), float(middle[2] / middle[0])),
        prepared.narrow,
        results,
    )
