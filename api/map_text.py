"""Text set in columns: words broken into lines by their measured width, lines stacked as rows of known height."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from api.map_ink import Color, Ink, Word
from api.map_symbols import DARK

__all__ = ["Measure", "Row", "draw_rows", "gap_row", "height_of", "text_rows", "wrap"]

Measure = Callable[[str, float, bool], float]
"""Width of a text in points, given its size in points and whether it is bold."""

LEADING = 1.32
UNIT = re.compile(r"(?<=\d) (%|psi|MPa|lbf|lb|kg|k?N|in|mm)(?![\w'])")


@dataclass(frozen=True, slots=True)
class Row:
    """A strip of a column: its height in points and what draws it, given the ink, the left end and the top."""

    height: float
    draw: Callable[[Ink, float, float], None]


def wrap(text: str, width: float, size: float, bold: bool, measure: Measure) -> list[str]:
    """The text in lines no wider than width, no number torn from its unit; a word that is wider alone is cut."""
    lines: list[str] = []
    line = ""
    for word in filter(None, UNIT.sub("\u00a0\\1", text).split(" ")):
        tried = f"{line} {word}" if line else word
        if measure(tried, size, bold) <= width:
            line = tried
            continue
        if line:
            lines.append(line)
        while measure(word, size, bold) > width and len(word) > 1:
            fits = next(k for k in range(len(word) - 1, 0, -1) if k == 1 or measure(word[:k], size, bold) <= width)
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line else lines


def text_rows(
    text: str,
    width: float,
    measure: Measure,
    *,
    size: float = 7.6,
    bold: bool = False,
    color: Color = DARK,
    indent: float = 0.0,
) -> list[Row]:
    """The text as rows, its second and later lines indented."""
    first, *rest = wrap(text, width, size, bold, measure) or [""]
    if indent and rest:
        rest = wrap(" ".join(rest), width - indent, size, bold, measure)
    return [_text_row(line, size, bold, color, indent if k else 0.0) for k, line in enumerate([first, *rest])]


def gap_row(height: float) -> Row:
    """An empty strip."""
    return Row(height, lambda ink, left, top: None)


def height_of(rows: Iterable[Row]) -> float:
    """Height of rows stacked on each other."""
    return sum(row.height for row in rows)


def draw_rows(ink: Ink, rows: Sequence[Row], left: float, top: float) -> float:
    """Draw the rows downwards from top; where they end."""
    for row in rows:
        row.draw(ink, left, top)
        top -= row.height
    return top


def _text_row(line: str, size: float, bold: bool, color: Color, indent: float) -> Row:
    def draw(ink: Ink, left: float, top: float) -> None:
        ink.word(Word(line, (left + indent, top - size * 1.02), size, bold, color))

    return Row(size * LEADING, draw)
