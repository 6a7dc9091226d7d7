"""The contacts of any place."""

from __future__ import annotations

from fem.plate.footing.areas import area_footing
from fem.plate.footing.contacts import Footing
from fem.plate.footing.edges import edge_footing
from fem.plate.footing.lines import line_footing
from fem.plate.footing.points import point_footing
from fem.plate.footing.site import Site
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PointPlace

__all__ = ["Place", "footing"]

Place = PointPlace | LinePlace | EdgePlace | AreaPlace


def footing(site: Site, place: Place, clamp: bool = False, concentrated: bool = True) -> Footing:
    """The contacts of a place; clamp adds those that hold the slope, concentrated the forces at ends and corners.

    A footing without contacts is a place that misses the slab altogether.
    """
    if isinstance(place, PointPlace):
        return point_footing(site, place, clamp, concentrated)
    if isinstance(place, LinePlace):
        return line_footing(site, place, clamp, concentrated)
    if isinstance(place, EdgePlace):
        return edge_footing(site, place, clamp, concentrated)
    return area_footing(site, place)
