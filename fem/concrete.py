"""How much pull concrete takes, and how stiff it is, at a given age: pure functions in SI from published formulas.

Two families are kept apart. The design pair is ACI's: modulus of rupture and modulus of elasticity from the compressive
strength (ACI 318-19, in its psi form, converted exactly), the strength growing by ACI 209R-92. Eurocode 2 lets the
tension of young concrete grow more slowly (in proportion to compression, not to its square root), and under three days
nobody's formula is more than a guess. So cracking_at_age takes, for an untested concrete under three days, the lower
of the two GROWTHS - sqrt of ACI 209R-92 Type I moist, and EN 1992-1-1 class N - times the same 28-day strength. The
28-day strength itself stays ACI's: EN's flexural strength of a thin slab is 1.4 times it, and mixing EN's higher
strength with EN's lower growth would often give more than ACI at the very age at which caution is wanted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "DAY",
    "PCF",
    "PSI",
    "TYPE_I_MOIST",
    "Growth",
    "Strength",
    "aci209_ratio",
    "cracking_at_age",
    "en1992_flexural_tension",
    "en1992_mean_tension",
    "en1992_ratio",
    "lightweight_factor",
    "modulus_at_age",
    "modulus_of_elasticity",
    "modulus_of_rupture",
]

PSI = 4.4482216152605 / 0.0254**2
PCF = 0.45359237 / 0.3048**3
DAY = 86400.0
UNTESTED_UNTIL = 3 * DAY


@dataclass(frozen=True, slots=True)
class Growth:
    """Compressive strength as a share of the 28-day one: t / (a + beta t), t and a [s]; name says which curve it is.

    told says that the user gave it (a tested mix), so that it holds under three days as well.
    """

    a: float
    beta: float
    name: str
    told: bool = False


# ACI 209R-92, table 2.2.1: a = 4.0 days, beta = 0.85.
TYPE_I_MOIST = Growth(4.0 * DAY, 0.85, "ACI 209R-92, Type I moist")


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength or modulus [Pa] and where it comes from, in words for the reader of the answer."""

    value: float
    source: str


def aci209_ratio(age: float, a: float, beta: float) -> float:
    """f'c(t) / f'c(28 days) = t / (a + beta t), never over 1; age and a [s].

    The curve creeps a little over 1 after 28 days; no strength is credited beyond the 28-day one.
    Source: ACI 209R-92, Eq. 2-1.

    >>> round(aci209_ratio(3 * 86400, 4 * 86400, 0.85), 3)
    0.458
    """
    if not (age > 0 and a >= 0 and beta > 0):
        raise ValueError(f"no such growth: age = {age} s, a = {a} s, beta = {beta}; need age, beta > 0 and a >= 0")
    return min(age / (a + beta * age), 1.0)


def en1992_ratio(age: float, s: float = 0.25) -> float:
    """fcm(t) / fcm and, before 28 days, fctm(t) / fctm: exp(s (1 - sqrt(28 / t))), never over 1; age [s], 20 C.

    s = 0.20 for cement class R, 0.25 N, 0.38 S. Source: EN 1992-1-1:2004, 3.1.2(6) and (9); stated for 3 days and more.

    >>> round(en1992_ratio(86400), 3)
    0.342
    """
    if not (age > 0 and s > 0):
        raise ValueError(f"no such growth: age = {age} s, s = {s}; need both > 0")
    return min(math.exp(s * (1 - math.sqrt(28 * DAY / age))), 1.0)


def lightweight_factor(density: float) -> float:
    """ACI's lambda for a concrete of this density [kg/m3]: 0.75 up to 100 lb/ft3, 1 from 135 lb/ft3 on.

    Between, 0.0075 times the density in lb/ft3. Source: ACI 318-19, table 19.2.4.1(a).

    >>> lightweight_factor(2323.0), round(lightweight_factor(120 * 16.01846), 3)
    (1.0, 0.9)
    """
    if not density > 0:
        raise ValueError(f"no such density: {density} kg/m3")
    return min(max(0.0075 * density / PCF, 0.75), 1.0)


def modulus_of_rupture(compressive: float, lam: float = 1.0) -> float:
    """Cracking strength in bending [Pa]: fr = 7.5 lambda sqrt(f'c), psi; compressive f'c [Pa].

    Source: ACI 318-19, Eq. 19.2.3.1.

    >>> round(modulus_of_rupture(6000 * PSI) / PSI)
    581
    """
    _positive(compressive)
    return 7.5 * lam * math.sqrt(compressive / PSI) * PSI


