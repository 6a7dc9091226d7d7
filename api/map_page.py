"""One printed page: heading, drawing, verdict, scale, key, lists and cautions, laid out by what each needs.

The page is 10 x 7.5 in, which fits on letter and on A4 paper lying down. A long slab gets the whole width with the
words below it, any other has them beside and below it: whichever shows the slab larger.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from api.figures import pull_words
from api.map_ink import Ink, Word
from api.map_key import key_rows
from api.map_labels import Box
from api.map_plan import draw_plan
from api.map_scale import SCALE_END, SCALE_TICKS, color_at
from api.map_scene import Scene
from api.map_sheet import Sheet, View
from api.map_stamps import fit
from api.map_symbols import (
    ALLOWED_WIDTH,
    DARK,
    GREY,
    PALE,
    WHITE,
)
from api.map_text import Measure, Row, draw_rows, gap_row, height_of, text_rows
from fem.plate.model import Status

__all__ = [
    "GUTTER",
    "LONGEST_LIST",
    "MARGIN",
    "PAGE",
    "SIDE_WIDTH",
    "Headed",
    "Page",
    "badged_row",
    "compose",
    "cut_rows",
    "draw_cautions",
    "draw_columns",
    "draw_heading",
    "flowing",
    "title_row",
    "verdict_rows",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

PAGE = (720.0, 540.0)
MARGIN = 15.0
SIDE_WIDTH = 176.0
GUTTER = 14.0
LONGEST_LIST = 128.0
"""Most height for the lists below a drawing that has the scale and the key beside it."""


@dataclass(frozen=True, eq=False, slots=True)
class Page:
    """What is drawn: ink and words, and below them the grid that is coloured by share (p,): points (p, 2), triangles.

    share is empty for a grid in plain grey; there may be no grid at all.
    """

    ink: Ink
    field: FloatArray
    triangles: IntArray
    share: FloatArray


class Headed(Protocol):
    """What every picture has at its head, its foot and in its verdict."""

    @property
    def title(self) -> str:
        """The piece."""

    @property
    def stage(self) -> str:
        """The stage's name."""

    @property
    def number(self) -> str:
        """Which stage of how many."""

    @property
    def age(self) -> str:
        """The stage's age in words."""

    @property
    def shown(self) -> str:
        """Which state is shown; "" if there is only one."""

    @property
    def face(self) -> str:
        """What stands in the tag before look."""

    @property
    def look(self) -> str:
        """How one looks at it."""

    @property
    def status(self) -> Status:
        """The stage's status."""

    @property
    def verdict(self) -> tuple[str, ...]:
        """What it comes to, the main sentence first."""

    @property
    def here(self) -> tuple[str, ...]:
        """More about this face; may be empty."""

    @property
    def cautions(self) -> tuple[str, ...]:
        """What was not checked."""

    @property
    def program(self) -> str:
        """Name and version."""


def compose(scene: Scene, measure: Measure, pixel: float = 0.33) -> Page:
    """Lay a scene out on a page; pixel is the size of one in points."""
    ink = Ink(pixel)
    top = draw_heading(ink, scene, measure)
    low = draw_cautions(ink, scene, measure)
    room = (MARGIN, low, PAGE[0] - MARGIN, top)
    view = _beside_or_below(ink, scene, measure, room)
    draw_plan(Sheet(ink, view, measure), scene)
    return Page(ink, view.to_page(scene.points), scene.triangles, scene.share)


def draw_heading(ink: Ink, scene: Headed, measure: Measure) -> float:
    """Title, stage and face; where the next thing may start."""
    y = PAGE[1] - MARGIN
    right = PAGE[0] - MARGIN
    ink.word(Word(scene.number, (right, y - 10), 8, False, GREY, 1))
    ink.word(Word(scene.program, (right, y - 29), 7, False, GREY, 1))
    title = _shortened(scene.title, right - MARGIN - 90, 13, True, measure)
    ink.word(Word(title, (MARGIN, y - 12), 13, True))
    y -= 29
    stage = _shortened(f"{scene.stage}, {scene.age}", right - MARGIN - 90, 10.5, False, measure)
    ink.word(Word(stage, (MARGIN, y), 10.5, False))
    if scene.shown:
        y -= 13
        ink.word(Word(_shortened(scene.shown, right - MARGIN, 8.6, True, measure), (MARGIN, y), 8.6, True))
    y -= 17
    face = scene.face.upper()
    width = measure(face, 8.6, True)
    ink.box(MARGIN, y - 3.2, MARGIN + width + 10, y + 9.2, DARK)
    ink.word(Word(face, (MARGIN + 5, y + 3.0), 8.6, True, WHITE, -1, 0))
    ink.word(Word(scene.look, (MARGIN + width + 16, y + 3.0), 8, False, GREY, -1, 0))
    y -= 10
    ink.line([[MARGIN, y], [right, y]], 0.6, PALE)
    return y - 6


