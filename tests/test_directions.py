"""The most that pulls each face in every direction: against every state solved alone, and against closed forms."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.plate.analysis import analyse_prepared
from fem.plate.directions import directional_moments, hardest_pull, pulled, telling_points
from fem.plate.footings import KnownPlaces
from fem.plate.model import (
    Bow,
    DepthRegion,
    Edgewise,
    Face,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Roaming,
    Stage,
    StageResult,
    Support,
    Variation,
)
from fem.plate.prepared import Prepared, prepare
from fem.plate.pull import Spots
from fem.plate.stages import Solved, answer_stages
from fem.plate.underfoot import Underfoot, disc_moment, underfoot
from fem.plate.walking import Steps, places_of, step_at
from meshing.shape import Shape, polygon, rectangle
from meshing.sizing import Fineness
from tests.plates import mesh_of, rectangular, side, unit_modulus

FloatArray = npt.NDArray[np.float64]

T = 0.04
CASE = PlateCase(T, 2400.0, 0.2)
FACES: tuple[Face, Face] = ("show", "underside")
ANGLES = np.arange(12) * np.pi / 12
# All roads share the mesh: how fine it is does not matter here.
COARSE = Fineness(field=2.5, segments=3, corner=0.2)
ODD = Shape(
    polygon(np.array([[0, 0], [1.6, 0], [1.6, 0.62], [0.6, 0.55], [0.6, 1.2], [0, 1.1]])),
    (rectangle((1.05, 0.3), (0.4, 0.28)),),
)


def line(name: str, a: Point, b: Point, gap: float = 0.0) -> Support:
    return Support(name, LinePlace((a, b)), "rest", gap)


SUPPORTS = (
    line("left", (0.02, 0.05), (0.02, 1.0)),
    line("middle", (0.62, 0.05), (0.62, 0.5), 0.0008),
    line("right", (1.57, 0.05), (1.57, 0.55)),
    Support("back", PointPlace((0.3, 1.1), 0.05), "rest", -0.0005),
    Support("front", PointPlace((1.2, 0.04), 0.04), "rest", 0.001),
)
SOMEBODY = Roaming("somebody", 900.0, 0.1, (((0.7, 0.02), (1.58, 0.02), (1.58, 0.5), (0.7, 0.5)),))
STAGE = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, SUPPORTS, (Load("pot", PointPlace((0.2, 0.8), 0.2), 150.0),))
WAYS = (
    Variation("shimmed", (SUPPORTS[0], replace(SUPPORTS[1], gap=-0.0005), *SUPPORTS[2:])),
    Variation("heavier", loads=(Load("bag", PointPlace((1.4, 0.3), 0.2), 300.0),), multiplier=1.3),
)


@cache
def odd() -> Prepared:
    return prepare(mesh_of(ODD, T, COARSE), CASE)


def in_directions(tensor: FloatArray, angles: FloatArray = ANGLES) -> FloatArray:
    """Tensors (p, 3) turned one by one into the axes of each angle: their first diagonal entry, (p, a)."""
    full = np.stack([tensor[:, [0, 2]], tensor[:, [2, 1]]], axis=1)
    axis = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return np.asarray(np.einsum("ai,pij,aj->pa", axis, full, axis))


def both_faces(result: StageResult, membrane: FloatArray | None = None) -> FloatArray:
    """What one state pulls show face and underside with, (2, nodes, a) [N m/m], by the answer's own tensor."""
    n = len(odd().mesh.nodes)
    m = in_directions(result.moment[:n])
    extra = 0.0 if membrane is None else np.maximum(in_directions(membrane[:n] * T * T / 2), 0.0)
    return np.stack([extra - m, extra + m])


def alone(stage: Stage, way: Variation) -> Stage:
    """A variation as a stage of its own."""
    return replace(
        stage,
        supports=way.supports or stage.supports,
        loads=(*stage.loads, *way.loads),
        multiplier=stage.multiplier if way.multiplier is None else way.multiplier,
        variations=(),
        roaming=(),
    )


