"""What is drawn with which pen: the layers of the drawing by their plain names, colours, widths and dashes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ezdxf.document import Drawing as Document

from api.sheet.lettering import BOLD, PLAIN

__all__ = ["LAYERS", "Layer", "Pen", "prepare_pens"]

Layer = Literal[
    "outline",
    "openings",
    "recesses",
    "runs show face",
    "runs underside",
    "marks show face",
    "marks underside",
    "dimensions",
    "words",
    "faint words",
    "supports",
    "concrete",
    "frame",
    "rules",
    "windows",
]


@dataclass(frozen=True, slots=True)
class Pen:
    """Colour (red, green, blue), width in hundredths of a millimetre, dashes."""

    color: tuple[int, int, int]
    width: int
    dashes: str = "Continuous"


INK, GREY = (28, 30, 34), (96, 100, 108)
LAYERS: dict[Layer, Pen] = {
    "outline": Pen(INK, 50),
    "openings": Pen(INK, 50),
    "recesses": Pen(GREY, 18, "short dashes"),
    "runs show face": Pen((158, 48, 30), 35),
    "runs underside": Pen((24, 78, 140), 35),
    "marks show face": Pen((158, 48, 30), 13),
    "marks underside": Pen((24, 78, 140), 13),
    "dimensions": Pen(GREY, 13),
    "words": Pen(INK, 13),
    "faint words": Pen(GREY, 13),
    "supports": Pen((20, 110, 84), 50),
    "concrete": Pen((176, 178, 182), 9),
    "frame": Pen(INK, 35),
    "rules": Pen((176, 178, 182), 13),
    "windows": Pen(GREY, 9),
}
DASHES = {"short dashes": (1.8, 1.2, -0.6), "centre line": (5.4, 3.6, -0.6, 0.6, -0.6)}
"""Whole length, then pieces and gaps [mm on paper]."""


def prepare_pens(document: Document) -> None:
    """Put the layers, the dashes and the two text styles into a drawing."""
    for name, pattern in DASHES.items():
        document.linetypes.add(name, list(pattern))
    for layer, pen in LAYERS.items():
        entry = document.layers.add(layer, linetype=pen.dashes)
        entry.rgb = pen.color
        entry.dxf.lineweight = pen.width
        if layer == "windows":
            entry.dxf.plot = 0
    document.styles.add("plain", font=PLAIN)
    document.styles.add("bold", font=BOLD)
