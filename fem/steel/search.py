"""Looking for the shortest plan over all stackings of directions, without diagonals and with them side by side.

Every stacking is first solved with fractions of runs allowed, which bounds its length from below; the few best are
solved for whole runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from time import monotonic

import numpy as np
import numpy.typing as npt

from fem.steel.field import Field
from fem.steel.model import Run
from fem.steel.programme import Chosen, Relaxed, choose, relax
from fem.steel.site import Site
from fem.steel.stacking import Stacking

__all__ = ["Best", "best_of_all", "best_of_both", "mended"]

IntArray = npt.NDArray[np.int64]

_NONE = np.zeros(0, dtype=np.int64)
#: So many layers in all do for most slabs.
FEW = 4
_WHOLE = 2
_FOLLOWED = 6
_REORDERED = 2
_NEAR = 1.06


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
class Best:
    """The best stacking and its choice of runs, what they leave short, and what was tried beside it."""

    field: Field
    chosen: Chosen
    short: float
    tried: tuple[_Tried, ...]


def best_of_both(site: Site, seconds: float) -> tuple[Best, float, float | None, float | None]:
    """The shorter of the best plan without diagonals and the best of those that may have some.

    Beside it the length [m] of the best without, inf where that leaves more short, and if that is the one, a bound on
    those that have some and the shortest of them that was found. Both are looked for at the same time: HiGHS lets other
    threads run.
    """
    with ThreadPoolExecutor(1) as beside:
        waiting = beside.submit(best_of_all, site, site.main, seconds)
        crossed = best_of_all(site, site.rules.directions, seconds, crossed=True)
        plain = waiting.result()
    if plain is None or crossed is None:
        best = plain or crossed
        if best is None:
            raise ValueError("there is no way to stack the directions")
        none_crossed = np.inf if crossed is None else None
        return best, np.inf if plain is None else plain.chosen.cost, none_crossed, none_crossed
    least = min(plain.short, crossed.short)
    best = min((one for one in (plain, crossed) if _reaches(one.short, least)), key=lambda one: one.chosen.cost)
    if best is crossed and not _laid_angles(best) <= set(site.main):
        return best, plain.chosen.cost if _reaches(plain.short, least) else np.inf, None, None
    found = crossed.chosen.cost if _reaches(crossed.short, least) else np.inf
    return best, best.chosen.cost, min(one.bound for one in crossed.tried), found


def mended(site: Site, laid: Sequence[Run], bound: float, seconds: float) -> Best | None:
    """Runs that carry a part of the demand, mended in their own stacking; None where that leaves something short.

    Their bound [m] holds on: more is owed now, and fewer layers are to choose from.
    """
    stacking = site.stacking_of(laid)
    short = _shortfall(site, stacking)
    if short > 0:
        return None
    field = site.field(stacking)
    relaxed = relax(field.cost, field.covering, field.clashes, _NONE)
    start = replace(relaxed, cost=max(relaxed.cost, bound))
    begin = field.numbers(laid)
    chosen = choose(field.cost, field.covering, field.clashes, start, seconds=seconds, groups=field.pairs, begin=begin)
    return Best(field, chosen, short, (_Tried(field, start, chosen),))


def best_of_all(site: Site, angles: tuple[float, ...], seconds: float, crossed: bool = False) -> Best | None:
    """The shortest plan over all stackings of these directions; crossed: of those that have a diagonal.

    None if there is no such stacking. Where FEW layers carry all that is owed, no more are looked at: each is one more
    for the shop to lay.
    """
    end = monotonic() + seconds
    first, short = _all_short(site, angles, FEW, crossed)
    if min(short, default=1.0) > 0 and site.layers > FEW:
        first, short = _all_short(site, angles, site.layers, crossed)
    if not first:
        return None
    least = min(short)
    tried = _relaxed(site, [one for one, left in zip(first, short, strict=True) if _reaches(left, least)], [])
    for leading in sorted((one for one in tried if one.relaxed.exact), key=lambda one: one.relaxed.cost)[:_REORDERED]:
        others = [one for one in site.reordered(leading.field.stacking) if _reaches(_shortfall(site, one), least)]
        tried = _relaxed(site, others, tried)
    tried.sort(key=lambda one: one.relaxed.cost)
    found: list[tuple[Field, Chosen]] = []
    for k in [k for k, one in enumerate(tried) if one.relaxed.exact][:_WHOLE]:
        field, relaxed = tried[k].field, tried[k].relaxed
        left = end - monotonic()
        if found and (left < 0 or relaxed.cost >= min(chosen.cost for _, chosen in found)):
            break
        left = min(left, seconds / 4) if found else left
        chosen = choose(field.cost, field.covering, field.clashes, relaxed, seconds=left, groups=field.pairs)
        tried[k] = replace(tried[k], chosen=chosen)
        found.append((field, chosen))
    field, chosen = min(found, key=lambda pair: pair[1].cost)
    return Best(field, chosen, _shortfall(site, field.stacking), tuple(tried))


def _all_short(site: Site, angles: tuple[float, ...], most: int, crossed: bool) -> tuple[list[Stacking], list[float]]:
    """Every stacking of these directions in at most so many layers, and what it leaves short."""
    stackings = site.stackings(angles, most)
    if crossed:
        stackings = [one for one in stackings if not {bed.angle for bed in one} <= set(site.main)]
    return stackings, [_shortfall(site, stacking) for stacking in stackings]


def _shortfall(site: Site, stacking: Stacking) -> float:
    """What all runs leave short, as a share of what is owed: summed over points and faces, worst direction each."""
    return float(np.maximum(1 - site.attainable(stacking).min(axis=2, initial=1.0), 0.0).sum())


def _reaches(left: float, least: float) -> bool:
    """Whether a stacking that leaves so much short is worth solving beside one that leaves least."""
    return left <= 1.02 * least + 1e-9


def _relaxed(site: Site, stackings: Sequence[Stacking], tried: Sequence[_Tried]) -> list[_Tried]:
    """Bounds of more stackings; only the few that promise most are followed to their end.

    The others have a bound from the places that decide the best one so far.
    """
    tried = list(tried)
    waiting = [site.field(stacking) for stacking in stackings]
    if not any(one.relaxed.exact for one in tried) and waiting:
        tried.append(_followed(waiting.pop(0), _NONE, np.inf))
    if not waiting:
        return tried
    leading = min((one.relaxed for one in tried if one.relaxed.exact), key=lambda one: one.cost)
    probed = [_followed(field, leading.binding, np.inf, 2) for field in waiting]
    probed.sort(key=lambda one: one.relaxed.cost)
    best = leading.cost
    for k, one in enumerate(probed):
        enough = _NEAR * best
        if k < _FOLLOWED and one.relaxed.cost <= enough and not one.relaxed.exact:
            probed[k] = _followed(one.field, one.relaxed.places, enough)
        best = min(best, probed[k].relaxed.cost if probed[k].relaxed.exact else np.inf)
    return [*tried, *probed]


def _followed(field: Field, places: IntArray, enough: float, rounds: int = 60) -> _Tried:
    asked = places[field.covering.asks(places)]
    return _Tried(field, relax(field.cost, field.covering, field.clashes, asked, enough, rounds))


def _laid_angles(best: Best) -> set[float]:
    field, chosen = best.field, best.chosen
    beds = np.repeat(np.arange(len(field.bars)), [len(bars.offset) for bars in field.bars])
    return {field.stacking[k].angle for k in np.unique(beds[chosen.laid])}
