"""The page of demand over strength: colours of their own, the runs over them, the worst place, scale, key and lists."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from api.map_contours import level_lines
from api.map_ink import Ink, Word, resample
from api.map_page import (
    GUTTER,
    MARGIN,
    PAGE,
    SIDE_WIDTH,
    Page,
    badged_row,
    cut_rows,
    draw_cautions,
    draw_columns,
    draw_heading,
    title_row,
)
from api.map_sheet import Sheet, around
from api.map_stamps import draw_stamps, fit
from api.map_symbols import DARK, GREY, WHITE, target
from api.map_text import Measure, Row, draw_rows, gap_row, height_of, text_rows, wrap
from api.steel.use_scale import PLAIN, USE_END, USE_TICKS, use_colors
from api.steel.use_scene import RunMark, UseScene

__all__ = ["compose_use"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

LONGEST_LIST = 110.0
ENDLESS = 10.0
"""What stands for a demand that nothing carries, so that it can be drawn."""
HALVINGS = 2
"""How often triangles across which a colour leaps are divided."""
PULL = 20.0
"""Length of the pull's arrow to either side of the worst place [pt]."""
FAR = (122, 126, 134)
"""Colour of runs near the other face."""
CROWD = 45
"""So many runs near a face are drawn thinner, so that the colours between them show."""
Sign = Callable[[Ink, float, float], None]


def compose_use(scene: UseScene, measure: Measure, pixel: float = 0.33) -> Page:
    """Lay a map of demand over strength out on a page; pixel is the size of one in points."""
    ink, page = Ink(pixel), scene.page
    top = draw_heading(ink, page, measure)
    low = draw_cautions(ink, page, measure)
    left, right = MARGIN, PAGE[0] - MARGIN
    edge = right - SIDE_WIDTH
    column = (edge - 3 * GUTTER - left) / 3
    lists = _lists(scene, column, measure)
    start = low + max(height_of(rows) for rows in lists) + 4
    view = fit(page, (left, start + 4, edge - GUTTER, top))
    draw_columns(ink, lists, left, view.box[1] - 4, column)
    panel = _panel(scene, measure)
    panel += cut_rows(_assumed(scene, measure), top - low - height_of(panel), SIDE_WIDTH, measure)
    draw_rows(ink, panel, edge, top)
    sheet = Sheet(ink, view, measure)
    _colours(sheet, scene)
    _runs(sheet, scene.runs)
    for loop in page.loops:
        ring = view.to_page(loop)
        ink.line(ring, 1.6, DARK, closed=True)
        sheet.marks.append(resample(np.vstack([ring, ring[:1]]), 4.0))
    draw_stamps(sheet, page)
    _worst(sheet, scene)
    sheet.settle()
    return Page(ink, np.zeros((0, 2)), np.zeros((0, 3), dtype=np.int64), np.zeros(0))


def _colours(sheet: Sheet, scene: UseScene) -> None:
    """The coloured face, and the line at which strength is reached."""
    use = np.minimum(scene.use, ENDLESS)
    points, triangles, use = _divided(scene.page.points, scene.page.triangles, use)
    p = sheet.view.to_page(points)
    sheet.ink.add(p, triangles, use_colors(use))
    for line in level_lines(p, triangles, use, 1.0):
        sheet.ink.line(line, 3.2, WHITE)
        sheet.ink.line(line, 1.6, DARK)
        sheet.marks.append(resample(line, 5.0))


