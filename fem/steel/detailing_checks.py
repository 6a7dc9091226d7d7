"""Every rule of laying checked for one steel in one slab, as steps of a calculation that can be done by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence

from fem.concrete.formulas import en1992_mean_tension
from fem.steel.anchorage import anchorage_checks
from fem.steel.detailing import HAIR, clear_gap, code_covers, layers_that_fit, widest_spacing
from fem.steel.model import Check, Code, Concrete, Covers, Quantity, Rules, Run, Steel
from fem.steel.section import Layer, section_strength

__all__ = ["checks"]

EN = "EN 1992-1-1"


def checks(
    thickness: float,
    covers: Covers,
    steel: Steel,
    concrete: Concrete,
    code: Code,
    rules: Rules,
    runs: Sequence[Run] = (),
) -> tuple[Check, ...]:
    """Everything about one steel in one slab that a rule has a word on, in the order of a calculation.

    With runs the layers and the laps are theirs; without, two crossing layers are taken.
    """
    clear = min(covers.show, covers.underside, covers.edge, covers.opening)
    layers = _layers_used(runs) if runs else 2
    return (
        _fit(thickness, covers, steel, layers),
        *_cover(covers, steel, code),
        _diameter(thickness, steel),
        _yields(thickness, covers, steel, concrete, code, rules),
        _spacing(thickness, code, rules),
        *_gaps(steel, concrete, code, rules),
        _least(thickness, covers, steel, concrete, code, rules),
        *_grain(thickness, steel, concrete, rules),
        *anchorage_checks(steel, concrete, code, clear_cover=clear, spacing=rules.pitch),
        *_stock(steel, rules, runs),
    )


def _layers_used(runs: Sequence[Run]) -> int:
    """Layers upon each other, both faces together."""
    return sum(max((run.layer + 1 for run in runs if run.face == face), default=0) for face in ("show", "underside"))


def _fit(thickness: float, covers: Covers, steel: Steel, layers: int) -> Check:
    room = thickness - covers.show - covers.underside
    need = layers * steel.outside
    ok = need <= room + HAIR
    fits = layers_that_fit(thickness, covers, steel)
    return Check(
        "does it fit",
        "geometry; ACI 318-19 20.5.1",
        "t = n t1 for n layers of depth t1 each; room = h - c1 - c2 between the covers of show face and underside",
        (
            Quantity("n", layers, "number"),
            Quantity("t1", steel.outside, "length"),
            Quantity("h", thickness, "length"),
            Quantity("c1", covers.show, "length"),
            Quantity("c2", covers.underside, "length"),
        ),
        Quantity("t", need, "length"),
        "<=",
        Quantity("room", room, "length"),
        ok,
        note="" if ok else f"{fits} of {layers} layers fit: a thinner wire, less cover, or a thicker slab",
    )


def _cover(covers: Covers, steel: Steel, code: Code) -> tuple[Check, ...]:
    wanted = code_covers(covers, steel, code).show
    clause = "EN 1992-1-1 4.4.1" if code == EN else "ACI 318-19 table 20.5.1.3.3, precast, not exposed"
    return tuple(
        Check(
            "cover",
            clause,
            "c >= c_code",
            (),
            Quantity("c", cover, "length"),
            ">=",
            Quantity("c_code", wanted, "length"),
            cover >= wanted - HAIR,
            place=place,
            note="" if cover >= wanted - HAIR else "a shop's cover, less than the code's: both are reckoned",
        )
        for place, cover in (("show", covers.show), ("underside", covers.underside))
    )


def _diameter(thickness: float, steel: Steel) -> Check:
    across = steel.outside / (2 if steel.kind == "mesh" else 1)
    ok = across <= thickness / 4 + HAIR
    return Check(
        "diameter against thickness",
        "common practice, no source",
        "db <= db,max over its ribs; db,max = h / 4",
        (Quantity("h", thickness, "length"),),
        Quantity("db", across, "length"),
        "<=",
        Quantity("db,max", thickness / 4, "length"),
        ok,
        note="" if ok else "too thick a bar for this slab: wire instead, or a thicker slab",
    )


def _yields(thickness: float, covers: Covers, steel: Steel, concrete: Concrete, code: Code, rules: Rules) -> Check:
    """Tension-controlled at the widest spacing that may be used, at the code's cover: the least steel it can have."""
    cover = max(covers.underside, code_covers(covers, steel, code).underside)
    arm = thickness - cover - steel.outside / 2
    given = (Quantity("s", rules.most, "length"), Quantity("d", arm, "length"))
    clause = "EN 1992-1-1 5.6.3(2)" if code == EN else "ACI 318-19 7.3.3.1, 21.2.2"
    if arm <= 0:
        return Check(
            "yields before the concrete crushes",
            clause,
            "d = h - cover - depth / 2",
            given,
            Quantity("d", arm, "length"),
            ok=False,
            note="it does not lie within the slab: a thinner wire or a thicker slab",
        )
    layer = Layer(arm, steel.wires * steel.area / rules.most, steel)
    found = section_strength([layer], thickness, concrete, code)
    strain = 0.0 if steel.brittle else steel.yield_strength / steel.modulus
    ok = found.tension_controlled
    if steel.brittle:
        note = "brittle: it snaps without warning, and phi is 0.55" if found.snaps else "brittle: the concrete crushes"
    elif ok:
        note = f"strain of the wire at its strength {100 * found.strain:.1f} %"
    else:
        note = "too much steel for so small an arm: the concrete crushes first; thinner wire, or a thicker slab"
    if code == EN:
        reach = 0.45 if concrete.compressive <= 50e6 else 0.35
        result, relation, limit = found.neutral_axis / arm, "<=", Quantity("limit", reach, "number")
        formula, symbol = "xi = x / d at the widest spacing and the code's cover", "xi"
    else:
        result, relation, limit = found.strain, ">=", Quantity("eps_ty + 0.003", strain + 0.003, "number")
        formula, symbol = "eps_t = 0.003 (d - c) / c at the widest spacing and the code's cover", "eps_t"
    return Check(
        "yields before the concrete crushes",
        clause,
        formula,
        (
            *given,
            Quantity("x" if code == EN else "c", found.neutral_axis, "length"),
            *(() if code == EN else (Quantity("phi", found.phi, "number"),)),
        ),
        Quantity(symbol, result, "number"),
        "<=" if relation == "<=" else ">=",
        limit,
        ok,
        note=note,
    )


