"""How far the piece may stand out beyond its last support."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from api.advice.bench import Bench, Trial
from api.advice.item import brings, helps, item
from api.advice.outlines import geometry_of
from api.advice.search import first_that_passes
from api.answer_stage import Json
from api.drawing import shaped
from api.figures import length_words
from api.shapes import corners_of

__all__ = ["shorter_overhang"]

INCH = 0.0254
WHAT = "a shorter overhang"
STEPS = {"us": INCH / 2, "si": 0.010}
LEAST = 0.075
"""Less than this is no overhang [m]."""
SHORTEST = 0.050


@dataclass(frozen=True)
class _Overhang:
    """Along x (axis 0) or y (1), towards + or - (sign): from the outermost support to the edge [m]."""

    axis: int
    sign: float
    support: float
    edge: float

    @property
    def length(self) -> float:
        return self.edge - self.support


def shorter_overhang(bench: Bench, k: int) -> Json | None:
    """The longest overhang, in steps of 1/2 in or 10 mm, with which the stage holds; None if shortening helps not."""
    widest = _widest(bench, k)
    if widest is None:
        return None
    step = STEPS[bench.case.units]
    lengths = [n * step for n in range(int(widest.length / step + 1e-6), int(SHORTEST / step), -1)]
    lengths = [length for length in lengths if length < widest.length - 1e-6]

    def changed(length: float) -> Json:
        return _shortened(bench.alone(k), widest, widest.length - length)

    def solve(length: float) -> Trial | None:
        return bench.solve(changed(length), WHAT)

    def lean(length: float) -> Trial | None:
        return bench.solve(changed(length), WHAT, [k])

    before = bench.readings[k]
    found = first_that_passes(lengths, solve, lean, before)
    if found is None or not helps(before, found[1].readings[0]):
        return None
    length, trial = found
    units, name = bench.case.units, bench.case.stage[k].name
    side = {(0, 1.0): "right", (0, -1.0): "left", (1, 1.0): "back", (1, -1.0): "front"}[widest.axis, widest.sign]
    lead = f"An overhang of {length_words(length, units)} instead of {length_words(widest.length, units)} at the {side}"
    return item(bench, "overhang", k, f"{lead} {brings(name, before, trial.readings[0], units)}.", trial)


def _widest(bench: Bench, k: int) -> _Overhang | None:
    """The widest overhang with no opening in it; None if none is worth the name or the outline has no corners."""
    if not corners_of(shaped(bench.case.slab)) or bench.case.stage[k].posture != "flat":
        return None
    shape = bench.piece.shape
    supports = [geometry_of(shape, one.place).bounds for one in bench.piece.stages[k].supports]
    x0, y0, x1, y1 = bench.prepared.site.region.bounds
    holes = [geometry.bounds for geometry in bench.prepared.site.region.interiors]
    found = [
        _Overhang(0, 1.0, max(b[2] for b in supports), x1),
        _Overhang(0, -1.0, max(-b[0] for b in supports), -x0),
        _Overhang(1, 1.0, max(b[3] for b in supports), y1),
        _Overhang(1, -1.0, max(-b[1] for b in supports), -y0),
    ]
    clear = [one for one in found if one.length > LEAST and not any(_reaches(one, hole) for hole in holes)]
    return max(clear, key=lambda one: one.length, default=None)


def _reaches(overhang: _Overhang, hole: tuple[float, float, float, float]) -> bool:
    low, high = hole[overhang.axis], hole[overhang.axis + 2]
    return max(overhang.sign * low, overhang.sign * high) > overhang.support


def _shortened(data: Json, overhang: _Overhang, cut: float) -> Json:
    """The case with the overhang's edge moved in; what stands on it moves in with the edge, as far as it can."""

    def moved(point: list[float]) -> list[float]:
        s = overhang.sign * point[overhang.axis]
        # All keep their distance from the edge, but nothing is moved past the support.
        inwards = max(s - cut, min(s, overhang.support))
        out = list(point)
        out[overhang.axis] = overhang.sign * inwards
        return out

    outline = data["slab"]["outline"]
    if isinstance(outline, list):
        data["slab"]["outline"] = _distinct([moved(corner) for corner in outline])
    elif outline["shape"] == "polygon":
        outline["points"] = _distinct([moved(corner) for corner in outline["points"]])
    else:
        (x, y), (width, depth) = outline["center"], outline["size"]
        radius = outline.get("corner_radius", 0.0)
        corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        points = [[x + a * width / 2, y + b * depth / 2, radius] for a, b in corners]
        data["slab"]["outline"] = [moved(corner) for corner in points]
    for key in ("region", "zone", "stage"):
        _each_place(data["slab"].get(key, []) if key == "region" else data.get(key, []), moved)
    return data


def _each_place(value: Any, moved: Callable[[list[float]], list[float]]) -> None:
    """Move every point in a table of regions, zones or stages."""
    if isinstance(value, list):
        for one in value:
            _each_place(one, moved)
    if not isinstance(value, dict):
        return
    for key, inner in value.items():
        if key == "at":
            value[key] = moved(inner)
        elif key in ("points", "to", "roaming", "down") and isinstance(inner, list):
            value[key] = [moved(point) for point in inner]
        else:
            _each_place(inner, moved)


def _distinct(corners: list[list[float]]) -> list[list[float]]:
    """Corners that have come to lie on one another are one."""
    return [corner for k, corner in enumerate(corners) if corner[:2] != corners[k - 1][:2]]
