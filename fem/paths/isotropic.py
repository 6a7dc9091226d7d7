"""Isotropic points of a plane stress field: where its directions are undefined, and how the lines turn round them.

Half the difference of the principal stresses and their direction are one complex number, the deviator d = (sx - sy) /
2 + i sxy = |d| exp(2 i angle): linear in the stresses, so it may be interpolated where an angle may not. A path field
has an isotropic point where d = 0. While one walks round it the direction turns by half of what d turns: index +1/2
(a wedge: lines make a hairpin) or -1/2 (a trisector: lines fall in three sectors). Source: Delmarcelle & Hesselink,
The topology of symmetric, second-order tensor fields, Proc. IEEE Visualization 1994, pp. 140-147.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["deviator", "isotropic_points"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]

# A zero on a node would belong to every triangle round it or to none: the field is shifted by this share of its
# largest value, in a direction that no symmetric field prefers, so that the zero falls into exactly one triangle.
_SHIFT = 1e-9 * np.exp(0.7j)


def deviator(stress: FloatArray) -> ComplexArray:
    """Deviator d (...) [Pa] of stresses (..., 3) = (sx, sy, sxy); |d| is half the difference of the principal ones.

    >>> deviator(np.array([3e6, 1e6, 2e6])).item()
    (1000000+2000000j)
    """
    return np.asarray((stress[..., 0] - stress[..., 1]) / 2 + 1j * stress[..., 2])


def isotropic_points(
    grid_points: FloatArray, grid_triangles: IntArray, stress: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Isotropic points (k, 2) [m] inside the grid and their indices (k,), each +0.5 (wedge) or -0.5 (trisector).

    grid_points (p, 2) [m], grid_triangles (q, 3), stress (p, 3) = (sx, sy, sxy) [Pa], linear on each triangle. A
    point of higher order, where the linear part vanishes, comes out as that many simple points close together. Where
    the deviator is zero over whole triangles there is no such point.
    """
    d = deviator(np.asarray(stress, dtype=np.float64))
    largest = np.abs(d).max(initial=0.0)
    if largest == 0.0 or len(grid_triangles) == 0:
        return np.empty((0, 2)), np.empty(0)
    corner = (d / largest + _SHIFT)[grid_triangles]
    following = np.roll(corner, -1, axis=1)
    # Twice the area that d sweeps over each side, seen from zero; a shared side gives both triangles the same value
    # but for its sign, so that neither loses nor doubles a point.
    sweep = corner.real * following.imag - corner.imag * following.real
    x, y = grid_points[grid_triangles, 0], grid_points[grid_triangles, 1]
    area = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])
    around = ((sweep > 0).all(axis=1) | (sweep < 0).all(axis=1)) & (area != 0)
    # Zero lies where the weights of the corners are the areas that face them.
    weight = np.roll(sweep[around], -1, axis=1)
    weight /= weight.sum(axis=1, keepdims=True)
    points = np.einsum("kc,kcx->kx", weight, grid_points[grid_triangles[around]])
    index = 0.5 * np.sign(sweep[around, 0]) * np.sign(area[around])
    return np.asarray(points, dtype=np.float64), np.asarray(index, dtype=np.float64)
