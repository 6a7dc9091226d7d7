"""Stage by stage: all states solved, the governing one of each face read with its error bar, the verdict."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import cKDTree

from fem.plane.standing import EdgeSampling, Standing, edge_sampling, stand
from fem.plate.bearing import Bearing, StageContacts, bear, coarsely, problem_of, stage_contacts
from fem.plate.bow import bow_load, bow_moment, bow_region
from fem.plate.columns import Columns, solve_columns
from fem.plate.footing import Footing, runs
from fem.plate.footings import KnownPlaces, StageFootings, State, footings, stage_groups
from fem.plate.levels import level_limits
from fem.plate.model import (
    HAND_STIFFNESS,
    Face,
    LevelLimit,
    Peak,
    PointPlace,
    Probe,
    ProbeResult,
    Roaming,
    Stage,
    StageResult,
    Support,
    SupportResult,
    Tipping,
    Walk,
    Worst,
)
from fem.plate.prepared import Prepared
from fem.plate.pull import Returns, Spots, face_tensions
from fem.plate.reading import FACES, InPlane, Places, Readings, peak_of, probe_result, readings, status_of
from fem.plate.sampling import Sampling
from fem.plate.walking import Besides, Steps, Walked, closer, least_tipping, places_of, step_at, walk

__all__ = ["Solved", "StageStates", "answer_stages", "solved_states"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_NOTHING_HOLDS = "nothing that only pushes down holds the slab here: it falls or lifts off its supports"
_TOPPLES = "on its lower edge the slab cannot stand: its middle is not over what bears it there"

# Rounds of denser places about the worst one of a roaming load.
_CLOSER = 3
# Variations whose names end like this are asides: that the slab falls then is told, and the stage does not tip.
_AT_REST = " at rest"
_ASIDES = (_AT_REST, " lets go")


@dataclass(frozen=True, eq=False)
class Solved:
    """What was solved for some stages, to be used again: places, columns, roaming loads by what they depend on."""

    places: KnownPlaces
    columns: Columns | None = None
    steps: Mapping[object, Steps] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class StageStates:
    """Every state of one stage, solved, and what its moments at q spots are made of.

    forces[j] (s,) [N] are those of state j's contacts; None for one that falls aside, or that differs from the first
    only in supports at rest which do not pull. in_plane[j] (q, 3) [Pa] is the stress in the plane, None without one;
    bowed (q, 3) [N m/m] what the bows add. falls: how the stage falls in words, "" where it stands.
    """

    stage: Stage
    spots: Spots
    contacts: StageContacts
    forces: tuple[FloatArray | None, ...]
    in_plane: tuple[FloatArray | None, ...]
    bowed: FloatArray
    falls: str
    converged: bool


@dataclass(frozen=True, eq=False)
class _Slab:
    """What all stages are read with: sample points, what the shape says of them, and those that are searched."""

    prepared: Prepared
    sample: Sampling
    places: Places
    index: IntArray

    @cached_property
    def search(self) -> Spots:
        """The points that are searched for the state that governs: nodes and spots."""
        return self.spots_at(self.index)

    @cached_property
    def roamed(self) -> Spots:
        """The nodes, which are searched under every roaming load."""
        return self.spots_at(np.arange(len(self.prepared.mesh.nodes)))

    def spots_at(self, which: IntArray) -> Spots:
        """Sample points by number."""
        sample, free = self.sample, self.prepared.free
        radius = self.prepared.plate.thickness / 2
        mean, depth = sample.mean.at(which), self.places.depth[which]
        return Spots(sample.points[which], mean, depth, free.rigidity, free.poisson, radius)

    def nearest(self, points: FloatArray) -> IntArray:
        """The node next to each of some points (k, 2) [m]."""
        return np.asarray(cKDTree(self.prepared.mesh.nodes).query(points)[1], dtype=np.int64)

    @cached_property
    def edge_sampling(self) -> EdgeSampling:
        """The sample points in the slab's own plane, over the same discs."""
        return edge_sampling(self.prepared.edgewise, self.sample, self.prepared.site.region, self.sample.discs)


