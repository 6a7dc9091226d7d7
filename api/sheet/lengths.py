"""Lengths as a shop reads them on a tape: sixteenths of an inch or whole millimetres, rounded so that they add up.

Positions are rounded, never the gaps between them: a chain of dimensions then sums to the whole exactly.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from api.figures import Units

__all__ = ["STEP", "chain_steps", "length_mark", "step_words", "steps_of", "unit_mark"]

STEP = {"us": 0.0254 / 16, "si": 0.001}
"""What a tape tells apart [m]."""


def steps_of(metre: float, units: Units) -> int:
    """A length in steps of the tape, the nearest.

    >>> steps_of(0.0254, "us"), steps_of(0.6504, "si")
    (16, 650)
    """
    return math.floor(metre / STEP[units] + 0.5)


def step_words(steps: int, units: Units) -> str:
    """So many steps of the tape as text without its unit.

    >>> step_words(1524, "us"), step_words(9, "us"), step_words(-8, "us"), step_words(32, "us"), step_words(650, "si")
    ('95 1/4', '9/16', '-1/2', '2', '650')
    """
    if units == "si":
        return str(steps)
    whole, part = divmod(abs(steps), 16)
    shared = math.gcd(part, 16)
    words = " ".join(filter(None, (str(whole) if whole else "", f"{part // shared}/{16 // shared}" if part else "")))
    return ("-" if steps < 0 and words else "") + (words or "0")


def length_mark(metre: float, units: Units, unit: bool = True) -> str:
    """A length as text, with its unit unless the sheet says it.

    >>> length_mark(0.0381, "us"), length_mark(0.0381, "si"), length_mark(0.0381, "us", unit=False)
    ('1 1/2 in', '38 mm', '1 1/2')
    """
    words = step_words(steps_of(metre, units), units)
    return f"{words} {unit_mark(units)}" if unit else words


def unit_mark(units: Units) -> str:
    """The unit of every dimension."""
    return "in" if units == "us" else "mm"


def chain_steps(positions: Sequence[float], units: Units) -> tuple[list[int], list[int]]:
    """Distances of positions [m] from the first of them, and the gaps between neighbours, both in steps of the tape.

    The gaps sum to the last distance, whatever the positions.

    >>> chain_steps([0.0, 0.0004, 0.0008, 0.0012], "si")
    ([0, 0, 1, 1], [0, 1, 0])
    """
    distances = [steps_of(at - positions[0], units) for at in positions]
    return distances, [b - a for a, b in itertools.pairwise(distances)]
