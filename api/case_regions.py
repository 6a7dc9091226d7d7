"""Parts of a slab with a depth of their own (a drip groove, a recess, a drainboard) as a case writes them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Discriminator, Field, Tag

from api.case_values import AreaPoints, Quantity, Text
from api.shapes import SHAPES, Circle, Curved, Ellipse, Polygon, Record, Rectangle, loop_of
from api.units import LENGTH

__all__ = [
    "AnyRegion",
    "CircleRegion",
    "CurveRegion",
    "EllipseRegion",
    "PointsRegion",
    "PolygonRegion",
    "RectangleRegion",
    "Regions",
    "region_points",
]

MOST_REGIONS = 40


class _Deep(Record):
    name: Text | None = None
    """What to call it in the answer."""
    depth: Annotated[float, Quantity("a depth", LENGTH, 0.005, 0.150)]
    """Thickness of the concrete there, less than the slab's."""


class PointsRegion(_Deep):
    """A region between corners, listed once round."""

    points: AreaPoints


class CircleRegion(Circle, _Deep):
    """A round region."""


class EllipseRegion(Ellipse, _Deep):
    """An oval region."""


class RectangleRegion(Rectangle, _Deep):
    """A rectangular region."""


class PolygonRegion(Polygon, _Deep):
    """A region with corners."""


class CurveRegion(Curved, _Deep):
    """A region of straight sides and arcs."""


AnyRegion = PointsRegion | CircleRegion | EllipseRegion | RectangleRegion | PolygonRegion | CurveRegion


def _tag(value: Any) -> str | None:
    shape = value.get("shape", "points") if isinstance(value, dict) else getattr(value, "shape", "points")
    return shape if isinstance(value, dict | Record) and shape in ("points", *SHAPES) else None


_FORMS = 'give depth and points = [[x, y], [x, y], [x, y], ...], or depth and a shape with its sizes: shape = "circle"'
Region = Annotated[
    Annotated[PointsRegion, Tag("points")]
    | Annotated[CircleRegion, Tag("circle")]
    | Annotated[EllipseRegion, Tag("ellipse")]
    | Annotated[RectangleRegion, Tag("rectangle")]
    | Annotated[PolygonRegion, Tag("polygon")]
    | Annotated[CurveRegion, Tag("curve")],
    Discriminator(
        _tag,
        custom_error_type="case_fault",
        custom_error_message="{what}",
        custom_error_context={"what": "the region cannot be read", "fix": _FORMS},
    ),
]
Regions = Annotated[tuple[Region, ...], Field(max_length=MOST_REGIONS)]


def region_points(region: AnyRegion) -> tuple[tuple[float, float], ...]:
    """The corners [m] of a region, arcs within 0.1 mm."""
    if isinstance(region, PointsRegion):
        return region.points
    return tuple((float(x), float(y)) for x, y in loop_of(region).polyline(1e-4))