def draw_cautions(ink: Ink, scene: Headed, measure: Measure) -> float:
    """What was not checked and who decides, along the foot; where the room above it starts."""
    width = PAGE[0] - 2 * MARGIN
    rows = [row for text in scene.cautions for row in text_rows(text, width, measure, size=6.6, color=GREY)]
    top = MARGIN - 4 + height_of(rows)
    draw_rows(ink, rows, MARGIN, top)
    ink.line([[MARGIN, top + 4], [PAGE[0] - MARGIN, top + 4]], 0.6, PALE)
    return top + 11


def _beside_or_below(ink: Ink, scene: Scene, measure: Measure, room: Box) -> View:
    """Draw all words but those on the drawing itself, and return the drawing's place."""
    left, low, right, top = room
    edge = right - SIDE_WIDTH
    lists = _lists_below(scene, measure, edge - GUTTER - left)
    beside = fit(scene, (left, low + height_of(max(lists, key=height_of)) + 8, edge - GUTTER, top))

    quarter = (right - left - 3 * GUTTER) / 4
    columns = _columns_below(scene, measure, quarter, 0)
    below = fit(scene, (left, low + height_of(max(columns, key=height_of)) + 8, right, top))

    if below.scale > beside.scale:
        start = below.box[1] - 8
        draw_columns(ink, _columns_below(scene, measure, quarter, start - low), left, start, quarter)
        return below
    panel = [*verdict_rows(scene, SIDE_WIDTH, measure), gap_row(9), *_scale(scene, SIDE_WIDTH, measure), gap_row(8)]
    panel += [*key_rows(scene, measure, SIDE_WIDTH), gap_row(9)]
    start, column = beside.box[1] - 8, (edge - 3 * GUTTER - left) / 3
    # What was assumed stands where there is more room for it: under the key, or in a column that the lists leave free.
    room_above, room_below = top - low - height_of(panel), start - low
    if lists[2] or room_above >= room_below:
        panel += cut_rows(_assumed(scene, SIDE_WIDTH, measure), room_above, SIDE_WIDTH, measure)
    else:
        lists[2] = cut_rows(_assumed(scene, column, measure), room_below, column, measure)
    draw_rows(ink, panel, edge, top)
    draw_columns(ink, lists, left, start, column)
    return beside


def draw_columns(ink: Ink, columns: Sequence[Sequence[Row]], left: float, top: float, width: float) -> None:
    """Columns of rows side by side."""
    for k, rows in enumerate(columns):
        draw_rows(ink, rows, left + k * (width + GUTTER), top)


def _lists_below(scene: Scene, measure: Measure, width: float) -> list[list[Row]]:
    """Supports and loads in three columns under the drawing, the supports in two of them if they are many."""
    column = (width - 2 * GUTTER) / 3
    supports = [badged_row(str(mark.number), mark.words, column, measure) for mark in scene.supports]
    if scene.stages:
        return _stage_lists(scene, measure, column)
    loads = [*title_row("Loads", column, measure), *_load_rows(scene, column, measure)]
    heading = title_row("Supports", column, measure)
    if len(supports) <= 3:
        return [
            cut_rows([*heading, *supports], LONGEST_LIST, column, measure),
            cut_rows(loads, LONGEST_LIST, column, measure),
            [],
        ]
    return flowing(supports, heading, loads, column, measure)


def flowing(
    rows: Sequence[Row], heading: Sequence[Row], then: Sequence[Row], column: float, measure: Measure
) -> list[list[Row]]:
    """A list under its heading in two columns beside what comes then; a long one goes on in the third, above it."""
    head = height_of(heading)
    room = LONGEST_LIST - head
    first = _fitting(rows, min(max(height_of(rows) / 2, height_of(then) - head), room))
    if height_of(rows[:first]) < height_of(rows) / 2 and height_of(rows[: first + 1]) <= room:
        first += 1
    second = _fitting(rows[first:], room)
    if first + second < len(rows):
        first = _fitting(rows, room)
        second = _fitting(rows[first:], room)
    left = rows[first + second :]
    third = list(then)
    if left:
        gap = [gap_row(6)] if then else []
        third = [gap_row(head), *cut_rows(left, room - height_of([*gap, *then]), column, measure), *gap, *then]
    return [
        [*heading, *rows[:first]],
        [gap_row(head), *rows[first : first + second]],
        cut_rows(third, LONGEST_LIST, column, measure),
    ]