def _spacing(thickness: float, code: Code, rules: Rules) -> Check:
    widest = widest_spacing(thickness, code)
    ok = rules.most <= widest + HAIR
    return Check(
        "widest spacing",
        "EN 1992-1-1 9.3.1.1(3)" if code == EN else "ACI 318-19 7.7.2.3",
        f"s <= s_max; s_max = min(3 h, {'400 mm' if code == EN else '18 in'})",
        (Quantity("h", thickness, "length"),),
        Quantity("s", rules.most, "length"),
        "<=",
        Quantity("s_max", widest, "length"),
        ok,
        note="" if ok else "lay them closer",
    )


def _gaps(steel: Steel, concrete: Concrete, code: Code, rules: Rules) -> tuple[Check, ...]:
    least = clear_gap(steel, concrete, code)
    width = max(steel.width, steel.diameter)
    gaps = [("between runs", "g = s - w", Quantity("s", rules.pitch, "length"), rules.pitch - width)]
    if steel.wires > 1:
        inner = (steel.width - steel.diameter) / (steel.wires - 1) - steel.diameter
        wires = Quantity("n", steel.wires, "number")
        gaps.append(("within a strip", "g = (w - db) / (n - 1) - db", wires, inner))
    least_of = "max(20 mm, db, dg + 5 mm)" if code == EN else "max(1 in, db, 4/3 dg)"
    return tuple(
        Check(
            "clear gap",
            "EN 1992-1-1 8.2(2)" if code == EN else "ACI 318-19 25.2.1",
            f"{formula}; g_min = {least_of}",
            (
                one,
                Quantity("w", width, "length"),
                Quantity("db", steel.diameter, "length"),
                Quantity("dg", concrete.aggregate, "length"),
            ),
            Quantity("g", gap, "length"),
            ">=",
            Quantity("g_min", least, "length"),
            gap >= least - HAIR,
            place=place,
            note="" if gap >= least - HAIR else "too near each other: a wider pitch, or smaller grain",
        )
        for place, formula, one, gap in gaps
    )


