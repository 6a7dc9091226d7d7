"""Forty slabs as shops make them, each on its supports, for the study of the error bars.

Invented, SI. Sizes are those of the trade: 25 to 75 mm thick, 0.6 to 3 m long; half of them have sharp inner corners
or rests that end inside the slab, where averaging has most to do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.plate.model import (
    AreaPlace,
    EdgePlace,
    LinePlace,
    Load,
    PlateCase,
    PointPlace,
    Stage,
    Support,
)
from meshing.shape import Loop, Shape, ellipse, polygon, rectangle

__all__ = ["Slab", "zoo"]

Points = list[tuple[float, float]]
Pieces = tuple[list[Support], list[Load]]


@dataclass(frozen=True)
class Slab:
    """One slab with one stage."""

    name: str
    shape: Shape
    plate: PlateCase
    stage: Stage


def zoo() -> list[Slab]:
    """The forty slabs, always the same."""
    return [_slab(name, *make) for name, make in _MAKERS.items()]


def _slab(name: str, shape: Shape, thickness: float, pieces: Pieces, multiplier: float = 1.0) -> Slab:
    supports, loads = pieces
    stage = Stage(name, "show", multiplier, 27e9, 3.5e6, 2.3e6, tuple(supports), tuple(loads))
    return Slab(name, shape, PlateCase(thickness, 2350.0, 0.2), stage)


def _rest(*places: Points, gap: float = 0.0) -> list[Support]:
    return [
        Support(f"line {k}", LinePlace(tuple(place)), "rest", gap if k == 1 else 0.0) for k, place in enumerate(places)
    ]


def _hands(size: float, *places: tuple[float, float]) -> list[Support]:
    return [Support(f"hand {k}", PointPlace(place, size), "rest") for k, place in enumerate(places)]


def _foot(x: float, y: float, force: float = 1330.0, size: float = 0.1) -> list[Load]:
    return [Load("foot", PointPlace((x, y), size), force)]


def _corners(points: Points, radius: float | dict[int, float] = 0.0) -> Loop:
    radii = [radius.get(k, 0.0) if isinstance(radius, dict) else radius for k in range(len(points))]
    return polygon(np.array(points), np.array(radii))


def _l(length: float, depth: float, leg: float, radius: float) -> Loop:
    return _corners([(0, 0), (length, 0), (length, leg), (leg, leg), (leg, depth), (0, depth)], {3: radius})


def _box(width: float, depth: float, radius: float = 0.0) -> Loop:
    return rectangle((width / 2, depth / 2), (width, depth), radius)


def _sink(x: float, y: float, width: float = 0.6, depth: float = 0.4, radius: float = 0.02) -> Loop:
    return rectangle((x, y), (width, depth), radius)


def _panels(depth: float, *xs: float) -> list[Support]:
    return _rest(*[[(x, 0.02), (x, depth - 0.02)] for x in xs])


def _circle(radius: float, n: int = 36) -> Points:
    return [(radius * float(np.cos(a)), radius * float(np.sin(a))) for a in np.linspace(0, 2 * np.pi, n + 1)]


def _whole_edge(loop: Loop, action: str, begin: float = 0.0, end: float | None = None) -> list[Support]:
    place = EdgePlace(0, begin, loop.length if end is None else end)
    return [Support("edge", place, "hold" if action == "hold" else "clamp" if action == "clamp" else "rest")]


_T = [(0.0, 0.0), (2.4, 0.0), (2.4, 0.6), (1.5, 0.6), (1.5, 1.5), (0.9, 1.5), (0.9, 0.6), (0.0, 0.6)]
_U = [(0.0, 0.0), (2.4, 0.0), (2.4, 1.6), (1.8, 1.6), (1.8, 0.6), (0.6, 0.6), (0.6, 1.6), (0.0, 1.6)]
_ODD = [(0.0, 0.2), (0.25, 0.0), (2.0, 0.0), (2.6, 0.5), (2.6, 1.0), (2.2, 1.3), (0.6, 1.3), (0.0, 0.9)]
_SKEW = [(0.0, 0.0), (1.8, 0.0), (2.3, 0.7), (0.5, 0.7)]

_LINES_OF_L = ([(0.05, 0.02), (0.05, 1.75)], [(1.1, 0.02), (1.1, 0.63)], [(2.38, 0.02), (2.38, 0.63)])

_MAKERS: dict[str, tuple[Shape, float, Pieces] | tuple[Shape, float, Pieces, float]] = {
    "strip on two": (Shape(_box(2.4, 0.65)), 0.038, (_panels(0.65, 0.05, 2.35), [])),
    "strip at fifths": (Shape(_box(2.4, 0.65)), 0.038, (_panels(0.65, 0.5, 1.9), []), 1.5),
    "strip on three": (Shape(_box(3.0, 0.65)), 0.040, (_panels(0.65, 0.05, 1.5, 2.95), [])),
    "strip, middle low": (
        Shape(_box(3.0, 0.65)),
        0.040,
        (_rest([(0.05, 0), (0.05, 0.65)], [(1.5, 0), (1.5, 0.65)], [(2.95, 0), (2.95, 0.65)], gap=0.002), []),
    ),
    "strip, middle high": (
        Shape(_box(3.0, 0.65)),
        0.040,
        (_rest([(0.05, 0), (0.05, 0.65)], [(1.5, 0), (1.5, 0.65)], [(2.95, 0), (2.95, 0.65)], gap=-0.001), []),
    ),
    "galley by its ends": (Shape(_box(2.44, 0.65), (_sink(1.2, 0.28, 0.76),)), 0.038, (_panels(0.65, 0.05, 2.39), [])),
    "galley with hands": (
        Shape(_box(2.44, 0.65), (_sink(1.2, 0.28, 0.76),)),
        0.038,
        (_hands(0.1, (0.5, 0.06), (0.5, 0.59), (1.94, 0.06), (1.94, 0.59)), []),
        1.5,
    ),
    "galley, foot on the rail": (
        Shape(_box(2.44, 0.65), (_sink(1.2, 0.28, 0.76),)),
        0.038,
        (_panels(0.65, 0.05, 0.8, 1.6, 2.39), _foot(1.2, 0.04, size=0.05)),
    ),
    "galley, sharp sink": (
        Shape(_box(2.44, 0.65), (_sink(1.2, 0.3, 0.7, 0.4, 0.0),)),
        0.038,
        (_panels(0.65, 0.05, 0.75, 1.65, 2.39), []),
    ),
    "bar with overhang, held": (
        Shape(_box(2.44, 1.0)),
        0.038,
        (
            [*_rest([(0, 0.61), (2.44, 0.61)]), Support("back", LinePlace(((0.0, 0.02), (2.44, 0.02))), "hold")],
            _foot(1.22, 0.94),
        ),
    ),
    "bar with overhang, at its end": (
        Shape(_box(2.44, 1.0)),
        0.038,
        (
            [*_rest([(0, 0.61), (2.44, 0.61)]), Support("back", LinePlace(((0.0, 0.02), (2.44, 0.02))), "hold")],
            _foot(2.38, 0.94),
        ),
    ),
    "bar on rests": (Shape(_box(2.44, 0.9)), 0.05, (_rest([(0.1, 0.3), (2.3, 0.3)], [(0.1, 0.7), (2.3, 0.7)]), [])),
    "L on lines": (Shape(_l(2.44, 1.83, 0.65, 0.025)), 0.038, (_rest(*_LINES_OF_L), [])),
    "L, sharp": (Shape(_l(2.44, 1.83, 0.65, 0.0)), 0.038, (_rest(*_LINES_OF_L), [])),
    "L, wide fillet": (Shape(_l(2.44, 1.83, 0.65, 0.15)), 0.038, (_rest(*_LINES_OF_L), [])),
    "L with sink": (Shape(_l(2.44, 1.83, 0.65, 0.025), (_sink(1.6, 0.32),)), 0.038, (_rest(*_LINES_OF_L), [])),
    "L with sink, foot": (
        Shape(_l(2.44, 1.83, 0.65, 0.025), (_sink(1.6, 0.32),)),
        0.038,
        (_rest(*_LINES_OF_L), _foot(1.6, 0.05)),
    ),
    "L, four hands": (
        Shape(_l(2.44, 1.83, 0.65, 0.025)),
        0.038,
        (_hands(0.1, (0.1, 1.7), (0.1, 0.1), (2.3, 0.1), (2.3, 0.55)), []),
        1.5,
    ),
    "L, three bearers": (
        Shape(_l(2.44, 1.83, 0.65, 0.025)),
        0.05,
        (_rest([(0.05, 1.3), (0.6, 1.3)], [(0.5, 0.05), (0.5, 0.6)], [(2.0, 0.05), (2.0, 0.6)]), []),
        1.5,
    ),
    "L, foot at the corner": (Shape(_l(2.44, 1.83, 0.65, 0.025)), 0.038, (_rest(*_LINES_OF_L), _foot(0.6, 0.6))),
    "T on three": (
        Shape(_corners(_T, {3: 0.03, 6: 0.03})),
        0.04,
        (_rest([(0.05, 0), (0.05, 0.6)], [(2.35, 0), (2.35, 0.6)], [(0.9, 1.45), (1.5, 1.45)]), []),
    ),
    "T, sharp": (
        Shape(_corners(_T)),
        0.04,
        (_rest([(0.05, 0), (0.05, 0.6)], [(2.35, 0), (2.35, 0.6)], [(0.9, 1.45), (1.5, 1.45)]), []),
    ),
    "U on four": (
        Shape(_corners(_U, {4: 0.02, 5: 0.02})),
        0.038,
        (
            _rest(
                [(0, 1.5), (0.6, 1.5)], [(1.8, 1.5), (2.4, 1.5)], [(0.6, 0.05), (0.6, 0.55)], [(1.8, 0.05), (1.8, 0.55)]
            ),
            [],
        ),
    ),
    "U, foot in the middle": (
        Shape(_corners(_U, {4: 0.02, 5: 0.02})),
        0.05,
        (
            _rest([(0, 1.5), (0.6, 1.5)], [(1.8, 1.5), (2.4, 1.5)], [(0.1, 0.1), (0.5, 0.5)], [(2.3, 0.1), (1.9, 0.5)]),
            _foot(1.2, 0.5),
        ),
    ),
    "odd with two openings": (
        Shape(_corners(_ODD), (_sink(1.0, 0.6, 0.5, 0.4), ellipse((1.9, 0.7), (0.4, 0.3), 0.3))),
        0.04,
        (_rest([(0.3, 0.1), (0.3, 1.0)], [(1.5, 0.05), (1.5, 1.25)], [(2.4, 0.45), (2.4, 1.1)]), []),
    ),
    "odd, hob and foot": (
        Shape(_corners(_ODD), (_sink(1.0, 0.6, 0.6, 0.5, 0.01),)),
        0.03,
        (_rest([(0.3, 0.1), (0.3, 1.0)], [(1.6, 0.05), (1.6, 1.25)], [(2.4, 0.45), (2.4, 1.1)]), _foot(1.0, 0.15)),
    ),
    "skew on two": (Shape(_corners(_SKEW)), 0.04, (_rest([(0.03, 0.0), (0.53, 0.7)], [(1.77, 0.0), (2.27, 0.7)]), [])),
    "skew on four hands": (
        Shape(_corners(_SKEW)),
        0.04,
        (_hands(0.1, (0.3, 0.1), (1.6, 0.1), (0.7, 0.6), (2.0, 0.6)), []),
    ),
    "round table, held ring": (
        Shape(ellipse((0, 0), (1.2, 1.2))),
        0.038,
        ([Support("ring", LinePlace(tuple(_circle(0.25))), "hold")], _foot(0.54, 0.0, 1100.0)),
    ),
    "round table, loose ring": (
        Shape(ellipse((0, 0), (1.2, 1.2))),
        0.05,
        (_rest(_circle(0.4)), _foot(0.5, 0.0, 500.0)),
    ),
    "round table on its edge": (
        Shape(ellipse((0, 0), (1.2, 1.2))),
        0.03,
        (_whole_edge(ellipse((0, 0), (1.2, 1.2)), "rest"), _foot(0.2, 0.1)),
    ),
    "oval on two": (
        Shape(ellipse((0, 0), (2.2, 1.0))),
        0.04,
        (_rest([(-0.6, -0.4), (-0.6, 0.4)], [(0.6, -0.4), (0.6, 0.4)]), []),
    ),
    "oval with tap hole": (
        Shape(ellipse((0, 0), (2.2, 1.0)), (ellipse((0.0, 0.3), (0.035, 0.035)),)),
        0.04,
        (_rest([(-0.8, -0.3), (-0.8, 0.3)], [(0.8, -0.3), (0.8, 0.3)]), []),
    ),
    "three tap holes": (
        Shape(_box(1.8, 0.6), tuple(ellipse((x, 0.45), (0.035, 0.035)) for x in (0.8, 0.9, 1.0))),
        0.038,
        (_panels(0.6, 0.1, 1.7), []),
    ),
    "narrow rails": (Shape(_box(1.6, 0.6), (_sink(0.8, 0.3, 0.9, 0.46),)), 0.04, (_panels(0.6, 0.05, 1.55), [])),
    "foam blocks": (
        Shape(_l(2.44, 1.83, 0.65, 0.025)),
        0.038,
        (
            [
                Support(
                    f"foam {k}", AreaPlace(((x, y), (x + 0.4, y), (x + 0.4, y + 0.4), (x, y + 0.4))), "rest", 0.0, 1e7
                )
                for k, (x, y) in enumerate([(0.1, 1.2), (0.1, 0.1), (1.9, 0.1)])
            ],
            [],
        ),
    ),
    "shelf, clamped edge": (
        Shape(_box(1.5, 0.4, 0.0)),
        0.04,
        ([Support("wall", EdgePlace(0, 2.3, 3.8 - 0.4), "clamp")], _foot(0.75, 0.08, 500.0)),
    ),
    "tray, held all round": (Shape(_box(1.4, 0.9)), 0.025, (_whole_edge(_box(1.4, 0.9), "hold"), _foot(0.5, 0.4))),
    "thick plinth": (Shape(_box(1.2, 0.9)), 0.075, (_hands(0.15, (0.15, 0.15), (1.05, 0.15), (0.6, 0.75)), []), 1.3),
    "cups": (
        Shape(_box(2.0, 0.8), (_sink(1.0, 0.4),)),
        0.04,
        (_hands(0.2, (0.35, 0.2), (0.35, 0.6), (1.65, 0.2), (1.65, 0.6)), []),
        1.3,
    ),
}
