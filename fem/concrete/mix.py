"""Strength and modulus of one concrete at any age, from what is known of it: tests, a 28-day value, f'c alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fem.concrete.coupon import StripTest
from fem.concrete.formulas import lightweight_factor, modulus_of_elasticity, modulus_of_rupture
from fem.concrete.growth import DAY, TYPE_I_MOIST, Growth, Law, en1992_ratio, growth_of, pair

__all__ = ["SUSTAINED", "Mix", "Strength", "compressive_at_age", "cracking_at_age", "in_days", "modulus_at_age"]

UNTESTED_UNTIL = 3 * DAY
RAPID = growth_of("III")
# Share of the strength that a load of months may use: EN 1992-1-1 leaves it to the national annex, tests give 0.7 to
# 0.8, fib Model Code 2010 0.6 (from memory); 0.7 is the project's default.
SUSTAINED = 0.7


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength or modulus [Pa] and where it comes from, in words for the reader of the answer."""

    value: float
    source: str


@dataclass(frozen=True, slots=True)
class Mix:
    """What is known of a concrete: density [kg/m3], how it grows, and 28-day values [Pa], each None if not known.

    compressive f'c; cracking and modulus with their origin in words; tests: strips broken at some age, which come
    before every formula; pace: seconds at 20 C that one second of its curing is worth.
    """

    density: float
    law: Law = TYPE_I_MOIST
    compressive: float | None = None
    cracking: Strength | None = None
    modulus: Strength | None = None
    tests: tuple[StripTest, ...] = ()
    pace: float = 1.0


def cracking_at_age(age: float, mix: Mix) -> Strength:
    """Cracking strength in bending at an age [s]: the 28-day one times its growth, never over the 28-day one.

    Test strips come first: the last one broken by that age serves, grown from its own age on (by the least of the laws
    of normal and rapid cement unless the growth was told: a mix strong early grows little later), no higher than any
    later test and, unless the test itself was, no higher than the 28-day value; before the first test, that one scaled
    down by the lower law. Without tests, the 28-day value is mix.cracking or ACI's modulus of rupture of f'c. Under
    three days, unless the growth was told, EN class N's growth if that is lower (the package's heading says why).
    ValueError if nothing is known.
    """
    at_28 = _cracking_at_28(mix)
    if mix.tests:
        return _from_tests(age, mix, at_28)
    if at_28 is None:
        raise ValueError("no strength: give compressive, cracking or tests")
    time = age * mix.pace
    ratio, curve = mix.law.tension(time), _tension_curve(mix.law)
    if min(age, time) < UNTESTED_UNTIL and not mix.law.told and en1992_ratio(time) < ratio:
        ratio = en1992_ratio(time)
        curve = f"growth of tension by EN 1992-1-1 class N, lower than by {mix.law.name}; untested and under 3 days"
    return Strength(at_28.value * ratio, f"{at_28.source}, {ratio:.3g} of it at {_when(age, mix)} ({curve})")


def modulus_at_age(age: float, mix: Mix) -> Strength:
    """Modulus of elasticity at an age [s], [Pa]: the 28-day one times its growth, never more than it.

    As ACI's Ec goes with sqrt(f'c), its growth is the root of that of f'c; EN's is the power 0.3. ValueError if neither
    mix.modulus nor f'c is known.
    """
    if mix.modulus is not None:
        at_28 = mix.modulus
    elif mix.compressive is not None:
        value = modulus_of_elasticity(mix.compressive, mix.density)
        at_28 = Strength(value, "33 w^1.5 sqrt(f'c) by ACI 318-19 Eq. 19.2.2.1.a")
    else:
        raise ValueError("no modulus: give compressive or modulus")
    ratio = mix.law.modulus(age * mix.pace)
    words = f"{at_28.source}, {ratio:.3g} of it at {_when(age, mix)} (f'c growing by {mix.law.name})"
    return Strength(at_28.value * ratio, words)


def compressive_at_age(age: float, mix: Mix) -> Strength:
    """Compressive strength at an age [s], [Pa]; under three days and not told, by the lower of the two growths.

    ValueError if f'c is not known.
    """
    if mix.compressive is None:
        raise ValueError("no compressive strength: give compressive")
    time = age * mix.pace
    ratio, name = mix.law.compression(time), mix.law.name
    if min(age, time) < UNTESTED_UNTIL and not mix.law.told and en1992_ratio(time) < ratio:
        ratio, name = en1992_ratio(time), "EN 1992-1-1, class N"
    return Strength(mix.compressive * ratio, f"f'c, {ratio:.3g} of it at {_when(age, mix)} (growing by {name})")


def in_days(age: float) -> str:
    """An age [s] in words.

    >>> in_days(3 * 86400), in_days(72000)
    ('3 days', '20 h')
    """
    days = age / DAY
    return f"{days:.3g} days" if days >= 2 else f"{age / 3600:.3g} h"


def _cracking_at_28(mix: Mix) -> Strength | None:
    if mix.cracking is not None:
        return mix.cracking
    if mix.compressive is None:
        return None
    value = modulus_of_rupture(mix.compressive, lightweight_factor(mix.density))
    return Strength(value, "7.5 lambda sqrt(f'c) by ACI 318-19 Eq. 19.2.3.1")


def _from_tests(age: float, mix: Mix, at_28: Strength | None) -> Strength:
    tests = sorted(mix.tests, key=lambda test: (test.age, -test.low))  # of one age the lowest counts: it comes last
    done = [test for test in tests if test.age <= age]
    ceiling = min((test.low for test in tests if test.age > age), default=float("inf"))
    if not done:
        first = min((test for test in tests if test.age == tests[0].age), key=lambda test: test.low)
        share, name = _least(_both(mix.law), age * mix.pace, first.age * mix.pace)
        words = f"scaled down to {_when(age, mix)} by {name}, the lower law"
        return _least_of(first.low * share, ceiling, first, words)
    last = done[-1]
    shares = ((mix.law.name, mix.law.tension),) if mix.law.told else (*_both(mix.law), *_both(RAPID))
    share, name = _least(shares, age * mix.pace, last.age * mix.pace)
    grown, words = last.low * share, f"grown to {share:.3g} of it at {_when(age, mix)} by {name}"
    if age == last.age:
        words = "as it was at that age"
    if at_28 is not None and grown > max(last.low, at_28.value):
        grown, words = max(last.low, at_28.value), f"grown to the 28-day value at most ({at_28.source})"
    return _least_of(grown, ceiling, last, words)


def _least_of(value: float, ceiling: float, test: StripTest, words: str) -> Strength:
    if value > ceiling:
        value, words = ceiling, "no more than a later test gave"
    return Strength(value, f"{test.source}, broken at {in_days(test.age)}; {words}")


_Share = tuple[str, Callable[[float], float]]


def _both(law: Law) -> tuple[_Share, ...]:
    """ACI's growth of tension (root of compression's) and EN's (in proportion to compression) for this concrete."""
    aci, en = pair(law)
    return (aci.name, aci.tension), (en.name, en.compression)


def _least(shares: tuple[_Share, ...], time: float, tested: float) -> tuple[float, str]:
    """The least growth from the time of the test to another one, and the name of its law."""
    return min((share(time) / share(tested), name) for name, share in shares)


def _tension_curve(law: Law) -> str:
    return f"sqrt of the growth by {law.name}" if isinstance(law, Growth) else f"growth of tension by {law.name}"


def _when(age: float, mix: Mix) -> str:
    return in_days(age) if mix.pace == 1 else f"{in_days(age)}, worth {in_days(age * mix.pace)} at 20 C"