@dataclass(frozen=True, eq=False)
class _Full:
    """One state in full, as gravity sees it: w (p,), moments (p, 3); the same with coarser contacts."""

    name: str
    at: tuple[float, float] | None
    state: State
    bearing: Bearing
    w: FloatArray
    mean: FloatArray
    field: FloatArray
    jump: FloatArray
    coarse_w: FloatArray
    coarse_mean: FloatArray
    coarse_field: FloatArray
    delicate: bool
    in_plane: InPlane | None
    standing: Standing | None


def answer_stages(
    prepared: Prepared,
    stages: Sequence[Stage],
    probes: Sequence[Probe] = (),
    step: Callable[[str], None] = lambda what: None,
    before: Solved | None = None,
) -> tuple[tuple[StageResult, ...], Solved]:
    """Every stage's answer, and what was solved on the way; before: what need not be solved again."""
    known = KnownPlaces() if before is None else before.places
    feet = footings(prepared.site, prepared.plate, stages, known)
    columns = before.columns if before is not None else None
    groups = stage_groups(feet)
    with ThreadPoolExecutor(1) as beside:
        # Most of the time of columns is spent in the factor, where another thread can lay out the reading points.
        first = beside.submit(_columns, prepared, [feet[k] for k in groups[0]], columns) if groups else None
        slab = _slab(prepared, feet, probes)
        columns = columns if first is None else first.result()
    steps = dict(before.steps) if before is not None else {}
    for stage in stages:
        for roaming in stage.roaming:
            if roaming not in steps:
                step(f"walking over the slab: {roaming.name}")
                steps[roaming] = step_at(roaming, places_of(roaming, prepared), prepared, slab.roamed)
    results: list[StageResult] = []
    for number, group in enumerate(groups):
        if number:
            kept = columns if before is not None else None
            columns = _columns(prepared, [feet[k] for k in group], kept)
        assert columns is not None
        for k in group:
            step(f"finding what bears: {stages[k].name}")
            walks = [(roaming, steps[roaming]) for roaming in stages[k].roaming]
            results.append(_answer(slab, stages[k], feet[k], columns, walks, probes))
    return tuple(results), Solved(known, columns, steps)


def solved_states(
    prepared: Prepared,
    stages: Sequence[Stage],
    points: FloatArray | None = None,
    step: Callable[[str], None] = lambda what: None,
    before: Solved | None = None,
) -> Iterator[StageStates]:
    """Stage by stage every state as answer_stages solves it, read at points (q, 2) [m]; None: at the mesh's nodes.

    before: what need not be solved again.
    """
    feet = footings(prepared.site, prepared.plate, stages, None if before is None else before.places)
    sample = prepared.grid if points is None else prepared.grid.with_spots(points)
    index = np.arange(len(prepared.mesh.nodes)) if points is None else sample.grid_size + np.arange(len(points))
    slab = _Slab(prepared, sample, prepared.places(sample), index)
    for group in stage_groups(feet):
        columns = _columns(prepared, [feet[k] for k in group], None if before is None else before.columns)
        for k in group:
            step(f"finding what bears: {stages[k].name}")
            yield _solved_states(slab, stages[k], feet[k], columns)


def _solved_states(slab: _Slab, stage: Stage, feet: StageFootings, columns: Columns) -> StageStates:
    prepared, index = slab.prepared, slab.index
    contacts = stage_contacts(stage, feet, columns, prepared.ground, _bowed(prepared, stage))
    bearings = _bearings(contacts, prepared)
    upright = _upright(slab, stage, feet.states)
    fall = _first_fall(contacts, bearings, upright)
    forces: list[FloatArray | None] = []
    in_plane: list[FloatArray | None] = []
    for j, bearing in enumerate(bearings):
        flat = _in_plane(contacts.states[j], upright.get(j))
        stands = bearing is not None and bearing.contact is not None and not (j in upright and upright[j].tips)
        forces.append(bearing.force if bearing is not None and stands else None)
        in_plane.append(flat.mean[index] if flat is not None and stands else None)
    return StageStates(
        stage,
        slab.search,
        contacts,
        tuple(forces),
        tuple(in_plane),
        _bow_moments(prepared, stage, slab.search.points, prepared.plate.thickness / 2),
        "" if fall is None else (f"{fall[0]}: " if fall[0] else "") + fall[2],
        all(b is None or b.contact is None or b.contact.converged for b in bearings),
    )


