"""Where a support or a load meets the plate: places become weighted points, grouped into contacts.

A line is a row of overlapping hats, each a force spread evenly up and down along it, so that the reaction is a line
density and never a row of spikes; what Kirchhoff's theory concentrates at the ends of a line and at a held corner
gets a contact of its own there. Lines and points inside the slab are spread across by the kernel of fem.plate.kernel,
and remember it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.gauss import gauss_01
from fem.plate.kernel import across_line, round_kernel, westergaard_radius
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PointPlace
from meshing.mesh import Mesh
from meshing.shape import Loop

__all__ = ["Footing", "LineSpread", "RoundSpread", "Site", "footing", "join"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Place = PointPlace | LinePlace | EdgePlace | AreaPlace

_GAUSS_ALONG = 4
_ACROSS = 10
_LEAST_SPREAD = 0.15
_MOST_CONTACTS = 160


@dataclass(frozen=True, eq=False)
class Site:
    """What a footing needs to know of the slab: its true region, its thickness and how far a force is spread [m]."""

    mesh: Mesh
    region: shapely.Polygon
    thickness: float
    spread: float
    spacing: float
    most_on_edge: int = 320

    @staticmethod
    def of(mesh: Mesh, thickness: float) -> Site:
        """Spread of 1.25 field sizes and contacts one field size apart (convergence study in DEVELOPERS.md)."""
        region = mesh.shape.region()
        shapely.prepare(region)
        return Site(mesh, region, thickness, 1.25 * mesh.field_size, mesh.field_size)

    def coarser(self, factor: float) -> Site:
        """The same slab with contacts this much farther apart."""
        return replace(self, spacing=factor * self.spacing, most_on_edge=max(int(self.most_on_edge / factor), 4))

    def depth(self, points: FloatArray) -> FloatArray:
        """Distance of points (k, 2) from the nearest edge, 0 outside: (k,) [m]."""
        spots = shapely.points(points)
        return np.where(shapely.covers(self.region, spots), shapely.distance(self.region.boundary, spots), 0.0)


@dataclass(frozen=True, eq=False)
class LineSpread:
    """A straight line whose force is spread across: density [N/m] at stations (k,) [m] from the contacts' forces.

    widths (j,) is the half-width of the spread at places (j,) along it [m].
    """

    start: FloatArray
    along: FloatArray
    stations: FloatArray
    contacts: IntArray
    hat: FloatArray
    places: FloatArray
    widths: FloatArray


@dataclass(frozen=True, eq=False)
class RoundSpread:
    """A point whose force, even on a disc of radius pressed, is spread over a disc of radius spread [m]."""

    center: FloatArray
    contact: int
    pressed: float
    spread: float


@dataclass(frozen=True, eq=False)
class Footing:
    """Weighted points of s contacts: points (k, 2) [m], weight (k,), contact (k,), normal (k, 2) of slopes, nan for w.

    One unit of a contact's force is one newton. share (s,) is the part of the support's length or area that a contact
    stands for, tributary (s,) that length or area itself (1 for a point, 0 for the concentrated force at an end);
    slope (s,) marks the contacts that hold a slope; spots (s, 2) [m] is where each contact is; singular (j, 2) [m]
    are places beside which the moments have no bound; rows are the hats in a row: contact numbers and where their
    tops are along it [m].
    """

    points: FloatArray
    weight: FloatArray
    contact: IntArray
    normal: FloatArray
    share: FloatArray
    tributary: FloatArray
    slope: npt.NDArray[np.bool_]
    spots: FloatArray
    singular: FloatArray
    lines: tuple[LineSpread, ...] = ()
    rounds: tuple[RoundSpread, ...] = ()
    rows: tuple[tuple[IntArray, FloatArray], ...] = ()

    @property
    def size(self) -> int:
        """Number of contacts s."""
        return len(self.share)


def footing(site: Site, place: Place, clamp: bool = False, concentrated: bool = True) -> Footing:
    """The contacts of a place; clamp adds those that hold the slope, concentrated the forces at ends and corners.

    A footing without contacts is a place that misses the slab altogether.
    """
    if isinstance(place, PointPlace):
        return _point(site, place, clamp)
    if isinstance(place, LinePlace):
        return _line(site, place, clamp, concentrated)
    if isinstance(place, EdgePlace):
        return _edge(site, place, clamp, concentrated)
    return _area(site, place)


def _point(site: Site, place: PointPlace, clamp: bool) -> Footing:
    at = np.asarray(place.at, dtype=np.float64)
    depth = float(site.depth(at[None])[0])
    pressed = min(float(westergaard_radius(place.size / np.sqrt(np.pi), site.thickness)), depth)
    spread = min(site.spread, depth)
    rounds: tuple[RoundSpread, ...] = ()
    if pressed < 1e-3 * site.thickness:
        points, weight = at[None], np.ones(1)
    elif spread > 1.2 * pressed:
        unit, weight = round_kernel(6, 14)
        points = at + spread * unit
        rounds = (RoundSpread(at, 0, pressed, spread),)
    else:
        points, weight = _even_disc(at, pressed)
    base = Footing(
        points,
        weight,
        np.zeros(len(points), dtype=np.int64),
        np.full((len(points), 2), np.nan),
        np.ones(1),
        np.ones(1),
        np.zeros(1, dtype=bool),
        at[None],
        np.zeros((0, 2)) if pressed >= 1e-3 * site.thickness else at[None],
        rounds=rounds,
    )
    if not clamp:
        return base
    # Both slopes are held over the pressed disc, and the moment there has no bound.
    points, weight = _even_disc(at, max(pressed, 1e-3 * site.thickness))
    parts = [base] + [_slope_at(points, weight, at, np.asarray(axis)) for axis in ((1.0, 0.0), (0.0, 1.0))]
    return replace(join(parts), singular=at[None])


def _slope_at(points: FloatArray, weight: FloatArray, at: FloatArray, normal: FloatArray) -> Footing:
    k = len(points)
    return Footing(
        points,
        weight,
        np.zeros(k, dtype=np.int64),
        np.broadcast_to(normal, (k, 2)),
        np.zeros(1),
        np.zeros(1),
        np.ones(1, dtype=bool),
        at[None],
        np.zeros((0, 2)),
    )


def _even_disc(at: FloatArray, radius: float) -> tuple[FloatArray, FloatArray]:
    r, weight = gauss_01(4)
    angle = (np.arange(12) + 0.5) * 2 * np.pi / 12
    places = r[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return at + radius * places.reshape(-1, 2), np.repeat(2 * r * weight / 12, 12)


def _stations(length: float, spacing: float, closed: bool = False) -> FloatArray:
    """Hat tops along a length, closer at the ends, where the reaction rises steeply."""
    count = max(int(np.ceil(length / spacing - 0.2)), 1)
    even = np.linspace(0.0, length, count + 1)
    if closed or count < 2:
        return even
    third = even[1] / 3
    return np.concatenate([[0.0, third], even[1:-1], [length - third, length]])


def _hats(
    stations: FloatArray, breaks: FloatArray, closed: bool = False
) -> tuple[FloatArray, FloatArray, IntArray, FloatArray]:
    """Gauss points along hats: place (k,), weight with unit sum per hat (k,), hat (k,); and each hat's area (s,).

    breaks are places, the stations' ends among them, that no interval of the rule runs across. On a closed row the last
    station is the first one, come round again, and the two make one hat.
    """
    t, weight = gauss_01(_GAUSS_ALONG)
    cuts = np.unique(np.concatenate([stations, breaks]))
    step = np.diff(cuts)
    place = (cuts[:-1, None] + step[:, None] * t).ravel()
    whole = (step[:, None] * weight).ravel()
    left = np.clip(np.searchsorted(stations, place) - 1, 0, len(stations) - 2)
    share = (place - stations[left]) / np.diff(stations)[left]
    hats = np.concatenate([left, left + 1]).astype(np.int64)
    weights = np.concatenate([whole * (1 - share), whole * share])
    if closed:
        hats = np.where(hats == len(stations) - 1, 0, hats)
    area = np.bincount(hats, weights).astype(np.float64)
    return np.concatenate([place, place]), weights / area[hats], hats, area


def _line(site: Site, place: LinePlace, clamp: bool, concentrated: bool) -> Footing:
    chains = _chains(site, np.asarray(place.points, dtype=np.float64))
    total = sum(float(np.hypot(*np.diff(chain, axis=0).T).sum()) for chain in chains)
    spacing = max(site.spacing, total / _MOST_CONTACTS)
    parts, ends = [], []
    for chain in chains:
        closed = bool(len(chain) > 3 and np.hypot(*(chain[0] - chain[-1])) < 1e-6)
        parts += _chain(site, chain, closed, spacing, total, clamp)
        ends += [] if closed else [chain[0], chain[-1]]
    if concentrated:
        parts += [_spike(end) for end in ends]
    joined = join(parts)
    return replace(joined, singular=np.asarray(ends).reshape(-1, 2))


def _chains(site: Site, points: FloatArray) -> list[FloatArray]:
    """Stretches of a line that lie on the slab, each a chain of points; what bridges an opening bears nothing there."""
    grown = site.region.buffer(1e-4)
    chains: list[list[FloatArray]] = []
    for a, b in pairwise(points):
        cut = shapely.intersection(shapely.LineString([a, b]), grown)
        for part in shapely.get_parts(cut):
            ends = shapely.get_coordinates(part)
            if len(ends) < 2 or float(np.hypot(*(ends[-1] - ends[0]))) < 1e-6:
                continue
            # The order in which pieces come back is not promised: start from the end nearer to a.
            first, last = sorted((ends[0], ends[-1]), key=lambda end: float(np.hypot(*(end - a))))
            if chains and np.hypot(*(chains[-1][-1] - first)) < 1e-6:
                chains[-1].append(last)
            else:
                chains.append([first, last])
    if len(chains) > 1 and np.hypot(*(chains[-1][-1] - chains[0][0])) < 1e-6:
        chains[0] = chains.pop() + chains[0][1:]
    return [np.asarray(chain) for chain in chains]


def _chain(site: Site, chain: FloatArray, closed: bool, spacing: float, total: float, clamp: bool) -> list[Footing]:
    """One row of hats along a chain of straight pieces; hats run round its corners, so that no two share a spot."""
    step = np.diff(chain, axis=0)
    length = np.hypot(*step.T)
    knots = np.concatenate([[0.0], np.cumsum(length)])
    unit = step / length[:, None]
    stations = _stations(knots[-1], min(spacing, knots[-1] / 6) if closed else spacing, closed)
    place, weight, hat, area = _hats(stations, knots, closed)
    tops = stations[: len(area)]
    numbers = np.append(np.arange(len(area)), 0) if closed else np.arange(len(area))
    sharp = _sharp_knots(unit, closed)

    piece = np.clip(np.searchsorted(knots, place) - 1, 0, len(length) - 1)
    half = np.zeros(len(place))
    lines = []
    for k in range(len(length)):
        samples, width = _widths(site, chain[k], unit[k], length[k], sharp[k : k + 2])
        on = piece == k
        half[on] = np.interp(place[on] - knots[k], samples, width)
        lines.append(LineSpread(chain[k], unit[k], stations - knots[k], numbers, area[numbers], samples, width))

    x, across = across_line(_ACROSS)
    on_line = chain[piece] + (place - knots[piece])[:, None] * unit[piece]
    normal = np.stack([-unit[piece, 1], unit[piece, 0]], axis=1)
    points = on_line[:, None] + (half[:, None] * x)[..., None] * normal[:, None]
    of_top = np.clip(np.searchsorted(knots, tops, side="right") - 1, 0, len(length) - 1)
    spots = chain[of_top] + (tops - knots[of_top])[:, None] * unit[of_top]
    row = Footing(
        points.reshape(-1, 2),
        (weight[:, None] * across).ravel(),
        np.repeat(hat, _ACROSS),
        np.full((len(hat) * _ACROSS, 2), np.nan),
        area / total,
        area,
        np.zeros(len(area), dtype=bool),
        spots,
        np.zeros((0, 2)),
        lines=tuple(lines),
        rows=((np.arange(len(area)), tops),),
    )
    return [row, _slopes(on_line, weight, hat, normal, area, spots)] if clamp else [row]


def _sharp_knots(unit: FloatArray, closed: bool) -> npt.NDArray[np.bool_]:
    """Which corners of a chain, its ends included, end the spread: all that turn by more than 20 degrees."""
    turn = np.arccos(np.clip(np.einsum("ki,ki->k", unit[:-1], unit[1:]), -1, 1)) > np.radians(20)
    end = bool(np.arccos(np.clip(unit[-1] @ unit[0], -1, 1)) > np.radians(20)) if closed else True
    return np.concatenate([[end], turn, [end]])


def _widths(
    site: Site, start: FloatArray, unit: FloatArray, length: float, sharp: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Half-width of the spread along a straight piece: no wider than to the nearest edge, none at a sharp end."""
    samples = np.linspace(0.0, length, max(int(np.ceil(length / (0.25 * site.spread))), 4) + 1)
    width = np.minimum(site.depth(start + samples[:, None] * unit), site.spread)
    if sharp[0]:
        width = np.minimum(width, samples)
    if sharp[1]:
        width = np.minimum(width, length - samples)
    return samples, np.where(width < _LEAST_SPREAD * site.spread, 0.0, width)


