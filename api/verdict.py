"""The answer in sentences for somebody who does not know moments: what cracks, where, what tips, how far off level.

Everything here reads the answer as it stands in result.json.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from api.figures import (
    Units,
    age_words,
    bar_words,
    force_words,
    hold_words,
    least_words,
    level_words,
    mass_words,
    number_words,
    point_words,
    pull_words,
)
from api.steel.words import steel_sentences

__all__ = [
    "CAUTION",
    "all_hold",
    "at_words",
    "called",
    "face_words",
    "level_limit_words",
    "people_words",
    "place_words",
    "sentences",
    "stage_sentence",
    "state_words",
    "tips_words",
    "worst_face",
    "worst_first",
]

Answer = Mapping[str, Any]

CAUTION = "This is a calculation aid: the local code and a licensed engineer decide whether a piece is safe."
STATUS_ORDER = ("tips", "cracks", "marginal", "holds")
DOING = {
    "strip": "stripping",
    "turn": "turning",
    "carry": "carrying",
    "lift": "lifting",
    "haul": "hauling",
    "set": "setting",
    "use": "use",
}


def worst_face(stage: Answer) -> str | None:
    """The face with the greater share of the allowed strength; None if the stage has no peaks."""
    use = stage["use_of_allowed"]
    if use["show"] is None or use["underside"] is None:
        return None
    return "underside" if use["underside"] > use["show"] else "show"


def worst_first(stages: Iterable[Answer]) -> list[Any]:
    """Stages by how bad they are: those that tip, then those that crack, then by share of the allowed strength."""

    def badness(stage: Answer) -> tuple[int, float]:
        face = worst_face(stage)
        return STATUS_ORDER.index(stage["status"]), -(stage["use_of_allowed"][face] or 0) if face else 0.0

    return sorted(stages, key=badness)


def all_hold(answer: Answer) -> bool:
    """Whether every stage of an answer holds."""
    return all(stage["status"] == "holds" for stage in answer["stages"])


def sentences(answer: Answer, rows: Sequence[Answer], zones: Collection[str], units: Units) -> list[str]:
    """The first screen: the stages, the worst place, shims, weight and people, and what the maps' zones mean."""
    stages = worst_first(answer["stages"])
    return [
        *_verdicts(stages, rows, units),
        *_shims(stages, units),
        *(steel_sentences(answer["steel"], units) if answer["steel"] else ()),
        people_words(answer, units),
        *_zones(zones),
    ]


def stage_sentence(stage: Answer, units: Units) -> str:
    """What one stage comes to, said to somebody who does not know moments."""
    name, face = _with_state(stage), worst_face(stage)
    if stage["status"] == "tips" or face is None:
        return f"{name} {'will not balance' if _is_doing(stage) else 'does not stand'}: {tips_words(stage, units)}."
    peak, cracking = stage["peak"][face], pull_words(stage["cracking_strength_Pa"], units)
    allowed = pull_words(stage["allowed_Pa"], units).removesuffix(" psi").removesuffix(" MPa")
    pull, can = (
        f"the pull is {pull_words(peak['tension_Pa'], units)}",
        f"it can take {allowed} {_at_age(stage['age_s'])}",
    )
    if stage["status"] == "holds":
        return f"{name} {'should not crack it' if _is_doing(stage) else 'holds'}: {pull}, {can}."
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


def tips_words(stage: Answer, units: Units) -> str:
    """How a stage falls and what would hold it."""
    tips = stage["tips"]
    if tips is None:
        return "no balance was found"
    begin, end = (point_words(at, units) for at in tips["axis"])
    axis = tips["about"] or f"the line from {begin} to {end}"
    words = f"it tips about {axis}"
    if tips.get("least_load_N") is not None:
        place = f" {at_words(tips['place'])}" if tips["place"] else ""
        words = f"{least_words(tips['least_load_N'], units)} of '{tips['variation']}'{place} tip it about {axis}"
    if tips["hold_down_N"] is None:
        return words
    force, place = hold_words(tips["hold_down_N"], units), point_words(tips["hold_down_at"], units)
    where = f"{at_words(tips['hold_down_place'])} ({place})" if tips.get("hold_down_place") else f"at {place}"
    return f"{words}; {force} down {where} would hold it"


def state_words(variation: str, place: str | None) -> str:
    """A state of a stage: the variation by its name, or a roaming load with the place where it then is."""
    return f"'{variation}' {at_words(place)}" if place else variation


def at_words(place: str) -> str:
    """A place as it stands behind "a load ...": with "at the" or "in the" where it needs one.

    >>> at_words("left front part of the slab"), at_words("behind the opening"), at_words("the inner corner")
    ('in the left front part of the slab', 'behind the opening', 'at the inner corner')
    """
    if re.match(r"(at|in|over|under|behind|in front of|(left|right) of) ", place):
        return place
    if re.search(r"(part|middle) of the slab$", place):
        return f"in the {place}"
    return f"at {place}" if place.startswith("the ") else f"at the {place}"


def level_limit_words(limit: Answer, units: Units) -> str:
    """How far one support may be out of level: "2 mm high but 4 mm low"."""
    high, low = limit["high_m"], limit["low_m"]
    if high is None and low is None:
        return "out of level as far as was looked"
    if high is not None and low is not None:
        up, down = level_words(high, units), level_words(low, units)
        return f"{up} high {'and' if up == down else 'but'} {down} low"
    if low is not None:
        return f"as high as was looked but {level_words(low, units)} low"
    harmless = "missing" in limit.get("why_low", "")  # then it bears nothing that the others could not
    return f"{level_words(high, units)} high but {'low without harm' if harmless else 'as low as was looked'}"


