"""What the sheets tell, gathered from a solved case: geometry in metres, words ready to print."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from api.case import Case
from api.case_regions import region_points
from api.drawing import shaped
from api.figures import Units, age_words, bar_words, force_words, mass_words, percent_words, pull_words
from api.map_marks import StandMark, SupportMark, loops_of, stand_mark, support_marks
from api.map_words import capital, cautions_of
from api.shapes import corners_of
from api.sheet.lengths import length_mark, steps_of
from api.solve import Solved
from api.steel.found import SteelFound
from api.verdict import face_words, people_words
from fem.steel.cutting import CutList, cut_list
from fem.steel.model import Cut, Face, Plan, Run
from meshing.shape import Shape

__all__ = ["FACES", "Corners", "KeyPlan", "Matter", "StageRow", "matter_of"]

Point = tuple[float, float]
FloatArray = npt.NDArray[np.float64]
Corners = tuple[tuple[float, float, float], ...]
"""Corners (x, y, radius) [m]."""
FACES: tuple[Face, Face] = ("show", "underside")
LOST = 0.002
"""What a cut list may round off a length [m]."""


@dataclass(frozen=True, slots=True)
class StageRow:
    """One row of the stage table: stage, age, face, pull with its error bar, what is allowed, share, verdict."""

    stage: str
    age: str
    face: str
    pull: str
    allowed: str
    share: str
    status: str


@dataclass(frozen=True, eq=False, slots=True)
class KeyPlan:
    """The supports and hands of one stage: number, name, age, which face looks up, how it lies, who bears what."""

    number: int
    name: str
    age: str
    lies: str
    supports: tuple[SupportMark, ...]
    words: tuple[str, ...]
    stand: StandMark | None


@dataclass(frozen=True, eq=False)
class Matter:
    """All that is put on paper. corners: of the outline and of each opening as the case tells them, () if it has none.

    regions: corners, name and thickness of the parts that are thinner. stock_length [m] of a bought piece, stock_pieces
    to buy, waste the share of them that is thrown away. given: the runs are the case's own and no plan of ours.
    """

    title: str
    units: Units
    program: str
    hash: str
    shape: Shape
    corners: tuple[Corners, ...]
    openings: tuple[str, ...]
    thickness: float
    regions: tuple[tuple[tuple[Point, ...], str, float], ...]
    center: Point
    runs: tuple[Run, ...]
    given: bool
    facts: tuple[tuple[str, str], ...]
    covers: tuple[float, float]
    cuts: tuple[Cut, ...]
    stock_length: float
    stock_pieces: int
    waste: float
    rows: tuple[StageRow, ...]
    plans: tuple[KeyPlan, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]

    @cached_property
    def _cut_lengths(self) -> dict[str, float]:
        marks = Counter(mark for cut in self.cuts for mark in cut.marks)
        return {mark: cut.length for cut in self.cuts for mark in cut.marks if marks[mark] == 1}

    def length_steps(self, run: Run) -> int:
        """A run's length in steps of the tape, as the cut list tells it (not where it is lapped of several pieces)."""
        cut = self._cut_lengths.get(run.mark, run.length)
        return steps_of(cut if abs(cut - run.length) < LOST else run.length, self.units)

    def runs_of(self, face: Face) -> tuple[Run, ...]:
        """The runs that lie near a face."""
        return tuple(run for run in self.runs if run.face == face)


