"""Which parts of the lines that were followed are laid: those that keep clear of all lines laid before, and no stubs.

Where lines draw together one of them ends; but not in a narrow so short that the same line would begin again behind it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fem.paths.cover import CELLS, CLOSEST, Cover
from fem.paths.lines import Lines
from fem.paths.tracing import LONGEST_STEP

__all__ = ["Ground", "Laid", "choose"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

SHORTEST = 1.5  # spacings: anything shorter is a stub,
SHORTEST_WHOLE = 0.5  # unless it is the whole path, from edge to edge of a narrow rail or of a narrow patch of pull
NARROW, TIGHTEST = 3.0, 0.5  # spacings: a line may pass a narrow this long and at least this wide on either side
FEWEST_PLACES = int(SHORTEST * CELLS / LONGEST_STEP)  # that a line of that length has
CURLED = 2.2  # rad: a line that turns less cannot come back upon itself
NO_RING = 1.2  # spacings along a line: places closer than this along it are neighbours, not a return


@dataclass(eq=False, slots=True)
class Laid:
    """Lines laid so far: for each its places (k,) [cells], its field and whether it is a ring; places by field."""

    places: list[ComplexArray] = field(default_factory=list)
    fields: list[int] = field(default_factory=list)
    rings: list[bool] = field(default_factory=list)
    of_field: dict[int, list[ComplexArray]] = field(default_factory=dict)

    def add(self, places: ComplexArray, of: int, ring: bool) -> None:
        """One line more."""
        self.places.append(places)
        self.fields.append(of)
        self.rings.append(ring)
        self.of_field.setdefault(of, []).append(places)


@dataclass(eq=False, slots=True)
class Ground:
    """What the rounds share: the cover, and places and tangents of all lines tried, by the numbers in cover.owner."""

    cover: Cover
    places: ComplexArray
    tangent: ComplexArray


def choose(ground: Ground, lines: Lines, drawn: BoolArray, laid: Laid) -> None:
    """Lay the parts of lines that keep clear of all before them, first come first served; settle the ground of all."""
    cover, base = ground.cover, len(ground.places)
    ground.places = np.concatenate((ground.places, lines.places))
    ground.tangent = np.concatenate((ground.tangent, lines.tangent))
    nodes = cover.nodes(lines.places, np.repeat(lines.field, np.diff(lines.begin)))
    for line in np.flatnonzero(drawn & (lines.length >= SHORTEST_WHOLE * CELLS)):
        own = np.arange(lines.begin[line], lines.begin[line + 1])
        for part, ring in _clear_parts(ground, lines, int(line), own, nodes, laid):
            cover.lay(nodes[part], base + part)
            laid.add(lines.places[part], int(lines.field[line]), ring)
    cover.settle(nodes)


def _clear_parts(
    ground: Ground, lines: Lines, line: int, own: IntArray, nodes: IntArray, laid: Laid
) -> Iterator[tuple[IntArray, bool]]:
    """Parts of a line, as numbers of its places `own`, long enough and clear of all laid lines; whether it is a ring.

    Each part is to be laid before the next is asked for: a line must keep clear of its own parts, too.
    """
    owner, field = ground.cover.owner.ravel(), int(lines.field[line])
    taken = _taken(owner[nodes[own]] >= 0, lines.places[own], laid, field)
    clear, ring = not taken.any(), bool(lines.closed[line])
    curled = abs(lines.turn[line]) > CURLED
    if clear and (ring or not curled):
        if lines.arc[own[-1]] >= CELLS * (SHORTEST_WHOLE if lines.whole[line] else SHORTEST):
            yield own, ring
        return
    if ring:
        # A ring that is cut begins at a cut, not where it happened to be begun.
        begin = int(taken.argmax())
        own, taken = np.roll(own[:-1], -begin), np.roll(taken[:-1], -begin)
    while True:
        part = own[_longest_clear(taken)]
        if curled and len(part) > 2:
            part = _uncurled(lines.places, part)
        if len(part) < 2 or _along(lines.places[part])[-1] < SHORTEST * CELLS:
            return
        yield part, False
        if len(own) - len(part) - np.count_nonzero(taken) < FEWEST_PLACES:
            return
        taken = _taken(owner[nodes[own]] >= 0, lines.places[own], laid, field)


def _taken(close: BoolArray, places: ComplexArray, laid: Laid, field: int) -> BoolArray:
    """Of places close to other lines those where the line must be cut: not in a narrow that it soon leaves again."""
    if not close.any():
        return close
    taken = close.copy()
    change = (np.flatnonzero(close[1:] != close[:-1]) + 1).tolist()
    for a, b in pairwise(change):
        if close[a] and _along(places[a:b])[-1] <= NARROW * CELLS:
            others = np.concatenate(laid.of_field[field])
            if np.abs(places[a:b, None] - others).min() >= TIGHTEST * CELLS:
                taken[a:b] = False
    return taken


def _longest_clear(taken: BoolArray) -> slice:
    """The longest stretch of places that are not taken."""
    cut = np.concatenate(([-1], taken.nonzero()[0], [len(taken)]))
    k = int((cut[1:] - cut[:-1]).argmax())
    return slice(int(cut[k]) + 1, int(cut[k + 1]))


def _along(places: ComplexArray) -> FloatArray:
    """Distance along the places (k,) from the first."""
    s = np.zeros(len(places))
    np.cumsum(np.abs(places[1:] - places[:-1]), out=s[1:])
    return s


def _uncurled(places: ComplexArray, part: IntArray) -> IntArray:
    """The longest stretch of a part of a line that does not come close to itself: hairpins and spirals are cut."""
    w = np.asarray(places[part])
    s = _along(w)
    near = np.abs(w[:, None] - w) < CLOSEST * CELLS
    near &= s[None, :] - s[:, None] > NO_RING * CELLS
    if not near.any():
        return part
    # The first place that each place must not be drawn together with, or any place after it.
    first = np.where(near.any(axis=1), near.argmax(axis=1), len(w))
    end = np.minimum.accumulate(first[::-1])[::-1]
    best = int(np.argmax(s[end - 1] - s))
    return part[best : int(end[best])]
