"""The answer in plain words: one line a stage, worst first, what to make of it, and what it rests on.

Everything here reads the answer as it stands in result.json, so a table can be made again from a file.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.figures import (
    Units,
    age_words,
    bar_words,
    hold_words,
    length_words,
    mass_words,
    percent_words,
    point_words,
    pull_words,
)

__all__ = [
    "CAUTION",
    "NOT_CHECKED",
    "all_hold",
    "place_words",
    "stage_sentence",
    "summary",
    "worst_face",
    "worst_first",
]

Answer = Mapping[str, Any]

CAUTION = "This is a calculation aid: the local code and a licensed engineer decide whether a piece is safe."
NOT_CHECKED = (
    "a drop or a knock, shrinkage and curling, heat, a twist while it is carried, loads that stay for years, "
    "and what the steel does once it has cracked"
)
THEORY_SHARE = 0.1
"""What theory may miss is worth a note from this share of the pull."""
STATUS_ORDER = ("tips", "cracks", "marginal", "holds")


def worst_face(stage: Answer) -> str | None:
    """The face with the greater share of the allowed strength; None if the stage has no peaks."""
    use = stage["use_of_allowed"]
    if use["show"] is None or use["underside"] is None:
        return None
    return "underside" if use["underside"] > use["show"] else "show"


def worst_first(stages: Iterable[Answer]) -> list[Answer]:
    """Stages by how bad they are: those that tip, then those that crack, then by share of the allowed strength."""

    def badness(stage: Answer) -> tuple[int, float]:
        face = worst_face(stage)
        return STATUS_ORDER.index(stage["status"]), -(stage["use_of_allowed"][face] or 0) if face else 0.0

    return sorted(stages, key=badness)


def all_hold(answer: Answer) -> bool:
    """Whether every stage of an answer holds."""
    return all(stage["status"] == "holds" for stage in answer["stages"])


def face_words(face: str) -> str:
    """A face by its name."""
    return "show face" if face == "show" else "underside"


def place_words(stage: Answer, face: str) -> str:
    """Face and place of a stage's peak on one face."""
    return f"{face_words(face)}, {stage['peak'][face]['place']}"


def stage_sentence(stage: Answer, units: Units) -> str:
    """What one stage comes to, said to somebody who does not know moments."""
    name, face = _called(stage), worst_face(stage)
    if stage["status"] == "tips" or face is None:
        return f"{name} does not stand: {_tips_words(stage, units)}."
    peak, cracking = stage["peak"][face], pull_words(stage["cracking_strength_Pa"], units)
    allowed = pull_words(stage["allowed_Pa"], units).removesuffix(" psi").removesuffix(" MPa")
    pull, can = (
        f"the pull is {pull_words(peak['tension_Pa'], units)}",
        f"it can take {allowed} {_at_age(stage['age_s'])}",
    )
    if stage["status"] == "holds":
        return f"{name} holds: {pull}, {can}."
    if stage["status"] == "cracks":
        return f"{name} will probably crack it: {pull}, {can}."
    if peak["tension_Pa"] + peak["error_Pa"] <= stage["allowed_Pa"] and (hairline := _hairline_face(stage)):
        local = pull_words(stage["peak"][hairline]["local_Pa"], units)
        where = f"{face_words(hairline)}, {stage['peak'][hairline]['local_place']}"
        return (
            f"{name} may start a hairline crack at one spot ({where}): the pull peaks there at {local} and the "
            f"concrete cracks at {cracking}; over the slab's thickness {pull}, {can}."
        )
    if peak["tension_Pa"] > stage["allowed_Pa"]:
        return f"{name} may crack it: {pull}, {can} and cracks at about {cracking}."
    return f"{name} is too close to call: {pull}, give or take {bar_words(peak['error_Pa'], units)}, and {can}."


def summary(answer: Answer, units: Units, width: int = 120) -> str:
    """The whole answer for a terminal: the piece, its stages, worst first, what they mean, what that rests on."""
    stages = worst_first(answer["stages"])
    parts = [
        _heading(answer, units),
        _table(stages, units, width),
        _verdicts(stages, units, width),
        _listed("Note:", [*_notes(stages, units), *(_warning(entry, answer) for entry in answer["warnings"])], width),
        _listed("Assumed:", _assumed(answer), width),
        textwrap.fill(f"Not checked: {NOT_CHECKED}.", width, subsequent_indent="  "),
        CAUTION,
    ]
    return "\n\n".join(part for part in parts if part)


def _heading(answer: Answer, units: Units) -> str:
    case = answer["case"]
    thickness = length_words(case["slab"]["thickness"], units)
    return f"{case['title']}: {thickness} thick, {mass_words(answer['weight_N'], units)}"


def _table(stages: Sequence[Answer], units: Units, width: int) -> str:
    head = ("stage", "answer", "pull", "it can take", "of allowed", "of cracking", "age", "where")
    rows = [head, *(_row(stage, units) for stage in stages)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(head) - 1)]
    widths[0] = min(widths[0], 28)
    room = max(width - sum(widths) - 2 * len(widths), 24)
    lines: list[str] = []
    for row in rows:
        names, places = textwrap.wrap(row[0], widths[0]) or [""], textwrap.wrap(row[-1], room) or [""]
        for k in range(max(len(names), len(places))):
            cells = [names[k] if k < len(names) else "", *(row[1:-1] if k == 0 else [""] * (len(head) - 2))]
            text = "  ".join(cell.ljust(size) for cell, size in zip(cells, widths, strict=True))
            lines.append(f"{text}  {places[k] if k < len(places) else ''}".rstrip())
    return "\n".join(lines)


