"""What a cracked section knows of a case's concrete at an age: strengths both ways, stiffness, grain."""

from __future__ import annotations

import math

from api.case_model import Case, Stage
from api.strength import cracking_of, mix_of, modulus_of
from fem.concrete import ASSUMED_VARIATION, compressive_at_age
from fem.steel.model import Concrete

__all__ = ["AGGREGATE", "concrete_at"]

INCH, PSI = 0.0254, 6894.757293168361
AGGREGATE = 3 * INCH / 8


def concrete_at(case: Case, age: float, stage: Stage | None = None) -> Concrete:
    """What a cracked section knows of the case's concrete at an age [s], or at that of a stage with its own tests.

    high, the most it may take before it cracks: with test strips their mean and two deviations, grown by the faster
    law, else 12 sqrt(f'c) in psi; never less than a value that the case tells, and two deviations of 15 % on it.
    """
    mix = mix_of(case)
    at = case.stage[0].model_copy(update={"age": age, "cracking_strength": None, "modulus": None})
    at = at if stage is None else stage
    low, time = cracking_of(case, at).value, at.age * mix.pace
    if mix.tests and at.cracking_strength is None:
        test = max((one for one in mix.tests if one.age <= at.age), key=lambda one: one.age, default=mix.tests[0])
        tested = test.age * mix.pace
        grown = max(share(time) / share(tested) for share in (mix.law.compression, mix.law.tension))
        high = test.high * grown
    else:
        compressive = (mix.compressive or 0.0) * mix.law.compression(time)
        told = at.cracking_strength is not None or mix.cracking is not None
        high = max(12.0 * math.sqrt(compressive / PSI) * PSI, low * (1 + 2 * ASSUMED_VARIATION) if told else 0.0)
    grain = AGGREGATE if case.steel is None or case.steel.aggregate is None else case.steel.aggregate
    strength = compressive_at_age(at.age, mix).value
    return Concrete(strength, low, max(high, low), modulus_of(case, at).value, grain)
