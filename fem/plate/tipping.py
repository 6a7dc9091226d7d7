"""When no set of pushing supports balances the slab: the axis it turns about and what would hold it down."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog

from fem.plate.model import Point, Tipping

__all__ = ["tipping"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


def tipping(
    motion: FloatArray,
    load: FloatArray,
    one_sided: BoolArray,
    imbalance: FloatArray,
    places: FloatArray,
) -> Tipping | None:
    """Axis and least hold-down of a slab that cannot balance; None if pressing it down anywhere does not help.

    motion (3, s), load (3,), one_sided (s,) as in ContactProblem; imbalance (3,) from can_balance; places (k, 2) [m]
    where somebody could press the slab down. The axis is the zero line of the falling motion. The hold-down is the
    least single force, by a linear programme for each place: held with it the slab stands.
    """
    bounds = [(0, None) if one else (None, None) for one in one_sided]
    size = float(np.abs(load).max()) or 1.0
    forces = np.full(len(places), np.inf)
    for k, (x, y) in enumerate(places):
        result = linprog(
            np.append(np.zeros(motion.shape[1]), 1.0),
            A_eq=np.column_stack([motion, [-1.0, -x, -y]]),
            b_eq=load / size,
            bounds=[*bounds, (0, None)],
            method="highs",
        )
        if result.status == 0 and result.fun is not None:
            forces[k] = float(result.fun) * size
    if not np.isfinite(forces.min()):
        return None
    # A whole edge may serve alike: press in its middle.
    alike = places[forces <= forces.min() * (1 + 1e-6)]
    middle = int(np.argmin(np.hypot(*(alike - alike.mean(axis=0)).T)))
    return Tipping(_zero_line(imbalance, places), float(forces.min()), _pair(alike[middle]))


def _zero_line(motion: FloatArray, places: FloatArray) -> tuple[Point, Point]:
    """Stretch of the line a + b x + c y = 0 beside the slab; the slab's middle twice if there is no such line."""
    a, b, c = motion
    middle = places.mean(axis=0)
    reach = float(np.hypot(*(places - middle).T).max())
    steep = float(np.hypot(b, c))
    if steep * reach < 1e-12 * abs(a):
        return _pair(middle), _pair(middle)
    normal = np.array([b, c]) / steep
    foot = middle - normal * (a + b * middle[0] + c * middle[1]) / steep
    along = np.array([-normal[1], normal[0]])
    shift = places @ along - foot @ along
    return _pair(foot + along * shift.min()), _pair(foot + along * shift.max())


def _pair(xy: FloatArray) -> Point:
    return float(xy[0]), float(xy[1])
