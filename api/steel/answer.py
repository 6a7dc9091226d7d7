"""The entry `steel` of the answer: what is laid and what it is worth, as a plain dictionary; SI, angles in degrees."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from api.figures import Units
from api.places import Places
from api.steel.found import SteelFound
from api.steel.words import cracks_words, verdict_of
from fem.steel.model import (
    Bending,
    Carried,
    Check,
    Concrete,
    Covers,
    Cut,
    Demand,
    Face,
    Judgement,
    Mat,
    Plan,
    Quantity,
    Rules,
    Run,
    Steel,
)

__all__ = ["steel_entry"]

Json = dict[str, Any]
FACES: tuple[Face, Face] = ("show", "underside")
DIGITS = 4
"""Places are kept to 0.1 mm."""


def steel_entry(
    found: SteelFound, places: Places, units: Units, stages: Sequence[Json], files: Sequence[str] = ()
) -> Json:
    """The entry; stages are those of the answer, files are paths within the result folder.

    Nothing in it is NaN or infinite: null stands for that.
    """
    use = {stage["name"]: stage["use_of_cracking"] for stage in stages}
    bends = [_bending(one, places) | {"use_of_cracking": use[one.stage][one.face]} for one in found.bendings]
    planned = found.plan is not None and not found.plan.failures
    return {
        "steel": _steel(found.steel),
        "code": found.code,
        "covers": _covers(found.covers),
        "code_covers": _covers(found.code_covers),
        "rules": _rules(found.rules),
        "concrete": _concrete(found.concrete, found.concrete_age),
        "demand": _demand(found.demand, places),
        "plan": None if found.plan is None else _plan(found.plan, found.off_pull, places),
        "judged": None if found.judged is None else _judged(found, found.judged, places),
        "code_cover": None if found.code_cover is None else _carried(found.code_cover, places),
        "why_no_code_cover": ""
        if found.code_cover is not None or not planned
        else "their layers need more depth than is left",
        "checks": [_check(check) for check in found.checks],
        "bends": bends,
        "if_it_cracks": verdict_of(bends),
        "if_it_cracks_words": cracks_words(bends, found.rules.placing, units),
        "notes": list(found.notes),
        "files": list(files),
    }


def _steel(steel: Steel) -> Json:
    return {
        "name": steel.name,
        "kind": steel.kind,
        "diameter_m": steel.diameter,
        "outside_m": steel.outside,
        "area_m2": steel.area,
        "wires": steel.wires,
        "width_m": steel.width,
        "yield_Pa": steel.yield_strength,
        "ultimate_Pa": steel.ultimate_strength,
        "modulus_Pa": steel.modulus,
        "brittle": steel.brittle,
        "stock_m": _number(steel.stock),
        "mass_kg_per_m": steel.mass,
        "source": steel.source,
    }


def _covers(covers: Covers) -> Json:
    return {f"{key}_m": value for key, value in asdict(covers).items()}


def _rules(rules: Rules) -> Json:
    return {
        "pitch_m": rules.pitch,
        "most_m": rules.most,
        "directions_deg": [_degrees(angle) for angle in rules.directions],
        "most_directions": rules.most_directions,
        "placing_m": rules.placing,
        "anchorage_m": _number(rules.anchorage),
        "lap_m": _number(rules.lap),
    }


def _concrete(concrete: Concrete, age: float) -> Json:
    return {
        "age_s": age,
        "compressive_Pa": concrete.compressive,
        "cracking_Pa": concrete.cracking,
        "high_Pa": concrete.high,
        "modulus_Pa": concrete.modulus,
        "aggregate_m": concrete.aggregate,
    }


def _demand(demand: Demand, places: Places) -> Json:
    return {
        "stages": list(demand.names),
        "points": len(demand.points),
        "directions": len(demand.angles),
        **{face: _owed(demand, face, places) for face in FACES},
    }


def _owed(demand: Demand, face: Face, places: Places) -> Json | None:
    """The most that a face owes anywhere, and over how much of the points it owes something; null: nothing."""
    needed = demand.needed[face]
    if not needed.size or not needed.max() > 0:
        return None
    point, angle = np.unravel_index(int(np.argmax(needed)), needed.shape)
    at = demand.points[point]
    return {
        "most_Nm_per_m": float(needed[point, angle]),
        "at": _place(at),
        "place": places.of((float(at[0]), float(at[1]))),
        "angle_deg": _degrees(demand.angles[angle]),
        "stage": demand.names[int(demand.governs[face][point, angle])],
        "share_of_points": float(np.mean(needed.max(axis=1) > 0)),
    }


def _plan(plan: Plan, off_pull: float | None, places: Places) -> Json:
    mat = plan.mat
    return {
        "runs": [_run(run) for run in plan.runs],
        "length_m": plan.length,
        "bound_m": _number(plan.bound),
        **_carried(plan.carried, places),
        "load_factor_of_all": None if plan.factor_of_all is None else _number(plan.factor_of_all),
        "mat": None if mat is None else _mat(mat),
        "saving": None if mat is None or not mat.length else 1 - plan.length / mat.length,
        "diagonals": _diagonals(plan),
        "without_diagonals_m": None if plan.without_diagonals is None else _number(plan.without_diagonals),
        "with_diagonals_m": None if plan.with_diagonals is None else _number(plan.with_diagonals),
        "found_with_diagonals_m": None if plan.found_with_diagonals is None else _number(plan.found_with_diagonals),
        "off_path_deg": None if off_pull is None else math.degrees(off_pull),
        "cuts": [_cut(cut) for cut in plan.cuts],
        "stock_pieces": plan.stock_pieces,
        "waste": _number(plan.waste),
        "mass_kg": sum(run.steel.mass * run.length for run in plan.runs),
        "notes": list(plan.notes),
        "failures": list(plan.failures),
        "remedies": [asdict(remedy) for remedy in plan.remedies],
    }


def _diagonals(plan: Plan) -> bool | None:
    """Whether runs lie across the corners; None where that was not looked at."""
    if plan.with_diagonals is not None:
        return False
    return None if plan.without_diagonals is None else True


def _run(run: Run) -> Json:
    return {
        "mark": run.mark,
        "face": run.face,
        "points": [_place(point) for point in run.points],
        "depth_m": run.depth,
        "layer": run.layer,
        "length_m": run.length,
        "steel": run.steel.name,
        "why": run.why,
    }


def _mat(mat: Mat) -> Json:
    return {
        "spacing_m": {face: [_number(value) for value in mat.spacing[face]] for face in FACES if face in mat.spacing},
        "runs": len(mat.runs),
        "length_m": mat.length,
        "load_factor": _number(mat.carried.factor),
    }


def _cut(cut: Cut) -> Json:
    return {"steel": cut.steel, "length_m": cut.length, "count": cut.count, "marks": list(cut.marks)}


def _carried(carried: Carried, places: Places) -> Json:
    shares = {face: _number(share) for face in FACES if (share := carried.share(face)) is not None}
    return {"load_factor": _number(carried.factor), "binds": _binds(carried, places), "carried_share": shares}


def _binds(carried: Carried, places: Places) -> Json | None:
    """The place that decides the load factor; null where nothing is owed."""
    if carried.at is None:
        return None
    return {
        "at": _place(carried.at),
        "place": places.of(carried.at),
        "face": carried.face,
        "angle_deg": None if carried.angle is None else _degrees(carried.angle),
        "stage": carried.stage,
    }


def _judged(found: SteelFound, judged: Judgement, places: Places) -> Json:
    plan = found.plan
    return {
        **_carried(judged.carried, places),
        "given": [_run(run) for run in found.given],
        "worth": [{"mark": one.mark, "length_m": one.length, "idle": one.idle, "why": one.why} for one in judged.worth],
        "cut_by_opening": list(judged.cut_by_opening),
        "cuts": [{"mark": mark, "at": _place(at), "place": places.of(at)} for mark, at in judged.cuts],
        "pulls_out": [{"mark": mark, "at": _place(at), "place": places.of(at)} for mark, at in judged.pulls_out],
        "length_m": judged.length,
        "plan_length_m": None if plan is None or plan.failures else plan.length,
        "notes": list(judged.notes),
    }


def _check(check: Check) -> Json:
    return {
        "name": check.name,
        "clause": check.clause,
        "formula": check.formula,
        "given": [_quantity(one) for one in check.given],
        "result": _quantity(check.result),
        "relation": check.relation,
        "limit": None if check.limit is None else _quantity(check.limit),
        "ok": check.ok,
        "place": check.place,
        "note": check.note,
    }


def _quantity(quantity: Quantity) -> Json:
    return {
        "symbol": quantity.symbol,
        "value": _number(quantity.value),
        "error": quantity.error,
        "measure": quantity.measure,
    }


def _bending(bending: Bending, places: Places) -> Json:
    return {
        "stage": bending.stage,
        "face": bending.face,
        "at": _place(bending.at),
        "place": places.of(bending.at),
        "angle_deg": _degrees(bending.angle),
        "low": _number(bending.low),
        "high": _number(bending.high),
        "verdict": bending.verdict,
    }


def _place(at: Sequence[float] | np.ndarray[Any, np.dtype[np.float64]]) -> list[float]:
    return [round(float(at[0]), DIGITS) + 0.0, round(float(at[1]), DIGITS) + 0.0]


def _degrees(angle: float) -> float:
    """Degrees in [0, 180)."""
    return round(math.degrees(float(angle)), 6) % 180


def _number(value: float) -> float | None:
    """The number, or null for one that is not finite."""
    return float(value) if math.isfinite(value) else None
