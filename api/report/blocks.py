"""What a report is made of: headings, sentences, tables, checks, drawings, as plain data that the template lays out.

A text is a string, or a list of strings and of parts set otherwise: bold, grey, or as mathematics.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

__all__ = [
    "Block",
    "Part",
    "Text",
    "bold",
    "bullets",
    "column",
    "facts",
    "grey",
    "heading",
    "maths",
    "para",
    "picture",
    "small",
    "table",
]

Block = dict[str, Any]
Part = str | Mapping[str, Any]
Text = Part | Sequence[Part]


def bold(text: Text) -> Part:
    """A part in bold letters."""
    return {"bold": text}


def grey(text: Text) -> Part:
    """A part that steps back."""
    return {"grey": text}


def maths(source: str) -> Part:
    """A part of mathematics, as api.report.typeset makes it."""
    return {"math": source}


def heading(text: str, level: int = 1) -> Block:
    """A numbered heading of a section (1) or a part of one (2)."""
    return {"kind": "heading", "level": level, "text": text}


def para(text: Text) -> Block:
    """A paragraph."""
    return {"kind": "para", "text": text}


def small(text: Text) -> Block:
    """A remark in small grey letters."""
    return {"kind": "small", "text": text}


def bullets(items: Iterable[Text]) -> Block:
    """A list."""
    return {"kind": "list", "items": list(items)}


def facts(rows: Iterable[tuple[Text, Text]]) -> Block:
    """Names and their values, a line each."""
    return {"kind": "facts", "rows": [{"label": label, "value": value} for label, value in rows]}


def column(head: Text, share: float = 0.0, right: bool = False) -> Block:
    """A column of a table; share of the room that is left, 0: as wide as what is in it; right: numbers."""
    return {"head": head, "share": share, "right": right}


def table(columns: Sequence[Block], rows: Iterable[Sequence[Text]]) -> Block:
    """A table; its head comes again on every page."""
    return {"kind": "table", "columns": list(columns), "rows": [[{"cell": cell} for cell in row] for row in rows]}


def picture(file: str, caption: str) -> Block:
    """A picture from a file beside the template."""
    return {"kind": "picture", "file": file, "caption": caption}
