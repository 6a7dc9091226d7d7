"""Runs that lie there whatever is owed: two in every rail beside an opening, two along every overhang.

Nothing in the factored stages may pull there, yet handling and shrinkage crack just these places first, and a crack
without steel lets the rail or the lip drop (common practice, no source). A rail is the strip between an opening and an
edge, or the next opening, that is narrower than the opening is long beside it. An overhang is slab beyond all supports
of the stages of use, deeper than the widest spacing. Runs go straight on, from edge to edge less cover.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.chords import Chord, chords, free_part
from fem.steel.lines import main_directions
from fem.steel.mat import DepthOf
from fem.steel.model import Covers, Face, Point, Rules, Run, Steel, Why

__all__ = ["LeastRuns", "Strip", "least_runs"]

FloatArray = npt.NDArray[np.float64]

_STATIONS = 21
_HAIR = 1e-6
_SNAP = np.radians(0.5)
_SAME = np.radians(0.1)
_ALONG = np.radians(10.0)
_BEND = np.radians(30.0)


@dataclass(frozen=True, slots=True)
class Strip:
    """A rail or an overhang: why, number of the opening it lies beside (None: an overhang), its direction [rad].

    width [m] is the rail's at its narrowest place at [m], or the overhang's depth there; has counts the runs along it.
    """

    why: Why
    opening: int | None
    angle: float
    width: float
    at: Point
    has: int = 0


@dataclass(frozen=True, slots=True)
class LeastRuns:
    """Runs to lay whatever is owed, and every strip with what it then has: less than two where no more fit."""

    runs: tuple[Run, ...]
    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A strip in axes along heading [rad] and to its left [m]: from begin to end, between the edges near and far.

    Axes of runs have room from low to high; the first lies at low, by the opening or the free edge.
    """

    strip: Strip
    heading: float
    begin: float
    end: float
    near: float
    far: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Bed:
    """A layer that is taken: one direction [rad]."""

    face: Face
    layer: int
    angle: float


def least_runs(
    region: shapely.Polygon,
    steel: Steel,
    covers: Covers,
    rules: Rules,
    depth_of: DepthOf,
    layers: int,
    supports: Sequence[shapely.Geometry] = (),
    laid: Sequence[Run] = (),
) -> LeastRuns:
    """What has to be laid besides the straight runs that lie there already.

    supports are those of the stages of use; without any there are no overhangs. At most so many layers fit the slab:
    a direction that finds no layer is left out. Rails are served near the underside, where a load on them pulls,
    overhangs near the show face.
    """
    free = free_part(region, covers, max(steel.width, steel.diameter) / 2)
    if shapely.is_empty(free):
        return LeastRuns((), ())
    axes = main_directions(region, rules.directions)
    wanted = [*_rails(region, free, rules, axes), *_overhangs(region, free, rules, axes, supports)]
    beds = list({(run.face, run.layer): _Bed(run.face, run.layer, _angle(run)) for run in laid}.values())
    runs: list[Run] = []
    strips: list[Strip] = []
    for one in wanted:
        bed = _bed(beds, one.strip, layers)
        has = [_offset(run, one.heading) for run in (*laid, *runs) if _passes(run, one)]
        for offset in _places(one, rules):
            if bed is None or len(has) > 1:
                break
            chord = _chord(free, one, offset, rules)
            if chord is None or any(abs(offset - other) < rules.pitch * (1 - 1e-6) for other in has):
                continue
            mark = f"{'R' if one.strip.why == 'rail' else 'H'}{len(runs) + 1}"
            run = Run(mark, bed.face, chord, depth_of(bed.face, bed.layer), steel, bed.layer, one.strip.why)
            if any(_crowds(run, other, rules) for other in (*laid, *runs)):
                continue
            beds = beds if bed in beds else [*beds, bed]
            runs.append(run)
            has.append(offset)
        strips.append(replace(one.strip, has=len(has)))
    return LeastRuns(tuple(runs), tuple(strips))


def _rails(region: shapely.Polygon, free: shapely.Geometry, rules: Rules, axes: tuple[float, ...]) -> Iterator[_Wanted]:
    """Every rail, the narrowest first."""
    holes = [shapely.Polygon(ring) for ring in region.interiors]
    sides = [(k, _own_axis(hole, axes) + quarter * np.pi / 2) for k, hole in enumerate(holes) for quarter in range(4)]
    found = [_rail(region, free, holes[k], k, heading, rules) for k, heading in sides]
    yield from sorted((one for one in found if one is not None), key=lambda one: one.strip.width)


