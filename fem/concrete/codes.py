"""ACI 318-19 with 209R-92 and EN 1992-1-1 side by side: what each gives for one concrete at one age, and the gap."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fem.concrete.formulas import (
    en1992_flexural_tension,
    en1992_modulus,
    lightweight_factor,
    modulus_of_elasticity,
    modulus_of_rupture,
)
from fem.concrete.growth import ClassGrowth, Growth, en1992_beta, en1992_tension_ratio, pair
from fem.concrete.mix import Mix, in_days

__all__ = ["BothCodes", "ByCode", "both_codes"]

ACI, EN = "ACI 318-19 with ACI 209R-92", "EN 1992-1-1"
FRACTILE = 0.7


@dataclass(frozen=True, slots=True)
class ByCode:
    """Low-side cracking strength in bending and modulus [Pa] by one code at one age, with the source in words."""

    code: str
    cracking: float
    modulus: float
    source: str


@dataclass(frozen=True, slots=True)
class BothCodes:
    """Both codes at one age; en_mean is EN's mean flexural strength [Pa]; words say which is lower and by how much."""

    aci: ByCode
    en: ByCode
    en_mean: float
    words: str


def both_codes(age: float, mix: Mix, depth: float) -> BothCodes:
    """What each code gives at an age [s] for a slab of this depth [m].

    ACI: 7.5 lambda sqrt(f'c), a low-side value, growing with sqrt of ACI 209R-92, nothing beyond 28 days (f'c is the
    28-day strength). EN: 5 % fractile 0.7 fctm (table 3.1) times the size factor of bending 1.6 - h (Eq. 3.23) times
    beta_cc^alpha (Eq. 3.4), with fck = f'c; Ecm growing with beta_cc^0.3. Without f'c both start from the one 28-day
    value or test that is known, and only their growths differ. ValueError if nothing is known.
    """
    time = age * mix.pace
    aci_law, en_law = pair(mix.law)
    en_share = _en_tension(en_law, time)
    if mix.compressive is None:
        base, words = _known(mix, aci_law, en_law)
        aci_28, en_28, en_mean_28 = base[0], base[1], base[1]
        aci_words = en_words = words
    else:
        aci_28 = modulus_of_rupture(mix.compressive, lightweight_factor(mix.density))
        en_mean_28 = en1992_flexural_tension(mix.compressive, depth)
        en_28 = FRACTILE * en_mean_28
        aci_words = "7.5 lambda sqrt(f'c), Eq. 19.2.3.1"
        en_words = f"0.7 fctm ({max(1.6 - depth, 1.0):.3f} for the depth), table 3.1 and Eq. 3.23, normal weight"
    aci_modulus, en_modulus = _moduli(mix)
    when = in_days(time) + ("" if mix.pace == 1 else " at 20 C")
    aci = ByCode(
        ACI,
        aci_28 * aci_law.tension(time),
        aci_modulus * aci_law.modulus(time),
        f"{aci_words}, {aci_law.tension(time):.3g} of it at {when} (sqrt of the growth by {aci_law.name})",
    )
    en = ByCode(
        EN,
        en_28 * en_share,
        en_modulus * _en_modulus_share(en_law, time),
        f"{en_words}, {en_share:.3g} of it at {when} (growth by {en_law.name})",
    )
    return BothCodes(aci, en, en_mean_28 * en_share, _compared(aci, en))


def _known(mix: Mix, aci: Growth, en: Growth | ClassGrowth) -> tuple[tuple[float, float], str]:
    """28-day cracking strength behind the one value that is known, by each law, and its source."""
    if mix.cracking is not None:
        return (mix.cracking.value, mix.cracking.value), mix.cracking.source
    if not mix.tests:
        raise ValueError("no strength: give compressive, cracking or tests")
    test = max(mix.tests, key=lambda one: (one.age, -one.low))
    time = test.age * mix.pace
    return (test.low / aci.tension(time), test.low / _en_tension(en, time)), f"from {test.source}"


def _moduli(mix: Mix) -> tuple[float, float]:
    if mix.modulus is not None:
        return mix.modulus.value, mix.modulus.value
    if mix.compressive is None:
        raise ValueError("no modulus: give compressive or modulus")
    return modulus_of_elasticity(mix.compressive, mix.density), en1992_modulus(mix.compressive)


def _en_tension(law: Growth | ClassGrowth, time: float) -> float:
    """EN's growth of tension, beyond 28 days too; with a curve of the user's, tension in proportion to compression."""
    return en1992_tension_ratio(time, law.s) if isinstance(law, ClassGrowth) else law.compression(time)


def _en_modulus_share(law: Growth | ClassGrowth, time: float) -> float:
    """(fcm(t) / fcm)^0.3, beyond 28 days too."""
    beta = en1992_beta(time, law.s) if isinstance(law, ClassGrowth) else law.compression(time)
    return math.pow(beta, 0.3)


def _compared(aci: ByCode, en: ByCode) -> str:
    low, high = sorted((aci, en), key=lambda row: row.cracking)
    share = 1 - low.cracking / high.cracking
    if share < 0.01:
        return "the two codes agree within 1 % on the cracking strength"
    stiff = en.modulus / aci.modulus - 1
    moduli = f"EN's modulus is {abs(stiff):.0%} {'higher' if stiff > 0 else 'lower'} than ACI's"
    return f"between the two {low.code} governs: {share:.0%} less cracking strength than by {high.code}; {moduli}"
