"""Where the slab is cut for the section: the stretch that shows most layers of steel, and what is seen in it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from api.sheet.matter import Matter
from api.sheet.truesize import wires_of
from fem.steel.model import Face, Run

__all__ = ["Along", "Crossing", "Section", "section_of"]

FloatArray = npt.NDArray[np.float64]
TRIED = 60
"""So many places of the cut are tried each way."""
BEHIND = 0.15
"""A run that goes along with the cut is drawn where it lies no farther behind it [m]."""
CLEAR = 0.016
"""The cut keeps so far from every run that goes along with it [m]."""
FLATTEST = math.radians(15)
"""A run that meets the cut at less than this goes along with it."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A wire that the cut goes through, at a distance along the cut [m]; stretch: how much wider it looks there."""

    at: float
    run: Run
    stretch: float


@dataclass(frozen=True, slots=True)
class Along:
    """A run seen behind the cut, from one place along it to another [m]."""

    begin: float
    end: float
    run: Run


@dataclass(frozen=True, slots=True)
class Section:
    """A cut along x (axis 0) or y (axis 1) at a place [m] of the other axis, from begin to end [m].

    solid: stretches that are slab, the rest being openings or beyond the edge.
    """

    axis: Literal[0, 1]
    place: float
    begin: float
    end: float
    solid: tuple[tuple[float, float], ...]
    crossings: tuple[Crossing, ...]
    along: tuple[Along, ...]

    @property
    def layers(self) -> set[tuple[Face, int, float]]:
        """The layers that are seen: face, number, depth [m]."""
        return {(run.face, run.layer, round(run.depth, 5)) for run in self.runs}

    @property
    def runs(self) -> list[Run]:
        """The runs that are seen."""
        return [*(one.run for one in self.crossings), *(one.run for one in self.along)]


def section_of(matter: Matter, length: float, clear: float = CLEAR) -> Section:
    """The cut of a length [m] that shows most layers, then most runs, then most slab, then nearest to the middle."""
    region = matter.shape.region()
    best: tuple[tuple[int, int, float, float], Section] | None = None
    for axis in (0, 1):
        low, high = region.bounds[1 - axis], region.bounds[3 - axis]
        level = [_level(run, axis) for run in matter.runs if _goes_along(run, axis)]
        for place in np.linspace(low, high, TRIED + 2)[1:-1].tolist():
            if min((abs(place - one.off) for one in level), default=1.0) < clear:
                continue
            for section in _cuts(matter.runs, level, region, axis, place, length):
                slab = sum(b - a for a, b in section.solid)
                central = -abs(place - (low + high) / 2)
                marks = {run.mark for run in section.runs}
                worth = (len(section.layers), len(marks), round(slab, 3), round(central, 3))
                if best is None or worth > best[0]:
                    best = worth, section
    if best is None and clear > 0:
        return section_of(matter, length, 0.0)  # runs lie so close that no cut keeps clear of them
    if best is None:
        raise ValueError("the slab has no inside to cut")
    return best[1]


def _cuts(
    runs: Sequence[Run], level: Sequence[_Level], region: shapely.Polygon, axis: int, place: float, length: float
) -> list[Section]:
    """Cuts at one place: windows that begin just before each crossing, or at the slab's own ends."""
    low, high = region.bounds[axis], region.bounds[2 + axis]
    line = shapely.LineString([_spot(axis, low - 1, place), _spot(axis, high + 1, place)])
    parts = [part for part in shapely.get_parts(region.intersection(line)) if part.length > 0.01]
    solid = sorted(tuple(sorted(point[axis] for point in part.coords))[:2] for part in parts)
    if not solid:
        return []
    crossings = sorted(_crossings(runs, axis, place), key=lambda one: one.at)
    behind = [one for one in level if 0 <= one.off - place <= BEHIND]
    found = []
    for begin in {one.at - 0.02 for one in crossings} or {a for a, _ in solid}:
        begin = min(max(begin, low - 0.01), max(high + 0.01 - length, low - 0.01))
        end = min(begin + length, high + 0.01)
        inside = tuple(one for one in crossings if begin + 0.004 < one.at < end - 0.004)
        pieces = tuple((max(a, begin), min(b, end)) for a, b in solid if min(b, end) - max(a, begin) > 0.002)
        if pieces:
            seen = tuple(_seen(behind, place, pieces[0][0], pieces[-1][1]))
            found.append(Section(0 if axis == 0 else 1, place, begin, end, pieces, inside, seen))
    return sorted(found, key=lambda cut: cut.begin)


@dataclass(frozen=True, slots=True)
class _Level:
    """A run that goes along with the cut: its place across [m], its ends along."""

    run: Run
    off: float
    begin: float
    end: float


def _level(run: Run, axis: int) -> _Level:
    (a, b), (c, d) = run.points
    along, across = ((a, c), (b, d)) if axis == 0 else ((b, d), (a, c))
    return _Level(run, sum(across) / 2, min(along), max(along))


def _goes_along(run: Run, axis: int) -> bool:
    """Whether a run goes along with a cut (to a degree)."""
    points = np.asarray(run.points, dtype=np.float64)
    step = points[-1] - points[0]
    return len(points) == 2 and bool(abs(step[1 - axis]) <= math.sin(math.radians(1)) * math.hypot(*step))


def _crossings(runs: Sequence[Run], axis: int, place: float) -> list[Crossing]:
    across = 1 - axis
    found = []
    for run in runs:
        for wire in wires_of(run):
            for a, b in itertools.pairwise(wire):
                step = b - a
                if abs(step[across]) <= math.sin(FLATTEST) * math.hypot(*step):
                    continue
                share = (place - a[across]) / step[across]
                if 0 <= share <= 1:
                    stretch = math.hypot(*step) / abs(step[across])
                    found.append(Crossing(float(a[axis] + share * step[axis]), run, float(stretch)))
    return found


def _seen(behind: Sequence[_Level], place: float, begin: float, end: float) -> list[Along]:
    """The nearest run of each layer that goes along with the cut behind it."""
    nearest: dict[tuple[Face, int], tuple[float, Along]] = {}
    for one in behind:
        a, b = max(one.begin, begin), min(one.end, end)
        key, off = (one.run.face, one.run.layer), one.off - place
        if b - a > 0.02 and (key not in nearest or off < nearest[key][0]):
            nearest[key] = off, Along(a, b, one.run)
    return [one for _, one in nearest.values()]


def _spot(axis: int, along: float, across: float) -> tuple[float, float]:
    return (along, across) if axis == 0 else (across, along)
