"""How hard each face is pulled in every direction: the most of all states of a stage, place by place.

A moment tensor pulls the underside across direction t, the direction of the pull and of a bar that helps, with

    m(t) = mx cos2 t + my sin2 t + 2 mxy sin t cos t,

the show face with -m(t). Each state of a stage is such a tensor at each point; what the steel has to carry is, in each
direction, the largest of them. A slab that stands or leans is also pulled in its plane, N(t) [N/m]: with the steel at
depth d from the pressed face and a depth a pressed, moments about the middle of what is pressed give T (d - a/2) =
M + N (h/2 - a/2) for the pull T of the steel. N h/2 is not less than N (h/2 - a/2), so it is added to both faces where
N pulls; where N presses, it only helps, and is left out. What is thinner than the slab has smaller arms: its moments
are multiplied by (h / depth)2, as its face stress is. That makes the strength of the slab's full section the measure
everywhere; for steel at 0.6 h from the pressed face it comes within 10 % of the ratio of arms down to 0.6 h.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from fem.plate.bearing import problem_of
from fem.plate.contact import ContactProblem, Contacts, solve_contacts
from fem.plate.model import Face, Point, Roaming, Stage
from fem.plate.prepared import Prepared
from fem.plate.pull import Returns, contact_moments, face_tensions, load_moments
from fem.plate.stages import Solved, StageStates, solved_states
from fem.plate.underfoot import underfoot
from fem.plate.walking import Steps, Walked, closer, places_of, step_at

__all__ = ["Pull", "Pulled", "directional_moments", "hardest_pull", "pulled"]

FloatArray = npt.NDArray[np.float64]
Step = Callable[[str], None]

_FACES: tuple[Face, Face] = ("show", "underside")
# States that are in memory together, and points of which all directions are.
_STATES, _POINTS = 64, 32
_CLOSER = 3


@dataclass(frozen=True, eq=False)
class Pulled:
    """moment (2, q, a) [N m/m]: the most that pulls show face and underside, in each direction; None where it tips.

    Negative where a face is pressed in a direction by every state. why says in words how it tips; doubt whether some
    forces did not pass their own checks.
    """

    moment: FloatArray | None
    why: str = ""
    doubt: bool = False


@dataclass(frozen=True, eq=False)
class Pull:
    """What pulls one place hardest in one direction: moment [N m/m] that counts, and how it comes about.

    tensor (mx, my, mxy) [N m/m] is as in the contract (positive pulls the underside), membrane (nx, ny, nxy) [N/m] the
    pull in the plane. state names the variation or the roaming load ("" for the stage as it stands), at [m] where that
    load then is.
    """

    moment: float
    tensor: tuple[float, float, float]
    membrane: tuple[float, float, float]
    state: str
    at: Point | None


@dataclass(frozen=True, eq=False)
class _Block:
    """Some states alike but for a load's place: moment (q, 3, v) [N m/m] and stress in the plane (q, 3) [Pa]."""

    name: str
    at: FloatArray | None
    moment: FloatArray
    in_plane: FloatArray | None
    sure: bool = True


class _Falls(Exception):  # noqa: N818 (an answer on its way, not an error)
    """The stage falls under a roaming load, in these words."""


def directional_moments(
    prepared: Prepared,
    stages: Sequence[Stage],
    points: FloatArray | None,
    angles: FloatArray,
    step: Step = lambda what: None,
    before: Solved | None = None,
) -> tuple[FloatArray | None, ...]:
    """Stage by stage the largest moment [N m/m] pulling show face / underside in each direction, (2, q, a).

    points (q, 2) [m] inside the slab, or None for the mesh's nodes; angles (a,) [rad] of the pull, from +x. Over the
    stage as it stands, its variations and every place of its roaming loads, each with its own contacts; moments are
    means over a disc of one thickness. None where the stage tips: pulled says how. before: what was solved for the same
    slab, whatever its stages' factors.
    """
    return tuple(one.moment for one in pulled(prepared, stages, points, angles, step, before))