def _columns(prepared: Prepared, feet: Sequence[StageFootings], known: Columns | None) -> Columns:
    return solve_columns(prepared.free, prepared.weight, feet, known)


def _slab(prepared: Prepared, feet: Sequence[StageFootings], probes: Sequence[Probe]) -> _Slab:
    depths = prepared.free.depths
    thin = np.zeros((0, 2)) if depths is None else depths.spots
    thin = thin[shapely.contains_xy(prepared.site.region, thin)]
    spots = np.concatenate([np.asarray([probe.at for probe in probes]).reshape(-1, 2), _spots(feet), thin])
    sample = prepared.grid.with_spots(spots)
    places = prepared.places(sample)
    nodes = np.arange(len(prepared.mesh.nodes))
    index = np.concatenate([nodes, np.arange(sample.grid_size, len(sample.points))])
    return _Slab(prepared, sample, places, index)


def _spots(feet: Sequence[StageFootings]) -> FloatArray:
    """Where a peak may hide between the nodes of the mesh: along lines inside the slab and under its points."""
    touching = {id(foot): foot for stage in feet for foot in stage.feet}
    touching |= {id(press.foot): press.foot for stage in feet for press in stage.pressing}
    spots = [foot.spots for foot in touching.values() if foot.lines or foot.rounds]
    if not spots:
        return np.zeros((0, 2))
    return np.unique(np.concatenate(spots).round(7), axis=0)


def _answer(
    slab: _Slab,
    stage: Stage,
    feet: StageFootings,
    columns: Columns,
    walks: Sequence[tuple[Roaming, Steps]],
    probes: Sequence[Probe],
) -> StageResult:
    prepared, ground = slab.prepared, slab.prepared.ground
    contacts = stage_contacts(stage, feet, columns, ground, _bowed(prepared, stage))
    bearings = _bearings(contacts, prepared)
    upright = _upright(slab, stage, feet.states)
    falls = _first_fall(contacts, bearings, upright)
    if falls is not None:
        return _tipping_result(stage, falls[1], probes, falls[2], falls[0])
    flat = _in_plane(contacts.states[0], upright.get(0))
    walked = [_walked(slab, contacts, roaming, steps, flat) for roaming, steps in walks]
    for (roaming, _), way in zip(walks, walked, strict=True):
        if not way.walked.stands.all():
            return _tipping_result(stage, _tipping_under(contacts, roaming, way, prepared), probes)
    alone = len(bearings) == 1 and not walked
    pull, largest = (
        (np.zeros((2, 1)), np.full((2, len(slab.index)), -np.inf))
        if alone
        else _searched(slab, contacts, bearings, upright)
    )
    for way in walked:
        here = slice(0, len(prepared.mesh.nodes))
        largest[:, here] = np.maximum(largest[:, here], way.walked.largest)
    wanted = _governing(bearings, pull, walked)
    fulls = _fulls(slab, contacts, bearings, wanted, walked, upright)
    return _standing_result(slab, stage, feet, contacts, bearings, fulls, largest, walked, upright, probes)


def _bowed(prepared: Prepared, stage: Stage) -> FloatArray | None:
    """The deflection (6 n,) [m] that the stage's bows give the pinned slab, whatever its modulus."""
    if not stage.bows:
        return None
    free, region = prepared.free, prepared.site.region
    side = 1.0 if stage.up == "show" else -1.0
    load = sum(
        bow_load(free.bell, free.rigidity, bow_region(bow.place.points, region), side * bow.curvature, free.depths)
        for bow in stage.bows
    )
    return np.asarray(free.solve(np.asarray(load)[:, None])[:, 0])


def _bow_moments(prepared: Prepared, stage: Stage, points: FloatArray, radius: float) -> FloatArray:
    """What the bows add to the moments (p, 3) [N m/m] as gravity sees them, means over discs of radius [m]."""
    free, region = prepared.free, prepared.site.region
    side = 1.0 if stage.up == "show" else -1.0
    out = np.zeros((len(points), 3))
    for bow in stage.bows:
        area = bow_region(bow.place.points, region)
        D = stage.modulus * free.rigidity
        out += bow_moment(points, radius, region, area, D, side * bow.curvature, free.depths)
    return out


