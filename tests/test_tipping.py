"""A slab that tips: about which line, and that what is said to hold it does, to a hundredth and no less."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from fem.plate.analysis import analyse
from fem.plate.model import (
    Action,
    AreaPlace,
    EdgePlace,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Stage,
    StageResult,
    Support,
    Tipping,
)
from meshing.shape import Shape, polygon, rectangle
from meshing.sizing import Fineness
from meshing.triangulate import triangulate

THICKNESS = 0.04
CASE = PlateCase(THICKNESS, 2400.0, 0.2)
LONG = Shape(rectangle((1.0, 0.3), (2.0, 0.6)))
ANGLED = Shape(
    polygon(np.array([[0, 0], [2.0, 0], [2.0, 0.6], [0.6, 0.6], [0.6, 1.6], [0, 1.6]])),
    (rectangle((1.4, 0.3), (0.5, 0.3)),),
)
# Balance does not depend on the mesh; coarse ones are quick.
COARSE = Fineness(field=2.5, segments=3, corner=0.2)
MESHES = {shape: triangulate(shape, THICKNESS, COARSE) for shape in (LONG, ANGLED)}
WEIGHT = 2400.0 * CASE.gravity * THICKNESS * 2.0 * 0.6


def stand(
    shape: Shape, supports: Sequence[Support], loads: Sequence[Load] = (), multiplier: float = 1.0
) -> StageResult:
    stage = Stage("test", "show", multiplier, 3e10, 3e6, 2e6, tuple(supports), tuple(loads))
    return analyse(MESHES[shape], CASE, [stage]).stages[0]


def line(x: float, action: Action = "rest", y: tuple[float, float] = (0.05, 0.55)) -> Support:
    return Support(f"line at {x}", LinePlace(((x, y[0]), (x, y[1]))), action)


def spot(x: float, y: float, action: Action = "rest") -> Support:
    return Support(f"spot at {x}, {y}", PointPlace((x, y), 0.03), action)


def tipping_of(result: StageResult) -> Tipping:
    assert result.status == "tips"
    assert result.tips is not None
    return result.tips


def distance_from_line(axis: tuple[Point, Point], at: Point) -> float:
    (x0, y0), (x1, y1) = axis
    return abs((x1 - x0) * (at[1] - y0) - (y1 - y0) * (at[0] - x0)) / float(np.hypot(x1 - x0, y1 - y0))


OVERHANGS: dict[str, tuple[Shape, list[Support], list[Load]]] = {
    "two rails on the left": (LONG, [line(0.2), line(0.8)], []),
    "three spots on the left": (LONG, [spot(0.1, 0.1), spot(0.1, 0.5), spot(0.7, 0.3)], []),
    "somebody on the overhang": (LONG, [line(0.1), line(1.3)], [Load("person", PointPlace((1.9, 0.1), 0.1), 1500.0)]),
    "lifted at the left": (LONG, [line(0.1), line(1.9)], [Load("jack", PointPlace((0.05, 0.3), 0.1), -600.0)]),
    "an angled slab on its long arm": (ANGLED, [line(0.1, y=(0.3, 0.5)), line(1.9, y=(0.1, 0.5))], []),
    "an angled slab on its short arm": (ANGLED, [spot(0.1, 0.7), spot(0.5, 0.7), spot(0.3, 1.5)], []),
}


@pytest.mark.parametrize("name", OVERHANGS)
def test_what_holds_it_down_just_does(name: str) -> None:
    shape, supports, loads = OVERHANGS[name]
    tips = tipping_of(stand(shape, supports, loads))
    assert tips.hold_down > 0

    def held(share: float) -> StageResult:
        hand = Load("hand", PointPlace(tips.hold_down_at), share * tips.hold_down)
        return stand(shape, supports, [*loads, hand])

    # The very force leaves it on its edge, where round-off decides: a millionth more must stand.
    steady = held(1 + 1e-6)
    assert steady.status != "tips"
    assert steady.equilibrium_residual is not None
    assert steady.equilibrium_residual < 1e-9
    assert held(0.99).status == "tips"


@pytest.mark.parametrize("name", OVERHANGS)
def test_it_is_held_on_its_own_edge_where_that_takes_least(name: str) -> None:
    shape, supports, loads = OVERHANGS[name]
    tips = tipping_of(stand(shape, supports, loads))
    rim = shape.region().exterior
    x, y = tips.hold_down_at
    assert np.min(np.hypot(*(np.asarray(rim.segmentize(0.001).coords) - [x, y]).T)) < 1e-3
    # As much force elsewhere on the edge holds nothing, or this place would not be the least.
    for share in (0.03, 0.3, 0.55, 0.9):
        at = rim.interpolate(float(share), normalized=True)
        other = stand(shape, supports, [*loads, Load("hand", PointPlace((at.x, at.y)), 0.98 * tips.hold_down)])
        assert other.status == "tips"


# Moments about the right rail, common practice, no source: weight x 0.2 m against a hand at the left end, 0.8 m away.
def test_an_overhang_turns_about_the_rail_beside_it() -> None:
    tips = tipping_of(stand(LONG, [line(0.2), line(0.8)]))
    # The rails' own spread across puts their middle on the line to round-off.
    for end in tips.axis:
        assert end[0] == pytest.approx(0.8, abs=1e-6)
    assert sorted(y for _, y in tips.axis) == pytest.approx([0.0, 0.6], abs=0.02)
    assert tips.hold_down == pytest.approx(WEIGHT * 0.2 / 0.8, rel=1e-6)
    assert tips.hold_down_at[0] == pytest.approx(0.0, abs=1e-9)
    # The whole left edge serves alike; its middle is where a hand would go.
    assert tips.hold_down_at[1] == pytest.approx(0.3, abs=0.05)


# Three spots: the centre of gravity lies beyond the line through the second and third.
def test_three_spots_turn_about_the_side_that_fails() -> None:
    spots = [(0.2, 0.1), (1.2, 0.1), (0.2, 0.5)]
    tips = tipping_of(stand(LONG, [spot(*at) for at in spots]))
    # The spots are spread over a few elements; their middle stays.
    assert distance_from_line(tips.axis, spots[1]) < 1e-6
    assert distance_from_line(tips.axis, spots[2]) < 1e-6


@pytest.mark.parametrize(("off", "stands"), [(1e-4, True), (-1e-4, False)])
@pytest.mark.parametrize("turn", [0.0, 0.7, 2.0])
def test_three_rests_whose_triangle_just_holds_the_centre_of_gravity(off: float, stands: bool, turn: float) -> None:
    # The side between the first two passes the centre of gravity at `off` [m]; the third spot is beyond it.
    c, s = np.cos(turn), np.sin(turn)
    local = np.array([[0.22, -off], [-0.15, -off], [0.05, 0.2]])
    places = local @ np.array([[c, s], [-s, c]]) + [1.0, 0.3]
    result = stand(LONG, [spot(x, y) for x, y in places])
    assert (result.status != "tips") is stands
    if stands:
        assert result.supports[2].force == pytest.approx(WEIGHT * off / (0.2 + off), rel=1e-4)
        assert not result.rocks


def test_a_support_that_holds_or_clamps_keeps_it_from_tipping() -> None:
    assert stand(LONG, [line(0.2, "hold"), line(0.8)]).status != "tips"
    assert stand(LONG, [line(0.2, "clamp")]).status != "tips"
    assert stand(LONG, [line(0.2, "hold")]).status == "tips"


@pytest.mark.parametrize(
    ("supports", "loads"),
    [
        ([], []),
        ([Support("edge", EdgePlace(0, 0.0, 2.0), "rest")], []),
        ([line(0.1), line(1.9)], [Load("suction", AreaPlace(), -2000.0)]),
    ],
    ids=["no supports", "its front edge alone", "sucked up"],
)
def test_what_nothing_bears_says_so(supports: list[Support], loads: list[Load]) -> None:
    result = stand(LONG, supports, loads)
    assert result.status == "tips"
    assert not len(result.w)
    assert result.peaks is None
    assert result.deflection is None
    assert all(support.lifted and support.force == 0.0 for support in result.supports)
    if not loads:  # no hand that presses down helps a slab all of which is on one side of what bears it
        assert result.tips is None
        assert "it falls or lifts off" in " ".join(result.notes)


# A hand at the far end, 0.9 m from the spot, against the weight 0.1 m from it.
def test_one_spot_is_balanced_across_it() -> None:
    tips = tipping_of(stand(LONG, [spot(0.9, 0.3)]))
    assert tips.hold_down == pytest.approx(WEIGHT * 0.1 / 0.9, rel=1e-6)
    assert tips.hold_down_at == pytest.approx((0.0, 0.3), abs=1e-9)


def test_two_spots_just_balance_and_rock() -> None:
    result = stand(LONG, [spot(0.4, 0.3), spot(1.6, 0.3)])
    assert result.status != "tips"
    assert result.rocks
    assert "fewer than three separate supports bear" in " ".join(result.notes)
    assert [support.force for support in result.supports] == pytest.approx([WEIGHT / 2] * 2, rel=1e-9)


def test_nothing_pulls_a_slab_without_weight_or_load() -> None:
    result = stand(LONG, [line(0.2), line(0.8)], multiplier=0.0)
    assert result.status == "holds"
    assert result.deflection == 0.0
