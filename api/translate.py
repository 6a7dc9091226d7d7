"""From a case to what the plate asks for: the true shape, the stages with their strengths, supports, loads and probes.

Everything that the case left out is filled in here or in the model, and said as "assumed"; what looks doubtful but can
be computed is said as a warning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon

from api import case_model
from api.case_model import Case
from api.edges import locate, stretch
from api.geometry import Drawing, drawing_of
from api.shapes import Opening, OutlineFile, corners_of
from api.units import DENSITY, LENGTH, PRESSURE, UnitSystem, in_words
from fem.concrete import TYPE_I_MOIST, Growth, Strength, cracking_at_age, modulus_at_age
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Load, PlateCase, PointPlace, Probe, Stage, Support
from meshing.shape import Shape

__all__ = ["Note", "Piece", "piece_from"]

Point = tuple[float, float]
DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence about one place of the case: what was assumed, or what looks doubtful."""

    where: str
    what: str


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
    cracking = [_cracking(case, stage) for stage in case.stage]
    stages = tuple(
        _stage(drawing, stage, strength, _modulus(case, stage))
        for stage, strength in zip(case.stage, cracking, strict=True)
    )
    return Piece(
        shape=drawing.shape,
        plate=PlateCase(case.slab.thickness, case.concrete.density, case.concrete.poisson),
        stages=stages,
        probes=tuple(Probe(probe.name, _on_slab(drawing, probe.at)) for probe in case.probe),
        assumed=tuple(_assumed(case, cracking)),
        warnings=tuple(_warnings(case, drawing)),
        strength_sources=tuple(strength.source for strength in cracking),
    )


def _growth(case: Case) -> Growth:
    gain = case.concrete.strength_gain
    if gain is None:
        return TYPE_I_MOIST
    return Growth(gain.a, gain.beta, f"t / ({gain.a / DAY:.3g} + {gain.beta:.3g} t), as the case says", told=True)


def _cracking(case: Case, stage: case_model.Stage) -> Strength:
    if stage.cracking_strength is not None:
        return Strength(stage.cracking_strength, "measured at this age, as the case says")
    concrete = case.concrete
    return cracking_at_age(
        stage.age,
        _growth(case),
        compressive=concrete.compressive_strength,
        density=concrete.density,
        measured_28=concrete.cracking_strength,
    )


def _modulus(case: Case, stage: case_model.Stage) -> Strength:
    if stage.modulus is not None:
        return Strength(stage.modulus, "measured at this age, as the case says")
    concrete = case.concrete
    return modulus_at_age(
        stage.age,
        _growth(case),
        compressive=concrete.compressive_strength,
        density=concrete.density,
        measured_28=concrete.modulus,
    )


def _stage(drawing: Drawing, stage: case_model.Stage, cracking: Strength, modulus: Strength) -> Stage:
    return Stage(
        name=stage.name,
        up=stage.up,
        multiplier=stage.multiplier,
        modulus=modulus.value,
        cracking=cracking.value,
        allowed=cracking.value / stage.safety,
        supports=tuple(_support(drawing, support) for support in stage.support),
        loads=tuple(_load(drawing, load) for load in stage.load),
    )


def _support(drawing: Drawing, support: case_model.AnySupport) -> Support:
    stiffness = math.inf if support.stiffness is None else support.stiffness
    return Support(str(support.name), _place(drawing, support), support.action, support.gap, stiffness)


def _load(drawing: Drawing, load: case_model.AnyLoad) -> Load:
    name, place = str(load.name), _place(drawing, load)
    if isinstance(load, case_model.PointLoad):
        return Load(name, place, load.force)
    if isinstance(load, case_model.LineLoad):
        return Load(name, place, load.force_per_length)
    if isinstance(load, case_model.EdgeLoad):
        return Load(name, place, load.force_per_length or 0.0, load.moment_per_length or 0.0)
    return Load(name, place, _pressure(drawing, load))


def _pressure(drawing: Drawing, load: case_model.AreaLoad) -> float:
    """The load's pressure [Pa]; a force is spread over the concrete of its area."""
    if load.force is None:
        return load.pressure or 0.0
    return load.force / _concrete_under(drawing, load.points)


