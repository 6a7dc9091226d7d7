"""The best uniform two-way mat of the same wire, cut at openings: what a plan of single runs is measured against.

Each face may have wires in two directions, each at its own spacing, a multiple of the pitch and at most the widest
allowed, spread evenly between the edges; either direction may be the outer one. Of all such mats that carry the demand
the one with least length is taken: they are tried from the shortest up, each first against the places where shorter
ones failed, so that only a few need a look at every place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from math import inf

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.capacity import FACES, Worth, arm, bars_of, carried_by, shares
from fem.steel.chords import chords, extent, free_part
from fem.steel.ground import ground_of
from fem.steel.lines import main_directions
from fem.steel.model import Covers, Demand, Face, Mat, Rules, Run, Steel

__all__ = ["DepthOf", "MatFound", "uniform_mat"]

FloatArray = npt.NDArray[np.float64]

#: Depth [m] of the axis of a layer, counted from a face, below the show face.
DepthOf = Callable[[Face, int], float]

_BLOCK = 1000
_ADDED = 8


@dataclass(frozen=True, eq=False)
class MatFound:
    """The mat, or None where none carries the demand; densest is the load factor of the strongest one that fits."""

    mat: Mat | None
    densest: float


@dataclass(frozen=True, eq=False)
class _Rows:
    """One direction at one spacing [m]: its wires, their length [m], wires at work per width (q,) at points [1/m]."""

    angle: float
    spacing: float
    wires: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    length: float
    share: FloatArray


@dataclass(frozen=True, eq=False)
class _Option:
    """What one face may have: rows of up to two directions by layer, outermost first, and their length [m]."""

    face: Face
    rows: tuple[_Rows, ...]
    length: float


@dataclass(frozen=True, eq=False)
class _Owed:
    """What is owed, one row each: point, angle [rad], face number and moment [N m/m]."""

    point: npt.NDArray[np.int64]
    angle: FloatArray
    face: npt.NDArray[np.int64]
    needed: FloatArray

    def strength(self, option: _Option, worth: FloatArray, only: npt.NDArray[np.int64] | slice) -> FloatArray:
        """Strength of one face's mat where something is owed [N m/m]; worth (layer, face) of one wire [N m]."""
        total = np.zeros(len(self.point[only]))
        for layer, rows in enumerate(option.rows):
            turned = np.cos(self.angle[only] - rows.angle) ** 2
            total += rows.share[self.point[only]] * turned * worth[layer, self.face[only]]
        return total


def uniform_mat(
    region: shapely.Polygon,
    thickness: float,
    demand: Demand,
    steel: Steel,
    covers: Covers,
    rules: Rules,
    worth: Worth,
    depth_of: DepthOf,
    layers: int,
    angle: float | None = None,
) -> MatFound:
    """The mat in the directions angle and square to it [rad]; at most so many layers fit in the slab.

    Without an angle it lies as most of the slab's edges run. A face to which nothing is owed gets none. Pieces shorter
    than rules.least_length are left out.
    """
    if angle is None:
        angle = next(iter(main_directions(region, rules.directions)), 0.0)
    owed = _owed(demand)
    kinds = _kinds(region, demand, steel, covers, rules, angle)
    worths = {
        face: np.array([[worth(steel, arm(depth_of(face, k), thickness, f)) for f in FACES] for k in (0, 1)])
        for face in FACES
    }
    options = [_options(face, kinds, bool((demand.needed[face] > 0).any())) for face in FACES]
    densest = _densest(options, layers, rules.pitch, owed, worths)
    best = _shortest(options, layers, owed, worths)
    if best is None:
        return MatFound(None, densest)
    runs = _runs(best, steel, depth_of)
    spacing = {option.face: _spacings(option, angle) for option in best}
    carried = carried_by(runs, demand, region, thickness, rules, worth)
    return MatFound(Mat(spacing, runs, sum(option.length for option in best), carried), densest)


def _owed(demand: Demand) -> _Owed:
    parts = [np.nonzero(demand.needed[face] > 0) for face in FACES]
    point, angle = (np.concatenate([part[k] for part in parts]) for k in (0, 1))
    face = np.repeat(np.arange(len(FACES)), [len(part[0]) for part in parts])
    needed = np.concatenate([demand.needed[one][part] for one, part in zip(FACES, parts, strict=True)])
    return _Owed(point, demand.angles[angle], face, needed)


