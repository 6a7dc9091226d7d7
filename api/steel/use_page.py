"""The page of demand over strength: colours of their own, the runs over them, the worst place, scale, key and lists."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from api.map_contours import level_lines
from api.map_ink import Ink, resample
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
from api.map_symbols import DARK, WHITE, target
from api.map_text import Measure, Row, draw_rows, gap_row, height_of, text_rows
from api.steel.use_key import key_rows, pull_sign, run_sign, scale_rows, verdict_chip
from api.steel.use_scale import use_colors
from api.steel.use_scene import RunMark, UseScene

__all__ = ["compose_use"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

LONGEST_LIST = 110.0
ENDLESS = 10.0
"""What stands for a demand that nothing carries, so that it can be drawn."""
HALVINGS = 2
"""How often triangles across which a colour leaps are divided."""
CROWD = 45
"""So many runs near a face are drawn thinner, so that the colours between them show."""


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
                run_sign(sheet.ink, line, near, thin)
                if near:
                    sheet.marks.append(resample(line, 14.0))


def _worst(sheet: Sheet, scene: UseScene) -> None:
    worst = scene.page.worst
    if worst is None:
        return
    at = sheet.view.to_page(worst.at)
    if scene.pull is not None:
        pull_sign(sheet.ink, at, scene.pull)
    target(sheet.ink, at)
    sheet.taken.append(around(at, 8))
    sheet.note([(worst.words, 9.5, True)], at[None], gap=14.0, framed=True, first=True, shun=scene.pull)


def _panel(scene: UseScene, measure: Measure) -> list[Row]:
    """Verdict, scale and key."""
    page = scene.page
    rows = [verdict_chip("CARRIED" if scene.carried else "NOT CARRIED", scene.carried, measure), gap_row(3)]
    for k, text in enumerate(page.verdict):
        rows += [*text_rows(text, SIDE_WIDTH, measure, size=8.2, bold=k == 0), gap_row(2)]
    rows += [gap_row(3), *title_row("On this face", SIDE_WIDTH, measure)]
    rows += [row for text in page.here for row in text_rows(text, SIDE_WIDTH, measure)]
    rows += [
        gap_row(9),
        *scale_rows(SIDE_WIDTH, measure),
        gap_row(8),
        *title_row("Key", SIDE_WIDTH, measure),
        gap_row(1),
    ]
    return [*rows, *key_rows(scene, SIDE_WIDTH, measure), gap_row(8)]


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
