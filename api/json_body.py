"""JSON from strangers: strict, bounded, and refused with a reason whatever it holds."""

from __future__ import annotations

import json
import math
from typing import Any, Never

__all__ = ["BodyError", "parse_body"]

LONGEST_INTEGER = 18


class BodyError(ValueError):
    """The bytes are no JSON object as we take it."""


def parse_body(body: bytes) -> dict[str, Any]:
    """The JSON object in the body; BodyError for anything else.

    Refused besides what is no JSON at all: a key given twice, NaN and Infinity, numbers beyond a double's range, text
    that is no Unicode, and nesting too deep to follow.
    """
    try:
        text = body.decode("utf-8-sig")
        data = json.loads(
            text, object_pairs_hook=_table, parse_constant=_no_number, parse_int=_integer, parse_float=_finite
        )
    except BodyError:
        raise
    except UnicodeDecodeError as error:
        raise BodyError(f"the body is not UTF-8 text: byte {error.start + 1} cannot be read") from None
    except json.JSONDecodeError as error:
        raise BodyError(f"the body is not JSON: {error}") from None
    except RecursionError:
        raise BodyError("the body is nested too deep") from None
    if not isinstance(data, dict):
        raise BodyError("the body is not a JSON object")
    if "\\ud" in text.lower():
        _no_half_characters(data)
    return data


def _table(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise BodyError(f"the key {_shown(twice)} is given twice in one object")
    return table


def _no_number(text: str) -> Never:
    raise BodyError(f"{text} is not a number in JSON")


def _integer(text: str) -> int | float:
    return int(text) if len(text) <= LONGEST_INTEGER else _finite(text)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise BodyError(f"the number {_shown(text)} is too large")
    return number


def _no_half_characters(data: dict[str, Any]) -> None:
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise BodyError("a text holds half a character (a lone surrogate)") from None


def _shown(text: str) -> str:
    return json.dumps(text if len(text) <= 40 else f"{text[:37]}...")
