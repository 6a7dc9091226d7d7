"""How old the piece is at each moment of its life: what is told must be in order, and defaults give way to it."""

from __future__ import annotations

from api.case_life import MOMENTS, Life, Moment
from api.case_model import Concrete
from api.case_values import DAY
from api.errors import Problem
from api.life.choice import Choice
from api.life.defaults import DEFAULTS, FAST_STRIP, SETTING, shown
from api.units import TIME

__all__ = ["age_faults", "ages_of"]


def age_faults(life: Life) -> list[Problem]:
    """Ages that are told before the concrete has set, or not in the order in which things happen."""
    problems: list[Problem] = []
    before: tuple[Moment, float] | None = None
    for moment in MOMENTS:
        age = getattr(life, moment).age
        if age is None:
            continue
        where = f"life.{moment}.age"
        if age < SETTING:
            what = f"the age before setting: at {shown(age, TIME, 'si')} the concrete is still soft"
            problems.append(Problem(where, what, f"concrete sets in 4 to 10 hours: give at least {SETTING / 3600:g} h"))
        elif before is not None and age < before[1]:
            first, when = before
            what = f"{moment} at {shown(age, TIME, 'si')} comes before {first} at {shown(when, TIME, 'si')}"
            problems.append(Problem(where, what, f"the order is {', '.join(MOMENTS)}: give {moment} an age not below"))
        before = (moment, max(age, before[1] if before else 0.0))
    return problems


def ages_of(life: Life, concrete: Concrete, choice: Choice) -> dict[Moment, float]:
    """Age [s] at every moment; a default is never before a told age that comes first, nor after one that follows."""
    told: dict[Moment, float | None] = {moment: getattr(life, moment).age for moment in MOMENTS}
    ages: dict[Moment, float] = {}
    last = 0.0
    for k, moment in enumerate(MOMENTS):
        age = told[moment]
        if age is None:
            later = [told[after] for after in MOMENTS[k + 1 :]]
            wanted, why = _usual(moment, concrete, last)
            age = min([max(wanted, last), *(one for one in later if one is not None)])
            if moment in life.stages:
                choice.note(f"life.{moment}.age", f"{shown(age, TIME, 'si')}: {why}")
        ages[moment] = last = age
    return ages


def _usual(moment: Moment, concrete: Concrete, last: float) -> tuple[float, str]:
    if moment == "strip" and _fast(concrete):
        return (
            FAST_STRIP,
            "a mix whose early strength is told is stripped after 16 to 24 hours; common practice, no source",
        )
    if moment == "turn":
        return last, "turned as soon as it is out of the form; common practice, no source"
    if moment == "set":
        return last, "set down on the day it is hauled; common practice, no source"
    row = DEFAULTS[f"{moment}.age"]
    return float(row.value), row.why


def _fast(concrete: Concrete) -> bool:
    """Whether the mix is told to be fast (cement III or R, steam, its own growth) or was tested within two days."""
    tested = any(coupon.age <= 2 * DAY for coupon in concrete.coupon)
    told = concrete.strength_gain is not None or concrete.cement in ("III", "R") or concrete.curing == "steam"
    return told or tested
