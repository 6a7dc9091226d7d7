"""Cracks and sag of the cracked slab: laws, limits, and the checks that tell of them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from api.steel.table import reinforcement
from fem.concrete.formulas import PSI
from fem.steel.anchorage import INCH, KSI
from fem.steel.cracking import (
    beta_of,
    cracked_section,
    effective_inertia,
    en_crack_spacing,
    en_crack_strain,
    en_effective_depth,
    long_term_factor,
    steel_stress,
)
from fem.steel.cracking_checks import ACI_WIDTH, cracking_checks, sag_factor
from fem.steel.model import Check, Code, Concrete
from fem.steel.section import Layer

H = 1.5 * INCH
CONCRETE = Concrete(6000 * PSI, 7.5 * math.sqrt(6000) * PSI, 12 * math.sqrt(6000) * PSI, 4415 * KSI)
CRACKS = CONCRETE.cracking * H**2 / 6


def wires(count: int = 3, depth: float = 0.801 * INCH) -> Layer:
    """So many 9 gauge wires a foot."""
    return Layer(depth, count * 0.0172 / 12 * INCH, reinforcement()["9 gauge wire"])


def by_name(*found: Check) -> dict[str, Check]:
    return {check.name: check for check in found}


# By hand, three 9 gauge wires a foot in 1.5 in at code cover: Icr 4.5 % of Ig, 68.7 ksi in the wire when it cracks: it
# yields on cracking; Frosch's width about 0.021 in.
def test_a_thin_slab_yields_as_it_cracks() -> None:
    cracked = cracked_section([wires()], CONCRETE)
    stress = steel_stress(CRACKS, wires(), cracked, CONCRETE)
    assert 12 * cracked.inertia / H**3 == pytest.approx(0.045, abs=0.001)
    assert stress / KSI == pytest.approx(68.7, abs=0.6)
    found = by_name(*cracking_checks(CRACKS, wires(), H, 4 * INCH, CONCRETE, "ACI 318-19"))
    assert found["crack width, Frosch"].result.value / INCH == pytest.approx(0.021, abs=0.002)
    assert not found["crack width, Frosch"].ok
    # (h - c) / (d - c) is about 1.2 in the beams that the formulas were fitted to, and about 2.1 here.
    assert beta_of(H, 0.801 * INCH, cracked.neutral_axis) == pytest.approx(2.1, abs=0.1)
    twice = by_name(*cracking_checks(2 * CRACKS, wires(), H, 4 * INCH, CONCRETE, "ACI 318-19"))
    assert not twice["stress of the wires once it is cracked"].ok
    assert twice["crack width, Frosch"].given[0].value == pytest.approx(70 * KSI)


@pytest.mark.parametrize("places", [1, 3])
def test_the_elastic_section_balances(places: int) -> None:
    layers = [replace(wires(), depth=depth) for depth in (0.012, 0.020, 0.030)[-places:]]
    cracked = cracked_section(layers, CONCRETE)
    stresses = [steel_stress(100.0, layer, cracked, CONCRETE) for layer in layers]
    pull = sum(layer.area * stress for layer, stress in zip(layers, stresses, strict=True))
    edge = 100.0 * cracked.neutral_axis / cracked.inertia
    assert pull == pytest.approx(edge * cracked.neutral_axis / 2, rel=1e-9)
    moment = sum(
        layer.area * s * (layer.depth - cracked.neutral_axis / 3) for layer, s in zip(layers, stresses, strict=True)
    )
    assert moment == pytest.approx(100.0, rel=1e-9)


def test_sag_grows_from_the_uncracked_to_the_cracked() -> None:
    cracked = cracked_section([wires()], CONCRETE).inertia
    gross = H**3 / 12
    moments = np.linspace(0.1, 20, 200) * CRACKS
    inertia = effective_inertia(moments, CRACKS, gross, cracked)
    assert np.all(np.diff(inertia) <= 0)
    assert inertia[0] == pytest.approx(gross)
    assert inertia[-1] == pytest.approx(cracked, rel=0.03)
    assert sag_factor(0.5 * CRACKS, cracked, H, CONCRETE, lasting=False) == pytest.approx(1)
    assert sag_factor(0.5 * CRACKS, cracked, H, CONCRETE) == pytest.approx(3)
    assert sag_factor(2 * CRACKS, cracked, H, CONCRETE, lasting=False) > 5


def test_lasting_load_between_the_printed_times() -> None:
    assert long_term_factor(0) == 0
    assert 1.4 < long_term_factor(24) < 2.0
    with pytest.raises(ValueError, match="no such time"):
        long_term_factor(-1)


# EN 1992-1-1 7.3.2(3), 7.3.4: each of its bounds in turn.
def test_bounds_of_the_eurocode_formulas() -> None:
    assert en_effective_depth(0.3, 0.27, 0.06) == pytest.approx(0.075)
    assert en_effective_depth(0.3, 0.2, 0.06) == pytest.approx(0.08)
    assert en_effective_depth(0.04, 0.02, -0.1) == pytest.approx(0.02)
    near = en_crack_spacing(0.02, 0.006, 0.01, True, spacing=0.1, tall=0.5)
    assert near == pytest.approx(3.4 * 0.02 + 0.425 * 0.8 * 0.5 * 0.006 / 0.01)
    assert en_crack_spacing(0.02, 0.006, 0.01, True, spacing=0.2, tall=0.5) == pytest.approx(0.65)
    assert en_crack_spacing(0.02, 0.006, 0.01, False, spacing=0.1, tall=0.5) > near
    assert en_crack_strain(100e6, 200e9, 3e6, 0.01, 6.0, lasting=True) == pytest.approx(0.6 * 100e6 / 200e9)
    short = en_crack_strain(400e6, 200e9, 3e6, 0.02, 6.0, lasting=False)
    assert short < en_crack_strain(400e6, 200e9, 3e6, 0.02, 6.0, lasting=True)


@pytest.mark.parametrize("code", ["ACI 318-19", "EN 1992-1-1"])
def test_cracks_close_with_more_steel_nearer_the_face(code: Code) -> None:
    def width(layer: Layer, spacing: float) -> float:
        found = cracking_checks(0.8 * CRACKS, layer, H, spacing, CONCRETE, code)
        return max(check.result.value for check in found if check.name.startswith("crack width"))

    few, many = width(wires(3), 4 * INCH), width(wires(6), 2 * INCH)
    near = width(wires(6, H - 0.5 * INCH), 2 * INCH)
    assert few > many > near
    assert near < ACI_WIDTH


def test_no_steel_no_cracked_section() -> None:
    with pytest.raises(ValueError, match="needs steel"):
        cracked_section([], CONCRETE)
    with pytest.raises(ValueError, match="is not pulled"):
        beta_of(H, 0.01, 0.02)
    with pytest.raises(ValueError, match="no such section"):
        effective_inertia(np.array(1.0), 1.0, 1.0, 2.0)