@dataclass(frozen=True, eq=False)
class _Way:
    """A roaming load on one stage: where it was tried and what came of it; change (2,) [Pa] of the last places."""

    roaming: Roaming
    steps: Steps
    walked: Walked
    change: float


def _bearings(contacts: StageContacts, prepared: Prepared) -> list[Bearing | None]:
    """Every state solved; None for those that differ from the first one only in supports at rest which do not pull."""
    ground = prepared.ground
    first = bear(problem_of(contacts, 0, ground), ground)
    out: list[Bearing | None] = [first]
    for j in range(1, len(contacts.states)):
        needed = first.contact is None or not _idle(contacts, j, first)
        explain = not contacts.states[j].name.endswith(_ASIDES)
        out.append(bear(problem_of(contacts, j, ground), ground, explain) if needed else None)
    return out


def _idle(contacts: StageContacts, j: int, first: Bearing) -> bool:
    """Whether state j only lets supports rest that press anyway."""
    stands, way = contacts.states[0], contacts.states[j]
    if not way.name.endswith(_AT_REST) or len(way.supports) != len(stands.supports):
        return False
    most = float(np.abs(first.force).max(initial=0.0))
    for was, now, here in zip(stands.supports, way.supports, runs(stands.feet), strict=True):
        changed = was.action != now.action
        if changed and (was.action == "clamp" or np.any(first.force[here] < -1e-6 * most)):
            return False
    return True


def _first_fall(
    contacts: StageContacts, bearings: Sequence[Bearing | None], upright: Mapping[int, Standing]
) -> tuple[str, Tipping | None, str] | None:
    """The first state that falls: its name, how, and a sentence for where no single force would hold it."""
    for j, (state, bearing) in enumerate(zip(contacts.states, bearings, strict=True)):
        if bearing is not None and bearing.contact is None and not state.name.endswith(_ASIDES):
            tips = bearing.tips
            return state.name, None if tips is None else replace(tips, variation=state.name), _NOTHING_HOLDS
        if j in upright and upright[j].tips and not state.name.endswith(_ASIDES):
            return state.name, None, _TOPPLES
    return None


def _upright(slab: _Slab, stage: Stage, states: Sequence[State]) -> dict[int, Standing]:
    """How the slab stands on its lower edge in each state that is not flat; alike ones are worked out once."""
    prepared = slab.prepared
    found: dict[object, Standing] = {}
    out: dict[int, Standing] = {}
    for j, state in enumerate(states):
        edge = state.edgewise
        if edge is None or edge.multiplier == 0.0:
            continue
        below = [state.supports[k] for k in edge.bearing if k < len(state.supports)]
        key = (edge.down, tuple(below))
        if key not in found:
            found[key] = stand(
                prepared.edgewise,
                slab.edge_sampling,
                prepared.plate.weight_per_area,
                edge.down,
                [support.place for support in below],
                [support.stiffness for support in below],
                stage.modulus,
            )
        # No gaps under the edge: everything grows with the weight.
        out[j] = found[key]
    return out


def _in_plane(state: State, standing: Standing | None) -> InPlane | None:
    if standing is None or state.edgewise is None:
        return None
    times = state.edgewise.multiplier
    return InPlane(times * standing.mean, times * standing.local, abs(times) * standing.error)


def _walked(slab: _Slab, contacts: StageContacts, roaming: Roaming, steps: Steps, flat: InPlane | None = None) -> _Way:
    """The load at all its places, then closer and closer about the worst ones until that changes nothing."""
    prepared = slab.prepared
    nodes = np.arange(len(prepared.mesh.nodes))
    along = _along(slab, contacts.states[0])
    besides = [_besides(slab, contacts.stage, slab.roamed, nodes, flat)]
    besides.append(_besides(slab, contacts.stage, slab.spots_at(along), along, flat))

    def walked_by(steps: Steps) -> Walked:
        near = slab.nearest(steps.at) if flat is not None else nodes
        under = _besides(slab, contacts.stage, steps.under, near, flat)
        return walk(contacts, steps, besides[0], besides[1], under, prepared)

    walked = walked_by(steps)
    change = 0.0
    apart = _apart(steps.at)
    for _ in range(_CLOSER):
        apart /= 2
        more = closer(roaming, steps, walked, prepared, apart)
        if not len(more) or not walked.stands.all():
            break
        extra = step_at(roaming, more, prepared, slab.roamed)
        found = walked_by(extra)
        before = np.nanmax(walked.tension, axis=1)
        steps, walked = steps.joined(extra), walked.joined(found)
        gain = np.nanmax(walked.tension, axis=1) - before
        change = float(gain.max())
        if change <= 0.01 * float(before.max()):
            break
    return _Way(roaming, steps, walked, change)


