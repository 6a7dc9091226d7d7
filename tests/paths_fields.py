"""Grids and stress fields with known paths, for the tests and the benchmark of the tension paths."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import Delaunay

__all__ = ["Grid", "corner_supported", "from_deviator", "grid_over", "l_with_hole", "polygon", "ring_region", "turned"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
Grid = tuple[FloatArray, IntArray]


def grid_over(region: shapely.Polygon, finest: float, coarsest: float, growth: float = 0.25, seed: int = 0) -> Grid:
    """A Delaunay grid over a region, edges finest [m] at its boundary and growing to coarsest [m] inside."""
    rings = [region.exterior, *region.interiors]
    border = np.vstack([np.array(shapely.segmentize(ring, finest).coords)[:-1] for ring in rings])
    rng = np.random.default_rng(seed)
    x0, y0, x1, y1 = region.bounds
    levels, size = [border], finest
    while size <= coarsest * 1.0001:
        # Rows of equal triangles, shaken a little so that no two fields meet a grid of their own symmetry.
        x, y = np.meshgrid(np.arange(x0, x1, size), np.arange(y0, y1, size * np.sqrt(0.75)))
        x = x + np.where(np.arange(len(x)) % 2, size / 2, 0.0)[:, None]
        at = np.column_stack((x.ravel(), y.ravel())) + rng.uniform(-0.1, 0.1, (x.size, 2)) * size
        away = shapely.distance(region.boundary, shapely.points(at))
        low, high = (size - finest) / growth, (2 * size - finest) / growth
        level = (away >= max(low, 0.6 * finest)) & ((away < high) | (2 * size > coarsest * 1.0001))
        levels.append(at[level & shapely.contains_xy(region, *at.T)])
        size *= 2
    points = np.vstack(levels)
    triangles = Delaunay(points).simplices.astype(np.intp)
    middle = points[triangles].mean(axis=1)
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    kept = shapely.contains_xy(region, *middle.T) & (area > 1e-6 * finest**2)
    return points, triangles[kept]


def l_with_hole() -> shapely.Polygon:
    """An L of 2.4 by 1.8 m, legs 0.65 m wide, inner corner rounded to 25 mm, with a sink opening in the long leg."""
    l_shape = shapely.Polygon([(0, 0), (2.4, 0), (2.4, 0.65), (0.65, 0.65), (0.65, 1.8), (0, 1.8)])
    sink = shapely.box(1.12, 0.15, 1.78, 0.48).buffer(0.019)
    return polygon(l_shape.buffer(0.025).buffer(-0.025).difference(sink))


def polygon(shape: object) -> shapely.Polygon:
    """The shape, which must be one polygon."""
    assert isinstance(shape, shapely.Polygon)
    return shape


def ring_region(inner: float, outer: float) -> shapely.Polygon:
    """The ring between two circles about the origin [m]."""
    origin = shapely.Point(0, 0)
    return polygon(origin.buffer(outer, quad_segs=64).difference(origin.buffer(inner, quad_segs=32)))


def from_deviator(d: ComplexArray, mean: FloatArray | float) -> FloatArray:
    """Stresses (p, 3) from d = (sx - sy) / 2 + i sxy (p,) and the mean stress [Pa]."""
    return np.column_stack((mean + d.real, mean - d.real, d.imag))


def turned(points: FloatArray, stress: FloatArray, degrees: float) -> tuple[FloatArray, FloatArray]:
    """Points and stresses of the same body turned about the origin."""
    e = np.exp(1j * np.radians(degrees))
    z = (points[:, 0] + 1j * points[:, 1]) * e
    d = ((stress[:, 0] - stress[:, 1]) / 2 + 1j * stress[:, 2]) * e**2
    return np.column_stack((z.real, z.imag)), from_deviator(d, (stress[:, 0] + stress[:, 1]) / 2)


def corner_supported(points: FloatArray, supports: list[tuple[float, float]], weights: list[float]) -> FloatArray:
    """A smooth stress field (p, 3) [Pa] like that of a slab on a few soft spots: second derivatives of bells.

    No equilibrium is claimed: it is something to draw lines in, with pulled and pressed ground and isotropic points.
    """
    total = np.zeros((len(points), 3))
    for (x, y), weight in zip(supports, weights, strict=True):
        r = points - np.array([x, y])
        size2 = 0.35**2
        bell = weight * np.exp(-0.5 * (r**2).sum(axis=1) / size2)
        total[:, 0] += bell * (r[:, 0] ** 2 / size2 - 1)
        total[:, 1] += bell * (r[:, 1] ** 2 / size2 - 1)
        total[:, 2] += bell * r[:, 0] * r[:, 1] / size2
    return total
