"""What every sheet has: its frame, and the strip below with title, face, scale, paper, number and content hash."""

from __future__ import annotations

from collections.abc import Sequence

from api.sheet.board import BODY, HEADING, SMALL, TITLE, Board
from api.sheet.lengths import unit_mark
from api.sheet.lettering import width_of, wrapped
from api.sheet.matter import Matter

__all__ = ["draw_frame", "draw_heading"]


def draw_frame(board: Board, matter: Matter, name: str, scale: str, number: int, of: int) -> None:
    """The frame and its strip: what the piece is, what the sheet shows, and what makes it traceable."""
    left, low, right, high = board.paper.frame
    top = low + board.paper.strip
    board.box((left, low, right, high), "frame")
    board.line([(left, top), (right, top)], "frame")
    units = "inches" if unit_mark(matter.units) == "in" else "millimetres"
    cells: Sequence[tuple[str, str]] = (
        ("scale", scale),
        ("lengths in", units),
        ("paper", board.paper.printed),
        ("content", matter.hash[:12]),
        ("made by", matter.program),
        ("sheet", f"{number} of {of}"),
    )
    x = right
    for label, value in reversed(cells):
        width = max(width_of(value, BODY, bold=label == "sheet"), width_of(label, SMALL)) + 5.0
        x -= width
        board.line([(x, low), (x, top)], "rules")
        board.text(label, (x + 2.5, top - 5.0), SMALL, layer="faint words")
        board.text(value, (x + 2.5, low + 4.6), BODY, bold=label == "sheet")
    room = x - left - 6.0
    title = _fitting(matter.title, room, HEADING)
    board.text(title, (left + 3.0, top - 5.6), HEADING, bold=True)
    board.text(_fitting(name, room, BODY), (left + 3.0, low + 4.6), BODY)


def draw_heading(board: Board, title: str, lines: Sequence[str]) -> float:
    """The sheet's heading at the top left of its room, and lines of text below; how much height it took."""
    left, _, right, high = board.paper.room
    board.text(title, (left, high - TITLE), TITLE, bold=True)
    down = TITLE * 1.9
    for line in lines:
        down += board.paragraph(line, (left, high - down), right - left, BODY)
    return down


def _fitting(text: str, room: float, size: float) -> str:
    """The text, cut short with three dots if it is too long for one line."""
    if width_of(text, size, bold=True) <= room:
        return text
    lines = wrapped(text, room - width_of("...", size, bold=True), size, bold=True)
    return f"{lines[0]}..."
