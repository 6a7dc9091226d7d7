"""Drawings of the report: the slab's true edges with its measures, and the runs of one face with their marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from api.figures import Units, length_words
from api.report.blocks import Block
from api.report.marks import place_marks
from fem.steel.model import Run

__all__ = ["runs_drawing", "shape_drawing"]

FloatArray = npt.NDArray[np.float64]
Item = dict[str, Any]
Point = tuple[float, float]

WIDE, TALL = 470.0, 256.0
"""Most that a drawing takes of the page [pt]: two of them stand on one."""
MEASURED, PLAIN = 34.0, 18.0
"""Room round the slab for the names of its edges, with its measures and without [pt]."""
WORD = 7.2
MARK, SMALL = 6.2, 4.6
"""Size of the mark of a run, and where they are many."""
CROWD, CROWDED = 40, 318.0
"""More runs than this on a face are drawn thin, and the drawing is so tall [pt]."""


class _View:
    """Metres onto the drawing, whose y runs downwards."""

    def __init__(self, outline: FloatArray, around: float, tall: float = TALL) -> None:
        self.around = around
        self.low, self.high = outline.min(axis=0), outline.max(axis=0)
        size = self.high - self.low
        self.scale = float(min((WIDE - 2 * around) / size[0], (tall - 2 * around) / size[1]))
        self.width, self.height = (float(self.scale * side + 2 * around) for side in size)

    def to(self, points: npt.ArrayLike) -> FloatArray:
        p = self.around + self.scale * (np.asarray(points, dtype=np.float64) - self.low)
        p[..., 1] = self.height - p[..., 1]
        return np.asarray(p)


def shape_drawing(loops: Sequence[FloatArray], names: Sequence[str], units: Units) -> Block:
    """The slab with its length and width, and its openings by number and name."""
    view = _View(loops[0], MEASURED)
    items = _edges(view, loops, fill="#f1f2f4")
    (x0, y1), (x1, y0) = view.to(view.low), view.to(view.high)
    wide, deep = view.high - view.low
    below, aside = y1 + 25, x0 - 27
    items += [
        *_measure((x0, below), (x1, below)),
        _word(length_words(float(wide), units), ((x0 + x1) / 2, below), boxed=True),
        *_measure((aside, y0), (aside, y1)),
        _word(length_words(float(deep), units), (aside, (y0 + y1) / 2), boxed=True, angle=-90.0),
    ]
    for k, (loop, name) in enumerate(zip(loops[1:], names, strict=True)):
        p = view.to(loop)
        number, middle = str(k + 1), (p.min(axis=0) + p.max(axis=0)) / 2
        tried = (f"opening {number}: {name}", f"{number}: {name}") if name else (f"opening {number}",)
        room = float(np.ptp(p[:, 0])) - 6
        text = next((one for one in tried if _wide(one) < room), number)
        items.append(_word(text, middle))
    caption = "The slab as seen looking at its show face; x runs to the right, y to the back."
    return _drawing(view, items, caption)


def runs_drawing(
    loops: Sequence[FloatArray], runs: Sequence[Run], at: tuple[float, float] | None, caption: str
) -> Block:
    """The runs of one face with their marks; at: the place that binds [m], a ring."""
    view = _View(loops[0], PLAIN, CROWDED if len(runs) > CROWD else TALL)
    items = _edges(view, loops)
    names = [item for item in items if "text" in item]
    lines = [view.to(run.points) for run in runs]
    thin = len(runs) > CROWD
    for line in lines:
        items.append(_curve(line, 0.6 if thin else 1.2))
        items += [_dot(end, 1.0 if thin else 1.5) for end in (line[0], line[-1])]
    if at is not None:
        items.append(_ring(view.to(at), 6.0, 1.2))
    items += _marks(view, runs, lines, [view.to(loop) for loop in loops], names)
    return _drawing(view, items, caption)


def _marks(
    view: _View, runs: Sequence[Run], lines: Sequence[FloatArray], edges: Sequence[FloatArray], names: Sequence[Item]
) -> list[Item]:
    """A mark at every run, on no other mark and over as little of the lines as can be."""
    size = SMALL if len(runs) > CROWD else MARK
    room = (1.0, 1.0, view.width - 1.0, view.height - 1.0)
    marks = place_marks([run.mark for run in runs], lines, edges, room, [_box(name) for name in names], size)
    return [_word(mark.text, mark.at, size=size, bold=True, boxed=mark.boxed, angle=mark.angle) for mark in marks]


def _box(name: Item) -> tuple[float, float, float, float]:
    """What a word of the drawing takes of it."""
    (x, y), half, tall = name["at"], _wide(name["text"], name["size"]) / 2, name["size"] / 2
    across, down = (tall, half) if name["angle"] else (half, tall)
    return x - across, y - down, x + across, y + down


def _edges(view: _View, loops: Sequence[FloatArray], fill: str = "#ffffff") -> list[Item]:
    """Outline and openings, and the edges by name."""
    items = [
        _curve(view.to(loop), 1.1, closed=True, fill=fill if k == 0 else "#ffffff") for k, loop in enumerate(loops)
    ]
    (x0, y1), (x1, y0) = view.to(view.low), view.to(view.high)
    outline = view.to(loops[0])
    front = outline[outline[:, 1] > y1 - 1.5, 0]
    back = outline[outline[:, 1] < y0 + 1.5, 0]
    left = outline[outline[:, 0] < x0 + 1.5, 1]
    right = outline[outline[:, 0] > x1 - 1.5, 1]
    return [
        *items,
        _word("FRONT EDGE", ((front.min() + front.max()) / 2, y1 + 10), bold=True),
        _word("back", ((back.min() + back.max()) / 2, y0 - 10), grey=True),
        _word("left", (x0 - 13, (left.min() + left.max()) / 2), grey=True, angle=-90.0),
        _word("right", (x1 + 13, (right.min() + right.max()) / 2), grey=True, angle=-90.0),
    ]


def _measure(begin: Point, end: Point) -> list[Item]:
    """A measuring line with strokes at its ends."""
    a, b = np.asarray(begin), np.asarray(end)
    along = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    across = 3.5 * np.array([-along[1], along[0]])
    return [_curve(np.stack([a, b]), 0.5), *(_curve(np.stack([at - across, at + across]), 0.5) for at in (a, b))]


def _curve(points: FloatArray, width: float, closed: bool = False, fill: str = "") -> Item:
    rounded = np.round(points, 2).tolist()
    return {"points": rounded, "width": width, "closed": closed, "fill": fill, "dash": False, "grey": False}


def _ring(at: FloatArray, radius: float, width: float, fill: str = "") -> Item:
    a = np.arange(24) * (2 * np.pi / 24)
    return _curve(at + radius * np.column_stack([np.cos(a), np.sin(a)]), width, closed=True, fill=fill)


def _dot(at: FloatArray, radius: float) -> Item:
    return _ring(at, radius, 0.0, "#1a1c24")


def _word(
    text: str,
    at: npt.ArrayLike,
    size: float = WORD,
    bold: bool = False,
    grey: bool = False,
    boxed: bool = False,
    angle: float = 0.0,
) -> Item:
    x, y = np.round(np.asarray(at, dtype=np.float64), 2).tolist()
    return {
        "text": text,
        "at": [x, y],
        "size": size,
        "bold": bold,
        "grey": grey,
        "boxed": boxed,
        "angle": angle,
    }


def _wide(text: str, size: float = WORD) -> float:
    """About how wide a text is [pt]."""
    return 0.56 * size * len(text)


def _drawing(view: _View, items: Sequence[Item], caption: str) -> Block:
    return {
        "kind": "drawing",
        "width": round(view.width, 2),
        "height": round(view.height, 2),
        "items": list(items),
        "caption": caption,
    }