def modulus_of_elasticity(compressive: float, density: float) -> float:
    """Ec = 33 w^1.5 sqrt(f'c) [Pa], w in lb/ft3 and f'c in psi; w counts within 90 to 160 lb/ft3, the formula's range.

    compressive [Pa], density [kg/m3]. Source: ACI 318-19, Eq. 19.2.2.1.a.

    >>> round(modulus_of_elasticity(5000 * PSI, 145 * PCF) / PSI / 1000)
    4074
    """
    _positive(compressive)
    w = min(max(density / PCF, 90.0), 160.0)
    return 33.0 * math.pow(w, 1.5) * math.sqrt(compressive / PSI) * PSI


def en1992_mean_tension(characteristic: float) -> float:
    """Mean axial tensile strength fctm [Pa] from the characteristic compressive strength fck [Pa].

    0.30 fck^(2/3) up to C50/60, 2.12 ln(1 + (fck + 8) / 10) above, MPa. Source: EN 1992-1-1:2004, table 3.1.

    >>> round(en1992_mean_tension(30e6) / 1e6, 2)
    2.9
    """
    _positive(characteristic)
    fck = characteristic / 1e6
    return (0.30 * fck ** (2 / 3) if fck <= 50 else 2.12 * math.log(1 + (fck + 8) / 10)) * 1e6


def en1992_flexural_tension(characteristic: float, depth: float) -> float:
    """Mean flexural tensile strength fctm,fl = max(1.6 - h / 1000 mm, 1) fctm [Pa]; fck [Pa], depth h [m].

    Source: EN 1992-1-1:2004, Eq. 3.23. For comparison only: the design values here do not credit the size effect.

    >>> round(en1992_flexural_tension(41.4e6, 0.038) / 1e6, 1)
    5.6
    """
    return max(1.6 - depth, 1.0) * en1992_mean_tension(characteristic)


def cracking_at_age(
    age: float,
    growth: Growth,
    *,
    compressive: float | None,
    density: float,
    measured_28: float | None = None,
) -> Strength:
    """Cracking strength in bending at an age [s]: the 28-day one times its growth, never over the 28-day one.

    measured_28 [Pa] is a tested 28-day value; without it, ACI's modulus of rupture of compressive [Pa] (28 days). The
    growth is sqrt of the compressive one; under three days, unless the growth was told, EN class N's if that is
    lower (the heading says why). ValueError if neither strength is given.
    """
    if measured_28 is not None:
        at_28, origin = measured_28, "the case's 28-day cracking strength"
    elif compressive is not None:
        at_28 = modulus_of_rupture(compressive, lightweight_factor(density))
        origin = "7.5 lambda sqrt(f'c) by ACI 318-19 Eq. 19.2.3.1"
    else:
        raise ValueError("no strength: give compressive or measured_28")
    ratio = math.sqrt(aci209_ratio(age, growth.a, growth.beta))
    curve = f"sqrt of the growth by {growth.name}"
    if age < UNTESTED_UNTIL and not growth.told and en1992_ratio(age) < ratio:
        ratio = en1992_ratio(age)
        curve = f"growth of tension by EN 1992-1-1 class N, lower than by {growth.name}; untested and under 3 days"
    return Strength(at_28 * ratio, f"{origin}, {ratio:.3g} of it at {_days(age)} ({curve})")


def modulus_at_age(
    age: float,
    growth: Growth,
    *,
    compressive: float | None,
    density: float,
    measured_28: float | None = None,
) -> Strength:
    """Modulus of elasticity at an age [s], [Pa]: the 28-day one times sqrt of the growth of f'c, never more than it.

    As Ec goes with sqrt(f'c), this is ACI's Ec of f'c(t). Arguments as in cracking_at_age.
    """
    if measured_28 is not None:
        at_28, origin = measured_28, "the case's 28-day modulus"
    elif compressive is not None:
        at_28, origin = modulus_of_elasticity(compressive, density), "33 w^1.5 sqrt(f'c) by ACI 318-19 Eq. 19.2.2.1.a"
    else:
        raise ValueError("no modulus: give compressive or measured_28")
    ratio = math.sqrt(aci209_ratio(age, growth.a, growth.beta))
    return Strength(at_28 * ratio, f"{origin}, {ratio:.3g} of it at {_days(age)} (f'c growing by {growth.name})")


def _days(age: float) -> str:
    days = age / DAY
    return f"{days:.3g} days" if days >= 2 else f"{age / 3600:.3g} h"


def _positive(strength: float) -> None:
    if not strength > 0:
        raise ValueError(f"no such strength: {strength} Pa")
