"""Which of many runs to lay: the integer programme, least cost so that every place is covered.

minimise cost x over x in {0, 1}, so that rows x >= 1 for the row of every place, and of the runs of a clash no more
than one is laid. There are far too many places to hand over at once, and few of them decide: the programme is solved
with some, those that the answer leaves short are added, and so on until there are none. What was proven with fewer
rows holds with more: the bound is one for the whole model.

Solved by HiGHS (Huangfu & Hall, Parallelizing the dual revised simplex method, Math. Prog. Comp. 10, 2018) through
SciPy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

__all__ = ["Chosen", "Places", "Relaxed", "choose", "relax"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_ROUNDS = 60


class Places(Protocol):
    """Every place that must be covered."""

    def rows(self, places: IntArray) -> sp.csr_matrix:
        """Their rows (k, r)."""

    def short(self, x: FloatArray) -> IntArray:
        """Places that x (r,) leaves short, worst first; none: all are covered."""


@dataclass(frozen=True, eq=False)
class Relaxed:
    """The programme with fractions allowed: x (r,), cost, a bound for whole runs, and the places that decide it.

    exact: whether all places were asked for.
    """

    x: FloatArray
    cost: float
    places: IntArray
    exact: bool


@dataclass(frozen=True, eq=False)
class Chosen:
    """laid (r,) whether each is laid, what that costs, a bound that no choice beats, the places that were asked for."""

    laid: BoolArray
    cost: float
    bound: float
    places: IntArray


def relax(cost: FloatArray, every: Places, clashes: sp.csr_matrix, places: IntArray, enough: float = np.inf) -> Relaxed:
    """The best mixture of fractions of runs; stops early once it costs more than enough.

    clashes (c, r) of 0 and 1. places: those to begin with. ValueError where no choice covers all.
    """
    x, value = np.zeros(len(cost)), 0.0
    for _ in range(_ROUNDS):
        if len(places):
            rows = every.rows(places)
            found = linprog(
                cost,
                A_ub=sp.vstack([-rows, clashes], format="csr"),
                b_ub=np.concatenate([-np.ones(len(places)), np.ones(clashes.shape[0])]),
                bounds=(0, 1),
                method="highs",
            )
            if found.x is None:
                raise ValueError(f"no choice of runs covers every place: {found.message}")
            x, value = np.asarray(found.x), float(cost @ found.x)
            if value > enough:
                return Relaxed(x, value, places, False)
            places = places[rows @ x < 1.25]
        short = every.short(x)
        if not len(short):
            break
        places = np.concatenate([places, short])
    return Relaxed(x, value, places, True)


def choose(
    cost: FloatArray,
    every: Places,
    clashes: sp.csr_matrix,
    start: Relaxed,
    gap: float = 0.02,
    enough: float = 0.04,
    seconds: float = 10.0,
) -> Chosen:
    """The cheapest whole runs, proven within enough (a share) of the best unless the seconds run out first.

    Each programme is solved to gap; what its answer leaves short is mended by the fewest more runs, and only if that is
    not good enough the programme is solved anew with the places that were short. seconds: the most that one solution
    may take. ValueError where no choice covers all.
    """
    places, bound = start.places, start.cost
    best: BoolArray | None = None
    if start.exact and not len(places):
        return Chosen(np.zeros(len(cost), dtype=bool), 0.0, 0.0, places)
    for _ in range(_ROUNDS):
        laid, proven = _solved(cost, every.rows(places), clashes, np.zeros(len(cost)), gap, seconds)
        if laid is None:
            raise ValueError("no choice of runs covers every place, or none was found in time")
        bound = max(bound, proven)
        mended, short = _mended(cost, every, clashes, laid, seconds)
        if mended is not None:
            whole = _without_idle(cost, mended, every)
            best = whole if best is None or cost @ whole < cost @ best else best
        if best is not None and (not len(short) or cost @ best <= (1 + enough) * bound):
            return Chosen(best, float(cost @ best), bound, places)
        places = np.concatenate([places, short])
    raise ValueError(f"no choice of runs that covers every place was found in {_ROUNDS} rounds")


def _solved(
    cost: FloatArray, rows: sp.csr_matrix, clashes: sp.csr_matrix, least: FloatArray, gap: float, seconds: float
) -> tuple[BoolArray | None, float]:
    """The cheapest choice for these rows that has what least (r,) has, or None, and its bound."""
    asked = ((rows, 1, np.inf), (clashes, 0, 1))
    found = milp(
        cost,
        integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(least, 1),
        constraints=[LinearConstraint(matrix, low, high) for matrix, low, high in asked if matrix.shape[0]],
        options={"mip_rel_gap": gap, "time_limit": seconds},
    )
    if found.x is None:
        return None, 0.0
    return np.asarray(found.x) > 0.5, float(found.mip_dual_bound)


def _mended(
    cost: FloatArray, every: Places, clashes: sp.csr_matrix, laid: BoolArray, seconds: float
) -> tuple[BoolArray | None, IntArray]:
    """The choice with the cheapest runs added that cover what it leaves short, and the places that were short.

    None where only another choice does it.
    """
    added = np.zeros(0, dtype=np.int64)
    for _ in range(_ROUNDS):
        short = every.short(laid.astype(np.float64))
        if not len(short):
            break
        added = np.concatenate([added, short])
        more, _ = _solved(cost, every.rows(added), clashes, laid.astype(np.float64), 0.01, seconds)
        if more is None:
            return None, added
        laid = more
    return laid, added


def _without_idle(cost: FloatArray, laid: BoolArray, every: Places) -> BoolArray:
    """The same without runs that nothing misses, the dearest first."""
    left = laid.copy()
    for run in np.flatnonzero(laid)[np.argsort(-cost[laid], kind="stable")]:
        left[run] = False
        left[run] = len(every.short(left.astype(np.float64))) > 0
    return left
