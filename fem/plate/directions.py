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
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import KDTree

from fem.plate.footing import Footing
from fem.plate.footings import StageFootings, footings
from fem.plate.model import Face, Point, Stage
from fem.plate.prepared import Prepared
from fem.plate.stages import Solved, StageStates, solved_states
from fem.plate.state_moments import StateMoments, Walks, state_moments

__all__ = ["Pull", "Pulled", "directional_moments", "hardest_pull", "pulled", "telling_points"]

FloatArray = npt.NDArray[np.float64]
Step = Callable[[str], None]

# Points of which all directions are in memory together.
_POINTS = 32


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
    walks = Walks(prepared, step, before, points is None)
    for states in solved_states(prepared, stages, points, step, before):
        yield _pulled(states, walks, across)


def telling_points(prepared: Prepared, stages: Sequence[Stage], apart: float) -> FloatArray:
    """The mesh's nodes, and places along supports and under loads inside the slab where a peak may hide between them.

    These are no nearer to a node than apart [m], and few of them nearer to one another: (q, 2) [m].
    """
    nodes = prepared.mesh.nodes
    feet = {id(foot): foot for stage in footings(prepared.site, prepared.plate, stages) for foot in _feet(stage)}
    spots = np.concatenate([np.zeros((0, 2)), *(foot.spots for foot in feet.values())])
    spots = spots[shapely.contains_xy(prepared.site.region, spots)]
    spots = spots[KDTree(nodes).query(spots)[0] >= apart]
    _, first = np.unique(np.floor(spots / apart), axis=0, return_index=True)
    return np.concatenate([nodes, spots[np.sort(first)]])


def _feet(stage: StageFootings) -> Iterator[Footing]:
    """What the stage rests on and what presses it inside the slab, where the moment has a kink or a peak."""
    every = (*stage.feet, *(press.foot for press in stage.pressing))
    return (foot for foot in every if foot.lines or foot.rounds)


def hardest_pull(prepared: Prepared, stage: Stage, at: Point, angle: float, face: Face) -> Pull | None:
    """The state that pulls a face hardest at one place [m] in one direction [rad]; None where the stage tips."""
    (states,) = solved_states(prepared, [stage], np.array([at]))
    across, side = _across(np.array([angle])), 1.0 if face == "underside" else -1.0
    best: Pull | None = None
    for block in state_moments(states, Walks(prepared, lambda what: None, None, False)):
        if isinstance(block, str):
            return None
        moment, membrane = _counted(prepared, states, block)
        found = side * (across @ moment[0])[0] + _membrane_part(across, membrane)[0, 0]
        k = int(np.argmax(found))
        if best is None or found[k] > best.moment:
            place = None if block.at is None else (float(block.at[k, 0]), float(block.at[k, 1]))
            flat = np.zeros(3) if block.in_plane is None else block.in_plane[0] * prepared.plate.thickness
            best = Pull(float(found[k]), _three(_side(stage) * block.moment[0, :, k]), _three(flat), block.name, place)
    return best


def _pulled(states: StageStates, walks: Walks, across: FloatArray) -> Pulled:
    q = len(states.spots.points)
    most = np.full((2, q, len(across)), -np.inf)
    doubt = not states.converged
    for block in state_moments(states, walks):
        if isinstance(block, str):
            return Pulled(None, block)
        doubt |= not block.sure
        moment, membrane = _counted(walks.prepared, states, block)
        added = np.broadcast_to(_membrane_part(across, membrane), most.shape[1:])
        for k in range(0, q, _POINTS):
            here = slice(k, k + _POINTS)
            m = _directions(across, moment[here])
            np.maximum(most[0, here], added[here] - m.min(axis=2).T, out=most[0, here])
            np.maximum(most[1, here], added[here] + m.max(axis=2).T, out=most[1, here])
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


def _counted(prepared: Prepared, states: StageStates, block: StateMoments) -> tuple[FloatArray, FloatArray | None]:
    """Tensors (q, 3, v) [N m/m] as in the contract, and in-plane pull times h/2 (q, 3), both for the full section."""
    h = prepared.plate.thickness
    thin = (h / states.spots.depth) ** 2
    moment = (_side(states.stage) * thin)[:, None, None] * block.moment
    return moment, None if block.in_plane is None else (thin * h * h / 2)[:, None] * block.in_plane


def _membrane_part(across: FloatArray, membrane: FloatArray | None) -> FloatArray:
    """What the pull in the plane adds in each direction, (q, a) or (1, 1); never less than nothing."""
    return np.zeros((1, 1)) if membrane is None else np.maximum(membrane @ across.T, 0.0)