def _least(thickness: float, covers: Covers, steel: Steel, concrete: Concrete, code: Code, rules: Rules) -> Check:
    """Minimum steel where runs lie at the widest spacing."""
    laid = steel.wires * steel.area / rules.most
    if code == EN:
        arm = thickness - covers.underside - steel.outside / 2
        tension = en1992_mean_tension(concrete.compressive)
        wanted = max(0.26 * tension / steel.yield_strength, 0.0013) * arm
        clause, formula = "EN 1992-1-1 9.3.1.1(1), 9.2.1.1", "As,min = max(0.26 (fctm / fyk) d, 0.0013 d)"
        given: tuple[Quantity, ...] = (
            Quantity("fctm", tension, "stress"),
            Quantity("fyk", steel.yield_strength, "stress"),
            Quantity("d", arm, "length"),
        )
    else:
        wanted = 0.0018 * thickness
        clause, formula = "ACI 318-19 7.6.1.1, 24.4.3", "As,min = 0.0018 h"
        given = (Quantity("h", thickness, "length"),)
    ok = laid >= wanted
    return Check(
        "minimum steel",
        clause,
        f"As = Ab / s; {formula}",
        (
            Quantity("Ab", steel.wires * steel.area, "area"),
            Quantity("s", rules.most, "length"),
            *given,
        ),
        Quantity("As", laid, "area per length"),
        ">=",
        Quantity("As,min", wanted, "area per length"),
        ok,
        note="" if ok else f"at most {1000 * steel.wires * steel.area / wanted:.0f} mm apart, or a thicker wire",
    )


def _grain(thickness: float, steel: Steel, concrete: Concrete, rules: Rules) -> tuple[Check, ...]:
    gap = rules.pitch - max(steel.width, steel.diameter)
    if steel.wires > 1:
        gap = min(gap, (steel.width - steel.diameter) / (steel.wires - 1) - steel.diameter)
    gap = max(gap, 0.0)
    limits = (
        ("h / 3", Quantity("h", thickness, "length"), thickness / 3),
        ("3/4 g", Quantity("g", gap, "length"), 0.75 * gap),
    )
    return tuple(
        Check(
            "largest grain",
            "ACI 318-19 26.4.2.1(a)(5)",
            f"dg <= dg,max; dg,max = {formula}",
            (one,),
            Quantity("dg", concrete.aggregate, "length"),
            "<=",
            Quantity("dg,max", limit, "length"),
            concrete.aggregate <= limit + HAIR,
            note="" if concrete.aggregate <= limit + HAIR else "smaller grain",
        )
        for formula, one, limit in limits
    )


def _stock(steel: Steel, rules: Rules, runs: Sequence[Run]) -> tuple[Check, ...]:
    """A lap for every run longer than the stock."""
    return tuple(
        Check(
            "stock length",
            "ACI 318-19 25.5; EN 1992-1-1 8.7",
            "longer than the stock: pieces that overlap",
            (Quantity("run", run.length, "length"), Quantity("stock", run.steel.stock, "length")),
            Quantity("lap", rules.lap, "length"),
            place=run.mark,
            note=f"{math.ceil((run.length - rules.lap) / (run.steel.stock - rules.lap))} pieces",
        )
        for run in runs
        if run.steel == steel and run.length > steel.stock + HAIR and steel.stock > rules.lap
    )
