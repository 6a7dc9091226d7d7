"""The tables of a case about its life: cabinets, brackets, zones, and what is told of the ready-made stages.

What is left out of [life] comes from one table of defaults, and the answer says so.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic.json_schema import JsonSchemaValue, WithJsonSchema
from pydantic_core import CoreSchema, core_schema

from api.case_supports import AnySupport
from api.case_values import DAY, Index, Number, Point, Quantity, Text, fault
from api.shapes import Record
from api.units import (
    ANGLE,
    FORCE,
    FORCE_PER_LENGTH,
    LENGTH,
    PRESSURE,
    STIFFNESS_AREA,
    STIFFNESS_LINE,
    TIME,
)

__all__ = [
    "MOMENTS",
    "Bowl",
    "Bracket",
    "Cabinet",
    "Carry",
    "Haul",
    "Life",
    "Moment",
    "SetDown",
    "Strip",
    "Turn",
    "Use",
    "Zone",
]

Moment = Literal["strip", "turn", "carry", "haul", "set", "use"]
MOMENTS: tuple[Moment, ...] = ("strip", "turn", "carry", "haul", "set", "use")


@dataclass(frozen=True, slots=True)
class Flagged:
    """A quantity, or true or false; `on` refuses true, or lets it pass for "yes, of the usual size"."""

    quantity: Quantity
    on: Callable[[], None] | None = None

    def read(self, value: object, info: ValidationInfo) -> float | bool:
        """The SI value, or the truth value as it stands."""
        if isinstance(value, bool):
            if value and self.on is not None:
                self.on()
            return value
        return self.quantity.read(value, info)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by `read`."""
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """The quantity's schema, and truth values."""
        given = self.quantity.__get_pydantic_json_schema__(schema, handler)
        return {"anyOf": [*given["anyOf"], {"type": "boolean"}]}


def _no_strength() -> None:
    raise fault(
        "an adhesive counts only with its pull-off strength: nobody can say what a bead of it holds",
        'give the tested value, as in adhesive = "0.2 MPa", or leave it out: the slab then only rests',
    )


def _clock(value: object) -> object:
    """Local date and time as text, from a date-time of TOML or from text."""
    try:
        when = value if isinstance(value, datetime.datetime) else datetime.datetime.fromisoformat(str(value))
    except ValueError:
        raise fault("this is not a date and time", 'write cast = "2026-03-02 16:00"') from None
    return when.replace(tzinfo=None).isoformat(sep=" ", timespec="minutes")


Age = Annotated[float, Quantity("an age", TIME, 60.0, 36525 * DAY)]
Times = Annotated[float, Number("multiplier", 0.0, 20.0)]
Share = Annotated[float, Number("a share of the weight", 0.0, 2.0)]
Safety = Annotated[float, Number("safety", 1.0, 20.0)]
Pull = Annotated[float, Quantity("a form pull", PRESSURE, 0.0, 2e4)]
Extent = Annotated[float, Quantity("a size", LENGTH, 0.005, 12.0)]
Small = Annotated[float, Quantity("a size", LENGTH, 0.0, 2.0)]
Gap = Annotated[float, Quantity("a gap", LENGTH, -0.1, 0.1)]
Level = Annotated[float, Quantity("a tolerance", LENGTH, 0.0, 0.05)]
Load = Annotated[float, Quantity("a force", FORCE, 0.0, 5e4)]
LineLoad = Annotated[float, Quantity("a force per length", FORCE_PER_LENGTH, 0.0, 1e5)]
FoamLine = Annotated[float, Quantity("a stiffness", STIFFNESS_LINE, 1.0, 1e15)]
FoamArea = Annotated[float, Quantity("a stiffness", STIFFNESS_AREA, 1.0, 1e15)]
Strain = Annotated[float, Number("a strain", 0.0, 5e-3)]
Turned = Annotated[float, Quantity("an angle", ANGLE, -360.0, 360.0)]
Rail = Annotated[float | bool, Flagged(Quantity("a rail", LENGTH, 0.003, 0.3))]
Adhesive = Annotated[float | bool, Flagged(Quantity("a pull-off strength", PRESSURE, 1e3, 2e7), _no_strength)]
Two = Annotated[tuple[Point, Point], Field(description="[from, to] on the outline")]
Spots = Annotated[tuple[Point, ...], Field(min_length=2, max_length=40)]
Hands = Annotated[int, Field(ge=2, le=40)]
Shift = Annotated[float, Quantity("a shift", LENGTH, -24.0, 24.0)]
Clock = Annotated[
    str, BeforeValidator(_clock), WithJsonSchema({"type": "string", "description": "local date and time"})
]


class Cabinet(Record):
    """A box under the slab: only its side panels bear, and rails where it has them."""

    name: Text | None = None
    at: Point
    """The corner with least x and y, before it is turned."""
    size: tuple[Extent, Extent]
    """Width and depth, lengths."""
    angle: Turned = 0.0
    """Turned counter-clockwise about that corner by this angle."""
    panel: Annotated[float, Quantity("a panel", LENGTH, 0.003, 0.3)] | None = None
    """Thickness of the side panels; the slab bears along the middle of each."""
    front_rail: Rail = False
    """true, or its width: the slab bears along its middle too."""
    back_rail: Rail = False
    """As front_rail, along the back."""
    front: Literal["front", "back", "left", "right"] = "front"
    """The side of the box, before it is turned, that is its front: "front" is the one with least y."""
    appliance: bool = False
    """A gap for an appliance: nothing bears there."""
    level: Level | None = None
    """How far out of level it may stand, high or low."""
    gap: Gap = 0.0
    """+ the cabinet stands low by so much, - high."""
    adhesive: Adhesive = False
    """Pull-off strength (a pressure); the panels then hold. Without a value an adhesive does not count."""
    ledger: bool = False
    """A wall ledger along the back bears as well."""


