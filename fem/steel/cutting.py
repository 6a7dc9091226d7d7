"""The cut list: pieces of every length, laps where a run is longer than the stock, and the fewest stock pieces.

Which pieces are cut from which stock piece is the cutting stock problem of Gilmore and Gomory (Operations Research 9,
1961, 849-859): a pattern says how many pieces of each length come from one stock piece, and an integer programme picks
the patterns. Few patterns are all written out; of many, only those that the linear programme asks for. The saw takes
nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf, isfinite

import numpy as np
import numpy.typing as npt
import scipy.sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from fem.steel.model import Cut, Run, Steel

__all__ = ["CutList", "Pattern", "cut_list", "pieces_of"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_ALL_PATTERNS = 2000
_ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Pattern:
    """How count stock pieces of one steel are cut: lengths [m] with how many pieces of each; rest [m] is left over."""

    steel: str
    count: int
    pieces: tuple[tuple[float, int], ...]
    rest: float


@dataclass(frozen=True, slots=True)
class CutList:
    """Cuts, longest first; stock_pieces to buy and least, which no cutting beats; waste, the share thrown away.

    laps: how many laps there are, and marks of the runs that have one.
    """

    cuts: tuple[Cut, ...]
    stock_pieces: int
    least: int
    waste: float
    patterns: tuple[Pattern, ...]
    laps: int
    lapped: tuple[str, ...]


def cut_list(runs: Sequence[Run], lap: float, step: float = 0.001) -> CutList:
    """What to cut for runs, from the fewest stock pieces of each steel; lengths are rounded down to step [m].

    Steel of endless stock (inf, off a coil) has no laps and no stock pieces. ValueError where a run is longer than its
    stock and the stock is no longer than a lap [m].
    """
    cuts: list[Cut] = []
    patterns: list[Pattern] = []
    laps, least, bought, used = 0, 0, 0.0, 0.0
    lapped: list[str] = []
    for steel in dict.fromkeys(run.steel for run in runs):
        marks: dict[int, list[str]] = {}
        for run in runs:
            if run.steel == steel:
                pieces = _pieces(run.length, steel.stock, lap, step)
                laps += len(pieces) - 1
                lapped += [run.mark] if len(pieces) > 1 else []
                for piece in pieces:
                    marks.setdefault(piece, []).append(run.mark)
        lengths = sorted(marks, reverse=True)
        cuts += [Cut(steel.name, size * step, len(marks[size]), tuple(dict.fromkeys(marks[size]))) for size in lengths]
        if isfinite(steel.stock) and lengths:
            found, bound = _patterns(steel, marks, step)
            patterns += found
            least += bound
            bought += steel.stock * sum(one.count for one in found)
            used += step * sum(size * len(of) for size, of in marks.items())
    count = sum(one.count for one in patterns)
    return CutList(
        tuple(cuts), count, least, 1 - used / bought if bought else 0.0, tuple(patterns), laps, tuple(lapped)
    )


def pieces_of(run: Run, lap: float, step: float = 0.001) -> tuple[float, ...]:
    """Lengths [m] of the pieces that make up a run, in the order in which they lie, each rounded down to step [m].

    Whole stock pieces but for the last; a last one shorter than two laps shares evenly with the one before it.
    """
    return tuple(size * step for size in _pieces(run.length, run.steel.stock, lap, step))


def _pieces(length: float, stock: float, lap: float, step: float) -> list[int]:
    """Pieces of a run in steps."""
    whole = _steps(length, step)
    if not isfinite(stock) or whole <= (full := _steps(stock, step)):
        return [whole]
    if not full * step > lap:
        raise ValueError(f"a run of {length:.3f} m needs laps, but stock of {stock:.3f} m is no longer than a lap")
    over = min(ceil(lap / step - 1e-3), full - 1)
    count = ceil((whole - over) / (full - over))
    last = whole + (count - 1) * (over - full)
    pieces = [full] * (count - 1) + [last]
    if last < 2 * over:
        pieces[-2:] = [(full + last) // 2, full + last - (full + last) // 2]
    return pieces


def _steps(length: float, step: float) -> int:
    # A thousandth of a step short is the last digit of some arithmetic, not a shorter piece.
    return int(np.floor(length / step + 1e-3))


def _patterns(steel: Steel, marks: dict[int, list[str]], step: float) -> tuple[list[Pattern], int]:
    """How to cut one steel, and the least number of stock pieces that any cutting needs."""
    sizes = np.array(sorted(marks, reverse=True))
    wanted = np.array([len(marks[int(size)]) for size in sizes])
    full = _steps(steel.stock, step)
    columns, times, least = _cutting_stock(sizes, wanted, full)
    spare = columns @ times - wanted
    found: dict[tuple[int, ...], int] = {}
    for column, count in zip(columns.T, times, strict=True):
        for _ in range(int(count)):
            # Patterns may give a piece too many; it is not cut.
            more = np.minimum(spare, column)
            spare -= more
            found[tuple((column - more).tolist())] = found.get(tuple((column - more).tolist()), 0) + 1
    out = []
    for column_of, count in sorted(found.items(), reverse=True):
        pieces = tuple((float(size * step), n) for size, n in zip(sizes, column_of, strict=True) if n)
        rest = steel.stock - sum(size * n for size, n in pieces)
        out.append(Pattern(steel.name, count, pieces, max(rest, 0.0)))
    return out, least


def _cutting_stock(sizes: IntArray, wanted: IntArray, full: int) -> tuple[IntArray, IntArray, int]:
    """Patterns (i, p), how often to cut each (p,), and a proven lower bound on their number; sizes (i,) fall."""
    columns = _every_pattern(sizes, wanted, full)
    if columns is None:
        columns, bound = _asked_for(sizes, wanted, full)
    else:
        bound = _linear(columns, wanted)[0]
    least = max(ceil(bound - 1e-6), ceil(int(sizes @ wanted) / full))
    plain = _first_fit(sizes, wanted, full)
    if plain.shape[1] == least:
        return plain, np.ones(least, dtype=np.int64), least
    columns = np.unique(np.concatenate([columns, plain], axis=1), axis=1)
    solved = milp(
        np.ones(columns.shape[1]),
        constraints=LinearConstraint(scipy.sparse.csr_array(columns), wanted, np.inf),
        integrality=np.ones(columns.shape[1], dtype=np.int64),
        bounds=Bounds(0, np.inf),
        options={"node_limit": 200},
    )
    if solved.x is None or round(solved.x.sum()) >= plain.shape[1]:
        return plain, np.ones(plain.shape[1], dtype=np.int64), least
    times = np.rint(solved.x).astype(np.int64)
    return columns[:, times > 0], times[times > 0], least


def _every_pattern(sizes: IntArray, wanted: IntArray, full: int) -> IntArray | None:
    """All patterns that leave no room for one more wanted piece, (i, p); None if there are too many."""
    found: list[list[int]] = []
    open_ends: list[tuple[list[int], int]] = [([], full)]
    while open_ends:
        start, room = open_ends.pop()
        if len(start) == len(sizes):
            if all(size > room or n == most for size, n, most in zip(sizes, start, wanted, strict=True)):
                found.append(start)
            continue
        size, most = int(sizes[len(start)]), int(wanted[len(start)])
        open_ends += [([*start, n], room - n * size) for n in range(min(room // size, most) + 1)]
        if len(found) + len(open_ends) > _ALL_PATTERNS:
            return None
    return np.array(found).T


def _asked_for(sizes: IntArray, wanted: IntArray, full: int) -> tuple[IntArray, float]:
    """Patterns (i, p) that the linear programme asks for, one by one, and its optimum."""
    columns = _first_fit(sizes, wanted, full)
    bound = -inf
    for _ in range(_ROUNDS):
        value, worth = _linear(columns, wanted)
        best = _most_worth(sizes, wanted, full, worth)
        gain = float(worth @ best)
        # Farley's bound: no cutting needs fewer than the value shared out by the worth of the best pattern.
        bound = max(bound, value / max(gain, 1.0))
        if gain <= 1 + 1e-9:
            break
        columns = np.concatenate([columns, best[:, None]], axis=1)
    return columns, bound


def _most_worth(sizes: IntArray, wanted: IntArray, full: int, worth: FloatArray) -> IntArray:
    """The pattern (i,) of most worth (i,): a knapsack, filled piece by piece for every length up to the stock's."""
    parts: list[tuple[int, int]] = []
    for number, most in enumerate(np.minimum(wanted, full // sizes).tolist()):
        # One, two, four, ... pieces at a time: any number up to the most is a sum of some of them.
        taken = 1
        while most > 0:
            parts.append((number, min(taken, most)))
            most, taken = most - taken, 2 * taken
    best = np.zeros(full + 1)
    used = np.zeros((len(parts), full + 1), dtype=bool)
    for row, (number, count) in enumerate(parts):
        size = count * int(sizes[number])
        if size <= full:
            more = best[: full + 1 - size] + count * worth[number]
            used[row, size:] = more > best[size:] + 1e-12
            best[size:] = np.where(used[row, size:], more, best[size:])
    pattern, room = np.zeros(len(sizes), dtype=np.int64), full
    for row in reversed(range(len(parts))):
        if used[row, room]:
            number, count = parts[row]
            pattern[number] += count
            room -= count * int(sizes[number])
    return pattern


def _linear(columns: IntArray, wanted: IntArray) -> tuple[float, FloatArray]:
    """Optimum of the linear programme over patterns (i, p), and what each size is worth (i,)."""
    solved = linprog(np.ones(columns.shape[1]), A_ub=-columns, b_ub=-wanted, method="highs")
    if solved.fun is None:
        raise ValueError(f"no cutting found: {solved.message}")
    return solved.fun, -np.asarray(solved.ineqlin.marginals)


def _first_fit(sizes: IntArray, wanted: IntArray, full: int) -> IntArray:
    """The plain way, longest first into the first stock piece with room: a column for each stock piece, (i, k)."""
    room: list[int] = []
    columns: list[IntArray] = []
    for number, (size, count) in enumerate(zip(sizes.tolist(), wanted.tolist(), strict=True)):
        for _ in range(count):
            at = next((k for k, left in enumerate(room) if left >= size), len(room))
            if at == len(room):
                room.append(full)
                columns.append(np.zeros(len(sizes), dtype=np.int64))
            room[at] -= size
            columns[at][number] += 1
    return np.array(columns).T
