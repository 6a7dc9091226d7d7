"""Quantities: a number in the file's own units, or text with a unit ("1 1/2 in", "45 MPa", "20 h"), becomes SI.

pint does the algebra of units over a small registry of our own: only the names below exist, so no text from outside can
reach anything else, and building the registry takes a millisecond instead of the third of a second of pint's full one.
SI here means m, N, Pa, kg/m3, s, degrees of angle and, for a temperature, degrees Celsius. Values are kept to 12
significant digits, so that one length written in either system of units is one number.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

import pint

__all__ = [
    "ANGLE",
    "AREA",
    "CURVATURE",
    "DENSITY",
    "FORCE",
    "FORCE_PER_LENGTH",
    "LENGTH",
    "MOMENT_PER_LENGTH",
    "PRESSURE",
    "STIFFNESS_AREA",
    "STIFFNESS_LINE",
    "STIFFNESS_POINT",
    "TEMPERATURE",
    "TEMPERATURE_DIFFERENCE",
    "TIME",
    "Dimension",
    "QuantityError",
    "UnitSystem",
    "clean",
    "in_words",
    "likely_slip",
    "to_si",
]

UnitSystem = Literal["us", "si"]

LONGEST_TEXT = 60


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its name in words, its unit in each system, our SI unit, and an example of the text form.

    slips are the units that people have in mind when a bare number comes out absurd.
    """

    name: str
    us: str
    si: str
    kept: str
    example: str
    slips: tuple[str, ...] = ()

    def unit(self, system: UnitSystem) -> str:
        """The unit of a bare number in a file of this system."""
        return self.us if system == "us" else self.si


LENGTH = Dimension("a length", "in", "m", "m", "38 mm", ("mm", "in", "cm", "ft", "m"))
FORCE = Dimension("a force", "lbf", "N", "N", "300 lbf", ("lbf", "N", "kN"))
PRESSURE = Dimension("a pressure", "psi", "Pa", "Pa", "45 MPa", ("MPa", "psi", "ksi", "GPa", "kPa", "psf"))
FORCE_PER_LENGTH = Dimension("a force per length", "lbf/in", "N/m", "N/m", "50 lbf/ft")
MOMENT_PER_LENGTH = Dimension("a moment per length", "lbf*in/in", "N*m/m", "N*m/m", "20 lbf*in/in")
STIFFNESS_POINT = Dimension("a stiffness (force per length)", "lbf/in", "N/m", "N/m", "2000 lbf/in")
STIFFNESS_LINE = Dimension(
    "a stiffness per length (force per length squared)", "lbf/in2", "N/m2", "N/m2", "500 lbf/in2"
)
STIFFNESS_AREA = Dimension("a stiffness per area (force per length cubed)", "lbf/in3", "N/m3", "N/m3", "20 lbf/in3")
DENSITY = Dimension("a density", "lb/ft3", "kg/m3", "kg/m3", "145 lb/ft3", ("kg/m3", "lb/ft3", "t/m3", "g/cm3"))
TIME = Dimension("a time", "day", "day", "s", "20 h", ("h", "min", "day"))
ANGLE = Dimension("an angle", "degree", "degree", "degree", "30 degree")
TEMPERATURE = Dimension("a temperature", "degF", "degC", "degC", "20 degC", ("degF", "degC"))
TEMPERATURE_DIFFERENCE = Dimension("a temperature difference", "K", "K", "K", "15 K")
AREA = Dimension("an area", "in2", "m2", "m2", "11 mm2", ("mm2", "in2"))
CURVATURE = Dimension("a curvature (one over a length)", "1/in", "1/m", "1/m", "0.01 1/m")

_ALL = (
    LENGTH,
    AREA,
    FORCE,
    PRESSURE,
    FORCE_PER_LENGTH,
    DENSITY,
    TIME,
    ANGLE,
    TEMPERATURE_DIFFERENCE,
    STIFFNESS_AREA,
    CURVATURE,
)

