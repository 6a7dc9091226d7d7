"""What the steel owes: floors, scales, stages that tip, the square plate's lower bound; a case's factored stages."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest

from fem.plate.directions import directional_moments
from fem.plate.model import AreaPlace, LinePlace, Load, PlateCase, Point, PointPlace, Stage, Support
from fem.plate.prepared import Prepared, prepare
from fem.steel.demand import Factored, demand_of
from fem.steel.model import Face
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