def matter_of(solved: Solved, steel: SteelFound | None = None) -> Matter:
    """What the sheets of a solved case tell; steel: what was found about it."""
    case, answer = solved.case, solved.answer
    runs, planned = _layout(steel)
    cuts = _cuts(steel, runs)
    return Matter(
        title=case.title,
        units=case.units,
        program=f"tensionlay {answer['program']}",
        hash=answer["hash"],
        shape=solved.piece.shape,
        corners=(corners_of(shaped(case.slab)), *(corners_of(opening) for opening in case.slab.opening)),
        openings=tuple(opening.name or "opening" for opening in case.slab.opening),
        thickness=case.slab.thickness,
        regions=tuple((region_points(one), one.name or "thinner", one.depth) for one in case.slab.region),
        center=(answer["center_of_gravity"][0], answer["center_of_gravity"][1]),
        runs=runs,
        given=bool(runs) and not planned,
        facts=tuple(_facts(solved, steel)),
        covers=(0.0, 0.0) if steel is None else (steel.covers.show, steel.covers.underside),
        cuts=() if cuts is None else cuts.cuts,
        stock_length=0.0 if steel is None else steel.steel.stock,
        stock_pieces=0 if cuts is None else cuts.stock_pieces,
        waste=0.0 if cuts is None else cuts.waste,
        rows=tuple(_rows(answer, case.units)),
        plans=tuple(_key_plans(solved)),
        cautions=(*_in_the_form(runs), *cautions_of(case)),
        notes=tuple(_notes(steel)),
    )


def _layout(steel: SteelFound | None) -> tuple[tuple[Run, ...], bool]:
    """The runs that are drawn, and whether they are the plan's."""
    if steel is None:
        return (), False
    if steel.plan is not None and steel.plan.runs:
        return steel.plan.runs, True
    return steel.given, False


def _cuts(steel: SteelFound | None, runs: tuple[Run, ...]) -> Plan | CutList | None:
    """What is cut from what: as the plan says, or worked out for the case's own layout."""
    if steel is None or not runs:
        return None
    return steel.plan if steel.plan is not None and steel.plan.runs else cut_list(runs, steel.rules.lap)


def _facts(solved: Solved, steel: SteelFound | None) -> Iterator[tuple[str, str]]:
    """What a shop wants to know of the piece at a glance: label and value."""
    case, answer, units = solved.case, solved.answer, solved.case.units
    outline = loops_of(solved.piece.shape)[0]
    width, depth = np.ptp(outline, axis=0).tolist()
    yield "Size", f"{length_mark(width, units, unit=False)} x {length_mark(depth, units)}"
    yield "Thickness", length_mark(case.slab.thickness, units)
    yield "Weight", people_words(answer, units).rstrip(".")
    for one in case.slab.region:
        yield capital(one.name or "thinner"), _region_words(region_points(one), one.depth, outline, units)
    along, across = (
        length_mark(value, units) for value in np.asarray(answer["center_of_gravity"]) - outline.min(axis=0)
    )
    yield "Balances", f"{along} from the left, {across} from the front"
    yield "Concrete", _concrete_words(case)
    first = min(answer["stages"], key=lambda stage: float(stage["age_s"]))
    strength = pull_words(first["cracking_strength_Pa"], units)
    yield "At its youngest", f"{first['name']}, {age_words(first['age_s'])}: it then cracks at {strength}"
    if steel is None:
        return
    kind = steel.steel
    yield "Steel", f"{kind.name}, {_diameter(kind.diameter, units)}"
    covers = (("show face", steel.covers.show), ("underside", steel.covers.underside))
    sides = (("edges", steel.covers.edge), ("openings", steel.covers.opening))
    yield "Clear cover", "; ".join(f"{name} {length_mark(cover, units)}" for name, cover in (*covers, *sides))
    yield "Placing", f"counted on to ±{length_mark(steel.rules.placing, units)}"
    runs, planned = _layout(steel)
    if runs and not planned:
        yield "Layout", "as the case gives it"
    judged = None if steel.judged is None else steel.judged.carried
    carried = steel.plan.carried if planned and steel.plan else judged
    if runs and carried is not None:
        times = f"{carried.factor:.2f} times what is owed once it has cracked"
        yield "Carries", times if np.isfinite(carried.factor) else "nothing is owed"
    if runs:
        yield "Laid", _laid_words(sum(run.length for run in runs), kind.mass, units)


