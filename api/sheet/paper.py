"""Paper: its sizes, the frame on it, and at which scale a slab is drawn there. All in millimetres of paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from api.figures import Units

__all__ = ["PAPERS", "Paper", "PaperName", "Rect", "papers_of", "scale_for", "scale_words"]

PaperName = Literal["letter", "tabloid", "a4", "a3"]
Rect = tuple[float, float, float, float]
"""left, low, right, high."""

SCALES = (
    1,
    2,
    3,
    4,
    5,
    6,
    8,
    10,
    12,
    14,
    15,
    16,
    18,
    20,
    24,
    25,
    28,
    30,
    32,
    35,
    40,
    45,
    48,
    50,
    60,
    75,
    100,
    150,
    200,
)


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper lying on its long side: width, height, margin round the frame, height of the title strip."""

    name: PaperName
    width: float
    height: float
    margin: float = 8.0
    strip: float = 15.0

    @property
    def frame(self) -> Rect:
        """What is drawn inside of."""
        return self.margin, self.margin, self.width - self.margin, self.height - self.margin

    @property
    def room(self) -> Rect:
        """The frame above the title strip, less a little air."""
        left, low, right, high = self.frame
        return left + 4.0, low + self.strip + 4.0, right - 4.0, high - 4.0

    @property
    def printed(self) -> str:
        """Its name in words."""
        return {"letter": "Letter", "tabloid": "Tabloid", "a4": "A4", "a3": "A3"}[self.name]


PAPERS: dict[PaperName, Paper] = {
    "letter": Paper("letter", 279.4, 215.9),
    "tabloid": Paper("tabloid", 431.8, 279.4),
    "a4": Paper("a4", 297.0, 210.0),
    "a3": Paper("a3", 420.0, 297.0),
}


def papers_of(units: Units) -> tuple[Paper, Paper]:
    """The smaller and the larger paper that a shop has at hand."""
    names: tuple[PaperName, PaperName] = ("letter", "tabloid") if units == "us" else ("a4", "a3")
    return PAPERS[names[0]], PAPERS[names[1]]


def scale_for(size: tuple[float, float], room: tuple[float, float]) -> int:
    """The whole number n of the largest scale 1 : n at which a thing of a size [m] fits a room of the paper.

    >>> scale_for((2.7432, 1.8288), (200.0, 140.0))
    14
    """
    needed = max(1000 * size[0] / room[0], 1000 * size[1] / room[1])
    return next((n for n in SCALES if n >= needed - 1e-9), int(needed) + 1)


def scale_words(n: int) -> str:
    """A scale as it is printed."""
    return "true size" if n == 1 else f"1 : {n}"