def _slopes(
    points: FloatArray, weight: FloatArray, hat: IntArray, normal: FloatArray, area: FloatArray, spots: FloatArray
) -> Footing:
    s = len(spots)
    # The distance along the row serves only to halve it, and the hats' areas tell that as well as anything.
    tops = np.cumsum(area)
    return Footing(
        points,
        weight,
        hat,
        normal,
        np.zeros(s),
        area,
        np.ones(s, dtype=bool),
        spots,
        np.zeros((0, 2)),
        rows=((np.arange(s), tops),),
    )


def _spike(at: FloatArray) -> Footing:
    return Footing(
        at[None],
        np.ones(1),
        np.zeros(1, dtype=np.int64),
        np.full((1, 2), np.nan),
        np.zeros(1),
        np.zeros(1),
        np.zeros(1, dtype=bool),
        at[None],
        np.zeros((0, 2)),
    )


def _edge(site: Site, place: EdgePlace, clamp: bool, concentrated: bool) -> Footing:
    loop = site.mesh.shape.loops[place.loop]
    length = place.end - place.begin
    closed = length > loop.length * (1 - 1e-9)
    corners = loop.curve_starts[:-1][np.abs(loop.corner_angles - np.pi) > 1e-3]
    turns = np.concatenate([corners + turn * loop.length for turn in (-1, 0, 1)])
    inner = np.unique(turns[(turns > place.begin + 1e-9) & (turns < place.end - 1e-9)])
    knots = np.concatenate([[place.begin], inner, [place.end]])
    spacing = max(site.spacing, length / _MOST_CONTACTS)
    ring = closed and not len(inner) and not np.any(np.abs(turns - place.begin) < 1e-9)
    parts = []
    for s0, s1 in pairwise(knots):
        stations = _at_nodes(
            s0 + _stations(s1 - s0, spacing, closed=ring), _node_distances(site.mesh, place.loop), site.most_on_edge
        )
        at, weight, hat, area = _hats(stations, stations, closed=ring)
        stations = stations[: len(area)]
        points, normal = _on_loop(loop, at, outline=place.loop == 0)
        spots = _on_loop(loop, stations, outline=True)[0]
        s = len(stations)
        plain = np.full((len(hat), 2), np.nan)
        parts.append(
            Footing(
                points,
                weight,
                hat,
                plain,
                area / length,
                area,
                np.zeros(s, dtype=bool),
                spots,
                np.zeros((0, 2)),
                rows=((np.arange(s), stations),),
            )
        )
        if clamp:
            parts.append(_slopes(points, weight, hat, normal, area, spots))
    special = inner if closed else knots
    if closed and not ring:
        special = np.append(inner, place.begin)
    ends = _on_loop(loop, special, outline=True)[0] if len(special) else np.zeros((0, 2))
    if concentrated:
        parts += [_spike(end) for end in ends]
    return replace(join(parts), singular=ends)


