"""Where the marks of runs stand on a drawing: along the run, past one of its ends, or on it where there is no room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["WIDE", "Mark", "place_marks"]

FloatArray = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]

WIDE = 0.62
"""Width of a letter as a share of its size."""
CLEAR = 1.6
"""Room between a mark and the edge it stands behind [pt]."""
NEAR = 14.0
"""An edge so near past an end is where the mark stands behind [pt]."""
ON_RUN = 12.0
"""Price of a mark on its own run, in points squared of overlap."""
FIXED, EDGE, OTHER = 4.0, 3.0, 0.6
"""Price of a point squared over another mark or a name, of a point of edge, of a point of another run."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark about a spot of the drawing, turned by angle [degrees, clockwise]; boxed: it lies on its run."""

    text: str
    at: tuple[float, float]
    angle: float
    boxed: bool


@dataclass(frozen=True, eq=False, slots=True)
class _Spot:
    at: FloatArray
    boxed: bool


def place_marks(
    texts: Sequence[str],
    lines: Sequence[FloatArray],
    edges: Sequence[FloatArray],
    room: Box,
    taken: Sequence[Box],
    size: float,
) -> list[Mark]:
    """A mark for every run: lines (k, 2) and edges (closed) on the drawing [pt], whose y runs downwards.

    No mark leaves the room; taken: boxes of names that stand there already.
    """
    runs = np.array([shapely.LineString(line) for line in lines])
    tree = shapely.STRtree(runs)
    rims = shapely.MultiLineString([np.vstack([edge, edge[:1]]) for edge in edges])
    frame = shapely.box(*room)
    occupied: list[shapely.Geometry] = [shapely.box(*box) for box in taken]
    marks = []
    for k, (text, line) in enumerate(zip(texts, lines, strict=True)):
        wide, tall = WIDE * size * len(text) + 1.0, size
        best: tuple[float, Mark, shapely.Polygon] | None = None
        for spot, angle in _spots(line, wide, rims):
            body = _turned_box(spot.at, wide, tall, angle)
            price = ON_RUN if spot.boxed else 0.0
            price += 100 * (body.area - shapely.intersection(body, frame).area)
            price += (
                FIXED * float(shapely.area(shapely.intersection(body, np.array(occupied))).sum()) if occupied else 0
            )
            price += EDGE * shapely.intersection(body, rims).length
            near = [int(j) for j in tree.query(body) if j != k]
            price += OTHER * float(shapely.length(shapely.intersection(body, runs[near])).sum()) if near else 0.0
            if best is None or price < best[0] - 1e-9:
                x, y = np.round(spot.at, 2).tolist()
                best = price, Mark(text, (x, y), round(angle, 1), spot.boxed), body
        if best is not None:
            marks.append(best[1])
            occupied.append(best[2])
    return marks


def _spots(line: FloatArray, wide: float, rims: shapely.Geometry) -> list[tuple[_Spot, float]]:
    """Past both ends, then on the run: near its ends, at its quarters, in its middle; each with its angle."""
    found = []
    for end, before in ((line[-1], line[-2]), (line[0], line[1])):
        away = (end - before) / max(math.dist(end, before), 1e-9)
        found.append((_Spot(end + (_edge_past(end, away, rims) + CLEAR + wide / 2) * away, False), _upright(away)))
    length = float(np.hypot(*np.diff(line, axis=0).T).sum())
    for distance in (length - wide / 2 - 4, wide / 2 + 4, 0.75 * length, 0.25 * length, length / 2):
        if wide / 2 < distance < length - wide / 2:
            at, away = _along(line, distance)
            found.append((_Spot(at, True), _upright(away)))
    return found


def _edge_past(end: FloatArray, away: FloatArray, rims: shapely.Geometry) -> float:
    """How far past an end the edge lies; 0 if it is not near."""
    ray = shapely.LineString([end, end + NEAR * away])
    crossed = shapely.intersection(ray, rims)
    return 0.0 if crossed.is_empty else float(shapely.distance(shapely.Point(end), crossed))


def _along(line: FloatArray, distance: float) -> tuple[FloatArray, FloatArray]:
    """The spot so far along a line, and the way the line runs there."""
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    k = min(int(np.searchsorted(walked, distance, side="right")) - 1, len(line) - 2)
    step = line[k + 1] - line[k]
    away = step / max(float(np.hypot(*step)), 1e-9)
    return np.asarray(line[k] + (distance - walked[k]) * away), np.asarray(away)


def _upright(away: FloatArray) -> float:
    """The angle of a text along a way that is read from below or from the right [degrees, clockwise]."""
    angle = math.degrees(math.atan2(away[1], away[0])) % 180.0
    return angle - 180.0 if angle > 89.9 else angle


def _turned_box(at: FloatArray, wide: float, tall: float, angle: float) -> shapely.Polygon:
    a = math.radians(angle)
    along, across = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
    corners = [at + x * wide / 2 * along + y * tall / 2 * across for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return shapely.Polygon(corners)