# Law, no source: the most of all states is the largest of the states solved one by one, to round-off.
@pytest.mark.parametrize("up", FACES)
def test_the_most_of_all_variations_is_the_largest_of_them(up: Face) -> None:
    stage = replace(STAGE, up=up, variations=WAYS, bows=(Bow("drying", 1e-4),))
    (found,) = directional_moments(odd(), [stage], None, ANGLES)
    assert found is not None
    singles = analyse_prepared(odd(), [replace(stage, variations=()), *(alone(stage, way) for way in WAYS)]).stages
    states = np.stack([both_faces(one) for one in singles])
    expected = states.max(axis=0)
    assert np.abs(found - expected).max() <= 1e-8 * np.abs(expected).max()
    # Each state is the largest somewhere, so each was looked at.
    assert {int(k) for k in np.unique(states.argmax(axis=0))} == {0, 1, 2}


def test_points_anywhere_are_read_like_nodes() -> None:
    nodes = odd().mesh.nodes[::7]
    (at_nodes,) = directional_moments(odd(), [STAGE], None, ANGLES)
    (at_points,) = directional_moments(odd(), [STAGE], nodes, ANGLES)
    assert at_nodes is not None
    assert at_points is not None
    assert np.abs(at_points - at_nodes[:, ::7]).max() <= 1e-9 * np.abs(at_nodes).max()


# The whole field of a plate bent by even edge moments is one tensor: mx = M, my = mxy = 0, and M cos2 t across t.
# Timoshenko & Woinowsky-Krieger (1959), art. 10 and eq. (39) of art. 9.
@pytest.mark.parametrize(("up", "sign"), [("show", 1.0), ("underside", 1.0), ("show", -1.0)])
def test_a_plate_bent_one_way_is_pulled_by_the_square_of_the_cosine(up: Face, sign: float) -> None:
    shape = rectangular(1.0, 0.6)
    prepared = prepare(mesh_of(shape, T, COARSE), PlateCase(T, 0.0, 0.3))
    ends = tuple(Load(f"end {k}", side(shape, k), moment=sign * 80.0) for k in (1, 3))
    held = tuple(Support(f"{p}", PointPlace(p), "hold") for p in ((-0.3, -0.2), (0.3, -0.2), (0.0, 0.2)))
    stage = Stage("bent", up, 1.0, unit_modulus(T, 0.3), 1e12, 1e12, held, ends)
    points = np.array([[0.1, 0.05], [-0.21, 0.13], [0.33, -0.2]])
    (found,) = directional_moments(prepared, [stage], points, ANGLES)
    assert found is not None
    underside = 80.0 * sign * np.cos(ANGLES) ** 2
    assert found[1] == pytest.approx(np.tile(underside, (3, 1)), abs=1e-6 * 80)
    assert found[0] == pytest.approx(np.tile(-underside, (3, 1)), abs=1e-6 * 80)


def test_what_tips_says_so() -> None:
    tips = replace(STAGE, name="tips", supports=SUPPORTS[:1], loads=())
    person = Roaming("somebody", 30000.0, 0.1, (((1.3, 0.02), (1.6, 0.02), (1.6, 0.6), (1.3, 0.6)),))
    under = replace(STAGE, supports=SUPPORTS[:2], roaming=(person,))
    way = replace(STAGE, variations=(Variation("gone", SUPPORTS[:1]),))
    aside = replace(STAGE, variations=(Variation("hand 'a' lets go", SUPPORTS[:1]),))
    found = list(pulled(odd(), [tips, under, way, aside, STAGE], None, ANGLES))
    assert [one.moment is None for one in found] == [True, True, True, False, False]
    assert "falls" in found[0].why
    assert "somebody" in found[1].why
    assert found[2].why.startswith("gone: ")
    # What falls aside does not count.
    assert found[3].moment == pytest.approx(found[4].moment, rel=1e-9, abs=1e-9)
    assert directional_moments(odd(), [tips], None, ANGLES) == (None,)
    assert hardest_pull(odd(), tips, (0.3, 0.3), 0.0, "show") is None
    assert hardest_pull(odd(), under, (0.3, 0.3), 0.0, "show") is None


ON_EDGE = replace(
    STAGE,
    name="carry",
    multiplier=0.2,
    loads=(),
    edgewise=Edgewise((0.0, -1.0), 1.4, (5, 6)),
    supports=(
        *(replace(s, action="hold", gap=0.0) for s in SUPPORTS),
        *(Support(f"foot {x}", PointPlace((x, 0.0), 0.1), "rest", face=False) for x in (0.3, 1.3)),
    ),
)


