"""The page of a bent shape: the slab from its front left and from above, its supports, its forces, two scale bars."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from api.map_axes import Axes, axes_for, nice_below
from api.map_contours import level_lines
from api.map_ink import Ink, Word, resample
from api.map_key import SUPPORT_WORDS
from api.map_labels import Box
from api.map_page import (
    GUTTER,
    LONGEST_LIST,
    MARGIN,
    PAGE,
    SIDE_WIDTH,
    Page,
    badged_row,
    cut_rows,
    draw_cautions,
    draw_columns,
    draw_heading,
    flowing,
    title_row,
    verdict_rows,
)
from api.map_shape import Arrow, Bearing, ShapeScene, values_at
from api.map_sheet import Sheet, View, around
from api.map_stamps import SIZE, STEPS
from api.map_symbols import DARK, GREY, WHITE, fall_axis, support_band, support_spot
from api.map_text import Measure, Row, draw_rows, gap_row, height_of, text_rows, wrap
from api.map_words import sag_words
from fem.plate.model import Action

__all__ = ["compose_shape"]

FloatArray = npt.NDArray[np.float64]

SURFACE = np.array([233.0, 235.0, 238.0])
"""Colour of the slab where it lies level."""
SIDE = (168, 172, 180)
RULED = (190, 194, 201)
AROUND = (34.0, 62.0, 34.0, 48.0)
"""Room round the slab for arrows, words and scale bars: left, below, right, above."""
ACTIONS: dict[str, Action] = {"rest": "rest", "hold": "hold", "clamp": "clamp"}
SHORTEST, LONGEST = 17.0, 44.0
"""Lengths of arrows: of none at all and of the largest force."""


def compose_shape(scene: ShapeScene, measure: Measure, pixel: float = 0.33) -> Page:
    """Lay a bent shape out on a page; pixel is the size of one in points."""
    ink = Ink(pixel)
    top = draw_heading(ink, scene, measure)
    low = draw_cautions(ink, scene, measure)
    edge = PAGE[0] - MARGIN - SIDE_WIDTH
    column = (edge - 3 * GUTTER - MARGIN) / 3
    lists = _lists(scene, column, measure)
    start = low + max(height_of(rows) for rows in lists) + 4
    draw_columns(ink, lists, MARGIN, start - 4, column)
    panel = [*verdict_rows(scene, SIDE_WIDTH, measure), gap_row(9), *_key(scene, measure)]
    panel += [gap_row(8), *_notes(scene, measure)]
    draw_rows(ink, cut_rows(panel, top - low, SIDE_WIDTH, measure), edge, top)
    box = (MARGIN, start, edge - GUTTER, top)
    inner = (box[0] + AROUND[0], box[1] + AROUND[1], box[2] - AROUND[2], box[3] - AROUND[3])
    axes = axes_for(scene.loops[0], scene.w, inner, turned=scene.up == "underside")
    sheet = Sheet(ink, View(box, 1.0, np.zeros(2), np.zeros(2)), measure)
    _slab(ink, scene, axes)
    _bars(sheet, scene, axes, box)
    _stamps(sheet, scene, axes)
    for bearing in scene.bearings:
        _bearing(sheet, scene, axes, bearing)
    if scene.axis is not None:
        line = _across(scene, axes)
        fall_axis(ink, line)
        sheet.note([("turns about this line", 7.6, False)], resample(line, 15.0), gap=4.0)
    _arrows(sheet, scene, axes)
    if scene.lowest is not None:
        at, words = scene.lowest
        spot = _on(scene, axes, np.array([at]))[0]
        ink.disc(spot, 3.2, WHITE)
        ink.disc(spot, 2.2, DARK)
        sheet.taken.append(around(spot, 3.5))
        sheet.note([(words, 9.5, True)], spot[None], gap=10.0, framed=True, first=True)
    sheet.settle()
    return Page(ink, np.zeros((0, 2)), np.zeros((0, 3), dtype=np.int64), np.zeros(0))


def _on(scene: ShapeScene, axes: Axes, points: FloatArray) -> FloatArray:
    """Places (k, 2) [m] of the bent slab's upper face on the page."""
    return axes.to_page(points, values_at(scene.points, scene.triangles, scene.w, points))


