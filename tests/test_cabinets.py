"""Cabinets as boxes and brackets, and what they become: lines where panels and rails bear, clipped to the slab."""

from __future__ import annotations

import copy
import math
from typing import Any

import pytest

from api.case import read_case
from api.case_model import AnySupport
from api.errors import CaseError
from api.translate import piece_from

INCH = 0.0254


def kitchen(*cabinets: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A top 96 x 25.5 in, set on these cabinets."""
    case: dict[str, Any] = {
        "case": 1,
        "title": "Top",
        "units": "us",
        "slab": {"thickness": 1.5, "outline": [[0, 0], [96, 0], [96, 25.5], [0, 25.5]]},
        "concrete": {"density": 145, "compressive_strength": 5000},
        "cabinet": list(cabinets),
        "life": {"stages": ["set"]},
    }
    return copy.deepcopy({**case, **changes})


def bearings(case: dict[str, Any]) -> list[AnySupport]:
    """What the piece is set down on."""
    return list(next(stage for stage in read_case(case).stage if stage.id == "set").support)


def lines(case: dict[str, Any]) -> dict[str, list[tuple[float, float]]]:
    """The lines that bear, by name, in inches to a thousandth."""
    return {
        str(one.name): [(round(x / INCH, 3), round(y / INCH, 3)) for x, y in one.points]
        for one in bearings(case)
        if one.kind == "line"
    }


def faults(case: dict[str, Any]) -> dict[str, str]:
    """The faults of a case, by place."""
    with pytest.raises(CaseError) as caught:
        read_case(case)
    return {problem.where: f"{problem.what} - {problem.fix}" for problem in caught.value.problems}


def assumed(case: dict[str, Any]) -> dict[str, str]:
    """What is told as assumed, by its place."""
    return {note.where: note.what for note in reversed(piece_from(read_case(case)).assumed)}


# Panels of 5/8 in bear along their middle, 5/16 in from the outside (trade: 1/2 to 3/4 in; common practice, no source).
def test_only_the_side_panels_bear() -> None:
    assert lines(kitchen({"at": [10, 1], "size": [30, 24]})) == {
        "left panel of cabinet 1": [(10.312, 1), (10.312, 25)],
        "right panel of cabinet 1": [(39.688, 1), (39.688, 25)],
    }


def test_panels_of_neighbours_are_one_line() -> None:
    found = lines(
        kitchen({"at": [0, 1], "size": [30, 24], "name": "A"}, {"at": [30, 1], "size": [30, 20], "name": "B"})
    )
    assert found["right panel of A and left panel of B"] == [(30, 1), (30, 25)]
    assert len(found) == 3


def test_panels_farther_apart_than_30_mm_are_two() -> None:
    # 15/16 in of gap and 5/8 in between the middles make 1.56 in, 40 mm.
    assert len(lines(kitchen({"at": [0, 1], "size": [30, 24]}, {"at": [30.94, 1], "size": [30, 24]}))) == 4


def test_of_neighbours_the_higher_one_bears() -> None:
    case = kitchen({"at": [0, 1], "size": [30, 24], "gap": 0.1}, {"at": [30, 1], "size": [30, 24], "gap": -0.05})
    gaps = {one.name: round(one.gap / INCH, 6) for one in bearings(case) if one.kind == "line"}
    assert gaps == {
        "left panel of cabinet 1": 0.1,
        "right panel of cabinet 1 and left panel of cabinet 2": -0.05,
        "right panel of cabinet 2": -0.05,
    }


def test_rails_bear_along_their_middle() -> None:
    case = kitchen({"at": [10, 1], "size": [30, 24], "front_rail": True, "back_rail": 1.5})
    found = lines(case)
    assert found["front rail of cabinet 1"] == [(10.312, 1.5), (39.688, 1.5)]
    assert found["back rail of cabinet 1"] == [(10.312, 24.25), (39.688, 24.25)]
    assert "1 in" in assumed(case)["cabinet[0].front_rail"]


def test_a_wall_ledger_runs_along_the_back() -> None:
    found = lines(kitchen({"at": [10, 1], "size": [30, 24], "ledger": True}))
    assert found["wall ledger of cabinet 1"] == [(10, 24.625), (40, 24.625)]


def test_nothing_bears_in_an_appliance_gap() -> None:
    gap = {"at": [40, 1], "size": [24, 24], "appliance": True, "name": "dishwasher"}
    found = lines(kitchen({"at": [10, 1], "size": [30, 24]}, gap, {"at": [64, 1], "size": [30, 24]}))
    assert len(found) == 4
    assert not any("dishwasher" in name for name in found)


@pytest.mark.parametrize(
    ("front", "left", "rail"),
    [
        ("front", [(10.312, 1), (10.312, 25)], [(10.312, 1.5), (39.688, 1.5)]),
        ("back", [(39.688, 25), (39.688, 1)], [(39.688, 24.5), (10.312, 24.5)]),
        ("left", [(10, 24.688), (40, 24.688)], [(10.5, 24.688), (10.5, 1.312)]),
        ("right", [(40, 1.312), (10, 1.312)], [(39.5, 1.312), (39.5, 24.688)]),
    ],
)
def test_the_front_may_be_any_side(
    front: str, left: list[tuple[float, float]], rail: list[tuple[float, float]]
) -> None:
    found = lines(kitchen({"at": [10, 1], "size": [30, 24], "front": front, "front_rail": True}))
    assert found["left panel of cabinet 1"] == left
    assert found["front rail of cabinet 1"] == rail


def test_a_cabinet_may_be_turned() -> None:
    found = lines(kitchen({"at": [40, 2], "size": [20, 20], "angle": 30}))
    (x0, y0), (x1, y1) = found["left panel of cabinet 1"]
    assert (x0, y0) == pytest.approx((40 + 0.3125 * math.cos(math.pi / 6), 2 + 0.3125 / 2), abs=1e-3)
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(120, abs=0.02)


def test_a_panel_is_clipped_to_the_slab_and_to_the_sink() -> None:
    sink = {"name": "sink", "shape": "rectangle", "center": [40, 12], "size": [20, 12]}
    slab = {"thickness": 1.5, "outline": [[0, 0], [96, 0], [96, 25.5], [0, 25.5]], "opening": [sink]}
    found = lines(kitchen({"at": [10, -2], "size": [30, 30]}, slab=slab))
    assert found["left panel of cabinet 1"] == [(10.312, 0), (10.312, 25.5)]
    assert found["right panel of cabinet 1, part 1"] == [(39.688, 0), (39.688, 6)]
    assert found["right panel of cabinet 1, part 2"] == [(39.688, 18), (39.688, 25.5)]


def test_adhesive_counts_only_with_a_value() -> None:
    box = {"at": [10, 1], "size": [30, 24]}
    assert {one.action for one in bearings(kitchen({**box, "adhesive": False}))} == {"rest"}
    assert "counts only with its pull-off strength" in faults(kitchen({**box, "adhesive": True}))["cabinet[0].adhesive"]
    case = kitchen({**box, "adhesive": "0.2 MPa"})
    assert {one.action for one in bearings(case)} == {"hold"}
    sliding = next(stage for stage in read_case(case).stage if stage.id == "set-sliding-in")
    assert {one.action for one in sliding.support} == {"rest"}
    # 0.2 MPa (29 psi) over 5/8 in x 24 in of panel: 435 lbf.
    assert "435 lbf" in assumed(case)["cabinet[0].adhesive"]


def test_the_level_of_the_worst_cabinet_is_the_shim() -> None:
    case = kitchen({"at": [0, 1], "size": [30, 24], "level": "3 mm"}, {"at": [60, 1], "size": [30, 24]})
    assert next(stage for stage in read_case(case).stage if stage.id == "set").shims == pytest.approx(0.003)


def test_a_bracket_is_a_flat_that_bears() -> None:
    case = kitchen(
        {"at": [0, 12], "size": [96, 13]},
        bracket=[{"at": [48, 13], "to": [48, 1], "name": "bar", "stiffness": "100 lbf/in3"}],
    )
    bracket = next(one for one in bearings(case) if one.kind == "area")
    assert bracket.name == "bar"
    assert sorted({round(x / INCH, 3) for x, _ in bracket.points}) == [47, 49]
    assert sorted({round(y / INCH, 3) for _, y in bracket.points}) == [1, 13]
    assert bracket.stiffness is not None
    assert "2 in" in assumed(case)["bracket[0].width"]


@pytest.mark.parametrize(
    ("cabinet", "where", "told"),
    [
        ({"at": [0, 40], "size": [30, 24]}, "cabinet[0]", "lies off the slab"),
        ({"at": [0, 1], "size": [30, 24], "panel": 16}, "cabinet[0].panel", "out of range"),
        ({"at": [0, 1], "size": [2, 24], "panel": 1}, "cabinet[0].panel", "thicker than the cabinet"),
        ({"at": [0, 1], "size": [30, 24], "appliance": True, "front_rail": True}, "cabinet[0].appliance", "no rails"),
        ({"at": [0, 1], "size": [30, 24], "frnt": "left"}, "cabinet[0].frnt", 'did you mean "front"'),
        ({"at": [0, 1], "size": [30, 24], "front": "lift"}, "cabinet[0].front", 'did you mean "left"'),
        ({"at": [0, 1]}, "cabinet[0].size", "is missing"),
    ],
)
def test_faults_of_a_cabinet(cabinet: dict[str, Any], where: str, told: str) -> None:
    assert told in faults(kitchen(cabinet))[where]


def test_faults_of_a_bracket() -> None:
    box = {"at": [0, 1], "size": [30, 24]}
    assert "off the slab" in faults(kitchen(box, bracket=[{"at": [48, 80], "to": [48, 70]}]))["bracket[0]"]
    assert "no length" in faults(kitchen(box, bracket=[{"at": [48, 8], "to": [48, 8]}]))["bracket[0].to"]


def test_supports_told_in_set_replace_the_cabinets() -> None:
    rest = [{"kind": "line", "points": [[x, 1], [x, 24]], "action": "rest", "name": f"trestle {x}"} for x in (20, 76)]
    case = kitchen({"at": [0, 1], "size": [30, 24]}, life={"stages": ["set"], "set": {"support": rest}})
    assert list(lines(case)) == ["trestle 20", "trestle 76"]


def test_cabinets_lie_still_without_a_life() -> None:
    own = {"name": "own", "age": 28, "up": "show", "support": [{"kind": "edge", "action": "rest"}]}
    case = kitchen({"at": [0, 1], "size": [30, 24]}, stage=[own])
    del case["life"]
    read = read_case(case)
    assert [stage.id for stage in read.stage] == ["own"]
    assert read_case(read.si()).si() == read.si()
