"""A stage with only those of its states that governed it: enough to look for a change, not to tell of one."""

from __future__ import annotations

from dataclasses import replace

import shapely
import shapely.ops

from fem.plate.model import Load, PointPlace, Stage, StageResult, Variation, Worst

__all__ = ["leanly"]


def leanly(stage: Stage, was: Stage, before: StageResult, region: shapely.Polygon) -> Stage:
    """The stage as it stands and in the states that governed it before, when it was another one, or in which it fell.

    A roaming load stands where it then stood, moved onto the region if that has been cut off.
    """
    asked: list[tuple[str, tuple[float, float] | None]] = [(one.variation, one.at) for one in _worst(before)]
    if before.tips is not None:
        asked.append((before.tips.variation, before.tips.at))
    kept: list[Variation] = []
    for name, at in dict.fromkeys(asked):
        if at is None:
            # By number: the names may speak of figures in other units.
            both = zip(stage.variations, was.variations, strict=False)
            kept += [one for one, other in both if other.name == name]
            continue
        load = next((one for one in stage.roaming if one.name == name), None)
        if load is not None:
            place = PointPlace(_onto(at, load.size, region), load.size)
            kept.append(Variation(f"{name} at its worst", loads=(Load(name, place, load.amount),)))
    return replace(stage, variations=tuple(kept), roaming=(), levels=False)


def _worst(before: StageResult) -> list[Worst]:
    return list(before.worst.values())


def _onto(at: tuple[float, float], size: float, region: shapely.Polygon) -> tuple[float, float]:
    room = region.buffer(-size / 2)
    point, room = shapely.Point(at), region if room.is_empty else room
    nearest = point if region.covers(point) else shapely.ops.nearest_points(room, point)[0]
    return float(nearest.x), float(nearest.y)
