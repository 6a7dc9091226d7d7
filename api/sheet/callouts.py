"""Short words beside a spot of a plan with a thin line to it, laid where they cover least."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from api.sheet.board import SMALL, Board, corners_of_text
from api.sheet.lettering import width_of
from api.sheet.paper import Rect
from api.sheet.pens import Layer

__all__ = ["call_out"]

FloatArray = npt.NDArray[np.float64]
NEAR = (3.0, 4.5, 6.5, 9.0, 12.0, 16.0, 21.0)
WAYS = 16


def call_out(
    board: Board,
    text: str,
    spot: npt.ArrayLike,
    obstacles: shapely.STRtree,
    room: Rect,
    *,
    size: float = SMALL,
    bold: bool = False,
    layer: Layer = "words",
    gap: float = 0.0,
    reaches: Sequence[float] = NEAR,
) -> bool:
    """Lay a text beside a spot, its line starting so far (gap) from it; False if there is no place for it.

    reaches: lengths of the line that are tried; under 2 mm none is drawn.
    """
    frame, width = shapely.box(*room), width_of(text, size, bold)
    center = np.asarray(spot, dtype=np.float64)
    tried, areas, leaders = [], [], []
    for far in reaches:
        for k in range(WAYS):
            angle = 2 * math.pi * (k + 0.5) / WAYS
            out = np.array([math.cos(angle), math.sin(angle)])
            end = center + (far + gap) * out
            at = (float(end[0] + (0.6 if out[0] >= 0 else -0.6 - width)), float(end[1] - size / 2))
            tried.append((far, at, center + gap * out, end))
            areas.append(shapely.Polygon(corners_of_text(text, at, size, bold=bold)).buffer(0.4))
            leaders.append(shapely.LineString([center + (gap + 0.3) * out, end]))
    cost = np.array([one[0] for one in tried])
    cost[~shapely.covers(frame, areas) | board.covers(areas) | board.covers(leaders)] = math.inf
    cost += 12.0 * np.bincount(obstacles.query(areas, predicate="intersects")[0], minlength=len(areas))
    cost += 1.5 * np.bincount(obstacles.query(leaders, predicate="intersects")[0], minlength=len(areas))
    best = int(np.argmin(cost))
    if not math.isfinite(cost[best]):
        board.missed.append(text)
        return False
    far, at, begin, end = tried[best]
    if far >= 2.0:
        board.line([begin.tolist(), end.tolist()], "dimensions")
        board.keep_clear(shapely.LineString([begin, end]).buffer(0.15))
    board.text(text, at, size, bold=bold, layer=layer)
    return True
