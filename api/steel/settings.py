"""What [steel] says, filled in: the reinforcement, covers, rules, concrete and given runs; defaults told as assumed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

import numpy as np
import shapely

from api.case_model import Case
from api.drawing import drawing_of
from api.notes import Note
from api.steel.concrete_at import AGGREGATE, concrete_at
from api.steel.grammar import Cover, SteelTable
from api.steel.known import known_steels, laid_steel
from api.strength import mix_of
from api.units import LENGTH, PRESSURE, in_words
from fem.steel.anchorage import build_up_length, lap_length
from fem.steel.detailing import clear_gap, code_covers, layer_depth, layers_that_fit, widest_spacing
from fem.steel.model import Code, Concrete, Covers, Rules, Run, Steel

__all__ = [
    "Settings",
    "covers_of",
    "directions_of",
    "settings_of",
    "table_of",
]

INCH, DAY = 0.0254, 86400.0
AGE = 28 * DAY
CODES: dict[str, Code] = {"aci": "ACI 318-19", "en": "EN 1992-1-1"}
# Shop values of the cover: common practice, no source; nearer to the show face a wire shows as a shadow line or rust.
SHOP = MappingProxyType({"show": INCH / 2, "underside": 3 * INCH / 8, "edge": INCH / 2, "opening": INCH / 2})
PLACING = 3 * INCH / 8
OWED_ABOVE = 0.2


@dataclass(frozen=True, eq=False)
class Settings:
    """[steel] in the plain terms of fem.steel, SI; assumed has a note for whatever the case left out.

    thickness [m] is the least it may be cast to. concrete is that of concrete_age [s]; owed_above is a share of the
    cracking strength. given are the runs of the case's own layout.
    """

    thickness: float
    steel: Steel
    covers: Covers
    code_covers: Covers
    code: Code
    rules: Rules
    concrete: Concrete
    concrete_age: float
    owed_above: float
    planned: bool
    given: tuple[Run, ...]
    assumed: tuple[Note, ...]


def table_of(case: Case) -> SteelTable:
    """The table [steel] of a case that has one."""
    if case.steel is None:
        raise ValueError("the case has no [steel]")
    return case.steel


def settings_of(case: Case) -> Settings:
    """The settings of a checked case that has [steel]."""
    table, notes = table_of(case), []
    thickness = case.slab.thickness - case.slab.tolerance
    code = CODES[table.code]
    steel = laid_steel(table)
    covers = covers_of(table.cover)
    if "code" not in table.model_fields_set:
        notes.append(Note("steel.code", f"{code}"))
    if table.use is None:
        shown = in_words(steel.yield_strength, PRESSURE, case.units)
        notes.append(Note("steel.use", f"{steel.name}, yields at {shown} ({steel.source})"))
    if table.stock is None:
        notes.append(Note("steel.stock", f"sold in lengths of {in_words(steel.stock, LENGTH, case.units)}"))
    notes += _cover_notes(case, table.cover)
    concrete = concrete_at(case, AGE)
    notes += _concrete_notes(case, table, concrete)
    rules = _rules(case, thickness, steel, covers, concrete, code, notes)
    owed_above = OWED_ABOVE if table.owed_above is None else table.owed_above
    if table.owed_above is None:
        what = (
            "steel is owed where, and in the directions in which, the factored pull is more than 0.2 of the cracking "
            "strength of that age: half of what "
            "ACI 318-19 14.5.2.1 lets plain concrete carry (phi 0.60)"
        )
        notes.append(Note("steel.owed_above", what))
    return Settings(
        thickness=thickness,
        steel=steel,
        covers=covers,
        code_covers=_code_covers(covers, steel, code),
        code=code,
        rules=rules,
        concrete=concrete,
        concrete_age=AGE,
        owed_above=owed_above,
        planned=table.plan,
        given=_given(table, thickness, covers),
        assumed=tuple(notes),
    )


def covers_of(cover: Cover) -> Covers:
    """The covers told, shop values for the others [m]."""
    return Covers(**{key: told if (told := getattr(cover, key)) is not None else value for key, value in SHOP.items()})


def _code_covers(covers: Covers, steel: Steel, code: Code) -> Covers:
    """The covers that the code asks for, or more where more is given."""
    asked = code_covers(covers, steel, code)
    return Covers(max(covers.show, asked.show), max(covers.underside, asked.underside), covers.edge, covers.opening)


def _cover_notes(case: Case, cover: Cover) -> list[Note]:
    notes: list[Note] = []
    for key, value in SHOP.items():
        if getattr(cover, key) is None:
            place = f"{key} face" if key == "show" else key
            what = f"{in_words(value, LENGTH, case.units)} of concrete over it ({place})"
            told = "" if notes else ", as shops do: common practice, no source"
            notes.append(Note(f"steel.cover.{key}", what + told))
    return notes


def _concrete_notes(case: Case, table: SteelTable, concrete: Concrete) -> list[Note]:
    compressive, high = (in_words(x, PRESSURE, case.units) for x in (concrete.compressive, concrete.high))
    how = (
        "test strips, mean and 2 deviations" if mix_of(case).tests else "12 sqrt(f'c) in psi, or 1.3 times what is told"
    )
    what = f"runs are reckoned in concrete of 28 days ({compressive}), which may take {high} before it cracks ({how})"
    notes = [Note("steel", what)]
    if table.aggregate is None:
        notes.append(Note("steel.aggregate", f"largest grain {in_words(AGGREGATE, LENGTH, case.units)}"))
    return notes


def _rules(
    case: Case, thickness: float, steel: Steel, covers: Covers, concrete: Concrete, code: Code, notes: list[Note]
) -> Rules:
    """The rules of laying; what the case leaves out is added to notes."""
    table, system = table_of(case), case.units
    most, least, placing = table.spacing.most, table.spacing.least, table.placing
    if most is None:
        most = widest_spacing(thickness, code)
        rule = "3 thicknesses, ACI 318-19 7.7.2.3" if code == "ACI 318-19" else "EN 1992-1-1 9.3.1.1(3)"
        what = f"runs side by side at most {in_words(most, LENGTH, system)} apart: {rule}"
        notes.append(Note("steel.spacing.most", what))
    if least is None:
        least = max(thickness, clear_gap(steel, concrete, code) + max(steel.outside, steel.width))
        what = (
            f"runs on lines {in_words(least, LENGTH, system)} apart: a thickness, and room for the grain between them"
        )
        notes.append(Note("steel.spacing.least", what))
    if placing is None:
        placing = PLACING
        notes.append(Note("steel.placing", f"a wire may sit {in_words(placing, LENGTH, system)} off (ACI 117)"))
    directions = directions_of(case)
    if table.directions is None:
        shown = ", ".join(f"{math.degrees(angle):.4g}" for angle in directions)
        what = f"runs lie at {shown} degrees: along the sides, square to them, and halfway between"
        notes.append(Note("steel.directions", what))
    clear = min(covers.show, covers.underside)
    anchorage = build_up_length(steel, concrete, code, clear_cover=clear, spacing=least)
    if math.isfinite(anchorage):
        length = in_words(anchorage, LENGTH, system)
        what = (
            f"the pull of a run builds up evenly over its last {length}, by the bond formula without its least length"
        )
        notes.append(Note("steel", what))
    lap = lap_length(steel, concrete, code, clear_cover=clear, spacing=least)
    return Rules(
        pitch=least,
        most=max(most, least),
        directions=directions,
        placing=placing,
        anchorage=anchorage,
        # What nothing anchors counts nothing, however far it laps; its pieces still have to be cut.
        lap=lap if math.isfinite(lap) else 12 * INCH,
    )


def directions_of(case: Case) -> tuple[float, ...]:
    """Angles told, in [0, pi), each once; else that of most of the sides, square to it, and halfway between."""
    table = table_of(case)
    if table.directions is not None:
        degrees = sorted({round(angle % 180, 6) % 180 for angle in table.directions})
        return tuple(math.radians(angle) for angle in degrees)
    along: dict[float, float] = {}
    for ring in (loop.polyline(1e-4) for loop in drawing_of(case).shape.loops):
        for (x0, y0), (x1, y1) in pairwise(np.vstack([ring, ring[:1]]).tolist()):
            length = math.hypot(x1 - x0, y1 - y0)
            if length > case.slab.thickness:  # no chord of an arc
                angle = round(math.degrees(math.atan2(y1 - y0, x1 - x0)) % 90, 3) % 90
                along[angle] = along.get(angle, 0.0) + length
    main = max(along, key=lambda angle: (along[angle], -angle), default=0.0)
    return tuple(sorted(math.radians((main + turn) % 180) for turn in (0, 45, 90, 135)))


def _given(table: SteelTable, thickness: float, covers: Covers) -> tuple[Run, ...]:
    """The runs of the case's own layout.

    Those without a depth lie as near to their face as cover and the runs they cross let them: the first of two that
    cross lies outermost.
    """
    known = known_steels(table)
    runs: list[Run] = []
    for k, run in enumerate(table.run):
        steel = known[run.steel] if run.steel is not None else laid_steel(table)
        most = max(layers_that_fit(thickness, covers, steel), 1)
        layer = 0 if run.depth is not None else min(_free_layer(run.points, run.face, runs), most - 1)
        depth = layer_depth(thickness, covers, steel, run.face, layer) if run.depth is None else run.depth
        runs.append(Run(run.name or f"run {k + 1}", run.face, run.points, depth, steel, layer, "given"))
    return tuple(runs)


def _free_layer(points: Sequence[tuple[float, float]], face: str, laid: Sequence[Run]) -> int:
    """The outermost layer in which no run of the face crosses these points."""
    line = shapely.LineString(points)
    crossed = {run.layer for run in laid if run.face == face and line.crosses(shapely.LineString(run.points))}
    return next(layer for layer in range(len(crossed) + 1) if layer not in crossed)
