"""The tension paths of many faces and stages of one slab at once: what the picture of each is drawn with.

The whole way: carry the fields to a raster (raster.py), lay lines on it (laying.py: tracing.py, lines.py, cover.py),
and here make them smooth and give every point its tension.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from fem.paths.choosing import Laid
from fem.paths.cover import CELLS
from fem.paths.laying import lay_lines
from fem.paths.path import Path
from fem.paths.raster import Raster
from fem.paths.rastering import raster_under

__all__ = ["tension_paths"]

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
IntArray = npt.NDArray[np.intp]
BoolArray = npt.NDArray[np.bool_]

FAINT = 1e-6  # of the floor: principal stresses that differ by less are equal, and have no direction
ROUNDING = 1e-14  # the same, of the largest stress
ALIKE = 0.2  # principal stresses closer than this share of the larger have no direction to speak of


def tension_paths(
    grid_points: FloatArray,
    grid_triangles: IntArray,
    stresses: Sequence[FloatArray],
    floors: Sequence[float],
    spacing: float,
) -> list[tuple[Path, ...]]:
    """Evenly spaced lines along the larger principal stress, for each stress field a tuple of them, strongest first.

    grid_points (p, 2) [m], grid_triangles (q, 3); stresses: arrays (p, 3) = (sx, sy, sxy) [Pa], linear on each
    triangle, one for each face of each stage, or an empty array where there is no answer (no paths then). floors
    [Pa], one for each: lines run only where the principal tension exceeds it, and never where nothing is pulled.
    spacing [m] is the distance between lines aimed at; it ranges from about half to one and a half of that. Lines of
    one field do not cross; they end at the slab's edge, at the floor, at isotropic points, close to another line, or
    on themselves as rings.

    ValueError unless the spacing is positive, the numbers finite, the shapes as above, and the slab fewer than some
    hundred spacings wide.
    """
    points, triangles = np.asarray(grid_points, dtype=np.float64), np.asarray(grid_triangles, dtype=np.intp)
    fields = [np.asarray(stress, dtype=np.float64) for stress in stresses]
    _check(points, triangles, fields, floors, spacing)
    paths: list[tuple[Path, ...]] = [() for _ in fields]
    # A field that stays below its floor everywhere costs nothing.
    pulled = [k for k, stress in enumerate(fields) if stress.size and _peak(stress) > max(floors[k], 0.0)]
    if not pulled or len(triangles) == 0:
        return paths
    # Each field in units of its own largest stress: nothing below knows how large a stress may be.
    unit = np.array([np.abs(fields[k]).max() for k in pulled])
    shares = np.stack([fields[k] / u for k, u in zip(pulled, unit, strict=True)])
    floor = np.array([max(floors[k], 0.0) for k in pulled]) / unit
    raster = raster_under(points, triangles, shares, np.maximum(FAINT * floor, ROUNDING), spacing / CELLS)
    laid = lay_lines(raster, floor)
    for k, lines in zip(pulled, _paths(raster, laid, unit), strict=True):
        paths[k] = tuple(lines)
    return paths


def _check(
    points: FloatArray, triangles: IntArray, fields: list[FloatArray], floors: Sequence[float], spacing: float
) -> None:
    """ValueError for what tension_paths cannot take."""
    if not (np.isfinite(spacing) and spacing > 0):
        raise ValueError(f"no such spacing: {spacing} m; it must be a positive number")
    if len(floors) != len(fields):
        raise ValueError(f"{len(fields)} stress fields but {len(floors)} floors: one is needed for each")
    if not np.isfinite(floors).all():
        raise ValueError("a floor is not a finite number")
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise ValueError(f"grid points must be finite and (p, 2), not {points.shape}")
    if triangles.size and (triangles.ndim != 2 or triangles.shape[1] != 3):
        raise ValueError(f"grid triangles must be (q, 3), not {triangles.shape}")
    if triangles.size and not (triangles.min() >= 0 and triangles.max() < len(points)):
        raise ValueError(
            f"grid triangles must name points 0 to {len(points) - 1}, not {triangles.min()} to {triangles.max()}"
        )
    for k, stress in enumerate(fields):
        if stress.size and stress.shape != (len(points), 3):
            raise ValueError(f"stress field {k} must be {(len(points), 3)} like the grid points, not {stress.shape}")
        if not np.isfinite(stress).all():
            raise ValueError(f"stress field {k} has {int((~np.isfinite(stress)).sum())} numbers that are not finite")


def _peak(stress: FloatArray) -> float:
    """Largest principal stress [Pa] of a field (p, 3)."""
    half = (stress[:, 0] - stress[:, 1]) / 2
    return float(((stress[:, 0] + stress[:, 1]) / 2 + np.hypot(half, stress[:, 2])).max())


def _paths(raster: Raster, laid: Laid, unit: FloatArray) -> list[list[Path]]:
    """The laid lines of each field as paths, a point added in each step's middle; unit (f,) [Pa] of the fields."""
    paths: list[list[Path]] = [[] for _ in range(raster.fields)]
    if not laid.places:
        return paths
    count = np.array([len(w) for w in laid.places])
    begin = np.concatenate(([0], np.cumsum(count)))
    field = np.repeat(np.array(laid.fields), count)
    w, field, begin = _smooth(raster, np.concatenate(laid.places), field, begin)
    d, mean = raster.sample_deviator(w, field), raster.sample_mean(w, field)
    size = np.abs(d)
    distinct = 2 * size > ALIKE * np.maximum(np.abs(mean + size), np.abs(mean - size))
    points, tension = raster.to_slab(w), (mean + size) * unit[field]
    for line, (of, ring) in enumerate(zip(laid.fields, laid.rings, strict=True)):
        part = slice(begin[line], begin[line + 1])
        own = points[part].copy()
        if ring:
            own[-1] = own[0]
        paths[of].append(Path(own, tension[part].copy(), distinct[part].copy()))
    return paths


def _smooth(
    raster: Raster, w: ComplexArray, field: IntArray, begin: IntArray
) -> tuple[ComplexArray, IntArray, IntArray]:
    """Places, fields and line beginnings with each step's middle added, on the cubic with the field's own tangents."""
    step = np.diff(w)
    u = np.sqrt(raster.sample_deviator(w, field))
    u = u / np.maximum(np.abs(u), 1e-300)
    # sin of the angles from the chord to the tangents at both ends; an end at an isotropic point has no tangent.
    chord = step / np.maximum(np.abs(step), 1e-300)
    lead, tail = chord.conjugate() * u[:-1], chord.conjugate() * u[1:]
    lead, tail = lead * np.copysign(1.0, lead.real), tail * np.copysign(1.0, tail.real)
    bulge = np.where((np.abs(lead.imag) < 0.7) & (np.abs(tail.imag) < 0.7), lead.imag - tail.imag, 0.0)
    middle = (w[:-1] + w[1:]) / 2 + 1j * step * bulge / 8
    both = np.empty(2 * len(w) - 1, dtype=np.complex128)
    both[::2], both[1::2] = w, middle
    keep = np.ones(len(both), dtype=np.bool_)
    keep[2 * begin[1:-1] - 1] = False  # the middle between the end of one line and the beginning of the next
    return both[keep], np.repeat(field, 2)[:-1][keep], 2 * begin - np.arange(len(begin))
