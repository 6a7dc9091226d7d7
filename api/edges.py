"""Where a point lies on a true edge: how far off, how far along, and the nearest spot, on lines and arcs alike."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from meshing.shape import Arc, Curve, Line, Loop

__all__ = ["ON_EDGE", "Spot", "locate", "stretch"]

Point = tuple[float, float]

# Points this near to an edge count as on it [m].
ON_EDGE = 1e-3


@dataclass(frozen=True, slots=True)
class Spot:
    """The spot of a loop nearest to a point: distance off it, distance along the loop [m], and where it is."""

    off: float
    along: float
    at: Point


def locate(loop: Loop, point: Point) -> Spot:
    """The spot of the loop nearest to the point; along runs counter-clockwise from the start of the first curve."""
    best = Spot(math.inf, 0.0, point)
    for curve, start in zip(loop.curves, loop.curve_starts[:-1].tolist(), strict=True):
        spot = _on_curve(curve, point)
        if spot.off < best.off:
            best = replace(spot, along=start + spot.along)
    return best


def stretch(loop: Loop, begin: Point, end: Point) -> tuple[float, float]:
    """Distances along the loop from begin counter-clockwise to end, end > begin, at most one time round; both on it."""
    first, last = locate(loop, begin).along % loop.length, locate(loop, end).along % loop.length
    return first, last if last > first else last + loop.length


def _on_curve(curve: Curve, point: Point) -> Spot:
    if isinstance(curve, Line):
        (x0, y0), (x1, y1) = curve.start, curve.end
        dx, dy = x1 - x0, y1 - y0
        s = ((point[0] - x0) * dx + (point[1] - y0) * dy) / (dx * dx + dy * dy)
        s = min(max(s, 0.0), 1.0)
        at = (x0 + s * dx, y0 + s * dy)
        return Spot(math.dist(at, point), s * curve.length, at)
    s = _nearest_parameter(curve, point)
    x, y = curve.point(np.array([s]))[0].tolist()
    swept = replace(curve, finish=curve.begin + s * (curve.finish - curve.begin))
    return Spot(math.dist((x, y), point), swept.length if s > 0 else 0.0, (x, y))


def _nearest_parameter(arc: Arc, point: Point) -> float:
    """Parameter in [0, 1] of the spot of the arc nearest to the point: the best of a fan, then bisected."""
    fan = np.linspace(0.0, 1.0, 65)
    k = int(np.argmin(np.hypot(*(arc.point(fan) - np.asarray(point)).T)))
    low, high = fan[max(k - 1, 0)], fan[min(k + 1, 64)]
    for _ in range(60):
        middle = np.array([(low + high) / 2])
        # The distance falls along the arc while the way to the point has a part along the tangent.
        ahead = float((np.asarray(point) - arc.point(middle)[0]) @ arc.derivative(middle)[0])
        low, high = (float(middle[0]), high) if ahead > 0 else (low, float(middle[0]))
    return float((low + high) / 2)
