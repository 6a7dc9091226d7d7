"""Drawings of the report: the slab's true edges with its measures, and the runs of one face with their marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from api.figures import Units, length_words
from api.map_ink import resample
from api.map_labels import Label, place_labels
from api.report.blocks import Block
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


class _View:
    """Metres onto the drawing, whose y runs downwards."""

    def __init__(self, outline: FloatArray, around: float) -> None:
        self.around = around
        self.low, self.high = outline.min(axis=0), outline.max(axis=0)
        size = self.high - self.low
        self.scale = float(min((WIDE - 2 * around) / size[0], (TALL - 2 * around) / size[1]))
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
        _word(length_words(float(deep), units), (aside, (y0 + y1) / 2), boxed=True, turned=True),
    ]
    for k, (loop, name) in enumerate(zip(loops[1:], names, strict=True)):
        p = view.to(loop)
        full, middle = f"opening {k + 1}{f': {name}' if name else ''}", (p.min(axis=0) + p.max(axis=0)) / 2
        text = full if _wide(full) < np.ptp(p[:, 0]) - 6 else str(k + 1)
        items.append(_word(text, middle))
    caption = "The slab as seen looking at its show face; x runs to the right, y to the back."
    return _drawing(view, items, caption)


def runs_drawing(
    loops: Sequence[FloatArray], runs: Sequence[Run], at: tuple[float, float] | None, caption: str
) -> Block:
    """The runs of one face with their marks; at: the place that binds [m], a ring."""
    view = _View(loops[0], PLAIN)
    items = _edges(view, loops)
    lines = [view.to(run.points) for run in runs]
    for run, line in zip(runs, lines, strict=True):
        items.append(_curve(line, 1.3 if run.why != "given" else 1.0))
        items += [_dot(end, 1.5) for end in (line[0], line[-1])]
    if at is not None:
        items.append(_ring(view.to(at), 6.0, 1.2))
    items += _marks(view, runs, lines, [view.to(loop) for loop in loops])
    return _drawing(view, items, caption)


def _marks(view: _View, runs: Sequence[Run], lines: Sequence[FloatArray], edges: Sequence[FloatArray]) -> list[Item]:
    """A mark beside every run, on no other mark and over as little of the lines as can be."""
    room = (1.0, 1.0, view.width - 1.0, view.height - 1.0)
    spots = [resample(line, 6.0) for line in lines]
    inked = np.concatenate([*spots, *(resample(np.vstack([edge, edge[:1]]), 3.0) for edge in edges)])
    labels = [
        Label(spot[1:-1] if len(spot) > 4 else spot, (_wide(run.mark, 6.2) + 2, 7.0), 1.2, 26.0)
        for run, spot in zip(runs, spots, strict=True)
    ]
    placed = place_labels(labels, room, [], inked)
    return [
        _word(run.mark, ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), size=6.2, bold=True)
        for run, (box, _) in zip(runs, placed, strict=True)
    ]


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
        _word("left", (x0 - 13, (left.min() + left.max()) / 2), grey=True, turned=True),
        _word("right", (x1 + 13, (right.min() + right.max()) / 2), grey=True, turned=True),
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
    turned: bool = False,
) -> Item:
    x, y = np.round(np.asarray(at, dtype=np.float64), 2).tolist()
    return {
        "text": text,
        "at": [x, y],
        "size": size,
        "bold": bold,
        "grey": grey,
        "boxed": boxed,
        "turned": turned,
        "across": 0.5,
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