def _node_distances(mesh: Mesh, loop: int) -> FloatArray:
    """Distances along a loop of its mesh nodes, over three rounds: (3 k,) [m]."""
    here = mesh.side_loop == loop
    starts = mesh.shape.loops[loop].curve_starts
    curve = mesh.side_curve[here]
    once = starts[curve] + mesh.side_s[here].min(axis=1) * np.diff(starts)[curve]
    return np.sort(np.concatenate([once + turn * starts[-1] for turn in (-1, 0, 1)]))


def _at_nodes(stations: FloatArray, nodes: FloatArray, most: int) -> FloatArray:
    """Hat tops at every mesh node between the ends; where those are too many, at the nodes nearest to even stations.

    A reaction then bends only where the elements do. (Off the nodes the edge moment of a clamped circle wavers by 1
    to 3 %; on them it is right to 2e-7.)
    """
    between = nodes[(nodes > stations[0] + 1e-9) & (nodes < stations[-1] - 1e-9)]
    if len(between) > most:
        between = between[np.abs(between[:, None] - stations[1:-1]).argmin(axis=0)]
    return np.unique(np.concatenate([stations[:1], between, stations[-1:]]))


def _on_loop(loop: Loop, distance: FloatArray, outline: bool) -> tuple[FloatArray, FloatArray]:
    """Points at distances along a loop and the normals that point out of the slab: (k, 2) [m], (k, 2)."""
    wrapped = np.mod(distance, loop.length)
    starts = loop.curve_starts
    index = np.clip(np.searchsorted(starts, wrapped, side="right") - 1, 0, len(loop.curves) - 1)
    points, normals = np.empty((len(wrapped), 2)), np.empty((len(wrapped), 2))
    for k in np.unique(index):
        curve, on = loop.curves[k], index == k
        fine = np.linspace(0.0, 1.0, 65)
        speed = np.hypot(*curve.derivative(fine).T)
        run = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(fine))])
        s = np.interp((wrapped[on] - starts[k]) / curve.length, run / run[-1], fine)
        points[on] = curve.point(s)
        d = curve.derivative(s)
        normals[on] = np.stack([d[:, 1], -d[:, 0]], axis=1) / np.hypot(*d.T)[:, None]
    return points, normals if outline else -normals


