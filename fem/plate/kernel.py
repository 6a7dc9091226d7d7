"""The kink that a concentrated force leaves in the moments, put back in closed form.

A polynomial cannot follow the kink of the moment across a line support, nor its steep peak under a hand, unless the
mesh knows the place. So the plate is given a smooth load instead of the sharp one, spread over a few elements by a
kernel k that has the same total and the same second moment. Then the two loads bend an infinite plate alike outside the
spread, exactly, and the difference inside is known: it is added to the finite-element moments afterwards. (Kernels
with vanishing moments: the fourth-order kernels of density estimation, e.g. Wand & Jones, Kernel Smoothing (1995),
ch. 2; the rest is worked out here from D w'''' = q across a line and, round a point, from Timoshenko &
Woinowsky-Krieger (1959), art. 15-19.)
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.plate.gauss import gauss, gauss_01

__all__ = [
    "LINE_GIVE",
    "across_line",
    "line_moment",
    "mean_line_moment",
    "mean_round_moment",
    "round_curvatures",
    "round_give",
    "round_kernel",
    "westergaard_radius",
]

FloatArray = npt.NDArray[np.float64]


def across_line(count: int) -> tuple[FloatArray, FloatArray]:
    """Places in [-1, 1] and weights (count,) that spread a line's force across it: k = 105/64 (1 - 3 x2)(1 - x2)2.

    >>> x, weight = across_line(6)
    >>> bool(abs(weight.sum() - 1) < 1e-12 and abs(weight @ x**2) < 1e-12)
    True
    """
    x, weight = gauss(count)
    return x, weight * 105 / 64 * (1 - 3 * x**2) * (1 - x**2) ** 2


def line_moment(x: FloatArray) -> FloatArray:
    """Moment across a line that carries a unit downward force per length, sharp less spread, per unit half-width.

    x = distance / half-width of the spread; zero from 1 on. Across the line it counts once, along it nu times.
    """
    x2 = np.minimum(x * x, 1.0)
    spread = 105 / 64 * (x2 / 2 - 5 * x2**2 / 12 + 7 * x2**3 / 30 - 3 * x2**4 / 56) + 35 / 512
    return np.asarray(spread - np.sqrt(x2) / 2)


def mean_line_moment(distance: FloatArray, width: FloatArray, radius: float) -> FloatArray:
    """line_moment [m], averaged over a disc of this radius [m] whose centre is at distance [m] from the line."""
    t, weight = gauss(24)
    chord = np.sqrt(1 - t**2) * weight
    place = np.abs(distance[:, None] + radius * t) / width[:, None]
    return np.asarray(line_moment(place) @ (chord / chord.sum()) * width)


def _line_give() -> float:
    """Deflection that spreading takes from a line's own contact, per unit force per length, half-width cubed and 1 / D.

    The sharp line's deflection under itself, less the spread line's mean under its own kernel: w(0) + mean of w over
    the kernel, w that of the sharp line less the spread one, w,xxxx = delta - k.
    """
    x, weight = gauss(64)
    x, weight = (x + 1) / 2, weight / 2
    kernel = 105 / 64 * (1 - 3 * x**2) * (1 - x**2) ** 2
    # w,xx = -M and w = w,x = 0 at 1, so w(x) = - integral from x to 1 of M(y) (y - x) dy.
    reach = 1 - x
    at = x[:, None] + reach[:, None] * x
    deflection = -(line_moment(at) * reach[:, None] * x) @ weight * reach
    centre = -float(line_moment(x) * x @ weight)
    return centre + 2 * float(kernel * deflection @ weight)


def round_give(pressed: float, spread: float) -> float:
    """The same for a point's own contact, per newton and 1 / D [m2], pressed evenly on a disc [m]."""
    r, weight = gauss(64)
    r, weight = (r + 1) / 2 * spread, weight / 2 * spread
    A, B = _round_terms(pressed / spread)
    x2 = (r / spread) ** 2
    kernel = (A + B * x2) * (1 - x2) ** 2 / (np.pi * spread**2)
    fine = np.linspace(0.0, spread, 2001)
    slope = -round_curvatures(fine, pressed, spread)[1] * fine
    # w = 0 at the rim of the spread; slope = w'.
    deflection = np.concatenate([[0.0], np.cumsum((slope[1:] + slope[:-1]) / 2 * np.diff(fine))])
    deflection -= deflection[-1]
    over_kernel = float(2 * np.pi * r * kernel * np.interp(r, fine, deflection) @ weight)
    inner = r / spread * pressed
    over_pressed = float(2 / pressed**2 * inner * np.interp(inner, fine, deflection) @ weight * pressed / spread)
    # Where the two are nearly alike the difference may turn negative, and two hands on one spot would push for ever.
    return max(over_pressed + over_kernel, 0.0)


