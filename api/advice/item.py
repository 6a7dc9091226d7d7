"""One piece of advice as the answer tells it: a sentence with figures, the pull before and after, the changed case."""

from __future__ import annotations

from api.advice.bench import Bench, Reading, Trial
from api.answer_stage import Json
from api.figures import Units, pull_words

__all__ = ["brings", "helps", "item", "verdict_after"]

LEAST = 0.95
"""A change that leaves more of the pull than this helps nobody."""
STILL_CRACKS = 0.8
"""Nor does one after which it still cracks, unless a fifth of the pull is gone."""
_AFTER = {
    "holds": "it holds",
    "marginal": "it may still crack",
    "cracks": "it will still probably crack",
    "tips": "it still tips",
}


def item(bench: Bench, kind: str, k: int, what: str, trial: Trial, which: int | None = None) -> Json:
    """Advice on stage k: the trial's stage `which`, its worst one if None, says what comes of it."""
    before, after = bench.readings[k], trial.readings[trial.worst if which is None else which]
    return {
        "kind": kind,
        "stage": bench.case.stage[k].id,
        "what": what,
        "before_Pa": before.pull,
        "after_Pa": after.pull,
        "allowed_Pa": after.allowed,
        "status_after": after.status,
        "face": after.face,
        "case": trial.data,
    }


def helps(before: Reading, after: Reading) -> bool:
    """Whether a change is worth a word: it stands where it fell, or is pulled clearly less, and no worse otherwise."""
    if after.pull is None:
        return False
    if before.pull is None:
        return after.status != "cracks"
    left = (after.pull / after.allowed) / (before.pull / before.allowed) if before.pull > 0 else 1.0
    if after.status == "cracks":
        return left <= STILL_CRACKS
    return after.badness[0] < before.badness[0] or (after.badness[0] == before.badness[0] and left <= LEAST)


def brings(name: str, before: Reading, after: Reading, units: Units) -> str:
    """The end of a sentence: "brings the pull of 'use' from 420 psi to 250 psi: it holds"."""
    now = pull_words(after.pull or 0.0, units)
    end = verdict_after(after)
    if before.pull is None:
        return f"keeps '{name}' from tipping; the pull is then {now}: {end}"
    return f"brings the pull of '{name}' from {pull_words(before.pull, units)} to {now}: {end}"


def verdict_after(after: Reading) -> str:
    """What becomes of it, in three or four words."""
    return _AFTER[after.status]
