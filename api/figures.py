"""Figures as a shop reads them: SI numbers into text in the case's own units, rounded to what they are worth.

Pull is rounded to 10 psi or 0.1 MPa: more digits would promise more than concrete keeps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

__all__ = [
    "LBF",
    "Units",
    "age_words",
    "bar_words",
    "force_words",
    "hold_words",
    "least_words",
    "length_words",
    "level_words",
    "mass_words",
    "number_words",
    "percent_words",
    "point_words",
    "pull_words",
]

Units = Literal["us", "si"]

PSI = 6894.757293168361
LBF = 4.4482216152605
INCH = 0.0254
GRAVITY = 9.80665
DAY = 86400.0
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def pull_words(pascal: float, units: Units) -> str:
    """A pull as text, rounded to 10 psi or 0.1 MPa.

    >>> pull_words(5.93e6, "us"), pull_words(5.93e6, "si"), pull_words(-1e5, "us")
    ('860 psi', '5.9 MPa', 'none')
    """
    if pascal <= 0:
        return "none"
    if units == "us":
        rounded = _half_up(pascal / PSI / 10) * 10
        return f"{rounded} psi" if rounded else "under 10 psi"
    tenths = _half_up(pascal / 1e5)
    return f"{tenths / 10:.1f} MPa" if tenths else "under 0.1 MPa"


def bar_words(pascal: float, units: Units) -> str:
    """An error bar as a number that goes behind "+-", rounded up so that it stays a bound.

    >>> bar_words(1e5, "us"), bar_words(1.2e5, "si")
    ('20', '0.2')
    """
    if units == "us":
        return str(math.ceil(pascal / PSI / 10 - 1e-9) * 10)
    return f"{math.ceil(pascal / 1e5 - 1e-9) / 10:.1f}"


def force_words(newton: float, units: Units) -> str:
    """A force as text: whole lbf, or newtons to 3 figures.

    >>> force_words(330.0, "us"), force_words(1234.0, "si")
    ('74 lbf', '1230 N')
    """
    return f"{_half_up(newton / LBF)} lbf" if units == "us" else f"{_three_figures(newton)} N"


def hold_words(newton: float, units: Units) -> str:
    """A force that is needed at least: rounded up to 1 lbf or 5 N."""
    if units == "us":
        return f"{math.ceil(newton / LBF - 1e-6)} lbf"
    return f"{math.ceil(newton / 5 - 1e-6) * 5} N"


def least_words(newton: float, units: Units) -> str:
    """A force that is already too much: rounded down to 1 lbf or 5 N."""
    if units == "us":
        return f"{math.floor(newton / LBF + 1e-6)} lbf"
    return f"{math.floor(newton / 5 + 1e-6) * 5} N"


def mass_words(newton: float, units: Units) -> str:
    """A weight as a shop says it: lb or kg.

    >>> mass_words(2037.0, "us"), mass_words(1775.0, "si")
    ('458 lb', '181 kg')
    """
    return f"{_half_up(newton / LBF)} lb" if units == "us" else f"{_half_up(newton / GRAVITY)} kg"


def length_words(metre: float, units: Units) -> str:
    """A length as text: inches to 0.01, or millimetres to 0.1, without idle zeros.

    >>> length_words(0.0381, "us"), length_words(0.04, "si")
    ('1.5 in', '40 mm')
    """
    return f"{_plain(metre / INCH, 2)} in" if units == "us" else f"{_plain(metre * 1000, 1)} mm"


def level_words(metre: float, units: Units) -> str:
    """How far something may be out of level: rounded down, to 1/32 in or 0.1 mm, so that it stays a bound.

    >>> level_words(0.0021, "si"), level_words(0.0030, "us"), level_words(0.0005, "us"), level_words(0.0319, "us")
    ('2.1 mm', '3/32 in', 'under 1/32 in', '1 1/4 in')
    """
    if units == "si":
        tenths = math.floor(metre * 1e4 + 1e-6)
        return f"{_plain(tenths / 10, 1)} mm" if tenths else "under 0.1 mm"
    parts = math.floor(metre / INCH * 32 + 1e-6)
    if not parts:
        return "under 1/32 in"
    whole, rest = divmod(parts, 32)
    shared = math.gcd(rest, 32)
    fraction = f"{rest // shared}/{32 // shared}" if rest else ""
    return f"{' '.join(part for part in (str(whole) if whole else '', fraction) if part)} in"


def number_words(count: int) -> str:
    """A small count as a word.

    >>> number_words(10), number_words(23)
    ('ten', '23')
    """
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def point_words(at: Sequence[float], units: Units) -> str:
    """A place as numbers: x and y in inches to 0.1, or in whole millimetres."""
    if units == "us":
        return f"x {_plain(at[0] / INCH, 1)}, y {_plain(at[1] / INCH, 1)} in"
    return f"x {_plain(at[0] * 1000, 0)}, y {_plain(at[1] * 1000, 0)} mm"


def age_words(second: float) -> str:
    """An age as a shop counts it.

    >>> [age_words(days * 86400) for days in (0.75, 1, 1.5, 3, 28, 400)]
    ['18 h', 'day 1', '36 h', 'day 3', 'day 28', 'day 400']
    """
    days = second / DAY
    if abs(days - round(days)) < 1e-6 * days or days >= 10:
        return f"day {_half_up(days)}"
    hours = days * 24
    return f"{_plain(hours, 1)} h" if days < 3 else f"day {_plain(days, 1)}"


def percent_words(share: float | None) -> str:
    """A share as whole percent; "-" if there is none.

    >>> percent_words(3.296), percent_words(None)
    ('330 %', '-')
    """
    return "-" if share is None else f"{_half_up(100 * max(share, 0.0))} %"


def _half_up(value: float) -> int:
    return math.floor(value + 0.5)


def _three_figures(value: float) -> str:
    return f"{float(f'{value:.3g}'):.15g}"


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
