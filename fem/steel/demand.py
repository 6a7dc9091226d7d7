"""What the steel owes: at every point and in every direction the most that any factored stage asks of each face.

The moments are those of the uncracked elastic slab under factored loads, so they are in balance with them. Steel that
yields before it snaps and is nowhere weaker than they are in any direction carries these loads, however the cracked
slab shares them out: the lower-bound theorem. Source: Nielsen, Limit Analysis and Concrete Plasticity.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.directions import pulled
from fem.plate.model import Stage
from fem.plate.prepared import Prepared
from fem.plate.stages import Solved
from fem.steel.model import Demand, Face

__all__ = ["Factored", "demand_of"]

FloatArray = npt.NDArray[np.float64]

FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class Factored:
    """A stage with its factors in its loads, by its name for the reader.

    scale (>= 1) makes up for a section that is weaker at that age than the one the runs are sized with; floor [N m/m]:
    at a point of a face that is pulled by no more than this in any direction the concrete is left to carry it. instead
    stands in where this one tips, which no steel cures. ValueError for a scale under 1 or a floor under 0.
    """

    stage: Stage
    name: str
    scale: float = 1.0
    floor: float = 0.0
    instead: Factored | None = None

    def __post_init__(self) -> None:
        if not (self.scale >= 1.0 and self.floor >= 0.0):
            raise ValueError(f"{self.name}: scale = {self.scale} must be at least 1, floor = {self.floor} at least 0")


def demand_of(
    prepared: Prepared,
    factored: Sequence[Factored],
    points: FloatArray | None,
    angles: FloatArray,
    step: Callable[[str], None] = lambda what: None,
    before: Solved | None = None,
) -> Demand:
    """The strength owed at points (q, 2) [m], or None: the mesh's nodes, across every angle (a,) [rad] of the pull.

    A stage that tips asks for nothing; what stands in for it does, and notes say so. before: what was solved for the
    same slab without factors, which need not be solved again.
    """
    at = prepared.mesh.nodes if points is None else points
    shape = (2, len(at), len(angles))
    needed, governs = np.zeros(shape), np.zeros(shape, dtype=np.int64)
    asked, notes = list(factored), []
    left = list(range(len(asked)))
    while left:
        tipped = []
        stages = [asked[k].stage for k in left]
        for k, found in zip(left, pulled(prepared, stages, points, angles, step, before), strict=True):
            one = asked[k]
            if found.moment is None:
                notes.append(_falls(one, found.why))
                if one.instead is not None:
                    asked[k] = one.instead
                    tipped.append(k)
                continue
            if found.doubt:
                notes.append(f"{one.name}: its supports' forces did not pass their own checks")
            owed = one.scale * np.maximum(found.moment, 0.0)
            owed[found.moment.max(axis=2) <= one.floor] = 0.0
            more = owed > needed
            needed[more], governs[more] = owed[more], k
        left = tipped
    return Demand(
        at,
        angles,
        {face: needed[number] for number, face in enumerate(FACES)},
        {face: governs[number] for number, face in enumerate(FACES)},
        tuple(one.name for one in asked),
        tuple(notes),
    )


def _falls(one: Factored, why: str) -> str:
    stands_in = "" if one.instead is None else f", so that {one.instead.name} stands in for it"
    return f"{one.name}: {why}; steel cures no tipping{stands_in}"