def pulled(
    prepared: Prepared,
    stages: Sequence[Stage],
    points: FloatArray | None,
    angles: FloatArray,
    step: Step = lambda what: None,
    before: Solved | None = None,
) -> Iterator[Pulled]:
    """The same one by one, with words where a stage tips and a doubt where forces did not pass their checks."""
    across = _across(angles)
    walks: dict[Roaming, Steps] = {}
    if before is not None and points is None:
        for roaming in dict.fromkeys(one for stage in stages for one in stage.roaming):
            walks |= _known(roaming, before)
    for states in solved_states(prepared, stages, points, step, before):
        yield _pulled(prepared, states, walks, across, step)


def hardest_pull(prepared: Prepared, stage: Stage, at: Point, angle: float, face: Face) -> Pull | None:
    """The state that pulls a face hardest at one place [m] in one direction [rad]; None where the stage tips."""
    (states,) = solved_states(prepared, [stage], np.array([at]))
    across, side = _across(np.array([angle])), _FACES.index(face)
    best: Pull | None = None
    if states.falls:
        return None
    try:
        for block in _blocks(prepared, states, {}, lambda what: None):
            moment, membrane = _counted(prepared, states, block)
            found = (across @ moment[0])[0] * (1.0 if side else -1.0) + _membrane_part(across, membrane)[0, 0]
            k = int(np.argmax(found))
            if best is None or found[k] > best.moment:
                place = None if block.at is None else (float(block.at[k, 0]), float(block.at[k, 1]))
                flat = np.zeros(3) if block.in_plane is None else block.in_plane[0] * prepared.plate.thickness
                true = _side(states.stage) * block.moment[0, :, k]
                best = Pull(float(found[k]), _three(true), _three(flat), block.name, place)
    except _Falls:
        return None
    return best


def _known(roaming: Roaming, before: Solved) -> dict[Roaming, Steps]:
    """The load at its places, at the mesh's nodes, if it was solved with any amount but none."""
    for one, steps in before.steps.items():
        if isinstance(one, Roaming) and one.amount and replace(one, amount=roaming.amount) == roaming:
            return {roaming: steps.times(roaming.amount / one.amount)}
    return {}


def _pulled(
    prepared: Prepared, states: StageStates, walks: dict[Roaming, Steps], across: FloatArray, step: Step
) -> Pulled:
    if states.falls:
        return Pulled(None, states.falls)
    q = len(states.spots.points)
    most = np.full((2, q, len(across)), -np.inf)
    doubt = not states.converged
    try:
        for block in _blocks(prepared, states, walks, step):
            doubt |= not block.sure
            moment, membrane = _counted(prepared, states, block)
            added = np.broadcast_to(_membrane_part(across, membrane), most.shape[1:])
            for k in range(0, q, _POINTS):
                here = slice(k, k + _POINTS)
                m = _directions(across, moment[here])
                np.maximum(most[0, here], added[here] - m.min(axis=2).T, out=most[0, here])
                np.maximum(most[1, here], added[here] + m.max(axis=2).T, out=most[1, here])
    except _Falls as fall:
        return Pulled(None, str(fall))
    return Pulled(most, doubt=doubt)


def _directions(across: FloatArray, moment: FloatArray) -> FloatArray:
    """Moments (a, b, v) in each direction, from tensors (b, 3, v)."""
    b, _, v = moment.shape
    flat = np.ascontiguousarray(moment.transpose(1, 0, 2)).reshape(3, b * v)
    return np.asarray(across @ flat).reshape(len(across), b, v)


def _across(angles: FloatArray) -> FloatArray:
    """What takes a tensor (mx, my, mxy) to its part in each direction, (a, 3)."""
    c, s = np.cos(angles), np.sin(angles)
    return np.stack([c * c, s * s, 2 * s * c], axis=1)


def _side(stage: Stage) -> float:
    return 1.0 if stage.up == "show" else -1.0


def _three(values: FloatArray) -> tuple[float, float, float]:
    x, y, xy = values.tolist()
    return x, y, xy


