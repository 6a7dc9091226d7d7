"""An independent check of a layout: strength against demand at many points, in many directions, on both faces.

It shares no code with what lays a plan. The strength at a point is the lower bound that the plan relies on: each run
spreads its pull over the widest spacing to either side, within the concrete that is joined to the point square across
the run; over the last stretch before an end the pull builds up evenly. Statics only: where strength is at least the
moment in every direction at every point, and the steel yields before it snaps, the slab carries its loads (lower-bound
theorem of limit analysis; Nielsen, Limit Analysis and Concrete Plasticity).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.model import Face, Point, Rules, Run

__all__ = ["Checked", "Needed", "check_points", "check_runs", "strength_at"]

FloatArray = npt.NDArray[np.float64]
Needed = Callable[[FloatArray, FloatArray], Mapping[Face, FloatArray]]

_BLOCK = 2000
_FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class Checked:
    """What the check found: factor, the least strength / demand anywhere (inf where nothing is owed), and where.

    strength and needed [N m/m] stand at the place at [m] on face across angle [rad]. points and directions say how many
    were looked at; short (k, 2) [m] are the points that carry less than they owe.
    """

    factor: float
    at: Point | None
    face: Face | None
    angle: float
    strength: float
    needed: float
    points: int
    directions: int
    short: FloatArray

    @property
    def passes(self) -> bool:
        """Whether strength is at least the demand everywhere, to nine figures."""
        return self.factor >= 1 - 1e-9


def check_runs(
    runs: Sequence[Run],
    region: shapely.Polygon,
    rules: Rules,
    pulls: Mapping[Face, FloatArray],
    needed: Needed,
    *,
    count: int = 20_000,
    directions: int = 180,
    seed: int = 0,
    inset: float = 0.0,
) -> Checked:
    """Strength of straight runs against needed(points (q, 2), angles (a,)) -> {face: (q, a)} [N m/m] all over the slab.

    pulls[face] (r,) is the design strength of each run on each face [N m]. Half of the points lie on a grid, half at
    random by seed, some of these close to the edges, none nearer to them than inset [m]. ValueError for a run that is
    not straight.
    """
    points = check_points(region, count, seed, inset)
    angles = np.arange(directions) * np.pi / directions
    worst: tuple[float, Point | None, Face | None, float, float, float] = (np.inf, None, None, 0.0, 0.0, 0.0)
    short = [np.zeros((0, 2))]
    for start in range(0, len(points), _BLOCK):
        block = points[start : start + _BLOCK]
        owed = needed(block, angles)
        has = strength_at(block, angles, runs, region, rules, pulls)
        low = np.zeros(len(block), dtype=bool)
        for face in _FACES:
            asks = owed[face] > 0
            ratio = np.where(asks, has[face] / np.where(asks, owed[face], 1.0), np.inf)
            low |= (ratio < 1 - 1e-9).any(axis=1)
            q, a = np.unravel_index(int(ratio.argmin()), ratio.shape)
            if ratio[q, a] < worst[0]:
                at = (float(block[q, 0]), float(block[q, 1]))
                strength, asked = float(has[face][q, a]), float(owed[face][q, a])
                worst = float(ratio[q, a]), at, face, float(angles[a]), strength, asked
        short.append(block[low])
    return Checked(*worst, len(points), directions, np.concatenate(short))


def check_points(region: shapely.Polygon, count: int, seed: int, inset: float = 0.0) -> FloatArray:
    """About count points inside the slab, (q, 2) [m]: half on a grid, half at random, many of these near edges.

    None lies nearer to an edge than inset [m].
    """
    rng = np.random.default_rng(seed)
    inside = shapely.buffer(region, -inset)
    if shapely.is_empty(inside):
        return np.zeros((0, 2))
    x0, y0, x1, y1 = region.bounds
    area = float(shapely.area(inside))
    step = float(np.sqrt(area / (count / 2)))
    x, y = (np.arange(low + step / 2, high, step) for low, high in ((x0, x1), (y0, y1)))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    anywhere = rng.uniform((x0, y0), (x1, y1), (int(count * 3 / 8 * (x1 - x0) * (y1 - y0) / area), 2))
    rim = shapely.boundary(inside)
    along = shapely.line_interpolate_point(rim, rng.uniform(0, shapely.length(rim), count // 4))
    near = shapely.get_coordinates(along)
    points = np.concatenate([grid, anywhere, near + rng.normal(0, step, near.shape)])
    return points[shapely.contains_xy(inside, points[:, 0], points[:, 1])]


def strength_at(
    points: FloatArray,
    angles: FloatArray,
    runs: Sequence[Run],
    region: shapely.Polygon,
    rules: Rules,
    pulls: Mapping[Face, FloatArray],
) -> dict[Face, FloatArray]:
    """Strength of straight runs at points (q, 2) [m] across angles (a,) [rad], per face: (q, a) [N m/m].

    A run in direction t with strength S adds S T(u) / W r cos2(angle - t): u its distance from the point, T(u) =
    1 - |u| / most, W the integral of T over the concrete joined to the point square across t, r = distance to the
    run's nearer end / anchorage, at most 1. ValueError for a run that is not straight.
    """
    out = {face: np.zeros((len(points), len(angles))) for face in _FACES}
    sides = _sides(region)
    for number, run in enumerate(runs):
        if len(run.points) != 2:
            raise ValueError(f"run {run.mark!r} has {len(run.points)} points; split it into straight ones first")
        start, end = np.asarray(run.points, dtype=np.float64)
        length = float(np.hypot(*(end - start)))
        t = (end - start) / length
        along, aside = (points - start) @ t, (points - start) @ np.array([-t[1], t[0]])
        near = np.flatnonzero((along > 0) & (along < length) & (np.abs(aside) < rules.most))
        if len(near) == 0:
            continue
        left, right = _clear_across(points[near], t, sides)
        # aside is how far the point lies left of the run, so the run lies that far to the right of the point.
        joined = (aside[near] < right) & (-aside[near] < left)
        share = (1 - np.abs(aside[near]) / rules.most) / (_tent(left, rules.most) + _tent(right, rules.most))
        built = np.minimum(np.minimum(along[near], length - along[near]) / rules.anchorage, 1.0)
        spread = np.where(joined, share * built, 0.0)
        turned = np.cos(angles - np.arctan2(t[1], t[0])) ** 2
        for face in _FACES:
            out[face][near] += pulls[face][number] * spread[:, None] * turned
    return out


def _sides(region: shapely.Polygon) -> FloatArray:
    """All straight sides of the slab's edge and openings, (s, 2, 2) [m]."""
    rings = [shapely.get_coordinates(ring) for ring in (region.exterior, *region.interiors)]
    return np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])


def _clear_across(points: FloatArray, t: FloatArray, sides: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How far concrete reaches from points (q, 2) to the left and to the right of direction t (2,), each (q,) [m]."""
    normal = np.array([-t[1], t[0]])
    along = (sides @ t)[None] - (points @ t)[:, None, None]
    across = (sides @ normal)[None] - (points @ normal)[:, None, None]
    crossed = (along[:, :, 0] >= 0) != (along[:, :, 1] >= 0)
    step = np.where(crossed, along[:, :, 0] - along[:, :, 1], 1.0)
    at = across[:, :, 0] + (across[:, :, 1] - across[:, :, 0]) * along[:, :, 0] / step
    left = np.where(crossed & (at > 0), at, np.inf).min(axis=1)
    right = np.where(crossed & (at <= 0), -at, np.inf).min(axis=1)
    return left, right


def _tent(reach: FloatArray, most: float) -> FloatArray:
    """Integral of 1 - u / most from 0 to reach, at most to most [m]."""
    inside = np.minimum(reach, most)
    return np.asarray(inside - inside**2 / (2 * most))
