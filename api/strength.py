"""The concrete of a case at any age: cracking strength and modulus with their sources in words."""

from __future__ import annotations

from api.case_model import Case, Stage
from fem.concrete import DAY, TYPE_I_MOIST, Growth, Law, Mix, Strength, cracking_at_age, modulus_at_age

__all__ = ["cracking_of", "mix_of", "modulus_of"]

MEASURED = "measured at this age, as the case says"


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


def mix_of(case: Case) -> Mix:
    """What the case says of its concrete, in SI."""
    concrete = case.concrete
    cracking, modulus = concrete.cracking_strength, concrete.modulus
    return Mix(
        density=concrete.density,
        law=_law(case),
        compressive=concrete.compressive_strength,
        cracking=None if cracking is None else Strength(cracking, "the case's 28-day cracking strength"),
        modulus=None if modulus is None else Strength(modulus, "the case's 28-day modulus"),
    )


def _law(case: Case) -> Law:
    gain = case.concrete.strength_gain
    if gain is None:
        return TYPE_I_MOIST
    return Growth(gain.a, gain.beta, f"t / ({gain.a / DAY:.3g} + {gain.beta:.3g} t), as the case says", told=True)
