"""From half-lines to lines: cut where they leave the slab or where tension fades, joined at the start, closed if rings.

The tracer stops a step too late, beyond the slab's edge or the floor of tension. Here each half-line is cut exactly:
at its first crossing with the edge itself, piece by piece, and where its tension reaches the floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from fem.paths.raster import Raster
from fem.paths.tracing import Lanes

__all__ = ["Edge", "Lines", "lines_from"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True)
class Lines:
    """Lines, m of them, in flat arrays of t places: line l has the places begin[l] to begin[l + 1].

    places (t,) [cells], arc (t,) distance along the line [cells], tangent (t,) unit; begin (m + 1,); field, start
    (m,): the place from which it was traced; closed (m,): a ring, whose last place is its first; whole (m,): a ring,
    or both ends lie at the slab's edge or at the floor of tension; turn (m,) whole turning [rad].
    """

    places: ComplexArray
    arc: FloatArray
    tangent: ComplexArray
    begin: IntArray
    field: IntArray
    start: IntArray
    closed: BoolArray
    whole: BoolArray
    turn: FloatArray

    @property
    def length(self) -> FloatArray:
        """Length of each line (m,) [cells]."""
        return np.asarray(self.arc[self.begin[1:] - 1] - self.arc[self.begin[:-1]])

    def only(self, chosen: IntArray) -> Lines:
        """The chosen lines (k,)."""
        count = np.diff(self.begin)[chosen]
        begin = np.concatenate(([0], np.cumsum(count)))
        shift = self.begin[chosen] - begin[:-1]
        at = np.arange(begin[-1]) + np.repeat(shift, count)
        return Lines(
            self.places[at],
            self.arc[at],
            self.tangent[at],
            begin,
            self.field[chosen],
            self.start[chosen] - shift,
            self.closed[chosen],
            self.whole[chosen],
            self.turn[chosen],
        )


@dataclass(frozen=True, eq=False, slots=True)
class Edge:
    """The slab's edge, pieces (b, 2) [cells], ready to be searched."""

    pieces: ComplexArray
    tree: shapely.STRtree

    @classmethod
    def of(cls, raster: Raster) -> Edge:
        """The edge of the slab under a raster."""
        ends = np.stack((raster.edges.real, raster.edges.imag), axis=-1)
        return cls(raster.edges, shapely.STRtree(list(np.ravel(np.asarray(shapely.linestrings(ends))))))

    def first_crossing(self, start: ComplexArray, step: ComplexArray) -> tuple[IntArray, FloatArray]:
        """Which of the straight steps (k,) cross the edge, and at what part of it, 0 to 1; a step may come twice."""
        boxes = shapely.box(
            np.minimum(start.real, (start + step).real),
            np.minimum(start.imag, (start + step).imag),
            np.maximum(start.real, (start + step).real),
            np.maximum(start.imag, (start + step).imag),
        )
        which, piece = self.tree.query(boxes)
        side = self.pieces[piece, 1] - self.pieces[piece, 0]
        apart = self.pieces[piece, 0] - start[which]
        step = step[which]
        turn = (step.conjugate() * side).imag
        with np.errstate(divide="ignore", invalid="ignore"):
            part = (apart.conjugate() * side).imag / turn
            along = (apart.conjugate() * step).imag / turn
        # A hair more than the piece itself, so that nothing slips out between two pieces.
        hit = (part >= 0) & (part <= 1) & (along >= -1e-9) & (along <= 1 + 1e-9)
        return np.asarray(which[hit]), np.asarray(part[hit])


def lines_from(raster: Raster, edge: Edge, lanes: Lanes, floor: FloatArray) -> Lines:
    """Lines made of lanes l and l + m together, within the slab and where tension exceeds floor (f,)."""
    end, closed = _ends(raster, edge, lanes, floor)
    places, count = _cut(lanes, end)
    m = len(count) // 2
    # The other half of a ring runs over it once more.
    behind = closed[m:] & ~closed[:m]
    front, back = np.where(behind, 1, count[:m]), np.where(closed[:m], 1, count[m:])
    begin = np.concatenate(([0], np.cumsum(front + back - 1)))
    line = np.repeat(np.arange(m), front + back - 1)
    step = np.arange(begin[-1]) - (begin[:-1] + back - 1)[line]
    joined = places[lanes.begin[np.where(step < 0, line + m, line)] + np.abs(step)]
    ring = closed[:m] | behind
    joined = _closed(joined, begin, line, ring, behind)
    cut = end < np.diff(lanes.begin) - 1
    whole = ring | (cut[:m] & cut[m:])
    return _measured(joined, begin, lanes.field[:m], begin[:-1] + back - 1, ring, whole)


