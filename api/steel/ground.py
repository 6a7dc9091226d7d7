"""What planning, judging and proving of a case's steel share: its settings, the slab in plan, what is owed where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from api.steel.settings import Settings
from fem.steel.capacity import carried_by
from fem.steel.detailing import layer_depth, layers_that_fit
from fem.steel.model import Carried, Demand, Face, Run, Steel
from fem.steel.section import run_strength

__all__ = ["SteelGround"]


@dataclass(frozen=True, eq=False)
class SteelGround:
    """Settings, the slab's plan and what is owed in it."""

    settings: Settings
    region: shapely.Polygon
    demand: Demand

    @property
    def layers(self) -> int:
        """How many layers fit, both faces together."""
        settings = self.settings
        return layers_that_fit(settings.thickness, settings.covers, settings.steel)

    def worth(self, steel: Steel, arm: float) -> float:
        """Design strength of one run by its arm [N m], its pressed concrete as wide as the closest spacing."""
        settings = self.settings
        return run_strength(steel, arm, settings.rules.pitch, settings.concrete, settings.code)

    def depth(self, face: Face, layer: int) -> float:
        """Depth of a layer's axis from the show face [m]."""
        return layer_depth(self.settings.thickness, self.settings.covers, self.settings.steel, face, layer)

    def carried(self, runs: Sequence[Run], far: bool = True) -> Carried:
        """What runs carry of what is owed; far: whether they count for the face that they do not lie near."""
        settings = self.settings
        return carried_by(runs, self.demand, self.region, settings.thickness, settings.rules, self.worth, far)
