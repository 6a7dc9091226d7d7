"""Where the moments are read: the display grid (nodes and middles of sides) and spots of special interest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.averaging import DiscMean, Discs, disc_mean, discs
from fem.plate.bell import BellPlate
from fem.plate.depth import Depths, depth_mean

__all__ = ["Sampling", "sampling"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_READ = ((0, 0), (2, 0), (0, 2), (1, 1))


@dataclass(frozen=True, eq=False)
class Sampling:
    """p sample points (p, 2) [m]: the mesh's n nodes, its m side middles (on the true arc), then spots.

    triangles (q, 3) are those of the display grid; triangle_middles (e, 3, 2) [m] are the side middles of each
    triangle, middle_of (e, 3) their sample points; spot_element (k,) holds each spot's triangle. mean averages over
    discs of this radius [m] within the region.
    """

    bell: BellPlate
    points: FloatArray
    triangles: IntArray
    triangle_middles: FloatArray
    middle_of: IntArray
    spot_element: IntArray
    mean: DiscMean
    radius: float
    region: shapely.Polygon
    discs: Discs
    depths: Depths | None = None

    @property
    def grid_size(self) -> int:
        """Number of points of the display grid: all but the spots."""
        return len(self.points) - len(self.spot_element)

    def read(self, u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """From freedoms u (6 n, c): w (p, c), curvatures (p, 3, c) = (kxx, kyy, 2 kxy), k = -w'', and half their jump.

        The jump (p, 3, c) is that between triangles that meet. At nodes Bell's curvature is continuous; the jump there
        is the largest of the sides that end at the node.
        """
        bell = self.bell
        n = len(bell.mesh.nodes)
        own = u.reshape(n, 6, -1)[:, [3, 5, 4]] / (bell.node_length**2)[:, None, None]
        middles = np.asarray(self._middle_rows @ u[bell.freedoms]).reshape(len(self.middle_of), 3, 4, -1)
        side, difference = self._gathered(middles)
        rest = self._at_spots(u)
        twice = np.array([-1.0, -1.0, -2.0])[:, None]
        kappa = np.concatenate([own, side[:, 1:], rest[:, 1:]]) * twice
        jump = difference[:, 1:].copy()
        order, first = self._sides_of_nodes
        at_node = np.maximum.reduceat(jump[order], first, axis=0)
        # A side on the edge has one triangle and no jump of its own: it takes its nodes'.
        one, other = self._two_views
        alone = np.flatnonzero(one == other)
        jump[alone] = at_node[bell.mesh.edges[0][alone]].max(axis=1)
        corner = bell.mesh.triangles[self.spot_element]
        at_spot = at_node[corner].max(axis=1) if len(corner) else np.zeros((0, *at_node.shape[1:]))
        w = np.concatenate([u[::6], side[:, 0], rest[:, 0]])
        return w, kappa, np.concatenate([at_node, jump, at_spot]) * np.abs(twice)

    def with_spots(self, spots: FloatArray) -> Sampling:
        """The same with more spots (k, 2) [m] behind those it has."""
        if not len(spots):
            return self
        bell = self.bell
        round_each = discs(bell.mesh, spots, self.radius, self.region)
        more = replace(
            self,
            points=np.concatenate([self.points, spots]),
            spot_element=np.concatenate([self.spot_element, bell.mesh.locate(spots)]),
            mean=self.mean.joined(_mean(bell, spots, self.radius, self.region, round_each, self.depths)),
            discs=self.discs.joined(round_each, len(self.points)),
        )
        # What the mesh alone determines is worked out once.
        for name in ("_middle_rows", "_two_views", "_sides_of_nodes"):
            more.__dict__[name] = getattr(self, name)
        return more

    def means_at(self, points: FloatArray) -> DiscMean:
        """The averaging operator at any other points (q, 2) [m]."""
        round_each = discs(self.bell.mesh, points, self.radius, self.region)
        return _mean(self.bell, points, self.radius, self.region, round_each, self.depths)

    @cached_property
    def _middle_rows(self) -> FloatArray:
        """Rows (e, 12, 18) that read w and its second derivatives at a triangle's side middles from its freedoms."""
        e = len(self.middle_of)
        element = np.repeat(np.arange(e), 3)
        basis = self.bell.basis(element, self.triangle_middles.reshape(-1, 2), _READ)
        return np.asarray(basis.reshape(e, 12, 21) @ self.bell.coefficients)

    def _at_spots(self, u: FloatArray) -> FloatArray:
        """Deflection and its second derivatives (k, 4, c) at the spots."""
        bell, element = self.bell, self.spot_element
        basis = bell.basis(element, self.points[self.grid_size :], _READ)
        return np.asarray(basis @ (bell.coefficients[element] @ u[bell.freedoms[element]]))

    @cached_property
    def _two_views(self) -> tuple[IntArray, IntArray]:
        """For each side its places in middle_of from the one triangle and the other, (m,) each; alike at the edge."""
        number = (self.middle_of - len(self.bell.mesh.nodes)).ravel()
        order = np.argsort(number, kind="stable")
        ordered = number[order]
        first = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
        last = np.append(first[1:], len(ordered)) - 1
        return order[first], order[last]

    @cached_property
    def _sides_of_nodes(self) -> tuple[IntArray, IntArray]:
        """Sides sorted by the node they end at (2 m,), and where each node's begin (n,)."""
        edges = self.bell.mesh.edges[0]
        order = np.argsort(edges.ravel(), kind="stable")
        return order // 2, np.searchsorted(edges.ravel()[order], np.arange(len(self.bell.mesh.nodes)))

    def _gathered(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean over the triangles that share a side, and half their difference: (m, ...) each, from (e, 3, ...)."""
        flat = values.reshape(-1, *values.shape[2:])
        one, other = self._two_views
        return (flat[one] + flat[other]) / 2, np.abs(flat[one] - flat[other]) / 2


def _mean(
    bell: BellPlate,
    points: FloatArray,
    radius: float,
    region: shapely.Polygon,
    round_each: Discs,
    depths: Depths | None,
) -> DiscMean:
    if depths is None:
        return disc_mean(bell, points, radius, region, round_each)
    return depth_mean(bell, points, radius, region, depths)


def sampling(bell: BellPlate, radius: float, region: shapely.Polygon, depths: Depths | None = None) -> Sampling:
    """The sample points of a mesh, without spots, averaged over discs of this radius [m].

    Where depths differ, the means are those of the curvature times the rigidity over that at full depth.
    """
    mesh = bell.mesh
    edges, of_triangle = mesh.edges
    n = len(mesh.nodes)
    middle = mesh.nodes[edges].mean(axis=1)
    loops = mesh.shape.loops
    side = of_triangle[mesh.side_triangle, mesh.side_corner]
    half = mesh.side_s.mean(axis=1)
    for loop, curve in set(zip(mesh.side_loop.tolist(), mesh.side_curve.tolist(), strict=True)):
        on = (mesh.side_loop == loop) & (mesh.side_curve == curve)
        middle[side[on]] = loops[loop].curves[curve].point(half[on])
    points = np.concatenate([mesh.nodes, middle])
    round_each = discs(mesh, points, radius, region)
    m01, m12, m20 = (n + of_triangle).T
    v0, v1, v2 = mesh.triangles.T
    quarters = [(v0, m01, m20), (m01, v1, m12), (m20, m12, v2), (m01, m12, m20)]
    return Sampling(
        bell,
        points,
        np.concatenate([np.stack(quarter, axis=1) for quarter in quarters]),
        middle[of_triangle],
        n + of_triangle,
        np.zeros(0, dtype=np.int64),
        _mean(bell, points, radius, region, round_each, depths),
        radius,
        region,
        round_each,
        depths,
    )
