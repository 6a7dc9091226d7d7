"""One map for the whole life of a piece: the most that any stage pulls at every place, and which stage that is.

What lies side by side on it happens at different times, so it is no state of equilibrium: no paths of the pull.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from api.figures import Units, age_words, percent_words
from api.map_marks import NumberMark, WorstMark, ZoneMark, loops_of, size_words, worst_mark
from api.map_regions import Regions, regions_of
from api.map_scene import Scene, opening_names, places_of
from api.map_state import face_pull, governing_state, worst_face_of
from api.map_words import capital, cautions_of, face_title, peak_sentences, verdict_sentences
from api.places import Places
from fem.plate.model import Face, Peak, StageResult, Status

if TYPE_CHECKING:
    from api.case import Case
    from api.translate import Piece
    from fem.plate.analysis import Analysis

__all__ = ["life_scene", "zone_marks"]

FloatArray = npt.NDArray[np.float64]

LITTLE = 0.1
"""Share of allowed below which no stage is named."""
ORDER: tuple[Status, ...] = ("tips", "cracks", "marginal", "holds")


def life_scene(case: Case, piece: Piece, analysis: Analysis, face: Face) -> Scene:
    """The map of all stages of one face: share of allowed (p,), the most of all stages; stages that tip have none."""
    told = [k for k, result in enumerate(analysis.stages) if result.peaks is not None]
    shares = [_share(piece, analysis, k, face, cracking=False) for k in told]
    cracked = [_share(piece, analysis, k, face, cracking=True) for k in told]
    points, triangles = analysis.grid.points, analysis.grid.triangles
    found = regions_of(points, triangles, np.stack(shares), LITTLE) if told else Regions((), (), np.zeros(0))
    places, worst = places_of(case, piece), _worst_stage(piece, analysis.stages)
    loops = loops_of(piece.shape)
    nothing = np.zeros(0)
    return Scene(
        title=case.title,
        cautions=cautions_of(case),
        stage=_all_words(len(piece.stages)),
        number="the whole life",
        age=_ages_words([stage.age for stage in case.stage]),
        face=face_title(face),
        look=_look_words(face),
        size=size_words(loops[0], piece.plate.thickness, case.units),
        units=case.units,
        status=analysis.stages[worst].status,
        verdict=_verdict(case, piece, analysis.stages[worst], worst, places),
        here=_here(case, piece, analysis.stages, told, face, places),
        allowed=0.0,
        cracking=_fixed([piece.stages[k].cracking / piece.stages[k].allowed for k in told]),
        points=points,
        triangles=triangles,
        share=np.max(shares, axis=0) if told else nothing,
        loops=loops,
        openings=opening_names(case),
        supports=(),
        loads=(),
        gravity_away=True,
        paths=(),
        worst=_worst_mark(piece, analysis.stages, told, face, loops[0], case.units),
        tips=None,
        notes=_notes(piece, analysis.stages),
        assumed=("What each stage rests on and assumes stands on its own maps.",),
        stages=_stage_list(case, piece, analysis.stages, told, found, face),
        numbers=tuple(NumberMark(told[one.field] + 1, one.at, one.room) for one in found.regions),
        borders=found.borders,
        zones=zone_marks(case),
        cracked=np.max(cracked, axis=0) if told else nothing,
    )


def zone_marks(case: Case) -> tuple[ZoneMark, ...]:
    """Where the case says that people may be, or not."""
    zones = getattr(case, "zone", ())
    return tuple(
        ZoneMark(zone.kind, tuple((float(x), float(y)) for x, y in zone.points), zone.name or "") for zone in zones
    )


def _share(piece: Piece, analysis: Analysis, k: int, face: Face, cracking: bool) -> FloatArray:
    """The most that a stage pulls over all its states (p,), as a share of its strength."""
    stage, result = piece.stages[k], analysis.stages[k]
    pull = result.envelope.get(face)
    if pull is None or not len(pull):
        pull = face_pull(governing_state(stage, result, face), piece, analysis.grid.points, face)
    return np.asarray(np.maximum(pull, 0.0) / (stage.cracking if cracking else stage.allowed))


def _use(piece: Piece, results: Sequence[StageResult], k: int, face: Face) -> float:
    peaks = results[k].peaks
    return peaks[face].tension.tension / piece.stages[k].allowed if peaks else 0.0


def _peak(results: Sequence[StageResult], k: int, face: Face) -> Peak:
    peaks = results[k].peaks
    if peaks is None:
        raise ValueError("a stage that tips has no peak")
    return peaks[face]


def _worst_stage(piece: Piece, results: Sequence[StageResult]) -> int:
    """The stage that fares worst: one that tips, then one that cracks, then the greatest share of allowed."""
    return min(
        range(len(results)),
        key=lambda k: (ORDER.index(results[k].status), -_use(piece, results, k, worst_face_of(results[k]))),
    )


def _verdict(case: Case, piece: Piece, result: StageResult, k: int, places: Places) -> tuple[str, ...]:
    state = governing_state(piece.stages[k], result, worst_face_of(result))
    sentences = verdict_sentences(state.stage, result, case.stage[k].age, places, case.units)
    return (f"Worst of all stages: {sentences[0]}", *sentences[1:])


def _here(
    case: Case, piece: Piece, results: Sequence[StageResult], told: Sequence[int], face: Face, places: Places
) -> tuple[str, ...]:
    if not told:
        return ()
    k = max(told, key=lambda k: _use(piece, results, k, face))
    stage = governing_state(piece.stages[k], results[k], face).stage
    lines = peak_sentences(face, stage, results[k], places, case.units)
    return (f"Worst in stage {k + 1}, {stage.name}.", *lines)


def _worst_mark(
    piece: Piece,
    results: Sequence[StageResult],
    told: Sequence[int],
    face: Face,
    outline: FloatArray,
    units: Units,
) -> WorstMark | None:
    k = max(told, key=lambda k: _use(piece, results, k, face), default=None)
    if k is None or _use(piece, results, k, face) <= 0:
        return None
    mark = worst_mark(_peak(results, k, face), outline, units)
    name = piece.stages[k].name
    return WorstMark(
        mark.at,
        mark.angle,
        mark.words,
        mark.local_at,
        None,
        False,
        f"stage {k + 1}: {name if len(name) <= 34 else name[:32] + ' ...'}",
    )


def _stage_list(
    case: Case, piece: Piece, results: Sequence[StageResult], told: Sequence[int], found: Regions, face: Face
) -> tuple[tuple[int, str], ...]:
    lines = []
    for k, stage in enumerate(piece.stages):
        words = f"{capital(stage.name)}, {age_words(case.stage[k].age)}: "
        if k not in told:
            lines.append((k + 1, f"{words}it tips; not in the colours"))
            continue
        words += f"at most {percent_words(_use(piece, results, k, face))} of allowed"
        share = float(found.share[told.index(k)])
        words += f", governs {percent_words(share)} of the face" if share > 0.005 else ", governs nowhere"
        lines.append((k + 1, words))
    return tuple(lines)


def _notes(piece: Piece, results: Sequence[StageResult]) -> tuple[str, ...]:
    tipping = [stage.name for stage, result in zip(piece.stages, results, strict=True) if result.peaks is None]
    return tuple(f"'{name}' tips: it has no pull to show and is not in the colours." for name in tipping)


def _fixed(ratios: Sequence[float]) -> float:
    """What all of the ratios are; infinite if they differ."""
    return ratios[0] if ratios and max(ratios) - min(ratios) < 1e-6 else float("inf")


def _all_words(count: int) -> str:
    return {1: "The one stage", 2: "Both stages"}.get(count, f"All {count} stages")


def _ages_words(ages: Sequence[float]) -> str:
    first, last = age_words(min(ages)), age_words(max(ages))
    return first if first == last else f"{first} to {last}"


def _look_words(face: Face) -> str:
    look = "" if face == "show" else "drawn as seen from the show face, through the slab; "
    return f"{look}at each place the most that any stage pulls; not one state: no paths are drawn"
