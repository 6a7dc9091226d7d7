"""A slab seen from its front left and from above: metres in space onto a page, parallel lines staying parallel."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Axes", "axes_for", "nice_below"]

FloatArray = npt.NDArray[np.float64]

AZIMUTH, ELEVATION = math.radians(24), math.radians(36)


@dataclass(frozen=True, eq=False, slots=True)
class Axes:
    """How (x, y, w) [m] becomes points of a page: across, deep (2,) and down are points of the page per metre.

    times: by how much w is drawn larger than it is. A slab turned over has its y running towards the reader.
    """

    origin: FloatArray
    across: FloatArray
    deep: FloatArray
    down: float
    times: float

    def to_page(self, points: npt.ArrayLike, w: npt.ArrayLike = 0.0, below: float = 0.0) -> FloatArray:
        """Points (k, 2) [m] with deflections (k,) [m] on the page (k, 2); below [m]: under them, not enlarged."""
        p = np.asarray(points, dtype=np.float64)
        page = self.origin + p[..., :1] * self.across + p[..., 1:] * self.deep
        page[..., 1] -= self.down * (self.times * np.asarray(w, dtype=np.float64) + below)
        return np.asarray(page)


def axes_for(outline: FloatArray, w: FloatArray, box: tuple[float, float, float, float], turned: bool) -> Axes:
    """The slab as large as it goes into a box of the page; w drawn up to a tenth of its length, by a round factor."""
    length = float(np.ptp(outline, axis=0).max())
    most = float(np.abs(w).max(initial=0.0))
    times = nice_below(0.09 * length / most) if most > 1e-7 else 0.0
    sign = -1.0 if turned else 1.0
    across = np.array([math.cos(AZIMUTH), math.sin(AZIMUTH) * math.sin(ELEVATION)])
    deep = sign * np.array([-math.sin(AZIMUTH), math.cos(AZIMUTH) * math.sin(ELEVATION)])
    plain = Axes(np.zeros(2), across, deep, math.cos(ELEVATION), times)
    flat = np.concatenate([plain.to_page(outline, sag) for sag in (0.0, w.max(initial=0.0), w.min(initial=0.0))])
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([box[2] - box[0], box[3] - box[1]])
    scale = float(np.min(room / (high - low)))
    origin = np.array(box[:2]) + (room - scale * (high - low)) / 2 - scale * low
    return Axes(origin, scale * across, scale * deep, scale * math.cos(ELEVATION), times)


def nice_below(value: float) -> float:
    """The largest of 1, 2, 5, 10, 20, 50, ... that is not above a value; also below 1.

    >>> nice_below(70.0), nice_below(2.0)
    (50.0, 2.0)
    """
    power = 10.0 ** math.floor(math.log10(value) + 1e-12)
    return next(step * power for step in (5, 2, 1) if step * power <= value * (1 + 1e-9))
