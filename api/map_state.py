"""The state of a stage that governs a face: with which supports and loads, how it bends, and its name in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from api.figures import Units, force_words
from api.places import Places
from fem.plate.depth import depths_of
from fem.plate.model import Face, Load, Point, PointPlace, Stage, StageResult, SupportResult, Variation
from fem.plate.principal import face_stress, principal_tension

if TYPE_CHECKING:
    from api.translate import Piece

__all__ = ["State", "face_pull", "governing_state", "state_words", "worst_face_of"]

FloatArray = npt.NDArray[np.float64]
FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False, slots=True)
class State:
    """One state of a stage: stage holds the supports and loads of just this state, the roaming load at its place.

    variation and at name it as fem does; w (p,) [m], moment (p, 3) [N m/m], membrane (p, 3) [Pa] or None, all empty
    where the slab tips. varies: the stage has other states.
    """

    stage: Stage
    variation: str
    at: Point | None
    w: FloatArray
    moment: FloatArray
    membrane: FloatArray | None
    supports: tuple[SupportResult, ...]
    varies: bool


def governing_state(stage: Stage, result: StageResult, face: Face) -> State:
    """The state that governs a face; how the slab falls if it tips; the stage as it stands if no other was solved."""
    varies = bool(stage.variations or stage.roaming)
    if result.tips is not None:
        name, at = result.tips.variation, result.tips.at
        return State(_varied(stage, name, at), name, at, result.w, result.moment, None, (), varies)
    worst = result.worst.get(face)
    if worst is None:
        return State(_varied(stage, "", None), "", None, result.w, result.moment, None, result.supports, varies)
    name, at = worst.variation, worst.at
    return State(_varied(stage, name, at), name, at, worst.w, worst.moment, worst.membrane, worst.supports, varies)


def worst_face_of(result: StageResult) -> Face:
    """The face that is pulled harder; the show face if the slab tips."""
    peaks = result.peaks
    return max(FACES, key=lambda face: peaks[face].tension.tension) if peaks else "show"


def face_pull(state: State, piece: Piece, points: FloatArray, face: Face) -> FloatArray:
    """Largest tension (p,) [Pa] on a face at points (p, 2) [m], averaged over one thickness; empty if the slab tips."""
    if not len(state.moment):
        return np.zeros(0)
    stress = face_stress(state.moment, 1.0, face) / _depth(piece, points)[:, None] ** 2
    if state.membrane is not None:
        stress = stress + state.membrane
    return principal_tension(stress)[0]


def state_words(state: State, places: Places, units: Units) -> str:
    """The state in words: a load and where it stands, a variation by its name; "" for the stage as it stands."""
    if state.at is None:
        return state.variation
    bare = replace(state.stage, loads=())
    load = next((load for load in state.stage.loads[::-1] if _stands_at(load, state.at)), None)
    what = "the load" if load is None else f"{force_words(abs(load.amount), units)} of '{load.name}'"
    beyond = f"; {state.variation}" if load is not None and load.name not in state.variation else ""
    return f"with {what}, {places.of(state.at, bare)}{beyond}"


def _varied(stage: Stage, name: str, at: Point | None) -> Stage:
    """The stage as it is in one of its states."""
    variation = next((one for one in stage.variations if one.name == name), Variation(name))
    loads = stage.loads + variation.loads
    roaming = [load for load in stage.roaming if load.name == name] or list(stage.roaming)
    if at is not None and roaming:
        loads += (Load(roaming[0].name, PointPlace(at, roaming[0].size), roaming[0].amount),)
    return replace(
        stage,
        supports=stage.supports if variation.supports is None else variation.supports,
        loads=loads,
        multiplier=stage.multiplier if variation.multiplier is None else variation.multiplier,
        edgewise=stage.edgewise if variation.edgewise is None else variation.edgewise,
        roaming=(),
        variations=(),
    )


def _stands_at(load: Load, at: Point) -> bool:
    return isinstance(load.place, PointPlace) and load.place.at == at


def _depth(piece: Piece, points: FloatArray) -> FloatArray:
    """Depth (p,) [m] that the pull goes by at points (p, 2) [m]."""
    thickness = piece.plate.thickness
    depths = depths_of(piece.plate, piece.shape.region()) if piece.plate.regions else None
    return np.full(len(points), thickness) if depths is None else depths.stress_at(points, thickness / 2)
