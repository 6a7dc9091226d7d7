"""How concrete grows with age: the laws of ACI 209R-92 and EN 1992-1-1 by cement, and the pace that its warmth sets.

Every law gives shares of the 28-day value, never over 1: no strength is credited beyond the 28-day one. Times are
seconds at 20 C; `pace` says how many of them one second at another temperature is worth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "CLASS_N",
    "DAY",
    "TYPE_I_MOIST",
    "ClassGrowth",
    "Growth",
    "Law",
    "aci209_ratio",
    "en1992_beta",
    "en1992_ratio",
    "en1992_tension_ratio",
    "growth_of",
    "pace",
    "pair",
]

DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Growth:
    """Compressive strength as a share of the 28-day one: t / (a + beta t), t and a [s]; name says which curve it is.

    told says that the user gave it (a cement, a tested mix), so that it holds under three days as well.
    """

    a: float
    beta: float
    name: str
    told: bool = False

    def compression(self, time: float) -> float:
        """f'c(t) / f'c(28 days)."""
        return aci209_ratio(time, self.a, self.beta)

    def tension(self, time: float) -> float:
        """Cracking strength as a share of the 28-day one: ACI's goes with the square root of f'c."""
        return math.sqrt(self.compression(time))

    def modulus(self, time: float) -> float:
        """Modulus as a share of the 28-day one: ACI's goes with the square root of f'c."""
        return math.sqrt(self.compression(time))


@dataclass(frozen=True, slots=True)
class ClassGrowth:
    """The growth of EN 1992-1-1 for a class of cement: exp(s (1 - sqrt(28 / t))); name and told as in Growth."""

    s: float
    name: str
    told: bool = False

    def compression(self, time: float) -> float:
        """fcm(t) / fcm."""
        return en1992_ratio(time, self.s)

    def tension(self, time: float) -> float:
        """fctm(t) / fctm: before 28 days in proportion to compression (3.1.2(9)), afterwards no more than 1 here."""
        return self.compression(time)

    def modulus(self, time: float) -> float:
        """Ecm(t) / Ecm = (fcm(t) / fcm)^0.3 (3.1.3(3))."""
        return math.pow(self.compression(time), 0.3)


Law = Growth | ClassGrowth
Cement = Literal["I", "III", "S", "N", "R"]
Curing = Literal["moist", "steam"]

# ACI 209R-92, table 2.2.1: a [days] and beta by cement and curing.
_ACI = {
    ("I", "moist"): (4.0, 0.85),
    ("I", "steam"): (1.0, 0.95),
    ("III", "moist"): (2.3, 0.92),
    ("III", "steam"): (0.70, 0.98),
}
# EN 1992-1-1:2004, 3.1.2(6): s by class of cement (slow, normal, rapid).
_EN = {"S": 0.38, "N": 0.25, "R": 0.20}


def growth_of(cement: Cement, curing: Curing = "moist", *, told: bool = True) -> Law:
    """The law of a cement: ACI's Type I or III, cured moist or by steam, or EN's class S, N or R.

    ValueError for steam with a class of EN 1992-1-1, which has no such law.
    """
    if cement in _EN:
        if curing != "moist":
            raise ValueError(f"EN 1992-1-1 has no law for class {cement} cured by steam")
        return ClassGrowth(_EN[cement], f"EN 1992-1-1, class {cement}", told)
    a, beta = _ACI[cement, curing]
    return Growth(a * DAY, beta, f"ACI 209R-92, Type {cement} {curing}", told)


TYPE_I_MOIST = Growth(4.0 * DAY, 0.85, "ACI 209R-92, Type I moist")
CLASS_N = ClassGrowth(0.25, "EN 1992-1-1, class N")


def pair(law: Law) -> tuple[Growth, ClassGrowth | Growth]:
    """The laws of ACI and of EN for one concrete, given either; a curve that belongs to neither stands for both.

    Counterparts by kind of cement: Type I and class N (normal), Type III and class R (rapid); class S (slow) goes with
    Type I, which it follows closely. Judgement: no document sets them side by side.
    """
    if isinstance(law, ClassGrowth):
        return Growth(*_aci_of(law)), law
    if (law.a / DAY, law.beta) in (_ACI["I", "moist"], _ACI["I", "steam"]):
        return law, CLASS_N
    if (law.a / DAY, law.beta) in (_ACI["III", "moist"], _ACI["III", "steam"]):
        return law, ClassGrowth(_EN["R"], "EN 1992-1-1, class R")
    return law, law


def _aci_of(law: ClassGrowth) -> tuple[float, float, str]:
    cement = "III" if law.s == _EN["R"] else "I"
    a, beta = _ACI[cement, "moist"]
    return a * DAY, beta, f"ACI 209R-92, Type {cement} moist"


def pace(temperature: float) -> float:
    """Seconds at 20 C that one second at this temperature [C] is worth: exp(-(4000 / (273 + T) - 13.65)).

    Source: EN 1992-1-1:2004, Eq. B.10 (as in EN 13670), for 0 to 80 C; at 20 C it gives 0.998 as printed.

    >>> round(pace(10.0), 2)
    0.62
    """
    if not 0 <= temperature <= 80:
        raise ValueError(f"no such curing temperature: {temperature} C; need 0 to 80 C")
    return math.exp(13.65 - 4000 / (273 + temperature))


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
    return min(en1992_beta(age, s), 1.0)


def en1992_tension_ratio(age: float, s: float = 0.25) -> float:
    """fctm(t) / fctm by the letter of the code: beta_cc^alpha, alpha = 1 before 28 days and 2/3 after; age [s], 20 C.

    After 28 days it passes 1. Source: EN 1992-1-1:2004, Eq. 3.4.

    >>> round(en1992_tension_ratio(90 * 86400), 3)
    1.076
    """
    return math.pow(en1992_beta(age, s), 1.0 if age < 28 * DAY else 2 / 3)


def en1992_beta(age: float, s: float) -> float:
    """beta_cc = exp(s (1 - sqrt(28 / t))) by the letter, over 1 after 28 days. Source: EN 1992-1-1:2004, Eq. 3.2."""
    if not (age > 0 and s > 0):
        raise ValueError(f"no such growth: age = {age} s, s = {s}; need both > 0")
    return math.exp(s * (1 - math.sqrt(28 * DAY / age)))
