"""What strength a moment asks of steel at one point: Nielsen's criterion, and the closed forms of Wood and Armer.

A moment (mx, my, mxy) [N m/m] pulls the underside across direction t with m(t) = mx cos2 t + my sin2 t + 2 mxy sin t
cos t, the show face with -m(t); angles run counter-clockwise from +x. Steel of strength k [N m/m] laid along t carries
k cos2 (s - t) in direction s: a tensor too. What is laid carries a moment if the tensor of the strength less that of
the moment is nowhere negative. The closed forms choose, for two directions, the least sum of both strengths.

Sources: Nielsen, Limit Analysis and Concrete Plasticity, for the criterion; Wood, Concrete 2(2) (1968) 69-76, and
Armer, Concrete 2(8) (1968) 319-320, for bars at right angles and at any angle. Worksheets of the latter measure the
angle clockwise, so that with a counter-clockwise one the twist changes sign.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.steel.model import Face

__all__ = ["nielsen", "skew_strengths", "spare", "square_strengths", "strength_tensor"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


def strength_tensor(strengths: FloatArray, angles: FloatArray) -> FloatArray:
    """Tensor (p, 3) = (cx, cy, cxy) [N m/m] of strengths (p, k) [N m/m] laid along angles (k,) [rad].

    >>> strength_tensor(np.array([[300.0, 200.0]]), np.array([0.0, np.pi / 2])).round(9).tolist()
    [[300.0, 200.0, 0.0]]
    """
    c, s = np.cos(angles), np.sin(angles)
    return np.asarray(strengths @ np.stack([c * c, s * s, s * c], axis=1))


def spare(strength: FloatArray, moment: FloatArray, face: Face) -> FloatArray:
    """The least of strength less pull over all directions (p,) [N m/m]: negative where the moment is not carried.

    strength (p, 3) is the tensor of what is laid for this face, moment (p, 3). It is the lesser eigenvalue of their
    difference, which Nielsen's criterion asks to be no less than 0.

    >>> spare(np.array([[300.0, 200.0, 0.0]]), np.array([[100.0, 0.0, 150.0]]), "underside").round(6).tolist()
    [50.0]
    """
    left = strength - _pull(moment, face)
    mean, half = (left[:, 0] + left[:, 1]) / 2, (left[:, 0] - left[:, 1]) / 2
    return np.asarray(mean - np.hypot(half, left[:, 2]))


def nielsen(moment: FloatArray, underside: FloatArray, show: FloatArray) -> BoolArray:
    """Whether steel along x and y carries each moment (p, 3): strengths (p, 2) [N m/m] of underside and show face.

    (mx+ - mx)(my+ - my) >= mxy2 and (mx- + mx)(my- + my) >= mxy2, no bracket negative.

    >>> nielsen(np.array([[10.0, 5.0, 4.0]] * 2), np.array([[14.0, 9.0], [14.0, 8.9]]), np.zeros((2, 2))).tolist()
    [True, False]
    """
    along, twist = moment[:, :2], moment[:, 2] ** 2
    below, above = underside - along, show + along
    carried = (below >= 0).all(axis=1) & (above >= 0).all(axis=1)
    return np.asarray(carried & (below.prod(axis=1) >= twist) & (above.prod(axis=1) >= twist))


def square_strengths(moment: FloatArray, face: Face) -> FloatArray:
    """Least strengths (p, 2) [N m/m] along x and y that carry each moment (p, 3) on a face: Wood (1968).

    mx* = mx + |mxy| and my* = my + |mxy|; where mx* would be negative it is 0 and my* = my + mxy2 / |mx|, and the
    other way round. Never negative, on either face.

    >>> square_strengths(np.array([[10.0, 5.0, 4.0], [-6.0, 5.0, 3.0]]), "underside").tolist()
    [[14.0, 9.0], [0.0, 6.5]]
    """
    pull = _pull(moment, face)
    return _least(pull[:, 0], pull[:, 1], np.abs(pull[:, 2]))


def skew_strengths(moment: FloatArray, angle: float, face: Face) -> FloatArray:
    """Least strengths (p, 2) [N m/m] along x and along an angle [rad] from it, counter-clockwise: Armer (1968).

    Each is a strength per width across its own bars. With T = my cot a - mxy they are mx* = mx - 2 mxy cot a +
    my cot2 a + |T / sin a| and ma* = my / sin2 a + |T / sin a|; one that would be negative is 0 and leaves its share
    of T2 to the other. ValueError where both directions are the same.

    >>> skew_strengths(np.array([[10.0, 5.0, 4.0]]), np.pi / 2, "underside").round(9).tolist()
    [[14.0, 9.0]]
    """
    s = np.sin(angle)
    if abs(s) < 1e-6:
        raise ValueError(f"steel along x and at {angle} rad from it lies all in one direction")
    cot = np.cos(angle) / s
    x, y, xy = _pull(moment, face).T
    return _least(x - 2 * xy * cot + y * cot**2, y / s**2, np.abs((y * cot - xy) / s))


def _least(first: FloatArray, second: FloatArray, twist: FloatArray) -> FloatArray:
    """The least sum of two strengths with (k1 - first)(k2 - second) >= twist2, neither negative: (p, 2)."""
    one, two = first + twist, second + twist
    # Only one of them can be negative where the other is owed, and then its own term is not 0.
    only_two, only_one = (one < 0) & (two > 0), (two < 0) & (one > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        two = np.where(only_two, second + twist**2 / np.abs(first), two)
        one = np.where(only_one, first + twist**2 / np.abs(second), one)
    return np.maximum(np.stack([one, two], axis=1), 0.0)


def _pull(moment: FloatArray, face: Face) -> FloatArray:
    """The tensor whose positive parts pull this face."""
    return moment if face == "underside" else -moment
