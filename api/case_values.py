"""The values a case is written with, as pydantic types: quantities, points, corners, numbers, text.

A field says its kind and bounds once; reading, the error for a value out of range and the JSON schema all come from
there. The unit system of the file travels in the validation context (Reading). Values come out as SI floats.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, GetCoreSchemaHandler, GetJsonSchemaHandler, PlainSerializer, ValidationInfo
from pydantic.json_schema import JsonSchemaValue, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from api.units import LENGTH, TIME, Dimension, QuantityError, UnitSystem, clean, in_words, likely_slip, to_si

__all__ = [
    "DAY",
    "MOST_POINTS",
    "AreaPoints",
    "Coordinate",
    "Corner",
    "CurvePoint",
    "Flag",
    "Id",
    "Index",
    "LinePoints",
    "Number",
    "PatchSize",
    "Point",
    "Quantity",
    "Reading",
    "Stretch",
    "Text",
    "fault",
]

DAY = 86400.0
MOST_POINTS = 200


@dataclass(frozen=True, slots=True)
class Reading:
    """What the reader of a value must know of its file."""

    system: UnitSystem


def fault(what: str, fix: str) -> PydanticCustomError:
    """An error for pydantic to collect: what is wrong and how to put it right."""
    return PydanticCustomError("case_fault", "{what}", {"what": what, "fix": fix})


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity kept as an SI float, within [low, high] in SI; name says what it is the quantity of ("a thickness").

    zero_too admits 0 besides.
    """

    name: str
    dimension: Dimension
    low: float
    high: float
    zero_too: bool = False

    def read(self, value: object, info: ValidationInfo) -> float:
        """The SI value, or an error with the likely slip of units."""
        system: UnitSystem = info.context.system if isinstance(info.context, Reading) else "si"
        try:
            si = to_si(value, self.dimension, system)
        except QuantityError as error:
            raise fault(error.what, error.fix) from None
        if self.low <= si <= self.high or (self.zero_too and si == 0):
            return si
        shown = in_words(si, self.dimension, system, 9)
        if si <= 0 < self.low:
            raise fault(f"{self.name} must be more than 0, not {shown}", self._span(system))
        raise fault(f"{self.name} of {shown} is out of range", self._fix(si, system, value))

    def _fix(self, si: float, system: UnitSystem, written: object) -> str:
        meant = likely_slip(si, self.dimension, system, self.low, self.high, written)
        return f"did you mean {meant}? {self._span(system)}" if meant else self._span(system)

    def _span(self, system: UnitSystem) -> str:
        low, high = (in_words(bound, self.dimension, system) for bound in (self.low, self.high))
        return f"it must lie between {low} and {high}"

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by `read`; dump times in days, the unit of a case."""
        dump = core_schema.plain_serializer_function_ser_schema(self._dump)
        return core_schema.with_info_plain_validator_function(self.read, serialization=dump)

    def _dump(self, si: float) -> float:
        return clean(si / DAY) if self.dimension is TIME else si

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """A number or a text, with the units of both systems and the bounds in words."""
        us, si = (
            f"{in_words(self.low, self.dimension, system)} to {in_words(self.high, self.dimension, system)}"
            for system in ("us", "si")
        )
        bounds = f"{us} (us); {si} (si)" + (", or 0" if self.zero_too else "")
        units = f"us: {self.dimension.us}; si: {self.dimension.si}"
        return {
            "anyOf": [
                {"type": "number", "description": f"{self.dimension.name}, {units}; {bounds}"},
                {
                    "type": "string",
                    "description": f'text with a unit, such as "{self.dimension.example}"',
                    "maxLength": 60,
                },
            ]
        }


@dataclass(frozen=True, slots=True)
class Number:
    """A plain finite number within [low, high]."""

    name: str
    low: float
    high: float

    def read(self, value: object) -> float:
        """The number as a float."""
        span = f"write a number between {self.low:g} and {self.high:g}, without a unit"
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise fault(f"{self.name} is a plain number", span)
        if not self.low <= value <= self.high:
            shown = f"{value:.6g}" if isinstance(value, float) else "this number"
            raise fault(f"{self.name}: {shown} is out of range", span)
        return float(value)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """A number with its bounds."""
        return {"type": "number", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True)
class Words:
    """One line of printable text, spaces tidied."""

    longest: int

    def read(self, value: object) -> str:
        """The text without double spaces."""
        how = f"write one line of text in quotes, 1 to {self.longest} characters"
        if not isinstance(value, str):
            raise fault("this must be text", how)
        if len(value) > 10 * self.longest:
            raise fault("this text is too long", how)
        line = " ".join(value.split())
        if not 1 <= len(line) <= self.longest:
            raise fault("this text is empty" if not line else "this text is too long", how)
        if not line.isprintable():
            raise fault("this text has characters that cannot be printed", how)
        return line

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate by `read`."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Text with its length."""
        return {"type": "string", "minLength": 1, "maxLength": self.longest}


