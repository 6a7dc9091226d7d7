"""What the steel owes: floors, scales, stages that tip, the square plate's lower bound; a case's factored stages."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from api.case import Case, read_case
from api.steel.factored import factored_stages
from api.translate import Piece, piece_from
from fem.plate.directions import directional_moments
from fem.plate.model import (
    AreaPlace,
    Edgewise,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Stage,
    Support,
    Variation,
)
from fem.plate.prepared import Prepared, prepare
from fem.steel.demand import Factored, demand_of
from fem.steel.model import Code, Face
from meshing.shape import Shape, rectangle
from meshing.sizing import Fineness
from tests.plates import all_round, mesh_of, rectangular

FloatArray = npt.NDArray[np.float64]

T = 0.04
FACES: tuple[Face, Face] = ("show", "underside")
ANGLES = np.arange(12) * np.pi / 12
COARSE = Fineness(field=2.5, segments=3, corner=0.2)


def line(name: str, a: Point, b: Point) -> Support:
    return Support(name, LinePlace((a, b)), "rest")


@cache
def strip() -> Prepared:
    return prepare(mesh_of(Shape(rectangle((1.0, 0.3), (2.0, 0.6))), T, COARSE), PlateCase(T, 2400.0, 0.2))


LEFT, MIDDLE, RIGHT = (line(name, (x, 0.0), (x, 0.6)) for name, x in (("left", 0.0), ("middle", 1.2), ("right", 2.0)))
ENDS = Stage("ends", "show", 1.0, 3e10, 3e6, 2e6, (LEFT, RIGHT))
OVERHANG = replace(ENDS, name="overhang", supports=(LEFT, MIDDLE))
PUSHED = replace(OVERHANG, name="pushed", loads=(Load("foot", PointPlace((1.9, 0.3), 0.1), 900.0),))


def test_the_most_that_any_stage_asks_is_owed() -> None:
    moments = directional_moments(strip(), [ENDS, OVERHANG], None, ANGLES)
    demand = demand_of(strip(), [Factored(ENDS, "one", 1.3), Factored(OVERHANG, "two")], None, ANGLES)
    assert demand.names == ("one", "two")
    assert demand.notes == ()
    assert np.array_equal(demand.points, strip().mesh.nodes)
    assert moments[0] is not None
    assert moments[1] is not None
    for number, face in enumerate(FACES):
        both = np.stack([1.3 * moments[0][number], moments[1][number]])
        assert demand.needed[face] == pytest.approx(np.maximum(both.max(axis=0), 0.0), rel=1e-12)
        owed = demand.needed[face] > 0
        assert np.array_equal(demand.governs[face][owed], both.argmax(axis=0)[owed])
    assert (demand.governs["underside"][:, 0] == 0).all()
    # The overhang pulls the show face, which the simple span presses.
    assert set(np.unique(demand.governs["show"])) == {0, 1}


# By the definition: a face that no direction pulls by more than the floor owes nothing in any; one direction above it
# calls for all of them.
def test_under_its_floor_a_stage_asks_for_nothing() -> None:
    (moment,) = directional_moments(strip(), [ENDS], None, ANGLES)
    assert moment is not None
    floor = 0.6 * float(moment[1].max())
    demand = demand_of(strip(), [Factored(ENDS, "one", 1.5, floor)], None, ANGLES)
    above = moment[1].max(axis=1) > floor
    assert 0.2 < above.mean() < 0.8
    assert (demand.needed["underside"][~above] == 0).all()
    assert demand.needed["underside"][above] == pytest.approx(1.5 * np.maximum(moment[1][above], 0.0), rel=1e-12)
    assert ((demand.needed["underside"][above] < floor).any(axis=1)).any()
    assert (demand.needed["show"] == 0).all()
    # Each stage has its own floor: one that is silent does not silence another.
    two = demand_of(strip(), [Factored(ENDS, "one", 1.0, 10 * floor), Factored(ENDS, "two")], None, ANGLES)
    assert two.needed["underside"] == pytest.approx(np.maximum(moment[1], 0.0), rel=1e-12)


def test_what_tips_is_told_and_its_stand_in_asks() -> None:
    tips = Factored(PUSHED, "pushed, 1.2 D + 1.6 L", 1.0, 0.0, Factored(OVERHANG, "pushed as it is", 1.2))
    alone = Factored(PUSHED, "never")
    demand = demand_of(strip(), [Factored(ENDS, "one"), tips, alone], None, ANGLES)
    plain = demand_of(strip(), [Factored(ENDS, "one"), Factored(OVERHANG, "two", 1.2)], None, ANGLES)
    for face in FACES:
        assert demand.needed[face] == pytest.approx(plain.needed[face], rel=1e-9, abs=1e-9)
    assert demand.names[:2] == ("one", "pushed as it is")
    assert set(np.unique(demand.governs["show"])) == {0, 1}
    assert len(demand.notes) == 2
    assert "pushed as it is stands in for it" in demand.notes[0]
    assert "falls" in demand.notes[0]
    assert demand.notes[1].endswith("steel cures no tipping")


def test_scale_and_floor_are_checked() -> None:
    with pytest.raises(ValueError, match=r"scale = 0\.9"):
        Factored(ENDS, "one", 0.9)
    with pytest.raises(ValueError, match="floor = -1"):
        Factored(ENDS, "one", 1.0, -1.0)


def largest_pull(nu: float) -> float:
    """The largest principal moment over q a2 anywhere in a square on simple supports, by Navier's double series.

    Timoshenko & Woinowsky-Krieger (1959), art. 30: the middle and the corner, of which one is the largest.
    """
    k = np.arange(1, 800, 2)
    m, n = k[:, None].astype(float), k[None, :].astype(float)
    sign = np.where((m + n) / 2 % 2 == 1, 1.0, -1.0)  # sin(m pi / 2) sin(n pi / 2)
    middle = 16 / np.pi**4 * (sign * (m**2 + nu * n**2) / (m * n * (m**2 + n**2) ** 2)).sum()
    corner = 16 * (1 - nu) / np.pi**4 * (1 / (m**2 + n**2) ** 2).sum()
    return float(max(middle, corner))


# Steel of one strength m both ways on both faces carries q up to m / (largest pull): a lower bound, so not above
# Johansen's m = q L2 / 24 (Johansen, Yield-line Theory; Wood, Plastic and Elastic Design of Slabs, 1961), and below it
# by what the elastic plate's own solution says. 1 %: the mean over a thickness of a fortieth of the side.
@pytest.mark.parametrize(("nu", "ratio"), [(0.0, 0.898), (0.2, 0.943), (0.3, 0.870)])
def test_the_square_plates_lower_bound(nu: float, ratio: float) -> None:
    side, q = 1.6, 5000.0
    shape = rectangular(side, side)
    prepared = prepare(mesh_of(shape, T), PlateCase(T, 0.0, nu))
    stage = Stage("even", "show", 1.0, 3e10, 1e12, 1e12, tuple(all_round(shape)), (Load("q", AreaPlace(), q),))
    angles = np.arange(36) * np.pi / 36
    demand = demand_of(prepared, [Factored(stage, "even")], None, angles)
    strength = q * side**2 / 24
    factor = strength / max(float(demand.needed[face].max()) for face in FACES)
    assert factor < 1.0
    assert factor == pytest.approx(1 / 24 / largest_pull(nu), rel=1e-2)
    # The book's table 8 for nu = 0.3 (0.0479 q a2 in the middle); the others by its formulas.
    assert factor == pytest.approx(ratio, rel=1e-2)


INCH, LBF, DAY = 0.0254, 4.4482216152605, 86400.0
SUPPORT = [{"kind": "line", "points": [[x, 1], [x, 23]], "action": "rest"} for x in (2, 58)]
HANDS = [{"kind": "hand", "at": [x, y]} for x in (12, 48) for y in (3, 21)]
EDGE = {"kind": "edge", "points": [[0, 0], [60, 0]], "action": "rest", "carries": "edge"}
USE = {
    "load": [
        {"name": "lip", "kind": "edge", "points": [[0, 0], [60, 0]], "force_per_length": 4, "moment_per_length": 10},
        {"name": "foot", "kind": "point", "roaming": True, "force": 300, "size": 4},
    ],
}


def case_of(*stages: dict[str, Any], **more: object) -> tuple[Case, Piece]:
    """A top of 60 x 24 in with such stages, and the same in the plate's terms."""
    made = [
        {"name": f"stage {k}", "age": 28, "up": "show", "support": SUPPORT, **stage} for k, stage in enumerate(stages)
    ]
    case = read_case(
        {
            "case": 1,
            "title": "Test",
            "units": "us",
            "slab": {"thickness": 1.5, "outline": [[0, 0], [60, 0], [60, 24], [0, 24]]},
            "concrete": {"density": 145, "compressive_strength": 6000},
            "stage": made,
            **more,
        }
    )
    return case, piece_from(case)


