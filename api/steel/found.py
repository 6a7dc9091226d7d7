"""Everything found about the steel of a case: one record for the answer, the sheet, the maps and the report."""

from __future__ import annotations

from dataclasses import dataclass

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

__all__ = ["SteelFound"]


@dataclass(frozen=True, eq=False)
class SteelFound:
    """What is laid into a slab and what it is worth; SI.

    covers are the shop's, which the plan keeps; code_covers those of the code, and code_cover what the same runs would
    carry there, or None where they do not fit. concrete is that of concrete_age [s], the youngest stage that may owe
    steel (at most 28 days): runs are weakest in it. plan is None where none was asked for; given are the runs of the
    case's own layout, judged their worth, or None where the case has none.
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
