"""Rules of laying: what fits, how deep it lies, how far apart, how it is anchored, and what each check says."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from api.steel.table import reinforcement
from fem.concrete.formulas import PSI
from fem.steel.anchorage import INCH, KSI, anchorage_checks, development_length, lap_length
from fem.steel.bends import bend_check, past_corner_check
from fem.steel.detailing import clear_gap, code_covers, layer_depth, layers_that_fit, widest_spacing
from fem.steel.detailing_checks import checks
from fem.steel.model import Check, Code, Concrete, Covers, Rules, Run

ACI: Code = "ACI 318-19"
EN: Code = "EN 1992-1-1"
H = 1.5 * INCH
SHOP = Covers(0.5 * INCH, 0.375 * INCH, 0.5 * INCH, 0.5 * INCH)
CODE = Covers(0.625 * INCH, 0.625 * INCH, 0.5 * INCH, 0.5 * INCH)
CONCRETE = Concrete(6000 * PSI, 581 * PSI, 930 * PSI, 4415 * KSI)
RULES = Rules(2 * INCH, 4.5 * INCH, (0.0, math.pi / 2), 0.375 * INCH, 12 * INCH, 12 * INCH)


def said(steel: str, covers: Covers = SHOP, code: Code = ACI, thickness: float = H, **rules: float) -> dict[str, Check]:
    """The checks of one steel by name; of several of one name the first that fails, else the last."""
    found: dict[str, Check] = {}
    for check in checks(thickness, covers, reinforcement()[steel], CONCRETE, code, replace(RULES, **rules)):  # type: ignore[arg-type]
        if check.name not in found or found[check.name].ok:
            found[check.name] = check
    return found


# Arithmetic: two crossed 9 gauge wires need 0.30 in, two covers of 5/8 in leave 0.25 in of 1.5.
def test_crossed_wires_do_not_fit_at_the_codes_cover() -> None:
    wire = reinforcement()["9 gauge wire"]
    fit = said("9 gauge wire", CODE)["does it fit"]
    assert fit.limit is not None
    assert fit.result.value / INCH == pytest.approx(0.296)
    assert fit.limit.value / INCH == pytest.approx(0.25)
    assert not fit.ok
    assert "1 of 2 layers fit" in fit.note
    assert layers_that_fit(H, CODE, wire) == 1
    assert layers_that_fit(H, SHOP, wire) == 4
    assert said("9 gauge wire")["does it fit"].ok
    assert layers_that_fit(H, Covers(0.02, 0.02, 0.01, 0.01), wire) == 0


# Common practice, no source: 9 gauge wire suits a slab of 1.5 in, and a No. 3 bar does not: it is not tension-
# controlled at 3 h and the code's cover (two a foot at d 0.69 in reach a strain of 0.0042), and over its ribs it is
# thicker than a quarter of the slab.
def test_nine_gauge_suits_and_a_number_3_bar_does_not() -> None:
    wire, bar = said("9 gauge wire"), said("No. 3 bar")
    for name in ("yields before the concrete crushes", "diameter against thickness", "does it fit"):
        assert wire[name].ok, name
    yields = bar["yields before the concrete crushes"]
    assert not yields.ok
    assert yields.limit is not None
    assert yields.result.value < 0.0042 < yields.limit.value
    assert "the concrete crushes first" in yields.note
    assert not bar["diameter against thickness"].ok
    assert said("No. 3 bar", thickness=3 * INCH, most=9 * INCH)["yields before the concrete crushes"].ok
    assert not said("No. 3 bar", code=EN)["yields before the concrete crushes"].ok


def test_axes_lie_at_cover_and_layers() -> None:
    wire = reinforcement()["9 gauge wire"]
    assert layer_depth(H, SHOP, wire, "show", 0) == pytest.approx(SHOP.show + wire.diameter / 2)
    assert layer_depth(H, SHOP, wire, "show", 1) == pytest.approx(SHOP.show + 1.5 * wire.diameter)
    assert layer_depth(H, SHOP, wire, "underside", 0) == pytest.approx(H - SHOP.underside - wire.diameter / 2)
    # Ribs keep a bar's axis off; the wires of a mesh may come to lie inside of its crosswires.
    bar, mesh = reinforcement()["No. 3 bar"], reinforcement()["4x4 W1.4 mesh"]
    assert layer_depth(H, SHOP, bar, "show", 0) / INCH == pytest.approx(0.5 + 0.4375 / 2)
    assert layer_depth(H, SHOP, bar, "show", 1) / INCH == pytest.approx(0.5 + 1.5 * 0.4375)
    assert layer_depth(H, SHOP, mesh, "show", 0) / INCH == pytest.approx(0.5 + 0.134 + 0.134 / 2)


# ACI 318-19 7.7.2.3, 25.2.1, table 20.5.1.3.3; EN 1992-1-1 8.2(2), 9.3.1.1(3).
def test_distances_of_the_codes() -> None:
    wire, bar = reinforcement()["9 gauge wire"], reinforcement()["No. 3 bar"]
    assert widest_spacing(H, ACI) / INCH == pytest.approx(4.5)
    assert widest_spacing(8 * INCH, ACI) / INCH == pytest.approx(18)
    assert widest_spacing(0.2, EN) == 0.4
    assert clear_gap(wire, CONCRETE, ACI) == INCH
    assert clear_gap(bar, replace(CONCRETE, aggregate=0.020), ACI) == pytest.approx(0.020 * 4 / 3)
    assert clear_gap(bar, replace(CONCRETE, aggregate=0.020), EN) == pytest.approx(0.025)
    assert code_covers(SHOP, wire, ACI).show == pytest.approx(0.625 * INCH)
    assert code_covers(SHOP, wire, EN) == Covers(0.015, 0.015, SHOP.edge, SHOP.opening)
    assert not said("9 gauge wire")["cover"].ok
    assert said("9 gauge wire", CODE)["cover"].ok


def test_spacing_gaps_grain_and_least_steel() -> None:
    wire = said("9 gauge wire")
    for name in ("widest spacing", "clear gap", "largest grain", "minimum steel"):
        assert wire[name].ok, name
    assert not said("9 gauge wire", most=6 * INCH)["widest spacing"].ok
    assert not said("9 gauge wire", pitch=INCH)["clear gap"].ok
    assert not said("9 gauge ladder 2 in")["clear gap"].ok  # strips 2 in wide on lines 2 in apart
    # ACI 318-19 7.6.1.1: 0.0018 h, 0.0324 in2 a foot; 2x2 14 gauge mesh has 0.01 in2 in 4.5 in, 0.027.
    least = said("2x2 14 gauge mesh")["minimum steel"]
    assert least.limit is not None
    assert least.limit.value * 12 / INCH == pytest.approx(0.0324)
    assert least.result.value * 12 / INCH == pytest.approx(0.0267, abs=1e-4)
    assert not least.ok
    by_en = said("9 gauge wire", code=EN)["minimum steel"].limit
    assert by_en is not None
    d = H - SHOP.underside - 0.148 / 2 * INCH
    assert by_en.value == pytest.approx(max(0.26 * 0.30 * (6000 * PSI / 1e6) ** (2 / 3) / (70 * KSI / 1e6), 0.0013) * d)
    # ACI 318-19 26.4.2.1(a)(5): a third of the slab, three quarters of the gap.
    assert not said("9 gauge wire", thickness=INCH, most=3 * INCH)["largest grain"].ok
    assert said("9 gauge wire", pitch=0.66 * INCH)["largest grain"].ok
    assert not said("9 gauge wire", pitch=0.63 * INCH)["largest grain"].ok


# By the formula of ACI 318-19 25.4.2.4 a 9 gauge wire in 6000 psi needs 3.2 in, 3.7 with the psi_g 1.15 of 70 ksi: the
# least, 12 in, governs.
def test_anchorage_of_wire() -> None:
    wire = reinforcement()["9 gauge wire"]
    step = anchorage_checks(wire, CONCRETE, ACI, clear_cover=0.375 * INCH, spacing=2 * INCH)[0]
    bare = {q.symbol: q.value for q in step.given}["ld of the formula"]
    assert bare / INCH == pytest.approx(3.2 * 1.15, abs=0.02)
    assert step.result.value == pytest.approx(12 * INCH)
    assert lap_length(wire, CONCRETE, ACI, clear_cover=0.01, spacing=0.05) == pytest.approx(12 * INCH)
    near = development_length(replace(wire, yield_strength=500 * KSI), CONCRETE, ACI, clear_cover=0.01, spacing=0.05)
    assert near > 12 * INCH


# ASTM A951 5.4: a weld of 25,000 psi times the wire, 430 lbf, is 36 % of what a 9 gauge wire yields at, so three
# crossings hold it; ACI 318-19 25.4.7: 0.27 (Ab / s) fy / sqrt(f'c) of 4x4 W1.4 is 0.8 in, so that 6 in, 4 + 2, govern.
def test_anchorage_by_crosswires() -> None:
    ladder = reinforcement()["9 gauge ladder 2 in"]
    assert ladder.weld / (ladder.yield_strength * ladder.area) == pytest.approx(0.36, abs=0.005)
    bare = replace(ladder, deformed=False)
    assert development_length(bare, CONCRETE, ACI, clear_cover=0.01, spacing=0.1) == pytest.approx(48 * INCH)
    assert development_length(ladder, CONCRETE, ACI, clear_cover=0.01, spacing=0.1) == pytest.approx(12 * INCH)
    mesh = reinforcement()["4x4 W1.4 mesh"]
    step = anchorage_checks(mesh, CONCRETE, ACI, clear_cover=0.01, spacing=4 * INCH)[0]
    given = {q.symbol: q.value for q in step.given}
    assert given["ld of the formula"] / INCH == pytest.approx(0.8, abs=0.01)
    assert step.result.value == pytest.approx(6 * INCH)
    wide = reinforcement()["6x6 W1.4 mesh"]
    assert development_length(wide, CONCRETE, ACI, clear_cover=0.01, spacing=0.2) == pytest.approx(8 * INCH)
    assert lap_length(wide, CONCRETE, ACI, clear_cover=0.01, spacing=0.2) == pytest.approx(8 * INCH)
    assert math.isfinite(development_length(mesh, CONCRETE, EN, clear_cover=0.01, spacing=0.1))


@pytest.mark.parametrize("code", [ACI, EN])
def test_what_nothing_anchors(code: Code) -> None:
    scrim = reinforcement()["glass scrim, knotted"]
    loose = replace(reinforcement()["9 gauge wire"], deformed=False)
    for steel, word in ((scrim, "test"), (loose, "slides")):
        assert development_length(steel, CONCRETE, code, clear_cover=0.01, spacing=0.05) == math.inf
        assert lap_length(steel, CONCRETE, code, clear_cover=0.01, spacing=0.05) == math.inf
        (only,) = anchorage_checks(steel, CONCRETE, code, clear_cover=0.01, spacing=0.05)
        assert not only.ok
        assert word in only.note


@pytest.mark.parametrize("code", [ACI, EN])
@pytest.mark.parametrize("name", sorted(reinforcement()))
def test_every_steel_of_the_table_is_checked(name: str, code: Code) -> None:
    steel = reinforcement()[name]
    run = Run("a", "show", ((0.0, 0.0), (steel.stock + 0.5, 0.0)), 0.012, steel)
    found = checks(H, SHOP, steel, CONCRETE, code, replace(RULES, pitch=0.05 + steel.width), [run])
    assert {check.name for check in found} >= {
        "does it fit",
        "cover",
        "widest spacing",
        "minimum steel",
        "stock length",
    }
    for check in found:
        assert check.clause
        assert check.formula
        assert check.ok or check.note, check.name
        if check.relation is not None:
            assert check.limit is not None
            met = {"<=": 1, ">=": -1}[check.relation] * (check.result.value - check.limit.value) <= 1e-6
            assert check.ok == met or check.name == "yields before the concrete crushes", check.name
    lap = development_length(steel, CONCRETE, code, clear_cover=0.01, spacing=0.05)
    assert lap >= 0.1


def test_long_runs_are_lapped_and_layers_counted() -> None:
    wire = reinforcement()["9 gauge wire"]
    runs = [
        Run("s1", "show", ((0.0, 0.0), (4.0, 0.0)), 0.0146, wire),
        Run("s2", "show", ((0.0, 0.0), (0.0, 1.0)), 0.0183, wire, 1),
        Run("u1", "underside", ((0.0, 0.0), (1.0, 0.0)), 0.0267, wire),
    ]
    found = checks(H, SHOP, wire, CONCRETE, ACI, RULES, runs)
    (lap,) = [check for check in found if check.name == "stock length"]
    assert (lap.place, lap.note) == ("s1", "2 pieces")
    fit = next(check for check in found if check.name == "does it fit")
    assert fit.given[0].value == 3


# Equilibrium: a wire that turns square pulls at its bend with sqrt(2) of its force.
def test_a_bend_round_an_inner_corner_pulls_out() -> None:
    wire = reinforcement()["9 gauge wire"]
    bent = bend_check("ring", wire, math.pi / 2, inner=True)
    assert not bent.ok
    assert "counts nothing" in bent.note
    assert bent.result.value == pytest.approx(math.sqrt(2) * 70 * KSI * wire.area)
    assert bend_check("ring", wire, math.pi / 2, inner=False).ok
    assert bend_check("ring", wire, 0.0, inner=True).result.value == 0


def test_a_straight_run_past_a_corner_counts_by_what_goes_on() -> None:
    assert past_corner_check("d1", 0.31, RULES).ok
    short = past_corner_check("d1", 0.20, RULES)
    assert not short.ok
    assert "in proportion" in short.note
