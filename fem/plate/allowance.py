"""What thin-plate theory itself misses, apart from the error of the computing.

Two things are known of slabs like these. A hole or fillet that is small against the thickness concentrates the stress
more than Kirchhoff's theory says; and a rail narrower than three thicknesses twists more easily than it says.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["round_edge_factor", "twist_factor"]

FloatArray = npt.NDArray[np.float64]


def round_edge_factor(radius: FloatArray | float, thickness: float) -> FloatArray:
    """Stress at a hole's edge in a thick plate over that in a thin one, at least 1.

    K = 1.79 + 0.25 / (0.39 + d/h) + 0.81 / (1 + (d/h)2) - 0.26 / (1 + (d/h)3), over 1.79. Source: Peterson, Stress
    Concentration Factors, in the form of Roark's Formulas for Stress and Strain, table 17.1 (nu = 0.3); quoted from
    memory.

    >>> float(round_edge_factor(1.375 / 2, 1.5).round(2))
    1.27
    """
    d = 2 * np.asarray(radius) / thickness
    return np.asarray(np.maximum((1.79 + 0.25 / (0.39 + d) + 0.81 / (1 + d**2) - 0.26 / (1 + d**3)) / 1.79, 1.0))


def twist_factor(width: FloatArray | float, thickness: float) -> FloatArray:
    """Thin-plate torsional stiffness of a rail over its true one, at least 1.

    The true constant of a rectangle b x h over b h3 / 3 is 1 - 0.63 h/b + 0.052 (h/b)5. Source: Timoshenko & Goodier,
    Theory of Elasticity, art. 109 (approximation within 1 % for b >= h).

    >>> (1 / twist_factor([1.5, 2.0, 3.0], 1.0)).round(2).tolist()
    [0.59, 0.69, 0.79]
    """
    ratio = np.minimum(thickness / np.asarray(width, dtype=np.float64), 1.0)
    return np.asarray(1 / (1 - 0.63 * ratio + 0.052 * ratio**5))
