"""What would do where no plan carries what is owed: one change at a time, tried on all runs that could then be laid."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from fem.steel.model import Covers, Demand, Remedy, Rules, Steel
from fem.steel.site import Site, site_of

__all__ = ["attainable_factor", "remedies"]

#: As thick as slabs of this trade come [m]; common practice, no source.
THICKEST = 0.075
_STEPS = 8

What = Literal["thickness", "diameter", "spacing", "cover"]


def attainable_factor(site: Site) -> float:
    """The most of the demand that any stacking carries with all its runs laid; inf where nothing is owed."""
    stackings = site.stackings(site.rules.directions)
    return max((float(site.attainable(one).min(initial=np.inf)) for one in stackings), default=0.0)


def remedies(site: Site, demand: Demand) -> tuple[Remedy, ...]:
    """For each kind of change the least of eight steps that makes a plan possible, with what it then can carry.

    A thicker slab is taken to owe more in proportion to its thickness, as if all loads were its own weight; a thicker
    wire to need a longer anchorage in proportion to its diameter.
    """
    diameter, pitch = site.steel.diameter, site.rules.pitch
    changes: tuple[tuple[What, float, float, Callable[[float], Site]], ...] = (
        ("thickness", site.thickness, max(THICKEST, 1.5 * site.thickness), lambda h: _thicker(site, demand, h)),
        ("diameter", diameter, 2 * diameter, lambda d: _stronger(site, demand, d)),
        ("spacing", pitch, pitch / 2, lambda s: _closer(site, demand, s)),
        ("cover", 1.0, 0.5, lambda share: _less_cover(site, demand, share)),
    )
    found = []
    for what, now, last, changed in changes:
        fits, factor = 0, 0.0
        for step in (_STEPS, _STEPS // 2, _STEPS // 4, _STEPS // 8):
            tried = fits - step if fits else step
            reached = attainable_factor(changed(now + (last - now) * tried / _STEPS))
            if reached >= 1:
                fits, factor = tried, reached
            elif not fits:
                break
        if fits:
            found.append(Remedy(what, now + (last - now) * fits / _STEPS, factor))
    return tuple(found)


def _again(
    site: Site, demand: Demand, *, thickness: float, steel: Steel, covers: Covers, rules: Rules, scale: float = 1.0
) -> Site:
    owing = replace(demand, needed={face: scale * needed for face, needed in demand.needed.items()})
    concrete, code = site.concrete, site.code
    return site_of(site.region, thickness, owing, steel, covers, concrete, code, rules, margin=site.margin)


def _thicker(site: Site, demand: Demand, thickness: float) -> Site:
    scale = thickness / site.thickness
    rules = replace(site.rules, most=site.rules.most * scale)
    return _again(site, demand, thickness=thickness, steel=site.steel, covers=site.covers, rules=rules, scale=scale)


def _stronger(site: Site, demand: Demand, diameter: float) -> Site:
    scale = diameter / site.steel.diameter
    steel = replace(
        site.steel,
        diameter=diameter,
        outside=site.steel.outside * scale,
        area=site.steel.area * scale**2,
        mass=site.steel.mass * scale**2,
    )
    rules = replace(site.rules, anchorage=site.rules.anchorage * scale, lap=site.rules.lap * scale)
    return _again(site, demand, thickness=site.thickness, steel=steel, covers=site.covers, rules=rules)


def _closer(site: Site, demand: Demand, pitch: float) -> Site:
    rules = replace(site.rules, pitch=pitch)
    return _again(site, demand, thickness=site.thickness, steel=site.steel, covers=site.covers, rules=rules)


def _less_cover(site: Site, demand: Demand, share: float) -> Site:
    old = site.covers
    covers = Covers(old.show * share, old.underside * share, old.edge * share, old.opening * share)
    return _again(site, demand, thickness=site.thickness, steel=site.steel, covers=covers, rules=site.rules)