def _area(site: Site, place: AreaPlace) -> Footing:
    """Square cells of even pressure over the area; six Gauss points to each small triangle of a cell."""
    wanted = site.region if not place.points else shapely.intersection(shapely.Polygon(place.points), site.region)
    side = max(2 * site.spacing, float(np.sqrt(wanted.area / 60)))
    x0, y0, x1, y1 = wanted.bounds
    nx, ny = (max(int(np.ceil((hi - lo) / side)), 1) for lo, hi in ((x0, x1), (y0, y1)))
    x, y = np.linspace(x0, x1, nx + 1), np.linspace(y0, y1, ny + 1)
    west, south, east, north = np.broadcast_arrays(x[:-1, None], y[:-1], x[1:, None], y[1:])
    boxes = shapely.box(west.ravel(), south.ravel(), east.ravel(), north.ravel())
    cells = shapely.intersection(wanted, boxes)
    cells = cells[shapely.area(cells) > 1e-6 * side**2]
    points, weight, cell = _area_points(cells, side / 3)
    area = shapely.area(cells)
    s = len(cells)
    return Footing(
        points,
        weight / area[cell],
        cell,
        np.full((len(points), 2), np.nan),
        area / wanted.area,
        area,
        np.zeros(s, dtype=bool),
        shapely.get_coordinates(shapely.point_on_surface(cells)),
        np.zeros((0, 2)),
    )


