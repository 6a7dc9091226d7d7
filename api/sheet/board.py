"""One sheet of paper to draw on: lines, letters, fills, and the box of every text, so that none is laid on another.

All places are millimetres of paper from its lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely
from ezdxf.layouts.layout import Paperspace

from api.sheet.lettering import height_of, plain_text, width_of, wrapped
from api.sheet.paper import Paper, Rect
from api.sheet.pens import Layer

__all__ = ["BODY", "HEADING", "LEADING", "SMALL", "TITLE", "Align", "Board", "TextBox", "corners_of_text"]

Point = tuple[float, float]
FloatArray = npt.NDArray[np.float64]
Align = Literal["left", "middle", "right"]

SMALL, BODY, HEADING, TITLE = 1.55, 1.8, 2.5, 3.2
"""Heights of capitals."""
LEADING = 1.75
"""From one line to the next, as a multiple of the height of a capital."""


@dataclass(frozen=True, slots=True)
class TextBox:
    """A text as it lies on the paper, and the four corners of the box it fills."""

    text: str
    corners: tuple[Point, Point, Point, Point]

    @property
    def area(self) -> shapely.Polygon:
        """The box as an area."""
        return shapely.Polygon(self.corners)


@dataclass
class Board:
    """A sheet being drawn.

    texts: every text so far; taken: areas that no other text may cover; strokes: its lines; missed: texts for which
    there was no place.
    """

    layout: Paperspace
    paper: Paper
    texts: list[TextBox] = field(default_factory=list)
    taken: list[shapely.Geometry] = field(default_factory=list)
    strokes: list[shapely.LineString] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)

    def line(self, points: Iterable[Sequence[float]], layer: Layer, dashes: str = "BYLAYER") -> None:
        """A chain of straight lines."""
        places = [(float(p[0]), float(p[1])) for p in points]
        self.strokes.append(shapely.LineString(places))
        if len(places) == 2:
            self.layout.add_line(places[0], places[1], dxfattribs={"layer": layer, "linetype": dashes})
        else:
            self.layout.add_lwpolyline(places, dxfattribs={"layer": layer, "linetype": dashes})

    def outline(self, points: Iterable[Sequence[float]], layer: Layer, dashes: str = "BYLAYER") -> None:
        """A closed chain of straight lines."""
        places = [(float(p[0]), float(p[1])) for p in points]
        self.layout.add_lwpolyline(places, close=True, dxfattribs={"layer": layer, "linetype": dashes})

    def fill(self, points: Iterable[Sequence[float]], layer: Layer) -> None:
        """A filled polygon."""
        hatch = self.layout.add_hatch(color=256, dxfattribs={"layer": layer})
        hatch.paths.add_polyline_path([(float(p[0]), float(p[1])) for p in points], is_closed=True)

    def disc(self, center: Point, radius: float, layer: Layer) -> None:
        """A filled disc."""
        hatch = self.layout.add_hatch(color=256, dxfattribs={"layer": layer})
        hatch.paths.add_polyline_path(
            [(center[0] - radius, center[1], 1.0), (center[0] + radius, center[1], 1.0)], is_closed=True
        )

    def circle(self, center: Point, radius: float, layer: Layer) -> None:
        """A ring."""
        self.layout.add_circle(center, radius, dxfattribs={"layer": layer})

    def box(self, rect: Rect, layer: Layer) -> None:
        """A rectangle."""
        x0, y0, x1, y1 = rect
        self.outline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], layer)

    def text(
        self,
        text: str,
        at: Point,
        size: float = BODY,
        *,
        align: Align = "left",
        turn: float = 0.0,
        bold: bool = False,
        layer: Layer = "words",
    ) -> TextBox:
        """A line of text whose left end, middle or right end stands at a point, turned by degrees."""
        words = plain_text(text)
        corners = corners_of_text(words, at, size, align=align, turn=turn, bold=bold)
        low = np.asarray(at) - _along(align, width_of(words, size, bold)) * _direction(turn)
        entity = self.layout.add_text(
            words, height=size, rotation=turn, dxfattribs={"layer": layer, "style": "bold" if bold else "plain"}
        )
        entity.set_placement((float(low[0]), float(low[1])))
        placed = TextBox(words, corners)
        if words:
            self.texts.append(placed)
            self.taken.append(shapely.Polygon(corners))
        return placed

    def paragraph(
        self,
        text: str,
        at: Point,
        width: float,
        size: float = BODY,
        *,
        bold: bool = False,
        layer: Layer = "words",
    ) -> float:
        """Text broken into lines below a point, which is its upper left corner; the height that it took."""
        lines = wrapped(text, width, size, bold)
        for k, line in enumerate(lines):
            self.text(line, (at[0], at[1] - size * (1.1 + LEADING * k)), size, bold=bold, layer=layer)
        return LEADING * size * len(lines)

    def keep_clear(self, area: shapely.Geometry) -> None:
        """No text that looks for its place goes there."""
        self.taken.append(area)

    def covers(self, areas: Sequence[shapely.Geometry] | npt.NDArray[np.object_]) -> npt.NDArray[np.bool_]:
        """Whether each area lies partly on a text or on what must be kept clear (k,)."""
        hit = np.zeros(len(areas), dtype=bool)
        if self.taken:
            tree = shapely.STRtree(self.taken)
            hit[tree.query(list(areas), predicate="intersects")[0]] = True
        return hit

    def is_free(self, area: shapely.Geometry) -> bool:
        """Whether an area lies on no text and on nothing that must be kept clear."""
        return not self.covers([area])[0]


def corners_of_text(
    text: str, at: Point, size: float, *, align: Align = "left", turn: float = 0.0, bold: bool = False
) -> tuple[Point, Point, Point, Point]:
    """The corners of the box that a text would fill."""
    along, up = _direction(turn), _direction(turn + 90)
    width = width_of(text, size, bold)
    below, above = height_of(size)
    start = np.asarray(at, dtype=np.float64) - _along(align, width) * along
    low, high = start - below * up, start + above * up
    a, b, c, d = (low, low + width * along, high + width * along, high)
    return _point(a), _point(b), _point(c), _point(d)


def _along(align: Align, width: float) -> float:
    return {"left": 0.0, "middle": width / 2, "right": width}[align]


def _direction(degrees: float) -> FloatArray:
    return np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])


def _point(xy: FloatArray) -> Point:
    return float(xy[0]), float(xy[1])
