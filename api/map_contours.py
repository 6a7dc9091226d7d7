"""Level lines of a field given on triangles, linear in each: where the pull reaches a strength."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["level_lines"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def level_lines(points: FloatArray, triangles: IntArray, values: FloatArray, level: float) -> list[FloatArray]:
    """Lines (k, 2) along which values (p,) on points (p, 2) reach the level, longest first; rings end on their start.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> [line.tolist() for line in level_lines(square, np.array([[0, 1, 2], [0, 2, 3]]), square[:, 0], 0.5)]
    [[[0.5, 0.0], [0.5, 0.5], [0.5, 1.0]]]
    """
    above = values >= level
    crossed = triangles[(above[triangles].sum(axis=1) % 3) > 0]
    if not len(crossed):
        return []
    sides = np.sort(np.stack([crossed, np.roll(crossed, -1, axis=1)], axis=-1), axis=-1)
    cut = above[sides[..., 0]] != above[sides[..., 1]]
    # A triangle that the level crosses is cut on exactly two of its sides.
    ends, number = np.unique(sides[cut], axis=0, return_inverse=True)
    a, b = values[ends[:, 0]], values[ends[:, 1]]
    at = points[ends[:, 0]] + ((level - a) / (b - a))[:, None] * (points[ends[:, 1]] - points[ends[:, 0]])
    lines = [at[chain] for chain in _chains(number.reshape(-1, 2), len(ends))]
    return sorted(lines, key=lambda line: -float(np.hypot(*np.diff(line, axis=0).T).sum()))


def _chains(links: IntArray, count: int) -> list[list[int]]:
    """Links (m, 2) between numbers below count, each in one or two links, strung together; open chains first."""
    neighbours: list[list[int]] = [[] for _ in range(count)]
    for a, b in links.tolist():
        neighbours[a].append(b)
        neighbours[b].append(a)
    seen = [False] * count
    starts = [k for k in range(count) if len(neighbours[k]) == 1] + list(range(count))
    chains = []
    for start in starts:
        if seen[start]:
            continue
        chain, here = [start], start
        seen[start] = True
        while True:
            onward = [k for k in neighbours[here] if not seen[k]]
            if not onward:
                break
            here = onward[0]
            seen[here] = True
            chain.append(here)
        if len(chain) > 2 and chain[0] in neighbours[chain[-1]]:
            chain.append(chain[0])
        chains.append(chain)
    return chains
