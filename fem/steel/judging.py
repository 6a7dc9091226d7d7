"""What a given layout is worth: what it carries of what is owed, which of its runs do nothing, and why.

Runs are first cut and split as they really work (see fem.steel.legs), then weighed as those of a plan are. Steel at
mid-depth gets the strength that it has there; a run square across the pull gives none along it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely
from scipy.spatial import KDTree

from fem.steel.capacity import FACES, Worth, arm, bars_of, in_directions, shares
from fem.steel.ground import ground_of
from fem.steel.legs import Leg, Way, way_of
from fem.steel.model import Carried, Demand, Face, Judgement, Rules, Run, RunWorth

__all__ = ["judge", "working_legs"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: A run serves a face if it has there at least this share of its strength on the other one.
SERVES = 0.5
#: A run lies at mid-depth if its two arms differ by less than this share of the thickness.
MIDDLE = 0.15
_OUT = "pulls out where it bends round an inner corner"
_STEP = 0.01
_NEAREST = 24
_SHARE = 0.01


def judge(
    given: Sequence[Run], region: shapely.Polygon, thickness: float, demand: Demand, rules: Rules, worth: Worth
) -> Judgement:
    """The worth of runs through two or more points, in a slab of a thickness [m]. ValueError for one without length."""
    ways = [way_of(run, region, thickness, rules) for run in given]
    legs = [leg for way in ways for leg in way.legs if leg.works(rules)]
    tensor = _strength(legs, demand.points, region, thickness, rules, worth)
    wanting = _Wanting(demand, rules, thickness, worth)
    middle = [run.mark for run in given if abs(thickness - 2 * run.depth) < MIDDLE * thickness]
    return Judgement(
        carried=_carried(tensor, demand),
        worth=tuple(_run_worth(run, way, wanting) for run, way in zip(given, ways, strict=True)),
        cut_by_opening=tuple(run.mark for run, way in zip(given, ways, strict=True) if way.cut_by_opening),
        pulls_out=tuple((run.mark, at) for run, way in zip(given, ways, strict=True) for at in way.pulls_out),
        length=sum(run.length for run in given),
        notes=_notes(given, ways, middle),
        cuts=tuple(
            (run.mark, at)
            for run, way in zip(given, ways, strict=True)
            for at in (*way.cut_by_opening, *way.cut_by_edge)
        ),
    )


def working_legs(given: Sequence[Run], region: shapely.Polygon, thickness: float, rules: Rules) -> tuple[Run, ...]:
    """The straight legs of a layout that do something, as runs of their own."""
    ways = (way_of(run, region, thickness, rules) for run in given)
    return tuple(leg.run for way in ways for leg in way.legs if leg.works(rules))


def _strength(
    legs: Sequence[Leg], points: FloatArray, region: shapely.Polygon, thickness: float, rules: Rules, worth: Worth
) -> dict[Face, FloatArray]:
    """Strength tensor of the legs at points, as fem.steel.capacity has it for runs whose ends are free.

    A leg that is held at an end is lengthened there by what it would have needed, and then counts as far as it goes.
    """
    ground = ground_of(region, points)
    strength: dict[Face, FloatArray] = {face: np.zeros((len(points), 3)) for face in FACES}
    for bars, numbers in bars_of([_lengthened(leg, rules) for leg in legs]):
        share = shares(ground, bars, rules).tocoo()
        c, s = np.cos(bars.angle), np.sin(bars.angle)
        ends = np.sort(np.array([legs[k].run.points for k in numbers]) @ (c, s), axis=1)[share.col]
        along = ground.along(bars.angle)[share.row]
        within = np.where((along > ends[:, 0]) & (along < ends[:, 1]), share.data, 0.0)
        working = sp.csr_matrix((within, (share.row, share.col)), shape=share.shape)
        for face in FACES:
            each = [
                max(worth(run.steel, arm(run.depth, thickness, face)), 0.0) for run in (legs[k].run for k in numbers)
            ]
            strength[face] += np.multiply.outer(working @ np.array(each), (c * c, s * s, c * s))
    return strength


def _lengthened(leg: Leg, rules: Rules) -> Run:
    begin, end = np.asarray(leg.run.points)
    along = (end - begin) / leg.run.length
    more = np.array(leg.built) * (rules.anchorage if np.isfinite(rules.anchorage) else 0.0)
    points = begin - more[0] * along, end + more[1] * along
    return replace(leg.run, points=tuple((float(x), float(y)) for x, y in points))


def _carried(tensor: dict[Face, FloatArray], demand: Demand) -> Carried:
    """What a strength carries of a demand; what is less than a billionth of what is owed is nothing."""
    use: dict[Face, FloatArray] = {}
    worst, binding = 0.0, None
    for face in FACES:
        needed, strength = demand.needed[face], in_directions(tensor[face], demand.angles)
        nothing = strength <= 1e-9 * needed
        ratio = np.where(needed > 0, np.where(nothing, np.inf, needed / np.where(nothing, 1.0, strength)), 0.0)
        use[face] = ratio.max(axis=1, initial=0.0)
        if ratio.max(initial=0.0) > worst:
            worst = float(ratio.max())
            # Of many places where nothing is carried the one that owes most is told.
            most = np.where(ratio == worst, needed, -1.0)
            place = np.unravel_index(int(most.argmax()), most.shape)
            binding = face, int(place[0]), int(place[1])
    if binding is None:
        return Carried(np.inf, use, None, None, None, "")
    face, point, angle = binding
    at = (float(demand.points[point, 0]), float(demand.points[point, 1]))
    stage = demand.names[demand.governs[face][point, angle]]
    return Carried(1 / worst, use, at, face, float(demand.angles[angle]), stage)


@dataclass(frozen=True, eq=False)
class _Wanting:
    """Where something is owed along a run: by the points of the demand nearest to it, within its reach."""

    demand: Demand
    rules: Rules
    thickness: float
    worth: Worth

    @cached_property
    def _tree(self) -> KDTree:
        return KDTree(self.demand.points)

    def along(self, run: Run, places: FloatArray) -> BoolArray:
        """Whether anything is owed along a straight run near places (k, 2) [m] on a face that it serves: (k,)."""
        (x0, y0), (x1, y1) = run.points
        turn = (self.demand.angles - np.arctan2(y1 - y0, x1 - x0) + np.pi / 2) % np.pi - np.pi / 2
        each = {face: self.worth(run.steel, arm(run.depth, self.thickness, face)) for face in FACES}
        served = [face for face in FACES if each[face] > 0 and each[face] >= SERVES * max(each.values())]
        if not served:
            return np.zeros(len(places), dtype=bool)
        near = int(np.abs(turn).argmin())
        owed = np.max([self.demand.needed[face][:, near] for face in served], axis=0) > 0
        count = min(_NEAREST, len(owed))
        _, found = self._tree.query(places, count, distance_upper_bound=self.rules.most)
        found = np.asarray(found).reshape(len(places), count)
        return np.asarray(np.append(owed, False)[found].any(axis=1))


def _run_worth(run: Run, way: Way, wanting: _Wanting) -> RunWorth:
    """How much of a run is idle, and the reasons."""
    lost = max(run.length - sum(leg.run.length for leg in way.legs), 0.0)
    reasons = {"cut out by an opening" if way.cut_by_opening else "outside the slab": lost}
    idle = lost
    for leg in way.legs:
        length = leg.run.length
        if not leg.works(wanting.rules):
            why, share = "too short to anchor" if not way.pulls_out else _OUT, 1.0
        else:
            count = max(int(np.ceil(length / _STEP)), 1)
            begin, end = np.asarray(leg.run.points)
            places = begin + np.outer((np.arange(count) + 0.5) / count, end - begin)
            why, share = "nothing is owed along it", 1 - float(wanting.along(leg.run, places).mean())
        reasons[why] = reasons.get(why, 0.0) + share * length
        idle += share * length
    told = [why for why, length in reasons.items() if length > _SHARE * run.length]
    if way.pulls_out and _OUT not in told:
        told.append(_OUT)
    return RunWorth(run.mark, run.length, min(idle / run.length, 1.0), "; ".join(told))


def _notes(given: Sequence[Run], ways: Sequence[Way], middle: Sequence[str]) -> tuple[str, ...]:
    notes = []
    outside = [run.mark for run, way in zip(given, ways, strict=True) if way.cut_by_edge]
    if outside:
        notes.append(f"the edge cuts {_listed(outside)}: what lies outside the slab counts nothing")
    if middle:
        small = "a small arm to either face, so little strength, and none before the slab cracks"
        notes.append(f"at mid-depth: {_listed(middle)}; {small}")
    return tuple(notes)


def _listed(marks: Sequence[str]) -> str:
    return marks[0] if len(marks) == 1 else f"{', '.join(marks[:-1])} and {marks[-1]}"
