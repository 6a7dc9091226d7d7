"""The shape: outline and openings with their dimensions, radii and centre of gravity, and the facts of the piece."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from api.map_marks import loops_of
from api.sheet.board import BODY, LEADING, SMALL, Board, corners_of_text
from api.sheet.callouts import call_out
from api.sheet.chains import Chain, draw_chain, edged_chain, width_of_chain
from api.sheet.frame import draw_heading
from api.sheet.lengths import length_mark
from api.sheet.lettering import width_of, wrapped
from api.sheet.matter import Matter
from api.sheet.paper import Paper, Rect, scale_for
from api.sheet.view import View, around, open_window, scale_bar, view_in
from meshing.shape import Arc, Line, Loop

__all__ = ["draw_shape", "shape_scale"]

FloatArray = npt.NDArray[np.float64]
FACTS = 62.0
"""Width of the column of facts [mm]."""
STAMP = 5.0
SAME = 5e-4
LEAST_SIDE = 0.02
"""A slanted side shorter than this is no dimension of its own [m]."""


def shape_scale(matter: Matter, paper: Paper) -> int:
    """The scale at which the shape with its chains goes on the paper beside the facts."""
    low, high = _corners(matter)
    room = _plan_room(matter, paper)
    return scale_for((float(high[0] - low[0]), float(high[1] - low[1])), (room[2] - room[0], room[3] - room[1]))


def draw_shape(board: Board, matter: Matter, scale: int) -> None:
    """Draw the sheet of the shape."""
    draw_heading(board, "Shape, as you look at the show face", ())
    view = view_in(matter.shape, _plan_room(matter, board.paper), scale)
    open_window(board, view, matter.units, ("outline", "openings", "recesses"), 2)
    chains = _chains(matter)
    for chain in chains:
        draw_chain(board, view, chain, matter.units)
    a, b, c, d = _gutters(chains, matter)
    around(board, view.rect, (a - STAMP, b - STAMP - 1.5, c - STAMP, d - STAMP))
    left, low, right, high = board.paper.room
    scale_bar(board, view, matter.units, (left, low))
    _centers(board, matter, view)
    loops = [shapely.LineString(view.to_paper(np.vstack([loop, loop[:1]]))) for loop in loops_of(matter.shape)]
    rings = [shapely.LinearRing(view.to_paper(np.asarray(corners))) for corners, *_ in matter.regions]
    edges = shapely.STRtree([*loops, *rings, *board.strokes])
    for number, loop in enumerate(matter.shape.loops):
        _sides(board, matter, view, loop, inside=number == 0)
        for words, spot in _round_words(matter, loop, number):
            call_out(board, words, view.to_paper(spot), edges, board.paper.room)
    for ring, (_, name, _) in zip(rings, matter.regions, strict=True):
        at = ring.interpolate(0.1, normalized=True)
        call_out(board, name, (at.x, at.y), edges, board.paper.room)
    _balance(board, matter, view, edges)
    _facts(board, matter, (right - FACTS, high - 3.2 * 1.9))


def _corners(matter: Matter) -> tuple[FloatArray, FloatArray]:
    outline = loops_of(matter.shape)[0]
    return outline.min(axis=0), outline.max(axis=0)


def _plan_room(matter: Matter, paper: Paper) -> Rect:
    left, low, right, high = paper.room
    a, b, c, d = _gutters(_chains(matter), matter)
    return left + a, low + b + 3.0, right - c - FACTS - 4.0, high - d - 3.2 * 1.9 - 2.0


def _gutters(chains: Sequence[Chain], matter: Matter) -> Rect:
    need = {(axis, side): 2.0 for axis in (0, 1) for side in (-1, 1)}
    for chain in chains:
        need[chain.axis, chain.side] = width_of_chain(chain, matter.units)
    return need[1, -1] + STAMP, need[0, -1] + STAMP + 1.5, need[1, 1] + STAMP, need[0, 1] + STAMP


def _chains(matter: Matter) -> list[Chain]:
    """The openings' places on the sides that they lie nearer to, the outline's corners on the other sides."""
    low, high = _corners(matter)
    loops = loops_of(matter.shape)
    chains = []
    for axis in (0, 1):
        across = 1 - axis
        features = [spot for k, loop in enumerate(loops) if k for spot in _features(matter, k, loop)]
        outline = _features(matter, 0, loops[0]) if _circle(matter.shape.outline) is None else []
        side = 1
        if features:
            middle = float(np.mean([spot[across] for spot in features]))
            side = -1 if middle <= (low[across] + high[across]) / 2 else 1
            chains.append(_chain(matter, features, axis, side))
        inner = [spot for spot in outline if low[axis] + SAME < spot[axis] < high[axis] - SAME]
        if inner or not features:
            chains.append(_chain(matter, inner, axis, -side))
    return chains


def _chain(matter: Matter, spots: Sequence[FloatArray], axis: int, side: int) -> Chain:
    low, high = _corners(matter)
    across = 1 - axis
    edge = low[across] if side < 0 else high[across]
    found: dict[float, float] = {}
    for spot in sorted(spots, key=lambda one: float(one[axis])):
        place = next((known for known in found if abs(known - spot[axis]) < SAME), float(spot[axis]))
        best = found.get(place, float(spot[across]))
        found[place] = min(best, float(spot[across]), key=lambda value: abs(value - edge))
    return edged_chain(matter.shape, axis, side, found)


def _features(matter: Matter, number: int, points: FloatArray) -> list[FloatArray]:
    """Spots of a loop that a tape is laid to: corners as if sharp, the centre of a circle, else the extremes."""
    loop = matter.shape.loops[number]
    if (circle := _circle(loop)) is not None:
        return [np.asarray(circle[0])]
    if matter.corners[number]:
        return [np.asarray(corner[:2]) for corner in matter.corners[number]]
    if any(isinstance(curve, Line) for curve in loop.curves):
        return [np.asarray(curve.start) for curve in loop.curves]
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2
    return [np.array([x, middle[1]]) for x in (low[0], high[0])] + [np.array([middle[0], y]) for y in (low[1], high[1])]


def _circle(loop: Loop) -> tuple[tuple[float, float], float] | None:
    """Centre and diameter of a loop that is one circle."""
    arcs = [curve for curve in loop.curves if isinstance(curve, Arc) and curve.is_circle]
    if len(arcs) != len(loop.curves) or not arcs:
        return None
    if any(math.dist(arc.center, arcs[0].center) > 1e-6 for arc in arcs):
        return None
    return arcs[0].center, 2 * math.hypot(*arcs[0].u)


def _round_words(matter: Matter, loop: Loop, number: int) -> Iterator[tuple[str, FloatArray]]:
    """What is round about a loop, in words, and a spot on it: a diameter, an oval's size, radii."""
    units = matter.units
    if (circle := _circle(loop)) is not None:
        (x, y), diameter = circle
        spot = np.array([x, y]) + diameter / 2 * np.array([math.cos(math.pi / 4), math.sin(math.pi / 4)])
        name = f"{matter.openings[number - 1]}, " if number else ""
        yield f"{name}diameter {length_mark(diameter, units, unit=False)}", spot
        return
    arcs = [curve for curve in loop.curves if isinstance(curve, Arc)]
    if arcs and all(not arc.is_circle for arc in arcs):
        width, depth = (2 * max(math.hypot(*arcs[0].u), 0)), 2 * math.hypot(*arcs[0].v)
        yield (
            f"oval {length_mark(width, units, unit=False)} x {length_mark(depth, units, unit=False)}",
            arcs[0].point(np.array([0.5]))[0],
        )
        return
    words = [f"R {length_mark(math.hypot(*arc.u), units, unit=False)}" for arc in arcs if arc.is_circle]
    count = Counter(words)
    for arc in arcs:
        if not arc.is_circle:
            continue
        word = f"R {length_mark(math.hypot(*arc.u), units, unit=False)}"
        if number and count[word] > 1:
            yield f"{word}, {count.pop(word)} corners", arc.point(np.array([0.5]))[0]
        elif count[word]:
            yield word, arc.point(np.array([0.5]))[0]


