"""What the stages come to together: the verdict's rows, worst first, the piece's weight and people, what hands bear."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from api.answer_stage import FACES, Json
from api.case import Case
from api.crack import crack_at
from api.figures import LBF
from api.not_checked import not_checked
from api.places import Places
from api.translate import Piece
from api.verdict import sentences, tips_words, worst_face, worst_first
from fem.plate.analysis import Analysis
from fem.plate.model import Face, StageResult
from fem.plate.principal import face_stress

__all__ = ["handling_rows", "verdict_entry", "weight_entry"]

LIFT = 50 * LBF
"""What one person lifts: 50 lb, under the 51 lb (23 kg) of NIOSH's revised lifting equation (1993) at its best."""
MANY = 4
"""More people than this do not get a hold of a slab together: a cart or a machine is named beside them."""
ALIKE = 0.8
"""Where the lesser principal pull is at least this share of the greater, the direction of a crack is arbitrary."""


def verdict_entry(case: Case, piece: Piece, analysis: Analysis, answer: Json, places: Places) -> Json:
    """The verdict on all stages of an answer whose other parts are there."""
    ranked = worst_first(answer["stages"])
    order = [next(k for k, one in enumerate(answer["stages"]) if one is stage) for stage in ranked]
    rows = [
        row for k, stage in zip(order, ranked, strict=True) for row in _rows(case, piece, analysis, k, stage, places)
    ]
    open_questions = list(not_checked(case))
    zones = {zone.kind for zone in getattr(case, "zone", ())}
    return {
        "status": ranked[0]["status"],
        "rows": rows,
        "sentences": sentences(answer, rows, zones, case.units),
        "not_checked": open_questions,
    }


def weight_entry(analysis: Analysis) -> Json:
    """The piece's weight and how many people may lift it."""
    people = max(math.ceil(analysis.weight / LIFT - 1e-9), 1)
    return {
        "weight_N": analysis.weight,
        "center_of_gravity": [float(x) for x in analysis.center_of_gravity],
        "people": people,
        "a_person_N": LIFT,
        "instead": "a cart or a machine" if people > MANY else None,
    }


def handling_rows(stages: Sequence[Json]) -> list[Json]:
    """What every support and every hand of each stage bears, in the stages' order."""
    rows = []
    for stage in stages:
        hands = {hand["index"]: hand for hand in stage["hands"]}
        for support in stage["supports"]:
            hand = hands.get(support["index"])
            rows.append(
                {
                    "stage": stage["name"],
                    "id": stage["id"],
                    "name": support["name"],
                    "hand": hand is not None,
                    "force_N": hand["force_N"] if hand else support["force_N"],
                    "edge_N": support["edge_N"],
                    "most_N": hand["most_N"] if hand else support["force_N"],
                    "limit_N": hand["limit_N"] if hand else None,
                    "over": bool(hand and hand["over"]),
                }
            )
    return rows


def _rows(case: Case, piece: Piece, analysis: Analysis, k: int, stage: Json, places: Places) -> Iterable[Json]:
    """The stage's row: its worse face, and the other one too where that is beyond what is allowed."""
    common = {"stage": stage["name"], "id": stage["id"], "status": stage["status"], "age_s": stage["age_s"]}
    worse = worst_face(stage)
    if worse is None:
        tips = stage["tips"] or {"variation": "", "place": None}
        yield common | {
            "face": None,
            "pull_Pa": None,
            "error_Pa": None,
            "allowed_Pa": stage["allowed_Pa"],
            "share": None,
            "share_of_cracking": None,
            "where": tips_words(stage, case.units),
            "variation": tips["variation"],
            "variation_place": tips["place"],
            "what_a_crack_would_do": None,
            "crack": None,
            "why_null": "it tips: there is no balance, and so no pull",
        }
        return
    for face in sorted(FACES, key=lambda one: one != worse):
        if face == worse or (stage["use_of_allowed"][face] or 0.0) > 1:
            yield common | _row(piece, analysis, k, stage, face, places)


def _row(piece: Piece, analysis: Analysis, k: int, stage: Json, face: Face, places: Places) -> Json:
    peak, governing = stage["peak"][face], stage["governing"][face]
    crack, words = None, None
    if (peak["tension_Pa"] or 0.0) > 0 and peak["angle_deg"] is not None:
        at = (peak["at"][0], peak["at"][1])
        found = crack_at(places, at, peak["angle_deg"])
        if _any_way(analysis.stages[k], face, analysis.grid.points, at, piece.plate.thickness):
            words = "a crack could run any way from there: it is pulled alike in all directions"
        elif found is not None:
            crack, words = [list(end) for end in found.ends], found.words
    return {
        "face": face,
        "pull_Pa": peak["tension_Pa"],
        "error_Pa": peak["error_Pa"],
        "allowed_Pa": stage["allowed_Pa"],
        "share": stage["use_of_allowed"][face],
        "share_of_cracking": stage["use_of_cracking"][face],
        "where": peak["place"],
        "variation": governing["variation"],
        "variation_place": governing["place"],
        "what_a_crack_would_do": words,
        "crack": crack,
    }


def _any_way(result: StageResult, face: Face, points: Any, at: tuple[float, float], thickness: float) -> bool:
    """Whether the pull at a place is so nearly alike in every direction that a crack's way is arbitrary."""
    worst = result.worst.get(face)
    moment = result.moment if worst is None else worst.moment
    if len(moment) != len(points):
        return False
    nearest = int(np.argmin(np.sum((np.asarray(points) - at) ** 2, axis=1)))
    stress = face_stress(moment[nearest], thickness, face)
    if worst is not None and worst.membrane is not None:
        stress = stress + worst.membrane[nearest]
    sx, sy, sxy = (float(value) for value in stress)
    middle, radius = (sx + sy) / 2, math.hypot((sx - sy) / 2, sxy)
    return middle + radius > 0 and middle - radius >= ALIKE * (middle + radius)