# The answer's own tensors and stress in the plane, state by state; N h / 2 as derived in fem.plate.directions.
def test_the_pull_in_the_plane_is_added_to_both_faces() -> None:
    thrown = (Variation("thrown", multiplier=0.5), Variation("thrown back", multiplier=-0.3))
    stage = replace(ON_EDGE, variations=thrown)
    (found,) = directional_moments(odd(), [stage], None, ANGLES)
    assert found is not None
    singles = analyse_prepared(odd(), [ON_EDGE, *(alone(ON_EDGE, way) for way in thrown)]).stages
    states = [both_faces(one, one.worst["show"].membrane) for one in singles]
    expected = np.max(states, axis=0)
    assert np.abs(found - expected).max() <= 1e-8 * np.abs(expected).max()
    bare = np.max([both_faces(one) for one in singles], axis=0)
    assert (found >= bare - 1e-9 * bare.max()).all()
    assert found.max() > 1.05 * bare.max()


# A strip of 40 mm with a recess of 32 mm right across: its moment follows from balance alone, w L2 / 8 and a section
# as thin as that is as hard to reinforce as one of full depth under (40 / 32)2 of it. Statics; 2 % because this mesh
# does not follow the border of the recess.
def test_a_thinner_part_counts_by_its_face_stress() -> None:
    shape = Shape(rectangle((1.0, 0.3), (2.0, 0.6)))
    recess = DepthRegion(((0.85, 0.0), (1.15, 0.0), (1.15, 0.6), (0.85, 0.6)), 0.032)
    case = PlateCase(T, 2400.0, 0.0, regions=(recess,))
    prepared = prepare(mesh_of(shape, T, COARSE), case)
    ends = tuple(line(name, (x, 0.0), (x, 0.6)) for name, x in (("left", 0.0), ("right", 2.0)))
    stage = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, ends, (Load("bar", LinePlace(((1.0, 0.0), (1.0, 0.6))), 4000.0),))
    (found,) = directional_moments(prepared, [stage], np.array([[1.08, 0.3], [0.6, 0.3]]), np.zeros(1))
    assert found is not None
    w = 2400 * case.gravity * T
    thin, lost = 0.08, 2400 * case.gravity * 0.008
    reaction = w * 1.0 - lost * 0.15 + 2000.0
    at_bar_less = reaction * 0.92 - w * 0.92**2 / 2 + lost * (0.15 - thin) ** 2 / 2
    assert found[1, 0, 0] == pytest.approx(at_bar_less * (40 / 32) ** 2, rel=2e-2)
    assert found[1, 1, 0] == pytest.approx(reaction * 0.6 - w * 0.6**2 / 2, rel=5e-3)


def singles(stage: Stage, places: FloatArray) -> FloatArray:
    """The stage with its roaming load standing at each place by itself: (places, 2, nodes, a)."""
    load = Load("there", PointPlace((0.0, 0.0), SOMEBODY.size), SOMEBODY.amount)
    stages = [
        replace(stage, roaming=(), loads=(*stage.loads, replace(load, place=PointPlace((x, y), SOMEBODY.size))))
        for x, y in places.tolist()
    ]
    return np.stack([both_faces(one) for one in analyse_prepared(odd(), stages).stages])


def as_it_stands_nearest(roaming: Roaming, places: FloatArray, points: FloatArray, prepared: Prepared) -> Underfoot:
    """Nothing told between the places."""
    q = len(points)
    return Underfoot(points, np.zeros((q, 1), dtype=np.int64), np.ones((q, 1)), np.zeros((q, 3)))


