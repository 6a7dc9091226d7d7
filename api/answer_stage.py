"""One stage of the answer as a plain dictionary: what governs each face, its supports, hands, walks and levels."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from api.case import Case
from api.places import Places
from api.strength import strength_rows
from api.translate import Piece
from fem.paths import Path
from fem.plate.model import (
    Face,
    LevelLimit,
    Load,
    Peak,
    PointPlace,
    ProbeResult,
    Stage,
    StageResult,
    SupportResult,
    Tension,
    Tipping,
    Walk,
    Worst,
)

__all__ = ["FACES", "Json", "StagePaths", "as_it_comes", "paths_entry", "stage_entry"]

FACES: tuple[Face, Face] = ("show", "underside")
PATH_DIGITS = 4
"""Path points are kept to 0.1 mm: finer than anybody lays steel or draws a line."""

StagePaths = Mapping[Face, Sequence[Path]]
Json = dict[str, Any]


def stage_entry(case: Case, piece: Piece, k: int, result: StageResult, places: Places) -> Json:
    """The k-th stage; it may hold numbers that are not finite."""
    stage, written = piece.stages[k], case.stage[k]
    use = {face: None if result.peaks is None else result.peaks[face].tension.tension for face in FACES}
    return {
        "id": written.id,
        "name": stage.name,
        "age_s": written.age,
        "up": stage.up,
        "posture": getattr(written, "posture", "flat"),
        "cracking_strength_Pa": stage.cracking,
        "allowed_Pa": stage.allowed,
        "strength_source": piece.strength_sources[k],
        "strengths": strength_rows(case, written.age),
        "status": result.status,
        "rocks": result.rocks,
        "converged": result.converged,
        "variations": _solved(stage, result),
        "governing": {face: _governing(result, face, places) for face in FACES},
        "peak": {face: _peak(result, face, stage, places) for face in FACES},
        "use_of_allowed": {face: _share(use[face], stage.allowed) for face in FACES},
        "use_of_cracking": {face: _share(use[face], stage.cracking) for face in FACES},
        "deflection_max_m": result.deflection,
        "deflection_error_m": result.deflection_error,
        "equilibrium_residual": result.equilibrium_residual,
        "supports": _supports(stage, result),
        "hands": _hands(case, k, result),
        "levels": [_level(limit) for limit in result.levels],
        "walks": [_walk(walk, result, places) for walk in result.walks],
        "probes": [_probe(probe) for probe in result.probes],
        "tips": None if result.tips is None else _tips(result.tips, stage, places),
        "notes": list(result.notes),
    }


def as_it_comes(stage: Stage, variation: str, at: Sequence[float] | None) -> Stage:
    """The stage in one of its states: with that variation's supports and loads, or the roaming load at [m]."""
    roaming = next((one for one in stage.roaming if one.name == variation), None)
    if at is not None:
        size, amount = (roaming.size, roaming.amount) if roaming else (0.0, 0.0)
        load = Load(variation, PointPlace((float(at[0]), float(at[1])), size), amount)
        return replace(stage, loads=(*stage.loads, load))
    change = next((one for one in stage.variations if one.name == variation), None)
    if change is None:
        return stage
    supports = stage.supports if change.supports is None else change.supports
    return replace(stage, supports=supports, loads=(*stage.loads, *change.loads))


def paths_entry(paths: StagePaths) -> Json:
    """Both faces' paths: points to 0.1 mm, the tension along them to 1 kPa."""
    return {
        face: [
            {
                "points": np.round(path.points, PATH_DIGITS).tolist(),
                "tension_Pa": np.round(path.tension, -3).tolist(),
                "distinct": path.distinct.tolist(),
            }
            for path in paths.get(face, ())
        ]
        for face in FACES
    }


def _solved(stage: Stage, result: StageResult) -> int:
    """How many states of the stage were solved: as it stands, its variations, every place of its roaming loads."""
    if not result.worst and result.tips is None:
        return 1
    return 1 + len(stage.variations) + sum(len(walk.at) for walk in result.walks)


def _governing(result: StageResult, face: Face, places: Places) -> Json | None:
    """The state that governs a face, and where its roaming load then is."""
    if result.peaks is None:
        return None
    worst = result.worst.get(face)
    if worst is None:
        return {"variation": "", "at": None, "place": None}
    return {"variation": worst.variation} | _somewhere(worst.at, places)


def _somewhere(at: Sequence[float] | None, places: Places) -> Json:
    if at is None:
        return {"at": None, "place": None}
    return {"at": _point(at), "place": places.of((float(at[0]), float(at[1])))}


def _tension(tension: Tension) -> Json:
    return {
        "tension_Pa": tension.tension,
        "error_Pa": tension.error,
        "angle_deg": tension.angle,
        "local_Pa": tension.local,
        "local_error_Pa": tension.local_error,
        "allowance_Pa": tension.allowance,
    }


