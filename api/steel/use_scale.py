"""The colours of demand over strength: pale to deep teal where it is carried, a leap to red where it is not.

A scale of its own, so that nobody takes this map for that of tension: straight lines in CIELAB, lightness falling all
the way, with a leap at 1 in lightness and hue that shows in grey and to most colour-blind readers. Where nothing is
owed it is plain.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from api.map_scale import lab_to_srgb

__all__ = ["CARRIED", "NOT_CARRIED", "PLAIN", "USE_END", "USE_TICKS", "use_colors"]

FloatArray = npt.NDArray[np.float64]
ByteArray = npt.NDArray[np.uint8]

USE_END = 1.5
"""Demand over strength at which the scale ends; what is above keeps the last colour."""
USE_TICKS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)
CARRIED = ((96.0, -7.0, 2.0), (55.0, -29.0, -9.0))
NOT_CARRIED = ((42.0, 53.0, 38.0), (20.0, 36.0, 26.0))
"""CIELAB coordinates at the ends of both parts."""
PLAIN = (238, 238, 236)
"""Colour where nothing is owed."""
LEAST = 1e-3


def use_colors(use: npt.ArrayLike) -> ByteArray:
    """Colours (..., 3), 0 to 255, at demand over strength (...).

    >>> use_colors([0.0, 0.5, 1.2]).tolist()[0]
    [238, 238, 236]
    """
    value = np.asarray(use, dtype=np.float64)
    share = np.clip(value, 0.0, 1.0)[..., None]
    beyond = np.clip((value - 1.0) / (USE_END - 1.0), 0.0, 1.0)[..., None]
    first, last = (np.asarray(end) for end in CARRIED)
    below = first + share * (last - first)
    first, last = (np.asarray(end) for end in NOT_CARRIED)
    above = first + beyond * (last - first)
    lab = np.where((value > 1.0)[..., None], above, below)
    colors = np.round(255 * lab_to_srgb(lab))
    return np.asarray(np.where((value < LEAST)[..., None], PLAIN, colors), dtype=np.uint8)
