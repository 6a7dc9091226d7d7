"""What is owed beside a free edge: the pull along it alone.

Across a free edge there is no moment, and the twist that thin-plate theory leaves there is carried as a shear along the
edge, within about a thickness of it (Kelvin and Tait's reading of Kirchhoff's edge condition; Timoshenko and
Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 22). A run that ends at the edge has no pull there, and
needs none; in an outer corner, beside two edges, nothing is asked for. At a hollow corner, sharp or rounded, the pull
turns round the corner and is asked for as it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.model import Demand, Face

__all__ = ["along_edges"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# A stretch of the edge no longer than the slab is thick that turns so far is a hollow corner [rad].
_HOLLOW = np.radians(30.0)
_AT_ONCE = 2_000_000


def along_edges(demand: Demand, region: shapely.Polygon, thickness: float) -> Demand:
    """The demand with the pull along the edge alone within a thickness [m] of it, but for hollow corners.

    Hollow corners keep what they are owed within two thicknesses.
    """
    begin, end = _sides(region)
    off = _distances(demand.points, begin, end)
    near = off.min(axis=1) < thickness
    corners = _hollow_corners(region, thickness)
    if len(corners):
        near &= _distances(demand.points, corners, corners).min(axis=1) > 2 * thickness
    if not near.any():
        return demand
    rows, off = np.flatnonzero(near), off[near]
    tangent = np.arctan2(*(end - begin).T[::-1]) % np.pi
    own = tangent[off.argmin(axis=1)]
    turned = _between(tangent, own[:, None]) > _HOLLOW
    share = np.cos(demand.angles - own[:, None]) ** 2 * ~((off < thickness) & turned).any(axis=1)[:, None]
    along = _between(demand.angles, own[:, None]).argmin(axis=1)
    needed: dict[Face, FloatArray] = {}
    governs = {}
    for face, owed in demand.needed.items():
        needed[face], governs[face] = owed.copy(), demand.governs[face].copy()
        needed[face][rows] = np.minimum(owed[rows, along][:, None] * share, owed[rows])
        governs[face][rows] = demand.governs[face][rows, along][:, None]
    return replace(demand, needed=needed, governs=governs)


def _sides(region: shapely.Polygon) -> tuple[FloatArray, FloatArray]:
    """The sides of a polygon, begin and end (s, 2) [m]."""
    rings = [np.asarray(ring.coords)[:, :2] for ring in (region.exterior, *region.interiors)]
    return np.concatenate([ring[:-1] for ring in rings]), np.concatenate([ring[1:] for ring in rings])


def _distances(points: FloatArray, begin: FloatArray, end: FloatArray) -> FloatArray:
    """Distances (q, s) [m] of points (q, 2) to sides."""
    way = end - begin
    length2 = np.maximum((way**2).sum(axis=1), 1e-30)
    out = np.empty((len(points), len(begin)))
    for part in np.array_split(np.arange(len(points)), max(1, out.size // _AT_ONCE)):
        off = points[part, None] - begin
        share = np.clip((off * way).sum(axis=2) / length2, 0.0, 1.0)
        out[part] = np.hypot(*np.moveaxis(off - share[..., None] * way, 2, 0))
    return out


def _between(one: FloatArray, other: FloatArray) -> FloatArray:
    """Angle between two directions [rad], in [0, pi/2]."""
    return np.asarray(np.abs((one - other + np.pi / 2) % np.pi - np.pi / 2))


def _hollow_corners(region: shapely.Polygon, reach: float) -> FloatArray:
    """Corners (k, 2) [m] at which the edge turns towards the slab by more than 30 degrees within reach [m] of it."""
    found = []
    for number, ring in enumerate((region.exterior, *region.interiors)):
        at = np.asarray(shapely.orient_polygons(shapely.Polygon(ring)).exterior.coords)[:-1, :2]
        before, after = at - np.roll(at, 1, axis=0), np.roll(at, -1, axis=0) - at
        turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
        # Counter-clockwise, an outline is hollow where it turns right, an opening where it turns left.
        hollow = np.maximum(turn if number else -turn, 0.0)
        where = np.concatenate([[0.0], np.cumsum(np.hypot(*after.T))])
        apart = np.abs(where[:-1, None] - where[:-1])
        apart = np.minimum(apart, where[-1] - apart)
        found.append(at[(hollow * (apart <= reach / 2)).sum(axis=1) * (hollow > 0) > _HOLLOW])
    return np.concatenate(found)
