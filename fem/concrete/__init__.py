"""How much pull concrete takes, and how stiff it is, at a given age: pure functions in SI from published formulas.

Two families are kept apart. The design pair is ACI's: modulus of rupture and modulus of elasticity from the compressive
strength (ACI 318-19, in its psi form, converted exactly), the strength growing by ACI 209R-92. Eurocode 2 lets the
tension of young concrete grow more slowly (in proportion to compression, not to its square root), and under three days
nobody's formula is more than a guess. So cracking_at_age takes, for an untested concrete under three days, the lower
of the two GROWTHS - sqrt of ACI 209R-92 Type I moist, and EN 1992-1-1 class N - times the same 28-day strength. The
28-day strength itself stays ACI's: EN's flexural strength of a thin slab is 1.4 times it in the mean, and mixing EN's
higher strength with EN's lower growth would often give more than ACI at the very age at which caution is wanted. The
cement that is told replaces the pair by its own law; test strips come before all of it; both_codes shows each code by
its own letter beside what is used.
"""

from __future__ import annotations

from fem.concrete.codes import BothCodes, ByCode, both_codes
from fem.concrete.coupon import ASSUMED_VARIATION, StripTest, fractile_factor, from_strips, strength_at_break
from fem.concrete.formulas import (
    PCF,
    PSI,
    effective_modulus,
    en1992_flexural_tension,
    en1992_mean_tension,
    en1992_modulus,
    lightweight_factor,
    modulus_of_elasticity,
    modulus_of_rupture,
)
from fem.concrete.growth import (
    DAY,
    TYPE_I_MOIST,
    ClassGrowth,
    Growth,
    Law,
    aci209_ratio,
    en1992_ratio,
    en1992_tension_ratio,
    growth_of,
    pace,
)
from fem.concrete.mix import SUSTAINED, Mix, Strength, compressive_at_age, cracking_at_age, in_days, modulus_at_age
from fem.concrete.waiting import STRIPPING_COMPRESSIVE, age_for_compressive, age_for_strength

__all__ = [
    "ASSUMED_VARIATION",
    "DAY",
    "PCF",
    "PSI",
    "STRIPPING_COMPRESSIVE",
    "SUSTAINED",
    "TYPE_I_MOIST",
    "BothCodes",
    "ByCode",
    "ClassGrowth",
    "Growth",
    "Law",
    "Mix",
    "Strength",
    "StripTest",
    "aci209_ratio",
    "age_for_compressive",
    "age_for_strength",
    "both_codes",
    "compressive_at_age",
    "cracking_at_age",
    "effective_modulus",
    "en1992_flexural_tension",
    "en1992_mean_tension",
    "en1992_modulus",
    "en1992_ratio",
    "en1992_tension_ratio",
    "fractile_factor",
    "from_strips",
    "growth_of",
    "in_days",
    "lightweight_factor",
    "modulus_at_age",
    "modulus_of_elasticity",
    "modulus_of_rupture",
    "pace",
    "strength_at_break",
]