# A temperature has a zero of its own, so it is no product of units: degrees Celsius = (number - zero) * scale.
_CELSIUS, _FAHRENHEIT = (0.0, 1.0), (32.0, 5 / 9)
_DEGREES = {
    **dict.fromkeys(("degC", "°C", "C", "celsius", "Celsius"), _CELSIUS),
    **dict.fromkeys(("degF", "°F", "F", "fahrenheit", "Fahrenheit"), _FAHRENHEIT),
}

# Exact by definition: inch and pound by the international agreement of 1959, standard gravity 9.80665 m/s2 (CGPM 1901).
_DEFINITIONS = """
meter = [length] = m = metre = meters = metres
kilogram = [mass] = kg = kilograms
second = [time] = s = sec = seconds
degree = [angle] = deg = degrees = °
kelvin = [temperature_difference] = K = delta_degC
millimeter = 0.001 * meter = mm = millimetre = millimeters = millimetres
centimeter = 0.01 * meter = cm = centimetre = centimeters = centimetres
inch = 0.0254 * meter = in = inches
foot = 12 * inch = ft = feet
yard = 3 * foot = yd = yards
radian = 57.29577951308232 * degree = rad = radians
minute = 60 * second = min = minutes
hour = 60 * minute = h = hr = hours = hrs
day = 24 * hour = d = days
week = 7 * day = weeks
pound = 0.45359237 * kilogram = lb = lbs = pounds
gram = 0.001 * kilogram = g = grams
tonne = 1000 * kilogram = t = tonnes
newton = kilogram * meter / second ** 2 = N = newtons
kilonewton = 1000 * newton = kN
meganewton = 1000000 * newton = MN
pound_force = 9.80665 * pound * meter / second ** 2 = lbf
kip = 1000 * pound_force = kips
kilogram_force = 9.80665 * newton = kgf
pascal = newton / meter ** 2 = Pa
kilopascal = 1000 * pascal = kPa
megapascal = 1000000 * pascal = MPa
gigapascal = 1000000000 * pascal = GPa
bar = 100000 * pascal
psi = pound_force / inch ** 2
ksi = 1000 * psi
Mpsi = 1000000 * psi
psf = pound_force / foot ** 2
ksf = 1000 * psf
pcf = pound / foot ** 3
plf = pound_force / foot
pli = pound_force / inch
fahrenheit_difference = 0.5555555555555556 * kelvin = delta_degF
"""

_PLAIN = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?"
_FRACTION = r"(?:\d{1,9}[ -]+)?\d{1,9} ?/ ?\d{1,9}"
_QUANTITY = re.compile(rf"([+-]?) ?({_FRACTION}|{_PLAIN}) ?(.*)", re.ASCII)
_UNIT = re.compile(r"(?:1/)?[A-Za-z_°]+(?:\*\*[1-4])?(?:[*/][A-Za-z_°]+(?:\*\*[1-4])?)*")
# Minus sign, middle dot, multiplication sign, powers, primes and the no-break space, as word processors put them.
_TYPOGRAPHY = str.maketrans("\u2212\u00b7\u00d7\u00b2\u00b3\u2033\u201d\u2032\u00a0", '-**23""\' ')


class QuantityError(ValueError):
    """A value that is not the quantity asked for: what is wrong, and the fix."""

    def __init__(self, what: str, fix: str) -> None:
        """Keep both halves of the message."""
        self.what, self.fix = what, fix
        super().__init__(f"{what}; {fix}")


def clean(value: float) -> float:
    """The value to 12 significant digits: 1.5 in and 38.1 mm are then the same number of metres.

    >>> clean(1.5 * 0.0254) == clean(38.1 / 1000)
    True
    """
    return float(f"{value:.12g}")


def to_si(value: object, dimension: Dimension, system: UnitSystem) -> float:
    """SI value of a number in the file's units, or of text with a unit.

    QuantityError, naming the right dimension, for anything else: text without a unit, a wrong dimension, nan, inf, a
    truth value.

    >>> to_si("1 1/2 in", LENGTH, "si"), to_si(145, DENSITY, "us"), to_si("20 h", TIME, "us")
    (0.0381, 2322.67718922, 72000.0)
    """
    if isinstance(value, str):
        return _from_text(value, dimension, system)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(f"{dimension.name} is needed here, not {_kind(value)}", _how_to_write(dimension, system))
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise QuantityError("this is not a finite number", _how_to_write(dimension, system))
    return _finite(_kept(number, dimension.unit(system), dimension), dimension, system)


