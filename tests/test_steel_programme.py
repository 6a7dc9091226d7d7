"""The integer programme: the optimum of small ones by trying every subset, the bound, and rows brought as needed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
import scipy.sparse as sp

from fem.steel.programme import choose, relax

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

NONE = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Every:
    """All places of a dense matrix (k, r), shown one at a time, the worst."""

    matrix: FloatArray

    def rows(self, places: IntArray) -> sp.csr_matrix:
        return sp.csr_matrix(self.matrix[places])

    def short(self, x: FloatArray) -> IntArray:
        slack = self.matrix @ x - 1
        worst = int(slack.argmin())
        return np.array([worst]) if slack[worst] < -1e-7 else NONE


def random(seed: int, runs: int = 12, places: int = 40) -> tuple[FloatArray, Every, sp.csr_matrix]:
    rng = np.random.default_rng(seed)
    cost = rng.uniform(0.5, 2.0, runs)
    matrix = rng.uniform(0, 1, (places, runs)) * (rng.random((places, runs)) < 0.6)
    matrix = np.minimum(matrix / np.minimum(matrix.sum(axis=1, keepdims=True) * 0.7, 1), 1)
    pair = rng.choice(runs, 2, replace=False)
    clashes = np.zeros((1, runs))
    clashes[0, pair] = 1
    return cost, Every(matrix), sp.csr_matrix(clashes)


def cheapest(cost: FloatArray, every: Every, clashes: sp.csr_matrix) -> float:
    """Every subset tried."""
    subsets = (np.arange(2 ** len(cost))[:, None] >> np.arange(len(cost))) & 1
    good = (subsets @ every.matrix.T >= 1 - 1e-9).all(axis=1) & (subsets @ clashes.toarray().T <= 1).all(axis=1)
    return float((subsets @ cost)[good].min(initial=np.inf))


@pytest.mark.parametrize("seed", range(30))
def test_small_ones_reach_the_optimum_of_all_subsets(seed: int) -> None:
    cost, every, clashes = random(seed)
    best = cheapest(cost, every, clashes)
    if np.isinf(best):
        with pytest.raises(ValueError, match="no choice of runs"):
            choose(cost, every, clashes, relax(cost, every, clashes, NONE), enough=0)
        return
    relaxed = relax(cost, every, clashes, NONE)
    found = choose(cost, every, clashes, relaxed, enough=0)
    assert found.cost == pytest.approx(best, rel=1e-9)
    assert found.cost == pytest.approx(float(cost @ found.laid), rel=1e-12)
    assert relaxed.cost <= found.bound * (1 + 1e-9) <= best * (1 + 2e-9)
    assert not len(every.short(found.laid.astype(float)))
    assert (clashes @ found.laid).max() <= 1


@pytest.mark.parametrize("seed", range(10))
def test_a_gap_is_kept_and_its_bound_is_true(seed: int) -> None:
    cost, every, clashes = random(100 + seed, runs=14)
    best = cheapest(cost, every, clashes)
    found = choose(cost, every, clashes, relax(cost, every, clashes, NONE), enough=0.15)
    assert found.bound <= best * (1 + 1e-9)
    assert best <= found.cost * (1 + 1e-9) <= 1.15 * found.bound * (1 + 2e-9)
    assert not len(every.short(found.laid.astype(float)))


# Out of time after one rough answer: choosing two groups anew in turns never makes it dearer or leaves a place short.
@pytest.mark.parametrize("seed", range(10))
def test_groups_chosen_anew_better_a_rough_answer(seed: int) -> None:
    cost, every, clashes = random(200 + seed, runs=14)
    start = relax(cost, every, clashes, NONE)
    rough = choose(cost, every, clashes, start, enough=0.2, seconds=0.0)
    groups = [np.arange(0, 9), np.arange(5, 14)]
    bettered = choose(cost, every, clashes, start, enough=0.0, seconds=0.3, groups=groups)
    assert cheapest(cost, every, clashes) * (1 - 1e-9) <= bettered.cost <= rough.cost * (1 + 1e-9)
    assert not len(every.short(bettered.laid.astype(float)))
    assert (clashes @ bettered.laid).max() <= 1


def test_nothing_owed_lays_nothing() -> None:
    every = Every(np.full((1, 3), 5.0))
    free = Every(np.ones((1, 3)) * 1e9)
    clashes = sp.csr_matrix((0, 3))
    assert choose(np.ones(3), every, clashes, relax(np.ones(3), every, clashes, NONE)).cost == pytest.approx(1.0)
    nothing = Nothing()
    found = choose(np.ones(3), nothing, clashes, relax(np.ones(3), nothing, clashes, NONE))
    assert (found.cost, found.bound) == (0.0, 0.0)
    assert not found.laid.any()
    assert free.short(np.zeros(3)).tolist() == [0]


class Nothing:
    """No place asks for anything."""

    def rows(self, places: IntArray) -> sp.csr_matrix:
        return sp.csr_matrix((len(places), 3))

    def short(self, x: FloatArray) -> IntArray:
        return NONE


def test_a_search_that_costs_too_much_is_given_up_with_a_bound() -> None:
    cost, every, clashes = random(3)
    whole = relax(cost, every, clashes, NONE)
    given_up = relax(cost, every, clashes, NONE, enough=0.5 * whole.cost)
    assert whole.exact
    assert not given_up.exact
    assert 0.5 * whole.cost < given_up.cost <= whole.cost * (1 + 1e-9)


def test_what_cannot_be_covered_is_refused() -> None:
    every = Every(np.full((1, 2), 0.3))
    with pytest.raises(ValueError, match="covers every place"):
        relax(np.ones(2), every, sp.csr_matrix((0, 2)), NONE)
