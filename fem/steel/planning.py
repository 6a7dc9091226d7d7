"""The plan: which straight runs carry what is owed with the least length, and how much that could be bettered.

Every stacking of directions is first solved with fractions of runs allowed, which bounds its length from below; the
few best are solved for whole runs. Where a plan lays diagonals the best one without them stands beside it; where it
lays none, the bound of those with them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from time import monotonic

import numpy as np
import numpy.typing as npt
import shapely

from fem.steel.capacity import carried_by
from fem.steel.model import Code, Concrete, Covers, Demand, Plan, Rules, Run, Steel
from fem.steel.programme import Chosen, Relaxed, choose, relax
from fem.steel.remedies import remedies
from fem.steel.site import Field, Site, site_of
from fem.steel.stacking import Stacking

__all__ = ["plan"]

IntArray = npt.NDArray[np.int64]

#: On what is owed, so that it is carried between the points and directions that are looked at, too.
MARGIN = 0.02
#: So many layers in all do for most slabs.
FEW = 4
_WHOLE = 2
_REORDERED = 2
_NEAR = 1.12


@dataclass(frozen=True, eq=False)
class _Tried:
    """A stacking with its programme for fractions of runs and, if it came to that, for whole ones."""

    field: Field
    relaxed: Relaxed
    chosen: Chosen | None = None

    @property
    def bound(self) -> float:
        """What no plan of this stacking beats [m]."""
        return self.relaxed.cost if self.chosen is None else self.chosen.bound


@dataclass(frozen=True, eq=False)
class _Best:
    """The best stacking and its choice of runs, what they leave short, and what was tried beside it."""

    field: Field
    chosen: Chosen
    short: float
    tried: tuple[_Tried, ...]


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
) -> Plan:
    """Straight runs of least length that carry a demand in a slab of a thickness [m]; fixed runs are laid in any case.

    length counts laps; mat, cuts, stock_pieces and waste are left to others. Where even all runs together fall short,
    the plan gives most of what they could, failures say so, and remedies what would do. diagonals: whether to look for
    the best plan without them. seconds: about the most that the integer programmes may take in all.
    """
    site = site_of(region, thickness, demand, steel, covers, concrete, code, rules, fixed, MARGIN)
    if diagonals and len(site.main) < len(rules.directions):
        end = monotonic() + seconds
        plain = _best(site, site.main, 0.6 * seconds)
        best = _best(site, rules.directions, end - monotonic(), plain)
        without, with_diagonals = _compared(site, plain, best)
    else:
        best = _best(site, rules.directions, seconds)
        without, with_diagonals = None, None
    runs = _runs(site, best.field, best.chosen)
    kept = float(sum(run.length + site.laps(np.array([run.length]))[0] for run in best.field.kept))
    most = float(site.attainable(best.field.stacking).min(initial=np.inf))
    return Plan(
        runs=runs,
        length=best.chosen.cost + kept,
        bound=best.chosen.bound + kept,
        carried=carried_by(runs, demand, region, thickness, rules, site.worth),
        mat=None,
        cuts=(),
        stock_pieces=0,
        waste=0.0,
        failures=() if most >= 1 else (_failure(most),),
        without_diagonals=None if without is None else without + kept,
        with_diagonals=None if with_diagonals is None else with_diagonals + kept,
        remedies=() if most >= 1 else remedies(site, demand),
    )


def _best(site: Site, angles: tuple[float, ...], seconds: float, beside: _Best | None = None) -> _Best:
    """The shortest plan over all stackings of these directions, or the one beside it if that is shorter.

    Where FEW layers carry all that is owed, no more are looked at: each is one more for the shop to lay.
    """
    end = monotonic() + seconds
    first, short = _all_short(site, angles, FEW)
    if min(short) > 0 and site.layers > FEW:
        first, short = _all_short(site, angles, site.layers)
    least = min(short)
    known = () if beside is None or not _reaches(beside.short, least) else (beside,)
    beaten = min((one.chosen.cost for one in known), default=np.inf)
    new = [not known or bool(_angles(one) - set(site.main)) for one in first]
    worth = [one for one, left, fresh in zip(first, short, new, strict=True) if fresh and _reaches(left, least)]
    tried = _relaxed(site, worth, [], beaten)
    for leading in sorted(tried, key=lambda one: one.relaxed.cost)[:_REORDERED]:
        others = [one for one in site.reordered(leading.field.stacking) if _reaches(_shortfall(site, one), least)]
        tried = _relaxed(site, others, tried, beaten)
    tried.sort(key=lambda one: one.relaxed.cost)
    for k, one in enumerate(tried[:_WHOLE]):
        if not one.relaxed.exact or one.relaxed.cost >= beaten or (k and monotonic() > end):
            break
        left = end - monotonic()
        chosen = choose(
            one.field.cost, one.field.covering, one.field.clashes, one.relaxed, seconds=left, groups=one.field.pairs
        )
        tried[k] = replace(one, chosen=chosen)
        beaten = min(beaten, chosen.cost)
    found = [(one.field, one.chosen) for one in tried if one.chosen is not None]
    field, chosen = min((*((one.field, one.chosen) for one in known), *found), key=lambda pair: pair[1].cost)
    return _Best(field, chosen, _shortfall(site, field.stacking), tuple(tried))


def _all_short(site: Site, angles: tuple[float, ...], most: int) -> tuple[list[Stacking], list[float]]:
    """Every stacking of these directions in at most so many layers, and what it leaves short."""
    stackings = site.stackings(angles, most)
    return stackings, [_shortfall(site, stacking) for stacking in stackings]


def _shortfall(site: Site, stacking: Stacking) -> float:
    """What all runs leave short, as a share of what is owed: summed over points and faces, worst direction each."""
    return float(np.maximum(1 - site.attainable(stacking).min(axis=2, initial=1.0), 0.0).sum())


def _reaches(left: float, least: float) -> bool:
    """Whether a stacking that leaves so much short is worth solving beside one that leaves least."""
    return left <= 1.02 * least + 1e-9


def _relaxed(site: Site, stackings: Sequence[Stacking], tried: Sequence[_Tried], beaten: float) -> list[_Tried]:
    """Bounds of more stackings; one that is clearly longer than the best, or beaten, is not followed to its end."""
    tried = list(tried)
    best = min((one.relaxed.cost for one in tried if one.relaxed.exact), default=np.inf)
    pool: IntArray = np.unique(np.concatenate([np.zeros(0, np.int64), *(one.relaxed.places for one in tried)]))
    for field in map(site.field, stackings):
        asked = pool[field.covering.asks(pool)]
        found = relax(field.cost, field.covering, field.clashes, asked, min(_NEAR * best, beaten))
        tried.append(_Tried(field, found))
        if found.exact:
            best = min(best, found.cost)
            pool = np.unique(np.concatenate([pool, found.places]))
    return tried


def _compared(site: Site, plain: _Best, best: _Best) -> tuple[float, float | None]:
    """Length [m] of the best plan without diagonals, and if this is one a bound on those that have some."""
    if not _laid_angles(best.field, best.chosen) <= set(site.main):
        return (plain.chosen.cost if _reaches(plain.short, best.short) else np.inf), None
    crossed = [one.bound for one in best.tried if not _angles(one.field.stacking) <= set(site.main)]
    return best.chosen.cost, min(crossed, default=np.inf)


def _angles(stacking: Stacking) -> set[float]:
    return {bed.angle for bed in stacking}


def _laid_angles(field: Field, chosen: Chosen) -> set[float]:
    beds = np.repeat(np.arange(len(field.bars)), [len(bars.offset) for bars in field.bars])
    return {field.stacking[k].angle for k in np.unique(beds[chosen.laid])}


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