def _slab(ink: Ink, scene: ShapeScene, axes: Axes) -> None:
    """The slab where it would lie unbent (broken), its sides, its bent face with ruled lines, its edges."""
    if axes.times:
        ink.line(axes.to_page(scene.loops[0]), 0.8, GREY, closed=True, dash=(3.0, 2.6))
    rims = [_ring(loop) for loop in scene.loops]
    w = [values_at(scene.points, scene.triangles, scene.w, rim) for rim in rims]
    for rim, sag in zip(rims, w, strict=True):
        upper, lower = axes.to_page(rim, sag), axes.to_page(rim, sag, scene.thickness)
        a, b = np.arange(len(rim)), np.roll(np.arange(len(rim)), -1)
        n = len(rim)
        quads = np.concatenate([np.column_stack([a, b, b + n]), np.column_stack([a, b + n, a + n])])
        ink.add(np.concatenate([upper, lower]), quads, SIDE)
        ink.line(lower, 1.0, DARK, closed=True)
    page = axes.to_page(scene.points, scene.w)
    # Far triangles first: what is near lies over them.
    far = np.argsort(-axes.to_page(scene.points)[scene.triangles, 1].mean(axis=1))
    ink.add(page, scene.triangles[far], _shades(scene, axes))
    step = _ruling(scene)
    for axis in (0, 1):
        values = scene.points[:, axis]
        for level in np.arange(math.ceil(values.min() / step + 0.05), values.max() / step - 0.05) * step:
            for line in level_lines(page, scene.triangles, values, float(level)):
                ink.line(line, 0.45, RULED)
    for rim, sag in zip(rims, w, strict=True):
        ink.line(axes.to_page(rim, sag), 1.5, DARK, closed=True)


