"""How round the corner nearest the worst place has to be."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from api.advice.bench import Bench, Trial
from api.advice.item import brings, helps, item
from api.advice.search import first_that_passes, ladder
from api.answer_stage import Json
from api.drawing import shaped
from api.figures import length_words
from api.shapes import Rectangle, corners_of

__all__ = ["rounder"]

INCH = 0.0254
WHAT = "a rounder corner"
STEPS = {"us": (INCH / 4, 3 * INCH), "si": (0.005, 0.075)}
REACH = 3.0
"""A corner belongs to the worst place within this many thicknesses of it."""


@dataclass(frozen=True)
class _Corner:
    at: tuple[float, float]
    radius: float
    change: Callable[[Json, float], None]
    words: str


def rounder(bench: Bench, k: int) -> Json | None:
    """The least radius, in steps of 1/4 in or 5 mm, at which the stage holds; None if no corner near it helps."""
    corner = _nearest(bench, k)
    if corner is None:
        return None

    def changed(radius: float) -> Json:
        data = bench.alone(k)
        corner.change(data, radius)
        return data

    def solve(radius: float) -> Trial | None:
        return bench.solve(changed(radius), WHAT)

    def lean(radius: float) -> Trial | None:
        return bench.solve(changed(radius), WHAT, [k])

    step, most = STEPS[bench.case.units]
    before = bench.readings[k]
    found = first_that_passes(ladder(corner.radius, most, step), solve, lean, before)
    if found is None or not helps(before, found[1].readings[0]):
        return None
    radius, trial = found
    units, name = bench.case.units, bench.case.stage[k].name
    now = f"instead of {length_words(corner.radius, units)}" if corner.radius else "instead of sharp"
    told = brings(name, before, trial.readings[0], units)
    return item(bench, "radius", k, f"{corner.words} rounded by {length_words(radius, units)} {now} {told}.", trial)


def _nearest(bench: Bench, k: int) -> _Corner | None:
    """The hollow corner nearest to the worst place of the stage, if one is near."""
    face, peaks = bench.readings[k].face, bench.analysis.stages[k].peaks
    if face is None or peaks is None:
        return None
    spots = [at for peak in peaks.values() for at in (peak.at, peak.local_at) if at is not None]
    first = peaks[face].at

    def away(corner: _Corner) -> float:
        # A hairline's place may be what decides, but the worst averaged pull speaks first.
        return min(math.dist(corner.at, first), *(2 * math.dist(corner.at, at) for at in spots))

    near = min(_corners(bench), key=away, default=None)
    reach = REACH * bench.piece.plate.thickness
    return near if near is not None and away(near) <= reach + near.radius else None


def _corners(bench: Bench) -> list[_Corner]:
    found = []
    outline = corners_of(shaped(bench.case.slab))
    for j, (x, y, radius) in enumerate(outline):
        if _hollow([corner[:2] for corner in outline], j):
            found.append(_Corner((x, y), radius, _of_outline(j), f"The {bench.places.of((x, y)).removeprefix('the ')}"))
    for number, opening in enumerate(bench.case.slab.opening):
        for j, (x, y, radius) in enumerate(corners_of(opening)):
            name = f"'{opening.name}'" if opening.name else "the opening"
            words = f"The corners of {name}" if isinstance(opening, Rectangle) else f"That corner of {name}"
            change = _of_rectangle(number) if isinstance(opening, Rectangle) else _of_opening(number, j)
            found.append(_Corner((x, y), radius, change, words))
    return found


def _hollow(corners: list[tuple[float, float]], j: int) -> bool:
    """Whether the corner j of a polygon, in either sense of rotation, is an inner one."""
    n = len(corners)
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True))
    (ax, ay), (bx, by), (cx, cy) = corners[j - 1], corners[j], corners[(j + 1) % n]
    turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
    return turn * area < 0


def _of_outline(j: int) -> Callable[[Json, float], None]:
    def change(data: Json, radius: float) -> None:
        outline = data["slab"]["outline"]
        points = outline if isinstance(outline, list) else outline["points"]
        points[j] = [*points[j][:2], radius]

    return change


def _of_rectangle(number: int) -> Callable[[Json, float], None]:
    def change(data: Json, radius: float) -> None:
        data["slab"]["opening"][number]["corner_radius"] = radius

    return change


def _of_opening(number: int, j: int) -> Callable[[Json, float], None]:
    def change(data: Json, radius: float) -> None:
        points = data["slab"]["opening"][number]["points"]
        points[j] = [*points[j][:2], radius]

    return change
