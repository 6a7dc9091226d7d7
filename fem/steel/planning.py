"""The plan: which straight runs carry what is owed with the least length, and how much that could be bettered.

Where a plan lays diagonals the best one without them stands beside it; where it lays none, the bound of those with
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from fem.steel.capacity import carried_by
from fem.steel.field import Field
from fem.steel.model import Code, Concrete, Covers, Demand, Plan, Rules, Run, Steel
from fem.steel.programme import Chosen
from fem.steel.remedies import remedies
from fem.steel.search import best_of_all, best_of_both, mended
from fem.steel.site import Site, site_of

__all__ = ["plan", "plan_near"]

#: On what is owed, so that it is carried between the points and directions that are looked at, too.
MARGIN = 0.02
_BOTH = (
    "it is not enough that every run serves the face that it lies near: some are counted on for the other face too, "
    "where their arm is short"
)


def plan(
    region: shapely.Polygon,
    thickness: float,
    demand: Demand,
    steel: Steel,
    covers: Covers,
    concrete: Concrete,
    code: Code,
    rules: Rules,
    fixed: Sequence[Run] = (),
    *,
    diagonals: bool = True,
    seconds: float = 5.0,
    again: Plan | None = None,
    far: bool = True,
) -> Plan:
    """Straight runs of least length that carry a demand in a slab of a thickness [m]; fixed runs are laid in any case.

    length counts laps; mat, cuts, stock_pieces and waste are left to others. Where even all runs together fall short,
    the plan gives most of what they could, failures say so, and remedies what would do. diagonals: whether to look for
    the best plan without them. seconds: about the most that the integer programmes may take in all.
    again: a plan for a part of the same demand, which is then mended: nothing else is looked for, if that is good.
    far: whether a run counts for the face that it does not lie near, by its shorter arm; what is told as carried counts
    it in any case.
    """
    site = site_of(region, thickness, demand, steel, covers, concrete, code, rules, fixed, MARGIN, far)
    kept = _kept(site)
    without: float | None = None
    with_diagonals: float | None = None
    found_crossed: float | None = None
    best = None
    if again is not None and not again.failures:
        best = mended(site, again.runs, again.bound - kept, seconds)
        without, with_diagonals = again.without_diagonals, again.with_diagonals
        found_crossed = again.found_with_diagonals
    if best is None and diagonals and len(site.main) < len(rules.directions):
        best, without, with_diagonals, found_crossed = best_of_both(site, seconds)
        without = without + kept
        with_diagonals = None if with_diagonals is None else with_diagonals + kept
        found_crossed = None if found_crossed is None else found_crossed + kept
    elif best is None:
        best = best_of_all(site, rules.directions, seconds)
    if best is None:
        raise ValueError("runs need at least one direction")
    runs = _runs(site, best.field, best.chosen)
    most = float(site.attainable(best.field.stacking).min(initial=np.inf))
    return Plan(
        runs=runs,
        length=best.chosen.cost + kept,
        bound=best.chosen.bound + kept,
        carried=carried_by(runs, demand, region, thickness, rules, site.worth, far),
        mat=None,
        cuts=(),
        stock_pieces=0,
        waste=0.0,
        failures=() if most >= 1 else (_failure(most),),
        without_diagonals=without,
        with_diagonals=with_diagonals,
        found_with_diagonals=found_crossed,
        remedies=() if most >= 1 else remedies(site, demand),
        far=far,
    )


def plan_near(
    region: shapely.Polygon,
    thickness: float,
    demand: Demand,
    steel: Steel,
    covers: Covers,
    concrete: Concrete,
    code: Code,
    rules: Rules,
    fixed: Sequence[Run] = (),
    *,
    diagonals: bool = True,
    seconds: float = 5.0,
    again: Plan | None = None,
) -> Plan:
    """The plan in which every run serves the face that it lies near; where none carries that, as plan() counts them.

    Steel near the pulled face works whichever way it is misplaced; what a run gives the far face is gone with the
    placing tolerance. A plan that needs it has a note.
    """
    given = region, thickness, demand, steel, covers, concrete, code, rules, fixed
    if again is None or not again.far:
        found = plan(*given, diagonals=diagonals, seconds=seconds, again=again, far=False)
        if not found.failures:
            return found
        again = None
    found = plan(*given, diagonals=diagonals, seconds=seconds, again=again)
    return found if found.failures else replace(found, notes=(*found.notes, _BOTH))


def _kept(site: Site) -> float:
    """Length of the runs that are laid in any case, with laps [m]."""
    length = np.array([run.length for run in site.fixed])
    return float((length + site.laps(length)).sum())


def _runs(site: Site, field: Field, chosen: Chosen) -> tuple[Run, ...]:
    """The runs with their marks: face by face, layer by layer, from one side to the other."""
    runs: list[Run] = list(field.kept)
    start = 0
    for bed, bars in zip(field.stacking, field.bars, strict=True):
        c, s = np.cos(bed.angle), np.sin(bed.angle)
        laid = np.flatnonzero(chosen.laid[start : start + len(bars.offset)])
        start += len(bars.offset)
        for offset, begin, end in zip(bars.offset[laid], bars.begin[laid], bars.end[laid], strict=True):
            points = tuple((float(x * c - offset * s), float(x * s + offset * c)) for x in (begin, end))
            runs.append(Run("", bed.face, points, bed.depth, site.steel, bed.layer))
    marked = []
    for face in ("show", "underside"):
        near = sorted((run for run in runs if run.face == face), key=_place)
        marked += [replace(run, mark=f"{face[0].upper()}{number + 1}") for number, run in enumerate(near)]
    return tuple(marked)


def _place(run: Run) -> tuple[float, ...]:
    (x0, y0), (x1, y1) = run.points[0], run.points[-1]
    angle = float(np.arctan2(y1 - y0, x1 - x0) % np.pi)
    across = -(x0 + x1) / 2 * np.sin(angle) + (y0 + y1) / 2 * np.cos(angle)
    return run.layer, round(angle, 6), round(float(across), 6), min(x0, x1)


def _failure(factor: float) -> str:
    if factor == 0:
        return "somewhere no run can be laid that would carry what is owed there"
    return f"all the runs that may be laid together carry {factor:.2g} of what is owed where they fall short most"
