"""Small cases with [steel], quick to plan, for several test files."""

from __future__ import annotations

import copy
from typing import Any

__all__ = ["RAIL", "TOP", "with_sink"]

TOP: dict[str, Any] = {
    "case": 1,
    "title": "Small top",
    "units": "us",
    "slab": {"thickness": 1.5, "outline": [[0, 0], [48, 0], [48, 24], [0, 24]]},
    "concrete": {"density": 145, "compressive_strength": 5000},
    "stage": [
        {
            "name": "in use",
            "age": 28,
            "up": "show",
            "support": [
                {"name": "left", "kind": "line", "action": "rest", "points": [[1, 0], [1, 24]]},
                {"name": "right", "kind": "line", "action": "rest", "points": [[47, 0], [47, 24]]},
            ],
            "load": [{"name": "somebody", "kind": "point", "at": [24, 12], "force": "300 lbf", "size": 4}],
        }
    ],
    "steel": {"directions": [0, 90]},
}
"""A plain top on two lines with somebody in its middle: pulled at the underside, along and across."""

RAIL = {"name": "front", "face": "underside", "points": [[1, 2], [47, 2]]}


def with_sink(*runs: dict[str, Any], **steel: Any) -> dict[str, Any]:
    """The top with a sink and a weight on its front rail, and these runs as its own layout."""
    case = copy.deepcopy(TOP)
    case["title"] = "Small top with a sink"
    sink = {"name": "sink", "shape": "rectangle", "center": [24, 12], "size": [18, 14], "corner_radius": 0.75}
    case["slab"]["opening"] = [sink]
    case["stage"][0]["load"][0] |= {"at": [24, 2.5], "force": "100 lbf"}
    case["steel"] |= {**steel, "run": list(runs)}
    return case
