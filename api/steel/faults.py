"""What is wrong with [steel] once its grammar is right: unknown names, runs off the slab, layers that do not fit."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator

import numpy as np
import shapely

from api.case_faults import printable
from api.case_model import Case
from api.drawing import Drawing, drawing_of
from api.errors import Problem
from api.place_faults import line_off
from api.steel.grammar import SteelRun, SteelTable
from api.steel.known import DEFAULT_STEEL, known_steels
from api.steel.settings import covers_of, directions_of
from api.steel.table import reinforcement
from api.units import LENGTH, in_words
from fem.steel.model import Steel
from meshing.shape import Shape

__all__ = ["steel_faults"]

MOST_LINES = 2000
"""Lines of all directions together that a plan is chosen from."""


def steel_faults(case: Case) -> list[Problem]:
    """Every fault of the table [steel] of a case whose slab is sound; none where it has no such table."""
    table = case.steel
    if table is None:
        return []
    names = [*_name_faults(table)]
    if case.concrete.compressive_strength is None:
        fix = "add compressive_strength: cracked concrete is pressed against its steel, and a code asks for f'c"
        names.append(Problem("concrete.compressive_strength", "[steel] needs it", fix))
    if not table.plan and not table.run:
        fix = "leave plan out, or give a layout to judge: [[steel.run]] with face and points"
        names.append(Problem("steel.plan", "nothing is planned and no layout is given", fix))
    if names:
        return names
    known, drawing = known_steels(table), drawing_of(case)
    thickness = case.slab.thickness - case.slab.tolerance
    problems = [*_cover_faults(case, table, known, thickness), *_spacing_faults(case, table, known, thickness)]
    problems += _line_faults(case, drawing)
    for k, run in enumerate(table.run):
        problems += _run_faults(drawing, run, table.place(k), known[run.steel or table.use or DEFAULT_STEEL], thickness)
    return problems


def _name_faults(table: SteelTable) -> Iterator[Problem]:
    common, own = reinforcement(), [one.name for one in table.own]
    for k, name in enumerate(own):
        if name in own[:k]:
            yield Problem(f"steel.own[{k}].name", f'a second "{printable(name)}"', "give each its own name")
        elif name in common:
            what = f'"{printable(name)}" is in the table of common reinforcement'
            yield Problem(f"steel.own[{k}].name", what, "give yours another name, or leave it out")
    known = [*own, *common]
    named: list[tuple[str, str | None]] = [("steel.use", table.use)]
    named += [(f"steel.run[{k}].steel", run.steel) for k, run in enumerate(table.run)]
    for where, asked in named:
        if asked is not None and asked not in known:
            near = difflib.get_close_matches(asked[:60].lower(), [one.lower() for one in known], 3, 0.3)
            close = [one for low in near for one in known if one.lower() == low]
            hint = f"did you mean {' or '.join(_quoted(one) for one in close)}? " if close else ""
            fix = f"{hint}known: {', '.join(_quoted(one) for one in known)}; others go into [[steel.own]]"
            yield Problem(where, f"no reinforcement {_quoted(asked)} is known", fix)


def _cover_faults(case: Case, table: SteelTable, known: dict[str, Steel], thickness: float) -> Iterator[Problem]:
    """A cover that leaves no room for one layer between it and the other face's cover."""
    covers, steel = covers_of(table.cover), known[table.use or DEFAULT_STEEL]
    room = thickness - covers.show - covers.underside
    if room >= steel.outside - 1e-9:
        return
    sizes = {key: in_words(getattr(covers, key), LENGTH, case.units) for key in ("show", "underside")}
    thick, layer = (in_words(value, LENGTH, case.units) for value in (thickness, steel.outside))
    what = (
        f"no layer of {steel.name} fits: {thick} of slab less covers of {sizes['show']} and {sizes['underside']} "
        f"leave {in_words(room, LENGTH, case.units) if room > 0 else 'nothing'}, and a layer takes {layer}"
    )
    key = max(("show", "underside"), key=lambda one: (getattr(table.cover, one) is not None, getattr(covers, one)))
    left = thickness - steel.outside - getattr(covers, "underside" if key == "show" else "show")
    yield Problem(f"steel.cover.{key}", what, f"{_would_do(key, left, case)}a thinner reinforcement, or a thicker slab")


def _would_do(key: str, left: float, case: Case) -> str:
    """The cover that would do, rounded down; "" where even a hair of it is too much."""
    step = 0.01 * 0.0254 if case.units == "us" else 1e-4
    down = math.floor(left / step + 1e-6) * step
    return f"{key} = {in_words(down, LENGTH, case.units)} would do; or " if down > 0.001 else ""


def _spacing_faults(case: Case, table: SteelTable, known: dict[str, Steel], thickness: float) -> Iterator[Problem]:
    least, most = table.spacing.least, table.spacing.most
    steel = known[table.use or DEFAULT_STEEL]
    if least is not None and steel.width and least < steel.width:
        width = in_words(steel.width, LENGTH, case.units)
        yield Problem(
            "steel.spacing.least",
            f"strips of {steel.name} are {width} wide and would lie on one another",
            f"give at least {width}",
        )
    elif least is not None and least < 2 * steel.outside:
        room = in_words(2 * steel.outside, LENGTH, case.units)
        yield Problem("steel.spacing.least", "so close no concrete gets between the runs", f"give at least {room}")
    widest = most if most is not None else 3 * thickness
    if least is not None and least > widest:
        shown = in_words(widest, LENGTH, case.units)
        what = f"runs would lie farther apart than the most, {shown}"
        yield Problem("steel.spacing.least", what, f"give at most {shown}, or a greater spacing.most")


def _line_faults(case: Case, drawing: Drawing) -> Iterator[Problem]:
    """A spacing so close that the lines on which runs may lie are too many to choose from."""
    least = None if case.steel is None else case.steel.spacing.least
    if least is None:
        return
    corners = shapely.get_coordinates(drawing.outline.convex_hull)
    across = sum(float(np.ptp(corners @ (-math.sin(angle), math.cos(angle)))) for angle in directions_of(case))
    if across / least > MOST_LINES:
        room = in_words(across / MOST_LINES * 1.01, LENGTH, case.units)
        what = f"runs would have {across / least:.0f} lines to lie on: more than {MOST_LINES} are not looked through"
        yield Problem("steel.spacing.least", what, f"give at least {room}, or fewer directions")


def _run_faults(drawing: Drawing, run: SteelRun, where: str, steel: Steel, thickness: float) -> Iterator[Problem]:
    """A run off the outline (over an opening it is judged, not refused), or not within the depth of the slab."""
    drawn = where.endswith(".file")
    points = where if drawn else f"{where}.points"
    outline = Drawing(Shape(drawing.shape.outline, ()), drawing.outline, drawing.system)
    faults = line_off(outline, run.points, points, "the run")
    yield from (Problem(points, one.what, one.fix) for one in faults) if drawn else faults
    if run.depth is not None and not steel.outside / 2 - 1e-9 <= run.depth <= thickness - steel.outside / 2 + 1e-9:
        shown, half, deep = (
            in_words(value, LENGTH, drawing.system) for value in (run.depth, steel.outside / 2, thickness)
        )
        fix = f"the axis lies between {half} and {in_words(thickness - steel.outside / 2, LENGTH, drawing.system)}"
        what = f"a depth of {shown} is not within the slab, {deep} deep"
        yield Problem(
            where.replace(".file", ".depth") if drawn else f"{where}.depth", what, f"{fix} from the show face"
        )


def _quoted(name: str) -> str:
    return f'"{printable(name)}"'
