"""Which steel lies across a crack at a place: the layers of a section there, and how far off the pull they run."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.capacity import arm, bars_of, shares
from fem.steel.ground import ground_of
from fem.steel.model import Demand, Face, Point, Rules, Run
from fem.steel.section import Layer

__all__ = ["layers_across", "off_the_pull"]

FloatArray = npt.NDArray[np.float64]


def layers_across(
    runs: Sequence[Run], region: shapely.Polygon, thickness: float, rules: Rules, at: Point, angle: float, face: Face
) -> tuple[Layer, ...]:
    """Layers of the section across a pull in the direction angle [rad] on a face at a place [m], by depth.

    Depths count from the pressed face. A run counts by its tent and its anchorage (see fem.steel.capacity), and with
    cos2 of the angle between it and the pull.
    """
    ground = ground_of(region, np.array([at]))
    found: dict[tuple[float, int], Layer] = {}
    for bars, numbers in bars_of(runs):
        turned = math.cos(bars.angle - angle) ** 2
        working = shares(ground, bars, rules).toarray()[0]
        for number, share in zip(numbers, working.tolist(), strict=True):
            run = runs[number]
            depth = arm(run.depth, thickness, face)
            area = run.steel.wires * run.steel.area * share * turned
            if area <= 0 or not 0 < depth < thickness:
                continue
            key = (round(depth, 6), id(run.steel))
            before = found[key].area if key in found else 0.0
            found[key] = Layer(depth, before + area, run.steel)
    return tuple(sorted(found.values(), key=lambda layer: layer.depth))


def off_the_pull(
    runs: Sequence[Run], demand: Demand, region: shapely.Polygon, rules: Rules, share: float = 0.5
) -> float | None:
    """Largest angle [rad] between the hardest pull and the nearest direction of a run at work there, either face's.

    Looked at are points where a face owes at least a share of the most that any owes; None where nothing is owed or
    nothing is at work.
    """
    most = max((float(needed.max(initial=0.0)) for needed in demand.needed.values()), default=0.0)
    if most <= 0 or not runs:
        return None
    ground = ground_of(region, demand.points)
    at_work = [
        (bars.angle, np.asarray(shares(ground, bars, rules).sum(axis=1)).ravel() > 0) for bars, _ in bars_of(runs)
    ]
    worst: list[float] = []
    for needed in demand.needed.values():
        hard = np.flatnonzero(needed.max(axis=1, initial=0.0) >= share * most)
        pull = demand.angles[needed[hard].argmax(axis=1)]
        off = np.full(len(hard), np.inf)
        for angle, works in at_work:
            turn = np.abs(pull - angle) % np.pi
            off = np.where(works[hard], np.minimum(off, np.minimum(turn, np.pi - turn)), off)
        worst += off[np.isfinite(off)].tolist()
    return max(worst, default=None)
