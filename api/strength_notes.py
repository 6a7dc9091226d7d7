"""What is told of the concrete beside its numbers: what was assumed of its strength, and what looks doubtful."""

from __future__ import annotations

from collections.abc import Iterator

from api.case_concrete import Coupon
from api.case_model import Case, Stage
from api.strength import strip_test
from api.units import LENGTH, PRESSURE, in_words

__all__ = ["doubts_of_strength", "growth_assumed"]

DAY = 86400.0
# Data sheets of glass-fibre concrete: limit of proportionality 5 to 11 MPa, modulus 10 to 20 GPa.
MOST_LIMIT, FIBRE_MODULI = 11.5e6, (10e9, 20e9)

_Said = tuple[str, str]


def growth_assumed(case: Case) -> Iterator[_Said]:
    """What the case left out of growth, test strips and glass fibre: (where, what)."""
    concrete = case.concrete
    by_formula = any(stage.cracking_strength is None for stage in case.stage)
    if by_formula and concrete.strength_gain is None and concrete.cement is None:
        yield (
            "concrete.strength_gain",
            "strength grows by ACI 209R-92 for Type I cement, moist at 20 C; under 3 days, untested, no more than by "
            "EN 1992-1-1 class N; nothing is credited beyond the 28-day value",
        )
    if by_formula and concrete.cement is not None:
        yield from _cement_assumed(case)
    if concrete.glass_fibre is not None and concrete.glass_fibre.modulus is None and concrete.modulus is None:
        yield "concrete.glass_fibre.modulus", "15 GPa, as glass-fibre concrete typically has 10 to 20 GPa"
    for k, coupon in enumerate(concrete.coupon):
        yield from _coupon_assumed(case, coupon, f"concrete.coupon[{k}]")


def doubts_of_strength(case: Case) -> Iterator[_Said]:
    """What can be computed and looks doubtful: (where, what)."""
    fibre = case.concrete.glass_fibre
    if fibre is not None and fibre.limit_of_proportionality > MOST_LIMIT:
        shown = in_words(fibre.limit_of_proportionality, PRESSURE, case.units)
        what = f"{shown} is more than a limit of proportionality usually is (5 to 11 MPa): is it the ultimate?"
        yield "concrete.glass_fibre.limit_of_proportionality", what
    if fibre is not None and fibre.modulus is not None and not FIBRE_MODULI[0] <= fibre.modulus <= FIBRE_MODULI[1]:
        shown = in_words(fibre.modulus, PRESSURE, case.units)
        yield "concrete.glass_fibre.modulus", f"{shown} is unusual for glass-fibre concrete: 10 to 20 GPa is typical"
    for k, coupon in enumerate(case.concrete.coupon):
        yield from _doubts_of_coupon(case, coupon, f"concrete.coupon[{k}]")
    for k, stage in enumerate(case.stage):
        if stage.age < DAY and not _tested_by_then(case, stage):
            yield f"stage[{k}].age", "under one day every strength formula is a guess: test a coupon at that age"


def _cement_assumed(case: Case) -> Iterator[_Said]:
    concrete = case.concrete
    if concrete.curing is None and concrete.cement in ("I", "III"):
        yield "concrete.curing", "cured moist; nothing is credited beyond the 28-day value"
    if concrete.curing_temperature is None and concrete.curing != "steam":
        yield "concrete.curing_temperature", "cured at 20 C"


def _coupon_assumed(case: Case, coupon: Coupon, where: str) -> Iterator[_Said]:
    test = strip_test(coupon)
    mean, low, high = (in_words(value, PRESSURE, case.units) for value in (test.mean, test.low, test.high))
    yield where, f"{test.source}: {low} of {mean} counts; they may take {high} before they crack"
    if "points" not in coupon.model_fields_set:
        yield f"{where}.points", "broken by one load at midspan"
    if coupon.deviation is None or coupon.count < 3:
        why = "no deviation is given" if coupon.deviation is None else "fewer than 3 strips tell no deviation"
        yield f"{where}.deviation", f"15 % of the load, as {why}"


def _doubts_of_coupon(case: Case, coupon: Coupon, where: str) -> Iterator[_Said]:
    thick = case.slab.thickness
    if not 0.75 * thick <= coupon.depth <= 1.34 * thick:
        shown = in_words(coupon.depth, LENGTH, case.units)
        yield (
            f"{where}.depth",
            f"{shown}: thinner strips break at more than thicker ones; best test the slab's depth",
        )


def _tested_by_then(case: Case, stage: Stage) -> bool:
    return stage.cracking_strength is not None or any(coupon.age <= stage.age for coupon in case.concrete.coupon)
