"""Triangles in the plane whose boundary sides remember the true curve they stand for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from meshing.shape import Shape

__all__ = ["Mesh"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Mesh:
    """nodes (n, 2) [m]; triangles (e, 3), counter-clockwise.

    Boundary side b runs from vertex side_corner[b] of triangle side_triangle[b] to the next one, with the slab on its
    left, along curve side_curve[b] of loop side_loop[b] of the shape, between the parameters side_s[b] (2,).
    """

    shape: Shape
    nodes: FloatArray
    triangles: IntArray
    side_triangle: IntArray
    side_corner: IntArray
    side_loop: IntArray
    side_curve: IntArray
    side_s: FloatArray
    field_size: float
    coarsened: bool = False

    def __post_init__(self) -> None:
        for array in (self.nodes, self.triangles, self.side_triangle, self.side_corner, self.side_loop):
            array.setflags(write=False)

    @cached_property
    def corners(self) -> FloatArray:
        """Corner points of every triangle: (e, 3, 2) [m]."""
        return self.nodes[self.triangles]

    @cached_property
    def smallest_angle(self) -> float:
        """Smallest angle of any triangle [degrees]."""
        side = np.roll(self.corners, -1, axis=1) - self.corners
        back = -np.roll(side, 1, axis=1)
        cross = side[..., 0] * back[..., 1] - side[..., 1] * back[..., 0]
        return float(np.degrees(np.arctan2(cross, np.einsum("eki,eki->ek", side, back)).min()))

    @cached_property
    def edges(self) -> tuple[IntArray, IntArray]:
        """Every edge once, as node pairs (m, 2); the edges of each triangle (e, 3), edge k from vertex k to k + 1."""
        pairs = np.stack([self.triangles, np.roll(self.triangles, -1, axis=1)], axis=2).reshape(-1, 2)
        key = np.sort(pairs, axis=1)
        unique, inverse = np.unique(key[:, 0] * len(self.nodes) + key[:, 1], return_inverse=True)
        edges = np.stack([unique // len(self.nodes), unique % len(self.nodes)], axis=1)
        return edges, inverse.reshape(-1, 3)

    @cached_property
    def neighbours(self) -> IntArray:
        """Triangle across edge k of each triangle, -1 at the boundary: (e, 3)."""
        of_triangle = self.edges[1].ravel()
        order = np.argsort(of_triangle, kind="stable")
        twin = np.full(len(order), -1)
        paired = np.flatnonzero(of_triangle[order[:-1]] == of_triangle[order[1:]])
        first, second = order[paired], order[paired + 1]
        twin[first], twin[second] = second // 3, first // 3
        return twin.reshape(-1, 3)

    @cached_property
    def _centroid_tree(self) -> cKDTree:
        return cKDTree(self.corners.mean(axis=1))

    def locate(self, points: FloatArray) -> IntArray:
        """Triangle that holds each point (k, 2) [m]: (k,); for a point off the mesh, one close by.

        Walks from the triangle with the nearest centre towards the point, all points in step.
        """
        inward = self._inward_forms
        here = np.asarray(self._centroid_tree.query(points)[1], dtype=np.int64)
        moving = np.arange(len(points))
        for _ in range(60):
            form = inward[here[moving]]
            depth = np.einsum("kji,ki->kj", form[..., :2], points[moving]) + form[..., 2]
            worst = depth.argmin(axis=1)
            across = self.neighbours[here[moving], worst]
            outside = (depth[np.arange(len(moving)), worst] < -1e-9) & (across >= 0)
            here[moving[outside]] = across[outside]
            moving = moving[outside]
            if not len(moving):
                break
        self._settle_stuck(points, here)
        return here

    @cached_property
    def _inward_forms(self) -> FloatArray:
        """Barycentric coordinate opposite edge k as a linear form a x + b y + c: (e, 3, 3)."""
        start, end = self.corners, np.roll(self.corners, -1, axis=1)
        side = end - start
        form = np.stack([-side[..., 1], side[..., 0]], axis=-1)
        offset = -np.einsum("eki,eki->ek", form, start)
        height = np.einsum("eki,eki->ek", form, np.roll(start, 1, axis=1)) + offset
        return np.asarray(np.concatenate([form, offset[..., None]], axis=-1) / height[..., None])

    def _settle_stuck(self, points: FloatArray, here: IntArray) -> None:
        """A walk may end at an edge: of the sliver between a chord and its arc, or of an opening with the point beyond.

        The triangles close by are looked at first, and every triangle where none of them comes near to holding the
        point.
        """
        stuck = np.flatnonzero(self._depth(points[:, None], here[:, None])[:, 0] < -1e-9)
        if not len(stuck):
            return
        near = np.asarray(self._centroid_tree.query(points[stuck], k=min(12, len(self.triangles)))[1]).reshape(
            len(stuck), -1
        )
        near = np.concatenate([here[stuck, None], near], axis=1)
        depth = self._depth(points[stuck, None], near)
        row = np.arange(len(stuck))
        here[stuck] = near[row, depth.argmax(axis=1)]
        far = stuck[depth.max(axis=1) < -0.2]
        everywhere = np.arange(len(self.triangles))[None]
        for part in np.array_split(far, max(1, len(far) * len(self.triangles) // 4_000_000)):
            here[part] = self._depth(points[part, None], everywhere).argmax(axis=1)

    def _depth(self, points: FloatArray, triangles: IntArray) -> FloatArray:
        """Least barycentric coordinate of points (k, 1, 2) in triangles (k, t): (k, t), negative outside."""
        form = self._inward_forms[triangles]
        return np.asarray((np.einsum("ktji,ksi->ktj", form[..., :2], points) + form[..., 2]).min(axis=-1))
