"""Free plates under set loads and held lines, straight from the factor: no stage, no contact. Modulus 1 Pa."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from fem.plate.averaging import disc_mean
from fem.plate.depth import depth_mean
from fem.plate.free_plate import FreePlate

__all__ = ["across", "held_at", "local_moment", "mean_moment", "mean_over", "turned_ends"]

FloatArray = npt.NDArray[np.float64]


def across(plate: FreePlate, x: float, y0: float, y1: float) -> FloatArray:
    """Column (6 n,) of the mean of w over the straight line from (x, y0) to (x, y1)."""
    y = y0 + (np.arange(200) + 0.5) / 200 * (y1 - y0)
    points = np.stack([np.full(200, x), y], axis=1)
    group = np.zeros(200, dtype=np.int64)
    return plate.bell.functionals(points, np.full(200, 1 / 200), group, 1, np.full((200, 2), np.nan))[:, 0]


def turned_ends(plate: FreePlate, x0: float, x1: float, y0: float, y1: float) -> FloatArray:
    """Load (6 n,) of 1 N m/m along both ends x0 and x1 of a strip, which sags it."""
    y = y0 + (np.arange(400) + 0.5) / 400 * (y1 - y0)
    points = np.concatenate([np.stack([np.full(400, x), y], axis=1) for x in (x0, x1)])
    normal = np.repeat([[1.0, 0.0], [-1.0, 0.0]], 400, axis=0)
    group = np.zeros(800, dtype=np.int64)
    return plate.bell.functionals(points, np.full(800, (y1 - y0) / 400), group, 1, normal)[:, 0]


def held_at(plate: FreePlate, load: FloatArray, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Deflection (6 n,) under a load (6 n,) with every column's sum (6 n, s) held at nothing; the forces (s,), up."""
    rigid = plate.rigid_motions
    response = plate.solve(np.column_stack([load, columns]))
    s = columns.shape[1]
    motion = rigid.T @ columns
    A = np.block([[-columns.T @ response[:, 1:], motion.T], [motion, np.zeros((3, 3))]])
    b = np.concatenate([-columns.T @ response[:, 0], rigid.T @ load])
    # Held lines are of metres, forces of 1 / modulus: both halves are made alike in size.
    size = np.abs(A[:s, :s]).max()
    scale = np.concatenate([np.full(s, size**-0.5), np.full(3, size**0.5)])
    solution = scale * np.linalg.lstsq(A * scale[:, None] * scale, b * scale, rcond=1e-13)[0]
    force, lift = solution[:s], solution[s:]
    return response[:, 0] - response[:, 1:] @ force + rigid @ lift, force


def mean_over(plate: FreePlate, u: FloatArray, x: FloatArray, y0: float, y1: float) -> FloatArray:
    """Mean of w over the line across at each x (k,): (k,) [m]."""
    return np.array([across(plate, float(at), y0, y1) @ u for at in x])


def mean_moment(plate: FreePlate, u: FloatArray, points: FloatArray) -> FloatArray:
    """Moments (p, 3) averaged over discs of one thickness, depths counted."""
    region, radius = plate.mesh.shape.region(), plate.thickness / 2
    mean: Callable[[FloatArray], FloatArray] = (
        disc_mean(plate.bell, points, radius, region)
        if plate.depths is None
        else depth_mean(plate.bell, points, radius, region, plate.depths)
    )
    return np.asarray(mean(u[:, None])[..., 0] @ plate.rigidity.T)


def local_moment(plate: FreePlate, u: FloatArray, points: FloatArray) -> FloatArray:
    """Moments (p, 3) of the field itself."""
    element = plate.mesh.locate(points)
    coefficients = plate.bell.element_coefficients(u[:, None])
    kappa = plate.bell.evaluate(coefficients, element, points, (2, 0), (0, 2), (1, 1))[..., 0] * [-1.0, -1.0, -2.0]
    scale = np.ones(len(points)) if plate.depths is None else plate.depths.scale_at(points)
    return np.asarray(scale[:, None] * (kappa @ plate.rigidity.T))
