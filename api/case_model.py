"""The case: one set of tables for the TOML file and the HTTP body, in SI once it is read (grammar: version 1).

Every table refuses keys that it does not know. What a later version will do (roaming loads, postures other than flat,
steel) has its key here and is refused as "not in this version", so that it is never ignored.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from api.case_concrete import Concrete, Modulus, StrengthGain, Tension
from api.case_values import DAY, Id, Index, NotYet, Number, Point, Quantity, Text, fault
from api.shapes import Opening, Outline, Record
from api.units import (
    FORCE,
    FORCE_PER_LENGTH,
    LENGTH,
    MOMENT_PER_LENGTH,
    PRESSURE,
    STIFFNESS_AREA,
    STIFFNESS_LINE,
    STIFFNESS_POINT,
    TIME,
    UnitSystem,
)

__all__ = [
    "MOST_STAGES",
    "AnyLoad",
    "AnySupport",
    "AreaLoad",
    "AreaSupport",
    "Case",
    "Concrete",
    "EdgeLoad",
    "EdgeSupport",
    "LineLoad",
    "LineSupport",
    "Load",
    "PointLoad",
    "PointSupport",
    "Probe",
    "Slab",
    "Stage",
    "StrengthGain",
    "Support",
    "slug",
]

MOST_OPENINGS, MOST_STAGES, MOST_SUPPORTS, MOST_LOADS, MOST_PROBES, MOST_POINTS = 40, 60, 80, 80, 200, 200

Action = Literal["rest", "hold", "clamp"]
LinePoints = Annotated[tuple[Point, ...], Field(min_length=2, max_length=MOST_POINTS)]
AreaPoints = Annotated[tuple[Point, ...], Field(min_length=3, max_length=MOST_POINTS)]
Stretch = Annotated[tuple[Point, Point], Field(description="[from, to] on the edge, run counter-clockwise")]
Gap = Annotated[float, Quantity("a gap", LENGTH, -0.1, 0.1)]
PatchSize = Annotated[float, Quantity("a patch", LENGTH, 0.001, 2.0, zero_too=True)]
Force = Annotated[float, Quantity("a force", FORCE, -5e5, 5e5)]
LineForce = Annotated[float, Quantity("a force per length", FORCE_PER_LENGTH, -1e6, 1e6)]
LineMoment = Annotated[float, Quantity("a moment per length", MOMENT_PER_LENGTH, -1e6, 1e6)]
Pressure = Annotated[float, Quantity("a pressure", PRESSURE, -1e6, 1e6)]


class Slab(Record):
    """The piece itself, as seen looking at its show face."""

    thickness: Annotated[float, Quantity("a thickness", LENGTH, 0.010, 0.150)]
    outline: Outline
    """3 or more corners [x, y] or [x, y, radius], a shape, or a drawing beside the case."""
    opening: Annotated[tuple[Opening, ...], Field(max_length=MOST_OPENINGS)] = ()


class _Support(Record):
    name: Text | None = None
    """Left out: "support 1", "support 2", ... in the order of the stage."""
    action: Action
    """rest bears only when pressed; hold keeps w; clamp keeps the slope too (across a line, both ways at a point)."""
    gap: Gap = 0.0
    """+ the support stands low by so much, - it is packed up."""


class PointSupport(_Support):
    """A support at a spot."""

    kind: Literal["point"]
    at: Point
    size: PatchSize = 0.0
    """Side of the square that bears."""
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_POINT, 1.0, 1e15)] | None = None
    """Force per length; left out: rigid."""


class LineSupport(_Support):
    """A support along a chain of straight lines."""

    kind: Literal["line"]
    points: LinePoints
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_LINE, 1.0, 1e15)] | None = None
    """Force per length of deflection and per length of line; left out: rigid."""


class EdgeSupport(_Support):
    """A support along the true edge of the slab or of an opening."""

    kind: Literal["edge"]
    points: Stretch | None = None
    """[from, to] on the edge, within 1 mm, run counter-clockwise; left out: the whole edge."""
    opening: Index | None = None
    """The edge of this opening; left out: the outline."""
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_LINE, 1.0, 1e15)] | None = None
    """Force per length of deflection and per length of edge; left out: rigid."""


class AreaSupport(_Support):
    """A support under a polygon."""

    kind: Literal["area"]
    points: AreaPoints
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_AREA, 1.0, 1e15)] | None = None
    """Force per length of deflection and per area; left out: rigid."""


class _Load(Record):
    name: Text | None = None
    """Left out: "load 1", "load 2", ... in the order of the stage."""


class PointLoad(_Load):
    """A force at a spot."""

    kind: Literal["point"]
    at: Point
    force: Force
    """+ acts with gravity."""
    size: PatchSize = 0.0
    """Side of the square over which it is spread."""
    roaming: NotYet = None

    @model_validator(mode="before")
    @classmethod
    def _standing(cls, data: Any) -> Any:
        if isinstance(data, dict) and data.get("roaming") not in (None, False):
            raise fault(
                "a roaming load is not in this version",
                'leave roaming out, and write the load at each place that matters as a stage of its own, with "at"',
            )
        return data


class LineLoad(_Load):
    """A force along a chain of straight lines."""

    kind: Literal["line"]
    points: LinePoints
    force_per_length: LineForce
    """+ acts with gravity."""


class EdgeLoad(_Load):
    """A force or a moment along the true edge of the slab or of an opening."""

    kind: Literal["edge"]
    points: Stretch | None = None
    """[from, to] on the edge, within 1 mm, run counter-clockwise; left out: the whole edge."""
    opening: Index | None = None
    """The edge of this opening; left out: the outline."""
    force_per_length: LineForce | None = None
    """+ acts with gravity."""
    moment_per_length: LineMoment | None = None
    """+ pulls the underside."""

    @model_validator(mode="after")
    def _something(self) -> EdgeLoad:
        if self.force_per_length is None and self.moment_per_length is None:
            raise fault("this edge load has no amount", "give force_per_length, moment_per_length, or both")
        return self


class AreaLoad(_Load):
    """A pressure over a polygon or over the whole slab, or a force spread evenly over it."""

    kind: Literal["area"]
    points: AreaPoints | None = None
    """Left out: the whole slab."""
    pressure: Pressure | None = None
    """+ acts with gravity; this or force."""
    force: Force | None = None
    """Whole force, spread evenly over the concrete of the area, + acts with gravity; this or pressure."""

    @model_validator(mode="after")
    def _one_amount(self) -> AreaLoad:
        if (self.pressure is None) == (self.force is None):
            both = "has both a pressure and a force" if self.force is not None else "has no amount"
            raise fault(f"this area load {both}", "give either pressure or force")
        return self


Support = Annotated[PointSupport | LineSupport | EdgeSupport | AreaSupport, Field(discriminator="kind")]
Load = Annotated[PointLoad | LineLoad | EdgeLoad | AreaLoad, Field(discriminator="kind")]
AnySupport = PointSupport | LineSupport | EdgeSupport | AreaSupport
AnyLoad = PointLoad | LineLoad | EdgeLoad | AreaLoad


def _named_supports(supports: tuple[AnySupport, ...]) -> tuple[AnySupport, ...]:
    return tuple(
        one if one.name is not None else one.model_copy(update={"name": f"support {k}"})
        for k, one in enumerate(supports, 1)
    )


def _named_loads(loads: tuple[AnyLoad, ...]) -> tuple[AnyLoad, ...]:
    return tuple(
        one if one.name is not None else one.model_copy(update={"name": f"load {k}"}) for k, one in enumerate(loads, 1)
    )


def _flat(value: object) -> object:
    if value in ("leaning", "on edge"):
        raise fault(f'posture = "{value}" is not in this version', 'only "flat" is solved; leave the stage out')
    return value


class Stage(Record):
    """One moment in the slab's life."""

    name: Text
    """Unique among the stages."""
    id: Id = ""
    """Names its files; left out: the name in small letters and hyphens."""
    age: Annotated[float, Quantity("an age", TIME, 3600.0, 36525 * DAY)]
    """Since casting."""
    up: Literal["show", "underside"]
    """The face that looks up."""
    multiplier: Annotated[float, Number("multiplier", 0.0, 20.0)] = 1.0
    """Times the own weight only."""
    safety: Annotated[float, Number("safety", 1.0, 20.0)] = 1.5
    """Allowed tension = cracking strength / safety."""
    modulus: Modulus | None = None
    """Measured at this age."""
    cracking_strength: Tension | None = None
    """Measured at this age."""
    posture: Annotated[Literal["flat"], BeforeValidator(_flat)] = "flat"
    angle: NotYet = None
    down: NotYet = None
    support: Annotated[
        tuple[Support, ...], Field(min_length=1, max_length=MOST_SUPPORTS), AfterValidator(_named_supports)
    ]
    load: Annotated[tuple[Load, ...], Field(max_length=MOST_LOADS), AfterValidator(_named_loads)] = ()


