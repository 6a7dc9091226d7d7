"""Bell's triangle: a conforming quintic for thin plates, its curved sides integrated as they are.

Source: K. Bell, A refined triangular plate bending finite element, Int. J. Numer. Meth. Engng 1 (1969) 101-122. Six
freedoms a node: w, w,x, w,y, w,xx, w,xy, w,yy. Inside, w is a full quintic whose normal slope along each side is held
to a cubic (three conditions), so that w and its slope are continuous from triangle to triangle, and at nodes the
curvature is too.

A slab's edges are free but for its supports, and a support is a force here, so nothing is ever prescribed on an edge.
A side on the boundary may therefore follow its true arc: the polynomial simply goes on to the arc, and the energy is
integrated over the true region. No facet stands in for an arc anywhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from fem.plate.gauss import gauss_01
from meshing.mesh import Mesh

__all__ = ["EXPONENTS", "BellPlate", "bending_rigidity", "monomials"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Powers (i, j) of the 21 monomials x^i y^j of degree 5 and less.
EXPONENTS = np.array([(degree - j, j) for degree in range(6) for j in range(degree + 1)])

_DERIVATIVES = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))


def bending_rigidity(E: float, nu: float, t: float) -> FloatArray:
    """Rigidity of an isotropic plate, (3, 3) [N m]: moments m = D @ kappa.

    kappa = (kxx, kyy, 2 kxy) [1/m], m = (mx, my, mxy) [N m/m]; E Young's modulus [Pa], nu Poisson's ratio, t
    thickness [m]; ValueError unless E, t > 0 and -1 < nu <= 0.5.
    Source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. (1959), ch. 2.

    >>> bending_rigidity(E=30e9, nu=0.2, t=0.04).round(-2).tolist()
    [[166700.0, 33300.0, 0.0], [33300.0, 166700.0, 0.0], [0.0, 0.0, 66700.0]]
    """
    if not (E > 0 and t > 0 and -1 < nu <= 0.5):
        raise ValueError(f"no such plate: E = {E} Pa, nu = {nu}, t = {t} m; need E, t > 0 and -1 < nu <= 0.5")
    D: FloatArray = E * t**3 / (12 * (1 - nu**2)) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])
    return D


def monomials(X: FloatArray, *derivatives: tuple[int, int]) -> FloatArray:
    """Monomials of degree 5 and less, or their derivatives (by x, by y), at X (..., 2): (..., len(derivatives), 21)."""
    x, y = np.ascontiguousarray(X.reshape(-1, 2).T)
    power_of_x, power_of_y = [np.ones_like(x)], [np.ones_like(y)]
    for _ in range(5):
        power_of_x.append(power_of_x[-1] * x)
        power_of_y.append(power_of_y[-1] * y)
    out = np.zeros((len(x), len(derivatives), 21))
    for row, (a, b) in enumerate(derivatives):
        for column, (i, j) in enumerate(EXPONENTS.tolist()):
            if i >= a and j >= b:
                factor = math.perm(i, a) * math.perm(j, b)
                np.multiply(power_of_x[i - a], factor * power_of_y[j - b], out=out[:, row, column])
    return out.reshape(*X.shape[:-1], len(derivatives), 21)


@dataclass(frozen=True, eq=False)
class BellPlate:
    """The interpolation of w over a mesh. An element's own coordinates are X = (x - center) / scale.

    Freedoms are made alike in size by a length of each node: (w, l w,x, l w,y, l2 w,xx, l2 w,xy, l2 w,yy).
    """

    mesh: Mesh

    @property
    def size(self) -> int:
        """Number of freedoms, six a node."""
        return 6 * len(self.mesh.nodes)

    @cached_property
    def center(self) -> FloatArray:
        """Middle of each element, (e, 2) [m]."""
        return np.asarray(self.mesh.corners.mean(axis=1))

    @cached_property
    def scale(self) -> FloatArray:
        """Length of each element, (e,) [m]: its longest side."""
        side = np.roll(self.mesh.corners, -1, axis=1) - self.mesh.corners
        return np.asarray(np.hypot(side[..., 0], side[..., 1]).max(axis=1))

    @cached_property
    def node_length(self) -> FloatArray:
        """Length that scales a node's freedoms, (n,) [m]: mean of the elements about it."""
        total = np.bincount(self.mesh.triangles.ravel(), np.repeat(self.scale, 3))
        return np.asarray(total / np.bincount(self.mesh.triangles.ravel()))

    @cached_property
    def freedoms(self) -> IntArray:
        """Numbers of the freedoms of each element, (e, 18)."""
        return np.asarray((6 * self.mesh.triangles[:, :, None] + np.arange(6)).reshape(-1, 18))

    @cached_property
    def coefficients(self) -> FloatArray:
        """Monomial coefficients from the freedoms, (e, 21, 18)."""
        corner = (self.mesh.corners - self.center[:, None]) / self.scale[:, None, None]
        order = np.array([0, 1, 1, 2, 2, 2])
        ratio = self.node_length[self.mesh.triangles] / self.scale[:, None]
        rows = monomials(corner, *_DERIVATIVES) * (ratio[..., None] ** order)[..., None]
        return np.asarray(
            np.linalg.inv(np.concatenate([rows.reshape(-1, 18, 21), _cubic_slope(corner)], axis=1))[..., :18]
        )

    @cached_property
    def quadrature(self) -> tuple[FloatArray, FloatArray]:
        """Points (e, g, 2) [m] and weights (e, g) [m2] over the true region of each element.

        A collapsed product rule: s along a side, z from that side to the corner across. Exact for the straight
        element's energy, whose degree is 6 along s and 7 along z.
        """
        s, ws = gauss_01(4)
        z, wz = gauss_01(4)
        points, area = self.spread(np.arange(len(self.mesh.triangles)), s, z)
        weights = (area * ws)[:, :, None] * (1 - z) * wz
        return points.reshape(len(area), -1, 2), weights.reshape(len(area), -1)

    def spread(self, elements: IntArray, s: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Points of elements (k,) at s along a side, on its true arc, and z from there to the corner across.

        s (i,) and z (j,) in [0, 1]; points (k, i, j, 2) [m], and by ds (1 - z) dz the area (k, i) [m2] they stand for.
        """
        side = np.zeros(len(self.mesh.triangles), dtype=np.int64)
        side[self.mesh.side_triangle[self._curved_sides]] = self.mesh.side_corner[self._curved_sides]
        a, b, c = (self.mesh.corners[elements, (side[elements] + k) % 3] for k in range(3))
        edge = a[:, None] + s[:, None] * (b - a)[:, None]
        along = np.broadcast_to((b - a)[:, None], edge.shape).copy()
        row = np.full(len(side), -1)
        row[elements] = np.arange(len(elements))
        for k in self._curved_sides:
            e = row[self.mesh.side_triangle[k]]
            if e < 0:
                continue
            curve = self.mesh.shape.loops[self.mesh.side_loop[k]].curves[self.mesh.side_curve[k]]
            s0, s1 = self.mesh.side_s[k]
            edge[e] = curve.point(s0 + (s1 - s0) * s)
            along[e] = curve.derivative(s0 + (s1 - s0) * s) * (s1 - s0)
        spoke = c[:, None] - edge
        area = along[..., 0] * spoke[..., 1] - along[..., 1] * spoke[..., 0]
        return edge[:, :, None] + z[:, None] * spoke[:, :, None], area

    @cached_property
    def _curved_sides(self) -> IntArray:
        loops = self.mesh.shape.loops
        bent = [[curve.turn != 0.0 for curve in loop.curves] for loop in loops]
        pairs = zip(self.mesh.side_loop, self.mesh.side_curve, strict=True)
        return np.flatnonzero(np.array([bent[loop][curve] for loop, curve in pairs]))

    def stiffness(self, D: FloatArray, scale: FloatArray | None = None) -> sp.csc_matrix:
        """Stiffness of the free plate of rigidity D (3, 3) [N m], in the scaled freedoms: sparse (6 n, 6 n).

        scale (e, g): how many times D the rigidity is at the points of the quadrature; None: D everywhere.
        """
        points, weights = self.quadrature
        if scale is not None:
            weights = weights * scale
        H = monomials(self._own(points), (2, 0), (0, 2), (1, 1))
        H[..., 2, :] *= 2
        root = np.linalg.cholesky(D).T
        e, g = weights.shape
        half = (root @ H) * (np.sqrt(weights) / self.scale[:, None] ** 2)[..., None, None]
        half = half.reshape(e, g * 3, 21) @ self.coefficients
        Ke = half.transpose(0, 2, 1) @ half
        rows = np.repeat(self.freedoms, 18, axis=1).ravel()
        columns = np.tile(self.freedoms, (1, 18)).ravel()
        return sp.coo_matrix((Ke.ravel(), (rows, columns)), shape=(self.size, self.size)).tocsc()

    @cached_property
    def body_load(self) -> FloatArray:
        """Load vector of a unit pressure on the whole slab, (6 n,)."""
        return self.pressure_load(np.ones_like(self.quadrature[1]))

    def pressure_load(self, pressure: FloatArray) -> FloatArray:
        """Load vector (6 n,) of a pressure (e, g) [Pa] given at the points of the quadrature."""
        points, weights = self.quadrature
        return self._gathered(weights * pressure, monomials(self._own(points), (0, 0))[..., 0, :])

    def bow_load(self, moment: FloatArray) -> FloatArray:
        """Load vector (6 n,) that moments alike in all directions (e, g) [N m/m] have: integral of -m laplacian w."""
        points, weights = self.quadrature
        second = monomials(self._own(points), (2, 0), (0, 2)).sum(axis=-2)
        return self._gathered(-weights * moment / self.scale[:, None] ** 2, second)

    def _gathered(self, weights: FloatArray, basis: FloatArray) -> FloatArray:
        sums = np.einsum("eg,egm->em", weights, basis)
        load = np.einsum("em,ema->ea", sums, self.coefficients)
        return np.bincount(self.freedoms.ravel(), load.ravel(), minlength=self.size).astype(np.float64)

    def element_coefficients(self, u: FloatArray) -> FloatArray:
        """Monomial coefficients of solutions u (6 n, c): (e, 21, c)."""
        return np.asarray(self.coefficients @ u[self.freedoms])

    def evaluate(
        self, coefficients: FloatArray, element: IntArray, points: FloatArray, *derivatives: tuple[int, int]
    ) -> FloatArray:
        """Derivatives (k, len(derivatives), c) at points (k, 2) [m] in elements (k,) from coefficients (e, 21, c)."""
        basis = self.basis(element, points, derivatives)
        return np.asarray(basis @ coefficients[element])

    def functionals(
        self, points: FloatArray, weights: FloatArray, group: IntArray, groups: int, direction: FloatArray
    ) -> FloatArray:
        """Weighted sums of w, or of its slope along direction (k, 2) where that is not nan: load columns (6 n, groups).

        Point k (k, 2) [m] counts with weights (k,) in column group (k,). The column is at once the load vector of those
        forces and the row that reads the same sum of w.
        """
        if not len(points):
            return np.zeros((self.size, groups))
        element = self.mesh.locate(points)
        basis = self.basis(element, points, ((0, 0),))[:, 0]
        slope = np.flatnonzero(~np.isnan(direction[:, 0]))
        if len(slope):
            gradient = self.basis(element[slope], points[slope], ((1, 0), (0, 1)))
            basis[slope] = np.einsum("kd,kdm->km", direction[slope], gradient)
        # Sum within each element first: many points of one contact share it.
        order = np.argsort(element * groups + group, kind="stable")
        key = (element * groups + group)[order]
        first = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]]))
        sums = np.add.reduceat((basis * weights[:, None])[order], first, axis=0)
        element, group = np.divmod(key[first], groups)
        values = np.matmul(sums[:, None], self.coefficients[element])[:, 0]
        where = self.freedoms[element] * groups + group[:, None]
        flat = np.bincount(where.ravel(), values.ravel(), minlength=self.size * groups)
        return flat.reshape(self.size, groups).astype(np.float64)

    def _own(self, points: FloatArray) -> FloatArray:
        return np.asarray((points - self.center[:, None]) / self.scale[:, None, None])

    def basis(self, element: IntArray, points: FloatArray, derivatives: tuple[tuple[int, int], ...]) -> FloatArray:
        """Derivatives of the monomials of elements (k,) at points (k, 2) [m]: (k, len(derivatives), 21)."""
        X = (points - self.center[element]) / self.scale[element, None]
        order = np.array([a + b for a, b in derivatives])
        return np.asarray(monomials(X, *derivatives) / (self.scale[element, None] ** order)[..., None])


def _cubic_slope(corner: FloatArray) -> FloatArray:
    """Rows (e, 3, 21) whose product with the coefficients is the fourth power of the normal slope along each side."""
    side = np.roll(corner, -1, axis=1) - corner
    side = side / np.hypot(side[..., 0], side[..., 1])[..., None]
    normal = np.stack([side[..., 1], -side[..., 0]], axis=-1)
    gradient = monomials(side, (1, 0), (0, 1))
    rows = np.einsum("ekd,ekdm->ekm", normal, gradient)
    rows[..., EXPONENTS.sum(axis=1) < 5] = 0.0
    return np.asarray(rows)
