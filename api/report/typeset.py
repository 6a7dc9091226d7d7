"""Formulas set for print: a tree of symbols becomes typst's mathematics, with symbols or with numbers in their places.

Whatever a name holds beyond its first letter is put between quotes: nothing in it can be taken for a command.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import groupby

from api.report.formula import FUNCTIONS, Call, Name, Node, Number, Pair, Relation, Signed
from api.report.reading import read_formula

__all__ = ["is_word", "quoted", "set_number", "set_relation", "set_symbol", "set_text"]

_GREEK = {
    name: name
    for name in (
        "alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta", "theta", "kappa", "lambda", "mu", "nu", "xi", "pi",
        "rho", "sigma", "tau", "phi", "chi", "psi", "omega", "Delta", "Sigma", "Phi", "Omega", "Gamma",
    )
} | {"eps": "epsilon", "lam": "lambda"}  # fmt: skip
"""Greek letters by the names that formulas and typst have for them."""
_LETTER = re.compile(rf"({'|'.join(sorted(_GREEK, key=len, reverse=True))}|[A-Za-z])('?)_?(.*)")
_SHORT_WORDS = frozenset(
    "all an and arm as bar at by for gap if in is lap no not of on one or per run so the to two up".split()
)
_SIGNS = re.compile(r"[-+*/^(]")
_LEVEL = {"+": 1, "-": 1, "*": 2, "/": 3, "^": 4}
"""How close a sign binds."""
_RELATIONS = {"=": "=", "<=": "<=", ">=": ">=", "<": "<", ">": ">"}


def set_relation(relation: Relation, numbers: Mapping[str, str] | None = None) -> str:
    """The whole formula; numbers, if given, stand in the places of the symbols, ready to print."""
    text = _node(relation.parts[0], numbers)
    for sign, part in zip(relation.signs, relation.parts[1:], strict=True):
        text += f" {_RELATIONS[sign]} {_node(part, numbers)}"
    return text


def set_symbol(text: str) -> str:
    """A symbol or a few of them: "phi Mn", "f'c", "eps_cu".

    >>> print(set_symbol("phi Mn"), set_symbol("f'c"), set_symbol("As,min"))
    phi thin M_("n") f'_("c") A_("s,min")
    """
    pieces = text.split()
    wordy = any(map(is_word, pieces))
    if _SIGNS.search(text):
        relation = None if wordy else read_formula(text, (), tight=False)
        return set_text(text) if relation is None else set_relation(relation)
    parts = [
        set_text(" ".join(group)) if word else " thin ".join(map(_symbol, group))
        for word, group in groupby(pieces, lambda piece: is_word(piece) or (wordy and piece == "a"))
    ]
    return " space ".join(parts)


def set_text(text: str) -> str:
    """Words inside mathematics."""
    return f"upright({quoted(text)})"


def set_number(text: str) -> str:
    """A number as printed ("12 300", "4.1e-6", "-3.2"), its digits kept together.

    >>> print(set_number("4.1e-6"), set_number("-3.2"))
    "4.1" times 10^(-6) -"3.2"
    """
    mantissa, _, exponent = text.partition("e")
    sign = "-" if mantissa.startswith("-") else ""
    body = f"{sign}{quoted(mantissa.removeprefix('-'))}"
    return f"{body} times 10^({int(exponent)})" if exponent else body


def quoted(text: str) -> str:
    """The text as a string of typst's."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def is_word(text: str) -> bool:
    """Whether letters are a word of English and no symbol.

    >>> [text for text in ("of", "spacing", "ld", "fctm", "epsy", "sigma", "As", "beta1") if is_word(text)]
    ['of', 'spacing']
    """
    if text in _SHORT_WORDS:
        return True
    if not (text.isalpha() and text.islower() and len(text) >= 4 and text not in _GREEK):
        return False
    greek = any(text.startswith(name) and len(text) - len(name) <= 2 for name in _GREEK if len(name) > 2)
    return bool(set(text[1:]) & set("aeiouy")) and not greek


