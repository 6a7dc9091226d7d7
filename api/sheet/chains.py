"""Chains of dimensions: how far each of a row of things lies from a named edge, and the gaps between them.

Beside a plan stands first the distance of each thing from the edge, then the chain of gaps; the last distance is the
whole, and the gaps sum to it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from api.figures import Units
from api.map_marks import loops_of
from api.sheet.board import SMALL, Align, Board
from api.sheet.lengths import chain_steps, step_words
from api.sheet.lettering import width_of
from api.sheet.view import View
from meshing.shape import Shape

__all__ = ["Chain", "draw_chain", "edged_chain", "gap_groups", "spread", "width_of_chain"]

FloatArray = npt.NDArray[np.float64]

SIZE = SMALL
ROW = 1.5 * SIZE
"""What a line of text takes across."""
LEAD, AIR = 3.2, 1.6
STRIP = 0.06
"""A strip of the slab along its side, as a share of its size, tells where that side ends."""
ALIKE = 3
"""So many equal gaps in a row are told together."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Things in a row beside a plan. axis: 0 if their x is told, 1 if their y; side: -1 left or front, else +1.

    places are their positions [m] in order, the first and the last the two edges; reach tells where each thing ends
    across the chain [m] (None: at the edge). first and last name the edges; the last stands behind the whole.
    """

    axis: Literal[0, 1]
    side: Literal[-1, 1]
    places: tuple[float, ...]
    reach: tuple[float | None, ...]
    first: str
    last: str = ""


def edged_chain(shape: Shape, axis: int, side: int, found: Mapping[float, float]) -> Chain:
    """The chain of things by their place along it and their reach across, between the edges that bound them [m].

    These are the front or left edge and the edge at which the slab's own side there ends, if it passes all the things;
    else the slab's farthest.
    """
    outline = loops_of(shape)[0]
    low, high = outline.min(axis=0), outline.max(axis=0)
    finish = _own_edge(outline, axis, side)
    if finish is None or finish <= max(found, default=finish):
        finish = float(high[axis])
    return Chain(
        axis=0 if axis == 0 else 1,
        side=-1 if side < 0 else 1,
        places=(float(low[axis]), *sorted(found), finish),
        reach=(None, *(found[place] for place in sorted(found)), None),
        first=("left edge", "front edge")[axis],
        last="" if abs(finish - high[axis]) < 1e-3 else "edge",
    )


def _own_edge(outline: FloatArray, axis: int, side: int) -> float | None:
    """Where the slab's side ends at a straight edge across it [m]; None if it ends at a slant or in a curve."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    across = 1 - axis
    wide = STRIP * float(high[across] - low[across])
    corner, over = low.copy(), high.copy()
    if side < 0:
        over[across] = low[across] + wide
    else:
        corner[across] = high[across] - wide
    strip = shapely.Polygon(outline).intersection(shapely.box(*corner.tolist(), *over.tolist()))
    finish = float(strip.bounds[2 + axis])
    ends = shapely.box(*corner.tolist(), *over.tolist()).bounds
    line = (
        [(finish - 1e-5, ends[1]), (finish - 1e-5, ends[3])]
        if axis == 0
        else [
            (ends[0], finish - 1e-5),
            (ends[2], finish - 1e-5),
        ]
    )
    flat = strip.intersection(shapely.LineString(line)).length
    return finish if flat > 0.5 * wide else None


def gap_groups(gaps: Sequence[int]) -> list[tuple[int, int]]:
    """Gaps that are told together: (number of the first, how many).

    >>> gap_groups([3, 8, 8, 8, 8, 5, 5])
    [(0, 1), (1, 4), (5, 1), (6, 1)]
    """
    groups: list[tuple[int, int]] = []
    k = 0
    while k < len(gaps):
        alike = next((n for n in range(k, len(gaps)) if gaps[n] != gaps[k]), len(gaps)) - k
        groups += [(k, alike)] if alike >= ALIKE else [(k + n, 1) for n in range(alike)]
        k += alike
    return groups


