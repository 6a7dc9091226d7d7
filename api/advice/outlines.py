"""Where supports and loads lie on the slab, as lines and areas to measure and to cut."""

from __future__ import annotations

import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PointPlace
from meshing.shape import Shape

__all__ = ["edge_line", "geometry_of"]


def edge_line(shape: Shape, place: EdgePlace) -> shapely.LineString:
    """A stretch of a true edge as a chain of straight pieces, within 0.1 mm."""
    ring = shape.loops[place.loop].polyline(1e-4)
    twice = shapely.LineString([*ring, *ring, ring[0]])
    # The chain is a hair shorter than the true edge.
    scale = twice.length / (2 * shape.loops[place.loop].length)
    part = shapely.ops.substring(twice, place.begin * scale, place.end * scale)
    return part if isinstance(part, shapely.LineString) else shapely.LineString([*part.coords, *part.coords])


def geometry_of(shape: Shape, place: PointPlace | LinePlace | EdgePlace | AreaPlace) -> BaseGeometry:
    """A place as a point, line or area [m]."""
    if isinstance(place, PointPlace):
        return shapely.Point(place.at)
    if isinstance(place, LinePlace):
        return shapely.LineString(place.points)
    if isinstance(place, AreaPlace):
        return shapely.Polygon(place.points) if place.points else shape.region(1e-4)
    return edge_line(shape, place)
