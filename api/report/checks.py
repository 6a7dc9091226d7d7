"""The checks of a calculation, one by one: formula, clause, numbers, result, what is asked, and whether it is met."""

from __future__ import annotations

import math
from collections.abc import Sequence

from api.figures import Units
from api.report.amounts import amount_words, beside_words, digits_words, error_words
from api.report.blocks import Block, Part, Text, bold, grey, maths
from api.report.substituting import IMPLIED, Line, formula_lines
from api.report.typeset import set_symbol, set_text
from fem.steel.model import Check, Quantity

__all__ = ["check_block", "quantity_words", "state_of"]

_UNITS_OF: dict[Units, str] = {"us": "in, lbf, psi", "si": "mm, N, MPa"}
_ASKED = {"<=": "at most", ">=": "at least", "==": "equal to"}


def check_block(check: Check, units: Units) -> Block:
    """A check as the template lays it out."""
    lines = formula_lines(check, units)
    implied = sorted({name for line in lines for name in line.implied})
    foreign = next((line.units for line in lines if line.numbers and line.units != units), None)
    given = [_given(one, units, foreign) for one in check.given]
    given += [[maths(set_symbol(name)), f" = {digits_words(IMPLIED[name])}"] for name in implied]
    return {
        "kind": "check",
        "name": check.name,
        "place": check.place,
        "clause": check.clause,
        "lines": [
            {
                "before": line.before,
                "formula": line.formula,
                "words": line.words,
                "numbers": line.numbers,
                "units": f"in {_UNITS_OF[line.units]}" if line.units != units else "",
            }
            for line in lines
        ],
        "result": [] if _told(check, lines, units) else _result(check, units),
        "given": given,
        "state": state_of(check),
        "note": check.note,
    }


def _told(check: Check, lines: Sequence[Line], units: Units) -> bool:
    """Whether the last line already ends in the result, which is asked nothing of."""
    if check.relation is not None or not check.ok or beside_words(check.result, units) or check.result.error:
        return False
    return bool(lines) and lines[-1].numbers.endswith(f"= {set_text(amount_words(check.result, units))}")


def state_of(check: Check) -> str:
    """pass, fail, or value for a step that is asked nothing of."""
    if not check.ok:
        return "fail"
    return "value" if check.relation is None else "pass"


def quantity_words(quantity: Quantity, units: Units) -> str:
    """A quantity with its error bar, its unit, and in brackets what people know it by."""
    words = amount_words(quantity, units)
    if bar := error_words(quantity, units):
        number, _, unit = words.partition("\u00a0")
        words = f"{number} {bar}\u00a0{unit}" if unit else f"{number} {bar}"
    beside = beside_words(quantity, units)
    return f"{words} ({beside})" if beside else words


def _given(quantity: Quantity, units: Units, foreign: Units | None) -> Text:
    """A quantity that goes in; foreign: units that the formula is worked out in, if not the report's."""
    words = quantity_words(quantity, units)
    if foreign is not None and quantity.measure not in ("number", "angle"):
        words = f"{amount_words(quantity, units)} ({amount_words(quantity, foreign)})"
    return [maths(set_symbol(quantity.symbol)), " = ", words]


def _result(check: Check, units: Units) -> Text:
    if not math.isfinite(check.result.value):
        return [bold("no finite value")]
    parts: list[Part] = [maths(set_symbol(check.result.symbol)), " = ", bold(quantity_words(check.result, units))]
    if check.relation is not None and check.limit is not None:
        parts += [grey(f"    {_ASKED[check.relation]}    ")]
        if check.limit.symbol and not _is_number(check.limit.symbol):
            parts += [maths(set_symbol(check.limit.symbol)), " = "]
        parts.append(quantity_words(check.limit, units))
    return parts


def _is_number(text: str) -> bool:
    """Whether the symbol of a limit is but its own number."""
    return text.replace(".", "", 1).isdigit()
