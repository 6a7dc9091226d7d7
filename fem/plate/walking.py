"""A load that may stand anywhere: its places, the slab's answer at each with its own contacts, the worst of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
import shapely
from scipy.optimize import linprog
from shapely.geometry.base import BaseGeometry

from fem.plate.bearing import StageContacts, problem_of
from fem.plate.contact import solve_contacts
from fem.plate.footings import Pressing, pressing_of
from fem.plate.model import Load, Point, PointPlace, Roaming
from fem.plate.prepared import Prepared
from fem.plate.pull import Spots, contact_moments, face_tensions, load_moments
from fem.plate.spreads import given_back

__all__ = [
    "MOST_PLACES",
    "Besides",
    "Steps",
    "Walked",
    "closer",
    "least_tipping",
    "places_of",
    "standing_room",
    "step_at",
    "walk",
]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: Places of one roaming load, before it is looked at more closely where it is worst.
MOST_PLACES = 400
_FEWEST_PLACES = 60
_AT_ONCE = 64


@dataclass(frozen=True, eq=False)
class Steps:
    """A roaming load at v places (v, 2) [m], solved: columns, response (6 n, v) for 1 Pa, motion (3, v).

    moments (q, 3, v) [N m/m] are those at the spots that were asked for. under are the places themselves as spots, and
    under_moments (v, 3) what the load there makes right below itself.
    """

    at: FloatArray
    loads: tuple[Pressing, ...]
    columns: sp.csc_matrix
    response: FloatArray
    motion: FloatArray
    moments: FloatArray
    under: Spots
    under_moments: FloatArray

    def joined(self, other: Steps) -> Steps:
        """These places, then the other's."""
        return Steps(
            np.concatenate([self.at, other.at]),
            (*self.loads, *other.loads),
            sp.hstack([self.columns, other.columns], format="csc"),
            np.concatenate([self.response, other.response], axis=1),
            np.concatenate([self.motion, other.motion], axis=1),
            np.concatenate([self.moments, other.moments], axis=2),
            self.under.joined(other.under),
            np.concatenate([self.under_moments, other.under_moments]),
        )

    def times(self, factor: float) -> Steps:
        """The same for so many times the load."""
        return Steps(
            self.at,
            tuple(Pressing(load.foot, factor * load.force) for load in self.loads),
            factor * self.columns,
            factor * self.response,
            factor * self.motion,
            factor * self.moments,
            self.under,
            factor * self.under_moments,
        )

    def read_at(self, spots: Spots) -> Steps:
        """The same with the moments at other spots."""
        return replace(self, moments=_moments_at(spots, self.loads, self.response))


@dataclass(frozen=True, eq=False)
class Walked:
    """The worst tension (2, v) [Pa] of show face and underside at each place, the largest (2, q) at each spot.

    stands (v,): whether the slab balances with the load there; converged whether every contact problem was.
    """

    tension: FloatArray
    largest: FloatArray
    stands: BoolArray
    converged: bool

    def joined(self, other: Walked) -> Walked:
        """These places, then the other's."""
        return Walked(
            np.concatenate([self.tension, other.tension], axis=1),
            np.maximum(self.largest, other.largest),
            np.concatenate([self.stands, other.stands]),
            self.converged and other.converged,
        )


def places_of(roaming: Roaming, prepared: Prepared, most: int = MOST_PLACES) -> FloatArray:
    """Where a roaming load is tried, (v, 2) [m]: along the rim of where it may go, at its corners, and within.

    The load's square stays on the slab where it has room to. Neighbours follow each other.
    """
    room = standing_room(roaming, prepared)
    parts = [part for part in shapely.get_parts(room) if part.geom_type == "Polygon" and part.area > 0]
    if not parts:
        return np.zeros((0, 2))
    rim = sum(part.length for part in parts)
    area = sum(part.area for part in parts)
    # area / h2 + rim / h = most
    step = (rim + np.sqrt(rim**2 + 4 * area * most)) / (2 * most)
    found = [_rim_places(part, step) for part in parts] + [_inner_places(part, step) for part in parts]
    slab = prepared.site.region
    free = _allowed(roaming, slab, slab)
    extra = [point for point in roaming.spots if shapely.distance(free, shapely.Point(point)) < 1e-3]
    found.append(np.asarray(extra, dtype=np.float64).reshape(-1, 2))
    return np.concatenate(found)


