"""The signs on a map as plain records, in metres, with words ready to print: supports, loads, worst place, a fall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from api.figures import Units, force_words, hold_words, length_words
from api.map_words import body_words, load_words, local_words, support_words, worst_words
from fem.plate.model import (
    Action,
    AreaPlace,
    EdgePlace,
    LinePlace,
    Peak,
    PointPlace,
    Stage,
    StageResult,
    SupportResult,
)
from meshing.shape import Loop, Shape

if TYPE_CHECKING:
    from fem.plate.analysis import Analysis

__all__ = [
    "LoadMark",
    "NumberMark",
    "PathMark",
    "Place",
    "StandMark",
    "SupportMark",
    "TipMark",
    "WorstMark",
    "ZoneMark",
    "edge_points",
    "load_marks",
    "loops_of",
    "place_of",
    "size_words",
    "stand_mark",
    "support_marks",
    "tip_mark",
    "worst_mark",
]

FloatArray = npt.NDArray[np.float64]
Kind = Literal["point", "line", "edge", "area"]

APART = 0.02
"""Share of the slab's length from which on two marks do not run into one."""


@dataclass(frozen=True, eq=False, slots=True)
class Place:
    """Where something stands [m]: points (k, 2), closed if they go all the way round; size: a point's square side."""

    kind: Kind
    points: FloatArray
    closed: bool = False
    size: float = 0.0


@dataclass(frozen=True, eq=False, slots=True)
class SupportMark:
    """A support on the map; number is its badge, words its line in the list, force what it bears, if it does."""

    number: int
    place: Place
    action: Action
    lifted: bool
    words: str
    force: str = ""


@dataclass(frozen=True, eq=False, slots=True)
class LoadMark:
    """A load: badge is its letter; away: it presses away from the reader; place is None for the whole slab."""

    badge: str
    place: Place | None
    away: bool
    words: str


@dataclass(frozen=True, eq=False, slots=True)
class PathMark:
    """A tension path: points (k, 2) [m], share of allowed (k,) along it, and whether its direction is sure (k,)."""

    points: FloatArray
    share: FloatArray
    sure: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class WorstMark:
    """The worst place of the face [m]; angle is the direction of the pull [degrees].

    local_words: the field's own peak at local_at, None if there is none to tell; apart: far enough off for its mark.
    whose: the stage that it belongs to, on a map of several.
    """

    at: tuple[float, float]
    angle: float
    words: str
    local_at: tuple[float, float]
    local_words: str | None
    apart: bool
    whose: str = ""


@dataclass(frozen=True, eq=False, slots=True)
class StandMark:
    """The side on which the piece stands: its ends (2, 2) [m], the unit vector down, and what it does there."""

    ends: FloatArray
    down: tuple[float, float]
    words: str


@dataclass(frozen=True, slots=True)
class ZoneMark:
    """A part of the slab where people may be, or not: kind is stand, sit, lean or nobody; corners [m]."""

    kind: str
    points: tuple[tuple[float, float], ...]
    name: str


@dataclass(frozen=True, slots=True)
class NumberMark:
    """The number of the stage that governs about a spot [m], with so much room [m] about it."""

    number: int
    at: tuple[float, float]
    room: float


@dataclass(frozen=True, slots=True)
class TipMark:
    """How the slab falls [m]: the axis it turns about, where and by how much to hold it down, its centre of gravity."""

    axis: tuple[tuple[float, float], tuple[float, float]]
    hold_at: tuple[float, float]
    hold_words: str
    center: tuple[float, float]


def stand_mark(stage: Stage, outline: FloatArray, posture: str, angle: float | None) -> StandMark | None:
    """The side on which a piece stands that does not lie flat; posture and angle [degrees] as the case tells them."""
    if stage.edgewise is None:
        return None
    down = np.asarray(stage.edgewise.down)
    depth = outline @ down
    low = outline[depth > depth.max() - 1e-3]
    along = low @ np.array([-down[1], down[0]])
    ends = low[[int(np.argmin(along)), int(np.argmax(along))]]
    words = {
        "leaning": f"leans on this side, {angle:.3g}° from upright" if angle is not None else "leans on this side",
        "turning": "turns about this side",
    }.get(posture, "stands on this side")
    return StandMark(ends, stage.edgewise.down, words)


