"""Formulas as a book prints them, read: "a = As fy / (0.85 f'c b)" becomes a tree.

A factor may follow another without a sign. Books disagree on what a stroke divides by, "a / b c": both readings are
made, and the one whose numbers come out right is the one that was meant (api/report/substituting.py).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from api.report.formula import FUNCTIONS, Call, Name, Node, Number, Pair, Relation, Signed

__all__ = ["UNIT_WORDS", "read_formula"]

UNIT_WORDS = ("in", "ft", "mm", "m", "psi", "ksi", "MPa", "GPa", "lbf", "kN", "N")
"""Units that may stand right behind a number."""
_RELATIONS = {"=": "=", "==": "=", "<=": "<=", ">=": ">=", "≤": "<=", "≥": ">=", "<": "<", ">": ">"}
_PLAIN = str.maketrans({"·": "*", "\u00d7": "*", "\u2212": "-", "²": "^2", "³": "^3"})
_NUMBER = re.compile(r"\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?")
_NAME = re.compile(r"[^\W\d_]\w*'?\w*", re.UNICODE)
_SIGN = re.compile(r"==|<=|>=|\*\*|[-+*/^()=<>≤≥,]")

_Token = tuple[str, str]
"""What it is (number, unit, name, known, function, sign) and its text."""


class _UnreadableError(ValueError):
    """What was given is no formula."""


def read_formula(text: str, symbols: Sequence[str], tight: bool) -> Relation | None:
    """The formula's tree; None for what is no formula. symbols are known, whatever they are made of.

    tight: factors without a sign between them belong together, so that "a / b c" is a / (b c).
    """
    try:
        return _Reader(_tokens(text, symbols), tight).relation()
    except _UnreadableError:
        return None


def _tokens(text: str, symbols: Sequence[str]) -> list[_Token]:
    known = sorted({symbol for symbol in symbols if symbol}, key=len, reverse=True)
    found: list[_Token] = []
    at = 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        token = _symbol_at(text, at, known) or _plain_at(text, at, found)
        found.append(token[0])
        at = token[1]
    return found


def _symbol_at(text: str, at: int, known: Sequence[str]) -> tuple[_Token, int] | None:
    """A known symbol that starts here and is not the beginning of a longer name."""
    for symbol in known:
        end = at + len(symbol)
        after = text[end : end + 1]
        if text.startswith(symbol, at) and (_ends(after) or (_raised(text, end) and symbol[-1].isalpha())):
            return ("known", symbol), end
    return None


def _ends(after: str) -> bool:
    return not (after and (after.isalnum() or after in "_'"))


def _raised(text: str, at: int) -> bool:
    """Whether a 2 or a 3 right behind a symbol or a bracket stands for a power, as in "dc2 + (s/2)2"."""
    return text[at : at + 1] in ("2", "3") and _ends(text[at + 1 : at + 2])


def _plain_at(text: str, at: int, before: Sequence[_Token]) -> tuple[_Token, int]:
    if (
        before
        and _raised(text, at)
        and not text[at - 1].isspace()
        and (before[-1][0] == "known" or before[-1] == ("sign", ")"))
    ):
        return ("power", text[at]), at + 1
    if match := _NUMBER.match(text, at):
        return ("number", match[0]), match.end()
    if (sign := text[at].translate(_PLAIN)) != text[at] and sign[0] in "*-^":
        # A raised digit is two tokens; the digit is read on its own right after.
        return (("power", sign[1:]), at + 1) if sign[0] == "^" else (("sign", sign), at + 1)
    if text[at] == "√":
        return ("function", "sqrt"), at + 1
    if match := _SIGN.match(text, at):
        return ("sign", {"**": "^"}.get(match[0], match[0])), match.end()
    if match := _NAME.match(text, at):
        word = match[0]
        if word in UNIT_WORDS and before and before[-1][0] == "number":
            return ("unit", word), match.end()
        rest = text[match.end() :]
        called = rest.startswith("(") or (word in FUNCTIONS and rest.lstrip().startswith("("))
        return ("function" if called else "name", word), match.end()
    raise _UnreadableError(text[at])


class _Reader:
    """Reads tokens by descent: relations of sums of products of powers."""

    def __init__(self, tokens: Sequence[_Token], tight: bool) -> None:
        self._tokens, self._tight, self._at = tokens, tight, 0

    def relation(self) -> Relation:
        parts, signs = [self._sum()], []
        while self._peek()[0] == "sign" and self._peek()[1] in _RELATIONS:
            signs.append(_RELATIONS[self._next()[1]])
            parts.append(self._sum())
        if self._at < len(self._tokens):
            raise _UnreadableError(self._peek()[1])
        return Relation(tuple(parts), tuple(signs))

    def _peek(self) -> _Token:
        return self._tokens[self._at] if self._at < len(self._tokens) else ("end", "")

    def _next(self) -> _Token:
        token = self._peek()
        self._at += 1
        return token

    def _sum(self) -> Node:
        node = self._product()
        while self._peek() in (("sign", "+"), ("sign", "-")):
            sign = self._next()[1]
            node = Pair(sign, node, self._product())
        return node

    def _product(self) -> Node:
        node = self._run() if self._tight else self._factor()
        while True:
            if self._peek() in (("sign", "*"), ("sign", "/")):
                sign = self._next()[1]
                node = Pair(sign, node, self._run() if self._tight else self._factor())
            elif self._begins():
                node = Pair("*", node, self._factor())
            else:
                return node

    def _run(self) -> Node:
        """Factors without a sign between them."""
        node = self._factor()
        while self._begins():
            node = Pair("*", node, self._factor())
        return node

    def _begins(self) -> bool:
        kind, text = self._peek()
        return kind in ("number", "name", "known", "function") or (kind, text) == ("sign", "(")

    def _factor(self) -> Node:
        if self._peek() == ("sign", "-"):
            self._next()
            return Signed(self._factor())
        node = self._atom()
        while True:
            if self._peek()[0] == "power":
                node = Pair("^", node, Number(self._next()[1]))
            elif self._peek() == ("sign", "^"):
                self._next()
                node = Pair("^", node, self._factor())
            else:
                return node

    def _atom(self) -> Node:
        kind, text = self._next()
        if kind == "number":
            return Number(text, self._next()[1] if self._peek()[0] == "unit" else "")
        if kind in ("name", "known"):
            return Name(text, kind == "known")
        if kind == "function":
            if self._peek() != ("sign", "("):
                return Call(text, (self._atom(),))
            self._next()
            return Call(text, self._arguments())
        if (kind, text) == ("sign", "("):
            node = self._sum()
            self._close()
            return node
        raise _UnreadableError(text)

    def _arguments(self) -> tuple[Node, ...]:
        found = [self._sum()]
        while self._peek() == ("sign", ","):
            self._next()
            found.append(self._sum())
        self._close()
        return tuple(found)

    def _close(self) -> None:
        if self._next() != ("sign", ")"):
            raise _UnreadableError(")")