def _ends(raster: Raster, edge: Edge, lanes: Lanes, floor: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Where each lane ends, as a fractional place number (m,), and which lanes are rings (m,)."""
    w, count = lanes.places, np.diff(lanes.begin)
    lane = np.repeat(np.arange(len(count)), count)
    step = np.arange(len(w)) - lanes.begin[lane]
    # A ring ends beside its start: as far short of its last place as that lies beyond.
    start, tip, before = w[lanes.begin[:-1]], w[lanes.begin[1:] - 1], w[lanes.begin[1:] - np.minimum(count, 2)]
    over = np.clip(((tip - start) / np.where(tip == before, 1.0, tip - before)).real, 0.0, 1.0)
    ring_end = count - 1 - np.where(lanes.closed, over, 0.0)
    end = ring_end.copy()
    near = raster.rim[raster.node(w)]
    check = np.flatnonzero((lane[1:] == lane[:-1]) & (near[1:] | near[:-1]))
    which, part = edge.first_crossing(w[check], w[check + 1] - w[check])
    np.minimum.at(end, lane[check[which]], step[check[which]] + part)
    field = lanes.field[lane]
    excess = raster.tension(w, field) - floor[field]
    faint = np.flatnonzero(excess <= 0)
    above, drop = excess[faint - 1], excess[faint - 1] - excess[faint]
    # Only a lane's first fall below the floor counts; the places after it have no crossing of their own.
    fade = np.where(above > 0, step[faint] - 1 + above / np.where(above > 0, drop, 1.0), np.inf)
    np.minimum.at(end, lane[faint], np.where(step[faint] == 0, 0.0, fade))
    return end, lanes.closed & (end >= ring_end)


def _cut(lanes: Lanes, end: FloatArray) -> tuple[ComplexArray, IntArray]:
    """Places with the cut ends written in, and how many are left (m,)."""
    whole = np.floor(end).astype(np.intp)
    part = end - whole
    at = lanes.begin[:-1] + whole
    places, ahead = lanes.places.copy(), np.minimum(at + 1, lanes.begin[1:] - 1)
    tip = places[at] + part * (places[ahead] - places[at])
    # No last step of next to nothing.
    last = np.where((part == 0) | ((part < 0.01) & (whole > 0)), whole, whole + 1)
    places[lanes.begin[:-1] + last] = np.where(last == 0, places[lanes.begin[:-1]], tip)
    return places, last + 1


def _closed(places: ComplexArray, begin: IntArray, line: IntArray, ring: BoolArray, behind: BoolArray) -> ComplexArray:
    """Places with each ring's miss spread evenly over it, so that it ends where it begins."""
    if not ring.any():
        return places
    first, last = places[begin[:-1]], places[begin[1:] - 1]
    share = (np.arange(len(places)) - begin[line]) / np.maximum(begin[1:] - begin[:-1] - 1, 1)[line]
    miss = np.where(ring, np.where(behind, first - last, last - first), 0.0)
    # A ring traced backwards has its start, the true place, at its far end.
    moved = places - miss[line] * np.where(behind[line], 1 - share, share)
    moved[begin[1:][ring] - 1] = moved[begin[:-1][ring]]
    return np.asarray(moved)


def _measured(
    places: ComplexArray,
    begin: IntArray,
    field: IntArray,
    start: IntArray,
    closed: BoolArray,
    whole: BoolArray,
) -> Lines:
    """Lines with their lengths, tangents and turning worked out from the places."""
    step = np.diff(places, append=places[-1:])
    step[begin[1:] - 1] = 0.0
    length = np.abs(step)
    arc = np.cumsum(length) - length
    arc -= np.repeat(arc[begin[:-1]], np.diff(begin))
    before = np.concatenate((step[:1] * 0, step[:-1]))
    chord = step + before
    tangent = chord / np.maximum(np.abs(chord), 1e-300)
    bend = np.where((length > 0) & (np.abs(before) > 0), np.angle(before.conjugate() * step), 0.0)
    turn = np.add.reduceat(bend, begin[:-1])
    return Lines(places, arc, tangent, begin, field, start, closed, whole, np.asarray(turn))
