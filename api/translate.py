"""From a case to what the plate asks for: the true shape, the stages with their strengths, supports, loads and probes.

Everything that the case left out is filled in here or in the model, and said as "assumed"; what looks doubtful but can
be computed is said as a warning.
"""

from __future__ import annotations

from dataclasses import dataclass

from api import case_model
from api.case_model import Case
from api.drawing import Drawing, drawing_of, on_slab
from api.notes import Note, assumptions, doubts
from api.placing import load_from, support_from
from api.strength import cracking_of, modulus_of
from fem.concrete import Strength
from fem.plate.model import PlateCase, Probe, Stage
from meshing.shape import Shape

__all__ = ["Piece", "piece_from"]


@dataclass(frozen=True, eq=False)
class Piece:
    """A case in the plate's own terms, SI; strength_sources has one sentence a stage, on its cracking strength."""

    shape: Shape
    plate: PlateCase
    stages: tuple[Stage, ...]
    probes: tuple[Probe, ...]
    assumed: tuple[Note, ...]
    warnings: tuple[Note, ...]
    strength_sources: tuple[str, ...]


def piece_from(case: Case) -> Piece:
    """The piece of a checked case."""
    drawing = drawing_of(case)
    cracking = [cracking_of(case, stage) for stage in case.stage]
    modulus = [modulus_of(case, stage) for stage in case.stage]
    stages = tuple(_stage(drawing, *parts) for parts in zip(case.stage, cracking, modulus, strict=True))
    return Piece(
        shape=drawing.shape,
        plate=PlateCase(case.slab.thickness, case.concrete.density, case.concrete.poisson),
        stages=stages,
        probes=tuple(Probe(probe.name, on_slab(drawing, probe.at)) for probe in case.probe),
        assumed=tuple(assumptions(case, cracking, modulus)),
        warnings=tuple(doubts(case, drawing)),
        strength_sources=tuple(strength.source for strength in cracking),
    )


def _stage(drawing: Drawing, stage: case_model.Stage, cracking: Strength, modulus: Strength) -> Stage:
    return Stage(
        name=stage.name,
        up=stage.up,
        multiplier=stage.multiplier,
        modulus=modulus.value,
        cracking=cracking.value,
        allowed=cracking.value / stage.safety,
        supports=tuple(support_from(drawing, support) for support in stage.support),
        loads=tuple(load_from(drawing, load) for load in stage.load),
    )
