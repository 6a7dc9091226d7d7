"""The cracked section: what a layer at any depth is worth, and the laws that any strength must keep."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from api.steel.table import reinforcement
from fem.concrete.formulas import PSI
from fem.steel.anchorage import INCH
from fem.steel.bending import bending, bending_checks, moved, takes_over
from fem.steel.material import STRAIN_CAP, block_of, law_of
from fem.steel.model import Code, Concrete, Steel
from fem.steel.section import Layer, run_strength, section_strength, section_strengths, upper_cracking_moment
from fem.steel.strength_checks import strength_checks

CODES: tuple[Code, ...] = ("ACI 318-19", "EN 1992-1-1")
H = 1.5 * INCH


def concrete_of(psi: float = 6000) -> Concrete:
    root = math.sqrt(psi) * PSI
    return Concrete(psi * PSI, 7.5 * root, 12 * root, 57000 * root)


def laid(name: str, depth: float, spacing: float) -> Layer:
    """One layer of a steel of the table: depth from the pressed face, one strip in every spacing."""
    steel = reinforcement()[name]
    return Layer(depth, steel.wires * steel.area / spacing, steel)


@pytest.mark.parametrize("code", CODES)
def test_push_and_pull_balance(code: Code) -> None:
    layers = [laid("9 gauge wire", 0.008, 0.05), laid("No. 3 bar", 0.019, 0.1), laid("9 gauge wire", 0.030, 0.05)]
    found = section_strength(layers, H, concrete_of(), code)
    block = block_of(concrete_of(), code)
    pull = sum(layer.area * stress for layer, stress in zip(layers, found.stress, strict=True))
    assert pull == pytest.approx(block.stress * found.a, rel=1e-9)
    # Every layer has the strain of a plane section, and the stress that its own steel then has.
    for layer, stress in zip(layers, found.stress, strict=True):
        strain = block.crushing * (layer.depth - found.neutral_axis) / found.neutral_axis
        own = min(layer.steel.modulus * strain, layer.steel.yield_strength)
        # A pressed layer is told less the concrete whose place it takes.
        assert stress == pytest.approx(own if strain > 0 else own + block.stress, rel=1e-9)
    assert found.stress[0] < 0 < found.stress[1]


@pytest.mark.parametrize("code", CODES)
def test_many_sections_at_once_are_each_alone(code: Code) -> None:
    names = ["9 gauge wire", "No. 3 bar", "carbon grid, resin soaked"]
    steels = [reinforcement()[name] for name in names]
    depths = [0.010, 0.020, 0.028]
    areas = np.random.default_rng(4).uniform(0, 4e-4, (3, 5, 3))
    areas[0, 0] = 0
    areas[1, 1, :2] = 0
    found = section_strengths(depths, areas, steels, H, concrete_of(), code)
    for place in np.ndindex(3, 5):
        layers = [Layer(d, a, s) for d, a, s in zip(depths, areas[place], steels, strict=True)]
        alone = section_strength(layers, H, concrete_of(), code)
        assert found.nominal[place] == pytest.approx(alone.nominal, rel=1e-12)
        assert found.design[place] == pytest.approx(alone.design, rel=1e-12)
        assert bool(found.snaps[place]) == alone.snaps
    assert found.nominal[0, 0] == 0
    assert found.nominal[1, 1] > 0


# Common practice, no source: wire at mid-depth has about half the arm of wire near the face, and so about half the
# strength; before cracking it carries nothing, as it lies where nothing is strained.
def test_steel_at_mid_depth_has_the_strength_it_has() -> None:
    near, middle = (
        section_strength([laid("9 gauge wire", depth, 0.1)], H, concrete_of(), "ACI 318-19").nominal
        for depth in (H - 0.0127 - 0.0019, H / 2)
    )
    assert middle / near == pytest.approx((H / 2 - 0.001) / (H - 0.0146 - 0.001), rel=0.03)
    concrete = concrete_of()
    assert takes_over([laid("9 gauge wire", H / 2, 0.1)], H, 0.0, concrete, "ACI 318-19")[0] < 1


@pytest.mark.parametrize("code", CODES)
def test_more_steel_and_more_arm_carry_more(code: Code) -> None:
    by_depth = [
        section_strength([laid("9 gauge wire", depth, 0.1)], H, concrete_of(), code).design
        for depth in np.linspace(0.004, 0.035, 12)
    ]
    by_area = [
        section_strength([laid("9 gauge wire", 0.02, apart)], H, concrete_of(), code).nominal
        for apart in (0.3, 0.1, 0.05, 0.02, 0.005)
    ]
    assert np.all(np.diff(by_depth) > 0)
    assert np.all(np.diff(by_area) > 0)


def test_design_reduces_by_the_code() -> None:
    layer = laid("9 gauge wire", 0.0203, 0.1)
    by_aci = section_strength([layer], H, concrete_of(), "ACI 318-19")
    by_en = section_strength([layer], H, concrete_of(), "EN 1992-1-1")
    assert by_aci.design == pytest.approx(0.9 * by_aci.nominal)
    assert by_en.design < by_en.nominal / 1.15
    assert by_en.design > by_en.nominal / 1.20


# ACI 318-19 table 21.2.2: 0.65 until the outermost layer yields, 0.90 from 0.003 beyond, straight between.
def test_reduction_factor_follows_the_strain() -> None:
    steel = reinforcement()["No. 3 bar"]
    yields = steel.yield_strength / steel.modulus
    seen = set()
    for apart in np.geomspace(0.02, 0.4, 40):
        found = section_strength([laid("No. 3 bar", 0.0175, apart)], H, concrete_of(), "ACI 318-19")
        wanted = min(max(0.65 + 0.25 * (found.strain - yields) / 0.003, 0.65), 0.90)
        assert found.phi == pytest.approx(wanted, rel=1e-9)
        assert found.tension_controlled == (found.phi >= 0.9 - 1e-12)
        seen.add(round(found.phi, 2))
    assert {0.65, 0.9} < seen


# ACI 440.1R-15 6.2.1: factor on strength and strain alike; strain never above 0.012 (ACI 549.4R-13).
def test_fibres_are_capped() -> None:
    glass = reinforcement()["1/4 in glass bar"]
    assert law_of(glass, "ACI 318-19").strength == pytest.approx(STRAIN_CAP * glass.modulus)
    carbon = reinforcement()["carbon grid, resin soaked"]
    assert law_of(carbon, "ACI 318-19").strain == pytest.approx(2100 / 230e3)
    # EN 1992-1-1 has no rule for fibres: 1.5 on their strength, as for the concrete.
    assert law_of(carbon, "EN 1992-1-1", design=True).strength == pytest.approx(2100e6 / 1.5)
    assert law_of(carbon, "EN 1992-1-1").strength == pytest.approx(2100e6)
    weaker = replace(carbon, factor=0.9)
    assert law_of(weaker, "ACI 318-19").strength == pytest.approx(0.9 * 2100e6)


def test_a_snapping_grid_is_worth_no_more_than_its_force_times_its_arm() -> None:
    layer = laid("carbon grid, resin soaked", 0.030, 0.2)
    found = section_strength([layer], H, concrete_of(), "ACI 318-19")
    force = layer.area * 2100e6
    assert found.snaps
    # Its true stress block is less deep than the one that is read, so the true arm is longer: at most d.
    exact = layer.depth - force / block_of(concrete_of(), "ACI 318-19").stress / 2
    assert 0.8 * force * exact < found.nominal < force * exact


@pytest.mark.parametrize("name", ["glass scrim, knotted"])
def test_untested_scrim_counts_nothing(name: str) -> None:
    assert section_strength([laid(name, 0.03, 0.1)], H, concrete_of(), "ACI 318-19").nominal == 0
    assert run_strength(reinforcement()[name], 0.03, 0.1, concrete_of(), "ACI 318-19") == 0


def test_plain_wire_that_nothing_holds_counts_nothing() -> None:
    mesh = reinforcement()["4x4 W1.4 mesh"]
    assert run_strength(mesh, 0.03, 0.2, concrete_of(), "ACI 318-19") > 0
    loose = replace(mesh, weld=0.0)
    assert run_strength(loose, 0.03, 0.2, concrete_of(), "ACI 318-19") == 0


@pytest.mark.parametrize("code", CODES)
def test_a_run_is_a_strip_of_its_width(code: Code) -> None:
    steel = reinforcement()["9 gauge ladder 2 in"]
    layer = Layer(0.02, 2 * steel.area / 0.1, steel)
    strip = section_strength([layer], H, concrete_of(), code)
    assert run_strength(steel, 0.02, 0.1, concrete_of(), code) == pytest.approx(0.1 * strip.design)
    assert run_strength(steel, 0.02, 0.1, concrete_of(), code, nominal=True) == pytest.approx(0.1 * strip.nominal)
    assert run_strength(steel, -0.001, 0.1, concrete_of(), code) == 0
    # Less concrete beside it, deeper pressed, less arm.
    assert run_strength(steel, 0.02, 0.05, concrete_of(), code) < run_strength(steel, 0.02, 0.1, concrete_of(), code)


def test_what_is_no_section_is_refused() -> None:
    layer = laid("9 gauge wire", 0.04, 0.1)
    with pytest.raises(ValueError, match="do not lie within"):
        section_strength([layer], H, concrete_of(), "ACI 318-19")
    with pytest.raises(ValueError, match="needs concrete beside it"):
        run_strength(layer.steel, 0.02, 0.0, concrete_of(), "ACI 318-19")
    with pytest.raises(ValueError, match="no such reinforcement"):
        law_of(replace(layer.steel, area=0.0), "ACI 318-19")
    with pytest.raises(ValueError, match="no such slab"):
        upper_cracking_moment(concrete_of(), 0.0)
    with pytest.raises(ValueError, match="no such concrete"):
        block_of(replace(concrete_of(), compressive=0.0), "ACI 318-19")


# ACI 318-19 table 22.2.2.4.3 and EN 1992-1-1 table 3.1 with Eqs 3.19 to 3.22.
def test_stress_blocks() -> None:
    beta = [block_of(concrete_of(psi), "ACI 318-19").depth for psi in (3000, 4000, 5000, 8000, 10000)]
    assert beta == pytest.approx([0.85, 0.85, 0.80, 0.65, 0.65])
    strong = block_of(Concrete(70e6, 4e6, 6e6, 41e9), "EN 1992-1-1")
    assert strong.depth == pytest.approx(0.75)
    assert strong.crushing == pytest.approx(0.00266, abs=2e-5)
    assert strong.stress == pytest.approx(0.9 * 0.85 * 70e6)
    usual = block_of(Concrete(30e6, 3e6, 4e6, 33e9), "EN 1992-1-1", design=True)
    assert (usual.depth, usual.crushing) == (0.8, 0.0035)
    assert usual.stress == pytest.approx(17e6)


# Three 9 gauge wires a foot at code cover take 0.67 of the upper-bound cracking moment (by hand); 3/8 in nearer the
# face or deeper changes the arm by half.
def test_bends_or_snaps_at_both_ends_of_the_tolerance() -> None:
    layers = [Layer(0.801 * INCH, 3 * 0.0172 / 12 * INCH, reinforcement()["9 gauge wire"])]
    low, high = takes_over(layers, H, 3 / 8 * INCH, concrete_of(), "ACI 318-19")
    middle, same = takes_over(layers, H, 0.0, concrete_of(), "ACI 318-19")
    assert middle == same == pytest.approx(0.67, abs=0.005)
    assert low / middle == pytest.approx((0.801 - 0.375 - 0.0295) / (0.801 - 0.0295), rel=2e-3)
    assert high / middle == pytest.approx((0.801 + 0.375 - 0.0295) / (0.801 - 0.0295), rel=2e-3)
    found = bending("Carry", "show", (0.1, 0.2), 0.3, layers, H, 3 / 8 * INCH, concrete_of(), "ACI 318-19")
    assert (found.low, found.high, found.verdict) == (low, high, "snaps")
    dense = [replace(layers[0], area=3 * layers[0].area)]
    assert bending("Carry", "show", (0, 0), 0, dense, H, 0.0030, concrete_of(), "ACI 318-19").verdict == "bends"
    twice = [replace(layers[0], area=2 * layers[0].area)]
    assert bending("Carry", "show", (0, 0), 0, twice, H, 0.0095, concrete_of(), "ACI 318-19").verdict == "not sure"
    assert bending("Carry", "show", (0, 0), 0, [], H, 0.0095, concrete_of(), "ACI 318-19").verdict == "no steel"
    steps = bending_checks(found, layers, H, 3 / 8 * INCH, concrete_of(), "ACI 318-19")
    assert [step.result.value for step in steps[1:]] == [low, high]
    assert not any(step.ok for step in steps[1:])


def test_a_moved_wire_stays_in_the_slab() -> None:
    layers = [laid("9 gauge wire", 0.035, 0.1), laid("9 gauge wire", 0.003, 0.1)]
    assert max(layer.depth for layer in moved(layers, 0.02, H)) < H - layers[0].steel.diameter / 2
    assert min(layer.depth for layer in moved(layers, -0.02, H)) > layers[0].steel.diameter / 2


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("name", ["9 gauge wire", "No. 3 bar", "carbon grid, resin soaked"])
def test_steps_by_hand_give_the_same(name: str, code: Code) -> None:
    """Mn = As fs (d - a / 2) with the numbers printed gives the strength that was found."""
    steel: Steel = reinforcement()[name]
    steps = {step.name: step for step in strength_checks(steel, 0.022, 0.0762, concrete_of(), code)}
    given = {q.symbol: q.value for q in steps["strength of a run"].given}
    by_hand = given["As"] * given["fs"] * (given["d"] - given["a"] / 2)
    assert steps["strength of a run"].result.value == pytest.approx(by_hand, rel=1e-9)
    design = steps["design strength of a run"]
    reduced = {q.symbol: q.value for q in design.given}
    if "fyd" in reduced:
        pull = reduced["As"] * reduced["fyd"]
        wanted = pull * (reduced["d"] - pull / (reduced["fcd"] * reduced["b"]) / 2)
    else:
        wanted = design.given[0].value * by_hand
    assert design.result.value == pytest.approx(wanted, rel=1e-9)
    wire = steps["depth of the pressed concrete"]
    assert wire.result.value == given["a"]
    if name == "9 gauge wire":
        block = block_of(concrete_of(), code)
        assert given["a"] == pytest.approx(given["As"] * given["fs"] / (block.stress * 0.0762), rel=1e-9)


def test_no_arm_is_said() -> None:
    (only,) = strength_checks(reinforcement()["9 gauge wire"], -0.001, 0.1, concrete_of(), "ACI 318-19")
    assert not only.ok
    assert "no arm" in only.note
