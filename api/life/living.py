"""A case with [life] becomes the same case with every stage written out, and keeps what was assumed on the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from pydantic import ValidationError

from api.case_faults import problems_of
from api.case_life import MOMENTS, Life
from api.case_model import MOST_STAGES, Case, Slab, Stage, slug
from api.case_values import Reading
from api.drawing import Drawing, drawing_of
from api.errors import CaseError, Problem
from api.geometry import check_slab, check_stage
from api.life.ages import age_faults, ages_of
from api.life.cabinets import furniture_faults
from api.life.choice import Choice, Told
from api.life.defaults import DEFAULTS, shown
from api.life.draft import Draft, Making
from api.life.handling import carried, hauled, stripped, turned
from api.life.placed import set_down, standing_on, used
from api.life.zones import zone_faults
from api.units import UnitSystem, clean

__all__ = ["drafts_of", "lived"]

_HANDLING: dict[str, Callable[[Making], list[Draft]]] = {
    "strip": stripped,
    "turn": turned,
    "carry": carried,
    "haul": hauled,
}


def lived(case: Case) -> Case:
    """The case with the stages of its [life] written out behind its own; itself if it asks for none.

    CaseError names every fault at the place of the case that it comes from. A slab with faults is handed back as it
    is: nothing can be made of it, and its faults are told elsewhere.
    """
    if check_slab(case.slab, case.units):
        return case
    drawing = drawing_of(case)
    problems = zone_faults(case.zone, drawing) + furniture_faults(case.cabinet, case.bracket, drawing)
    if problems:
        raise CaseError(problems)
    if case.life is None or not case.life.stages:
        return case
    drafts, notes = drafts_of(case)
    stages = _read(case, drawing, drafts)
    slab = _thin(case.slab, case.units, notes)
    rest = None if case.life.cast is None else Life(stages=(), cast=case.life.cast)
    written = case.model_copy(update={"stage": (*case.stage, *stages), "life": rest, "slab": slab})
    written._assumed = tuple(notes)
    written._lived = True
    return written


def drafts_of(case: Case) -> tuple[list[Draft], list[Told]]:
    """The stages of a sound case's [life] as plain data in SI, and what was assumed; CaseError if they clash."""
    life = case.life
    if life is None:
        return [], []
    if problems := age_faults(life) + _unasked(life):
        raise CaseError(problems)
    choice = Choice(life, case.units)
    making = Making(case, drawing_of(case), choice, ages_of(life, case.concrete, choice))
    if "stages" not in life.model_fields_set:
        choice.note("life.stages", f"the whole life: {', '.join(MOMENTS)}")
    drafts: list[Draft] = []
    for moment, make in _HANDLING.items():
        if moment in life.stages:
            drafts += make(making)
    if "set" in life.stages or "use" in life.stages:
        supports = standing_on(making)
        drafts += set_down(making, supports) if "set" in life.stages else []
        drafts += used(making, supports) if "use" in life.stages else []
    return drafts, list(choice.notes)


def _thin(slab: Slab, system: UnitSystem, notes: list[Told]) -> Slab:
    """The slab with the tolerance of its thickness, where none is told."""
    if "tolerance" in slab.model_fields_set:
        return slab
    row = DEFAULTS["slab.tolerance"]
    told = shown(row.value, row.dimension, system)
    notes.append(("slab.tolerance", f"it may be {told} thinner than it should be: {row.why}"))
    return slab.model_copy(update={"tolerance": clean(float(row.value))})


def _unasked(life: Life) -> list[Problem]:
    """Tables of moments that are not among the stages, so that nothing told is passed over."""
    problems = []
    for moment in MOMENTS:
        told = getattr(life, moment).model_fields_set
        if moment in life.stages or (moment == "set" and told <= {"support"}) or (moment == "strip" and told <= {"up"}):
            continue
        if told:
            what = f'"{moment}" is told of, but it is not among the stages'
            problems.append(Problem(f"life.{moment}", what, f'add "{moment}" to stages, or leave this table out'))
    return problems


def _read(case: Case, drawing: Drawing, drafts: list[Draft]) -> list[Stage]:
    """The drafts as stages, checked; faults at the tables that the drafts come from."""
    problems = _clashes(case, drafts)
    if len(case.stage) + len(drafts) > MOST_STAGES:
        problems.append(Problem("life.stages", f"too many stages: at most {MOST_STAGES}", "leave some out"))
    stages: list[Stage] = []
    for draft in drafts:
        try:
            stage = Stage.model_validate({**draft.data, "id": slug(draft.data["name"])}, context=Reading("si"))
        except ValidationError as error:
            problems += [replace(one, where=draft.where) for one in problems_of(error, {"stage": [draft.data]})]
            continue
        stages.append(stage)
        problems += [_moved(one, draft, stage) for one in check_stage(drawing, stage, "")]
    if problems:
        raise CaseError(dict.fromkeys(problems))
    return stages


def _moved(problem: Problem, draft: Draft, stage: Stage) -> Problem:
    """The fault of a generated stage at the key of [life] that its writer knows."""
    return replace(problem, where=draft.where, what=f"in the stage made of it, {stage.name}: {problem.what}")


def _clashes(case: Case, drafts: list[Draft]) -> list[Problem]:
    ready = {draft.data["name"]: draft.where for draft in drafts}
    ids = {slug(name) for name in ready}
    problems = []
    for k, stage in enumerate(case.stage):
        if stage.name in ready or stage.id in ids:
            what = f'"{stage.name}" is called like a ready-made stage of [life]'
            problems.append(Problem(f"stage[{k}].name", what, "give it another name, or leave that one out of stages"))
    return problems
