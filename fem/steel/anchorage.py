"""How long a wire must run on past the point where it is needed, and how far two pieces must overlap."""

from __future__ import annotations

import math

from fem.concrete.formulas import PSI, en1992_mean_tension
from fem.steel.material import law_of, works
from fem.steel.model import Check, Code, Concrete, Quantity, Steel

__all__ = ["INCH", "KSI", "anchorage_checks", "build_up_length", "development_length", "lap_length"]

INCH = 0.0254
MOST_ROOT = 100.0
KSI = 1000 * PSI


def development_length(steel: Steel, concrete: Concrete, code: Code, *, clear_cover: float, spacing: float) -> float:
    """Length [m] over which an end builds up its full strength; inf where nothing anchors it.

    clear_cover [m] over the wire, the lesser of face and edge; spacing [m] of the wires. By ribs: ACI 318-19 25.4.2.4,
    or EN 1992-1-1 8.4; by welded crosswires: ACI 318-19 25.4.7 for plain welded wire, and for a ladder (ASTM A951) as
    many crossings as carry its force; the shorter of both counts. A fibre: ACI 440.1R-15 10.1, from memory.

    >>> from fem.concrete.formulas import PSI
    >>> wire = Steel("9 gauge", "wire", 0.148 * INCH, 0.148 * INCH, 11.1e-6, 70 * KSI, 80 * KSI, 200e9)
    >>> concrete = Concrete(6000 * PSI, 4e6, 6e6, 30e9)
    >>> round(development_length(wire, concrete, "ACI 318-19", clear_cover=0.0127, spacing=0.1) / INCH, 6)
    12.0
    """
    return min((check.result.value for check in _ways(steel, concrete, code, clear_cover, spacing)), default=math.inf)


def build_up_length(steel: Steel, concrete: Concrete, code: Code, *, clear_cover: float, spacing: float) -> float:
    """Length [m] over which the pull of a straight end builds up by bond: the code's formula without its least length.

    The least lengths of the codes (12 in, 100 mm) guard against what a formula does not know, a bad spot at the very
    end; they are asked for where the need is greatest, and do not tell how the pull grows. Welded crosswires hold at
    once, and keep their length.

    >>> from fem.concrete.formulas import PSI
    >>> wire = Steel("9 gauge", "wire", 0.148 * INCH, 0.148 * INCH, 11.1e-6, 70 * KSI, 80 * KSI, 200e9)
    >>> concrete = Concrete(6000 * PSI, 4e6, 6e6, 30e9)
    >>> round(build_up_length(wire, concrete, "ACI 318-19", clear_cover=0.0127, spacing=0.1) / INCH, 2)
    3.69
    """
    if not works(steel):
        return math.inf
    by_welds = [
        check.result.value
        for check in _ways(steel, concrete, code, clear_cover, spacing)
        if check.name == "anchorage by welded crosswires"
    ]
    apart = _apart(steel, spacing)
    by_bond = []
    if steel.brittle:
        by_bond = [_fibre(steel, concrete, code, clear_cover, apart).result.value]
    elif steel.deformed and code == "EN 1992-1-1":
        _, basic, alpha = _en_basic(steel, concrete, clear_cover, apart)
        by_bond = [alpha * basic]
    elif steel.deformed:
        by_bond = [_aci_bare(steel, concrete, clear_cover, apart)]
    return min([*by_welds, *by_bond], default=math.inf)


def lap_length(steel: Steel, concrete: Concrete, code: Code, *, clear_cover: float, spacing: float) -> float:
    """Overlap [m] of two pieces that go on with full strength, all spliced at one place; inf if nothing anchors them.

    ACI 318-19 25.5.2 (class B: 1.3 ld, 12 in), 25.5.4 for plain welded wire; EN 1992-1-1 8.7.3.
    """
    laps = _laps(steel, concrete, code, clear_cover, spacing)
    return min((check.result.value for check in laps), default=math.inf)


def anchorage_checks(
    steel: Steel, concrete: Concrete, code: Code, *, clear_cover: float, spacing: float
) -> tuple[Check, ...]:
    """The steps of both lengths, for a calculation checked by hand; one that says so where nothing anchors it."""
    if not works(steel):
        note = (
            "its bond was never pulled in a test: it counts nothing until then"
            if not steel.tested
            else "plain wire without welded crosswires slides: use ribbed wire, or welded mesh"
        )
        clause = "EN 1992-1-1 8.4" if code == "EN 1992-1-1" else "ACI 318-19 25.4.1"
        result = Quantity("ld", math.inf, "length")
        return (Check("anchorage", clause, "nothing anchors it", (), result, ok=False, note=note),)
    return (
        *_ways(steel, concrete, code, clear_cover, spacing),
        *_laps(steel, concrete, code, clear_cover, spacing),
    )


