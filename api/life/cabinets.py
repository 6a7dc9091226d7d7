"""Cabinets and brackets become supports: lines along their panels and rails, where the slab lies on them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
import shapely.ops
from shapely.geometry import LineString, Polygon

from api.case_life import Bracket, Cabinet
from api.drawing import Drawing
from api.errors import Problem
from api.life.choice import Choice
from api.life.sides import parts_on
from api.units import FORCE, LENGTH, PRESSURE, in_words
from api.wording import spot_text

__all__ = ["box_of", "furniture_faults", "furniture_supports", "level_of"]

Point = tuple[float, float]

# Panels of neighbours so near to each other bear as one line [m]; parts of a line shorter than this bear nothing.
NEIGHBOURS = 0.030
LEAST_LINE = 0.020
PARALLEL = math.sin(math.radians(3))


@dataclass(frozen=True)
class Bearing:
    """A line of a cabinet that bears, across its box [m]; panel thickness and adhesive strength as told."""

    name: str
    line: tuple[Point, Point]
    gap: float
    where: str
    panel: bool = False
    thickness: float = 0.0
    adhesive: float = 0.0


def box_of(cabinet: Cabinet) -> Polygon:
    """The cabinet's rectangle [m]."""
    width, depth = cabinet.size
    return Polygon([_place(cabinet, u, v) for u, v in ((0, 0), (width, 0), (width, depth), (0, depth))])


def furniture_faults(cabinets: tuple[Cabinet, ...], brackets: tuple[Bracket, ...], drawing: Drawing) -> list[Problem]:
    """Cabinets and brackets without a slab over them, panels that fill their cabinet, appliance gaps with rails."""
    problems: list[Problem] = []
    for k, cabinet in enumerate(cabinets):
        where, box = f"cabinet[{k}]", box_of(cabinet)
        if box.intersection(drawing.region).area < 1e-4:
            problems.append(Problem(where, "the cabinet lies off the slab", _nearest(box, drawing)))
        if 2 * (cabinet.panel or 0.0) >= min(cabinet.size):
            what = "the panels are thicker than the cabinet"
            problems.append(Problem(f"{where}.panel", what, 'give the thickness of one board, as in panel = "5/8 in"'))
        if cabinet.appliance and (cabinet.front_rail or cabinet.back_rail or cabinet.adhesive):
            what = "an appliance gap has no rails and no panels: nothing bears there"
            problems.append(Problem(f"{where}.appliance", what, "leave out the rails and the adhesive, or appliance"))
    for k, bracket in enumerate(brackets):
        line = LineString([bracket.at, bracket.to])
        if line.length < LEAST_LINE:
            problems.append(Problem(f"bracket[{k}].to", "the bracket has no length", "give at and to of its two ends"))
        elif not parts_on(line, drawing.region, LEAST_LINE):
            problems.append(Problem(f"bracket[{k}]", "the bracket lies off the slab", _nearest(line, drawing)))
    return problems


def furniture_supports(
    cabinets: tuple[Cabinet, ...], brackets: tuple[Bracket, ...], drawing: Drawing, choice: Choice
) -> list[dict[str, Any]]:
    """The supports of the cabinets and brackets, as a stage writes them, SI."""
    bearings: list[Bearing] = []
    for k, cabinet in enumerate(cabinets):
        bearings += _bearings(cabinet, cabinet.name or f"cabinet {k + 1}", f"cabinet[{k}]", choice)
    supports = [support for one in _joined(bearings) for support in _lines(one, drawing, choice)]
    for k, bracket in enumerate(brackets):
        supports += _bracket(bracket, bracket.name or f"bracket {k + 1}", f"bracket[{k}]", drawing, choice)
    return supports


def level_of(cabinets: tuple[Cabinet, ...], choice: Choice) -> float:
    """How far out of level any of the cabinets may stand [m]; where there is none, as ordinary ones."""
    if not cabinets:
        return choice.of_row("cabinet.level", "life.set.shims")
    return max(choice.of_row("cabinet.level", f"cabinet[{k}].level", one.level) for k, one in enumerate(cabinets))


def _place(cabinet: Cabinet, u: float, v: float) -> Point:
    angle = math.radians(cabinet.angle)
    c, s = math.cos(angle), math.sin(angle)
    return cabinet.at[0] + c * u - s * v, cabinet.at[1] + s * u + c * v


def _from_front(cabinet: Cabinet, a: float, b: float) -> Point:
    """The point a along the front from the left panel, b behind the front, of somebody who looks at the front."""
    width, depth = cabinet.size
    u, v = {
        "front": (a, b),
        "back": (width - a, depth - b),
        "left": (b, depth - a),
        "right": (width - b, a),
    }[cabinet.front]
    return _place(cabinet, u, v)


def _bearings(cabinet: Cabinet, name: str, where: str, choice: Choice) -> list[Bearing]:
    """The lines of one cabinet: side panels, rails, ledger."""
    width, depth = cabinet.size if cabinet.front in ("front", "back") else cabinet.size[::-1]
    lines: list[Bearing] = []

    def add(what: str, begin: Point, end: Point, gap: float, **more: Any) -> None:
        line = (_from_front(cabinet, *begin), _from_front(cabinet, *end))
        lines.append(Bearing(f"{what} of {name}", line, gap, where, **more))

    if not cabinet.appliance:
        panel = choice.of_row("cabinet.panel", f"{where}.panel", cabinet.panel)
        more = {"panel": True, "thickness": panel, "adhesive": float(cabinet.adhesive)}
        add("left panel", (panel / 2, 0.0), (panel / 2, depth), cabinet.gap, **more)
        add("right panel", (width - panel / 2, 0.0), (width - panel / 2, depth), cabinet.gap, **more)
        for side, rail in (("front", cabinet.front_rail), ("back", cabinet.back_rail)):
            if rail:
                wide = choice.of_row("cabinet.rail", f"{where}.{side}_rail", None if rail is True else float(rail))
                v = wide / 2 if side == "front" else depth - wide / 2
                add(f"{side} rail", (panel / 2, v), (width - panel / 2, v), cabinet.gap)
    if cabinet.ledger:
        v = depth - choice.of_row("cabinet.ledger", f"{where}.ledger") / 2
        add("wall ledger", (0.0, v), (width, v), 0.0)
    return lines


