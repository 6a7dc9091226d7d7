"""Contacts as weighted points of the plate, with what their spreading has to give back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

__all__ = ["Footing", "LineSpread", "RoundSpread", "join", "runs", "slopes", "spike"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class LineSpread:
    """A straight line whose force is spread across: density [N/m] at stations (k,) [m] from the contacts' forces.

    widths (j,) is the half-width of the spread at places (j,) along it [m].
    """

    start: FloatArray
    along: FloatArray
    stations: FloatArray
    contacts: IntArray
    hat: FloatArray
    places: FloatArray
    widths: FloatArray


@dataclass(frozen=True, eq=False)
class RoundSpread:
    """A point whose force, even on a disc of radius pressed, is spread over a disc of radius spread [m]."""

    center: FloatArray
    contact: int
    pressed: float
    spread: float


@dataclass(frozen=True, eq=False)
class Footing:
    """Weighted points of s contacts: points (k, 2) [m], weight (k,), contact (k,), normal (k, 2) of slopes, nan for w.

    One unit of a contact's force is one newton. share (s,) is the part of the support's length or area that a contact
    stands for, tributary (s,) that length or area itself (1 for a point, 0 for the concentrated force at an end);
    slope (s,) marks the contacts that hold a slope; spots (s, 2) [m] is where each contact is; singular (j, 2) [m]
    are places beside which the moments have no bound; rows are the hats in a row: contact numbers and where their
    tops are along it [m]. groups are cells of areas: contact numbers and the coarser cell each belongs to. give (s,)
    [m2] is the deflection that spreading takes from each contact's own place, times D per newton; None if it takes
    nothing.
    """

    points: FloatArray
    weight: FloatArray
    contact: IntArray
    normal: FloatArray
    share: FloatArray
    tributary: FloatArray
    slope: npt.NDArray[np.bool_]
    spots: FloatArray
    singular: FloatArray
    lines: tuple[LineSpread, ...] = ()
    rounds: tuple[RoundSpread, ...] = ()
    rows: tuple[tuple[IntArray, FloatArray], ...] = ()
    give: FloatArray | None = None
    groups: tuple[tuple[IntArray, IntArray], ...] = ()

    @property
    def size(self) -> int:
        """Number of contacts s."""
        return len(self.share)


def slopes(
    points: FloatArray, weight: FloatArray, hat: IntArray, normal: FloatArray, area: FloatArray, spots: FloatArray
) -> Footing:
    """Contacts that hold the slope along normal (k, 2) at weighted points; hats with tops at spots (s, 2)."""
    s = len(spots)
    # The distance along the row serves only to halve it, and the hats' areas tell that as well as anything.
    tops = np.cumsum(area)
    return Footing(
        points,
        weight,
        hat,
        normal,
        np.zeros(s),
        area,
        np.ones(s, dtype=bool),
        spots,
        np.zeros((0, 2)),
        rows=((np.arange(s), tops),),
    )


def spike(at: FloatArray) -> Footing:
    """One contact for the single force at (2,) [m] that thin-plate theory concentrates at an end or a corner."""
    return Footing(
        at[None],
        np.ones(1),
        np.zeros(1, dtype=np.int64),
        np.full((1, 2), np.nan),
        np.zeros(1),
        np.zeros(1),
        np.zeros(1, dtype=bool),
        at[None],
        np.zeros((0, 2)),
    )


def runs(feet: Sequence[Footing]) -> list[slice]:
    """Where the contacts of each footing stand when all are numbered through."""
    ends = np.cumsum([0] + [foot.size for foot in feet]).tolist()
    return [slice(first, last) for first, last in pairwise(ends)]


def join(parts: Sequence[Footing]) -> Footing:
    """One footing of many, the contacts numbered through."""
    if not parts:
        none = np.zeros(0)
        pair = np.zeros((0, 2))
        index = np.zeros(0, dtype=np.int64)
        return Footing(pair, none, index, pair, none, none, np.zeros(0, dtype=bool), pair, pair)
    first = np.cumsum([0] + [part.size for part in parts])
    return Footing(
        np.concatenate([part.points for part in parts]),
        np.concatenate([part.weight for part in parts]),
        np.concatenate([part.contact + k for part, k in zip(parts, first, strict=False)]),
        np.concatenate([part.normal for part in parts]),
        np.concatenate([part.share for part in parts]),
        np.concatenate([part.tributary for part in parts]),
        np.concatenate([part.slope for part in parts]),
        np.concatenate([part.spots for part in parts]),
        np.concatenate([part.singular for part in parts]),
        tuple(
            replace(line, contacts=line.contacts + k)
            for part, k in zip(parts, first, strict=False)
            for line in part.lines
        ),
        tuple(
            replace(spot, contact=spot.contact + int(k))
            for part, k in zip(parts, first, strict=False)
            for spot in part.rounds
        ),
        tuple((numbers + k, tops) for part, k in zip(parts, first, strict=False) for numbers, tops in part.rows),
        np.concatenate([np.zeros(part.size) if part.give is None else part.give for part in parts]),
        tuple((numbers + k, cell) for part, k in zip(parts, first, strict=False) for numbers, cell in part.groups),
    )
