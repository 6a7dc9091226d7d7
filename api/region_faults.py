"""Regions with a depth of their own that cannot be: off the slab, over one another, or no thinner than it."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Polygon

from api.case_model import Slab
from api.case_regions import AnyRegion, PointsRegion, region_points
from api.drawing import Drawing
from api.errors import Problem
from api.loop_faults import loop_problems
from api.place_faults import area_off
from api.units import LENGTH, UnitSystem, in_words

__all__ = ["depth_faults", "region_faults"]

# Concrete that must be left once the tolerance is taken off [m].
LEAST_LEFT = 4e-3
# Regions may share an edge: less than this of a common area is round-off [m2].
COMMON = 1e-6


def depth_faults(slab: Slab, system: UnitSystem) -> Iterator[Problem]:
    """Depths and a tolerance that do not go with the thickness."""
    if slab.tolerance > slab.thickness / 3:
        most = in_words(slab.thickness / 3, LENGTH, system)
        what = f"a tolerance of {in_words(slab.tolerance, LENGTH, system)} leaves too little of the slab"
        yield Problem("slab.tolerance", what, f"at most {most}, a third of the thickness")
    for k, region in enumerate(slab.region):
        depth, thickness = (in_words(value, LENGTH, system) for value in (region.depth, slab.thickness))
        if region.depth > slab.thickness:
            what = f"a depth of {depth} is more than the slab's {thickness}: that is a rib, which is not computed here"
            yield Problem(
                f"slab.region[{k}].depth", what, "leave the region out, or give what is left of the slab there"
            )
        elif region.depth - slab.tolerance < LEAST_LEFT:
            what = f"a depth of {depth} less the tolerance leaves nothing"
            yield Problem(f"slab.region[{k}].depth", what, "give more depth, or a smaller tolerance")


def region_faults(drawing: Drawing, regions: tuple[AnyRegion, ...]) -> list[Problem]:
    """Regions that are no sound shape, lie off the slab, or overlap."""
    problems: list[Problem] = []
    sound: dict[int, Polygon] = {}
    for k, region in enumerate(regions):
        faults = _one_region(drawing, region, f"slab.region[{k}]")
        problems += faults
        if not faults:
            sound[k] = Polygon(region_points(region))
    numbers = list(sound)
    for i, first in enumerate(numbers):
        for second in numbers[i + 1 :]:
            if sound[first].intersection(sound[second]).area > COMMON:
                what = f"the region overlaps slab.region[{first}]: which depth counts there?"
                problems.append(Problem(f"slab.region[{second}]", what, "let them share an edge at most"))
    return problems


def _one_region(drawing: Drawing, region: AnyRegion, where: str) -> list[Problem]:
    if isinstance(region, PointsRegion):
        return area_off(drawing, region.points, f"{where}.points", "the region")
    faults = loop_problems(region, where, drawing.system)
    return faults or area_off(drawing, region_points(region), where, "the region")
