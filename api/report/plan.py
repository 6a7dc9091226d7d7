"""The plan in a report: its runs, what they carry and where that binds, the mat, the cut list, a given layout."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from api.figures import Units, point_words
from api.map_marks import loops_of
from api.map_scene import places_of
from api.map_words import capital, face_title
from api.report.amounts import place_number, size_words
from api.report.blocks import Block, Text, bold, bullets, column, facts, heading, para, small, table
from api.report.drawing import runs_drawing
from api.report.steel import angle_words, covers_words, worth_words
from api.solve import FACES, Solved
from api.steel.found import SteelFound
from fem.steel.model import Carried, Cut, Judgement, Mat, Plan, Remedy, Run

__all__ = ["binding_words", "cover_section", "given_section", "plan_section", "total_words"]

WHYS = {
    "pull": "carries pull",
    "rail": "two in every rail",
    "overhang": "along an overhang",
    "given": "given",
}


def plan_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """The runs drawn and listed, the load factor, the mat beside them, the cut list."""
    plan, units = found.plan, solved.case.units
    if plan is None:
        return
    yield heading("The plan")
    if plan.failures:
        yield para(bold("No plan carries what is owed."))
        yield bullets(capital(failure) for failure in plan.failures)
        if plan.remedies:
            yield para("What would do, one change at a time, with the load factor that all runs together then have:")
            yield bullets(_remedy(one, units) for one in plan.remedies)
    rows = _plan_rows(solved, plan)
    if found.off_pull is not None:
        words = "at most, from the pull to the nearest run, where at least half of the most is owed"
        rows.append(("off the pull by", f"{angle_words(found.off_pull)} {words}"))
    yield facts(rows)
    yield from _drawn(solved, plan.runs, plan.carried)
    yield _runs_table(plan.runs, units)
    if plan.notes:
        yield bullets(capital(note) for note in plan.notes)
    yield heading("Beside a uniform mat", 2)
    yield from _mat(plan, plan.mat, units)
    if plan.cuts:
        yield heading("Cut list", 2)
        yield _cuts_table(plan.cuts, units)
        waste = f"{100 * plan.waste:.0f} % of it is waste" if plan.waste <= 1 else ""
        yield small(f"{plan.stock_pieces} stock lengths; {waste}." if waste else f"{plan.stock_pieces} stock lengths.")


def cover_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """What the plan's runs would carry at the code's cover."""
    if found.plan is None:
        return
    units = solved.case.units
    yield heading("At the code's cover")
    yield para(
        f"The plan keeps the shop's cover: {covers_words(found.covers, units)}. The code asks for "
        f"{covers_words(found.code_covers, units)}. Steel nearer the middle has a shorter arm."
    )
    if found.code_cover is None:
        yield para(bold("The plan's layers do not fit at the code's cover in this thickness."))
    else:
        yield facts(_carried_rows(solved, found.code_cover))


def given_section(solved: Solved, found: SteelFound) -> Iterator[Block]:
    """The layout that the case brings along, and what each of its runs is worth."""
    judged, units = found.judged, solved.case.units
    if judged is None:
        return
    yield heading("The layout of the case")
    rows = _carried_rows(solved, judged.carried)
    rows.append(("laid in all", total_words(judged.length, units)))
    if found.plan is not None and found.plan.length > 0:
        rows.append(("against the plan", _against(judged.length, found.plan.length, "longer", "shorter")))
    yield facts(rows)
    yield from _drawn(solved, found.given, judged.carried)
    yield _runs_table(found.given, units)
    for run in found.given:
        if len(run.points) > 2:
            yield small(f"{run.mark} runs through {'; '.join(_pair(point, units) for point in run.points)}.")
    yield from _worth(judged, units)


def binding_words(solved: Solved, carried: Carried) -> str:
    """The place that binds a layout, in words."""
    if carried.at is None or carried.face is None or carried.angle is None:
        return "nowhere: nothing is owed"
    at = places_of(solved.case, solved.piece).of(carried.at)
    return (
        f"{face_title(carried.face).lower()}, {at} ({point_words(carried.at, solved.case.units)}), "
        f"pull along {angle_words(carried.angle)}, {carried.stage}"
    )


def total_words(metre: float, units: Units) -> str:
    """A length laid in all: feet to 0.1, or metres to 0.01."""
    return f"{metre / 0.3048:.1f} ft" if units == "us" else f"{metre:.2f} m"


def _carried_rows(solved: Solved, carried: Carried) -> list[tuple[Text, Text]]:
    does = "carries all that is owed" if carried.factor >= 1 else "does not carry what is owed"
    return [
        ("load factor", [bold(worth_words(carried.factor)), f": it {does}"]),
        ("binds at", binding_words(solved, carried)),
    ]


def _plan_rows(solved: Solved, plan: Plan) -> list[tuple[Text, Text]]:
    units = solved.case.units
    rows = [
        *_carried_rows(solved, plan.carried),
        ("laid in all", f"{total_words(plan.length, units)}, {len(plan.runs)} runs"),
    ]
    if 0 < plan.bound <= plan.length * (1 + 1e-9):
        gap = 100 * (plan.length / plan.bound - 1)
        rows.append(("no plan of this kind is shorter than", f"{total_words(plan.bound, units)} ({gap:.1f} % less)"))
    if plan.without_diagonals is not None:
        rows.append(("without diagonal runs", _without(plan, units)))
    if plan.with_diagonals is not None:
        words = f"none is shorter than {total_words(plan.with_diagonals, units)}"
        if plan.found_with_diagonals is not None and math.isfinite(plan.found_with_diagonals):
            words = f"the best found has {total_words(plan.found_with_diagonals, units)}; {words}"
        rows.append(("with diagonal runs", words))
    return rows


def _remedy(one: Remedy, units: Units) -> str:
    size = size_words(one.value, units)
    changes = {
        "thickness": f"a slab {size} thick",
        "diameter": f"wire {size} in diameter",
        "spacing": f"runs as close as {size}",
        "cover": f"all covers shrunk to {100 * one.value:.0f} % of what they are",
    }
    return f"{capital(changes[one.what])}: {worth_words(one.factor)} times what is owed"


def _without(plan: Plan, units: Units) -> str:
    length = plan.without_diagonals
    if length is None or math.isinf(length):
        return "no plan carries it"
    return f"{total_words(length, units)}, {_against(length, plan.length, 'longer', 'shorter')}"


def _against(length: float, other: float, more: str, less: str) -> str:
    share = 100 * (length / other - 1)
    return f"{abs(share):.0f} % {more if share >= 0 else less}"


def _drawn(solved: Solved, runs: Sequence[Run], carried: Carried) -> Iterator[Block]:
    loops = loops_of(solved.piece.shape)
    for face in FACES:
        here = [run for run in runs if run.face == face]
        if not here:
            continue
        bound = carried.at if carried.face == face else None
        look = "as seen looking at it" if face == "show" else "as seen from the show face, through the slab"
        ring = "; ring: where it binds" if bound else ""
        yield runs_drawing(loops, here, bound, f"{face_title(face)}, {look}{ring}")


def _runs_table(runs: Sequence[Run], units: Units) -> Block:
    unit = "in" if units == "us" else "mm"
    rows: list[list[Text]] = []
    for run in sorted(runs, key=lambda run: (run.face, _natural(run.mark))):
        straight = len(run.points) == 2
        (x0, y0), (x1, y1) = run.points[0], run.points[-1]
        angle = math.atan2(y1 - y0, x1 - x0) % math.pi
        rows.append(
            [
                bold(run.mark),
                "show" if run.face == "show" else "under",
                str(run.layer + 1),
                place_number(run.depth, units),
                _pair(run.points[0], units),
                _pair(run.points[-1], units),
                (angle_words(angle) if straight else "bent"),
                place_number(run.length, units),
                WHYS[run.why],
            ]
        )
    return table(
        [
            column("mark"),
            column("face"),
            column("layer", right=True),
            column(f"depth, {unit}", right=True),
            column(f"from x, y, {unit}", right=True),
            column(f"to x, y, {unit}", right=True),
            column("along", right=True),
            column(f"length, {unit}", right=True),
            column("why", 1),
        ],
        rows,
    )


def _mat(plan: Plan, mat: Mat | None, units: Units) -> Iterator[Block]:
    if mat is None:
        yield para("No uniform two-way mat of the same wire carries what is owed.")
        return
    rows: list[tuple[Text, Text]] = [
        (face_title(face), " and ".join(_spaced(spacing, units) for spacing in mat.spacing[face])) for face in FACES
    ]
    rows.append(("load factor", worth_words(mat.carried.factor)))
    rows.append(("laid in all", total_words(mat.length, units)))
    if mat.length > 0:
        rows.append(("the plan is", _against(plan.length, mat.length, "longer", "shorter")))
    yield facts(rows)


def _spaced(spacing: float, units: Units) -> str:
    return "none" if math.isinf(spacing) else f"every {size_words(spacing, units)}"


def _cuts_table(cuts: Sequence[Cut], units: Units) -> Block:
    return table(
        [column("count", right=True), column("length", right=True), column("of", 0.3), column("runs", 0.7)],
        [(str(cut.count), size_words(cut.length, units), cut.steel, ", ".join(cut.marks)) for cut in cuts],
    )


def _worth(judged: Judgement, units: Units) -> Iterator[Block]:
    if judged.worth:
        yield table(
            [column("run"), column("length", right=True), column("of it idle", right=True), column("why", 1)],
            [(one.mark, size_words(one.length, units), f"{100 * one.idle:.0f} %", one.why) for one in judged.worth],
        )
    items: list[Text] = [f"Run {mark} is cut by an opening." for mark in judged.cut_by_opening]
    items += [
        f"Run {mark} is bent round an inner corner at {point_words(at, units)}: it pulls out there and counts nothing."
        for mark, at in judged.pulls_out
    ]
    items += [capital(note) for note in judged.notes]
    if items:
        yield bullets(items)


def _natural(mark: str) -> tuple[str, int, str]:
    """Marks in the order of their numbers."""
    digits = "".join(letter for letter in mark if letter.isdigit())
    return mark.rstrip("0123456789"), int(digits[:9] or 0), mark


def _pair(at: tuple[float, float], units: Units) -> str:
    return f"{place_number(at[0], units)}, {place_number(at[1], units)}"
