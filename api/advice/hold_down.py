"""What is screwed down does not tip: a hold where the least force keeps the piece on its supports."""

from __future__ import annotations

from api.advice.bench import Bench
from api.advice.item import brings, helps, item
from api.answer_stage import Json
from api.figures import hold_words, point_words

__all__ = ["hold_down"]

SIZE = 0.0508


def hold_down(bench: Bench, k: int) -> Json | None:
    """The stage with one hold 2 in wide at the best place for it; None if it does not tip or tips even so."""
    tips = bench.analysis.stages[k].tips
    if tips is None or bench.case.stage[k].posture != "flat":
        return None
    at = (float(tips.hold_down_at[0]), float(tips.hold_down_at[1]))
    data = bench.alone(k)
    hold = {"name": "hold-down", "kind": "point", "at": list(at), "action": "hold", "size": SIZE}
    data["stage"][0]["support"].append(hold)
    trial = bench.solve(data, "a hold-down")
    if trial is None or not helps(bench.readings[k], trial.readings[0]):
        return None
    result = trial.analysis.stages[0]
    last = [found.supports[-1].force for found in result.worst.values()]
    force = max([tips.hold_down, -result.supports[-1].force, *(-one for one in last)])
    units = bench.case.units
    told = brings(bench.case.stage[k].name, bench.readings[k], trial.readings[0], units)
    where = f"{point_words(at, units)} ({bench.places.of(at)})"
    lead = f"Holding it down at {where} with at least {hold_words(force, units)} (times 1.5 to be safe)"
    return item(bench, "hold-down", k, f"{lead} {told}.", trial)
