"""Carried on edge instead of flat, hands at a fifth of the length in."""

from __future__ import annotations

from api.advice.bench import Bench, moment_of
from api.advice.item import brings, helps, item
from api.answer_stage import Json
from api.case_life import Carry, Life
from api.case_values import DAY
from api.errors import CaseError
from api.life import drafts_of

__all__ = ["on_edge"]

KEYS = ("up", "posture", "down", "across", "support")


def on_edge(bench: Bench, k: int) -> Json | None:
    """The stage on edge as a ready-made carry is; None if it is no carrying flat, cannot be, or is no better so."""
    stage = bench.case.stage[k]
    if stage.posture != "flat" or moment_of(stage.name) not in ("carry", "lift"):
        return None
    life = Life(stages=("carry",), carry=Carry(age=stage.age / DAY, multiplier=stage.multiplier, safety=stage.safety))
    try:
        draft = drafts_of(bench.case.model_copy(update={"life": life}))[0][0].data
    except CaseError:
        return None
    data = bench.alone(k)
    data["stage"][0] |= {key: draft[key] for key in KEYS} | {"load": []}
    for key in ("slide", "shims"):
        data["stage"][0].pop(key, None)
    trial = bench.solve(data, "on edge")
    before = bench.readings[k]
    if trial is None or not helps(before, trial.readings[0]):
        return None
    told = brings(stage.name, before, trial.readings[0], bench.case.units)
    lead = "On edge instead of flat, two hands under it a fifth of its length in from each end and two at the top,"
    return item(bench, "on edge", k, f"{lead} {told}.", trial)
