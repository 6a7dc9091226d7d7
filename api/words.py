"""The answer for a terminal: the verdict's sentences, one table worst first, weight, levels, and what it rests on.

Everything here reads the answer as it stands in result.json, so a summary can be made again from a file.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from api.figures import Units, age_words, bar_words, force_words, length_words, mass_words, percent_words, pull_words
from api.not_checked import NOT_CHECKED, listed_words
from api.steel.words import steel_lines, steel_sentences
from api.verdict import (
    CAUTION,
    all_hold,
    called,
    level_limit_words,
    place_words,
    stage_sentence,
    state_words,
    worst_face,
    worst_first,
)

__all__ = [
    "CAUTION",
    "NOT_CHECKED",
    "all_hold",
    "judged_summary",
    "layout_carries",
    "place_words",
    "stage_sentence",
    "summary",
    "worst_face",
    "worst_first",
]

Answer = Mapping[str, Any]
Cells = tuple[list[str], ...]

THEORY_SHARE = 0.1
"""What theory may miss is worth a note from this share of the pull."""
NARROWEST = 18
"""Columns that words are given at least, however narrow the terminal."""
HEAD: Cells = (
    ["stage"],
    ["answer"],
    ["face"],
    ["pull", "±"],
    ["it can", "take"],
    ["share"],
    ["where"],
    ["what a crack would do"],
)
PARTS = {"stage": "Stages", "set": "Setting down"}
LEGEND = "share: of what it can take at that age, and in brackets of the pull at which it cracks"

# Reasons why a support has no level limit which "without harm" tells already (fem/plate/levels.py).
NO_LIMIT = ("it may be missing altogether", "within 2 in (51 mm) nothing passes the allowed")


def summary(answer: Answer, units: Units, width: int = 120) -> str:
    """The whole answer: the piece, what to make of it, its stages, worst first, and what that rests on."""
    stages, verdict = worst_first(answer["stages"]), answer["verdict"]
    parts = [
        _heading(answer, units),
        "\n".join(_filled(line, width) for line in verdict["sentences"]),
        _listed("What would help:", [_help(item, units) for item in answer["advice"]], width),
        _table(verdict["rows"], units, width),
        _listed("Steel:", steel_lines(answer["steel"], units) if answer["steel"] else [], width),
        _listed("Hands bear:", list(_hands(stages, units)), width),
        _listed("Out of level:", list(_levels(stages, units)), width),
        _listed("Note:", [*_notes(stages, units), *(_warning(entry, answer) for entry in answer["warnings"])], width),
        _listed("Assumed:", list(_assumed(answer)), width),
        _filled(f"Not checked: {listed_words(verdict['not_checked'])}.", width),
        CAUTION,
    ]
    return "\n\n".join(part for part in parts if part)


def judged_summary(answer: Answer, units: Units, width: int = 120) -> str:
    """What the case's own layout of steel is worth: in sentences, run by run, and what that rests on."""
    steel = answer["steel"]
    parts = [_heading(answer, units)]
    if steel is None:
        parts.append(_listed("Note:", [_warning(entry, answer) for entry in answer["warnings"]], width))
    else:
        parts += [
            "\n".join(_filled(line, width) for line in steel_sentences(steel, units)),
            _listed("The layout:", steel_lines(steel, units), width),
            _listed("Assumed:", list(_assumed(answer)), width),
        ]
    return "\n\n".join(part for part in [*parts, CAUTION] if part)


def layout_carries(answer: Answer) -> bool:
    """Whether the case's own layout carries all that is owed; not where nothing could be said of it."""
    steel = answer["steel"]
    if steel is None or steel["judged"] is None:
        return False
    factor = steel["judged"]["load_factor"]
    return factor is None or factor >= 1


def _heading(answer: Answer, units: Units) -> str:
    case = answer["case"]
    thickness = length_words(case["slab"]["thickness"], units)
    return f"{case['title']}: {thickness} thick, {mass_words(answer['weight_N'], units)}"


