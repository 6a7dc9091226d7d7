"""Where labels go on a map: beside what they name, never on each other, and over as little as possible.

Each label in turn, the most important first, tries a fan of places round its anchor and takes the cheapest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Box", "Label", "place_labels"]

FloatArray = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]
"""left, low, right, high."""

OVERLAP = 40.0
"""Price of a point squared of overlap with another label, against 1 for a point of distance from the anchor."""
COVERED = 6.0
"""Price of covering one marked point of the drawing."""
OUTSIDE = 1e6
SHUNNED = 400.0
CROSSED = 25.0
"""Price of a leader's running through another label, for each twelfth of it."""


@dataclass(frozen=True, eq=False, slots=True)
class Label:
    """A label of size (width, height) for what lies at one of the anchors (k, 2).

    It keeps clear of its anchor by at least gap and strays at most by reach; shun: direction [rad] of a line through
    the anchor on which it had better not lie.
    """

    anchors: FloatArray
    size: tuple[float, float]
    gap: float
    reach: float = 90.0
    shun: float | None = None


def place_labels(labels: Sequence[Label], room: Box, taken: Sequence[Box], marks: FloatArray) -> list[tuple[Box, int]]:
    """A box for each label and the number of the anchor it belongs to; the first label chooses first.

    room: all boxes lie inside; taken: boxes that are occupied; marks (m, 2): points that had better stay uncovered.
    """
    occupied = list(taken)
    placed = []
    for label in labels:
        box, anchor = _best(label, room, np.asarray(occupied, dtype=np.float64).reshape(-1, 4), marks)
        occupied.append(box)
        placed.append((box, anchor))
    return placed


def _best(label: Label, room: Box, occupied: FloatArray, marks: FloatArray) -> tuple[Box, int]:
    centers, anchor, cost = _candidates(label)
    half = np.asarray(label.size) / 2
    low, high = centers - half, centers + half
    over = np.maximum(room[0] - low[:, 0], 0) + np.maximum(high[:, 0] - room[2], 0)
    over += np.maximum(room[1] - low[:, 1], 0) + np.maximum(high[:, 1] - room[3], 0)
    cost = cost + OUTSIDE * over
    if len(occupied):
        wide = np.minimum(high[:, None, 0], occupied[:, 2]) - np.maximum(low[:, None, 0], occupied[:, 0])
        tall = np.minimum(high[:, None, 1], occupied[:, 3]) - np.maximum(low[:, None, 1], occupied[:, 1])
        cost += OVERLAP * (np.maximum(wide + 2, 0) * np.maximum(tall + 2, 0)).sum(axis=1)
        ends = label.anchors[anchor]
        for part in np.linspace(0.3, 1.0, 9):
            x, y = (ends + part * (np.clip(ends, low, high) - ends)).T[..., None]
            crossed = (x > occupied[:, 0]) & (x < occupied[:, 2]) & (y > occupied[:, 1]) & (y < occupied[:, 3])
            cost += CROSSED * crossed.sum(axis=1)
    if len(marks):
        inside = (marks[:, 0] > low[:, None, 0] - 1) & (marks[:, 0] < high[:, None, 0] + 1)
        inside &= (marks[:, 1] > low[:, None, 1] - 1) & (marks[:, 1] < high[:, None, 1] + 1)
        cost += COVERED * inside.sum(axis=1)
    best = int(np.argmin(cost))
    (x0, y0), (x1, y1) = low[best], high[best]
    return (float(x0), float(y0), float(x1), float(y1)), int(anchor[best])


def _candidates(label: Label) -> tuple[FloatArray, npt.NDArray[np.int64], FloatArray]:
    """Centres (c, 2) round every anchor, whose anchor each is (c,), and the price of its distance (c,)."""
    angle = np.arange(24) * (math.pi / 12) + math.pi / 4
    out = np.column_stack([np.cos(angle), np.sin(angle)])
    half = np.asarray(label.size) / 2
    # From the anchor to the centre of a box that just touches a circle of the gap about it, in that direction.
    with np.errstate(divide="ignore"):
        clear = np.min(half / np.abs(out), axis=1)
    steps = np.array([0.0, 4, 9, 16, 25, 38, 55, 75, 100, 130])
    steps = steps[steps <= label.reach]
    distance = label.gap + clear + steps[:, None]
    shift = (distance[..., None] * out).reshape(-1, 2)
    price = np.repeat(steps, len(angle))
    if label.shun is not None:
        price += np.tile(SHUNNED * np.maximum(np.abs(np.cos(angle - label.shun)) - 0.75, 0), len(steps))
    k = len(label.anchors)
    centers = (label.anchors[:, None, :] + shift).reshape(-1, 2)
    return centers, np.repeat(np.arange(k), len(shift)), np.tile(price, k)
