"""Letters whose size is known before they are drawn: one free font for measuring, for the drawing and for its prints.

The font comes with matplotlib, so that a machine without any font of its own draws alike.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from pathlib import Path

import matplotlib
from ezdxf.fonts import fonts

from api.map_text import wrap

__all__ = ["BOLD", "CAPITAL", "PLAIN", "font_path", "height_of", "plain_text", "use_fonts", "width_of", "wrapped"]

PLAIN, BOLD = "DejaVuSans.ttf", "DejaVuSans-Bold.ttf"
BELOW, ABOVE = 0.30, 1.08
"""How far letters reach below the line they stand on, and above it, as shares of the height of a capital."""
CAPITAL = 1493 / 2048
"""Height of a capital as a share of the font's size, as the font says it."""


@cache
def use_fonts() -> None:
    """Make the two fonts known under their names, in place of others that may be installed under the same."""
    for bold in (False, True):
        if not font_path(bold).is_file():
            raise FileNotFoundError(
                f"matplotlib's own font {font_path(bold).name} is missing: install matplotlib again"
            )
    fonts.font_manager.scan_folder(font_path(False).parent)


def font_path(bold: bool) -> Path:
    """The font's file."""
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / (BOLD if bold else PLAIN)


@cache
def _font(bold: bool) -> fonts.AbstractFont:
    use_fonts()
    return fonts.make_font(BOLD if bold else PLAIN, 1.0)


@lru_cache(maxsize=20_000)
def width_of(text: str, height: float, bold: bool = False) -> float:
    """Width of a text whose capitals are so high, in the same unit."""
    return height * float(_font(bold).text_width(text))


def height_of(height: float) -> tuple[float, float]:
    """How far letters reach below and above the line they stand on, given the height of a capital."""
    return BELOW * height, ABOVE * height


def wrapped(text: str, width: float, height: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than width; no number is torn from its unit, and a word too wide alone is cut.

    >>> wrapped("lay the wires from end to end", 24.0, 1.8)
    ['lay the wires from', 'end to end']
    """
    return wrap(text, width, height, bold, width_of)


def plain_text(text: str) -> str:
    """The text with what the format would take for codes (%%c, ^I) pulled apart, and no line breaks."""
    return re.sub(r"[\t\r\n]+", " ", text.replace("%%", "% %").replace("^", "^ ")).strip()
