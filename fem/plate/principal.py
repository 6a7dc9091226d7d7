"""From moments to pull: principal tension on a face and the direction it acts along.

sigma(underside) = 6 m / t2 and sigma(show) = -6 m / t2, m positive when it pulls the underside. Source: Timoshenko &
Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. (1959), art. 11; principal values by Mohr's circle.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.plate.model import Face

__all__ = ["face_stress", "principal_tension"]

FloatArray = npt.NDArray[np.float64]


def face_stress(moment: FloatArray, thickness: float | FloatArray, face: Face) -> FloatArray:
    """Bending stress (..., 3) = (sx, sy, sxy) [Pa] on a face from moments (..., 3) = (mx, my, mxy) [N m/m].

    thickness [m] of the whole slab, or (...) that of each place.
    """
    sign = 1.0 if face == "underside" else -1.0
    if isinstance(thickness, np.ndarray):
        thickness = thickness[..., None]
    return np.asarray(sign * 6 / thickness**2 * moment)


def principal_tension(stress: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Larger principal stress (...) [Pa], negative where nothing is pulled; its direction (...) [degrees, 0 to 180).

    >>> tension, angle = principal_tension(np.array([[0.0, 0.0, 2e6]]))
    >>> tension.tolist(), angle.tolist()
    ([2000000.0], [45.0])
    """
    sx, sy, sxy = stress[..., 0], stress[..., 1], stress[..., 2]
    half = (sx - sy) / 2
    tension = (sx + sy) / 2 + np.hypot(half, sxy)
    angle = np.degrees(0.5 * np.arctan2(sxy, half)) % 180.0
    return np.asarray(tension), np.asarray(np.where(angle >= 180.0, 0.0, angle))
