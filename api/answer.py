"""The answer as a plain dictionary, ready for JSON: SI throughout, null instead of NaN.

Beyond the contract's keys it carries the name of each worst place in plain words and, for each stage, the tension
paths, the source of its strength, and notes.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from api.case import Case
from api.figures import Units, force_words
from api.places import Places
from api.translate import Piece
from api.version import VERSION
from fem.paths import Path
from fem.plate.analysis import Analysis
from fem.plate.model import Face, Peak, ProbeResult, Stage, StageResult, Tension, Tipping

__all__ = ["StagePaths", "answer_from", "case_hash"]

FACES: tuple[Face, Face] = ("show", "underside")
PATH_DIGITS = 4
"""Path points are kept to 0.1 mm: finer than anybody lays steel or draws a line."""

COARSENED = "so large for its thickness that the mesh is coarser than it should be: see the error bars"

StagePaths = Mapping[Face, Sequence[Path]]
Json = dict[str, Any]


def answer_from(case: Case, piece: Piece, analysis: Analysis, paths: Sequence[StagePaths]) -> Json:
    """The answer from what was solved; paths has one entry a stage, in order."""
    canonical = case.si()
    places = Places(piece.shape, piece.plate.thickness, [opening.name or "" for opening in case.slab.opening])
    stages = []
    for k, result in enumerate(analysis.stages):
        stages.append(_without_nan(_stage(case, piece, k, result, places)) | {"paths": _paths(paths[k])})
    warnings = [{"where": note.where, "what": note.what} for note in piece.warnings]
    if analysis.coarsened:
        warnings.append({"where": "slab", "what": COARSENED})
    return {
        "answer": 1,
        "program": VERSION,
        "hash": case_hash(canonical),
        "case": canonical,
        "mesh": {
            "nodes": analysis.mesh_nodes,
            "triangles": analysis.mesh_triangles,
            "smallest_angle_deg": analysis.smallest_angle,
        },
        "weight_N": analysis.weight,
        "center_of_gravity": [float(x) for x in analysis.center_of_gravity],
        "stages": stages,
        "steel": None,
        "advice": [],
        "assumed": [{"where": note.where, "what": note.what} for note in piece.assumed],
        "warnings": warnings + _pulling(stages, piece, analysis.weight, case.units),
    }


def case_hash(canonical: Json) -> str:
    """SHA-256 of the case in SI with its defaults filled in and of the program's version: equal where the answer is."""
    text = json.dumps([canonical, VERSION], sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _stage(case: Case, piece: Piece, k: int, result: StageResult, places: Places) -> Json:
    stage = piece.stages[k]
    use = {face: None if result.peaks is None else result.peaks[face].tension.tension for face in FACES}
    return {
        "id": case.stage[k].id,
        "name": stage.name,
        "age_s": case.stage[k].age,
        "up": stage.up,
        "cracking_strength_Pa": stage.cracking,
        "allowed_Pa": stage.allowed,
        "strength_source": piece.strength_sources[k],
        "status": result.status,
        "rocks": result.rocks,
        "converged": result.converged,
        "peak": {face: _peak(result.peaks, face, stage, places) for face in FACES},
        "use_of_allowed": {face: _share(use[face], stage.allowed) for face in FACES},
        "use_of_cracking": {face: _share(use[face], stage.cracking) for face in FACES},
        "deflection_max_m": result.deflection,
        "deflection_error_m": result.deflection_error,
        "equilibrium_residual": result.equilibrium_residual,
        "supports": _supports(stage, result),
        "probes": [_probe(probe) for probe in result.probes],
        "tips": None if result.tips is None else _tips(result.tips, stage, places),
        "notes": list(result.notes),
    }


def _tension(tension: Tension) -> Json:
    return {
        "tension_Pa": tension.tension,
        "error_Pa": tension.error,
        "angle_deg": tension.angle,
        "local_Pa": tension.local,
        "local_error_Pa": tension.local_error,
        "allowance_Pa": tension.allowance,
    }


def _peak(peaks: Mapping[Face, Peak] | None, face: Face, stage: Stage, places: Places) -> Json | None:
    if peaks is None:
        return None
    peak = peaks[face]
    local_at = peak.local_at
    return _tension(peak.tension) | {
        "at": _point(peak.at),
        "place": places.of(peak.at, stage),
        "local_at": None if local_at is None else _point(local_at),
        "local_place": None if local_at is None else places.of(local_at, stage),
    }


def _supports(stage: Stage, result: StageResult) -> list[Json]:
    """One entry a support of the case; a slab that tips has no forces to tell."""
    if result.tips is not None or not result.supports:
        nothing = {"force_N": None, "moment_Nm": None, "lifted": None, "contact_share": None}
        return [{"index": k, "name": support.name} | nothing for k, support in enumerate(stage.supports)]
    return [
        {
            "index": support.index,
            "name": support.name,
            "force_N": support.force,
            "moment_Nm": None if support.moment is None else _point(support.moment),
            "lifted": support.lifted,
            "contact_share": support.contact_share,
        }
        for support in result.supports
    ]


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
    return {
        "axis": [_point(end) for end in tips.axis],
        "about": places.axis(tips.axis, stage) or None,
        "hold_down_N": tips.hold_down,
        "hold_down_at": _point(tips.hold_down_at),
    }


def _paths(paths: StagePaths) -> Json:
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


def _pulling(stages: Sequence[Json], piece: Piece, weight: float, units: Units) -> list[Json]:
    """A warning for each support that is counted on to hold the slab down: it must be fastened for that."""
    found = []
    for i, (entry, stage) in enumerate(zip(stages, piece.stages, strict=True)):
        for support in entry["supports"]:
            force = support["force_N"]
            if force is not None and stage.supports[support["index"]].action != "rest" and force < -1e-6 * weight:
                where = f"stage[{i}].support[{support['index']}]"
                what = (
                    f"'{support['name']}' must hold the slab down with {force_words(-force, units)}: fasten it for that"
                )
                found.append({"where": where, "what": what})
    return found


def _without_nan(entry: Json) -> Json:
    """The same entry with null for every number that is not finite, and a note for each: nothing is lost silently."""
    lost: list[str] = []

    def clean(value: Any, path: str) -> Any:
        if isinstance(value, dict):
            return {key: clean(item, f"{path}.{key}" if path else key) for key, item in value.items()}
        if isinstance(value, list):
            return [clean(item, f"{path}[{k}]") for k, item in enumerate(value)]
        if isinstance(value, float) and not math.isfinite(value):
            lost.append(path)
            return None
        return value.item() if isinstance(value, np.generic) else value

    cleaned: Json = clean(entry, "")
    cleaned["notes"] += [f"{path} has no finite value and is left out" for path in lost]
    return cleaned


def _share(tension: float | None, strength: float) -> float | None:
    return None if tension is None else max(tension, 0.0) / strength


def _point(at: Sequence[float]) -> list[float]:
    return [float(at[0]), float(at[1])]
