"""Loads and bows as a case writes them: loads that stand, roam or travel, and curvature by drying or warmth."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer, WithJsonSchema, model_validator

from api.case_values import (
    MOST_POINTS,
    AreaPoints,
    Index,
    LinePoints,
    Number,
    PatchSize,
    Point,
    Quantity,
    Stretch,
    Text,
    fault,
)
from api.shapes import Record
from api.units import CURVATURE, FORCE, FORCE_PER_LENGTH, MOMENT_PER_LENGTH, PRESSURE, TEMPERATURE_DIFFERENCE

__all__ = ["AnyLoad", "AreaLoad", "Bow", "Bows", "EdgeLoad", "LineLoad", "Loads", "PointLoad"]

MOST_LOADS, MOST_BOWS = 80, 20

Force = Annotated[float, Quantity("a force", FORCE, -5e5, 5e5)]
LineForce = Annotated[float, Quantity("a force per length", FORCE_PER_LENGTH, -1e6, 1e6)]
LineMoment = Annotated[float, Quantity("a moment per length", MOMENT_PER_LENGTH, -1e6, 1e6)]
Pressure = Annotated[float, Quantity("a pressure", PRESSURE, -1e6, 1e6)]


def _region(value: Any) -> Any:
    """None where the load stands, () for the whole slab, else the corners of its region."""
    if value is None or value is False:
        return None
    if value is True:
        return ()
    if not isinstance(value, list | tuple) or not 3 <= len(value) <= MOST_POINTS:
        form = "roaming = true (the whole slab), or its region: roaming = [[x, y], [x, y], [x, y], ...]"
        raise fault("this is no region to roam", f"write {form}, 3 to {MOST_POINTS} corners")
    return value


_REGION_FORMS = {
    "anyOf": [
        {"type": "boolean", "description": "true: anywhere on the slab"},
        {"type": "array", "items": {"type": "array"}, "minItems": 3, "maxItems": MOST_POINTS},
        {"type": "null"},
    ]
}
Region = Annotated[
    tuple[Point, ...] | None,
    BeforeValidator(_region),
    PlainSerializer(lambda corners: True if corners == () else corners),
    WithJsonSchema(_REGION_FORMS),
]


class _Load(Record):
    name: Text | None = None
    """Left out: "load 1", "load 2", ... in the order of the stage."""


class PointLoad(_Load):
    """A force at a spot, or at any one spot of a region at a time."""

    kind: Literal["point"]
    at: Point | None = None
    """Where it stands; left out if it roams."""
    force: Force
    """+ acts with gravity."""
    size: PatchSize = 0.0
    """Side of the square over which it is spread."""
    roaming: Region = None
    """true: it may stand anywhere on the slab; [P, P, P, ...]: anywhere in this region. The worst place counts."""

    @model_validator(mode="after")
    def _one_place(self) -> PointLoad:
        if self.at is None and self.roaming is None:
            raise fault("this load has no place", "add at = [x, y], or roaming = true if it may stand anywhere")
        if self.at is not None and self.roaming is not None:
            raise fault("this load stands and roams at once", "leave out either at or roaming")
        return self


class LineLoad(_Load):
    """A force along a chain of straight lines; with to, it travels from points to there."""

    kind: Literal["line"]
    points: LinePoints
    to: LinePoints | None = None
    """Where it travels to, point by point: as many as points. The worst place on its way counts."""
    force_per_length: LineForce
    """+ acts with gravity."""

    @model_validator(mode="after")
    def _as_many(self) -> LineLoad:
        if self.to is not None and len(self.to) != len(self.points):
            counts = f'"points" has {len(self.points)} points and "to" has {len(self.to)}'
            raise fault(f"this load cannot travel: {counts}", "give to one point for each of points")
        return self


class EdgeLoad(_Load):
    """A force or a moment along the true edge of the slab or of an opening."""

    kind: Literal["edge"]
    points: Stretch | None = None
    """[from, to] on the edge, within 1 mm, run counter-clockwise; left out: the whole edge."""
    opening: Index | None = None
    """The edge of this opening; left out: the outline."""
    force_per_length: LineForce | None = None
    """+ acts with gravity."""
    moment_per_length: LineMoment | None = None
    """+ pulls the underside."""

    @model_validator(mode="after")
    def _something(self) -> EdgeLoad:
        if self.force_per_length is None and self.moment_per_length is None:
            raise fault("this edge load has no amount", "give force_per_length, moment_per_length, or both")
        return self


class AreaLoad(_Load):
    """A pressure over a polygon or over the whole slab, or a force spread evenly over it."""

    kind: Literal["area"]
    points: AreaPoints | None = None
    """Left out: the whole slab."""
    pressure: Pressure | None = None
    """+ acts with gravity; this or force."""
    force: Force | None = None
    """Whole force, spread evenly over the concrete of the area, + acts with gravity; this or pressure."""

    @model_validator(mode="after")
    def _one_amount(self) -> AreaLoad:
        if (self.pressure is None) == (self.force is None):
            both = "has both a pressure and a force" if self.force is not None else "has no amount"
            raise fault(f"this area load {both}", "give either pressure or force")
        return self


class Bow(Record):
    """What the slab would bend to if it were free: by a curvature, by drying from one face, or by warmth on one."""

    name: Text | None = None
    """Left out: "bow 1", "bow 2", ... in the order of the stage."""
    points: AreaPoints | None = None
    """The part that bows; left out: the whole slab."""
    curvature: Annotated[float, Quantity("a curvature", CURVATURE, -1.0, 1.0)] | None = None
    """One over the radius; + where the underside would be the longer face. This, drying or warmer."""
    drying: Literal["show", "underside"] | None = None
    """The face that dries and so gets shorter; needs strain."""
    strain: Annotated[float, Number("strain", 0.0, 0.005)] | None = None
    """How much shorter than the other face, per length (300e-6 is 0.3 mm a metre)."""
    warmer: Literal["show", "underside"] | None = None
    """The face that is warmer and so gets longer; needs difference."""
    difference: Annotated[float, Quantity("a difference", TEMPERATURE_DIFFERENCE, 0.0, 300.0)] | None = None
    """How much warmer than the other face."""

    @model_validator(mode="after")
    def _one_cause(self) -> Bow:
        how = "give one of: curvature; drying and strain; warmer and difference"
        if (self.drying is None) != (self.strain is None):
            raise fault('"drying" and "strain" go together: one of them is missing', how)
        if (self.warmer is None) != (self.difference is None):
            raise fault('"warmer" and "difference" go together: one of them is missing', how)
        causes = sum(cause is not None for cause in (self.curvature, self.drying, self.warmer))
        if causes != 1:
            raise fault("this bow has no cause" if causes == 0 else "this bow has more than one cause", how)
        return self


AnyLoad = PointLoad | LineLoad | EdgeLoad | AreaLoad


def _named_loads(loads: tuple[AnyLoad, ...]) -> tuple[AnyLoad, ...]:
    return tuple(
        one if one.name is not None else one.model_copy(update={"name": f"load {k}"}) for k, one in enumerate(loads, 1)
    )


def _named_bows(bows: tuple[Bow, ...]) -> tuple[Bow, ...]:
    return tuple(
        one if one.name is not None else one.model_copy(update={"name": f"bow {k}"}) for k, one in enumerate(bows, 1)
    )


Loads = Annotated[
    tuple[Annotated[AnyLoad, Field(discriminator="kind")], ...],
    Field(max_length=MOST_LOADS),
    AfterValidator(_named_loads),
]
Bows = Annotated[tuple[Bow, ...], Field(max_length=MOST_BOWS), AfterValidator(_named_bows)]
