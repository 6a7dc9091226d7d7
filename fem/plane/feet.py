"""What the slab stands on as a row of pressing hats along its lower edge: load columns and their springs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plane.edge_plate import EdgePlate
from fem.plane.rim import Rim, Stretch, rim
from fem.plane.stretches import stretch_of
from fem.plate.footing.hats import hats, stations_along
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PointPlace

__all__ = ["Feet", "Place", "feet"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Place = PointPlace | LinePlace | EdgePlace | AreaPlace

#: Hats of one stretch at most, and their distance in field sizes at least.
_MOST_HATS = 24
_SPACING = 0.75


@dataclass(frozen=True, eq=False)
class Feet:
    """s contacts: columns (2 N, s) of a unit force down each, at once the rows that read the motion down.

    compliance (s,) [m/N] of the support under each; support (s,) whose it is; bearing (N,) marks the nodes of sides
    that stand on something.
    """

    columns: FloatArray
    compliance: FloatArray
    support: IntArray
    bearing: npt.NDArray[np.bool_]


def feet(plate: EdgePlate, places: Sequence[Place], stiffness: Sequence[float], down: FloatArray) -> Feet:
    """The contacts of places; stiffness of each [N/m at a point, N/m2 along a line or edge, N/m3 on an area].

    A place without a size stands on half a thickness.
    """
    rims: dict[int, Rim] = {}
    bearing = np.zeros(len(plate.grid.nodes), dtype=bool)
    columns, soft, support = [np.zeros((plate.grid.size, 0))], [np.zeros(0)], [np.zeros(0, dtype=np.int64)]
    for k, (place, spring) in enumerate(zip(places, stiffness, strict=True)):
        loop = place.loop if isinstance(place, EdgePlace) else 0
        edge = rims.setdefault(loop, rim(plate.grid, loop))
        stretches = stretch_of(edge, place, down, plate.thickness / 2)
        per_length = _per_length(place, spring, plate.thickness, sum(end - begin for begin, end in stretches))
        for stretch in stretches:
            column, area, nodes = _row(plate, edge, stretch, down)
            columns.append(column)
            soft.append(1.0 / (per_length * area))
            support.append(np.full(len(area), k))
            bearing[nodes] = True
    return Feet(np.concatenate(columns, axis=1), np.concatenate(soft), np.concatenate(support), bearing)


def _per_length(place: Place, spring: float, thickness: float, length: float) -> float:
    """Stiffness per length of edge [N/m2]."""
    if isinstance(place, PointPlace):
        return spring / length if length else np.inf
    return spring * thickness if isinstance(place, AreaPlace) else spring


def _row(plate: EdgePlate, edge: Rim, stretch: Stretch, down: FloatArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Columns (2 N, s) of the hats of one stretch, their lengths (s,) [m], and the nodes under them."""
    stations = _stations(edge, stretch, _SPACING * plate.mesh.field_size)
    inside = edge.breaks[(edge.breaks > stretch[0]) & (edge.breaks < stretch[1])]
    place, weight, hat, area = hats(stations, inside)
    side, t = edge.side_at(place)
    value = np.stack([(1 - t) * (1 - 2 * t), 4 * t * (1 - t), t * (2 * t - 1)], axis=1) * weight[:, None]
    s = len(area)
    flat = np.bincount(
        (edge.nodes[side] * s + hat[:, None]).ravel(), value.ravel(), minlength=len(plate.grid.nodes) * s
    )
    column = flat.reshape(-1, 1, s) * down[:, None]
    return column.reshape(-1, s), area, np.unique(edge.nodes[side])


def _stations(edge: Rim, stretch: Stretch, spacing: float) -> FloatArray:
    """Hat tops: the ends, and between them the sides' nodes nearest to an even row, so that no two share a side's half.

    Nodes next to an end are left out: a hat much narrower than its side tells no pressure.
    """
    begin, end = stretch
    even = begin + stations_along(end - begin, max(spacing, (end - begin) / _MOST_HATS))
    near = edge.stations[(edge.stations > begin) & (edge.stations < end)]
    width = np.diff(edge.stations)[np.searchsorted(edge.stations, near) - 1]
    near = near[(near - begin > 0.3 * width) & (end - near > 0.3 * width)]
    if len(near) > len(even) - 2:
        near = near[np.abs(near[:, None] - even[1:-1]).argmin(axis=0)]
    return np.unique(np.concatenate([[begin], near, [end]]))
