"""A plan that is proven: laid, checked independently at other points, laid again with those that were short.

Demand and strength are compared no nearer to an edge than half a thickness: the moments are means over a disc of one
thickness, no finer than that, and a run ends a cover short of the edge.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.check import Checked
from fem.steel.model import Demand, Plan

__all__ = ["Proven", "edge_strip", "plan_points", "prove"]

FloatArray = npt.NDArray[np.float64]

_HAIR = 1e-6
_ADDED = 200
_MOST_RAISED = 1.25


@dataclass(frozen=True, eq=False)
class Proven:
    """A plan, what the last check said of it, how often it was laid, and what is owed where it was last laid for."""

    plan: Plan
    checked: Checked
    rounds: int
    demand: Demand


def edge_strip(thickness: float) -> float:
    """Width [m] of the strip along every edge in which nothing is compared."""
    return thickness / 2


def plan_points(region: shapely.Polygon, thickness: float, spacing: float) -> FloatArray:
    """Points (q, 2) [m] that a plan is laid for: a grid, and a row along every edge, so far apart [m].

    The row keeps half a thickness from its edge; so do all others, at least.
    """
    inside = shapely.buffer(region, -edge_strip(thickness) - _HAIR)
    if shapely.is_empty(inside):
        return np.zeros((0, 2))
    x0, y0, x1, y1 = region.bounds
    axes = []
    for low, high in ((x0, x1), (y0, y1)):
        count = int((high - low) / spacing)
        axes.append((low + high) / 2 + spacing * (np.arange(count + 1) - count / 2))
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    rows = shapely.get_coordinates(shapely.segmentize(shapely.boundary(inside), spacing))
    found = np.concatenate([grid[shapely.contains_xy(inside, grid[:, 0], grid[:, 1])], rows])
    return np.unique(np.round(found, 9), axis=0)


def prove(
    lay: Callable[[Demand], Plan],
    owed: Callable[[FloatArray], Demand],
    check: Callable[[Plan, int], Checked],
    points: FloatArray,
    most: int = 4,
) -> Proven:
    """A plan for what is owed at points (q, 2) [m] that passes the check, if most rounds bring one.

    lay makes a plan for a demand; owed tells the demand at points; check looks at a plan, at other points in each round
    (its number). A plan with failures is not laid again. From the second round on more is asked for everywhere, by as
    much as the last plan fell short.
    """
    demand, times = owed(points), 1.0
    for turn in range(most):
        plan = lay(demand if times == 1 else _raised(demand, times))
        checked = check(plan, turn)
        if checked.passes or plan.failures or turn == most - 1:
            return Proven(plan, checked, turn + 1, demand)
        every = max(len(checked.short) // _ADDED, 1)
        demand = _joined(demand, owed(checked.short[::every]))
        if turn:
            times = min(times / max(checked.factor, 1 / _MOST_RAISED), _MOST_RAISED)
    raise ValueError(f"at least one round is needed, not {most}")


def _raised(demand: Demand, times: float) -> Demand:
    return replace(demand, needed={face: times * owed for face, owed in demand.needed.items()})


def _joined(one: Demand, other: Demand) -> Demand:
    """Both demands as one; they are of the same stages and directions."""
    return Demand(
        np.concatenate([one.points, other.points]),
        one.angles,
        {face: np.concatenate([owed, other.needed[face]]) for face, owed in one.needed.items()},
        {face: np.concatenate([stage, other.governs[face]]) for face, stage in one.governs.items()},
        one.names,
        one.notes,
    )
