"""How a piece stands: weight across the face and in the plane, the lower side, and what carries it; angles by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from api.case import read_case
from api.drawing import drawing_of
from api.errors import CaseError, Problem
from api.postures import lower_side
from api.translate import Piece, piece_from
from fem.plate.model import Edgewise, Stage

BOX = [[0, 0], [2, 0], [2, 0.6], [0, 0.6]]
FEET = [
    {"kind": "point", "at": [0.4, 0], "action": "rest", "name": "left foot"},
    {"kind": "point", "at": [1.6, 0], "action": "rest", "name": "right foot"},
]
BACK = {"kind": "area", "points": [[0.2, 0], [1.8, 0], [1.8, 0.6], [0.2, 0.6]], "action": "rest", "name": "foam"}


def raised(posture: str, outline: object = BOX, **stage: object) -> dict[str, Any]:
    """A case in metres with one stage in this posture, on two feet under its front side unless told otherwise."""
    whole = {"name": "a", "age": 28, "up": "show", "posture": posture, "support": [*FEET, BACK], **stage}
    return {
        "case": 1,
        "title": "Test",
        "units": "si",
        "slab": {"thickness": 0.04, "outline": outline},
        "concrete": {"density": 2300, "compressive_strength": "40 MPa"},
        "stage": [whole],
    }


def piece_of(case: dict[str, Any]) -> Piece:
    """The piece, read twice: what is dumped means the same."""
    read = read_case(case)
    assert read_case(read.si()).si() == read.si()
    return piece_from(read)


def stage_of(posture: str, **stage: object) -> Stage:
    """The one stage in the plate's terms."""
    return piece_of(raised(posture, **stage)).stages[0]


def the_fault(case: dict[str, Any]) -> Problem:
    """The one fault."""
    with pytest.raises(CaseError) as caught:
        read_case(case)
    (problem,) = caught.value.problems
    return problem


def test_flat_is_as_ever() -> None:
    stage = stage_of("flat", multiplier=1.3)
    assert (stage.multiplier, stage.edgewise, stage.variations) == (1.3, None, ())


def test_leaning_parts_the_weight_by_sine_and_cosine() -> None:
    stage = stage_of("leaning", angle=30, multiplier=1.2)
    assert stage.multiplier == pytest.approx(0.6, rel=1e-9)
    assert stage.edgewise is not None
    assert stage.edgewise.multiplier == pytest.approx(1.2 * math.sqrt(3) / 2, rel=1e-9)
    assert stage.edgewise.down == pytest.approx((0, -1), abs=1e-12)
    # The foam touches the lower side too, but an area lies behind the face.
    assert stage.edgewise.bearing == (0, 1)


def test_on_edge_nothing_is_left_across() -> None:
    stage = stage_of("on edge", multiplier=1.5)
    assert stage.multiplier == 0.0
    assert stage.edgewise == Edgewise((0.0, -1.0), 1.5, (0, 1))


@pytest.mark.parametrize("up", ["show", "underside"])
def test_thrown_across_both_ways_with_the_sign_of_the_face_that_is_up(up: str) -> None:
    stage = stage_of("leaning", angle=10, across=0.5, multiplier=1.5, up=up)
    plain = 1.5 * math.sin(math.radians(10))
    thrown = {way.name: way.multiplier for way in stage.variations}
    # Gravity's own sign: + presses away from the face that is up, so towards the other face.
    away = 1 if up == "show" else -1
    assert thrown == {
        "thrown towards the underside": pytest.approx(plain + 0.5 * away),
        "thrown towards the show face": pytest.approx(plain - 0.5 * away),
    }
    assert all(way.supports is None and way.edgewise is None for way in stage.variations)


def test_turning_goes_from_flat_to_on_edge() -> None:
    stage = stage_of("turning", multiplier=1.5)
    assert (stage.multiplier, stage.edgewise) == (1.5, None)
    assert [way.name for way in stage.variations] == [f"raised {a} degrees" for a in (15, 30, 45, 60, 75, 90)]
    half = stage.variations[2]
    assert half.edgewise is not None
    assert half.multiplier == pytest.approx(1.5 / math.sqrt(2))
    assert half.edgewise.multiplier == pytest.approx(1.5 / math.sqrt(2))
    for way in stage.variations:
        assert way.multiplier is not None
        assert way.edgewise is not None
        assert math.hypot(way.multiplier, way.edgewise.multiplier) == pytest.approx(1.5)
    assert stage.variations[-1].multiplier == 0.0


def test_carries_decides_before_touch() -> None:
    supports = [{**FEET[0], "carries": "edge"}, {**FEET[1], "carries": "face"}, {**BACK, "carries": "both"}]
    stage = stage_of("on edge", support=supports)
    assert stage.edgewise is not None
    assert stage.edgewise.bearing == (0, 2)
    assert [support.face for support in stage.supports] == [False, True, True]


