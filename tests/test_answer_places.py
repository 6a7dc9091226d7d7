"""Places in words, on shapes where a person would know the name at once. Common practice, no source."""

from __future__ import annotations

import math

import pytest

from api.places import Places
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Load, PointPlace, Stage, Support
from meshing.shape import Shape, ellipse, polygon, rectangle

INCH = 0.0254
THICKNESS = 1.5 * INCH


def inches(*points: tuple[float, float]) -> list[tuple[float, float]]:
    return [(x * INCH, y * INCH) for x, y in points]


def at(x: float, y: float) -> tuple[float, float]:
    return x * INCH, y * INCH


def stage(*supports: Support, loads: tuple[Load, ...] = ()) -> Stage:
    return Stage("s", "show", 1.0, 20e9, 3e6, 2e6, supports, loads)


GALLEY = Shape(
    rectangle(at(48, 12.75), at(96, 25.5)),
    (rectangle(at(48, 11), at(30, 16), 0.75 * INCH),),
)
DESK = Shape(polygon(inches((0, 0), (96, 0), (96, 25.5), (25.5, 25.5), (25.5, 72), (0, 72)), [0, 0, 0, INCH, 0, 0]))


@pytest.mark.parametrize(
    ("spot", "words"),
    [
        (at(32.5, 2.8), "left front corner of opening 'sink'"),
        (at(63.4, 19.2), "right back corner of opening 'sink'"),
        (at(48, 1.5), "in front of opening 'sink'"),
        (at(48, 0), "in front of opening 'sink'"),
        (at(48, 23), "behind opening 'sink'"),
        (at(64, 11), "right of opening 'sink'"),
        (at(95.5, 0.5), "right front outer corner"),
        (at(10, 25.3), "at the back edge"),
        (at(96, 12), "at the right edge, near its middle"),
        (at(16, 5), "left front part of the slab"),
    ],
)
def test_places_of_a_galley_top(spot: tuple[float, float], words: str) -> None:
    assert Places(GALLEY, THICKNESS, ["sink"]).of(spot) == words


def test_an_opening_without_a_name() -> None:
    assert Places(GALLEY, THICKNESS, [""]).of(at(32.5, 2.8)) == "left front corner of the opening"


def test_the_inner_corner_of_an_l() -> None:
    places = Places(DESK, THICKNESS, [])
    assert places.of(at(25, 25)) == "the inner corner"
    assert places.of(at(12, 12)) == "left front part of the slab"


def test_two_inner_corners_are_told_apart() -> None:
    u = polygon(inches((0, 0), (90, 0), (90, 60), (65, 60), (65, 25), (25, 25), (25, 60), (0, 60)))
    places = Places(Shape(u), THICKNESS, [])
    assert places.of(at(25, 25)) == "left inner corner"
    assert places.of(at(65, 25)) == "right inner corner"


def test_a_round_opening_has_sides_and_no_corners() -> None:
    shape = Shape(rectangle((0, 0), (2.0, 1.0)), (ellipse((0, 0), (0.3, 0.3)),))
    places = Places(shape, 0.04, ["tap"])
    assert places.of((-0.15, 0.0)) == "left of opening 'tap'"
    assert places.of((0.0, 0.15)) == "behind opening 'tap'"


def test_a_round_table_has_edges_by_the_way_they_face() -> None:
    places = Places(Shape(ellipse((0, 0), (1.2, 1.2))), 0.04, [])
    assert places.of((0.0, -0.6)) == "at the front edge, near its middle"
    diagonal = 0.6 * math.sqrt(0.5)
    assert places.of((-diagonal, diagonal)) == "at the left back edge"
    assert places.of((0.0, 0.0)) == "middle of the slab"


def test_supports_and_loads_are_named_with_the_end_of_a_line() -> None:
    rail = Support("rail", LinePlace((at(5, 24), at(91, 24))), "rest")
    foot = Load("foot", PointPlace(at(80, 12), 4 * INCH), 1300.0)
    found = Places(GALLEY, THICKNESS, ["sink"])
    here = stage(rail, loads=(foot, Load("bath", AreaPlace(), 100.0)))
    assert found.of(at(6, 23.8), here) == "over support 'rail', left end, at the back edge"
    assert found.of(at(20, 24), here) == "over support 'rail', at the back edge"
    assert found.of(at(81, 12), here) == "under load 'foot'"
    # A whole edge says nothing about a place.
    everywhere = stage(Support("all round", EdgePlace(0, 0.0, GALLEY.outline.length), "rest"))
    assert found.of(at(10, 25.3), everywhere) == "at the back edge"


def test_a_ring_has_sides_and_no_ends() -> None:
    turns = [2 * math.pi * k / 24 for k in range(25)]
    ring = Support("ring", LinePlace(tuple((0.3 * math.cos(a), 0.3 * math.sin(a)) for a in turns)), "rest")
    places = Places(Shape(ellipse((0, 0), (1.2, 1.2))), 0.04, [])
    assert places.of((0.3, 0.0), stage(ring)) == "over support 'ring', its right"
    assert places.of((0.0, -0.3), stage(ring)) == "over support 'ring', its front"


def test_axes_go_by_the_supports_on_them() -> None:
    left = Support("left leg", PointPlace(at(10, 10)), "rest")
    right = Support("right leg", PointPlace(at(80, 10)), "rest")
    rail = Support("rail", LinePlace((at(5, 24), at(91, 24))), "rest")
    places = Places(GALLEY, THICKNESS, ["sink"])
    assert (
        places.axis((at(0, 10), at(96, 10)), stage(left, right))
        == "the line through supports 'left leg' and 'right leg'"
    )
    assert places.axis((at(0, 24), at(96, 24)), stage(left, rail)) == "support 'rail'"
    assert places.axis((at(0, 18), at(96, 18)), stage(left, rail)) == ""
    # A slab that falls straight has no axis: the solver gives its middle twice.
    assert places.axis((at(48, 12), at(48, 12)), stage(left)) == ""