def _table(rows: Sequence[Answer], units: Units, width: int) -> str:
    """Columns of short things first, then two of words, which share the room that is left and wrap."""
    short = [HEAD, *(_short_cells(row, units) for row in rows)]
    widths = [max(len(text) for cells in short for text in cells[k]) for k in range(6)]
    room = max(width - sum(widths) - 2 * 7, 2 * NARROWEST)
    widths += [room // 2, room - room // 2]
    lines = _lines(HEAD, widths)
    for row, cells in zip(rows, short[1:], strict=True):
        crack = (row["what_a_crack_would_do"] or "").removeprefix("a crack would ").removeprefix("a crack could ")
        words = (_where(row), crack or "-")
        wrapped = [textwrap.wrap(text, size) or [""] for text, size in zip(words, widths[6:], strict=True)]
        lines += ["", *_lines((*cells[:6], *wrapped), widths)]
    return "\n".join([*lines, "", LEGEND])


def _lines(cells: Sequence[Sequence[str]], widths: Sequence[int]) -> list[str]:
    """The lines of one row of the table, whose cells have several lines each."""
    count = max(len(cell) for cell in cells)
    padded = [[*cell, *[""] * (count - len(cell))] for cell in cells]
    return [
        "  ".join(cell[k].ljust(size) for cell, size in zip(padded, widths, strict=True)).rstrip() for k in range(count)
    ]


def _short_cells(row: Answer, units: Units) -> Cells:
    """The first six cells of a row: stage, answer, face, pull, what it can take, share; two lines where need be."""
    names = textwrap.wrap(row["stage"], 18) or [""]
    word = row["status"] if row["status"] == "holds" else row["status"].upper()
    can = [pull_words(row["allowed_Pa"], units), age_words(row["age_s"])]
    if row["face"] is None:
        return names, [word], ["-"], ["-"], can, ["-"]
    pull = [pull_words(row["pull_Pa"], units)]
    if pull[0][0].isdigit():
        pull.append(f"±{bar_words(row['error_Pa'], units)}")
    share = [percent_words(row["share"]), f"({percent_words(row['share_of_cracking'])})"]
    return names, [word], [row["face"]], pull, can, share


def _where(row: Answer) -> str:
    state = state_words(row["variation"], row["variation_place"])
    known = not state or f"'{row['variation']}'" in row["where"]
    return str(row["where"]) if known else f"{row['where']} ({state})"


def _help(item: Answer, units: Units) -> str:
    """One piece of advice, with the pull before and after if its sentence does not say them."""
    before, after = item["before_Pa"], item["after_Pa"]
    if before is None or after is None or pull_words(after, units) in item["what"]:
        return str(item["what"])
    return f"{item['what']} (pull {pull_words(before, units)} now, {pull_words(after, units)} then)"


def _hands(stages: Sequence[Answer], units: Units) -> Iterator[str]:
    """One line a stage with hands: what each bears, and the most in the states that govern."""
    for stage in stages:
        told = []
        for hand in stage.get("hands", ()):
            if hand["most_N"] is None:
                continue
            force, most = (None if x is None else force_words(x, units) for x in (hand["force_N"], hand["most_N"]))
            more = f", up to {most}" if force is not None and most != force else ""
            limit = f" (OVER its {force_words(hand['limit_N'], units)})" if hand["over"] else ""
            told.append(f"'{hand['name']}' {force or most}{more}{limit}")
        if told:
            yield f"{called(stage)}: {'; '.join(told)}."


def _levels(stages: Sequence[Answer], units: Units) -> Iterator[str]:
    for stage in stages:
        if limits := stage.get("levels", ()):
            alike: dict[str, list[str]] = {}
            for limit in limits:
                alike.setdefault(level_limit_words(limit, units), []).append(f"'{limit['name']}'")
            yield from (f"{called(stage)}, {words}: {', '.join(names)}." for words, names in alike.items())
            # Where no limit was found the words above say so already.
            whys = [limit[key] for limit in limits for key in ("why_high", "why_low") if limit.get(key)]
            yield from (f"{called(stage)}: {why}." for why in dict.fromkeys(whys) if why not in NO_LIMIT)


def _notes(stages: Sequence[Answer], units: Units) -> list[str]:
    """What the stages' own notes say, and where thin-plate theory may miss more than the error bar tells."""
    notes = [f"{called(stage)}: {note}." for stage in stages for note in stage["notes"]]
    theory = []
    for stage in stages:
        face = worst_face(stage)
        peak = stage["peak"][face] if face else None
        if peak and peak["allowance_Pa"] > THEORY_SHARE * peak["tension_Pa"]:
            theory.append(f"{called(stage)} {pull_words(peak['allowance_Pa'], units)}")
    if theory:
        told = "Apart from the error bar, thin-plate theory itself may be off where the pull is worst"
        notes.append(f"{told}: {', '.join(theory)}.")
    return notes


def _assumed(answer: Answer) -> Iterator[str]:
    """What was assumed, a line for each part of the case, and in it each kind of thing once."""
    kinds: dict[str, dict[str, list[str]]] = {}
    for entry in answer["assumed"]:
        path = re.sub(r"\[\d+\]", "", entry["where"]).split(".")
        part = path[1] if path[0] == "life" and len(path) > 2 else path[0]
        kinds.setdefault(part, {}).setdefault(".".join(path), []).append(entry["what"])
    for part, found in kinds.items():
        told = [_kind(path, texts, answer) for path, texts in found.items()]
        yield f"{PARTS.get(part, part[:1].upper() + part[1:])}: {'; '.join(told)}."


def _kind(path: str, texts: Sequence[str], answer: Answer) -> str:
    """What was assumed at places of one kind: the first text, and how many others there are."""
    different = list(dict.fromkeys(texts))
    text = _with_names(different[0], answer)
    if path.startswith(("life.", "cabinet.", "bracket.")) and path.count(".") > path.startswith("life."):
        # The reasons of some forty values would bury the rest; they stand in result.json.
        text = f"{path.rsplit('.', 1)[1].replace('_', ' ')} {re.split(r': |, and wherever', text)[0]}"
    more = len(different) - 1
    return text + (f" ({more} more of this kind in result.json)" if more else "")


def _listed(title: str, lines: Sequence[str], width: int) -> str:
    if not lines:
        return ""
    wrapped = [textwrap.fill(line, width - 2, subsequent_indent="  ") for line in dict.fromkeys(lines)]
    return f"{title}\n" + textwrap.indent("\n".join(wrapped), "  ")


def _filled(line: str, width: int) -> str:
    return textwrap.fill(line, width, subsequent_indent="  ")


def _warning(entry: Mapping[str, str], answer: Answer) -> str:
    """A warning with its place as a person would say it: the stage by its name, any other place by its path."""
    stage = re.match(r"stage\[(\d+)\]", entry["where"])
    where = called(answer["stages"][int(stage[1])]) if stage else entry["where"]
    what = _with_names(entry["what"], answer)
    return f"{where}: {what}." if where else f"{what}."


def _with_names(text: str, answer: Answer) -> str:
    """The text with stages by their names in place of paths into the case."""
    return re.sub(r"stage\[(\d+)\]", lambda path: f"'{answer['stages'][int(path[1])]['name']}'", text)
