"""A load that roams, set where it pulls each point hardest: as near to it as the load may stand.

The places where a roaming load is tried lie wider apart than the load is wide, and between them the pull right under
it peaks. Put at x', the load makes at p the moment that it makes from a place x beside, less the infinite plate's own
moment under it from there, plus the same from x'; what the free edge adds goes as the load's image in the edge nearest
to p. What is left is smooth in x, so that a plane through the nearest places tells it at x'. Measured on eight slabs
with 400 places against the load solved at x', where it pulls harder from there than from any place: 0.3 % too little in
the median, 1.7 % at the 95th percentile, 4.5 % at worst, and at most 8 % too much; the places alone are up to 25 %
short. Much wider apart than the load is wide, places next to a support make it too much by more.

Source of the infinite plate's moments under an even disc, but for a constant: Timoshenko & Woinowsky-Krieger, Theory of
Plates and Shells, 2nd ed. (1959), art. 16.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import KDTree

from fem.plate.kernel import westergaard_radius
from fem.plate.model import Roaming
from fem.plate.prepared import Prepared
from fem.plate.walking import standing_room

__all__ = ["Underfoot", "disc_moment", "underfoot"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_NEAREST = 4
# The plane through the nearest places: how far the nearest may outweigh the others, and what keeps a row of places from
# leaving it undetermined.
_EVEN, _FLAT = 0.3, 1e-3
# How much the image in the edge counts: chosen by measurement between 0 and 2.
_IMAGE = 1.5


@dataclass(frozen=True, eq=False)
class Underfoot:
    """Where the load stands for each of q points, at (q, 2) [m], made of near (q, k), places that were tried.

    share (q, k) is what each of them counts, and added (q, 3) [N m/m] what the infinite plate gives besides.
    """

    at: FloatArray
    near: IntArray
    share: FloatArray
    added: FloatArray

    def moment(self, of_load: FloatArray, newton: FloatArray, force: FloatArray) -> FloatArray:
        """Moments (q, 3) of the load and of what it changes of the contacts' forces.

        of_load (q, 3, v) are those of the load at each place, newton (3 q, s) those of a newton on each contact, force
        (s, v) [N] the contacts' forces with the load there.
        """
        q = len(self.near)
        from_load = np.take_along_axis(of_load, self.near[:, None, :], axis=2) @ self.share[..., None]
        forces = np.einsum("sqk,qk->qs", force[:, self.near], self.share)
        from_contacts = newton.reshape(q, 3, -1) @ forces[..., None]
        return np.asarray((from_load + from_contacts)[..., 0] + self.added)


def underfoot(roaming: Roaming, places: FloatArray, points: FloatArray, prepared: Prepared) -> Underfoot:
    """The load as near to each point (q, 2) [m] as it may stand, told from the places (v, 2) [m] that were tried.

    A point that sees none of the nearest places across concrete keeps the nearest of them as it is.
    """
    slab = prepared.site.region
    at = shapely.get_coordinates(shapely.shortest_line(standing_room(roaming, prepared), shapely.points(points)))[::2]
    count = min(_NEAREST, len(places))
    found = KDTree(places).query(at, count)
    distance, near = np.reshape(found[0], (len(at), count)), np.reshape(found[1], (len(at), count)).astype(np.int64)
    off = places[near] - at[:, None]
    lines = np.stack([np.broadcast_to(at[:, None], off.shape), places[near]], axis=2)
    # A line of no length lies on no region for shapely.
    seen = (distance < 1e-9) | np.asarray(shapely.covers(shapely.buffer(slab, 1e-6), shapely.linestrings(lines)))
    share = _shares(off, distance, seen)
    added = roaming.amount * _alone(points, at[:, None], places[near], roaming.size, share, prepared)
    blind = ~seen.any(axis=1)
    at[blind], added[blind] = places[near[blind, 0]], 0.0
    return Underfoot(at, near, share, added)


def _alone(
    points: FloatArray, at: FloatArray, beside: FloatArray, size: float, share: FloatArray, prepared: Prepared
) -> FloatArray:
    """What a newton at (q, 1, 2) makes at each point less what it makes there from the places beside (q, k, 2)."""
    thickness, nu = prepared.plate.thickness, prepared.plate.poisson
    pressed = float(westergaard_radius(size / np.sqrt(np.pi), thickness))
    # Meant over a disc of one thickness, an even disc is nearly one whose second moment is the sum of both.
    radius = float(np.hypot(pressed, thickness / 2))
    edge, inwards = _nearest_edges(prepared.site.region, points)
    loads = np.concatenate([at, beside], axis=1)
    within = np.einsum("qki,qi->qk", loads - edge[:, None], inwards)
    image = loads - 2 * within[..., None] * inwards[:, None]
    # Past a corner the edge is no edge, and the image would lie on concrete.
    counts = _IMAGE * (within >= 0).all(axis=1)
    here = points[:, None]
    moment = disc_moment(here - loads, radius, nu) + counts[:, None, None] * disc_moment(here - image, radius, nu)
    return np.asarray(moment[:, 0] - np.einsum("qk,qkc->qc", share, moment[:, 1:]))


def _nearest_edges(slab: shapely.Polygon, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A point (q, 2) [m] of the straight piece of the slab's edge nearest to each point, and the way in (q, 2)."""
    corner, ring = shapely.get_coordinates(shapely.get_rings(shapely.orient_polygons(slab)), return_index=True)
    same = (ring[1:] == ring[:-1]) & (corner[1:] != corner[:-1]).any(axis=1)
    begin, end = corner[:-1][same], corner[1:][same]
    pieces = np.asarray(shapely.linestrings(np.stack([begin, end], axis=1)))
    nearest = shapely.STRtree(pieces).nearest(shapely.points(points))
    along = (end - begin)[nearest]
    return begin[nearest], np.stack([-along[:, 1], along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]


def _shares(off: FloatArray, distance: FloatArray, seen: npt.NDArray[np.bool_]) -> FloatArray:
    """What each of k places at off (q, k, 2) counts at q points: the value there of the plane that fits them best."""
    size = float(np.median(distance[:, -1])) or 1.0
    weight = np.where(seen, 1 / (distance**2 + (_EVEN * size) ** 2), 0.0)
    weight[~seen.any(axis=1), 0] = 1.0
    plane = np.concatenate([np.ones((*distance.shape, 1)), off / size], axis=2)
    normal = np.einsum("qk,qki,qkj->qij", weight, plane, plane)
    normal += np.diag([0.0, _FLAT, _FLAT]) * weight.sum(axis=1)[:, None, None]
    value = np.linalg.solve(normal, np.broadcast_to(np.eye(3)[:, :1], (len(off), 3, 1)))[..., 0]
    return np.asarray(weight * np.einsum("qki,qi->qk", plane, value))


def disc_moment(off: FloatArray, radius: float, nu: float) -> FloatArray:
    """Moments (..., 3) [N m/m] at off (..., 2) [m] from the middle of a newton, even on a disc of radius [m].

    Infinite plate, sagging positive, the disc's own middle at 1 / 4 pi: less the constant that grows with the plate.
    """
    square = (off**2).sum(axis=-1) / radius**2
    out = np.maximum(square, 1.0)
    log = (1 + nu) / 2 * np.log(out)
    radial = np.where(square < 1, 1 - (3 + nu) / 4 * square, (1 - nu) / 4 / out - log)
    around = np.where(square < 1, 1 - (1 + 3 * nu) / 4 * square, (1 - nu) * (1 - 1 / (4 * out)) - log)
    turn = 2 * np.arctan2(off[..., 1], off[..., 0])
    mean, half = (radial + around) / 2, (radial - around) / 2
    tensor = np.stack([mean + half * np.cos(turn), mean - half * np.cos(turn), half * np.sin(turn)], axis=-1)
    return np.asarray(tensor / (4 * np.pi))
