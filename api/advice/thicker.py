"""How thick the piece has to be, and how its weight, people, gaps and bow count there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from api.advice.bench import Bench, Trial, pulled
from api.advice.item import brings, helps, item
from api.advice.search import first_that_passes, ladder
from api.answer_stage import Json, as_it_comes
from api.figures import length_words, mass_words, number_words, pull_words
from fem.plate.analysis import analyse_prepared
from fem.plate.model import Stage
from fem.plate.prepared import Prepared

__all__ = ["thicker"]

INCH = 0.0254
WHAT = "a thicker slab"
STEPS = {"us": (INCH / 8, 3 * INCH), "si": (0.005, 0.075)}
"""Trade sizes: step and greatest [m]."""


def thicker(bench: Bench, stages: Sequence[int]) -> Json | None:
    """The least trade size at which these stages hold, or as many of them as the greatest size makes hold.

    Where that makes none hold, the greatest size for the first of them that it helps at all.
    """
    now = bench.case.slab.thickness
    step, most = STEPS[bench.case.units]
    sizes = ladder(now, most, step)

    def solve(thickness: float, ks: Sequence[int]) -> Trial | None:
        return bench.solve(_as_thick(bench.alone(*ks), thickness), WHAT)

    def lean(thickness: float, ks: Sequence[int]) -> Trial | None:
        return bench.solve(_as_thick(bench.alone(*ks), thickness), WHAT, ks)

    greatest = solve(sizes[-1], stages) if sizes else None
    if greatest is None:
        return None
    helped = [k for k, after in zip(stages, greatest.readings, strict=True) if after.status == "holds"]
    if helped:
        found = first_that_passes(sizes, lambda size: solve(size, helped), lambda size: lean(size, helped))
        if found is None or not found[1].holds:
            last = solve(sizes[-1], helped)
            found = None if last is None or not last.holds else (sizes[-1], last)
        return None if found is None else _told(bench, helped, *found, len(helped) - 1)
    best = next(
        (k for k, after in zip(stages, greatest.readings, strict=True) if helps(bench.readings[k], after)), None
    )
    trial = None if best is None else solve(sizes[-1], [best])
    if best is None or trial is None or not helps(bench.readings[best], trial.readings[0]):
        return None
    return _told(bench, [best], sizes[-1], trial, 0)


def _told(bench: Bench, stages: Sequence[int], thickness: float, trial: Trial, others: int) -> Json:
    """The advice on the first stage of a trial, and how many others hold with it."""
    k = stages[0]
    units, name = bench.case.units, bench.case.stage[k].name
    lead = f"{length_words(thickness, units)} thick instead of {length_words(bench.case.slab.thickness, units)}"
    end = brings(name, bench.readings[k], trial.readings[0], units)
    too = f", and so {'does' if others == 1 else 'do'} {number_words(others)} more" if others else ""
    weights = [mass_words(one.weight, units) for one in (trial.analysis, bench.analysis)]
    told = f"{lead} {end}{too}; the piece then weighs {weights[0]} instead of {weights[1]}."
    return item(bench, "thickness", k, " ".join([told, *_shares(bench, k, trial)]), trial, 0)


def _as_thick(data: Json, thickness: float) -> Json:
    """The case with another thickness: what is left of it under a groove or a recess grows as much."""
    slab = data["slab"]
    more = thickness - slab["thickness"]
    for region in slab.get("region", ()):
        region["depth"] += more
    slab["thickness"] = thickness
    return data


def _shares(bench: Bench, k: int, trial: Trial) -> list[str]:
    """What weight, loads, and gaps with bow pull at both thicknesses, from solving each."""
    if bench.piece.stages[k].edgewise is not None:
        return []
    thin = _parts(bench.prepared, _governing(bench.piece.stages[k], bench, k))
    thick = _parts(trial.prepared, _governing(trial.piece.stages[0], bench, k))
    units = bench.case.units
    words = [
        f"{what} from {pull_words(thin[what], units)} to {pull_words(thick[what], units)}"
        for what in thin
        if what in thick and thin[what] > 0
    ]
    if len(words) < 2:
        return []
    return [f"Of the pull, {', '.join(words[:-1])} and {words[-1]}: not all of it falls alike."]


def _governing(stage: Stage, bench: Bench, k: int) -> Stage:
    """The stage in the state that governs it at the thickness of the case."""
    face, result = bench.readings[k].face, bench.analysis.stages[k]
    if face is not None and face in result.worst:
        worst = result.worst[face]
        return as_it_comes(stage, worst.variation, worst.at)
    return stage


def _parts(prepared: Prepared, state: Stage) -> dict[str, float]:
    """The pull of the weight alone, and what loads and what gaps and bow add to it [Pa]; {} where it tips."""
    one = replace(state, variations=(), roaming=(), levels=False)
    level = tuple(replace(support, gap=0.0) for support in one.supports)
    alone = replace(one, supports=level, loads=(), bows=())
    cases = {"its own weight goes": alone}
    if one.loads:
        cases["what the loads add goes"] = replace(alone, loads=one.loads)
    if one.bows or level != one.supports:
        cases["what gaps and bow add goes"] = replace(alone, supports=one.supports, bows=one.bows)
    results = analyse_prepared(prepared, tuple(cases.values())).stages
    pulls = [pulled(stage, result).pull for stage, result in zip(cases.values(), results, strict=True)]
    own = pulls[0]
    if own is None:
        return {}
    found = {what: pull - own for what, pull in zip(cases, pulls, strict=True) if pull is not None}
    return {**found, "its own weight goes": own}
