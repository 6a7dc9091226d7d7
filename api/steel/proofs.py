"""The calculation beside a layout: rules of laying, strength of its runs, crack and sag in use, bends or snaps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from api.case import Case
from api.steel.concrete_at import concrete_at
from api.steel.settings import Settings
from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.plate.model import StageResult
from fem.steel.across import layers_across
from fem.steel.bending import bending, bending_checks
from fem.steel.cracking_checks import cracking_checks
from fem.steel.detailing_checks import checks
from fem.steel.model import Bending, Carried, Check, Face, Point, Quantity, Run
from fem.steel.section import Layer
from fem.steel.strength_checks import strength_checks

__all__ = ["Proofs", "proofs_of"]

FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, eq=False)
class Proofs:
    """What is checked of a layout, and whether it bends or snaps at the worst place of every stage and face."""

    checks: tuple[Check, ...]
    bendings: tuple[Bending, ...]


@dataclass(frozen=True, eq=False)
class _Place:
    """The worst place of one face of a stage: where, the direction of the pull [rad], its moment [N m/m], its steel."""

    stage: int
    name: str
    face: Face
    at: Point
    angle: float
    moment: float
    layers: tuple[Layer, ...]


def proofs_of(
    case: Case,
    piece: Piece,
    analysis: Analysis,
    settings: Settings,
    region: shapely.Polygon,
    runs: Sequence[Run],
    carried: Carried | None,
) -> Proofs:
    """The proofs of straight runs in a slab; carried is what they carry of what is owed, if that is known."""
    places = list(_places(piece, analysis, settings, region, runs))
    bent = [(place, _bending(case, place, settings)) for place in places]
    found = [*_laying(settings, runs), *_strengths(settings, runs), *_carries(carried)]
    found += _in_use(case, places, settings)
    if bent:
        place, worst = min(bent, key=lambda pair: (pair[1].low, pair[1].high))
        concrete = concrete_at(case, 0.0, case.stage[place.stage])
        rules = settings.rules
        if place.layers:
            found += bending_checks(worst, place.layers, settings.thickness, rules.placing, concrete, settings.code)
    return Proofs(tuple(found), tuple(one for _, one in bent))


def _laying(settings: Settings, runs: Sequence[Run]) -> tuple[Check, ...]:
    return checks(
        settings.thickness,
        settings.covers,
        settings.steel,
        settings.concrete,
        settings.code,
        settings.rules,
        [run for run in runs if run.steel == settings.steel],
    )


def _strengths(settings: Settings, runs: Sequence[Run]) -> Iterator[Check]:
    """Strength of one run of every face's outermost layer that is laid."""
    for face in FACES:
        near = [run for run in runs if run.face == face]
        if near:
            outer = min(near, key=lambda run: run.layer)
            arm = settings.thickness - outer.depth if face == "show" else outer.depth
            place = f"near the {'show face' if face == 'show' else 'underside'}"
            yield from strength_checks(
                outer.steel, arm, settings.rules.pitch, settings.concrete, settings.code, place=place
            )


def _carries(carried: Carried | None) -> Iterator[Check]:
    """The load factor as a check; where nothing is owed there is none."""
    if carried is None or not math.isfinite(carried.factor):
        return
    place = "" if carried.face is None else f"{carried.face}, {carried.stage}"
    ok = carried.factor >= 1
    yield Check(
        "strength against what is owed",
        "Nielsen's criterion; lower-bound theorem",
        "t' C t >= m(t) for every direction t, at every point and on both faces",
        (),
        Quantity("least strength / demand", carried.factor, "number"),
        ">=",
        Quantity("needed", 1.0, "number"),
        ok,
        place,
        ""
        if ok
        else "it does not carry the factored loads once it has cracked there: lay the plan, or see what would do",
    )


def _places(
    piece: Piece, analysis: Analysis, settings: Settings, region: shapely.Polygon, runs: Sequence[Run]
) -> Iterator[_Place]:
    """Every face of every stage where it is pulled enough to owe steel, at its worst place."""
    thickness, rules = settings.thickness, settings.rules
    for k, (result, stage) in enumerate(zip(analysis.stages, piece.stages, strict=True)):
        for face, at, angle, tension in _peaks(result):
            if tension > settings.owed_above * stage.cracking:
                layers = layers_across(runs, region, thickness, rules, at, angle, face)
                yield _Place(k, stage.name, face, at, angle, tension * thickness**2 / 6, layers)


def _peaks(result: StageResult) -> Iterator[tuple[Face, Point, float, float]]:
    if result.peaks is None:
        return
    for face in FACES:
        peak = result.peaks[face]
        yield face, (float(peak.at[0]), float(peak.at[1])), math.radians(peak.tension.angle), peak.tension.tension


def _bending(case: Case, place: _Place, settings: Settings) -> Bending:
    return bending(
        place.name,
        place.face,
        place.at,
        place.angle,
        place.layers,
        settings.thickness,
        settings.rules.placing,
        concrete_at(case, 0.0, case.stage[place.stage]),
        settings.code,
    )


def _in_use(case: Case, places: Sequence[_Place], settings: Settings) -> Iterator[Check]:
    """Crack width and sag at the worst place of the stages of use that steel crosses."""
    used = [place for place in places if case.stage[place.stage].multiplier == 1 and place.layers]
    if not used:
        return
    place = max(used, key=lambda one: one.moment)
    layer = max(place.layers, key=lambda one: one.depth)
    spacing = layer.steel.wires * layer.steel.area / layer.area
    stage = case.stage[place.stage]
    yield from cracking_checks(
        place.moment,
        layer,
        settings.thickness,
        spacing,
        concrete_at(case, 0.0, stage),
        settings.code,
        place=f"{place.name}, {place.face}",
        lasting=stage.lasting,
    )
