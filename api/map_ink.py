"""Ink for a page: thick lines, dashes, discs and polygons become coloured triangles; words stay words.

A page is measured in points (1/72 in) from its lower left corner. What is drawn later lies on top of what was drawn
before. Thick lines are made here and not left to the graphics driver, whose wide lines have no joins and a width limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

__all__ = ["Color", "Ink", "Word", "circle", "cut_dashes", "resample", "stroke"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Color = tuple[int, int, int]

SHARP_TURN = math.radians(140)
"""A thick line's joins are mitred up to this turn and left open above it, where a mitre would be a spike."""


@dataclass(frozen=True, slots=True)
class Word:
    """A text at an anchor: across -1, 0, 1 puts its left, middle, right there, up -1, 0, 1 its foot, middle, head."""

    text: str
    at: tuple[float, float]
    size: float
    bold: bool = False
    color: Color = (0, 0, 0)
    across: int = -1
    up: int = -1
    turned: bool = False


def stroke(
    points: FloatArray, width: FloatArray | float, pixel: float, closed: bool = False
) -> tuple[FloatArray, IntArray, IntArray, FloatArray]:
    """Triangles of a thick line through points (k, 2) with soft edges.

    Vertices (v, 2), triangles (t, 3), each vertex's own point (v,) and how far it covers the ground (v,): 1 inside, 0
    at the outer rim, half a pixel outside the true edge. width (k,) or one number, in the points' unit like pixel.
    Repeated points are dropped; a line of one point gives no triangles.
    """
    points = np.asarray(points, dtype=np.float64)
    source = _distinct(points, closed)
    p, half = points[source], np.broadcast_to(np.asarray(width, dtype=np.float64), len(points))[source] / 2
    if len(p) < 2:
        return np.zeros((0, 2)), np.zeros((0, 3), dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0)
    along = np.diff(p, axis=0)
    along /= np.hypot(*along.T)[:, None]
    first, last = _side_vectors(along, closed)
    inner, outer = np.maximum(half - pixel / 2, 0.0), half + pixel / 2
    solid = np.minimum(2 * half / outer, 1.0)

    # Eight vertices a segment: across its start and across its end, outer rim, inner rim, inner rim, outer rim.
    reach = np.stack([outer, inner, -inner, -outer], axis=-1)[..., None]
    rows = [p[:-1, None] + reach[:-1] * first[:, None], p[1:, None] + reach[1:] * last[:, None]]
    vertices = np.concatenate(rows, axis=1).reshape(-1, 2)
    owner = np.repeat(np.column_stack([source[:-1], source[1:]]), 4, axis=1).ravel()
    shade = np.stack([0 * solid, solid, solid, 0 * solid], axis=-1)
    cover = np.concatenate([shade[:-1], shade[1:]], axis=1).ravel()
    quads = np.array([[0, 1, 5], [0, 5, 4], [1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6]])
    triangles = (8 * np.arange(len(along))[:, None, None] + quads).reshape(-1, 3)
    if closed:
        return vertices, triangles, owner, cover
    caps = np.array([vertices[1], vertices[2], vertices[-2], vertices[-3]])
    out = pixel * np.stack([-along[0], -along[0], along[-1], along[-1]])
    n = len(vertices)
    ends = np.array([[1, 2, n + 1], [1, n + 1, n], [n - 2, n - 3, n + 3], [n - 2, n + 3, n + 2]])
    owner = np.concatenate([owner, source[[0, 0, -1, -1]]])
    return (
        np.concatenate([vertices, caps + out]),
        np.concatenate([triangles, ends]),
        owner,
        np.append(cover, np.zeros(4)),
    )


def _distinct(points: FloatArray, closed: bool) -> IntArray:
    """Numbers of the points that differ from the one before; the first again at the end if the line is closed."""
    keep = np.ones(len(points), dtype=bool)
    keep[1:] = np.hypot(*np.diff(points, axis=0).T) > 1e-6
    if closed and len(points) > 1 and math.dist(points[0], points[-1]) <= 1e-6:
        keep[-1] = False
    source = np.flatnonzero(keep)
    return np.append(source, source[0]) if closed else source


def _side_vectors(along: FloatArray, closed: bool) -> tuple[FloatArray, FloatArray]:
    """The way to the left side at the starts and ends (m, 2) of segments along (m, 2), mitred where they join."""
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    first, last = normal.copy(), normal.copy()
    before = np.arange(len(along) - 1)
    after = before + 1
    if closed:
        before, after = np.append(before, len(along) - 1), np.append(after, 0)
    cosine = np.clip(np.einsum("ki,ki->k", normal[before], normal[after]), -1, 1)
    gentle = np.arccos(cosine) <= SHARP_TURN
    mitre = (normal[before] + normal[after]) / np.maximum(1 + cosine, 1e-6)[:, None]
    last[before[gentle]] = mitre[gentle]
    first[after[gentle]] = mitre[gentle]
    return first, last


