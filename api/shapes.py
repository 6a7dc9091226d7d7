"""The shapes a case can name, as it writes them, and the closed loops of lines and true arcs they stand for."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from api.case_values import Corner, CurvePoint, Point, Quantity, Text
from api.units import ANGLE, LENGTH
from meshing.shape import Arc, Curve, Line, Loop, ellipse, polygon, rectangle

__all__ = [
    "MOST_CORNERS",
    "SHAPES",
    "Circle",
    "CircleOpening",
    "CurveOpening",
    "Curved",
    "Ellipse",
    "EllipseOpening",
    "Opening",
    "Outline",
    "OutlineFile",
    "Polygon",
    "PolygonOpening",
    "Record",
    "Rectangle",
    "RectangleOpening",
    "Shaped",
    "corners_of",
    "loop_of",
]

MOST_CORNERS = 400
# An arc that stands off its chord by less than half of this [m] is a straight side.
FLAT = 1e-6

Size = Annotated[float, Quantity("a size", LENGTH, 0.005, 12.0)]
Radius = Annotated[float, Quantity("a corner radius", LENGTH, 5e-4, 6.0, zero_too=True)]
Turn = Annotated[float, Quantity("an angle", ANGLE, -360.0, 360.0)]
Corners = Annotated[tuple[Corner, ...], Field(min_length=3, max_length=MOST_CORNERS)]


class Record(BaseModel):
    """A table of the case: no key but its own, nothing changed once it is read."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)


class Circle(Record):
    """A circle."""

    shape: Literal["circle"]
    center: Point
    diameter: Size


class Ellipse(Record):
    """An ellipse."""

    shape: Literal["ellipse"]
    center: Point
    size: tuple[Size, Size]
    """Width and depth, lengths."""
    angle: Turn = 0.0
    """Turned counter-clockwise by this angle."""


class Rectangle(Record):
    """A rectangle, its corners rounded alike."""

    shape: Literal["rectangle"]
    center: Point
    size: tuple[Size, Size]
    """Width and depth, lengths."""
    corner_radius: Radius = 0.0
    angle: Turn = 0.0
    """Turned counter-clockwise by this angle."""


class Polygon(Record):
    """A polygon, each corner with its own radius; no closing point; either sense of rotation."""

    shape: Literal["polygon"]
    points: Corners


class Curved(Record):
    """Straight sides and true circular arcs from point to point; no closing point; either sense of rotation."""

    shape: Literal["curve"]
    points: Annotated[tuple[CurvePoint, ...], Field(min_length=2, max_length=MOST_CORNERS)]
    """[x, y] starts a straight side, [x, y, bulge] an arc to the next point: bulge = tan(its angle / 4), + left."""


class OutlineFile(Record):
    """A drawing (DXF) beside the case; never over HTTP."""

    file: Text
    """Name of the file, in the folder of the case or below it."""
    layer: Text | None = None
    """Only curves on this layer count."""
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    """Unit of a drawing that does not say its own."""


class _Named(Record):
    name: Text | None = None
    """What to call it in the answer."""


class CircleOpening(Circle, _Named):
    """A round opening."""


class EllipseOpening(Ellipse, _Named):
    """An oval opening."""


class RectangleOpening(Rectangle, _Named):
    """A rectangular opening."""


class PolygonOpening(Polygon, _Named):
    """An opening with corners."""


class CurveOpening(Curved, _Named):
    """An opening of straight sides and arcs."""


Shaped = Circle | Ellipse | Rectangle | Polygon | Curved
SHAPES = ("circle", "ellipse", "rectangle", "polygon", "curve")


def _outline_tag(value: Any) -> str | None:
    if isinstance(value, list | tuple):
        return "corners"
    if isinstance(value, dict):
        if "file" in value:
            return "file"
        named = value.get("shape")
        if isinstance(named, str) and named in SHAPES:
            return named
    elif isinstance(value, OutlineFile):
        return "file"
    elif isinstance(value, Shaped):
        return value.shape
    return None


