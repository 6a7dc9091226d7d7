"""The sheets of a solved case on disk: a drawing (DXF), printed from it a PDF and an SVG a sheet, and a cut list."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from ezdxf._options import options
from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import new

from api.sheet.board import TITLE, Board
from api.sheet.columns import Flow
from api.sheet.face_sheet import draw_face, face_scale, face_title
from api.sheet.frame import draw_frame, draw_heading
from api.sheet.lengths import length_mark
from api.sheet.lettering import use_fonts
from api.sheet.lists import blocks, marks_words
from api.sheet.matter import FACES, Matter, matter_of
from api.sheet.paper import PAPERS, Paper, PaperName, papers_of, scale_words
from api.sheet.pens import prepare_pens
from api.sheet.printing import print_pdf, print_svg
from api.sheet.section import Section, section_of
from api.sheet.section_view import SIDE, draw_section, section_height
from api.sheet.shape_sheet import draw_shape, shape_scale
from api.sheet.stage_sheet import draw_stages
from api.sheet.truesize import draw_true_size
from api.sheet.view import UNIT
from api.solve import Solved

__all__ = ["Sheets", "cut_list", "draw_sheets", "write_matter", "write_sheets"]

INSUNITS = {"us": 1, "si": 4}
"""DXF reference, header variable $INSUNITS: inches, millimetres."""
CROWDED = 0.25
"""Where a larger share of the runs has no room for its length on the smaller paper, the larger one is tried."""


@dataclass
class Sheets:
    """A set of sheets being drawn: the drawing and one board a sheet, each with its name and scale."""

    document: Document
    paper: Paper
    boards: list[Board] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    scales: list[str] = field(default_factory=list)

    def new(self, name: str, scale: str) -> Board:
        """A fresh sheet."""
        number = len(self.boards) + 1
        if number == 1:
            self.document.layouts.rename("Layout1", "sheet 1")
            layout = self.document.paperspace("sheet 1")
        else:
            layout = self.document.new_layout(f"sheet {number}")
        layout.page_setup(size=(self.paper.width, self.paper.height), margins=(0, 0, 0, 0), units="mm")
        board = Board(layout, self.paper)
        self.boards.append(board)
        self.names.append(name)
        self.scales.append(scale)
        return board


def write_sheets(solved: Solved, folder: Path, paper: PaperName | None = None) -> tuple[Path, ...]:
    """Write sheet.dxf, sheet.pdf, sheet-1.svg, sheet-2.svg, ... and cut-list.csv into a folder; what was written.

    The same case gives the same bytes. paper: None takes Letter or A4, whichever goes with the case's units, and
    Tabloid or A3 where the runs would stand too close.
    """
    return write_matter(matter_of(solved, solved.steel), folder, paper)


def write_matter(matter: Matter, folder: Path, paper: PaperName | None = None) -> tuple[Path, ...]:
    """The same from what the sheets tell."""
    sheets = draw_sheets(matter, paper)
    drawing, printed, listed = folder / "sheet.dxf", folder / "sheet.pdf", folder / "cut-list.csv"
    layouts = [board.layout for board in sheets.boards]
    with _no_clock():
        stream = io.StringIO()
        sheets.document.write(stream)
    drawing.write_bytes(sheets.document.encode(stream.getvalue()))
    print_pdf(layouts, sheets.paper, printed, matter.title)
    pictures = []
    for number, layout in enumerate(layouts, 1):
        pictures.append(folder / f"sheet-{number}.svg")
        print_svg(layout, sheets.paper, pictures[-1])
    listed.write_text(cut_list(matter), encoding="utf-8")
    return drawing, printed, *pictures, listed


def draw_sheets(matter: Matter, paper: PaperName | None = None) -> Sheets:
    """All sheets on one kind of paper: the one asked for, or the smaller one if the plans do not crowd it."""
    use_fonts()
    taken = PAPERS[paper] if paper is not None else _paper_for(matter)
    sheets = _empty(matter, taken)
    draw_true_size(sheets.document.modelspace(), matter)
    scale = shape_scale(matter, taken)
    draw_shape(sheets.new("Shape", scale_words(scale)), matter, scale)
    section = _section(matter, taken) if matter.runs else None
    if section is not None:
        _faces(sheets, matter, section)
    _lists(sheets, matter, section)
    if matter.plans:
        _stages(sheets, matter)
    for number, board in enumerate(sheets.boards, 1):
        draw_frame(board, matter, sheets.names[number - 1], sheets.scales[number - 1], number, len(sheets.boards))
    return sheets


def _paper_for(matter: Matter) -> Paper:
    """The smaller paper, unless many runs have no room for their length there and far fewer on the larger."""
    small, large = papers_of(matter.units)
    if not matter.runs:
        return small
    crowded = _faces(_empty(matter, small), matter, None)
    if crowded <= CROWDED * len(matter.runs):
        return small
    return large if _faces(_empty(matter, large), matter, None) < 0.6 * crowded else small


def _empty(matter: Matter, paper: Paper) -> Sheets:
    """A set without any sheet yet."""
    with _no_clock():
        document = new("R2018", units=INSUNITS[matter.units])
    prepare_pens(document)
    document.header["$MEASUREMENT"] = 0 if matter.units == "us" else 1
    return Sheets(document, paper)


def _faces(sheets: Sheets, matter: Matter, section: Section | None) -> int:
    """The plans of both faces; how many runs had no room for their length beside them."""
    scale = face_scale(matter, sheets.paper, FACES)
    boards = [(face, sheets.new(face_title(face), scale_words(scale))) for face in FACES]
    return sum(draw_face(board, matter, face, scale, section) for face, board in boards)


def cut_list(matter: Matter) -> str:
    """The cut list as a table of comma-separated values; lengths as plain numbers of inches or millimetres."""
    unit, name = UNIT[matter.units], "in" if matter.units == "us" else "mm"
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(["what", "steel", f"length_{name}", "on_the_tape", "count", "runs"])

    def row(what: str, steel: str, length: float, count: int, runs: str) -> None:
        told = f"{length / unit:.3f}".rstrip("0").rstrip(".")
        writer.writerow([what, steel, told, length_mark(length, matter.units, unit=False), count, runs])

    for cut in sorted(matter.cuts, key=lambda one: (one.steel, -one.length, one.marks)):
        row("cut", cut.steel, cut.length, cut.count, marks_words(cut.marks))
    if matter.cuts and math.isfinite(matter.stock_length):
        steel = " + ".join(sorted({cut.steel for cut in matter.cuts}))
        row("stock", steel, matter.stock_length, matter.stock_pieces, f"waste {matter.waste:.3f}")
    return stream.getvalue()


def _section(matter: Matter, paper: Paper) -> Section:
    left, _, right, _ = paper.room
    return section_of(matter, (right - left - sum(SIDE)) / 1000)


def _lists(sheets: Sheets, matter: Matter, section: Section | None) -> None:
    left, _, right, _ = sheets.paper.room
    columns = 2 if sheets.paper.width < 350 else 3
    gap = 8.0
    width = (right - left - gap * (columns - 1)) / columns
    tall = {}

    def new_board() -> Board:
        first = "lists" not in tall
        name = "Lists" if not first else "Section A - A, cut list and stages" if section else "Stages"
        board = sheets.new(name, scale_words(1) if first and section else "-")
        taken = draw_heading(board, name if first else "Lists, continued", ())
        if first and section:
            draw_section(board, matter, section, (left, board.paper.room[3] - taken))
            taken += section_height(matter)
        tall["lists"] = taken
        return board

    flow = Flow(new_board, width, gap, lambda board: board.paper.room[3] - tall["lists"])
    for block in blocks(matter, width):
        flow.put(block)


def _stages(sheets: Sheets, matter: Matter) -> None:
    def new_board() -> Board:
        board = sheets.new("Supports and hands, stage by stage", "")
        draw_heading(board, "Supports and hands, stage by stage", ())
        return board

    first = len(sheets.boards)
    scale = draw_stages(matter, sheets.paper, new_board, lambda board: board.paper.room[3] - 2.2 * TITLE)
    for number in range(first, len(sheets.boards)):
        sheets.scales[number] = scale_words(scale)


@contextmanager
def _no_clock() -> Iterator[None]:
    """No time of day and no chance number in the drawing, so that the same case gives the same bytes."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
