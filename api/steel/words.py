"""What is found about the steel in plain sentences, for the verdict and for a terminal.

Everything here reads the entry `steel` of the answer as it stands in result.json.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from api.figures import Units, length_words, level_words, mass_words, number_words

__all__ = ["cracks_words", "judged_words", "long_words", "plan_words", "steel_lines", "steel_sentences", "verdict_of"]

Entry = Mapping[str, Any]

GRAVITY = 9.80665
LOWERS_NO_COLOUR = "Steel lowers no colour of the maps: it does nothing before the concrete cracks."
MOST_LISTED = 12
_TOLD = ("cover", "bends or snaps", "strength against what is owed")
"""Checks whose outcome other sentences tell."""
MOST_NAMED = 4
_FACES = {"show": "show face", "underside": "underside"}


def verdict_of(bends: Sequence[Entry]) -> str | None:
    """Whether it bends or snaps where it is pulled hardest for its strength: "bends", "snaps" or "not sure".

    None if no place was looked at.
    """
    if not bends:
        return None
    verdict: str = _hardest(bends)["verdict"]
    return "snaps" if verdict == "no steel" else verdict


def cracks_words(bends: Sequence[Entry], placing: float, units: Units) -> str:
    """What happens if it cracks, where it is pulled hardest, and where else it would snap; "" without any place."""
    if not bends:
        return ""
    first = _hardest(bends)
    off = f"the wire may sit {level_words(placing, units)} off"
    place = f"{first['stage']}, {_FACES[first['face']]}, {first['place']}"
    low, high = (f"{value:.2g}" for value in (first["low"] or 0.0, first["high"] or 0.0))
    share = low if low == high else f"{low} to {high}"
    holds = f"({place}: the steel holds {share} of what the crack lets go)"
    words = {
        "bends": f"If it cracks: it bends, though {off} {holds}.",
        "snaps": f"If it cracks: it snaps, wherever the wire sits {holds}.",
        "not sure": f"If it cracks: not sure, {off} {holds}.",
        "no steel": f"If it cracks: it snaps ({place}: no steel runs across the crack there).",
    }[first["verdict"]]
    others = [one for one in bends if one is not first and one["verdict"] in ("snaps", "no steel")]
    if not others or first["verdict"] in ("snaps", "no steel"):
        return words
    named = list(dict.fromkeys(f"{one['stage']} ({_FACES[one['face']]})" for one in others))
    more = f" and {number_words(len(named) - MOST_NAMED)} more" if len(named) > MOST_NAMED else ""
    return f"{words} Where it is pulled less it would snap: {', '.join(named[:MOST_NAMED])}{more}."


def _hardest(bends: Sequence[Entry]) -> Entry:
    return max(bends, key=lambda one: one["use_of_cracking"] or 0.0)


def steel_sentences(entry: Entry, units: Units) -> Iterator[str]:
    """The sentences of the verdict: what happens if it cracks, and the plan or the layout in one line each."""
    if entry["if_it_cracks_words"]:
        yield entry["if_it_cracks_words"]
    if entry["plan"] is not None:
        yield plan_words(entry, units)
    if entry["judged"] is not None:
        yield judged_words(entry, units)
    yield LOWERS_NO_COLOUR


def plan_words(entry: Entry, units: Units) -> str:
    """The plan in a sentence or three: how much of what, what it carries, what binds, and the mat beside it."""
    plan, name = entry["plan"], entry["steel"]["name"]
    if plan["failures"]:
        return f"No plan of {name} carries what is owed: {'; '.join(plan['failures'])}."
    count = len(plan["runs"])
    if not count:
        return "No steel is owed, and none is planned."
    runs = "one run" if count == 1 else f"{number_words(count)} runs"
    words = f"Steel: {runs} of {name}, {long_words(plan['length_m'], units)} in all"
    words += f", {mass_words(plan['mass_kg'] * GRAVITY, units)}" if plan["mass_kg"] else ""
    owed = any(entry["demand"][face] for face in _FACES)
    words += (
        f"; {_carries(plan)}{_by_all(plan)}."
        if owed
        else "; nothing is owed by the loads: they keep its rails and ends together."
    )
    return f"{words} {_beside_mat(plan, units)}".rstrip()


def judged_words(entry: Entry, units: Units) -> str:
    """The given layout in a sentence or two: what it carries, what is idle, its length against the plan's."""
    judged = entry["judged"]
    count = len(judged["given"])
    words = (
        f"The given layout ({number_words(count)} runs, {long_words(judged['length_m'], units)}) {_carries(judged)}"
        f"{_where_carried(judged)}."
    )
    idle = [one["mark"] for one in judged["worth"] if one["idle"] > 0.999]
    if idle:
        words += f" {number_words(len(idle)).capitalize()} of them {'does' if len(idle) == 1 else 'do'} nothing."
    if judged["cut_by_opening"]:
        cut = len(judged["cut_by_opening"])
        words += f" An opening cuts {number_words(cut)}."
    if judged["pulls_out"]:
        out = len(judged["pulls_out"])
        corners = "one inner corner" if out == 1 else f"{number_words(out)} inner corners"
        words += f" Bent round {corners}, it pulls out there."
    if judged["plan_length_m"]:
        words += f" The plan has {long_words(judged['plan_length_m'], units)}."
    return words