def in_words(value: float, dimension: Dimension, system: UnitSystem, digits: int = 3) -> str:
    """An SI value as text in the units of the file, rounded for reading.

    >>> in_words(0.0381, LENGTH, "us"), in_words(0.0381, LENGTH, "si"), in_words(2.5e6, PRESSURE, "si")
    ('1.5 in', '38.1 mm', '2.5 MPa')
    """
    unit = dimension.unit(system)
    if system == "si":
        if dimension is LENGTH and abs(value) < 1:
            unit = "mm"
        if dimension is PRESSURE and abs(value) >= 1e5:
            unit = "GPa" if abs(value) >= 1e9 else "MPa"
    number = _in_unit(value, unit, dimension)
    if number:
        number = round(number, digits - 1 - math.floor(math.log10(abs(number))))
    return f"{number:.12g} {unit}"


def likely_slip(
    value: float, dimension: Dimension, system: UnitSystem, low: float, high: float, written: object = None
) -> str | None:
    """What the writer may have meant, as text: the same digits with one or two other units that fit in [low, high], SI.

    value is in SI; written is what stood in the case, if that is known: text shows the unit its digits belong to.

    >>> likely_slip(38, LENGTH, "si", 0.01, 0.15), likely_slip(1.5, LENGTH, "si", 0.01, 0.15)
    ('"38 mm"', '"1.5 in" or "1.5 cm"')
    """
    units = (dimension.unit(system), *dimension.slips, dimension.us, dimension.si)
    if isinstance(written, str):
        unit_part = written.strip().lstrip("+-0123456789./ ")
        units = tuple(unit for unit in units if unit == unit_part) or units
    for unit in units:
        digits = _in_unit(value, unit, dimension)
        if f"{digits:.4g}" != f"{digits:.9g}":
            continue
        fitting = [meant for meant in dimension.slips if low <= _kept(digits, meant, dimension) <= high]
        if fitting:
            return " or ".join(f'"{digits:.9g} {meant}"' for meant in fitting[:2] if meant != unit)
    return None


def _from_text(text: str, dimension: Dimension, system: UnitSystem) -> float:
    how = _how_to_write(dimension, system)
    if len(text) > LONGEST_TEXT:
        raise QuantityError(f"this text is too long for a quantity (at most {LONGEST_TEXT} characters)", how)
    plain = " ".join(text.translate(_TYPOGRAPHY).split())
    match = _QUANTITY.fullmatch(plain)
    if match is None:
        raise QuantityError(f"{_quoted(text)} is not a quantity", how)
    sign, digits, unit = match.groups()
    if unit.startswith(","):
        raise QuantityError(f"{_quoted(text)} has a decimal comma", "write a decimal point")
    number = _number(digits)
    if not math.isfinite(number):
        raise QuantityError(f"{_quoted(text)} is not a finite number", how)
    if not unit:
        raise QuantityError(
            f"{_quoted(text)} has no unit",
            f"add one as in {_example(dimension)}, or leave the quotes out (unit: {dimension.unit(system)})",
        )
    number = -number if sign == "-" else number
    if dimension is TEMPERATURE or unit in _DEGREES:
        return _finite(_degrees(number, unit, dimension, text, how), dimension, system)
    return _finite(number * _factor(_unit_expression(unit, text, how), dimension, text, how), dimension, system)


def _degrees(number: float, unit: str, dimension: Dimension, text: str, how: str) -> float:
    if dimension is not TEMPERATURE:
        raise QuantityError(f"{_quoted(text)} is a temperature, not {dimension.name}", how)
    unit = unit.replace(" ", "")
    if unit not in _DEGREES:
        raise QuantityError(f"{_quoted(text)} is not a temperature", how)
    return _kept(number, unit, dimension)


def _kept(number: float, unit: str, dimension: Dimension) -> float:
    """So many of a unit as our SI value."""
    if dimension is TEMPERATURE:
        zero, scale = _DEGREES[unit]
        return (number - zero) * scale
    return number * _factor(unit, dimension)


