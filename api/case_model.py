"""The case: one set of tables for the TOML file and the HTTP body, in SI once it is read (grammar: version 1).

Every table refuses keys that it does not know, so that nothing is ignored.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PrivateAttr, ValidationInfo
from pydantic_core import PydanticCustomError

from api.case_concrete import Concrete, Modulus, StrengthGain, Tension
from api.case_life import Bracket, Cabinet, Life, Zone
from api.case_loads import AnyLoad, AreaLoad, Bow, Bows, EdgeLoad, LineLoad, Loads, PointLoad
from api.case_regions import Regions
from api.case_supports import (
    AnySupport,
    AreaSupport,
    EdgeSupport,
    HandSupport,
    LineSupport,
    PointSupport,
    Supports,
)
from api.case_values import DAY, Flag, Id, Number, Point, Quantity, Text
from api.shapes import Opening, Outline, Record
from api.steel.grammar import SteelTable
from api.units import ANGLE, LENGTH, PRESSURE, TIME, UnitSystem

__all__ = [
    "MOST_STAGES",
    "AnyLoad",
    "AnySupport",
    "AreaLoad",
    "AreaSupport",
    "Bow",
    "Case",
    "Concrete",
    "EdgeLoad",
    "EdgeSupport",
    "HandSupport",
    "LineLoad",
    "LineSupport",
    "PointLoad",
    "PointSupport",
    "Probe",
    "Slab",
    "Stage",
    "StrengthGain",
    "slug",
]

MOST_OPENINGS, MOST_STAGES, MOST_PROBES, MOST_CABINETS, MOST_ZONES = 40, 60, 200, 40, 40


class Slab(Record):
    """The piece itself, as seen looking at its show face."""

    thickness: Annotated[float, Quantity("a thickness", LENGTH, 0.010, 0.150)]
    outline: Outline
    """3 or more corners [x, y] or [x, y, radius], a shape, or a drawing beside the case."""
    opening: Annotated[tuple[Opening, ...], Field(max_length=MOST_OPENINGS)] = ()
    tolerance: Annotated[float, Quantity("a tolerance", LENGTH, 0.0, 0.05)] = 0.0
    """The slab may be so much thinner: counts for stiffness and pull, not for the weight."""
    region: Regions = ()
    """Parts with a depth of their own."""


class Stage(Record):
    """One moment in the slab's life."""

    name: Text
    """Unique among the stages."""
    id: Id = ""
    """Names its files; left out: the name in small letters and hyphens."""
    age: Annotated[float, Quantity("an age", TIME, 3600.0, 36525 * DAY)]
    """Since casting."""
    up: Literal["show", "underside"]
    """The face that looks up."""
    multiplier: Annotated[float, Number("multiplier", 0.0, 20.0)] = 1.0
    """Times the own weight only."""
    safety: Annotated[float, Number("safety", 1.0, 20.0)] = 1.5
    """Allowed tension = cracking strength / safety."""
    modulus: Modulus | None = None
    """Measured at this age."""
    cracking_strength: Tension | None = None
    """Measured at this age."""
    posture: Literal["flat", "leaning", "on edge", "turning"] = "flat"
    """turning: raised from flat to on edge, solved every 15 degrees."""
    angle: Annotated[float, Quantity("an angle", ANGLE, 0.1, 89.9)] | None = None
    """Leaning: so far from upright."""
    down: tuple[Point, Point] | None = None
    """Not flat: two spots on the outline, the ends of the lower side; left out: the longest straight side."""
    across: Annotated[float, Number("across", 0.0, 5.0)] = 0.0
    """Leaning or on edge: this share of the weight is thrown across the face, either way."""
    form_pull: Annotated[float, Quantity("a form pull", PRESSURE, 0.0, 50e3)] = 0.0
    """The form clings by so much; counts with the weight once, or multiplier times the weight alone if that is more."""
    lasting: Flag = False
    """The loads stay for months: allowed times the concrete's sustained_factor."""
    creep: Annotated[float, Number("creep", 0.0, 10.0)] = 0.0
    """Creep coefficient: the modulus is divided by 1 + creep."""
    shims: Annotated[float, Quantity("a shim", LENGTH, 1e-5, 0.05)] | None = None
    """Each support but hands is also solved so much high, and so much low."""
    factored: Flag | None = None
    """For the steel: true, its loads as those of a structure in use (1.4 D; 1.2 D + 1.6 L); false, as they are, a jerk
    being in its multiplier. Left out: true where it lies flat, its weight counted once, and no hand holds it."""
    levels: Flag = False
    """Asks how far each support may be out of level."""
    slide: Point | None = None
    """[dx, dy]: the piece comes sliding over its supports from so far off; hands move with it."""
    support: Supports
    load: Loads = ()
    bow: Bows = ()


