"""How a piece stands: which part of its weight bends it, which acts in its plane, and on which supports it stands.

a is the angle by which a face is raised: 0 flat, 90 degrees on edge. The weight's part across the face goes with
cos a and bends; its part in the plane goes with sin a and presses the lower side on what carries it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from api import case_model
from api.drawing import Drawing
from api.edges import ON_EDGE, locate
from api.placing import in_plan, support_from
from fem.plate.model import Edgewise, Support, Variation

__all__ = ["TURNED", "LowerSide", "Standing", "bearing", "lower_side", "standing", "supports_of"]

Point = tuple[float, float]

# Angles at which a piece that is turned over is looked at, besides flat [degrees].
TURNED = (15, 30, 45, 60, 75, 90)


@dataclass(frozen=True, eq=False)
class LowerSide:
    """The side on which a piece stands: the ends of its chord [m], the way down (unit vector), and all of its edge.

    below: share of the piece that would hang lower than the chord.
    """

    ends: tuple[Point, Point]
    down: Point
    reach: BaseGeometry
    below: float


@dataclass(frozen=True)
class Standing:
    """The own weight of a stage in its posture: multiplier across the face, edgewise in the plane, and other ways."""

    multiplier: float
    edgewise: Edgewise | None
    variations: tuple[Variation, ...] = ()


def standing(drawing: Drawing, stage: case_model.Stage) -> Standing:
    """What a stage's posture makes of its weight; a piece that is turned starts flat."""
    if stage.posture == "flat":
        return Standing(stage.multiplier, None)
    lower = lower_side(drawing, stage.down)
    on_edge = Edgewise(lower.down, stage.multiplier, bearing(drawing, stage, lower))
    if stage.posture == "turning":
        raised = ((degrees, *_parts(on_edge, degrees)) for degrees in TURNED)
        ways = (Variation(f"raised {degrees} degrees", None, (), flat, upright) for degrees, flat, upright in raised)
        return Standing(stage.multiplier, None, tuple(ways))
    multiplier, edgewise = _parts(on_edge, 90.0 - (stage.angle or 0.0))
    return Standing(multiplier, edgewise, _thrown(stage, multiplier))


def supports_of(drawing: Drawing, stage: case_model.Stage) -> tuple[Support, ...]:
    """The stage's supports; one that carries the lower edge alone does not bear on the face."""
    gripping = stage.posture != "flat"
    return tuple(support_from(drawing, support, support.carries != "edge", gripping) for support in stage.support)


def bearing(drawing: Drawing, stage: case_model.Stage, lower: LowerSide) -> tuple[int, ...]:
    """Which supports, by index, carry the lower edge: those that say so, and lines and spots that touch it."""
    found = []
    for k, support in enumerate(stage.support):
        if support.carries is None and support.kind != "area":
            place = in_plan(drawing, support_from(drawing, support).place)
            carries = place.distance(lower.reach) <= ON_EDGE
        else:
            carries = support.carries in ("edge", "both")
        if carries:
            found.append(k)
    return tuple(found)


def lower_side(drawing: Drawing, down: tuple[Point, Point] | None) -> LowerSide:
    """The side between two spots of the outline, or else the longest on which the piece can stand."""
    ends = _longest_side(drawing) if down is None else down
    first, last = (np.asarray(locate(drawing.shape.outline, end).at) for end in ends)
    along = (last - first) / np.hypot(*(last - first))
    normal = np.array([along[1], -along[0]])
    middle = np.asarray(drawing.region.centroid.coords[0])
    if (middle - first) @ normal > 0:
        normal = -normal
    chord = LineString([first, last])
    far = 100.0 * along
    under = Polygon([first - far, first + far, first + far + 100 * normal, first - far + 100 * normal])
    slab = drawing.outline
    low = slab.exterior.intersection(under.buffer(ON_EDGE, join_style="mitre"))
    return LowerSide(
        ((float(first[0]), float(first[1])), (float(last[0]), float(last[1]))),
        (float(normal[0]) + 0.0, float(normal[1]) + 0.0),
        unary_union([chord, low]),
        float(slab.intersection(under).area / slab.area),
    )


def _longest_side(drawing: Drawing) -> tuple[Point, Point]:
    """The side of the outline's convex hull of which most is outline too; of equal ones the front one, then the left.

    On a level floor a piece can stand on the sides of its convex hull alone.
    """
    slab = drawing.outline
    corners = shapely.get_coordinates(slab.convex_hull)[:-1]
    step = np.roll(corners, -1, axis=0) - corners
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs(np.angle(np.exp(1j * (heading - np.roll(heading, 1)))))
    corners = corners[turn > 1e-6]
    edge = slab.exterior.buffer(1e-4)
    ends = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    sides = shapely.linestrings(ends)
    contact = shapely.length(shapely.intersection(sides, edge)).round(4)
    middle = shapely.get_coordinates(shapely.line_interpolate_point(sides, 0.5, normalized=True)).round(4)
    best = np.lexsort((middle[:, 0], middle[:, 1], -contact))[0]
    (x0, y0), (x1, y1) = sorted(ends[best].tolist())
    return (x0, y0), (x1, y1)


def _parts(on_edge: Edgewise, degrees: float) -> tuple[float, Edgewise]:
    """The multiplier across the face and the part in the plane of a piece raised by so much from flat."""
    angle = math.radians(degrees)
    # Rounded so that nothing is left across a piece that stands upright.
    across, along = round(math.cos(angle), 12), round(math.sin(angle), 12)
    return on_edge.multiplier * across, replace(on_edge, multiplier=on_edge.multiplier * along)


def _thrown(stage: case_model.Stage, multiplier: float) -> tuple[Variation, ...]:
    """The piece thrown across its face, both ways; + presses away from the face that is up."""
    if not stage.across:
        return ()
    away = {"underside": stage.across, "show": -stage.across}
    if stage.up == "underside":
        away = {face: -part for face, part in away.items()}
    words = {"show": "thrown towards the show face", "underside": "thrown towards the underside"}
    return tuple(Variation(words[face], multiplier=multiplier + part) for face, part in sorted(away.items()))
