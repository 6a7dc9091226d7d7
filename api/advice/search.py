"""The first of a row of ever greater changes that makes the stages hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TypeVar

from api.advice.bench import Reading, Trial
from api.advice.item import helps

__all__ = ["first_that_passes", "ladder"]

T = TypeVar("T")
MORE = 3
"""So many greater changes are tried where the one that was found does not hold in every state."""


def ladder(after: float, last: float, step: float) -> list[float]:
    """Whole multiples of a step [m] above `after`, up to `last`.

    >>> ladder(0.038, 0.05, 0.005)
    [0.04, 0.045, 0.05]
    """
    first = math.floor(after / step + 1e-6) + 1
    return [round(k * step, 9) for k in range(first, math.floor(last / step + 1e-6) + 1)]


def first_that_passes(
    changes: Sequence[T],
    solve: Callable[[T], Trial | None],
    lean: Callable[[T], Trial | None],
    before: Reading | None = None,
) -> tuple[T, Trial] | None:
    """The least change whose trial holds, by bisection; the greatest one that can be tried if none does.

    lean looks for it in the governing states alone, solve then says what it comes to. The more is changed, the better
    it is taken to be: between a change that fails and one that holds, one is found that holds while the one before it
    does not. before: where even the greatest change does not help what was so, nothing more is tried.
    """
    rest = list(changes)
    last: Trial | None = None
    while rest and (last := lean(rest[-1])) is None:
        rest = rest[: len(rest) // 2]
    if last is None or (before is not None and not helps(before, last.readings[0])):
        return None
    low, high = -1, len(rest) - 1
    while last.holds and high - low > 1:
        middle = (low + high) // 2
        trial = lean(rest[middle])
        if trial is None:
            break
        low, high = (low, middle) if trial.holds else (middle, high)
    found: tuple[T, Trial] | None = None
    for change in rest[high : high + MORE]:
        trial = solve(change)
        if trial is None:
            break
        found = change, trial
        if trial.holds:
            break
    return found