def _symbol(word: str) -> str:
    found = _LETTER.fullmatch(word)
    if found is None or is_word(word):
        return set_text(word)
    base, prime, below = found.groups()
    letter = _GREEK.get(base) or base
    below = below.lstrip("_")
    return f"{letter}{prime}" + (f"_({_GREEK.get(below) or quoted(below)})" if below else "")


def _node(node: Node, numbers: Mapping[str, str] | None) -> str:
    match node:
        case Number(text=text, unit=unit):
            return set_number(text) + (f" thin {set_text(unit)}" if unit else "")
        case Name(text=text):
            if numbers is not None and text in numbers:
                return set_number(numbers[text])
            return set_symbol(text)
        case Signed(inner=inner):
            return f"-{_within(inner, 3, numbers)}"
        case Call(name=name, arguments=arguments):
            return _call(name, [_node(one, numbers) for one in arguments])
        case Pair(sign="*" | "/"):
            return _product(node, numbers)
        case Pair(sign="^", left=left, right=right):
            return f"{_within(left, 5, numbers)}^({_node(right, numbers)})"
        case Pair(sign=sign, left=left, right=right):
            return f"{_node(left, numbers)} {sign} {_within(right, 1 + (sign == '-'), numbers)}"


def _product(node: Node, numbers: Mapping[str, str] | None) -> str:
    """Factors side by side; a stroke divides the factors since the stroke before it, however many there are."""
    first, rest = _chain(node)
    done: list[str] = []
    open_factors = [first]
    for sign, factor in rest:
        if sign == "*":
            open_factors.append(factor)
            continue
        above = _side_by_side(open_factors, numbers) if open_factors else done.pop()
        if len(open_factors) == 1:
            above = _node(open_factors[0], numbers)
        done.append(f"frac({above}, {_node(factor, numbers)})")
        open_factors = []
    if open_factors:
        done.append(_side_by_side(open_factors, numbers))
    return (" thin " if numbers is None else " times ").join(done)


def _chain(node: Node) -> tuple[Node, list[tuple[str, Node]]]:
    rest: list[tuple[str, Node]] = []
    while isinstance(node, Pair) and node.sign in ("*", "/"):
        rest.insert(0, (node.sign, node.right))
        node = node.left
    return node, rest


def _side_by_side(factors: list[Node], numbers: Mapping[str, str] | None) -> str:
    """Factors with a space between them, or a cross where numbers would run together."""
    text = _within(factors[0], 2, numbers)
    for factor in factors[1:]:
        cross = numbers is not None or _starts_with_digit(factor)
        text += f" {'times' if cross else 'thin'} {_within(factor, 2, numbers)}"
    return text


def _within(node: Node, level: int, numbers: Mapping[str, str] | None) -> str:
    """The node, in brackets if what is around it binds closer."""
    text = _node(node, numbers)
    if isinstance(node, Name) and numbers is None and re.search(r" [-+] ", node.text):
        return f"({text})" if level > 1 else text
    own = {Pair: _LEVEL.get(getattr(node, "sign", ""), 9), Signed: 1}.get(type(node), 9)
    shown = isinstance(node, Name) and numbers is not None and node.text in numbers
    if shown and level > 1 and (numbers or {})[getattr(node, "text", "")].startswith("-"):
        own = 1
    if shown and level >= 5 and "e" in (numbers or {})[getattr(node, "text", "")]:
        own = 1
    return f"({text})" if own < level else text


def _call(name: str, arguments: list[str]) -> str:
    inside = ", ".join(arguments)
    if name == "sqrt":
        return f"sqrt({inside})"
    if name == "cbrt":
        return f"root(3, {inside})"
    if name == "abs":
        return f"abs({inside})"
    if name in FUNCTIONS:
        return f"op({quoted(name)})({inside})"
    return f"{set_symbol(name)} ({inside})"


def _starts_with_digit(node: Node) -> bool:
    return isinstance(node, Number) or (isinstance(node, Pair) and node.sign in "*^" and _starts_with_digit(node.left))
