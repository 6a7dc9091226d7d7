"""Where the case's supports, loads and bows stand, in the plate's own terms."""

from __future__ import annotations

import math
from typing import TypeGuard

import shapely.ops
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from api import case_model
from api.drawing import Drawing, on_slab
from api.edges import stretch
from fem.plate.model import HAND_STIFFNESS, AreaPlace, EdgePlace, LinePlace, Load, PointPlace, Roaming, Support

__all__ = ["concrete_under", "in_plan", "load_from", "roaming_from", "roams", "support_from"]

Point = tuple[float, float]
Place = PointPlace | LinePlace | EdgePlace | AreaPlace


def support_from(
    drawing: Drawing, support: case_model.AnySupport, face: bool = True, gripping: bool = False
) -> Support:
    """The support with its true place; rigid if the case gives no stiffness. face: whether it bears on the face.

    gripping: hands hold the slab between palm and fingers, both ways, as they do at an edge of one that stands.
    """
    name, place = str(support.name), _place(drawing, support)
    if isinstance(support, case_model.HandSupport):
        return Support(name, place, "hold" if gripping else "rest", 0.0, HAND_STIFFNESS, face)
    stiffness = math.inf if support.stiffness is None else support.stiffness
    return Support(name, place, support.action, support.gap, stiffness, face)


def load_from(drawing: Drawing, load: case_model.AnyLoad) -> Load:
    """The load with its true place, a travelling one where it starts; ValueError for one that roams."""
    name, place = str(load.name), _place(drawing, load)
    if isinstance(load, case_model.PointLoad):
        return Load(name, place, load.force)
    if isinstance(load, case_model.LineLoad):
        return Load(name, place, load.force_per_length)
    if isinstance(load, case_model.EdgeLoad):
        return Load(name, place, load.force_per_length or 0.0, load.moment_per_length or 0.0)
    return Load(name, place, _pressure(drawing, load))


def roams(load: case_model.AnyLoad) -> TypeGuard[case_model.PointLoad]:
    """Whether a load may stand at many places."""
    return isinstance(load, case_model.PointLoad) and load.roaming is not None


def roaming_from(load: case_model.PointLoad) -> Roaming:
    """The load that may stand anywhere on the slab, or in its region."""
    return Roaming(str(load.name), load.force, load.size, (load.roaming or (),))


def concrete_under(drawing: Drawing, points: tuple[Point, ...] | None) -> float:
    """Area of concrete within the polygon, or of the whole slab [m2]."""
    part = drawing.region if points is None else drawing.region.intersection(Polygon(points))
    return float(part.area)


def in_plan(drawing: Drawing, place: Place) -> BaseGeometry:
    """The place as a geometry in plan: a spot, a chain of lines, a polygon."""
    if isinstance(place, PointPlace):
        return Spot(place.at)
    if isinstance(place, LinePlace):
        return LineString(place.points)
    if isinstance(place, EdgePlace):
        twice, length = drawing.twice_round[place.loop], drawing.shape.loops[place.loop].length
        if place.end - place.begin >= length:
            return twice
        share = twice.length / 2 / length
        return shapely.ops.substring(twice, place.begin * share, place.end * share)
    return Polygon(place.points) if place.points else drawing.region


def _pressure(drawing: Drawing, load: case_model.AreaLoad) -> float:
    """The load's pressure [Pa]; a force is spread over the concrete of its area."""
    if load.force is None:
        return load.pressure or 0.0
    return load.force / concrete_under(drawing, load.points)


def _place(drawing: Drawing, item: case_model.AnySupport | case_model.AnyLoad) -> Place:
    if isinstance(item, case_model.PointSupport | case_model.HandSupport | case_model.PointLoad):
        if item.at is None:
            raise ValueError(f"the load {item.name} roams: it has no place of its own")
        return PointPlace(on_slab(drawing, item.at), item.size)
    if isinstance(item, case_model.LineLoad) and item.to is not None:
        return LinePlace(item.points)
    if isinstance(item, case_model.LineSupport | case_model.LineLoad):
        return LinePlace(tuple(on_slab(drawing, point) for point in item.points))
    if isinstance(item, case_model.EdgeSupport | case_model.EdgeLoad):
        number = 0 if item.opening is None else item.opening + 1
        loop = drawing.shape.loops[number]
        begin, end = (0.0, loop.length) if item.points is None else stretch(loop, *item.points)
        return EdgePlace(number, begin, end)
    return AreaPlace(item.points or ())