def _joined(bearings: list[Bearing]) -> list[Bearing]:
    """Panels of neighbouring cabinets that run side by side become one line midway, as long as both together."""
    left = list(bearings)
    joined: list[Bearing] = []
    while left:
        one = left.pop(0)
        for other in list(left):
            if _side_by_side(one, other):
                left.remove(other)
                one = _one_line(one, other)
        joined.append(one)
    return joined


def _side_by_side(one: Bearing, other: Bearing) -> bool:
    if not (one.panel and other.panel) or one.where == other.where:
        return False
    a, b = (np.subtract(line[1], line[0]) for line in (one.line, other.line))
    cross = abs(a[0] * b[1] - a[1] * b[0])
    if cross > PARALLEL * np.hypot(*a) * np.hypot(*b):
        return False
    first, second = LineString(one.line), LineString(other.line)
    return bool(first.distance(second) <= NEIGHBOURS and _overlap(one.line, other.line) > LEAST_LINE)


def _overlap(one: tuple[Point, Point], other: tuple[Point, Point]) -> float:
    """How far two parallel lines run side by side [m]."""
    step = np.subtract(one[1], one[0])
    length = float(np.hypot(*step))
    t = sorted(float(np.subtract(point, one[0]) @ step) / length for point in other)
    return min(length, t[1]) - max(0.0, t[0])


def _one_line(one: Bearing, other: Bearing) -> Bearing:
    """Midway between the two; the higher cabinet is the one that bears, the weaker adhesive the one that counts."""
    start = np.asarray(one.line[0])
    step = np.subtract(one.line[1], start)
    step = step / np.hypot(*step)
    normal = np.array([-step[1], step[0]])
    points = np.asarray([*one.line, *other.line])
    t = (points - start) @ step
    middle = float(((points[2:] - start) @ normal).mean()) / 2
    ends = [start + normal * middle + step * float(end) for end in (t.min(), t.max())]
    return replace(
        one,
        name=f"{one.name} and {other.name}"[:120],
        line=((float(ends[0][0]), float(ends[0][1])), (float(ends[1][0]), float(ends[1][1]))),
        gap=min(one.gap, other.gap),
        thickness=one.thickness + other.thickness,
        adhesive=min(one.adhesive, other.adhesive),
    )


def _lines(bearing: Bearing, drawing: Drawing, choice: Choice) -> list[dict[str, Any]]:
    """The bearing clipped to the slab, as supports."""
    parts = parts_on(LineString(bearing.line), drawing.region, LEAST_LINE)
    supports: list[dict[str, Any]] = []
    for k, part in enumerate(parts, 1):
        name = bearing.name if len(parts) == 1 else f"{bearing.name[:110]}, part {k}"
        action = "hold" if bearing.adhesive else "rest"
        supports.append({"name": name, "kind": "line", "points": part, "action": action, "gap": bearing.gap})
    if bearing.adhesive:
        length = sum(LineString(part).length for part in parts)
        most = in_words(bearing.adhesive * bearing.thickness * length, FORCE, drawing.system)
        strength = in_words(bearing.adhesive, PRESSURE, drawing.system)
        what = (
            f"{bearing.name} holds the slab down: {strength} over {in_words(bearing.thickness, LENGTH, drawing.system)}"
        )
        note = f"{what} of panel needs no more than {most} in all; compare the pull that the answer lists"
        choice.note(f"{bearing.where}.adhesive", note)
    return supports


def _bracket(bracket: Bracket, name: str, where: str, drawing: Drawing, choice: Choice) -> list[dict[str, Any]]:
    """The bracket's flat as an area, clipped to the slab."""
    width = choice.of_row("bracket.width", f"{where}.width", bracket.width)
    strip = LineString([bracket.at, bracket.to]).buffer(width / 2, cap_style="flat")
    cut = strip.intersection(drawing.region)
    parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, Polygon)]
    supports: list[dict[str, Any]] = []
    for k, part in enumerate((part for part in parts if part.area > 1e-4), 1):
        points = [(float(x), float(y)) for x, y in shapely.simplify(part, 2e-4).exterior.coords[:-1]]
        support: dict[str, Any] = {
            "name": name if k == 1 else f"{name}, part {k}", "kind": "area", "points": points, "action": "rest",
        }  # fmt: skip
        if bracket.stiffness is not None:
            support["stiffness"] = bracket.stiffness
        supports.append(support)
    return supports


def _nearest(thing: Polygon | LineString, drawing: Drawing) -> str:
    spot = shapely.ops.nearest_points(thing, drawing.region)[1]
    far = in_words(thing.distance(drawing.region), LENGTH, drawing.system)
    return f"it is {far} away: the nearest spot of the slab is {spot_text((spot.x, spot.y), drawing.system)}"
