"""What is left of a bent run once openings have cut it and its bends have been looked at: straight legs and their ends.

A pulled wire presses against the inside of its bend. Where slab lies there the bend holds, and the leg before it is
anchored as by a hook; where a void lies there - the corner of an opening, the notch of an L - the bend pulls out, and
both legs end in the open. Common practice, no source; the reason is plain statics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.model import Point, Rules, Run

__all__ = ["Leg", "Way", "way_of"]

FloatArray = npt.NDArray[np.float64]

#: A bend is as good as straight below the first, a hook from the second on [rad]; between it is a bend, but no hook.
GENTLE, HOOK = np.radians(20.0), np.radians(60.0)
#: A hook needs so many diameters behind its bend: ACI 318-19 25.3.1.
TAIL = 12.0
#: Slab that is thinner than so many thicknesses on the inside of a bend breaks out (judgement, no source).
INSIDE = 5.0
#: Wiggles smaller than so many thicknesses are no bends.
WIGGLE = 0.15
#: A run that ends so near to its begin [m] is a ring.
CLOSED = 1e-3
_HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight part of a given run; built is the share of its full pull that it has already at begin and end."""

    run: Run
    built: tuple[float, float]

    def works(self, rules: Rules) -> bool:
        """Whether it is long enough to do anything, or held at an end."""
        return max(self.built) > 0 or self.run.length >= rules.least_length


@dataclass(frozen=True, slots=True)
class Way:
    """A given run as it really lies: its legs, where it pulls out, where openings and where the edge cut it."""

    legs: tuple[Leg, ...]
    pulls_out: tuple[Point, ...]
    cut_by_opening: tuple[Point, ...]
    cut_by_edge: tuple[Point, ...]


def way_of(run: Run, region: shapely.Polygon, thickness: float, rules: Rules) -> Way:
    """The legs of a run of two or more points. ValueError if it has no length."""
    if not (len(run.points) > 1 and run.length > 0):
        raise ValueError(f"run {run.mark!r} has no length")
    path = shapely.simplify(shapely.LineString(run.points), WIGGLE * thickness)
    outline = shapely.buffer(shapely.Polygon(region.exterior), _HAIR)
    by_edge = _middles(shapely.difference(path, outline))
    by_opening = _middles(shapely.difference(shapely.intersection(path, outline), shapely.buffer(region, _HAIR)))
    legs: list[Leg] = []
    out: list[Point] = []
    whole = not (by_edge or by_opening)
    for part in [path] if whole else _parts(shapely.intersection(path, shapely.buffer(region, _HAIR))):
        corners = shapely.get_coordinates(part)
        steps, closed = np.diff(corners, axis=0), float(np.hypot(*(corners[-1] - corners[0]))) < CLOSED
        turn, void = _bends(corners, steps, closed, region, thickness)
        out += _places(corners[:-1][void], thickness)
        ends = _built(np.hypot(*steps.T), turn, void, closed, run, rules)
        for k, (begin, end) in enumerate(pairwise(corners)):
            points = tuple((float(x), float(y)) for x, y in (begin, end))
            legs.append(Leg(replace(run, points=points), (float(ends[k, 0]), float(ends[k, 1]))))
    return Way(tuple(legs), tuple(out), by_opening, by_edge)


def _parts(shape: shapely.Geometry) -> Sequence[shapely.LineString]:
    """Its lines, joined where one goes on in the next."""
    lines = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.LineString) and part.length > _HAIR]
    merged = shapely.line_merge(shapely.MultiLineString(lines)) if len(lines) > 1 else shapely.MultiLineString(lines)
    return [part for part in shapely.get_parts(merged) if isinstance(part, shapely.LineString)]


def _middles(shape: shapely.Geometry) -> tuple[Point, ...]:
    """The middle of each line that is longer than a hair."""
    middles = [shapely.line_interpolate_point(part, 0.5, normalized=True) for part in _parts(shape)]
    return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(middles))


def _bends(
    corners: FloatArray, steps: FloatArray, closed: bool, region: shapely.Polygon, thickness: float
) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """Turn at the begin of every leg (k,) [rad], 0 at an end, and whether a void lies inside that bend (k,)."""
    unit = steps / np.hypot(*steps.T)[:, None]
    before = np.roll(unit, 1, axis=0)
    cross = before[:, 0] * unit[:, 1] - before[:, 1] * unit[:, 0]
    turn = np.abs(np.arctan2(cross, (before * unit).sum(axis=1)))
    if not closed:
        turn[0] = 0.0
    inside = unit - before
    inside /= np.maximum(np.hypot(*inside.T), 1e-12)[:, None]
    rays = shapely.linestrings(np.stack([corners[:-1], corners[:-1] + INSIDE * thickness * inside], axis=1))
    held = shapely.covers(shapely.buffer(region, _HAIR), rays)
    return turn, (turn >= GENTLE) & ~held


def _built(
    length: FloatArray, turn: FloatArray, void: npt.NDArray[np.bool_], closed: bool, run: Run, rules: Rules
) -> FloatArray:
    """Share of its full pull that each leg (k,) has at its begin and end: (k, 2)."""
    forward = _held(length, np.append(turn[1:], turn[0]), np.append(void[1:], void[0]), closed, run, rules)
    backward = _held(length[::-1], turn[::-1], void[::-1], closed, run, rules)[::-1]
    return np.stack([backward, forward], axis=1)


def _held(
    length: FloatArray, turn: FloatArray, void: npt.NDArray[np.bool_], closed: bool, run: Run, rules: Rules
) -> FloatArray:
    """Share of its full pull at the far end of each leg (k,) by what follows; turn and void (k,) are at its far end."""
    count = len(length)
    held = np.zeros(count)
    beyond = 0.0
    # A closed ring is gone round twice, so that its first leg knows what follows its last one.
    for k in [*range(count - 1, -1, -1)] * (2 if closed else 1):
        following = (k + 1) % count
        if void[k] or (k == count - 1 and not closed):
            held[k], beyond = 0.0, 0.0
            continue
        beyond += float(length[following])
        if turn[k] >= HOOK:
            held[k] = float(beyond >= TAIL * run.steel.diameter)
        else:
            held[k] = min(1.0, held[following] + length[following] / rules.anchorage)
    return held


def _places(corners: FloatArray, thickness: float) -> list[Point]:
    """One place for bends that follow each other closely, as the facets of one rounded bend do."""
    found: list[Point] = []
    for x, y in corners:
        if not found or np.hypot(x - found[-1][0], y - found[-1][1]) > INSIDE * thickness:
            found.append((float(x), float(y)))
    return found
