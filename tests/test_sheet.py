"""The shop sheet: what is drawn at true size, that dimensions add up, that no text lies on another or off the sheet."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as Document
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

from api.case import load_case
from api.figures import Units
from api.sheet.chains import spread
from api.sheet.lengths import chain_steps, step_words, steps_of
from api.sheet.lettering import CAPITAL, font_path, height_of, width_of
from api.sheet.lists import cut_rows
from api.sheet.matter import matter_of
from api.sheet.paper import PAPERS, PaperName
from api.sheet.run_labels import end_words
from api.sheet.truesize import bulged
from api.sheet.writing import Sheets, cut_list, draw_sheets, write_matter
from api.solve import solve_case
from meshing.shape import ellipse, rectangle
from tests.sheet_plans import matter

NAMES = ("l-island-with-sink", "round-table", "galley-with-taps", "bar-with-overhang", "odd-island-si")
HELD: list[Any] = [
    *((name, None) for name in NAMES),
    pytest.param("l-shape-life", None, marks=pytest.mark.slow),
    ("l-island-with-sink", "a4"),
    ("odd-island-si", "letter"),
]


@cache
def sheets_of(name: str, paper: PaperName | None) -> Sheets:
    return draw_sheets(matter(name), paper)


@pytest.mark.parametrize(("name", "paper"), HELD)
def test_no_text_lies_on_another(name: str, paper: PaperName | None) -> None:
    for number, board in enumerate(sheets_of(name, paper).boards, 1):
        areas = np.array([box.area for box in board.texts])
        first, second = shapely.STRtree(areas).query(areas, predicate="intersects")
        pairs = [
            (board.texts[i].text, board.texts[k].text)
            for i, k in zip(first.tolist(), second.tolist(), strict=True)
            if i < k and areas[i].intersection(areas[k]).area > 0.02
        ]
        assert not pairs, f"sheet {number}"


@pytest.mark.parametrize(("name", "paper"), HELD)
def test_nothing_leaves_the_frame(name: str, paper: PaperName | None) -> None:
    sheets = sheets_of(name, paper)
    frame = shapely.box(*sheets.paper.frame).buffer(1e-6)
    for number, board in enumerate(sheets.boards, 1):
        off = [box.text for box in board.texts if not frame.covers(box.area)]
        assert not off, f"sheet {number}"
        assert shapely.covers(frame, np.array(board.strokes)).all(), f"a line leaves sheet {number}"
        for window in board.layout.query("VIEWPORT")[1:]:
            x, y, half, tall = (
                window.dxf.center.x,
                window.dxf.center.y,
                window.dxf.width / 2,
                window.dxf.height / 2,
            )
            assert frame.covers(shapely.box(x - half, y - tall, x + half, y + tall)), f"a plan leaves sheet {number}"


@pytest.mark.parametrize("name", NAMES)
def test_every_label_has_found_a_place(name: str) -> None:
    assert [board.missed for board in sheets_of(name, None).boards if board.missed] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_run_is_named_on_its_own_plan_and_in_the_list(name: str) -> None:
    told = matter(name)
    sheets = sheets_of(name, None)
    for face, board in zip(("show", "underside"), sheets.boards[1:3], strict=True):
        words = [box.text for box in board.texts]
        for run in told.runs:
            named = [text for text in words if text == run.mark or text.startswith(f"{run.mark} ")]
            assert bool(named) == (run.face == face), run.mark
    listed = [box.text for board in sheets.boards[3:] for box in board.texts]
    assert all(listed.count(run.mark) == 1 for run in told.runs)


@pytest.mark.parametrize("name", NAMES)
def test_every_view_is_stamped_with_front_edge_and_face(name: str) -> None:
    sheets = sheets_of(name, None)
    for board in sheets.boards:
        words = [box.text for box in board.texts]
        views = len(board.layout.query("VIEWPORT")) - 1
        assert words.count("FRONT EDGE") == views
        assert sum("show face" in text for text in words) >= views


def test_the_underside_says_that_it_is_seen_through_the_slab() -> None:
    words = [box.text for box in sheets_of("galley-with-taps", None).boards[2].texts]
    assert "Underside: its steel, as seen from the show face, through the slab" in words


@pytest.mark.parametrize("units", ["us", "si"])
def test_a_chain_sums_to_the_whole_whatever_its_places(units: Units) -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        places = np.sort(rng.uniform(0, 3, 12)).tolist()
        distances, gaps = chain_steps(places, units)
        assert sum(gaps) == distances[-1] == steps_of(places[-1] - places[0], units)
        assert np.cumsum(gaps).tolist() == distances[1:]


@pytest.mark.parametrize("name", NAMES)
def test_a_run_along_an_axis_is_as_long_in_every_list_as_its_ends_are_apart(name: str) -> None:
    told = matter(name)
    cut = {mark: length for _, length, _, marks in cut_rows(told) for mark in marks.split(", ")}
    read = sixteenths if told.units == "us" else float
    for run in told.runs:
        begin, *_ = ends = [read(words) for words in end_words(told, run)]
        assert step_words(told.length_steps(run), told.units) == cut[run.mark]
        apart = math.hypot(ends[2] - begin, ends[3] - ends[1])
        assert apart == pytest.approx(read(cut[run.mark]), abs=1e-9 if 0 in (ends[2] - begin, ends[3] - ends[1]) else 2)


def test_chains_as_they_are_printed_sum_to_the_whole() -> None:
    # Read back from the sheet: the words beside the plan, not the numbers that they were made of.
    board = sheets_of("l-island-with-sink", "letter").boards[1]
    # The chain of gaps at the front: the words between the distances from the left edge and the stamp below them.
    low = min(y for box in board.texts if box.text == "left edge" for _, y in box.corners)
    high = next(box for box in board.texts if box.text == "FRONT EDGE").corners[0][1]
    row = [box.text for box in board.texts if high < min(y for _, y in box.corners) < low and box.text[0].isdigit()]
    assert sum(sixteenths(text.split("=")[-1]) for text in row) == 16 * 96
    for text in row:
        if "=" in text:
            count, one, total = (sixteenths(part) for part in text.replace("x", "=").split("="))
            assert count / 16 * one == total


def sixteenths(text: str) -> float:
    return 16 * sum(float(a) / float(b or 1) for a, _, b in (part.partition("/") for part in text.split()))


@pytest.mark.parametrize(("steps", "words"), [(1524, "95 1/4"), (16, "1"), (10, "5/8"), (0, "0")])
def test_inches_are_told_in_sixteenths_brought_down(steps: int, words: str) -> None:
    assert step_words(steps, "us") == words
    assert sixteenths(words) == steps


@pytest.mark.parametrize("bold", [False, True])
def test_letters_are_as_wide_in_the_print_as_they_were_measured(bold: bool) -> None:
    # Two roads: the drawing's own font machinery measures, matplotlib lays out the letters of the PDF.
    font = FontProperties(fname=font_path(bold))
    for text in ("show face, layer 1, left to right: axis 9/16 in deep", "28 x 2 1/2 = 70", "1670 ± 30 psi"):
        printed = TextPath((0, 0), text, size=1.0 / CAPITAL, prop=font).get_extents()
        assert printed.width == pytest.approx(width_of(text, 1.0, bold), rel=0.03)
        below, above = height_of(1.0)
        assert -below <= printed.y0
        assert printed.y1 <= above


def test_labels_in_a_row_do_not_touch_and_move_least() -> None:
    wanted = [0.0, 0.2, 0.4, 5.0, 5.1, 20.0]
    placed = np.array(spread(wanted, [1.0] * 6))
    assert (np.diff(placed) >= 1 - 1e-12).all()
    assert placed[-1] == 20.0
    assert placed[:3].mean() == pytest.approx(0.2)  # a block stays about its own middle


def curves(document: Document, layer: str) -> list[LWPolyline]:
    return [one for one in document.modelspace() if isinstance(one, LWPolyline) and one.dxf.layer == layer]


def test_the_true_size_drawing_keeps_arcs_and_measures_what_the_case_says() -> None:
    told = matter("l-island-with-sink")
    document = sheets_of("l-island-with-sink", None).document
    assert document.header["$INSUNITS"] == 1
    (outline,) = curves(document, "outline")
    assert outline.closed
    bulges = [bulge for _, _, bulge in outline.get_points("xyb") if bulge]
    # The inner corner turns right by a quarter: bulge = -tan(90 / 4 degrees).
    assert bulges == pytest.approx([-math.tan(math.pi / 8)])
    x, y = np.array(outline.get_points("xy")).T
    assert (x.min(), y.min(), x.max(), y.max()) == pytest.approx((0, 0, 96, 72))
    runs = curves(document, "runs show face")
    assert len(runs) == len(told.runs_of("show"))
    laid = sum(math.dist(*run.vertices_in_wcs()) for run in runs)
    assert laid * 0.0254 == pytest.approx(sum(run.length for run in told.runs_of("show")))


def test_an_oval_becomes_true_arcs_that_stay_on_it() -> None:
    loop = ellipse((0.1, 0.2), (0.9, 0.5), 0.4)
    corners = bulged(loop)
    assert len(corners) <= 64
    # Arcs that keep within 0.01 mm of the oval miss its area by less than that times its way round, 2.3 m.
    assert area_of(corners) == pytest.approx(math.pi * 0.45 * 0.25, abs=1e-5 * 2.3)
    assert area_of(bulged(rectangle((0, 0), (1.0, 0.6), 0.1))) == pytest.approx(0.6 - (4 - math.pi) * 0.01, rel=1e-12)


def area_of(corners: list[tuple[float, float, float]]) -> float:
    """Area inside a closed curve of sides and arcs: the polygon and a circular segment at each arc."""
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        total += (x0 * y1 - x1 * y0) / 2
        if bulge:
            angle = 4 * math.atan(bulge)
            radius = math.dist((x0, y0), (x1, y1)) / 2 / math.sin(abs(angle) / 2)
            total += math.copysign(radius**2 / 2 * (abs(angle) - math.sin(abs(angle))), angle)
    return total


def test_openings_are_told_by_centre_and_diameter_and_thinner_parts_by_thickness() -> None:
    words = [box.text for box in sheets_of("galley-with-taps", "letter").boards[0].texts]
    for text in ("tap 0, diameter 1 3/8", "tap 2, diameter 1 3/8", "R 3", "R 3/4, 4 corners", "44", "48", "52", "22"):
        assert text in words
    assert "drip groove" in words
    facts = dict(matter("galley-with-taps").facts)
    assert facts["Drip groove"] == "1 1/4 in thick; 1 to 95 from the left, 1 to 1 1/2 from the front"


def test_si_is_drawn_in_millimetres() -> None:
    document = sheets_of("odd-island-si", None).document
    assert document.header["$INSUNITS"] == 4
    low, high = matter("odd-island-si").shape.region().bounds[::2]
    (outline,) = curves(document, "outline")
    x = np.array(outline.get_points("xy"))[:, 0]
    assert x.max() - x.min() == pytest.approx(1000 * (high - low), rel=1e-3)


def test_the_cut_list_counts_every_run_and_names_the_stock() -> None:
    told = matter("l-island-with-sink")
    rows = list(csv.DictReader(io.StringIO(cut_list(told))))
    cuts, stock = [row for row in rows if row["what"] == "cut"], [row for row in rows if row["what"] == "stock"]
    assert sum(int(row["count"]) for row in cuts) == len(told.runs)
    assert sum(len(row["runs"].split(", ")) for row in cuts) == len(told.runs)
    length = sum(float(row["length_in"]) * int(row["count"]) for row in cuts) * 0.0254
    assert length == pytest.approx(sum(run.length for run in told.runs), rel=1e-3)
    assert [(row["on_the_tape"], int(row["count"])) for row in stock] == [("120", told.stock_pieces)]


def test_what_is_written_is_the_same_twice_and_opens_again(tmp_path: Path) -> None:
    told = replace(matter("galley-with-taps"), runs=matter("galley-with-taps").runs[::5])
    first, second = tmp_path / "a", tmp_path / "b"
    first.mkdir()
    second.mkdir()
    write_matter(told, first, "letter")
    written = write_matter(told, second, "letter")
    for path in written:
        assert path.read_bytes() == (first / path.name).read_bytes(), path.name
    names = [path.name for path in written]
    assert names[:2] == ["sheet.dxf", "sheet.pdf"]
    assert names[-1] == "cut-list.csv"
    assert names[2:-1] == [f"sheet-{k}.svg" for k in range(1, len(names) - 2)]
    with (first / "sheet.dxf").open(encoding="utf-8") as stream:
        document = read(stream)
    assert not document.audit().errors
    assert list(document.layout_names_in_taborder())[1:] == [f"sheet {k}" for k in range(1, len(names) - 2)]
    assert told.hash[:12] in (first / "sheet.dxf").read_text(encoding="utf-8")


@pytest.mark.parametrize("paper", ["letter", "tabloid", "a4", "a3"])
def test_pages_have_the_size_of_the_paper(paper: Literal["letter", "tabloid", "a4", "a3"], tmp_path: Path) -> None:
    told = replace(matter("galley-with-taps"), plans=(), runs=matter("galley-with-taps").runs[:3])
    write_matter(told, tmp_path, paper)
    size = PAPERS[paper]
    boxes = [line for line in (tmp_path / "sheet.pdf").read_bytes().split(b"\n") if b"/MediaBox" in line]
    assert boxes
    for line in boxes:
        numbers = [float(part) for part in line.split(b"[")[1].split(b"]")[0].split()]
        assert numbers[2:] == pytest.approx([size.width * 72 / 25.4, size.height * 72 / 25.4], abs=0.01)
    first = (tmp_path / "sheet-1.svg").read_text(encoding="utf-8")
    assert f'width="{size.width:g}mm"' in first.replace(".0mm", "mm")


def test_a_slab_without_steel_has_its_shape_and_its_stages() -> None:
    told = replace(matter("galley-with-taps"), runs=(), cuts=())
    names = draw_sheets(told, "letter").names
    assert names[0] == "Shape"
    assert not any("steel" in name for name in names)


def test_letters_that_mean_something_to_the_format_stay_letters() -> None:
    told = replace(matter("galley-with-taps"), title="50%%c top ^I", runs=(), cuts=(), plans=())
    words = [entity.dxf.text for entity in draw_sheets(told, "letter").boards[0].layout.query("TEXT")]
    assert "50% %c top ^ I" in words


# A section may end where the front edge is stamped: its letter goes where no word stands.
def test_the_letter_of_a_section_gives_way_to_a_word(project: Path) -> None:
    case = load_case(project / "cases" / "l-shape-steel-rings.toml")
    solved = solve_case(case, judge=True)
    assert solved.steel is not None
    marks = 0
    for board in draw_sheets(matter_of(solved, replace(solved.steel, plan=None)), None).boards:
        for mark in (box for box in board.texts if box.text == "A"):
            ring = shapely.centroid(mark.area).buffer(1.8)
            assert not [box.text for box in board.texts if box is not mark and box.area.intersection(ring).area > 0.02]
            marks += 1
    assert marks >= 4
