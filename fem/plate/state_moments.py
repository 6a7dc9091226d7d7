"""Every state of a stage as moments at its spots: as it stands, its variations, every place of its roaming loads."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from fem.plate.bearing import problem_of
from fem.plate.contact import ContactProblem, Contacts, solve_contacts
from fem.plate.model import Roaming
from fem.plate.prepared import Prepared
from fem.plate.pull import Returns, Spots, contact_moments, face_tensions, load_moments
from fem.plate.stages import Solved, StageStates
from fem.plate.underfoot import underfoot
from fem.plate.walking import Steps, Walked, closer, places_of, step_at

__all__ = ["StateMoments", "Walks", "state_moments"]

FloatArray = npt.NDArray[np.float64]
Step = Callable[[str], None]

# States that are in memory together; rounds of denser places about the worst one of a roaming load.
_STATES = 64
_CLOSER = 3


@dataclass(frozen=True, eq=False)
class StateMoments:
    """Some states alike but for a load's place: moment (q, 3, v) [N m/m] as gravity sees it, at the stage's spots.

    name is that of the variation or the roaming load, "" for the stage as it stands; at (v, 2) [m] where the load is
    ((q, 2) and v = 1 where it is elsewhere for every spot), None without one. in_plane (q, 3) [Pa] is the stress in the
    plane, None without one; sure: the forces passed their checks.
    """

    name: str
    at: FloatArray | None
    moment: FloatArray
    in_plane: FloatArray | None
    sure: bool = True


class Walks:
    """The roaming loads at their places, each solved once for all stages that are read at the same spots.

    before: what was solved with any amount of them. at_nodes: the spots are the mesh's nodes.
    """

    def __init__(self, prepared: Prepared, step: Step, before: Solved | None, at_nodes: bool) -> None:
        self.prepared = prepared
        self._step, self._before, self._at_nodes = step, before, at_nodes
        self._found: dict[Roaming, Steps] = {}

    def of(self, roaming: Roaming, spots: Spots) -> Steps:
        """The load at all its places."""
        if roaming not in self._found:
            known = self._known(roaming)
            if known is None:
                self._step(f"walking over the slab: {roaming.name}")
                known = step_at(roaming, places_of(roaming, self.prepared), self.prepared, spots)
            elif not self._at_nodes:
                known = known.read_at(spots)
            self._found[roaming] = known
        return self._found[roaming]

    def _known(self, roaming: Roaming) -> Steps | None:
        for one, steps in ({} if self._before is None else self._before.steps).items():
            if isinstance(one, Roaming) and one.amount and replace(one, amount=roaming.amount) == roaming:
                return steps.times(roaming.amount / one.amount)
        return None


def state_moments(states: StageStates, walks: Walks) -> Iterator[StateMoments | str]:
    """Every state of a stage that counts, some at a time; words, and then no more, where the slab tips."""
    if states.falls:
        yield states.falls
        return
    contacts, spots = states.contacts, states.spots
    back = Returns(spots.points, spots.poisson)
    for j, (force, state) in enumerate(zip(states.forces, contacts.states, strict=True)):
        if force is not None:
            response = contacts.load_response[:, j] - contacts.response[:, contacts.numbers[j]] @ force
            moment = spots.moments(response[:, None]) + states.bowed[..., None]
            yield StateMoments(
                state.name, None, moment + back.of(state, force, spots.radius)[..., None], states.in_plane[j]
            )
    if not states.stage.roaming:
        return
    walker = _Walker.of(walks.prepared, states)
    for roaming in states.stage.roaming:
        if not (yield from walker.walked(roaming, walks.of(roaming, spots))):
            yield f"with the load '{roaming.name}' at some of its places it tips"
            return


@dataclass(frozen=True, eq=False)
class _Walker:
    """A stage as it stands, ready for a load besides: its problem, moments of a newton on each contact (3 q, s)."""

    prepared: Prepared
    states: StageStates
    problem: ContactProblem
    newton: FloatArray
    base: FloatArray

    @classmethod
    def of(cls, prepared: Prepared, states: StageStates) -> _Walker:
        """The walker of a stage that stands."""
        contacts, spots = states.contacts, states.spots
        here = contact_moments(spots, contacts.states[0].feet, contacts.response[:, contacts.numbers[0]])
        base = load_moments(spots, contacts.states[0], contacts.load_response[:, 0]) + states.bowed
        problem = problem_of(contacts, 0, prepared.ground)
        return cls(prepared, states, problem, here.reshape(3 * len(spots.points), -1), base)

    def walked(self, roaming: Roaming, steps: Steps) -> Generator[StateMoments, None, bool]:
        """The load at all its places, under each spot, and closer about the worst places as the answer does it.

        False where it tips the slab.
        """
        spots, flat = self.states.spots, self.states.in_plane[0]
        side = 1.0 if self.states.stage.up == "show" else -1.0
        at, tension = steps.at, np.zeros((2, 0))
        apart = float(np.median(np.hypot(*np.diff(at, axis=0).T))) if len(at) > 1 else 0.1
        for again in range(1 + _CLOSER):
            before = tension.max(axis=1, initial=0.0)
            found = self._contacts(steps)
            if not found.stands.all():
                return False
            if not again:
                below = underfoot(roaming, at, spots.points, self.prepared)
                moment = self.base + below.moment(steps.moments, self.newton, found.force)
                yield StateMoments(roaming.name, below.at, moment[..., None], flat)
            for k in range(0, len(steps.at), _STATES):
                part = slice(k, k + _STATES)
                moment = self.base[..., None] + steps.moments[..., part]
                moment += (self.newton @ found.force[:, part]).reshape(moment.shape)
                pull = face_tensions(moment, spots.depth, side, flat)
                tension = np.concatenate([tension, pull.max(axis=1)], axis=1)
                yield StateMoments(roaming.name, steps.at[part], moment, flat, bool(found.converged[part].all()))
            gain = float((tension.max(axis=1) - before).max())
            if again == _CLOSER or (again and gain <= 0.01 * float(before.max())):
                break
            apart /= 2
            so_far = Walked(tension, np.zeros((2, 0)), np.ones(len(at), dtype=bool), True)
            more = closer(roaming, replace(steps, at=at), so_far, self.prepared, apart)
            if not len(more):
                break
            at = np.concatenate([at, more])
            steps = step_at(roaming, more, self.prepared, spots)
        return True

    def _contacts(self, steps: Steps) -> Contacts:
        """The contacts' forces with the load at each place."""
        contacts, numbers = self.states.contacts, self.states.contacts.numbers[0]
        displacement = contacts.displacement[numbers, :1] + np.asarray(contacts.columns[:, numbers].T @ steps.response)
        load = contacts.resultant[:, :1] + steps.motion
        return solve_contacts(self.problem, displacement / contacts.stage.modulus, load)