class Bracket(Record):
    """A bracket under an overhang: the slab rests along it."""

    name: Text | None = None
    at: Point
    """Where it leaves the wall or the cabinet."""
    to: Point
    """Its tip."""
    width: Annotated[float, Quantity("a width", LENGTH, 0.003, 0.5)] | None = None
    """Of the face that bears."""
    stiffness: FoamArea | None = None
    """Force per length and area of that face; left out: rigid."""


class Zone(Record):
    """A part of the slab where people stand, sit, lean, or never are."""

    name: Text | None = None
    kind: Literal["stand", "sit", "lean", "nobody"]
    points: Annotated[tuple[Point, ...], Field(min_length=3, max_length=100)]


class _Moment(Record):
    age: Age | None = None
    """Since casting."""
    multiplier: Times | None = None
    """Times the own weight."""
    safety: Safety | None = None
    """Allowed tension = cracking strength / safety."""


class Strip(_Moment):
    """Out of the form, lifted along one long side while the other stays on the bed."""

    up: Literal["show", "underside"] | None = None
    """The face that looks up in the form."""
    form_pull: Pull | None = None
    """Force per area with which the form clings."""
    peel: bool | None = None
    """Also as a line of pull that travels from the lifted side to the other."""
    band: Small | None = None
    """Width of that line."""
    bed: Two | None = None
    """The long side that stays on the bed."""
    hands: Hands | None = None
    """How many lift along the other side."""
    least_strength: Annotated[float, Quantity("a compressive strength", PRESSURE, 1e6, 1e8)] | None = None
    """Compressive strength below which it should stay in the form."""


class Turn(_Moment):
    """Turned about one long edge on foam."""

    down: Two | None = None
    """The edge on the foam."""
    foam: FoamLine | None = None
    """Stiffness of the foam under the edge."""
    hands: Hands | None = None
    """How many hold the other side."""


class Carry(_Moment):
    """Carried by hands, on edge; flat as well if asked."""

    down: Two | None = None
    """The lower edge."""
    across: Share | None = None
    """Part of the weight thrown across the face."""
    grip: Annotated[float, Number("grip", 0.0, 0.5)] | None = None
    """How far in from either end the hands are, as a share of the length."""
    flat: bool = False
    """Also carried flat."""
    people: Hands | None = None
    """How many carry it flat."""
    lift: Load | None = None
    """What one person may lift."""
    hands: Spots | None = None
    """Where the hands are when it is carried flat."""
    limit: Load | None = None
    """What one hand can give."""


class Haul(_Moment):
    """On the road, leaning on a frame with foam behind, or flat on bearers."""

    down: Two | None = None
    """The lower edge."""
    angle: Annotated[float, Quantity("an angle", ANGLE, 0.5, 89.0)] | None = None
    """From upright."""
    across: Share | None = None
    """Part of the weight that the road throws across the face."""
    foam: FoamArea | None = None
    """Stiffness of the foam behind it."""
    edge_foam: FoamLine | None = None
    strap: FoamLine | None = None
    """Stiffness of each of two straps per length."""
    """Stiffness of the foam under its lower edge."""
    flat: bool = False
    """Flat on bearers instead."""
    bearer: Annotated[tuple[Two, ...], Field(min_length=2, max_length=12)] | None = None
    """The bearers, [from, to] each."""


class SetDown(_Moment):
    """Slid over its cabinets and set down."""

    slide: tuple[Shift, Shift] | Literal[False] | None = None
    """How far off it comes from, [dx, dy]; false: let straight down."""
    shims: Level | None = None
    """How far each support may stand high or low."""
    support: Annotated[tuple[Annotated[AnySupport, Field(discriminator="kind")], ...], Field(max_length=80)] = ()
    """What it stands on, instead of cabinets and brackets; also in use."""


class Bowl(Record):
    """A bowl that hangs on the rim of an opening."""

    opening: Index
    depth: Small | None = None
    """Of the water in it."""
    weight: Load | None = None
    """Of the bowl full of water, instead of its depth."""


class Use(_Moment):
    """In use, for decades: people, seats, and what stays."""

    foot: Load | None = None
    """Somebody standing."""
    foot_size: Small | None = None
    """Side of the square that a foot presses."""
    elsewhere: Load | None = None
    """Where nobody stands."""
    clear: Small | None = None
    """How far from an opening somebody may stand, where no zone says."""
    lip: LineLoad | None = None
    """People leaning along the edge of a sit zone."""
    sitter: Load | None = None
    """One person sitting on that edge."""
    bowl: Annotated[tuple[Bowl, ...], Field(max_length=40)] | None = None
    """Bowls; left out: one full of water in each opening whose name says so."""
    bowl_depth: Small | None = None
    """Of the water in a bowl."""
    drying: Literal["show", "underside"] | None = None
    """The face that dries and becomes the shorter one."""
    strain: Strain | None = None
    """How much shorter."""
    creep: Annotated[float, Number("creep", 0.0, 10.0)] | None = None
    """The modulus is divided by 1 + creep."""


class Life(Record):
    """The ready-made stages; everything in it may be left out."""

    stages: tuple[Moment, ...] = MOMENTS
    """Which of them."""
    cast: Clock | None = None
    """Local date and time of casting, for clock times."""
    strip: Strip = Strip()
    turn: Turn = Turn()
    carry: Carry = Carry()
    haul: Haul = Haul()
    set: SetDown = SetDown()
    use: Use = Use()
