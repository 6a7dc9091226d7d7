"""Where a crack would run, on shapes where its way is plain. Common practice, no source: it runs across the pull."""

from __future__ import annotations

import math

import pytest

from api.crack import crack_at
from api.places import Places
from meshing.shape import Shape, ellipse, polygon, rectangle

TOP = Places(Shape(rectangle((0, 0), (2.4, 0.65)), (rectangle((0, 0), (0.76, 0.4)),)), 0.038, ["sink"])


@pytest.mark.parametrize(
    ("at", "angle", "words"),
    [
        ((0.0, -0.325), 0.0, "a crack would run from the front edge to opening 'sink', cutting its front rail"),
        ((-0.38, -0.2), 0.0, "a crack would run from the left front corner of opening 'sink' to the front edge, "
                             "cutting its front rail"),
        ((0.9, 0.1), 0.0, "a crack would run from the back edge to the front edge"),
        ((0.9, 0.1), 90.0, "a crack would run from the right edge to opening 'sink'"),
    ],
)  # fmt: skip
def test_it_runs_across_the_pull_to_the_nearest_edges(at: tuple[float, float], angle: float, words: str) -> None:
    found = crack_at(TOP, at, angle)
    assert found is not None
    assert found.words == words


def test_the_inner_corner_of_an_l_cracks_to_an_edge() -> None:
    shape = polygon([(0, 0), (2.4, 0), (2.4, 0.65), (0.65, 0.65), (0.65, 1.8), (0, 1.8)])
    found = crack_at(Places(Shape(shape), 0.038, []), (0.65, 0.65), 135.0)
    assert found is not None
    assert found.words == "a crack would run from the inner corner to the left front outer corner"
    assert sorted(math.hypot(*end) for end in found.ends) == pytest.approx([0, 0.65 * math.sqrt(2)], abs=2e-3)


def test_a_node_on_an_arc_may_lie_a_hair_outside() -> None:
    table = Places(Shape(ellipse((0, 0), (1.2, 1.2))), 0.04, [])
    found = crack_at(table, (0.6003, 0.0), 90.0)
    assert found is not None
    assert math.dist(*found.ends) == pytest.approx(1.2, rel=2e-3)


def test_far_from_the_slab_there_is_no_crack() -> None:
    assert crack_at(TOP, (5.0, 5.0), 0.0) is None
