"""The order in which changes are tried: when to strip and carry, where to hold, then each stage that does not hold."""

from __future__ import annotations

from collections.abc import Callable

from api.advice.bench import STATUS_ORDER, Bench, moment_of
from api.advice.hands import COUNTS, best_hands
from api.advice.hold_down import hold_down
from api.advice.on_edge import on_edge
from api.advice.overhang import shorter_overhang
from api.advice.prop import one_more_support
from api.advice.radius import rounder
from api.advice.seam import seam
from api.advice.thicker import thicker
from api.advice.waiting import wait_to
from api.answer_stage import Json
from api.case import Case
from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.plate.prepared import Prepared

__all__ = ["MOST_SOLVES", "advice_from"]

MOST_SOLVES = 40
"""Changed cases solved at most: a bound in work, not in seconds, so that the same case always gets the same advice."""
MOST_STAGES = 4


def advice_from(
    case: Case,
    piece: Piece,
    prepared: Prepared,
    analysis: Analysis,
    step: Callable[[str], None] = lambda what: None,
    most: int = MOST_SOLVES,
) -> list[Json]:
    """What would help a solved case: entries of ANSWER.advice, each with its changed case, which has been solved.

    Nothing is extrapolated. most bounds the changed cases that are solved; where it ends, the rest is left out.
    """
    bench = Bench(case, piece, prepared, analysis, most, step)
    items = [*_waiting(bench), *_hands(bench)]
    bad = _unlike(bench)[:MOST_STAGES]
    if bad:
        items += _found([thicker(bench, bad)])
    for k in bad:
        handled = moment_of(case.stage[k].name) != ""
        tries: list[Callable[[Bench, int], Json | None]] = [hold_down] if not handled else [on_edge]
        tries += [one_more_support, *([] if handled else [shorter_overhang]), rounder]
        tries += [] if handled else [seam]
        items += sorted(_found([one(bench, k) for one in tries]), key=_badness)
    return items


def _unlike(bench: Bench) -> list[int]:
    """The stages that do not hold, worst first; of stages in which the same is done with hands, the worst one."""
    found: dict[str, int] = {}
    for k in bench.bad:
        name = bench.case.stage[k].name
        found.setdefault(moment_of(name) or name, k)
    return list(found.values())


def _waiting(bench: Bench) -> list[Json]:
    found = []
    for moment in ("strip", "carry"):
        stages = [k for k, stage in enumerate(bench.case.stage) if moment_of(stage.name) == moment]
        found.append(wait_to(bench, moment, stages) if stages else None)
    return _found(found)


def _hands(bench: Bench) -> list[Json]:
    """Hands for the first stage of carrying, flat if there is one."""
    carried = [k for k, stage in enumerate(bench.case.stage) if moment_of(stage.name) in ("carry", "lift")]
    if not carried:
        return []
    k = min(carried, key=lambda one: bench.case.stage[one].posture != "flat")
    return _found([best_hands(bench, k, count) for count in COUNTS])


def _found(items: list[Json | None]) -> list[Json]:
    return [one for one in items if one is not None]


def _badness(one: Json) -> tuple[int, float]:
    return STATUS_ORDER.index(one["status_after"]), (one["after_Pa"] or 0.0) / one["allowed_Pa"]
