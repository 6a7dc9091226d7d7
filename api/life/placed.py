"""On its cabinets: slid in, set down, and used for decades by people who stand, lean and sit."""

from __future__ import annotations

from typing import Any

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from api.errors import CaseError, Problem
from api.life.cabinets import furniture_supports, level_of
from api.life.defaults import DEFAULTS
from api.life.draft import Draft, Making
from api.life.sides import Side, long_side
from api.life.zones import lip_strip, lips, plain_parts, zone_area
from api.units import FORCE, LENGTH, clean, in_words

__all__ = ["set_down", "standing_on", "used"]

Point = tuple[float, float]

BOWLS = ("sink", "basin", "bowl")
WATER = 1000.0 * 9.80665
SEAT_DEPTH = 0.1016


def standing_on(making: Making) -> list[dict[str, Any]]:
    """What the piece stands on: the supports told, else cabinets and brackets; CaseError if there are none."""
    life, case = making.case.life, making.case
    assert life is not None
    if life.set.support:
        return [support.model_dump(mode="json", exclude_none=True) for support in life.set.support]
    supports = furniture_supports(case.cabinet, case.bracket, making.drawing, making.choice)
    if not supports:
        fix = "draw its [[cabinet]] boxes, or write [[life.set.support]], or leave set and use out of [life] stages"
        raise CaseError([Problem("life.stages", "no supports: where does it stand?", fix)])
    return supports


def set_down(making: Making, supports: list[dict[str, Any]]) -> list[Draft]:
    """Slid in from the open end, then down on supports a shim high or low each."""
    choice, life = making.choice, making.case.life
    assert life is not None
    drafts = []
    slide = life.set.slide
    if slide is not False:
        way = _slide(making, supports) if slide is None else slide
        hands = [
            {"name": f"hand at the trailing end {k}", "kind": "hand", "at": spot}
            for k, spot in enumerate(_trailing(making, way), 1)
        ]
        # Nothing is glued or screwed yet while it slides.
        loose = [{**support, "action": "rest"} for support in supports]
        drafts.append(making.draft("set", "set, sliding in", "show", slide=way, support=[*loose, *hands]))
    shims = life.set.shims if life.set.shims is not None else level_of(making.case.cabinet, choice)
    more = {"shims": shims} if shims > 0 else {}
    return [*drafts, making.draft("set", "set", "show", levels=True, support=supports, **more)]


def used(making: Making, supports: list[dict[str, Any]]) -> list[Draft]:
    """People anywhere they may be; seats, where there is a sit zone; what stays for years."""
    drafts = [making.draft("use", "use, rare", "show", support=supports, load=_people(making))]
    seats = _seats(making)
    if seats:
        drafts.append(making.draft("use", "use, seats", "show", support=supports, load=seats))
    choice = making.choice
    bow = {"name": "drying", "drying": choice.value("use.drying"), "strain": choice.number("use.strain")}
    more: dict[str, Any] = {"lasting": True, "creep": choice.number("use.creep"), "load": _bowls(making)}
    if bow["strain"]:
        more["bow"] = [bow]
    return [*drafts, making.draft("use", "use, lasting", "show", support=supports, **more)]


def _slide(making: Making, supports: list[dict[str, Any]]) -> Point:
    """Half the piece's length towards the end that stands out farther over its supports."""
    row = DEFAULTS["set.slide"]
    making.choice.note("life.set.slide", row.why)
    share = float(row.value)
    side = long_side(making.drawing.shape.outline, making.area)
    low, high = side.extent
    spots = [spot for support in supports for spot in support.get("points") or [support.get("at", side.begin)]]
    bears = [side.at_of(spot) for spot in spots]
    sign = 1.0 if high - max(bears) >= min(bears) - low else -1.0
    x, y = side.along
    return clean(sign * share * (high - low) * x), clean(sign * share * (high - low) * y)


def _trailing(making: Making, way: Point) -> list[Point]:
    """Two hands at the end of the piece that comes last."""
    x, y = way
    length = (x * x + y * y) ** 0.5
    if length == 0:
        return []
    begin = making.area.centroid
    # A side that runs along the way the piece comes from: its far end is the trailing one.
    side = Side((begin.x, begin.y), (begin.x + x / length, begin.y + y / length), making.area)
    t = side.extent[1] - SEAT_DEPTH / 2
    return [side.inside(t, making.slab, far=False), side.inside(t, making.slab, far=True)]


