"""Strength of one layer, step by step, for a calculation that is checked by hand."""

from __future__ import annotations

from fem.steel.material import block_of, law_of
from fem.steel.model import Check, Code, Concrete, Quantity, Steel
from fem.steel.section import Layer, Section, run_strength, section_strength

__all__ = ["strength_checks"]


def strength_checks(
    steel: Steel, arm: float, width: float, concrete: Concrete, code: Code, *, place: str = ""
) -> tuple[Check, ...]:
    """Stress block, strain, strength and design strength of one run, arm [m] to its axis, width [m] of concrete to it.

    What fem.steel.section finds by halving, written as the closed form that a book prints where the wire yields; a
    brittle one that snaps first is read at the neutral axis at which the concrete would crush as well.
    """
    if arm <= 0:
        result = Quantity("d", arm, "length")
        return (
            Check("arm", "geometry", "d > 0", (), result, ok=False, place=place, note="it has no arm: no strength"),
        )
    en = code == "EN 1992-1-1"
    area = steel.wires * steel.area
    found = section_strength([Layer(arm, area / width, steel)], 2 * arm, concrete, code)
    block, law = block_of(concrete, code), law_of(steel, code)
    stress = found.stress[0]
    given = (
        Quantity("As", area, "area"),
        Quantity("b", width, "length"),
        Quantity("d", arm, "length"),
        Quantity("fs", stress, "stress"),
        Quantity("f'c", concrete.compressive, "stress"),
    )
    if found.snaps:
        depth_formula = "c = d eps_cu / (eps_cu + eps_fu), a = beta1 c: the fibre snaps before the concrete crushes"
    else:
        depth_formula = f"a = As fs / ({block.stress / concrete.compressive:.3g} f'c b), c = a / {block.depth:.3g}"
    reduced = _reduced(steel, arm, width, concrete, code, found, place)
    return (
        Check(
            "depth of the pressed concrete",
            "EN 1992-1-1 3.1.7(3)" if en else "ACI 318-19 22.2.2.4",
            depth_formula,
            given,
            Quantity("a", found.a, "length"),
            place=place,
        ),
        Check(
            "strain of the wire",
            "EN 1992-1-1 6.1(3)" if en else "ACI 318-19 22.2.1.2",
            f"eps = {block.crushing:.4g} (d - c) / c",
            (Quantity("c", found.neutral_axis, "length"), Quantity("d", arm, "length")),
            Quantity("eps", found.strain, "number"),
            "<=" if steel.brittle else ">=",
            Quantity("snaps at" if steel.brittle else "yields at", law.strain, "number"),
            found.snaps or (found.strain <= law.strain if steel.brittle else found.strain >= law.strain),
            place,
            "" if steel.brittle or found.strain >= law.strain else "it does not yield: the concrete crushes first",
        ),
        Check(
            "strength of a run",
            "EN 1992-1-1 6.1" if en else "ACI 318-19 22.3",
            "Mn = As fs (d - a / 2)",
            (*given[:1], *given[2:4], Quantity("a", found.a, "length")),
            Quantity("Mn", width * found.nominal, "moment"),
            place=place,
        ),
        reduced,
    )


def _reduced(
    steel: Steel, arm: float, width: float, concrete: Concrete, code: Code, found: Section, place: str
) -> Check:
    """The design strength: phi by ACI 318-19, the same equilibrium with partial factors by EN 1992-1-1."""
    strength = run_strength(steel, arm, width, concrete, code)
    name = "design strength of a run"
    if code == "ACI 318-19":
        given: tuple[Quantity, ...] = (
            Quantity("phi", found.phi, "number"),
            Quantity("Mn", width * found.nominal, "moment"),
        )
        result = Quantity("Md", strength, "moment")
        return Check(name, "ACI 318-19 21.2.2", "Md = phi Mn", given, result, place=place)
    block, law = block_of(concrete, code, design=True), law_of(steel, code, design=True)
    result, area = Quantity("MRd", strength, "moment"), steel.wires * steel.area
    clause = "EN 1992-1-1 6.1, 2.4.2.4 (concrete 1.5, steel 1.15)"
    pressed = area * law.strength / (block.stress * width)
    if abs(strength - area * law.strength * (arm - pressed / 2)) > 1e-6 * strength:
        given = (Quantity("MRd / MR", found.phi, "number"),)
        return Check(name, clause, "the same with fck / 1.5 and fyk / 1.15", given, result, place=place)
    given_en = (
        Quantity("As", area, "area"),
        Quantity("fyd", law.strength, "stress"),
        Quantity("fcd", block.stress, "stress"),
        Quantity("b", width, "length"),
        Quantity("d", arm, "length"),
    )
    formula = "MRd = As fyd (d - ad / 2), ad = As fyd / (fcd b)"
    return Check(name, clause, formula, given_en, result, place=place)
