"""Lines laid evenly: at equal distances across the strongest pull, then wherever they leave room for one more.

Each round takes a few spots in every piece of ground that still asks for a line, the most strongly pulled one among
them, goes from each straight across the paths to the next lines or edges on either side, keeps the way that crosses
most tension, divides it evenly, and follows the path through each dividing point. So the lines begin as even as they
can be, whatever the spot; where they draw together one of two ends, and where they spread the next round begins
another between them. The limits are those of fem/paths/cover.py.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.paths.choosing import Ground, Laid, choose
from fem.paths.cover import CELLS, FREE, Cover
from fem.paths.lines import Edge, Lines, lines_from
from fem.paths.raster import Raster
from fem.paths.tracing import trace

__all__ = ["lay_lines"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

ROUNDS = 6
FEWEST = 2  # squares of four nodes of asking ground that are worth another line
SPOTS, GAP_SPOTS = 6, 2  # tried in each piece of asking ground besides the most strongly pulled one; later, in gaps


def lay_lines(raster: Raster, floor: FloatArray) -> Laid:
    """Evenly spaced lines of every field on a raster, where its tension exceeds floor (f,); strongest first."""
    edge, laid = Edge.of(raster), Laid()
    ground = Ground(Cover(raster, floor), np.empty(0, dtype=np.complex128), np.empty(0, dtype=np.complex128))
    for turn in range(ROUNDS):
        spot, of_field, piece = ground.cover.places_asking(*((1, SPOTS) if turn == 0 else (FEWEST, GAP_SPOTS)))
        if len(spot) == 0:
            break
        shut = ground.cover.owner != FREE
        ways = lines_from(raster, edge, trace(raster, shut, spot, of_field, across=True), floor)
        ways, spot = _weightiest(raster, ways, spot, piece)
        start, of_field, drawn = _divided(ground, ways)
        lines = lines_from(raster, edge, trace(raster, shut, start, of_field, across=False), floor)
        choose(ground, lines, drawn, laid)
        ground.cover.settle(ground.cover.nodes(spot, np.asarray(ways.field)))
    return laid


def _weightiest(raster: Raster, ways: Lines, spot: ComplexArray, piece: IntArray) -> tuple[Lines, ComplexArray]:
    """Of the ways (m,) through spots (m,) the one in each piece of ground (m,) that crosses most tension; its spot."""
    pull = raster.tension(ways.places, np.repeat(ways.field, np.diff(ways.begin)))
    step = np.diff(ways.arc, append=0.0)
    step[ways.begin[1:] - 1] = 0.0
    crossed = np.add.reduceat(step * pull, ways.begin[:-1])
    # Ways that are equal, as on a symmetric slab, must not be told apart by the last digit: the first one is taken.
    crossed = np.round(crossed / max(crossed.max(), 1e-300), 9)
    order = np.lexsort((-np.arange(len(piece)), crossed, piece))
    chosen = order[np.append(np.flatnonzero(np.diff(piece[order])), len(piece) - 1)]
    return ways.only(chosen), spot[chosen]


def _divided(ground: Ground, ways: Lines) -> tuple[ComplexArray, IntArray, BoolArray]:
    """Starts of lines (k,) along ways across the paths, their fields (k,), and whether to draw them (k,).

    Between two lines the gaps are equal; an edge, or the end of the pull, is half a gap from the nearest line. Where
    there is no room for a line the start is there all the same, so that the ground along it is known to be settled.
    """
    first, last = ways.begin[:-1], ways.begin[1:] - 1
    left, gap_left = _beside(ground, ways, first)
    right, gap_right = _beside(ground, ways, last)
    width = (gap_left + ways.length + gap_right) / CELLS
    halves = np.where(left, 0.0, 0.5) + np.where(right, 0.0, 0.5)
    # n lines and their gaps fill the way: n - 1 gaps, one more at each line, half a one at each edge.
    ideal = np.rint(width + halves - 1).astype(np.intp)
    least = np.where(left & right, 1.5, np.where(left | right, 1.0, 0.0))
    ideal = np.where(ways.closed, np.rint(width).astype(np.intp), ideal)
    number = np.maximum(ideal, 1)
    gap = width / np.where(ways.closed, number, number + 1 - halves)
    way = np.repeat(np.arange(len(width)), number)
    step = np.arange(len(way)) - np.repeat(np.cumsum(number) - number, number)
    offset = np.where(ways.closed, 0.0, np.where(left, 1.0, 0.5))
    along = (offset[way] + step) * gap[way] * CELLS - gap_left[way]
    along = np.clip(along, 0.0, ways.length[way])
    order = np.lexsort((np.abs(along - ways.arc[ways.start][way]), way))
    way, along = way[order], along[order]
    return _at(ways, way, along), ways.field[way], np.asarray((ideal >= 1) & (width >= least))[way]


def _beside(ground: Ground, ways: Lines, end: IntArray) -> tuple[BoolArray, FloatArray]:
    """Whether each way's end (m,) lies beside a line already laid, and how far from it sideways [cells]."""
    owner = ground.cover.owner.ravel()[ground.cover.nodes(ways.places[end], ways.field)]
    met = (owner >= 0) & ~ways.closed
    if not met.any():
        return met, np.zeros(len(end))
    number = np.maximum(owner, 0)
    apart = ways.places[end] - ground.places[number]
    return met, np.where(met, np.abs((ground.tangent[number].conjugate() * apart).imag), 0.0)


def _at(lines: Lines, line: IntArray, along: FloatArray) -> ComplexArray:
    """Places at distances along (k,) [cells] of the given lines (k,)."""
    shift = np.concatenate(([0.0], np.cumsum(lines.length + 1.0)))
    arc = lines.arc + np.repeat(shift[:-1], np.diff(lines.begin))
    x = along + shift[line]
    return np.asarray(np.interp(x, arc, lines.places.real) + 1j * np.interp(x, arc, lines.places.imag))