# Law, no source: with nothing told between the places it is the largest of the load at each place alone, to round-off;
# and never less with it.
@pytest.mark.parametrize("up", FACES)
def test_it_is_the_largest_of_all_places_of_a_roaming_load(up: Face, monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []

    def noted(roaming: Roaming, places: FloatArray, prepared: Prepared, spots: Spots) -> Steps:
        tried.append(places)
        return step_at(roaming, places, prepared, spots)

    monkeypatch.setattr("fem.plate.state_moments.places_of", lambda roaming, slab: places_of(roaming, slab, 40))
    stage = replace(STAGE, up=up, roaming=(SOMEBODY,), variations=WAYS[:1])
    (full,) = directional_moments(odd(), [stage], None, ANGLES)
    monkeypatch.setattr("fem.plate.state_moments.step_at", noted)
    monkeypatch.setattr("fem.plate.state_moments.underfoot", as_it_stands_nearest)
    (found,) = directional_moments(odd(), [stage], None, ANGLES)
    assert found is not None
    assert full is not None
    assert len(tried) > 1
    rest = analyse_prepared(odd(), [alone(stage, Variation("")), alone(stage, WAYS[0])]).stages
    each = np.concatenate([singles(stage, np.concatenate(tried)), [both_faces(one) for one in rest]])
    expected = each.max(axis=0)
    assert np.abs(found - expected).max() <= 1e-8 * expected.max()
    assert (full >= expected - 1e-8 * expected.max()).all()
    assert len(np.unique(each.argmax(axis=0))) > 20


def test_what_was_solved_without_factors_is_used_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fem.plate.stages.places_of", lambda roaming, slab: places_of(roaming, slab, 40))
    monkeypatch.setattr("fem.plate.state_moments.places_of", lambda roaming, slab: places_of(roaming, slab, 40))
    stage = replace(STAGE, roaming=(SOMEBODY,), variations=WAYS)
    heavier = replace(stage, multiplier=1.2, roaming=(replace(SOMEBODY, amount=1440.0),))
    fresh = directional_moments(odd(), [stage, heavier], None, ANGLES)
    _, before = answer_stages(odd(), [stage], before=Solved(KnownPlaces()))
    said: list[str] = []
    again = directional_moments(odd(), [stage, heavier], None, ANGLES, said.append, before)
    assert not any("walking" in what for what in said)
    for one, other in zip(fresh, again, strict=True):
        assert one is not None
        assert other is not None
        assert np.abs(one - other).max() <= 1e-8 * one.max()
    nodes = odd().mesh.nodes[::7]
    (at_points,) = directional_moments(odd(), [heavier], nodes, ANGLES, said.append, before)
    assert not any("walking" in what for what in said)
    assert at_points is not None
    assert fresh[1] is not None
    # Which places are looked at closer depends on the points.
    assert np.abs(at_points - fresh[1][:, ::7]).max() <= 0.02 * fresh[1].max()


# Over a line that bears it the slab is bent in a kink, which nodes beside the line miss.
def test_telling_points_find_what_hides_between_the_nodes() -> None:
    shape = Shape(rectangle((1.0, 0.3), (2.0, 0.6)))
    prepared = prepare(mesh_of(shape, T, COARSE), CASE)
    # As far from the nodes as a line across can be.
    x = np.sort(np.append(prepared.mesh.nodes[:, 0], [0.9, 1.1]))
    inside = x[(x > 0.9) & (x < 1.1)]
    middle = float((inside[:-1] + inside[1:])[np.argmax(np.diff(inside))] / 2)
    rests = tuple(line(f"{at}", (at, 0.0), (at, 0.6)) for at in (0.02, middle, 1.98))
    stage = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, rests)
    points = telling_points(prepared, [stage, stage], 0.01)
    n = len(prepared.mesh.nodes)
    assert np.array_equal(points[:n], prepared.mesh.nodes)
    extra = points[n:]
    assert (np.abs(extra[:, :1] - [0.02, middle, 1.98]).min(axis=1) < 1e-6).all()
    assert shapely.distance(shapely.multipoints(prepared.mesh.nodes), shapely.points(extra)).min() >= 0.01
    (found,) = directional_moments(prepared, [stage], points, np.zeros(1))
    assert found is not None
    over = np.abs(points[n:, 0] - middle) < 1e-6
    assert found[0, n:, 0][over].max() > 1.02 * found[0, :n].max()
    assert len(telling_points(prepared, [stage], 1.0)) == n


