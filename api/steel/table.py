"""The table of common reinforcement: table.toml, read once, as fem.steel takes it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from api.units import AREA, FORCE, LENGTH, PRESSURE, Dimension, to_si
from fem.steel.model import Steel

__all__ = ["reinforcement"]

STEEL_DENSITY = 7850.0
FIBRE_DENSITY = 2200.0

_QUANTITIES: dict[str, Dimension] = {
    "diameter": LENGTH,
    "outside": LENGTH,
    "area": AREA,
    "yield_strength": PRESSURE,
    "ultimate_strength": PRESSURE,
    "modulus": PRESSURE,
    "width": LENGTH,
    "cross_pitch": LENGTH,
    "cross_diameter": LENGTH,
    "weld": FORCE,
    "stock": LENGTH,
}


@cache
def reinforcement() -> Mapping[str, Steel]:
    """Every common reinforcement by its name, in the order of the table; it cannot be changed.

    >>> round(reinforcement()["9 gauge wire"].yield_strength / 1e6)
    483
    """
    text = Path(__file__).with_name("table.toml").read_text(encoding="utf-8")
    steels = [_steel(entry) for entry in tomllib.loads(text)["steel"]]
    return MappingProxyType({steel.name: steel for steel in steels})


def _steel(entry: dict[str, Any]) -> Steel:
    """One entry in SI; the mass [kg/m] of its strip follows from its wires and crosswires."""
    told: dict[str, Any] = {
        key: to_si(value, _QUANTITIES[key], "si") if key in _QUANTITIES else value for key, value in entry.items()
    }
    cross_area = math.pi / 4 * told.pop("cross_diameter", 0.0) ** 2
    volume = told.get("wires", 1) * told["area"]
    if cross_area:
        volume += cross_area * told["width"] / told["cross_pitch"]
    mass = volume * (FIBRE_DENSITY if told.get("brittle") else STEEL_DENSITY)
    return Steel(**{"outside": told["diameter"], **told}, cross_area=cross_area, mass=mass)
