"""Regions with their own depth: a recess, a drainboard, a groove, in stiffness, weight and stress.

A region bends as a plate of its own depth about the slab's mid-surface. Thin-plate theory knows nothing of what is
narrower than the plate is thick: a groove, or the part of a region that is so narrow, thins the section that the
stress is worked out on and takes its weight away, and leaves the stiffness as it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely

from fem.plate.averaging import DiscMean, disc_mean
from fem.plate.bell import BellPlate
from fem.plate.gauss import gauss_01
from fem.plate.model import PlateCase

__all__ = ["Depths", "Zone", "depth_borders", "depth_mean", "depths_of", "only_area", "weight_load"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
Area = shapely.Polygon | shapely.MultiPolygon

# Samples each way about a point of the quadrature, where a border cuts its triangle.
_ABOUT = 6
# How far beyond the slab's edge zones reach [m].
_BEYOND = 1e-3
# Sharp corners stay sharp when a region is worn down and grown again.
_SHARP = 5.0


class Zone(NamedTuple):
    """A part of the slab of one depth [m]."""

    area: Area
    depth: float


@dataclass(frozen=True, eq=False)
class Depths:
    """Local depths of a slab: thickness [m] but in zones, which do not overlap.

    zones are what the stress and the weight go by, stiff those parts that are wide enough to bend as they are; border
    the lines within the slab across which the stiffness steps.
    """

    thickness: float
    zones: tuple[Zone, ...]
    stiff: tuple[Zone, ...]
    border: shapely.Geometry

    def at(self, points: FloatArray) -> FloatArray:
        """Depth (p,) [m] at points (p, 2) [m]; on a border the region's."""
        return _at(self.zones, self.thickness, points)

    def stress_at(self, points: FloatArray, radius: float) -> FloatArray:
        """The smallest depth (p,) [m] within radius [m] of points (p, 2).

        The moment is a mean over a disc; wherever the disc meets a thinner part its pull is worked out there: 6 m / t2
        with the depth of the thinner part. So a groove as narrow as a saw cut counts in full.
        """
        depth = np.full(len(points), np.inf)
        spots = np.asarray(shapely.points(points))
        for area, own in (*self.zones, Zone(self._rest, self.thickness)):
            near = shapely.dwithin(area, spots, max(radius, 1e-9))
            depth[near] = np.minimum(depth[near], own)
        return np.where(np.isfinite(depth), depth, self.thickness)

    def scale_at(self, points: FloatArray) -> FloatArray:
        """Rigidity (p,) at points (p, 2) [m] over that of the slab's thickness: (depth / thickness) cubed."""
        return (_at(self.stiff, self.thickness, points) / self.thickness) ** 3

    def rigidity_scale(self, bell: BellPlate) -> FloatArray:
        """scale_at the points of the quadrature (e, g); the mean about each point where a border cuts the triangle."""
        return (self._on_quadrature(bell, self.stiff, 3)) / self.thickness**3

    def depth_on(self, bell: BellPlate) -> FloatArray:
        """Depth (e, g) [m] at the points of the quadrature, with every groove; the mean where a border cuts."""
        return self._on_quadrature(bell, self.zones, 1)

    @cached_property
    def spots(self) -> FloatArray:
        """Where the pull of a thinner part may hide between the points of a mesh: along its border, (k, 2) [m]."""
        lines = [shapely.segmentize(zone.area, self.thickness) for zone in self.zones if zone.depth < self.thickness]
        inside = shapely.point_on_surface([zone.area for zone in self.zones])
        return shapely.get_coordinates([*inside, *lines])

    def border_distance(self, points: FloatArray) -> FloatArray:
        """Distance (p,) [m] of points (p, 2) from the nearest step that the stiffness knows; inf without one."""
        if shapely.is_empty(self.border):
            return np.full(len(points), np.inf)
        return np.asarray(shapely.distance(self.border, shapely.points(points)))

    @cached_property
    def _rest(self) -> Area:
        """A box all about without the zones."""
        whole = shapely.union_all([zone.area for zone in self.zones])
        x0, y0, x1, y1 = whole.bounds
        far = 100 * (x1 - x0 + y1 - y0)
        rest = only_area(shapely.difference(shapely.box(x0 - far, y0 - far, x1 + far, y1 + far), whole))
        shapely.prepare(rest)
        return rest

    def _on_quadrature(self, bell: BellPlate, zones: tuple[Zone, ...], power: int) -> FloatArray:
        points, weights = bell.quadrature
        value = _at(zones, self.thickness, points.reshape(-1, 2)).reshape(weights.shape) ** power
        cut = np.flatnonzero(_cut(bell, zones))
        if len(cut):
            cells = _cell_samples()
            fine, _ = bell.spread(cut, cells, cells)
            depth = _at(zones, self.thickness, fine.reshape(-1, 2)) ** power
            value[cut] = depth.reshape(len(cut), 4, _ABOUT, 4, _ABOUT).mean(axis=(2, 4)).reshape(len(cut), -1)
        return value


