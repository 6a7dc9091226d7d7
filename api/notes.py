"""What the reader is told beside the numbers: what was assumed where the case left it out, and what looks doubtful."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon

from api import case_model
from api.case_model import Case
from api.drawing import Drawing
from api.placing import concrete_under
from api.postures import bearing, lower_side
from api.shapes import Opening, OutlineFile, corners_of
from api.strength_notes import doubts_of_strength, growth_assumed
from api.units import DENSITY, LENGTH, PRESSURE, UnitSystem, in_words
from api.wording import points_text
from fem.concrete import Strength
from fem.plate.model import HAND_STIFFNESS

__all__ = ["Note", "assumptions", "doubts"]

DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence about one place of the case: what was assumed, or what looks doubtful."""

    where: str
    what: str


def assumptions(
    case: Case, drawing: Drawing, cracking: Sequence[Strength], modulus: Sequence[Strength]
) -> Iterator[Note]:
    """What the case left out, with the value that is used; cracking and modulus have one entry a stage."""
    concrete, system = case.concrete, case.units
    yield from (Note(*said) for said in case._assumed)
    if "poisson" not in concrete.model_fields_set:
        yield Note("concrete.poisson", "Poisson's ratio 0.2")
    if concrete.modulus is None and any(stage.modulus is None for stage in case.stage):
        first = next(k for k, stage in enumerate(case.stage) if stage.modulus is None)
        shown = in_words(modulus[first].value, PRESSURE, system)
        yield Note("concrete.modulus", f"modulus of elasticity {shown} in stage[{first}]: {modulus[first].source}")
    yield from (Note(*said) for said in growth_assumed(case))
    for k, (stage, strength) in enumerate(zip(case.stage, cracking, strict=True)):
        if stage.cracking_strength is None:
            shown = in_words(strength.value, PRESSURE, system)
            yield Note(f"stage[{k}].cracking_strength", f"cracks at {shown}: {strength.source}")
    yield from _assumed_of_shape(case)
    lasting = [k for k, stage in enumerate(case.stage) if stage.lasting]
    if lasting and "sustained_factor" not in concrete.model_fields_set:
        yield Note("concrete.sustained_factor", f"loads that stay: 0.7 of the allowed tension in stage[{lasting[0]}]")
    if "expansion" not in concrete.model_fields_set and any(bow.warmer for stage in case.stage for bow in stage.bow):
        yield Note("concrete.expansion", "concrete grows by 10e-6 of its length for each K")
    for k, stage in enumerate(case.stage):
        yield from _assumed_of_stage(stage, f"stage[{k}]")
        yield from _assumed_of_posture(stage, f"stage[{k}]", drawing)


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
    yield from _assumed_of_giving(stage, where)
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


def _assumed_of_posture(stage: case_model.Stage, where: str, drawing: Drawing) -> Iterator[Note]:
    """The side on which a piece stands, and on which supports."""
    if stage.posture == "flat":
        return
    lower = lower_side(drawing, stage.down)
    if stage.down is None:
        ends = points_text(lower.ends, drawing.system)
        yield Note(f"{where}.down", f"it stands on its longest straight side, {ends}")
    if any(support.carries is None for support in stage.support):
        names = ", ".join(f'"{stage.support[k].name}"' for k in bearing(drawing, stage, lower))
        yield Note(f"{where}.support", f"its lower side stands on {names}")


def _assumed_of_giving(stage: case_model.Stage, where: str) -> Iterator[Note]:
    """How stiff the supports are: rigid, or hands."""
    hands = [k for k, support in enumerate(stage.support) if isinstance(support, case_model.HandSupport)]
    rigid = [
        k
        for k, support in enumerate(stage.support)
        if not isinstance(support, case_model.HandSupport) and support.stiffness is None
    ]
    if rigid:
        which = "all supports" if len(rigid) == len(stage.support) else f"supports {', '.join(map(str, rigid))}"
        yield Note(f"{where}.support[{rigid[0]}].stiffness", f"{which} rigid")
    if hands:
        what = f"hands give alike, 1 cm for {HAND_STIFFNESS / 100:.0f} N: what each carries follows from balance"
        yield Note(f"{where}.support[{hands[0]}]", what)
    given = [stage.support[k].model_fields_set for k in hands]
    if any("size" not in fields for fields in given):
        first = next(k for k, fields in zip(hands, given, strict=True) if "size" not in fields)
        yield Note(f"{where}.support[{first}].size", "hands bear on 4 in (102 mm) squares")


def doubts(case: Case, drawing: Drawing) -> Iterator[Note]:
    """What can be computed and looks doubtful."""
    yield from _doubts_of_concrete(case)
    yield from (Note(*said) for said in doubts_of_strength(case))
    yield from _narrow_parts(case, drawing)
    for k, stage in enumerate(case.stage):
        where = f"stage[{k}]"
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
            if _same_place(support, other) and _gap(support) != _gap(other):
                gaps = " and ".join(in_words(_gap(one), LENGTH, system) for one in (other, support))
                what = f'"{support.name}" lies just where "{other.name}" does, with another gap ({gaps})'
                yield Note(f"{where}.support[{k}].gap", what)


def _gap(support: case_model.AnySupport) -> float:
    return 0.0 if isinstance(support, case_model.HandSupport) else support.gap


def _same_place(one: case_model.AnySupport, other: case_model.AnySupport) -> bool:
    keys = {"kind", "at", "points", "opening"}
    return one.model_dump(include=keys) == other.model_dump(include=keys)


def _covered_openings(stage: case_model.Stage, where: str, drawing: Drawing) -> Iterator[Note]:
    for key, items in (("support", stage.support), ("load", stage.load)):
        for k, item in enumerate(items):
            if isinstance(item, case_model.AreaSupport | case_model.AreaLoad) and item.points:
                whole = Polygon(item.points).area
                share = 1 - concrete_under(drawing, item.points) / whole
                if share > 0.005:
                    what = f"{share:.0%} of the area lies over an opening and does not count"
                    yield Note(f"{where}.{key}[{k}].points", what)


def _overhanging_patches(stage: case_model.Stage, where: str, drawing: Drawing) -> Iterator[Note]:
    for key, items in (("support", stage.support), ("load", stage.load)):
        for k, item in enumerate(items):
            if not isinstance(item, case_model.PointSupport | case_model.HandSupport | case_model.PointLoad):
                continue
            if item.size and item.at is not None:
                half = item.size / 2
                (x, y) = item.at
                patch = shapely.box(x - half, y - half, x + half, y + half)
                share = 1 - drawing.region.intersection(patch).area / patch.area
                if share > 0.01:
                    what = f"{share:.0%} of the square reaches over the edge"
                    yield Note(f"{where}.{key}[{k}].size", what)
