"""The geometry of a case, checked before anything is meshed: each fault with its place and the way to put it right.

Loops are checked alone first, then against one another, then the supports, loads and probes against the slab; a part
that is sound is checked further even if another is not, so that one reading names as much as can be known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
import shapely.affinity
import shapely.ops
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from api.case_model import (
    AnyLoad,
    AnySupport,
    Case,
    EdgeLoad,
    EdgeSupport,
    LineLoad,
    LineSupport,
    PointLoad,
    PointSupport,
    Slab,
    Stage,
)
from api.edges import ON_EDGE, locate
from api.errors import Problem
from api.loop_faults import loop_problems
from api.shapes import OutlineFile, Shaped, loop_of
from api.units import LENGTH, UnitSystem, in_words, likely_slip
from api.wording import points_text, spot_text
from meshing.shape import Loop, Shape

__all__ = ["LEAST_CONCRETE", "Drawing", "check_case", "check_slab", "check_stage", "drawing_of", "slab_drawing"]

Point = tuple[float, float]

# Concrete left between an opening and an edge or another opening [m]: less is a crumb, and no mesh.
LEAST_CONCRETE = 5e-3
SMALLEST_SLAB, LARGEST_SLAB = 0.05, 12.0


@dataclass(frozen=True)
class Drawing:
    """A sound slab: its true shape, the same as a polygon for asking, and the units in which to speak of it."""

    shape: Shape
    region: Polygon
    system: UnitSystem


def check_case(case: Case) -> list[Problem]:
    """Every geometric fault of the case."""
    problems = check_slab(case.slab, case.units)
    if problems:
        return problems
    drawing = drawing_of(case)
    for k, stage in enumerate(case.stage):
        problems += check_stage(drawing, stage, f"stage[{k}]")
    for k, probe in enumerate(case.probe):
        problems += _point_off(drawing, probe.at, f"probe[{k}].at", "the probe")
    return problems


def drawing_of(case: Case) -> Drawing:
    """The drawing of a slab without faults."""
    return slab_drawing(case.slab, case.units)


def slab_drawing(slab: Slab, system: UnitSystem) -> Drawing:
    """The drawing of a slab without faults."""
    shape = Shape(loop_of(_shaped(slab)), tuple(loop_of(opening) for opening in slab.opening))
    return Drawing(shape, shape.region(), system)


def check_slab(slab: Slab, system: UnitSystem) -> list[Problem]:
    """Faults of the outline, of the openings, and of the openings against the outline and one another."""
    problems = loop_problems(_shaped(slab), "slab.outline", system)
    outline = None if problems else loop_of(_shaped(slab))
    if outline is not None and (wrong_size := _size_faults(outline, slab.thickness, system)):
        problems, outline = wrong_size, None
    sound: dict[int, Polygon] = {}
    for k, opening in enumerate(slab.opening):
        faults = loop_problems(opening, f"slab.opening[{k}]", system)
        problems += faults
        if not faults:
            sound[k] = _filled(loop_of(opening))
    if outline is not None:
        for k, opening_area in sound.items():
            problems += _opening_faults(_filled(outline), opening_area, f"slab.opening[{k}]", system)
    return problems + _pair_faults(sound, system)


def check_stage(drawing: Drawing, stage: Stage, where: str) -> list[Problem]:
    """Supports and loads that do not lie on the slab."""
    problems: list[Problem] = []
    for k, support in enumerate(stage.support):
        problems += _place_faults(drawing, support, f"{where}.support[{k}]", "the support")
    for k, load in enumerate(stage.load):
        problems += _place_faults(drawing, load, f"{where}.load[{k}]", "the load")
    return problems


def _shaped(slab: Slab) -> Shaped | tuple[tuple[float, float, float], ...]:
    if isinstance(slab.outline, OutlineFile):
        raise TypeError("the drawing of the outline has not been read")
    return slab.outline


def _filled(loop: Loop) -> Polygon:
    return Polygon(loop.polyline(2e-5))


def _size_faults(outline: Loop, thickness: float, system: UnitSystem) -> list[Problem]:
    """A slab as large as a house or as small as a coin is a slip of units."""
    low, high = outline.polyline(1e-4).min(axis=0), outline.polyline(1e-4).max(axis=0)
    width, depth = (high - low).tolist()
    longest, shortest = max(width, depth), min(width, depth)
    size = f"{in_words(width, LENGTH, system)} x {in_words(depth, LENGTH, system)}"
    if longest > LARGEST_SLAB:
        meant = likely_slip(longest, LENGTH, system, 0.5, LARGEST_SLAB)
        hint = f"did you mean {meant}? " if meant else ""
        limit = in_words(LARGEST_SLAB, LENGTH, system)
        fix = f"{hint}give every length its unit, or change units; the longest slab taken is {limit}"
        return [Problem("slab.outline", f"the slab is {size}: too large for one piece", fix)]
    if shortest < SMALLEST_SLAB or shortest < 2 * thickness:
        meant = likely_slip(longest, LENGTH, system, 0.3, LARGEST_SLAB)
        hint = f"did you mean {meant}? " if meant and shortest < SMALLEST_SLAB else ""
        least = in_words(max(SMALLEST_SLAB, 2 * thickness), LENGTH, system)
        fix = f"{hint}both sides must be at least {least} (and twice the thickness): it is a thin slab that is computed"
        return [Problem("slab.outline", f"the slab is {size}: too small", fix)]
    return []


def _opening_faults(outline: Polygon, opening: Polygon, where: str, system: UnitSystem) -> list[Problem]:
    """An opening that leaves the outline, touches it, or leaves a crumb of concrete."""
    left = outline.exterior.distance(opening)
    if outline.contains(opening) and left >= LEAST_CONCRETE:
        return []
    least = in_words(LEAST_CONCRETE, LENGTH, system)
    if not outline.intersects(opening):
        what = f"the opening lies outside the outline, {in_words(outline.distance(opening), LENGTH, system)} away"
    elif left == 0 or not outline.contains(opening):
        what = "the opening crosses the outline" if not outline.contains(opening) else "the opening touches the outline"
    else:
        what = f"only {in_words(left, LENGTH, system)} of concrete is left between the opening and the outline"
    inside = outline.buffer(-LEAST_CONCRETE)
    move = _move_inside(inside, opening)
    fix = f"move it by {spot_text(move, system)}" if move else "make it smaller"
    return [Problem(where, what, f"{fix}: at least {least} must be left")]


def _move_inside(inside: Polygon, opening: Polygon) -> Point | None:
    """The shift that brings the opening inside, by pushing its worst point to the nearest inner spot; None: too big."""
    dx, dy = 0.0, 0.0
    if inside.is_empty:
        return None
    for _ in range(12):
        moved = shapely.affinity.translate(opening, dx, dy)
        if inside.contains(moved):
            return dx, dy
        corners = shapely.points(moved.exterior.coords[:-1])
        worst = corners[int(np.argmax(shapely.distance(corners, inside)))]
        (x0, y0), (x1, y1) = (np.asarray(p.coords[0]) for p in shapely.ops.nearest_points(worst, inside))
        # A hair more than needed, rounded up to half a millimetre, so that the figure given is enough.
        dx, dy = (_away(total) for total in (dx + x1 - x0, dy + y1 - y0))
    return None


def _away(shift: float) -> float:
    """The shift rounded away from zero to half a millimetre."""
    if abs(shift) < 1e-6:
        return 0.0
    return math.copysign(math.ceil(abs(shift) / 5e-4 + 1e-6) * 5e-4, shift)


def _pair_faults(openings: dict[int, Polygon], system: UnitSystem) -> list[Problem]:
    """Openings that overlap, touch, or leave a crumb of concrete between them."""
    problems: list[Problem] = []
    numbers = list(openings)
    for i, first in enumerate(numbers):
        for second in numbers[i + 1 :]:
            one, other = openings[first], openings[second]
            left = one.distance(other)
            if left >= LEAST_CONCRETE:
                continue
            overlap = one.intersection(other).area > 0
            state = "overlaps" if overlap else "touches" if left == 0 else "almost touches"
            apart = in_words(_apart(one, other), LENGTH, system)
            fix = f"move them {apart} further apart, or make them one opening"
            problems.append(Problem(f"slab.opening[{second}]", f"the opening {state} slab.opening[{first}]", fix))
    return problems


def _apart(one: Polygon, other: Polygon) -> float:
    """How far to move the other away from the one, along the line of their middles, to leave enough concrete [m]."""
    step = np.subtract(other.centroid.coords[0], one.centroid.coords[0])
    length = float(np.hypot(*step))
    step = step / length if length > 1e-9 else np.array([1.0, 0.0])
    low, high = 0.0, 30.0
    for _ in range(24):
        middle = (low + high) / 2
        clear = one.distance(shapely.affinity.translate(other, *(step * middle))) >= LEAST_CONCRETE
        low, high = (low, middle) if clear else (middle, high)
    return _away(high)


def _place_faults(drawing: Drawing, item: AnySupport | AnyLoad, where: str, who: str) -> list[Problem]:
    if isinstance(item, PointSupport | PointLoad):
        return _point_off(drawing, item.at, f"{where}.at", who)
    if isinstance(item, LineSupport | LineLoad):
        return _line_off(drawing, item.points, f"{where}.points", who)
    if isinstance(item, EdgeSupport | EdgeLoad):
        return _edge_off(drawing, item, where)
    return _area_off(drawing, item.points, f"{where}.points", who) if item.points else []


def _point_off(drawing: Drawing, at: Point, where: str, who: str) -> list[Problem]:
    off = drawing.region.distance(Spot(at))
    if off <= ON_EDGE:
        return []
    nearest = min((locate(loop, at) for loop in drawing.shape.loops), key=lambda spot: spot.off)
    far = in_words(nearest.off, LENGTH, drawing.system)
    inside = [k for k, loop in enumerate(drawing.shape.openings) if _filled(loop).contains(Spot(at))]
    place = f"lies in slab.opening[{inside[0]}], {far} from its edge" if inside else f"lies {far} off the slab"
    return [
        Problem(where, f"{who} {place}", f"the nearest spot of the slab is {spot_text(nearest.at, drawing.system)}")
    ]


def _line_off(drawing: Drawing, points: tuple[Point, ...], where: str, who: str) -> list[Problem]:
    for k, (a, b) in enumerate(pairwise(points)):
        if math.dist(a, b) < 1e-4:
            return [Problem(f"{where}[{k + 1}]", "the same point twice", "leave one of them out")]
    line = LineString(points)
    if drawing.region.buffer(ON_EDGE).covers(line):
        return []
    outside = line.difference(drawing.region)
    on_slab = line.intersection(drawing.region)
    parts = [on_slab] if isinstance(on_slab, LineString) else list(getattr(on_slab, "geoms", []))
    kept = [part for part in parts if isinstance(part, LineString) and part.length > 1e-3]
    what = f"{in_words(outside.length, LENGTH, drawing.system)} of {who} lies off the slab"
    written = [f"points = {points_text(part.coords, drawing.system)}" for part in kept]
    if not kept:
        near = shapely.ops.nearest_points(line, drawing.region)[1].coords[0]
        fix = f"move it onto the slab: its nearest spot is {spot_text(near, drawing.system)}"
    elif len(kept) == 1:
        fix = f"keep to the slab: {written[0]}"
    else:
        fix = f"split it into {len(kept)}: {'; '.join(written[:4])}"
    return [Problem(where, what, fix)]


def _area_off(drawing: Drawing, points: tuple[Point, ...], where: str, who: str) -> list[Problem]:
    """An area may lie over an opening (only the concrete counts) but not over the outer edge."""
    area = Polygon(points)
    if not area.is_valid or area.area < 1e-6:
        what = "the sides of the area cross or touch" if not area.is_valid else "the area has no size"
        return [Problem(where, what, "list its corners in order, once round")]
    slab = _filled(drawing.shape.outline)
    if area.difference(slab.buffer(ON_EDGE)).area <= 1e-9:
        if area.intersection(drawing.region).area > 1e-6:
            return []
        return [Problem(where, f"{who} lies in an opening: there is no concrete", "move it onto the concrete")]
    common = area.intersection(slab)
    over = max(slab.distance(Spot(p)) for p in points)
    far = f"{in_words(over, LENGTH, drawing.system)} over the edge"
    if common.area <= 1e-6:
        return [Problem(where, f"{who} lies off the slab", "move it onto the slab")]
    fix = "pull it in to the edge"
    if isinstance(common, Polygon) and len(common.exterior.coords) <= 9:
        fix = f"keep to the slab: points = {points_text(common.exterior.coords[:-1], drawing.system)}"
    return [Problem(where, f"{who} reaches {far}", fix)]


def _edge_off(drawing: Drawing, item: EdgeSupport | EdgeLoad, where: str) -> list[Problem]:
    count = len(drawing.shape.openings)
    if item.opening is not None and item.opening >= count:
        there = f"the slab has {count} (0 to {count - 1})" if count else "the slab has none"
        return [Problem(f"{where}.opening", f"there is no opening {item.opening}", f"{there}; count from 0")]
    if item.points is None:
        return []
    loop = drawing.shape.loops[0 if item.opening is None else item.opening + 1]
    edge = "the outline" if item.opening is None else f"the edge of slab.opening[{item.opening}]"
    problems = []
    for k, point in enumerate(item.points):
        spot = locate(loop, point)
        if spot.off > ON_EDGE:
            what = f"the point lies {in_words(spot.off, LENGTH, drawing.system)} off {edge}"
            fix = f"the nearest spot on it is {spot_text(spot.at, drawing.system)}"
            problems.append(Problem(f"{where}.points[{k}]", what, fix))
    if not problems and math.dist(locate(loop, item.points[0]).at, locate(loop, item.points[1]).at) < 1e-3:
        fix = "give two spots, or leave points out for the whole edge"
        problems.append(Problem(f"{where}.points", "both ends are the same spot", fix))
    return problems
