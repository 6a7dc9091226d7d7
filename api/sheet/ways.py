"""Which way a run goes, and how its layers are told, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from api.figures import Units
from api.sheet.lengths import length_mark
from fem.steel.model import Run

__all__ = ["layer_words", "way_of"]

STRAIGHT = 0.004
"""A run that climbs less than this share of its length goes along an axis."""


def layer_words(runs: Sequence[Run], units: Units) -> Iterator[str]:
    """One sentence a layer: which way its runs go, how deep their axis lies, how many they are."""
    told = [(run.layer, way_of(run), round(run.depth, 5)) for run in runs]
    for layer, way, depth in sorted(set(told)):
        count = told.count((layer, way, depth))
        outermost = " (outermost)" if layer == 0 else ""
        many = "1 run" if count == 1 else f"{count} runs"
        yield f"Layer {layer + 1}{outermost}: {many} {way}, axis {length_mark(depth, units)} below the show face."


def way_of(run: Run) -> str:
    """Which way a run goes."""
    if len(run.points) > 2:
        return "bent"
    (x0, y0), (x1, y1) = run.points
    dx, dy = x1 - x0, y1 - y0
    if abs(dy) <= STRAIGHT * abs(dx):
        return "left to right"
    if abs(dx) <= STRAIGHT * abs(dy):
        return "front to back"
    degrees = math.degrees(math.atan2(dy, dx)) % 180
    return f"at {degrees:.0f}° from the front edge"