def _along(slab: _Slab, state: State) -> IntArray:
    """Sample points, by number, along the lines inside the slab and under the points of one state alone."""
    sample = slab.sample
    feet = [*state.feet, *(press.foot for press in state.pressing)]
    spots = [foot.spots for foot in feet if foot.lines or foot.rounds]
    if not spots:
        return np.zeros(0, dtype=np.int64)
    first = sample.grid_size
    wanted = {tuple(spot) for spot in np.concatenate(spots).round(7).tolist()}
    return np.asarray(
        [first + k for k, spot in enumerate(sample.points[first:].tolist()) if tuple(spot) in wanted], dtype=np.int64
    )


def _besides(slab: _Slab, stage: Stage, spots: Spots, numbers: IntArray, flat: InPlane | None) -> Besides:
    """What acts at some spots besides a roaming load; numbers: sample points whose stress in the plane they have."""
    bowed = _bow_moments(slab.prepared, stage, spots.points, slab.prepared.plate.thickness / 2)
    return Besides(spots, bowed, None if flat is None else flat.mean[numbers])


def _apart(places: FloatArray) -> float:
    """Usual distance between neighbouring places [m]."""
    if len(places) < 2:
        return 0.1
    return float(np.median(np.hypot(*np.diff(places, axis=0).T)))


def _tipping_under(contacts: StageContacts, roaming: Roaming, way: _Way, prepared: Prepared) -> Tipping | None:
    """How the slab falls under a roaming load: where the smallest load tips it."""
    least, at = least_tipping(contacts, way.steps, way.walked, roaming.amount, prepared)
    if np.isfinite(least):
        k = int(np.argmin(np.hypot(*(way.steps.at - np.asarray(at)).T)))
    else:
        k = int(np.flatnonzero(~way.walked.stands)[0])
    problem = problem_of(contacts, 0, prepared.ground)
    fallen = bear(replace(problem, load=problem.load + way.steps.motion[:, k]), prepared.ground)
    where = (float(way.steps.at[k, 0]), float(way.steps.at[k, 1]))
    if fallen.tips is None:
        return None
    return replace(fallen.tips, variation=roaming.name, at=where, least_load=least if np.isfinite(least) else None)


def _searched(
    slab: _Slab, contacts: StageContacts, bearings: Sequence[Bearing | None], upright: Mapping[int, Standing]
) -> tuple[FloatArray, FloatArray]:
    """The worst tension (2, states) [Pa] of each state, -inf if not solved, and the largest (2, q) at each spot."""
    states = [
        j
        for j, bearing in enumerate(bearings)
        if bearing is not None and bearing.contact is not None and not (j in upright and upright[j].tips)
    ]
    pull = np.full((2, len(bearings)), -np.inf)
    largest = np.full((2, len(slab.index)), -np.inf)
    side = 1.0 if contacts.stage.up == "show" else -1.0
    radius = slab.prepared.plate.thickness / 2
    bowed = _bow_moments(slab.prepared, contacts.stage, slab.search.points, radius)
    back = Returns(slab.search.points, slab.prepared.free.poisson)
    for j in states:
        bearing, numbers = bearings[j], contacts.numbers[j]
        assert bearing is not None
        response = contacts.load_response[:, j] - contacts.response[:, numbers] @ bearing.force
        moment = slab.search.moments(response[:, None])[..., 0] + bowed
        moment += back.of(contacts.states[j], bearing.force, radius)
        flat = _in_plane(contacts.states[j], upright.get(j))
        in_plane = None if flat is None else flat.mean[slab.index]
        tension = face_tensions(moment[..., None], slab.search.depth, side, in_plane)[..., 0]
        pull[:, j] = tension.max(axis=1)
        largest = np.maximum(largest, tension)
    return pull, largest