def standing_room(roaming: Roaming, prepared: Prepared) -> BaseGeometry:
    """Where the middle of a roaming load may be, its square on the slab as far as there is room for it."""
    slab = prepared.site.region
    room = free = _allowed(roaming, slab, slab)
    for inset in (0.5, 0.25, 0.02):
        room = shapely.intersection(free, slab.buffer(-inset * max(roaming.size, 0.02)))
        if room.area > 0.5 * free.area or (room.area > 0 and inset < 0.1):
            return room
    return room if room.area > 0 else free


def _allowed(roaming: Roaming, slab: shapely.Polygon, within: BaseGeometry) -> BaseGeometry:
    """Where a roaming load may stand: its regions of the slab as far as they lie within, less where it never goes."""
    wanted = shapely.union_all([slab if not points else shapely.Polygon(points) for points in roaming.regions])
    never = shapely.union_all([shapely.Polygon(points) for points in roaming.never])
    return shapely.difference(shapely.intersection(wanted, within), never)


def _rim_places(part: shapely.Polygon, step: float) -> FloatArray:
    rings = shapely.get_rings(shapely.simplify(part, 0.05 * step))
    return shapely.get_coordinates(shapely.segmentize(rings, step))


def _inner_places(part: shapely.Polygon, step: float) -> FloatArray:
    x0, y0, x1, y1 = part.bounds
    x = np.arange(x0 + step / 2, x1, step)
    y = np.arange(y0 + step / 2, y1, step)
    rows = [np.stack([x if k % 2 == 0 else x[::-1], np.full(len(x), value)], axis=1) for k, value in enumerate(y)]
    if not rows:
        return np.zeros((0, 2))
    grid = np.concatenate(rows)
    return grid[shapely.contains_xy(part.buffer(-0.3 * step), grid)]


def step_at(roaming: Roaming, places: FloatArray, prepared: Prepared, spots: Spots) -> Steps:
    """The load at places (v, 2) [m], solved for."""
    free = prepared.free
    loads = tuple(
        pressing_of(
            prepared.site, "show", Load(roaming.name, PointPlace((float(x), float(y)), roaming.size), roaming.amount)
        )
        for x, y in places
    )
    points = np.concatenate([load.foot.points for load in loads])
    owner = np.repeat(np.arange(len(loads)), [len(load.foot.points) for load in loads])
    weight = np.concatenate([load.foot.weight * load.force[load.foot.contact] for load in loads])
    columns = sp.csc_matrix(free.bell.functionals(points, weight, owner, len(loads), np.full((len(points), 2), np.nan)))
    response = free.solve(columns.toarray())
    motion = np.asarray((columns.T @ free.rigid_motions).T)
    under = prepared.spots(places)
    own = under.moments_each(response)
    for k, load in enumerate(loads):
        own[k] += given_back(load.foot, places[k : k + 1], free.poisson, under.radius) @ load.force
    moments = _moments_at(spots, loads, response)
    return Steps(places, loads, columns, response, motion, moments, under, own)


def _moments_at(spots: Spots, loads: Sequence[Pressing], response: FloatArray) -> FloatArray:
    """Moments (q, 3, v) that each of some loads makes at the spots; response (6 n, v) for 1 Pa."""
    moments = np.concatenate(
        [spots.moments(response[:, k : k + _AT_ONCE]) for k in range(0, len(loads), _AT_ONCE)], axis=2
    )
    back = spots.given_back([load.foot for load in loads])
    force = np.concatenate([load.force for load in loads])
    owner = np.repeat(np.arange(len(loads)), [load.foot.size for load in loads])
    np.add.at(moments.reshape(-1, len(loads)), (back.row, owner[back.col]), back.data * force[back.col])
    return moments


@dataclass(frozen=True, eq=False)
class Besides:
    """What acts besides a roaming load at some spots: bowed (q, 3) [N m/m] by the stage's bows, in_plane (q, 3) [Pa].

    in_plane is the stress of a slab that leans, or None.
    """

    spots: Spots
    bowed: FloatArray
    in_plane: FloatArray | None = None