def _fitting(rows: Sequence[Row], most: float) -> int:
    """How many of the rows fit."""
    return max(k for k in range(len(rows) + 1) if height_of(rows[:k]) <= most)


def _stage_lists(scene: Scene, measure: Measure, column: float) -> list[list[Row]]:
    """The stages of a map of all of them, in as many columns as they need."""
    heading, rows = title_row("Stages, on this face", column, measure), _stage_rows(scene, column, measure)
    if height_of(rows) < 0.6 * LONGEST_LIST:
        return [[*heading, *rows], [], []]
    return flowing(rows, heading, [], column, measure)


def _stages_beside(scene: Scene, width: float, measure: Measure, most: float) -> list[list[Row]]:
    """All stages in two columns, what was assumed below them."""
    heading, rows = title_row("Stages, on this face", width, measure), _stage_rows(scene, width, measure)
    first = len(rows) if height_of(rows) < 0.6 * most else (len(rows) + 1) // 2
    rest = [gap_row(height_of(heading)), *rows[first:], gap_row(6)] if first < len(rows) else []
    columns = ([*heading, *rows[:first]], [*rest, *_assumed(scene, width, measure)])
    return [cut_rows(column, most, width, measure) for column in columns]


def _stage_rows(scene: Scene, width: float, measure: Measure) -> list[Row]:
    return [badged_row(str(number), words, width, measure) for number, words in scene.stages]


def _columns_below(scene: Scene, measure: Measure, width: float, room: float) -> list[list[Row]]:
    """Everything in four columns under a long slab; the lists take the height there is, or what the rest needs."""
    verdict = verdict_rows(scene, width, measure)
    guide = [*_scale(scene, width, measure), gap_row(6), *key_rows(scene, measure, width)]
    most = max(height_of(verdict), height_of(guide), 150.0, room)
    supports = [badged_row(str(mark.number), mark.words, width, measure) for mark in scene.supports]
    loads = [*title_row("Loads", width, measure), *_load_rows(scene, width, measure)]
    lists = [*title_row("Supports", width, measure), *supports, gap_row(6), *loads]
    if scene.stages:
        return [verdict, guide, *_stages_beside(scene, width, measure, most)]
    return [
        verdict,
        guide,
        cut_rows(lists, most, width, measure),
        cut_rows(_assumed(scene, width, measure), most, width, measure),
    ]


def verdict_rows(scene: Headed, width: float, measure: Measure) -> list[Row]:
    """The stage's verdict, then this face's own worst place."""
    rows = [_chip(scene.status.upper(), scene.status, measure), gap_row(3)]
    for k, text in enumerate(scene.verdict):
        rows += text_rows(text, width, measure, size=8.2, bold=k == 0)
        rows.append(gap_row(2))
    if scene.here:
        rows += [gap_row(3), *text_rows("On this face", width, measure, size=7.6, bold=True, color=GREY)]
        rows += [row for text in scene.here for row in text_rows(text, width, measure)]
    return rows


def _chip(word: str, status: str, measure: Measure) -> Row:
    """The status as a tag: dark where the stage fails, hollow where it holds."""
    fails = status in ("cracks", "tips")

    def draw(ink: Ink, left: float, top: float) -> None:
        wide = measure(word, 11, True) + 14
        ink.box(left, top - 17, left + wide, top, DARK)
        if not fails:
            shade = WHITE if status == "holds" else PALE
            ink.box(left + 1.2, top - 15.8, left + wide - 1.2, top - 1.2, shade)
        ink.word(Word(word, (left + wide / 2, top - 8.5), 11, True, WHITE if fails else DARK, 0, 0))

    return Row(18.5, draw)