def _governing(
    bearings: Sequence[Bearing | None], pull: FloatArray, walked: Sequence[_Way]
) -> list[tuple[int, int, int]]:
    """The states to read in full, the first one first: (state, -1, -1), or (0, roaming load, place)."""
    wanted = [(0, -1, -1)]
    for face in range(2):
        best = (int(np.argmax(pull[face])), -1, -1)
        most = float(pull[face].max())
        for number, way in enumerate(walked):
            k = int(np.nanargmax(way.walked.tension[face]))
            if way.walked.tension[face, k] > most:
                most, best = float(way.walked.tension[face, k]), (0, number, k)
        if best not in wanted:
            wanted.append(best)
    return wanted


def _fulls(
    slab: _Slab,
    contacts: StageContacts,
    bearings: Sequence[Bearing | None],
    wanted: Sequence[tuple[int, int, int]],
    walked: Sequence[_Way],
    upright: Mapping[int, Standing],
) -> list[_Full]:
    prepared, stage = slab.prepared, contacts.stage
    ground, E = prepared.ground, stage.modulus
    found = []
    deflections = []
    for j, number, k in wanted:
        problem, state = problem_of(contacts, j, ground), contacts.states[j]
        numbers, response, name, at = contacts.numbers[j], contacts.load_response[:, j], state.name, None
        bearing = bearings[j]
        if number >= 0:
            way = walked[number]
            steps = way.steps
            response = response + steps.response[:, k]
            displacement = np.asarray(contacts.columns[:, numbers].T @ response) / E
            problem = replace(problem, displacement=displacement, load=problem.load + steps.motion[:, k])
            bearing = bear(problem, ground)
            state = replace(state, pressing=(*state.pressing, steps.loads[k]))
            name, at = way.roaming.name, (float(steps.at[k, 0]), float(steps.at[k, 1]))
        if bearing is None or bearing.contact is None:
            continue
        coarse = coarsely(problem, state.feet, ground)
        force, motion = (bearing.force, bearing.contact.motion) if coarse is None else coarse
        columns = contacts.response[:, numbers]
        deflections.append((response - columns @ bearing.force) / E + ground.rigid @ bearing.contact.motion)
        deflections.append((response - columns @ force) / E + ground.rigid @ motion)
        found.append((name, at, state, bearing, force, coarse is None, upright.get(j)))
    if not found:
        return []
    return _read(slab, stage, found, np.stack(deflections, axis=1))


def _read(
    slab: _Slab,
    stage: Stage,
    found: Sequence[tuple[str, tuple[float, float] | None, State, Bearing, FloatArray, bool, Standing | None]],
    u: FloatArray,
) -> list[_Full]:
    sample, free = slab.sample, slab.prepared.free
    w, kappa, jump = sample.read(u)
    for j, (_, _, state, *_) in enumerate(found):
        if any(_is_hand(support) for support in state.supports):
            w[:, 2 * j : 2 * j + 2] = _from_own_plane(sample.points, w[:, 2 * j : 2 * j + 2])
    mean = sample.mean(u)
    D = stage.modulus * free.rigidity
    if free.depths is not None:
        # The means have the depth in them; the field is worked out with the depth of its own place.
        scale = free.depths.scale_at(sample.points)[:, None, None]
        kappa, jump = scale * kappa, scale * jump
    bows = [_bow_moments(slab.prepared, stage, sample.points, radius) for radius in (free.thickness / 2, 0.0)]
    back = Returns(sample.points, free.poisson)
    out = []
    for j, (name, at, state, bearing, coarse_force, delicate, standing) in enumerate(found):
        fine, coarse = 2 * j, 2 * j + 1
        sharp = [
            back.of(state, force, radius)
            for force in (bearing.force, coarse_force)
            for radius in (free.thickness / 2, 0.0)
        ]
        out.append(
            _Full(
                name,
                at,
                state,
                bearing,
                w[:, fine],
                mean[..., fine] @ D.T + sharp[0] + bows[0],
                kappa[..., fine] @ D.T + sharp[1] + bows[1],
                jump[..., fine] @ D.T,
                w[:, coarse],
                mean[..., coarse] @ D.T + sharp[2] + bows[0],
                kappa[..., coarse] @ D.T + sharp[3] + bows[1],
                delicate,
                _in_plane(state, standing),
                standing,
            )
        )
    return out


