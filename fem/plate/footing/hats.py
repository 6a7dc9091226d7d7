"""Rows of overlapping hats along a length: the reaction of a line is a density, never a row of spikes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fem.plate.gauss import gauss_01

__all__ = ["hats", "stations_along"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_GAUSS_ALONG = 4


def stations_along(length: float, spacing: float, closed: bool = False) -> FloatArray:
    """Hat tops along a length, closer at the ends, where the reaction rises steeply."""
    count = max(int(np.ceil(length / spacing - 0.2)), 1)
    even = np.linspace(0.0, length, count + 1)
    if closed or count < 2:
        return even
    third = even[1] / 3
    return np.concatenate([[0.0, third], even[1:-1], [length - third, length]])


def hats(
    stations: FloatArray, breaks: FloatArray, closed: bool = False
) -> tuple[FloatArray, FloatArray, IntArray, FloatArray]:
    """Gauss points along hats: place (k,), weight with unit sum per hat (k,), hat (k,); and each hat's area (s,).

    breaks are places, the stations' ends among them, that no interval of the rule runs across. On a closed row the last
    station is the first one, come round again, and the two make one hat.
    """
    t, weight = gauss_01(_GAUSS_ALONG)
    cuts = np.unique(np.concatenate([stations, breaks]))
    step = np.diff(cuts)
    place = (cuts[:-1, None] + step[:, None] * t).ravel()
    whole = (step[:, None] * weight).ravel()
    left = np.clip(np.searchsorted(stations, place) - 1, 0, len(stations) - 2)
    share = (place - stations[left]) / np.diff(stations)[left]
    hats = np.concatenate([left, left + 1]).astype(np.int64)
    weights = np.concatenate([whole * (1 - share), whole * share])
    if closed:
        hats = np.where(hats == len(stations) - 1, 0, hats)
    area = np.bincount(hats, weights).astype(np.float64)
    return np.concatenate([place, place]), weights / area[hats], hats, area
