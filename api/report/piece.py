"""The first sections of a report: what was assumed, the slab's shape, its concrete at every age."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from api.figures import Units, age_words, force_words, mass_words, point_words, pull_words
from api.map_marks import loops_of
from api.map_scene import opening_names
from api.map_words import capital
from api.report.amounts import amount_words, place_number, size_words
from api.report.blocks import Block, Text, column, facts, heading, para, small, table
from api.report.drawing import shape_drawing
from api.solve import Solved
from api.strength import modulus_of
from api.units import DENSITY, in_words
from fem.steel.model import Quantity
from meshing.shape import Arc, Loop

__all__ = ["assumed_section", "concrete_section", "shape_section"]

MOST_CURVES = 24
"""An edge of more curves than this came from a drawing, and is not listed corner by corner."""


def assumed_section(solved: Solved) -> Iterator[Block]:
    """What the case left out and the program filled in; what it said of concrete stands with the concrete."""
    told: dict[str, list[str]] = {}
    for note in solved.answer["assumed"]:
        if not str(note["where"]).endswith((".cracking_strength", "concrete.modulus")):
            told.setdefault(note["what"], []).append(str(note["where"]))
    yield heading("What was assumed")
    yield para("The case does not say these; what was taken in their place counts in every number below.")
    rows: list[tuple[Text, Text]] = [(_wheres(wheres), what) for what, wheres in told.items()]
    yield table([column("where", 0.36), column("what was taken", 0.64)], rows)
    warnings = [(str(note["where"]), str(note["what"])) for note in solved.answer["warnings"]]
    if warnings:
        yield heading("To be minded", 2)
        yield table([column("where", 0.36), column("what", 0.64)], warnings)


def shape_section(solved: Solved) -> Iterator[Block]:
    """The slab's shape with its measures, corner by corner, its weight and where that acts."""
    units, shape, plate = solved.case.units, solved.piece.shape, solved.piece.plate
    loops, names = loops_of(shape), opening_names(solved.case)
    yield heading("The slab")
    yield shape_drawing(loops, names, units)
    area, weight = float(shape.region().area), float(solved.answer["weight_N"])
    cast = plate.weight_thickness or plate.thickness
    rows: list[tuple[Text, Text]] = [
        ("thickness as cast", size_words(cast, units)),
        ("thickness in stiffness and pull", _thinner(cast, plate.thickness, units)),
        ("area of its face", _area_words(area, units)),
        ("density", in_words(plate.density, DENSITY, units, 4)),
        (
            "weight",
            f"{mass_words(weight, units)}, a force of {force_words(weight, units)} (area x thickness x density)",
        ),
        ("centre of gravity", point_words(solved.analysis.center_of_gravity, units)),
    ]
    for number, region in enumerate(plate.regions, 1):
        rows.append((f"part {number} of its own depth", f"{size_words(region.depth, units)} deep"))
    yield facts(rows)
    if plate.regions:
        yield small("Parts of their own depth are in the weight, in the stiffness and in the pull.")
    for number, loop in enumerate(shape.loops):
        name = "Outline" if number == 0 else _opening_title(number, names[number - 1])
        yield from _corners(loop, name, units)


def concrete_section(solved: Solved) -> Iterator[Block]:
    """Strength and modulus at every age that a stage has, and what each code gives."""
    units, concrete = solved.case.units, solved.case.concrete
    yield heading("Concrete")
    rows: list[tuple[Text, Text]] = []
    if concrete.compressive_strength is not None:
        rows.append(("compressive strength, 28 days", _stress(concrete.compressive_strength, units)))
    rows.append(("Poisson's ratio", f"{concrete.poisson:.3g}"))
    yield facts(rows)
    ages: dict[tuple[float, float], list[int]] = {}
    for k, stage in enumerate(solved.case.stage):
        ages.setdefault((stage.age, solved.piece.stages[k].cracking), []).append(k)
    for (age, _), numbers in sorted(ages.items()):
        names = "; ".join(capital(solved.piece.stages[k].name) for k in numbers)
        yield heading(f"At {age_words(age)}: {names}", 2)
        yield table(
            [
                column("by", 0.2),
                column("cracks at", right=True),
                column("modulus", right=True),
                column("how it is known", 0.8),
            ],
            _strengths(solved, numbers[0]),
        )


def _strengths(solved: Solved, k: int) -> Iterator[Sequence[Text]]:
    """What a stage uses, measured or reckoned, then each code."""
    units, stage = solved.case.units, solved.piece.stages[k]
    modulus = modulus_of(solved.case, solved.case.stage[k]).value
    yield "used here", pull_words(stage.cracking, units), _stress(modulus, units), solved.piece.strength_sources[k]
    for row in solved.answer["stages"][k]["strengths"][1:]:
        yield row["code"], pull_words(row["cracking_Pa"], units), _stress(row["modulus_Pa"], units), row["source"]


def _wheres(wheres: list[str]) -> str:
    if len(wheres) <= 3:
        return ", ".join(wheres)
    return f"{wheres[0]}, {wheres[1]}, and {len(wheres) - 2} more like them"


def _thinner(cast: float, counted: float, units: Units) -> str:
    if cast - counted < 1e-9:
        return "the same"
    return f"{size_words(counted, units)}: it may be {size_words(cast - counted, units)} thinner than it should be"


def _area_words(area: float, units: Units) -> str:
    return f"{area / 0.3048**2:.2f} ft²" if units == "us" else f"{area:.3f} m²"


def _stress(pascal: float, units: Units) -> str:
    return amount_words(Quantity("", pascal, "stress"), units)


def _opening_title(number: int, name: str) -> str:
    return f"Opening {number}, {name}" if name else f"Opening {number}"


def _corners(loop: Loop, name: str, units: Units) -> Iterator[Block]:
    """Where each straight side or arc of a loop begins, and how it runs on."""
    yield heading(name, 2)
    curves = loop.curves
    points = [curve.start for curve in curves]
    if len(curves) > MOST_CURVES:
        low, high = (tuple(side(p[i] for p in points) for i in (0, 1)) for side in (min, max))
        yield para(
            f"{len(curves)} lines and arcs, as drawn in the case; from {point_words(low, units)} to "
            f"{point_words(high, units)}; {size_words(loop.length, units)} all the way round."
        )
        return
    rows = []
    for k, curve in enumerate(curves):
        runs = "straight"
        if isinstance(curve, Arc):
            radius = curve.smallest_radius
            runs = f"arc, radius {size_words(radius, units)}" if curve.is_circle else "arc of an ellipse"
        rows.append((str(k + 1), *_xy(curve.start, units), f"{runs}, {size_words(curve.length, units)} long"))
    unit = "in" if units == "us" else "mm"
    yield table(
        [
            column("", right=True),
            column(f"x, {unit}", right=True),
            column(f"y, {unit}", right=True),
            column("on to the next", 1),
        ],
        rows,
    )


def _xy(at: tuple[float, float], units: Units) -> tuple[str, str]:
    x, y = (place_number(value, units) for value in at)
    return x, y
