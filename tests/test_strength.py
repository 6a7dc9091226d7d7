"""The concrete table of a case: what it says, what it may not say, and the strength that comes of it."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from api.case import Case, read_case
from api.errors import CaseError, Problem
from api.strength import (
    codes_at,
    cracking_of,
    earliest_age,
    earliest_compressive_age,
    mix_of,
    modulus_of,
    strength_rows,
    strip_test,
)
from api.translate import piece_from

PSI = 0.45359237 * 9.80665 / 0.0254**2
DAY = 86400.0
STRIP = {"age": "1 day", "width": 4, "depth": 1.5, "span": 12, "load": "250 lbf"}


def data_of(age: object = 3, **concrete: object) -> dict[str, Any]:
    """A small sound US case with keys of its concrete added, or taken out if None."""
    table = {"density": 145, "compressive_strength": 6000, **concrete}
    stage = {
        "name": "Set",
        "age": age,
        "up": "show",
        "support": [{"kind": "line", "points": [[x, 0], [x, 24]], "action": "rest"} for x in (2, 58)],
    }
    return {
        "case": 1,
        "title": "Test",
        "units": "us",
        "slab": {"thickness": 1.5, "outline": [[0, 0], [60, 0], [60, 24], [0, 24]]},
        "concrete": {key: value for key, value in table.items() if value is not None},
        "stage": [stage],
    }


def case_of(age: object = 3, **concrete: object) -> Case:
    """The case of data_of, read."""
    return read_case(data_of(age, **concrete))


def fault_of(**concrete: object) -> Problem:
    """The one fault of such a case."""
    with pytest.raises(CaseError) as caught:
        case_of(**concrete)
    (problem,) = caught.value.problems
    return problem


def said(case: Case) -> dict[str, str]:
    """What is told as assumed, by place."""
    return {note.where: note.what for note in piece_from(case).assumed}


def doubted(case: Case) -> dict[str, str]:
    """What is told as doubtful, by place."""
    return {note.where: note.what for note in piece_from(case).warnings}


# By hand: 7.5 sqrt(6000) = 581 psi times sqrt of ACI 209R-92 (0.311 Type III moist, 0.595 by steam, at 1 day) or times
# EN 1992-1-1's growth (0.424 class R, 0.196 class S).
@pytest.mark.parametrize(
    ("concrete", "share"),
    [
        ({"cement": "III"}, math.sqrt(0.311)),
        ({"cement": "III", "curing": "steam"}, math.sqrt(0.595)),
        ({"cement": "I"}, math.sqrt(0.206)),
        ({"cement": "R"}, 0.424),
        ({"cement": "S"}, 0.196),
        ({}, 0.342),
    ],
)
def test_growth_by_the_cement_that_is_told(concrete: dict[str, object], share: float) -> None:
    case = case_of(1, **concrete)
    strength = cracking_of(case, case.stage[0])
    assert strength.value / PSI == pytest.approx(581 * share, rel=2e-3)
    assert piece_from(case).stages[0].cracking == strength.value


# EN 1992-1-1:2004, Eq. B.10: 10 C (50 F) gives 0.616 of the age; Type I moist at 3 x 0.616 = 1.849 days: 0.332.
@pytest.mark.parametrize("warmth", [50, "50 degF", "10 degC"])
def test_a_cold_shop_counts_as_a_younger_age(warmth: object) -> None:
    case = case_of(3, cement="I", curing_temperature=warmth)
    assert cracking_of(case, case.stage[0]).value / PSI == pytest.approx(581 * math.sqrt(0.332), rel=2e-3)
    assert "concrete.curing_temperature" not in said(case)
    assert "20 C" in said(case_of(3, cement="I"))["concrete.curing_temperature"]
    assert "moist" in said(case)["concrete.curing"]


# By hand: 3 x 250 x 12 / (2 x 4 x 1.5 x 1.5) = 500 psi; one strip, 15 % assumed, EN 1990 table D1:
# 500 (1 - 2.31 x 0.15) = 326.75 counts, 500 x 1.3 = 650 at most. By third points two thirds of that.
def test_a_coupon_comes_before_the_formula() -> None:
    case = case_of(1, coupon=[STRIP])
    test = strip_test(case.concrete.coupon[0])
    assert (test.mean / PSI, test.low / PSI, test.high / PSI) == pytest.approx((500, 326.75, 650), rel=1e-6)
    assert cracking_of(case, case.stage[0]).value == test.low
    assert "1 test strip" in piece_from(case).strength_sources[0]
    thirds = case_of(1, coupon=[{**STRIP, "points": 2}])
    assert strip_test(thirds.concrete.coupon[0]).mean == pytest.approx(test.mean * 2 / 3, rel=1e-12)


def test_what_is_assumed_of_a_coupon_is_told() -> None:
    told = said(case_of(1, coupon=[STRIP]))
    assert "327 psi of 500 psi counts" in told["concrete.coupon[0]"]
    assert "midspan" in told["concrete.coupon[0].points"]
    assert "15 %" in told["concrete.coupon[0].deviation"]
    full = said(case_of(1, coupon=[{**STRIP, "points": 1, "count": 4, "deviation": "20 lbf"}]))
    assert not {"concrete.coupon[0].points", "concrete.coupon[0].deviation"} & set(full)
    two = said(case_of(1, coupon=[{**STRIP, "count": 2, "deviation": "20 lbf"}]))
    assert "fewer than 3" in two["concrete.coupon[0].deviation"]


# 4 strips, deviation 20 of 250 lbf: 500 (1 - 2.63 x 0.08) psi, EN 1990 table D1.
def test_the_deviation_is_that_of_the_load() -> None:
    case = case_of(1, coupon=[{**STRIP, "count": 4, "deviation": "20 lbf"}])
    assert cracking_of(case, case.stage[0]).value / PSI == pytest.approx(500 * (1 - 2.63 * 0.08), rel=1e-9)


def test_a_young_stage_is_doubted_unless_tested() -> None:
    assert "guess" in doubted(case_of("12 h"))["stage[0].age"]
    assert "stage[0].age" in doubted(case_of("12 h", coupon=[STRIP]))
    assert "stage[0].age" not in doubted(case_of("12 h", coupon=[{**STRIP, "age": "10 h"}]))
    assert "concrete.coupon[0].depth" in doubted(case_of(1, coupon=[{**STRIP, "depth": 3}]))


# Glass fibre: the limit of proportionality serves from 28 days on, unchanged; before, less by growth.
def test_glass_fibre_cracks_at_its_limit_of_proportionality() -> None:
    fibre = {"limit_of_proportionality": "7 MPa"}
    for days in (28, 90, 3650):
        old = case_of(days, compressive_strength=None, glass_fibre=fibre)
        assert cracking_of(old, old.stage[0]).value == 7e6
        assert modulus_of(old, old.stage[0]).value == 15e9
        assert "15 GPa" in said(old)["concrete.glass_fibre.modulus"]
    young = case_of(7, glass_fibre={**fibre, "modulus": "18 GPa"})
    assert cracking_of(young, young.stage[0]).value == pytest.approx(7e6 * math.sqrt(0.704), rel=1e-3)
    assert modulus_of(young, young.stage[0]).value == pytest.approx(18e9 * math.sqrt(0.704), rel=1e-3)
    assert "limit of proportionality" in piece_from(young).strength_sources[0]
    assert [row["code"] for row in strength_rows(young, DAY)] == ["used here"]
    assert codes_at(young, DAY) is None


def test_an_odd_glass_fibre_is_doubted() -> None:
    odd = doubted(case_of(28, glass_fibre={"limit_of_proportionality": "14 MPa", "modulus": "30 GPa"}))
    assert "is it the ultimate?" in odd["concrete.glass_fibre.limit_of_proportionality"]
    assert "unusual" in odd["concrete.glass_fibre.modulus"]


@pytest.mark.parametrize("key", ["ultimate", "modulus_of_rupture", "mor"])
@pytest.mark.parametrize("limit", [{}, {"limit_of_proportionality": "7 MPa"}])
def test_the_ultimate_of_glass_fibre_is_refused(key: str, limit: dict[str, str]) -> None:
    problem = fault_of(glass_fibre={**limit, key: "20 MPa"})
    assert problem.where == "concrete.glass_fibre"
    assert f'"{key}"' in problem.what
    assert "toughness goes with age" in problem.what
    assert "limit_of_proportionality" in problem.fix


FIBRE = {"limit_of_proportionality": "7 MPa"}


@pytest.mark.parametrize(
    ("concrete", "where", "what"),
    [
        ({"cement": "IV"}, "concrete.cement", "not understood"),
        ({"cement": "I", "strength_gain": {"a": 4, "beta": 0.85}}, "concrete", "both cement and strength_gain"),
        ({"curing": "steam"}, "concrete", "nothing without the cement"),
        ({"cement": "N", "curing": "steam"}, "concrete", "no growth for cement N cured by steam"),
        ({"cement": "I", "curing": "steam", "curing_temperature": 70}, "concrete", "count the warmth twice"),
        ({"curing_temperature": "60 degC"}, "concrete.curing_temperature", "out of range"),
        ({"curing_temperature": "20 mm"}, "concrete.curing_temperature", "not a temperature"),
        ({"glass_fibre": FIBRE, "coupon": [STRIP]}, "concrete", "measures its fibres"),
        ({"glass_fibre": FIBRE, "cracking_strength": 500}, "concrete", "both cracking_strength and a limit"),
        ({"glass_fibre": {**FIBRE, "modulus": "15 GPa"}, "modulus": "15 GPa"}, "concrete", "given twice"),
        ({"glass_fibre": {}}, "concrete.glass_fibre.limit_of_proportionality", "is missing"),
        ({"glass_fibre": {**FIBRE, "modulis": 1}}, "concrete.glass_fibre.modulis", "unknown key"),
        ({"coupon": [{**STRIP, "count": 0}]}, "concrete.coupon[0].count", "number of test strips"),
        ({"coupon": [{**STRIP, "points": 3}]}, "concrete.coupon[0].points", "not understood"),
        ({"coupon": [{**STRIP, "span": 2}]}, "concrete.coupon[0]", "too deep for their span"),
        ({"coupon": [{**STRIP, "load": 25e3}]}, "concrete.coupon[0]", "no concrete does"),
        ({"coupon": [{**STRIP, "count": 3, "deviation": 90}]}, "concrete.coupon[0]", "scatter so widely"),
        ({"coupon": [{**STRIP, "lenght": 3}]}, "concrete.coupon[0].lenght", "unknown key"),
        ({"coupon": [{k: v for k, v in STRIP.items() if k != "load"}]}, "concrete.coupon[0].load", "is missing"),
        ({"sustained_factor": 0.2}, "concrete.sustained_factor", "out of range"),
        ({"expansion": 1}, "concrete.expansion", "out of range"),
        ({"compressive_strength": None, "coupon": [STRIP]}, "concrete", "strength of the concrete is missing"),
    ],
)
def test_what_cannot_be_is_one_clear_fault(concrete: dict[str, object], where: str, what: str) -> None:
    problem = fault_of(**concrete)
    assert problem.where == where
    assert what in problem.what
    assert problem.fix


def test_a_coupon_and_a_modulus_are_enough() -> None:
    case = case_of(1, compressive_strength=None, coupon=[STRIP], modulus="4000 ksi")
    assert cracking_of(case, case.stage[0]).value / PSI == pytest.approx(326.75, rel=1e-6)
    assert earliest_compressive_age(case) is None
    assert len(strength_rows(case, DAY)) == 3


def test_the_new_keys_dump_and_read_back() -> None:
    case = case_of(
        1, cement="III", curing="moist", curing_temperature=59, coupon=[STRIP], sustained_factor=0.6, expansion=9e-6
    )
    dump = json.loads(json.dumps(case.si(), allow_nan=False))
    assert dump["concrete"]["curing_temperature"] == pytest.approx(15.0, abs=1e-9)
    again = read_case(dump)
    assert again.si() == case.si()
    assert mix_of(again) == mix_of(case)
    plain = case_of().concrete
    assert (plain.sustained_factor, plain.expansion, plain.coupon) == (0.7, 10e-6, ())


# By hand at 3 days, untold: ACI 581 x sqrt(0.458) = 393 psi; EN, class N: 5 % fractile 0.7 x 1.562 x fctm x 0.598
# (fctm 3.589 MPa for fck 41.37 MPa: table 3.1 and Eq. 3.23).
def test_rows_of_both_codes() -> None:
    case = case_of(3)
    used, aci, en = strength_rows(case, 3 * DAY)
    assert used["cracking_Pa"] == pytest.approx(aci["cracking_Pa"], rel=1e-12)
    assert aci["cracking_Pa"] / PSI == pytest.approx(393, abs=0.6)
    assert en["cracking_Pa"] / 1e6 == pytest.approx(0.7 * 1.562 * 3.589 * 0.598, rel=2e-3)
    assert all(set(row) == {"code", "cracking_Pa", "modulus_Pa", "source"} for row in (used, aci, en))
    assert "ACI 318-19" in aci["code"]
    assert en["code"] == "EN 1992-1-1"
    codes = codes_at(case, 3 * DAY)
    assert codes is not None
    assert "governs" in codes.words


@pytest.mark.parametrize("concrete", [{}, {"cement": "III"}, {"coupon": [STRIP]}, {"curing_temperature": 50}])
def test_the_earliest_age_reaches_what_is_needed(concrete: dict[str, object]) -> None:
    needed = 300 * PSI
    age = earliest_age(case_of(1, **concrete), needed)
    assert age is not None
    for at, enough in ((age, True), (age - 60, False)):
        case = case_of(f"{at / 60:.0f} min", **concrete)
        assert (cracking_of(case, case.stage[0]).value >= needed) is enough
    assert earliest_age(case_of(1, **concrete), 2000 * PSI) is None


def test_what_a_stage_measured_counts_for_the_earliest_age() -> None:
    data = data_of("20 h")
    data["stage"][0]["cracking_strength"] = "400 psi"
    assert earliest_age(read_case(data), 400 * PSI) == 20 * 3600
    assert earliest_age(case_of("20 h"), 400 * PSI) == pytest.approx(3.2 * DAY, rel=0.05)


# By hand: a third of 6000 psi by Type I moist after 1.860 days.
def test_the_earliest_age_for_the_compression_that_stripping_needs() -> None:
    age = earliest_compressive_age(case_of(1))
    assert age is not None
    assert age / DAY == pytest.approx(1.8605, abs=1e-3)
