"""A check's formula, line by line, and the same with numbers in it, each worked out before it is printed.

A line's numbers must come to what the check gives for its left side: in the case's own units, or, where a code's
constant goes with others, in that code's. A bound told in words behind a formula ("not less than 12 in") may move the
result; the line then shows what the formula alone comes to, if that is the same in both systems. Any other line shows
no numbers: what goes into it stands in a list.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from api.figures import Units
from api.report.amounts import UNIT_OF, amount, amount_words, digits_words, unit_values
from api.report.formula import Call, Name, Node, Pair, Relation, Signed, worked_out
from api.report.reading import read_formula
from api.report.typeset import is_word, set_relation, set_symbol, set_text
from fem.steel.model import Check, Quantity

__all__ = ["IMPLIED", "Line", "formula_lines"]

CLOSE = 0.005
"""How far the numbers may be off the result: they are printed to four figures."""
OTHER: dict[Units, Units] = {"us": "si", "si": "us"}
OF_FORMULA = " of the formula"
"""What a quantity is called that the formula alone gives, before its bounds."""
IMPLIED = {"lambda": 1.0}
"""What a check may leave out: concrete of normal weight."""
_Part = tuple[str, Relation | None, str]
"""Words, what was read behind them, and words again."""
_PARTS = re.compile(r"\s*(?:;\s|,\s+(?=(?:[^(),;]|,(?=\S))*\s==?\s))\s*")


@dataclass(frozen=True, slots=True)
class Line:
    """One line: words, formula as mathematics ("" if there is none), words; numbers in the units they go with.

    numbers end in what they come to, with its unit; implied: symbols with values that the check left out.
    """

    formula: str
    words: str
    numbers: str = ""
    units: Units = "us"
    implied: tuple[str, ...] = ()
    before: str = ""


def formula_lines(check: Check, units: Units) -> list[Line]:
    """The lines of a check's formula ready to print."""
    known = {quantity.symbol: quantity for quantity in check.given}
    known |= {check.result.symbol: check.result}
    if check.limit is not None:
        known.setdefault(check.limit.symbol, check.limit)
    for symbol, quantity in list(known.items()):
        known.setdefault(symbol.removesuffix(OF_FORMULA).partition(" = ")[0], quantity)
    symbols = list(known)
    parts = [part for part in _PARTS.split(check.formula) if part]
    first: list[Line] = []
    for tight in (False, True):
        read = [_cut(part, symbols, tight) for part in parts]
        plain = [Line("" if one is None else set_relation(one), words, before=before) for before, one, words in read]
        first = first or plain
        for system in _systems([one for _, one, _ in read if one], check, known, units):
            lines = _with_numbers(read, plain, known, system)
            if lines is not None:
                return lines
    return first


def _with_numbers(
    read: Sequence[_Part], plain: Sequence[Line], known: Mapping[str, Quantity], units: Units
) -> list[Line] | None:
    """The lines with the numbers of one system, those that come to what they should; None if none does."""
    bounded = any(one is None or words for _, one, words in read)
    steps = _steps([one for _, one, _ in read if one], known, units)
    lines, told = [], False
    for (_, relation, _), line in zip(read, plain, strict=True):
        numbers = None if relation is None else _numbers(relation, known, steps, units, bounded)
        if relation is None or numbers is None:
            lines.append(line)
            continue
        left = relation.parts[0]
        step = isinstance(left, Name) and left.text in steps
        told = told or not step
        lines.append(replace(line, numbers=numbers, units=units, implied=_implied(relation, known)))
    return lines if told else None


def _steps(relations: Sequence[Relation], known: Mapping[str, Quantity], units: Units) -> dict[str, float]:
    """Values of what a formula works out on the way and the check does not give."""
    found: dict[str, float] = {}
    for _ in relations:
        for relation in relations:
            left = relation.parts[0]
            if isinstance(left, Name) and left.text not in known and relation.signs == ("=",):
                value = worked_out(relation.parts[1], {**_values(known, units), **found}, unit_values(units))
                if value is not None:
                    found[left.text] = value
    return found


def _cut(part: str, symbols: Sequence[str], tight: bool) -> _Part:
    """The formula without words in it, as long as can be, and the words before and behind it."""
    rest = part.split(" ")
    for k in range(len(rest)):
        found, behind = _beginning(" ".join(rest[k:]), symbols, tight)
        if found is not None:
            return " ".join(rest[:k]), found, behind
        if not is_word(rest[k]):
            break
    return "", None, _prose(part)