# ASCE 7-16 2.3.1: 1.4 D and 1.2 D + 1.6 L, the weight being D and all else L. EN 1990 6.4.3.2: 1.35 G + 1.5 Q.
@pytest.mark.parametrize(
    ("code", "dead", "weight", "live", "names"),
    [
        ("ACI 318-19", 1.4, 1.2, 1.6, ("stage 0, 1.4 D", "stage 0, 1.2 D + 1.6 L")),
        ("EN 1992-1-1", 1.35, 1.35, 1.5, ("stage 0, 1.35 G", "stage 0, 1.35 G + 1.5 Q")),
    ],
)
def test_a_stage_of_use_is_factored(
    code: Code, dead: float, weight: float, live: float, names: tuple[str, ...]
) -> None:
    case, piece = case_of({**USE, "shims": 0.0625, "levels": True, "bow": [{"curvature": 1e-4}]})
    found, notes = factored_stages(case, piece, code)
    assert tuple(one.name for one in found) == names
    alone, both = (one.stage for one in found)
    (plain,) = piece.stages
    assert (alone.multiplier, both.multiplier) == (dead, weight)
    assert (alone.loads, alone.roaming) == ((), ())
    assert both.loads[0].amount == pytest.approx(live * 4 * LBF / INCH)
    assert both.loads[0].moment == pytest.approx(live * 10 * LBF)
    assert both.roaming[0].amount == pytest.approx(live * 300 * LBF)
    assert (both.roaming[0].size, both.roaming[0].regions) == (plain.roaming[0].size, plain.roaming[0].regions)
    # Shims and bows ask for no strength.
    assert both.supports == plain.supports
    assert both.bows == alone.bows == ()
    assert both.variations == alone.variations == ()
    assert len(plain.variations) == 4
    assert not both.levels
    assert found[0].instead is None
    assert found[1].instead is not None
    assert found[1].instead.stage == replace(plain, levels=False, bows=(), variations=())
    (note,) = notes
    assert note.where == "stage[0].factored"
    assert names[1].removeprefix("stage 0, ") in note.what