def _concrete_under(drawing: Drawing, points: tuple[Point, ...] | None) -> float:
    """Area of concrete within the polygon, or of the whole slab [m2]."""
    part = drawing.region if points is None else drawing.region.intersection(Polygon(points))
    return float(part.area)


def _place(
    drawing: Drawing, item: case_model.AnySupport | case_model.AnyLoad
) -> PointPlace | LinePlace | EdgePlace | AreaPlace:
    if isinstance(item, case_model.PointSupport | case_model.PointLoad):
        return PointPlace(_on_slab(drawing, item.at), item.size)
    if isinstance(item, case_model.LineSupport | case_model.LineLoad):
        return LinePlace(tuple(_on_slab(drawing, point) for point in item.points))
    if isinstance(item, case_model.EdgeSupport | case_model.EdgeLoad):
        number = 0 if item.opening is None else item.opening + 1
        loop = drawing.shape.loops[number]
        begin, end = (0.0, loop.length) if item.points is None else stretch(loop, *item.points)
        return EdgePlace(number, begin, end)
    return AreaPlace(item.points or ())


def _on_slab(drawing: Drawing, at: Point) -> Point:
    """The point, moved onto the true edge if it lies a hair (at most 1 mm) outside."""
    if drawing.region.covers(shapely.Point(at)):
        return at
    nearest = min((locate(loop, at) for loop in drawing.shape.loops), key=lambda spot: spot.off)
    return nearest.at


def _assumed(case: Case, cracking: list[Strength]) -> Iterator[Note]:
    concrete, system = case.concrete, case.units
    if "poisson" not in concrete.model_fields_set:
        yield Note("concrete.poisson", "Poisson's ratio 0.2")
    if concrete.modulus is None and any(stage.modulus is None for stage in case.stage):
        first = next(k for k, stage in enumerate(case.stage) if stage.modulus is None)
        value = _modulus(case, case.stage[first])
        shown = in_words(value.value, PRESSURE, system)
        yield Note("concrete.modulus", f"modulus of elasticity {shown} in stage[{first}]: {value.source}")
    if concrete.strength_gain is None and any(stage.cracking_strength is None for stage in case.stage):
        yield Note(
            "concrete.strength_gain",
            "strength grows by ACI 209R-92 for Type I cement, moist at 20 C; under 3 days, untested, no more than by "
            "EN 1992-1-1 class N; nothing is credited beyond the 28-day value",
        )
    for k, (stage, strength) in enumerate(zip(case.stage, cracking, strict=True)):
        if stage.cracking_strength is None:
            shown = in_words(strength.value, PRESSURE, system)
            yield Note(f"stage[{k}].cracking_strength", f"cracks at {shown}: {strength.source}")
    yield from _assumed_of_shape(case)
    for k, stage in enumerate(case.stage):
        yield from _assumed_of_stage(stage, f"stage[{k}]")


def _assumed_of_shape(case: Case) -> Iterator[Note]:
    for where, shape in (("slab.outline", case.slab.outline), *_openings(case)):
        if isinstance(shape, OutlineFile):
            continue
        corners = corners_of(shape)
        if corners and not any(radius for _, _, radius in corners):
            yield Note(where, "sharp corners, as no corner radius is given")


def _openings(case: Case) -> Iterator[tuple[str, Opening]]:
    for k, opening in enumerate(case.slab.opening):
        yield f"slab.opening[{k}]", opening


def _assumed_of_stage(stage: case_model.Stage, where: str) -> Iterator[Note]:
    given = stage.model_fields_set
    if "safety" not in given:
        yield Note(f"{where}.safety", "allowed tension = cracking strength / 1.5")
    if "multiplier" not in given:
        yield Note(f"{where}.multiplier", "own weight counted once")
    rigid = [k for k, support in enumerate(stage.support) if support.stiffness is None]
    if rigid:
        which = "all supports" if len(rigid) == len(stage.support) else f"supports {', '.join(map(str, rigid))}"
        yield Note(f"{where}.support[{rigid[0]}].stiffness", f"{which} rigid")
    for k, support in enumerate(stage.support):
        if isinstance(support, case_model.PointSupport) and not support.size:
            yield Note(
                f"{where}.support[{k}].size", "a bare point: the moment over it by Westergaard's equivalent radius"
            )
    for k, load in enumerate(stage.load):
        if isinstance(load, case_model.PointLoad) and not load.size:
            yield Note(
                f"{where}.load[{k}].size", "a bare point: the moment under it by Westergaard's equivalent radius"
            )


