"""A slab standing on its lower edge under its own weight: what bears it, and the stress in its plane.

Supports push straight up against gravity and never pull; friction keeps the slab from sliding aside, and as nothing
pushes it aside, costs no force. The contact is the same quadratic programme as that of the plate, with the three rigid
motions of the plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plane.edge_plate import EdgePlate
from fem.plane.edge_sampling import EdgeSampling, edge_sampling
from fem.plane.feet import Feet, Place, feet
from fem.plate.contact import Contact, ContactProblem, can_balance, solve_contact

__all__ = ["EdgePlate", "EdgeSampling", "Standing", "edge_sampling", "stand"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Standing:
    """Stress in the plane (sx, sy, sxy) [Pa] at p sample points, tension positive.

    mean (p, 3) is averaged over a disc of one thickness, error (p,) what the triangles may have missed of it; local
    (p, 3) is the field itself, local_error (p,) likewise. forces [N], one for each support, push the slab up against
    gravity; residual is what is left of the balance, as a share of the weight. tips: nothing balances, or the slab
    could rock; then the arrays are empty and forces (). converged is False if the contact failed its checks.
    """

    mean: FloatArray
    local: FloatArray
    error: FloatArray
    forces: tuple[float, ...]
    residual: float
    tips: bool
    local_error: FloatArray
    converged: bool = True


def stand(
    plate: EdgePlate,
    sample: EdgeSampling,
    weight_per_area: float,
    down: tuple[float, float],
    places: Sequence[Place],
    stiffness: Sequence[float],
    modulus: float = 30e9,
) -> Standing:
    """Let the slab stand on its supports.

    weight_per_area [N/m2] is the part of the weight that acts in the plane, down its direction (x, y), a unit vector.
    stiffness [N/m at a point, N/m2 along a line or edge, N/m3 on an area], inf if rigid; modulus [Pa] counts only
    beside the stiffness of springs. ValueError unless down is a unit vector.
    """
    direction = np.asarray(down, dtype=np.float64)
    if abs(float(np.hypot(*direction)) - 1) > 1e-6:
        raise ValueError(f"down = {down} is no unit vector")
    load = weight_per_area * plate.body_load(direction)
    below = feet(plate, places, stiffness, direction)
    s = below.columns.shape[1]
    response = plate.solve(np.concatenate([below.columns, load[:, None]], axis=1))
    problem = _problem(plate, below, response, load, direction, modulus)
    if not s or not can_balance(problem.motion, problem.load, problem.one_sided, problem.length)[0]:
        return _fallen()
    contact = solve_contact(problem)
    if contact.rocks:
        return _fallen()
    return _read(sample, below, response[:, s] - response[:, :s] @ contact.force[:s], contact, len(places))


def _problem(
    plate: EdgePlate, below: Feet, response: FloatArray, load: FloatArray, down: FloatArray, modulus: float
) -> ContactProblem:
    """The contacts' problem; last of them is friction, which holds the slab both ways aside and bends nothing."""
    s = below.columns.shape[1]
    rigid = plate.rigid_motions(down)
    F = below.columns.T @ response[:, :s] / modulus
    typical = float(np.trace(F)) / max(s, 1) or 1.0
    flexibility = np.zeros((s + 1, s + 1))
    flexibility[:s, :s] = (F + F.T) / 2 + np.diag(below.compliance + 1e-11 * typical)
    flexibility[s, s] = typical
    motion = np.concatenate([rigid.T @ below.columns, [[0.0], [0.0], [1.0]]], axis=1)
    motion[2, :s] = 0.0  # zero but for round-off: all contacts push straight up
    force = rigid.T @ load
    force[2] = 0.0
    return ContactProblem(
        flexibility,
        np.append(below.columns.T @ response[:, s] / modulus, 0.0),
        motion,
        force,
        np.zeros(s + 1),
        np.append(np.ones(s, dtype=bool), False),
        plate.length,
    )


def _read(sample: EdgeSampling, below: Feet, u: FloatArray, contact: Contact, supports: int) -> Standing:
    local, local_error, error = sample.local(u, below.bearing)
    force = np.bincount(below.support, contact.force[: len(below.support)], minlength=supports)
    return Standing(
        sample.mean(u), local, error, tuple(force.tolist()), contact.residual, False, local_error, contact.converged
    )


def _fallen() -> Standing:
    none = np.zeros((0, 3))
    return Standing(none, none, np.zeros(0), (), 0.0, True, np.zeros(0))
