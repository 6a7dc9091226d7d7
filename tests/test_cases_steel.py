"""The four cases of one L-shaped top: a plan, and three habits of shops judged by the same demand."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from api.case import load_case
from api.solve import solve_case
from api.steel.found import SteelFound
from api.steel.settings import settings_of
from fem.steel.detailing import layer_depth
from fem.steel.judging import judge
from fem.steel.model import Face, Judgement
from fem.steel.section import run_strength
from meshing.shape import Shape

CASES = Path(__file__).resolve().parents[1] / "cases"
HABITS = ("mat-at-mid-depth", "rings", "crosswise")


@cache
def planned() -> tuple[SteelFound, Shape]:
    """What was found for the plan, and the slab."""
    solved = solve_case(load_case(CASES / "l-shape-steel-plan.toml"), advice=False)
    assert solved.steel is not None
    return solved.steel, solved.piece.shape


@cache
def judged(habit: str) -> Judgement:
    """A habit's layout against what the plan's stages owe."""
    found, shape = planned()
    settings = settings_of(load_case(CASES / f"l-shape-steel-{habit}.toml"))
    worth = lambda steel, arm: run_strength(steel, arm, settings.rules.pitch, settings.concrete, settings.code)  # noqa: E731
    return judge(settings.given, shape.region(1e-4), settings.thickness, found.demand, settings.rules, worth)


@pytest.mark.parametrize("habit", HABITS)
def test_all_are_one_slab_with_one_life(habit: str) -> None:
    def rest(name: str) -> dict[str, object]:
        data = load_case(CASES / f"l-shape-steel-{name}.toml").si()
        return {key: value for key, value in data.items() if key not in ("title", "steel")}

    assert rest(habit) == rest("plan")


# Law, no source: both faces owe steel, and the plan carries it wherever it was looked at, with less than the even mat.
def test_the_plan_carries_all_with_far_less_than_the_mat() -> None:
    found, _ = planned()
    plan = found.plan
    assert plan is not None
    assert all((found.demand.needed[face] > 0).any() for face in ("show", "underside"))
    assert plan.failures == ()
    assert plan.carried.factor >= 1
    assert {run.face for run in plan.runs} == {"show", "underside"}
    assert plan.mat is not None
    assert plan.mat.carried.factor >= 1
    assert plan.length < 0.85 * plan.mat.length
    assert plan.bound <= plan.length


# Common practice, no source: steel at mid-depth carries little, and a ring round an opening nothing across its corners.
def test_the_habits_carry_next_to_nothing_where_it_counts() -> None:
    found, _ = planned()
    assert found.plan is not None
    mat, rings, crosswise = (judged(habit) for habit in HABITS)
    assert 0 < mat.carried.factor < 0.2
    assert rings.carried.factor == 0
    assert crosswise.carried.factor == 0
    # Two thirds of the plan's steel, and a tenth of its worth.
    assert mat.length > 0.65 * found.plan.length
    assert found.plan.factor_of_all is not None
    assert mat.carried.factor < 0.1 * found.plan.factor_of_all
    assert len(rings.pulls_out) == 5, "the corners of the sink, and the inner corner"
    share = {habit: judged(habit).carried.share("underside") or 0.0 for habit in HABITS}
    assert share["crosswise"] < share["rings"] < 0.6
    assert (found.plan.carried.share("underside"), found.plan.carried.share("show")) == (1.0, 1.0)


# Half-way down, a run serves both faces with half the depth as its arm.
@pytest.mark.parametrize("face", ["show", "underside"])
def test_mid_depth_is_half_an_arm(face: Face) -> None:
    found, _ = planned()
    settings = settings_of(load_case(CASES / "l-shape-steel-mat-at-mid-depth.toml"))
    near = layer_depth(settings.thickness, settings.covers, settings.steel, face, 0)
    best = settings.thickness - near if face == "show" else near
    for run in settings.given:
        arm = settings.thickness - run.depth if face == "show" else run.depth
        assert 0.4 < arm / settings.thickness < 0.6
        assert arm < 0.8 * best
    assert found.steel == settings.steel
