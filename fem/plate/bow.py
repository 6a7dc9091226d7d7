"""Bow: the curvature that drying or warmth would give the free slab, as a load, and what it takes off the moments.

The moments are m = D (kappa - k0), k0 alike in every direction, so that its work is D11 (1 + nu) k0 times the integral
of -laplacian w: by Gauss the slope outward, all round the rim of what bows. Source: Timoshenko & Woinowsky-Krieger,
Theory of Plates and Shells, 2nd ed. (1959), art. 14 and 49, for the curvature of a heated plate; the rest follows.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.bell import BellPlate
from fem.plate.depth import Depths, Zone, only_area
from fem.plate.gauss import gauss_01
from fem.plate.model import Stage

__all__ = ["bow_borders", "bow_load", "bow_moment", "bow_region"]

FloatArray = npt.NDArray[np.float64]
Area = shapely.Polygon | shapely.MultiPolygon

# Nodes on an arc lie outside its chords by so much [m] at most.
_AT_EDGE = 1e-4


def bow_region(points: tuple[tuple[float, float], ...], region: shapely.Polygon) -> Area | None:
    """The part of the slab within a polygon of points [m]; None for () or a polygon that holds the whole slab."""
    if not points:
        return None
    area = shapely.Polygon(points)
    return None if shapely.covers(area, region) else only_area(shapely.intersection(area, region))


def bow_borders(stages: tuple[Stage, ...]) -> tuple[FloatArray, ...]:
    """The borders of all that bows by itself in any stage, for the mesh to follow: closed polylines (k_i, 2) [m]."""
    places = dict.fromkeys(bow.place.points for stage in stages for bow in stage.bows if bow.place.points)
    return tuple(np.asarray([*points, points[0]], dtype=np.float64) for points in places)


def bow_load(
    bell: BellPlate, rigidity: FloatArray, area: Area | None, curvature: float, depths: Depths | None = None
) -> FloatArray:
    """Load vector (6 n,) of a free curvature [1/m] over an area of the slab, None: all of it.

    rigidity D (3, 3) at full depth, for a modulus of 1 Pa: then the load of modulus E is E times this one, the
    deflection the same for every E. curvature is positive where it sags with gravity.
    """
    push = float(rigidity[0, 0] + rigidity[0, 1]) * curvature
    if area is None:
        scale = np.ones_like(bell.quadrature[1]) if depths is None else depths.rigidity_scale(bell)
        return bell.bow_load(push * scale)
    load = np.zeros(bell.size)
    for part, times in _parts(area, depths):
        points, normal, weight = _rim(part, float(np.median(bell.scale)) / 4)
        column = bell.functionals(points, weight, np.zeros(len(points), dtype=np.int64), 1, normal)
        load -= times * push * column[:, 0]
    return load


def bow_moment(
    points: FloatArray,
    radius: float,
    region: shapely.Polygon,
    area: Area | None,
    rigidity: FloatArray,
    curvature: float,
    depths: Depths | None = None,
) -> FloatArray:
    """What a bow adds to the moments (p, 3) [N m/m] at points (p, 2) [m], means over discs of radius [m].

    Minus D k0 times the share of each disc, as far as it is slab, that bows; radius 0: whether the point does.
    """
    spots = np.asarray(shapely.points(points))
    parts = _parts(region if area is None else area, depths)
    share = np.zeros(len(points))
    if area is None and depths is None:
        share[:] = 1.0
    elif radius == 0.0:
        for part, scale in parts:
            shapely.prepare(part)
            # One side of a border at a time: where two parts meet the later counts.
            share[shapely.dwithin(part, spots, _AT_EDGE)] = scale
    else:
        share = _disc_shares(spots, radius, region, parts)
    push = float(rigidity[0, 0] + rigidity[0, 1]) * curvature
    return np.asarray(-push * share[:, None] * np.array([1.0, 1.0, 0.0]))


def _disc_shares(
    spots: npt.NDArray[np.object_], radius: float, region: shapely.Polygon, parts: list[tuple[Area, float]]
) -> FloatArray:
    share = np.zeros(len(spots))
    for part, scale in parts:
        shapely.prepare(part)
        border = shapely.intersection(part.boundary, shapely.buffer(region, -1e-7))
        inside = shapely.dwithin(part, spots, _AT_EDGE)
        plain = np.asarray(shapely.distance(border, spots) >= radius) if not border.is_empty else inside | ~inside
        share[plain & inside] += scale
        cut = np.flatnonzero(~plain)
        if len(cut):
            discs = shapely.intersection(shapely.buffer(spots[cut], radius, quad_segs=8), region)
            bowed = shapely.area(shapely.intersection(discs, part))
            share[cut] += scale * bowed / np.maximum(shapely.area(discs), 1e-30)
    return share


def _parts(area: Area, depths: Depths | None) -> list[tuple[Area, float]]:
    """The area by depth, and the scale of the rigidity in each part."""
    if depths is None:
        return [(area, 1.0)]
    covered = shapely.union_all([zone.area for zone in depths.stiff])
    zones = (Zone(only_area(shapely.difference(area, covered)), depths.thickness), *depths.stiff)
    cut = [(only_area(shapely.intersection(zone.area, area)), (zone.depth / depths.thickness) ** 3) for zone in zones]
    return [(part, scale) for part, scale in cut if part.area > 1e-12]


def _rim(area: Area, step: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Points (k, 2) [m], outward normals (k, 2) and weights (k,) [m] round an area, four to a step [m]."""
    polygons = [part for part in shapely.get_parts(area) if part.geom_type == "Polygon"]
    rings = shapely.get_rings(shapely.segmentize(shapely.orient_polygons(np.asarray(polygons)), step))
    corner, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    start, side = corner[:-1][same], np.diff(corner, axis=0)[same]
    s, weight = gauss_01(4)
    length = np.hypot(*side.T)
    normal = np.stack([side[:, 1], -side[:, 0]], axis=1) / length[:, None]
    points = start[:, None] + s[:, None] * side[:, None]
    return points.reshape(-1, 2), np.repeat(normal, 4, axis=0), (length[:, None] * weight).ravel()
