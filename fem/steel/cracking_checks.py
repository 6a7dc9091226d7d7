"""Crack width and sag of a cracked strip as steps of a calculation that can be done by hand."""

from __future__ import annotations

import numpy as np

from fem.concrete.formulas import en1992_mean_tension
from fem.steel.cracking import (
    Cracked,
    beta_of,
    cracked_section,
    effective_inertia,
    en_crack_spacing,
    en_crack_strain,
    en_effective_depth,
    frosch_width,
    gergely_lutz_width,
    long_term_factor,
    steel_stress,
)
from fem.steel.model import Check, Code, Concrete, Quantity
from fem.steel.section import Layer

__all__ = ["ACI_WIDTH", "EN_WIDTH", "cracking_checks", "sag_factor"]

ACI_WIDTH, EN_WIDTH = 0.016 * 0.0254, 0.0004
"""Width [m] let pass in dry air: 0.016 in, ACI 224R-01 table 4.1, from memory; 0.4 mm, EN 1992-1-1 table 7.1N."""


def cracking_checks(
    moment: float,
    layer: Layer,
    thickness: float,
    spacing: float,
    concrete: Concrete,
    code: Code,
    *,
    place: str = "",
    lasting: bool = True,
) -> tuple[Check, ...]:
    """Stress of the wires, crack width, stiffness and lasting sag under a moment of use [N m/m], unfactored.

    layer is that of the pulled face, spacing [m] that of its wires. lasting: the load stays for years.
    """
    cracked = cracked_section([layer], concrete)
    stress = steel_stress(moment, layer, cracked, concrete)
    gives = layer.steel.factor * layer.steel.ultimate_strength if layer.steel.brittle else layer.steel.yield_strength
    section = Check(
        "stress of the wires once it is cracked",
        "EN 1992-1-1 7.1, 7.2" if code == "EN 1992-1-1" else "ACI 318-19 24.3.2, 24.2.3.5",
        "x = n As (sqrt(1 + 2 d / (n As)) - 1), from x^2 / 2 = n As (d - x); fs = m / (As (d - x / 3))",
        (
            Quantity("m", moment, "moment per length"),
            Quantity("As", layer.area, "area per length"),
            Quantity("d", layer.depth, "length"),
            Quantity("n", layer.steel.modulus / concrete.modulus, "number"),
            Quantity("x", cracked.neutral_axis, "length"),
        ),
        Quantity("fs", stress, "stress"),
        "<=",
        Quantity("fy", gives, "stress"),
        stress <= gives,
        place,
        "" if stress <= gives else "it yields as soon as the slab cracks: the crack opens as far as the load goes",
    )
    width = _en_width if code == "EN 1992-1-1" else _aci_width
    beyond = min(stress, gives)
    return (
        section,
        *width(beyond, layer, thickness, spacing, cracked.neutral_axis, concrete, place, lasting),
        _sag(moment, layer, cracked, thickness, concrete, place, lasting),
    )


def sag_factor(moment: float, cracked: float, thickness: float, concrete: Concrete, *, lasting: bool = True) -> float:
    """How many times as much a cracked strip sags as an uncracked one: Ig / Ie, and (1 + lambda) if the load stays."""
    gross = thickness**3 / 12
    cracks = concrete.cracking * thickness**2 / 6
    inertia = float(effective_inertia(np.array(moment), cracks, gross, min(cracked, gross)))
    return gross / inertia * (1 + (long_term_factor(60) if lasting else 0.0))


