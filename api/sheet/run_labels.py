"""The labels of the runs on a plan: mark and length beside each, where they cover least; slanted runs in a list."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from api.map_marks import loops_of
from api.sheet.board import BODY, LEADING, SMALL, Board
from api.sheet.lengths import step_words, steps_of
from api.sheet.lettering import height_of, width_of
from api.sheet.matter import Matter
from api.sheet.paper import Rect
from api.sheet.pens import Layer
from api.sheet.truesize import wires_of
from api.sheet.view import View
from api.sheet.ways import way_of
from fem.steel.model import Run

__all__ = ["draw_labels", "end_words", "list_ends"]

FloatArray = npt.NDArray[np.float64]
STEP = 0.7
"""Labels are tried at every such step along a run [mm]."""
CROSSED, SHORTENED, TOO_LONG = 6.0, 4.0, 9.0
"""Prices: of each line that a label lies on, of leaving out the length, of a label longer than its run."""
MOST_LISTED = 24


def draw_labels(board: Board, matter: Matter, view: View, runs: Sequence[Run]) -> int:
    """Mark and length beside each run, the mark alone where there is no room for both; how many have the mark alone."""
    wires = [shapely.LineString(view.to_paper(wire)) for run in runs for wire in wires_of(run)]
    edges = [shapely.LineString(view.to_paper(np.vstack([loop, loop[:1]]))) for loop in loops_of(matter.shape)]
    obstacles = shapely.STRtree([*wires, *edges, *board.strokes])
    frame = shapely.box(*board.paper.room)
    shortened = 0
    for run in sorted(runs, key=lambda one: one.length):
        long = f"{run.mark}  {step_words(matter.length_steps(run), matter.units)}"
        tried = [_spots(view, run, long, 0.0), _spots(view, run, run.mark, SHORTENED)]
        at, cost = (np.concatenate([one[k] for one in tried]) for k in (0, 1))
        words = [long] * len(tried[0][0]) + [run.mark] * len(tried[1][0])
        turn = _turn(view, run)
        areas = _areas(at, [width_of(text, SMALL) for text in words], turn)
        cost = cost + CROSSED * np.bincount(obstacles.query(areas, predicate="intersects")[0], minlength=len(areas))
        cost[~shapely.covers(frame, areas) | board.covers(areas)] = math.inf
        best = int(np.argmin(cost))
        if not math.isfinite(cost[best]):
            board.missed.append(run.mark)
        else:
            layer: Layer = "marks show face" if run.face == "show" else "marks underside"
            board.text(words[best], (at[best, 0], at[best, 1]), SMALL, align="middle", turn=turn, layer=layer)
        shortened += words[best] != long or not math.isfinite(cost[best])
    return shortened


def _longest(view: View, run: Run) -> tuple[FloatArray, FloatArray]:
    """Start and step of a run's longest straight part, on paper."""
    points = view.to_paper(np.asarray(run.points))
    k = int(np.argmax(np.hypot(*np.diff(points, axis=0).T)))
    return points[k], points[k + 1] - points[k]


def _turn(view: View, run: Run) -> float:
    """How its letters are turned [degrees], so that they are read from the front or from the right."""
    _, along = _longest(view, run)
    turn = math.degrees(math.atan2(along[1], along[0]))
    return turn - 180 if turn > 90.5 else turn + 180 if turn <= -89.5 else turn


def _spots(view: View, run: Run, text: str, price: float) -> tuple[FloatArray, FloatArray]:
    """Where the middle of a run's label may stand (k, 2), above or below all along it, and what each costs (k,)."""
    start, along = _longest(view, run)
    length, wide = math.hypot(*along), width_of(text, SMALL)
    turn = math.radians(_turn(view, run))
    up = np.array([-math.sin(turn), math.cos(turn)])
    half = 500 * (run.steel.width if run.steel.wires > 1 else 0.0) / view.scale
    # Half a letter of air at both ends; a label longer than its run stands at its middle.
    free = max(length - wide - 1.0, 0.0)
    share = 0.5 + np.linspace(-0.5, 0.5, int(free / STEP) * 2 + 3) * free / length
    price += TOO_LONG if wide > length else 0.0
    shifts = (half + 0.65, -half - 0.45 - 1.12 * SMALL)
    at = np.concatenate([start + share[:, None] * along + shift * up for shift in shifts])
    cost = np.concatenate([price + 2.0 * abs(share - 0.5) + 0.3 * k for k in (0, 1)])
    return at, cost


def _areas(at: FloatArray, widths: Sequence[float], turn: float) -> npt.NDArray[np.object_]:
    """The boxes of texts about points (k, 2), all turned alike."""
    below, above = height_of(SMALL)
    along = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    up = np.array([-along[1], along[0]])
    half = np.asarray(widths)[:, None] / 2 * along
    low, high = at - below * up, at + above * up
    corners = np.stack([low - half, low + half, high + half, high - half], axis=1)
    return np.asarray(shapely.polygons(corners), dtype=np.object_)


def end_words(matter: Matter, run: Run) -> tuple[str, str, str, str]:
    """Where a run begins and where it ends, each from the left and from the front edge; the left end first.

    Along an axis the end is told so that it lies the length of the run, as the cut list has it, from the beginning.
    """
    low = loops_of(matter.shape)[0].min(axis=0)
    begin, end = sorted((run.points[0], run.points[-1]), key=lambda point: (round(point[0], 4), point[1]))
    steps = [steps_of(float(value), matter.units) for value in (*(begin - low), *(end - low))]
    for k, way in enumerate(("left to right", "front to back")):
        if way_of(run) == way:
            steps[2 + k] = steps[k] + matter.length_steps(run)
    left, front, to_left, to_front = (step_words(step, matter.units) for step in steps)
    return left, front, to_left, to_front


def list_ends(board: Board, matter: Matter, runs: Sequence[Run], room: Rect, view: View) -> None:
    """The ends of slanted runs, which no chain tells, in an empty part of the plan's room if there is one."""
    slanted = [run for run in runs if way_of(run) not in ("left to right", "front to back")]
    if not slanted or len(slanted) > MOST_LISTED:
        return
    rows = [("", "from left", "front", "to left", "front")]
    rows += [(run.mark, *end_words(matter, run)) for run in slanted]
    wide = [max(width_of(row[k], SMALL) for row in rows) + 2.6 for k in range(5)]
    width, height = sum(wide) + 2.0, LEADING * SMALL * (len(rows) + 1) + 3.0
    slab = shapely.Polygon(view.to_paper(loops_of(matter.shape)[0])).buffer(3.0)
    lefts = np.arange(room[2] - width, room[0] - 0.1, -4.0)
    tops = np.arange(room[3], room[1] + height, -4.0)
    corners = [(x, y) for x in lefts.tolist() for y in tops.tolist()]
    areas = np.array([shapely.box(x, y - height, x + width, y) for x, y in corners])
    if not len(areas):
        return
    strokes = shapely.STRtree([*board.strokes, slab])
    free = ~board.covers(areas.tolist())
    free[strokes.query(areas, predicate="intersects")[0]] = False
    if not free.any():
        return
    x, y = corners[int(np.argmax(free))]
    board.text("Slanted or bent runs: where they end", (x + 1.0, y - 1.0 - BODY), BODY, bold=True)
    for k, row in enumerate(rows):
        down = y - 2.0 - BODY - SMALL * LEADING * (k + 0.8)
        for n, word in enumerate(row):
            at = (x + 1.0 + sum(wide[: n + 1]) - 2.6, down) if n else (x + 1.0, down)
            board.text(word, at, SMALL, align="right" if n else "left", layer="words" if k else "faint words")
