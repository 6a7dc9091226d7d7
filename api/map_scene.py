"""What one map shows, as a plain record that crosses to another process: geometry in metres, words ready to print.

Everything that needs the case, the answer or units happens here; drawing only lays out what it is given.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from api.figures import Units, age_words, hold_words, length_words
from api.map_words import (
    CAUTIONS,
    capital,
    face_sentences,
    face_title,
    load_words,
    local_words,
    own_weight_words,
    peak_sentences,
    support_words,
    verdict_sentences,
    worst_words,
)
from api.places import Places
from api.version import VERSION
from fem.plate.model import (
    Action,
    AreaPlace,
    EdgePlace,
    Face,
    LinePlace,
    Peak,
    PointPlace,
    Stage,
    StageResult,
    Status,
    SupportResult,
)
from fem.plate.principal import face_stress, principal_tension
from meshing.shape import Loop, Shape

if TYPE_CHECKING:
    from api.case import Case
    from api.translate import Piece
    from fem.paths import Path
    from fem.plate.analysis import Analysis

__all__ = ["LoadMark", "PathMark", "Place", "Scene", "SupportMark", "TipMark", "WorstMark", "edge_points", "scene_from"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
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
    """A support on the map; number is its badge, words its line in the list."""

    number: int
    place: Place
    action: Action
    lifted: bool
    words: str


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
    """

    at: tuple[float, float]
    angle: float
    words: str
    local_at: tuple[float, float]
    local_words: str | None
    apart: bool


@dataclass(frozen=True, slots=True)
class TipMark:
    """How the slab falls [m]: the axis it turns about, where and by how much to hold it down, its centre of gravity."""

    axis: tuple[tuple[float, float], tuple[float, float]]
    hold_at: tuple[float, float]
    hold_words: str
    center: tuple[float, float]


@dataclass(frozen=True, eq=False, slots=True)
class Scene:
    """One map: a stage of a piece and one of its faces.

    share (p,) is the averaged pull as a share of allowed on the grid's points (p, 2) [m], 0 where nothing is pulled;
    empty if the slab tips. loops are the true edges [m], the outline first. allowed [Pa]; cracking is a share of it.
    gravity_away: gravity runs away from the reader, who always looks at the show face.
    """

    title: str
    stage: str
    number: str
    age: str
    face: str
    look: str
    size: str
    units: Units
    status: Status
    verdict: tuple[str, ...]
    here: tuple[str, ...]
    allowed: float
    cracking: float
    points: FloatArray
    triangles: IntArray
    share: FloatArray
    loops: tuple[FloatArray, ...]
    openings: tuple[str, ...]
    supports: tuple[SupportMark, ...]
    loads: tuple[LoadMark, ...]
    gravity_away: bool
    paths: tuple[PathMark, ...]
    worst: WorstMark | None
    tips: TipMark | None
    notes: tuple[str, ...]
    assumed: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS
    program: str = f"tensionlay {VERSION}"


def scene_from(
    case: Case,
    piece: Piece,
    analysis: Analysis,
    paths: Sequence[Mapping[Face, Sequence[Path]]],
    stage_index: int,
    face: Face,
) -> Scene:
    """The map of one stage and face; paths has one entry a stage. A stage that tips has a map too, without colours."""
    stage, result = piece.stages[stage_index], analysis.stages[stage_index]
    units, age = case.units, case.stage[stage_index].age
    names = tuple(opening.name or "" for opening in case.slab.opening)
    places = Places(piece.shape, piece.plate.thickness, names)
    peak = result.peaks[face] if result.peaks else None
    loops = _loops(piece.shape)
    return Scene(
        title=case.title,
        stage=capital(stage.name),
        number=f"stage {stage_index + 1} of {len(piece.stages)}",
        age=age_words(age),
        face=face_title(face),
        look=face_sentences(face, stage.up),
        size=_size_words(loops[0], piece.plate.thickness, units),
        units=units,
        status=result.status,
        verdict=verdict_sentences(stage, result, age, places, units),
        here=peak_sentences(face, stage, result, places, units),
        allowed=stage.allowed,
        cracking=stage.cracking / stage.allowed,
        points=analysis.grid.points,
        triangles=analysis.grid.triangles,
        share=_share(result, stage, piece.plate.thickness, face),
        loops=loops,
        openings=names,
        supports=_supports(stage, result, piece.shape, units),
        loads=_loads(stage, analysis.weight, piece.shape, units),
        gravity_away=stage.up == "show",
        paths=_paths(paths[stage_index].get(face, ()), stage) if peak else (),
        worst=_worst(peak, loops[0], units) if peak and peak.tension.tension > 0 else None,
        tips=_tips(result, analysis, units),
        notes=_notes(piece, result, stage_index),
        assumed=_assumed(piece, stage_index),
    )


