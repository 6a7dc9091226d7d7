"""Numbers of the calculation in the case's own units, four figures long: consistent units, so that formulas work out.

Inches, pounds-force and psi, or millimetres, newtons and MPa: a moment per length is then a force.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from api.figures import Units
from fem.steel.model import Quantity

__all__ = [
    "UNIT_OF",
    "amount",
    "amount_words",
    "beside_words",
    "digits_words",
    "error_words",
    "place_number",
    "size_words",
    "unit_values",
]

PSI = 6894.757293168361
LBF = 4.4482216152605
INCH = 0.0254
FOOT = 0.3048


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: what it is called, and how many of SI's it is."""

    name: str
    size: float


_NUMBER = Unit("", 1.0)
UNIT_OF: dict[Units, dict[str, Unit]] = {
    "us": {
        "length": Unit("in", INCH),
        "area": Unit("in²", INCH**2),
        "area per length": Unit("in²/in", INCH),
        "stress": Unit("psi", PSI),
        "force": Unit("lbf", LBF),
        "moment": Unit("lbf·in", LBF * INCH),
        "moment per length": Unit("lbf·in/in", LBF),
        "number": _NUMBER,
        "angle": Unit("°", math.pi / 180),
    },
    "si": {
        "length": Unit("mm", 1e-3),
        "area": Unit("mm²", 1e-6),
        "area per length": Unit("mm²/mm", 1e-3),
        "stress": Unit("MPa", 1e6),
        "force": Unit("N", 1.0),
        "moment": Unit("N·mm", 1e-3),
        "moment per length": Unit("N·mm/mm", 1.0),
        "number": _NUMBER,
        "angle": Unit("°", math.pi / 180),
    },
}
"""The unit of every measure in each system."""
_BESIDE: dict[Units, dict[str, Unit]] = {
    "us": {"area per length": Unit("in²/ft", INCH**2 / FOOT), "moment": Unit("lbf·ft", LBF * FOOT)},
    "si": {"area per length": Unit("mm²/m", 1e-6), "moment": Unit("N·m", 1.0)},
}
"""The unit in which people know some of them."""
_SI_SIZES = {
    "in": INCH, "ft": FOOT, "mm": 1e-3, "m": 1.0, "psi": PSI, "ksi": 1000 * PSI, "MPa": 1e6, "GPa": 1e9, "lbf": LBF,
    "kN": 1e3, "N": 1.0,
}  # fmt: skip
_LENGTHS, _FORCES = ("in", "ft", "mm", "m"), ("lbf", "kN", "N")


def amount(quantity: Quantity, units: Units) -> float:
    """Its value in the unit of its measure."""
    return quantity.value / UNIT_OF[units][quantity.measure].size


def amount_words(quantity: Quantity, units: Units) -> str:
    """Its value with its unit.

    >>> print(amount_words(Quantity("s", 1.5, "number"), "us"), amount_words(Quantity("t", math.pi / 4, "angle"), "si"))
    1.5 45°
    """
    return _with_unit(amount(quantity, units), UNIT_OF[units][quantity.measure].name)


def error_words(quantity: Quantity, units: Units) -> str:
    """Its error bar behind a sign, two figures rounded up; "" if it has none."""
    if quantity.error <= 0 or not math.isfinite(quantity.error):
        return ""
    value = quantity.error / UNIT_OF[units][quantity.measure].size
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"± {digits_words(math.ceil(value / step - 1e-9) * step, 2)}"


def beside_words(quantity: Quantity, units: Units) -> str:
    """The same in the unit that people know, where that is another: "0.104 in²/ft"; else ""."""
    unit = _BESIDE[units].get(quantity.measure)
    return _with_unit(quantity.value / unit.size, unit.name) if unit else ""


def digits_words(value: float, figures: int = 4) -> str:
    """A number as printed: so many figures, thousands apart, tens as powers where it is very small or large.

    >>> [digits_words(x) for x in (0.00865, 1234.56, 4.07e-6, -0.5, 3.2e9)]
    ['0.00865', '1235', '4.07e-6', '-0.5', '3.2e9']
    """
    if not math.isfinite(value):
        return "-" if math.isnan(value) else "without bound"
    if value == 0:
        return "0"
    power = math.floor(math.log10(abs(value)))
    if power < -4 or power > 8:
        mantissa = float(f"{value / 10.0**power:.{figures - 1}f}")
        return f"{mantissa:.12g}e{power}"
    rounded = round(value, figures - 1 - power)
    if abs(rounded) >= 10000:
        return f"{rounded:,.0f}".replace(",", "\u2009")
    text = f"{rounded:.{max(figures - 1 - power, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def size_words(metre: float, units: Units) -> str:
    """A length to check by: inches to 0.001, millimetres to 0.01, without idle zeros.

    >>> size_words(0.625 * 0.0254, "us").replace(chr(0xA0), " "), size_words(0.04445, "si").replace(chr(0xA0), " ")
    ('0.625 in', '44.45 mm')
    """
    if not math.isfinite(metre):
        return "none"
    return f"{_plain(metre / INCH, 3)}\u00a0in" if units == "us" else f"{_plain(metre * 1000, 2)}\u00a0mm"


def place_number(metre: float, units: Units) -> str:
    """A coordinate or a length in a table, without its unit: inches to 0.001, millimetres to 0.1."""
    return _plain(metre / INCH, 3) if units == "us" else _plain(metre * 1000, 1)


def _plain(value: float, digits: int) -> str:
    # Half up: 9.525 is printed as 9.53, whatever the float just below it.
    rounded = math.floor(value * 10**digits + 0.5 + 1e-6) / 10**digits
    text = f"{rounded:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def unit_values(units: Units) -> dict[str, float]:
    """What one of a unit behind a number in a formula is worth in a system's own units."""
    own = UNIT_OF[units]
    return {
        name: size / own["length" if name in _LENGTHS else "force" if name in _FORCES else "stress"].size
        for name, size in _SI_SIZES.items()
    }


def _with_unit(value: float, unit: str) -> str:
    text = digits_words(value)
    if "e" in text:
        mantissa, _, exponent = text.partition("e")
        text = f"{mantissa} \u00d7 10{exponent.translate(str.maketrans('-0123456789', '⁻⁰¹²³⁴⁵⁶⁷⁸⁹'))}"
    return f"{text}{'' if unit in ('', '°') else chr(0xA0)}{unit}"
