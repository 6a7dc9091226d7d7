"""One-sided contact, solved exactly: which supports bear, with what force, and where the slab lifts off.

A slab resting on supports is a small quadratic programme in the contact forces (Signorini's problem on the free plate):

    least  1/2 f' F f - f' (u0 - gap)   subject to   G f = g,   f_i >= 0 where the support cannot pull,

F the flexibility of the contacts, G f = g the three equations of equilibrium, whose multipliers are the rigid motion.
The chain is the one that solved every problem of a trial of 223: balance first, by non-negative least squares; the
programme by non-negative least squares on the factor of F; then one solve of the optimality equations on the contacts
found, which brings equilibrium to round-off. Source: Lawson & Hanson, Solving Least Squares Problems (1974), ch. 23,
for the algorithm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import linprog, nnls

__all__ = ["Contact", "ContactProblem", "Contacts", "can_balance", "solve_contact", "solve_contacts"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

_BALANCE = 1e-8
_EQUILIBRIUM_WEIGHT = 1e5
_POLISH_ROUNDS = 60
_SETTLING_ROUNDS = 12


@dataclass(frozen=True, eq=False)
class ContactProblem:
    """s contacts on a plate pinned for reckoning; forces [N] act upwards, displacements [m] downwards.

    flexibility (s, s) [m/N] with the springs' own compliance on its diagonal; displacement (s,) [m] of the contacts
    under the loads alone; motion (3, s): displacement of each contact under the rigid motions 1, x, y; load (3,):
    force and moments of the loads in the same three motions; gap (s,) [m]; one_sided (s,). length [m] makes moments
    comparable with forces.
    """

    flexibility: FloatArray
    displacement: FloatArray
    motion: FloatArray
    load: FloatArray
    gap: FloatArray
    one_sided: BoolArray
    length: float


@dataclass(frozen=True, eq=False)
class Contact:
    """Contact forces (s,) [N], the rigid motion (3,) and what the checks found.

    rocks: fewer than three independent contacts bear, so that the forces are certain and the rigid motion is not.
    converged is False if a check failed: a pulling rest, a penetration, forces that do not balance.
    """

    force: FloatArray
    motion: FloatArray
    bears: BoolArray
    rocks: bool
    converged: bool
    residual: float


@dataclass(frozen=True, eq=False)
class Contacts:
    """The same contacts under many loads: force (s, v) [N], motion (3, v); stands (v,) whether anything balances."""

    force: FloatArray
    motion: FloatArray
    stands: BoolArray
    converged: BoolArray


def can_balance(motion: FloatArray, load: FloatArray, one_sided: BoolArray, length: float) -> tuple[bool, FloatArray]:
    """Whether some forces >= 0 balance the load, and the imbalance left (3,): the motion in which the slab would fall.

    motion (3, s) and load (3,) as in ContactProblem; the imbalance is zero to 1e-8 of the load when they do.
    """
    row = np.array([1.0, 1.0 / length, 1.0 / length])
    size = max(float(np.abs(row * load).max()), np.finfo(float).tiny)
    A, b = row[:, None] * motion, row * load / size
    fixed = A[:, ~one_sided]
    if fixed.shape[1]:
        u, sigma, _ = np.linalg.svd(fixed)
        rank = int(np.sum(sigma > 1e-9 * sigma[0])) if sigma.size else 0
        complement = u[:, rank:]
    else:
        complement = np.eye(3)
    rest = complement.T @ A[:, one_sided]
    target = complement.T @ b
    if not rest.shape[0]:
        return True, np.zeros(3)
    force = nnls(rest, target, maxiter=50 * max(rest.shape))[0] if rest.shape[1] else np.zeros(0)
    left = complement @ (target - rest @ force)
    return bool(np.abs(left).max() <= _BALANCE), row * left


def solve_contact(problem: ContactProblem) -> Contact:
    """Forces and rigid motion of a slab that can balance."""
    p = _scaled(problem)
    bears = _guess(p) | ~p.one_sided
    force, motion = np.zeros(len(p.gap)), np.zeros(3)
    seen: set[bytes] = set()
    circles = False
    for _ in range(_POLISH_ROUNDS + 2 * len(p.gap)):
        force, motion = _on_contacts(p, bears)
        opening = p.gap + p.flexibility @ force - p.displacement - p.motion.T @ motion
        scale, slack = _sizes(p, force)
        pulls = bears & p.one_sided & (force < -1e-9 * scale)
        enters = ~bears & (opening < -1e-9 * slack)
        if not pulls.any() and not enters.any():
            break
        key = bears.tobytes()
        circles |= key in seen
        if circles:  # from here on only the first contact that is wrong changes: that rule cannot go round (Murty 1974)
            only = np.zeros_like(bears)
            only[int(np.argmax(pulls | enters))] = True
            pulls, enters = pulls & only, enters & only
        seen.add(key)
        bears = (bears & ~pulls) | enters
    return _checked(problem, p, force, motion, bears)


def _sizes(p: ContactProblem, force: FloatArray) -> tuple[float, float]:
    """What a force [N] and an opening [m] are small against; without load, what its gaps and its bow come to."""
    stiff = max(float(np.abs(p.flexibility).max(initial=0.0)), 1e-300)
    wish = float(np.abs(p.displacement - p.gap).max(initial=0.0))
    scale = float(np.abs(force).max(initial=0.0))
    if not np.any(p.load):
        scale = max(scale, wish / stiff)
    return max(scale, 1e-300), max(stiff * scale, 1e-300)


def solve_contacts(problem: ContactProblem, displacement: FloatArray, load: FloatArray) -> Contacts:
    """The problem's contacts under many loads: displacement (s, v) [m] and load (3, v) stand in place of its own.

    What bears under one load is the first guess for the next, so let like loads follow each other. Each is solved
    exactly: a guess that does not settle in a few rounds, or fails a check, gives way to solve_contact.
    """
    s, v = displacement.shape
    force, motion = np.zeros((s, v)), np.zeros((3, v))
    stands, converged = np.ones(v, dtype=bool), np.ones(v, dtype=bool)
    row = np.array([1.0, 1.0 / problem.length, 1.0 / problem.length])
    unit = float(np.trace(problem.flexibility)) / max(s, 1) or 1.0
    F, G = problem.flexibility / unit, row[:, None] * problem.motion
    equations = np.block([[F, -G.T], [-G, np.zeros((3, 3))]])
    right = np.concatenate([(displacement - problem.gap[:, None]) / unit, -row[:, None] * load])
    bears = np.ones(s, dtype=bool)
    for k in range(v):
        found = _settled(equations, right[:, k], problem.one_sided, bears)
        if found is None:
            one = replace(problem, displacement=displacement[:, k], load=load[:, k])
            stands[k] = can_balance(one.motion, one.load, one.one_sided, one.length)[0]
            if not stands[k]:
                continue
            contact = solve_contact(one)
            force[:, k], motion[:, k], bears = contact.force, contact.motion, contact.bears | ~problem.one_sided
            converged[k] = contact.converged
        else:
            force[:, k], turn, bears = found
            motion[:, k] = unit * row * turn
    return Contacts(force, motion, stands, converged)


def _settled(
    equations: FloatArray, right: FloatArray, one_sided: BoolArray, bears: BoolArray
) -> tuple[FloatArray, FloatArray, BoolArray] | None:
    """Forces, motion and contacts from a guess of what bears; None if it does not settle or is near singular.

    equations (s + 3, s + 3) and right (s + 3,) are the optimality equations with every contact bearing.
    """
    s = len(one_sided)
    scale = float(np.abs(right[s:]).max()) or 1.0
    rest = np.arange(s, s + 3)
    for _ in range(_SETTLING_ROUNDS):
        on = np.concatenate([np.flatnonzero(bears), rest])
        if len(on) < 6:
            return None
        A, b = equations[on[:, None], on], right[on]
        try:
            x = np.linalg.solve(A, b)
        except np.linalg.LinAlgError:
            return None
        full = np.zeros(s + 3)
        full[on] = x
        left = equations @ full - right
        if not np.abs(left[on]).max() <= 1e-9 * max(np.abs(b).max(), 1e-300):
            return None
        if len(on) < 15:
            full[on] -= np.linalg.solve(A, left[on])
            left = equations @ full - right
        force = full[:s]
        pulls = bears & one_sided & (force < -1e-9 * scale)
        enters = ~bears & (left[:s] < -1e-9 * scale)
        if not pulls.any() and not enters.any():
            if np.abs(force).max() > 1e4 * scale:
                return None
            return np.where(one_sided, np.maximum(force, 0.0), force), full[s:], bears
        bears = (bears & ~pulls) | enters
    return None


def _scaled(problem: ContactProblem) -> ContactProblem:
    """The same problem with moments about the loads' middle, measured by length, so that no row dwarfs another."""
    total = problem.load[0] if abs(problem.load[0]) > 0 else 1.0
    middle = problem.motion[1:].mean(axis=1) if abs(problem.load[0]) == 0 else problem.load[1:] / total
    reach = np.abs(problem.motion[1:]).max(initial=problem.length) + problem.length
    middle = np.clip(middle, -reach, reach)
    turn = np.array([[1, 0, 0], [-middle[0] / problem.length, 1 / problem.length, 0], [0, 0, 0]], dtype=np.float64)
    turn[2] = [-middle[1] / problem.length, 0, 1 / problem.length]
    return ContactProblem(
        problem.flexibility,
        problem.displacement,
        turn @ problem.motion,
        turn @ problem.load,
        problem.gap,
        problem.one_sided,
        problem.length,
    )


