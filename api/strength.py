"""The concrete of a case at any age: cracking strength, modulus, both codes side by side, and how long to wait."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from api.case_concrete import Coupon
from api.case_model import Case, Stage
from fem.concrete import (
    DAY,
    STRIPPING_COMPRESSIVE,
    TYPE_I_MOIST,
    BothCodes,
    Growth,
    Law,
    Mix,
    Strength,
    StripTest,
    age_for_compressive,
    age_for_strength,
    both_codes,
    cracking_at_age,
    from_strips,
    growth_of,
    modulus_at_age,
    pace,
    strength_at_break,
)

__all__ = [
    "GLASS_FIBRE_MODULUS",
    "codes_at",
    "cracking_of",
    "earliest_age",
    "earliest_compressive_age",
    "mix_of",
    "modulus_of",
    "strength_rows",
    "strip_test",
]

MEASURED = "measured at this age, as the case says"
# Glass-fibre concrete: 10 to 20 GPa (data sheets that copy the trade association's table).
GLASS_FIBRE_MODULUS = 15e9


def cracking_of(case: Case, stage: Stage) -> Strength:
    """Cracking strength in bending at the stage's age, [Pa]: measured for the stage, or of the case's concrete."""
    if stage.cracking_strength is not None:
        return Strength(stage.cracking_strength, MEASURED)
    return cracking_at_age(stage.age, mix_of(case))


def modulus_of(case: Case, stage: Stage) -> Strength:
    """Modulus of elasticity at the stage's age, [Pa]: measured for the stage, or of the case's concrete."""
    if stage.modulus is not None:
        return Strength(stage.modulus, MEASURED)
    return modulus_at_age(stage.age, mix_of(case))


def strength_rows(case: Case, age: float) -> list[dict[str, Any]]:
    """What is used at an age [s] and what each code gives: rows { code, cracking_Pa, modulus_Pa, source }.

    Glass-fibre concrete has the one row that is used: its limit of proportionality is no code's.
    """
    mix = mix_of(case)
    used = cracking_at_age(age, mix)
    rows = [_row("used here", used.value, modulus_at_age(age, mix).value, used.source)]
    codes = codes_at(case, age)
    if codes is not None:
        rows += [_row(one.code, one.cracking, one.modulus, one.source) for one in (codes.aci, codes.en)]
    return rows


def codes_at(case: Case, age: float) -> BothCodes | None:
    """ACI and EN side by side at an age [s], with the words on which governs; None for glass-fibre concrete."""
    if case.concrete.glass_fibre is not None:
        return None
    return both_codes(age, mix_of(case), case.slab.thickness)


def earliest_age(case: Case, needed_cracking: float) -> float | None:
    """Earliest age [s], in whole minutes, at which the cracking strength reaches so much [Pa]; None if it never does.

    What was measured for a stage counts as a test at that age.
    """
    mix = mix_of(case)
    measured = tuple(
        StripTest(stage.age, value, value, value, MEASURED)
        for stage in case.stage
        if (value := stage.cracking_strength) is not None
    )
    return age_for_strength(needed_cracking, replace(mix, tests=mix.tests + measured))


def earliest_compressive_age(case: Case, needed: float = STRIPPING_COMPRESSIVE) -> float | None:
    """Earliest age [s] at which the compressive strength reaches so much [Pa] (2000 psi to strip).

    None if it never does, or if the case has no compressive strength.
    """
    if case.concrete.compressive_strength is None:
        return None
    return age_for_compressive(mix_of(case), needed)


def mix_of(case: Case) -> Mix:
    """What the case says of its concrete, in SI."""
    concrete = case.concrete
    warmth = concrete.curing_temperature
    return Mix(
        density=concrete.density,
        law=_law(case),
        compressive=concrete.compressive_strength,
        cracking=_cracking_at_28(case),
        modulus=_modulus_at_28(case),
        tests=tuple(strip_test(coupon) for coupon in concrete.coupon),
        pace=1.0 if warmth is None else pace(warmth),
    )


def strip_test(coupon: Coupon) -> StripTest:
    """The strength that a coupon of the case shows."""
    mean = strength_at_break(
        coupon.load, width=coupon.width, depth=coupon.depth, span=coupon.span, points=coupon.points
    )
    deviation = None if coupon.deviation is None else coupon.deviation / coupon.load * mean
    return from_strips(coupon.age, mean, count=coupon.count, deviation=deviation)


def _cracking_at_28(case: Case) -> Strength | None:
    concrete = case.concrete
    if concrete.glass_fibre is not None:
        value = concrete.glass_fibre.limit_of_proportionality
        return Strength(value, "the limit of proportionality of the case's glass-fibre concrete")
    if concrete.cracking_strength is None:
        return None
    return Strength(concrete.cracking_strength, "the case's 28-day cracking strength")


def _modulus_at_28(case: Case) -> Strength | None:
    concrete, fibre = case.concrete, case.concrete.glass_fibre
    given = concrete.modulus if fibre is None or fibre.modulus is None else fibre.modulus
    if given is not None:
        return Strength(given, "the case's 28-day modulus")
    if fibre is not None:
        return Strength(GLASS_FIBRE_MODULUS, "15 GPa assumed for glass-fibre concrete (10 to 20 GPa is typical)")
    return None


def _law(case: Case) -> Law:
    gain, cement = case.concrete.strength_gain, case.concrete.cement
    if gain is not None:
        return Growth(gain.a, gain.beta, f"t / ({gain.a / DAY:.3g} + {gain.beta:.3g} t), as the case says", told=True)
    return TYPE_I_MOIST if cement is None else growth_of(cement, case.concrete.curing or "moist")


def _row(code: str, cracking: float, modulus: float, source: str) -> dict[str, Any]:
    return {"code": code, "cracking_Pa": cracking, "modulus_Pa": modulus, "source": source}