def _id(value: object) -> str:
    good = (
        isinstance(value, str) and 1 <= len(value) <= 40 and set(value) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    )
    if not good:
        raise fault("this is not an id", "use 1 to 40 small letters a-z, digits and hyphens")
    return str(value)


def _index(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1000:
        raise fault("this must be the number of an opening", "count from 0: the first opening is 0")
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise fault("this is true or false", "write true or false, without quotes")
    return value


def _listed(form: str, *counts: int) -> BeforeValidator:
    def check(value: object) -> object:
        if not isinstance(value, list | tuple) or len(value) not in counts:
            raise fault("this is not a point of the form asked for here", f"write {form}")
        return (*value, 0) if len(value) < max(counts) else tuple(value)

    return BeforeValidator(check)


def _short(value: tuple[float, float, float]) -> tuple[float, ...]:
    return value if value[2] else value[:2]


def _numbers(form: str, fewest: int, most: int) -> WithJsonSchema:
    item = {"anyOf": [{"type": "number"}, {"type": "string", "maxLength": 60}]}
    return WithJsonSchema({"type": "array", "items": item, "minItems": fewest, "maxItems": most, "description": form})


Text = Annotated[str, Words(120)]
Id = Annotated[str, BeforeValidator(_id), WithJsonSchema({"type": "string", "pattern": "^[a-z0-9-]{1,40}$"})]
Index = Annotated[int, BeforeValidator(_index), WithJsonSchema({"type": "integer", "minimum": 0})]
Flag = Annotated[bool, BeforeValidator(_flag)]
Coordinate = Annotated[float, Quantity("a coordinate", LENGTH, -1000.0, 1000.0)]
Point = Annotated[
    tuple[Coordinate, Coordinate],
    _listed("[x, y]", 2),
    _numbers("[x, y], lengths, as seen looking at the show face", 2, 2),
]
Corner = Annotated[
    tuple[Coordinate, Coordinate, Annotated[float, Quantity("a corner radius", LENGTH, 5e-4, 20.0, zero_too=True)]],
    _listed("[x, y] or [x, y, radius]", 2, 3),
    PlainSerializer(_short),
    _numbers("[x, y] or [x, y, radius], lengths", 2, 3),
]
CurvePoint = Annotated[
    tuple[
        Coordinate,
        Coordinate,
        Annotated[float, Number("a bulge", -math.tan(math.radians(85)), math.tan(math.radians(85)))],
    ],
    _listed("[x, y] or [x, y, bulge]", 2, 3),
    PlainSerializer(_short),
    _numbers("[x, y] or [x, y, bulge]; bulge = tan of a quarter of the angle of the arc to the next point", 2, 3),
]
LinePoints = Annotated[tuple[Point, ...], Field(min_length=2, max_length=MOST_POINTS)]
AreaPoints = Annotated[tuple[Point, ...], Field(min_length=3, max_length=MOST_POINTS)]
Stretch = Annotated[tuple[Point, Point], Field(description="[from, to] on the edge, run counter-clockwise")]
PatchSize = Annotated[float, Quantity("a patch", LENGTH, 0.001, 2.0, zero_too=True)]
