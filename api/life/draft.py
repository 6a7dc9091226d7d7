"""What the makers of stages work with, and what they hand back: a stage as a case writes it, and its origin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shapely.geometry import Polygon

from api.case_life import Moment
from api.case_model import Case
from api.case_values import DAY
from api.drawing import Drawing, filled
from api.life.choice import Choice
from api.life.sides import Side, long_side
from api.units import clean

__all__ = ["Draft", "Making"]

Point = tuple[float, float]


@dataclass(frozen=True)
class Draft:
    """A stage as plain data in SI (ages in days), and the table of the case that it comes from."""

    data: dict[str, Any]
    where: str


@dataclass(frozen=True, eq=False)
class Making:
    """A case with [life], its drawing, what is chosen, and the age at every moment [s]."""

    case: Case
    drawing: Drawing
    choice: Choice
    ages: dict[Moment, float]

    @property
    def slab(self) -> Polygon:
        """The concrete in plan."""
        return self.drawing.region

    @property
    def area(self) -> Polygon:
        """The outline filled."""
        return filled(self.drawing.shape.outline)

    @property
    def weight(self) -> float:
        """Own weight [N]."""
        return self.slab.area * self.case.slab.thickness * self.case.concrete.density * 9.80665

    def draft(self, moment: Moment, name: str, up: object, **more: Any) -> Draft:
        """A stage of this moment with its age and safety, and its multiplier unless more has one."""
        data: dict[str, Any] = {
            "name": name,
            "age": clean(self.ages[moment] / DAY),
            "up": up,
            "safety": self.choice.number(f"{moment}.safety"),
        }
        if "multiplier" not in more:
            data["multiplier"] = self.choice.number(f"{moment}.multiplier")
        return Draft({**data, **more}, f"life.{moment}")

    def side(self, told: tuple[Point, Point] | None, where: str) -> Side:
        """The side told, turned so that the piece is on its left, or the longest it can stand on, noted as assumed."""
        if told is None:
            self.choice.note(
                where,
                "the longest straight side it can stand on, else the stretch of its edge on which it stands lowest",
            )
            return long_side(self.drawing.shape.outline, self.area)
        side = Side(*told, self.area)
        middle = self.area.centroid
        u, v = side.away
        turned = (middle.x - side.begin[0]) * u + (middle.y - side.begin[1]) * v < 0
        return Side(told[1], told[0], self.area) if turned else side