def spread(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Middles of things in a row, as near as can be (least squares) to where they belong, none on its neighbour.

    >>> spread([0.0, 1.0, 10.0], [2.0, 2.0, 2.0])
    [-0.5, 1.5, 10.0]
    """
    if not len(wanted):
        return []
    half = np.asarray(sizes, dtype=np.float64) / 2
    apart = np.concatenate([[0.0], np.cumsum(half[:-1] + half[1:])])
    blocks: list[tuple[float, int]] = []
    for value in np.asarray(wanted, dtype=np.float64) - apart:
        total, count = float(value), 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            before = blocks.pop()
            total, count = total + before[0], count + before[1]
        blocks.append((total, count))
    level = np.concatenate([np.full(count, total / count) for total, count in blocks])
    return [float(x) for x in level + apart]


def width_of_chain(chain: Chain, units: Units) -> float:
    """What the chain takes beside the plan [mm of paper]."""
    distances, gaps = chain_steps(chain.places, units)
    names = [_distance_words(chain, k, distances, units) for k in range(len(distances))]
    gap_words = [_gap_words(gaps, k, 1, units) for k, count in gap_groups(gaps) if count == 1]
    told = max(width_of(name, SIZE) for name in names)
    between = max((width_of(words, SIZE) for words in gap_words), default=SIZE)
    return LEAD + told + 2 * AIR + 1.4 + max(between, 1.2 * SIZE)


def draw_chain(board: Board, view: View, chain: Chain, units: Units) -> None:
    """Draw the chain beside the plan."""
    pen = _Pen(board, view, chain)
    distances, gaps = chain_steps(chain.places, units)
    along = [pen.along(value) for value in chain.places]
    names = [_distance_words(chain, k, distances, units) for k in range(len(along))]
    for at, spot, name, reach in zip(along, spread(along, [ROW] * len(along)), names, chain.reach, strict=True):
        start = 0.4 if reach is None else pen.out(reach)
        pen.line([(at, start), (at, 0.8), (spot, LEAD - 0.8), (spot, LEAD - 0.4)])
        pen.text(name, spot, LEAD)
    line = LEAD + max(width_of(name, SIZE) for name in names) + AIR
    pen.line([(along[0], line), (along[-1], line)])
    for at in along:
        pen.line([(at - 0.6, line - 0.6), (at + 0.6, line + 0.6)])
    _gaps(pen, along, gaps, line, units)


def _gaps(pen: _Pen, along: Sequence[float], gaps: Sequence[int], line: float, units: Units) -> None:
    told = []
    for k, count in gap_groups(gaps):
        middle, room = (along[k] + along[k + count]) / 2, abs(along[k + count] - along[k])
        words = _gap_words(gaps, k, count, units)
        lying = width_of(words, SIZE) + 1.0 <= room
        if count > 1 and not lying:
            told += [((along[n] + along[n + 1]) / 2, _gap_words(gaps, n, 1, units), False) for n in range(k, k + count)]
        else:
            told.append((middle, words, lying))
    sizes = [width_of(words, SIZE) + 0.8 if lying else ROW for _, words, lying in told]
    for (middle, words, lying), spot in zip(told, spread([one[0] for one in told], sizes), strict=True):
        if lying:
            pen.lying(words, spot, line + 0.7)
        else:
            if abs(spot - middle) > 0.8:
                pen.line([(middle, line + 0.2), (spot, line + AIR)])
            pen.text(words, spot, line + AIR + 0.2)


def _gap_words(gaps: Sequence[int], k: int, count: int, units: Units) -> str:
    one = step_words(gaps[k], units)
    return one if count == 1 else f"{count} x {one} = {step_words(count * gaps[k], units)}"


def _distance_words(chain: Chain, k: int, distances: Sequence[int], units: Units) -> str:
    if k == 0:
        return chain.first
    words = step_words(distances[k], units)
    return f"{words}, {chain.last}" if k == len(distances) - 1 and chain.last else words


@dataclass(frozen=True, eq=False)
class _Pen:
    """Draws beside a plan: along the chain in paper millimetres, outwards from the plan's side."""

    board: Board
    view: View
    chain: Chain

    def along(self, value: float) -> float:
        """Where a position [m] lies along the chain."""
        spot = np.zeros(2)
        spot[self.chain.axis] = value
        return float(self.view.to_paper(spot)[self.chain.axis])

    def out(self, value: float) -> float:
        """How far outside the plan's side a place across the chain [m] lies; inside it is negative."""
        spot = np.zeros(2)
        spot[1 - self.chain.axis] = value
        return self.chain.side * (float(self.view.to_paper(spot)[1 - self.chain.axis]) - self._side())

    def line(self, points: Sequence[tuple[float, float]]) -> None:
        """A chain of lines (along, out)."""
        self.board.line([self._paper(along, out) for along, out in points], "dimensions")

    def text(self, words: str, along: float, out: float) -> None:
        """Text that runs away from the plan."""
        upright = self.chain.axis == 0
        x, y = self._paper(along, out)
        at = (x + SIZE / 2, y) if upright else (x, y - SIZE / 2)
        align: Align = "right" if self.chain.side < 0 else "left"
        self.board.text(words, at, SIZE, align=align, turn=90 if upright else 0)

    def lying(self, words: str, along: float, out: float) -> None:
        """Text that runs along the chain, outside its line."""
        upright = self.chain.axis == 1
        x, y = self._paper(along, out)
        # Letters rise to the left when turned, upwards when not: on the far side they stand off by their own height.
        if upright:
            at = (x if self.chain.side < 0 else x + SIZE, y)
        else:
            at = (x, y if self.chain.side > 0 else y - SIZE)
        self.board.text(words, at, SIZE, align="middle", turn=90 if upright else 0)

    def _side(self) -> float:
        x0, y0, x1, y1 = self.view.rect
        return ((y0, x0) if self.chain.side < 0 else (y1, x1))[self.chain.axis]

    def _paper(self, along: float, out: float) -> tuple[float, float]:
        across = self._side() + self.chain.side * out
        return (along, across) if self.chain.axis == 0 else (across, along)
