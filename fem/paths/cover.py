"""Which ground is taken: every node knows the line it lies close to, and whether it still asks for one.

Distances are those of a line's places from the nodes of the raster; the raster is fine against the spacing, so nothing
finer is needed. The two limits follow Jobard & Lefer, Creating evenly-spaced streamlines of arbitrary density,
Visualization in Scientific Computing 1997, pp. 43-55: a line may come closer to another than the distance at which
a new one would begin, or every pair of lines that draws together would be cut to pieces.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from fem.paths.raster import Raster, grown
from fem.paths.rastering import REACH

__all__ = ["CELLS", "CLOSEST", "FREE", "Cover"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

CELLS = 6  # cells of the raster in one spacing
CLOSEST = 0.6  # spacings: a line ends where it comes this close to another
OPEN = 0.8  # spacings: ground farther than this from every line asks for one
FREE, SHUT = -1, -2


class Cover:
    """The ground of one slab under all its fields; the one thing in this package that changes while lines are laid.

    owner (f, n): FREE, SHUT (outside, or nothing pulls there), or the number of the place of a line that is closer than
    CLOSEST. asks (f, n): in the slab, pulled above its floor, and farther than OPEN from every line tried.
    """

    def __init__(self, raster: Raster, floor: FloatArray) -> None:
        size = np.abs(raster.deviator)
        strength = raster.mean + size
        self.strength = np.ascontiguousarray(strength.T)
        pulled = (strength > floor) & (size > raster.faint) & raster.inside[:, None]
        self.asks = np.ascontiguousarray(pulled.T)
        shape = (raster.fields, raster.rows, raster.columns)
        # Lines must step over the edge, or over the floor, to be cut there exactly: what is shut begins two nodes
        # beyond.
        reached = grown(self.asks.reshape(shape), REACH).reshape(self.asks.shape)
        self.owner = np.where(reached, FREE, SHUT).astype(np.int32)
        self.raster = raster
        self._close = _disc(CLOSEST * CELLS, raster.columns)
        self._far = _disc(OPEN * CELLS, raster.columns)

    def nodes(self, places: ComplexArray, field: IntArray) -> IntArray:
        """Numbers in the flat tables of the nodes nearest to places (k,) [cells] of fields (k,)."""
        return field * len(self.raster.inside) + self.raster.node(places)

    def lay(self, nodes: IntArray, numbers: IntArray) -> None:
        """Take the ground close to a line's places, at nodes (k,) of the flat tables, for the places' numbers (k,)."""
        owner = self.owner.ravel()
        owner[nodes[:, None] + self._close] = numbers[:, None]

    def settle(self, nodes: IntArray) -> None:
        """Ground within OPEN of these nodes (k,) of the flat tables asks for no line any more."""
        self.asks.ravel()[np.unique(nodes)[:, None] + self._far] = False

    def places_asking(self, fewest: int, each: int) -> tuple[ComplexArray, IntArray, IntArray]:
        """Spots in the asking ground: places (k,), fields (k,) and the connected pieces (k,) they lie in, in order.

        Of every piece of at least so many squares of four nodes: the most strongly pulled node, and up to `each` more
        all over it.
        """
        raster = self.raster
        asks = self.asks.reshape(raster.fields, raster.rows, raster.columns)
        # Four nodes at a time: connected pieces need no more, and it saves three quarters of the work.
        asks = asks[:, ::2, ::2] | asks[:, 1::2, ::2] | asks[:, ::2, 1::2] | asks[:, 1::2, 1::2]
        flat = np.zeros((3, 3, 3), dtype=np.bool_)
        flat[1] = True
        labels, pieces = ndimage.label(asks, flat)
        four = np.flatnonzero(asks)
        label = labels.ravel()[four]
        size = np.bincount(label, minlength=pieces + 1)
        order = np.argsort(label, kind="stable")
        begin = np.concatenate(([0], np.cumsum(size)))
        large = np.flatnonzero(size >= fewest)
        share = np.arange(1, 2 * each, 2) / (2 * each)
        spread = order[begin[large, None] + (size[large, None] * share).astype(np.intp)]
        strength = self.strength.reshape(raster.fields, raster.rows, raster.columns)[:, ::2, ::2].ravel()[four[order]]
        peak = np.repeat(np.maximum.reduceat(strength, begin[1:-1]), size[1:]) if pieces else strength
        hits = np.flatnonzero(strength == peak)
        best = order[hits[np.searchsorted(hits, begin[large])]]
        found = self._strongest_of(four[np.column_stack((best, spread)).ravel()])
        field, node = np.divmod(found, len(raster.inside))
        row, column = np.divmod(node, raster.columns)
        return np.asarray(column + 1j * row), np.asarray(field), np.repeat(np.arange(len(large)), each + 1)

    def _strongest_of(self, four: IntArray) -> IntArray:
        """The most strongly pulled of the nodes that ask for a line in each square of four (k,), squares numbered."""
        columns = self.raster.columns
        # Rows of squares run on from one field to the next, as the rows of nodes do, for every field has an even
        # number.
        row, column = np.divmod(four, columns // 2)
        node = (2 * row * columns + 2 * column)[:, None] + np.array([0, 1, columns, columns + 1])
        strength = np.where(self.asks.ravel()[node], self.strength.ravel()[node], -np.inf)
        return np.asarray(node[np.arange(len(node)), strength.argmax(axis=1)])


def _disc(radius: float, columns: int) -> IntArray:
    """Differences of node numbers between a node and those within radius [cells] of it."""
    reach = int(radius)
    i, j = np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach, reach + 1))
    within = i**2 + j**2 <= radius**2
    return np.asarray(j[within] * columns + i[within])
