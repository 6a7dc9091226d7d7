"""Supports of a stage that contradict each other: rigid ones on the same spots at different heights."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from api.case_model import Stage
from api.drawing import Drawing
from api.errors import Problem
from api.placing import in_plan
from api.postures import supports_of
from api.units import LENGTH, in_words
from fem.plate.model import Support

__all__ = ["quarrels"]

# Two stand on the same spots where so much of them lies together [m, m2]; two lines that only cross do not.
_NEAR, _LENGTH, _AREA = 1e-3, 0.01, 1e-4
_LEVEL = 1e-6


def quarrels(drawing: Drawing, stage: Stage, where: str) -> list[Problem]:
    """Pairs of which one holds the slab at a height that the other does not let it take."""
    supports = supports_of(drawing, stage)
    rigid = [k for k, one in enumerate(supports) if one.face and np.isinf(one.stiffness)]
    places = {k: in_plan(drawing, supports[k].place) for k in rigid}
    problems: dict[tuple[int, ...], Problem] = {}
    for a, b in permutations(rigid, 2):
        apart = supports[b].gap - supports[a].gap
        if supports[a].action == "rest" or tuple(sorted((a, b))) in problems:
            continue
        contradicts = abs(apart) > _LEVEL if supports[b].action != "rest" else apart < -_LEVEL
        if (contradicts or stage.shims is not None) and _together(places[a], places[b]):
            found = _apart(drawing, supports, a, b, where) if contradicts else _shimmed(supports, a, b, where)
            problems[tuple(sorted((a, b)))] = found
    return list(_in_order(problems))


def _in_order(problems: dict[tuple[int, ...], Problem]) -> Iterator[Problem]:
    for pair in sorted(problems):
        yield problems[pair]


def _apart(drawing: Drawing, supports: tuple[Support, ...], a: int, b: int, where: str) -> Problem:
    apart = in_words(abs(supports[b].gap - supports[a].gap), LENGTH, drawing.system)
    what = f"'{supports[b].name}' and '{supports[a].name}' share spots but stand {apart} apart in height"
    fix = "one holds the slab where the other does not let it be: give both the same gap, or leave one out"
    return Problem(f"{where}.support[{b}].gap", what, fix)


def _shimmed(supports: tuple[Support, ...], a: int, b: int, where: str) -> Problem:
    what = f"'{supports[b].name}' is shimmed against '{supports[a].name}', which holds the slab on the same spots"
    return Problem(f"{where}.shims", what, "write the two as one support, or leave shims out")


def _together(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two places have spots in common, and not only where they cross or touch."""
    flat = min(shapely.get_dimensions(one), shapely.get_dimensions(other))
    apart = shapely.distance(one, other) > _NEAR
    if flat == 0 or apart:
        return not apart
    if flat == 1:
        line, wide = (one, other) if shapely.get_dimensions(one) == 1 else (other, one)
        return bool(line.intersection(wide.buffer(_NEAR)).length > _LENGTH)
    return bool(one.intersection(other).area > _AREA)
