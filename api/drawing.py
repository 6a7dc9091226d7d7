"""A slab drawn: its true shape, the same as a polygon for asking, and points a hair off it put on its edge."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon

from api.case_model import Case, Slab
from api.edges import locate
from api.shapes import OutlineFile, Shaped, loop_of
from api.units import UnitSystem
from meshing.shape import Loop, Shape

__all__ = ["Drawing", "drawing_of", "filled", "on_slab", "shaped", "slab_drawing"]

Point = tuple[float, float]


@dataclass(frozen=True)
class Drawing:
    """A sound slab: its true shape, the same as a polygon for asking, and the units in which to speak of it."""

    shape: Shape
    region: Polygon
    system: UnitSystem


def drawing_of(case: Case) -> Drawing:
    """The drawing of a slab without faults."""
    return slab_drawing(case.slab, case.units)


def slab_drawing(slab: Slab, system: UnitSystem) -> Drawing:
    """The drawing of a slab without faults."""
    shape = Shape(loop_of(shaped(slab)), tuple(loop_of(opening) for opening in slab.opening))
    return Drawing(shape, shape.region(), system)


def shaped(slab: Slab) -> Shaped | tuple[tuple[float, float, float], ...]:
    """The outline of a slab whose drawing, if it has one, has been read."""
    if isinstance(slab.outline, OutlineFile):
        raise TypeError("the drawing of the outline has not been read")
    return slab.outline


def filled(loop: Loop) -> Polygon:
    """A loop as a polygon, within 0.02 mm."""
    return Polygon(loop.polyline(2e-5))


def on_slab(drawing: Drawing, at: Point) -> Point:
    """The point, moved onto the true edge if it lies a hair (at most 1 mm) outside."""
    if drawing.region.covers(shapely.Point(at)):
        return at
    nearest = min((locate(loop, at) for loop in drawing.shape.loops), key=lambda spot: spot.off)
    return nearest.at