# The measure is the load solved where it stands nearest to each point. The bounds are a snapshot: 1 % low at the 5th
# percentile and 6 % at worst here, where the places alone are 12 % low.
def test_between_the_places_the_pull_right_under_the_load_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    # About as far apart as the load is wide, as 400 places on a whole slab are.
    monkeypatch.setattr("fem.plate.state_moments.places_of", lambda roaming, slab: places_of(roaming, slab, 55))
    stage = replace(STAGE, roaming=(SOMEBODY,))
    nodes = odd().mesh.nodes
    under = underfoot(SOMEBODY, places_of(SOMEBODY, odd(), 55), nodes, odd())
    near = np.flatnonzero(np.hypot(*(under.at - nodes).T) < 0.06)
    which = near[:: max(len(near) // 60, 1)]
    solved = singles(stage, under.at[which])[np.arange(len(which)), 1, which].max(axis=1)
    (found,) = directional_moments(odd(), [stage], None, ANGLES)
    monkeypatch.setattr("fem.plate.state_moments.underfoot", as_it_stands_nearest)
    (places,) = directional_moments(odd(), [stage], None, ANGLES)
    assert found is not None
    assert places is not None
    hard = solved > 0.3 * solved.max()
    assert hard.sum() > 30
    told, alone_ = (one[1, which].max(axis=1)[hard] / solved[hard] for one in (found, places))
    assert told.min() > 0.93
    assert np.quantile(told, 0.05) > 0.98
    assert told.max() < 1.05
    assert alone_.min() < 0.9


# An even disc is many points. A point's moments on an infinite plate are -P / 8 pi (2 (1 + nu) ln r + 3 + nu) along r
# and -P / 8 pi (2 (1 + nu) ln r + 1 + 3 nu) round it, but for a constant: w = P r2 ln r / 8 pi D, Timoshenko &
# Woinowsky-Krieger (1959), art. 16 and 51. 1e-3 of the 1 / 4 pi in its middle, by the fineness of the sum.
@pytest.mark.parametrize("nu", [0.0, 0.2, 0.3])
def test_the_moment_of_an_even_disc_is_that_of_many_points(nu: float) -> None:
    radius = 0.05
    r = radius * np.sqrt((np.arange(400) + 0.5) / 400)
    turn = (np.arange(400) + 0.5) * 2 * np.pi / 400
    disc = (r[:, None, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)).reshape(-1, 2)

    def summed(at: FloatArray) -> FloatArray:
        off = at - disc
        square = (off**2).sum(axis=1)
        log = (1 + nu) * np.log(square)
        along, around = -(log + 3 + nu) / (8 * np.pi), -(log + 1 + 3 * nu) / (8 * np.pi)
        c, s = off.T / np.sqrt(square)
        tensor = [along * c * c + around * s * s, along * s * s + around * c * c, (along - around) * s * c]
        return np.array([part.mean() for part in tensor])

    for at in np.array([[0.02, 0.01], [0.049, 0.0], [-0.03, 0.06], [0.0, -0.2]]):
        less = disc_moment(at, radius, nu) - disc_moment(np.zeros(2), radius, nu)
        assert less == pytest.approx(summed(at) - summed(np.zeros(2)), abs=1e-3 / (4 * np.pi))


def test_the_hardest_pull_says_what_it_is_made_of(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fem.plate.state_moments.places_of", lambda roaming, slab: places_of(roaming, slab, 40))
    stage = replace(STAGE, variations=WAYS, roaming=(SOMEBODY,))
    asked: list[tuple[Point, float, Face]] = [
        ((0.9, 0.08), 0.0, "underside"),
        ((0.62, 0.3), 0.3, "show"),
        ((0.2, 0.8), 1.0, "underside"),
    ]
    for at, angle, face in asked:  # one of them between the places
        (most,) = directional_moments(odd(), [stage], np.array([at]), np.array([angle]))
        pull = hardest_pull(odd(), stage, at, angle, face)
        assert most is not None
        assert pull is not None
        assert pull.moment == pytest.approx(most[FACES.index(face), 0, 0], rel=1e-9)
        across = in_directions(np.array([pull.tensor]), np.array([angle]))[0, 0]
        assert pull.moment == pytest.approx(across if face == "underside" else -across, rel=1e-9)
        assert (pull.at is None) == (pull.state != "somebody")
    under = hardest_pull(odd(), stage, (0.9, 0.08), 0.0, "underside")
    assert under is not None
    assert under.state == "somebody"
    edge = hardest_pull(odd(), ON_EDGE, (0.8, 0.02), 0.0, "show")
    assert edge is not None
    assert edge.membrane[0] > 0
    assert edge.moment == pytest.approx(edge.membrane[0] * T / 2 - edge.tensor[0], rel=1e-9)
