"""What a life is taken to be where the case does not say: one table, each value with its reason or source."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from api.case_values import DAY
from api.units import (
    ANGLE,
    FORCE,
    FORCE_PER_LENGTH,
    LENGTH,
    PRESSURE,
    STIFFNESS_AREA,
    STIFFNESS_LINE,
    TIME,
    Dimension,
    UnitSystem,
    in_words,
)

__all__ = ["DEFAULTS", "FAST_STRIP", "SETTING", "Default", "shown"]

INCH = 0.0254
LBF = 4.4482216152605
PSI = LBF / INCH**2

_TRADE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Default:
    """One value: its key ("strip.age" is [life.strip] age), the value in SI, its dimension (None: a plain one), why."""

    key: str
    value: float | bool | str
    dimension: Dimension | None
    why: str


_ROWS = (
    Default("slab.tolerance", INCH / 16, LENGTH, f"a form is level to about so much; {_TRADE}"),
    Default("strip.age", 3 * DAY, TIME, f"ordinary mixes are stripped after 2 to 4 days; {_TRADE}"),
    Default("strip.multiplier", 1.3, None, "PCI Design Handbook, stripping: flat, smooth form, form oil"),
    Default("strip.safety", 1.5, None, "PCI Design Handbook, no-cracking criterion: modulus of rupture / 1.5"),
    Default("strip.up", "underside", None, f"cast with the show face down, as most are; {_TRADE}"),
    Default(
        "strip.form_pull",
        1000.0,
        PRESSURE,
        "1 kN/m2 (21 psf), oiled form: VDI/BV-BS 6205 and CEN/TR 15728, by a published example",
    ),
    Default("strip.peel", True, None, f"lifted by one edge, the form lets go along a line that travels; {_TRADE}"),
    Default("strip.band", 0.100, LENGTH, f"width of that line; {_TRADE}"),
    Default(
        "strip.least_strength",
        2000 * PSI,
        PRESSURE,
        "least strength at stripping in plants, in the spirit of PCI MNL-116",
    ),
    Default("strip.spacing", 0.600, LENGTH, f"those who lift stand so far apart; {_TRADE}"),
    Default("turn.multiplier", 1.5, None, f"hands jerk more than a crane's 1.2; {_TRADE}"),
    Default("turn.safety", 1.5, None, "as for stripping"),
    Default("turn.foam", 160 * PSI, STIFFNESS_LINE, f"4 in of foam of 40 lbf/in3; {_TRADE}"),
    Default("turn.spacing", 0.600, LENGTH, f"those who hold it stand so far apart; {_TRADE}"),
    Default("carry.age", 3 * DAY, TIME, f"moved to its curing place once it is stripped; {_TRADE}"),
    Default("carry.multiplier", 1.5, None, f"people walk and step; {_TRADE}"),
    Default("carry.safety", 1.5, None, "as for stripping"),
    Default("carry.across", 0.2, None, f"it leans and sways by about a fifth of its weight; {_TRADE}"),
    Default("carry.grip", 0.2, None, f"near 0.207 L, where a strip is bent least; {_TRADE}"),
    Default("carry.lift", 50 * LBF, FORCE, "NIOSH lifting equation: 51 lb in the best posture"),
    Default("haul.age", 7 * DAY, TIME, f"hauled after 3 to 14 days; {_TRADE}"),
    Default("haul.multiplier", 1.5, None, "PCI Design Handbook, travel"),
    Default("haul.safety", 1.5, None, "as for stripping"),
    Default("haul.angle", 10.0, ANGLE, f"frames lean 5 to 10 degrees; {_TRADE}"),
    Default("haul.across", 0.5, None, "0.5 g sideways: 49 CFR 393.102"),
    Default("haul.foam", 40 * PSI / INCH, STIFFNESS_AREA, f"full foam of 40 lbf/in3 behind it; {_TRADE}"),
    Default("haul.edge_foam", 160 * PSI, STIFFNESS_LINE, f"4 in of foam of 40 lbf/in3 under its edge; {_TRADE}"),
    Default("haul.strap", 160 * PSI, STIFFNESS_LINE, f"two straps, as stiff as the foam that they press on; {_TRADE}"),
    Default("set.multiplier", 1.2, None, "PCI Design Handbook, yard handling and erection"),
    Default("set.safety", 1.5, None, "as for stripping"),
    Default("set.slide", 0.5, None, f"slid in from its open end by half its length, hands at that end; {_TRADE}"),
    Default("cabinet.panel", 0.625 * INCH, LENGTH, f"side panels are 1/2 to 3/4 in thick; {_TRADE}"),
    Default("cabinet.rail", 1.0 * INCH, LENGTH, f"rails are 3/4 to 1 1/2 in wide; {_TRADE}"),
    Default("cabinet.ledger", 0.75 * INCH, LENGTH, f"a board along the wall; {_TRADE}"),
    Default("cabinet.level", INCH / 16, LENGTH, f"shims bring cabinets level to so much; {_TRADE}"),
    Default("bracket.width", 2 * INCH, LENGTH, f"flat of an ordinary bracket; {_TRADE}"),
    Default("use.age", 28 * DAY, TIME, f"in use from the age at which strength is told; {_TRADE}"),
    Default("use.multiplier", 1.0, None, "it lies still"),
    Default("use.safety", 1.5, None, f"as in handling; {_TRADE}"),
    Default("use.foot", 300 * LBF, FORCE, "a foot on a stair tread: ASCE 7-16 table 4.3-1"),
    Default("use.foot_size", 4 * INCH, LENGTH, f"a shoe; {_TRADE}"),
    Default("use.elsewhere", 100 * LBF, FORCE, f"a hand, a knee, a heavy pot where nobody stands; {_TRADE}"),
    Default("use.clear", 6 * INCH, LENGTH, f"nobody stands on the rail of a sink; {_TRADE}"),
    Default("use.lip", 50 * LBF / (12 * INCH), FORCE_PER_LENGTH, f"people 24 in apart lean on it; {_TRADE}"),
    Default("use.sitter", 250 * LBF, FORCE, f"a heavy person sits on the edge; {_TRADE}"),
    Default("use.bowl_depth", 0.200, LENGTH, f"water over the whole opening; {_TRADE}"),
    Default("use.drying", "show", None, f"air reaches the upper face, cabinets shelter the other; {_TRADE}"),
    Default("use.strain", 200e-6, None, "about a quarter of the 780e-6 that ACI 209R-92 gives to both faces"),
    Default("use.creep", 2.0, None, "ACI 209R-92: 2.35 at last; rounded down, which pulls more"),
)
DEFAULTS = MappingProxyType({row.key: row for row in _ROWS})

# Stripping with a mix that was told to be fast, or tested young [s]: 16 to 24 hours; common practice, no source.
FAST_STRIP = 1 * DAY
# No concrete has set before this age [s]: final set takes 4 to 10 hours; common practice, no source.
SETTING = 4 * 3600.0


def shown(value: object, dimension: Dimension | None, system: UnitSystem) -> str:
    """A value in the words of the answer: with the file's units, times in hours or days.

    >>> shown(3 * 86400.0, TIME, "us"), shown(0.0254, LENGTH, "us"), shown(True, None, "us"), shown(2e-4, None, "si")
    ('3 days', '1 in', 'yes', '0.0002')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value)
    if dimension is TIME:
        return f"{value / DAY:.3g} days" if value >= 2 * DAY else f"{value / 3600:.3g} h"
    return in_words(value, dimension, system) if dimension is not None else f"{value:g}"
