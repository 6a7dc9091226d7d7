"""Where the case's supports and loads stand, in the plate's own terms."""

from __future__ import annotations

import math

from shapely.geometry import Polygon

from api import case_model
from api.drawing import Drawing, on_slab
from api.edges import stretch
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, Load, PointPlace, Support

__all__ = ["concrete_under", "load_from", "support_from"]

Point = tuple[float, float]


def support_from(drawing: Drawing, support: case_model.AnySupport) -> Support:
    """The support with its true place; rigid if the case gives no stiffness."""
    stiffness = math.inf if support.stiffness is None else support.stiffness
    return Support(str(support.name), _place(drawing, support), support.action, support.gap, stiffness)


def load_from(drawing: Drawing, load: case_model.AnyLoad) -> Load:
    """The load with its true place."""
    name, place = str(load.name), _place(drawing, load)
    if isinstance(load, case_model.PointLoad):
        return Load(name, place, load.force)
    if isinstance(load, case_model.LineLoad):
        return Load(name, place, load.force_per_length)
    if isinstance(load, case_model.EdgeLoad):
        return Load(name, place, load.force_per_length or 0.0, load.moment_per_length or 0.0)
    return Load(name, place, _pressure(drawing, load))


def _pressure(drawing: Drawing, load: case_model.AreaLoad) -> float:
    """The load's pressure [Pa]; a force is spread over the concrete of its area."""
    if load.force is None:
        return load.pressure or 0.0
    return load.force / concrete_under(drawing, load.points)


def concrete_under(drawing: Drawing, points: tuple[Point, ...] | None) -> float:
    """Area of concrete within the polygon, or of the whole slab [m2]."""
    part = drawing.region if points is None else drawing.region.intersection(Polygon(points))
    return float(part.area)


def _place(
    drawing: Drawing, item: case_model.AnySupport | case_model.AnyLoad
) -> PointPlace | LinePlace | EdgePlace | AreaPlace:
    if isinstance(item, case_model.PointSupport | case_model.PointLoad):
        return PointPlace(on_slab(drawing, item.at), item.size)
    if isinstance(item, case_model.LineSupport | case_model.LineLoad):
        return LinePlace(tuple(on_slab(drawing, point) for point in item.points))
    if isinstance(item, case_model.EdgeSupport | case_model.EdgeLoad):
        number = 0 if item.opening is None else item.opening + 1
        loop = drawing.shape.loops[number]
        begin, end = (0.0, loop.length) if item.points is None else stretch(loop, *item.points)
        return EdgePlace(number, begin, end)
    return AreaPlace(item.points or ())
