"""The section drawn at true size: the slab cut through, its wires at their depths, covers and depths beside it."""

from __future__ import annotations

import itertools

import numpy as np
import shapely

from api.sheet.board import SMALL, Board
from api.sheet.chains import spread
from api.sheet.lengths import chain_steps, length_mark, step_words, steps_of
from api.sheet.lettering import width_of
from api.sheet.matter import Matter
from api.sheet.section import Section
from api.sheet.view import View
from api.sheet.ways import way_of
from fem.steel.model import Run

__all__ = ["SIDE", "draw_cut_mark", "draw_section", "section_height"]

SIDE = (24.0, 92.0)
"""Room left and right of the section for its words [mm]."""
HATCH = 2.6


def section_height(matter: Matter) -> float:
    """What the section takes of the paper's height [mm]."""
    lines = len(_layers(matter)) + 2
    return max(1000 * matter.thickness + 16.0, lines * 1.9 * SMALL + 12.0)


def draw_section(board: Board, matter: Matter, section: Section, corner: tuple[float, float]) -> None:
    """Draw the section with its upper left corner, words and all, at a place on the board."""
    left, top = corner[0] + SIDE[0], corner[1] - 6.0
    tall = 1000 * matter.thickness

    def x(along: float) -> float:
        return left + 1000 * (along - section.begin)

    def y(depth: float) -> float:
        return top - 1000 * depth

    right = x(section.end)
    for a, b in section.solid:
        _slab(board, (x(a), y(matter.thickness), x(b), top), a > section.begin + 1e-4, b < section.end - 1e-4)
    for seen in section.along:
        half = 500 * seen.run.steel.diameter
        level = y(seen.run.depth)
        layer = "runs show face" if seen.run.face == "show" else "runs underside"
        x0, x1 = x(max(seen.begin, section.begin)), x(min(seen.end, section.end))
        board.outline([(x0, level - half), (x1, level - half), (x1, level + half), (x0, level + half)], layer)  # type: ignore[arg-type]
    for cut in section.crossings:
        layer = "runs show face" if cut.run.face == "show" else "runs underside"
        _wire(board, (x(cut.at), y(cut.run.depth)), 500 * cut.run.steel.diameter, cut.stretch, layer)
    board.text("show face", (left + 2.0, top + 1.4), SMALL, bold=True)
    board.text("underside", (left + 2.0, y(matter.thickness) - 1.4 - SMALL), SMALL, bold=True)
    way = "looking to the back" if section.axis == 0 else "looking to the right"
    ends = ("left", "right") if section.axis == 0 else ("front", "back")
    board.text(ends[0], (left + 16.0, y(matter.thickness) - 1.4 - SMALL), SMALL, layer="faint words")
    board.text(
        f"{ends[1]}   ({way})", (right, y(matter.thickness) - 1.4 - SMALL), SMALL, align="right", layer="faint words"
    )
    _thickness(board, matter, left - 4.0, top, tall)
    _depths(board, matter, section, right + 3.0, top)


def draw_cut_mark(board: Board, section: Section, view: View, layer: str = "words") -> None:
    """Where the section is taken, on a plan: a thin broken line with an A at either end."""
    ends = [(section.begin, section.place), (section.end, section.place)]
    if section.axis == 1:
        ends = [(b, a) for a, b in ends]
    p, q = view.to_paper(np.asarray(ends)).tolist()
    along = (np.asarray(q) - np.asarray(p)) / max(float(np.hypot(*(np.asarray(q) - p))), 1e-9)
    a, b = np.asarray(p) - 2.0 * along, np.asarray(q) + 2.0 * along
    board.line([a, b], "words", "centre line")
    for end, way in ((a, -along), (b, along)):
        # Beyond the end of the line, unless a word stands there; then as little farther, or back along it, as it takes.
        spots = [end + (2.2 + step) * way for step in (0.0, 2.0, -4.5, 4.0, -7.0, 6.0, 8.0)]
        free = [spot for spot in spots if board.is_free(shapely.Point(spot).buffer(2.1))]
        middle = (free or spots)[0]
        board.circle((float(middle[0]), float(middle[1])), 1.9, "words")
        board.text("A", (float(middle[0]), float(middle[1]) - SMALL / 2), SMALL, align="middle", bold=True)
        board.keep_clear(shapely.Point(middle).buffer(2.1))
    board.keep_clear(shapely.LineString([a, b]).buffer(0.6))


