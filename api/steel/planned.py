"""The plan of a case: laid for some points, checked by other means at others, laid again where it was short."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import KDTree

from api.steel.ground import SteelGround
from api.steel.quiet import quiet
from fem.steel.capacity import arm
from fem.steel.check import Checked, check_points, strength_at
from fem.steel.cutting import cut_list
from fem.steel.mat import uniform_mat
from fem.steel.model import Demand, Face, Plan, Run
from fem.steel.planning import plan_near
from fem.steel.proving import edge_strip, plan_points, prove
from fem.steel.rails import least_runs

__all__ = ["laying_points", "planned", "proving_points"]

FloatArray = npt.NDArray[np.float64]

FACES: tuple[Face, Face] = ("show", "underside")
CHECKED = 2000
"""Points at which a plan is checked besides those that it is laid for."""
ROUNDS = 4
SHORT = "checked at other points than it was laid for, it falls short at some of them, as its factor says"
APART, MOST = 1.0, 6000
"""Points that a plan is laid for are so many thicknesses apart, and no more than about so many."""


def laying_points(region: shapely.Polygon, thickness: float) -> FloatArray:
    """Points (q, 2) [m] that a plan is laid for: a grid and rows along the edges, about a thickness apart."""
    apart = max(APART * thickness, math.sqrt(region.area / MOST))
    return plan_points(region, thickness, apart)


def proving_points(region: shapely.Polygon, thickness: float) -> FloatArray:
    """Points (q, 2) [m] at which a plan is checked: the same for the same slab."""
    return check_points(region, CHECKED, 0, edge_strip(thickness))


def planned(ground: SteelGround, first: int, stood_on: Sequence[shapely.Geometry]) -> Plan:
    """The plan with its rails and overhangs, its cut list and the mat beside it.

    It is laid for the first points of what is owed, and checked at all others; stood_on are the supports of the stages
    of use. What it carries is told of all points.
    """
    settings, region = ground.settings, ground.region
    steel, covers, rules, thickness = settings.steel, settings.covers, settings.rules, settings.thickness
    always = least_runs(region, steel, covers, rules, ground.depth, ground.layers, stood_on)
    every = KDTree(ground.demand.points)

    laid: list[Plan] = []

    def lay(demand: Demand) -> Plan:
        given = region, thickness, demand, steel, covers, settings.concrete, settings.code, rules, always.runs
        laid.append(plan_near(*given, again=laid[-1] if laid else None))
        return laid[-1]

    def owed(points: FloatArray) -> Demand:
        return _part(ground.demand, np.asarray(every.query(points)[1]))

    with quiet():
        proven = prove(
            lay, owed, lambda plan, turn: _checked(ground, plan, first), ground.demand.points[:first], ROUNDS
        )
    found, short = proven.plan, not (proven.checked.passes or proven.plan.failures)
    mat = uniform_mat(region, thickness, proven.demand, steel, covers, rules, ground.worth, ground.depth, ground.layers)
    cuts = cut_list(found.runs, rules.lap)
    return replace(
        found,
        carried=ground.carried(found.runs, found.far),
        factor_of_all=ground.carried(found.runs).factor,
        notes=(*found.notes, *([SHORT] if short else [])),
        mat=mat.mat,
        cuts=cuts.cuts,
        stock_pieces=cuts.stock_pieces,
        waste=cuts.waste,
    )


def _checked(ground: SteelGround, laid: Plan, first: int) -> Checked:
    """The independent check of a plan at the points that it was not laid for at first."""
    demand, thickness = ground.demand, ground.settings.thickness
    points = demand.points[first:]

    def pull(run: Run, face: Face) -> float:
        counts = laid.far or run.face == face
        return max(ground.worth(run.steel, arm(run.depth, thickness, face)), 0.0) if counts else 0.0

    pulls = {face: np.array([pull(run, face) for run in laid.runs]) for face in FACES}
    has = strength_at(points, demand.angles, laid.runs, ground.region, ground.settings.rules, pulls)
    short = np.zeros(len(points), dtype=bool)
    worst = Checked(np.inf, None, None, 0.0, 0.0, 0.0, len(points), len(demand.angles), np.zeros((0, 2)))
    for face in FACES:
        asks = demand.needed[face][first:]
        ratio = np.divide(has[face], asks, out=np.full_like(asks, np.inf), where=asks > 0)
        short |= (ratio < 1 - 1e-9).any(axis=1)
        if ratio.size and ratio.min() < worst.factor:
            q, a = np.unravel_index(int(ratio.argmin()), ratio.shape)
            worst = replace(
                worst,
                factor=float(ratio[q, a]),
                at=(float(points[q, 0]), float(points[q, 1])),
                face=face,
                angle=float(demand.angles[a]),
                strength=float(has[face][q, a]),
                needed=float(asks[q, a]),
            )
    return replace(worst, short=points[short])


def _part(demand: Demand, rows: npt.NDArray[np.int64]) -> Demand:
    """The demand at some of its points."""
    return replace(
        demand,
        points=demand.points[rows],
        needed={face: owed[rows] for face, owed in demand.needed.items()},
        governs={face: stage[rows] for face, stage in demand.governs.items()},
    )