def depths_of(plate: PlateCase, region: shapely.Polygon) -> Depths | None:
    """The depths of a slab of this region; None where it has one thickness throughout.

    Of regions that overlap the later counts.
    """
    # The region's chords cut inside the arcs, where nodes of the mesh lie.
    near = shapely.buffer(region, _BEYOND)
    areas = [(only_area(shapely.intersection(shapely.Polygon(own.points), near)), own.depth) for own in plate.regions]
    zones = _apart(areas)
    if not zones:
        return None
    stiff = _apart((_wide(area, plate.thickness), depth) for area, depth in areas)
    rims = shapely.union_all([zone.area.boundary for zone in stiff])
    border = shapely.intersection(rims, shapely.buffer(region, -1e-6))
    shapely.prepare(border)
    return Depths(plate.thickness, zones, stiff, border)


def depth_borders(plate: PlateCase) -> tuple[FloatArray, ...]:
    """The borders of all regions that the mesh should follow: closed polylines (k_i, 2) [m]."""
    wide = [_wide(shapely.Polygon(own.points), plate.thickness) for own in plate.regions]
    return tuple(shapely.get_coordinates(ring) for area in wide for ring in shapely.get_rings(area))


def weight_load(bell: BellPlate, plate: PlateCase, depths: Depths | None) -> FloatArray:
    """Load vector (6 n,) [N] of the slab's own weight, each part by its own depth.

    A region weighs by its depth and what plate.weight_thickness is more than plate.thickness.
    """
    if depths is None:
        return plate.weight_per_area * bell.body_load
    depth = depths.depth_on(bell) + (plate.heavy_thickness - plate.thickness)
    return plate.density * plate.gravity * bell.pressure_load(depth)


def only_area(area: shapely.Geometry) -> Area:
    """The polygons of a geometry, without the lines and points that cutting leaves."""
    parts = [part for part in shapely.get_parts(area) if part.geom_type == "Polygon" and part.area > 1e-12]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def depth_mean(bell: BellPlate, points: FloatArray, radius: float, region: shapely.Polygon, depths: Depths) -> DiscMean:
    """Means over discs of the curvature times scale_at: times D at full depth they are moments (p, 3) [N m/m].

    Where a disc lies across a step each side counts with its own depth, so that the moment, which is the same on both
    sides, and not the curvature, which leaps, is averaged.
    """
    steps = np.flatnonzero(depths.border_distance(points) < radius)
    weight = depths.scale_at(points)
    weight[steps] = 0.0
    spots = np.asarray(shapely.points(points[steps]))
    parts = [
        (part, (zone.depth / depths.thickness) ** 3)
        for zone in (*depths.stiff, Zone(_without(region, depths.stiff), depths.thickness))
        for part in shapely.get_parts(only_area(shapely.intersection(zone.area, region)))
    ]
    shares = np.stack([shapely.area(_disc_part(spots, radius, part)) for part, _ in parts])
    shares /= np.maximum(shares.sum(axis=0), 1e-30)
    rows = sp.diags_array(np.repeat(weight, 3)) @ disc_mean(bell, points, radius, region).rows
    for (part, scale), share in zip(parts, shares, strict=True):
        # A sliver's mean is an ill-conditioned quotient, and it counts for nothing.
        own = np.flatnonzero(share > 1e-6)
        if len(own):
            mean = disc_mean(bell, points[steps[own]], radius, part).rows
            into = (3 * steps[own, None] + np.arange(3)).ravel()
            times = np.repeat(scale * share[own], 3)
            put = sp.coo_matrix((times, (into, np.arange(len(into)))), shape=(3 * len(points), len(into)))
            rows = rows + put @ mean
    return DiscMean((sp.csr_matrix(rows),))


