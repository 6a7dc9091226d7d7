"""The slab's edge as a row of quadratic sides, by the distance along its loop; the part that faces down."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from fem.plane.quadratic import QuadraticMesh
from meshing.shape import Arc, Loop

__all__ = ["Rim", "Stretch", "rim"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Stretch = tuple[float, float]

#: A side bears where its outward normal is within 75 degrees of down; what is steeper slips off.
_STEEPEST = 0.2588


@dataclass(frozen=True, eq=False)
class Rim:
    """The b sides of one loop in their order: nodes (b, 3) first, middle, last; begin, end (b,) [m] along the loop.

    Distances run counter-clockwise from the start of the loop's first curve; points (b, 3, 2) [m] are the nodes'
    places, outward (b, 2) the normal out of the slab.
    """

    nodes: IntArray
    points: FloatArray
    begin: FloatArray
    end: FloatArray
    outward: FloatArray
    length: float
    slab_on_left: bool

    @cached_property
    def stations(self) -> FloatArray:
        """Distances of the sides' starts and middles over three rounds, (6 b,) [m]."""
        once = np.stack([self.begin, (self.begin + self.end) / 2], axis=1).ravel()
        return np.concatenate([once + turn * self.length for turn in (-1, 0, 1)])

    @cached_property
    def breaks(self) -> FloatArray:
        """Distances of the sides' starts over three rounds, (3 b,) [m]."""
        return np.concatenate([self.begin + turn * self.length for turn in (-1, 0, 1)])

    def side_at(self, distance: FloatArray) -> tuple[IntArray, FloatArray]:
        """Side (k,) at distances (k,) [m] along the loop, and how far along that side, 0 to 1 (k,)."""
        wrapped = np.mod(distance, self.length)
        side = np.clip(np.searchsorted(self.begin, wrapped, side="right") - 1, 0, len(self.begin) - 1)
        return side, np.clip((wrapped - self.begin[side]) / (self.end - self.begin)[side], 0.0, 1.0)

    def facing(self, down: FloatArray) -> list[Stretch]:
        """Stretches that face down (2,), each once, with begin in [0, length)."""
        return self.runs(self.faces(down))

    def faces(self, down: FloatArray) -> npt.NDArray[np.bool_]:
        """Which sides face down (2,), (b,)."""
        return np.asarray(self.outward @ down > _STEEPEST)

    def runs(self, chosen: npt.NDArray[np.bool_]) -> list[Stretch]:
        """Stretches made of neighbouring chosen sides (b,)."""
        if chosen.all():
            return [(0.0, self.length)]
        first = np.flatnonzero(chosen & ~np.roll(chosen, 1))
        last = np.flatnonzero(chosen & ~np.roll(chosen, -1))
        if not len(first):
            return []
        last = np.roll(last, -int(np.searchsorted(last, first[0])))
        begin, end = self.begin[first], self.end[last]
        return list(zip(begin.tolist(), (end + self.length * (end <= begin)).tolist(), strict=True))


def rim(grid: QuadraticMesh, loop: int) -> Rim:
    """The sides of a loop, 0 the outline, k + 1 opening k."""
    mesh = grid.mesh
    sides = np.flatnonzero(mesh.side_loop == loop)
    whole = mesh.shape.loops[loop]
    distance = _distances(whole, mesh.side_curve[sides], mesh.side_s[sides])
    order = np.argsort(distance.min(axis=1))
    sides, distance = sides[order], distance[order]
    element, corner = mesh.side_triangle[sides], mesh.side_corner[sides]
    own = grid.elements[element]
    row = np.arange(len(sides))
    nodes = np.stack([own[row, corner], own[row, 3 + corner], own[row, (corner + 1) % 3]], axis=1)
    # All loops run counter-clockwise, so that an opening's has the slab on its right.
    backward = distance[:, 0] > distance[:, 1]
    points = grid.nodes[nodes]
    chord = points[:, 2] - points[:, 0]
    outward = np.stack([chord[:, 1], -chord[:, 0]], axis=1) / np.hypot(*chord.T)[:, None]
    nodes[backward], points[backward] = nodes[backward, ::-1], points[backward, ::-1]
    return Rim(nodes, points, distance.min(axis=1), distance.max(axis=1), outward, whole.length, loop == 0)


def _distances(loop: Loop, curve: IntArray, s: FloatArray) -> FloatArray:
    """Distances (b, 2) [m] along a loop of parameters s (b, 2) on its curves (b,)."""
    out = np.empty_like(s)
    for k, piece in enumerate(loop.curves):
        on = curve == k
        run = s[on]
        if isinstance(piece, Arc) and not piece.is_circle:
            fine = np.linspace(0.0, 1.0, 1025)
            speed = np.hypot(*piece.derivative(fine).T)
            covered = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2)])
            run = np.interp(run, fine, covered / covered[-1])
        out[on] = loop.curve_starts[k] + piece.length * run
    return out
