"""The free plate's answer to every contact and every load: solved once for a place, whatever stages share it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from fem.plate.footing import Footing, join
from fem.plate.footings import Pressing, StageFootings
from fem.plate.free_plate import FreePlate

__all__ = ["Block", "Columns", "solve_columns"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Block:
    """Load columns (6 n, s), their deflections (6 n, s) for a modulus of 1 Pa, their part in the rigid motions (3, s).

    of is what the columns stand for: a footing's contacts, or the one load. size (3, s) is what the motions would be
    if nothing cancelled: round-off is a share of it.
    """

    of: Footing | Pressing
    columns: sp.csc_matrix
    response: FloatArray
    motion: FloatArray
    size: FloatArray


@dataclass(frozen=True, eq=False)
class Columns:
    """Everything solved so far: a unit pressure on the whole slab, the own weight, the others by their owner."""

    even: Block
    weight: Block
    blocks: Mapping[int, Block] = field(default_factory=lambda: MappingProxyType({}))

    def of(self, owner: Footing | Pressing) -> Block:
        """The block of a footing or a load."""
        return self.blocks[id(owner)]


def solve_columns(
    plate: FreePlate, weight: FloatArray, feet: Iterable[StageFootings], known: Columns | None = None
) -> Columns:
    """The columns of all states of some stages, solved in one go; what is known already is not solved again.

    weight (6 n,) [N]: the load vector of the slab's own weight.
    """
    have = {} if known is None else dict(known.blocks)
    wanted: dict[int, Footing | Pressing] = {}
    for stage in feet:
        wanted |= {id(foot): foot for foot in stage.feet}
        wanted |= {id(press): press for press in stage.pressing}
    new = [one for key, one in wanted.items() if key not in have]
    vectors = [_vectors(plate, [one for one in new if isinstance(one, Footing)])]
    vectors.append(_loads(plate, [one for one in new if isinstance(one, Pressing)]))
    if known is None:
        vectors.append(np.stack([plate.bell.body_load, weight], axis=1))
    dense = np.concatenate(vectors, axis=1)
    response = plate.solve(dense) if dense.shape[1] else dense
    stacked = sp.csc_matrix(dense)
    motion = np.asarray((stacked.T @ plate.rigid_motions).T)
    size = np.asarray((abs(stacked).T @ np.abs(plate.rigid_motions)).T)
    first = 0
    # Footings come before loads, as their columns do.
    for one in sorted(new, key=lambda one: isinstance(one, Pressing)):
        here = slice(first, first + (one.size if isinstance(one, Footing) else 1))
        have[id(one)] = Block(one, stacked[:, here], response[:, here], motion[:, here], size[:, here])
        first = here.stop
    blocks = MappingProxyType(have)
    if known is not None:
        return Columns(known.even, known.weight, blocks)
    nothing = Pressing(join([]), np.zeros(0))
    last = [
        Block(nothing, stacked[:, here], response[:, here], motion[:, here], size[:, here])
        for here in (slice(first, first + 1), slice(first + 1, first + 2))
    ]
    return Columns(last[0], last[1], blocks)


def _vectors(plate: FreePlate, feet: list[Footing]) -> FloatArray:
    """One column a contact, (6 n, s)."""
    foot = join(feet)
    return plate.bell.functionals(foot.points, foot.weight, foot.contact, foot.size, foot.normal)


def _loads(plate: FreePlate, loads: list[Pressing]) -> FloatArray:
    """One column a load, (6 n, k): its contacts' columns times their forces."""
    foot = join([load.foot for load in loads])
    owner = np.repeat(np.arange(len(loads)), [load.foot.size for load in loads])
    force = np.concatenate([np.zeros(0), *(load.force for load in loads)])
    return plate.bell.functionals(
        foot.points, foot.weight * force[foot.contact], owner[foot.contact], len(loads), foot.normal
    )
