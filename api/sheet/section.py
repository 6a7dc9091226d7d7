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
CLEAR = 0.006
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


def section_of(matter: Matter, length: float) -> Section:
    """The cut of a length [m] that shows most layers, then most runs, then most slab."""
    region = matter.shape.region()
    best: tuple[tuple[int, int, float, float], Section] | None = None
    beside = [[run.points[0][1 - axis] for run in matter.runs if _along_axis(run, axis)] for axis in (0, 1)]
    for axis in (0, 1):
        low, high = region.bounds[1 - axis], region.bounds[3 - axis]
        for place in np.linspace(low, high, TRIED + 2)[1:-1].tolist():
            if min((abs(place - one) for one in beside[axis]), default=1.0) < CLEAR:
                continue
            for section in _cuts(matter.runs, region, axis, place, length):
                slab = sum(b - a for a, b in section.solid)
                central = -abs(place - (low + high) / 2)
                worth = (
                    len(section.layers),
                    len({run.mark for run in section.runs}),
                    round(slab, 3),
                    round(central, 3),
                )
                if best is None or worth > best[0]:
                    best = worth, section
    if best is None:
        raise ValueError("the slab has no inside to cut")
    return best[1]


def _cuts(runs: Sequence[Run], region: shapely.Polygon, axis: int, place: float, length: float) -> list[Section]:
    """Cuts at one place: windows that begin just before each crossing, or at the slab's own ends."""
    low, high = region.bounds[axis], region.bounds[2 + axis]
    line = shapely.LineString([_spot(axis, low - 1, place), _spot(axis, high + 1, place)])
    parts = [part for part in shapely.get_parts(region.intersection(line)) if part.length > 0.01]
    solid = [tuple(sorted(point[axis] for point in part.coords))[:2] for part in parts]
    if not solid:
        return []
    crossings = sorted(_crossings(runs, axis, place), key=lambda one: one.at)
    begins = [one.at - 0.02 for one in crossings] or [a for a, _ in solid]
    found = []
    for begin in begins:
        begin = min(max(begin, low - 0.01), max(high + 0.01 - length, low - 0.01))
        end = min(begin + length, high + 0.01)
        inside = tuple(one for one in crossings if begin + 0.004 < one.at < end - 0.004)
        pieces = tuple((max(a, begin), min(b, end)) for a, b in solid if min(b, end) - max(a, begin) > 0.002)
        if pieces:
            behind = tuple(_behind(runs, axis, place, pieces[0][0], pieces[-1][1]))
            cut = Section(0 if axis == 0 else 1, place, begin, end, pieces, inside, behind)
            found.append(cut)
    return found


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


def _behind(runs: Sequence[Run], axis: int, place: float, begin: float, end: float) -> list[Along]:
    """The nearest run of each layer that goes along with the cut behind it."""
    across = 1 - axis
    nearest: dict[tuple[Face, int], tuple[float, Along]] = {}
    for run in runs:
        if not _along_axis(run, axis):
            continue
        points = np.asarray(run.points, dtype=np.float64)
        off = float(points[:, across].mean()) - place
        a, b = sorted(points[:, axis].tolist())
        a, b = max(a, begin), min(b, end)
        if 0 <= off <= BEHIND and b - a > 0.02:
            key = (run.face, run.layer)
            if key not in nearest or off < nearest[key][0]:
                nearest[key] = off, Along(a, b, run)
    return [one for _, one in nearest.values()]


def _along_axis(run: Run, axis: int) -> bool:
    """Whether a run goes along with a cut (to a degree)."""
    points = np.asarray(run.points, dtype=np.float64)
    step = points[-1] - points[0]
    return len(points) == 2 and bool(abs(step[1 - axis]) <= math.sin(math.radians(1)) * math.hypot(*step))


def _spot(axis: int, along: float, across: float) -> tuple[float, float]:
    return (along, across) if axis == 0 else (across, along)
