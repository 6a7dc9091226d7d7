"""How far out of level each support may be, high and low, before some face passes the allowed tension."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.bearing import StageContacts, problem_of
from fem.plate.contact import ContactProblem, solve_contacts
from fem.plate.footing import runs
from fem.plate.model import Face, LevelLimit
from fem.plate.prepared import Prepared
from fem.plate.pull import Spots, contact_moments, face_tensions, load_moments
from fem.plate.reading import Places
from fem.plate.sampling import Sampling

__all__ = ["level_limits"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# Looked at from a tenth of a millimetre to five centimetres [m], then closed in on until it is known to 0.2 %.
_FIRST, _LAST = 1e-4, 0.0512
_SURE = 2e-3
_ROUNDS = 40
_FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class _Bench:
    """One stage as it stands, ready to have its supports shifted."""

    problem: ContactProblem
    here: FloatArray
    base: FloatArray
    depth: FloatArray
    side: float

    def pull(self, support: BoolArray, shift: FloatArray) -> tuple[FloatArray, BoolArray, BoolArray]:
        """Worst tension (2, c) [Pa] of the faces, whether the slab stands (c,), whether the support bears (c,).

        support (s, c) marks the contacts that stand lower by shift (c,) [m].
        """
        p = self.problem
        displacement = p.displacement[:, None] - support * shift
        found = solve_contacts(p, displacement, np.repeat(p.load[:, None], len(shift), axis=1))
        q = len(self.depth)
        moment = self.base[..., None] + (self.here.reshape(3 * q, -1) @ found.force).reshape(q, 3, -1)
        tension = face_tensions(moment, self.depth, self.side).max(axis=1)
        return tension, found.stands & found.converged, np.any(support & (found.force != 0.0), axis=0)


def level_limits(
    prepared: Prepared, sample: Sampling, places: Places, contacts: StageContacts, bowed: FloatArray
) -> tuple[LevelLimit, ...]:
    """The limits of every support of a stage as it stands, within 1 %.

    bowed (p, 3) [N m/m] is what the stage's bows add to the moments at the sample points.
    """
    state, numbers, stage = contacts.states[0], contacts.numbers[0], contacts.stage
    free = prepared.free
    spots = Spots(sample.points, sample.mean, places.depth, free.rigidity, free.poisson, prepared.plate.thickness / 2)
    bench = _Bench(
        problem_of(contacts, 0, prepared.ground),
        contact_moments(spots, state.feet, contacts.response[:, numbers]),
        load_moments(spots, state, contacts.load_response[:, 0]) + bowed,
        places.depth,
        1.0 if stage.up == "show" else -1.0,
    )
    plain = ~np.concatenate([foot.slope for foot in state.feet])
    count = len(state.supports)
    marks = np.zeros((len(plain), 2 * count), dtype=bool)
    for k, here in enumerate(runs(state.feet)):
        marks[here, 2 * k : 2 * k + 2] = plain[here, None]
    sign = np.tile([1.0, -1.0], count)
    limit, face, why = _limits(bench, marks, sign, stage.allowed)
    return tuple(
        LevelLimit(
            k,
            support.name,
            high=limit[2 * k + 1],
            low=limit[2 * k],
            high_face=face[2 * k + 1],
            low_face=face[2 * k],
            why_high=why[2 * k + 1],
            why_low=why[2 * k],
        )
        for k, support in enumerate(state.supports)
    )


def _limits(
    bench: _Bench, marks: BoolArray, sign: FloatArray, allowed: float
) -> tuple[list[float | None], list[Face | None], list[str]]:
    """For each column of marks: the shift at which the allowed is passed, on which face, or why there is none."""
    c = marks.shape[1]
    limit: list[float | None] = [None] * c
    face: list[Face | None] = [None] * c
    why = [""] * c
    at, low, high = np.zeros(c), np.zeros(c), np.full(c, np.inf)
    open_ = np.ones(c, dtype=bool)
    below, above = np.zeros(c), np.zeros(c)
    for _ in range(_ROUNDS):
        which = np.flatnonzero(open_)
        if not len(which):
            break
        tension, sound, bears = bench.pull(marks[:, which], sign[which] * at[which])
        worst = tension.max(axis=0) - allowed
        for i, k in enumerate(which):
            if not sound[i]:
                why[k], open_[k] = "the slab does not settle there", False
            elif worst[i] > 0:
                high[k], above[k], face[k] = at[k], worst[i], _FACES[int(tension[:, i].argmax())]
            else:
                low[k], below[k] = at[k], worst[i]
                if at[k] >= _LAST:
                    why[k], open_[k] = "within 2 in (51 mm) nothing passes the allowed", False
                elif sign[k] > 0 and not bears[i] and at[k] > 0:
                    why[k], open_[k] = "it may be missing altogether", False
            if open_[k] and np.isfinite(high[k]) and high[k] - low[k] <= _SURE * high[k]:
                limit[k], open_[k] = float(low[k]), False
        at = _next(at, low, high, below, above)
    for k in np.flatnonzero(open_):
        limit[k] = float(low[k])
    return limit, face, why


def _next(at: FloatArray, low: FloatArray, high: FloatArray, below: FloatArray, above: FloatArray) -> FloatArray:
    """Where to look next: twice as far while all is well; then by the secant, kept off the ends of the bracket."""
    found = np.isfinite(high)
    reach = np.where(found, high, 0.0) - low
    with np.errstate(divide="ignore", invalid="ignore"):
        secant = low - below * reach / (above - below)
    inside = np.clip(np.where(np.isfinite(secant), secant, low), low + 0.05 * reach, low + 0.95 * reach)
    return np.where(found, inside, np.minimum(np.maximum(2 * at, _FIRST), _LAST))
