"""What the picture of a stage's bent shape shows, as a plain record: how it bends, where it bears, the forces on it.

A slab that lies is bent by its weight and what stands on it; the picture looks at it from above, whichever face is up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from api.figures import Units, age_words, force_words, hold_words
from api.map_ink import resample
from api.map_marks import Place, StandMark, loops_of, place_of, size_words, support_marks
from api.map_scene import notes_here, places_of, shown_words, stands_on
from api.map_state import State, governing_state, worst_face_of
from api.map_words import CAUTIONS, body_words, capital, cautions_of, load_words, sag_words, verdict_sentences
from api.version import VERSION
from fem.plate.model import Action, Face, Load, Stage, Status, SupportResult, Tipping
from meshing.shape import Shape

if TYPE_CHECKING:
    from api.case import Case
    from api.translate import Piece
    from fem.plate.analysis import Analysis

__all__ = ["Arrow", "Bearing", "ShapeScene", "shape_scene", "values_at"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

SAMPLE = 0.01
"""Distance between the spots of a support that are looked at for contact [m]."""
CLEAR = 2e-5
"""How far a slab stands off a support at least for it to be told [m]."""
NOTHING = 1e-7
"""A slab that bends less than this is drawn flat [m]."""


@dataclass(frozen=True, eq=False, slots=True)
class Bearing:
    """A support below the slab: points (k, 2) [m] at level w [m], bears (k,) where it touches; number is its badge.

    clear: how far the slab stands off it, in words, if that is worth telling.
    """

    number: int
    kind: str
    points: FloatArray
    closed: bool
    action: Action
    level: float
    bears: BoolArray
    clear: str


@dataclass(frozen=True, slots=True)
class Arrow:
    """A force at a spot [m]: up or down, what it is, newtons for its length; body: of the slab itself."""

    at: tuple[float, float]
    up: bool
    words: str
    force: float
    body: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class ShapeScene:
    """The bent shape of a stage in its worst state; w (p,) [m] with gravity, all 0 for a slab that tips.

    loops are the true edges [m]; lowest: where it bends most [m] and by how much in words; axis (2, 2) [m]: about which
    it tips.
    """

    title: str
    stage: str
    number: str
    age: str
    shown: str
    face: str
    look: str
    size: str
    units: Units
    status: Status
    verdict: tuple[str, ...]
    here: tuple[str, ...]
    up: Face
    points: FloatArray
    triangles: IntArray
    w: FloatArray
    thickness: float
    loops: tuple[FloatArray, ...]
    bearings: tuple[Bearing, ...]
    supports: tuple[tuple[str, str], ...]
    loads: tuple[tuple[str, str], ...]
    arrows: tuple[Arrow, ...]
    lowest: tuple[tuple[float, float], str] | None
    axis: FloatArray | None
    stands: StandMark | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS
    program: str = f"tensionlay {VERSION}"


def shape_scene(case: Case, piece: Piece, analysis: Analysis, stage_index: int) -> ShapeScene:
    """The bent shape of one stage, in the state that governs the face that is pulled harder."""
    stage, result = piece.stages[stage_index], analysis.stages[stage_index]
    state = governing_state(stage, result, worst_face_of(result))
    units, places, loops = case.units, places_of(case, piece), loops_of(piece.shape)
    points, triangles = analysis.grid.points, analysis.grid.triangles
    w = state.w if len(state.w) else np.zeros(len(points))
    marks = support_marks(state.stage, state.supports, piece.shape, units)
    loads = [(_letter(k), load_words(load, units)) for k, load in enumerate(state.stage.loads)]
    bearings = _bearings(state, w, points, triangles, piece.shape, units)
    return ShapeScene(
        title=case.title,
        cautions=cautions_of(case),
        stage=capital(stage.name),
        number=f"stage {stage_index + 1} of {len(piece.stages)}",
        age=age_words(case.stage[stage_index].age),
        shown=shown_words(state, places, units, "of both faces"),
        face="Bent shape" if result.tips is None else "Forces",
        look=_look_words(state, result.tips is not None),
        size=size_words(loops[0], piece.plate.thickness, units),
        units=units,
        status=result.status,
        verdict=verdict_sentences(state.stage, result, case.stage[stage_index].age, places, units),
        here=(),
        up=stage.up,
        points=points,
        triangles=triangles,
        w=w,
        thickness=piece.plate.thickness,
        loops=loops,
        bearings=bearings,
        supports=tuple((str(mark.number), mark.words) for mark in marks),
        loads=(*loads, *(("", words) for words in body_words(state.stage, analysis.weight, units))),
        arrows=(
            *_own_weight(state.stage, analysis, units),
            *_load_arrows(state.stage, piece.shape, units),
            *_hold_down(result.tips, units),
            *_support_arrows(state.supports, bearings, units),
        ),
        lowest=_lowest(w, points, result.deflection, result.deflection_error, units),
        axis=None if result.tips is None else np.array(result.tips.axis),
        stands=stands_on(case, stage_index, state, loops[0]),
        notes=notes_here(piece, result, stage_index),
    )


def values_at(points: FloatArray, triangles: IntArray, values: FloatArray, at: FloatArray) -> FloatArray:
    """Values (k,) at places (k, 2), linear in each triangle; a place beside the grid takes its nearest triangle's.

    >>> corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    >>> values_at(corners, np.array([[0, 1, 2]]), np.array([1.0, 3.0, 5.0]), np.array([[0.5, 0.25]])).tolist()
    [3.0]
    """
    a, b, c = (points[triangles[:, i]] for i in range(3))
    found = np.empty(len(at))
    area = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    for k, (x, y) in enumerate(at):
        u = ((x - a[:, 0]) * (c - a)[:, 1] - (y - a[:, 1]) * (c - a)[:, 0]) / area
        v = ((b - a)[:, 0] * (y - a[:, 1]) - (b - a)[:, 1] * (x - a[:, 0])) / area
        weight = np.stack([1 - u - v, u, v])
        inside = weight.min(axis=0)
        best = int(np.argmax(inside))
        share = np.maximum(weight[:, best], 0.0)
        found[k] = values[triangles[best]] @ share / share.sum()
    return found


def _bearings(
    state: State, w: FloatArray, points: FloatArray, triangles: IntArray, shape: Shape, units: Units
) -> tuple[Bearing, ...]:
    told = {one.index: one for one in state.supports}
    found = []
    for k, support in enumerate(state.stage.supports):
        place = place_of(support.place, shape) or Place("area", shape.outline.polyline(2e-5), closed=True)
        spots = _spots(place)
        off = support.gap - values_at(points, triangles, w, spots)
        answer = told.get(k)
        bears = np.ones(len(spots), dtype=bool) if answer is None else _touches(off, answer)
        far = float(np.max(off[~bears], initial=0.0))
        clear = f"{sag_words(far, units)} clear" if far > CLEAR and answer is not None else ""
        found.append(Bearing(k + 1, place.kind, spots, place.closed, support.action, support.gap, bears, clear))
    return tuple(found)


def _spots(place: Place) -> FloatArray:
    if place.kind == "point":
        return place.points
    ring = np.vstack([place.points, place.points[:1]]) if place.closed else place.points
    length = float(np.hypot(*np.diff(ring, axis=0).T).sum())
    return np.asarray(resample(ring, max(SAMPLE, length / 120)))


def _touches(off: FloatArray, answer: SupportResult) -> BoolArray:
    """Which spots bear: as many as the solver found, those where the slab comes lowest to the support."""
    if answer.lifted:
        return np.zeros(len(off), dtype=bool)
    count = max(1, round(answer.contact_share * len(off)))
    bears = np.zeros(len(off), dtype=bool)
    bears[np.argsort(off, kind="stable")[:count]] = True
    return bears


def _support_arrows(results: Sequence[SupportResult], bearings: Sequence[Bearing], units: Units) -> list[Arrow]:
    arrows = []
    for one in results:
        bearing = next((bearing for bearing in bearings if bearing.number == one.index + 1), None)
        if bearing is None or one.lifted or abs(one.force) < 0.5:
            continue
        x, y = _middle(bearing.points[bearing.bears])
        words = f"{bearing.number}: {force_words(abs(one.force), units)}{_in_all(bearing.kind)}"
        arrows.append(Arrow((x, y), one.force > 0, words, one.force))
    return arrows


def _load_arrows(stage: Stage, shape: Shape, units: Units) -> list[Arrow]:
    arrows = []
    for k, load in enumerate(stage.loads):
        place = place_of(load.place, shape) or Place("area", shape.outline.polyline(2e-5), closed=True)
        total = load.amount * _extent(place, load, shape)
        if abs(total) < 0.5:
            continue
        spot = _middle(_spots(place))
        if place.kind == "area":
            spot = _middle(np.array([shapely.Polygon(place.points).representative_point().coords[0]]))
        arrows.append(
            Arrow(spot, total < 0, f"{_letter(k)}: {force_words(abs(total), units)}{_in_all(place.kind)}", total)
        )
    return arrows


def _own_weight(stage: Stage, analysis: Analysis, units: Units) -> list[Arrow]:
    across = stage.multiplier * analysis.weight
    if across < 0.5:
        return []
    return [Arrow(analysis.center_of_gravity, False, f"own weight: {force_words(across, units)}", across, body=True)]


def _hold_down(tips: Tipping | None, units: Units) -> list[Arrow]:
    if tips is None:
        return []
    words = f"would hold it: {hold_words(tips.hold_down, units)}"
    return [Arrow(tips.hold_down_at, False, words, tips.hold_down)]


def _extent(place: Place, load: Load, shape: Shape) -> float:
    """What a load's amount is to be multiplied by: 1, a length [m] or an area [m2]."""
    match place.kind:
        case "point":
            return 1.0
        case "area":
            return float(shapely.Polygon(place.points).intersection(shape.region()).area)
        case _:
            ring = np.vstack([place.points, place.points[:1]]) if place.closed else place.points
            return float(np.hypot(*np.diff(ring, axis=0).T).sum())


