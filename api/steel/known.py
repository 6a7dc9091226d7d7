"""Every reinforcement that a case may name: the table of common ones and its own, as fem.steel takes them."""

from __future__ import annotations

import math
from dataclasses import replace

from api.steel.grammar import OwnSteel, SteelTable
from api.steel.table import reinforcement
from fem.steel.model import Steel

__all__ = ["DEFAULT_STEEL", "known_steels", "laid_steel"]

INCH, PSI = 0.0254, 6894.757293168361
DEFAULT_STEEL = "9 gauge wire"
E_STEEL = 29e6 * PSI
WELD = 25_000 * PSI
STOCK = 120 * INCH
STEEL_DENSITY = 7850.0
GRID_DENSITY = 2200.0
"""Carbon 1.8, glass 2.7 t/m3, about: only the weight on the sheet hangs on it."""


def known_steels(table: SteelTable) -> dict[str, Steel]:
    """Every reinforcement that a case may name: the table of common ones, and its own."""
    return {**reinforcement(), **{own.name: _own_steel(own) for own in table.own}}


def laid_steel(table: SteelTable) -> Steel:
    """The reinforcement of the plan, in the stock length told; KeyError for an unknown name."""
    steel = known_steels(table)[table.use or DEFAULT_STEEL]
    return steel if table.stock is None else replace(steel, stock=table.stock)


def _own_steel(own: OwnSteel) -> Steel:
    area = own.area or math.pi * own.diameter**2 / 4
    cross = own.cross_diameter or own.diameter
    crossed = own.cross_pitch is not None
    cross_area = math.pi * cross**2 / 4 if crossed else 0.0
    weld = own.weld if own.weld is not None else WELD * max(area, cross_area)
    per_length = own.wires * area + (cross_area * (own.width or 0.0) / own.cross_pitch if own.cross_pitch else 0.0)
    return Steel(
        name=own.name,
        kind=own.kind,
        diameter=own.diameter,
        outside=max(own.outside or own.diameter, own.diameter),
        area=area,
        yield_strength=own.yield_strength,
        ultimate_strength=own.ultimate_strength or own.yield_strength,
        modulus=own.modulus or E_STEEL,
        deformed=own.deformed,
        brittle=own.brittle,
        factor=own.factor,
        tested=own.tested,
        wires=own.wires,
        width=own.width or 0.0,
        cross_pitch=own.cross_pitch or 0.0,
        cross_area=cross_area,
        weld=weld if crossed else 0.0,
        stock=own.stock or STOCK,
        mass=per_length * (GRID_DENSITY if own.brittle else STEEL_DENSITY),
        source="the case's own",
    )
