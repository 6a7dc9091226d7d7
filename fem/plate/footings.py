"""Every support and load of every stage as columns of one matrix; a place shared by stages is solved for once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.footing import Footing, Site, footing, join
from fem.plate.free_plate import FreePlate
from fem.plate.model import AreaPlace, Load, PlateCase, Stage, Support

__all__ = ["Columns", "Footings", "compliance", "footings", "solve_columns"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footings:
    """Where the slab is touched. of_stage[k][i]: the footing of support i in stage k and the numbers of its contacts.

    pressing[k] pairs the footings of stage k's loads with their contacts' forces [N], downwards; even[k] is the
    pressure on the whole slab [Pa], its own weight included; joined holds the contacts of all supports, numbered
    through.
    """

    of_stage: tuple[tuple[tuple[Footing, IntArray], ...], ...]
    pressing: tuple[tuple[tuple[Footing, FloatArray], ...], ...]
    even: tuple[float, ...]
    joined: Footing


@dataclass(frozen=True, eq=False)
class Columns:
    """Load columns (6 n, s) of all contacts, their deflections response (6 n, s) for 1 Pa, their motion (3, s).

    stage_load (6 n, k): all that presses on the slab in stage k; stage_response (6 n, k) its deflection for 1 Pa.
    """

    columns: FloatArray
    response: FloatArray
    motion: FloatArray
    stage_load: FloatArray
    stage_response: FloatArray


def footings(site: Site, case: PlateCase, stages: Sequence[Stage]) -> Footings:
    """Divide every support and load into contacts."""
    found: dict[object, tuple[Footing, IntArray]] = {}
    count = 0
    of_stage = []
    for stage in stages:
        mine = []
        for support in stage.supports:
            clamp, rigid = support.action == "clamp", bool(np.isinf(support.stiffness))
            key = (support.place, clamp, rigid)
            if key not in found:
                foot = footing(site, support.place, clamp, rigid)
                found[key] = foot, np.arange(count, count + foot.size)
                count += foot.size
            mine.append(found[key])
        of_stage.append(tuple(mine))
    weight = case.density * case.gravity * case.thickness
    return Footings(
        tuple(of_stage),
        tuple(tuple(_pressing(site, stage, load) for load in stage.loads if not _is_even(load)) for stage in stages),
        tuple(
            stage.multiplier * weight + sum(load.amount for load in stage.loads if _is_even(load)) for stage in stages
        ),
        join([foot for foot, _ in found.values()]),
    )


def solve_columns(plate: FreePlate, feet: Footings) -> Columns:
    """All columns of all stages, solved in one go."""
    columns = _functionals(plate, feet.joined)
    even = plate.bell.body_load()
    load = np.outer(even, feet.even)
    for k, pressing in enumerate(feet.pressing):
        for foot, force in pressing:
            load[:, k] += _functionals(plate, foot) @ force
    response = plate.solve(np.concatenate([columns, load], axis=1))
    s = feet.joined.size
    return Columns(columns, response[:, :s], plate.rigid_motions().T @ columns, load, response[:, s:])


def compliance(support: Support, foot: Footing) -> FloatArray:
    """Compliance of each contact's own spring (s,) [m/N]; slopes are held rigidly."""
    soft = np.zeros(foot.size)
    if np.isfinite(support.stiffness):
        soft[~foot.slope] = 1.0 / (support.stiffness * foot.tributary[~foot.slope])
    return soft


def _is_even(load: Load) -> bool:
    return isinstance(load.place, AreaPlace) and not load.place.points


def _pressing(site: Site, stage: Stage, load: Load) -> tuple[Footing, FloatArray]:
    # An edge moment is positive where it pulls the underside; gravity counts it positive where it pulls the face below.
    sagging = load.moment if stage.up == "show" else -load.moment
    foot = footing(site, load.place, clamp=load.moment != 0.0, concentrated=False)
    return foot, np.where(foot.slope, -sagging, load.amount) * foot.tributary


def _functionals(plate: FreePlate, foot: Footing) -> FloatArray:
    return plate.bell.functionals(foot.points, foot.weight, foot.contact, foot.size, foot.normal)
