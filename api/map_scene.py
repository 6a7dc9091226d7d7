"""What one map shows, as a plain record that crosses to another process: geometry in metres, words ready to print.

Everything that needs the case, the answer or units happens here; drawing only lays out what it is given.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from api.figures import Units, age_words
from api.map_marks import (
    LoadMark,
    NumberMark,
    PathMark,
    StandMark,
    SupportMark,
    TipMark,
    WorstMark,
    ZoneMark,
    load_marks,
    loops_of,
    size_words,
    stand_mark,
    support_marks,
    tip_mark,
    worst_mark,
)
from api.map_state import State, face_pull, governing_state, state_words, worst_face_of
from api.map_words import (
    CAUTIONS,
    capital,
    cautions_of,
    face_sentences,
    face_title,
    peak_sentences,
    verdict_sentences,
)
from api.places import Places
from api.version import VERSION
from fem.plate.model import Face, Stage, StageResult, Status

if TYPE_CHECKING:
    from api.case import Case
    from api.translate import Piece
    from fem.paths import Path
    from fem.plate.analysis import Analysis

__all__ = [
    "Scene",
    "assumed_here",
    "notes_here",
    "opening_names",
    "places_of",
    "scene_from",
    "shown_words",
    "stands_on",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

MOMENTS = ("strip", "turn", "carry", "haul", "set", "use")
"""What [life] has a table each for, and its stages' names begin with."""


@dataclass(frozen=True, eq=False, slots=True)
class Scene:
    """One map: a stage of a piece and one of its faces, in the state that governs that face; or all stages at once.

    share (p,) is the averaged pull as a share of allowed on the grid's points (p, 2) [m], 0 where nothing is pulled;
    empty if the slab tips. loops are the true edges [m], the outline first. allowed [Pa]; cracking is a share of it.
    gravity_away: gravity runs away from the reader, who always looks at the show face. shown tells which
    state it is; stands the lower side of a piece that does not lie flat. On a map of all stages allowed is 0:
    stages are told by number and words, numbers and borders (k, 2) [m] say where which governs, and cracked (p,) is
    the share of cracking, which then is no fixed share of allowed.
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
    shown: str = ""
    stands: StandMark | None = None
    stages: tuple[tuple[int, str], ...] = ()
    numbers: tuple[NumberMark, ...] = ()
    borders: tuple[FloatArray, ...] = ()
    zones: tuple[ZoneMark, ...] = ()
    cracked: FloatArray | None = None


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
    places, state = places_of(case, piece), governing_state(stage, result, face)
    told = governing_state(stage, result, worst_face_of(result)).stage
    peak = result.peaks[face] if result.peaks else None
    loops = loops_of(piece.shape)
    return Scene(
        title=case.title,
        cautions=cautions_of(case),
        stage=capital(stage.name),
        number=f"stage {stage_index + 1} of {len(piece.stages)}",
        age=age_words(age),
        face=face_title(face),
        look=face_sentences(face, stage.up),
        size=size_words(loops[0], piece.plate.thickness, units),
        units=units,
        status=result.status,
        verdict=verdict_sentences(told, result, age, places, units),
        here=peak_sentences(face, state.stage, result, places, units),
        allowed=stage.allowed,
        cracking=stage.cracking / stage.allowed,
        points=analysis.grid.points,
        triangles=analysis.grid.triangles,
        share=np.maximum(face_pull(state, piece, analysis.grid.points, face), 0.0) / stage.allowed,
        loops=loops,
        openings=opening_names(case),
        supports=support_marks(state.stage, state.supports, piece.shape, units),
        loads=load_marks(state.stage, analysis.weight, piece.shape, units),
        gravity_away=stage.up == "show",
        paths=_paths(paths[stage_index].get(face, ()), stage) if peak else (),
        worst=worst_mark(peak, loops[0], units) if peak and peak.tension.tension > 0 else None,
        tips=tip_mark(result, analysis, units),
        notes=notes_here(piece, result, stage_index),
        assumed=assumed_here(piece, stage_index),
        shown=shown_words(state, places, units, "for this face"),
        stands=stands_on(case, stage_index, state, loops[0]),
    )


def places_of(case: Case, piece: Piece) -> Places:
    """Names for places on the piece."""
    return Places(piece.shape, piece.plate.thickness, opening_names(case))


def opening_names(case: Case) -> tuple[str, ...]:
    """The openings' names, "" for one without."""
    return tuple(opening.name or "" for opening in case.slab.opening)


def shown_words(state: State, places: Places, units: Units, whose: str) -> str:
    """Which of a stage's states a picture shows; "" if it has only one."""
    if not state.varies:
        return ""
    words = state_words(state, places, units)
    if not words:
        return f"Shown: the stage as it stands; nothing that may vary is worse {whose}"
    return f"Shown: the worst {whose}, {words}"


def stands_on(case: Case, stage_index: int, state: State, outline: FloatArray) -> StandMark | None:
    """The side on which the piece stands in a stage, if it does not lie flat."""
    told = case.stage[stage_index]
    return stand_mark(state.stage, outline, getattr(told, "posture", "flat"), getattr(told, "angle", None))


def _paths(paths: Sequence[Path], stage: Stage) -> tuple[PathMark, ...]:
    return tuple(PathMark(path.points, path.tension / stage.allowed, path.distinct) for path in paths)


def notes_here(piece: Piece, result: StageResult, stage_index: int) -> tuple[str, ...]:
    """What to mind: warnings about the piece and this stage, and what the solver was not sure of."""
    warnings = [
        note.what for note in piece.warnings if _concerns(note.where, stage_index, piece.stages[stage_index].name)
    ]
    return tuple(dict.fromkeys(capital(text) for text in (*warnings, *result.notes)))


def assumed_here(piece: Piece, stage_index: int) -> tuple[str, ...]:
    """What was assumed for this stage, then for the piece; the moduli, one for each stage, only in the answer."""
    here = [
        note
        for note in piece.assumed
        if _concerns(note.where, stage_index, piece.stages[stage_index].name) and note.where != "concrete.modulus"
    ]
    here.sort(key=lambda note: not note.where.startswith(("stage[", "life.")))
    texts = [capital(note.what) for note in here]
    if not any(note.where.endswith(".cracking_strength") for note in here):
        texts.insert(0, f"Cracking strength: {piece.strength_sources[stage_index]}")
    return tuple(dict.fromkeys(texts))


def _concerns(where: str, stage_index: int, name: str) -> bool:
    """Whether a note on a place in the case is about a stage: the ready-made ones are named after their moments."""
    first, _, rest = where.partition(".")
    moment = rest.partition(".")[0]
    if first == "life" and moment in MOMENTS:
        return name.startswith(moment)
    return not where.startswith("stage[") or first == f"stage[{stage_index}]"
