"""Every support and load of every stage as columns of one matrix; a place that several stages share is solved for once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.footing import Footing, Site, footing
from fem.plate.free_plate import FreePlate
from fem.plate.model import AreaPlace, Load, PlateCase, Stage, Support

__all__ = ["Footings", "compliance", "footings", "load_parts"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footings:
    """Support footings by stage, and where their columns are.

    columns (6 n, s) load columns, response (6 n, s) their deflections for a modulus of 1 Pa, motion (3, s) their share
    in the rigid motions; of_stage[k][i] the footing of support i of stage k and the numbers of its columns.
    stage_load (6 n, k) everything that presses on the slab in stage k, stage_response (6 n, k) its deflection.
    pressing[k] pairs the footings of stage k's loads with their contacts' forces [N].
    """

    columns: FloatArray
    response: FloatArray
    motion: FloatArray
    of_stage: tuple[tuple[tuple[Footing, IntArray], ...], ...]
    stage_load: FloatArray
    stage_response: FloatArray
    pressing: tuple[tuple[tuple[Footing, FloatArray], ...], ...]


def footings(plate: FreePlate, site: Site, case: PlateCase, stages: Sequence[Stage]) -> Footings:
    """Discretise and solve all columns of all stages in one go."""
    found: dict[object, tuple[Footing, IntArray]] = {}
    parts: list[FloatArray] = []
    count = 0
    of_stage = []
    for stage in stages:
        mine = []
        for support in stage.supports:
            key = (support.place, support.action == "clamp", np.isinf(support.stiffness))
            if key not in found:
                foot = footing(site, support.place, support.action == "clamp", bool(np.isinf(support.stiffness)))
                parts.append(_columns(plate, foot))
                found[key] = foot, np.arange(count, count + foot.size)
                count += foot.size
            mine.append(found[key])
        of_stage.append(tuple(mine))
    columns = np.concatenate(parts, axis=1) if parts else np.zeros((plate.bell.size, 0))

    weight = case.density * case.gravity * case.thickness * plate.bell.body_load()
    load, pressing = [], []
    for stage in stages:
        vector, pressed = load_parts(plate, site, stage)
        load.append(stage.multiplier * weight + vector)
        pressing.append(pressed)
    stage_load = np.stack(load, axis=1)
    response = plate.solve(np.concatenate([columns, stage_load], axis=1))
    return Footings(
        columns,
        response[:, :count],
        plate.rigid_motions().T @ columns,
        tuple(of_stage),
        stage_load,
        response[:, count:],
        tuple(pressing),
    )


def load_parts(plate: FreePlate, site: Site, stage: Stage) -> tuple[FloatArray, tuple[tuple[Footing, FloatArray], ...]]:
    """Load vector (6 n,) of a stage's loads without its weight, and their footings with the forces of the contacts [N]."""
    total = np.zeros(plate.bell.size)
    pressed = []
    for load in stage.loads:
        if isinstance(load.place, AreaPlace) and not load.place.points:
            total += load.amount * plate.bell.body_load()
            continue
        foot = footing(site, load.place, clamp=load.moment != 0.0, concentrated=False)
        force = np.where(foot.slope, -_sagging(load, stage) * foot.tributary, load.amount * foot.tributary)
        total += _columns(plate, foot) @ force
        pressed.append((foot, force))
    return total, tuple(pressed)


def _sagging(load: Load, stage: Stage) -> float:
    """The edge moment as gravity sees it: positive where it pulls the face that looks down."""
    return load.moment if stage.up == "show" else -load.moment


def _columns(plate: FreePlate, foot: Footing) -> FloatArray:
    slope = ~np.isnan(foot.normal[:, 0])
    out = plate.bell.functionals(foot.points[~slope], foot.weight[~slope], foot.contact[~slope], foot.size)
    if slope.any():
        out += plate.bell.functionals(
            foot.points[slope], foot.weight[slope], foot.contact[slope], foot.size, foot.normal[slope]
        )
    return out


def compliance(support: Support, foot: Footing) -> FloatArray:
    """Compliance of each contact's own spring (s,) [m/N]; slopes are held rigidly."""
    soft = np.zeros(foot.size)
    if np.isfinite(support.stiffness):
        soft[~foot.slope] = 1.0 / (support.stiffness * foot.tributary[~foot.slope])
    return soft
