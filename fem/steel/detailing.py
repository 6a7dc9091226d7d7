"""Rules of laying: how many layers fit into so thin a slab, where they lie, how near and how far apart, what cover."""

from __future__ import annotations

import math

from fem.steel.anchorage import INCH
from fem.steel.model import Code, Concrete, Covers, Face, Steel

__all__ = [
    "HAIR",
    "clear_gap",
    "code_covers",
    "layer_depth",
    "layers_that_fit",
    "widest_spacing",
]

EN = "EN 1992-1-1"
HAIR = 1e-6


def layers_that_fit(thickness: float, covers: Covers, steel: Steel) -> int:
    """How many layers lie one upon another between both covers, of both faces and all directions together.

    >>> wire = Steel("9 gauge", "wire", 0.00376, 0.00376, 11.1e-6, 485e6, 550e6, 200e9)
    >>> layers_that_fit(1.5 * INCH, Covers(5 / 8 * INCH, 5 / 8 * INCH, 0.0127, 0.0127), wire)
    1
    """
    return max(0, math.floor((thickness - covers.show - covers.underside + HAIR) / steel.outside))


def layer_depth(thickness: float, covers: Covers, steel: Steel, face: Face, layer: int) -> float:
    """Depth [m] of the axis of a layer from the show face; layer counts from its face, 0 outermost.

    Of a mesh the wires that run along are taken to lie inside of their crosswires, as it may come to lie so.
    """
    inner = steel.outside - steel.diameter / 2 if steel.kind == "mesh" else steel.outside / 2
    depth = layer * steel.outside + inner
    return covers.show + depth if face == "show" else thickness - covers.underside - depth


def widest_spacing(thickness: float, code: Code) -> float:
    """Widest spacing [m] of runs that carry: 3 h and 18 in (ACI 318-19 7.7.2.3), 400 mm (EN 1992-1-1 9.3.1.1(3)).

    >>> round(widest_spacing(1.5 * INCH, "ACI 318-19") / INCH, 6)
    4.5
    """
    return min(3 * thickness, 0.4 if code == EN else 18 * INCH)


def clear_gap(steel: Steel, concrete: Concrete, code: Code) -> float:
    """Least clear gap [m] between wires side by side: 1 in, db, 4/3 grain (ACI 318-19 25.2.1).

    EN 1992-1-1 8.2(2): 20 mm, phi, grain + 5 mm.
    """
    if code == EN:
        return max(0.020, steel.diameter, concrete.aggregate + 0.005)
    return max(INCH, steel.diameter, 4 / 3 * concrete.aggregate)


def code_covers(covers: Covers, steel: Steel, code: Code) -> Covers:
    """The same covers with those of the faces as the code wants them for a precast slab indoors.

    ACI 318-19 table 20.5.1.3.3: 5/8 in. EN 1992-1-1 4.4.1: 10 mm (XC1, slab, S3), not less than the bar, and 5 mm more
    in a plant that measures its covers (4.4.1.3(3)), from memory.
    """
    face = max(0.010, steel.diameter) + 0.005 if code == EN else 5 / 8 * INCH
    return Covers(face, face, covers.edge, covers.opening)
