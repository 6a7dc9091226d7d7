"""What every answer must be, whatever the case: of its grammar, no NaN, nulls with reasons, in balance, consistent."""

from __future__ import annotations

import json
import math
from typing import Any

from api.answer import answer_from
from api.case import read_case
from api.errors import CaseError
from api.records import Answer
from api.solve import mesh_of, trace_paths
from api.translate import piece_from
from fem.plate.analysis import analyse_prepared
from fem.plate.prepared import prepare

__all__ = ["failings", "outcome_of"]

Json = dict[str, Any]
BALANCE = 1e-8


def outcome_of(case: Json) -> tuple[str, list[str]]:
    """The outcome, "faults" or the verdict's status (", unsure" if a contact check failed), and what else failed."""
    try:
        read = read_case(case)
        piece = piece_from(read)
    except CaseError as error:
        return "faults", [f"no remedy: {one}" for one in error.problems if not (one.what and one.fix)]
    prepared = prepare(mesh_of(piece), piece.plate)
    analysis = analyse_prepared(prepared, piece.stages, piece.probes)
    answer = answer_from(read, piece, analysis, trace_paths(piece, analysis))
    again = read_case(answer["case"]).si()
    differs = [] if again == answer["case"] else ["the case in SI reads back as another one"]
    sure = all(entry["converged"] for entry in answer["stages"])
    return str(answer["verdict"]["status"]) + ("" if sure else ", unsure"), differs + failings(answer)


def failings(answer: Json) -> list[str]:
    """Every self-check that an answer fails."""
    text = json.dumps(answer, allow_nan=False)  # ValueError on NaN: as good as a failing
    Answer.model_validate_json(text)
    found = []
    written = answer["case"]["stage"]
    for entry, stage in zip(answer["stages"], written, strict=True):
        wrong = _tipping(entry) if entry["status"] == "tips" else _standing(entry, stage, answer["weight_N"])
        found += [f"{entry['name']}: {one}" for one in wrong + _reasons(entry)]
    return found


def _tipping(entry: Json) -> list[str]:
    found = [] if entry["tips"] is not None or entry["notes"] else ["tips, nobody says how, and no note says why"]
    if any(entry["peak"].values()) or any(one["force_N"] is not None for one in entry["supports"]):
        found.append("tips, and yet has peaks or forces")
    return found


def _standing(entry: Json, stage: Json, weight: float) -> list[str]:
    found = []
    peaks = list(entry["peak"].values())
    if any(peak is None for peak in peaks):
        return ["stands, but a face has no peak"]
    if not entry["converged"] and (entry["status"] == "holds" or not any("rely" in note for note in entry["notes"])):
        found.append("the contacts did not pass their own checks, and nobody is told")
    residual = entry["equilibrium_residual"]
    if residual is None or not abs(residual) < BALANCE:
        found.append(f"out of balance by {residual}")
    most = max([weight, *(abs(one["force_N"]) for one in entry["supports"] if one["force_N"] is not None)])
    for one, support in zip(entry["supports"], stage["support"], strict=True):
        if one["force_N"] is None:
            found.append(f"{one['name']} has no force")
        elif _only_rests(entry, support) and one["force_N"] < -1e-7 * most:
            found.append(f"{one['name']} only rests and pulls with {one['force_N']:.3g} N")
    return found + _status(entry)


def _only_rests(entry: Json, support: Json) -> bool:
    """Whether it may not pull; a hand on a piece that is not flat grips it."""
    return bool(support["action"] == "rest" and (support["kind"] != "hand" or entry["posture"] == "flat"))


def _status(entry: Json) -> list[str]:
    """Whether the status is what the peaks say."""
    peaks = list(entry["peak"].values())
    cracks = any(one["tension_Pa"] - one["error_Pa"] > entry["cracking_strength_Pa"] for one in peaks)
    within = all(one["tension_Pa"] + one["error_Pa"] <= entry["allowed_Pa"] for one in peaks)
    status = entry["status"]
    if cracks != (status == "cracks"):
        return [f"the status is {status}, but the peaks say cracks is {cracks}"]
    if status == "holds" and not within:
        return ["holds, but its peaks may be beyond what is allowed"]
    return [
        f"{face}: an error bar of {peak['error_Pa']}"
        for face, peak in entry["peak"].items()
        if not (peak["error_Pa"] >= 0 and math.isfinite(peak["tension_Pa"]))
    ]


def _reasons(entry: Json) -> list[str]:
    """Nulls that nobody explains: probes and level limits."""
    found = [
        f"probe {probe['name']} has a null without a reason"
        for probe in entry["probes"]
        if not probe.get("why_null")
        and None in (probe["w_m"], probe["moment_Nm_per_m"], probe["show"], probe["underside"])
    ]
    for level in entry["levels"]:
        for way in ("high", "low"):
            if level[f"{way}_m"] is None and not level.get(f"why_{way}"):
                found.append(f"the {way} limit of {level['name']} is null without a reason")
    return found
