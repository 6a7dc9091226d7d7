"""One stage on its supports: balance, contact, deflection; again with half the contacts, to see what they cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.contact import Contact, ContactProblem, can_balance, solve_contact
from fem.plate.footing import Footing
from fem.plate.footings import Columns, Footings, compliance
from fem.plate.model import Stage, Tipping
from fem.plate.tipping import tipping

__all__ = ["Bearing", "bear"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Bearing:
    """How the supports of one stage answer.

    u (6 n,) the slab's deflection [m, scaled freedoms]; force (s,) [N] upwards of the contacts, support by support;
    coarse_u and coarse_force the same with every second contact; tips instead of all of these when nothing balances.
    """

    contact: Contact | None
    u: FloatArray
    force: FloatArray
    coarse_u: FloatArray
    coarse_force: FloatArray
    tips: Tipping | None
    falls: bool = False


def bear(
    feet: Footings, columns: Columns, index: int, stage: Stage, rigid: FloatArray, length: float, rim: FloatArray
) -> Bearing:
    """Solve stage index; rigid (6 n, 3): the rigid motions, length [m]: the slab's size, rim (k, 2) [m]: its edge."""
    mine = feet.of_stage[index]
    numbers = np.concatenate([contacts for _, contacts in mine]) if mine else np.zeros(0, dtype=np.int64)
    problem = _problem(feet, columns, index, stage, numbers, rigid, length)
    balances, imbalance = can_balance(problem.motion, problem.load, problem.one_sided, length)
    none = np.zeros(0)
    if not balances:
        held = tipping(problem.motion, problem.load, problem.one_sided, imbalance, rim)
        return Bearing(None, none, none, none, none, held, falls=held is None)
    contact = solve_contact(problem)
    u = _deflection(columns, index, stage, numbers, contact, contact.force, rigid)

    halves = _halves(mine)
    coarse = _coarsened(problem, halves)
    if can_balance(coarse.motion, coarse.load, coarse.one_sided, length)[0]:
        found = solve_contact(coarse)
        coarse_force = halves @ found.force
        coarse_u = _deflection(columns, index, stage, numbers, found, coarse_force, rigid)
    else:
        coarse_force, coarse_u = contact.force, u
    return Bearing(contact, u, contact.force, coarse_u, coarse_force, None)


def _problem(
    feet: Footings, columns: Columns, index: int, stage: Stage, numbers: IntArray, rigid: FloatArray, length: float
) -> ContactProblem:
    B, X = columns.columns[:, numbers], columns.response[:, numbers]
    F = B.T @ X / stage.modulus
    soft, one_sided, gap = [], [], []
    for support, (foot, _) in zip(stage.supports, feet.of_stage[index], strict=True):
        soft.append(compliance(support, foot))
        one_sided.append(~foot.slope & (support.action == "rest"))
        gap.append(np.where(foot.slope, 0.0, support.gap))
    joined = np.concatenate(soft) if soft else np.zeros(0)
    # A hair of compliance keeps apart two contacts on one spot; it is 1e-11 of the plate's own.
    hair = 1e-11 * np.trace(F) / max(len(numbers), 1)
    F = (F + F.T) / 2 + np.diag(joined + hair)
    return ContactProblem(
        F,
        B.T @ columns.stage_response[:, index] / stage.modulus,
        columns.motion[:, numbers],
        rigid.T @ columns.stage_load[:, index],
        np.concatenate(gap) if gap else np.zeros(0),
        np.concatenate(one_sided).astype(bool) if one_sided else np.zeros(0, dtype=bool),
        length,
    )


def _deflection(
    columns: Columns,
    index: int,
    stage: Stage,
    numbers: IntArray,
    contact: Contact,
    force: FloatArray,
    rigid: FloatArray,
) -> FloatArray:
    elastic = columns.stage_response[:, index] - columns.response[:, numbers] @ force
    return np.asarray(elastic / stage.modulus + rigid @ contact.motion)


def _halves(mine: tuple[tuple[Footing, IntArray], ...]) -> FloatArray:
    """Forces of all contacts from those of a coarser row, (s, c): every second hat of a line, twice as wide."""
    blocks = [_halved(foot) for foot, _ in mine]
    rows, columns = (sum(block.shape[axis] for block in blocks) for axis in (0, 1))
    out = np.zeros((rows, columns))
    r = c = 0
    for block in blocks:
        out[r : r + block.shape[0], c : c + block.shape[1]] = block
        r, c = r + block.shape[0], c + block.shape[1]
    return out


def _halved(foot: Footing) -> FloatArray:
    out = np.eye(foot.size)
    drop = np.zeros(foot.size, dtype=bool)
    for numbers, tops in foot.rows:
        k = len(numbers)
        if k < 4:
            continue
        keep = np.unique(np.append(np.arange(0, k, 2), k - 1))
        hat = np.stack([np.interp(tops, tops[keep], unit) for unit in np.eye(len(keep))], axis=1)
        pressed = hat * foot.tributary[numbers][:, None]
        out[np.ix_(numbers, numbers[keep])] = pressed / pressed.sum(axis=0)
        drop[np.setdiff1d(numbers, numbers[keep])] = True
    return np.asarray(out[:, ~drop])


def _coarsened(problem: ContactProblem, halves: FloatArray) -> ContactProblem:
    largest = halves.argmax(axis=0)
    return ContactProblem(
        halves.T @ problem.flexibility @ halves,
        halves.T @ problem.displacement,
        problem.motion @ halves,
        problem.load,
        problem.gap[largest],
        problem.one_sided[largest],
        problem.length,
    )
