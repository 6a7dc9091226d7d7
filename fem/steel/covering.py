"""A demand as rows of the integer programme: what one run gives of what is asked, at a place.

Strength: a place is a point, a direction and a face. Strength is linear in the runs that are laid: in direction t of
face f at point p it is the sum over layers of R (share at p) cos2(t - r), R the layer's run strength for that face, r
its direction. A row divides that by what is owed there. No row asks of one run more than all that is owed: for whole
runs that says the same, for fractions of runs it says more.

Spacing: a place is a point and the direction of a pull there. Of the runs within 45 degrees of that direction one has
to pass within half the widest spacing, so that they lie no farther apart where they are needed.
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
BoolArray = npt.NDArray[np.bool_]

#: A run that gives less than this of what is asked gives nothing: HiGHS would trip over such numbers.
_NOTHING = 1e-6


@dataclass(frozen=True, eq=False)
class Lain:
    """Candidates of one layer: direction [rad], strength of one on a face [N m].

    share (q, r) [1/m] at the points; beside (q, r), ones where a candidate passes near a point.
    """

    angle: float
    share: sp.csr_matrix
    beside: sp.csr_matrix
    strength: dict[Face, float]


@dataclass(frozen=True, eq=False)
class Covering:
    """owed (2, q, a) [N m/m] by show face and underside at angles (a,), 0 where nothing is; layers of candidates.

    pulls (m, 2): points and angles, by number; at those that are spaced (m,) runs have to pass near. Places are
    numbered through owed laid flat, then through pulls.
    """

    owed: FloatArray
    angles: FloatArray
    layers: tuple[Lain, ...]
    pulls: IntArray
    spaced: BoolArray

    @cached_property
    def _gain(self) -> FloatArray:
        """Strength of one run at work per width in each direction: (layers, 2, a) [N m]."""
        each = np.array([[layer.strength[face] for face in FACES] for layer in self.layers])
        return np.asarray(each[:, :, None] * self._turned[:, None, :])

    @cached_property
    def _turned(self) -> FloatArray:
        """Squared cosine between layers and angles: (layers, a)."""
        return np.asarray(np.cos(np.subtract.outer([layer.angle for layer in self.layers], self.angles)) ** 2)

    @cached_property
    def _along(self) -> FloatArray:
        """Which layers count as lying along a pull: (layers, m)."""
        return (self._turned[:, self.pulls[:, 1]] >= 0.5 - 1e-9).astype(np.float64)

    @cached_property
    def _ends(self) -> IntArray:
        return np.cumsum([layer.share.shape[1] for layer in self.layers])

    def strength(self, x: FloatArray) -> FloatArray:
        """Strength (2, q, a) [N m/m] where runs are laid to the degree x (r,), the layers' candidates in turn."""
        if not self.layers:
            return np.zeros_like(self.owed)
        working = [layer.share @ part for layer, part in zip(self.layers, self._split(x), strict=True)]
        return np.asarray(np.einsum("lq,lfa->fqa", np.stack(working), self._gain, optimize=True))

    def passing(self, x: FloatArray) -> FloatArray:
        """How many runs pass near along each pull (m,)."""
        if not self.layers:
            return np.zeros(len(self.pulls))
        near = [layer.beside @ part for layer, part in zip(self.layers, self._split(x), strict=True)]
        return np.asarray((np.stack(near)[:, self.pulls[:, 0]] * self._along).sum(axis=0))

    def asks(self, places: IntArray) -> BoolArray:
        """Whether anything is asked for there."""
        return np.concatenate([self.owed.ravel() > 0, self.spaced])[places]

    def rows(self, places: IntArray) -> sp.csr_matrix:
        """Rows (k, r) for k places."""
        strong, near = places[places < self.owed.size], places[places >= self.owed.size] - self.owed.size
        face, point, angle = np.unravel_index(strong, self.owed.shape)
        need = self.owed[face, point, angle]
        upper = [
            sp.diags_array(gain[face, angle] / need) @ layer.share[point]
            for layer, gain in zip(self.layers, self._gain, strict=True)
        ]
        lower = [
            sp.diags_array(along[near]) @ layer.beside[self.pulls[near, 0]]
            for layer, along in zip(self.layers, self._along, strict=True)
        ]
        rows = sp.csr_matrix(sp.block_array([upper, lower], format="csr"))
        np.minimum(rows.data, 1.0, out=rows.data)
        rows.data[rows.data < _NOTHING] = 0.0
        rows.eliminate_zeros()
        order = np.concatenate([np.flatnonzero(places < self.owed.size), np.flatnonzero(places >= self.owed.size)])
        return sp.csr_matrix(rows[np.argsort(order)])

    def short(self, x: FloatArray, most: int = 400, tolerance: float = 1e-6) -> IntArray:
        """Places (k,) that x leaves short: of every point and face the worst direction, the worst of all first."""
        missing = 1 - np.divide(self.strength(x), self.owed, out=np.ones_like(self.owed), where=self.owed > 0)
        worst = missing.argmax(axis=2)
        depth = np.take_along_axis(missing, worst[..., None], axis=2)[..., 0]
        face, point = np.nonzero(depth > tolerance)
        weak = np.ravel_multi_index((face, point, worst[face, point]), self.owed.shape)
        alone = 1 - self.passing(x)
        bare = np.flatnonzero((alone > tolerance) & self.spaced)
        gap = np.concatenate([depth[face, point], alone[bare]])
        places = np.concatenate([weak, bare + self.owed.size])
        return np.asarray(places[np.argsort(-gap, kind="stable")[:most]])

    def _split(self, x: FloatArray) -> list[FloatArray]:
        return np.split(x, self._ends[:-1])