def edge_points(loop: Loop, begin: float, end: float, chord_error: float = 2e-5) -> FloatArray:
    """Points (k, 2) [m] along a loop's true edge from begin to end [m], in the loop's own sense."""
    ring = loop.polyline(chord_error)
    ring = np.concatenate([ring, ring, ring[:1]])
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    walked *= 2 * loop.length / walked[-1]
    s = np.concatenate([[begin], walked[(walked > begin) & (walked < end)], [end]])
    return np.column_stack([np.interp(s, walked, ring[:, i]) for i in (0, 1)])


@lru_cache(maxsize=8)
def _loops(shape: Shape) -> tuple[FloatArray, ...]:
    return tuple(loop.polyline(2e-5) for loop in shape.loops)


def _share(result: StageResult, stage: Stage, thickness: float, face: Face) -> FloatArray:
    if not len(result.moment):
        return np.zeros(0)
    tension, _ = principal_tension(face_stress(result.moment, thickness, face))
    return np.asarray(np.maximum(tension, 0.0) / stage.allowed)


def _place(place: PointPlace | LinePlace | EdgePlace | AreaPlace, shape: Shape) -> Place | None:
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


def _supports(stage: Stage, result: StageResult, shape: Shape, units: Units) -> tuple[SupportMark, ...]:
    told: dict[int, SupportResult] = {} if result.tips else {one.index: one for one in result.supports}
    marks = []
    for k, support in enumerate(stage.supports):
        place = _place(support.place, shape) or Place("area", shape.outline.polyline(2e-5), closed=True)
        answer = told.get(k)
        lifted = answer is not None and answer.lifted
        marks.append(SupportMark(k + 1, place, support.action, lifted, support_words(support, answer, units)))
    return tuple(marks)


def _loads(stage: Stage, weight: float, shape: Shape, units: Units) -> tuple[LoadMark, ...]:
    """The loads by letter, and the own weight, which has no badge."""
    marks = [
        LoadMark(
            _letter(k), _place(load.place, shape), (load.amount >= 0) == (stage.up == "show"), load_words(load, units)
        )
        for k, load in enumerate(stage.loads)
    ]
    if stage.multiplier > 0:
        marks.append(LoadMark("", None, stage.up == "show", own_weight_words(weight, stage.multiplier, units)))
    return tuple(marks)


def _letter(k: int) -> str:
    return chr(ord("A") + k) if k < 26 else f"{chr(ord('A') + k // 26 - 1)}{chr(ord('A') + k % 26)}"


def _paths(paths: Sequence[Path], stage: Stage) -> tuple[PathMark, ...]:
    return tuple(PathMark(path.points, path.tension / stage.allowed, path.distinct) for path in paths)


def _worst(peak: Peak, outline: FloatArray, units: Units) -> WorstMark:
    local_at = peak.local_at or peak.at
    apart = math.dist(peak.at, local_at) > APART * float(np.ptp(outline, axis=0).max())
    return WorstMark(peak.at, peak.tension.angle, worst_words(peak, units), local_at, local_words(peak, units), apart)


def _tips(result: StageResult, analysis: Analysis, units: Units) -> TipMark | None:
    tips = result.tips
    if tips is None:
        return None
    return TipMark(tips.axis, tips.hold_down_at, hold_words(tips.hold_down, units), analysis.center_of_gravity)


def _size_words(outline: FloatArray, thickness: float, units: Units) -> str:
    width, depth = outline.max(axis=0) - outline.min(axis=0)
    across = length_words(float(width), units).rsplit(" ", 1)[0]
    return f"{across} x {length_words(float(depth), units)}, {length_words(thickness, units)} thick"


def _notes(piece: Piece, result: StageResult, stage_index: int) -> tuple[str, ...]:
    """What to mind: warnings about the piece and this stage, and what the solver was not sure of."""
    warnings = [note.what for note in piece.warnings if _concerns(note.where, stage_index)]
    return tuple(dict.fromkeys(capital(text) for text in (*warnings, *result.notes)))


def _assumed(piece: Piece, stage_index: int) -> tuple[str, ...]:
    """What was assumed for this stage, then for the piece; the moduli, one for each stage, only in the answer."""
    here = [note for note in piece.assumed if _concerns(note.where, stage_index) and note.where != "concrete.modulus"]
    here.sort(key=lambda note: not note.where.startswith("stage["))
    texts = [capital(note.what) for note in here]
    if not any(note.where.endswith(".cracking_strength") for note in here):
        texts.insert(0, f"Cracking strength: {piece.strength_sources[stage_index]}")
    return tuple(dict.fromkeys(texts))


def _concerns(where: str, stage_index: int) -> bool:
    return not where.startswith("stage[") or where.startswith(f"stage[{stage_index}]")