def westergaard_radius(radius: FloatArray | float, thickness: float) -> FloatArray:
    """Radius [m] with which thin theory gives the thick slab's stress under a load on a circle of this radius [m].

    b = sqrt(1.6 r2 + h2) - 0.675 h where r < 1.724 h. Source: Westergaard, Public Roads 7(2) (1926); quoted from
    memory.
    """
    r = np.asarray(radius, dtype=np.float64)
    return np.where(r < 1.724 * thickness, np.sqrt(1.6 * r**2 + thickness**2) - 0.675 * thickness, r)


def _round_terms(pressed: float) -> tuple[float, float]:
    """A, B of the kernel (A + B r2)(1 - r2)2 / pi on the unit disc, whose second moment is that of an even disc.

    pressed is the even disc's radius over the spread's. Forces alike in both bend an infinite plate alike outside.
    """
    second = pressed**2 / 2
    return 8 - 20 * second, 80 * second - 20


def round_kernel(radial: int, around: int, pressed: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Places (k, 2) in the unit disc and weights (k,) that spread the force of an even disc of radius pressed < 1."""
    r, weight = gauss_01(radial)
    A, B = _round_terms(pressed)
    value = (A + B * r**2) * (1 - r**2) ** 2 * r * weight * 2 / around
    angle = (np.arange(around) + 0.5) * 2 * np.pi / around
    places = r[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return places.reshape(-1, 2), np.repeat(value, around)


def round_curvatures(distance: FloatArray, pressed: float, spread: float) -> tuple[FloatArray, FloatArray]:
    """Curvatures -w'' and -w'/r (k,) times D per newton: even on a disc of radius pressed [m], less the spread one.

    Outside the spread [m] both vanish. The shear of the force inside r gives w: D d(lap w)/dr = f(r) / (2 pi r).
    """
    r = np.linspace(0.0, 1.0, 801)[1:] ** 1.5 * spread
    inside = np.minimum((r / pressed) ** 2, 1.0)
    x2 = (r / spread) ** 2
    A, B = _round_terms(pressed / spread)
    # Integral of the kernel over the disc of radius x.
    kernel = A * (x2 - x2**2 + x2**3 / 3) + B * (x2**2 / 2 - 2 * x2**3 / 3 + x2**4 / 4)
    shear = (inside - kernel) / (2 * np.pi * r)
    step = np.diff(r)
    laplacian = np.concatenate([-np.cumsum(((shear[1:] + shear[:-1]) / 2 * step)[::-1])[::-1], [0.0]])
    # The part of the first interval next to the centre is a disc of constant laplacian.
    turning = laplacian[0] * r[0] ** 2 / 2
    moment = turning + np.concatenate([[0.0], np.cumsum((laplacian[1:] * r[1:] + laplacian[:-1] * r[:-1]) / 2 * step)])
    around = moment / r**2
    out = distance >= spread
    hoop = np.where(out, 0.0, np.interp(distance, r, around))
    radial = np.where(out, 0.0, np.interp(distance, r, laplacian - around))
    return -radial, -hoop


def mean_round_moment(offset: FloatArray, pressed: float, spread: float, radius: float, nu: float) -> FloatArray:
    """Moments (k, 3) per newton, sharp less spread, averaged over discs of radius [m] at offset (k, 2) [m].

    The mean of a curvature over a disc is the slope's integral round its rim, so that no logarithm is ever integrated.
    """
    angle = (np.arange(32) + 0.5) * 2 * np.pi / 32
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rim = offset[:, None] + radius * normal
    r = np.hypot(rim[..., 0], rim[..., 1])
    hoop = round_curvatures(r.ravel(), pressed, spread)[1].reshape(r.shape)
    slope = hoop[..., None] * rim
    kappa = np.einsum("kri,rj->kij", slope, normal) * (2 / radius / 32)
    kxx, kyy, kxy = kappa[:, 0, 0], kappa[:, 1, 1], (kappa[:, 0, 1] + kappa[:, 1, 0]) / 2
    return np.stack([kxx + nu * kyy, kyy + nu * kxx, (1 - nu) * kxy], axis=1)


#: 0.5 % of a strip's deflection at ordinary sizes, but more where rests stand close together.
LINE_GIVE = _line_give()
