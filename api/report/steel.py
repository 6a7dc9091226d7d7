"""The steel in a report: what it is, how it may lie, what is owed, check after check, and whether it bends or snaps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from api.figures import Units, age_words, point_words
from api.map_scene import places_of
from api.map_words import capital, face_title
from api.places import Places
from api.report.amounts import amount_words, digits_words, size_words
from api.report.blocks import Block, Text, bold, bullets, column, facts, heading, para, small, table
from api.report.checks import check_block
from api.solve import FACES, Solved
from api.steel.found import SteelFound
from fem.steel.model import Bending, Check, Covers, Demand, Measure, Quantity, Steel

__all__ = [
    "angle_words",
    "bends_section",
    "checks_section",
    "covers_words",
    "owed_section",
    "steel_section",
    "worth_words",
]

KINDS = {
    "wire": "single wire",
    "ladder": "ladder wire, welded",
    "mesh": "welded mesh",
    "bar": "bar",
    "grid": "grid of fibres",
}


def steel_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """The reinforcement, the covers it keeps, the rules by which it is laid, what was taken for granted."""
    units, rules = solved.case.units, found.rules
    yield heading("The steel")
    kinds = {found.steel.name: found.steel}
    runs = (*(found.plan.runs if found.plan else ()), *found.given)
    kinds |= {run.steel.name: run.steel for run in runs}
    for steel in kinds.values():
        if len(kinds) > 1:
            yield heading(steel.name, 2)
        yield facts(_steel_rows(steel, units))
    yield heading("How it may lie", 2)
    yield facts(
        [
            ("code", found.code),
            ("clear cover", covers_words(found.covers, units)),
            ("the code's own cover", covers_words(found.code_covers, units)),
            ("placing tolerance", f"± {size_words(rules.placing, units)}"),
            ("spacing", f"{size_words(rules.pitch, units)} to {size_words(rules.most, units)}"),
            ("directions", ", ".join(angle_words(angle) for angle in rules.directions) + ", from x towards y"),
            ("directions on one face", f"{rules.most_directions} at most"),
            ("anchorage", f"{size_words(rules.anchorage, units)} from an end until it pulls in full"),
            ("lap", f"{size_words(rules.lap, units)} where a run is longer than the stock"),
        ]
    )
    strengths = found.concrete
    yield facts(
        [
            (
                f"concrete, {age_words(found.concrete_age)}",
                amount_words(Quantity("", strengths.compressive, "stress"), units),
            ),
            ("modulus of rupture, low side", amount_words(Quantity("", strengths.cracking, "stress"), units)),
            ("the same, upper bound", amount_words(Quantity("", strengths.high, "stress"), units)),
            ("largest grain", size_words(strengths.aggregate, units)),
        ]
    )
    if found.notes:
        yield bullets(capital(note) for note in found.notes)


def owed_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """The most that is owed on each face, where, in which direction and in which factored stage."""
    units, demand = solved.case.units, found.demand
    places = places_of(solved.case, solved.piece)
    yield heading("What is owed")
    yield para(
        "Once it has cracked the steel alone carries the slab. The elastic moments of the factored stages are in "
        "balance with the loads, so steel that is stronger than they are in every direction at every point of both "
        "faces is safe (lower-bound theorem), if it yields before it snaps. The direction is that of the pull."
    )
    rows: list[list[Text]] = []
    for face in FACES:
        needed = demand.needed[face]
        if not needed.size or needed.max() <= 0:
            rows.append([face_title(face), "nothing", "", "", ""])
            continue
        k, a = np.unravel_index(int(np.argmax(needed)), needed.shape)
        at = (float(demand.points[k, 0]), float(demand.points[k, 1]))
        owed = Quantity("", float(needed[k, a]), "moment per length")
        rows.append(
            [
                face_title(face),
                amount_words(owed, units),
                angle_words(float(demand.angles[a])),
                f"{places.of(at)} ({point_words(at, units)})",
                _stage_of(demand, int(demand.governs[face][k, a])),
            ]
        )
    yield table(
        [
            column("face"),
            column("owed at most", right=True),
            column("pull along", right=True),
            column("where", 0.5),
            column("factored stage", 0.5),
        ],
        rows,
    )
    yield small(f"Looked at: {len(demand.points)} points, {len(demand.angles)} directions, both faces.")


def checks_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """Every check in the order in which it was made, those that share a name together."""
    yield heading("Checks, one by one")
    yield small(
        "Formula as its document prints it, then with numbers in consistent units, then the result. Formulas of a "
        "code with constants of their own are worked out in that code's units, whatever the report is in."
    )
    for check in _grouped(found.checks):
        yield check_block(check, solved.case.units)
    if not found.checks:
        yield para("None were made.")


def bends_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """Whether the slab bends or snaps where it cracks, at both ends of the placing tolerance."""
    if not found.bendings:
        return
    units = solved.case.units
    places = places_of(solved.case, solved.piece)
    yield heading("If it cracks: does it bend or snap?")
    yield para(
        "Strength of the steel over the moment that cracks the slab, taken at the concrete's upper-bound strength: a "
        "slab whose steel is weaker than the concrete was snaps as it cracks. The steel may sit "
        f"± {size_words(found.rules.placing, units)} from where it belongs, so both ends of that are told."
    )
    yield table(
        [
            column("stage", 0.35),
            column("face"),
            column("where", 0.4),
            column("pull along", right=True),
            column("steel / cracking, worse", right=True),
            column("better", right=True),
            column("so it"),
        ],
        [_bending_row(one, places, units) for one in found.bendings],
    )


def angle_words(radian: float) -> str:
    """A direction in whole degrees.

    >>> angle_words(math.pi / 4)
    '45°'
    """
    return f"{math.degrees(radian):.0f}°"


def covers_words(covers: Covers, units: Units) -> str:
    """The four covers in a line."""
    parts = (
        ("show face", covers.show),
        ("underside", covers.underside),
        ("edges", covers.edge),
        ("openings", covers.opening),
    )
    return ", ".join(f"{name} {size_words(value, units)}" for name, value in parts)


def worth_words(factor: float) -> str:
    """A load factor, rounded down to 0.01.

    >>> worth_words(1.2378), worth_words(math.inf)
    ('1.23', 'without bound')
    """
    return "without bound" if math.isinf(factor) else f"{math.floor(factor * 100 + 1e-6) / 100:.2f}"


def _steel_rows(steel: Steel, units: Units) -> list[tuple[Text, Text]]:
    def words(value: float, measure: Measure) -> str:
        return amount_words(Quantity("", value, measure), units)

    wires = (
        f", {steel.wires} wires side by side, {size_words(steel.width, units)} out to out" if steel.wires > 1 else ""
    )
    surface = "ribbed" if steel.deformed else "plain"
    rows: list[tuple[Text, Text]] = [
        ("what", f"{steel.name}: {KINDS[steel.kind]}, {surface}{wires}"),
        ("diameter", f"{_fine(steel.diameter, units)}; one layer takes {_fine(steel.outside, units)} of depth"),
        ("area of one wire", words(steel.area, "area")),
    ]
    if steel.brittle:
        rows.append(("strength", f"{words(steel.ultimate_strength, 'stress')}, then it snaps: it does not yield"))
        rows.append(("factor for its surroundings", f"{steel.factor:.3g}"))
    else:
        rows.append(
            (
                "yields, breaks at",
                f"{words(steel.yield_strength, 'stress')}, {words(steel.ultimate_strength, 'stress')}",
            )
        )
    rows.append(("modulus", words(steel.modulus, "stress")))
    if not steel.tested:
        rows.append(("bond", "never pulled in a test: counts nothing until it is"))
    if steel.cross_pitch:
        holds = f", each holds {words(steel.weld, 'force')}" if steel.weld else ""
        rows.append(("crosswires", f"every {size_words(steel.cross_pitch, units)}{holds}"))
    rows.append(("sold in lengths of", size_words(steel.stock, units)))
    if steel.source:
        rows.append(("source", steel.source))
    return rows


def _fine(metre: float, units: Units) -> str:
    return f"{digits_words(metre / 0.0254, 3)} in" if units == "us" else f"{digits_words(metre * 1000, 3)} mm"


def _stage_of(demand: Demand, number: int) -> str:
    return demand.names[number] if 0 <= number < len(demand.names) else ""


def _grouped(checks: Sequence[Check]) -> list[Check]:
    """Those that share a name one after the other."""
    names = list(dict.fromkeys(check.name for check in checks))
    return sorted(checks, key=lambda check: names.index(check.name))


def _bending_row(one: Bending, places: Places, units: Units) -> list[Text]:
    verdict: Text = one.verdict if one.verdict == "bends" else bold(one.verdict)
    return [
        capital(one.stage),
        face_title(one.face),
        places.of(one.at),
        angle_words(one.angle),
        digits_words(one.low, 3),
        digits_words(one.high, 3),
        verdict,
    ]
