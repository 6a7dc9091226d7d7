"""A demand as rows of the integer programme: how much of what is owed one run gives, at a place.

A place is a point, a direction and a face. Strength is linear in the runs that are laid: in direction t of face f at
point p it is the sum over layers of R (share at p) cos2(t - r), R the layer's run strength for that face, r its
direction. A row divides that by what is owed there. No row asks of one run more than all that is owed: for whole runs
that says the same, for fractions of runs it says more.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from fem.steel.capacity import FACES
from fem.steel.model import Face

__all__ = ["Covering", "Lain"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Lain:
    """Candidates of one layer: direction [rad], share (q, r) [1/m] at the points; strength of one on a face [N m]."""

    angle: float
    share: sp.csr_matrix
    strength: dict[Face, float]


@dataclass(frozen=True, eq=False)
class Covering:
    """owed (2, q, a) [N m/m] by show face and underside at angles (a,), 0 where nothing is; layers of candidates."""

    owed: FloatArray
    angles: FloatArray
    layers: tuple[Lain, ...]

    @cached_property
    def _gain(self) -> FloatArray:
        """Strength of one run at work per width in each direction: (layers, 2, a) [N m]."""
        turn = np.cos(np.subtract.outer([layer.angle for layer in self.layers], self.angles)) ** 2
        each = np.array([[layer.strength[face] for face in FACES] for layer in self.layers])
        return np.asarray(each[:, :, None] * turn[:, None, :])

    @cached_property
    def _ends(self) -> IntArray:
        return np.cumsum([layer.share.shape[1] for layer in self.layers])

    def strength(self, x: FloatArray) -> FloatArray:
        """Strength (2, q, a) [N m/m] where runs are laid to the degree x (r,), the layers' candidates in turn."""
        if not self.layers:
            return np.zeros_like(self.owed)
        working = [layer.share @ part for layer, part in zip(self.layers, np.split(x, self._ends[:-1]), strict=True)]
        return np.asarray(np.einsum("lq,lfa->fqa", np.stack(working), self._gain, optimize=True))

    def rows(self, places: IntArray) -> sp.csr_matrix:
        """Rows (k, r) for k places, numbers into owed laid flat."""
        face, point, angle = np.unravel_index(places, self.owed.shape)
        need = self.owed[face, point, angle]
        parts = [
            sp.diags_array(gain[face, angle] / need) @ layer.share[point]
            for layer, gain in zip(self.layers, self._gain, strict=True)
        ]
        rows = sp.csr_matrix(sp.hstack(parts, format="csr"))
        np.minimum(rows.data, 1.0, out=rows.data)
        return rows

    def short(self, x: FloatArray, most: int = 400, tolerance: float = 1e-6) -> IntArray:
        """Places (k,) that x leaves short: of every point and face the worst direction, the worst of all first."""
        missing = 1 - np.divide(self.strength(x), self.owed, out=np.ones_like(self.owed), where=self.owed > 0)
        worst = missing.argmax(axis=2)
        depth = np.take_along_axis(missing, worst[..., None], axis=2)[..., 0]
        face, point = np.nonzero(depth > tolerance)
        order = np.argsort(-depth[face, point], kind="stable")[:most]
        face, point = face[order], point[order]
        return np.ravel_multi_index((face, point, worst[face, point]), self.owed.shape)
