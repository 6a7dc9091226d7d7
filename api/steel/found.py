"""Everything found about the steel of a case: one record for the answer, the sheet, the maps and the report."""

from __future__ import annotations

from dataclasses import dataclass

from api.notes import Note
from fem.steel.model import (
    Bending,
    Carried,
    Check,
    Code,
    Concrete,
    Covers,
    Demand,
    Judgement,
    Plan,
    Rules,
    Run,
    Steel,
)

__all__ = ["Laid", "SteelFound"]


@dataclass(frozen=True, eq=False)
class SteelFound:
    """What is laid into a slab and what it is worth; SI.

    covers are the shop's, which the plan keeps; code_covers those of the code, and code_cover what the same runs would
    carry there, or None where they do not fit. concrete is that of concrete_age [s]; what younger concrete lacks is
    asked for in the demand. plan is None where none was asked for; given are the runs of the case's own layout, judged
    their worth, or None where the case has none. off_pull [rad] is the largest angle between the pull and the nearest
    run of the plan where at least half of the most is owed; None where there is no such place.
    """

    steel: Steel
    covers: Covers
    code: Code
    concrete: Concrete
    rules: Rules
    demand: Demand
    plan: Plan | None
    judged: Judgement | None
    given: tuple[Run, ...]
    code_cover: Carried | None
    code_covers: Covers
    checks: tuple[Check, ...]
    bendings: tuple[Bending, ...]
    notes: tuple[str, ...] = ()
    concrete_age: float = 28 * 86400.0
    off_pull: float | None = None


@dataclass(frozen=True, eq=False)
class Laid:
    """The steel of a case and what was assumed on the way; found is None where nothing can be said, and why says so."""

    found: SteelFound | None
    assumed: tuple[Note, ...] = ()
    why: str = ""
