"""How old the piece has to be to be stripped and carried as the case says."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence

from api.advice.bench import Bench, Trial
from api.advice.item import item
from api.answer_stage import Json
from api.case_values import DAY
from api.figures import age_words, pull_words
from api.strength import earliest_age, earliest_compressive_age
from api.units import clean
from fem.plate.model import StageResult

__all__ = ["wait_to", "when_words"]

HALF_HOUR = 1800.0
ROUNDS = 3
"""With age grows the stiffness too, and where it counts the pull: the age is found again from the pull at that age."""
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def wait_to(bench: Bench, moment: str, stages: Sequence[int]) -> Json | None:
    """Earliest time to do this, all its stages taken together; None if one tips or waiting never makes it strong."""
    case = bench.case
    results: Sequence[StageResult] = [bench.analysis.stages[k] for k in stages]
    least = earliest_compressive_age(case) if moment == "strip" else None
    if moment == "strip" and least is None and case.concrete.compressive_strength is not None:
        return None
    clock = case.life is not None and case.life.cast is not None
    age, trial = least or 0.0, None
    for _ in range(ROUNDS):
        needs = [_needed(bench, k, result) for k, result in zip(stages, results, strict=True)]
        ages = [None if need is None else earliest_age(case, need) for need in needs]
        if any(one is None for one in ages):
            return None
        age = _rounded(max([age, *(one for one in ages if one is not None)]), clock)
        trial = bench.solve(_aged(bench, stages, age, needs), f"the age to {moment}")
        if trial is None or trial.holds:
            break
        results = trial.analysis.stages
    if trial is None or not trial.holds:
        return None
    return item(bench, f"wait to {moment}", stages[trial.worst], _told(bench, moment, age, trial), trial)


def when_words(age: float, cast: str | None) -> str:
    """A time: of the clock if the time of casting is known, else the age.

    >>> when_words(22 * 3600.0, "2026-03-02 16:00"), when_words(22 * 3600.0, None)
    ('Tue 14:00', '22 h after casting')
    """
    if cast is None:
        words = age_words(age)
        return words if words.startswith("day") else f"{words} after casting"
    when = datetime.datetime.fromisoformat(cast) + datetime.timedelta(seconds=age)
    date = f" {when.date().isoformat()}" if age > 6 * DAY else ""
    return f"{_DAYS[when.weekday()]}{date} {when:%H:%M}"


def _needed(bench: Bench, k: int, result: StageResult) -> float | None:
    """The cracking strength at which the stage would hold [Pa]; None if it tips."""
    if result.peaks is None:
        return None
    stage = bench.piece.stages[k]
    share = stage.cracking / stage.allowed
    tensions = [peak.tension for peak in result.peaks.values()]
    # A hair more, so that rounding never turns what holds into what does not.
    needs = [one.tension + one.error for one in tensions]
    hairline = [one.local + one.allowance for one in tensions if one.local is not None]
    return max([share * max(needs), *hairline, 1.0]) * (1 + 1e-9)


def _aged(bench: Bench, stages: Sequence[int], age: float, needs: Sequence[float | None]) -> Json:
    """The stages at that age; where a strength was measured earlier, what it has to be measured as by then."""
    data = bench.alone(*stages)
    for stage, need in zip(data["stage"], needs, strict=True):
        stage["age"] = clean(age / DAY)
        stage.pop("modulus", None)
        if "cracking_strength" in stage:
            stage["cracking_strength"] = need
    return data


def _rounded(age: float, clock: bool) -> float:
    """An age rounded up as it is told, so that what is told is what was solved."""
    step = HALF_HOUR if clock or age < 3 * DAY else DAY / 10 if age < 9.9 * DAY else DAY
    return math.ceil(age / step - 1e-9) * step


def _told(bench: Bench, moment: str, age: float, trial: Trial) -> str:
    case, after = bench.case, trial.readings[trial.worst]
    when = when_words(age, None if case.life is None else case.life.cast)
    pull, can = pull_words(after.pull or 0.0, case.units), pull_words(after.allowed, case.units)
    return f"Do not {moment} before {when}: the pull is then {pull} and it can take {can}."