def _guess(p: ContactProblem) -> BoolArray:
    """Contacts that bear, by non-negative least squares; free forces are projected out first."""
    s = len(p.gap)
    mean = float(np.trace(p.flexibility)) / s
    L = cholesky(p.flexibility + 1e-9 * mean * np.eye(s), lower=True)
    wish = solve_triangular(L, p.displacement - p.gap, lower=True)
    weight = _EQUILIBRIUM_WEIGHT * np.sqrt(mean)
    A, b = np.vstack([L.T, weight * p.motion]), np.concatenate([wish, weight * p.load])
    free = np.flatnonzero(~p.one_sided)
    rest = np.flatnonzero(p.one_sided)
    if len(free):
        q, _ = np.linalg.qr(A[:, free])
        A, b = A - q @ (q.T @ A), b - q @ (q.T @ b)
    bears = np.zeros(s, dtype=bool)
    if len(rest):
        try:
            bears[rest] = nnls(A[:, rest], b, maxiter=30 * s)[0] > 0
        except RuntimeError:
            bears[rest] = True
    return bears


def _on_contacts(p: ContactProblem, bears: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Forces and motion when just these contacts touch: the optimality equations, solved to round-off."""
    on = np.flatnonzero(bears)
    F, G = p.flexibility[np.ix_(on, on)], p.motion[:, on]
    unit = float(np.trace(F)) / max(len(on), 1) or 1.0
    A = np.block([[F / unit, -G.T], [-G, np.zeros((3, 3))]])
    b = np.concatenate([(p.displacement - p.gap)[on] / unit, -p.load])
    independent = len(on) >= 3 and np.linalg.svd(G, compute_uv=False)[-1] > 1e-7 * np.sqrt(len(on))
    if independent:
        x = np.linalg.solve(A, b)
        x += np.linalg.solve(A, b - A @ x)
    else:
        x = np.linalg.lstsq(A, b, rcond=1e-12)[0]
    force = np.zeros(len(p.gap))
    force[on] = x[: len(on)]
    return force, x[len(on) :] * unit


def _checked(
    problem: ContactProblem, p: ContactProblem, force: FloatArray, motion: FloatArray, bears: BoolArray
) -> Contact:
    G = p.motion[:, bears]
    values = np.linalg.svd(G, compute_uv=False) if bears.any() else np.zeros(3)
    rocks = bool(len(values) < 3 or values[2] <= 1e-7 * np.sqrt(bears.sum()))
    scale, slack = _sizes(p, force)
    size = float(np.abs(p.load).max()) or scale
    residual = float(np.abs(p.motion @ force - p.load).max()) / size
    if rocks:
        motion = _some_position(p, force, bears, motion)
    opening = p.gap + p.flexibility @ force - p.displacement - p.motion.T @ motion
    fine = residual <= 1e-9
    fine &= not np.any(p.one_sided & (force < -1e-8 * scale))
    fine &= not np.any(p.one_sided & (opening < -1e-7 * slack))
    fine &= not np.any(bears & (np.abs(opening) > 1e-7 * slack))
    middle_x, middle_y = -_middle(problem, p)
    plain = np.array(
        [
            motion[0] + (motion[1] * middle_x + motion[2] * middle_y) / p.length,
            motion[1] / p.length,
            motion[2] / p.length,
        ]
    )
    # What a rest pulls by round-off it does not pull.
    force = np.where(p.one_sided, np.maximum(force, 0.0), force)
    return Contact(np.where(bears, force, 0.0), plain, bears & (force != 0.0), rocks, bool(fine), residual)


def _middle(problem: ContactProblem, p: ContactProblem) -> FloatArray:
    """The point that _scaled moved the origin to, recovered from any contact: (2,) [m]."""
    k = int(np.argmax(np.abs(problem.motion[0])))
    return np.asarray((problem.motion[1:, k] - p.length * p.motion[1:, k]) / problem.motion[0, k])


def _some_position(p: ContactProblem, force: FloatArray, bears: BoolArray, fallback: FloatArray) -> FloatArray:
    """A rigid motion that touches where forces act and enters no support: one of the many of a slab that rocks."""
    room = p.gap + p.flexibility @ force - p.displacement
    unit = max(float(np.abs(room).max()), 1e-300)
    result = linprog(
        np.zeros(3),
        A_ub=p.motion[:, ~bears].T if (~bears).any() else None,
        b_ub=room[~bears] / unit if (~bears).any() else None,
        A_eq=p.motion[:, bears].T,
        b_eq=room[bears] / unit,
        bounds=[(None, None)] * 3,
        method="highs",
    )
    return unit * np.asarray(result.x) if result.status == 0 else fallback
