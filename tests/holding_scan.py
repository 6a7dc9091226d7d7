"""Every choice of hands, one after the other and the plain way: what the search for the best places is judged by."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import numpy.typing as npt
from scipy.optimize import nnls

from fem.plate.footing import footing, join
from fem.plate.holding import Holding
from fem.plate.model import PlateCase, PointPlace, Stage
from fem.plate.prepared import Prepared, prepare
from fem.plate.pull import Spots, contact_moments
from meshing.shape import Shape, ellipse, polygon, rectangle
from tests.plates import mesh_of

__all__ = ["CARRIED", "INCH", "SHAPES", "SIZE", "chosen_of", "prepared", "scan"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

INCH = 0.0254
SIZE = 4 * INCH
# The L of cases/l-island-with-sink.toml; the others invented.
SHAPES = {
    "L with sink": Shape(
        polygon(
            INCH * np.array([(0, 0), (96, 0), (96, 25.5), (25.5, 25.5), (25.5, 72), (0, 72)]),
            INCH * np.array([0, 0, 0, 1, 0, 0]),
        ),
        (rectangle((62 * INCH, 12.5 * INCH), (24 * INCH, 15 * INCH), 0.75 * INCH),),
    ),
    "skewed": Shape(polygon([(0, 0.2), (0.25, 0), (2.0, 0), (2.6, 0.5), (2.6, 1.0), (2.2, 1.3), (0.6, 1.3), (0, 0.9)])),
    "round": Shape(ellipse((0, 0), (1.2, 1.2))),
    "U": Shape(polygon([(0, 0), (2.4, 0), (2.4, 1.6), (1.8, 1.6), (1.8, 0.6), (0.6, 0.6), (0.6, 1.6), (0, 1.6)])),
}
CARRIED = Stage("carried", "show", 1.5, 27e9, 3.5e6, 2.3e6, ())


@cache
def prepared(name: str) -> Prepared:
    """A slab of 1.5 in, made ready once."""
    return prepare(mesh_of(SHAPES[name], 1.5 * INCH), PlateCase(1.5 * INCH, 2400.0, 0.2))


def scan(slab: Prepared, places: FloatArray, count: int) -> tuple[IntArray, FloatArray]:
    """All choices (m, count) of places (c, 2) and the worst tension (m,) [Pa] of each; inf if it does not balance.

    Read at the mesh's nodes and under every hand. Forces: the least norm under balance by non-negative least squares
    (scipy's), each choice by itself.
    """
    foot = join([footing(slab.site, PointPlace((float(x), float(y)), SIZE)) for x, y in places])
    columns = slab.free.bell.functionals(foot.points, foot.weight, foot.contact, foot.size, foot.normal)
    columns = columns.toarray() if hasattr(columns, "toarray") else np.asarray(columns)
    weight = CARRIED.multiplier * slab.weight
    sample = slab.grid.with_spots(places)
    index = np.append(np.arange(len(slab.mesh.nodes)), np.arange(sample.grid_size, len(sample.points)))
    free, depth = slab.free, slab.depth(sample.points[index])
    spots = Spots(sample.points[index], sample.mean.at(index), depth, free.rigidity, free.poisson, depth[0] / 2)
    base = spots.moments(free.solve(weight[:, None]))[..., 0]
    here = contact_moments(spots, (foot,), free.solve(columns))
    chosen = np.array(list(combinations(range(len(places)), count)))
    force = np.zeros((len(places), len(chosen)))
    balances = np.zeros(len(chosen), dtype=bool)
    middle = weight @ free.rigid_motions[:, 1:] / (weight @ free.rigid_motions[:, 0])
    total = float(weight @ free.rigid_motions[:, 0])
    for k, one in enumerate(chosen):
        arms = np.vstack([np.ones(count), (places[one] - middle).T])
        f, _ = nnls(np.vstack([1e-5 * np.eye(count), arms]), np.append(np.zeros(count), [1.0, 0.0, 0.0]))
        balances[k] = np.abs(arms @ f - [1.0, 0.0, 0.0]).max() < 1e-7
        force[one, k] = total * f
    value = np.full(len(chosen), np.inf)
    good = np.flatnonzero(balances)
    for part in np.array_split(good, max(len(good) // 500, 1)):
        mx, my, mxy = ((base[:, j, None] + here[:, j] @ force[:, part]) for j in range(3))
        # The larger of the two principal stresses and of the two faces, whichever is up.
        most = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, mxy)
        value[part] = (6 / depth[:, None] ** 2 * most).max(axis=0)
    return chosen, value


def chosen_of(holding: Holding, places: FloatArray, chosen: IntArray) -> int:
    """The row of chosen that a holding's places are."""
    numbers = sorted(
        int(np.argmin(np.hypot(*(places - place.at).T))) for place in holding.places if isinstance(place, PointPlace)
    )
    return int(np.flatnonzero((chosen == numbers).all(axis=1))[0])