def _divided(points: FloatArray, triangles: IntArray, use: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
    """Triangles across which the colour leaps divided into four, and again: a leap is then no wider than a hair."""
    for _ in range(HALVINGS):
        above = use[triangles] > 1.0
        leaps = above.any(axis=1) & ~above.all(axis=1)
        if not leaps.any():
            break
        split = triangles[leaps]
        sides = np.stack([split, np.roll(split, -1, axis=1)], axis=-1)
        ends, number = np.unique(np.sort(sides.reshape(-1, 2), axis=1), axis=0, return_inverse=True)
        middle = len(points) + number.reshape(-1, 3)
        points = np.concatenate([points, points[ends].mean(axis=1)])
        use = np.concatenate([use, use[ends].mean(axis=1)])
        corners = [np.column_stack([split[:, k], middle[:, k], middle[:, k - 1]]) for k in range(3)]
        triangles = np.concatenate([triangles[~leaps], *corners, middle])
    return points, triangles, use


def _runs(sheet: Sheet, runs: Sequence[RunMark]) -> None:
    """Runs near the other face broken and grey, those near this one solid, on top."""
    thin = sum(run.near for run in runs) > CROWD
    for near in (False, True):
        for run in runs:
            if run.near == near:
                line = sheet.view.to_page(run.points)
                _run(sheet.ink, line, near, thin)
                if near:
                    sheet.marks.append(resample(line, 14.0))


def _run(ink: Ink, line: FloatArray, near: bool, thin: bool = False) -> None:
    if not near:
        ink.line(line, 0.6, FAR, dash=(4.0, 3.2))
        return
    if not thin:
        ink.line(line, 2.4, WHITE)
    ink.line(line, 0.8 if thin else 1.3, DARK)
    for end in (line[0], line[-1]):
        ink.disc(end, 1.2 if thin else 1.6, DARK)


def _worst(sheet: Sheet, scene: UseScene) -> None:
    worst = scene.page.worst
    if worst is None:
        return
    at = sheet.view.to_page(worst.at)
    if scene.pull is not None:
        _pull(sheet.ink, at, scene.pull)
    target(sheet.ink, at)
    sheet.taken.append(around(at, 8))
    sheet.note([(worst.words, 9.5, True)], at[None], gap=14.0, framed=True, first=True, shun=scene.pull)


def _pull(ink: Ink, at: FloatArray, angle: float, half: float = PULL) -> None:
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


def _panel(scene: UseScene, measure: Measure) -> list[Row]:
    """Verdict, scale and key."""
    page = scene.page
    rows = [_chip("CARRIED" if scene.carried else "NOT CARRIED", scene.carried, measure), gap_row(3)]
    for k, text in enumerate(page.verdict):
        rows += [*text_rows(text, SIDE_WIDTH, measure, size=8.2, bold=k == 0), gap_row(2)]
    rows += [gap_row(3), *title_row("On this face", SIDE_WIDTH, measure)]
    rows += [row for text in page.here for row in text_rows(text, SIDE_WIDTH, measure)]
    rows += [gap_row(9), *_scale(SIDE_WIDTH, measure), gap_row(8), *title_row("Key", SIDE_WIDTH, measure), gap_row(1)]
    return [*rows, *(_key_row(sign, text, measure) for sign, text in _signs(scene)), gap_row(8)]


def _chip(word: str, hollow: bool, measure: Measure) -> Row:
    """Whether it is carried as a tag: dark where it is not, hollow where it is."""

    def draw(ink: Ink, left: float, top: float) -> None:
        wide = measure(word, 11, True) + 14
        ink.box(left, top - 17, left + wide, top, DARK)
        if hollow:
            ink.box(left + 1.2, top - 15.8, left + wide - 1.2, top - 1.2, WHITE)
        ink.word(Word(word, (left + wide / 2, top - 8.5), 11, True, DARK if hollow else WHITE, 0, 0))

    return Row(18.5, draw)


def _scale(width: float, measure: Measure) -> list[Row]:
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


def _signs(scene: UseScene) -> list[tuple[Sign, str]]:
    signs: list[tuple[Sign, str]] = []
    if scene.page.worst is not None:
        signs.append((lambda ink, x, y: target(ink, (x, y)), "worst place of this face"))
    if scene.pull is not None:
        signs.append((lambda ink, x, y: _pull(ink, np.array([x, y]), 0.0, 6.0), "direction of the pull that binds"))
    if any(run.near for run in scene.runs):
        signs.append((lambda ink, x, y: _run(ink, _dash(x, y), True), "run near this face"))
    if any(not run.near for run in scene.runs):
        words = "run near the other face: pulled too, on a shorter arm"
        signs.append((lambda ink, x, y: _run(ink, _dash(x, y), False), words))
    if len(scene.use) and scene.use.max() > 1:
        signs.append((_reached, "strength is reached"))
    return signs


def _reached(ink: Ink, x: float, y: float) -> None:
    ink.line(_dash(x, y), 1.6, DARK)


def _key_row(sign: Sign, text: str, measure: Measure) -> Row:
    lines = wrap(text, SIDE_WIDTH - 31, 7.2, False, measure)
    height = max(13.0, 9.4 * len(lines) + 3.5)

    def draw(ink: Ink, left: float, top: float) -> None:
        y = top - height / 2
        sign(ink, left + 12, y)
        for k, line in enumerate(lines):
            ink.word(Word(line, (left + 30, y + (len(lines) - 1) * 4.7 - 9.4 * k), 7.2, False, DARK, -1, 0))

    return Row(height, draw)


def _lists(scene: UseScene, column: float, measure: Measure) -> list[list[Row]]:
    """The runs near this face, and the factored stages, in two columns if they are many."""
    runs = [*title_row("Runs near this face", column, measure)]
    runs += [row for text in scene.lines for row in text_rows(text, column, measure, size=7.2, indent=8)]
    heading = title_row("Factored stages", column, measure)
    stages = [badged_row(str(k + 1), text, column, measure) for k, text in enumerate(scene.stages)]
    half = len(stages) if len(stages) <= 4 else (len(stages) + 1) // 2
    columns = (runs, [*heading, *stages[:half]], [gap_row(height_of(heading)), *stages[half:]])
    return [cut_rows(rows, LONGEST_LIST, column, measure) for rows in columns]


def _assumed(scene: UseScene, measure: Measure) -> list[Row]:
    """What to mind, then what was assumed."""
    rows: list[Row] = []
    for title, texts in (("Notes", scene.page.notes), ("Assumed", scene.page.assumed)):
        if texts:
            rows += title_row(title, SIDE_WIDTH, measure)
            rows += [row for text in texts for row in (*text_rows(text, SIDE_WIDTH, measure, size=7.2), gap_row(1.5))]
            rows.append(gap_row(4))
    return rows[:-1]


def _dash(x: float, y: float) -> FloatArray:
    return np.array([[x - 11, y], [x + 11, y]])
