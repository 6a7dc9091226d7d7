"""Variations of a stage against stages of their own; what is told aside; a moved support; many contact problems."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fem.plate.analysis import analyse_prepared, moved
from fem.plate.contact import can_balance, solve_contact, solve_contacts
from fem.plate.model import (
    HAND_STIFFNESS,
    Edgewise,
    Face,
    LinePlace,
    Load,
    PlateCase,
    Point,
    PointPlace,
    Probe,
    Roaming,
    Stage,
    StageResult,
    Support,
    Variation,
)
from fem.plate.prepared import Prepared, prepare
from meshing.shape import Shape, polygon, rectangle
from meshing.sizing import Fineness
from tests.plates import mesh_of
from tests.test_contact import random_problem

T = 0.04
CASE = PlateCase(T, 2400.0, 0.2)
WEIGHT = 2400.0 * CASE.gravity * T
FACES: tuple[Face, Face] = ("show", "underside")
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
)
STAGE = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, SUPPORTS, (Load("pot", PointPlace((0.2, 0.8), 0.2), 150.0),))
PERSON = Load("person", PointPlace((1.4, 0.5), 0.1), 600.0)
PROBE = Probe("here", (0.3, 0.3))


@cache
def odd() -> Prepared:
    return prepare(mesh_of(ODD, T, COARSE), CASE)


@cache
def strip() -> Prepared:
    return prepare(mesh_of(Shape(rectangle((1.0, 0.3), (2.0, 0.6))), T, COARSE), CASE)


def solve(stage: Stage, prepared: Prepared | None = None) -> StageResult:
    return analyse_prepared(prepared or odd(), [stage], [PROBE]).stages[0]


def same(one: StageResult, two: StageResult) -> None:
    """The same answer to round-off, from the peaks to the forces."""
    assert one.status == two.status
    assert one.peaks is not None
    assert two.peaks is not None
    for face in FACES:
        assert one.peaks[face].tension.tension == pytest.approx(two.peaks[face].tension.tension, rel=1e-8)
        assert one.peaks[face].tension.error == pytest.approx(two.peaks[face].tension.error, rel=1e-5)
        assert one.peaks[face].at == pytest.approx(two.peaks[face].at, abs=1e-9)
        assert one.envelope[face] == pytest.approx(two.envelope[face], rel=1e-8, abs=1e-3)
    assert one.w == pytest.approx(two.w, rel=1e-8, abs=1e-12)
    assert [s.force for s in one.supports] == pytest.approx([s.force for s in two.supports], rel=1e-7, abs=1e-6)


SHIMMED = (SUPPORTS[0], replace(SUPPORTS[1], gap=-0.0005), *SUPPORTS[2:])
ALONE: dict[str, tuple[Variation, Stage]] = {
    "other supports": (Variation("way", SUPPORTS[:3]), replace(STAGE, supports=SUPPORTS[:3])),
    "shimmed": (Variation("way", SHIMMED), replace(STAGE, supports=SHIMMED)),
    "more loads": (Variation("way", loads=(PERSON,)), replace(STAGE, loads=(*STAGE.loads, PERSON))),
    "heavier": (Variation("way", multiplier=1.8), replace(STAGE, multiplier=1.8)),
    "thrown up": (Variation("way", multiplier=-0.3, loads=(PERSON,), supports=tuple(
        replace(s, action="hold") for s in SUPPORTS)),
        replace(STAGE, multiplier=-0.3, loads=(*STAGE.loads, PERSON), supports=tuple(
            replace(s, action="hold") for s in SUPPORTS))),
    "all at once": (
        Variation("way", SHIMMED, (PERSON,), 1.5),
        replace(STAGE, supports=SHIMMED, loads=(*STAGE.loads, PERSON), multiplier=1.5),
    ),
}  # fmt: skip


# Law, no source: a state is what it is, whichever stage it is asked in. The stage answers for the worse of the two.
@pytest.mark.parametrize("up", FACES)
@pytest.mark.parametrize("name", ALONE)
def test_a_variation_is_that_stage_by_itself(name: str, up: Face) -> None:
    way, alone = ALONE[name]
    together = solve(replace(STAGE, up=up, variations=(way,)))
    base, other = solve(replace(STAGE, up=up)), solve(replace(alone, up=up))
    assert together.peaks is not None
    assert base.peaks is not None
    assert other.peaks is not None
    for face in FACES:
        governs = other if other.peaks[face].tension.tension > base.peaks[face].tension.tension else base
        assert governs.peaks is not None
        assert together.worst[face].variation == ("way" if governs is other else "")
        peak = governs.peaks[face]
        assert together.peaks[face].tension.tension == pytest.approx(peak.tension.tension, rel=1e-8)
        assert together.peaks[face].tension.error == pytest.approx(peak.tension.error, rel=1e-5)
        assert together.peaks[face].at == pytest.approx(peak.at, abs=1e-9)
        assert together.worst[face].moment == pytest.approx(governs.moment, rel=1e-7, abs=1e-4)
        both = np.maximum(base.envelope[face], other.envelope[face])
        n = len(odd().mesh.nodes)
        assert together.envelope[face][:n] == pytest.approx(both[:n], rel=1e-8, abs=1e-3)
    # The stage as it stands stays what is told of supports and probes.
    assert [s.force for s in together.supports] == pytest.approx([s.force for s in base.supports], rel=1e-9)
    assert together.probes[0].w == pytest.approx(base.probes[0].w, rel=1e-9)


def test_the_order_of_variations_does_not_matter() -> None:
    ways = tuple(replace(way, name=name) for name, (way, _) in ALONE.items())
    same(solve(replace(STAGE, variations=ways)), solve(replace(STAGE, variations=ways[::-1])))


# A strip whose right end is held down: at rest it falls, which is told and tips nothing; if its overhang stands, the
# worse of both is shown.
def test_supports_that_pull_are_solved_at_rest_as_well() -> None:
    left, middle = line("left", (0.05, 0.05), (0.05, 0.55)), line("middle", (1.2, 0.05), (1.2, 0.55))
    held = (replace(left, action="hold"), middle)
    resting = Variation("'left' at rest", (left, middle))
    # 0.8 m beyond the middle rest, 0.2 m short of it the weight: P 0.75 against W 0.2.
    least = WEIGHT * 1.2 * 0.2 / 0.75
    for share, falls in ((1.01, True), (0.99, False)):
        load = (Load("person", PointPlace((1.95, 0.3), 0.05), share * least),)
        stage = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, held, load, variations=(resting,))
        result = solve(stage, strip())
        assert result.status != "tips"
        assert any("'left' at rest" in note and "falls" in note for note in result.notes) is falls
        assert (result.supports[0].force < 0) is falls
        # Short of falling the ends of the line still pull, so at rest it is another state.
        assert result.worst["show"].variation == ("" if falls else "'left' at rest")


def test_at_rest_is_the_worse_one_where_it_is() -> None:
    # A clamp at rest lets go of what it turned: the strip between is a simple span.
    ends = tuple(line(name, (x, 0.02), (x, 0.58)) for name, x in (("left", 0.02), ("right", 1.98)))
    clamped = (replace(ends[0], action="clamp"), replace(ends[1], action="clamp"))
    stage = Stage("use", "show", 1.0, 3e10, 3e6, 2e6, clamped, variations=(Variation("all supports at rest", ends),))
    result, simple = solve(stage, strip()), solve(replace(stage, supports=ends, variations=()), strip())
    assert result.worst["underside"].variation == "all supports at rest"
    assert result.worst["show"].variation == ""
    assert result.peaks is not None
    assert simple.peaks is not None
    peak = result.peaks["underside"].tension.tension
    assert peak == pytest.approx(simple.peaks["underside"].tension.tension, rel=1e-8)
    # w L2 / 8 on 1.96 m, and at most 1 / (1 - nu2) where the lines keep it from curling across. Beam theory.
    beam = 6 / T**2 * WEIGHT * (1.96**2 / 8 - 0.02**2 / 2)
    assert beam * 0.999 < peak < beam / (1 - 0.2**2)


def hand(name: str, x: float, y: float) -> Support:
    return Support(name, PointPlace((x, y), 0.1), "rest", 0.0, HAND_STIFFNESS)


# Four soft hands share by balance alone; the slab turns as a plane on them. Statics: on equal springs at (x, y) from
# their middle the force is W (1 / 4 + x ex / sum x2 + y ey / sum y2). Three hands are decided by moments.
def test_a_hand_that_lets_go() -> None:
    at = {"a": (0.3, 0.1), "b": (1.8, 0.1), "c": (1.8, 0.5), "d": (0.3, 0.5)}
    hands = tuple(hand(name, *xy) for name, xy in at.items())
    ways = tuple(Variation(f"hand '{s.name}' lets go", tuple(o for o in hands if o is not s)) for s in hands)
    stage = Stage("carry", "show", 1.0, 3e10, 3e6, 2e6, hands, variations=ways)
    result = solve(stage, strip())
    weight = WEIGHT * 1.2
    expected = [weight * (1 / 4 + (x - 1.05) * (1.0 - 1.05) / (4 * 0.75**2)) for x, _ in at.values()]
    # What the slab bends is 1 % of what the hands give by.
    assert [s.force for s in result.supports] == pytest.approx(expected, rel=2e-2)
    # Without the far hands of either diagonal the middle at (1, 0.3) lies on a, c, d's or b, d, a's side; so two fall.
    falls = [note for note in result.notes if "falls" in note]
    assert len(falls) == 1
    assert "'a' lets go" in falls[0]
    assert "'d' lets go" in falls[0]
    assert "'b' lets go" not in falls[0]
    governs = result.worst["show"]
    assert governs.variation in {"hand 'b' lets go", "hand 'c' lets go"}
    alone = solve(replace(stage, supports=ways[1].supports or (), variations=()), strip())
    # Moments about the line d-a: 0.7 m of 1.5; about a: y 0.2 of 0.4 m.
    share = np.array([[1, 1, 1], [0.3, 1.8, 0.3], [0.1, 0.5, 0.5]])
    assert [s.force for s in alone.supports] == pytest.approx(
        np.linalg.solve(share, weight * np.array([1, 1.0, 0.3])), rel=1e-6
    )
    assert alone.peaks is not None
    assert result.peaks is not None
    found = result.peaks["show"].tension.tension
    # The other diagonal is its mirror image, on a mesh that is not.
    assert found == pytest.approx(alone.peaks["show"].tension.tension, rel=1e-2)


ROAMING = Roaming("somebody", 500.0, 0.1, (((0.1, 0.1), (0.4, 0.1), (0.4, 0.9), (0.1, 0.9)),))
CHANGES: dict[str, Stage] = {
    "support": replace(STAGE, supports=(line("left", (0.1, 0.05), (0.1, 1.0)), *SUPPORTS[1:])),
    "gap": replace(STAGE, supports=SHIMMED),
    "load": replace(STAGE, loads=(PERSON,)),
    "load, heavier": replace(STAGE, loads=(replace(PERSON, amount=800.0),)),
    "modulus": replace(STAGE, modulus=1e10),
    "face": replace(STAGE, up="underside"),
    "roaming": replace(STAGE, roaming=(ROAMING,)),
    "roaming, heavier": replace(STAGE, roaming=(replace(ROAMING, amount=700.0),)),
    "levels": replace(STAGE, levels=True),
    "variation": replace(STAGE, variations=(ALONE["all at once"][0],)),
    "on edge": replace(
        STAGE,
        multiplier=0.2,
        edgewise=Edgewise((0.0, -1.0), 1.4, (4, 5)),
        supports=(
            *(replace(s, action="hold") for s in SUPPORTS),
            *(Support(f"foot {x}", PointPlace((x, 0.0), 0.1), "rest", face=False) for x in (0.3, 1.3)),
        ),
    ),
}  # fmt: skip


def test_what_has_not_moved_is_not_solved_again() -> None:
    # One after the other with what was kept of all before: every answer is that of the whole solved anew.
    kept = None
    for stage in (STAGE, *CHANGES.values(), STAGE):
        result, kept = moved(odd(), stage, kept, [PROBE])
        same(result, solve(stage))
        assert kept is not None
        assert len(result.levels) == (len(stage.supports) if stage.levels else 0)


def test_what_is_kept_does_not_change_under_a_page() -> None:
    _, first = moved(odd(), STAGE)
    before = None if first.columns is None else dict(vars(first.columns))
    moved(odd(), CHANGES["support"], first)
    again, _ = moved(odd(), STAGE, first)
    same(again, solve(STAGE))
    assert before == (None if first.columns is None else dict(vars(first.columns)))


# Many loads at once against one at a time, on contacts as in test_contact.py, some of which cannot balance.
@pytest.mark.parametrize("seed", range(500, 520))
def test_many_contact_problems_are_each_its_own(seed: int) -> None:
    random = np.random.default_rng(seed)
    p = random_problem(seed, s=int(random.integers(3, 40)), two_sided=0.1 * (seed % 2))
    v, s = 12, len(p.gap)
    displacement = p.displacement[:, None] + 2e-5 * random.standard_normal((s, v))
    at = random.uniform(-0.3, 2.3, (2, v))
    load = p.load[:, None] * random.uniform(0.2, 1, v) + 400 * np.concatenate([np.ones((1, v)), at])
    found = solve_contacts(p, displacement, load)
    for k in range(v):
        one = replace(p, displacement=displacement[:, k], load=load[:, k])
        balances = can_balance(one.motion, one.load, one.one_sided, one.length)[0]
        assert found.stands[k] == balances
        if not balances:
            continue
        alone = solve_contact(one)
        assert found.converged[k] == alone.converged
        assert np.abs(found.force[:, k] - alone.force).max() <= 1e-8 * np.abs(alone.force).max()
        if not alone.rocks:
            sunk = p.motion.T @ (found.motion[:, k] - alone.motion)
            assert np.abs(sunk).max() <= 1e-7 * np.abs(p.flexibility).max() * np.abs(alone.force).max()


def test_some_of_those_cannot_balance() -> None:
    random = np.random.default_rng(1)
    p = random_problem(501, s=12, two_sided=0.0)
    at = random.uniform(-0.5, 2.5, (2, 200))
    load = np.concatenate([np.ones((1, 200)), at])
    stands = solve_contacts(p, np.repeat(p.displacement[:, None], 200, axis=1), load).stands
    assert 20 < stands.sum() < 180
