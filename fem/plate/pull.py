"""The averaged pull of many states at once, at chosen points and without error bars: which state governs each face."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import scipy.sparse as sp

from fem.plate.averaging import DiscMean
from fem.plate.footing import Footing, runs
from fem.plate.footings import State
from fem.plate.spreads import all_given_back, given_back

__all__ = ["Returns", "Spots", "contact_moments", "face_tensions", "load_moments"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Spots:
    """q points (q, 2) [m] with their averaging operator, the depth there (q,) [m], and the slab's rigidity for 1 Pa.

    radius [m] is that of the averaging disc.
    """

    points: FloatArray
    mean: DiscMean
    depth: FloatArray
    rigidity: FloatArray
    poisson: float
    radius: float

    def moments(self, response: FloatArray) -> FloatArray:
        """Averaged moments (q, 3, c) [N m/m] of deflections response (6 n, c) for a modulus of 1 Pa."""
        return np.asarray(np.einsum("ij,qjc->qic", self.rigidity, self.mean(response)))

    def moments_each(self, response: FloatArray) -> FloatArray:
        """Averaged moments (q, 3) at each spot of its own column of response (6 n, q), for a modulus of 1 Pa."""
        return np.asarray(self.mean.each(response) @ self.rigidity.T)

    def joined(self, other: Spots) -> Spots:
        """These spots, then the other's, of the same slab."""
        return replace(
            self,
            points=np.concatenate([self.points, other.points]),
            mean=self.mean.joined(other.mean),
            depth=np.concatenate([self.depth, other.depth]),
        )

    def given_back(self, feet: Sequence[Footing]) -> sp.coo_matrix:
        """What spreading took from the moments here, per newton downwards on each contact of all feet: (3 q, s)."""
        return all_given_back(feet, self.points, self.poisson, self.radius)


def contact_moments(spots: Spots, feet: tuple[Footing, ...], response: FloatArray) -> FloatArray:
    """Moments (q, 3, s) that a newton upwards on each contact makes; response (6 n, s) for 1 Pa, downwards."""
    out = spots.moments(response)
    back = spots.given_back(feet)
    return np.asarray(-out - back.toarray().reshape(out.shape))


def load_moments(spots: Spots, state: State, response: FloatArray) -> FloatArray:
    """Moments (q, 3) of all that presses in a state; response (6 n,) for 1 Pa."""
    out = spots.moments(response[:, None])[..., 0]
    for press in state.pressing:
        out += (spots.given_back([press.foot]) @ press.force).reshape(-1, 3)
    return out


class Returns:
    """What spreading took from the moments at points (p, 2) [m]; each footing's part is worked out once."""

    def __init__(self, points: FloatArray, nu: float) -> None:
        self._points = points
        self._nu = nu
        self._known: dict[tuple[int, float], sp.coo_matrix] = {}
        self._kept: list[Footing] = []

    def of(self, state: State, upward: FloatArray, radius: float) -> FloatArray:
        """Moments (p, 3) [N m/m] for forces upward (s,) [N] of a state's contacts and for all that presses."""
        out = np.zeros((len(self._points), 3))
        for foot, here in zip(state.feet, runs(state.feet), strict=True):
            out -= (self._matrix(foot, radius) @ upward[here]).reshape(-1, 3)
        for press in state.pressing:
            out += (self._matrix(press.foot, radius) @ press.force).reshape(-1, 3)
        return out

    def _matrix(self, foot: Footing, radius: float) -> sp.coo_matrix:
        key = (id(foot), radius)
        if key not in self._known:
            self._known[key] = given_back(foot, self._points, self._nu, radius)
            self._kept.append(foot)
        return self._known[key]


def face_tensions(moment: FloatArray, depth: FloatArray, side: float, in_plane: FloatArray | None = None) -> FloatArray:
    """Principal tension [Pa] on show face and underside, (2, q, c), from moments (q, 3, c) as gravity sees them.

    depth (q,) [m]; side +1 if the show face is up, -1 if the underside; in_plane (q, 3) or (q, 3, c) [Pa].
    """
    scale = 6 * side / depth[:, None] ** 2
    sx, sy, sxy = (scale * moment[:, k] for k in range(3))
    if in_plane is None:
        middle, radius = (sx + sy) / 2, np.hypot((sx - sy) / 2, sxy)
        return np.stack([radius - middle, radius + middle])
    nx, ny, nxy = (in_plane[:, k] if in_plane.ndim == 3 else in_plane[:, k, None] for k in range(3))
    out = []
    for sign in (-1.0, 1.0):
        x, y, xy = sign * sx + nx, sign * sy + ny, sign * sxy + nxy
        out.append((x + y) / 2 + np.hypot((x - y) / 2, xy))
    return np.stack(out)
