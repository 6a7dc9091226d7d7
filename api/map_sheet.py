"""The sheet a slab is drawn on: how metres become points of the page, the ink, and labels that wait for their places.

A label is handed in when what it names is drawn, and gets its place at the end, when all that it must not cover is
known.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from api.map_ink import Color, Ink, Word
from api.map_labels import Box, Label, place_labels
from api.map_symbols import DARK, WHITE
from api.map_text import Measure

__all__ = ["Line", "Sheet", "View", "around"]

FloatArray = npt.NDArray[np.float64]
Line = tuple[str, float, bool]
"""A line of a label: text, size in points, whether it is bold."""

BESIDE = 7.0
"""Size of the words that stand beside a badge if there is room."""
BADGE = 6.4
"""Radius of a support's or a load's badge."""


@dataclass(frozen=True, eq=False, slots=True)
class View:
    """How metres become points of the page: page = origin + scale * (xy - low); box is what the drawing takes of it."""

    box: Box
    scale: float
    origin: FloatArray
    low: FloatArray

    def to_page(self, points: npt.ArrayLike) -> FloatArray:
        """Points (..., 2) [m] on the page."""
        return np.asarray(self.origin + self.scale * (np.asarray(points, dtype=np.float64) - self.low))


@dataclass
class Sheet:
    """What a drawing goes on. taken: boxes that no label may cover; marks: points that had better stay uncovered."""

    ink: Ink
    view: View
    measure: Measure
    taken: list[Box] = field(default_factory=list)
    marks: list[FloatArray] = field(default_factory=list)
    hopeful: list[tuple[str, Box]] = field(default_factory=list)
    waiting: list[tuple[Label, Callable[[Box, FloatArray], None]]] = field(default_factory=list)

    def word(self, word: Word) -> None:
        """A text with a fixed place, which no label covers."""
        self.ink.word(word)
        half = self.measure(word.text, word.size, word.bold) / 2
        x, y = word.at[0] - word.across * half, word.at[1]
        self.taken.append(around((x, y), 4, half) if word.turned else around((x, y), half, 4))

    def note(
        self,
        lines: Sequence[Line],
        anchors: FloatArray,
        *,
        gap: float,
        framed: bool = False,
        first: bool = False,
        shun: float | None = None,
    ) -> None:
        """A label in a white box with a leader to what it names; first: it chooses before all others."""
        width = max(self.measure(*line) for line in lines) + 6
        height = sum(size * 1.3 for _, size, _ in lines) + 2.5

        def draw(box: Box, anchor: FloatArray) -> None:
            near = np.clip(anchor, box[:2], box[2:])
            distance = math.dist(anchor, near)
            if distance > 0.55 * gap + 1:
                self._leader(anchor + (near - anchor) * (0.55 * gap / distance), near)
            if framed:
                self.ink.box(box[0] - 0.7, box[1] - 0.7, box[2] + 0.7, box[3] + 0.7, DARK)
            self.ink.box(*box, WHITE)
            y = box[3] - 1.25
            for text, size, bold in lines:
                self.ink.word(Word(text, ((box[0] + box[2]) / 2, y - 0.65 * size), size, bold, DARK, 0, 0))
                y -= 1.3 * size

        self.waiting.insert(
            0 if first else len(self.waiting), (Label(anchors, (width, height), gap, 130.0, shun), draw)
        )

    def badge(self, text: str, anchors: FloatArray, gap: float, fill: Color, beside: str = "") -> None:
        """A number or a letter in a circle, beside what it stands for; beside: words next to it, if there is room."""

        def draw(box: Box, anchor: FloatArray) -> None:
            at = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
            distance = math.dist(anchor, at)
            if distance > BADGE + gap + 5:
                away = (at - anchor) / distance
                self._leader(anchor + (gap - 0.5) * away, at - BADGE * away)
            self.ink.disc(at, BADGE + 1.0, WHITE)
            self.ink.disc(at, BADGE, fill)
            self.ink.ring(at, BADGE, 1.0, DARK)
            color = WHITE if fill == DARK else DARK
            self.ink.word(Word(text, (float(at[0]), float(at[1])), 7.6 if len(text) < 3 else 6.0, True, color, 0, 0))
            if beside:
                self.hopeful.append((beside, box))

        self.waiting.append((Label(anchors, (2 * BADGE + 1, 2 * BADGE + 1), gap), draw))

    def settle(self) -> None:
        """Give every label its place and draw it."""
        marks = np.concatenate(self.marks) if self.marks else np.zeros((0, 2))
        placed = place_labels([label for label, _ in self.waiting], self.view.box, self.taken, marks)
        for (box, number), (label, draw) in zip(placed, self.waiting, strict=True):
            draw(box, label.anchors[number])
        self.waiting.clear()
        occupied = [*self.taken, *(box for box, _ in placed)]
        for text, badge in self.hopeful:
            found = self._room_beside(text, badge, occupied, marks)
            if found is not None:
                self.ink.box(*found, WHITE)
                middle = ((found[0] + found[2]) / 2, (found[1] + found[3]) / 2)
                self.ink.word(Word(text, middle, BESIDE, False, DARK, 0, 0))
                occupied.append(found)
        self.hopeful.clear()

    def _room_beside(self, text: str, badge: Box, occupied: Sequence[Box], marks: FloatArray) -> Box | None:
        """A box for words right, left, below or above a badge that covers nothing; None if there is none."""
        half, (x, y) = (
            self.measure(text, BESIDE, False) / 2 + 1.5,
            ((badge[0] + badge[2]) / 2, (badge[1] + badge[3]) / 2),
        )
        aside, above = BADGE + 2.0 + half, BADGE + 6.0
        for at in ((x + aside, y), (x - aside, y), (x, y - above), (x, y + above)):
            box = around(at, half, 4.4)
            if (
                all(_apart(box, other) for other in occupied)
                and _within(box, self.view.box)
                and not _inside(marks, box)
            ):
                return box
        return None

    def _leader(self, start: FloatArray, end: FloatArray) -> None:
        self.ink.line(np.stack([start, end]), 2.2, WHITE)
        self.ink.line(np.stack([start, end]), 0.8, DARK)


def around(at: npt.ArrayLike, half_width: float, half_height: float | None = None) -> Box:
    """The box about a point; square if no half height is given."""
    x, y = np.asarray(at, dtype=np.float64).tolist()
    tall = half_width if half_height is None else half_height
    return x - half_width, y - tall, x + half_width, y + tall


def _apart(one: Box, other: Box) -> bool:
    """Whether two boxes are a point apart."""
    aside = one[2] + 1 <= other[0] or other[2] + 1 <= one[0]
    return aside or one[3] + 1 <= other[1] or other[3] + 1 <= one[1]


def _within(one: Box, other: Box) -> bool:
    return one[0] >= other[0] and one[1] >= other[1] and one[2] <= other[2] and one[3] <= other[3]


def _inside(marks: FloatArray, box: Box) -> bool:
    """Whether a box covers more than the odd marked point."""
    inside = (marks > np.array(box[:2])) & (marks < np.array(box[2:]))
    return int(inside.all(axis=1).sum()) > 3
