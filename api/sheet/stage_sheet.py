"""Supports and hands: a small plan for every stage of the piece's life, and what each of its supports bears."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from api.map_marks import Place, StandMark, SupportMark, loops_of
from api.sheet.board import BODY, LEADING, SMALL, Board
from api.sheet.callouts import call_out
from api.sheet.lettering import wrapped
from api.sheet.matter import KeyPlan, Matter
from api.sheet.paper import Paper, Rect, scale_for
from api.sheet.view import View, around, open_window, view_in

__all__ = ["draw_stages"]

GAP = 6.0
HEAD = 6.2
WIDEST = 120.0
NARROWEST = 44.0
"""A column has room for so much, so that its words do not break at every other one [mm]."""
FLOOR = 2.6
"""What the floor under a piece that stands takes beside it [mm]."""
LEAST_PLAN = 34.0
"""A small plan is given at least so much height [mm]."""
ROW = LEADING * SMALL
SET_IN = 3.0
REACHES = (0.5, 1.0, 3.0, 4.5, 6.5, 9.0)


@dataclass(frozen=True, slots=True)
class _Grid:
    """How the small plans are laid out: columns and their width, scale, size of a plan, height of each row, sheets."""

    columns: int
    width: float
    scale: int
    wide: float
    tall: float
    heights: tuple[float, ...]
    sheets: int


def draw_stages(matter: Matter, paper: Paper, new_board: Callable[[], Board], top: Callable[[Board], float]) -> int:
    """Draw the small plans, row by row, on as many sheets as they need; the scale of the plans."""
    left, _, right, _ = paper.room
    most = max(int((right - left + GAP) / (NARROWEST + GAP)), 1)
    grids = [_grid(matter, paper, columns) for columns in range(min(most, 6), 0, -1)]
    grid = min(grids, key=lambda one: (one.sheets, one.scale))
    low = paper.room[1]
    board: Board | None = None
    y, status = 0.0, 2
    for number, height in enumerate(grid.heights):
        row = matter.plans[number * grid.columns : (number + 1) * grid.columns]
        if board is None or y - height < low:
            board = new_board()
            y, status = top(board), 2
        for k, plan in enumerate(row):
            x = left + k * (grid.width + GAP)
            room = (x, y - HEAD - grid.tall, x + grid.wide, y - HEAD)
            _plan(board, matter, plan, room, grid.scale, status)
            status += 1
            board.text(f"{plan.number}  {plan.name}", (x, y - BODY * 1.2), BODY, bold=True)
            board.text(f"{plan.age}, {plan.lies}; seen from the show face", (x, y - BODY * 1.2 - ROW), SMALL)
            for n, (indent, line) in enumerate(_lines(plan, grid.width)):
                board.text(line, (x + indent, y - HEAD - grid.tall - ROW * n - SMALL * 1.2), SMALL)
        y -= height
    return grid.scale


def _grid(matter: Matter, paper: Paper, columns: int) -> _Grid:
    left, low, right, high = paper.room
    width = (right - left - GAP * (columns - 1)) / columns
    size = np.ptp(loops_of(matter.shape)[0], axis=0).tolist()
    scale = scale_for((size[0], size[1]), (min(width - 10.0, WIDEST), max((high - low) / 2 - HEAD - 34.0, LEAST_PLAN)))
    tall = 1000 * size[1] / scale + 11.0 + (FLOOR if any(plan.stand for plan in matter.plans) else 0.0)
    rows = [matter.plans[k : k + columns] for k in range(0, len(matter.plans), columns)]
    heights = tuple(HEAD + tall + max(len(_lines(plan, width)) for plan in row) * ROW + 6.0 for row in rows)
    sheets, y = 1, high - 7.0
    for height in heights:
        if y - height < low:
            sheets, y = sheets + 1, high - 7.0
        y -= height
    wide = 1000 * size[0] / scale + 9.0
    return _Grid(columns, width, scale, wide, tall, heights, sheets)


def _lines(plan: KeyPlan, width: float) -> list[tuple[float, str]]:
    """What its supports bear, in lines with how far each is set in."""
    lines: list[tuple[float, str]] = []
    for words in plan.words:
        first, *more = wrapped(words, width, SMALL)
        lines += [(0.0, first), *((SET_IN, line) for line in wrapped(" ".join(more), width - SET_IN, SMALL))]
    return lines


def _plan(board: Board, matter: Matter, plan: KeyPlan, room: Rect, scale: int, status: int) -> None:
    view = view_in(matter.shape, room, scale)
    open_window(board, view, matter.units, ("outline", "openings"), status)
    dx, dy = plan.stand.down if plan.stand else (0.0, 0.0)
    floor = tuple(FLOOR * (way > 0.1) for way in (-dx, -dy, dx, dy))
    around(board, view.rect, (floor[0], floor[1], floor[2], floor[3]), small=True)
    shapes = [shapely.LineString(view.to_paper(np.vstack([loop, loop[:1]]))) for loop in loops_of(matter.shape)]
    slab = shapely.Polygon(shapes[0], [ring.coords for ring in shapes[1:]])
    for mark in plan.supports:
        _support(board, view, mark.place, mark.lifted, slab)
    if plan.stand is not None:
        _stand(board, view, plan.stand)
    obstacles = shapely.STRtree(shapes)
    for mark in plan.supports:
        spot = _spot(view, mark)
        if mark.place.kind == "area" and _roomy(shapely.Polygon(view.to_paper(mark.place.points))):
            board.text(str(mark.number), (spot[0], spot[1] - SMALL / 2), SMALL, align="middle", bold=True)
            continue
        half = max(500 * mark.place.size / view.scale, 0.9) if mark.place.kind == "point" else 0.4
        if mark.place.kind == "area":
            narrow = shapely.Polygon(view.to_paper(mark.place.points))
            half = narrow.exterior.distance(shapely.Point(spot)) + 0.3
        call_out(board, str(mark.number), spot, obstacles, room, bold=True, gap=1.5 * half, reaches=REACHES)


def _support(board: Board, view: View, place: Place, lifted: bool, slab: shapely.Polygon) -> None:
    """A support as it bears: a filled square, a thick line, an area with thin lines across; broken if it lifted off."""
    p = view.to_paper(place.points)
    dashes = "short dashes" if lifted else "BYLAYER"
    if place.kind == "point":
        half = max(500 * place.size / view.scale, 0.9)
        (x, y) = p[0].tolist()
        corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
        if lifted:
            board.outline(corners, "supports")
        else:
            board.fill(corners, "supports")
        board.keep_clear(shapely.box(x - half, y - half, x + half, y + half))
    elif place.kind == "area":
        board.outline(p, "supports", dashes)
        area = shapely.Polygon(p)
        if _roomy(area):
            _hatch(board, slab.intersection(area.difference(area.representative_point().buffer(2.0))))
        else:
            board.keep_clear(area)
    else:
        board.line(np.vstack([p, p[:1]]) if place.closed else p, "supports", dashes)
        board.keep_clear(shapely.LineString(p).buffer(0.4))


def _roomy(area: shapely.Polygon) -> bool:
    """Whether a number has room inside an area."""
    return area.representative_point().within(area.buffer(-2.0))


def _hatch(board: Board, area: BaseGeometry) -> None:
    x0, y0, x1, y1 = area.bounds
    for shift in np.arange(x0 - (y1 - y0), x1, 1.8).tolist():
        cut = area.intersection(shapely.LineString([(shift, y0), (shift + y1 - y0, y1)]))
        for piece in shapely.get_parts(cut):
            if piece.length > 0.3 and piece.geom_type == "LineString":
                board.line(list(piece.coords), "concrete")


def _stand(board: Board, view: View, stand: StandMark) -> None:
    """The floor under the side on which the piece stands."""
    ends, down = view.to_paper(stand.ends), np.asarray(stand.down)
    p, q = (ends[0] + 1.2 * down, ends[1] + 1.2 * down)
    board.line([p, q], "supports")
    board.keep_clear(shapely.Polygon([p, q, q + 1.3 * down, p + 1.3 * down]))
    count = max(int(np.hypot(*(q - p)) / 3.0), 2)
    along = (q - p) / count
    for k in range(count):
        start = p + (k + 0.5) * along
        board.line([start, start + 1.2 * down - 0.4 * along], "concrete")


def _spot(view: View, mark: SupportMark) -> tuple[float, float]:
    p = view.to_paper(mark.place.points)
    if mark.place.kind == "area":
        point = shapely.Polygon(p).representative_point()
        return float(point.x), float(point.y)
    if len(p) == 1:
        return float(p[0, 0]), float(p[0, 1])
    spot = shapely.LineString(p).interpolate(0.5, normalized=True)
    return float(spot.x), float(spot.y)