def _counted(prepared: Prepared, states: StageStates, block: _Block) -> tuple[FloatArray, FloatArray | None]:
    """Tensors (q, 3, v) [N m/m] as in the contract, and in-plane pull times h/2 (q, 3), both for the full section."""
    h = prepared.plate.thickness
    thin = (h / states.spots.depth) ** 2
    moment = (_side(states.stage) * thin)[:, None, None] * block.moment
    return moment, None if block.in_plane is None else (thin * h * h / 2)[:, None] * block.in_plane


def _membrane_part(across: FloatArray, membrane: FloatArray | None) -> FloatArray:
    """What the pull in the plane adds in each direction, (q, a) or (1, 1); never less than nothing."""
    return np.zeros((1, 1)) if membrane is None else np.maximum(membrane @ across.T, 0.0)


def _blocks(prepared: Prepared, states: StageStates, walks: dict[Roaming, Steps], step: Step) -> Iterator[_Block]:
    """Every state that counts, some at a time; _Falls if a roaming load tips the slab."""
    contacts, spots = states.contacts, states.spots
    back = Returns(spots.points, spots.poisson)
    for j, (force, state) in enumerate(zip(states.forces, contacts.states, strict=True)):
        if force is not None:
            response = contacts.load_response[:, j] - contacts.response[:, contacts.numbers[j]] @ force
            moment = spots.moments(response[:, None]) + states.bowed[..., None]
            yield _Block(state.name, None, moment + back.of(state, force, spots.radius)[..., None], states.in_plane[j])
    if not states.stage.roaming:
        return
    walker = _Walker.of(prepared, states)
    for roaming in states.stage.roaming:
        if roaming not in walks:
            step(f"walking over the slab: {roaming.name}")
            walks[roaming] = step_at(roaming, places_of(roaming, prepared), prepared, spots)
        yield from walker.walked(roaming, walks[roaming])


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

    def walked(self, roaming: Roaming, steps: Steps) -> Iterator[_Block]:
        """The load at all its places, under each point, and closer about the worst places as the answer does it."""
        spots, flat, side = self.states.spots, self.states.in_plane[0], _side(self.states.stage)
        at, tension = steps.at, np.zeros((2, 0))
        apart = float(np.median(np.hypot(*np.diff(at, axis=0).T))) if len(at) > 1 else 0.1
        for again in range(1 + _CLOSER):
            before = tension.max(axis=1, initial=0.0)
            found = self._contacts(roaming, steps)
            if not again:
                below = underfoot(roaming, at, spots.points, self.prepared)
                moment = self.base + below.moment(steps.moments, self.newton, found.force)
                yield _Block(roaming.name, below.at, moment[..., None], flat)
            for k in range(0, len(steps.at), _STATES):
                part = slice(k, k + _STATES)
                moment = self.base[..., None] + steps.moments[..., part]
                moment += (self.newton @ found.force[:, part]).reshape(moment.shape)
                pull = face_tensions(moment, spots.depth, side, flat)
                tension = np.concatenate([tension, pull.max(axis=1)], axis=1)
                yield _Block(roaming.name, steps.at[part], moment, flat, bool(found.converged[part].all()))
            gain = float((tension.max(axis=1) - before).max())
            if again == _CLOSER or (again and gain <= 0.01 * float(before.max())):
                return
            apart /= 2
            so_far = Walked(tension, np.zeros((2, 0)), np.ones(len(at), dtype=bool), True)
            more = closer(roaming, replace(steps, at=at), so_far, self.prepared, apart)
            if not len(more):
                return
            at = np.concatenate([at, more])
            steps = step_at(roaming, more, self.prepared, spots)

    def _contacts(self, roaming: Roaming, steps: Steps) -> Contacts:
        """The contacts' forces with the load at each place; _Falls where nothing balances it."""
        contacts, numbers = self.states.contacts, self.states.contacts.numbers[0]
        displacement = contacts.displacement[numbers, :1] + np.asarray(contacts.columns[:, numbers].T @ steps.response)
        load = contacts.resultant[:, :1] + steps.motion
        found = solve_contacts(self.problem, displacement / contacts.stage.modulus, load)
        if not found.stands.all():
            raise _Falls(f"with the load '{roaming.name}' at some of its places it tips")
        return found
