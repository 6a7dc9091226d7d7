"""Which of many runs to lay: the integer programme, least cost so that every place is covered.

minimise cost x over x in {0, 1}, so that rows x >= 1 for the row of every place, and of the runs of a clash no more
than one is laid. There are far too many places to hand over at once, and few of them decide: the programme is solved
with some, those that the answer leaves short are added, and so on until there are none. What was proven with fewer
rows holds with more: the bound is one for the whole model.

Solved by HiGHS (see fem.steel.whole).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Protocol

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.optimize import linprog

from fem.steel.whole import whole_runs

__all__ = ["Chosen", "Places", "Relaxed", "choose", "relax"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

_ROUNDS = 60
_LEAST = 1.0
_ROUGH = 0.12
_FEW_SHORT = 10
_TRIES = 6


class Places(Protocol):
    """Every place that must be covered."""

    def rows(self, places: IntArray) -> sp.csr_matrix:
        """Their rows (k, r)."""

    def short(self, x: FloatArray) -> IntArray:
        """Places that x (r,) leaves short, worst first; none: all are covered."""


@dataclass(frozen=True, eq=False)
class Relaxed:
    """The programme with fractions allowed: x (r,), cost, a bound for whole runs, and the places that were asked for.

    binding are those of them that decide it; exact: whether all places were asked for.
    """

    x: FloatArray
    cost: float
    places: IntArray
    binding: IntArray
    exact: bool


@dataclass(frozen=True, eq=False)
class Chosen:
    """laid (r,) whether each is laid, what that costs, a bound that no choice beats, the places that were asked for."""

    laid: BoolArray
    cost: float
    bound: float
    places: IntArray


def relax(
    cost: FloatArray,
    every: Places,
    clashes: sp.csr_matrix,
    places: IntArray,
    enough: float = np.inf,
    rounds: int = _ROUNDS,
) -> Relaxed:
    """The best mixture of fractions of runs; stops early once it costs more than enough, or after so many rounds.

    clashes (c, r) of 0 and 1. places: those to begin with. ValueError where no choice covers all.
    """
    x, value, binding = np.zeros(len(cost)), 0.0, places[:0]
    exact = False
    for _ in range(rounds):
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
            before = value
            x, value = np.asarray(found.x), float(cost @ found.x)
            given = rows @ x
            binding = places[given < 1 + 1e-6]
            if value > enough:
                return Relaxed(x, value, places, binding, False)
            if value > before * (1 + 1e-9):  # else it might turn in circles among choices that cost the same
                places = places[given < 1.25]
        short = every.short(x)
        exact = not len(short)
        if exact:
            break
        places = np.concatenate([places, short])
    return Relaxed(x, value, places, binding, exact)


def choose(
    cost: FloatArray,
    every: Places,
    clashes: sp.csr_matrix,
    start: Relaxed,
    enough: float = 0.0495,
    seconds: float = 10.0,
    groups: Sequence[IntArray] = (),
    begin: BoolArray | None = None,
) -> Chosen:
    """The cheapest whole runs, proven within enough (a share) of the best unless the seconds run out first.

    First the programme is solved roughly, time and again, to learn which places whole runs leave short; then nearly to
    enough. What an answer still leaves short is mended by the fewest more runs; then each of the groups of runs, given
    by their numbers, is chosen anew beside the others. begin: a choice to begin with, which may leave places short.
    ValueError where no choice covers all.
    """
    places, bound = start.places, start.cost
    best: BoolArray | None = None
    if start.exact and not len(places):
        return Chosen(np.zeros(len(cost), dtype=bool), 0.0, 0.0, places)
    end = monotonic() + seconds
    close = 0.9 * enough / (1 + enough)
    gap = max(_ROUGH, close)
    for _ in range(_ROUNDS):
        laid, begin = begin, None
        if laid is None:
            left = max(end - monotonic(), _LEAST)
            laid, proven = whole_runs(cost, every.rows(places), clashes, gap=gap, seconds=left)
            bound = max(bound, proven)
            laid = _rounded(start.x, clashes) if laid is None and best is None else laid
        short = places[:0]
        if laid is not None:
            mended, short = _mended(cost, every, clashes, laid)
            if mended is not None:
                whole = _without_idle(cost, mended, every)
                best = whole if best is None or cost @ whole < cost @ best else best
        if best is not None and cost @ best > (1 + enough) * bound:
            best, more = _bettered(cost, every, clashes, best, places, groups, end)
            short = np.concatenate([short, more])
        if best is not None and (monotonic() > end or cost @ best <= (1 + enough) * bound):
            break
        if laid is None or (gap == close and not len(short)):
            break
        if best is not None and (len(short) <= _FEW_SHORT or cost @ best <= (1 + enough) * cost @ laid):
            gap = close
        places = np.concatenate([places, short])
    if best is None:
        raise ValueError("no choice of runs covers every place, or none was found in time")
    return Chosen(best, float(cost @ best), bound, places)


def _rounded(x: FloatArray, clashes: sp.csr_matrix) -> BoolArray:
    """All runs of which more than a half is laid, of two that clash the greater part."""
    laid = x > 0.5
    for pair in clashes.toarray() > 0:
        if (laid & pair).sum() > 1:
            laid &= ~pair | (x == x[pair].max())
    return laid


def _mended(
    cost: FloatArray, every: Places, clashes: sp.csr_matrix, laid: BoolArray
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
        more, _ = whole_runs(cost, every.rows(added), clashes, laid, ~laid, gap=0.01, seconds=_LEAST)
        if more is None:
            return None, added
        laid = more
    return laid, added


def _bettered(
    cost: FloatArray,
    every: Places,
    clashes: sp.csr_matrix,
    laid: BoolArray,
    places: IntArray,
    groups: Sequence[IntArray],
    end: float,
) -> tuple[BoolArray, IntArray]:
    """The choice with one group after the other chosen anew while that helps, and places that were found short."""
    more = np.zeros(0, dtype=np.int64)
    waiting = list(range(len(groups)))
    while waiting and monotonic() < end:
        number = waiting.pop(0)
        free = np.zeros(len(cost), dtype=bool)
        free[groups[number]] = True
        for _ in range(_TRIES):
            rows = every.rows(np.concatenate([places, more]))
            tried, _ = whole_runs(cost, rows, clashes, laid, free, gap=0.005, seconds=_LEAST)
            if tried is None or cost @ tried >= cost @ laid * (1 - 1e-6):
                break
            short = every.short(tried.astype(np.float64))
            if not len(short):
                laid = tried
                waiting += [k for k in range(len(groups)) if k != number and k not in waiting]
                break
            more = np.concatenate([more, short])
    return laid, more


def _without_idle(cost: FloatArray, laid: BoolArray, every: Places) -> BoolArray:
    """The same without runs that nothing misses, the dearest first."""
    left = laid.copy()
    for run in np.flatnonzero(laid)[np.argsort(-cost[laid], kind="stable")]:
        left[run] = False
        left[run] = len(every.short(left.astype(np.float64))) > 0
    return left
