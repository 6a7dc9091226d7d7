"""Supports as a case writes them: points, lines, edges, areas, and hands, which give way alike and may let go."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from api.case_values import AreaPoints, Flag, Index, LinePoints, PatchSize, Point, Quantity, Stretch, Text
from api.shapes import Record
from api.units import FORCE, LENGTH, STIFFNESS_AREA, STIFFNESS_LINE, STIFFNESS_POINT

__all__ = [
    "AnySupport",
    "AreaSupport",
    "EdgeSupport",
    "HandSupport",
    "LineSupport",
    "PointSupport",
    "Supports",
]

MOST_SUPPORTS = 80

Action = Literal["rest", "hold", "clamp"]
Carries = Literal["face", "edge", "both"]
Gap = Annotated[float, Quantity("a gap", LENGTH, -0.1, 0.1)]


class _Bearer(Record):
    name: Text | None = None
    """Left out: "support 1", "support 2", ... in the order of the stage."""
    carries: Carries | None = None
    """Not flat: what it carries; left out: "both" where it touches the lower side (1 mm), "face" elsewhere or an area.
    """


class _Support(_Bearer):
    action: Action
    """rest bears only when pressed; hold keeps w; clamp keeps the slope too (across a line, both ways at a point)."""
    gap: Gap = 0.0
    """+ the support stands low by so much, - it is packed up."""
    may_go: Flag = False
    """The stage is also solved without it."""


class PointSupport(_Support):
    """A support at a spot."""

    kind: Literal["point"]
    at: Point
    size: PatchSize = 0.0
    """Side of the square that bears."""
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_POINT, 1.0, 1e15)] | None = None
    """Force per length; left out: rigid."""


class LineSupport(_Support):
    """A support along a chain of straight lines."""

    kind: Literal["line"]
    points: LinePoints
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_LINE, 1.0, 1e15)] | None = None
    """Force per length of deflection and per length of line; left out: rigid."""


class EdgeSupport(_Support):
    """A support along the true edge of the slab or of an opening."""

    kind: Literal["edge"]
    points: Stretch | None = None
    """[from, to] on the edge, within 1 mm, run counter-clockwise; left out: the whole edge."""
    opening: Index | None = None
    """The edge of this opening; left out: the outline."""
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_LINE, 1.0, 1e15)] | None = None
    """Force per length of deflection and per length of edge; left out: rigid."""


class AreaSupport(_Support):
    """A support under a polygon."""

    kind: Literal["area"]
    points: AreaPoints
    stiffness: Annotated[float, Quantity("a stiffness", STIFFNESS_AREA, 1.0, 1e15)] | None = None
    """Force per length of deflection and per area; left out: rigid."""


class HandSupport(_Bearer):
    """A hand, or two of one person side by side: it gives way, and each in turn also lets go."""

    kind: Literal["hand"]
    action: Literal["rest"] = "rest"
    """A hand bears only when pressed; on a piece that leans or stands on edge it grips, and holds both ways."""
    at: Point
    size: PatchSize = 0.1016
    """Side of the square that bears; left out: 4 in."""
    limit: Annotated[float, Quantity("a limit", FORCE, 1.0, 5e4)] | None = None
    """The most that is to be lifted or pulled here; the answer compares."""


AnySupport = PointSupport | LineSupport | EdgeSupport | AreaSupport | HandSupport


def _named(supports: tuple[AnySupport, ...]) -> tuple[AnySupport, ...]:
    return tuple(
        one if one.name is not None else one.model_copy(update={"name": f"support {k}"})
        for k, one in enumerate(supports, 1)
    )


Supports = Annotated[
    tuple[Annotated[AnySupport, Field(discriminator="kind")], ...],
    Field(min_length=1, max_length=MOST_SUPPORTS),
    AfterValidator(_named),
]
