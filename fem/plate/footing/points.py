"""A hand, a foot, a cup: a force on a small disc, spread further where the mesh could not follow its peak."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from fem.plate.footing.contacts import Footing, RoundSpread, join
from fem.plate.footing.site import Site
from fem.plate.gauss import gauss_01
from fem.plate.kernel import round_give, round_kernel, westergaard_radius
from fem.plate.model import PointPlace

__all__ = ["point_footing"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def point_footing(site: Site, place: PointPlace, clamp: bool, bears: bool = True) -> Footing:
    """The contact of a spot, on Westergaard's equivalent disc as far as that fits between the spot and the edge.

    bears: a support, whose own deflection counts; a load's does not.
    """
    at = np.asarray(place.at, dtype=np.float64)
    depth = float(site.depth(at[None])[0])
    pressed = min(float(westergaard_radius(place.size / np.sqrt(np.pi), site.thickness)), depth)
    spread = min(site.spread, depth)
    rounds: tuple[RoundSpread, ...] = ()
    if pressed < 1e-3 * site.thickness:
        points, weight = at[None], np.ones(1)
    elif spread > 1.2 * pressed:
        unit, weight = round_kernel(6, 14, pressed / spread)
        points = at + spread * unit
        rounds = (RoundSpread(at, 0, pressed, spread),)
    else:
        points, weight = _even_disc(at, pressed)
    base = Footing(
        points,
        weight,
        np.zeros(len(points), dtype=np.int64),
        np.full((len(points), 2), np.nan),
        np.ones(1),
        np.ones(1),
        np.zeros(1, dtype=bool),
        at[None],
        np.zeros((0, 2)) if pressed >= 1e-3 * site.thickness else at[None],
        rounds=rounds,
        give=np.array([round_give(spot.pressed, spot.spread) for spot in rounds]) if rounds and bears else None,
    )
    if not clamp:
        return base
    # Both slopes are held over the pressed disc, and the moment there has no bound.
    points, weight = _even_disc(at, max(pressed, 1e-3 * site.thickness))
    parts = [base] + [_slope_at(points, weight, at, np.asarray(axis)) for axis in ((1.0, 0.0), (0.0, 1.0))]
    return replace(join(parts), singular=at[None])


def _slope_at(points: FloatArray, weight: FloatArray, at: FloatArray, normal: FloatArray) -> Footing:
    k = len(points)
    return Footing(
        points,
        weight,
        np.zeros(k, dtype=np.int64),
        np.broadcast_to(normal, (k, 2)),
        np.zeros(1),
        np.zeros(1),
        np.ones(1, dtype=bool),
        at[None],
        np.zeros((0, 2)),
    )


def _even_disc(at: FloatArray, radius: float) -> tuple[FloatArray, FloatArray]:
    r, weight = gauss_01(4)
    angle = (np.arange(12) + 0.5) * 2 * np.pi / 12
    places = r[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return at + radius * places.reshape(-1, 2), np.repeat(2 * r * weight / 12, 12)
