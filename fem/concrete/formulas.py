"""Strength and modulus from the compressive strength, by ACI 318-19 and by EN 1992-1-1, each in its own form."""

from __future__ import annotations

import math

__all__ = [
    "PCF",
    "PSI",
    "effective_modulus",
    "en1992_flexural_tension",
    "en1992_mean_tension",
    "en1992_modulus",
    "lightweight_factor",
    "modulus_of_elasticity",
    "modulus_of_rupture",
]

PSI = 4.4482216152605 / 0.0254**2
PCF = 0.45359237 / 0.3048**3


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


def en1992_modulus(characteristic: float) -> float:
    """Mean modulus Ecm = 22 (fcm / 10)^0.3 GPa [Pa], fcm = fck + 8 MPa; fck [Pa]; quartzite, normal weight.

    Source: EN 1992-1-1:2004, table 3.1 (0.9 of it with limestone, 0.7 with sandstone, 1.2 with basalt: 3.1.3(2)).

    >>> round(en1992_modulus(30e6) / 1e9)
    33
    """
    _positive(characteristic)
    return 22e9 * math.pow((characteristic / 1e6 + 8) / 10, 0.3)


def effective_modulus(modulus: float, creep: float) -> float:
    """Modulus for a load that stays [Pa]: E / (1 + phi), creep phi >= 0. Source: EN 1992-1-1:2004, Eq. 7.20.

    >>> effective_modulus(30e9, 2.0)
    10000000000.0
    """
    if not (modulus > 0 and creep >= 0):
        raise ValueError(f"no such modulus or creep: {modulus} Pa, {creep}; need modulus > 0 and creep >= 0")
    return modulus / (1 + creep)


def _positive(strength: float) -> None:
    if not strength > 0:
        raise ValueError(f"no such strength: {strength} Pa")
