"""The steel of a solved case: what is owed, the plan beside the best mat, the given layout judged, all of it proven."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import shapely

from api.advice.outlines import geometry_of
from api.case import Case
from api.steel.concrete_at import concrete_at
from api.steel.factored import factored_stages
from api.steel.found import Laid, SteelFound
from api.steel.ground import SteelGround
from api.steel.planned import laying_points, planned, proving_points
from api.steel.proofs import proofs_of
from api.steel.settings import Settings, settings_of
from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.plate.directions import telling_points
from fem.plate.prepared import Prepared
from fem.plate.stages import Solved
from fem.steel.across import off_the_pull
from fem.steel.demand import demand_of
from fem.steel.detailing import layer_depth, layers_that_fit
from fem.steel.edges import along_edges
from fem.steel.judging import judge as judge_layout
from fem.steel.judging import working_legs
from fem.steel.model import Carried, Concrete, Demand, Plan, Steel
from fem.steel.section import run_strength

__all__ = ["lay"]

ANGLES = np.arange(36) * math.pi / 36
OUTLINE = 1e-4
"""Arcs become chords within so much [m]."""
Step = Callable[[str], None]


def lay(
    case: Case,
    piece: Piece,
    prepared: Prepared,
    analysis: Analysis,
    solved: Solved,
    step: Step,
    judge: bool = False,
) -> Laid:
    """The steel of a solved case that has [steel]; judge: what is proven is the given layout, not the plan.

    solved: what was solved for the stages without factors.
    """
    if all(result.status == "tips" for result in analysis.stages):
        return Laid(
            None, why="every stage tips: without balance nothing tells what steel owes, and it cures no tipping"
        )
    settings = settings_of(case)
    factored, notes = factored_stages(
        case, piece, settings.code, settings.owed_above, lambda age: _densest(case, settings, age)
    )
    step("asking what the steel owes")
    region = piece.shape.region(OUTLINE)
    telling = telling_points(prepared, [one.stage for one in factored], settings.thickness / 2)
    told = np.concatenate([telling, laying_points(region, settings.thickness)])
    points = np.concatenate([told, proving_points(region, settings.thickness)])
    demand = demand_of(prepared, factored, points, ANGLES, before=solved)
    demand = _left_to_concrete(demand, min(one.floor for one in factored))
    slab = SteelGround(settings, region, along_edges(demand, region, settings.thickness))
    step("laying the steel")
    plan = planned(slab, len(told), _stood_on(case, piece)) if settings.planned else None
    step("proving the steel")
    judged = None
    if settings.given:
        judged = judge_layout(settings.given, slab.region, settings.thickness, slab.demand, settings.rules, slab.worth)
    if judged is not None and (judge or plan is None):
        legs = working_legs(settings.given, slab.region, settings.thickness, settings.rules)
        proofs = proofs_of(case, piece, analysis, settings, slab.region, legs, judged.carried)
    else:
        runs = () if plan is None else plan.runs
        carried = slab.carried(runs) if plan is None else plan.carried
        proofs = proofs_of(case, piece, analysis, settings, slab.region, runs, carried)
    found = SteelFound(
        steel=settings.steel,
        covers=settings.covers,
        code=settings.code,
        concrete=settings.concrete,
        rules=settings.rules,
        demand=slab.demand,
        plan=plan,
        judged=judged,
        given=settings.given,
        code_cover=None if plan is None else _at_code_cover(slab, plan),
        code_covers=settings.code_covers,
        checks=proofs.checks,
        bendings=proofs.bendings,
        notes=(*demand.notes, *_thin_parts(case)),
        concrete_age=settings.concrete_age,
        off_pull=None if plan is None else off_the_pull(plan.runs, slab.demand, slab.region, settings.rules),
    )
    return Laid(found, (*settings.assumed, *notes))


def _left_to_concrete(demand: Demand, floor: float) -> Demand:
    """The demand without the directions in which a face is pulled by no more than the least floor of all stages.

    No crack opens across such a direction, even where the slab has cracked across another; runs that end at an edge
    cannot take the little that is asked square to it.
    """
    needed = {face: np.where(owed > floor, owed, 0.0) for face, owed in demand.needed.items()}
    return replace(demand, needed=needed)


def _stood_on(case: Case, piece: Piece) -> list[shapely.Geometry]:
    """Where the supports of the stages of use lie: those in which the piece lies flat and its weight counts once."""
    return [
        geometry_of(piece.shape, support.place)
        for written, stage in zip(case.stage, piece.stages, strict=True)
        if written.posture == "flat" and written.multiplier == 1 and written.slide is None
        for support in stage.supports
    ]


def _at_code_cover(slab: SteelGround, plan: Plan) -> Carried | None:
    """What the plan's runs carry if they lie at the code's covers; None where their layers do not fit there."""
    settings, runs = slab.settings, plan.runs
    deepest = {
        face: 1 + max((run.layer for run in runs if run.face == face), default=-1) for face in ("show", "underside")
    }
    if sum(deepest.values()) > layers_that_fit(settings.thickness, settings.code_covers, settings.steel):
        return None
    moved = [
        replace(run, depth=layer_depth(settings.thickness, settings.code_covers, settings.steel, run.face, run.layer))
        for run in runs
    ]
    return slab.carried(moved, plan.far)


def _densest(case: Case, settings: Settings, age: float) -> float:
    """Strength [N m] of a run at its densest in the concrete of an age, at the lesser of the outermost arms."""
    covers, half = settings.covers, settings.steel.outside / 2
    arm = settings.thickness - max(covers.show, covers.underside) - half
    return _worth(settings, settings.steel, arm, concrete_at(case, age))


def _worth(settings: Settings, steel: Steel, arm: float, concrete: Concrete) -> float:
    return run_strength(steel, arm, settings.rules.pitch, concrete, settings.code)


def _thin_parts(case: Case) -> list[str]:
    """What is not looked at where the slab has a depth of its own."""
    if not case.slab.region:
        return []
    return ["where the slab is thinner (slab.region) the steel has a shorter arm and less cover: that is not looked at"]
