"""The lists: what to cut from what, every run with its ends, the stages with their pull, cautions and notes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from api.sheet.columns import Block, paragraphs, table
from api.sheet.lengths import length_mark, step_words
from api.sheet.matter import Matter
from api.sheet.run_labels import end_words

__all__ = ["blocks", "cut_rows", "marks_words"]

WHY = {"pull": "pull", "rail": "rail", "overhang": "overhang", "given": "given"}


def blocks(matter: Matter, width: float) -> Iterator[Block]:
    """All lists in the order in which a shop needs them, each as wide as a column."""
    if matter.cuts:
        yield _cut_list(matter, width)
    yield _stages(matter, width)
    if matter.notes:
        yield paragraphs("Notes", matter.notes, width)
    yield paragraphs("Cautions", matter.cautions, width)
    if matter.runs:
        yield _run_list(matter, width)


def marks_words(marks: tuple[str, ...]) -> str:
    """Marks in one cell."""
    return ", ".join(marks)


def cut_rows(matter: Matter) -> list[tuple[str, str, int, str]]:
    """Steel, length, count, marks of every line of the cut list, the longest first."""
    ordered = sorted(matter.cuts, key=lambda cut: (cut.steel, -cut.length, cut.marks))
    return [
        (cut.steel, length_mark(cut.length, matter.units, unit=False), cut.count, marks_words(cut.marks))
        for cut in ordered
    ]


def _cut_list(matter: Matter, width: float) -> Block:
    rows = [(length, str(count), marks) for _, length, count, marks in cut_rows(matter)]
    kinds = ", ".join(sorted({cut.steel for cut in matter.cuts}))
    pieces = sum(cut.count for cut in matter.cuts)
    bought = "off a coil"
    if math.isfinite(matter.stock_length):
        stock = length_mark(matter.stock_length, matter.units)
        lengths = "1 stock length" if matter.stock_pieces == 1 else f"{matter.stock_pieces} stock lengths"
        bought = f"from {lengths} of {stock}, {100 * matter.waste:.0f} % waste"
    return table(
        f"Cut list: {kinds}",
        ("length", "count", "for runs"),
        rows,
        width,
        ("right", "right", "left"),
        2,
        last=("", str(pieces), bought),
    )


def _run_list(matter: Matter, width: float) -> Block:
    """Every run: where its two ends lie, from the left and from the front edge."""
    units = matter.units
    rows = []
    for run in matter.runs:
        face = "show" if run.face == "show" else "under"
        rows.append(
            (
                run.mark,
                f"{face} {run.layer + 1}",
                length_mark(run.depth, units, unit=False),
                *end_words(matter, run),
                step_words(matter.length_steps(run), units),
                WHY[run.why] if len(run.points) == 2 else f"{WHY[run.why]}, bent",
            )
        )
    return table(
        "Runs and where their ends lie",
        ("run", "layer", "deep", "from left", "front", "to left", "front", "length", "why"),
        rows,
        width,
        ("left", "left", "right", "right", "right", "right", "right", "right", "left"),
        8,
    )


def _stages(matter: Matter, width: float) -> Block:
    rows = [(row.stage, row.age, row.face, row.pull, row.allowed, row.share, row.status) for row in matter.rows]
    return table(
        "Stages: the pull before it cracks",
        ("stage", "age", "face", "pull", "allowed", "share", ""),
        rows,
        width,
        ("left", "left", "left", "right", "right", "right", "left"),
        0,
    )
