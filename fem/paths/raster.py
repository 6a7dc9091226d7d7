"""A square raster under the whole slab on which every stress field is looked up quickly.

Lines are traced through a few thousand places at a time, and finding the triangle of each would cost more than all
the rest. So the fields are carried once from the graded grid to the nodes of a raster and read from it bilinearly:
the deviator as one complex number (fem/paths/isotropic.py), never an angle. The raster lies along the slab's own
edges, so that a slab that is turned turns its raster and its paths with it. Places are complex numbers in raster
units: a node is i + j * 1j.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Raster", "grown"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

_OFF = 1e-7  # cells: places just between two nodes, common on straight slabs, must not be told apart by the last digit


@dataclass(frozen=True, eq=False, slots=True)
class Raster:
    """A raster of rows x columns nodes, n in all, node (i, j) at number j * columns + i, and f fields on it.

    cell [m], corner and turn (a unit number) place it: z [m] = turn * cell * (w + corner); directions are the raster's,
    too. inside (n,): node in the slab and clear of its edge; rim (n,): the slab's edge is near; edges (b, 2): ends of
    the edge's pieces. deviator and mean (n, f) of the stresses, in any unit; faint (f,): a deviator smaller than this
    has no direction.
    """

    cell: float
    corner: complex
    turn: complex
    columns: int
    rows: int
    inside: BoolArray
    rim: BoolArray
    edges: ComplexArray
    deviator: ComplexArray
    mean: FloatArray
    faint: FloatArray

    @property
    def fields(self) -> int:
        """Number of stress fields."""
        return int(self.mean.shape[1])

    def node(self, w: ComplexArray) -> IntArray:
        """Number of the nearest node to each place w."""
        column, row = np.rint(w.real + _OFF), np.rint(w.imag + _OFF)
        return np.asarray((row * self.columns + column).astype(np.intp))

    def sample_deviator(self, w: ComplexArray, field: IntArray) -> ComplexArray:
        """Deviator of the given field at each place w (k,)."""
        d = self.deviator.ravel()
        at, x, y = self._corner(w, field)
        low, high = d.take(at), d.take(at + self.columns * self.mean.shape[1])
        at += self.mean.shape[1]
        low += x * (d.take(at) - low)
        high += x * (d.take(at + self.columns * self.mean.shape[1]) - high)
        return np.asarray(low + y * (high - low))

    def sample_mean(self, w: ComplexArray, field: IntArray) -> FloatArray:
        """Mean of the two principal stresses of the given field at each place w (k,)."""
        m = self.mean.ravel()
        at, x, y = self._corner(w, field)
        low, high = m.take(at), m.take(at + self.columns * self.mean.shape[1])
        at += self.mean.shape[1]
        low += x * (m.take(at) - low)
        high += x * (m.take(at + self.columns * self.mean.shape[1]) - high)
        return np.asarray(low + y * (high - low))

    def tension(self, w: ComplexArray, field: IntArray) -> FloatArray:
        """Larger principal stress of the given field at each place w (k,)."""
        return np.asarray(self.sample_mean(w, field) + np.abs(self.sample_deviator(w, field)))

    def to_slab(self, w: ComplexArray) -> FloatArray:
        """Places w (k,) as points (k, 2) [m] of the slab."""
        z = self.turn * self.cell * (w + self.corner)
        return np.column_stack((z.real, z.imag))

    def _corner(self, w: ComplexArray, field: IntArray) -> tuple[IntArray, FloatArray, FloatArray]:
        """Table index of the node below and left of each place, and where the place lies in that cell."""
        x, y = w.real, w.imag
        column, row = np.floor(x), np.floor(y)
        at = (row * self.columns + column).astype(np.intp)
        at *= self.mean.shape[1]
        at += field
        return at, x - column, y - row


def grown(mask: BoolArray, reach: int) -> BoolArray:
    """A mask (..., rows, columns) with every node that lies within a square of that reach of a set one."""
    for _ in range(reach):
        wide = mask.copy()
        wide[..., 1:] |= mask[..., :-1]
        wide[..., :-1] |= mask[..., 1:]
        mask = wide.copy()
        mask[..., 1:, :] |= wide[..., :-1, :]
        mask[..., :-1, :] |= wide[..., 1:, :]
    return mask