def _beginning(part: str, symbols: Sequence[str], tight: bool) -> tuple[Relation | None, str]:
    """The longest beginning that is a formula without words in it, and the words behind it."""
    ends = [match.start() for match in re.finditer(r",?\s|$", part)]
    for end in reversed(ends):
        relation = read_formula(part[:end], symbols, tight)
        whole = end == len(part)
        if relation is not None and (relation.signs or whole) and not any(map(_has_word, relation.parts)):
            return relation, _prose(part[end:].strip())
    return None, ""


def _prose(text: str) -> str:
    return text.replace("<=", "\u2264").replace(">=", "\u2265")


def _has_word(node: Node) -> bool:
    if isinstance(node, Name):
        return not node.known and is_word(node.text)
    return any(_has_word(one) for one in _inner(node))


def _systems(
    relations: Sequence[Relation], check: Check, known: Mapping[str, Quantity], units: Units
) -> tuple[Units, ...]:
    """The systems to try; only the code's own if a greatest or least of several hides terms that fit one alone."""
    sides = [side for relation in relations for side in relation.parts]
    choices = [node for side in sides for node in _calls(side) if node.name in ("min", "max")]
    if all(_fits_both(argument, known) for node in choices for argument in node.arguments):
        return units, OTHER[units]
    return ("us",) if check.clause.startswith("ACI") else ("si",)


def _fits_both(node: Node, known: Mapping[str, Quantity], measure: str = "") -> bool:
    """Whether a term is worth the same in both systems, as a quantity of the measure, or of any."""
    us, si = (worked_out(node, _values(known, system), unit_values(system)) for system in ("us", "si"))
    if us is None or si is None:
        return not measure
    measures = [measure] if measure else list(UNIT_OF["us"])
    sizes = {UNIT_OF["us"][one].size / UNIT_OF["si"][one].size for one in measures}
    return any(abs(us * size - si) <= 1e-6 * abs(si) for size in sizes)


def _values(known: Mapping[str, Quantity], units: Units) -> dict[str, float]:
    return IMPLIED | {symbol: amount(quantity, units) for symbol, quantity in known.items()}


def _numbers(
    relation: Relation, known: Mapping[str, Quantity], steps: Mapping[str, float], units: Units, bounded: bool
) -> str | None:
    """The last side of an equation with numbers in it and what it comes to; None if that cannot be shown."""
    left = relation.parts[0]
    if not relation.signs or any(sign != "=" for sign in relation.signs) or not isinstance(left, Name):
        return None
    wanted = [known[name] for name in (left.text + OF_FORMULA, left.text) if name in known]
    values = {**_values(known, units), **steps}
    values.pop(left.text, None)
    for side in reversed(relation.parts[1:]):
        value = worked_out(side, values, unit_values(units)) if _has_symbol(side) else None
        if value is None:
            continue
        met = any(abs(value - amount(one, units)) <= CLOSE * abs(amount(one, units)) for one in wanted)
        if met or (wanted and bounded and _fits_both(side, known, wanted[0].measure)):
            unit = UNIT_OF[units][wanted[0].measure]
            worth = amount_words(Quantity("", value * unit.size, wanted[0].measure), units)
        elif left.text in steps:
            worth = digits_words(value)
        else:
            continue
        numbers = set_relation(
            Relation((side,), ()), {symbol: digits_words(number) for symbol, number in values.items()}
        )
        return f"{set_symbol(left.text)} = {numbers} = {set_text(worth)}"
    return None


def _implied(relation: Relation, known: Mapping[str, Quantity]) -> tuple[str, ...]:
    used = {node.text for side in relation.parts for node in _names(side)}
    return tuple(name for name in IMPLIED if name in used and name not in known)


def _has_symbol(node: Node) -> bool:
    return any(True for _ in _names(node))


def _names(node: Node) -> Iterator[Name]:
    if isinstance(node, Name):
        yield node
    for one in _inner(node):
        yield from _names(one)


def _calls(node: Node) -> Iterator[Call]:
    if isinstance(node, Call):
        yield node
    for one in _inner(node):
        yield from _calls(one)


def _inner(node: Node) -> tuple[Node, ...]:
    match node:
        case Signed(inner=inner):
            return (inner,)
        case Pair(left=left, right=right):
            return left, right
        case Call(arguments=arguments):
            return arguments
    return ()
