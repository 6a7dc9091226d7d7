"""Many lines at once, each followed through its field by small steps, all taking their next step together.

The midpoint rule (Runge-Kutta of second order) with one look-up a step: the field is read half a step ahead along the
tangent that the last step predicts. The predicted tangent also settles which of the two ends of a direction is ahead,
for a stress has a line and no arrow. Steps shorten where the line turns. A line stops outside the slab, at a shut
node, where it has closed into a ring, and where it would turn tighter than an eighth of the spacing: that is an
isotropic point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.paths.raster import Raster

__all__ = ["LONGEST_STEP", "Lanes", "trace"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

LONGEST_STEP = 2.0  # cells: a third of the spacing
SHORTEST_STEP = LONGEST_STEP / 4
SHARPEST = 0.35  # rad: most that a line may turn in half a step
RING_MISS = 1.8  # cells: a ring that misses its start sideways by less than this is closed
WHOLE_TURN = 5.5  # rad: no ring before this much turning
MOST_TURN = 8.5  # rad: beyond this a line is a spiral


@dataclass(frozen=True, eq=False, slots=True)
class Lanes:
    """Half-lines, m of them: number l has the places begin[l] to begin[l + 1] of the flat array places (t,) [cells].

    begin (m + 1,), field (m,); closed (m,): the last place lies at or just past the start, which a whole turn has
    brought back.
    """

    places: ComplexArray
    begin: IntArray
    field: IntArray
    closed: BoolArray


def trace(raster: Raster, shut: BoolArray, start: ComplexArray, field: IntArray, *, across: bool) -> Lanes:
    """Both half-lines from each start (m,) [cells] in its field (m,): 2 m lanes, all one way first, then the other.

    shut (f, n): nodes where a line stops; its last place lies beyond. across: along the smaller principal stress.
    """
    sign = -1.0 if across else 1.0
    v = _unit(np.sqrt(sign * raster.sample_deviator(start, field)))
    w, v, f = np.concatenate((start, start)), np.concatenate((v, -v)), np.concatenate((field, field))
    lane, closed = np.arange(len(w)), np.zeros(len(w), dtype=np.bool_)
    lanes, places = [lane], [w]
    for moved, at, ring in _walk(raster, shut.ravel(), w, v, f, sign):
        lanes.append(moved)
        places.append(at)
        closed[ring] = True
    of_lane = np.concatenate(lanes)
    order = np.argsort(of_lane, kind="stable")
    begin = np.concatenate(([0], np.cumsum(np.bincount(of_lane, minlength=len(w)))))
    return Lanes(np.concatenate(places)[order], begin, f, closed)


def _walk(
    raster: Raster, shut: BoolArray, w: ComplexArray, v: ComplexArray, f: IntArray, sign: float
) -> Iterator[tuple[IntArray, ComplexArray, IntArray]]:
    """Advance all places w along predicted tangents v, step by step, until every lane has stopped.

    Yields for each step the lanes that moved, where to, and the lanes that have become rings.
    """
    base = f * len(raster.inside)
    lane, turned, h = np.arange(len(w)), np.zeros(len(w)), np.full(len(w), LONGEST_STEP)
    begin, first = w, v
    for _ in range(4 * (raster.columns + raster.rows)):
        d = raster.sample_deviator(w + (0.5 * h) * v, f)
        # The turn from v to the direction at the half step: half the angle from v squared to d, which is always the
        # nearer way.
        size, back = np.abs(d), v.conjugate()
        c = _unit(size + sign * d * back * back)
        u = v * c
        bend = np.abs(c.imag)
        sharp = (bend > SHARPEST) | (size < raster.faint[f])
        ahead = _unit(1 + c)  # half of the turn goes on: enough for second order, and errors of the prediction die out
        if sharp.any():
            go = ~sharp
            lost = sharp & (h <= SHORTEST_STEP)
            w, v = np.where(go, w + h * u, w), np.where(go, u * ahead, v)
            turned = turned + np.where(go, 2 * c.imag, 0.0)
            h = np.where(sharp, h / 2, np.where(bend < SHARPEST / 4, np.minimum(1.5 * h, LONGEST_STEP), h))
            moved, at = lane[go], w[go]
        else:
            lost = sharp
            w, v, turned = w + h * u, u * ahead, turned + 2 * c.imag
            h = np.where(bend < SHARPEST / 4, np.minimum(1.5 * h, LONGEST_STEP), h)
            moved, at = lane, w
        stop = shut[base + raster.node(w)] | lost
        ring = lane[:0]
        far_round = np.abs(turned) > WHOLE_TURN
        if far_round.any():
            miss = (w - begin) * first.conjugate()
            past = far_round & (miss.real >= 0) & (miss.real <= 2 * LONGEST_STEP) & (np.abs(miss.imag) < RING_MISS)
            ring = lane[past]
            stop |= past | (np.abs(turned) > MOST_TURN)
        yield moved, at, ring
        if stop.any():
            keep = np.flatnonzero(~stop)
            if len(keep) == 0:
                return
            w, v, f, h, turned, lane = w[keep], v[keep], f[keep], h[keep], turned[keep], lane[keep]
            base, begin, first = base[keep], begin[keep], first[keep]


def _unit(z: ComplexArray) -> ComplexArray:
    """Numbers z made one long; zero stays zero."""
    return np.asarray(z / np.maximum(np.abs(z), 1e-300))
