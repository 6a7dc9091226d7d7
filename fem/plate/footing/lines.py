"""A rail, a panel, a ring: one row of hats along a chain of straight pieces, spread across inside the slab."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from fem.plate.footing.contacts import Footing, LineSpread, join, slopes, spike
from fem.plate.footing.hats import hats, stations_along
from fem.plate.footing.site import Site
from fem.plate.kernel import LINE_GIVE, across_line
from fem.plate.model import LinePlace

__all__ = ["line_footing"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_ACROSS = 10
_LEAST_SPREAD = 0.15
_MOST_CONTACTS = 160
#: A ring's outermost hat tells when a round piece tips: 26 of them leave half a per cent of its radius.
_LEAST_ON_RING = 26
#: Spread of a curved chain over its radius: a wider one is felt to be another ring (4 % at 0.3, 1 % at 0.17).
_OF_RADIUS = 0.17


def line_footing(site: Site, place: LinePlace, clamp: bool, concentrated: bool) -> Footing:
    """Contacts along a chain of straight pieces, where it lies on the slab; its ends get single forces of their own."""
    chains = _chains(site, np.asarray(place.points, dtype=np.float64))
    total = sum(float(np.hypot(*np.diff(chain, axis=0).T).sum()) for chain in chains)
    spacing = max(site.spacing, total / _MOST_CONTACTS)
    parts, ends = [], []
    for chain in chains:
        closed = bool(len(chain) > 3 and np.hypot(*(chain[0] - chain[-1])) < 1e-6)
        parts += _chain(site, chain, closed, spacing, total, clamp)
        ends += [] if closed else [chain[0], chain[-1]]
    if concentrated:
        parts += [spike(end) for end in ends]
    joined = join(parts)
    return replace(joined, singular=np.asarray(ends).reshape(-1, 2))


def _chains(site: Site, points: FloatArray) -> list[FloatArray]:
    """Stretches of a line that lie on the slab, each a chain of points; what bridges an opening bears nothing there."""
    grown = site.region.buffer(1e-4)
    chains: list[list[FloatArray]] = []
    for a, b in pairwise(points):
        cut = shapely.intersection(shapely.LineString([a, b]), grown)
        for part in shapely.get_parts(cut):
            ends = shapely.get_coordinates(part)
            if len(ends) < 2 or float(np.hypot(*(ends[-1] - ends[0]))) < 1e-6:
                continue
            # The order in which pieces come back is not promised: start from the end nearer to a.
            first, last = sorted((ends[0], ends[-1]), key=lambda end: float(np.hypot(*(end - a))))
            if chains and np.hypot(*(chains[-1][-1] - first)) < 1e-6:
                chains[-1].append(last)
            else:
                chains.append([first, last])
    if len(chains) > 1 and np.hypot(*(chains[-1][-1] - chains[0][0])) < 1e-6:
        chains[0] = chains.pop() + chains[0][1:]
    return [np.asarray(chain) for chain in chains]


def _chain(site: Site, chain: FloatArray, closed: bool, spacing: float, total: float, clamp: bool) -> list[Footing]:
    """One row of hats along a chain of straight pieces; hats run round its corners, so that no two share a spot."""
    step = np.diff(chain, axis=0)
    length = np.hypot(*step.T)
    knots = np.concatenate([[0.0], np.cumsum(length)])
    unit = step / length[:, None]
    stations = stations_along(knots[-1], min(spacing, knots[-1] / _LEAST_ON_RING) if closed else spacing, closed)
    place, weight, hat, area = hats(stations, knots, closed)
    tops = stations[: len(area)]
    numbers = np.append(np.arange(len(area)), 0) if closed else np.arange(len(area))
    sharp = _sharp_knots(unit, closed)
    radius = _radii(unit, length, closed)

    piece = np.clip(np.searchsorted(knots, place) - 1, 0, len(length) - 1)
    half = np.zeros(len(place))
    lines = []
    for k in range(len(length)):
        samples, width = _widths(site, chain[k], unit[k], length[k], sharp[k : k + 2])
        width = np.minimum(width, _OF_RADIUS * radius[k])
        on = piece == k
        half[on] = np.interp(place[on] - knots[k], samples, width)
        lines.append(LineSpread(chain[k], unit[k], stations - knots[k], numbers, area[numbers], samples, width))

    x, across = across_line(_ACROSS)
    on_line = chain[piece] + (place - knots[piece])[:, None] * unit[piece]
    normal = np.stack([-unit[piece, 1], unit[piece, 0]], axis=1)
    points = on_line[:, None] + (half[:, None] * x)[..., None] * normal[:, None]
    of_top = np.clip(np.searchsorted(knots, tops, side="right") - 1, 0, len(length) - 1)
    spots = chain[of_top] + (tops - knots[of_top])[:, None] * unit[of_top]
    row = Footing(
        points.reshape(-1, 2),
        (weight[:, None] * across).ravel(),
        np.repeat(hat, _ACROSS),
        np.full((len(hat) * _ACROSS, 2), np.nan),
        area / total,
        area,
        np.zeros(len(area), dtype=bool),
        spots,
        np.zeros((0, 2)),
        lines=tuple(lines),
        rows=((np.arange(len(area)), tops),),
        give=LINE_GIVE * np.bincount(hat, weight * half**3) / area,
    )
    return [row, slopes(on_line, weight, hat, normal, area, spots)] if clamp else [row]


def _sharp_knots(unit: FloatArray, closed: bool) -> npt.NDArray[np.bool_]:
    """Which corners of a chain, its ends included, end the spread: all that turn by more than 20 degrees."""
    turn = np.arccos(np.clip(np.einsum("ki,ki->k", unit[:-1], unit[1:]), -1, 1)) > np.radians(20)
    end = bool(np.arccos(np.clip(unit[-1] @ unit[0], -1, 1)) > np.radians(20)) if closed else True
    return np.concatenate([[end], turn, [end]])


def _radii(unit: FloatArray, length: FloatArray, closed: bool) -> FloatArray:
    """Radius of the curve that each piece of a chain stands for, (k,) [m]; inf where it is straight."""
    turn = np.arccos(np.clip(np.einsum("ki,ki->k", unit[:-1], unit[1:]), -1, 1))
    end = float(np.arccos(np.clip(unit[-1] @ unit[0], -1, 1))) if closed else 0.0
    turn = np.concatenate([[end], turn, [end]])
    # Sharp corners are ends of the spread and no curve.
    gentle = np.where(turn > np.radians(20), 0.0, turn)
    return length / np.maximum(np.maximum(gentle[:-1], gentle[1:]), 1e-9)


def _widths(
    site: Site, start: FloatArray, unit: FloatArray, length: float, sharp: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Half-width of the spread along a straight piece: no wider than to the nearest edge, none at a sharp end."""
    samples = np.linspace(0.0, length, max(int(np.ceil(length / (0.25 * site.spread))), 4) + 1)
    width = np.minimum(site.depth(start + samples[:, None] * unit), site.spread)
    if sharp[0]:
        width = np.minimum(width, samples)
    if sharp[1]:
        width = np.minimum(width, length - samples)
    return samples, np.where(width < _LEAST_SPREAD * site.spread, 0.0, width)
