"""The signs on a map and in its key: supports, loads, the worst place, the crack, the axis of a fall; in points.

A support's action is told by how its band is filled, so that it reads in grey: hollow for rest, solid for hold, barred
for clamp, and a thin broken line for a support that has lifted off.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from api.map_ink import Color, Ink, Word, circle, resample
from fem.plate.model import Action

__all__ = [
    "ALLOWED_WIDTH",
    "DARK",
    "GREEN",
    "GREY",
    "NUMBER",
    "PALE",
    "WHITE",
    "balance_point",
    "crack",
    "diamond",
    "fall_axis",
    "floor",
    "gravity",
    "hatch",
    "level_line",
    "number_sign",
    "support_band",
    "support_spot",
    "target",
    "zone_line",
]

FloatArray = npt.NDArray[np.float64]

DARK: Color = (26, 28, 36)
GREY: Color = (96, 100, 108)
PALE: Color = (205, 208, 213)
WHITE: Color = (255, 255, 255)
GREEN: Color = (18, 120, 62)

NUMBER = 6.2
"""Half the side of the square about the number of a stage."""

ALLOWED_WIDTH, CRACKING_WIDTH = 1.3, 1.9
CRACKING_DASH = (5.0, 2.2)


def support_band(ink: Ink, points: FloatArray, action: Action, lifted: bool, closed: bool = False) -> None:
    """A support along a line, an edge or round an area."""
    if lifted:
        ink.line(points, 3.2, WHITE, closed=closed)
        ink.line(points, 1.3, DARK, closed=closed, dash=(2.6, 2.6))
        return
    ink.line(points, 6.0, WHITE, closed=closed)
    ink.line(points, 4.4, DARK, closed=closed)
    if action == "rest":
        ink.line(points, 2.6, WHITE, closed=closed)
    if action == "clamp":
        ink.line(points, 2.6, WHITE, closed=closed)
        _bars(ink, points, closed)


def support_spot(ink: Ink, at: npt.ArrayLike, action: Action, lifted: bool, side: float = 0.0) -> None:
    """A support at a spot: a triangle under it, a square where it clamps; side is its true square on the page."""
    center = np.asarray(at, dtype=np.float64)
    if side > 9:
        square = center + side / 2 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
        if lifted:
            ink.line(square, 2.4, WHITE, closed=True)
            ink.line(square, 0.9, DARK, closed=True, dash=(2.2, 1.8))
        else:
            ink.line(square, 3.4, WHITE, closed=True)
            ink.line(square, 1.4, DARK, closed=True)
    if action == "clamp":
        corners = center + 4.2 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    else:
        corners = center + 5.6 * np.array([[-0.87, -0.5], [0.87, -0.5], [0, 1]])
    ink.line(corners, 4.0, WHITE, closed=True)
    ink.polygon(corners, DARK if action == "hold" and not lifted else WHITE)
    if lifted:
        ink.line(corners, 1.1, DARK, closed=True, dash=(2.0, 1.5))
        return
    ink.line(corners, 1.5, DARK, closed=True)
    if action == "clamp":
        ink.line(corners[[0, 2]], 1.3, DARK)
        ink.line(corners[[1, 3]], 1.3, DARK)


def gravity(ink: Ink, at: npt.ArrayLike, away: bool, radius: float = 5.0) -> None:
    """A force across the page: a cross in a ring goes away from the reader, a dot in a ring comes to the reader."""
    center = np.asarray(at, dtype=np.float64)
    ink.disc(center, radius + 1.3, WHITE)
    ink.ring(center, radius, 1.5, DARK)
    if away:
        arm = 0.62 * radius
        ink.line(center + arm * np.array([[-1, -1], [1, 1]]), 1.5, DARK)
        ink.line(center + arm * np.array([[-1, 1], [1, -1]]), 1.5, DARK)
    else:
        ink.disc(center, 0.36 * radius, DARK)


def target(ink: Ink, at: npt.ArrayLike) -> None:
    """The mark of the worst place: a dot in a ring."""
    ink.disc(at, 6.4, WHITE)
    ink.ring(at, 4.7, 1.5, DARK)
    ink.disc(at, 1.9, DARK)


def crack(ink: Ink, points: FloatArray) -> None:
    """The tick along which a crack would run: a jagged line from the first to the last of points (2, 2)."""
    length = math.dist(points[0], points[1])
    along = (points[1] - points[0]) / max(length, 1e-9)
    across = np.array([-along[1], along[0]])
    count = max(round(length / 4.0), 2)
    s = np.linspace(0, length, count + 1)
    jag = 1.15 * np.where(np.arange(count + 1) % 2, 1.0, -1.0)
    jag[[0, -1]] = 0.0
    line = points[0] + s[:, None] * along + jag[:, None] * across
    ink.line(line, 3.8, WHITE)
    ink.line(line, 1.7, DARK)


def diamond(ink: Ink, at: npt.ArrayLike, radius: float = 4.2) -> None:
    """The mark of the field's own peak."""
    corners = np.asarray(at) + radius * np.array([[1, 0], [0, 1], [-1, 0], [0, -1]])
    ink.line(corners, 3.6, WHITE, closed=True)
    ink.polygon(corners, WHITE)
    ink.line(corners, 1.4, DARK, closed=True)


