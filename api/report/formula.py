"""A formula as a tree: numbers, symbols, sums, products, powers, functions; and what it is worth."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

__all__ = ["FUNCTIONS", "Call", "Name", "Node", "Number", "Pair", "Relation", "Signed", "worked_out"]


@dataclass(frozen=True, slots=True)
class Number:
    """A number as it was written, and the unit behind it, if there was one."""

    text: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Name:
    """A symbol; known: one of those that the formula was read with."""

    text: str
    known: bool


@dataclass(frozen=True, slots=True)
class Signed:
    """Minus something."""

    inner: Node


@dataclass(frozen=True, slots=True)
class Pair:
    """Two terms or factors and what stands between them: + - * / or ^."""

    sign: str
    left: Node
    right: Node


@dataclass(frozen=True, slots=True)
class Call:
    """A function of one or more arguments, also one that is not known: "m(t)"."""

    name: str
    arguments: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Relation:
    """Sides with signs between them: parts[0] signs[0] parts[1] ..."""

    parts: tuple[Node, ...]
    signs: tuple[str, ...]


Node = Number | Name | Signed | Pair | Call

FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "cbrt": lambda x: math.copysign(abs(x) ** (1 / 3), x),
    "min": min,
    "max": max,
    "abs": abs,
    "exp": math.exp,
    "ln": math.log,
    "sin": lambda degrees: math.sin(math.radians(degrees)),
    "cos": lambda degrees: math.cos(math.radians(degrees)),
    "tan": lambda degrees: math.tan(math.radians(degrees)),
}
"""Functions that are worked out; those of angles take degrees."""


def worked_out(node: Node, values: Mapping[str, float], units: Mapping[str, float]) -> float | None:
    """The node's value; None where a symbol has none, or where it has no finite value.

    values by symbol; units: what one of a unit behind a number is worth.
    """
    try:
        value = _value(node, values, units)
    except (KeyError, ValueError, ZeroDivisionError, OverflowError, TypeError):
        return None
    return float(value) if math.isfinite(value) else None


def _value(node: Node, values: Mapping[str, float], units: Mapping[str, float]) -> float:
    match node:
        case Number(text=text, unit=unit):
            return float(text) * (units[unit] if unit else 1.0)
        case Name(text="pi" | "π") if node.text not in values:
            return math.pi
        case Name(text=text):
            return values[text]
        case Signed(inner=inner):
            return -_value(inner, values, units)
        case Call(name=name, arguments=arguments):
            return FUNCTIONS[name](*(_value(one, values, units) for one in arguments))
        case Pair(sign=sign, left=left, right=right):
            a, b = _value(left, values, units), _value(right, values, units)
            power = a**b if sign == "^" and (a >= 0 or b == int(b)) else math.nan
            return {"+": a + b, "-": a - b, "*": a * b, "^": power}[sign] if sign != "/" else a / b