def _ways(steel: Steel, concrete: Concrete, code: Code, cover: float, spacing: float) -> list[Check]:
    """One check for every way in which an end is held."""
    if not works(steel):
        return []
    apart = _apart(steel, spacing)
    ways = []
    if steel.brittle:
        ways.append(_fibre(steel, concrete, code, cover, apart))
    elif steel.deformed:
        by_ribs = _en_ribs if code == "EN 1992-1-1" else _aci_ribs
        ways.append(by_ribs(steel, concrete, cover, apart))
    if steel.weld > 0 and 0 < steel.cross_pitch < math.inf and not steel.brittle:
        mesh = steel.kind == "mesh" and code == "ACI 318-19" and not steel.deformed
        ways.append(_welded_plain(steel, concrete, apart) if mesh else _crossings(steel, code))
    return ways


def _aci_ribs(steel: Steel, concrete: Concrete, cover: float, apart: float) -> Check:
    bare = _aci_bare(steel, concrete, cover, apart)
    return Check(
        "anchorage by ribs",
        "ACI 318-19 25.4.2.4, 25.4.2.1",
        "ld = 3/40 fy / (lambda sqrt(f'c)) psi_s psi_g / ((cb + Ktr) / db) db, not less than 12 in",
        (
            Quantity("fy", steel.yield_strength, "stress"),
            Quantity("f'c", concrete.compressive, "stress"),
            Quantity("psi_s", 0.8, "number"),
            Quantity("psi_g", _grade(steel), "number"),
            Quantity("(cb + Ktr) / db", _confinement(steel, cover, apart), "number"),
            Quantity("db", steel.diameter, "length"),
            Quantity("ld of the formula", bare, "length"),
        ),
        Quantity("ld", max(bare, 12 * INCH), "length"),
    )


def _aci_bare(steel: Steel, concrete: Concrete, cover: float, apart: float) -> float:
    """Eq. 25.4.2.4a without its least length [m]: lambda, psi_t and psi_e 1, psi_s 0.8 (No. 6 and smaller, wire)."""
    force = 3 / 40 * steel.yield_strength / PSI / _root(concrete)
    return force * 0.8 * _grade(steel) / _confinement(steel, cover, apart) * steel.diameter


def _grade(steel: Steel) -> float:
    """psi_g of table 25.4.2.5: 1 up to grade 60, 1.15 to grade 80, 1.3 above."""
    grade = steel.yield_strength / KSI
    return 1.0 if grade < 60.5 else 1.15 if grade < 80.5 else 1.3


def _confinement(steel: Steel, cover: float, apart: float) -> float:
    """(cb + Ktr) / db, at most 2.5; Ktr 0."""
    return min(min(cover + steel.diameter / 2, apart / 2) / steel.diameter, 2.5)


def _root(concrete: Concrete) -> float:
    """Square root of f'c in psi, 100 at most (25.4.1.4)."""
    return min(math.sqrt(concrete.compressive / PSI), MOST_ROOT)


def _apart(steel: Steel, spacing: float) -> float:
    """Distance [m] of a wire to the next, in its own strip or across to the next run."""
    if steel.wires < 2 or steel.width <= steel.diameter:
        return spacing
    return min((steel.width - steel.diameter) / (steel.wires - 1), spacing)


def _welded_plain(steel: Steel, concrete: Concrete, apart: float) -> Check:
    bare = _welded_bare(steel, concrete, apart)
    return Check(
        "anchorage by welded crosswires",
        "ACI 318-19 25.4.7",
        "ld = 0.27 (Ab / s) fy / (lambda sqrt(f'c)), not less than 6 in and sc + 2 in; two crosswires within",
        (
            Quantity("Ab", steel.area, "area"),
            Quantity("s", apart, "length"),
            Quantity("fy", steel.yield_strength, "stress"),
            Quantity("f'c", concrete.compressive, "stress"),
            Quantity("sc", steel.cross_pitch, "length"),
            Quantity("ld of the formula", bare, "length"),
        ),
        Quantity("ld", max(bare, 6 * INCH, steel.cross_pitch + 2 * INCH), "length"),
    )


def _welded_bare(steel: Steel, concrete: Concrete, apart: float) -> float:
    return 0.27 * steel.area / apart * steel.yield_strength / PSI / _root(concrete)


def _crossings(steel: Steel, code: Code) -> Check:
    force = law_of(steel, code, design=True).strength * steel.area
    count = math.ceil(force / steel.weld - 1e-9)
    return Check(
        "anchorage by welded crosswires",
        "force of the wire over that of a weld (weld: ASTM A951 5.4, A1064)",
        "n = fy A / weld, rounded up; ld = n sc, as an end may be cut beside a crosswire",
        (
            Quantity("fy A", force, "force"),
            Quantity("weld", steel.weld, "force"),
            Quantity("n", count, "number"),
            Quantity("sc", steel.cross_pitch, "length"),
        ),
        Quantity("ld", count * steel.cross_pitch, "length"),
    )