def _scale(scene: Scene, width: float, measure: Measure) -> list[Row]:
    """The colour scale, the same on every map, with what its ends come to in this stage."""
    if not len(scene.share):
        return text_rows(
            "No colours: a slab that tips is not at rest, so it has no pull to show.", width, measure, color=GREY
        )
    whose = "at that age" if scene.allowed else "in each stage"
    heading = text_rows(f"Pull, in % of what is allowed {whose}", width, measure, size=7.6, bold=True, color=GREY)
    unit = "psi" if scene.units == "us" else "MPa"

    def draw(ink: Ink, left: float, top: float) -> None:
        first, last = left + 5, left + width - 37
        x = np.linspace(first, last, 97)
        colors = np.repeat(color_at((x - first) / (last - first) * SCALE_END), 2, axis=0)
        high, low = top - 9, top - 20
        corners = np.column_stack([np.repeat(x, 2), np.tile([low, high], len(x))])
        k = 2 * np.arange(len(x) - 1)[:, None]
        ink.add(corners, np.concatenate([k + np.array([0, 2, 1]), k + np.array([1, 2, 3])]), colors)
        ink.line([[first, low], [last, low], [last, high], [first, high]], 0.7, DARK, closed=True)
        for tick in SCALE_TICKS:
            at = first + (last - first) * tick / SCALE_END
            ink.line([[at, low - 2.5], [at, low]], 0.7, DARK)
            more = "+" if tick == SCALE_END else ""
            ink.word(Word(f"{100 * tick:.0f}{more}", (at, low - 7), 7, False, DARK, 0, 0))
            if scene.allowed and round(tick / 0.25) % 2 == 0:
                ink.word(Word(_amount(tick * scene.allowed, scene), (at, low - 16), 7, False, GREY, 0, 0))
        ink.word(Word("%", (left + width, low - 7), 7, False, DARK, 1, 0))
        if scene.allowed:
            ink.word(Word(unit, (left + width, low - 16), 7, False, GREY, 1, 0))
        _marked_levels(ink, scene, measure, first, last, high)

    return [*heading, Row(42 if scene.allowed else 32, draw)]


def _marked_levels(ink: Ink, scene: Scene, measure: Measure, first: float, last: float, high: float) -> None:
    """Allowed and cracking above the scale, if the scale reaches so far."""
    for share, text, wide in ((1.0, "allowed", ALLOWED_WIDTH), (scene.cracking, "cracking", 2.0)):
        if share <= SCALE_END * (1 + 1e-9):
            at = first + (last - first) * share / SCALE_END
            ink.line([[at, high - 11], [at, high + 9.5]], wide, DARK)
            ink.word(Word(text, (at + 3, high + 6.5), 6.6, False, DARK, -1, 0))


def _amount(pascal: float, scene: Scene) -> str:
    words = pull_words(pascal, scene.units)
    return "0" if words == "none" else words.split()[0]


def _load_rows(scene: Scene, width: float, measure: Measure) -> list[Row]:
    return [badged_row(mark.badge, mark.words, width, measure) for mark in scene.loads]


def _assumed(scene: Scene, width: float, measure: Measure) -> list[Row]:
    """What to mind, then what was assumed."""
    rows: list[Row] = []
    for title, texts in (("Notes", scene.notes), ("Assumed", scene.assumed)):
        if texts:
            rows += title_row(title, width, measure)
            rows += [row for text in texts for row in (*text_rows(text, width, measure, size=7.2), gap_row(1.5))]
            rows.append(gap_row(4))
    return rows[:-1]


def title_row(text: str, width: float, measure: Measure) -> list[Row]:
    """The heading of a list."""
    return text_rows(text, width, measure, size=7.6, bold=True, color=GREY)


def badged_row(badge: str, text: str, width: float, measure: Measure) -> Row:
    """A line of a list behind its badge, all of it one row, so that it is never torn apart."""
    indent = max(12.0, measure(badge, 7.2, True) + 4)
    block = text_rows(text, width - indent, measure, size=7.2)

    def draw(ink: Ink, left: float, top: float) -> None:
        if badge:
            ink.word(Word(badge, (left, top - 7.2 * 1.02), 7.2, True, DARK))
        draw_rows(ink, block, left + indent, top)

    return Row(height_of(block) + 1.2, draw)


def cut_rows(rows: Sequence[Row], most: float, width: float, measure: Measure) -> list[Row]:
    """As many rows as fit, and a word that there are more."""
    if height_of(rows) <= most:
        return list(rows)
    more = text_rows("and more: see result.json", width, measure, size=7.2, color=GREY)
    kept: list[Row] = []
    for row in rows:
        if height_of(kept) + row.height + height_of(more) > most:
            break
        kept.append(row)
    return [*kept, *more]


def _shortened(text: str, width: float, size: float, bold: bool, measure: Measure) -> str:
    if measure(text, size, bold) <= width:
        return text
    while text and measure(f"{text} ...", size, bold) > width:
        text = text[:-1].rstrip()
    return f"{text} ..."
