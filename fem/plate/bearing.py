"""A stage on its supports: balance and contact of every state, over one set of contacts; coarser contacts beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.linalg import block_diag

from fem.plate.columns import Columns
from fem.plate.contact import Contact, ContactProblem, can_balance, solve_contact
from fem.plate.footing import Footing, runs
from fem.plate.footings import StageFootings, State, compliance
from fem.plate.model import Stage, Tipping
from fem.plate.tipping import tipping

__all__ = ["Bearing", "Ground", "StageContacts", "bear", "coarsely", "halved", "problem_of", "stage_contacts"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Ground:
    """What all contact problems of a slab share.

    rigid (6 n, 3) are its rigid motions, length [m] its size, rim (k, 2) [m] places along its edge, rigidity [m3] its
    scalar D for 1 Pa.
    """

    rigid: FloatArray
    length: float
    rim: FloatArray
    rigidity: float


@dataclass(frozen=True, eq=False)
class StageContacts:
    """The contacts of all states of a stage, numbered through.

    numbers[j] are those of state j, in the order of its supports. columns (6 n, s), response (6 n, s) for 1 Pa, motion
    (3, s), flexibility (s, s) [m/N for 1 Pa]. load (6 n, states) [N], load_response the same for 1 Pa and resultant
    (3, states) are those of all that presses in each state; displacement (s, states) for 1 Pa.
    """

    stage: Stage
    states: tuple[State, ...]
    numbers: tuple[IntArray, ...]
    columns: sp.csc_matrix
    response: FloatArray
    motion: FloatArray
    flexibility: FloatArray
    load_response: FloatArray
    resultant: FloatArray
    displacement: FloatArray


@dataclass(frozen=True, eq=False)
class Bearing:
    """How the supports of one state answer: force (s,) [N] upwards of its contacts, support by support.

    motion (3, s) is their part in the rigid motions. contact is None when nothing balances; tips tells then how the
    slab falls, None where no single force holds it down either.
    """

    contact: Contact | None
    motion: FloatArray
    tips: Tipping | None = None

    @cached_property
    def force(self) -> FloatArray:
        """The contacts' forces (s,) [N]; empty when nothing balances."""
        return np.zeros(0) if self.contact is None else self.contact.force


def stage_contacts(
    stage: Stage, feet: StageFootings, columns: Columns, ground: Ground, bow_response: FloatArray | None = None
) -> StageContacts:
    """Gather what the states of a stage need; bow_response (6 n,) [m] is the slab's own bow, whatever the modulus."""
    number: dict[int, IntArray] = {}
    count = 0
    for foot in feet.feet:
        number[id(foot)] = np.arange(count, count + foot.size)
        count += foot.size
    blocks = [columns.of(foot) for foot in feet.feet]
    nothing = np.zeros((len(ground.rigid), 0))
    vectors = sp.hstack([sp.csc_matrix(nothing), *(block.columns for block in blocks)], format="csc")
    response = np.concatenate([nothing, *(block.response for block in blocks)], axis=1)
    none = np.zeros(0, dtype=np.int64)
    F = np.asarray(vectors.T @ response)
    load_response, resultant = _loads(stage, feet.states, columns, ground)
    if bow_response is not None:
        load_response = load_response + stage.modulus * bow_response[:, None]
    return StageContacts(
        stage,
        feet.states,
        tuple(np.concatenate([none, *(number[id(foot)] for foot in state.feet)]) for state in feet.states),
        vectors,
        response,
        np.concatenate([np.zeros((3, 0)), *(block.motion for block in blocks)], axis=1),
        (F + F.T) / 2,
        load_response,
        resultant,
        np.asarray(vectors.T @ load_response),
    )


def _loads(stage: Stage, states: Sequence[State], columns: Columns, ground: Ground) -> tuple[FloatArray, FloatArray]:
    response = np.empty((len(ground.rigid), len(states)))
    resultant = np.empty((3, len(states)))
    for j, state in enumerate(states):
        parts = [(columns.even, state.even), (columns.weight, state.weight)]
        parts += [(columns.of(press), 1.0) for press in state.pressing]
        response[:, j] = sum(factor * block.response[:, 0] for block, factor in parts)
        total = sum(factor * block.motion[:, 0] for block, factor in parts)
        # What is only round-off of loads that cancel is nothing, and tips nothing.
        most = sum(abs(factor) * block.size[:, 0] for block, factor in parts)
        resultant[:, j] = np.where(np.abs(total) <= 1e-13 * most, 0.0, total)
    return response, resultant


def problem_of(contacts: StageContacts, state: int, ground: Ground) -> ContactProblem:
    """The contact problem of one state."""
    stage, way = contacts.stage, contacts.states[state]
    numbers = contacts.numbers[state]
    F = contacts.flexibility[np.ix_(numbers, numbers)] / stage.modulus
    # A hair of compliance keeps apart two contacts on one spot; it is 1e-11 of the plate's own.
    soft = np.full(len(numbers), 1e-11 * np.trace(F) / max(len(numbers), 1))
    one_sided, gap = np.zeros(len(numbers), dtype=bool), np.zeros(len(numbers))
    for support, foot, here in zip(way.supports, way.feet, runs(way.feet), strict=True):
        soft[here] += compliance(support, foot, stage.modulus * ground.rigidity)
        one_sided[here] = ~foot.slope & (support.action == "rest")
        gap[here] = np.where(foot.slope, 0.0, support.gap)
    return ContactProblem(
        F + np.diag(soft),
        contacts.displacement[numbers, state] / stage.modulus,
        contacts.motion[:, numbers],
        contacts.resultant[:, state],
        gap,
        one_sided,
        ground.length,
    )


def bear(problem: ContactProblem, ground: Ground, explain: bool = True) -> Bearing:
    """Solve one state: what bears, or how the slab falls, if that is to be explained."""
    balances, imbalance = can_balance(problem.motion, problem.load, problem.one_sided, ground.length)
    if not balances:
        if not explain:
            return Bearing(None, problem.motion)
        held = tipping(problem.motion, problem.load, problem.one_sided, imbalance, ground.rim)
        return Bearing(None, problem.motion, held)
    return Bearing(solve_contact(problem), problem.motion)


def coarsely(problem: ContactProblem, feet: Sequence[Footing], ground: Ground) -> tuple[FloatArray, FloatArray] | None:
    """Forces (s,) [N] and rigid motion (3,) with every second contact; None where these would not balance the load."""
    halves = block_diag(*(halved(foot) for foot in feet))
    coarse = _coarsened(problem, halves)
    if not can_balance(coarse.motion, coarse.load, coarse.one_sided, ground.length)[0]:
        return None
    found = solve_contact(coarse)
    return halves @ found.force, found.motion


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