def steel_lines(entry: Entry, units: Units) -> list[str]:
    """What a terminal lists of the steel: what binds, the code's cover, the cut list, what fails, notes."""
    lines: list[str] = []
    plan, judged = entry["plan"], entry["judged"]
    if plan is not None and plan["failures"]:
        lines += list(_remedies(plan, units))
    elif plan is not None:
        lines += [f"The plan binds {_where(plan['binds'])}."] if plan["binds"] else []
        lines += [*_diagonals(plan, units), *_cuts(plan, units)]
        lines += _sentences(plan["notes"])
    if judged is not None:
        lines += [f"The given layout is weakest {_where(judged['binds'])}."] if judged["binds"] else []
        lines += list(_worth(judged, units))
        lines += _sentences(judged["notes"])
    lines.append(_code_cover(entry, units))
    failed = [check for check in entry["checks"] if not check["ok"] and check["name"] not in _TOLD]
    lines += [f"{_first(check['name'])}{_of(check['place'])}: {check['note']} ({check['clause']})." for check in failed]
    lines += _sentences(entry["notes"])
    return [line for line in dict.fromkeys(lines) if line]


def long_words(metre: float, units: Units) -> str:
    """A length laid in all: whole feet, or metres to 0.1.

    >>> long_words(25.6, "us"), long_words(25.6, "si")
    ('84 ft', '25.6 m')
    """
    return f"{math.ceil(metre / 0.3048 - 1e-6)} ft" if units == "us" else f"{math.ceil(metre * 10 - 1e-6) / 10:g} m"


def _carries(carried: Entry) -> str:
    factor = carried["load_factor"]
    if factor is None:
        return "carries all that is owed"
    if factor == 0:
        return "carries nothing of what is owed"
    # Rounded down: what is said to be carried is carried.
    return f"carries {math.floor(factor * 100 + 1e-6) / 100:g} times what is owed"


def _by_all(plan: Entry) -> str:
    """What it carries if steel near the other face is counted too, where the plan does not rely on that."""
    factor, of_all = plan["load_factor"], plan["load_factor_of_all"]
    if factor is None or of_all is None or of_all < factor + 0.02:
        return ""
    return (
        f" by the steel near each face alone, {math.floor(of_all * 100 + 1e-6) / 100:g} with that near the other face"
    )


def _where_carried(judged: Entry) -> str:
    """On which part of each face it is enough, where it is not everywhere."""
    factor, shares = judged["load_factor"], judged["carried_share"]
    if factor is None or factor >= 1 or not shares:
        return ""
    told = " and ".join(f"{100 * share:.0f}% of the {_FACES[face]}" for face, share in shares.items())
    return f" where it is weakest, and is enough on {told} as far as steel is owed there"


def _beside_mat(plan: Entry, units: Units) -> str:
    mat = plan["mat"]
    if mat is None:
        return "No even mat of it carries what is owed."
    told = f"The best even mat of it has {long_words(mat['length_m'], units)}"
    if plan["saving"] is None or abs(plan["saving"]) < 0.005:
        return f"{told}, as much."
    more = "less" if plan["saving"] > 0 else "more"
    return f"{told}: the plan has {abs(plan['saving']):.0%} {more}."


