"""Strength at an age against the tables of the published formulas."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from fem.concrete import (
    DAY,
    PCF,
    PSI,
    TYPE_I_MOIST,
    Growth,
    Mix,
    Strength,
    aci209_ratio,
    cracking_at_age,
    en1992_flexural_tension,
    en1992_mean_tension,
    en1992_ratio,
    lightweight_factor,
    modulus_at_age,
    modulus_of_elasticity,
    modulus_of_rupture,
)

PLAIN = Mix(145 * PCF, compressive=6000 * PSI)


# ACI 209R-92, table 2.2.1 (a, beta by cement and curing) put into Eq. 2-1 by hand, three digits.
@pytest.mark.parametrize(
    ("a", "beta", "ratios"),
    [
        (4.0, 0.85, {1: 0.206, 3: 0.458, 7: 0.704, 14: 0.881}),
        (1.0, 0.95, {1: 0.513, 3: 0.779, 7: 0.915, 14: 0.979}),
        (2.3, 0.92, {1: 0.311, 3: 0.593, 7: 0.801, 14: 0.922}),
        (0.70, 0.98, {1: 0.595, 3: 0.824, 7: 0.926, 14: 0.971}),
    ],
)
def test_aci_209_growth(a: float, beta: float, ratios: dict[int, float]) -> None:
    for days, ratio in ratios.items():
        assert aci209_ratio(days * DAY, a * DAY, beta) == pytest.approx(ratio, abs=6e-4)


# EN 1992-1-1:2004, 3.1.2(6), by hand: class R, N, S.
@pytest.mark.parametrize(
    ("s", "ratios"),
    [
        (0.20, {1: 0.424, 3: 0.663, 7: 0.819, 14: 0.920}),
        (0.25, {1: 0.342, 3: 0.598, 7: 0.779, 14: 0.902}),
        (0.38, {1: 0.196, 3: 0.458, 7: 0.684, 14: 0.854}),
    ],
)
def test_en_1992_growth(s: float, ratios: dict[int, float]) -> None:
    for days, ratio in ratios.items():
        assert en1992_ratio(days * DAY, s) == pytest.approx(ratio, abs=6e-4)


# ACI 318-19 Eqs 19.2.3.1 (7.5 sqrt) and 19.2.2.1.b (57000 sqrt, normalweight) evaluated by hand; 19.2.2.1.a at
# 145 lb/ft3 lies within 2 % of the latter.
@pytest.mark.parametrize(("psi", "rupture", "ksi"), [(3000, 411, 3122), (5000, 530, 4031), (8000, 671, 5098)])
def test_aci_318_strength_and_modulus(psi: float, rupture: float, ksi: float) -> None:
    assert modulus_of_rupture(psi * PSI) / PSI == pytest.approx(rupture, abs=0.6)
    assert modulus_of_elasticity(psi * PSI, 145 * PCF) / PSI / 1000 == pytest.approx(ksi, rel=0.02)


def test_modulus_counts_density_only_within_the_range_of_its_formula() -> None:
    at_160 = modulus_of_elasticity(5000 * PSI, 160 * PCF)
    assert modulus_of_elasticity(5000 * PSI, 200 * PCF) == at_160
    assert modulus_of_elasticity(5000 * PSI, 100 * PCF) == pytest.approx(at_160 * (100 / 160) ** 1.5, rel=1e-12)


# ACI 318-19, table 19.2.4.1(a): 0.75 up to 100 lb/ft3, 1 over 135, 0.0075 w between.
@pytest.mark.parametrize(("pcf", "lam"), [(90, 0.75), (100, 0.75), (110, 0.825), (120, 0.9), (135, 1.0), (150, 1.0)])
def test_lightweight_factor(pcf: float, lam: float) -> None:
    assert lightweight_factor(pcf * PCF) == pytest.approx(lam, rel=1e-9)


# EN 1992-1-1:2004, table 3.1 (C30/37: 2.9 MPa, C60/75: 4.4 MPa) and Eq. 3.23: factor 1.562 at 38 mm, 1 from 600 mm on.
def test_en_1992_tension() -> None:
    assert en1992_mean_tension(30e6) == pytest.approx(2.9e6, abs=5e4)
    assert en1992_mean_tension(60e6) == pytest.approx(4.4e6, abs=5e4)
    assert en1992_flexural_tension(30e6, 0.038) / en1992_mean_tension(30e6) == pytest.approx(1.562, rel=1e-9)
    assert en1992_flexural_tension(30e6, 0.8) == en1992_mean_tension(30e6)


# Practice: 6000 psi, day 3, Type I moist: cracking 393 psi. By hand: 7.5 sqrt(6000 x 0.458).
def test_cracking_strength_on_day_three() -> None:
    strength = cracking_at_age(3 * DAY, PLAIN)
    assert strength.value / PSI == pytest.approx(393, abs=0.6)
    assert "ACI 209R-92, Type I moist" in strength.source
    assert "ACI 318-19 Eq. 19.2.3.1" in strength.source


# Under three days, by hand for 1 day: sqrt of ACI 209 Type I moist 0.454, EN 1992 class N 0.342: the lower counts.
def test_untested_young_concrete_takes_the_lower_growth() -> None:
    full = modulus_of_rupture(6000 * PSI)
    day_one = cracking_at_age(DAY, PLAIN)
    assert day_one.value / full == pytest.approx(0.342, abs=6e-4)
    assert "class N" in day_one.source
    for hours in range(1, 72):
        age = hours * 3600.0
        strength = cracking_at_age(age, PLAIN).value
        assert strength / full <= math.sqrt(aci209_ratio(age, TYPE_I_MOIST.a, TYPE_I_MOIST.beta)) * (1 + 1e-12)
        assert strength / full <= en1992_ratio(age) * (1 + 1e-12)


def test_a_told_growth_counts_at_any_age() -> None:
    fast = Growth(0.70 * DAY, 0.98, "as told", told=True)
    strength = cracking_at_age(DAY, replace(PLAIN, law=fast))
    assert strength.value == pytest.approx(modulus_of_rupture(6000 * PSI) * math.sqrt(0.5952), rel=1e-3)
    assert "as told" in strength.source


def test_a_measured_28_day_strength_replaces_the_formula() -> None:
    strength = cracking_at_age(7 * DAY, Mix(2300.0, cracking=Strength(5e6, "a test")))
    assert strength.value == pytest.approx(5e6 * math.sqrt(0.704), rel=1e-3)
    assert "ACI 318" not in strength.source


def test_nothing_grows_beyond_its_28_day_value() -> None:
    for days in (28, 29, 90, 3650):
        strength = cracking_at_age(days * DAY, PLAIN)
        modulus = modulus_at_age(days * DAY, PLAIN)
        assert strength.value == modulus_of_rupture(6000 * PSI)
        assert modulus.value == modulus_of_elasticity(6000 * PSI, 145 * PCF)


def test_strength_never_falls_with_age() -> None:
    values = [cracking_at_age(hours * 3600.0, PLAIN).value for hours in range(1, 24 * 40, 3)]
    assert all(later >= earlier for earlier, later in pairwise(values))


def test_modulus_at_age_is_that_of_the_strength_at_age() -> None:
    share = aci209_ratio(5 * DAY, TYPE_I_MOIST.a, TYPE_I_MOIST.beta)
    modulus = modulus_at_age(5 * DAY, PLAIN)
    assert modulus.value == pytest.approx(modulus_of_elasticity(share * 6000 * PSI, 145 * PCF), rel=1e-12)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="no strength: give compressive"):
        cracking_at_age(DAY, Mix(2300.0))
    with pytest.raises(ValueError, match="no modulus"):
        modulus_at_age(DAY, Mix(2300.0))
    with pytest.raises(ValueError, match="no such growth"):
        aci209_ratio(0.0, DAY, 0.85)
    with pytest.raises(ValueError, match="no such strength"):
        modulus_of_rupture(0.0)
    with pytest.raises(ValueError, match="no such density"):
        lightweight_factor(-1.0)
