"""The best few of many places by exchange: each in turn moved everywhere, from several starts, then two at a time."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import numpy as np
import numpy.typing as npt

__all__ = ["Score", "all_subsets", "exchanged", "first_guesses"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Score (m,) of subsets (m, k), the less the better, inf where it cannot be.
Score = Callable[[IntArray], FloatArray]

_SWEEPS = 20
_ROUNDS = 6


def all_subsets(count: int, size: int) -> IntArray:
    """All subsets of so many of the numbers below count, (m, size), in order.

    >>> all_subsets(3, 2).tolist()
    [[0, 1], [0, 2], [1, 2]]
    """
    flat = np.fromiter((k for one in combinations(range(count), size) for k in one), dtype=np.int64)
    return flat.reshape(-1, size)


def first_guesses(points: FloatArray, size: int, evenly: int, at_random: int) -> IntArray:
    """Subsets (m, size) to begin with: evenly spread in the points' order, far from each other, and any.

    points (c, 2) [m], c >= size; always the same for the same points.
    """
    c = len(points)
    step = np.arange(size) * c / size
    turned = [np.floor(step + k * c / size / evenly).astype(np.int64) % c for k in range(evenly)]
    random = np.random.default_rng(c)
    any_of = [random.choice(c, size, replace=False) for _ in range(at_random)]
    return np.unique(np.sort(np.array([*turned, _far_apart(points, size), *any_of]), axis=1), axis=0)


def exchanged(score: Score, count: int, guesses: IntArray, pairs: int) -> IntArray:
    """The subsets (m, k) that no exchange of one improves, best first; the best `pairs` of them of no two either."""
    found, value = _one_by_one(score, count, guesses)
    for _ in range(_ROUNDS if guesses.shape[1] > 1 else 0):
        better, least = found[:pairs].copy(), value[:pairs].copy()
        for k, one in enumerate(found[:pairs]):
            trial = _two_changed(one, count)
            values = score(trial)
            best = int(np.argmin(values))
            if values[best] < least[k]:
                better[k], least[k] = trial[best], values[best]
        if not np.any(least < value[:pairs] * (1 - 1e-9)):
            break
        found, value = _one_by_one(score, count, np.concatenate([better, found]))
    return found


def _one_by_one(score: Score, count: int, guesses: IntArray) -> tuple[IntArray, FloatArray]:
    found = np.unique(np.sort(guesses, axis=1), axis=0)
    value = score(found)
    for _ in range(_SWEEPS):
        before = value
        for slot in range(found.shape[1]):
            trial = np.repeat(found[:, None], count, axis=1)
            trial[:, :, slot] = np.arange(count)
            values = _valid(score, trial.reshape(-1, found.shape[1])).reshape(len(found), count)
            best = values.argmin(axis=1)
            least = values[np.arange(len(found)), best]
            moved = least < value
            found[moved, slot] = best[moved]
            value = np.where(moved, least, value)
        found, kept = np.unique(np.sort(found, axis=1), axis=0, return_index=True)
        value, before = value[kept], before[kept]
        if not np.any(value < before):
            break
    order = np.argsort(value, kind="stable")
    return found[order], value[order]


def _valid(score: Score, trial: IntArray) -> FloatArray:
    """The score, each subset once; inf where a place is taken twice."""
    ordered = np.sort(trial, axis=1)
    once, where = np.unique(ordered, axis=0, return_inverse=True)
    value = np.full(len(once), np.inf)
    good = np.all(np.diff(once, axis=1) > 0, axis=1)
    value[good] = score(once[good])
    return np.asarray(value[where.reshape(-1)])


def _two_changed(one: IntArray, count: int) -> IntArray:
    """All subsets (m, k) that differ from this one (k,) in two places."""
    out = []
    rest = np.setdiff1d(np.arange(count), one)
    new = rest[all_subsets(len(rest), 2)]
    for pair in combinations(range(len(one)), 2):
        kept = np.delete(one, pair)
        out.append(np.column_stack([np.broadcast_to(kept, (len(new), len(kept))), new]))
    return np.sort(np.concatenate(out), axis=1)


def _far_apart(points: FloatArray, size: int) -> IntArray:
    """One by one the point farthest from those before it."""
    away = np.hypot(*(points - points.mean(axis=0)).T)
    taken = [int(away.argmax())]
    nearest = np.full(len(points), np.inf)
    for _ in range(size - 1):
        nearest = np.minimum(nearest, np.hypot(*(points - points[taken[-1]]).T))
        nearest[taken] = -1.0
        taken.append(int(nearest.argmax()))
    return np.array(taken)