def _is_hand(support: Support) -> bool:
    return isinstance(support.place, PointPlace) and support.stiffness == HAND_STIFFNESS


def _from_own_plane(points: FloatArray, w: FloatArray) -> FloatArray:
    """Deflections (p, c) less the plane that fits each best: what hands give by bends nothing."""
    plane = np.column_stack([np.ones(len(points)), points - points.mean(axis=0)])
    return np.asarray(w - plane @ np.linalg.lstsq(plane, w, rcond=None)[0])


def _standing_result(
    slab: _Slab,
    stage: Stage,
    feet: StageFootings,
    contacts: StageContacts,
    bearings: Sequence[Bearing | None],
    fulls: Sequence[_Full],
    largest: FloatArray,
    walked: Sequence[_Way],
    upright: Mapping[int, Standing],
    probes: Sequence[Probe],
) -> StageResult:
    side = 1.0 if stage.up == "show" else -1.0
    sample, places = slab.sample, slab.places
    by_state = [_readings(places, full, side) for full in fulls]
    peaks: dict[Face, Peak] = {}
    worst: dict[Face, Worst] = {}
    for face in FACES:
        found = [peak_of(places, reading[face]) for reading in by_state]
        # Where states pull alike, the plainest one tells: a variation must be worse to speak for the stage.
        best = max(range(len(found)), key=lambda j: found[j].tension.tension * (1.0 if j else 1.0 + 1e-9))
        peaks[face] = found[best]
        worst[face] = _worst(sample, fulls[best], side)
    base, grid = fulls[0], slice(0, sample.grid_size)
    contact = base.bearing.contact
    assert contact is not None
    converged = all(
        bearing is None or bearing.contact is None or bearing.contact.converged for bearing in bearings
    ) and all(way.walked.converged for way in walked)
    deflections = [float(np.abs(full.w[grid]).max()) for full in fulls]
    deepest = int(np.argmax(deflections))
    full = fulls[deepest]
    return StageResult(
        status_of(stage, peaks, converged),
        contact.rocks,
        converged,
        base.w[grid],
        side * base.mean[grid],
        side * base.field[grid],
        peaks,
        deflections[deepest],
        float(np.abs(full.w - full.coarse_w)[grid].max()) + 0.005 * deflections[deepest],
        contact.residual,
        _support_results(base.state, base.bearing, base.standing),
        tuple(
            probe_result(
                places,
                by_state[0],
                probe,
                sample.grid_size + k,
                float(base.w[sample.grid_size + k]),
                side * base.field[sample.grid_size + k],
            )
            for k, probe in enumerate(probes)
        ),
        None,
        (*_notes(feet, fulls, converged), *_falls(contacts, bearings, upright)),
        worst,
        _envelope(slab, by_state, largest),
        tuple(Walk(way.roaming.name, way.steps.at, way.walked.tension.T.copy(), way.change) for way in walked),
        _levels(slab, contacts) if stage.levels else (),
    )


def _levels(slab: _Slab, contacts: StageContacts) -> tuple[LevelLimit, ...]:
    radius = slab.prepared.plate.thickness / 2
    bowed = _bow_moments(slab.prepared, contacts.stage, slab.sample.points, radius)
    return level_limits(slab.prepared, slab.sample, slab.places, contacts, bowed)


def _readings(places: Places, full: _Full, side: float) -> Readings:
    touching = [*full.state.feet, *(press.foot for press in full.state.pressing)]
    singular = np.concatenate([np.zeros((0, 2)), *(foot.singular for foot in touching)])
    return readings(
        places,
        side * full.mean,
        side * full.field,
        full.jump,
        side * full.coarse_mean,
        side * full.coarse_field,
        singular,
        full.delicate,
        full.in_plane,
    )


def _worst(sample: Sampling, full: _Full, side: float) -> Worst:
    grid = slice(0, sample.grid_size)
    return Worst(
        full.name,
        full.at,
        full.w[grid],
        side * full.mean[grid],
        side * full.field[grid],
        None if full.in_plane is None else full.in_plane.mean[grid],
        _support_results(full.state, full.bearing, full.standing),
    )