def level_line(ink: Ink, lines: Sequence[FloatArray], cracking: bool) -> None:
    """Where the pull reaches allowed (a thin solid line) or cracking (a thick broken one), edged in white."""
    for line in lines:
        ink.line(line, 3.4 if cracking else 2.9, WHITE)
    for line in lines:
        if cracking:
            ink.line(line, CRACKING_WIDTH, DARK, dash=CRACKING_DASH)
        else:
            ink.line(line, ALLOWED_WIDTH, DARK)


def number_sign(ink: Ink, at: npt.ArrayLike, text: str) -> None:
    """The number of the stage that governs a region: a square, since supports have discs."""
    x, y = np.asarray(at, dtype=np.float64).tolist()
    ink.box(x - NUMBER - 1, y - NUMBER - 1, x + NUMBER + 1, y + NUMBER + 1, DARK)
    ink.box(x - NUMBER, y - NUMBER, x + NUMBER, y + NUMBER, WHITE)
    ink.word(Word(text, (x, y), 8.0 if len(text) < 3 else 6.2, True, DARK, 0, 0))


def zone_line(ink: Ink, points: FloatArray, broken: bool) -> None:
    """Round a zone where people may be."""
    ink.line(points, 3.4, WHITE, closed=True)
    ink.line(points, 1.8, GREEN, closed=True, dash=(6.0, 3.0) if broken else ())


def hatch(ink: Ink, points: FloatArray, apart: float = 6.5) -> None:
    """Slanted lines over a zone where nobody may be, with its rim."""
    area = shapely.Polygon(points).buffer(0)
    x0, y0, x1, y1 = area.bounds
    reach = y1 - y0
    starts = np.arange(x0 - reach, x1, apart)
    rays = shapely.MultiLineString([[(x, y0), (x + reach, y1)] for x in starts])
    for part in shapely.get_parts(shapely.intersection(rays, area)):
        if part.geom_type == "LineString":
            ink.line(shapely.get_coordinates(part), 0.7, DARK)
    ink.line(points, 0.9, DARK, closed=True)


def floor(ink: Ink, ends: FloatArray, down: npt.ArrayLike) -> None:
    """The floor below a side from the first to the last of ends (2, 2): a line with slanted strokes beyond it."""
    way = np.asarray(down, dtype=np.float64)
    line = ends + 2.6 * way
    along = (ends[1] - ends[0]) / max(math.dist(*ends), 1e-9)
    ink.line(line, 1.6, DARK)
    for spot in resample(line, 6.0):
        ink.line(np.stack([spot, spot + 4.5 * way - 3.0 * along]), 0.9, DARK)


def fall_axis(ink: Ink, points: FloatArray) -> None:
    """The axis about which a slab turns: so thin that it shows inside the band of the support that it lies on."""
    ink.line(points, 1.5, DARK, dash=(12, 3, 2.5, 3))


def balance_point(ink: Ink, at: npt.ArrayLike, radius: float = 5.5) -> None:
    """The centre of gravity: a quartered disc."""
    center = np.asarray(at, dtype=np.float64)
    ink.disc(center, radius + 1.2, WHITE)
    for k in (0, 2):
        a = np.linspace(k * math.pi / 2, (k + 1) * math.pi / 2, 12)
        fan = np.vstack([center, center + radius * np.column_stack([np.cos(a), np.sin(a)])])
        ink.polygon(fan, DARK)
    ink.line(circle(center, radius), 1.3, DARK, closed=True)


def _bars(ink: Ink, points: FloatArray, closed: bool) -> None:
    """Slanted bars across a band."""
    path = np.concatenate([points, points[:1]]) if closed else points
    even = resample(path, 5.0)
    middle = (even[:-1] + even[1:]) / 2
    step = np.diff(even, axis=0)
    step /= np.maximum(np.hypot(*step.T), 1e-9)[:, None]
    normal = np.column_stack([-step[:, 1], step[:, 0]])
    for spot, forward, side in zip(middle, step, normal, strict=True):
        bar = np.stack([spot - 4.0 * side - 1.6 * forward, spot + 4.0 * side + 1.6 * forward])
        ink.line(bar, 1.3, DARK)
