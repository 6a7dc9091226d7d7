"""The answer as a plain dictionary, ready for JSON: SI throughout, null instead of NaN.

Beyond the contract's first keys it carries the verdict in plain words, weight and people, what every support bears, the
name of each worst place and, for each stage, the tension paths, the source of its strength, and notes.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from api.answer_life import handling_rows, verdict_entry, weight_entry
from api.answer_stage import Json, StagePaths, paths_entry, stage_entry
from api.case import Case
from api.figures import Units, force_words
from api.places import Places
from api.steel.answer import steel_entry
from api.steel.found import Laid
from api.translate import Piece
from api.version import VERSION
from fem.plate.analysis import Analysis

__all__ = ["StagePaths", "answer_from", "case_hash"]

COARSENED = "so large for its thickness that the mesh is coarser than it should be: see the error bars"


def answer_from(
    case: Case, piece: Piece, analysis: Analysis, paths: Sequence[StagePaths], steel: Laid | None = None
) -> Json:
    """The answer from what was solved; paths has one entry a stage, in order; steel is None without [steel]."""
    canonical = case.si()
    places = Places(piece.shape, piece.plate.thickness, [opening.name or "" for opening in case.slab.opening])
    stages = [
        _without_nan(stage_entry(case, piece, k, result, places)) | {"paths": paths_entry(paths[k])}
        for k, result in enumerate(analysis.stages)
    ]
    warnings = [{"where": note.where, "what": note.what} for note in piece.warnings]
    if analysis.coarsened:
        warnings.append({"where": "slab", "what": COARSENED})
    if steel is not None and steel.found is None:
        warnings.append({"where": "steel", "what": steel.why})
    answer: Json = {
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
        "weight": weight_entry(analysis),
        "stages": stages,
        "handling": handling_rows(stages),
        "steel": None if steel is None or steel.found is None else steel_entry(steel.found, places, case.units, stages),
        "advice": [],
        "assumed": [
            {"where": note.where, "what": note.what} for note in (*piece.assumed, *(steel.assumed if steel else ()))
        ],
        "warnings": warnings + _pulling(stages, piece, analysis.weight, case.units),
    }
    return answer | {"verdict": verdict_entry(case, piece, analysis, answer, places)}


def case_hash(canonical: Json) -> str:
    """SHA-256 of the case in SI with its defaults filled in and of the program's version: equal where the answer is."""
    text = json.dumps([canonical, VERSION], sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


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
