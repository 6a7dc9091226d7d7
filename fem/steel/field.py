"""One stacking of directions as the integer programme sees it: candidates, what they cost, cover and exclude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from fem.steel.capacity import Bars
from fem.steel.covering import Covering
from fem.steel.model import Run
from fem.steel.stacking import Stacking

__all__ = ["Field", "clashes_of", "together"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Field:
    """One stacking as the integer programme sees it: its candidates in the layers' turn, and what they must cover.

    cost (r,) [m] with laps; clashes (c, r). covering asks for what is owed less what kept, the runs laid in any case,
    give; where even all runs fall short of what is owed, for most of what they give.
    """

    stacking: Stacking
    bars: tuple[Bars, ...]
    cost: FloatArray
    clashes: sp.csr_matrix
    covering: Covering
    kept: tuple[Run, ...]

    def numbers(self, runs: Sequence[Run]) -> npt.NDArray[np.bool_]:
        """Which candidates lie where these runs lie (r,)."""
        found = []
        for bed, bars in zip(self.stacking, self.bars, strict=True):
            laid = np.array([run.points for run in runs if (run.face, run.layer) == (bed.face, bed.layer)])
            c, s = np.cos(bed.angle), np.sin(bed.angle)
            along, across = laid.reshape(-1, 2, 2) @ (c, s), laid.reshape(-1, 2, 2) @ (-s, c)
            have = np.stack([across.mean(axis=1), along.min(axis=1), along.max(axis=1)], axis=1)
            are = np.stack([bars.offset, bars.begin, bars.end], axis=1)
            found.append((abs(are[:, None] - have).max(axis=2) < 1e-6).any(axis=1))
        return np.concatenate([np.zeros(0, dtype=bool), *found])

    @property
    def pairs(self) -> list[IntArray]:
        """Candidates of every two layers, by number; of the layer if there is but one."""
        ends = np.cumsum([0, *(len(one.offset) for one in self.bars)])
        each = [np.arange(a, b) for a, b in pairwise(ends)]
        return [np.concatenate(two) for two in combinations(each, 2)] or each


def together(bars: Bars, pitch: float) -> FloatArray:
    """1 for each bar of a set that may all be laid at once, 0 for the others (r,): those that come first go first."""
    close = abs(np.subtract.outer(bars.offset, bars.offset)) < pitch * (1 - 1e-6)
    over = np.minimum.outer(bars.end, bars.end) > np.maximum.outer(bars.begin, bars.begin)
    clash = np.tril(close & over, -1)
    laid = np.ones(len(bars.offset))
    for number in np.flatnonzero(clash.any(axis=1)):
        laid[number] = not (clash[number] & (laid > 0)).any()
    return laid


def clashes_of(bars: Sequence[Bars], pitch: float) -> sp.csr_matrix:
    """Pairs of candidates of one layer that would lie closer to each other than the pitch."""
    pairs, start = [], 0
    for one in bars:
        i, j = np.triu_indices(len(one.offset), 1)
        on = abs(one.offset[i] - one.offset[j]) < pitch * (1 - 1e-6)
        over = np.minimum(one.end[i], one.end[j]) > np.maximum(one.begin[i], one.begin[j])
        pairs.append(np.stack([i, j], axis=1)[on & over] + start)
        start += len(one.offset)
    both = np.concatenate(pairs) if pairs else np.empty((0, 2), dtype=np.int64)
    row = np.repeat(np.arange(len(both)), 2)
    return sp.csr_matrix((np.ones(len(row)), (row, both.ravel())), shape=(len(both), start))
