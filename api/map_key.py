"""The key of a map: a sample of each sign that is on it, and what it means."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from api.map_ink import Ink, Word
from api.map_marks import SupportMark
from api.map_scene import Scene
from api.map_symbols import (
    DARK,
    GREY,
    balance_point,
    crack,
    diamond,
    fall_axis,
    floor,
    gravity,
    hatch,
    level_line,
    number_sign,
    support_band,
    support_spot,
    target,
    zone_line,
)
from api.map_text import Measure, Row, gap_row, text_rows, wrap

__all__ = ["SUPPORT_WORDS", "key_rows"]

FloatArray = npt.NDArray[np.float64]

PATH_WORDS = "path of the pull, wider where it pulls harder, fainter where its direction is unsure; steel lies along it"
SUPPORT_WORDS = {
    "rest": "support that it rests on",
    "hold": "support that holds it both ways",
    "clamp": "support that clamps it",
}

Sign = Callable[[Ink, float, float], None]
"""Draws a sample in a box 24 wide about a middle (x, y)."""


def key_rows(scene: Scene, measure: Measure, width: float) -> list[Row]:
    """What the signs on this map mean; only those that are on it."""
    rows = text_rows("Key", width, measure, size=7.6, bold=True, color=GREY)
    rows.append(gap_row(1))
    for sign, text in _signs(scene):
        lines = wrap(text, width - 31, 7.2, False, measure)
        rows.append(_key_row(sign, lines))
    return rows


def _key_row(sign: Sign, lines: Sequence[str]) -> Row:
    height = max(13.0, 9.4 * len(lines) + 3.5)

    def draw(ink: Ink, left: float, top: float) -> None:
        y = top - height / 2
        sign(ink, left + 12, y)
        for k, line in enumerate(lines):
            ink.word(Word(line, (left + 30, y + (len(lines) - 1) * 4.7 - 9.4 * k), 7.2, False, DARK, -1, 0))

    return Row(height, draw)


def _signs(scene: Scene) -> list[tuple[Sign, str]]:
    """Samples and meanings of what is on this map."""
    signs: list[tuple[Sign, str]] = []
    if scene.worst is not None:

        def worst(ink: Ink, x: float, y: float) -> None:
            crack(ink, _dash(x, y, 12))
            target(ink, (x, y))

        signs.append((worst, "worst place; a crack would run along the tick"))
        if scene.worst.apart and scene.worst.local_words is not None:
            signs.append((lambda ink, x, y: diamond(ink, (x, y)), "local peak, narrower than the slab is thick"))
    if scene.paths:
        signs.append((_path_sample, PATH_WORDS))
    if len(scene.share) and scene.share.max() >= 1:
        signs.append((lambda ink, x, y: level_line(ink, [_dash(x, y, 11)], False), "reaches allowed"))
    cracked = scene.share / scene.cracking if scene.cracked is None else scene.cracked
    if len(cracked) and cracked.max() >= 1:
        signs.append((lambda ink, x, y: level_line(ink, [_dash(x, y, 11)], True), "reaches cracking"))
    if scene.numbers:
        signs.append(
            (lambda ink, x, y: number_sign(ink, (x, y), "n"), "stage n pulls most here; no number: little pull")
        )
    signs += _support_signs(scene) + _load_signs(scene) + _zone_signs(scene)
    if scene.stands is not None:
        signs.append((lambda ink, x, y: floor(ink, _dash(x, y + 2, 11), (0.0, -1.0)), "the side on which it stands"))
    if scene.tips is not None:
        signs.append((lambda ink, x, y: fall_axis(ink, _dash(x, y, 12)), "line about which it turns"))
        signs.append((lambda ink, x, y: balance_point(ink, (x, y), 4.5), "centre of gravity of the slab"))
    return signs


def _support_signs(scene: Scene) -> list[tuple[Sign, str]]:
    signs: list[tuple[Sign, str]] = []
    for action, text in SUPPORT_WORDS.items():
        here = [mark for mark in scene.supports if mark.action == action and not mark.lifted]
        if here:
            signs.append((_support_sample(here), text))
    lifted = [mark for mark in scene.supports if mark.lifted]
    if lifted:
        signs.append((_support_sample(lifted), "lifted off: bears nothing"))
    return signs


def _support_sample(alike: Sequence[SupportMark]) -> Sign:
    """A band, a spot or both, as these supports have them on the map."""
    first = alike[0]
    spots = {mark.place.kind == "point" for mark in alike}

    def draw(ink: Ink, x: float, y: float) -> None:
        both = len(spots) == 2
        if False in spots:
            band = np.array([[x - 11, y], [x - 1 if both else x + 11, y]])
            support_band(ink, band, first.action, first.lifted)
        if True in spots:
            support_spot(ink, (x + 6 if both else x, y), first.action, first.lifted)

    return draw


def _load_signs(scene: Scene) -> list[tuple[Sign, str]]:
    ways = {load.away for load in scene.loads if load.place is not None}
    signs: list[tuple[Sign, str]] = []
    if True in ways:
        signs.append((lambda ink, x, y: gravity(ink, (x, y), True, 4.4), "load, pressing away from you"))
    if False in ways:
        signs.append((lambda ink, x, y: gravity(ink, (x, y), False, 4.4), "load, pressing towards you"))
    return signs


def _zone_signs(scene: Scene) -> list[tuple[Sign, str]]:
    kinds = {zone.kind for zone in scene.zones}
    signs: list[tuple[Sign, str]] = []
    if "stand" in kinds:
        signs.append((lambda ink, x, y: zone_line(ink, _box(x, y), broken=False), "somebody may stand here"))
    if kinds & {"sit", "lean"}:
        signs.append((lambda ink, x, y: zone_line(ink, _box(x, y), broken=True), "somebody may sit or lean here"))
    if "nobody" in kinds:
        signs.append((lambda ink, x, y: hatch(ink, _box(x, y), 4.0), "nobody stands here"))
    return signs


def _box(x: float, y: float) -> FloatArray:
    return np.array([[x - 10, y - 4], [x + 10, y - 4], [x + 10, y + 4], [x - 10, y + 4]])


def _path_sample(ink: Ink, x: float, y: float) -> None:
    s = np.linspace(-1, 1, 13)
    ink.line(np.column_stack([x + 11 * s, y + 2 * (1 - s**2) - 1]), 0.5 + 0.6 * (s + 1), DARK)


def _dash(x: float, y: float, half: float) -> FloatArray:
    return np.array([[x - half, y], [x + half, y]])