def _slab(board: Board, rect: tuple[float, float, float, float], edge_left: bool, edge_right: bool) -> None:
    """The cut concrete, hatched thinly; where it goes on, its end is broken off."""
    x0, y0, x1, y1 = rect
    left = [(x0, y0), (x0, y1)] if edge_left else _break(x0, y0, y1)
    right = [(x1, y1), (x1, y0)] if edge_right else _break(x1, y0, y1)[::-1]
    board.line([(x0, y1), (x1, y1)], "outline")
    board.line([(x0, y0), (x1, y0)], "outline")
    board.line(left, "outline" if edge_left else "dimensions")
    board.line(right, "outline" if edge_right else "dimensions")
    area = shapely.box(*rect)
    for shift in np.arange(x0 - (y1 - y0), x1, HATCH).tolist():
        piece = area.intersection(shapely.LineString([(shift, y0), (shift + (y1 - y0), y1)]))
        if piece.length > 0.3 and piece.geom_type == "LineString":
            board.line(list(piece.coords), "concrete")


def _break(x: float, low: float, high: float) -> list[tuple[float, float]]:
    middle = (low + high) / 2
    return [(x, low), (x, middle - 1.6), (x - 1.2, middle - 0.6), (x + 1.2, middle + 0.6), (x, middle + 1.6), (x, high)]


def _wire(board: Board, at: tuple[float, float], radius: float, stretch: float, layer: str) -> None:
    if stretch < 1.02:
        board.disc(at, radius, layer)  # type: ignore[arg-type]
        return
    turns = np.linspace(0, 2 * np.pi, 33)[:-1]
    board.fill(np.column_stack([at[0] + stretch * radius * np.cos(turns), at[1] + radius * np.sin(turns)]), layer)  # type: ignore[arg-type]


def _thickness(board: Board, matter: Matter, x: float, top: float, tall: float) -> None:
    """The chain of depths at the left: show face, axis of each layer, underside; gaps sum to the thickness."""
    depths = sorted({steps_of(run.depth, matter.units): run.depth for run in matter.runs}.values())
    distances, gaps = chain_steps([0.0, *depths, matter.thickness], matter.units)
    levels = [top - 1000 * depth for depth in (0.0, *depths, matter.thickness)]
    board.line([(x, levels[0]), (x, levels[-1])], "dimensions")
    for level in levels:
        board.line([(x - 0.6, level - 0.6), (x + 0.6, level + 0.6)], "dimensions")
        board.line([(x - 0.8, level), (x + 3.4, level)], "dimensions")
    middles = [(a + b) / 2 for a, b in itertools.pairwise(levels)]
    rows = spread([-m for m in middles], [1.5 * SMALL] * len(middles))
    for middle, row, gap in zip(middles, rows, gaps, strict=True):
        if abs(-row - middle) > 0.8:
            board.line([(x - 0.5, middle), (x - 1.6, -row)], "dimensions")
        board.text(step_words(gap, matter.units), (x - 2.0, -row - SMALL / 2), SMALL, align="right")
    if depths:
        wide = max(width_of(step_words(gap, matter.units), SMALL) for gap in gaps) + 4.0
        board.line([(x - wide, levels[0]), (x - wide, levels[-1])], "dimensions")
        for level in (levels[0], levels[-1]):
            board.line([(x - wide - 0.6, level - 0.6), (x - wide + 0.6, level + 0.6)], "dimensions")
        words = step_words(distances[-1], matter.units)
        board.text(words, (x - wide - 1.0, top - tall / 2), SMALL, align="middle", turn=90)


def _layers(matter: Matter) -> list[tuple[float, Run, int]]:
    """Layers by depth: depth, a run of it, how many runs."""
    found: dict[tuple[str, int, float, str], list[Run]] = {}
    for run in matter.runs:
        found.setdefault((run.face, run.layer, round(run.depth, 5), way_of(run)), []).append(run)
    return sorted(((key[2], runs[0], len(runs)) for key, runs in found.items()), key=lambda one: one[0])


def _depths(board: Board, matter: Matter, section: Section, x: float, top: float) -> None:
    """What lies at each depth, right of the section, each with a line from its level."""
    layers = _layers(matter)
    told = [f"{_where(run)}: {_covers(matter, run)}" for _, run, _ in layers]
    levels = [top - 1000 * depth for depth, _, _ in layers]
    rows = spread([-level for level in levels], [1.9 * SMALL] * len(levels))
    for level, row, words, (_, run, _) in zip(levels, rows, told, layers, strict=True):
        layer = "marks show face" if run.face == "show" else "marks underside"
        board.line([(x - 2.4, level), (x + 1.0, level), (x + 4.0, -row), (x + 6.0, -row)], layer)  # type: ignore[arg-type]
        board.text(words, (x + 6.8, -row - SMALL / 2), SMALL, layer=layer)  # type: ignore[arg-type]


def _where(run: Run) -> str:
    face = "show face" if run.face == "show" else "underside"
    way = way_of(run).removesuffix(" from the front edge")
    return f"{face}, layer {run.layer + 1}, {way}"


def _covers(matter: Matter, run: Run) -> str:
    units = matter.units
    half = run.steel.diameter / 2
    clear = run.depth - half if run.face == "show" else matter.thickness - run.depth - half
    return f"axis {length_mark(run.depth, units)} deep, {length_mark(clear, units)} clear"