def _people(making: Making) -> list[dict[str, Any]]:
    """A foot in the stand zones, a hand or a pot elsewhere, neither where nobody goes."""
    choice = making.choice
    foot, size = choice.number("use.foot"), choice.number("use.foot_size")
    elsewhere = choice.number("use.elsewhere")
    zones = making.case.zone
    nobody = unary_union([zone_area(zone) for zone in zones if zone.kind == "nobody"])
    stand = [zone for zone in zones if zone.kind == "stand"]
    loads: list[dict[str, Any]] = []
    if stand:
        for k, zone in enumerate(stand, 1):
            loads += _roaming(
                f"somebody stands in {zone.name or f'stand zone {k}'}", foot, size, making, zone_area(zone)
            )
    elif not zones or foot > 0:
        loads += _roaming("somebody stands", foot, size, making, _clear_of_openings(making).difference(nobody))
    return loads + _roaming("somebody leans, or a pot", elsewhere, size, making, making.area.difference(nobody))


def _clear_of_openings(making: Making) -> BaseGeometry:
    """The slab but for the rails about its openings."""
    clear = making.choice.number("use.clear")
    shown = in_words(clear, LENGTH, making.drawing.system)
    making.choice.note("zone", f"no stand zone: somebody may stand anywhere at least {shown} from an opening")
    openings = [Polygon(ring).buffer(clear, quad_segs=4) for ring in making.slab.interiors]
    return making.area.difference(unary_union(openings))


def _roaming(name: str, force: float, size: float, making: Making, area: BaseGeometry) -> list[dict[str, Any]]:
    """The load anywhere in an area, as one roaming load for each plain part of it."""
    if force == 0:
        return []
    common: dict[str, Any] = {"kind": "point", "force": force, "size": size}
    part = area.intersection(making.area)
    if making.area.difference(part).area < 1e-6:
        return [{"name": name, **common, "roaming": True}]
    corners = plain_parts(part)
    names = [name] if len(corners) == 1 else [f"{name[:105]}, part {k}" for k in range(1, len(corners) + 1)]
    return [{"name": one, **common, "roaming": points} for one, points in zip(names, corners, strict=True)]


def _seats(making: Making) -> list[dict[str, Any]]:
    """People leaning along the lip of every sit zone, and one who sits anywhere along it, to its very ends."""
    choice = making.choice
    loads: list[dict[str, Any]] = []
    zones = [zone for zone in making.case.zone if zone.kind == "sit"]
    for k, zone in enumerate(zones, 1):
        name, area = zone.name or f"sit zone {k}", zone_area(zone)
        lip, sitter = choice.number("use.lip"), choice.number("use.sitter")
        for stretch in lips(making.drawing, area) if lip else ():
            load: dict[str, Any] = {"name": f"people lean along {name}"[:120], "kind": "edge", "force_per_length": lip}
            loads.append(load if stretch is None else {**load, "points": list(stretch)})
        seat = lip_strip(making.drawing, area, SEAT_DEPTH)
        loads += _roaming(f"one sits in {name}", sitter, choice.number("use.foot_size"), making, seat)
    return loads


def _bowls(making: Making) -> list[dict[str, Any]]:
    """Bowls full of water on the rims of their openings."""
    life, choice = making.case.life, making.choice
    assert life is not None
    openings = making.case.slab.opening
    if life.use.bowl is not None:
        hung = [(k, bowl.opening, bowl.depth, bowl.weight) for k, bowl in enumerate(life.use.bowl)]
    else:
        named = [k for k, one in enumerate(openings) if any(word in (one.name or "").lower() for word in BOWLS)]
        hung = [(k, opening, None, None) for k, opening in enumerate(named)]
    loads = []
    for k, opening, depth, weight in hung:
        if opening >= len(openings):
            there = f"the slab has {len(openings)}; count from 0"
            raise CaseError([Problem(f"life.use.bowl[{k}].opening", f"there is no opening {opening}", there)])
        loop = making.drawing.shape.openings[opening]
        if weight is None:
            deep = depth if depth is not None else choice.number("use.bowl_depth")
            weight = Polygon(loop.polyline(2e-5)).area * deep * WATER
            told = in_words(weight, FORCE, making.drawing.system)
            choice.note(f"slab.opening[{opening}]", f"a bowl full of water hangs on its rim: {told}")
        name = f"bowl full of water in {openings[opening].name or f'opening {opening}'}"
        per_length = clean(weight / loop.length)
        loads.append({"name": name[:120], "kind": "edge", "opening": opening, "force_per_length": per_length})
    return loads
