"""Straight chords of a slab less its covers: what is left of parallel lines that edges and openings cut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.model import Covers, Point

__all__ = ["Chord", "chords", "extent", "free_part"]

FloatArray = npt.NDArray[np.float64]
Chord = tuple[Point, Point]

_HAIR = 1e-7


def free_part(region: shapely.Polygon, covers: Covers, half: float = 0.0) -> shapely.Geometry:
    """Where the axis of a run half so wide [m] may lie: the slab less its covers to edge and openings."""
    outer = shapely.buffer(shapely.Polygon(region.exterior), -(covers.edge + half))
    holes = shapely.MultiPolygon([shapely.Polygon(ring) for ring in region.interiors])
    return shapely.difference(outer, shapely.buffer(holes, covers.opening + half))


def extent(free: shapely.Geometry, angle: float) -> tuple[float, float]:
    """Least and greatest offset [m], to the left of a direction [rad], of lines that meet the free part."""
    across = shapely.get_coordinates(free) @ (-np.sin(angle), np.cos(angle))
    return float(across.min()), float(across.max())


def chords(free: shapely.Geometry, angle: float, offsets: Sequence[float] | FloatArray, least: float) -> list[Chord]:
    """Pieces, at least so long [m], of the lines in a direction [rad] at offsets [m] to its left."""
    t, n = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    along = shapely.get_coordinates(free) @ t
    if len(along) == 0:
        return []
    low, high = along.min() - 1.0, along.max() + 1.0
    # A line along a side of the free part is in it; a hair inside it is so to the last digit too.
    first, last = extent(free, angle)
    at = np.clip(np.asarray(offsets, dtype=np.float64), min(first + _HAIR, last), max(last - _HAIR, first))
    ends = np.stack([low * t + at[:, None] * n, high * t + at[:, None] * n], axis=1)
    found: list[Chord] = []
    for cut in np.asarray(shapely.intersection(shapely.linestrings(ends), free), dtype=np.object_):
        for piece in shapely.get_parts(cut):
            if piece.length >= least and piece.length > 0:
                xy = shapely.get_coordinates(piece)
                xy = xy[np.argsort(xy @ t)]
                found.append(((float(xy[0, 0]), float(xy[0, 1])), (float(xy[-1, 0]), float(xy[-1, 1]))))
    return found
