"""Tables and paragraphs that flow through columns, and on to the next sheet where one is full."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from api.sheet.board import BODY, HEADING, LEADING, Align, Board
from api.sheet.lettering import width_of, wrapped

__all__ = ["Block", "Cell", "Flow", "Piece", "paragraphs", "table"]

AIR = 2.4
"""Between the columns of a table [mm]."""
Cell = str


@dataclass(frozen=True, slots=True)
class Piece:
    """A strip of a column: its height and what draws it, given the board, its left end and its top."""

    height: float
    draw: Callable[[Board, float, float], None]


@dataclass(frozen=True, slots=True)
class Block:
    """A heading, what is repeated below it in every column, and the strips below that."""

    heading: str
    head: tuple[Piece, ...]
    pieces: tuple[Piece, ...]


@dataclass
class Flow:
    """Columns side by side on sheets that are asked for as they are needed."""

    new_board: Callable[[], Board]
    width: float
    gap: float
    top: Callable[[Board], float]
    board: Board | None = None
    x: float = 0.0
    y: float = 0.0

    def put(self, block: Block) -> None:
        """Lay a block below the last one; what does not fit goes on in the next column, under the heading again."""
        head = (_heading(block.heading), *block.head)
        tall = sum(piece.height for piece in head)
        first = block.pieces[0].height if block.pieces else 0.0
        if self.board is None or self.y - tall - first < self._low():
            self._next_column()
        again = False
        for piece in block.pieces:
            board = self._board()
            if again is False or self.y - piece.height < self._low():
                if again:
                    self._next_column()
                    board = self._board()
                for strip in (_heading(block.heading + (", continued" if again else "")), *block.head):
                    strip.draw(board, self.x, self.y)
                    self.y -= strip.height
                again = True
            piece.draw(board, self.x, self.y)
            self.y -= piece.height
        self.y -= 4.0

    def _board(self) -> Board:
        if self.board is None:
            raise RuntimeError("no sheet was begun")
        return self.board

    def _low(self) -> float:
        return self._board().paper.room[1]

    def _next_column(self) -> None:
        if self.board is not None and self.x + 2 * self.width + self.gap <= self.board.paper.room[2] + 1e-6:
            self.x += self.width + self.gap
        else:
            self.board = self.new_board()
            self.x = self.board.paper.room[0]
        self.y = self.top(self.board)


def table(
    heading: str,
    names: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    width: float,
    aligns: Sequence[Align],
    wraps: int,
    *,
    last: Sequence[Cell] | None = None,
) -> Block:
    """A table: every column as wide as its longest cell, but one (wraps), which takes the rest and breaks."""
    cells = [names, *rows, *([last] if last else [])]
    widths = [max(width_of(row[k], BODY, bold=n == 0) for n, row in enumerate(cells)) + AIR for k in range(len(names))]
    widths[wraps] = max(width - sum(widths) + widths[wraps], 18.0)
    lefts = [sum(widths[:k]) for k in range(len(names))]

    def strip(row: Sequence[Cell], bold: bool = False, rule: bool = False) -> Piece:
        lines = [wrapped(cell, widths[k] - AIR, BODY, bold) if k == wraps else [cell] for k, cell in enumerate(row)]
        tall = max(max((len(line) for line in lines), default=1), 1) * LEADING * BODY + 0.5

        def draw(board: Board, x: float, y: float) -> None:
            for left, size, told, align in zip(lefts, widths, lines, aligns, strict=True):
                at = x + left + (size - AIR if align == "right" else 0.0)
                for n, line in enumerate(told):
                    board.text(line, (at, y - BODY * (1.42 + LEADING * n)), BODY, align=align, bold=bold)
            board.line([(x, y - tall), (x + width, y - tall)], "frame" if rule else "rules")

        return Piece(tall, draw)

    pieces = tuple(strip(row) for row in rows)
    if last:
        pieces = (*pieces, strip(last, bold=True))
    return Block(heading, (strip(names, bold=True, rule=True),), pieces)


def paragraphs(heading: str, texts: Sequence[str], width: float) -> Block:
    """Paragraphs below a heading, each with a dash before it; broken into lines, which may part at a column's end."""
    pieces = []
    for text in texts:
        lines = wrapped(text, width - 3.0, BODY)
        pieces += [_line(line, first=n == 0) for n, line in enumerate(lines)]
    return Block(heading, (), tuple(pieces))


def _line(text: str, *, first: bool) -> Piece:
    def draw(board: Board, x: float, y: float) -> None:
        down = y - BODY * (1.5 if first else 1.25)
        if first:
            board.text("-", (x, down), BODY)
        board.text(text, (x + 3.0, down), BODY)

    return Piece(LEADING * BODY + (0.6 if first else 0.0), draw)


def _heading(text: str) -> Piece:
    def draw(board: Board, x: float, y: float) -> None:
        board.text(text, (x, y - HEADING * 1.1), HEADING, bold=True)

    return Piece(HEADING * 1.9, draw)
