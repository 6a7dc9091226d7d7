"""The maps' one colour scale: share of the allowed pull in, colour out, the same for every stage and every piece.

Made from scratch in CIELAB (CIE 1976, white D65): lightness falls on a straight line from L* = 95 to 34, while the
point (a*, b*) runs at constant speed along one circular arc from a pale blue over sand to plum. Equal steps of share
are therefore equal steps of lightness, so that the scale reads the same in grey, and nearly equal steps of OKLab
distance; the arc bends through yellow because the blue-yellow axis is what most colour-blind readers keep.
tests/test_maps_scale.py measures all of it, also as seen by protanopes, deuteranopes and tritanopes.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["LIGHTNESS", "SCALE_END", "SCALE_TICKS", "color_at", "lab_to_srgb", "scale_colors", "scale_lab"]

FloatArray = npt.NDArray[np.float64]
ByteArray = npt.NDArray[np.uint8]

SCALE_END = 1.5
"""Share of the allowed pull at which the scale ends; what is above keeps the last colour."""

SCALE_TICKS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)

LIGHTNESS = (95.0, 34.0)
FIRST, LAST = (-4.0, -6.0), (40.0, -16.0)
SAGITTA = 0.62
"""Height of the arc in the (a*, b*) plane as a share of its chord; + bends it towards yellow."""

WHITE_D65 = (0.95047, 1.0, 1.08883)
XYZ_TO_LINEAR = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
"""CIE XYZ (D65) to linear sRGB, IEC 61966-2-1."""


def scale_lab(share: npt.ArrayLike) -> FloatArray:
    """CIELAB coordinates (..., 3) of the scale at shares (...) of the allowed pull; clipped to [0, SCALE_END].

    >>> scale_lab([0.0, 1.5])[:, 0].tolist()
    [95.0, 34.0]
    """
    t = np.clip(np.asarray(share, dtype=np.float64) / SCALE_END, 0.0, 1.0)
    first, last = np.asarray(FIRST), np.asarray(LAST)
    chord = float(np.hypot(*(last - first)))
    height = SAGITTA * chord
    radius = (chord**2 / 4 + height**2) / (2 * height)
    half = np.pi - np.arcsin(chord / 2 / radius) if height > radius else np.arcsin(chord / 2 / radius)
    along = (last - first) / chord
    across = np.array([-along[1], along[0]])
    angle = (2 * t - 1) * half
    center = (first + last) / 2 + across * (height - radius)
    ab = center + radius * (np.multiply.outer(np.cos(angle), across) + np.multiply.outer(np.sin(angle), along))
    lightness = LIGHTNESS[0] + (LIGHTNESS[1] - LIGHTNESS[0]) * t
    return np.concatenate([lightness[..., None], ab], axis=-1)


def lab_to_srgb(lab: FloatArray) -> FloatArray:
    """Encoded sRGB (..., 3) in [0, 1] from CIELAB (..., 3), white D65; outside the gamut the channels are clipped."""
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    knee = 6 / 29
    xyz = np.where(f > knee, f**3, 3 * knee**2 * (f - 4 / 29)) * np.asarray(WHITE_D65)
    linear = np.clip(xyz @ np.asarray(XYZ_TO_LINEAR).T, 0.0, 1.0)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def color_at(share: npt.ArrayLike) -> ByteArray:
    """Colours (..., 3), 0 to 255, at shares (...) of the allowed pull."""
    return np.asarray(np.round(255 * lab_to_srgb(scale_lab(share))), dtype=np.uint8)


def scale_colors(count: int = 256) -> ByteArray:
    """The scale as a table of colours (count, 3) from share 0 to SCALE_END."""
    return color_at(np.linspace(0.0, SCALE_END, count))
