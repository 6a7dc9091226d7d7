"""A foam block, a bowl, a whole form: square cells of even pressure."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.footing.contacts import Footing
from fem.plate.footing.site import Site
from fem.plate.model import AreaPlace

__all__ = ["area_footing"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def area_footing(site: Site, place: AreaPlace) -> Footing:
    """Square cells of even pressure over the area; six Gauss points to each small triangle of a cell."""
    wanted = site.region if not place.points else shapely.intersection(shapely.Polygon(place.points), site.region)
    side = max(0.7 * site.spacing, float(np.sqrt(wanted.area / 25)))
    x0, y0, x1, y1 = wanted.bounds
    nx, ny = (max(int(np.ceil((hi - lo) / side)), 1) for lo, hi in ((x0, x1), (y0, y1)))
    x, y = np.linspace(x0, x1, nx + 1), np.linspace(y0, y1, ny + 1)
    west, south, east, north = np.broadcast_arrays(x[:-1, None], y[:-1], x[1:, None], y[1:])
    boxes = shapely.box(west.ravel(), south.ravel(), east.ravel(), north.ravel())
    cells = shapely.intersection(wanted, boxes)
    used = shapely.area(cells) > 1e-6 * side**2
    cells = cells[used]
    column, row = np.divmod(np.flatnonzero(used), ny)
    points, weight, cell = _area_points(cells, side / 3)
    area = shapely.area(cells)
    s = len(cells)
    return Footing(
        points,
        weight / area[cell],
        cell,
        np.full((len(points), 2), np.nan),
        area / wanted.area,
        area,
        np.zeros(s, dtype=bool),
        shapely.get_coordinates(shapely.point_on_surface(cells)),
        np.zeros((0, 2)),
        groups=((np.arange(s), (column // 2) * ny + row // 2),),
    )


def _area_points(cells: npt.NDArray[np.object_], step: float) -> tuple[FloatArray, FloatArray, IntArray]:
    """Points, weights [m2] and cell of a quadrature over polygons, on triangles with sides about step [m]."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(cells), return_index=True)
    inner, owner = shapely.get_parts(triangles[0], return_index=True)
    owner = triangles[1][owner]
    corner = shapely.get_coordinates(inner).reshape(-1, 4, 2)[:, :3]
    for _ in range(12):
        side = np.hypot(*(np.roll(corner, -1, axis=1) - corner).transpose(2, 0, 1))
        longest = side.argmax(axis=1)
        row = np.arange(len(corner))
        split = side[row, longest] > step
        if not split.any():
            break
        a, b, c = (corner[row, (longest + k) % 3] for k in range(3))
        middle = (a + b) / 2
        halves = [np.stack([a, middle, c], axis=1)[split], np.stack([middle, b, c], axis=1)[split]]
        corner = np.concatenate([corner[~split], *halves])
        owner = np.concatenate([owner[~split], owner[split], owner[split]])
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    # Strang & Fix (1973), six points, degree four.
    share = np.array([0.223381589678011, 0.109951743655322])
    near = np.array([0.445948490915965, 0.091576213509771])
    bary = np.array([np.roll([1 - 2 * p, p, p], k) for p in near for k in range(3)])
    points = np.einsum("bk,ekd->ebd", bary, corner)
    weights = area[:, None] * np.repeat(share, 3)
    return points.reshape(-1, 2), weights.ravel(), np.repeat(owner, 6)
