"""Which direction lies in which layer near which face: every way to stack them that fits the slab.

A layer has one direction and one depth; near a face directions are stacked, the outermost with the longest arm. Steel
near either face serves both, so what counts is how many layers there are in all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations, permutations, product

from fem.steel.model import Face

__all__ = ["Bed", "Stacking", "reordered", "stackings"]


@dataclass(frozen=True, slots=True)
class Bed:
    """One layer: the face it lies near, its number from there, direction [rad], depth from the show face [m]."""

    face: Face
    layer: int
    angle: float
    depth: float


Stacking = tuple[Bed, ...]
Depth = Callable[[Face, int], float]


def stackings(
    angles: tuple[float, ...],
    layers: int,
    most: int,
    depth: Depth,
    weight: Callable[[Face, float], float],
    asked: Iterable[tuple[Face, float]] = (),
) -> list[Stacking]:
    """One stacking for every share-out of directions [rad] on the faces that uses all layers that fit.

    At most so many as most a face. weight says how much a direction is wanted on a face: the most wanted lies
    outermost. Those that have what is asked come alone, if there are any.

    >>> [len(s) for s in stackings((0.0, 1.57), 3, 3, lambda face, layer: 0.01, lambda face, angle: angle)]
    [3, 3, 3, 3]
    """
    most = min(most, len(angles))
    asked = set(asked)
    found: list[Stacking] = []
    for near_show in range(most + 1):
        near_underside = min(layers - near_show, most)
        if near_underside < 0 or (near_show + near_underside < min(layers, 2 * most)):
            continue
        for show, underside in product(combinations(angles, near_show), combinations(angles, near_underside)):
            ranked = (
                sorted(show, key=lambda angle: -weight("show", angle)),
                sorted(underside, key=lambda angle: -weight("underside", angle)),
            )
            found.append(_beds(ranked[0], ranked[1], depth))
    having = [stack for stack in found if asked <= {(bed.face, bed.angle) for bed in stack}]
    return having or found


def reordered(stacking: Stacking, depth: Depth) -> list[Stacking]:
    """The same directions near the same faces in every other order."""
    show, underside = (tuple(bed.angle for bed in stacking if bed.face == face) for face in ("show", "underside"))
    every = [_beds(a, b, depth) for a, b in product(permutations(show), permutations(underside))]
    return [one for one in every if one != stacking]


def _beds(show: Iterable[float], underside: Iterable[float], depth: Depth) -> Stacking:
    faces: tuple[tuple[Face, Iterable[float]], ...] = (("show", show), ("underside", underside))
    return tuple(Bed(face, k, angle, depth(face, k)) for face, near in faces for k, angle in enumerate(near))
