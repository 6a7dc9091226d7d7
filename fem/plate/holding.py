"""The best places to hold a slab: two, three, four, six hands, cups or bearers out of many, so that it is pulled least.

The free plate answers to a newton at every candidate once. A choice of places is then a few sums: hands and cups are
equal soft springs, whose forces follow from balance alone (the least sum of squares of forces that only push up);
bearers are rigid lines with real contact. Where all choices of hands are few enough, all are tried: their tension at a
few telling spots is a lower bound, and only those that it does not rule out are read everywhere. More are searched by
exchange.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import comb
from typing import Literal

import numpy as np
import numpy.typing as npt

from fem.plate.averaging import DiscMean
from fem.plate.bearing import StageContacts, bear, problem_of, stage_contacts
from fem.plate.columns import solve_columns
from fem.plate.exchange import all_subsets, exchanged, first_guesses
from fem.plate.footing import footing
from fem.plate.footings import StageFootings, footings
from fem.plate.holding_places import bearer_candidates, inner_candidates, rim_candidates
from fem.plate.model import HAND_STIFFNESS, Face, LinePlace, PointPlace, Stage, Support
from fem.plate.prepared import Prepared
from fem.plate.pull import Returns, Spots, contact_moments, face_tensions, load_moments

__all__ = ["Candidates", "Holding", "Kind", "best_places", "soft_forces"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
Kind = Literal["hand", "cup", "bearer"]
Candidates = FloatArray | Sequence[LinePlace]

_FACES: tuple[Face, Face] = ("show", "underside")
#: Choices of hands up to which all are tried: 4 of 40 are 91,390. Of bearers, whose contact takes longer.
_ALL_SOFT, _ALL_BEARERS = 120_000, 1200
_BALANCE = 1e-8
_ROUNDS = 12
_AT_ONCE = 4096
_FULL_AT_ONCE = 96
#: Pairs for two hands or cups that are moved to lie in line with the centre of gravity.
_MOST_PAIRS = 300


@dataclass(frozen=True, eq=False)
class Holding:
    """Where to hold a slab; places is empty, and reason says why, if none of the choices holds it.

    tension [Pa] is the worst of each face, averaged over one thickness, share the larger of them over the allowed;
    forces [N] by place; lets_go [Pa] the worst tension of both faces when that place alone lets go and the others
    bear, None where the slab then falls. evaluated: how many choices were looked at. supports are the places ready
    to be solved.
    """

    kind: Kind
    places: tuple[PointPlace | LinePlace, ...]
    tension: dict[Face, float]
    share: float
    forces: tuple[float, ...]
    evaluated: int
    lets_go: tuple[float | None, ...] = ()
    reason: str = ""

    @property
    def worst_if_one_lets_go(self) -> float | None:
        """The worst tension [Pa] when any one place lets go; None if the slab falls for one of them."""
        left = [one for one in self.lets_go if one is not None]
        return max(left) if left and len(left) == len(self.lets_go) else None

    @property
    def supports(self) -> tuple[Support, ...]:
        """What a stage rests on: soft where people or cups hold, rigid bearers."""
        soft = np.inf if self.kind == "bearer" else HAND_STIFFNESS
        return tuple(
            Support(f"{self.kind} {k + 1}", place, "rest", stiffness=soft) for k, place in enumerate(self.places)
        )


def best_places(
    prepared: Prepared,
    stage: Stage,
    count: int,
    kind: Kind = "hand",
    candidates: Candidates | None = None,
    size: float = 0.1016,
    scan: int | None = None,
) -> Holding:
    """The places, so many of the candidates, that pull the slab least in a stage whose own supports do not count.

    candidates: points (c, 2) [m] for hands and cups of this size [m], lines for bearers; None for some forty along
    the rim, forty all over, twenty lines across. Two hands may each bear up to half a hand off their middle, so that
    the centre of gravity comes to lie between them; the places say where. Up to scan choices all are tried. The
    stage's variations and roaming loads do not count. ValueError if count < 2.
    """
    if count < 2:
        raise ValueError(f"one place balances no slab: count = {count}")
    if stage.edgewise is not None or stage.bows:
        return _none(kind, "places are looked for only for a slab that lies flat and does not bow")
    bare = replace(stage, supports=(), variations=(), roaming=(), levels=False)
    places = _places(prepared, kind, candidates, size)
    if len(places) < count:
        return _none(kind, f"there are only {len(places)} places to choose from")
    feet = footings(prepared.site, prepared.plate, [bare])[0]
    alone = _contacts(prepared, bare, feet, ())
    force, *moment = alone.resultant[:, 0]
    if force <= 0:
        return _none(kind, "the loads lift the slab: there is nothing to hold up")
    middle = np.array(moment) / force
    pairs: IntArray | None = None
    if count == 2 and kind != "bearer":
        places, pairs = _in_line(prepared, [place for place in places if isinstance(place, PointPlace)], middle, size)
        if not len(pairs):
            return _none(kind, f"no two places have the centre of gravity between them, to half a {kind}")
    bench = _Bench.of(prepared, bare, feet, places)
    if kind == "bearer":
        return _by_contact(bench, count, _ALL_BEARERS if scan is None else scan)
    return _by_balance(bench, kind, count, pairs, _ALL_SOFT if scan is None else scan)


def soft_forces(motion: FloatArray, load: FloatArray, length: float) -> tuple[FloatArray, BoolArray]:
    """Forces (m, k) [N] of equal soft springs that only push up, for m choices at once, and whether they balance (m,).

    motion (m, 3, k): displacement of each place under the rigid motions 1, x, y; load (3,) [N, N m, N m]; length [m]
    makes moments comparable. The least sum of squares under balance and f >= 0: f = max(A' y, 0), with y by Newton's
    method on the three equations, whose active places change until they stay.
    """
    row = np.array([1.0, 1.0 / length, 1.0 / length])
    size = float(np.abs(row * load).max())
    A, b = row[:, None] * motion, row * load / size
    on = np.ones((len(A), A.shape[2]), dtype=bool)
    y = np.zeros((len(A), 3, 1))
    todo = np.arange(len(A))
    for _ in range(_ROUNDS):
        part = A[todo]
        y[todo] = _multipliers(part * on[todo, None], np.broadcast_to(b[:, None], (len(todo), 3, 1)))
        now = (part.transpose(0, 2, 1) @ y[todo])[..., 0] > 1e-12
        moved = np.any(now != on[todo], axis=1)
        on[todo] = now
        todo = todo[moved]
        if not len(todo):
            break
    active = A * on[:, None]
    # Once more on what is left, which takes back the hair that _multipliers adds.
    y += _multipliers(active, b[:, None] - active @ (active.transpose(0, 2, 1) @ y))
    force = (active.transpose(0, 2, 1) @ y)[..., 0]
    force = np.maximum(force, 0.0)
    left = np.abs((A @ force[..., None])[..., 0] - b).max(axis=1)
    return size * force, left <= _BALANCE


def _multipliers(active: FloatArray, b: FloatArray) -> FloatArray:
    """Solve active active' y = b for active (m, 3, k), b (m, 3, 1): (m, 3, 1); places in one line do no harm."""
    normal = active @ active.transpose(0, 2, 1)
    normal += (1e-13 * np.trace(normal, axis1=1, axis2=2)[:, None, None] + 1e-30) * np.eye(3)
    return np.asarray(np.linalg.solve(normal, b))


def _none(kind: Kind, reason: str, evaluated: int = 0) -> Holding:
    return Holding(kind, (), {}, np.nan, (), evaluated, (), reason)


def _places(
    prepared: Prepared, kind: Kind, candidates: Candidates | None, size: float
) -> tuple[PointPlace | LinePlace, ...]:
    if kind == "bearer":
        lines = bearer_candidates(prepared) if candidates is None else candidates
        return tuple(line for line in lines if isinstance(line, LinePlace))
    if candidates is None:
        candidates = rim_candidates(prepared, size=size) if kind == "hand" else inner_candidates(prepared, size=size)
    points = np.asarray(candidates, dtype=np.float64).reshape(-1, 2)
    return tuple(PointPlace((float(x), float(y)), size) for x, y in points)


def _contacts(
    prepared: Prepared, stage: Stage, feet: StageFootings, places: Sequence[PointPlace | LinePlace]
) -> StageContacts:
    """The stage with a support at every candidate; what misses the slab has no contacts."""
    soft = HAND_STIFFNESS if any(isinstance(place, PointPlace) for place in places) else np.inf
    supports = tuple(Support(f"{k}", place, "rest", stiffness=soft) for k, place in enumerate(places))
    under = tuple(footing(prepared.site, place) for place in places)
    whole = StageFootings((replace(feet.states[0], supports=supports, feet=under),), False)
    columns = solve_columns(prepared.free, prepared.weight, [whole])
    return stage_contacts(stage, whole, columns, prepared.ground)


def _in_line(
    prepared: Prepared, places: Sequence[PointPlace], middle: FloatArray, size: float
) -> tuple[tuple[PointPlace, ...], IntArray]:
    """Pairs with the centre of gravity between them, each moved square to its line until that passes through it.

    Returns the moved places, two a pair, and the pairs' numbers (m, 2); the pairs that need no more than half a size.
    """
    at = np.array([place.at for place in places])
    pair = all_subsets(len(at), 2)
    first, second = at[pair[:, 0]], at[pair[:, 1]]
    along = second - first
    length = np.maximum(np.hypot(*along.T), 1e-12)
    along /= length[:, None]
    share = ((middle - first) * along).sum(axis=1)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    off = ((middle - first) * normal).sum(axis=1)
    good = np.flatnonzero((np.abs(off) <= size / 2) & (share > 0) & (share < length))
    both = np.stack([first[good], second[good]], axis=1) + (off[good, None] * normal[good])[:, None]
    inside = (prepared.site.depth(both.reshape(-1, 2)) >= 0.2 * size).reshape(-1, 2).all(axis=1)
    nearest = np.argsort(np.abs(off[good][inside]), kind="stable")[:_MOST_PAIRS]
    points = both[inside][nearest].reshape(-1, 2)
    return tuple(PointPlace((float(x), float(y)), size) for x, y in points), np.arange(len(points)).reshape(-1, 2)


@dataclass(frozen=True, eq=False)
class _Bench:
    """All candidates on one stage, read at q spots: the mesh's nodes and under every candidate.

    numbers: the contacts of each candidate. base (q, 3) moments of all that presses; here (q, 3, s) those of a newton
    upwards on each contact; depth (q,) [m].
    """

    prepared: Prepared
    contacts: StageContacts
    numbers: tuple[IntArray, ...]
    base: FloatArray
    here: FloatArray
    depth: FloatArray
    side: float

    @staticmethod
    def of(prepared: Prepared, stage: Stage, feet: StageFootings, places: Sequence[PointPlace | LinePlace]) -> _Bench:
        contacts = _contacts(prepared, stage, feet, places)
        state = contacts.states[0]
        ends = np.cumsum([0, *(foot.size for foot in state.feet)])
        touching = [*state.feet, *(press.foot for press in state.pressing)]
        nodes = len(prepared.mesh.nodes)
        sample = prepared.grid.with_spots(np.unique(np.concatenate([foot.spots for foot in touching]), axis=0))
        index = np.concatenate([np.arange(nodes), np.arange(sample.grid_size, len(sample.points))])
        spots = _spots(prepared, sample.points[index], sample.mean.at(index))
        return _Bench(
            prepared,
            contacts,
            tuple(np.arange(a, b) for a, b in pairwise(ends)),
            load_moments(spots, state, contacts.load_response[:, 0]),
            contact_moments(spots, state.feet, contacts.response),
            spots.depth,
            1.0 if stage.up == "show" else -1.0,
        )

    def worst(self, force: FloatArray, at: IntArray | slice = slice(None)) -> tuple[FloatArray, IntArray]:
        """The worst tension (m,) [Pa] of both faces over some spots under forces (s, m), and at which of these."""
        here, base, depth = self.here[at], self.base[at], self.depth[at]
        q, s = len(depth), force.shape[0]
        value, where = np.empty(force.shape[1]), np.empty(force.shape[1], dtype=np.int64)
        step = max(_AT_ONCE * 64 // max(q, 1), 32)
        for k in range(0, force.shape[1], step):
            part = slice(k, k + step)
            moment = base[..., None] + (here.reshape(3 * q, s) @ force[:, part]).reshape(q, 3, -1)
            pull = face_tensions(moment, depth, self.side).max(axis=0)
            where[part] = pull.argmax(axis=0)
            value[part] = pull.max(axis=0)
        return value, where

    def spread(self, chosen: IntArray, force: FloatArray) -> FloatArray:
        """Forces (m, k) of choices (m, k) as columns (s, m) over all candidates that have one contact each."""
        out = np.zeros((self.here.shape[2], len(chosen)))
        np.put_along_axis(out, chosen.T, force.T, axis=0)
        return out

    def balanced(self, chosen: IntArray) -> tuple[FloatArray, BoolArray]:
        """Soft forces (m, k) [N] of choices (m, k) of candidates, and whether they balance."""
        motion = self.contacts.motion[:, chosen].transpose(1, 0, 2)
        return soft_forces(motion, self.contacts.resultant[:, 0], self.prepared.ground.length)

    def part(self, chosen: IntArray) -> StageContacts:
        """The stage on these candidates alone."""
        state, none = self.contacts.states[0], np.zeros(0, dtype=np.int64)
        some = replace(
            state,
            supports=tuple(state.supports[k] for k in chosen),
            feet=tuple(state.feet[k] for k in chosen),
        )
        numbers = np.concatenate([none, *(self.numbers[k] for k in chosen)])
        return replace(self.contacts, states=(some,), numbers=(numbers,))

    def borne(self, chosen: IntArray) -> FloatArray | None:
        """Contact forces (s,) [N], really solved, in the order of part's contacts; None if nothing balances."""
        ground = self.prepared.ground
        bearing = bear(problem_of(self.part(chosen), 0, ground), ground, explain=False)
        return None if bearing.contact is None or not bearing.contact.converged else bearing.force

    def under(self, chosen: IntArray, force: FloatArray) -> float:
        """The worst tension [Pa] of both faces over the bench's spots, under contact forces in part's order."""
        numbers = np.concatenate([self.numbers[k] for k in chosen])
        moment = self.base + self.here[:, :, numbers] @ force
        return float(face_tensions(moment[..., None], self.depth, self.side).max())

    def read(self, chosen: IntArray, force: FloatArray) -> dict[Face, float]:
        """The worst tension [Pa] of each face over all reading points, under contact forces in part's order."""
        contacts = self.part(chosen)
        state, numbers = contacts.states[0], contacts.numbers[0]
        touching = [*state.feet, *(press.foot for press in state.pressing)]
        sample = self.prepared.grid.with_spots(np.unique(np.concatenate([foot.spots for foot in touching]), axis=0))
        spots = _spots(self.prepared, sample.points, sample.mean)
        response = contacts.load_response[:, 0] - contacts.response[:, numbers] @ force
        back = Returns(spots.points, spots.poisson).of(state, force, spots.radius)
        moment = spots.moments(response[:, None])[..., 0] + back
        pull = face_tensions(moment[..., None], spots.depth, self.side).max(axis=(1, 2))
        return {face: float(pull[k]) for k, face in enumerate(_FACES)}


def _spots(prepared: Prepared, points: FloatArray, mean: DiscMean) -> Spots:
    free = prepared.free
    return Spots(points, mean, prepared.depth(points), free.rigidity, free.poisson, prepared.plate.thickness / 2)


def _by_balance(bench: _Bench, kind: Kind, count: int, given: IntArray | None, scan: int) -> Holding:
    """Hands and cups: all choices tried if few enough, else an exchange, its best read everywhere."""
    c = len(bench.numbers)
    seen = 0
    if given is not None or comb(c, count) <= scan:
        chosen = all_subsets(c, count) if given is None else given
        seen = len(chosen)
    else:
        chosen, seen = _exchanged_soft(bench, count)
    force, good = bench.balanced(chosen)
    if not good.any():
        return _none(kind, f"no {count} of these places hold the slab by pushing up alone", seen)
    best = _least(bench, chosen[good], force[good])
    return _told(bench, kind, chosen[good][best], seen)


def _least(bench: _Bench, chosen: IntArray, force: FloatArray) -> int:
    """Which choice is pulled least. A few spots tell a lower bound; what it does not rule out is read in full."""
    columns = bench.spread(chosen, force)
    few = np.unique(np.linspace(0, len(chosen) - 1, 256).astype(np.int64))
    value, where = bench.worst(columns[:, few])
    best, least = int(few[value.argmin()]), float(value.min())
    bound = np.full(len(chosen), -np.inf)
    bound[few] = np.inf
    new, known = np.unique(where), np.zeros(0, dtype=np.int64)
    left = np.flatnonzero(bound < least)
    while len(left):
        bound[left] = np.maximum(bound[left], bench.worst(columns[:, left], new)[0])
        known = np.union1d(known, new)
        left = left[bound[left] < least]
        left = left[np.argsort(bound[left], kind="stable")]
        now, left = left[:_FULL_AT_ONCE], left[_FULL_AT_ONCE:]
        if not len(now):
            break
        value, where = bench.worst(columns[:, now])
        if value.min() < least:
            best, least = int(now[value.argmin()]), float(value.min())
            left = left[bound[left] < least]
        new = np.setdiff1d(where, known)
        if not len(new):
            # Nothing new to bound with: read on.
            new = known[:1]
    return best


def _exchanged_soft(bench: _Bench, count: int) -> tuple[IntArray, int]:
    """Choices (m, k) that no exchange improves, by what telling spots show; the spots grow until they tell enough."""
    points = bench.contacts.motion[1:].T
    c = len(points)
    guesses = first_guesses(points, count, evenly=6, at_random=10)
    telling: IntArray = np.zeros(0, dtype=np.int64)
    seen = 0

    def score(chosen: IntArray) -> FloatArray:
        nonlocal seen
        seen += len(chosen)
        value = np.full(len(chosen), np.inf)
        force, good = bench.balanced(chosen)
        if good.any():
            value[good] = bench.worst(bench.spread(chosen[good], force[good]), telling)[0]
        return value

    found = np.concatenate([guesses, first_guesses(points, count, evenly=3 * c, at_random=200)])
    for _ in range(4):
        force, good = bench.balanced(found)
        if good.any():
            where = bench.worst(bench.spread(found[good], force[good]))[1]
            grown = np.union1d(telling, where)
        else:
            grown = np.union1d(telling, [0])
        if len(grown) == len(telling):
            break
        telling = grown
        found = exchanged(score, c, guesses, pairs=1)
        guesses = found[:6]
    return found, seen


def _by_contact(bench: _Bench, count: int, scan: int) -> Holding:
    """Bearers: real contact for every choice looked at; all of them if few enough."""
    known: dict[tuple[int, ...], float] = {}
    c = len(bench.numbers)

    def score(chosen: IntArray) -> FloatArray:
        for one in chosen:
            key = tuple(one.tolist())
            if key not in known:
                force = bench.borne(one)
                known[key] = np.inf
                if force is not None:
                    known[key] = bench.under(one, force)
        return np.array([known[tuple(one.tolist())] for one in chosen])

    if comb(c, count) <= scan:
        chosen = all_subsets(c, count)
    else:
        middle = np.array(
            [foot.spots.mean(axis=0) if foot.size else (0.0, 0.0) for foot in bench.contacts.states[0].feet]
        )
        chosen = exchanged(score, c, first_guesses(middle, count, evenly=3, at_random=3), pairs=1)
    value = score(chosen)
    if not np.isfinite(value.min()):
        return _none("bearer", f"no {count} of these bearers hold the slab: it tips off all of them", len(known))
    return _told(bench, "bearer", chosen[int(value.argmin())], len(known))


def _told(bench: _Bench, kind: Kind, chosen: IntArray, evaluated: int) -> Holding:
    """The choice as the plate solves it: hands are springs under a slab that bends a little, too."""
    force = bench.borne(chosen)
    if force is None:
        return _none(kind, "the best of these places held the slab only on paper", evaluated)
    tension = bench.read(chosen, force)
    gone = []
    for k in range(len(chosen)):
        left = np.delete(chosen, k)
        now = bench.borne(left)
        gone.append(None if now is None else max(bench.read(left, now).values()))
    ends = np.cumsum([0, *(len(bench.numbers[k]) for k in chosen)])
    places = tuple(bench.contacts.states[0].supports[k].place for k in chosen)
    return Holding(
        kind,
        tuple(place for place in places if isinstance(place, PointPlace | LinePlace)),
        tension,
        max(tension.values()) / bench.contacts.stage.allowed,
        tuple(float(force[a:b].sum()) for a, b in pairwise(ends)),
        evaluated,
        tuple(gone),
    )
