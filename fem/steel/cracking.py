"""The cracked slab in use: its stiffness, the stress of its wires, how wide its cracks are, how much more it sags."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.concrete.formulas import PSI
from fem.steel.model import Concrete
from fem.steel.section import Layer

__all__ = [
    "Cracked",
    "beta_of",
    "cracked_section",
    "effective_inertia",
    "en_crack_spacing",
    "en_crack_strain",
    "en_effective_depth",
    "frosch_width",
    "gergely_lutz_width",
    "long_term_factor",
    "steel_stress",
]

FloatArray = npt.NDArray[np.float64]
INCH = 0.0254


@dataclass(frozen=True, slots=True)
class Cracked:
    """An elastic section whose pulled concrete has cracked: neutral_axis [m], inertia [m3] of a unit width."""

    neutral_axis: float
    inertia: float


def cracked_section(layers: Sequence[Layer], concrete: Concrete) -> Cracked:
    """Neutral axis and second moment of the cracked section, steel turned into concrete by n = Es/Ec.

    x from x2/2 = sum n As (d - x), I = x3/3 + sum n As (d - x)2: ACI 318-19 24.2.3.5, EN 1992-1-1 7.1; any text. Layers
    on the pressed side count with n as well. ValueError without steel.
    """
    transformed = [layer.steel.modulus / concrete.modulus * layer.area for layer in layers]
    total = sum(transformed)
    if not total > 0:
        raise ValueError("a cracked section needs steel: it has none")
    moment = sum(area * layer.depth for area, layer in zip(transformed, layers, strict=True))
    x = -total + math.sqrt(total**2 + 2 * moment)
    steel = sum(area * (layer.depth - x) ** 2 for area, layer in zip(transformed, layers, strict=True))
    return Cracked(x, x**3 / 3 + steel)


def steel_stress(moment: float, layer: Layer, cracked: Cracked, concrete: Concrete) -> float:
    """Stress [Pa] of a layer under a moment [N m/m] that the section bears elastically: n m (d - x) / I."""
    return layer.steel.modulus / concrete.modulus * moment * (layer.depth - cracked.neutral_axis) / cracked.inertia


def effective_inertia(moment: FloatArray, cracking_moment: float, gross: float, cracked: float) -> FloatArray:
    """Second moment of area [m3] that gives the sag of a cracked strip under its largest moment (...) [N m/m].

    Ig up to 2/3 Mcr, above Icr / (1 - (2/3 Mcr / Ma)2 (1 - Icr / Ig)). Source: ACI 318-19 table 24.2.3.5; Bischoff,
    Reevaluation of deflection prediction for concrete beams reinforced with steel and fiber reinforced polymer bars,
    J. Struct. Eng. 131 (2005) 752-767. cracking_moment = fr Ig / yt.

    >>> effective_inertia(np.array([1.0, 2.0]), 1.5, 1.0, 0.1).round(4).tolist()
    [1.0, 0.129]
    """
    if not (cracking_moment > 0 and 0 < cracked <= gross):
        raise ValueError(f"no such section: cracks at {cracking_moment} N m/m, inertia {gross} then {cracked} m3")
    share = (2 / 3) * cracking_moment / np.maximum(np.abs(moment), (2 / 3) * cracking_moment)
    return np.asarray(cracked / (1 - share**2 * (1 - cracked / gross)), dtype=float)


def long_term_factor(months: float, pressed_share: float = 0.0) -> float:
    """lambda: what a load that stays adds to the sag it gave at once, after so many months.

    xi / (1 + 50 rho'), xi 1.0 at 3 months, 1.2 at 6, 1.4 at 12, 2.0 from 5 years on, straight between; rho' is area of
    steel on the pressed side over b d. Source: ACI 318-19 24.2.4.1.

    >>> round(long_term_factor(60), 6), round(long_term_factor(12, 0.004), 4)
    (2.0, 1.1667)
    """
    if not (months >= 0 and pressed_share >= 0):
        raise ValueError(f"no such time or share of steel: {months} months, {pressed_share}")
    xi = float(np.interp(months, (0.0, 3.0, 6.0, 12.0, 60.0), (0.0, 1.0, 1.2, 1.4, 2.0)))
    return xi / (1 + 50 * pressed_share)


def beta_of(thickness: float, depth: float, neutral_axis: float) -> float:
    """(h - c) / (d - c): how much wider a crack is at the face than at the wire; 1.2 in beams, 2 in thin slabs."""
    if not neutral_axis < depth < thickness:
        raise ValueError(f"the wire at {depth} m is not pulled: neutral axis {neutral_axis} m, thickness {thickness} m")
    return (thickness - neutral_axis) / (depth - neutral_axis)


def frosch_width(stress: float, modulus: float, beta: float, to_axis: float, spacing: float) -> float:
    """Widest crack at the face [m]: 2 fs/Es beta sqrt(dc2 + (s/2)2), dc [m] from the face to the wire's axis.

    Source: Frosch, Another look at cracking and crack control in reinforced concrete, ACI Struct. J. 96 (1999) 437-442;
    ACI 224.1R-07 Eq. 1-1.
    """
    return 2 * stress / modulus * beta * math.hypot(to_axis, spacing / 2)


def gergely_lutz_width(stress: float, beta: float, to_axis: float, area: float) -> float:
    """Widest crack at the face [m]: 0.076 beta fs cbrt(dc A) 1e-3 in, fs in ksi; area [m2] of concrete about one wire.

    area is 2 dc s. Source: Gergely and Lutz 1968, as in ACI 224R-01 Eq. 4-2a.
    """
    return 0.076e-3 * beta * stress / (1000 * PSI) * math.cbrt(to_axis / INCH * area / INCH**2) * INCH


def en_effective_depth(thickness: float, depth: float, neutral_axis: float) -> float:
    """hc,ef = min(2.5 (h - d), (h - x) / 3, h / 2) [m]. Source: EN 1992-1-1 7.3.2(3)."""
    return min(2.5 * (thickness - depth), (thickness - neutral_axis) / 3, thickness / 2)


def en_crack_spacing(
    cover: float, diameter: float, ratio: float, deformed: bool, *, spacing: float, tall: float
) -> float:
    """Widest distance of cracks sr,max [m]: 3.4 c + 0.425 k1 k2 phi / rho, k1 0.8 (plain 1.6), k2 0.5 in bending.

    Where wires are wider apart than 5 (c + phi/2), 1.3 (h - x) if that is more; tall = h - x [m], ratio = As / Ac,eff.
    Source: EN 1992-1-1 7.3.4(3), Eqs 7.11 and 7.14.
    """
    near = 3.4 * cover + 0.425 * (0.8 if deformed else 1.6) * 0.5 * diameter / ratio
    return max(near, 1.3 * tall) if spacing > 5 * (cover + diameter / 2) else near


def en_crack_strain(
    stress: float, modulus: float, tension: float, ratio: float, modular: float, *, lasting: bool
) -> float:
    """eps_sm - eps_cm: [ss - kt fct / rho (1 + ae rho)] / Es, at least 0.6 ss / Es; kt 0.4 if lasting, else 0.6.

    Source: EN 1992-1-1 7.3.4(2), Eq. 7.9. tension = fct,eff [Pa], modular = Es / Ecm.
    """
    shared = (0.4 if lasting else 0.6) * tension / ratio * (1 + modular * ratio)
    return max(stress - shared, 0.6 * stress) / modulus