def _warnings(case: Case, drawing: Drawing) -> Iterator[Note]:
    yield from _doubts_of_concrete(case)
    yield from _narrow_parts(case, drawing)
    for k, stage in enumerate(case.stage):
        where = f"stage[{k}]"
        if stage.age < DAY and stage.cracking_strength is None:
            yield Note(f"{where}.age", "under one day every strength formula is a guess: test a coupon at that age")
        yield from _contradictions(stage, where, case.units)
        yield from _covered_openings(stage, where, drawing)
        yield from _overhanging_patches(stage, where, drawing)


def _doubts_of_concrete(case: Case) -> Iterator[Note]:
    concrete = case.concrete
    gain = concrete.strength_gain
    if gain is not None and not 0.9 <= 28 * DAY / (gain.a + gain.beta * 28 * DAY) <= 1.1:
        share = 28 * DAY / (gain.a + gain.beta * 28 * DAY)
        yield Note("concrete.strength_gain", f"this curve gives {share:.2g} of the 28-day strength at 28 days, not 1")
    if not 1400 <= concrete.density <= 2700:
        shown = in_words(concrete.density, DENSITY, case.units)
        yield Note("concrete.density", f"{shown} is unusual for concrete: 1400 to 2700 kg/m3 is the common range")


def _narrow_parts(case: Case, drawing: Drawing) -> Iterator[Note]:
    """Rails beside openings that are narrower than three thicknesses, where thin-plate theory gets the twist wrong."""
    limit = 3 * case.slab.thickness
    rings = [shapely.LinearRing(loop.polyline(1e-4)) for loop in drawing.shape.loops]
    for k in range(1, len(rings)):
        for j in range(k):
            left = rings[k].distance(rings[j])
            if left < limit:
                other = "the outline" if j == 0 else f"slab.opening[{j - 1}]"
                width, three = (in_words(value, LENGTH, case.units) for value in (left, limit))
                rail = f"the rail towards {other} is {width} wide, less than three thicknesses ({three})"
                yield Note(f"slab.opening[{k - 1}]", f"{rail}: its twist is uncertain")


def _contradictions(stage: case_model.Stage, where: str, system: UnitSystem) -> Iterator[Note]:
    """Supports on one and the same place that do not agree."""
    for k, support in enumerate(stage.support):
        for other in stage.support[:k]:
            if _same_place(support, other) and support.gap != other.gap:
                gaps = " and ".join(in_words(one.gap, LENGTH, system) for one in (other, support))
                what = f'"{support.name}" lies just where "{other.name}" does, with another gap ({gaps})'
                yield Note(f"{where}.support[{k}].gap", what)


def _same_place(one: case_model.AnySupport, other: case_model.AnySupport) -> bool:
    keys = {"kind", "at", "points", "opening"}
    return one.model_dump(include=keys) == other.model_dump(include=keys)


def _covered_openings(stage: case_model.Stage, where: str, drawing: Drawing) -> Iterator[Note]:
    for key, items in (("support", stage.support), ("load", stage.load)):
        for k, item in enumerate(items):
            if isinstance(item, case_model.AreaSupport | case_model.AreaLoad) and item.points:
                whole = Polygon(item.points).area
                share = 1 - _concrete_under(drawing, item.points) / whole
                if share > 0.005:
                    what = f"{share:.0%} of the area lies over an opening and does not count"
                    yield Note(f"{where}.{key}[{k}].points", what)


def _overhanging_patches(stage: case_model.Stage, where: str, drawing: Drawing) -> Iterator[Note]:
    for key, items in (("support", stage.support), ("load", stage.load)):
        for k, item in enumerate(items):
            if isinstance(item, case_model.PointSupport | case_model.PointLoad) and item.size:
                half = item.size / 2
                (x, y) = item.at
                patch = shapely.box(x - half, y - half, x + half, y + half)
                share = 1 - drawing.region.intersection(patch).area / patch.area
                if share > 0.01:
                    what = f"{share:.0%} of the square reaches over the edge"
                    yield Note(f"{where}.{key}[{k}].size", what)