def _in_all(kind: str) -> str:
    """One arrow stands for all of a line or an area."""
    return "" if kind == "point" else " in all"


def _middle(points: FloatArray) -> tuple[float, float]:
    """The middle of a run of spots: the one of them that is nearest to their mean."""
    k = int(np.argmin(np.hypot(*(points - points.mean(axis=0)).T)))
    return float(points[k, 0]), float(points[k, 1])


def _lowest(
    w: FloatArray, points: FloatArray, most: float | None, error: float | None, units: Units
) -> tuple[tuple[float, float], str] | None:
    k = int(np.argmax(np.abs(w)))
    if abs(w[k]) < NOTHING or most is None or error is None:
        return None
    # The bar is of the stage as it stands: a state that bends more has one that is as much wider.
    bar = error * max(1.0, abs(float(w[k])) / most if most > 0 else 1.0)
    way = "down" if w[k] > 0 else "up"
    return (float(points[k, 0]), float(points[k, 1])), f"{sag_words(abs(float(w[k])), units, bar)} {way}"


def _look_words(state: State, tips: bool) -> str:
    turned = "" if state.stage.up == "show" else "; turned over: its front edge is at the far side"
    if tips:
        return f"seen from the front left, from above; it tips, so it is drawn flat{turned}"
    if state.stage.edgewise is not None:
        return "drawn lying, though it does not lie in this stage; arrows are the forces across its face"
    face = "show face" if state.stage.up == "show" else "underside"
    return f"seen from the front left, from above; {face} up{turned}"


def _letter(k: int) -> str:
    return chr(ord("A") + k) if k < 26 else f"{chr(ord('A') + k // 26 - 1)}{chr(ord('A') + k % 26)}"