def _peak(result: StageResult, face: Face, stage: Stage, places: Places) -> Json | None:
    if result.peaks is None:
        return None
    peak: Peak = result.peaks[face]
    worst: Worst | None = result.worst.get(face)
    state = stage if worst is None else as_it_comes(stage, worst.variation, worst.at)
    local_at = peak.local_at
    return _tension(peak.tension) | {
        "at": _point(peak.at),
        "place": places.of(peak.at, state),
        "local_at": None if local_at is None else _point(local_at),
        "local_place": None if local_at is None else places.of(local_at, state),
    }


def _supports(stage: Stage, result: StageResult) -> list[Json]:
    """One entry a support of the case; a slab that tips has no forces to tell."""
    if result.status == "tips" or not result.supports:
        nothing = {"force_N": None, "edge_N": None, "moment_Nm": None, "lifted": None, "contact_share": None}
        return [{"index": k, "name": support.name} | nothing for k, support in enumerate(stage.supports)]
    return [
        {
            "index": support.index,
            "name": support.name,
            "force_N": support.force,
            "edge_N": support.edgewise,
            "moment_Nm": None if support.moment is None else _point(support.moment),
            "lifted": support.lifted,
            "contact_share": support.contact_share,
        }
        for support in result.supports
    ]


def _hands(case: Case, k: int, result: StageResult) -> list[Json]:
    """What each hand bears as the stage stands, and the most it bears in the states that govern a face."""
    found = []
    for number, support in enumerate(case.stage[k].support):
        if getattr(support, "kind", "") != "hand":
            continue
        name, limit = str(support.name), getattr(support, "limit", None)
        forces = [] if result.status == "tips" else [_force(result.supports, name)]
        forces += [_force(worst.supports, name) for worst in result.worst.values()]
        known = [force for force in forces if force is not None]
        # A hand that grips a piece on edge may pull as well.
        most = max(known, key=abs, default=None)
        found.append(
            {
                "index": number,
                "name": name,
                "force_N": forces[0] if forces else None,
                "most_N": most,
                "limit_N": limit,
                "over": most is not None and limit is not None and abs(most) > limit,
            }
        )
    return found


def _force(supports: Sequence[SupportResult], name: str) -> float | None:
    """What a hand bears, across the face and under the edge together."""
    found = next((support for support in supports if support.name == name), None)
    if found is None:
        return None
    return math.hypot(found.force, found.edgewise) if found.edgewise else found.force


def _level(limit: LevelLimit) -> Json:
    entry: Json = {
        "index": limit.index,
        "name": limit.name,
        "high_m": limit.high,
        "low_m": limit.low,
        "high_face": limit.high_face,
        "low_face": limit.low_face,
    }
    whys = {"why_high": limit.why_high, "why_low": limit.why_low}
    return entry | {key: why for key, why in whys.items() if why}


def _walk(walk: Walk, result: StageResult, places: Places) -> Json:
    """A roaming load: how many places were tried, and the worst of them for each face."""
    tips = result.tips
    least = tips.least_load if tips is not None and tips.variation == walk.name else None
    return {
        "name": walk.name,
        "places": len(walk.at),
        "change_Pa": walk.change,
        "worst": {face: _worst_place(walk, column, places) for column, face in enumerate(FACES)},
        "least_load_that_tips_N": least,
    }


def _worst_place(walk: Walk, column: int, places: Places) -> Json | None:
    tension = walk.tension[:, column]
    if not np.isfinite(tension).any():
        return None
    at = walk.at[int(np.nanargmax(tension))]
    return _somewhere(at, places) | {"tension_Pa": float(np.nanmax(tension))}


def _probe(probe: ProbeResult) -> Json:
    entry: Json = {
        "name": probe.name,
        "at": _point(probe.at),
        "w_m": probe.w,
        "moment_Nm_per_m": None if probe.moment is None else [float(m) for m in probe.moment],
        "show": None if probe.show is None else _tension(probe.show),
        "underside": None if probe.underside is None else _tension(probe.underside),
    }
    return entry if probe.why_null is None else entry | {"why_null": probe.why_null}


def _tips(tips: Tipping, stage: Stage, places: Places) -> Json:
    state = as_it_comes(stage, tips.variation, tips.at)
    return {
        "axis": [_point(end) for end in tips.axis],
        "about": places.axis(tips.axis, state) or None,
        "hold_down_N": tips.hold_down,
        "hold_down_at": _point(tips.hold_down_at),
        "hold_down_place": places.of(tips.hold_down_at),
        "variation": tips.variation,
        "least_load_N": tips.least_load,
    } | _somewhere(tips.at, places)


def _share(tension: float | None, strength: float) -> float | None:
    return None if tension is None else max(tension, 0.0) / strength


def _point(at: Sequence[float]) -> list[float]:
    return [float(at[0]), float(at[1])]