def _sides(board: Board, matter: Matter, view: View, loop: Loop, *, inside: bool) -> None:
    """The length of each slanted side along it; what runs along the axes is in the chains."""
    for curve in loop.curves:
        if not isinstance(curve, Line) or curve.length < LEAST_SIDE:
            continue
        start, end = np.asarray(curve.start), np.asarray(curve.end)
        along = (end - start) / curve.length
        if min(abs(along)) < 0.004:
            continue
        middle = view.to_paper((start + end) / 2)
        turn = math.degrees(math.atan2(along[1], along[0]))
        inwards = np.array([-along[1], along[0]]) if inside else np.array([along[1], -along[0]])
        turn = turn - 180 if turn > 90.5 else turn + 180 if turn <= -89.5 else turn
        up = np.array([-math.sin(math.radians(turn)), math.cos(math.radians(turn))])
        at = middle + 1.0 * inwards + (0.0 if up @ inwards > 0 else -SMALL) * up
        words = length_mark(curve.length, matter.units, unit=False)
        area = shapely.Polygon(corners_of_text(words, (float(at[0]), float(at[1])), SMALL, align="middle", turn=turn))
        if width_of(words, SMALL) < curve.length * 1000 / view.scale and board.is_free(area):
            board.text(words, (float(at[0]), float(at[1])), SMALL, align="middle", turn=turn, layer="dimensions")