def cut_dashes(points: FloatArray, pattern: Sequence[float], closed: bool = False) -> list[FloatArray]:
    """The drawn pieces of a dashed line through points (k, 2); pattern is on, off, on, off, ... in the points' unit."""
    p = np.concatenate([points, points[:1]]) if closed else np.asarray(points, dtype=np.float64)
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])
    total, period = float(walked[-1]), float(sum(pattern))
    pieces: list[FloatArray] = []
    if total <= 0:
        return pieces
    stops = np.cumsum([0.0, *pattern])
    for begin in np.arange(0.0, total, period):
        for on, off in zip(stops[:-1:2], stops[1::2], strict=True):
            a, b = begin + on, min(begin + off, total)
            if a < b:
                inside = walked[(walked > a) & (walked < b)]
                s = np.concatenate([[a], inside, [b]])
                pieces.append(np.column_stack([np.interp(s, walked, p[:, i]) for i in (0, 1)]))
    return pieces


def resample(points: FloatArray, step: float) -> FloatArray:
    """Points (n, 2) at even distances of about step along a line through points (k, 2), both ends kept."""
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    s = np.linspace(0.0, walked[-1], max(math.ceil(walked[-1] / step), 1) + 1)
    return np.column_stack([np.interp(s, walked, points[:, i]) for i in (0, 1)])


@dataclass
class Ink:
    """Collects what is drawn on one page: triangles with a colour at each vertex, layer over layer, and words on top.

    Edges are soft over one pixel, in points: the picture is smooth without sampling every pixel several times, which
    would cost more than all the rest.
    """

    pixel: float = 0.33
    vertices: list[FloatArray] = field(default_factory=list)
    triangles: list[IntArray] = field(default_factory=list)
    colors: list[npt.NDArray[np.uint8]] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    layer: int = 0
    count: int = 0

    def add(
        self, vertices: FloatArray, triangles: IntArray, color: npt.ArrayLike, cover: FloatArray | float = 1.0
    ) -> None:
        """Put triangles (t, 3) of vertices (v, 2) on top.

        color is one (3,) or one a vertex (v, 3), 0 to 255; cover is one or (v,), 1 hides what lies below, 0 shows it.
        """
        if not len(triangles):
            return
        self.layer += 1
        z = np.full((len(vertices), 1), float(self.layer))
        paint = np.empty((len(vertices), 4), dtype=np.uint8)
        paint[:, :3] = np.asarray(color, dtype=np.uint8)
        paint[:, 3] = np.round(255 * np.asarray(cover))
        self.vertices.append(np.hstack([vertices, z]))
        self.triangles.append(np.asarray(triangles) + self.count)
        self.colors.append(paint)
        self.count += len(vertices)

    def line(
        self,
        points: npt.ArrayLike,
        width: float | FloatArray,
        color: npt.ArrayLike,
        *,
        closed: bool = False,
        dash: Sequence[float] = (),
    ) -> None:
        """A thick line through points (k, 2); width and color may change from point to point unless it is dashed."""
        p = np.asarray(points, dtype=np.float64)
        if not dash:
            vertices, triangles, owner, cover = stroke(p, width, self.pixel, closed)
            tint = np.asarray(color, dtype=np.uint8)
            self.add(vertices, triangles, tint[owner] if tint.ndim == 2 else tint, cover)
            return
        pieces = [stroke(piece, width, self.pixel) for piece in cut_dashes(p, dash, closed)]
        if pieces:
            shift = np.cumsum([0, *(len(piece[0]) for piece in pieces)])
            triangles = np.concatenate([piece[1] + s for piece, s in zip(pieces, shift[:-1], strict=True)])
            cover = np.concatenate([piece[3] for piece in pieces])
            self.add(np.concatenate([piece[0] for piece in pieces]), triangles, color, cover)

    def polygon(self, points: npt.ArrayLike, color: Color) -> None:
        """A filled convex polygon through points (k, 2), which run counter-clockwise."""
        p = np.asarray(points, dtype=np.float64)
        along = np.roll(p, -1, axis=0) - p
        along /= np.hypot(*along.T)[:, None]
        left, _ = _side_vectors(along, closed=True)
        inner, outer = p + self.pixel / 2 * left, p - self.pixel / 2 * left
        k = np.arange(1, len(p) - 1)
        fan = np.column_stack([np.zeros_like(k), k, k + 1])
        a, b = np.arange(len(p)), np.roll(np.arange(len(p)), -1)
        rim = np.concatenate([np.column_stack([a, a + len(p), b]), np.column_stack([b, a + len(p), b + len(p)])])
        cover = np.repeat([1.0, 0.0], len(p))
        self.add(np.concatenate([inner, outer]), np.concatenate([fan, rim]), color, cover)

    def box(self, left: float, low: float, right: float, high: float, color: Color) -> None:
        """A filled upright rectangle."""
        self.polygon([[left, low], [right, low], [right, high], [left, high]], color)

    def disc(self, center: npt.ArrayLike, radius: float, color: Color) -> None:
        """A filled circle."""
        self.polygon(circle(center, radius), color)

    def ring(self, center: npt.ArrayLike, radius: float, width: float, color: Color) -> None:
        """A circle's line, its middle at radius."""
        self.line(circle(center, radius), width, color, closed=True)

    def word(self, word: Word) -> None:
        """A piece of text, above all ink."""
        self.words.append(word)


def circle(center: npt.ArrayLike, radius: float, count: int = 40) -> FloatArray:
    """Corners (count, 2) of a circle as good as round at this size."""
    a = np.arange(count) * (2 * math.pi / count)
    return np.asarray(center, dtype=np.float64) + radius * np.column_stack([np.cos(a), np.sin(a)])
