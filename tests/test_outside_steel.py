"""The cracked section against worked examples of others: strength, anchorage, cracks, sag.

Widths in the examples are those of beams: areas are divided by them, and strengths multiplied.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fem.concrete.formulas import PSI, en1992_mean_tension, en1992_modulus
from fem.steel.anchorage import INCH, KSI, anchorage_checks, development_length, lap_length
from fem.steel.cracking import (
    beta_of,
    cracked_section,
    effective_inertia,
    en_crack_spacing,
    en_crack_strain,
    frosch_width,
    gergely_lutz_width,
    long_term_factor,
    steel_stress,
)
from fem.steel.model import Code, Concrete, Steel
from fem.steel.section import Layer, Section, section_strength, upper_cracking_moment

ACI: Code = "ACI 318-19"
EN: Code = "EN 1992-1-1"
KIP = 1000 * PSI * INCH**2


def bar(yield_strength: float, diameter: float = 0.01, **others: object) -> Steel:
    """Ribbed steel of any area."""
    steel = Steel(
        "bar", "bar", diameter, diameter, math.pi / 4 * diameter**2, yield_strength, yield_strength * 1.2, 29e6 * PSI
    )
    return replace(steel, **others)  # type: ignore[arg-type]


def concrete_of(psi: float) -> Concrete:
    """Concrete of this strength in psi; cracking strengths 7.5 and 12 sqrt(f'c)."""
    root = math.sqrt(psi) * PSI
    return Concrete(psi * PSI, 7.5 * root, 12 * root, 57000 * root)


def us_section(area: float, width: float, depth: float, height: float, fy: float, fc: float) -> Section:
    """A beam with one layer of steel: square inches, inches, ksi, psi."""
    layer = Layer(depth * INCH, area / width * INCH, bar(fy * KSI))
    return section_strength([layer], height * INCH, concrete_of(fc), ACI)


# Wight and MacGregor, Reinforced Concrete, 6th ed., example 4-1: b 12, h 20, d 17.5 in, four No. 8, 4000 psi, grade 60:
# a 4.65 in, Mn 240 k-ft (the data read in a stored copy, the results from memory).
def test_textbook_beam() -> None:
    found = us_section(3.16, 12, 17.5, 20, 60, 4000)
    assert found.a / INCH == pytest.approx(4.65, abs=0.005)
    assert found.nominal * 12 * INCH / KIP / INCH / 12 == pytest.approx(240, abs=0.5)
    assert found.tension_controlled
    assert not found.snaps


# The same, the section-analysis example of two beams, four No. 9 in 12 in, d 17.5 in: with 6000 psi beta1 is 0.75 and c
# 5.23 in; with 4000 psi it lies in the transition zone (c and zone read in a stored copy; bars and d from memory).
def test_textbook_beam_with_much_steel() -> None:
    strong, weak = (us_section(4.0, 12, 17.5, 20, 60, fc) for fc in (6000, 4000))
    assert strong.neutral_axis / INCH == pytest.approx(5.23, abs=0.005)
    assert 0.65 < weak.phi < 0.90
    assert not weak.tension_controlled


# NAVFAC DM 2.08, Blast Resistant Structures (1986), example, p. 2.08-109: 2.20 in2 of 66,000 psi, b 18, d 27.625 in,
# 5000 psi: a 1.898 in, M 3,873,355 in-lb; d 27.125 in: 3,800,755 in-lb.
@pytest.mark.parametrize(("depth", "moment"), [(27.625, 3_873_355), (27.125, 3_800_755)])
def test_beam_of_a_public_manual(depth: float, moment: float) -> None:
    found = us_section(2.20, 18, depth, 30, 66, 5000)
    assert found.a / INCH == pytest.approx(1.898, abs=0.0005)
    assert found.nominal * 18 * INCH / (PSI * INCH**3) == pytest.approx(moment, rel=5e-5)


# Published lecture example, "nominal strength for rectangular beam with two layers of reinforcing steel": six No. 10 in
# two layers about d 26 in, b 18 in, 4000 psi, grade 60: a 7.47 in, Mn 848.30 k-ft. Both layers yield, so their distance
# from the middle does not matter.
def test_two_layers_each_at_its_own_depth() -> None:
    steel = bar(60 * KSI)
    layers = [Layer((26 + off) * INCH, 3 * 1.27 / 18 * INCH, steel) for off in (-1.0, 1.0)]
    found = section_strength(layers, 30 * INCH, concrete_of(4000), ACI)
    assert found.a / INCH == pytest.approx(7.47, abs=0.005)
    assert found.nominal * 18 * INCH / KIP / INCH / 12 == pytest.approx(848.30, rel=1e-4)
    assert min(found.stress) == pytest.approx(60 * KSI)


# Mosley, Bungey and Hulse, Reinforced Concrete Design to Eurocode 2, singly reinforced section: b 300, d 520 mm, As
# 1470 mm2, fck 25, fyk 500: s 150 mm, x 188 mm, M 284 kN m (from memory).
def test_eurocode_beam() -> None:
    steel = replace(bar(500e6), modulus=200e9)
    found = section_strength([Layer(0.520, 1470e-6 / 0.3, steel)], 0.57, Concrete(25e6, 2.6e6, 4e6, 31e9), EN)
    assert found.design * 0.3 / 1e3 == pytest.approx(284, abs=0.8)
    assert found.tension_controlled


# The closed form of EN 1992-1-1's block with 0.85 fck / 1.5, as in The Concrete Centre's How to design concrete
# structures: z = d / 2 (1 + sqrt(1 - 3.53 K)), As = M / (0.87 fyk z), K = M / (b d2 fck). 3.53 and 0.87 are rounded.
@pytest.mark.parametrize("share", [0.002, 0.006, 0.010])
def test_eurocode_closed_form(share: float) -> None:
    d, fck, fyk = 0.030, 40e6, 500e6
    steel = replace(bar(fyk), modulus=200e9)
    design = section_strength([Layer(d, share * d, steel)], 0.04, Concrete(fck, 3e6, 5e6, 35e9), EN).design
    z = d / 2 * (1 + math.sqrt(1 - 3.53 * design / (d**2 * fck)))
    assert design / (0.87 * fyk * z) == pytest.approx(share * d, rel=2e-3)


# Nanni, De Luca and Jawaheri Zadeh, Reinforced Concrete with FRP Bars (2014), example 4.4: two No. 10 glass bars, 2.54
# in2, 4000 psi; omega_f 0.1082 below omega_fb 0.1667: the bars snap; c_b 5.08 in. Its section follows from these
# figures: d = c_b 0.85 0.85 / omega_fb = 22.0 in, strain 0.0100, and with round numbers b 16 in, 60 ksi, 6000 ksi.
def test_glass_bars_that_snap() -> None:
    glass = bar(60 * KSI, ultimate_strength=60 * KSI, modulus=6000 * KSI, brittle=True)
    found = section_strength([Layer(22.0 * INCH, 2.54 / 16 * INCH, glass)], 25 * INCH, concrete_of(4000), ACI)
    assert found.snaps
    assert not found.tension_controlled
    assert found.neutral_axis / INCH == pytest.approx(5.08, abs=0.005)
    assert found.phi == 0.55
    # ACI 440.1R-15 Eq. 7.2.2h by hand: 2.54 x 60 (22 - 0.85 x 5.077 / 2).
    assert found.nominal * 16 * INCH / KIP / INCH == pytest.approx(2.54 * 60 * (22 - 0.85 * 5.077 / 2), rel=1e-4)


# ACI 440.1R-15 Eq. 7.2.2d, where the concrete crushes: ff = sqrt((Ef ecu)2 / 4 + 0.85 beta1 f'c / rho Ef ecu) - Ef ecu
# / 2, the closed form of the equilibrium that the section finds by halving.
@pytest.mark.parametrize("share", [0.010, 0.020, 0.040])
def test_fibre_where_the_concrete_crushes(share: float) -> None:
    glass = bar(120 * KSI, ultimate_strength=120 * KSI, modulus=6500 * KSI, brittle=True)
    found = section_strength([Layer(10 * INCH, share * 10 * INCH, glass)], 12 * INCH, concrete_of(5000), ACI)
    pull = 6500 * 0.003
    stress = math.sqrt(pull**2 / 4 + 0.85 * 0.80 * 5 / share * pull) - pull / 2
    assert found.stress[0] / KSI == pytest.approx(stress, rel=1e-9)
    assert found.nominal / (KSI * INCH**2) == pytest.approx(
        share * stress * (1 - 0.59 * share * stress / 5) * 100, rel=2e-3
    )


# Recomputed by the formula of any text, Mn = As fy (d - a / 2): slab of 1.5 in, cover 5/8 in, 6000 psi, per 12 in.
# Three 9 gauge wires, d 0.801: 2.79 kip in, phi Mn / Mcr 0.96; three of 3/16 in, d 0.781: 4.25, 1.46; two No. 3, 60
# ksi, d 0.6875: 7.65 kip in.
@pytest.mark.parametrize(
    ("area", "fy", "depth", "moment", "ratio"),
    [(3 * 0.0172, 70, 0.801, 2.79, 0.96), (3 * 0.0276, 70, 0.78125, 4.25, 1.46), (0.22, 60, 0.6875, 7.65, None)],
)
def test_thin_slab_by_hand(area: float, fy: float, depth: float, moment: float, ratio: float | None) -> None:
    found = us_section(area, 12, depth, 1.5, fy, 6000)
    assert found.nominal * 12 / KIP == pytest.approx(moment, abs=0.006)
    cracks = concrete_of(6000).cracking * (1.5 * INCH) ** 2 / 6
    if ratio is not None:
        assert found.design / cracks == pytest.approx(ratio, abs=0.006)


# Hand calculation: three 9 gauge wires a foot carry 1.07 of what cracks the slab at 7.5 sqrt(f'c), 0.67 at 12.
def test_what_cracks_it_late_breaks_it() -> None:
    concrete = concrete_of(6000)
    nominal = us_section(3 * 0.0172, 12, 0.801, 1.5, 70, 6000).nominal
    assert nominal / upper_cracking_moment(concrete, 1.5 * INCH) == pytest.approx(0.67, abs=0.005)
    assert nominal / (concrete.cracking * (1.5 * INCH) ** 2 / 6) == pytest.approx(1.07, abs=0.005)


# Published calculation of a tension development length by ACI 318-19 25.4.2.4, all steps printed: No. 3, 40,000 psi,
# 3000 psi, cb 1.5 in: 11.174 in with psi_t psi_e 1.7 (deep below fresh concrete, and coated), then 12 in.
def test_development_length_of_a_bar() -> None:
    steel = bar(40 * KSI, 0.375 * INCH)
    concrete = concrete_of(3000)
    steps = anchorage_checks(steel, concrete, ACI, clear_cover=1.3125 * INCH, spacing=8 * INCH)[0]
    bare = next(given.value for given in steps.given if given.symbol == "ld of the formula")
    assert 1.7 * bare / INCH == pytest.approx(11.174, rel=1e-4)
    assert development_length(steel, concrete, ACI, clear_cover=1.3125 * INCH, spacing=8 * INCH) == pytest.approx(
        12 * INCH
    )


# Published calculation by EN 1992-1-1 8.4, all steps printed: 12 mm, C25, fyk 500, cd 35 mm, good bond: lb,rqd 484 mm,
# alpha2 0.71, lbd 345 mm. Published table of anchorage lengths (document 25189385): 34 phi for C25/30 and fyk 420 where
# alpha2 is 1.
def test_development_length_by_eurocode() -> None:
    concrete = Concrete(25e6, 2.6e6, 4e6, 31e9)
    steel = bar(500e6, 0.012)
    steps = {q.symbol: q.value for q in anchorage_checks(steel, concrete, EN, clear_cover=0.035, spacing=0.2)[0].given}
    assert steps["lb,rqd"] == pytest.approx(0.484, abs=0.001)
    assert steps["alpha2"] == pytest.approx(0.71, abs=0.005)
    assert development_length(steel, concrete, EN, clear_cover=0.035, spacing=0.2) == pytest.approx(0.345, abs=0.001)
    plain = development_length(bar(420e6, 0.012), concrete, EN, clear_cover=0.012, spacing=0.2)
    assert math.ceil(plain / 0.012 - 0.5) == 34
    assert lap_length(bar(420e6, 0.012), concrete, EN, clear_cover=0.012, spacing=0.2) == pytest.approx(1.5 * plain)


# Published calculation sheet "ACI Crack Calculations" (document 381219712): b 1000, h 900, d 809 mm, As 5361 mm2, f'c
# 32 MPa, Ec 4700 sqrt(f'c), M 250 kN m: c 218.283 mm, Icr 1.754e10 mm4, fs 63.336 MPa.
def test_cracked_section_of_a_wall() -> None:
    concrete = Concrete(32e6, 3.5e6, 6e6, 4700e6 * math.sqrt(32))
    layer = Layer(0.809, 8.042e-4 / 0.15, bar(420e6, modulus=200e9))
    cracked = cracked_section([layer], concrete)
    assert cracked.neutral_axis == pytest.approx(0.218283, rel=1e-5)
    assert cracked.inertia == pytest.approx(1.754e-2, rel=5e-4)
    assert steel_stress(250e3, layer, cracked, concrete) == pytest.approx(63.336e6, rel=1e-4)


# Published calculation sheet "Concrete Cracking" (document 456996545): h 150, d 110, dc 45 mm, 10 mm at 200 mm, f'c 32
# MPa, M 3.36 kN m: c 22.7095 mm, Icr 26,412,655 mm4, fs 83.5317 MPa, beta 1.45824, w 0.133574 mm (ACI 224.1R-07 Eq.
# 1-1, that is Frosch's).
def test_frosch_crack_of_a_slab() -> None:
    concrete = Concrete(32e6, 3.5e6, 6e6, 4700e6 * math.sqrt(32))
    layer = Layer(0.110, 392.6990817e-6, bar(420e6, modulus=200e9))
    cracked = cracked_section([layer], concrete)
    stress = steel_stress(3360, layer, cracked, concrete)
    beta = beta_of(0.150, 0.110, cracked.neutral_axis)
    assert cracked.inertia == pytest.approx(26412655.22e-12, rel=1e-6)
    assert stress == pytest.approx(83.53172985e6, rel=1e-6)
    assert beta == pytest.approx(1.458239877, rel=1e-6)
    assert frosch_width(stress, 200e9, beta, 0.045, 0.200) == pytest.approx(0.133574325e-3, rel=1e-6)


# Published calculation sheet "Crack width analysis" by ACI 224R (document 249362308): h 300, d 252, dc 48 mm, 12 mm at
# 125 mm (905 mm2), Es 200, Ec 27.806 GPa, M 53 kN m: k 0.2029, fs 36.16 ksi, beta 1.24, w 0.01115339 in.
def test_gergely_lutz_crack_of_a_slab() -> None:
    concrete = Concrete(35e6, 3.5e6, 6e6, 27806e6)
    layer = Layer(0.252, 904.78e-6, bar(460e6, modulus=200e9))
    cracked = cracked_section([layer], concrete)
    stress = steel_stress(53e3, layer, cracked, concrete)
    beta = beta_of(0.300, 0.252, cracked.neutral_axis)
    assert cracked.neutral_axis / 0.252 == pytest.approx(0.2029, abs=1e-4)
    assert stress / KSI == pytest.approx(36.16, abs=0.01)
    width = gergely_lutz_width(stress, beta, 0.048, 2 * 0.048 * 0.125)
    assert width / INCH == pytest.approx(0.01115339, rel=5e-4)


# Published verification example of EN 1992-1-1 7.3.4: b 400, h 300, cover 35, three 16 mm bars 170 mm apart, C25,
# 175.74 MPa, hc,eff 86 mm there: sr,max 274.123 mm, strain 0.00055354, wk 0.151738 mm.
def test_eurocode_crack_of_a_beam() -> None:
    ratio = 3 * math.pi / 4 * 0.016**2 / (0.4 * 0.086)
    apart = en_crack_spacing(0.035, 0.016, ratio, True, spacing=0.17, tall=0.24)
    strain = en_crack_strain(
        175.74e6, 200e9, en1992_mean_tension(25e6), ratio, 200e9 / en1992_modulus(25e6), lasting=True
    )
    assert apart == pytest.approx(0.2741230, rel=1e-6)
    assert strain == pytest.approx(0.00055354, rel=1e-4)
    assert apart * strain == pytest.approx(0.151738e-3, rel=1e-4)


# EN 1992-1-1 Eqs 7.18 and 7.19 with beta 1 lay curvature between the two states: the same law as Bischoff's on another
# road, with his (and ACI 318-19's) two thirds of the cracking moment.
@pytest.mark.parametrize("share", [0.045, 0.3])
def test_sag_of_the_cracked_strip(share: float) -> None:
    moments = np.array([0.7, 1.0, 1.5, 4.0])
    zeta = 1 - (2 / 3 / moments) ** 2
    between = 1 / (zeta / share + (1 - zeta))
    np.testing.assert_allclose(effective_inertia(moments, 1.0, 1.0, share), between, rtol=1e-12)
    assert effective_inertia(np.array(2 / 3), 1.0, 1.0, share) == pytest.approx(1.0)


# ACI 318-19 table 24.2.4.1.3: 1.0, 1.2, 1.4, 2.0 after 3, 6, 12 and 60 months.
def test_lasting_load() -> None:
    assert [long_term_factor(months) for months in (3, 6, 12, 60, 600)] == pytest.approx([1.0, 1.2, 1.4, 2.0, 2.0])