def people_words(answer: Answer, units: Units) -> str:
    """The weight, and who or what lifts it."""
    weight = answer["weight"]
    count, person = weight["people"], "50 lb" if units == "us" else "23 kg"
    who = "one person" if count == 1 else f"{number_words(count)} people"
    each = f"at no more than {person} each" if count > 1 else f"(no more than {person})"
    cart = f", or {weight['instead']}" if weight["instead"] else ""
    return f"{mass_words(weight['weight_N'], units)}: {who} {each}{cart}."


def face_words(face: str) -> str:
    """A face by its name."""
    return "show face" if face == "show" else "underside"


def place_words(stage: Answer, face: str) -> str:
    """Face and place of a stage's peak on one face."""
    return f"{face_words(face)}, {stage['peak'][face]['place']}"


def called(stage: Answer) -> str:
    """A stage as a sentence begins: "Carrying flat"; in quotes if its name would trip the reader."""
    name: str = stage["name"]
    first, _, rest = name.partition(", ")
    if doing := _doing(first):
        return f"{doing} ({rest})" if rest else doing
    if re.search(r"[^\w -]", name):
        return f'"{name}"'
    return name[:1].upper() + name[1:]


def _doing(name: str) -> str:
    """What is done in a stage whose name begins as the ready-made ones do; "" for other names."""
    word, _, rest = name.partition(" ")
    if word.lower() not in DOING or re.search(r"[^\w -]", rest):
        return ""
    doing = DOING[word.lower()]
    return f"{doing[:1].upper()}{doing[1:]} {rest}".rstrip()


def _is_doing(stage: Answer) -> bool:
    return bool(_doing(stage["name"].partition(", ")[0])) and not stage["name"].lower().startswith("use")


def _with_state(stage: Answer) -> str:
    """The stage, and in brackets the state in which it is worst, if that is not the stage as it stands."""
    face = worst_face(stage)
    state = ""
    if face is not None:
        governing = (stage.get("governing") or {}).get(face) or {"variation": "", "place": None}
        state = state_words(governing["variation"], governing["place"])
    elif stage["tips"] is not None and stage["tips"].get("least_load_N") is None:
        state = state_words(stage["tips"].get("variation", ""), stage["tips"].get("place"))
    name = called(stage)
    if not state:
        return name
    return f"{name[:-1]}; {state})" if name.endswith(")") else f"{name} ({state})"


def _verdicts(stages: Sequence[Answer], rows: Sequence[Answer], units: Units) -> Iterator[str]:
    """A sentence for each stage that does not hold, with the worst place once; or for the one nearest to its limit."""
    bad = [stage for stage in stages if stage["status"] != "holds"]
    told = False
    for stage in bad:
        yield stage_sentence(stage, units)
        if not told and (worst := _worst_place(stage, rows)):
            yield worst
            told = True
    if not bad:
        yield f"Every stage holds. Nearest to its limit: {stage_sentence(stages[0], units)}"
        yield from filter(None, [_worst_place(stages[0], rows)])
    elif good := len(stages) - len(bad):
        yield "The other stage holds." if good == 1 else "The other stages hold."
    for stage in stages:
        if stage["rocks"]:
            yield f"{called(stage)}: it rocks on its supports."
        for hand in stage.get("hands", ()):
            if hand["over"]:
                force, limit = force_words(hand["most_N"], units), force_words(hand["limit_N"], units)
                yield f"{called(stage)}: '{hand['name']}' bears {force}, and is to bear no more than {limit}."


def _worst_place(stage: Answer, rows: Sequence[Answer]) -> str:
    row = next((row for row in rows if row["id"] == stage["id"]), None)
    if row is None or row["face"] is None or not row["share"]:
        return ""
    crack = row["what_a_crack_would_do"]
    return f"Worst place: {face_words(row['face'])}, {row['where']}{f'; {crack}' if crack else ''}."


def _shims(stages: Sequence[Answer], units: Units) -> Iterator[str]:
    """The tightest level limit of all, and the support that asks for it."""
    found = [
        (min(given), limit, stage)
        for stage in stages
        for limit in stage.get("levels", ())
        if (given := [value for value in (limit["high_m"], limit["low_m"]) if value is not None])
    ]
    if not found:
        return
    least, limit, stage = min(found, key=lambda entry: entry[0])
    if least <= 0:
        yield f"{called(stage)}: shims do not help; it is beyond what is allowed with every support level."
        return
    words = level_words(least, units)
    within = f"Shim within {words}" if words[0].isdigit() else "Shim as level as can be"
    yield f"{within}: '{limit['name']}' may be {level_limit_words(limit, units)}."


def _zones(kinds: Collection[str]) -> Iterator[str]:
    told = ["green: somebody may stand there"] if "stand" in kinds else []
    told += ["hatched: nobody stands there"] if "nobody" in kinds else []
    if told:
        yield f"On the maps, {'; '.join(told)}."


def _hairline_face(stage: Answer) -> str | None:
    """The face whose local pull exceeds the cracking strength most, if any does."""
    local = {face: peak["local_Pa"] or 0.0 for face, peak in stage["peak"].items()}
    face = max(local, key=lambda key: local[key])
    return face if local[face] > stage["cracking_strength_Pa"] else None


def _at_age(second: float) -> str:
    words = age_words(second)
    return f"on {words}" if words.startswith("day") else f"at {words}"
