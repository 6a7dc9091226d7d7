"""What runs carry at a point: their strength smeared over the slab about them, as a tensor, and the load factor.

A run works on the slab about it like a tent: fully on its own line, not at all as far off as the widest spacing
allowed. The tents of a point share out the width that is there (the slab's chord across the run, from edge or opening
to edge or opening), so that evenly spaced runs give their strength over their spacing, and runs in a narrow rail the
whole rail. Over the anchorage at its ends a run's strength grows from nothing in proportion. A run counts for both
faces, each by its own arm: in so thin a slab the steel near the far face is pulled too.

Strength in the direction t is t' C t, C the sum over runs of strength times (r outer r), r the run's direction: no
strength is counted across a run, nor by twist. Where it is at least the moment in every direction of both faces, the
moments are safe (Nielsen's criterion; the lower-bound theorem of plasticity).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely

from fem.steel.ground import Ground, ground_of
from fem.steel.model import Carried, Demand, Face, Rules, Run, Steel

__all__ = [
    "FACES",
    "Bars",
    "Worth",
    "arm",
    "bars_of",
    "beside",
    "carried_by",
    "in_directions",
    "shares",
    "strength_tensor",
]

FloatArray = npt.NDArray[np.float64]

FACES: tuple[Face, Face] = ("show", "underside")

#: Design strength [N m] of one run of a steel by its arm [m], the distance of its axis from the pressed face.
Worth = Callable[[Steel, float], float]


@dataclass(frozen=True, eq=False)
class Bars:
    """Straight bars of one direction, angle [rad]: offset to its left, begin and end along it, (r,) [m] each."""

    angle: float
    offset: FloatArray
    begin: FloatArray
    end: FloatArray

    @property
    def length(self) -> FloatArray:
        """Length of each [m]."""
        return self.end - self.begin


def arm(depth: float, thickness: float, face: Face) -> float:
    """Arm [m] with which steel at a depth from the show face serves a face: to the other face, which is pressed."""
    return thickness - depth if face == "show" else depth


def shares(ground: Ground, bars: Bars, rules: Rules) -> sp.csr_matrix:
    """Bars at work per width of slab at every point: (q, r) [1/m]."""
    right, left = ground.reach(bars.angle, rules.most)
    width = right - right**2 / (2 * rules.most) + left - left**2 / (2 * rules.most)
    along, across = ground.along(bars.angle)[:, None], ground.across(bars.angle)[:, None]
    off = bars.offset - across
    to_end = np.minimum(along - bars.begin, bars.end - along)
    point, bar = np.nonzero((to_end > 0) & (off <= left[:, None]) & (off >= -right[:, None]) & (abs(off) < rules.most))
    tent = 1 - abs(off[point, bar]) / rules.most
    ramp = np.minimum(to_end[point, bar] / max(rules.anchorage, 1e-12), 1.0)
    return sp.csr_matrix((tent * ramp / width[point], (point, bar)), shape=off.shape)


def beside(ground: Ground, bars: Bars, rules: Rules) -> sp.csr_matrix:
    """Which bars pass a point within half the widest spacing, no edge or opening between: (q, r) of ones.

    Where every point has one, bars lie nowhere farther apart than the widest spacing.
    """
    right, left = ground.reach(bars.angle, rules.most)
    half = rules.most / 2 * (1 + 1e-9)
    along, off = ground.along(bars.angle)[:, None], bars.offset - ground.across(bars.angle)[:, None]
    passes = (along > bars.begin) & (along < bars.end) & (abs(off) <= half)
    return sp.csr_matrix(passes & (off <= left[:, None]) & (off >= -right[:, None]), dtype=np.float64)


def bars_of(runs: Sequence[Run]) -> list[tuple[Bars, list[int]]]:
    """The straight pieces of runs by direction, each with the number of its run."""
    by_angle: dict[float, list[tuple[float, float, float, int]]] = {}
    for number, run in enumerate(runs):
        for (x0, y0), (x1, y1) in zip(run.points, run.points[1:], strict=False):
            exact = float(np.arctan2(y1 - y0, x1 - x0) % np.pi)
            angle = next((known for known in by_angle if _between(known, exact) < 1e-9), exact)
            c, s = np.cos(angle), np.sin(angle)
            begin, end = sorted((x0 * c + y0 * s, x1 * c + y1 * s))
            offset = (y0 + y1) / 2 * c - (x0 + x1) / 2 * s
            by_angle.setdefault(angle, []).append((offset, begin, end, number))
    return [
        (Bars(angle, *np.array([piece[:3] for piece in pieces]).T), [piece[3] for piece in pieces])
        for angle, pieces in by_angle.items()
    ]


def strength_tensor(
    runs: Sequence[Run],
    points: FloatArray,
    region: shapely.Polygon,
    thickness: float,
    rules: Rules,
    worth: Worth,
    far: bool = True,
) -> dict[Face, FloatArray]:
    """Strength (Cxx, Cyy, Cxy) of a layout at points (q, 2) [m], for each face: (q, 3) [N m/m].

    far: whether a run counts for the face that it does not lie near.
    """
    ground = ground_of(region, points)
    strength: dict[Face, FloatArray] = {face: np.zeros((len(points), 3)) for face in FACES}
    for bars, numbers in bars_of(runs):
        share = shares(ground, bars, rules)
        c, s = np.cos(bars.angle), np.sin(bars.angle)
        for face in FACES:
            each = [
                max(worth(runs[k].steel, arm(runs[k].depth, thickness, face)), 0.0)
                if far or runs[k].face == face
                else 0.0
                for k in numbers
            ]
            strength[face] += np.multiply.outer(share @ np.array(each), (c * c, s * s, c * s))
    return strength


def in_directions(tensor: FloatArray, angles: FloatArray) -> FloatArray:
    """Strength t' C t of tensors (q, 3) in directions (a,) [rad]: (q, a)."""
    c, s = np.cos(angles), np.sin(angles)
    return np.asarray(tensor @ np.stack([c * c, s * s, 2 * c * s]))


def carried_by(
    runs: Sequence[Run],
    demand: Demand,
    region: shapely.Polygon,
    thickness: float,
    rules: Rules,
    worth: Worth,
    far: bool = True,
) -> Carried:
    """What a layout carries of a demand; far as in strength_tensor. factor is inf where nothing is owed."""
    tensor = strength_tensor(runs, demand.points, region, thickness, rules, worth, far)
    factor = np.inf
    binding: tuple[Face, int, int] | None = None
    use: dict[Face, FloatArray] = {}
    for face in FACES:
        needed, strength = demand.needed[face], in_directions(tensor[face], demand.angles)
        with np.errstate(divide="ignore"):
            ratio = np.divide(needed, np.maximum(strength, 0.0), out=np.zeros_like(needed), where=needed > 0)
        use[face] = ratio.max(axis=1, initial=0.0)
        if len(ratio) and use[face].max() > 0 and 1 / use[face].max() < factor:
            factor = float(1 / use[face].max())
            place = np.unravel_index(int(ratio.argmax()), ratio.shape)
            binding = (face, int(place[0]), int(place[1]))
    if binding is None:
        return Carried(np.inf, use, None, None, None, "")
    face, point, angle = binding
    at = (float(demand.points[point, 0]), float(demand.points[point, 1]))
    stage = demand.names[demand.governs[face][point, angle]]
    return Carried(factor, use, at, face, float(demand.angles[angle]), stage)


def _between(a: float, b: float) -> float:
    """Angle between two directions [rad], in [0, pi/2]."""
    turn = abs(a - b) % np.pi
    return float(min(turn, np.pi - turn))
