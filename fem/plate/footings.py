"""Every support and load of every stage as columns of one matrix; a place shared by stages is solved for once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fem.plate.footing import Footing, Site, footing, join
from fem.plate.free_plate import FreePlate
from fem.plate.model import AreaPlace, Load, PlateCase, Stage, Support

__all__ = ["MOST_CONTACTS", "Columns", "Footings", "compliance", "footings", "solve_columns", "stage_groups"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

#: Contacts of one stage, which the contact problem's time bounds, and columns solved together, which memory bounds.
MOST_CONTACTS = 400
MOST_COLUMNS = 2000


@dataclass(frozen=True, eq=False)
class Footings:
    """Where the slab is touched, stage by stage.

    supports[k][i] is the footing of support i of stage k; stages that share a place share the footing. pressing[k]
    pairs the footings of stage k's loads with their contacts' forces [N], downwards; even[k] is the pressure on the
    whole slab [Pa], its own weight included. crowded[k]: so many supports that the contacts had to be set farther
    apart.
    """

    supports: tuple[tuple[Footing, ...], ...]
    pressing: tuple[tuple[tuple[Footing, FloatArray], ...], ...]
    even: tuple[float, ...]
    crowded: tuple[bool, ...]


@dataclass(frozen=True, eq=False)
class Columns:
    """The columns of a group of stages.

    columns (6 n, s) are the load columns of all contacts, response (6 n, s) their deflections for a modulus of 1 Pa,
    motion (3, s) their part in the rigid motions. For each stage: contacts[k] (s of the stage,) the numbers of its
    contacts, load[k] (6 n,) all that presses on the slab, load_response[k] (6 n,) its deflection for 1 Pa; rigidity
    [m3] the scalar D for 1 Pa.
    """

    columns: FloatArray
    response: FloatArray
    motion: FloatArray
    contacts: dict[int, IntArray]
    load: dict[int, FloatArray]
    load_response: dict[int, FloatArray]
    rigidity: float


def footings(site: Site, case: PlateCase, stages: Sequence[Stage]) -> Footings:
    """Divide every support and load into contacts."""
    known: dict[object, Footing] = {}
    supports, crowded = zip(*(_supporting(site, stage, known) for stage in stages), strict=True) if stages else ((), ())
    weight = case.density * case.gravity * case.thickness
    return Footings(
        supports,
        tuple(tuple(_pressing(site, stage, load) for load in stage.loads if not _is_even(load)) for stage in stages),
        tuple(
            stage.multiplier * weight + sum(load.amount for load in stage.loads if _is_even(load)) for stage in stages
        ),
        crowded,
    )


def stage_groups(feet: Footings) -> list[range]:
    """Consecutive stages that are solved together: as many as keep the columns within memory."""
    groups: list[range] = []
    first = count = 0
    for k, supports in enumerate(feet.supports):
        mine = sum(foot.size for foot in supports) + 1
        if count + mine > MOST_COLUMNS and k > first:
            groups.append(range(first, k))
            first, count = k, 0
        count += mine
    return [*groups, range(first, len(feet.supports))]


def solve_columns(plate: FreePlate, feet: Footings, group: range) -> Columns:
    """All columns of a group of stages, solved in one go."""
    number: dict[int, IntArray] = {}
    order: list[Footing] = []
    count = 0
    for foot in (foot for k in group for foot in feet.supports[k]):
        if id(foot) not in number:
            number[id(foot)] = np.arange(count, count + foot.size)
            order.append(foot)
            count += foot.size
    columns = _functionals(plate, join(order))
    even = plate.bell.body_load
    load = np.outer(even, [feet.even[k] for k in group])
    for column, k in enumerate(group):
        for foot, force in feet.pressing[k]:
            load[:, column] += _functionals(plate, foot) @ force
    response = plate.solve(np.concatenate([columns, load], axis=1))
    none = np.zeros(0, dtype=np.int64)
    return Columns(
        columns,
        response[:, :count],
        plate.rigid_motions.T @ columns,
        {k: np.concatenate([none, *(number[id(foot)] for foot in feet.supports[k])]) for k in group},
        {k: load[:, column] for column, k in enumerate(group)},
        {k: response[:, count + column] for column, k in enumerate(group)},
        float(plate.rigidity[0, 0]),
    )


def compliance(support: Support, foot: Footing, rigidity: float) -> FloatArray:
    """Compliance of each contact's own spring and of the plate close by (s,) [m/N]; slopes are held rigidly.

    rigidity [N m] is the plate's scalar D.
    """
    soft = np.zeros(foot.size) if foot.give is None else foot.give / rigidity
    if np.isfinite(support.stiffness):
        soft[~foot.slope] += 1.0 / (support.stiffness * foot.tributary[~foot.slope])
    return soft


def _supporting(site: Site, stage: Stage, known: dict[object, Footing]) -> tuple[tuple[Footing, ...], bool]:
    """Footings of a stage's supports, set farther apart where there would be too many for the contact problem."""
    feet: tuple[Footing, ...] = ()
    for attempt in range(6):
        feet = tuple(_support(site, support, known) for support in stage.supports)
        count = sum(foot.size for foot in feet)
        if count <= MOST_CONTACTS:
            return feet, attempt > 0
        site = site.coarser(1.1 * count / MOST_CONTACTS)
    return feet, True


def _support(site: Site, support: Support, known: dict[object, Footing]) -> Footing:
    clamp, rigid = support.action == "clamp", bool(np.isinf(support.stiffness))
    key = (support.place, clamp, rigid, site.spacing)
    if key not in known:
        known[key] = footing(site, support.place, clamp, rigid)
    return known[key]


def _is_even(load: Load) -> bool:
    return isinstance(load.place, AreaPlace) and not load.place.points


def _pressing(site: Site, stage: Stage, load: Load) -> tuple[Footing, FloatArray]:
    # An edge moment is positive where it pulls the underside; gravity counts it positive where it pulls the face below.
    sagging = load.moment if stage.up == "show" else -load.moment
    foot = footing(site, load.place, clamp=load.moment != 0.0, concentrated=False)
    return foot, np.where(foot.slope, -sagging, load.amount) * foot.tributary


def _functionals(plate: FreePlate, foot: Footing) -> FloatArray:
    return plate.bell.functionals(foot.points, foot.weight, foot.contact, foot.size, foot.normal)