def _centers(board: Board, matter: Matter, view: View) -> None:
    """Names of the openings in them, and the centre lines of round ones."""
    for number, (loop, name) in enumerate(zip(loops_of(matter.shape)[1:], matter.openings, strict=True), 1):
        p = view.to_paper(loop)
        (width, height), (x, y) = np.ptp(p, axis=0).tolist(), ((p.min(axis=0) + p.max(axis=0)) / 2).tolist()
        if _circle(matter.shape.loops[number]) is not None:
            reach = width / 2 + 1.2
            board.line([(x - reach, y), (x + reach, y)], "dimensions", "centre line")
            board.line([(x, y - reach), (x, y + reach)], "dimensions", "centre line")
        elif width_of(name, SMALL) + 2 < width and height > 2.5 * SMALL:
            board.text(name, (x, y - SMALL / 2), SMALL, align="middle", layer="faint words")


def _balance(board: Board, matter: Matter, view: View, edges: shapely.STRtree) -> None:
    """The centre of gravity."""
    x, y = view.to_paper(np.asarray(matter.center)).tolist()
    board.circle((x, y), 1.3, "words")
    board.fill([(x, y), (x + 1.3, y), (x + 0.92, y + 0.92), (x, y + 1.3)], "words")
    board.fill([(x, y), (x - 1.3, y), (x - 0.92, y - 0.92), (x, y - 1.3)], "words")
    board.keep_clear(shapely.Point(x, y).buffer(1.5))
    call_out(board, "balances here", (x, y), edges, board.paper.room, layer="faint words", gap=1.6)


def _facts(board: Board, matter: Matter, corner: tuple[float, float]) -> None:
    """The column of facts: a small label over each value."""
    x, y = corner
    for label, value in matter.facts:
        board.text(label, (x, y - SMALL), SMALL, layer="faint words")
        lines = wrapped(value, FACTS, BODY)
        for k, line in enumerate(lines):
            board.text(line, (x, y - SMALL - BODY * (1.5 + LEADING * k)), BODY)
        y -= SMALL + BODY * (1.5 + LEADING * (len(lines) - 1)) + 2.6