def _rail(
    region: shapely.Polygon, free: shapely.Geometry, hole: shapely.Polygon, number: int, heading: float, rules: Rules
) -> _Wanted | None:
    """The strip to the left of an opening; None if it is no narrower than the opening is long."""
    along, across = (shapely.get_coordinates(hole) @ _frame(heading)).T
    begin, end = float(along.min()), float(along.max())
    if end - begin < rules.most:
        return None
    stations = np.linspace(begin, end, _STATIONS)[1:-1]
    middle = np.full(len(stations), (across.min() + across.max()) / 2)
    near, far = _next(region, heading, stations, middle)
    low, high = _next(free, heading, stations, near)
    closed = ~(low < far)
    narrowest = np.flatnonzero(far - near <= (far - near).min() + _HAIR)
    at = int(narrowest[len(narrowest) // 2])
    if not (far - near)[at] < end - begin:
        return None
    x, y = _frame(heading) @ (stations[at], (near[at] + far[at]) / 2)
    strip = Strip("rail", number, heading % np.pi, float((far - near)[at]), (float(x), float(y)))
    room = (np.inf, -np.inf) if closed.any() else (float(low.max()) + _HAIR, float(high.min()) - _HAIR)
    return _Wanted(strip, heading, begin, end, float(near.min()), float(far.max()), *room)


def _overhangs(
    region: shapely.Polygon,
    free: shapely.Geometry,
    rules: Rules,
    axes: tuple[float, ...],
    supports: Sequence[shapely.Geometry],
) -> Iterator[_Wanted]:
    """Every free edge that lies farther than the widest spacing beyond all supports."""
    if not supports:
        return
    hull = shapely.convex_hull(shapely.union_all(list(supports)))
    for begin, end, rounded in _edges(region, axes):
        step = end - begin
        heading = _snapped(float(np.arctan2(step[1], step[0])), rules.directions)
        along, across = (np.array([begin, end]) @ _frame(heading)).T
        stations = np.linspace(along[0], along[1], _STATIONS)[1:-1]
        edge = float(across.min())
        near, far = _next(region, heading, stations, np.full(len(stations), edge + (0 if rounded else -1e-6)))
        first, _ = _next(hull, heading, stations, near)
        reach = first - near
        over = np.isfinite(reach) & (first <= far + 1e-6) & (reach > rules.most)
        if over.mean() < 0.5:
            continue
        middle = int(np.flatnonzero(over)[over.sum() // 2])
        depth = float(reach[middle])
        x, y = _frame(heading) @ (stations[middle], edge)
        low, high = _next(free, heading, stations[over], near[over])
        # Along a round edge a run at the very edge would be short: it lies half a spacing in.
        start = edge + rules.most / 2 if rounded else float(np.median(low)) + _HAIR
        strip = Strip("overhang", None, heading % np.pi, depth, (float(x), float(y)))
        reached = (float(stations[over].min()), float(stations[over].max()))
        yield _Wanted(
            strip, heading, *reached, edge - 1e-6, edge + depth, start, min(edge + depth, float(high.max()) - _HAIR)
        )


def _edges(region: shapely.Polygon, axes: tuple[float, ...]) -> Iterator[tuple[FloatArray, FloatArray, bool]]:
    """Straight sides of the outline (begin, end, not rounded), slab on their left; where it is round, its tangents.

    Tangents are drawn in the given directions only, a fifth of the round part's size to both sides.
    """
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(shapely.Polygon(region.exterior)).exterior)[:-1]
    step = np.roll(ring, -1, axis=0) - ring
    length, turn = np.hypot(*step.T), np.arctan2(step[:, 1], step[:, 0])
    bend = np.abs((turn - np.roll(turn, 1) + np.pi) % (2 * np.pi) - np.pi)
    ratio = length / np.roll(length, 1)
    joined = (bend < _BEND) & (bend > 1e-4) & (ratio < 3) & (ratio > 1 / 3)
    rounded = joined | np.roll(joined, -1)
    for k in np.flatnonzero(~rounded):
        yield ring[k], ring[k] + step[k], False
    for heading in (angle + half for angle in axes for half in (0.0, np.pi)):
        lowest = int(np.argmin(ring @ _frame(heading)[:, 1]))
        if rounded[lowest] and rounded[lowest - 1]:
            reach = 0.2 * length[rounded].sum() / np.pi * np.array([np.cos(heading), np.sin(heading)])
            yield ring[lowest] - reach, ring[lowest] + reach, True


def _next(
    shape: shapely.Geometry, heading: float, stations: FloatArray, start: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The first stretch of a shape to the left of places (stations, start): its begin and end (s,), or inf."""
    frame = _frame(heading)
    reach = float(np.abs(shapely.get_coordinates(shape)).max(initial=0.0)) * 4 + 10
    ends = np.stack([np.stack([stations, start], axis=1), np.stack([stations, start + reach], axis=1)], axis=1)
    lines = shapely.linestrings(np.einsum("ij,skj->ski", frame, ends))
    begin, end = np.full(len(stations), np.inf), np.full(len(stations), np.inf)
    for k, cut in enumerate(np.asarray(shapely.intersection(lines, shape))):
        spans = [shapely.get_coordinates(part) @ frame[:, 1] for part in shapely.get_parts(cut)]
        spans = [span for span in spans if len(span)]
        if spans:
            nearest = min(spans, key=min)
            begin[k], end[k] = nearest.min(), nearest.max()
    return begin, end


def _own_axis(hole: shapely.Polygon, axes: tuple[float, ...]) -> float:
    """Direction of an opening's side [rad]: one of the axes unless the opening lies askew to them."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(hole))
    side = corners[1] - corners[0]
    own = float(np.arctan2(side[1], side[0]))

    def box(angle: float) -> float:
        return float(np.ptp(shapely.get_coordinates(hole) @ _frame(angle), axis=0).prod())

    return next((angle for angle in axes if box(angle) < 1.01 * box(own)), own)


def _snapped(heading: float, directions: tuple[float, ...]) -> float:
    """The heading, put onto the nearest of the directions if it is next to it."""
    for angle in directions:
        off = (heading - angle + np.pi / 2) % np.pi - np.pi / 2
        if abs(off) < _SNAP:
            return heading - float(off)
    return heading


def _bed(beds: Sequence[_Bed], strip: Strip, layers: int) -> _Bed | None:
    """The layer for a strip's runs: one that has their direction, else a new one if there is room."""
    face: Face = "underside" if strip.why == "rail" else "show"
    having = [bed for bed in beds if _turn(bed.angle, strip.angle) < _SAME]
    if having:
        return next((bed for bed in having if bed.face == face), having[0])
    if len(beds) >= layers:
        return None
    return _Bed(face, sum(bed.face == face for bed in beds), strip.angle)


def _places(one: _Wanted, rules: Rules) -> Iterator[float]:
    """Offsets to try: at the near edge, then a spacing from it or by the far edge, then between."""
    if one.high < one.low:
        return
    if one.high - one.low < rules.pitch:
        yield (one.low + one.high) / 2
        return
    yield one.low
    yield min(one.low + rules.most, one.high)
    yield one.high
    yield (one.low + one.high) / 2


def _chord(free: shapely.Geometry, one: _Wanted, offset: float, rules: Rules) -> Chord | None:
    """The chord that goes through the strip."""
    along = np.array([np.cos(one.heading), np.sin(one.heading)])

    def shared(chord: Chord) -> float:
        low, high = sorted(np.asarray(chord) @ along)
        return float(min(high, one.end) - max(low, one.begin))

    best = max(chords(free, one.heading, [offset], rules.least_length), key=shared, default=None)
    if best is None or shared(best) <= 0:
        return None
    return best if one.heading % (2 * np.pi) < np.pi - _SAME else (best[1], best[0])


def _passes(run: Run, one: _Wanted) -> bool:
    """Whether a run goes through a strip from end to end; along an overhang it must lie near the show face."""
    if _turn(_angle(run), one.strip.angle) > _ALONG or (one.strip.why == "overhang" and run.face != "show"):
        return False
    along, across = (np.asarray(run.points) @ _frame(one.heading)).T
    inside = min(along.max(), one.end) - max(along.min(), one.begin)
    return bool(inside >= 0.8 * (one.end - one.begin) and one.near <= across.mean() <= one.far)


def _crowds(run: Run, other: Run, rules: Rules) -> bool:
    """Whether two runs of one layer would lie on each other, or nearer than the pitch."""
    if (run.face, run.layer) != (other.face, other.layer) or _turn(_angle(run), _angle(other)) > _ALONG:
        return False
    near = rules.pitch * (1 - 1e-6)
    return shapely.LineString(run.points).distance(shapely.LineString(other.points)) < near


def _frame(heading: float) -> FloatArray:
    """Columns: along a heading, and to its left."""
    return np.array([[np.cos(heading), -np.sin(heading)], [np.sin(heading), np.cos(heading)]])


def _angle(run: Run) -> float:
    (x0, y0), (x1, y1) = run.points[0], run.points[-1]
    return float(np.arctan2(y1 - y0, x1 - x0) % np.pi)


def _offset(run: Run, heading: float) -> float:
    return float((np.asarray(run.points) @ _frame(heading)[:, 1]).mean())


def _turn(one: float, other: float) -> float:
    """Angle between two directions [rad]."""
    return float(abs((one - other + np.pi / 2) % np.pi - np.pi / 2))