def test_a_hand_that_lets_go_bears_no_edge_any_more() -> None:
    hands = [{"kind": "hand", "at": [x, 0], "name": f"h{x}"} for x in (0.4, 1.0, 1.6)]
    stage = stage_of("on edge", support=hands)
    names = [way.name for way in stage.variations]
    assert names == ["hand 'h0.4' lets go", "hand 'h1.0' lets go", "hand 'h1.6' lets go"]
    assert [way.edgewise.bearing for way in stage.variations if way.edgewise] == [(0, 1)] * 3
    assert [len(way.supports or ()) for way in stage.variations] == [2, 2, 2]


# An L whose legs are 0.6 wide, a U open at the back, a table top, a trapezium: the side it can stand on, by eye.
L = [[0, 0], [2, 0], [2, 1.5], [1.4, 1.5], [1.4, 0.6], [0, 0.6]]
U = [[0, 0], [2, 0], [2, 1], [1.5, 1], [1.5, 0.5], [0.5, 0.5], [0.5, 1], [0, 1]]
TRAPEZIUM = [[0, 0], [1, 0], [1.5, 0.8], [-0.5, 0.8]]


@pytest.mark.parametrize(
    ("outline", "ends", "down"),
    [
        (BOX, {(0, 0), (2, 0)}, (0, -1)),
        (L, {(0, 0), (2, 0)}, (0, -1)),
        (U, {(0, 0), (2, 0)}, (0, -1)),
        (TRAPEZIUM, {(-0.5, 0.8), (1.5, 0.8)}, (0, 1)),
        ([[0, 0], [0.6, 0], [0.6, 2], [0, 2]], {(0, 0), (0, 2)}, (-1, 0)),
        ([[0, 0], [2, 0, 0.1], [2, 0.6], [0, 0.6, 0.1]], {(0, 0), (1.9, 0)}, (0, -1)),
    ],
)
def test_the_longest_side_it_can_stand_on(
    outline: list[list[float]], ends: set[tuple[float, float]], down: tuple[float, float]
) -> None:
    drawing = drawing_of(read_case(raised("flat", outline, support=[{"kind": "edge", "action": "rest"}])))
    side = lower_side(drawing, None)
    assert {(round(x, 3), round(y, 3)) for x, y in side.ends} == ends
    assert side.down == pytest.approx(down, abs=1e-9)
    assert side.below == pytest.approx(0, abs=1e-9)


def test_a_round_piece_stands_on_its_rim() -> None:
    outline = {"shape": "circle", "center": [0, 0], "diameter": 1.2}
    drawing = drawing_of(read_case(raised("flat", outline, support=[{"kind": "edge", "action": "rest"}])))
    side = lower_side(drawing, None)
    assert math.hypot(*side.ends[0]) == pytest.approx(0.6, rel=1e-3)
    assert math.hypot(*side.down) == pytest.approx(1)


def test_down_as_told_and_what_is_assumed() -> None:
    feet = [{**FEET[0], "at": [2, 0.1]}, {**FEET[1], "at": [2, 0.5]}]
    piece = piece_of(raised("on edge", down=[[2, 0.6], [2, 0]], support=feet))
    assert piece.stages[0].edgewise is not None
    assert piece.stages[0].edgewise.down == pytest.approx((1, 0), abs=1e-12)
    assert not [note for note in piece.assumed if note.where == "stage[0].down"]
    said = {note.where: note.what for note in piece_of(raised("on edge")).assumed}
    assert "[[0, 0], [2, 0]]" in said["stage[0].down"]
    assert '"left foot", "right foot"' in said["stage[0].support"]


@pytest.mark.parametrize(
    ("changes", "where", "what"),
    [
        ({"down": [[0, 0.05], [2, 0]]}, None, ""),
        ({"down": [[0.3, 0.05], [2, 0]]}, "stage[0].down[0]", "lies 50 mm off the outline"),
        ({"down": [[0, 0], [0, 0]]}, "stage[0].down", "both ends are the same spot"),
        ({"down": [[0, 0.3], [2, 0.3]]}, "stage[0].down", "50% of the piece would hang below"),
        ({"down": [[0, 0.6], [2, 0.6]]}, "stage[0].support", "nothing carries the lower side"),
        ({"support": [BACK]}, "stage[0].support", "nothing carries the lower side"),
        ({"shims": "2 mm"}, "stage[0].shims", "goes with a flat piece"),
        ({"levels": True}, "stage[0].levels", "goes with a flat piece"),
        ({"form_pull": 1000}, "stage[0].form_pull", "goes with a flat piece"),
        ({"slide": [1, 0]}, "stage[0].slide", "goes with a flat piece"),
    ],
)
def test_what_a_piece_on_edge_cannot(changes: dict[str, Any], where: str | None, what: str) -> None:
    case = raised("on edge", **changes)
    if where is None:
        read_case(case)
        return
    problem = the_fault(case)
    assert problem.where == where
    assert what in problem.what
    assert problem.fix


def test_the_inner_side_of_an_l_is_no_side_to_stand_on() -> None:
    problem = the_fault(raised("on edge", L, down=[[0, 0.6], [1.4, 0.6]], support=[FEET[0]]))
    assert problem.where == "stage[0].down"
    assert "would hang below this line" in problem.what


def test_across_needs_a_piece_that_is_up() -> None:
    assert the_fault(raised("turning", across=0.2)).where == "stage[0].across"
    assert the_fault(raised("turning", angle=20)).where == "stage[0].angle"