def _aci_width(
    stress: float,
    layer: Layer,
    thickness: float,
    spacing: float,
    x: float,
    concrete: Concrete,
    place: str,
    lasting: bool,
) -> tuple[Check, ...]:
    to_axis, beta = thickness - layer.depth, beta_of(thickness, layer.depth, x)
    given = (
        Quantity("fs", stress, "stress"),
        Quantity("Es", layer.steel.modulus, "stress"),
        Quantity("beta", beta, "number"),
        Quantity("dc", to_axis, "length"),
        Quantity("s", spacing, "length"),
        Quantity("h", thickness, "length"),
        Quantity("d", layer.depth, "length"),
        Quantity("x", x, "length"),
    )
    frosch = frosch_width(stress, layer.steel.modulus, beta, to_axis, spacing)
    lutz = gergely_lutz_width(stress, beta, to_axis, 2 * to_axis * spacing)
    limit, wide = Quantity("w_max", ACI_WIDTH, "length"), "closer and thinner wires, or nearer the face"
    return (
        Check(
            "crack width, Frosch",
            "ACI 224.1R-07 Eq. 1-1 (Frosch 1999)",
            "w = 2 (fs / Es) beta sqrt(dc^2 + (s / 2)^2), beta = (h - x) / (d - x)",
            given,
            Quantity("w", frosch, "length"),
            "<=",
            limit,
            frosch <= ACI_WIDTH,
            place,
            "" if frosch <= ACI_WIDTH else wide,
        ),
        Check(
            "crack width, Gergely and Lutz",
            "ACI 224R-01 Eq. 4-2a",
            "w = 7.6e-8 beta fs cbrt(dc A), A = 2 dc s, beta = (h - x) / (d - x), all in inches and psi",
            given,
            Quantity("w", lutz, "length"),
            "<=",
            limit,
            lutz <= ACI_WIDTH,
            place,
            "" if lutz <= ACI_WIDTH else wide,
        ),
    )


def _en_width(
    stress: float,
    layer: Layer,
    thickness: float,
    spacing: float,
    x: float,
    concrete: Concrete,
    place: str,
    lasting: bool,
) -> tuple[Check, ...]:
    steel = layer.steel
    ratio = layer.area / en_effective_depth(thickness, layer.depth, x)
    cover = thickness - layer.depth - steel.diameter / 2
    apart = en_crack_spacing(cover, steel.diameter, ratio, steel.deformed, spacing=spacing, tall=thickness - x)
    tension = en1992_mean_tension(concrete.compressive)
    strain = en_crack_strain(stress, steel.modulus, tension, ratio, steel.modulus / concrete.modulus, lasting=lasting)
    width = apart * strain
    return (
        Check(
            "crack width",
            "EN 1992-1-1 7.3.4",
            "wk = sr,max (eps_sm - eps_cm)",
            (
                Quantity("fs", stress, "stress"),
                Quantity("rho_p,eff", ratio, "number"),
                Quantity("c", cover, "length"),
                Quantity("fct,eff", tension, "stress"),
                Quantity("sr,max", apart, "length"),
                Quantity("eps_sm - eps_cm", strain, "number"),
            ),
            Quantity("wk", width, "length"),
            "<=",
            Quantity("w_max", EN_WIDTH, "length"),
            width <= EN_WIDTH,
            place,
            "" if width <= EN_WIDTH else "closer and thinner wires, or nearer the face",
        ),
    )


def _sag(
    moment: float, layer: Layer, cracked: Cracked, thickness: float, concrete: Concrete, place: str, lasting: bool
) -> Check:
    cracks = concrete.cracking * thickness**2 / 6
    later = long_term_factor(60) if lasting else 0.0
    share = 12 * cracked.inertia / thickness**3
    still = moment <= 2 / 3 * cracks
    law = "k = 1 + lambda, up to 2/3 Mcr" if still else "k = (1 + lambda) (1 - (2 Mcr / (3 Ma))^2 (1 - r)) / r"
    return Check(
        "sag once it is cracked",
        "ACI 318-19 table 24.2.3.5, 24.2.4.1 (Bischoff 2005)",
        f"{law}, r = 12 (x^3 / 3 + n As (d - x)^2) / h^3",
        (
            Quantity("Ma", moment, "moment per length"),
            Quantity("Mcr", cracks, "moment per length"),
            Quantity("n", layer.steel.modulus / concrete.modulus, "number"),
            Quantity("As", layer.area, "area per length"),
            Quantity("d", layer.depth, "length"),
            Quantity("x", cracked.neutral_axis, "length"),
            Quantity("h", thickness, "length"),
            Quantity("r", share, "number"),
            Quantity("lambda", later, "number"),
        ),
        Quantity("k", sag_factor(moment, cracked.inertia, thickness, concrete, lasting=lasting), "number"),
        place=place,
        note="k times what the uncracked slab sags at once, of a strip that is cracked all along and where this moment "
        "is its largest; r is Icr / Ig, lambda that of 5 years",
    )
