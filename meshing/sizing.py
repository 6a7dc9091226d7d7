"""How fine the triangles are, and where: a size [m] for every point of the slab, from its shape alone.

The size is the least of a field size and of cones that grow with the distance from fillets, round openings and sharp
corners, where the plate's moments change fast (Williams 1952 for the corners), from places where the slab is
narrow, and from borders inside the slab across which its depth or its bow changes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import cKDTree

from meshing.shape import Arc, Curve, Loop, Shape

__all__ = ["REENTRANT", "Borders", "Fineness", "SizeMap", "curve_parameters", "narrow_places", "size_map"]

FloatArray = npt.NDArray[np.float64]

#: Angle of slab [rad] above which a corner counts as re-entrant, an arc's own turn left aside.
REENTRANT = 1.02 * math.pi

#: Nodes that borders inside the slab may cost: the size beside them is raised above it.
_MOST_FOR_BORDERS = 3000


@dataclass(frozen=True, slots=True)
class Fineness:
    """What the mesh is asked for; the defaults come from the convergence study in DEVELOPERS.md.

    field: field size as a multiple of the thickness; segments: sides per quarter turn of an arc; corner: size at a
    sharp corner whose moments are endless, as a multiple of the thickness; growth: size gained per unit of distance;
    across: triangles across a narrow place; most_triangles: the field is coarsened above it; border: size at a border
    inside the slab, as a multiple of the thickness.
    """

    field: float = 1.6
    segments: float = 8.0
    corner: float = 0.03
    growth: float = 0.5
    across: float = 1.5
    most_triangles: int = 12_000
    border: float = 0.25


@dataclass(frozen=True, eq=False)
class Borders:
    """Lines inside the slab that triangles are wanted along: chains (k_i, 2) [m], divided, of this size [m].

    No two chains cross or meet: they keep half a size away from one another and from the slab's own edges.
    """

    chains: tuple[FloatArray, ...] = ()
    size: float = math.inf

    @property
    def points(self) -> FloatArray:
        """All points of the chains, (k, 2) [m]."""
        return np.concatenate([np.zeros((0, 2)), *self.chains])


@dataclass(frozen=True, eq=False)
class SizeMap:
    """size(x) = min(field, h0 + growth | |x - center| - radius |) over the cones (c, 4) = (x, y, radius, h0) [m].

    Borders count likewise: h0 + growth times the distance from the nearest of their points.
    """

    field: float
    growth: float
    cones: FloatArray
    coarsened: bool
    borders: Borders = Borders()

    def __call__(self, points: FloatArray) -> FloatArray:
        """Sizes at points (k, 2): (k,) [m]."""
        size = self._from_cones(points)
        if self.borders.chains:
            away, _ = cKDTree(self.borders.points).query(points)
            size = np.minimum(size, self.borders.size + self.growth * np.asarray(away))
        return size

    def _from_cones(self, points: FloatArray) -> FloatArray:
        if not len(self.cones):
            return np.full(len(points), self.field)
        away = np.hypot(
            points[:, 0, None] - self.cones[:, 0],
            points[:, 1, None] - self.cones[:, 1],
        )
        size = self.cones[:, 3] + self.growth * np.abs(away - self.cones[:, 2])
        return np.asarray(np.minimum(size.min(axis=1), self.field))


def size_map(shape: Shape, thickness: float, fineness: Fineness, borders: Sequence[FloatArray] = ()) -> SizeMap:
    """The size map of a slab of this thickness [m]; its field is coarsened to keep the mesh within most_triangles.

    borders: polylines (k_i, 2) [m] across which the slab's depth or bow changes.
    """
    region = shape.region(1e-4)
    field = fineness.field * thickness
    # A piece that is small against its thickness still wants a few triangles each way.
    field = min(field, math.sqrt(region.area) / 6)
    least = math.sqrt(region.area / (0.45 * fineness.most_triangles))
    coarsened = field < least
    field = max(field, least)
    cones = [_arc_cone(arc, fineness) for loop in shape.loops for arc in loop.curves if isinstance(arc, Arc)]
    cones += _corner_cones(shape, min(fineness.corner * thickness, field / 4))
    cones += _narrow_cones(shape, region, field, fineness)
    keep = [cone for cone in cones if cone[3] < field]
    within = _borders(region, borders, fineness.border * thickness, fineness.growth)
    return SizeMap(field, fineness.growth, np.asarray(keep).reshape(-1, 4), coarsened, within)


def _borders(region: shapely.Polygon, polylines: Sequence[FloatArray], size: float, growth: float) -> Borders:
    """The parts of polylines that lie well inside the slab and apart from one another, divided to this size [m].

    Lines that nearly touch would pinch the triangles between them: of each line what comes within half a size of
    an earlier one is left out, and so are places where a closed line comes near itself.
    """
    if not polylines:
        return Borders()
    lines = [shapely.intersection(line, region) for line in _apart_from_itself(polylines, size)]
    # A cone of size s along a line holds 2.3 / (growth s) nodes a length.
    size = max(size, 2.3 * sum(line.length for line in lines) / (growth * _MOST_FOR_BORDERS))
    room: shapely.Geometry = shapely.buffer(region, -size / 2)
    chains: list[FloatArray] = []
    for line in lines:
        inside = shapely.intersection(line, room)
        room = shapely.difference(room, shapely.buffer(inside, size / 2))
        merged = inside if inside.geom_type == "LineString" else shapely.line_merge(inside)
        pieces = [piece for piece in shapely.get_parts(merged) if piece.length > size / 2]
        thinned = shapely.get_parts(shapely.remove_repeated_points(pieces, size / 3))
        chains += [_divided(shapely.get_coordinates(piece), size) for piece in thinned]
    return Borders(tuple(chains), size)


def _apart_from_itself(polylines: Sequence[FloatArray], size: float) -> list[shapely.Geometry]:
    """The polylines, simpler by a fiftieth of size [m]; closed ones without what is narrower than size."""
    out: list[FloatArray] = []
    for points in polylines:
        if len(points) > 3 and np.array_equal(points[0], points[-1]):
            area: shapely.Geometry = shapely.Polygon(points)
            for step in (size / 2, -size, size / 2):
                area = shapely.buffer(area, step, join_style="mitre", mitre_limit=5.0)
            out += [shapely.get_coordinates(ring) for ring in shapely.get_rings(area)]
        else:
            out.append(points)
    return [shapely.simplify(shapely.LineString(line), 0.02 * size) for line in out]


def _divided(line: FloatArray, size: float) -> FloatArray:
    """A polyline (k, 2) with each of its straight pieces divided evenly, none longer than size [m]."""
    parts = [
        a + np.arange(count)[:, None] / count * (b - a)
        for a, b in itertools.pairwise(line)
        for count in [max(math.ceil(math.dist(a, b) / size - 0.05), 1)]
    ]
    return np.concatenate([*parts, line[-1:]])


def curve_parameters(curve: Curve, size: SizeMap, segments: float) -> FloatArray:
    """Parameters in [0, 1], ends included, that divide a curve as finely as the size map and its turn ask for."""
    samples = _samples(curve, size)
    speed = np.hypot(*curve.derivative(samples).T)
    density = speed / size(curve.point(samples))
    if isinstance(curve, Arc):
        u, v = curve.u, curve.v
        angle = curve.begin + (curve.finish - curve.begin) * samples
        handed = u[0] * v[1] - u[1] * v[0]
        bend = (
            abs(handed)
            * abs(curve.finish - curve.begin)
            / np.hypot(v[0] * np.cos(angle) - u[0] * np.sin(angle), v[1] * np.cos(angle) - u[1] * np.sin(angle)) ** 2
        )
        density = np.maximum(density, bend * segments / (math.pi / 2))
    running = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(samples))])
    count = max(math.ceil(running[-1] - 0.05), 2 if isinstance(curve, Arc) else 1)
    return np.interp(np.linspace(0.0, running[-1], count + 1), running, samples)


def _samples(curve: Curve, size: SizeMap) -> FloatArray:
    """Parameters at which sizes are looked up along a curve: never farther apart than twice the size beside them."""
    s = np.linspace(0.0, 1.0, 33 + 4 * math.ceil(curve.length / size.field))
    for _ in range(24):
        points = curve.point(s)
        beside = size(points)
        wide = np.hypot(*np.diff(points, axis=0).T) > 2 * np.minimum(beside[1:], beside[:-1])
        if not wide.any():
            break
        s = np.sort(np.concatenate([s, ((s[1:] + s[:-1]) / 2)[wide]]))
    return s


def _arc_cone(arc: Arc, fineness: Fineness) -> tuple[float, float, float, float]:
    radius = math.hypot(*arc.u) if arc.is_circle else 0.0
    chord = arc.smallest_radius * math.pi / 2 / fineness.segments
    if arc.is_circle:
        return (*arc.center, radius, chord)
    tip = arc.u if math.hypot(*arc.u) > math.hypot(*arc.v) else arc.v
    side = 1 if math.dist(arc.point(np.array([0.5]))[0], np.add(arc.center, tip)) < math.hypot(*tip) else -1
    return (arc.center[0] + side * tip[0], arc.center[1] + side * tip[1], 0.0, chord)


def _corner_cones(shape: Shape, finest: float) -> list[tuple[float, float, float, float]]:
    """Sharp corners: re-entrant ones are singular on free edges, obtuse ones on held edges (Williams 1952)."""
    cones = []
    for corner, inside in shape.corners:
        if inside > REENTRANT:
            cones.append((*corner, 0.0, finest))
        elif math.pi * 0.55 < inside < math.pi * 0.98:
            cones.append((*corner, 0.0, 2 * finest))
    return cones


def _narrow_cones(
    shape: Shape, region: shapely.Polygon, field: float, fineness: Fineness
) -> list[tuple[float, float, float, float]]:
    """Places where the slab is narrow: cones at the middle of the shortest ways across it."""
    places = narrow_places(shape, field * fineness.across, region)
    return [(x, y, 0.0, width / fineness.across) for x, y, width, _ in places]


def narrow_places(shape: Shape, reach: float, region: shapely.Polygon | None = None) -> FloatArray:
    """Where it is less than reach [m] straight across from edge to edge: (k, 4).

    Columns: middle x, y, width [m], direction [rad] of the way across. Looked for from stations a third of reach
    apart along every edge.
    """
    region = region or shape.region(1e-4)
    starts, ends = [], []
    for number, loop in enumerate(shape.loops):
        points, normals = _stations(loop, reach / 3)
        inward = normals if number == 0 else -normals
        # The region's chords cut up to 0.1 mm inside the arcs: start well clear of them.
        starts.append(points + 1e-2 * reach * inward)
        ends.append(points + reach * inward)
    start, end = np.concatenate(starts), np.concatenate(ends)
    shapely.prepare(region)
    short = np.flatnonzero(~shapely.covers(region, shapely.linestrings(np.stack([start, end], axis=1))))
    if not len(short):
        return np.zeros((0, 4))
    start, way = start[short], (end - start)[short]
    hits = shapely.intersection(shapely.linestrings(np.stack([start, end[short]], axis=1)), region.boundary)
    across = np.asarray(shapely.distance(shapely.points(start), hits))
    good = np.isfinite(across) & (across > 1e-2 * reach) & shapely.covers(region, shapely.points(start))
    unit = way / np.hypot(*way.T)[:, None]
    width = across + 1e-2 * reach
    middle = start + unit * (width / 2 - 1e-2 * reach)[:, None]
    return np.column_stack([middle, width, np.arctan2(unit[:, 1], unit[:, 0])])[good]


def _stations(loop: Loop, step: float) -> tuple[FloatArray, FloatArray]:
    """Points about step apart along a loop, off its corners, and the normals to their left: (k, 2), (k, 2)."""
    points, normals = [], []
    for curve in loop.curves:
        count = min(max(math.ceil(curve.length / step), 1), 400)
        s = (np.arange(count) + 0.5) / count
        d = curve.derivative(s)
        points.append(curve.point(s))
        normals.append(np.stack([-d[:, 1], d[:, 0]], axis=1) / np.hypot(*d.T)[:, None])
    return np.concatenate(points), np.concatenate(normals)
