"""A seam: the piece cut straight across and solved as two pieces on the same supports."""

from __future__ import annotations

import math
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from api.advice.bench import Bench, Trial
from api.advice.item import brings, helps, item
from api.advice.outlines import geometry_of
from api.answer_stage import Json
from api.drawing import drawing_of
from api.figures import length_words, pull_words

__all__ = ["seam"]

LEAST_LINE, LEAST_AREA = 0.020, 1e-4
LEAST_SHARE = 0.1
"""A cut that leaves less of the piece than this on one side is none."""
FAR = 100.0
SIDES = (("left", "right"), ("front", "back"))


def seam(bench: Bench, k: int) -> Json | None:
    """The better of a cut through the worst place and one by the nearest corner; None unless both pieces do better."""
    stage = bench.case.stage[k]
    if stage.posture != "flat" or stage.slide is not None:
        return None
    before = bench.readings[k]
    best: tuple[float, int, list[Trial]] | None = None
    for axis, at in _cuts(bench, k):
        trials = []
        for side in (-1, 1):
            data = _piece(bench, k, axis, at, side)
            trial = None if data is None else bench.solve(data, "a seam")
            if trial is None or not helps(before, trial.readings[0]):
                break
            trials.append(trial)
        if len(trials) == 2 and (
            best is None or _worse(trials).readings[0].badness < _worse(best[2]).readings[0].badness
        ):
            best = at, axis, trials
    if best is None:
        return None
    at, axis, trials = best
    worse = _worse(trials)
    other = trials[1 - trials.index(worse)]
    units = bench.case.units
    where = f"{'xy'[axis]} = {length_words(at, units)}"
    told = brings(stage.name, before, worse.readings[0], units)
    which, rest = (SIDES[axis][trials.index(one)] for one in (worse, other))
    after = pull_words(other.readings[0].pull or 0.0, units)
    lead = f"A seam straight across at {where}"
    what = f"{lead} {told} (that is its {which} piece; the {rest} one is pulled by {after})."
    return item(bench, "seam", k, what, worse) | {"second_case": other.data}


def _worse(trials: list[Trial]) -> Trial:
    return max(trials, key=lambda trial: trial.readings[0].badness)


def _cuts(bench: Bench, k: int) -> list[tuple[int, float]]:
    """Where to cut: (0, x) or (1, y), across the shorter way, through the worst place and by what is nearest to it."""
    face, peaks = bench.readings[k].face, bench.analysis.stages[k].peaks
    if face is None or peaks is None:
        return []
    spot = peaks[face].at
    corners = [at for at, inside in bench.piece.shape.corners if inside > math.radians(190)]
    middles = [ring.centroid.coords[0] for ring in bench.places.region.interiors]
    near = sorted([*corners, *middles], key=lambda at: math.dist(at, spot))[:1]
    cuts = [_across(bench, (float(x), float(y))) for x, y in [*near, spot]]
    return list(dict.fromkeys((axis, round(at, 3)) for axis, at in cuts))


def _across(bench: Bench, at: tuple[float, float]) -> tuple[int, float]:
    region = bench.places.region
    lines = (
        shapely.LineString([(at[0], -FAR), (at[0], FAR)]),
        shapely.LineString([(-FAR, at[1]), (FAR, at[1])]),
    )
    axis = min((0, 1), key=lambda one: region.intersection(lines[one]).length)
    return axis, at[axis]


