"""Answers for plates that owe nothing to finite elements: series summed, small linear systems, closed forms.

D = 1 N m throughout unless said; moments are positive where they pull the underside, as w is positive downwards.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq, nnls
from scipy.special import j1

__all__ = [
    "annulus",
    "beam_on_springs",
    "circle_under_disc",
    "clamped_square",
    "free_corner_power",
    "hole_factor",
    "levy",
    "lifting_square",
    "navier_disc",
    "on_corners",
]

FloatArray = npt.NDArray[np.float64]
Edge = Literal["held", "clamped", "free"]


def levy(b: float, nu: float, edges: tuple[Edge, Edge], x: float, y: float) -> FloatArray:
    """(w, mx, my) at (x, y) of the plate 0 < x < 1, |y| < b / 2 under 1 Pa, held along x = 0 and x = 1.

    edges: how it is at y = -b / 2 and b / 2. Levy's series; source: Timoshenko & Woinowsky-Krieger, Theory of Plates
    and Shells (1959), ch. 5 and 6. Summed over 400 odd terms: the rest is below 1e-10 of w, 1e-7 of the moments.
    """
    total = np.zeros(3)
    for m in range(1, 800, 2):
        k = m * np.pi
        particular = 4 / k**5 * np.array([1.0, 0.0, 0.0, 0.0])
        rows, right = [], []
        for at, edge in ((-b / 2, edges[0]), (b / 2, edges[1])):
            Y = _levy_basis(k, b, at)
            for row in _edge_conditions(k, nu, edge):
                rows.append(row @ Y)
                right.append(-row @ particular)
        Y = _levy_basis(k, b, y) @ np.linalg.solve(np.array(rows), np.array(right)) + particular
        bend_x, bend_y = k**2 * Y[0], -(k**2) * Y[2]
        total += np.array([Y[0], bend_x + nu * bend_y, bend_y + nu * bend_x]) * np.sin(k * x)
    return total


def _levy_basis(k: float, b: float, y: float) -> FloatArray:
    """Rows: Y and its first three derivatives by k y; columns: four solutions that never grow beyond reason."""
    low, high = k * (y + b / 2), k * (b / 2 - y)
    down, up = np.exp(-low), np.exp(-high)
    n = np.arange(4)
    sign = (-1.0) ** n
    return np.stack([sign * down, sign * (low - n) * down, up + 0 * n, (high - n) * up], axis=1)


def _edge_conditions(k: float, nu: float, edge: Edge) -> FloatArray:
    if edge == "held":
        return np.array([[1.0, 0, 0, 0], [0, 0, 1, 0]])
    if edge == "clamped":
        return np.array([[1.0, 0, 0, 0], [0, 1, 0, 0]])
    return np.array([[-nu, 0, 1, 0], [0, nu - 2, 0, 1]])


def navier_disc(a: float, b: float, nu: float, radius: float, x: float, y: float) -> FloatArray:
    """(w, mx, my) at (x, y) of the held rectangle |x| < a / 2, |y| < b / 2 under 1 N on a small disc at its middle.

    Navier's double series with the disc's transform 2 J1(k r) / (k r); source: Timoshenko & Woinowsky-Krieger (1959),
    ch. 5. Summed over 1500 x 1500 odd terms.
    """
    m = np.arange(1, 3000, 2) * np.pi / a
    n = np.arange(1, 3000, 2) * np.pi / b
    k2 = m[:, None] ** 2 + n**2
    kr = np.sqrt(k2) * radius
    load = 4 / (a * b) * 2 * j1(kr) / kr
    # The sines at the middle and the cosine of the distance from it, for odd waves: their product is cos m x cos n y.
    shape = load / k2**2 * np.multiply.outer(np.cos(m * x), np.cos(n * y))
    bend_x, bend_y = float((shape * m[:, None] ** 2).sum()), float((shape * n**2).sum())
    return np.array([shape.sum(), bend_x + nu * bend_y, bend_y + nu * bend_x])


def clamped_square(nu: float, load: Literal["even", "middle"], terms: int = 400) -> FloatArray:
    """(w, m) at the centre and the edge moment at the middle of a side, of the clamped unit square.

    load: 1 Pa, or 1 N at the centre (whose own moment there is endless: nan). The held plate's series and four rows of
    edge moments that turn its edges back (Hencky 1913; Timoshenko & Woinowsky-Krieger (1959), art. 44).
    """
    i = np.arange(1, 2 * terms, 2).astype(float)
    sign = np.where(i % 4 == 1, 1.0, -1.0)
    k = i * np.pi
    # Slope across the edge x = 0 of the held plate, as a sine series along it: sum over the waves across.
    wave = np.arange(1, 40001, 2) * np.pi
    if load == "even":
        slope = np.array([(16 / (kn * wave) / (wave**2 + kn**2) ** 2 * wave).sum() for kn in k])
    else:
        waves = np.where(np.arange(1, 40001, 2) % 4 == 1, 1.0, -1.0)
        slope = np.array([4 * s * (waves * wave / (wave**2 + kn**2) ** 2).sum() for s, kn in zip(sign, k, strict=True)])
    # Unit sines of moment: W_mn = 4 k_m / (k_m2 + k_n2)2 from the two edges across x, likewise across y.
    own = np.tanh(k / 2) / (4 * k)  # sum over odd m of 1 / (k_m2 + k2)
    own_square = own / (2 * k**2) - 1 / (16 * k**2 * np.cosh(np.minimum(k / 2, 300)) ** 2)
    A = 4 * k[:, None] * k / (k[:, None] ** 2 + k**2) ** 2
    A[np.diag_indices(terms)] += 4 * (own - k**2 * own_square)
    E = np.linalg.solve(A, -slope)
    # Each row bends the middle by a hyperbolic function of its own; two pairs of edges, the same in both directions.
    alpha = np.minimum(k / 2, 300)
    w = float((sign * E * alpha * np.tanh(alpha) / (k**2 * np.cosh(alpha))).sum())
    m = float((1 + nu) * (sign * E / np.cosh(alpha)).sum())
    if load == "even":
        held = levy(1.0, nu, ("held", "held"), 0.5, 0.0)
        return np.array([held[0] + w, held[1] + m, float(E @ sign)])
    waves = np.arange(1, 4001, 2) * np.pi
    held_w = float((4 / (waves[:, None] ** 2 + waves**2) ** 2).sum())
    return np.array([held_w + w, np.nan, float(E @ sign)])


def on_corners(nu: float, waves: int = 12) -> FloatArray:
    """(w centre, w mid-side, m centre, m along the side at its middle) of a unit square on its four corners, 1 Pa.

    Ritz's method with even Legendre polynomials in both directions; the corners are points where w is held.
    """
    L = np.polynomial.legendre
    basis = np.eye(2 * waves)[::2]
    K, load = _ritz(nu, waves)
    corner = np.ones(len(load))[:, None]
    A = np.block([[K, corner], [corner.T, np.zeros((1, 1))]])
    c = np.linalg.solve(A, np.append(load, 0.0))[:-1].reshape(len(basis), -1)
    zero, one = (np.array([[L.legval(at, p), L.legval(at, L.legder(p, 2))] for p in basis]) for at in (0.0, 1.0))
    w0, xx0 = zero[:, 0] @ c @ zero[:, 0], zero[:, 1] @ c @ zero[:, 0]
    w1, xx1, yy1 = zero[:, 0] @ c @ one[:, 0], zero[:, 1] @ c @ one[:, 0], zero[:, 0] @ c @ one[:, 1]
    return np.array([w0 / 16, w1 / 16, -(1 + nu) * xx0 / 4, -(xx1 + nu * yy1) / 4])


def _ritz(nu: float, waves: int) -> tuple[FloatArray, FloatArray]:
    """Stiffness and even load of even Legendre polynomials in both directions on a square of side 2."""
    L = np.polynomial.legendre
    x, weight = L.leggauss(4 * waves)
    V, F, S = (np.array([L.legval(x, L.legder(c, k)) for c in np.eye(2 * waves)[::2]]) for k in (0, 1, 2))
    m00, m11, m22, m02 = ((P * weight) @ Q.T for P, Q in ((V, V), (F, F), (S, S), (V, S)))
    K = np.kron(m22, m00) + np.kron(m00, m22) + nu * (np.kron(m02.T, m02) + np.kron(m02, m02.T))
    K += 2 * (1 - nu) * np.kron(m11, m11)
    return K, np.asarray(np.kron(V @ weight, V @ weight), dtype=np.float64)


def circle_under_disc(nu: float, radius: float) -> tuple[float, float]:
    """(w, m) at the centre of a held circular plate of radius 1 m under 1 N evenly on a disc of this radius [m].

    Source: Timoshenko & Woinowsky-Krieger (1959), art. 16 and 19 (eq. 83 for the moment), from memory.
    """
    c2, log = radius**2, np.log(radius)
    w = ((3 + nu) / (1 + nu) + c2 * log - (7 + 3 * nu) / (4 * (1 + nu)) * c2) / (16 * np.pi)
    return float(w), float((1 - (1 + nu) * log - (1 - nu) * c2 / 4) / (4 * np.pi))


def annulus(inner: float, outer: float, nu: float, edges: tuple[Edge, Edge], r: float) -> FloatArray:
    """(w, radial m, hoop m) at radius r of a ring under 1 Pa, its inner and outer edge as said.

    w = r4 / 64 + c0 + c1 ln r + c2 r2 + c3 r2 ln r, the four from the edges' conditions.

    Source: the general axisymmetric solution, Timoshenko & Woinowsky-Krieger (1959), art. 15 and 17.
    """
    rows, right = [], []
    for at, edge in ((inner, edges[0]), (outer, edges[1])):
        table = _ring(at, nu)
        for name in {"held": ("w", "radial"), "clamped": ("w", "slope"), "free": ("radial", "shear")}[edge]:
            rows.append(table[name][:4])
            right.append(-table[name][4])
    c = np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0)
    here = _ring(r, nu)
    return np.array([here["w"] @ c, -here["radial"] @ c, -here["hoop"] @ c])


def _ring(r: float, nu: float) -> dict[str, FloatArray]:
    """What 1, ln r, r2, r2 ln r and r4 / 64 amount to at r."""
    log = np.log(r)
    w = np.array([1, log, r**2, r**2 * log, r**4 / 64])
    slope = np.array([0, 1 / r, 2 * r, 2 * r * log + r, r**3 / 16])
    second = np.array([0, -1 / r**2, 2, 2 * log + 3, 3 * r**2 / 16])
    shear = np.array([0, 0, 0, 4 / r, r / 2])
    return {
        "w": w,
        "slope": slope,
        "radial": second + nu * slope / r,
        "hoop": slope / r + nu * second,
        "shear": shear,
    }


def hole_factor(a: float, b: float, nu: float) -> float:
    """Hoop moment at the end of axis b of an elliptical hole over the one-way moment along axis a of a wide plate.

    K = 1 + 2 (1 + nu) b / ((3 + nu) a), which is Goodier's (5 + 3 nu) / (3 + nu) for a circle (Goodier 1936, Phil. Mag.
    22, 69-80; the ellipse as in Peterson, Stress Concentration Factors, both from memory). Worked out again here by
    complex potentials: w = Re(conj(z) f + g), z = R (s + m / s), kappa f - z conj(f') - conj(g') = 0 on the rim.
    """
    kappa = (3 + nu) / (1 - nu)
    m = (a - b) / (a + b)
    far = 1.0, 2 * (1 + nu) / (1 - nu)  # f' and g'' far away, in units of -M / (4 (1 + nu))
    s = 1j
    return float(((far[0] - (m * far[0] + far[1]) / (kappa * s**2)) / (1 - m / s**2)).real)


def free_corner_power(inside: float, nu: float, symmetric: bool = True) -> float:
    """Power of r with which the moments grow at a free corner of this inside angle [rad] (Williams 1952).

    sin(lam b) = +- (1 - nu) / (3 + nu) lam sin b: plus for a w that is even about the bisector, minus for an odd one.
    """

    def equation(lam: float) -> float:
        return float(np.sin(lam * inside) - (1 if symmetric else -1) * (1 - nu) / (3 + nu) * lam * np.sin(inside))

    return float(brentq(equation, 0.5, 0.9)) - 1


def beam_on_springs(length: float, k: float, at: float) -> tuple[float, float]:
    """(w, m) at distance `at` from the middle of a free beam, EI = 1 N m2, on springs k [N/m2], 1 N at its middle.

    Solved as it stands: w'''' + k w = 0 with w' = 0 and w''' = 1/2 at the middle, free at the end (Hetenyi 1946).
    """
    beta = (k / 4) ** 0.25
    roots = beta * np.array([1 + 1j, 1 - 1j, -1 + 1j, -1 - 1j])
    half = length / 2

    def row(x: float, order: int) -> npt.NDArray[np.complex128]:
        return np.asarray(roots**order * np.exp(roots * x))

    A = np.array([row(0, 1), row(0, 3), row(half, 2), row(half, 3)])
    c = np.linalg.solve(A, np.array([0, 0.5, 0, 0]))
    return float((row(at, 0) @ c).real), float(-(row(at, 2) @ c).real)


def lifting_square(nu: float, waves: int = 12, places: int = 60) -> FloatArray:
    """(w centre, w corner, m centre, share of a side that bears) of a unit square that merely rests on its edges, 1 Pa.

    Ritz's method with even Legendre polynomials; the edges bear at single places that push only, found by non-negative
    least squares (Lawson & Hanson 1974, ch. 23) and then solved for exactly.
    """
    L = np.polynomial.legendre
    basis = np.eye(2 * waves)[::2]
    K, load = _ritz(nu, waves)
    at = np.cos(np.linspace(0, np.pi / 2, places))
    one, along = (np.array([L.legval(p, c) for c in basis]) for p in (1.0, at))
    B = np.concatenate([np.kron(along.T, one), np.kron(one, along.T)])
    # Polynomial 0 is the rigid motion: the forces must balance the load in it.
    root = np.linalg.cholesky(K[1:, 1:])
    spread, z = np.linalg.solve(root, B[:, 1:].T), np.linalg.solve(root, load[1:])
    heavy = 1e4 * float(np.abs(spread).max())
    force, _ = nnls(np.vstack([spread, heavy * B[:, 0] / load[0]]), np.append(z, heavy), maxiter=20000)
    bears = force > 1e-9 * force.max()
    rows = B[bears]
    A = np.block([[K, rows.T], [rows, np.zeros((len(rows), len(rows)))]])
    c = np.linalg.lstsq(A, np.append(load, np.zeros(len(rows))))[0][: len(load)].reshape(len(basis), -1)
    zero, bend = (np.array([L.legval(0.0, L.legder(p, k)) for p in basis]) for k in (0, 2))
    m = -(1 + nu) * (bend @ c @ zero) / 4
    return np.array([zero @ c @ zero / 16, one @ c @ one / 16, m, at[bears[:places]].max()])