class Probe(Record):
    """A named spot where the answer is wanted."""

    name: Text
    """Unique among the probes."""
    at: Point
    """Inside the slab, or within 1 mm of an edge."""


def slug(name: str) -> str:
    """The name in letters a-z, digits and hyphens, at most 40; "" if nothing is left.

    >>> slug("Küche: carry, flat (2)")
    'kuche-carry-flat-2'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-")


def _with_ids(stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
    return tuple(one if one.id else one.model_copy(update={"id": slug(one.name)}) for one in stages)


def _some_stage(stages: object, info: ValidationInfo) -> object:
    """No stage at all is a fault, unless [life] makes some; where [life] is faulty, that is said already."""
    if not isinstance(stages, list | tuple) or stages or "life" not in info.data:
        return stages
    life = info.data["life"]
    if life is not None and life.stages:
        return stages
    if isinstance(stages, tuple):
        raise PydanticCustomError("missing", "no stage")
    raise PydanticCustomError("too_short", "no stage", {"min_length": 1})


def _no_steel(table: object) -> object:
    """A plain false is no steel, as it was before there was any."""
    return None if table is False else table


class Case(Record):
    """A slab, its concrete and the stages of its life; quantities are numbers in its units, or text with a unit."""

    case: Literal[1]
    """Version of this grammar."""
    title: Text
    units: UnitSystem
    """Of bare numbers. us: in, lbf, psi, lbf/in, lb/ft3, lbf*in/in; si: m, N, Pa, N/m, kg/m3, N*m/m; both: day,
    degree; temperatures degF (us), degC (si).
    """
    slab: Slab
    concrete: Concrete
    cabinet: Annotated[tuple[Cabinet, ...], Field(max_length=MOST_CABINETS)] = ()
    """What the piece of [life] stands on."""
    bracket: Annotated[tuple[Bracket, ...], Field(max_length=MOST_CABINETS)] = ()
    """What bears its overhangs."""
    zone: Annotated[tuple[Zone, ...], Field(max_length=MOST_ZONES)] = ()
    """Where people stand, sit, lean, or never are."""
    life: Life | None = None
    """Ready-made stages, written out behind those of the case."""
    stage: Annotated[
        tuple[Stage, ...],
        Field(max_length=MOST_STAGES, validate_default=True),
        BeforeValidator(_some_stage),
        AfterValidator(_with_ids),
    ] = ()
    """At least one, unless [life] makes them."""
    probe: Annotated[tuple[Probe, ...], Field(max_length=MOST_PROBES)] = ()
    steel: Annotated[SteelTable | None, BeforeValidator(_no_steel)] = None
    """What is to be laid; left out: no steel is looked at."""
    _assumed: tuple[tuple[str, str], ...] = PrivateAttr(default=())
    """Where and what [life] had to assume."""
    _lived: bool = PrivateAttr(default=False)
    """Whether stages were made of [life]: advice is then given unasked."""

    def si(self) -> dict[str, Any]:
        """The case as plain JSON-able data in SI, defaults filled in, which `read_case` reads as the same case."""
        data = self.model_dump(mode="json", exclude_none=True)
        return {**data, "units": "si"}
