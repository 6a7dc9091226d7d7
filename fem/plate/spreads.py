"""What the spreading of concentrated forces took from the moments, given back at any points (see fem.plate.kernel)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.spatial import cKDTree

from fem.plate.footing import Footing, LineSpread, RoundSpread
from fem.plate.kernel import line_moment, mean_line_moment, mean_round_moment, round_curvatures

__all__ = ["all_given_back", "given_back"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
# Rows (points), columns (contacts) and moments (k, 3) of a few entries.
_Entries = tuple[IntArray, IntArray, FloatArray]


def given_back(foot: Footing, points: FloatArray, nu: float, radius: float) -> sp.coo_matrix:
    """Moments [N m/m], sagging positive, at points (p, 2) that a newton on each contact, pressing down, adds.

    A sparse matrix (3 p, s), rows mx, my, mxy of each point. radius [m] is that of the disc they are averaged over, 0
    for the field itself.
    """
    return all_given_back([foot], points, nu, radius)


def all_given_back(feet: Sequence[Footing], points: FloatArray, nu: float, radius: float) -> sp.coo_matrix:
    """The same for many footings side by side, (3 p, s of the first + s of the second + ...)."""
    firsts = np.concatenate([[0], np.cumsum([foot.size for foot in feet])]).astype(np.int64)
    entries: list[_Entries] = []
    for foot, first in zip(feet, firsts, strict=False):
        for line in foot.lines:
            rows, columns, moments = _line(line, points, nu, radius)
            entries.append((rows, first + columns, moments))
    rounds = [(spot, first) for foot, first in zip(feet, firsts, strict=False) for spot in foot.rounds]
    if rounds:
        reach = np.array([spot.spread + radius for spot, _ in rounds])
        centers = np.array([spot.center for spot, _ in rounds]).reshape(-1, 2)
        close = cKDTree(points).query_ball_point(centers, reach) if len(points) else []
        for (spot, first), which in zip(rounds, close, strict=False):
            if which:
                rows, columns, moments = _round(spot, np.sort(np.asarray(which)), points, nu, radius)
                entries.append((rows, first + columns, moments))
    shape = (3 * len(points), int(firsts[-1]))
    if not entries:
        return sp.coo_matrix(shape)
    rows, columns, moments = (np.concatenate(parts) for parts in zip(*entries, strict=True))
    place = (3 * rows[:, None] + np.arange(3)).ravel()
    return sp.coo_matrix((moments.ravel(), (place, np.repeat(columns, 3))), shape=shape)


def _line(line: LineSpread, points: FloatArray, nu: float, radius: float) -> _Entries:
    off = points - line.start
    along = off @ line.along
    nx, ny = -line.along[1], line.along[0]
    away = np.abs(off @ np.array([nx, ny]))
    most = line.widths.max(initial=0.0) + radius
    close = np.flatnonzero((away < most) & (along >= -1e-9) & (along <= line.places[-1] + 1e-9))
    along, away = along[close], away[close]
    width = np.interp(along, line.places, line.widths)
    inside = (away < width + radius) & (width > 1e-6)
    near, along, away, width = close[inside], along[inside], away[inside], width[inside]
    if radius > 0:
        across = mean_line_moment(away, width, radius) if len(near) else np.zeros(0)
    else:
        across = line_moment(away / width) * width
    # The force per length at a point is that of the two hats about it, each a share of its contact's force.
    left = np.clip(np.searchsorted(line.stations, along) - 1, 0, len(line.stations) - 2)
    share = np.clip((along - line.stations[left]) / np.diff(line.stations)[left], 0.0, 1.0)
    # line_moment is that of a sharp downward force less the spread one: a peak of sagging under the line.
    across = across[:, None] * np.array([nx * nx + nu * ny * ny, ny * ny + nu * nx * nx, (1 - nu) * nx * ny])
    rows, columns, moments = [], [], []
    for hat, part in ((left, 1 - share), (left + 1, share)):
        rows.append(near)
        columns.append(line.contacts[hat])
        moments.append(across * (part / line.hat[hat])[:, None])
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(moments)


def _round(spot: RoundSpread, close: IntArray, points: FloatArray, nu: float, radius: float) -> _Entries:
    """The entries of points close (k,) to the spot."""
    off = points[close] - spot.center
    r = np.hypot(off[:, 0], off[:, 1])
    inside = r < spot.spread + radius
    near, off, r = close[inside], off[inside], r[inside]
    columns = np.full(len(near), spot.contact)
    if not len(near):
        return near, columns, np.zeros((0, 3))
    if radius > 0:
        return near, columns, mean_round_moment(off, spot.pressed, spot.spread, radius, nu)
    radial, hoop = round_curvatures(r, spot.pressed, spot.spread)
    n = off / np.maximum(r, 1e-12)[:, None]
    kxx = radial * n[:, 0] ** 2 + hoop * n[:, 1] ** 2
    kyy = radial * n[:, 1] ** 2 + hoop * n[:, 0] ** 2
    kxy = (radial - hoop) * n[:, 0] * n[:, 1]
    centre = r < 1e-12
    kxx = np.where(centre, radial, kxx)
    kyy = np.where(centre, radial, kyy)
    return near, columns, np.stack([kxx + nu * kyy, kyy + nu * kxx, (1 - nu) * kxy], axis=1)
