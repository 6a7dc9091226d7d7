"""One integer programme handed to HiGHS: the cheapest whole runs for rows that each ask for something.

Huangfu & Hall, Parallelizing the dual revised simplex method, Math. Prog. Comp. 10, 2018; through SciPy.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp
from scipy.optimize import Bounds, LinearConstraint, milp

__all__ = ["whole_runs"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: On the rows, for the tolerance of HiGHS, 1e-6, is absolute.
_SCALE = 100.0


def whole_runs(
    cost: FloatArray,
    rows: sp.csr_matrix,
    clashes: sp.csr_matrix,
    laid: BoolArray | None = None,
    free: BoolArray | None = None,
    *,
    gap: float,
    seconds: float,
) -> tuple[BoolArray | None, float]:
    """The cheapest choice (r,) with rows x >= 1 and clashes x <= 1, or None if none was found; and its bound.

    Runs that are not free (None: all are) stay as they are laid.
    """
    free = np.ones(len(cost), dtype=bool) if free is None else free
    given = np.zeros(len(cost)) if laid is None else np.where(free, 0.0, laid)
    asked = 1 - rows @ given
    rows = sp.csr_matrix(rows[asked > 1e-6][:, free])
    asked = asked[asked > 1e-6]
    deciding = _deciding(sp.csr_matrix(sp.diags_array(1 / asked) @ rows))
    both = ((_SCALE * deciding, _SCALE, np.inf), (clashes[:, free], -np.inf, 1 - clashes @ given))
    found = milp(
        cost[free],
        integrality=np.ones(int(free.sum()), dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(matrix, low, high) for matrix, low, high in both if matrix.shape[0]],
        options={"mip_rel_gap": gap, "time_limit": seconds},
    )
    if found.x is None:
        return None, 0.0
    chosen = given > 0.5
    chosen[free] = np.asarray(found.x) > 0.5
    return chosen, float(cost @ given + found.mip_dual_bound)


def _deciding(rows: sp.csr_matrix) -> sp.csr_matrix:
    """The rows that no other implies: one that is nowhere greater than another implies that."""
    full = np.minimum(rows.toarray(), 1.0)
    kept = np.empty((0, full.shape[1]))
    numbers = []
    for number in np.argsort(full.sum(axis=1), kind="stable"):
        if not (kept <= full[number] + 1e-12).all(axis=1).any():
            kept = np.concatenate([kept, full[number, None]])
            numbers.append(number)
    return sp.csr_matrix(full[np.array(numbers, dtype=np.int64)])
