"""Which of several fields is the largest where: the borders between their regions, and a spot for each one's number."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from api.map_contours import level_lines

__all__ = ["Region", "Regions", "regions_of"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SPECK = 0.003
"""Regions smaller than this share of the whole are given to their neighbours: nobody could point at them."""


@dataclass(frozen=True, slots=True)
class Region:
    """A connected part where field number `field` is the largest: the spot farthest from its rim, and how far [m]."""

    field: int
    at: tuple[float, float]
    room: float


@dataclass(frozen=True, eq=False, slots=True)
class Regions:
    """regions, largest room first; borders: lines (k, 2) [m] between them; share (k,): of the whole, by field."""

    regions: tuple[Region, ...]
    borders: tuple[FloatArray, ...]
    share: FloatArray


def regions_of(points: FloatArray, triangles: IntArray, fields: FloatArray, floor: float) -> Regions:
    """Where each of fields (k, p) on points (p, 2) [m] is the largest; no one's where all are below floor."""
    levels = np.vstack([fields, np.full(fields.shape[1], floor)])
    area = _areas(points, triangles)
    label = _without_specks(np.argmax(levels, axis=0), triangles, area)
    # A point that was given away has its new owner's field on top, by as much as tells them apart.
    levels[label, np.arange(len(points))] = levels.max(axis=0) + 1e-9
    borders = []
    for k in np.unique(label):
        others = np.delete(levels, k, axis=0).max(axis=0)
        lead = levels[k] - others
        borders += [line for line in level_lines(points, triangles, lead, 0.0) if len(line) > 2]
    share = np.bincount(label, area, minlength=len(levels)) / area.sum()
    return Regions(_spots(points, triangles, label, len(fields)), tuple(borders), share[:-1])


def _areas(points: FloatArray, triangles: IntArray) -> FloatArray:
    """Area (p,) [m2] that belongs to every point: a third of each of its triangles."""
    a, b, c = (points[triangles[:, i]] for i in range(3))
    area = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 6
    return np.asarray(np.bincount(triangles.ravel(), np.repeat(area, 3), minlength=len(points)), dtype=np.float64)


def _without_specks(label: IntArray, triangles: IntArray, area: FloatArray) -> IntArray:
    label = label.copy()
    sides = _sides(triangles)
    for _ in range(3):
        part = _parts(label, sides)
        size = np.bincount(part, area) / area.sum()
        small = size[part] < SPECK
        if not small.any():
            break
        for number in np.unique(part[small]):
            inside = part == number
            rim = sides[inside[sides[:, 0]] != inside[sides[:, 1]]]
            beyond = label[rim[~inside[rim]]]
            if len(beyond):
                label[inside] = np.bincount(beyond).argmax()
    return label


def _spots(points: FloatArray, triangles: IntArray, label: IntArray, count: int) -> tuple[Region, ...]:
    sides = _sides(triangles)
    part = _parts(label, sides)
    once, times = np.unique(np.sort(sides, axis=1), axis=0, return_counts=True)
    edge = np.zeros(len(points), dtype=bool)
    edge[once[times == 1]] = True
    found = []
    for number in range(part.max() + 1):
        inside = part == number
        field = int(label[inside][0])
        if field == count:
            continue
        outside = cKDTree(points[~inside | edge])
        room = np.asarray(outside.query(points[inside])[0])
        best = int(np.argmax(room))
        x, y = points[inside][best].tolist()
        found.append(Region(field, (x, y), float(room[best])))
    return tuple(sorted(found, key=lambda region: -region.room))


def _parts(label: IntArray, sides: IntArray) -> IntArray:
    """The number (p,) of the connected part of one label that each point belongs to."""
    same = sides[label[sides[:, 0]] == label[sides[:, 1]]]
    graph = coo_matrix((np.ones(len(same)), (same[:, 0], same[:, 1])), shape=(len(label), len(label)))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _sides(triangles: IntArray) -> IntArray:
    """The sides (3 q, 2) of triangles (q, 3); those inside come twice."""
    return np.asarray(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1).reshape(-1, 2))