@lru_cache(maxsize=8)
def loops_of(shape: Shape) -> tuple[FloatArray, ...]:
    """Points along the true edges [m], the outline first."""
    return tuple(loop.polyline(2e-5) for loop in shape.loops)


def edge_points(loop: Loop, begin: float, end: float, chord_error: float = 2e-5) -> FloatArray:
    """Points (k, 2) [m] along a loop's true edge from begin to end [m], in the loop's own sense."""
    ring = loop.polyline(chord_error)
    ring = np.concatenate([ring, ring, ring[:1]])
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    walked *= 2 * loop.length / walked[-1]
    s = np.concatenate([[begin], walked[(walked > begin) & (walked < end)], [end]])
    return np.column_stack([np.interp(s, walked, ring[:, i]) for i in (0, 1)])


def place_of(place: PointPlace | LinePlace | EdgePlace | AreaPlace, shape: Shape) -> Place | None:
    """Where a support or a load stands, its edge as points; None for the whole slab."""
    match place:
        case PointPlace(at=at, size=size):
            return Place("point", np.array([at]), size=size)
        case LinePlace(points=points):
            return Place("line", np.array(points))
        case EdgePlace(loop=number, begin=begin, end=end):
            loop = shape.loops[number]
            if end - begin > loop.length * (1 - 1e-9):
                return Place("edge", loop.polyline(2e-5), closed=True)
            return Place("edge", edge_points(loop, begin, end))
        case AreaPlace(points=points):
            return Place("area", np.array(points), closed=True) if points else None


def support_marks(
    stage: Stage, results: Sequence[SupportResult], shape: Shape, units: Units
) -> tuple[SupportMark, ...]:
    """The supports of a stage; results tell of those that they name by index."""
    told = {one.index: one for one in results}
    marks = []
    for k, support in enumerate(stage.supports):
        place = place_of(support.place, shape) or Place("area", shape.outline.polyline(2e-5), closed=True)
        answer = told.get(k)
        lifted = answer is not None and answer.lifted
        borne = 0.0 if answer is None else max(abs(answer.force), answer.edgewise)
        force = "" if answer is None or lifted else force_words(borne, units)
        if answer is not None and force and answer.force < -answer.edgewise:
            force = f"pulls {force}"
        marks.append(SupportMark(k + 1, place, support.action, lifted, support_words(support, answer, units), force))
    return tuple(marks)


def load_marks(stage: Stage, weight: float, shape: Shape, units: Units) -> tuple[LoadMark, ...]:
    """The loads by letter, then what has no badge: the own weight, a form that clings, a bow."""
    marks = [
        LoadMark(
            _letter(k), place_of(load.place, shape), (load.amount >= 0) == (stage.up == "show"), load_words(load, units)
        )
        for k, load in enumerate(stage.loads)
    ]
    return (*marks, *(LoadMark("", None, stage.up == "show", words) for words in body_words(stage, weight, units)))


def _letter(k: int) -> str:
    return chr(ord("A") + k) if k < 26 else f"{chr(ord('A') + k // 26 - 1)}{chr(ord('A') + k % 26)}"


def worst_mark(peak: Peak, outline: FloatArray, units: Units) -> WorstMark:
    """The mark of a face's worst place."""
    local_at = peak.local_at or peak.at
    apart = math.dist(peak.at, local_at) > APART * float(np.ptp(outline, axis=0).max())
    return WorstMark(peak.at, peak.tension.angle, worst_words(peak, units), local_at, local_words(peak, units), apart)


def tip_mark(result: StageResult, analysis: Analysis, units: Units) -> TipMark | None:
    """The mark of a fall; None if the slab stands."""
    tips = result.tips
    if tips is None:
        return None
    return TipMark(tips.axis, tips.hold_down_at, hold_words(tips.hold_down, units), analysis.center_of_gravity)


def size_words(outline: FloatArray, thickness: float, units: Units) -> str:
    """Length, width and thickness."""
    width, depth = outline.max(axis=0) - outline.min(axis=0)
    across = length_words(float(width), units).rsplit(" ", 1)[0]
    return f"{across} x {length_words(float(depth), units)}, {length_words(thickness, units)} thick"