def _in_unit(value: float, unit: str, dimension: Dimension) -> float:
    """Our SI value as so many of a unit."""
    if dimension is TEMPERATURE:
        zero, scale = _DEGREES[unit]
        return value / scale + zero
    return value / _factor(unit, dimension)


def _number(digits: str) -> float:
    if "/" not in digits:
        return float(digits)
    whole, _, rest = digits.replace("-", " ").partition(" ") if re.search(r"\d[ -]+\d", digits) else ("0", "", digits)
    top, bottom = rest.split("/")
    return float(whole) + float(top) / float(bottom) if float(bottom) else math.nan


def _unit_expression(unit: str, text: str, how: str) -> str:
    marks = {'"': "in", "'": "ft"}
    expression = marks.get(unit, unit).replace("^", "**").replace("**", "^")
    expression = re.sub(r"\s*([*/^-])\s*", lambda m: "*" if m[1] == "-" else m[1], expression).replace(" ", "*")
    expression = re.sub(r"(?<=[A-Za-z])\^?([1-4])(?![0-9])", r"**\1", expression)
    if _UNIT.fullmatch(expression) is None:
        raise QuantityError(f"{_quoted(text)} has a unit that cannot be read", how)
    for name in re.findall(r"[A-Za-z_°]+", expression):
        if name not in _names():
            near = difflib.get_close_matches(name, _names(), 1) or [n for n in _names() if n.lower() == name.lower()]
            raise QuantityError(f'unknown unit "{name}"', f'did you mean "{near[0]}"?' if near else how)
    return expression


def _factor(unit: str, dimension: Dimension, text: str = "", how: str = "") -> float:
    """How many of our SI units one of this unit is; QuantityError if it measures something else."""
    measured, factor = _measure(unit)
    wanted, kept = _measure(dimension.kept)
    if measured != wanted:
        raise QuantityError(
            f"{_quoted(text)} is {_name_of(measured)}, not {dimension.name}", _other_reading(measured, dimension) or how
        )
    return factor / kept


@lru_cache(256)
def _measure(unit: str) -> tuple[str, float]:
    """Dimensions as pint prints them, and the factor to its base units, of a unit made of known names."""
    quantity = (
        _registry()
        .Quantity(1.0, _registry().parse_units(re.sub(r"(?<=[A-Za-z])([23])", r"**\1", unit)))
        .to_base_units()
    )
    return str(quantity.dimensionality), float(quantity.magnitude)


@cache
def _registry() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


@cache
def _names() -> tuple[str, ...]:
    fields = (line.split(" = ") for line in _DEFINITIONS.strip().splitlines())
    return tuple(name.strip() for parts in fields for name in (parts[0], *parts[2:]))


def _name_of(measured: str) -> str:
    if measured == "[mass]":
        return "a mass"
    return next((known.name for known in _ALL if _measure(known.kept)[0] == measured), "something else")


def _other_reading(measured: str, dimension: Dimension) -> str:
    """A fix for the two usual mix-ups of mass and force."""
    if measured == "[mass]" and dimension is FORCE:
        return 'a force is written with "lbf", "N" or "kgf": "300 lbf"'
    if measured == _measure("N/m3")[0] and dimension is DENSITY:
        return 'a density is mass per volume, with the same figure: "145 lb/ft3", "24 kN/m3" is "2447 kg/m3"'
    return ""


def _finite(value: float, dimension: Dimension, system: UnitSystem) -> float:
    if not math.isfinite(value):
        raise QuantityError("this is not a finite number", _how_to_write(dimension, system))
    return clean(value)


def _how_to_write(dimension: Dimension, system: UnitSystem) -> str:
    return f"write a number (unit: {dimension.unit(system)}), or text with a unit such as {_example(dimension)}"


def _example(dimension: Dimension) -> str:
    return f'"{dimension.example}"'


def _quoted(text: str) -> str:
    return f'"{text if len(text) <= 30 else text[:27] + "..."}"'


def _kind(value: object) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return f"a {type(value).__name__}"