def _disc_part(spots: npt.NDArray[np.object_], radius: float, part: shapely.Polygon) -> npt.NDArray[np.object_]:
    """The piece of each disc within a part that its mean is taken over: the one nearest to the centre."""
    pieces = shapely.intersection(shapely.buffer(spots, radius, quad_segs=8), part)
    for k in np.flatnonzero(shapely.get_type_id(pieces) != shapely.GeometryType.POLYGON):
        own = [piece for piece in shapely.get_parts(pieces[k]) if piece.area > 0]
        pieces[k] = min(own, key=lambda piece: (piece.distance(spots[k]), -piece.area), default=shapely.Polygon())
    return np.asarray(pieces)


def _wide(area: Area, width: float) -> Area:
    """What is left of an area when all that is narrower than width [m] is left out."""
    worn = shapely.buffer(area, -width / 2, join_style="mitre", mitre_limit=_SHARP)
    grown = shapely.buffer(worn, width / 2, join_style="mitre", mitre_limit=_SHARP)
    kept = only_area(shapely.intersection(grown, area))
    return area if kept.area > (1 - 1e-6) * area.area else kept


def _apart(areas: Iterable[tuple[Area, float]]) -> tuple[Zone, ...]:
    """Zones that do not overlap: of each area what no later one covers."""
    zones: list[Zone] = []
    for area, depth in areas:
        zones = [Zone(only_area(shapely.difference(zone.area, area)), zone.depth) for zone in zones]
        zones.append(Zone(only_area(area), depth))
    zones = [zone for zone in zones if zone.area.area > 1e-12]
    for zone in zones:
        shapely.prepare(zone.area)
    return tuple(zones)


def _without(region: shapely.Polygon, zones: tuple[Zone, ...]) -> Area:
    return only_area(shapely.difference(region, shapely.union_all([zone.area for zone in zones])))


def _at(zones: tuple[Zone, ...], thickness: float, points: FloatArray) -> FloatArray:
    depth = np.full(len(points), thickness)
    for zone in zones:
        depth[shapely.intersects_xy(zone.area, points[:, 0], points[:, 1])] = zone.depth
    return depth


def _cut(bell: BellPlate, zones: tuple[Zone, ...]) -> BoolArray:
    """Which triangles a border runs through, (e,), and not merely along."""
    shrunk = bell.center[:, None] + 0.98 * (bell.mesh.corners - bell.center[:, None])
    triangles = np.asarray(shapely.polygons(shrunk))
    cut = np.zeros(len(triangles), dtype=np.bool_)
    for zone in zones:
        border = zone.area.boundary
        shapely.prepare(border)
        cut |= shapely.intersects(border, triangles)
    return cut


def _cell_samples() -> FloatArray:
    """Places in [0, 1], _ABOUT evenly in the share of each of four Gauss points."""
    ends = np.concatenate([[0.0], np.cumsum(gauss_01(4)[1])])
    share = (np.arange(_ABOUT) + 0.5) / _ABOUT
    return np.asarray((ends[:-1, None] + share * np.diff(ends)[:, None]).ravel())