def _envelope(slab: _Slab, by_state: Sequence[Readings], largest: FloatArray) -> dict[Face, FloatArray]:
    """The largest tension (p,) [Pa] of each face at the display grid; between nodes no less than the states read."""
    mesh, size = slab.prepared.mesh, slab.sample.grid_size
    out: dict[Face, FloatArray] = {}
    for number, face in enumerate(FACES):
        nodes = largest[number, : len(mesh.nodes)]
        grid = np.concatenate([nodes, nodes[mesh.edges[0]].mean(axis=1)])
        out[face] = np.maximum.reduce([grid, *(reading[face].tension[:size] for reading in by_state)])
    return out


def _notes(feet: StageFootings, fulls: Sequence[_Full], converged: bool) -> list[str]:
    contact = fulls[0].bearing.contact
    notes = []
    if contact is not None and contact.rocks:
        notes.append("fewer than three separate supports bear: the forces are certain, how the piece lies is not")
    if any(full.delicate for full in fulls):
        notes.append("near tipping: it stands on a few spots, whose places the bars allow for")
    if feet.crowded:
        notes.append("so many supports that their contacts were set farther apart than usual")
    if not converged:
        notes.append("the supports' forces did not pass their own checks; do not rely on this stage")
    return notes


def _falls(contacts: StageContacts, bearings: Sequence[Bearing | None], upright: Mapping[int, Standing]) -> list[str]:
    """A sentence on the asides in which the slab falls."""
    names = [
        state.name
        for j, (state, bearing) in enumerate(zip(contacts.states, bearings, strict=True))
        if (bearing is not None and bearing.contact is None) or (j in upright and upright[j].tips)
    ]
    if not names:
        return []
    shown = "; ".join(names[:6]) + (f"; and {len(names) - 6} more" if len(names) > 6 else "")
    return [f"the slab falls in these cases, which its pull does not tell of: {shown}"]


def _support_results(state: State, bearing: Bearing, standing: Standing | None) -> tuple[SupportResult, ...]:
    found = [
        _support_result(
            number, support.name, support.action == "clamp", foot, bearing.force[here], bearing.motion[:, here]
        )
        for number, (support, foot, here) in enumerate(zip(state.supports, state.feet, runs(state.feet), strict=True))
    ]
    if standing is not None and state.edgewise is not None:
        for k, force in zip(state.edgewise.bearing, standing.forces, strict=True):
            push = state.edgewise.multiplier * force
            found[k] = replace(found[k], edgewise=push, lifted=found[k].lifted and push <= 0.0)
    return tuple(found)


def _support_result(
    index: int, name: str, clamp: bool, foot: Footing, force: FloatArray, motion: FloatArray
) -> SupportResult:
    """The moment of a clamp is about its own middle: first what lifts the side of greater y, then that of greater x."""
    total, about_x, about_y = motion @ force
    plain = ~foot.slope
    share = float(foot.share[plain & (force != 0.0)].sum())
    moment = None
    if clamp and plain.any():  # a clamp that carries the edge alone has nothing under the face
        middle = foot.spots[plain].mean(axis=0)
        moment = (float(about_y - total * middle[1]), float(about_x - total * middle[0]))
    lifted = not np.any(force[plain] != 0.0)
    return SupportResult(index, name, float(total), moment, lifted, min(share, 1.0))


def _tipping_result(
    stage: Stage, tips: Tipping | None, probes: Sequence[Probe], nothing: str = "", state: str = ""
) -> StageResult:
    none = np.zeros(0)
    why = "the slab tips in this stage"
    nothing = (f"{state}: " if state else "") + (nothing or _NOTHING_HOLDS)
    return StageResult(
        "tips",
        False,
        True,
        none,
        np.zeros((0, 3)),
        np.zeros((0, 3)),
        None,
        None,
        None,
        None,
        tuple(SupportResult(k, support.name, 0.0, None, True, 0.0) for k, support in enumerate(stage.supports)),
        tuple(ProbeResult(probe.name, probe.at, None, None, None, None, why) for probe in probes),
        tips,
        () if tips is not None else (nothing,),
    )
