"""Lines laid evenly: across the strongest pull first, at equal distances, then wherever the lines leave room for one more.

Each round takes a few spots in every piece of ground that still asks for a line, the most strongly pulled one among them, goes
from each straight across the paths to the next lines or edges on either side, keeps the way that crosses most
tension, divides it evenly, and follows the path through each dividing point. So the lines begin as even as they can be, whatever the spot; where they draw together one of two ends, and
where they spread the next round begins another between them. The limits are those of fem/paths/cover.py.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fem.paths.cover import CELLS, CLOSEST, FREE, Cover
from fem.paths.lines import Edge, Lines, lines_from
from fem.paths.raster import Raster
from fem.paths.tracing import trace

__all__ = ["Laid", "lay_lines"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

ROUNDS = 8
SHORTEST = 1.5  # spacings: anything shorter is a stub,
SHORTEST_WHOLE = 0.5  # unless it is the whole path, from edge to edge of a narrow rail or of a narrow patch of pull
FEWEST = 2  # squares of four nodes of asking ground that are worth another line
SPOTS, GAP_SPOTS = 6, 2  # tried in each piece of asking ground besides the most strongly pulled one; later, in gaps
CURLED = 2.2  # rad: a line that turns less cannot come back upon itself
NO_RING = 1.2  # spacings along a line: places closer than this along it are neighbours, not a return


@dataclass(eq=False, slots=True)
class Laid:
    """Lines laid so far: for each its places (k,) [cells], its field and whether it is a ring."""

    places: list[ComplexArray] = field(default_factory=list)
    fields: list[int] = field(default_factory=list)
    rings: list[bool] = field(default_factory=list)


@dataclass(eq=False, slots=True)
class _Ground:
    """What the rounds share: the cover, and the places and tangents of all lines tried, by the numbers in cover.owner."""

    cover: Cover
    places: ComplexArray
    tangent: ComplexArray


def lay_lines(raster: Raster, floor: FloatArray) -> Laid:
    """Evenly spaced lines of every field on a raster, where its tension exceeds floor (f,) [Pa]; strongest first."""
    edge, laid = Edge.of(raster), Laid()
    ground = _Ground(Cover(raster, floor), np.empty(0, dtype=np.complex128), np.empty(0, dtype=np.complex128))
    for turn in range(ROUNDS):
        spot, of_field, piece = ground.cover.places_asking(*((1, SPOTS) if turn == 0 else (FEWEST, GAP_SPOTS)))
        if len(spot) == 0:
            break
        shut = ground.cover.owner != FREE
        ways = lines_from(raster, edge, trace(raster, shut, spot, of_field, across=True), floor)
        ways, spot = _weightiest(raster, ways, spot, piece)
        start, of_field, drawn = _divided(ground, ways)
        lines = lines_from(raster, edge, trace(raster, shut, start, of_field, across=False), floor)
        _choose(ground, lines, drawn, laid)
        ground.cover.settle(ground.cover.nodes(spot, np.asarray(ways.field)))
    return laid


def _weightiest(raster: Raster, ways: Lines, spot: ComplexArray, piece: IntArray) -> tuple[Lines, ComplexArray]:
    """Of the ways (m,) through spots (m,) in each piece of ground (m,) the one that crosses most tension, and its spot."""
    pull = raster.tension(ways.places, np.repeat(ways.field, np.diff(ways.begin)))
    step = np.diff(ways.arc, append=0.0)
    step[ways.begin[1:] - 1] = 0.0
    crossed = np.add.reduceat(step * pull, ways.begin[:-1])
    # Ways that are equal, as on a symmetric slab, must not be told apart by the last digit: the first one is taken.
    crossed = np.round(crossed / max(crossed.max(), 1e-300), 9)
    order = np.lexsort((-np.arange(len(piece)), crossed, piece))
    chosen = order[np.append(np.flatnonzero(np.diff(piece[order])), len(piece) - 1)]
    return ways.only(chosen), spot[chosen]


def _divided(ground: _Ground, ways: Lines) -> tuple[ComplexArray, IntArray, BoolArray]:
    """Starts of lines (k,) along ways across the paths, their fields (k,), and whether to draw them (k,).

    Between two lines the gaps are equal; an edge, or the end of the pull, is half a gap from the nearest line.
    Where there is no room for a line the start is there all the same, so that the ground along it is known to be settled.
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


def _beside(ground: _Ground, ways: Lines, end: IntArray) -> tuple[BoolArray, FloatArray]:
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


def _choose(ground: _Ground, lines: Lines, drawn: BoolArray, laid: Laid) -> None:
    """Lay the parts of lines that keep clear of those before them, first come first served, and settle the ground of all."""
    cover, base = ground.cover, len(ground.places)
    ground.places = np.concatenate((ground.places, lines.places))
    ground.tangent = np.concatenate((ground.tangent, lines.tangent))
    nodes = cover.nodes(lines.places, np.repeat(lines.field, np.diff(lines.begin)))
    owner = cover.owner.ravel()
    for line in np.flatnonzero(drawn & (lines.length >= SHORTEST_WHOLE * CELLS)):
        begin, end = int(lines.begin[line]), int(lines.begin[line + 1])
        for a, b in _clear(owner[nodes[begin:end]] >= 0):
            uncut = b - a == end - begin
            ring = uncut and bool(lines.closed[line])
            least = SHORTEST_WHOLE if uncut and lines.whole[line] else SHORTEST
            a, b = begin + a, begin + b
            if not ring and abs(lines.turn[line]) > CURLED:
                a, b = _uncurled(lines.places, lines.arc, a, b)
            if lines.arc[b - 1] - lines.arc[a] < least * CELLS:
                continue
            cover.lay(nodes[a:b], base + a)
            laid.places.append(lines.places[a:b])
            laid.fields.append(int(lines.field[line]))
            laid.rings.append(ring)
    cover.settle(nodes)


def _clear(taken: BoolArray) -> list[tuple[int, int]]:
    """Stretches (from, to) of places that are not taken, the longest first."""
    if not taken.any():
        return [(0, len(taken))]
    change = np.flatnonzero(np.diff(np.concatenate(([True], taken, [True])).astype(np.int8)))
    stretches = zip(change[::2].tolist(), change[1::2].tolist(), strict=True)
    return sorted(stretches, key=lambda s: s[0] - s[1])


def _uncurled(places: ComplexArray, arc: FloatArray, a: int, b: int) -> tuple[int, int]:
    """The longest stretch within places a to b that does not come close to itself: hairpins and spirals are cut."""
    w, s = places[a:b], arc[a:b]
    near = np.abs(w[:, None] - w) < CLOSEST * CELLS
    near &= s[None, :] - s[:, None] > NO_RING * CELLS
    if not near.any():
        return a, b
    # The first place that each place must not be drawn together with, itself included in all that come later.
    first = np.where(near.any(axis=1), near.argmax(axis=1), len(w))
    end = np.minimum.accumulate(first[::-1])[::-1]
    best = int(np.argmax(s[end - 1] - s))
    return a + best, a + int(end[best])