def walk(
    contacts: StageContacts, steps: Steps, nodes: Besides, lines: Besides, under: Besides, prepared: Prepared
) -> Walked:
    """Every place solved with its own contacts, for the stage as it stands with the load besides.

    nodes: the spots that steps knows; lines: those along the stage's own supports and loads; under: the places of the
    load themselves, each of which is looked at under its own load alone.
    """
    problem = problem_of(contacts, 0, prepared.ground)
    numbers, modulus = contacts.numbers[0], contacts.stage.modulus
    displacement = contacts.displacement[numbers, :1] + np.asarray(contacts.columns[:, numbers].T @ steps.response)
    found = solve_contacts(problem, displacement / modulus, contacts.resultant[:, :1] + steps.motion)
    q, v = len(nodes.spots.points), len(steps.at)
    tension, largest = np.full((2, v), -np.inf), np.full((2, q), -np.inf)
    for besides in (nodes, lines):
        if not len(besides.spots.points):
            continue
        moments = steps.moments
        if besides is lines:
            moments = _moments_at(besides.spots, steps.loads, steps.response)
        base, here = _besides(contacts, besides)
        here = here.reshape(-1, here.shape[2])
        for k in range(0, v, _AT_ONCE):
            part = slice(k, min(k + _AT_ONCE, v))
            moment = base[..., None] + moments[..., part]
            moment += (here @ found.force[:, part]).reshape(moment.shape)
            pull = face_tensions(moment, besides.spots.depth, _side(contacts), besides.in_plane)
            tension[:, part] = np.maximum(tension[:, part], pull.max(axis=1))
            if besides is nodes and found.stands[part].any():
                largest = np.maximum(largest, pull[:, :, found.stands[part]].max(axis=2))
    base, here = _besides(contacts, under)
    moment = base + steps.under_moments + np.einsum("vis,sv->vi", here, found.force)
    pull = face_tensions(moment[..., None], under.spots.depth, _side(contacts), under.in_plane)[..., 0]
    tension = np.maximum(tension, pull)
    tension[:, ~found.stands] = np.nan
    return Walked(tension, largest, found.stands, bool(found.converged[found.stands].all()))


def _besides(contacts: StageContacts, besides: Besides) -> tuple[FloatArray, FloatArray]:
    """Moments (q, 3) of all that acts without the roaming load, and (q, 3, s) what a newton on each contact adds."""
    state = contacts.states[0]
    here = contact_moments(besides.spots, state.feet, contacts.response[:, contacts.numbers[0]])
    return load_moments(besides.spots, state, contacts.load_response[:, 0]) + besides.bowed, here


def _side(contacts: StageContacts) -> float:
    return 1.0 if contacts.stage.up == "show" else -1.0


def closer(roaming: Roaming, steps: Steps, walked: Walked, prepared: Prepared, step: float) -> FloatArray:
    """More places round the worst of each face, (k, 2) [m], step apart, where the load may stand."""
    slab = prepared.site.region
    out = []
    for face in range(2):
        if not np.isfinite(walked.tension[face]).any():
            continue
        at = steps.at[int(np.nanargmax(walked.tension[face]))]
        ring = at + step * np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1) if x or y])
        out.append(ring)
    if not out:
        return np.zeros((0, 2))
    free = _allowed(roaming, slab, slab.buffer(-0.25 * roaming.size))
    places = np.unique(np.concatenate(out).round(6), axis=0)
    return places[shapely.contains_xy(free, places)]


def least_tipping(
    contacts: StageContacts, steps: Steps, walked: Walked, amount: float, prepared: Prepared
) -> tuple[float, Point]:
    """The smallest roaming load [N] that tips the slab and where it stands then; places that never tip do not count.

    Where a load of one size may stand is a convex set, so the first to tip is a corner of the hull of all places.
    """
    problem = problem_of(contacts, 0, prepared.ground)
    row = np.array([1.0, 1.0 / problem.length, 1.0 / problem.length])
    bounds = [(0, None) if one else (None, None) for one in problem.one_sided]
    size = float(np.abs(row * problem.load).max()) or 1.0
    least, where = np.inf, (0.0, 0.0)
    corners = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(steps.at)))
    on_hull = (steps.at[:, None] == corners).all(axis=2).any(axis=1)
    for k in np.flatnonzero(~walked.stands & on_hull):
        load = steps.motion[:, k] / amount
        result = linprog(
            np.append(np.zeros(len(bounds)), -1.0),
            A_eq=row[:, None] * np.column_stack([problem.motion, -load]),
            b_eq=row * problem.load / size,
            bounds=[*bounds, (0, None)],
            method="highs",
        )
        most = np.inf if result.status != 0 or result.fun is None else -float(result.fun) * size
        if most < least:
            least, where = most, (float(steps.at[k, 0]), float(steps.at[k, 1]))
    return least, where