def _where(binds: Entry) -> str:
    angle = f", pulled at {binds['angle_deg']:.0f} degrees" if binds["angle_deg"] is not None else ""
    stage = f", by '{binds['stage']}'" if binds["stage"] else ""
    return f"on the {_FACES[binds['face']]}, {binds['place']}{angle}{stage}"


def _cuts(plan: Entry, units: Units) -> Iterator[str]:
    if not plan["cuts"]:
        return
    pieces = [f"{cut['count']} x {length_words(cut['length_m'], units)}" for cut in plan["cuts"][:MOST_LISTED]]
    more = len(plan["cuts"]) - MOST_LISTED
    told = ", ".join(pieces) + (f", and {more} lengths more" if more > 0 else "")
    waste = (
        ""
        if plan["waste"] is None or not plan["stock_pieces"]
        else (f"; from {plan['stock_pieces']} stock pieces, {plan['waste']:.0%} waste")
    )
    yield f"Cut {told}{waste}."


def _worth(judged: Entry, units: Units) -> Iterator[str]:
    """One line for every run that does nothing or is cut, and one for those that work."""
    for one in judged["worth"]:
        if one["idle"] > 0.005 or one["mark"] in judged["cut_by_opening"]:
            share = "does nothing" if one["idle"] > 0.999 else f"{one['idle']:.0%} of it does nothing"
            cut = ", cut by an opening" if one["mark"] in judged["cut_by_opening"] else ""
            why = f": {one['why']}" if one["why"] else ""
            yield f"{one['mark']} ({length_words(one['length_m'], units)}{cut}) {share}{why}."
    working = [one["mark"] for one in judged["worth"] if one["idle"] <= 0.005]
    if working:
        yield f"{number_words(len(working)).capitalize()} of {len(judged['worth'])} runs work over their whole length."


def _code_cover(entry: Entry, units: Units) -> str:
    covers, found = entry["code_covers"], entry["code_cover"]
    if entry["plan"] is None or entry["plan"]["failures"] or not entry["plan"]["runs"]:
        return ""
    told = (
        f"With the covers of {entry['code']} ({level_words(covers['show_m'], units)} show face, "
        f"{level_words(covers['underside_m'], units)} underside)"
    )
    if found is None:
        return f"{told} the same runs do not fit: {entry['why_no_code_cover']}."
    verb = _carries(found).replace("carries", "carry", 1)
    return f"{told} the same runs {verb}."


def _diagonals(plan: Entry, units: Units) -> Iterator[str]:
    """Why runs lie across the corners, or why none does."""
    without, least = plan["without_diagonals_m"], plan["with_diagonals_m"]
    if plan["diagonals"]:
        told = "no plan carries what is owed" if without is None else f"the best plan has {long_words(without, units)}"
        yield f"Without runs across its corners {told}."
    elif plan["diagonals"] is False:
        found = plan["found_with_diagonals_m"]
        if found is None:
            yield "No run lies across a corner: with some no plan carries what is owed."
            return
        bound = "" if least is None else f", and none has less than {long_words(least, units)}"
        yield f"No run lies across a corner: with some the best plan found has {long_words(found, units)}{bound}."


def _remedies(plan: Entry, units: Units) -> Iterator[str]:
    """What would do where no plan fits."""
    for one in plan["remedies"]:
        carries = f"(all runs together then carry {math.floor(one['factor'] * 100) / 100:g} times what is owed)"
        if one["what"] == "cover":
            yield f"What would do: covers {one['value']:.0%} of what they are {carries}."
        else:
            what = {"thickness": "a slab", "diameter": "wire", "spacing": "runs"}[one["what"]]
            more = {"thickness": " thick", "diameter": " thick", "spacing": " apart"}[one["what"]]
            yield f"What would do: {what} {length_words(one['value'], units)}{more} {carries}."


def _sentences(notes: Sequence[str]) -> list[str]:
    return [f"{_first(note).rstrip('.')}." for note in notes]


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]


def _of(place: str) -> str:
    return f" ({place})" if place else ""