_OUTLINE_FORMS = (
    'give a list of 3 or more corners [x, y], or { shape = ... } with one of "circle", "ellipse", "rectangle", '
    '"polygon", "curve", or { file = "..." }'
)
Outline = Annotated[
    Annotated[Corners, Tag("corners")]
    | Annotated[Circle, Tag("circle")]
    | Annotated[Ellipse, Tag("ellipse")]
    | Annotated[Rectangle, Tag("rectangle")]
    | Annotated[Polygon, Tag("polygon")]
    | Annotated[Curved, Tag("curve")]
    | Annotated[OutlineFile, Tag("file")],
    Discriminator(
        _outline_tag,
        custom_error_type="case_fault",
        custom_error_message="{what}",
        custom_error_context={"what": "the outline cannot be read", "fix": _OUTLINE_FORMS},
    ),
]
Opening = Annotated[
    CircleOpening | EllipseOpening | RectangleOpening | PolygonOpening | CurveOpening, Field(discriminator="shape")
]


def corners_of(shape: Shaped | tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, float, float], ...]:
    """The corners (x, y, radius) [m] of a polygon or rectangle; () for a shape without any."""
    if isinstance(shape, tuple):
        return shape
    if isinstance(shape, Polygon):
        return shape.points
    if isinstance(shape, Rectangle):
        angle = math.radians(shape.angle)
        c, s = math.cos(angle), math.sin(angle)
        halves = ((x * shape.size[0] / 2, y * shape.size[1] / 2) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
        cx, cy = shape.center
        return tuple((cx + c * x - s * y, cy + s * x + c * y, shape.corner_radius) for x, y in halves)
    return ()


def loop_of(shape: Shaped | tuple[tuple[float, float, float], ...]) -> Loop:
    """The closed loop, counter-clockwise [m]; ValueError if a corner radius does not fit."""
    if isinstance(shape, Circle):
        return ellipse(shape.center, (shape.diameter, shape.diameter))
    if isinstance(shape, Ellipse):
        return ellipse(shape.center, shape.size, math.radians(shape.angle))
    if isinstance(shape, Rectangle):
        return rectangle(shape.center, shape.size, shape.corner_radius, math.radians(shape.angle))
    if isinstance(shape, Curved):
        return _curved_loop(shape.points)
    corners = corners_of(shape)
    return polygon([corner[:2] for corner in corners], [corner[2] for corner in corners])


def _curved_loop(points: tuple[tuple[float, float, float], ...]) -> Loop:
    """Loop of sides and arcs, turned counter-clockwise if it is written the other way round."""
    pairs = list(zip(points, (*points[1:], points[0]), strict=True))
    turned = sum(x0 * y1 - x1 * y0 for (x0, y0, _), (x1, y1, _) in pairs) / 2 + sum(_segment(a, b) for a, b in pairs)
    if turned < 0:
        pairs = [((b[0], b[1], -a[2]), (a[0], a[1], 0.0)) for a, b in reversed(pairs)]
    return Loop(tuple(_side(a, b) for a, b in pairs))


def _segment(a: tuple[float, float, float], b: tuple[float, float, float]) -> float:
    """Area between the chord and its arc, + when the arc turns left (bulges to the right of the chord)."""
    angle = 4 * math.atan(a[2])
    if abs(a[2]) * math.dist(a[:2], b[:2]) < FLAT:
        return 0.0
    radius = math.dist(a[:2], b[:2]) / 2 / math.sin(abs(angle) / 2)
    return math.copysign(radius**2 / 2 * (abs(angle) - math.sin(abs(angle))), angle)


def _side(a: tuple[float, float, float], b: tuple[float, float, float]) -> Curve:
    start, end, bulge = a[:2], b[:2], a[2]
    if abs(bulge) * math.dist(start, end) < FLAT:
        return Line(start, end)
    # The centre lies on the chord's normal, at (1 - bulge^2) / (4 bulge) chord lengths to the left of its middle.
    dx, dy = end[0] - start[0], end[1] - start[1]
    offset = (1 - bulge * bulge) / (4 * bulge)
    center = ((start[0] + end[0]) / 2 - dy * offset, (start[1] + end[1]) / 2 + dx * offset)
    u = (start[0] - center[0], start[1] - center[1])
    v = (-u[1], u[0]) if bulge > 0 else (u[1], -u[0])
    return Arc(center, u, v, 0.0, abs(4 * math.atan(bulge)))
