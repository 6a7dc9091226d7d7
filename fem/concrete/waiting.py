"""How long to wait: the earliest age at which a concrete has a strength that is needed."""

from __future__ import annotations

import math
from collections.abc import Callable

from fem.concrete.formulas import PSI
from fem.concrete.growth import DAY
from fem.concrete.mix import Mix, compressive_at_age, cracking_at_age

__all__ = ["STRIPPING_COMPRESSIVE", "age_for_compressive", "age_for_strength"]

# At least 2000 psi at stripping unless calculated: the precast trade's rule (spirit of PCI MNL-116, from memory).
STRIPPING_COMPRESSIVE = 2000 * PSI
# Before final set, 4 to 10 h at 20 C (from memory), concrete has no strength to speak of, whatever a formula says.
SET = 10 * 3600.0
MINUTE = 60.0


def age_for_strength(needed: float, mix: Mix) -> float | None:
    """Earliest age [s], in whole minutes, at which the cracking strength reaches `needed` [Pa]; None if it never does.

    Never before final set (10 h at 20 C), unless a strip was broken earlier.
    """
    return _earliest(lambda age: cracking_at_age(age, mix).value >= needed, mix)


def age_for_compressive(mix: Mix, needed: float = STRIPPING_COMPRESSIVE) -> float | None:
    """Earliest age [s], in whole minutes, at which the compressive strength reaches `needed` [Pa]; None if never.

    The default is what stripping asks for. Never before final set. ValueError if f'c is not known.
    """
    return _earliest(lambda age: compressive_at_age(age, mix).value >= needed, mix)


def _earliest(reached: Callable[[float], bool], mix: Mix) -> float | None:
    """Bisection over whole minutes: strength never falls with age; 28 days or the last test end it."""
    ages = [test.age for test in mix.tests]
    low = math.ceil(min([SET / mix.pace, *ages]) / MINUTE)
    high = max(math.ceil(max([28 * DAY / mix.pace, *ages]) / MINUTE), low)
    if reached(low * MINUTE):
        return low * MINUTE
    if not reached(high * MINUTE):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(middle * MINUTE) else (middle, high)
    return high * MINUTE
