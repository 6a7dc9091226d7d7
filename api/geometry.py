"""The geometry of a case, checked before anything is meshed: each fault with its place and the way to put it right.

Loops are checked alone first, then against one another, then the supports, loads and probes against the slab; a part
that is sound is checked further even if another is not, so that one reading names as much as can be known.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
import shapely.affinity
import shapely.ops
from shapely.geometry import Polygon

from api.case_model import Case, Slab, Stage
from api.drawing import Drawing, drawing_of, filled, shaped
from api.errors import Problem
from api.loop_faults import loop_problems
from api.place_faults import area_off, place_faults, point_off
from api.region_faults import depth_faults, region_faults
from api.shapes import loop_of
from api.stage_faults import count_variations, key_faults, standing_faults
from api.support_faults import quarrels
from api.units import LENGTH, UnitSystem, in_words, likely_slip
from api.wording import spot_text
from meshing.shape import Loop

__all__ = ["LEAST_CONCRETE", "check_case", "check_slab", "check_stage"]

Point = tuple[float, float]

# Concrete left between an opening and an edge or another opening [m]: less is a crumb, and no mesh.
LEAST_CONCRETE = 5e-3
SMALLEST_SLAB, LARGEST_SLAB = 0.05, 12.0
MOST_VARIATIONS = 2000


def check_case(case: Case) -> list[Problem]:
    """Every geometric fault of the case."""
    problems = check_slab(case.slab, case.units)
    if problems:
        return problems
    drawing = drawing_of(case)
    problems = [*depth_faults(case.slab, case.units), *region_faults(drawing, case.slab.region), *_too_many_ways(case)]
    for k, stage in enumerate(case.stage):
        problems += check_stage(drawing, stage, f"stage[{k}]")
    for k, probe in enumerate(case.probe):
        problems += point_off(drawing, probe.at, f"probe[{k}].at", "the probe")
    return problems


def check_slab(slab: Slab, system: UnitSystem) -> list[Problem]:
    """Faults of the outline, of the openings, and of the openings against the outline and one another."""
    problems = loop_problems(shaped(slab), "slab.outline", system)
    outline = None if problems else loop_of(shaped(slab))
    if outline is not None and (wrong_size := _size_faults(outline, slab.thickness, system)):
        problems, outline = wrong_size, None
    sound: dict[int, Polygon] = {}
    for k, opening in enumerate(slab.opening):
        faults = loop_problems(opening, f"slab.opening[{k}]", system)
        problems += faults
        if not faults:
            sound[k] = filled(loop_of(opening))
    if outline is not None:
        for k, opening_area in sound.items():
            problems += _opening_faults(filled(outline), opening_area, f"slab.opening[{k}]", system)
    return problems + _pair_faults(sound, system)


def check_stage(drawing: Drawing, stage: Stage, where: str) -> list[Problem]:
    """Keys that do not go together; supports, loads and bows that do not lie on the slab."""
    problems = key_faults(stage, where)
    for k, support in enumerate(stage.support):
        problems += place_faults(drawing, support, f"{where}.support[{k}]", "the support")
    for k, load in enumerate(stage.load):
        problems += place_faults(drawing, load, f"{where}.load[{k}]", "the load")
    for k, bow in enumerate(stage.bow):
        problems += area_off(drawing, bow.points, f"{where}.bow[{k}].points", "the bow") if bow.points else []
    return problems or standing_faults(drawing, stage, where) or quarrels(drawing, stage, where)


def _too_many_ways(case: Case) -> list[Problem]:
    count = sum(count_variations(stage) for stage in case.stage)
    if count <= MOST_VARIATIONS:
        return []
    fix = f"at most {MOST_VARIATIONS} are solved in a case: leave some out, or write several cases"
    return [Problem("stage", f"the stages come in {count} ways together", fix)]


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
