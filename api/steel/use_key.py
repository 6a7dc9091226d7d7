"""Signs, scale and key of the map of demand over strength."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from api.map_ink import Ink, Word
from api.map_symbols import DARK, GREY, WHITE, target
from api.map_text import Measure, Row, gap_row, text_rows, wrap
from api.steel.use_scale import PLAIN, USE_END, USE_TICKS, use_colors
from api.steel.use_scene import UseScene

__all__ = ["key_rows", "pull_sign", "run_sign", "scale_rows", "verdict_chip"]

FloatArray = npt.NDArray[np.float64]

PULL = 20.0
"""Length of the pull's arrow to either side of the worst place [pt]."""
FAR = (122, 126, 134)
"""Colour of runs near the other face."""
Sign = Callable[[Ink, float, float], None]


def run_sign(ink: Ink, line: FloatArray, near: bool, thin: bool = False) -> None:
    """A run along points (k, 2) of the page: solid near the face that is shown, broken near the other."""
    if not near:
        ink.line(line, 0.6, FAR, dash=(4.0, 3.2))
        return
    if not thin:
        ink.line(line, 2.4, WHITE)
    ink.line(line, 0.8 if thin else 1.3, DARK)
    for end in (line[0], line[-1]):
        ink.disc(end, 1.2 if thin else 1.6, DARK)


def pull_sign(ink: Ink, at: FloatArray, angle: float, half: float = PULL) -> None:
    """An arrow both ways along the pull."""
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    line = at + half * np.array([[-1.0], [1.0]]) * along
    ink.line(line, 4.4, WHITE)
    ink.line(line, 1.9, DARK)
    for way in (-1.0, 1.0):
        tip = at + way * (half + 4.0) * along
        neck = at + way * (half - 2.0) * along
        head = np.stack([tip, neck + way * 3.4 * across, neck - way * 3.4 * across])
        ink.polygon(head, DARK)


def verdict_chip(word: str, hollow: bool, measure: Measure) -> Row:
    """Whether it is carried as a tag: dark where it is not, hollow where it is."""

    def draw(ink: Ink, left: float, top: float) -> None:
        wide = measure(word, 11, True) + 14
        ink.box(left, top - 17, left + wide, top, DARK)
        if hollow:
            ink.box(left + 1.2, top - 15.8, left + wide - 1.2, top - 1.2, WHITE)
        ink.word(Word(word, (left + wide / 2, top - 8.5), 11, True, DARK if hollow else WHITE, 0, 0))

    return Row(18.5, draw)


def scale_rows(width: float, measure: Measure) -> list[Row]:
    """The colour scale, the same on every such map: carried up to 100 %, not carried above."""

    def draw(ink: Ink, left: float, top: float) -> None:
        first, last = left + 5, left + width - 37
        high, low = top - 11, top - 22
        one = first + (last - first) / USE_END
        for begin, end, under in ((first, one, True), (one, last, False)):
            x = np.linspace(begin, end, 49)
            value = (x - first) / (last - first) * USE_END
            value = np.clip(value, 0.01, 1.0) if under else np.maximum(value, 1.0 + 1e-6)
            corners = np.column_stack([np.repeat(x, 2), np.tile([low, high], len(x))])
            k = 2 * np.arange(len(x) - 1)[:, None]
            quads = np.concatenate([k + np.array([0, 2, 1]), k + np.array([1, 2, 3])])
            ink.add(corners, quads, np.repeat(use_colors(value), 2, axis=0))
        ink.line([[first, low], [last, low], [last, high], [first, high]], 0.7, DARK, closed=True)
        ink.line([[one, low - 2.5], [one, high + 9.5]], 1.6, DARK)
        ink.word(Word("carried", ((first + one) / 2, high + 5.5), 6.8, False, DARK, 0, 0))
        ink.word(Word("not carried", (one + 3, high + 5.5), 6.8, True, DARK, -1, 0))
        for tick in USE_TICKS:
            at = first + (last - first) * tick / USE_END
            ink.line([[at, low - 2.5], [at, low]], 0.7, DARK)
            more = "+" if tick == USE_END else ""
            ink.word(Word(f"{100 * tick:.0f}{more}", (at, low - 7), 7, False, DARK, 0, 0))
        ink.word(Word("%", (left + width, low - 7), 7, False, DARK, 1, 0))
        ink.box(first, low - 27, first + 18, low - 17, DARK)
        ink.box(first + 0.7, low - 26.3, first + 17.3, low - 17.7, PLAIN)
        ink.word(Word("nothing owed here", (first + 23, low - 22), 7, False, DARK, -1, 0))

    heading = text_rows("Demand over strength, in %", width, measure, size=7.6, bold=True, color=GREY)
    return [*heading, gap_row(2), Row(52, draw)]


def key_rows(scene: UseScene, width: float, measure: Measure) -> list[Row]:
    """What the signs on this map mean; only those that are on it."""
    return [_key_row(sign, text, width, measure) for sign, text in _signs(scene)]


def _signs(scene: UseScene) -> list[tuple[Sign, str]]:
    signs: list[tuple[Sign, str]] = []
    if scene.page.worst is not None:
        signs.append((lambda ink, x, y: target(ink, (x, y)), "worst place of this face"))
    if scene.pull is not None:
        signs.append((lambda ink, x, y: pull_sign(ink, np.array([x, y]), 0.0, 6.0), "direction of the pull that binds"))
    if any(run.near for run in scene.runs):
        signs.append((lambda ink, x, y: run_sign(ink, _dash(x, y), True), "run near this face"))
    if any(not run.near for run in scene.runs):
        counts = "pulled too, on a shorter arm" if scene.far else "not counted for this one"
        words = f"run near the other face: {counts}"
        signs.append((lambda ink, x, y: run_sign(ink, _dash(x, y), False), words))
    if len(scene.use) and scene.use.max() > 1:
        signs.append((_reached, "strength is reached"))
    return signs


def _reached(ink: Ink, x: float, y: float) -> None:
    ink.line(_dash(x, y), 1.6, DARK)


def _key_row(sign: Sign, text: str, width: float, measure: Measure) -> Row:
    lines = wrap(text, width - 31, 7.2, False, measure)
    height = max(13.0, 9.4 * len(lines) + 3.5)

    def draw(ink: Ink, left: float, top: float) -> None:
        y = top - height / 2
        sign(ink, left + 12, y)
        for k, line in enumerate(lines):
            ink.word(Word(line, (left + 30, y + (len(lines) - 1) * 4.7 - 9.4 * k), 7.2, False, DARK, -1, 0))

    return Row(height, draw)


def _dash(x: float, y: float) -> FloatArray:
    return np.array([[x - 11, y], [x + 11, y]])
