"""The one support more that helps a stage most, looked for under the unsupported rim and the middles of the spans."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from api.advice.bench import Bench, Reading, Trial
from api.advice.item import brings, helps, item
from api.advice.outlines import geometry_of
from api.answer_stage import Json, as_it_comes
from api.figures import length_words, point_words
from fem.plate.model import HAND_STIFFNESS, PointPlace, Stage, Support

__all__ = ["one_more_support"]

FloatArray = npt.NDArray[np.float64]

SIZE = 0.0508
HAND = 0.1016
TRIED = 24
CONFIRMED = 3
RIM_STEP = 0.1
"""Distance of the spots along the rim [m] among which the tried ones are chosen."""


def one_more_support(bench: Bench, k: int) -> Json | None:
    """A rest 2 in wide (a hand, where hands hold it) at the best of some 24 spots; None if none helps."""
    stage = bench.piece.stages[k]
    if stage.edgewise is not None:
        return None
    hands = any(one.kind == "hand" for one in bench.case.stage[k].support)
    best: tuple[Trial, tuple[float, float]] | None = None
    for at in _promising(bench, k, _spots(bench, stage, HAND if hands else SIZE), hands):
        data = bench.alone(k)
        data["stage"][0]["support"].append(_written(at, hands))
        trial = bench.solve(data, "one more support")
        if trial is not None and (best is None or trial.readings[0].badness < best[0].readings[0].badness):
            best = trial, at
    if best is None or not helps(bench.readings[k], best[0].readings[0]):
        return None
    trial, at = best
    units, name = bench.case.units, bench.case.stage[k].name
    thing = "One more hand" if hands else f"A support {length_words(SIZE, units)} wide"
    told = brings(name, bench.readings[k], trial.readings[0], units)
    where = f"at {point_words(at, units)} ({bench.places.of(at)})"
    return item(bench, "support", k, f"{thing} {where} {told}.", trial)


def _written(at: tuple[float, float], hands: bool) -> Json:
    if hands:
        return {"name": "one more hand", "kind": "hand", "at": list(at), "size": HAND}
    return {"name": "one more support", "kind": "point", "at": list(at), "size": SIZE, "action": "rest"}


def _promising(bench: Bench, k: int, spots: list[tuple[float, float]], hands: bool) -> list[tuple[float, float]]:
    """The spots at which one more support helps the governing state most, the best first."""
    stiffness = HAND_STIFFNESS if hands else np.inf
    bare = replace(_governing(bench, k), variations=(), roaming=(), levels=False)
    tried = [
        replace(bare, supports=(*bare.supports, Support("one more", PointPlace(at, SIZE), "rest", 0.0, stiffness)))
        for at in spots
    ]
    readings: list[Reading] = bench.glance(tried)
    order = sorted(range(len(readings)), key=lambda j: readings[j].badness)
    return [spots[j] for j in order[:CONFIRMED]]


def _governing(bench: Bench, k: int) -> Stage:
    """The stage in the state that governs its worse face, or in which it falls."""
    stage, result, face = bench.piece.stages[k], bench.analysis.stages[k], bench.readings[k].face
    if face is not None and face in result.worst:
        worst = result.worst[face]
        return as_it_comes(stage, worst.variation, worst.at)
    if result.tips is not None:
        return as_it_comes(stage, result.tips.variation, result.tips.at)
    return stage


def _spots(bench: Bench, stage: Stage, size: float) -> list[tuple[float, float]]:
    """At most 24 spots on the slab: first where it is worst, then ever the one farthest from supports and spots."""
    region = bench.prepared.site.region
    inner = region.buffer(-size / 2)
    if inner.is_empty:
        return []
    rims = [ring for part in getattr(inner, "geoms", [inner]) for ring in (part.exterior, *part.interiors)]
    rim = [np.asarray(ring.segmentize(RIM_STEP).coords)[:-1] for ring in rims]
    grid = np.asarray(bench.prepared.mesh.nodes)
    inside = grid[shapely.contains_xy(inner, grid)]
    choice: FloatArray = np.round(np.concatenate([*rim, inside]), 3)
    choice = choice[shapely.contains_xy(inner.buffer(2e-3), choice)]
    away = _distance(bench, stage, choice)
    found: list[tuple[float, float]] = []
    for at in _worst_spots(bench, stage, choice):
        found.append(at)
        away = np.minimum(away, np.hypot(*(choice - at).T))
    while len(found) < TRIED and away.max(initial=0.0) > 2 * size:
        x, y = choice[int(np.argmax(away))]
        found.append((float(x), float(y)))
        away = np.minimum(away, np.hypot(*(choice - found[-1]).T))
    return found


def _worst_spots(bench: Bench, stage: Stage, choice: FloatArray) -> list[tuple[float, float]]:
    """The spots nearest to the stage's peaks."""
    k = bench.piece.stages.index(stage)
    peaks = bench.analysis.stages[k].peaks or {}
    nearest = (choice[int(np.argmin(np.hypot(*(choice - peak.at).T)))] for peak in peaks.values())
    return list(dict.fromkeys((float(x), float(y)) for x, y in nearest))


def _distance(bench: Bench, stage: Stage, points: FloatArray) -> FloatArray:
    """How far each point is from the nearest support of the stage [m]."""
    shapes = [geometry_of(bench.piece.shape, support.place) for support in stage.supports]
    union = shapely.union_all(shapes)
    return np.asarray(shapely.distance(shapely.points(points), union), dtype=np.float64)