def _en_ribs(steel: Steel, concrete: Concrete, cover: float, apart: float) -> Check:
    bond, basic, alpha = _en_basic(steel, concrete, cover, apart)
    least = max(0.3 * basic, 10 * steel.diameter, 0.1)
    return Check(
        "anchorage by ribs",
        "EN 1992-1-1 8.4.2 to 8.4.4",
        "lbd = alpha2 lb,rqd, lb,rqd = (phi / 4) fyd / fbd, fbd = 2.25 fctd; not less than 0.3 lb,rqd, 10 phi, 100 mm",
        (
            Quantity("phi", steel.diameter, "length"),
            Quantity("fyd", law_of(steel, "EN 1992-1-1", design=True).strength, "stress"),
            Quantity("fctd", bond / 2.25, "stress"),
            Quantity("fbd", bond, "stress"),
            Quantity("lb,rqd", basic, "length"),
            Quantity("alpha2", alpha, "number"),
        ),
        Quantity("lbd", max(alpha * basic, least), "length"),
    )


def _en_basic(steel: Steel, concrete: Concrete, cover: float, apart: float) -> tuple[float, float, float]:
    """Bond strength fbd [Pa] in good conditions, lb,rqd [m] and alpha2 (table 8.2, straight).

    fctd = 0.7 fctm / 1.5, fctm not above that of C60/75 (8.4.2(2)).
    """
    bond = 2.25 * 0.7 * en1992_mean_tension(min(concrete.compressive, 60e6)) / 1.5
    basic = steel.diameter / 4 * law_of(steel, "EN 1992-1-1", design=True).strength / bond
    clear = min(cover, (apart - steel.diameter) / 2)
    return bond, basic, min(max(1 - 0.15 * (clear - steel.diameter) / steel.diameter, 0.7), 1.0)


def _fibre(steel: Steel, concrete: Concrete, code: Code, cover: float, apart: float) -> Check:
    stress = law_of(steel, code, design=True).strength
    around = min(min(cover + steel.diameter / 2, apart / 2) / steel.diameter, 3.5)
    bare = (stress / PSI / _root(concrete) - 340) / (13.6 + around) * steel.diameter
    return Check(
        "anchorage of a fibre",
        "ACI 440.1R-15 10.1",
        "ld = (ffe / sqrt(f'c) - 340) / (13.6 + C / db) db in psi, not less than 20 db and 6 in",
        (
            Quantity("ffe", stress, "stress"),
            Quantity("f'c", concrete.compressive, "stress"),
            Quantity("C / db", around, "number"),
            Quantity("db", steel.diameter, "length"),
            Quantity("ld of the formula", max(bare, 0.0), "length"),
        ),
        Quantity("ld", max(bare, 20 * steel.diameter, 6 * INCH), "length"),
        note="written for bars; a grid's own pull-out test is better",
    )


def _laps(steel: Steel, concrete: Concrete, code: Code, cover: float, spacing: float) -> list[Check]:
    """One check for every way in which two pieces may overlap."""
    if not works(steel):
        return []
    apart = _apart(steel, spacing)
    if code == "EN 1992-1-1" and steel.deformed and not steel.brittle:
        return [_en_lap(steel, concrete, cover, apart)]
    if steel.kind == "mesh" and not (steel.deformed or steel.brittle) and code == "ACI 318-19":
        return [_welded_lap(steel, concrete, apart)]
    if steel.deformed and not steel.brittle:
        bare = _aci_bare(steel, concrete, cover, apart)
        clause, formula = "ACI 318-19 25.5.2.1", "lst = 1.3 ld (class B), not less than 12 in"
    else:
        bare = development_length(steel, concrete, code, clear_cover=cover, spacing=spacing)
        clause, formula = "as ACI 318-19 25.5.2.1", "lst = 1.3 ld, not less than 12 in"
    given = (Quantity("ld of the formula", bare, "length"),)
    return [Check("lap", clause, formula, given, Quantity("lst", max(1.3 * bare, 12 * INCH), "length"))]


def _welded_lap(steel: Steel, concrete: Concrete, apart: float) -> Check:
    bare = _welded_bare(steel, concrete, apart)
    return Check(
        "lap of welded wire",
        "ACI 318-19 25.5.4",
        "lst = 1.5 ld between outermost crosswires, not less than sc + 2 in and 6 in",
        (Quantity("ld of the formula", bare, "length"), Quantity("sc", steel.cross_pitch, "length")),
        Quantity("lst", max(1.5 * bare, steel.cross_pitch + 2 * INCH, 6 * INCH), "length"),
    )


def _en_lap(steel: Steel, concrete: Concrete, cover: float, apart: float) -> Check:
    _, basic, alpha = _en_basic(steel, concrete, cover, apart)
    least = max(0.45 * basic, 15 * steel.diameter, 0.2)
    return Check(
        "lap",
        "EN 1992-1-1 8.7.3",
        "l0 = alpha2 1.5 lb,rqd (all lapped at one place), not less than 0.45 lb,rqd, 15 phi, 200 mm",
        (Quantity("lb,rqd", basic, "length"), Quantity("alpha2", alpha, "number")),
        Quantity("l0", max(1.5 * alpha * basic, least), "length"),
    )