def _piece(bench: Bench, k: int, axis: int, at: float, side: int) -> Json | None:
    """The case of one piece: what of slab, supports and loads lies on that side; None if that is no one piece."""
    low, high = (-FAR, at) if side < 0 else (at, FAR)
    half = shapely.box(low, -FAR, high, FAR) if axis == 0 else shapely.box(-FAR, low, FAR, high)
    drawing = drawing_of(bench.case)
    outline = shapely.Polygon(drawing.shape.outline.polyline(2e-4))
    cut: BaseGeometry = outline
    data = bench.alone(k)
    kept = []
    for written, loop in zip(data["slab"].get("opening", []), drawing.shape.openings, strict=True):
        hole = shapely.Polygon(loop.polyline(2e-4))
        if half.contains(hole):
            kept.append(written)
        elif half.intersects(hole):
            cut = cut.difference(hole)
    region = cut.intersection(half)
    if not isinstance(region, shapely.Polygon) or region.interiors or region.area < LEAST_SHARE * outline.area:
        return None
    corners = shapely.simplify(region, 1e-5).exterior.coords[:-1]
    data["slab"] |= {"outline": [[float(x), float(y)] for x, y in corners], "opening": kept}
    data["slab"]["region"] = _parts_of(data["slab"].get("region", []), region)
    data |= {"zone": [], "cabinet": [], "bracket": []}
    stage = data["stage"][0]
    clipper = _Clipper(bench, k, region)
    supports, loads = clipper.supports(stage["support"]), clipper.loads(stage.get("load", []))
    if not supports or loads is None:
        return None
    stage |= {"support": supports, "load": loads, "bow": _parts_of(stage.get("bow", []), region)}
    return data


class _Clipper:
    """Cuts the supports and loads of a stage to one piece."""

    def __init__(self, bench: Bench, k: int, region: shapely.Polygon) -> None:
        self._shape, self._stage = bench.piece.shape, bench.piece.stages[k]
        self._region = region

    def supports(self, written: list[Json]) -> list[Json]:
        out = []
        for one, support in zip(written, self._stage.supports, strict=True):
            out += self._cut(one, geometry_of(self._shape, support.place))
        return out

    def loads(self, written: list[Json]) -> list[Json] | None:
        """None if a load travels, or is a moment or a force that is spread along what is cut."""
        out = []
        for one in written:
            if "to" in one or "moment_per_length" in one or (one["kind"] == "area" and "force" in one):
                return None
            if one.get("roaming") is True or (one["kind"] == "area" and "points" not in one):
                out.append(one)
            elif "roaming" in one:
                parts = _polygons(shapely.Polygon(one["roaming"]).intersection(self._region))
                out += [{**one, "roaming": part} for part in parts]
            else:
                place = next(
                    (load.place for load in self._stage.loads if load.name == one["name"]),
                    None,
                )
                if place is None:
                    return None
                out += self._cut(one, geometry_of(self._shape, place))
        return [{**one, "name": f"{one['name'][:100]} ({j})"} for j, one in enumerate(out, 1)]

    def _cut(self, one: Json, geometry: BaseGeometry) -> list[Json]:
        if one["kind"] in ("point", "hand"):
            return [one] if self._region.covers(geometry) else []
        if one["kind"] == "area":
            return [{**one, "points": part} for part in _polygons(geometry.intersection(self._region))]
        rest = {key: value for key, value in one.items() if key not in ("opening", "points")}
        # What lies along the true edge may be a hair off the chain of the piece's corners.
        lines = _lines(geometry.intersection(self._region.buffer(5e-4)))
        return [{**rest, "kind": "line", "points": part} for part in lines]


def _parts_of(tables: list[Json], region: shapely.Polygon) -> list[Json]:
    out = []
    for one in tables:
        if not one.get("points"):
            out.append(one)
            continue
        out += [{**one, "points": part} for part in _polygons(shapely.Polygon(one["points"]).intersection(region))]
    return out


def _polygons(cut: BaseGeometry) -> list[list[Any]]:
    parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, shapely.Polygon)]
    return [[[float(x), float(y)] for x, y in part.exterior.coords[:-1]] for part in parts if part.area > LEAST_AREA]


def _lines(cut: BaseGeometry) -> list[list[Any]]:
    if isinstance(cut, shapely.MultiLineString):
        cut = shapely.line_merge(cut)
    parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, shapely.LineString)]
    return [[[float(x), float(y)] for x, y in part.coords] for part in parts if part.length > LEAST_LINE]
