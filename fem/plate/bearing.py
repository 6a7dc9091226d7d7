"""One stage on its supports: balance, contact, deflection; again with half the contacts, to see what they cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import block_diag

from fem.plate.contact import Contact, ContactProblem, can_balance, solve_contact
from fem.plate.footing import Footing, runs
from fem.plate.footings import Columns, compliance
from fem.plate.model import Stage, Tipping
from fem.plate.tipping import tipping

__all__ = ["Bearing", "bear", "halved"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Bearing:
    """How the supports of one stage answer.

    u (6 n,) the slab's deflection [m, scaled freedoms]; force (s,) [N] upwards of the contacts, support by support;
    motion (3, s) their part in the rigid motions; coarse_u and coarse_force the same with every second contact. tips
    instead of all these when nothing balances; none of both where no single force holds it down either; delicate when
    every second contact would not balance it.
    """

    contact: Contact | None
    u: FloatArray
    force: FloatArray
    motion: FloatArray
    coarse_u: FloatArray
    coarse_force: FloatArray
    tips: Tipping | None = None
    delicate: bool = False


def bear(
    supports: Sequence[Footing],
    columns: Columns,
    index: int,
    stage: Stage,
    rigid: FloatArray,
    length: float,
    rim: FloatArray,
) -> Bearing:
    """Solve stage index; rigid (6 n, 3): the rigid motions, length [m]: the slab's size, rim (k, 2) [m]: its edge."""
    problem = _problem(supports, columns, index, stage, rigid, length)
    balances, imbalance = can_balance(problem.motion, problem.load, problem.one_sided, length)
    none = np.zeros(0)
    if not balances:
        held = tipping(problem.motion, problem.load, problem.one_sided, imbalance, rim)
        return Bearing(None, none, none, problem.motion, none, none, held)
    contact = solve_contact(problem)
    u = _deflection(columns, index, stage, contact, contact.force, rigid)

    halves = block_diag(*(halved(foot) for foot in supports))
    coarse = _coarsened(problem, halves)
    coarse_force, coarse_u = contact.force, u
    steady = can_balance(coarse.motion, coarse.load, coarse.one_sided, length)[0]
    if steady:
        found = solve_contact(coarse)
        coarse_force = halves @ found.force
        coarse_u = _deflection(columns, index, stage, found, coarse_force, rigid)
    return Bearing(contact, u, contact.force, problem.motion, coarse_u, coarse_force, delicate=not steady)


def _problem(
    supports: Sequence[Footing], columns: Columns, index: int, stage: Stage, rigid: FloatArray, length: float
) -> ContactProblem:
    numbers = columns.contacts[index]
    B = columns.columns[:, numbers]
    F = B.T @ columns.response[:, numbers] / stage.modulus
    # A hair of compliance keeps apart two contacts on one spot; it is 1e-11 of the plate's own.
    soft = np.full(len(numbers), 1e-11 * np.trace(F) / max(len(numbers), 1))
    one_sided, gap = np.zeros(len(numbers), dtype=bool), np.zeros(len(numbers))
    for support, foot, here in zip(stage.supports, supports, runs(supports), strict=True):
        soft[here] += compliance(support, foot, stage.modulus * columns.rigidity)
        one_sided[here] = ~foot.slope & (support.action == "rest")
        gap[here] = np.where(foot.slope, 0.0, support.gap)
    return ContactProblem(
        (F + F.T) / 2 + np.diag(soft),
        B.T @ columns.load_response[index] / stage.modulus,
        columns.motion[:, numbers],
        _resultant(rigid, columns.load[index]),
        gap,
        one_sided,
        length,
    )


def _resultant(rigid: FloatArray, load: FloatArray) -> FloatArray:
    """Force and moments (3,) of a load; what is only round-off of loads that cancel is nothing, and tips nothing."""
    out = rigid.T @ load
    return np.where(np.abs(out) <= 1e-13 * (np.abs(rigid).T @ np.abs(load)), 0.0, out)


def _deflection(
    columns: Columns, index: int, stage: Stage, contact: Contact, force: FloatArray, rigid: FloatArray
) -> FloatArray:
    elastic = columns.load_response[index] - columns.response[:, columns.contacts[index]] @ force
    return np.asarray(elastic / stage.modulus + rigid @ contact.motion)


def halved(foot: Footing) -> FloatArray:
    """Forces of all contacts (s,) from those of every second hat and of cells twice as wide: (s, c)."""
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
    for numbers, cell in foot.groups:
        for coarse in np.unique(cell):
            together = numbers[cell == coarse]
            out[together, together[0]] = foot.tributary[together] / foot.tributary[together].sum()
            drop[together[1:]] = True
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