def _kinds(
    region: shapely.Polygon, demand: Demand, steel: Steel, covers: Covers, rules: Rules, angle: float
) -> list[list[_Rows]]:
    """Rows at every spacing, the closest first, for each of the two directions."""
    half = max(steel.width, steel.diameter) / 2
    free = free_part(region, covers, half)
    ground = ground_of(region, demand.points)
    kinds = []
    for direction in (angle, angle + np.pi / 2):
        rows = []
        for multiple in range(1, int(rules.most / rules.pitch * (1 + 1e-9)) + 1):
            spacing = multiple * rules.pitch
            wires = chords(free, direction, _even(free, direction, spacing), rules.least_length)
            share = np.zeros(len(demand.points))
            for bars, _ in bars_of([Run("", "show", wire, 0.0, steel) for wire in wires]):
                share += np.asarray(shares(ground, bars, rules).sum(axis=1)).ravel()
            length = sum(float(np.hypot(*np.subtract(*wire))) for wire in wires)
            rows.append(_Rows(direction, spacing, tuple(wires), length, share))
        kinds.append(rows)
    return kinds


def _even(free: shapely.Geometry, angle: float, spacing: float) -> FloatArray:
    """Offsets of lines so far apart, as many as fit, with equal gaps to both edges."""
    if shapely.is_empty(free):
        return np.zeros(0)
    low, high = extent(free, angle)
    count = int((high - low) / spacing * (1 + 1e-9)) + 1
    return np.asarray((low + high) / 2 + spacing * (np.arange(count) - (count - 1) / 2))


def _options(face: Face, kinds: list[list[_Rows]], owed: bool) -> list[_Option]:
    """What a face may have: nothing, one direction, or two in either order."""
    if not owed:
        return [_Option(face, (), 0.0)]
    first, second = kinds
    rows: list[tuple[_Rows, ...]] = [(), *((one,) for one in (*first, *second))]
    rows += [pair for one, other in product(first, second) for pair in ((one, other), (other, one))]
    return [_Option(face, these, sum(one.length for one in these)) for these in rows]


def _shortest(
    options: list[list[_Option]], layers: int, owed: _Owed, worths: dict[Face, FloatArray]
) -> tuple[_Option, ...] | None:
    """Of all pairs of mats with no more layers than fit, the shortest that carries what is owed.

    rows are places where shorter pairs failed; a pair that passes there is looked at everywhere.
    """
    count = [np.array([len(option.rows) for option in of_face]) for of_face in options]
    length = [np.array([option.length for option in of_face]) for of_face in options]
    pair = np.argwhere(np.add.outer(*count) <= layers)
    pair = pair[np.argsort(length[0][pair[:, 0]] + length[1][pair[:, 1]], kind="stable")]
    rows = np.zeros(0, dtype=np.int64)
    on_rows = [np.zeros((len(of_face), 0)) for of_face in options]
    start = 0
    while start < len(pair):
        block = pair[start : start + _BLOCK]
        has = on_rows[0][block[:, 0]] + on_rows[1][block[:, 1]]
        passing = np.flatnonzero((has >= owed.needed[rows] * (1 - 1e-12)).all(axis=1))
        if len(passing) == 0:
            start += len(block)
            continue
        start += int(passing[0])
        best = tuple(of_face[k] for of_face, k in zip(options, pair[start], strict=True))
        ratio = _ratio(best, owed, worths)
        if ratio.min(initial=inf) >= 1 - 1e-12:
            return best
        worst = np.argsort(ratio, kind="stable")[: 50 * _ADDED : 50]
        new = worst[ratio[worst] < 1 - 1e-12]
        rows = np.append(rows, new)
        for k, of_face in enumerate(options):
            more = [owed.strength(option, worths[option.face], new) for option in of_face]
            on_rows[k] = np.concatenate([on_rows[k], np.array(more)], axis=1)
    return None


def _ratio(pair: tuple[_Option, ...], owed: _Owed, worths: dict[Face, FloatArray]) -> FloatArray:
    """Strength / demand of a pair of mats wherever something is owed."""
    strength = sum(owed.strength(option, worths[option.face], slice(None)) for option in pair)
    return np.asarray(strength / owed.needed)


def _densest(
    options: list[list[_Option]], layers: int, pitch: float, owed: _Owed, worths: dict[Face, FloatArray]
) -> float:
    """Load factor of the best mat that has all its wires at the pitch."""
    dense = [[option for option in of_face if all(r.spacing <= pitch for r in option.rows)] for of_face in options]
    fitting = (pair for pair in product(*dense) if sum(len(option.rows) for option in pair) <= layers)
    return max((float(_ratio(pair, owed, worths).min(initial=inf)) for pair in fitting), default=0.0)


def _spacings(option: _Option, angle: float) -> tuple[float, float]:
    """Spacing in the two directions of the mat, inf for none."""
    by_angle = {rows.angle: rows.spacing for rows in option.rows}
    return by_angle.get(angle, inf), by_angle.get(angle + np.pi / 2, inf)


def _runs(best: tuple[_Option, ...], steel: Steel, depth_of: DepthOf) -> tuple[Run, ...]:
    runs: list[Run] = []
    for option in best:
        for layer, rows in enumerate(option.rows):
            for wire in rows.wires:
                mark = f"M{len(runs) + 1}"
                runs.append(Run(mark, option.face, wire, depth_of(option.face, layer), steel, layer))
    return tuple(runs)
