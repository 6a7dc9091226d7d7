"""Invented layouts for drawing: wires at a pitch in two directions on both faces, and diagonals at inner corners."""

from __future__ import annotations

import math
import tomllib
from collections import defaultdict
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from api.case import Case, load_case, read_case
from api.sheet.matter import Matter, matter_of
from api.solve import Solved, solve_case
from api.steel.found import SteelFound
from fem.steel.model import (
    Carried,
    Concrete,
    Covers,
    Cut,
    Demand,
    Face,
    Plan,
    Rules,
    Run,
    Steel,
)

CASES = Path(__file__).resolve().parent.parent / "cases"
WIRE = Steel(
    name="9 gauge wire",
    kind="wire",
    diameter=0.00376,
    outside=0.00376,
    area=1.11e-5,
    yield_strength=483e6,
    ultimate_strength=552e6,
    modulus=200e9,
    mass=0.087,
    source="invented",
)
COVERS = Covers(show=0.0127, underside=0.0095, edge=0.01905, opening=0.01905)


@cache
def solved_case(name: str) -> Solved:
    """An example case, or the galley with tap holes and a drip groove, solved without advice; once a process."""
    if name == "galley-with-taps":
        return solve_case(_galley_with_taps(), advice=False)
    return solve_case(load_case(CASES / f"{name}.toml"), advice=False, steel=False)


def _galley_with_taps() -> Case:
    """The galley top's first stage, with three tap holes close together, a rounded corner and a groove in the back."""
    data = tomllib.loads((CASES / "galley-top.toml").read_text(encoding="utf-8"))
    data["title"] = "Galley top with tap holes and a name that is far too long for the strip at the foot of a sheet"
    data["slab"]["outline"][2] = [96, 25.5, 3]
    data["slab"]["opening"] += [
        {"name": f"tap {k}", "shape": "circle", "center": [44 + 4 * k, 22], "diameter": 1.375} for k in range(3)
    ]
    data["slab"]["region"] = [{"name": "drip groove", "depth": 1.25, "points": [[1, 1], [95, 1], [95, 1.5], [1, 1.5]]}]
    data["stage"] = data["stage"][:1]
    data["stage"][0]["support"][1]["points"] = [[96, 0], [96, 22]]
    return read_case(data)


def laid(region: shapely.Polygon, face: Face, angle: float, pitch: float, depth: float, layer: int) -> list[Run]:
    """Wires at a pitch across the whole slab in one direction, cut by its edges and openings less cover."""
    inner = region.buffer(-COVERS.edge)
    along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
    corners = shapely.get_coordinates(inner)
    u, v = corners @ along, corners @ across
    runs = []
    for level in np.arange(v.min(), v.max() + 1e-9, pitch):
        line = shapely.LineString([u.min() * along + level * across, u.max() * along + level * across])
        for part in shapely.get_parts(inner.intersection(line)):
            if part.geom_type == "LineString" and part.length > 0.15:
                runs.append(Run("", face, _ends(part), depth, WIRE, layer))
    return runs


def _ends(line: BaseGeometry) -> tuple[tuple[float, float], ...]:
    return tuple((round(x, 6), round(y, 6)) for x, y in line.coords)


def layout(solved: Solved, pitch: float = 0.0635, diagonals: bool = True) -> tuple[Run, ...]:
    """A layout on both faces."""
    region, thickness = solved.piece.shape.region(), solved.case.slab.thickness
    half = WIRE.diameter / 2
    runs: list[Run] = []
    sides: tuple[tuple[Face, str], ...] = (("show", "S"), ("underside", "U"))
    for face, letter in sides:
        first = COVERS.show + half if face == "show" else thickness - COVERS.underside - half
        second = first + (WIRE.diameter if face == "show" else -WIRE.diameter)
        here = laid(region, face, 0.0, pitch, first, 0)
        here += laid(region, face, math.pi / 2, 2 * pitch, second, 1)
        if diagonals and letter == "S":
            here += _diagonals(region, face, second + WIRE.diameter)
        runs += [replace(run, mark=f"{letter}{k}") for k, run in enumerate(here, 1)]
    return tuple(runs)


def _diagonals(region: shapely.Polygon, face: Face, depth: float) -> list[Run]:
    """Three short wires across each inner corner of the outline."""
    ring = np.asarray(region.exterior.simplify(0.02).coords)[:-1]
    inner = region.buffer(-COVERS.edge)
    runs = []
    for before, corner, after in zip(np.roll(ring, 1, axis=0), ring, np.roll(ring, -1, axis=0), strict=True):
        a, b = corner - before, after - corner
        if a[0] * b[1] - a[1] * b[0] >= -1e-9:
            continue
        out = a / np.hypot(*a) - b / np.hypot(*b)
        out /= np.hypot(*out)
        along = np.array([-out[1], out[0]])
        for k in range(3):
            middle = corner + (0.05 + 0.05 * k) * out
            line = inner.intersection(shapely.LineString([middle - 0.35 * along, middle + 0.35 * along]))
            if line.geom_type == "LineString" and line.length > 0.2:
                runs.append(Run("", face, _ends(line), depth, WIRE, 2))
    return runs


def found(solved: Solved, runs: tuple[Run, ...]) -> SteelFound:
    """A record of steel found, its mechanics left empty."""
    nothing = Carried(1.07, {"show": np.zeros(0), "underside": np.zeros(0)}, None, None, None, "")
    groups: dict[int, list[str]] = defaultdict(list)
    for run in runs:
        groups[round(run.length * 1000)].append(run.mark)
    cuts = tuple(Cut(WIRE.name, mm / 1000, len(marks), tuple(marks)) for mm, marks in groups.items())
    length = sum(run.length for run in runs)
    pieces = math.ceil(length / WIRE.stock * 1.05)
    plan = Plan(runs, length, 0.97 * length, nothing, None, cuts, pieces, 1 - length / (pieces * WIRE.stock))
    demand = Demand(np.zeros((0, 2)), np.zeros(0), {}, {}, ())
    rules = Rules(0.0127, 0.1143, (0.0, math.pi / 2), 0.0095, 0.15, 0.3)
    return SteelFound(
        steel=WIRE,
        covers=COVERS,
        code="ACI 318-19",
        concrete=Concrete(41e6, 3.9e6, 6.5e6, 30e9),
        rules=rules,
        demand=demand,
        plan=plan,
        judged=None,
        given=(),
        code_cover=None,
        code_covers=COVERS,
        checks=(),
        bendings=(),
        notes=("Where nothing is owed two wires run in every rail, against a crack that nobody foresaw.",),
    )


def matter(name: str, pitch: float = 0.0635) -> Matter:
    """What the sheets of an example case tell, with an invented layout."""
    solved = solved_case(name)
    return matter_of(solved, found(solved, layout(solved, pitch)))
