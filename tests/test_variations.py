"""The other ways a stage may come, as records for the plate: who is missing, how high, how far, where; all by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from api.case import read_case
from api.case_model import Stage as CaseStage
from api.errors import CaseError, Problem
from api.stage_faults import count_variations
from api.translate import Piece, piece_from
from fem.plate.model import HAND_STIFFNESS, AreaPlace, LinePlace, PointPlace, Roaming, Stage, Variation

BOX: list[tuple[float, float]] = [(0, 0), (2, 0), (2, 0.6), (0, 0.6)]
SINK = {"shape": "rectangle", "center": [1.0, 0.3], "size": [0.5, 0.3]}


def panel(x: float, **more: object) -> dict[str, Any]:
    """A panel across the slab at x."""
    return {"kind": "line", "points": [[x, 0.02], [x, 0.58]], "action": "rest", "name": f"panel {x}", **more}


def hand(x: float, y: float, **more: object) -> dict[str, Any]:
    """A hand."""
    return {"kind": "hand", "at": [x, y], "name": f"hand {x}", **more}


def flat(*supports: dict[str, Any], units: str = "si", **stage: object) -> dict[str, Any]:
    """A case in metres with one flat stage on these supports."""
    whole = {"name": "a", "age": 28, "up": "show", "support": list(supports), **stage}
    return {
        "case": 1,
        "title": "Test",
        "units": units,
        "slab": {"thickness": "40 mm", "outline": [[f"{x} m", f"{y} m"] for x, y in BOX], "opening": []},
        "concrete": {"density": "2300 kg/m3", "compressive_strength": "40 MPa"},
        "stage": [whole],
    }


def piece_of(case: dict[str, Any]) -> Piece:
    """The piece, read twice: what is dumped means the same."""
    read = read_case(case)
    assert read_case(read.si()).si() == read.si()
    return piece_from(read)


def stage_of(case: dict[str, Any]) -> Stage:
    """The one stage, with no more ways than were counted beforehand."""
    stage = piece_of(case).stages[0]
    assert len(stage.variations) <= count_variations(read_case(case).stage[0])
    return stage


def names(stage: Stage) -> list[str]:
    """What the variations are called."""
    return [way.name for way in stage.variations]


def only(stage: Stage, name: str) -> Variation:
    """The variation of this name."""
    (way,) = (way for way in stage.variations if way.name == name)
    return way


def the_fault(case: dict[str, Any]) -> Problem:
    """The one fault."""
    with pytest.raises(CaseError) as caught:
        read_case(case)
    (problem,) = caught.value.problems
    assert problem.fix
    return problem


def test_supports_at_rest_do_not_vary() -> None:
    assert stage_of(flat(panel(0.1), panel(1.9))).variations == ()


def test_hands_are_soft_rests_and_let_go_in_turn() -> None:
    stage = stage_of(flat(hand(0.3, 0.1), hand(1.7, 0.1, size=0.2, limit=250), panel(1.0)))
    first, second, _ = stage.supports
    assert first.place == PointPlace((0.3, 0.1), 0.1016)
    assert second.place == PointPlace((1.7, 0.1), 0.2)
    assert (first.action, first.stiffness, first.gap) == ("rest", HAND_STIFFNESS, 0.0)
    assert names(stage) == ["hand 'hand 0.3' lets go", "hand 'hand 1.7' lets go"]
    assert stage.variations[0].supports == stage.supports[1:]
    assert stage.variations[1].supports == (stage.supports[0], stage.supports[2])


def test_what_is_assumed_of_hands_is_said() -> None:
    said = {note.where: note.what for note in piece_of(flat(hand(0.3, 0.1), hand(1.7, 0.1))).assumed}
    assert "1 cm for 100 N" in said["stage[0].support[0]"]
    assert "4 in" in said["stage[0].support[0].size"]
    assert "stage[0].support[0].stiffness" not in said


def test_bearers_that_may_go_are_missing_in_turn() -> None:
    stage = stage_of(flat(panel(0.1, may_go=True), panel(1.0, may_go=True), panel(1.9)))
    assert names(stage) == ["'panel 0.1' is missing", "'panel 1.0' is missing"]
    assert stage.variations[0].supports == stage.supports[1:]


def test_shims_high_and_low_on_top_of_the_gap() -> None:
    stage = stage_of(flat(panel(0.1, gap="1 mm"), panel(1.9), hand(1.0, 0.3), shims="1/16 in"))
    shim = 0.0015875
    high, low = only(stage, "'panel 0.1' 1.6 mm high"), only(stage, "'panel 0.1' 1.6 mm low")
    assert high.supports is not None
    assert low.supports is not None
    assert high.supports[0].gap == pytest.approx(0.001 - shim)
    assert low.supports[0].gap == pytest.approx(0.001 + shim)
    assert high.supports[1:] == stage.supports[1:]
    assert not [name for name in names(stage) if "hand" in name and "mm" in name]
    inches = flat(
        {**panel(0.1), "points": [["0.1 m", "0 m"], ["0.1 m", "0.6 m"]]},
        {**panel(1.9), "points": [["1.9 m", "0 m"], ["1.9 m", "0.6 m"]]},
        units="us",
        shims=0.0625,
    )
    assert "'panel 0.1' 0.0625 in high" in names(stage_of(inches))


def test_what_pulls_is_also_looked_at_resting() -> None:
    stage = stage_of(flat(panel(0.1, action="clamp"), panel(1.0), panel(1.9, action="hold")))
    assert names(stage) == ["'panel 0.1' at rest", "'panel 1.9' at rest", "all supports at rest"]
    actions = [[support.action for support in way.supports or ()] for way in stage.variations]
    assert actions == [["rest", "rest", "hold"], ["clamp", "rest", "rest"], ["rest", "rest", "rest"]]
    assert names(stage_of(flat(panel(0.1, action="hold"), panel(1.9)))) == ["'panel 0.1' at rest"]


def test_a_slide_moves_what_stands_in_the_room_and_keeps_the_hands() -> None:
    area = {"kind": "area", "points": [[1.5, 0.1], [1.6, 0.1], [1.6, 0.5], [1.5, 0.5]], "action": "rest"}
    spot = {"kind": "point", "at": [0.5, 0.3], "size": 0.05, "action": "rest"}
    stage = stage_of(flat(panel(0.1), panel(1.9), area, spot, hand(0.2, 0.3), slide=[1.2, 0]))
    ways = [way for way in stage.variations if way.name.startswith("sliding")]
    assert [way.name for way in ways][::11] == ["sliding, 1.2 m to go", "sliding, 100 mm to go"]
    assert len(ways) == 12
    first = ways[0].supports or ()
    # 1.2 m to the right of home, the room lies 1.2 m to the left of home in the slab's own coordinates.
    assert [support.name for support in first] == ["panel 1.9", "support 3", "hand 0.2"]
    assert isinstance(first[0].place, LinePlace)
    assert first[0].place.points[0] == pytest.approx((0.7, 0.02))
    assert first[0].place.points[1] == pytest.approx((0.7, 0.58))
    assert isinstance(first[1].place, AreaPlace)
    assert min(x for x, _ in first[1].place.points) == pytest.approx(0.3)
    assert first[2].place == PointPlace((0.2, 0.3), 0.1016)
    last = ways[-1].supports or ()
    assert [support.name for support in last] == ["panel 0.1", "panel 1.9", "support 3", "support 4", "hand 0.2"]
    assert isinstance(last[3].place, PointPlace)
    assert last[3].place.at == pytest.approx((0.4, 0.3))
    assert last[3].place.size == 0.05
    assert all(way.loads == () and way.multiplier is None for way in ways)


def test_a_travelling_load_is_nowhere_in_the_stage_itself() -> None:
    peel = {"kind": "line", "points": [[0, 0], [0, 0.6]], "to": [[2, 0], [1, 0.6]], "force_per_length": 500}
    still = {"kind": "point", "at": [1, 0.3], "force": 100}
    stage = stage_of(flat(panel(0.1), panel(1.9), load=[{**peel, "name": "peel"}, still]))
    assert [load.name for load in stage.loads] == ["load 2"]
    assert len(stage.variations) == 21
    assert names(stage)[::5] == [f"'peel' {share}% of the way" for share in (0, 25, 50, 75, 100)]
    (half,) = only(stage, "'peel' 50% of the way").loads
    assert half.place == LinePlace(((1.0, 0.0), (0.5, 0.6)))
    assert half.amount == 500
    assert stage.variations[-1].loads[0].place == LinePlace(((2.0, 0.0), (1.0, 0.6)))


def test_two_travelling_loads_go_together() -> None:
    one = {"kind": "line", "points": [[0, 0], [0, 0.6]], "to": [[2, 0], [2, 0.6]], "force_per_length": 500}
    stage = stage_of(flat(panel(0.1), panel(1.9), load=[one, {**one, "force_per_length": 100}]))
    assert len(stage.variations) == 21
    assert [load.amount for load in stage.variations[3].loads] == [500, 100]


def test_a_part_of_a_travelling_load_may_lie_off_but_not_all_of_it() -> None:
    load = {"kind": "line", "points": [[0, -1], [0, 2]], "to": [[2, -1], [2, 2]], "force_per_length": 500}
    assert len(stage_of(flat(panel(0.1), panel(1.9), load=[load])).variations) == 21
    problem = the_fault(flat(panel(0.1), panel(1.9), load=[{**load, "to": [[5, -1], [5, 2]]}]))
    assert problem.where == "stage[0].load[0].points"
    assert "misses the slab when it has gone 45% of its way" in problem.what
    short = the_fault(flat(panel(0.1), panel(1.9), load=[{**load, "to": [[5, 0]] * 3}]))
    assert '"points" has 2 points and "to" has 3' in short.what
    same = the_fault(flat(panel(0.1), panel(1.9), load=[{**load, "to": [[1, 0]] * 2}]))
    assert same.where == "stage[0].load[0].to[1]"


def test_a_load_that_roams() -> None:
    loads = [
        {"kind": "point", "roaming": True, "force": 1000, "size": 0.1, "name": "somebody"},
        {"kind": "point", "roaming": [[0, 0], [1, 0], [1, 0.6]], "force": -100},
        {"kind": "point", "roaming": False, "at": [1, 0.3], "force": 10},
    ]
    stage = stage_of(flat(panel(0.1), panel(1.9), load=loads))
    assert stage.roaming == (
        Roaming("somebody", 1000, 0.1, ((),)),
        Roaming("load 2", -100, 0.0, (((0.0, 0.0), (1.0, 0.0), (1.0, 0.6)),)),
    )
    assert [load.name for load in stage.loads] == ["load 3"]


@pytest.mark.parametrize(
    ("region", "what"),
    [
        ([[0, 0], [2.5, 0], [2.5, 0.6]], "the region of the load reaches 500 mm over the edge"),
        ([[3, 0], [4, 0], [4, 0.6]], "the region of the load lies off the slab"),
        ([[0.9, 0.2], [1.1, 0.2], [1.1, 0.4]], "the region of the load lies in an opening"),
        ([[0, 0], [1, 0.6], [1, 0], [0, 0.6]], "cross or touch"),
    ],
)
def test_a_region_to_roam_off_the_slab(region: list[list[float]], what: str) -> None:
    case = flat(panel(0.1), panel(1.9), load=[{"kind": "point", "roaming": region, "force": 1}])
    case["slab"]["opening"] = [SINK]
    problem = the_fault(case)
    assert problem.where == "stage[0].load[0].roaming"
    assert what in problem.what


@pytest.mark.parametrize(
    ("supports", "slide", "where", "what"),
    [
        ([panel(0.1), {"kind": "edge", "action": "rest"}], [1, 0], "support[1].kind", "own edge cannot stand still"),
        ([panel(0.1), panel(1.9, action="hold")], [1, 0], "support[1].action", "nothing holds a piece that slides"),
        ([panel(0.1), panel(0.5)], [1, 0], "slide", "no support touches the piece with 1 m still to go"),
        ([panel(0.1), panel(0.5)], [0, 0], "slide", "slides by nothing"),
    ],
)
def test_slides_that_cannot_be(supports: list[dict[str, Any]], slide: list[float], where: str, what: str) -> None:
    problem = the_fault(flat(*supports, slide=slide))
    assert problem.where == f"stage[0].{where}"
    assert what in problem.what


def test_a_support_off_the_slab_is_told_of_before_the_slide() -> None:
    crossed = {"kind": "area", "points": [[0, 0], [1, 0.6], [1, 0], [0, 0.6]], "action": "rest"}
    assert the_fault(flat(panel(0.1), crossed, slide=[1, 0])).where == "stage[0].support[1].points"


def test_shims_need_something_to_shim() -> None:
    assert the_fault(flat(hand(0.3, 0.1), hand(1.7, 0.1), shims=0.001)).where == "stage[0].shims"


def test_the_ways_of_a_stage_and_of_a_case_are_bounded() -> None:
    many = [panel(0.02 + 0.024 * k, action="hold", may_go=True) for k in range(80)]
    problem = the_fault(flat(*many, shims=0.001))
    assert problem.where == "stage[0]"
    # 80 missing, 80 at rest and all of them, 160 shimmed.
    assert "comes in 321 ways" in problem.what
    assert "at most 200" in problem.fix
    case = flat(*many[:45], shims=0.001)
    case["stage"] = [{**case["stage"][0], "name": f"stage {k}"} for k in range(12)]
    problem = the_fault(case)
    assert problem.where == "stage"
    assert f"come in {12 * (45 * 4 + 1)} ways together" in problem.what


def test_the_count_is_that_of_the_records() -> None:
    load = {"kind": "line", "points": [[0, 0], [0, 0.6]], "to": [[2, 0], [2, 0.6]], "force_per_length": 500}
    case = flat(
        panel(0.1, may_go=True), panel(1.9), hand(1.0, 0.3), hand(1.1, 0.3), shims=0.001, slide=[0.5, 0.1], load=[load]
    )
    stage: CaseStage = read_case(case).stage[0]
    assert len(piece_of(case).stages[0].variations) == count_variations(stage) == 2 + 1 + 4 + 12 + 21
    assert math.isinf(piece_of(case).stages[0].supports[0].stiffness)