def _ring(loop: FloatArray) -> FloatArray:
    """A loop with points close enough to bend with the slab."""
    ring = np.vstack([loop, loop[:1]])
    length = float(np.hypot(*np.diff(ring, axis=0).T).sum())
    stops = resample(ring, length / 90)[:-1]
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    extra = np.linspace(0, length, len(stops) + 1)[:-1]
    keep = walked[:-1] if len(loop) <= 60 else walked[:-1][:: max(1, len(loop) // 60)]
    s = np.unique(np.concatenate([extra, keep]))
    return np.column_stack([np.interp(s, walked, ring[:, i]) for i in (0, 1)])


def _shades(scene: ShapeScene, axes: Axes) -> FloatArray:
    """Colours (p, 3) of the bent face: lighter where it turns to the light from the left, darker where away."""
    a, b, c = (scene.points[scene.triangles[:, i]] for i in range(3))
    wa, wb, wc = (axes.times * scene.w[scene.triangles[:, i]] for i in range(3))
    area = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    gx = ((wb - wa) * (c - a)[:, 1] - (wc - wa) * (b - a)[:, 1]) / area
    gy = ((b - a)[:, 0] * (wc - wa) - (c - a)[:, 0] * (wb - wa)) / area
    tilt = np.zeros(len(scene.points))
    count = np.zeros(len(scene.points))
    for i in range(3):
        np.add.at(tilt, scene.triangles[:, i], 0.8 * gx - 0.5 * gy)
        np.add.at(count, scene.triangles[:, i], 1.0)
    shade = np.clip(1 - 0.9 * tilt / np.maximum(count, 1), 0.72, 1.07)
    return np.clip(SURFACE * shade[:, None], 0, 255)


def _ruling(scene: ShapeScene) -> float:
    """Distance of the ruled lines [m]: a round length, some twelve to the slab."""
    length = float(np.ptp(scene.loops[0], axis=0).max())
    unit = 0.0254 * 3 if scene.units == "us" else 0.05
    return unit * max(1.0, nice_below(length / 12 / unit) if length / 12 > unit else 1.0)


def _bearing(sheet: Sheet, scene: ShapeScene, axes: Axes, bearing: Bearing) -> None:
    """A support: solid where the slab bears on it, broken at its own level where the slab is off it."""
    level = axes.to_page(bearing.points, bearing.level, scene.thickness)
    face = axes.to_page(
        bearing.points, values_at(scene.points, scene.triangles, scene.w, bearing.points), scene.thickness
    )
    if bearing.kind == "point":
        spot = face[0] if bearing.bears[0] else level[0]
        if not bearing.bears[0]:
            sheet.ink.line(np.stack([level[0], face[0]]), 0.8, DARK, dash=(1.4, 1.4))
        support_spot(sheet.ink, spot - np.array([0, 4.0]), bearing.action, not bearing.bears[0])
    else:
        for begin, end in _runs(bearing.bears):
            p = (face if bearing.bears[begin] else level)[begin : end + 1]
            if len(p) < 2:
                p = p[0] + np.array([[-2.0, 0], [2.0, 0]])
            support_band(sheet.ink, p, bearing.action, not bearing.bears[begin])
            if not bearing.bears[begin]:
                for k in np.linspace(begin, end, 4).astype(int):
                    if math.dist(level[k], face[k]) > 2:
                        sheet.ink.line(np.stack([level[k], face[k]]), 0.7, DARK, dash=(1.4, 1.4))
    shown = np.where(bearing.bears[:, None], face, level)
    sheet.marks.append(resample(shown, 5.0) if len(shown) > 1 else shown)
    if bearing.clear:
        sheet.note(
            [(f"{bearing.number}: {bearing.clear}", 7.0, False)],
            shown[~bearing.bears][:: max(1, len(shown) // 8)],
            gap=6.0,
        )


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every run of equal flags, runs sharing their ends so that nothing is left out."""
    cuts = (np.flatnonzero(np.diff(flags.astype(int))) + 1).tolist()
    return [(begin, min(end, len(flags) - 1)) for begin, end in zip([0, *cuts], [*cuts, len(flags)], strict=True)]


def _arrows(sheet: Sheet, scene: ShapeScene, axes: Axes) -> None:
    most = max((abs(arrow.force) for arrow in scene.arrows), default=1.0)
    for arrow in scene.arrows:
        top = _on(scene, axes, np.array([arrow.at]))[0]
        length = SHORTEST + (LONGEST - SHORTEST) * abs(arrow.force) / most
        bearer = arrow.words[0].isdigit()
        tip = top - [0, axes.down * scene.thickness + 3.0] if bearer else top
        tail = tip + np.array([0, -length if bearer else length])
        begin, end = (tail, tip) if arrow.up == bearer else (tip, tail)
        _arrow(sheet, begin, end, arrow)
        low, high = sorted((float(tail[1]), float(tip[1])))
        sheet.taken.append((float(tip[0]) - 4, low, float(tip[0]) + 4, high))
        sheet.note([(arrow.words, 8.0, not arrow.body)], tail[None], gap=3.0)


def _arrow(sheet: Sheet, begin: FloatArray, end: FloatArray, arrow: Arrow) -> None:
    """A shaft and a head; hollow for the slab's own weight."""
    way = (end - begin) / max(math.dist(begin, end), 1e-9)
    side = np.array([-way[1], way[0]])
    neck = end - 7.0 * way
    head = np.stack([end, neck - 3.4 * side, neck + 3.4 * side])
    head = head if _signed(head) > 0 else head[::-1]
    sheet.ink.line(np.stack([begin, neck]), 3.6, WHITE)
    sheet.ink.line(head, 2.6, WHITE, closed=True)
    sheet.ink.line(np.stack([begin, neck]), 1.9, DARK, dash=(3.0, 1.6) if arrow.body else ())
    sheet.ink.polygon(head, DARK)


def _signed(p: FloatArray) -> float:
    return float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - p[:, 1] * np.roll(p[:, 0], -1)))


def _bars(sheet: Sheet, scene: ShapeScene, axes: Axes, box: Box) -> None:
    """Lengths along the slab and, much larger, how far it bends: a bar each at the drawing's foot."""
    y = box[1] + 12
    per_metre = float(np.hypot(*axes.across))
    steps = STEPS[scene.units]
    length, name = max((step for step in steps if step[0] * per_metre <= 120), default=steps[0])
    # The near corner of the slab comes down on the left: the right is free.
    x, way = box[2] - 232, axes.across / per_metre
    first = np.array([x, y])
    last = first + length * per_metre * way
    sheet.ink.line(np.stack([first, last]), 3.0, DARK)
    sheet.taken.append((x, y - 2, float(last[0]), float(last[1]) + 2))
    sheet.word(Word(f"{name} along the front edge", (float(last[0]) + 6, y + 2), SIZE, False, DARK, -1, 0))
    sheet.word(Word(scene.size, (box[0], y), SIZE, False, GREY, -1, 0))
    if axes.times:
        unit = 0.0254 if scene.units == "us" else 0.001
        sag = nice_below(40 / (axes.down * axes.times) / unit) * unit
        tall, foot = sag * axes.down * axes.times, float(last[1]) + 6
        sheet.ink.line([[x, foot], [x, foot + tall]], 3.0, DARK)
        words = f"{sag_words(sag, scene.units)} of bending, drawn {axes.times:,.0f} times as large as it is"
        sheet.word(Word(words, (x + 6, foot + tall / 2), SIZE, False, DARK, -1, 0))


def _stamps(sheet: Sheet, scene: ShapeScene, axes: Axes) -> None:
    """The edges by name, beside their middles."""
    low, high = scene.loops[0].min(axis=0), scene.loops[0].max(axis=0)
    for words, axis, side, along, out, bold in (
        ("FRONT EDGE", 1, low[1], axes.across, -axes.deep, True),
        ("back", 1, high[1], axes.across, axes.deep, False),
        ("left", 0, low[0], axes.deep, -axes.across, False),
        ("right", 0, high[0], axes.deep, axes.across, False),
    ):
        near = scene.loops[0][np.abs(scene.loops[0][:, axis] - side) < 2e-3 + 0.002 * (high[axis] - low[axis])]
        spot = _on(scene, axes, np.array([(near.min(axis=0) + near.max(axis=0)) / 2]))[0]
        normal = np.array([-along[1], along[0]]) / np.hypot(*along)
        normal = normal if normal @ out > 0 else -normal
        half = sheet.measure(words, SIZE, bold) / 2
        off = half * abs(normal[0]) + 10 + max(0.0, -normal[1]) * axes.down * scene.thickness
        x, y = (spot + off * normal).tolist()
        sheet.word(Word(words, (x, y), SIZE, bold, DARK if bold else GREY, 0, 0))
    if scene.stands is not None:
        side = np.linspace(scene.stands.ends[0], scene.stands.ends[1], 40)
        w = values_at(scene.points, scene.triangles, scene.w, side)
        line = axes.to_page(side, w, scene.thickness)
        sheet.ink.line(line, 3.0, DARK)
        sheet.marks.append(line)
        sheet.note([(scene.stands.words, 8.0, True)], line, gap=7.0)


def _across(scene: ShapeScene, axes: Axes) -> FloatArray:
    """The part of the axis of a fall that crosses the slab, and a little more, on the page (2, 2)."""
    if scene.axis is None:
        raise ValueError("a slab that stands has no axis to fall about")
    begin, way = scene.axis[0], (scene.axis[1] - scene.axis[0]) / max(math.dist(*scene.axis), 1e-9)
    along = (scene.loops[0] - begin) @ way
    near = along[np.argsort(np.abs((scene.loops[0] - begin) @ np.array([-way[1], way[0]])))[: len(along) // 2 + 1]]
    return axes.to_page(begin + np.array([near.min(), near.max()])[:, None] * way)


def _lists(scene: ShapeScene, column: float, measure: Measure) -> list[list[Row]]:
    supports = [badged_row(badge, words, column, measure) for badge, words in scene.supports]
    loads = [badged_row(badge, words, column, measure) for badge, words in scene.loads]
    heading = title_row("Supports", column, measure)
    loads = [*title_row("Loads", column, measure), *loads]
    if len(supports) <= 3:
        return [[*heading, *supports], cut_rows(loads, LONGEST_LIST, column, measure), []]
    return flowing(supports, heading, loads, column, measure)


def _notes(scene: ShapeScene, measure: Measure) -> list[Row]:
    if not scene.notes:
        return []
    rows = [row for text in scene.notes for row in (*text_rows(text, SIDE_WIDTH, measure, size=7.2), gap_row(1.5))]
    return [*title_row("Notes", SIDE_WIDTH, measure), *rows]


def _key(scene: ShapeScene, measure: Measure) -> list[Row]:
    rows = title_row("Key", SIDE_WIDTH, measure)
    entries = [("arrow", "force of a support (number) or a load (letter); longer arrows are larger forces")]
    if any(arrow.body for arrow in scene.arrows):
        entries.append(("weight", "the slab's own weight, all of it at its centre of gravity"))
    for action, words in SUPPORT_WORDS.items():
        if any(bearing.action == action and bearing.bears.any() for bearing in scene.bearings):
            entries.append((action, words))
    if any(not bearing.bears.all() for bearing in scene.bearings):
        entries.append(("off", "the slab is off this part of its support"))
    if np.abs(scene.w).max(initial=0.0) > 0:
        entries += [("flat", "outline of the slab unbent"), ("most", "bends most")]
    return rows + [_key_row(kind, text, measure) for kind, text in entries]


def _key_row(kind: str, text: str, measure: Measure) -> Row:
    lines = wrap(text, SIDE_WIDTH - 31, 7.2, False, measure)
    height = max(14.0, 9.4 * len(lines) + 3.5)

    def draw(ink: Ink, left: float, top: float) -> None:
        x, y = left + 12, top - height / 2
        bar = np.array([[x - 11, y], [x + 11, y]])
        if kind in ("arrow", "weight"):
            sample = Arrow((0, 0), False, "", 1.0, kind == "weight")
            _arrow(Sheet(ink, View((0, 0, 1, 1), 1.0, np.zeros(2), np.zeros(2)), measure), bar[0], bar[1], sample)
        elif kind in ACTIONS:
            support_band(ink, bar, ACTIONS[kind], lifted=False)
        elif kind == "off":
            support_band(ink, bar, "rest", lifted=True)
        elif kind == "flat":
            ink.line(bar, 0.8, GREY, dash=(3.0, 2.6))
        else:
            ink.disc((x, y), 2.2, DARK)
        for k, line in enumerate(lines):
            ink.word(Word(line, (left + 30, y + (len(lines) - 1) * 4.7 - 9.4 * k), 7.2, False, DARK, -1, 0))

    return Row(height, draw)
