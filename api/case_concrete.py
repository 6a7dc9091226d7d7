"""The table [concrete] of a case: strength, growth, cement and curing, test strips, glass fibre."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator
from pydantic_core import PydanticCustomError

from api.case_values import DAY, Number, Quantity, fault
from api.shapes import Record
from api.units import DENSITY, FORCE, LENGTH, PRESSURE, TEMPERATURE, TIME
from fem.concrete import from_strips, strength_at_break

__all__ = ["Concrete", "Coupon", "GlassFibre", "Modulus", "StrengthGain", "Tension"]

MOST_COUPONS, MOST_STRIPS = 40, 1000
LEAST_TENSION, MOST_TENSION = 0.05e6, 60e6
# Names under which makers know the ultimate strength of a glass-fibre concrete.
_ULTIMATE = ("ultimate", "ultimate_strength", "modulus_of_rupture", "mor", "MOR", "flexural_strength", "FU")

Modulus = Annotated[float, Quantity("a modulus of elasticity", PRESSURE, 0.5e9, 150e9)]
Tension = Annotated[float, Quantity("a cracking strength", PRESSURE, LEAST_TENSION, MOST_TENSION)]
_Size = Annotated[float, Quantity("a size of a test strip", LENGTH, 0.005, 3.0)]
_BreakingLoad = Annotated[float, Quantity("a load at break", FORCE, 1.0, 1e6)]


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_STRIPS:
        raise fault("this must be a number of test strips", f"write a whole number from 1 to {MOST_STRIPS}")
    return value


_Count = Annotated[
    int, BeforeValidator(_count), WithJsonSchema({"type": "integer", "minimum": 1, "maximum": MOST_STRIPS})
]


class StrengthGain(Record):
    """Compressive strength at t days as a share of the 28-day one: t / (a + beta t) (ACI 209R-92, Eq. 2-1)."""

    a: Annotated[float, Quantity("a", TIME, 0.0, 60 * DAY)]
    beta: Annotated[float, Number("beta", 0.05, 2.0)]


class Coupon(Record):
    """Strips of the same concrete, kept as the slab is, that were broken in bending at one age."""

    age: Annotated[float, Quantity("an age", TIME, 3600.0, 36525 * DAY)]
    """Since casting."""
    width: _Size
    depth: _Size
    """Height in the test, best that of the slab."""
    span: _Size
    """Between the two rests."""
    load: _BreakingLoad
    """At break, the mean of all strips, own weight left out."""
    points: Literal[1, 2] = 1
    """1: one load at midspan (ASTM C293); 2: halves of it at the thirds of the span (ASTM C78)."""
    count: _Count = 1
    """How many strips were broken."""
    deviation: Annotated[float, Quantity("a standard deviation of the load", FORCE, 0.01, 1e6)] | None = None
    """Standard deviation of the load at break; left out, or fewer than 3 strips: 15 % of the load."""

    @model_validator(mode="after")
    def _can_be(self) -> Coupon:
        if self.span < 2 * self.depth:
            raise fault(
                "these strips are too deep for their span: they do not break in bending",
                "break strips on a span of at least 2, better 3 or more times their depth",
            )
        mean = strength_at_break(self.load, width=self.width, depth=self.depth, span=self.span, points=self.points)
        try:
            low = from_strips(self.age, mean, count=self.count, deviation=self._of_strength(mean)).low
        except ValueError:
            raise fault(
                "these strips scatter so widely that no strength is left to count on",
                "look for the outlier, or break more strips",
            ) from None
        if not (LEAST_TENSION <= low and mean <= MOST_TENSION):
            raise fault(
                f"these strips would have cracked at {mean / 1e6:.3g} MPa: no concrete does",
                "check the units of load, width, depth and span",
            )
        return self

    def _of_strength(self, mean: float) -> float | None:
        return None if self.deviation is None else self.deviation / self.load * mean


class GlassFibre(Record):
    """Glass-fibre concrete: it cracks at its limit of proportionality; what its fibres carry then goes with age."""

    limit_of_proportionality: Tension
    """Bending stress at which load against deflection leaves the straight line, at 28 days (EN 1170-5, ASTM C947)."""
    modulus: Modulus | None = None
    """At 28 days; left out: 15 GPa (10 to 20 GPa is typical)."""

    @model_validator(mode="before")
    @classmethod
    def _no_ultimate(cls, data: Any) -> Any:
        given = [key for key in _ULTIMATE if key in data] if isinstance(data, dict) else []
        if given:
            raise fault(
                f'"{given[0]}": glass-fibre concrete is not reckoned by its ultimate strength, as its toughness goes '
                "with age and only the limit of proportionality stays",
                "leave it out and give limit_of_proportionality alone",
            )
        return data


class Concrete(Record):
    """The concrete of the slab."""

    density: Annotated[float, Quantity("a density", DENSITY, 300.0, 5000.0)]
    compressive_strength: Annotated[float, Quantity("a compressive strength", PRESSURE, 2e6, 250e6)] | None = None
    """At 28 days; may be left out if modulus and cracking_strength (or a coupon, or glass_fibre) are given."""
    modulus: Modulus | None = None
    """At 28 days; if left out, from the compressive strength and the density (ACI 318-19)."""
    poisson: Annotated[float, Number("Poisson's ratio", 0.0, 0.49)] = 0.2
    cracking_strength: Tension | None = None
    """Tension in bending at which it cracks, at 28 days; if left out, from the compressive strength (ACI 318-19)."""
    strength_gain: StrengthGain | None = None
    """Growth with age; if left out, by the cement, else ACI 209R-92 Type I moist, and under 3 days no more than EN 1992
    class N."""
    cement: Literal["I", "III", "S", "N", "R"] | None = None
    """Its growth holds at any age: ACI 209R-92 Type I or III, EN 1992-1-1 class S (slow), N (normal) or R (rapid)."""
    curing: Literal["moist", "steam"] | None = None
    """Of cement I or III; left out: moist. Steam has its own growth (ACI 209R-92)."""
    curing_temperature: Annotated[float, Quantity("a curing temperature", TEMPERATURE, 0.0, 40.0)] | None = None
    """Until the age of interest; left out: 20 degC. Its age counts faster or slower (EN 1992-1-1 Eq. B.10)."""
    coupon: Annotated[tuple[Coupon, ...], Field(max_length=MOST_COUPONS)] = ()
    """Test strips: they come before every formula, from their age on."""
    glass_fibre: GlassFibre | None = None
    sustained_factor: Annotated[float, Number("sustained_factor", 0.3, 1.0)] = 0.7
    """Share of the strength that a lasting load may use."""
    expansion: Annotated[float, Number("expansion", 0.0, 30e-6)] = 10e-6
    """Strain per kelvin."""

    @model_validator(mode="after")
    def _can_be(self) -> Concrete:
        for one in self._faults():
            raise one
        return self

    def _faults(self) -> Iterator[PydanticCustomError]:
        yield from self._faults_of_growth()
        yield from self._faults_of_glass_fibre()
        tension = self.cracking_strength is not None or self.coupon or self.glass_fibre is not None
        stiffness = self.modulus is not None or self.glass_fibre is not None
        if self.compressive_strength is None and not (tension and stiffness):
            yield fault(
                "the strength of the concrete is missing",
                "give compressive_strength, or both modulus and cracking_strength",
            )

    def _faults_of_growth(self) -> Iterator[PydanticCustomError]:
        if self.cement is not None and self.strength_gain is not None:
            yield fault("both cement and strength_gain say how it grows", "give one of them")
        if self.curing is not None and self.cement is None:
            yield fault("curing says nothing without the cement", 'add cement = "I" or "III", or leave curing out')
        if self.curing == "steam" and self.cement in ("S", "N", "R"):
            yield fault(
                f"there is no growth for cement {self.cement} cured by steam: EN 1992-1-1 has none",
                'give cement = "I" or "III", or leave curing out',
            )
        if self.curing == "steam" and self.curing_temperature is not None:
            yield fault(
                "steam and a curing temperature count the warmth twice",
                "leave one of them out: the growth under steam has it already",
            )

    def _faults_of_glass_fibre(self) -> Iterator[PydanticCustomError]:
        if self.glass_fibre is None:
            return
        if self.cracking_strength is not None:
            yield fault(
                "both cracking_strength and a limit of proportionality say where it cracks",
                "leave cracking_strength out",
            )
        if self.coupon:
            yield fault(
                "the load at break of a glass-fibre coupon measures its fibres, not where it cracks",
                "leave the coupon out and give limit_of_proportionality, from where the line leaves the straight",
            )
        if self.modulus is not None and self.glass_fibre.modulus is not None:
            yield fault("the modulus is given twice, here and in glass_fibre", "give one of them")