def test_what_varies_is_factored_alike() -> None:
    travels = {"name": "cart", "kind": "line", "points": [[4, 2], [4, 22]], "to": [[56, 2], [56, 22]]}
    case, piece = case_of({"load": [{**travels, "force_per_length": 10}]})
    dead, both = (one.stage for one in factored_stages(case, piece)[0])
    (plain,) = piece.stages
    assert len(plain.variations) == len(both.variations) == 21
    assert [way.loads[0].amount for way in both.variations] == pytest.approx([1.6 * 10 * LBF / INCH] * 21)
    # Without its load each place of the cart is the stage as it stands.
    assert dead.variations == ()
    # A support that is missing is no shim.
    gone = Variation("gone", plain.supports[:1])
    (one, *_) = factored_stages(case, replace(piece, stages=(replace(plain, variations=(gone,)),)))[0]
    assert one.stage.variations == (gone,)
    lifted = replace(plain, variations=(Variation("lifted", multiplier=1.5, edgewise=Edgewise((0, -1), 0.5, (0,))),))
    (one, *_) = factored_stages(case, replace(piece, stages=(lifted,)))[0]
    assert one.stage.variations[0].multiplier == pytest.approx(1.4 * 1.5)
    assert one.stage.variations[0].edgewise == Edgewise((0, -1), 1.4 * 0.5, (0,))


# By the rule of the trade that the multiplier of handling holds the jerk already: common practice, no source.
@pytest.mark.parametrize(
    ("stage", "why"),
    [
        ({"multiplier": 1.5}, "its weight counts 1.5 times"),
        ({"form_pull": "21 psf"}, "the form clings to it"),
        ({"support": HANDS}, "hands bear it"),
        ({"slide": [30, 0]}, "it slides"),
        ({"posture": "leaning", "angle": 10, "support": [*SUPPORT, EDGE]}, "it does not lie flat"),
    ],
)
def test_handling_is_as_it_is(stage: dict[str, Any], why: str) -> None:
    case, piece = case_of(stage)
    (found,), (note,) = factored_stages(case, piece)
    assert found.stage == piece.stages[0]
    assert (found.name, found.instead) == ("stage 0", None)
    assert why in note.what
    # Told to be use, it is factored all the same, and nothing is assumed.
    case, piece = case_of({**stage, "factored": True})
    told, notes = factored_stages(case, piece)
    assert told[0].stage.multiplier == pytest.approx(1.4 * piece.stages[0].multiplier)
    assert told[0].name == "stage 0, 1.4 D"
    assert notes == ()
    if "form_pull" in stage:
        assert told[1].stage.loads[-1].amount == pytest.approx(1.6 * piece.stages[0].form_pull)
        assert told[1].stage.form_pull == 0.0


def test_use_may_be_told_to_be_as_it_is() -> None:
    case, piece = case_of({**USE, "factored": False})
    (found,), notes = factored_stages(case, piece)
    assert found.stage == piece.stages[0]
    assert notes == ()
    # Without a load there is nothing for 1.6 L.
    case, piece = case_of({})
    assert [one.name for one in factored_stages(case, piece)[0]] == ["stage 0, 1.4 D"]


def test_a_young_stage_asks_for_more() -> None:
    case, piece = case_of({"age": 1, "multiplier": 1.3}, {})
    grown = {1 * DAY: 0.8, 28 * DAY: 1.0}
    found, _ = factored_stages(case, piece, owed_above=0.25, strength=grown.__getitem__)
    assert [one.scale for one in found] == pytest.approx([1.25, 1.0])
    for one, stage in zip(found, piece.stages, strict=True):
        assert one.floor == pytest.approx(0.25 * stage.cracking * (1.5 * INCH) ** 2 / 6)
    assert found[0].floor < found[1].floor
    # Sized with the young concrete, no stage asks for more; none for less.
    found, _ = factored_stages(case, piece, strength=grown.__getitem__, sized_at=1 * DAY)
    assert [one.scale for one in found] == [1.0, 1.0]