def _area_points(cells: npt.NDArray[np.object_], step: float) -> tuple[FloatArray, FloatArray, IntArray]:
    """Points, weights [m2] and cell of a quadrature over polygons, on triangles with sides about step [m]."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(cells), return_index=True)
    inner, owner = shapely.get_parts(triangles[0], return_index=True)
    owner = triangles[1][owner]
    corner = shapely.get_coordinates(inner).reshape(-1, 4, 2)[:, :3]
    for _ in range(12):
        side = np.hypot(*(np.roll(corner, -1, axis=1) - corner).transpose(2, 0, 1))
        longest = side.argmax(axis=1)
        row = np.arange(len(corner))
        split = side[row, longest] > step
        if not split.any():
            break
        a, b, c = (corner[row, (longest + k) % 3] for k in range(3))
        middle = (a + b) / 2
        halves = [np.stack([a, middle, c], axis=1)[split], np.stack([middle, b, c], axis=1)[split]]
        corner = np.concatenate([corner[~split], *halves])
        owner = np.concatenate([owner[~split], owner[split], owner[split]])
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    # Strang & Fix (1973), six points, degree four.
    share = np.array([0.223381589678011, 0.109951743655322])
    near = np.array([0.445948490915965, 0.091576213509771])
    bary = np.array([np.roll([1 - 2 * p, p, p], k) for p in near for k in range(3)])
    points = np.einsum("bk,ekd->ebd", bary, corner)
    weights = area[:, None] * np.repeat(share, 3)
    return points.reshape(-1, 2), weights.ravel(), np.repeat(owner, 6)


def join(parts: Sequence[Footing]) -> Footing:
    """One footing of many, the contacts numbered through."""
    if not parts:
        none = np.zeros(0)
        pair = np.zeros((0, 2))
        index = np.zeros(0, dtype=np.int64)
        return Footing(pair, none, index, pair, none, none, np.zeros(0, dtype=bool), pair, pair)
    first = np.cumsum([0] + [part.size for part in parts])
    return Footing(
        np.concatenate([part.points for part in parts]),
        np.concatenate([part.weight for part in parts]),
        np.concatenate([part.contact + k for part, k in zip(parts, first, strict=False)]),
        np.concatenate([part.normal for part in parts]),
        np.concatenate([part.share for part in parts]),
        np.concatenate([part.tributary for part in parts]),
        np.concatenate([part.slope for part in parts]),
        np.concatenate([part.spots for part in parts]),
        np.concatenate([part.singular for part in parts]),
        tuple(
            replace(line, contacts=line.contacts + k)
            for part, k in zip(parts, first, strict=False)
            for line in part.lines
        ),
        tuple(
            replace(spot, contact=spot.contact + int(k))
            for part, k in zip(parts, first, strict=False)
            for spot in part.rounds
        ),
        tuple((numbers + k, tops) for part, k in zip(parts, first, strict=False) for numbers, tops in part.rows),
    )
