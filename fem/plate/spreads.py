"""What the spreading of concentrated forces took from the moments, given back at any points (see fem.plate.kernel)."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.plate.footing import Footing, LineSpread, RoundSpread
from fem.plate.kernel import line_moment, mean_line_moment, mean_round_moment, round_curvatures

__all__ = ["given_back"]

FloatArray = npt.NDArray[np.float64]


def given_back(foot: Footing, force: FloatArray, points: FloatArray, nu: float, radius: float) -> FloatArray:
    """Moments (p, 3) [N m/m], sagging positive, that contacts pressing down with force (s,) [N] add at points (p, 2).

    radius [m] is that of the disc they are averaged over, 0 for the field itself.
    """
    out = np.zeros((len(points), 3))
    for line in foot.lines:
        _add_line(out, line, force, points, nu, radius)
    for spot in foot.rounds:
        _add_round(out, spot, force, points, nu, radius)
    return out


def _add_line(
    out: FloatArray, line: LineSpread, force: FloatArray, points: FloatArray, nu: float, radius: float
) -> None:
    off = points - line.start
    along = off @ line.along
    away = np.abs(off @ np.array([-line.along[1], line.along[0]]))
    width = np.interp(along, line.places, line.widths)
    near = np.flatnonzero(
        (along >= -1e-9) & (along <= line.places[-1] + 1e-9) & (away < width + radius) & (width > 1e-6)
    )
    if not len(near):
        return
    density = np.interp(along[near], line.stations, force[line.contacts] / line.hat)
    if radius > 0:
        across = mean_line_moment(away[near], width[near], radius)
    else:
        across = line_moment(away[near] / width[near]) * width[near]
    # line_moment is that of a sharp downward force less the spread one: a peak of sagging under the line.
    moment = density * across
    nx, ny = -line.along[1], line.along[0]
    out[near, 0] += moment * (nx * nx + nu * ny * ny)
    out[near, 1] += moment * (ny * ny + nu * nx * nx)
    out[near, 2] += moment * (1 - nu) * nx * ny


def _add_round(
    out: FloatArray, spot: RoundSpread, force: FloatArray, points: FloatArray, nu: float, radius: float
) -> None:
    off = points - spot.center
    r = np.hypot(off[:, 0], off[:, 1])
    near = np.flatnonzero(r < spot.spread + radius)
    if not len(near):
        return
    if radius > 0:
        out[near] += force[spot.contact] * mean_round_moment(off[near], spot.pressed, spot.spread, radius, nu)
        return
    radial, hoop = round_curvatures(r[near], spot.pressed, spot.spread)
    n = off[near] / np.maximum(r[near], 1e-12)[:, None]
    kxx = radial * n[:, 0] ** 2 + hoop * n[:, 1] ** 2
    kyy = radial * n[:, 1] ** 2 + hoop * n[:, 0] ** 2
    kxy = (radial - hoop) * n[:, 0] * n[:, 1]
    centre = r[near] < 1e-12
    kxx = np.where(centre, radial, kxx)
    kyy = np.where(centre, radial, kyy)
    out[near] += force[spot.contact] * np.stack([kxx + nu * kyy, kyy + nu * kxx, (1 - nu) * kxy], axis=1)
