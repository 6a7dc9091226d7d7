"""Every way a stage may come, divided into contacts: the states of a stage, what bears in each and what presses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fem.plate.footing import Footing, Site, footing, join
from fem.plate.model import AreaPlace, Bow, Edgewise, Face, Load, PlateCase, Stage, Support, Variation

__all__ = [
    "MOST_CONTACTS",
    "KnownPlaces",
    "Pressing",
    "StageFootings",
    "State",
    "compliance",
    "footings",
    "pressing_of",
    "stage_groups",
]

FloatArray = npt.NDArray[np.float64]

#: Contacts of one state, which the contact problem's time bounds, and columns solved together, which memory bounds.
MOST_CONTACTS = 400
MOST_COLUMNS = 2000
# What bears only the lower edge of a slab that stands touches no face of it.
_NOTHING = join([])


@dataclass(frozen=True, eq=False)
class Pressing:
    """A load's footing and the forces (s,) [N] of its contacts, downwards."""

    foot: Footing
    force: FloatArray


@dataclass(frozen=True, eq=False)
class State:
    """One way a stage may come: name "" for the stage as it stands.

    feet are the footings of its supports; pressing its loads but for those on the whole slab, which are even [Pa];
    weight is the multiplier of the own weight across the face.
    """

    name: str
    supports: tuple[Support, ...]
    feet: tuple[Footing, ...]
    pressing: tuple[Pressing, ...]
    even: float
    weight: float
    bows: tuple[Bow, ...]
    edgewise: Edgewise | None


@dataclass(frozen=True, eq=False)
class StageFootings:
    """A stage's states, the stage as it stands first. Supports that share a place share the footing.

    crowded: so many supports that the contacts had to be set farther apart.
    """

    states: tuple[State, ...]
    crowded: bool

    @property
    def feet(self) -> tuple[Footing, ...]:
        """The footings of all states, each once."""
        return tuple({id(foot): foot for state in self.states for foot in state.feet}.values())

    @property
    def pressing(self) -> tuple[Pressing, ...]:
        """The loads of all states, each once."""
        return tuple({id(press): press for state in self.states for press in state.pressing}.values())


@dataclass(frozen=True, eq=False)
class KnownPlaces:
    """Footings by what they depend on, so that supports and loads which share a place share its columns."""

    feet: dict[object, Footing] = field(default_factory=dict)
    pressing: dict[object, Pressing] = field(default_factory=dict)


def footings(
    site: Site, case: PlateCase, stages: Sequence[Stage], known: KnownPlaces | None = None
) -> tuple[StageFootings, ...]:
    """Divide every support and load of every stage into contacts; known takes up the places it does not have yet."""
    known = KnownPlaces() if known is None else known
    return tuple(_stage(site, case, stage, known) for stage in stages)


def stage_groups(feet: Sequence[StageFootings]) -> list[range]:
    """Consecutive stages that are solved together: as many as keep the columns within memory."""
    groups: list[range] = []
    first = count = 0
    for k, stage in enumerate(feet):
        mine = sum(foot.size for foot in stage.feet) + len(stage.pressing) + 1
        if count + mine > MOST_COLUMNS and k > first:
            groups.append(range(first, k))
            first, count = k, 0
        count += mine
    return [*groups, range(first, len(feet))] if feet else []


def compliance(support: Support, foot: Footing, rigidity: float) -> FloatArray:
    """Compliance of each contact's own spring and of the plate close by (s,) [m/N]; slopes are held rigidly.

    rigidity [N m] is the plate's scalar D.
    """
    soft = np.zeros(foot.size) if foot.give is None else foot.give / rigidity
    if np.isfinite(support.stiffness):
        soft[~foot.slope] += 1.0 / (support.stiffness * foot.tributary[~foot.slope])
    return soft


def pressing_of(site: Site, up: Face, load: Load) -> Pressing:
    """The contacts of a load and their forces."""
    # An edge moment is positive where it pulls the underside; gravity counts it positive where it pulls the face below.
    sagging = load.moment if up == "show" else -load.moment
    foot = footing(site, load.place, clamp=load.moment != 0.0, concentrated=False)
    return Pressing(foot, np.where(foot.slope, -sagging, load.amount) * foot.tributary)


def _stage(site: Site, case: PlateCase, stage: Stage, known: KnownPlaces) -> StageFootings:
    ways = (Variation(""), *stage.variations)
    borne = [stage.supports if way.supports is None else way.supports for way in ways]
    feet, crowded = _supporting(site, borne, known)
    states = []
    for way, supports, here in zip(ways, borne, feet, strict=True):
        loads = (*stage.loads, *way.loads)
        weight, pull = _hanging(case, stage, stage.multiplier if way.multiplier is None else way.multiplier)
        states.append(
            State(
                way.name,
                supports,
                here,
                tuple(_pressing(site, stage.up, load, known) for load in loads if not _is_even(load)),
                pull + sum(load.amount for load in loads if _is_even(load)),
                weight,
                stage.bows,
                way.edgewise or stage.edgewise,
            )
        )
    return StageFootings(tuple(states), crowded)


def _hanging(case: PlateCase, stage: Stage, multiplier: float) -> tuple[float, float]:
    """Multiplier of the weight and pull of the form [Pa]: the larger of W + q A and multiplier x W, never both."""
    weight = case.weight_per_area
    if stage.form_pull and weight + stage.form_pull > multiplier * weight:
        return 1.0, stage.form_pull
    return multiplier, 0.0


def _supporting(
    site: Site, borne: Sequence[tuple[Support, ...]], known: KnownPlaces
) -> tuple[list[tuple[Footing, ...]], bool]:
    """Footings of each state's supports, set farther apart where there would be too many for the contact problem."""
    feet: list[tuple[Footing, ...]] = []
    for attempt in range(6):
        feet = [tuple(_support(site, support, known) for support in supports) for supports in borne]
        count = max(sum(foot.size for foot in here) for here in feet)
        if count <= MOST_CONTACTS:
            return feet, attempt > 0
        site = site.coarser(1.1 * count / MOST_CONTACTS)
    return feet, True


def _support(site: Site, support: Support, known: KnownPlaces) -> Footing:
    if not support.face:
        return _NOTHING
    clamp, rigid = support.action == "clamp", bool(np.isinf(support.stiffness))
    key = (support.place, clamp, rigid, site.spacing)
    if key not in known.feet:
        known.feet[key] = footing(site, support.place, clamp, rigid)
    return known.feet[key]


def _pressing(site: Site, up: Face, load: Load, known: KnownPlaces) -> Pressing:
    key = (load.place, load.amount, load.moment, up)
    if key not in known.pressing:
        known.pressing[key] = pressing_of(site, up, load)
    return known.pressing[key]


def _is_even(load: Load) -> bool:
    return isinstance(load.place, AreaPlace) and not load.place.points