def _region_words(corners: Sequence[Point], depth: float, outline: FloatArray, units: Units) -> str:
    """How thick a part is and how far it reaches."""
    ends = np.asarray(corners) - outline.min(axis=0)
    told = [
        [length_mark(float(value), units, unit=False) for value in way] for way in (ends.min(axis=0), ends.max(axis=0))
    ]
    (left, front), (right, back) = told
    return f"{length_mark(depth, units)} thick; {left} to {right} from the left, {front} to {back} from the front"


def _concrete_words(case: Case) -> str:
    concrete = case.concrete
    if case.units == "us":
        density = f"{concrete.density / 16.01846337396014:.0f} lb/ft3"
    else:
        density = f"{concrete.density:.0f} kg/m3"
    strength = concrete.compressive_strength
    return density if strength is None else f"{pull_words(strength, case.units)} at 28 days, {density}"


def _diameter(metre: float, units: Units) -> str:
    return f"{metre / 0.0254:.3f} in thick" if units == "us" else f"{metre * 1000:.1f} mm thick"


def _laid_words(metre: float, mass: float, units: Units) -> str:
    length = f"{metre / 0.3048:.0f} ft" if units == "us" else f"{metre:.1f} m"
    return f"{length}, {mass_words(metre * mass * 9.80665, units)}" if mass else length


def _rows(answer: Any, units: Units) -> Iterator[StageRow]:
    """The stages in their order, each with its worse face, and the other where that is beyond what is allowed too."""
    order = [stage["id"] for stage in answer["stages"]]
    for row in sorted(answer["verdict"]["rows"], key=lambda one: order.index(one["id"])):
        pull = "-"
        if row["pull_Pa"] is not None:
            number, _, unit = pull_words(row["pull_Pa"], units).partition(" ")
            pull = f"{number} ± {bar_words(row['error_Pa'], units)} {unit}" if number[0].isdigit() else number
        yield StageRow(
            row["stage"],
            age_words(row["age_s"]),
            "-" if row["face"] is None else face_words(row["face"]),
            pull,
            pull_words(row["allowed_Pa"], units),
            percent_words(row["share"]),
            row["status"],
        )


def _key_plans(solved: Solved) -> Iterator[KeyPlan]:
    case, outline = solved.case, loops_of(solved.piece.shape)[0]
    for k, (stage, result) in enumerate(zip(solved.piece.stages, solved.analysis.stages, strict=True)):
        told, entry = case.stage[k], solved.answer["stages"][k]
        marks = support_marks(stage, result.supports, solved.piece.shape, case.units)
        hands = {hand["index"]: hand for hand in entry["hands"]}
        lies = f"{face_words(stage.up)} up" if told.posture == "flat" else told.posture
        yield KeyPlan(
            number=k + 1,
            name=capital(stage.name),
            age=age_words(told.age),
            lies=lies,
            supports=marks,
            words=tuple(
                f"{mark.number}  {_support_words(mark, hands.get(mark.number - 1), case.units)}" for mark in marks
            ),
            stand=stand_mark(stage, outline, told.posture, told.angle),
        )


def _support_words(mark: SupportMark, hand: Any, units: Units) -> str:
    """What one support bears; of a hand also the most, when another lets go."""
    if hand is None or hand["most_N"] is None or hand["force_N"] is None:
        return mark.words.replace(": rests, ", ": ")
    force, most = force_words(abs(hand["force_N"]), units), force_words(abs(hand["most_N"]), units)
    over = f", more than its {force_words(hand['limit_N'], units)}" if hand["over"] else ""
    away = " the other way" if hand["most_N"] * hand["force_N"] < 0 or hand["most_N"] < 0 else ""
    return f"{hand['name']}: bears {force}{f', up to {most}{away}' if most != force else ''}{over}"


def _in_the_form(runs: tuple[Run, ...]) -> Iterator[str]:
    if runs:
        yield (
            "Every plan is seen from the show face. In a form with the show face down one looks from the other side: "
            "there left and right change places, and the steel of the show face is laid first."
        )


def _notes(steel: SteelFound | None) -> Iterator[str]:
    if steel is None:
        return
    if steel.plan is not None:
        yield from steel.plan.failures
        yield from steel.plan.notes
    yield from steel.notes
