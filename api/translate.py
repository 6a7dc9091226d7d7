"""From a case to what the plate asks for: the true shape, the stages with their strengths, supports, loads and probes.

Everything that the case left out is filled in here or in the model, and said as "assumed"; what looks doubtful but can
be computed is said as a warning.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from api import case_model
from api.case_model import Case
from api.case_regions import region_points
from api.drawing import Drawing, drawing_of, on_slab
from api.notes import Note, assumptions, doubts
from api.placing import load_from, roaming_from, roams
from api.postures import standing, supports_of
from api.strength import cracking_of, modulus_of
from api.variations import other_ways, travelling
from fem.concrete import Strength, effective_modulus
from fem.plate.model import AreaPlace, Bow, DepthRegion, PlateCase, Probe, Stage
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
    stages = tuple(_stage(case, drawing, *parts) for parts in zip(case.stage, cracking, modulus, strict=True))
    return Piece(
        shape=drawing.shape,
        plate=_plate(case),
        stages=stages,
        probes=tuple(Probe(probe.name, on_slab(drawing, probe.at)) for probe in case.probe),
        assumed=tuple(assumptions(case, drawing, cracking, modulus)),
        warnings=tuple(doubts(case, drawing)),
        strength_sources=tuple(strength.source for strength in cracking),
    )


def _plate(case: Case) -> PlateCase:
    """The piece, thinner by its tolerance for stiffness and pull but not for its weight."""
    slab, concrete = case.slab, case.concrete
    return PlateCase(
        slab.thickness - slab.tolerance,
        concrete.density,
        concrete.poisson,
        weight_thickness=slab.thickness if slab.tolerance else None,
        regions=tuple(DepthRegion(region_points(one), one.depth - slab.tolerance) for one in slab.region),
    )


def _stage(case: Case, drawing: Drawing, stage: case_model.Stage, cracking: Strength, modulus: Strength) -> Stage:
    """The stage in the plate's terms."""
    stands = standing(drawing, stage)
    moving = travelling(stage)
    sustained = case.concrete.sustained_factor if stage.lasting else 1.0
    plain = Stage(
        name=stage.name,
        up=stage.up,
        multiplier=stands.multiplier,
        modulus=effective_modulus(modulus.value, stage.creep),
        cracking=cracking.value,
        allowed=cracking.value / stage.safety * sustained,
        supports=supports_of(drawing, stage),
        loads=tuple(load_from(drawing, load) for load in stage.load if not roams(load) and load not in moving),
        form_pull=stage.form_pull,
        bows=tuple(_bow(case, bow) for bow in stage.bow),
        edgewise=stands.edgewise,
        roaming=tuple(roaming_from(load) for load in stage.load if roams(load)),
        levels=stage.levels,
    )
    return replace(plain, variations=(*stands.variations, *other_ways(drawing, stage, plain)))


def _bow(case: Case, bow: case_model.Bow) -> Bow:
    """The curvature of a bow: + where the underside would be longer, as by drying of the show face."""
    depth = case.slab.thickness - case.slab.tolerance
    curvature = bow.curvature or 0.0
    if bow.drying is not None:
        curvature = (bow.strain or 0.0) / depth * (1 if bow.drying == "show" else -1)
    if bow.warmer is not None:
        grown = case.concrete.expansion * (bow.difference or 0.0)
        curvature = grown / depth * (1 if bow.warmer == "underside" else -1)
    return Bow(str(bow.name), curvature, AreaPlace(bow.points or ()))