def _row(stage: Answer, units: Units) -> tuple[str, ...]:
    allowed, age = pull_words(stage["allowed_Pa"], units), age_words(stage["age_s"])
    face = worst_face(stage)
    if face is None:
        return (stage["name"], stage["status"].upper(), "-", allowed, "-", "-", age, _tips_words(stage, units))
    peak = stage["peak"][face]
    pull = pull_words(peak["tension_Pa"], units)
    if pull[0].isdigit():
        number, unit = pull.split()
        pull = f"{number} ±{bar_words(peak['error_Pa'], units)} {unit}"
    word = stage["status"] if stage["status"] == "holds" else stage["status"].upper()
    shares = [percent_words(stage[use][face]) for use in ("use_of_allowed", "use_of_cracking")]
    return (stage["name"], word, pull, allowed, *shares, age, place_words(stage, face))


def _verdicts(stages: Sequence[Answer], units: Units, width: int) -> str:
    bad = [stage for stage in stages if stage["status"] != "holds"]
    if bad:
        good = len(stages) - len(bad)
        lines = [stage_sentence(stage, units) for stage in bad]
        lines += ["The other stage holds." if good == 1 else "The other stages hold."] if good else []
    else:
        lines = [f"Every stage holds. Nearest to its limit: {stage_sentence(stages[0], units)}"]
    lines += [f"{_called(stage)}: it rocks on its supports." for stage in stages if stage["rocks"]]
    return "\n".join(textwrap.fill(line, width, subsequent_indent="  ") for line in lines)


def _tips_words(stage: Answer, units: Units) -> str:
    tips = stage["tips"]
    if tips is None:
        return "no balance was found"
    begin, end = (point_words(at, units) for at in tips["axis"])
    axis = tips["about"] or f"the line from {begin} to {end}"
    if tips["hold_down_N"] is None:
        return f"it tips about {axis}"
    force, place = hold_words(tips["hold_down_N"], units), point_words(tips["hold_down_at"], units)
    return f"it tips about {axis}; {force} down at {place} would hold it"


def _hairline_face(stage: Answer) -> str | None:
    """The face whose local pull exceeds the cracking strength most, if any does."""
    local = {face: peak["local_Pa"] or 0.0 for face, peak in stage["peak"].items()}
    face = max(local, key=lambda key: local[key])
    return face if local[face] > stage["cracking_strength_Pa"] else None


def _notes(stages: Sequence[Answer], units: Units) -> list[str]:
    """What the stages' own notes say, and where thin-plate theory may miss more than the error bar tells."""
    notes = [f"{_called(stage)}: {note}." for stage in stages for note in stage["notes"]]
    theory = []
    for stage in stages:
        face = worst_face(stage)
        peak = stage["peak"][face] if face else None
        if peak and peak["allowance_Pa"] > THEORY_SHARE * peak["tension_Pa"]:
            theory.append(f"{_called(stage)} {pull_words(peak['allowance_Pa'], units)}")
    if theory:
        told = "Apart from the error bar, thin-plate theory itself may be off where the pull is worst"
        notes.append(f"{told}: {', '.join(theory)}.")
    return notes


def _assumed(answer: Answer) -> list[str]:
    """What was assumed, said once where it is said of several stages, supports or loads."""
    kinds: dict[str, list[Mapping[str, str]]] = {}
    for entry in answer["assumed"]:
        kinds.setdefault(re.sub(r"\[\d+\]", "", entry["where"]), []).append(entry)
    lines = []
    for entries in kinds.values():
        texts = list(dict.fromkeys(entry["what"] for entry in entries))
        more = len(texts) - 1
        lines.append(_with_names(texts[0], answer) + (f"; {more} more of this kind in result.json" if more else ""))
    return lines


def _listed(title: str, lines: Sequence[str], width: int) -> str:
    if not lines:
        return ""
    wrapped = [textwrap.fill(line, width - 2, subsequent_indent="  ") for line in dict.fromkeys(lines)]
    return f"{title}\n" + textwrap.indent("\n".join(wrapped), "  ")


def _warning(entry: Mapping[str, str], answer: Answer) -> str:
    """A warning with its place as a person would say it: the stage by its name, any other place by its path."""
    stage = re.match(r"stage\[(\d+)\]", entry["where"])
    where = _called(answer["stages"][int(stage[1])]) if stage else entry["where"]
    what = _with_names(entry["what"], answer)
    return f"{where}: {what}." if where else f"{what}."


def _with_names(text: str, answer: Answer) -> str:
    """The text with stages by their names in place of paths into the case."""
    return re.sub(r"stage\[(\d+)\]", lambda path: f"'{answer['stages'][int(path[1])]['name']}'", text)


def _at_age(second: float) -> str:
    words = age_words(second)
    return f"on {words}" if words.startswith("day") else f"at {words}"


def _called(stage: Answer) -> str:
    """A stage's name as a sentence begins; in quotes if it would trip the reader."""
    name: str = stage["name"]
    if re.search(r"[^\w -]", name):
        return f'"{name}"'
    return name[:1].upper() + name[1:]
