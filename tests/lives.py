"""Random lives as cases, each from its own number: every outline, ready-made and explicit stages, odd supports.

Most of them make sense, some do not: what is asked of every one is an answer that holds together, or faults with a fix.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

__all__ = ["life_case"]

Json = dict[str, Any]
Corners = list[tuple[float, float]]

INCH, LBF = 0.0254, 4.4482216152605
DAY_NAMES = ("strip", "turn", "carry", "haul", "set", "use")


@dataclass(frozen=True)
class _Life:
    """What all parts of one life are drawn with; sizes inside are metres and newtons."""

    rng: np.random.Generator
    us: bool
    area: Polygon
    straight: bool
    openings: int

    def likely(self, share: float) -> bool:
        """True in this share of all lives."""
        return bool(self.rng.random() < share)

    def pick(self, *choices: Any) -> Any:
        """One of the choices."""
        return choices[int(self.rng.integers(len(choices)))]

    def between(self, low: float, high: float) -> float:
        """A number between, to four figures."""
        return float(f"{self.rng.uniform(low, high):.4g}")

    def length(self, metres: float) -> float:
        """A length in the units of the case."""
        return round(metres / INCH, 4) if self.us else round(metres, 5)

    def force(self, newtons: float) -> float:
        """A force in the units of the case."""
        return round(newtons / LBF, 3) if self.us else round(newtons, 2)

    def point(self, at: Any) -> list[float]:
        """A point in the units of the case."""
        return [self.length(float(at[0])), self.length(float(at[1]))]

    def points(self, corners: Any) -> list[list[float]]:
        """Points in the units of the case."""
        return [self.point(at) for at in corners]

    def spot(self, outside: float = 0.001) -> tuple[float, float]:
        """A spot on the concrete, seldom anywhere in its bounding box."""
        x0, y0, x1, y1 = self.area.bounds
        for _ in range(60):
            at = float(self.rng.uniform(x0, x1)), float(self.rng.uniform(y0, y1))
            if self.area.buffer(-0.03).contains(Spot(at)) or self.likely(outside):
                return at
        middle = self.area.representative_point()
        return middle.x, middle.y

    def box(self, low: float, high: float, over: float = 0.02) -> Corners:
        """A rectangle about a spot, clipped to the concrete but in this share of all lives."""
        (x, y), w, h = self.spot(), self.between(low, high), self.between(low, high)
        whole = shapely.box(x - w / 2, y - h / 2, x + w / 2, y + h / 2)
        cut = whole.intersection(self.area)
        parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, Polygon) and not part.interiors]
        best = max(parts, key=lambda part: part.area, default=whole)
        kept = whole if self.likely(over) or best.area < 1e-4 else best
        return [(float(x), float(y)) for x, y in kept.exterior.coords[:-1]]

    def line(self) -> Corners:
        """Two spots, most often with concrete all the way between them."""
        ends = [self.spot(), self.spot()]
        for _ in range(30):
            if self.area.contains(LineString(ends)):
                break
            ends = [self.spot(0.0), self.spot(0.0)]
        return ends

    def across(self, x: float) -> Corners:
        """The longest line of concrete at this x."""
        cut = self.area.buffer(-0.002).intersection(LineString([(x, -9.0), (x, 9.0)]))
        parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, LineString) and not part.is_empty]
        if not parts:
            return self.line()
        return [(float(x), float(y)) for x, y in max(parts, key=lambda part: part.length).coords]


def life_case(seed: int) -> Json:
    """The case of this number; the same number gives the same case."""
    rng = np.random.default_rng([3, seed])
    us = bool(rng.random() < 0.5)
    corners, outline = _outline(rng)
    hull = Polygon(corners)
    holes = _openings(rng, hull)
    # An outline that crosses itself is one of the faults wanted.
    cut = shapely.make_valid(hull).difference(shapely.union_all([_hole(hole) for hole in holes]))
    area = max((part for part in getattr(cut, "geoms", [cut])), key=lambda part: float(part.area))
    life = _Life(rng, us, area, outline is None, len(holes))
    case: Json = {
        "case": 1,
        "title": f"Life {seed}",
        "units": "us" if us else "si",
        "slab": _slab(life, corners, outline, holes),
        "concrete": _concrete(life),
    }
    lived = life.likely(0.65)
    if life.likely(0.7 if lived else 0.15):
        case["cabinet"] = _cabinets(life)
    if life.likely(0.2):
        ends = life.line()
        case["bracket"] = [{"at": life.point(ends[0]), "to": life.point(ends[1])}]
    if life.likely(0.45):
        case["zone"] = _zones(life)
    if lived:
        case["life"] = _life(life)
    if not lived or life.likely(0.25):
        case["stage"] = [_stage(life, k) for k in range(int(rng.integers(1, 4)))]
    if life.likely(0.3):
        case["probe"] = [{"name": "here", "at": life.point(life.spot())}]
    return case


def _outline(rng: np.random.Generator) -> tuple[Corners, str | None]:
    """Corners [m], and the name of the round shape that they stand for."""
    w, d = float(rng.uniform(0.7, 3.0)), float(rng.uniform(0.35, 1.1))
    kind = str(rng.choice(["box", "L", "U", "T", "round", "oval", "skew", "odd", "sliver"]))
    h, a = d + float(rng.uniform(0.3, 1.2)), float(rng.uniform(0.3, 0.6))
    if kind in ("round", "oval"):
        d = w = min(w, 1.6) if kind == "round" else w
        d = d if kind == "round" else float(rng.uniform(0.4, 1.0)) * w
        turns = np.linspace(0, 2 * math.pi, 65)[:-1]
        return [(w / 2 * math.cos(t), d / 2 * math.sin(t)) for t in turns], kind
    if kind == "L":
        return [(0, 0), (w, 0), (w, d), (a, d), (a, h), (0, h)], None
    if kind == "U":
        w = max(w, 2 * a + 0.3)
        return [(0, 0), (w, 0), (w, h), (w - a, h), (w - a, d), (a, d), (a, h), (0, h)], None
    if kind == "T":
        m = w * float(rng.uniform(0.3, 0.6))
        return [
            (0, 0),
            (w, 0),
            (w, d),
            ((w + a) / 2, d),
            ((w + a) / 2, h),
            (m - a / 2, h),
            (m - a / 2, d),
            (0, d),
        ], None
    if kind == "skew":
        s = float(rng.uniform(-0.6, 0.6))
        return [(0, 0), (w, 0), (w + s, d), (s, d)], None
    if kind == "odd":
        turns = np.sort(rng.uniform(0, 2 * math.pi, int(rng.integers(3, 9))))
        reach = rng.uniform(0.4, 1.0, len(turns)) * w / 2 + 0.2
        return [(float(r * math.cos(t)), float(r * math.sin(t))) for t, r in zip(turns, reach, strict=True)], None
    if kind == "sliver":
        d = float(rng.uniform(0.08, 0.2))
    return [(0, 0), (w, 0), (w, d), (0, d)], None


def _openings(rng: np.random.Generator, area: Polygon) -> list[Json]:
    found: list[Json] = []
    x0, y0, x1, y1 = area.bounds
    for _ in range(int(rng.choice([0, 0, 1, 1, 2]))):
        for _ in range(12):
            x, y = float(rng.uniform(x0, x1)), float(rng.uniform(y0, y1))
            w, h = float(rng.uniform(0.05, 0.7)), float(rng.uniform(0.05, 0.45))
            hole: Json = {"center": (x, y), "size": (w, h), "round": bool(rng.random() < 0.3)}
            clear = area.buffer(-0.05).contains(_hole(hole))
            if (clear and all(_hole(hole).distance(_hole(one)) > 0.05 for one in found)) or rng.random() < 0.003:
                found.append(hole)
                break
    return found


def _hole(hole: Json) -> Polygon:
    (x, y), (w, h) = hole["center"], hole["size"]
    return Polygon([(x - w / 2, y - h / 2), (x + w / 2, y - h / 2), (x + w / 2, y + h / 2), (x - w / 2, y + h / 2)])


def _slab(life: _Life, corners: Corners, shape: str | None, holes: list[Json]) -> Json:
    outline: Any = life.points(corners)
    if shape is None and life.likely(0.3):
        outline[0] = [*outline[0], life.length(0.02)]
    if shape is not None:
        width, depth = 2 * corners[0][0], 2 * corners[16][1]
        outline = {"shape": "ellipse", "center": [0, 0], "size": life.point((width, depth))}
        if shape == "round":
            outline = {"shape": "circle", "center": [0, 0], "diameter": life.length(width)}
    slab: Json = {"thickness": life.length(life.between(0.025, 0.075)), "outline": outline, "opening": []}
    for hole in holes:
        entry: Json = {"center": life.point(hole["center"])}
        kind = {"shape": "ellipse"} if hole["round"] else {"shape": "rectangle", "corner_radius": life.length(0.01)}
        name = {"name": life.pick("Sink", "Hob", "Basin")} if life.likely(0.7) else {}
        slab["opening"].append({**kind, **entry, "size": life.point(hole["size"]), **name})
    if life.likely(0.2):
        slab["tolerance"] = life.length(life.pick(0.0, 0.0016, 0.003))
    if life.likely(0.2):
        slab["region"] = [{"depth": life.length(0.018), "points": life.points(life.box(0.05, 0.5))}]
    return slab


def _concrete(life: _Life) -> Json:
    concrete: Json = {"density": "2350 kg/m3", "compressive_strength": f"{life.between(20, 90):g} MPa"}
    if life.likely(0.2):
        concrete["cement"] = life.pick("I", "III", "S", "N", "R")
    elif life.likely(0.1):
        concrete["strength_gain"] = {"a": "4 day", "beta": 0.85}
    if life.likely(0.1):
        concrete["cracking_strength"] = f"{life.between(1.5, 8):g} MPa"
    if life.likely(0.1):
        concrete["curing_temperature"] = "12 degC"
    return concrete


def _cabinets(life: _Life) -> list[Json]:
    x0, y0, x1, y1 = life.area.bounds
    count = int(life.rng.integers(1, 5))
    wide = (x1 - x0) / count
    found: list[Json] = []
    for k in range(count):
        one: Json = {
            "at": life.point((x0 + k * wide, y0 + 0.02)),
            "size": life.point((wide, max(min(0.6, y1 - y0), 0.1))),
        }
        extras = {
            "front_rail": True,
            "back_rail": True,
            "front": life.pick("front", "back", "left", "right"),
            "angle": life.between(-30, 30),
            "level": "1.5 mm",
            "gap": life.pick("2 mm", "-1 mm"),
            "adhesive": life.pick("0.2 MPa", "0.4 MPa", True),
            "ledger": True,
            "appliance": True,
        }
        chances = {"adhesive": 0.08, "appliance": 0.08, "angle": 0.1}
        one |= {key: value for key, value in extras.items() if life.likely(chances.get(key, 0.15))}
        if "appliance" in one and not life.likely(0.1):
            one = {key: value for key, value in one.items() if key not in ("front_rail", "back_rail", "adhesive")}
        found.append(one)
    return found


def _zones(life: _Life) -> list[Json]:
    x0, y0, x1, y1 = life.area.bounds
    if life.likely(0.15):
        return [{"kind": "nobody", "points": life.points([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])}]
    found: list[Json] = []
    for _ in range(int(life.rng.integers(1, 4))):
        corners = life.box(0.2, 1.2)
        if life.likely(0.05):
            corners = [(x + 20.0, y) for x, y in corners]
        if life.likely(0.04):
            corners = [corners[0], corners[2], corners[1], corners[3]]
        found.append({"kind": life.pick("stand", "sit", "lean", "nobody"), "points": life.points(corners)})
    return found


def _life(life: _Life) -> Json:
    table: Json = {}
    if life.likely(0.6):
        table["stages"] = [name for name in DAY_NAMES if life.likely(0.45)]
    if life.likely(0.03):
        table["stages"] = ["strip", life.pick("cary", "demould", "")]
    if life.likely(0.1):
        table["cast"] = "2026-03-02 16:00"
    extras = {
        "strip": {
            "age": "2 h" if life.likely(0.1) else life.pick("1 day", "36 h"),
            "form_pull": "2 kPa",
            "peel": life.likely(0.5),
            "hands": 3,
        },
        "turn": {"hands": life.pick(2, 4), "multiplier": 1.2, "foam": "5e6 N/m2", "age": "4 day"},
        "carry": {"flat": True, "across": 0.3, "people": 4, "limit": "300 N", "grip": 0.1, "lift": "200 N"},
        "haul": {"flat": life.likely(0.5), "angle": life.pick(5, 15, 40), "across": 0.2, "strap": "1e6 N/m2"},
        "set": {"slide": life.pick(False, life.point((0.6, 0.1)), life.point((-0.3, 0.5))), "shims": "1 mm"},
        "use": {"foot": "900 N", "elsewhere": life.pick(0, "300 N"), "creep": 1.5, "strain": 3e-4, "clear": "0.1 m"},
    }
    for name, values in extras.items():
        chosen = {key: value for key, value in values.items() if life.likely(0.2)}
        if chosen and (name in table.get("stages", DAY_NAMES) or life.likely(0.03)):
            table[name] = chosen
    if life.likely(0.25):
        supports = [_support(life, flat=True) for _ in range(int(life.rng.integers(1, 5)))]
        table["set"] = {**table.get("set", {}), "support": supports}
    return table


def _stage(life: _Life, k: int) -> Json:
    posture = life.pick("flat", "flat", "flat", "leaning", "on edge", "turning")
    flat = posture == "flat"
    stage: Json = {
        "name": f"stage {k}",
        "age": f"{life.between(1, 60):g} day",
        "up": life.pick("show", "underside"),
        "multiplier": life.pick(1.0, 1.5, 0.0) if life.likely(0.3) else 1.0,
        "support": _supports(life, flat),
        "load": [_load(life) for _ in range(int(life.rng.choice([0, 0, 1, 2])))],
    }
    if not flat:
        stage["posture"] = posture
    if posture == "leaning" and not life.likely(0.04):
        stage["angle"] = life.between(2, 85)
    if posture in ("leaning", "on edge") and life.likely(0.4):
        stage["across"] = 0.2
    extras: Json = {
        "form_pull": "1 kPa",
        "lasting": True,
        "creep": 2.0,
        "shims": "1.5 mm",
        "levels": True,
        "slide": life.point((life.between(-0.7, 0.7), life.between(-0.7, 0.7))),
        "bow": [_bow(life)],
    }
    stage |= {key: value for key, value in extras.items() if life.likely(0.15)}
    slides = flat and all(one["kind"] not in ("edge", "hand") and one["action"] == "rest" for one in stage["support"])
    if "slide" in stage and not slides and not life.likely(0.05):
        del stage["slide"]
    if not flat and not life.likely(0.05):
        stage = {key: value for key, value in stage.items() if key not in ("form_pull", "shims", "levels")}
    return stage


def _supports(life: _Life, flat: bool) -> list[Json]:
    if life.likely(0.02):
        return []
    if flat and life.likely(0.08):
        x, y = life.spot()
        return [{"kind": "point", "at": life.point((x + dx, y)), "action": "rest"} for dx in (-0.1, 0.0, 0.1)]
    if flat and life.likely(0.5):
        x0, _, x1, _ = life.area.bounds
        return [
            {"kind": "line", "points": life.points(life.across(x0 + share * (x1 - x0))), "action": "rest"}
            | ({"gap": "1 mm"} if life.likely(0.1) else {})
            for share in (0.12, 0.5, 0.88)
        ]
    found = [_support(life, flat) for _ in range(int(life.rng.integers(1, 6)))]
    if not flat and life.likely(0.7):
        found.insert(0, {"kind": "edge", "action": life.pick("rest", "rest", "hold")})
    if life.likely(0.08):  # two at one place that contradict each other
        found += [{**found[0], "name": "again"} | ({} if found[0]["kind"] == "hand" else {"gap": "5 mm"})]
    return found


def _support(life: _Life, flat: bool) -> Json:
    kind = life.pick("point", "line", "edge", "area", "hand", "hand")
    if kind == "hand":
        return {"kind": "hand", "at": life.point(life.spot())} | ({"limit": "250 N"} if life.likely(0.3) else {})
    support: Json = {"kind": kind, "action": life.pick("rest", "rest", "rest", "hold", "clamp")}
    if kind == "point":
        support |= {"at": life.point(life.spot())} | ({"size": "50 mm"} if life.likely(0.5) else {})
    if kind == "line":
        support["points"] = life.points(life.line())
    if kind == "edge" and life.openings and life.likely(0.2):
        support["opening"] = 0
    if kind == "area":
        support["points"] = life.points(life.box(0.05, 0.5))
    if life.likely(0.15):
        support["gap"] = life.pick("1 mm", "-2 mm", "10 mm")
    if life.likely(0.15):
        support["may_go"] = True
    if life.likely(0.2):
        support["stiffness"] = {"point": "1e6 N/m", "line": "5e6 N/m2", "edge": "5e6 N/m2", "area": "1e7 N/m3"}[kind]
    if not flat and life.likely(0.2):
        support["carries"] = life.pick("face", "edge", "both")
    return support


def _load(life: _Life) -> Json:
    kind = life.pick("point", "point", "roaming", "line", "travelling", "edge", "area")
    amount = life.pick(300.0, 1300.0, -400.0, 3000.0)
    if kind == "point":
        return {"kind": "point", "at": life.point(life.spot()), "force": life.force(amount), "size": "100 mm"}
    if kind == "roaming":
        where = True if life.likely(0.5) else life.points(life.box(0.2, 0.9))
        return {"kind": "point", "force": life.force(amount), "roaming": where, "size": "100 mm"}
    if kind in ("line", "travelling"):
        line = {"kind": "line", "points": life.points(life.line()), "force_per_length": "300 N/m"}
        return line if kind == "line" else {**line, "to": life.points(life.line())}
    if kind == "edge":
        return {"kind": "edge", "force_per_length": "200 N/m"} | (
            {"moment_per_length": "20 N*m/m"} if life.likely(0.4) else {}
        )
    return {"kind": "area", "pressure": life.pick("1 kPa", "-1.2 kPa", "3 kPa")}


def _bow(life: _Life) -> Json:
    where = {"points": life.points(life.box(0.2, 1.0))} if life.likely(0.3) else {}
    causes: list[Json] = [
        {"curvature": "0.002 1/m"},
        {"drying": "show", "strain": 3e-4},
        {"warmer": "underside", "difference": "15 delta_degC"},
    ]
    cause: Json = life.pick(*causes)
    return where | cause