class Probe(Record):
    """A named spot where the answer is wanted."""

    name: Text
    """Unique among the probes."""
    at: Point
    """Inside the slab, or within 1 mm of an edge."""


def slug(name: str) -> str:
    """The name in letters a-z, digits and hyphens, at most 40; "" if nothing is left.

    >>> slug("Küche: carry, flat (2)")
    'kuche-carry-flat-2'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-")


def _with_ids(stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    return tuple(one if one.id else one.model_copy(update={"id": slug(one.name)}) for one in stages)


class Case(Record):
    """A slab, its concrete and the stages of its life; quantities are numbers in its units, or text with a unit."""

    case: Literal[1]
    """Version of this grammar."""
    title: Text
    units: UnitSystem
    """Of bare numbers. us: in, lbf, psi, lbf/in, lb/ft3, lbf*in/in; si: m, N, Pa, N/m, kg/m3, N*m/m; both: day,
    degree; temperatures degF (us), degC (si).
    """
    slab: Slab
    concrete: Concrete
    stage: Annotated[tuple[Stage, ...], Field(min_length=1, max_length=MOST_STAGES), AfterValidator(_with_ids)]
    probe: Annotated[tuple[Probe, ...], Field(max_length=MOST_PROBES)] = ()
    steel: NotYet = None

    def si(self) -> dict[str, Any]:
        """The case as plain JSON-able data in SI, defaults filled in, which `read_case` reads as the same case."""
        data = self.model_dump(mode="json", exclude_none=True)
        return {**data, "units": "si"}
