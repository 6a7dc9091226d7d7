"""What is told of a life, and what else is taken from the table of defaults: each taken value is noted as assumed."""

from __future__ import annotations

from typing import Any

from api.case_life import Life
from api.life.defaults import DEFAULTS, shown
from api.units import UnitSystem

__all__ = ["Choice", "Told"]

Told = tuple[str, str]
"""A place of the case and a sentence about it."""


class Choice:
    """The values of one life; it keeps, in `notes`, what was not told and had to be taken from the table."""

    def __init__(self, life: Life, system: UnitSystem) -> None:
        self._life, self._system = life, system
        self._notes: dict[str, str] = {}
        self._rows: set[str] = set()

    @property
    def notes(self) -> tuple[Told, ...]:
        """(where, what) of everything assumed so far, each place once."""
        return tuple(self._notes.items())

    def told(self, key: str) -> Any:
        """The value that the case gives for a key such as "strip.band", or None."""
        table, name = key.split(".")
        return getattr(getattr(self._life, table), name, None)

    def number(self, key: str) -> float:
        """The value told, else the default [SI]; a default is noted."""
        value = self.value(key)
        assert isinstance(value, float), key
        return value

    def value(self, key: str) -> float | bool | str:
        """The value told, else the default, of whatever kind; a default is noted."""
        told: float | bool | str | None = self.told(key)
        if told is not None:
            return told
        row = DEFAULTS[key]
        self.note(f"life.{key}", f"{shown(row.value, row.dimension, self._system)}: {row.why}")
        return row.value

    def of_row(self, key: str, where: str, told: float | None = None) -> float:
        """The value told at another place of the case, else the default [SI], noted where it is first left out."""
        if told is not None:
            return told
        row = DEFAULTS[key]
        if key not in self._rows:
            self._rows.add(key)
            self.note(
                where, f"{shown(row.value, row.dimension, self._system)}, and wherever else it is left out: {row.why}"
            )
        return float(row.value)

    def note(self, where: str, what: str) -> None:
        """Keep a sentence; the first one about a place stays."""
        self._notes.setdefault(where, what)
