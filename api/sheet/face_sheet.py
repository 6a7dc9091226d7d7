"""The plan of one face: its runs at scale, each with mark and length, and chains that tell where each one lies."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from api.figures import Units
from api.map_marks import loops_of
from api.sheet.board import BODY, SMALL, Board
from api.sheet.chains import Chain, draw_chain, edged_chain, width_of_chain
from api.sheet.frame import draw_heading
from api.sheet.lettering import width_of
from api.sheet.matter import Matter
from api.sheet.paper import Paper, Rect, scale_for
from api.sheet.run_labels import draw_labels, list_ends
from api.sheet.section import Section
from api.sheet.section_view import draw_cut_mark
from api.sheet.view import View, around, open_window, scale_bar, view_in
from api.sheet.ways import layer_words, way_of
from fem.steel.model import Face, Run

__all__ = ["draw_face", "face_scale", "face_title"]

FloatArray = npt.NDArray[np.float64]
STAMP = 5.0
"""Room for the words round a plan [mm]."""
LENGTHS = "where a mark stands alone its length is in the list of runs"
SAME = 5e-4
"""Runs whose places differ by less lie on one line [m]."""


def face_title(face: Face) -> str:
    """A face and how it is looked at."""
    if face == "show":
        return "Show face: its steel, as you look at the show face"
    return "Underside: its steel, as seen from the show face, through the slab"


def face_scale(matter: Matter, paper: Paper, faces: Sequence[Face]) -> int:
    """The scale at which every face's plan with its chains goes on the paper."""
    return max(_scale(matter, paper, face) for face in faces)


def _scale(matter: Matter, paper: Paper, face: Face) -> int:
    low, high = _corners(matter)
    room = _plan_room(matter, paper, face)
    return scale_for((float(high[0] - low[0]), float(high[1] - low[1])), (room[2] - room[0], room[3] - room[1]))


def _corners(matter: Matter) -> tuple[FloatArray, FloatArray]:
    outline = loops_of(matter.shape)[0]
    return outline.min(axis=0), outline.max(axis=0)


def _gutters(chains: Sequence[Chain], units: Units) -> Rect:
    """Room beside the plan on each side: for the chains, for the words round them."""
    need = {(axis, side): 2.0 for axis in (0, 1) for side in (-1, 1)}
    for chain in chains:
        need[chain.axis, chain.side] = width_of_chain(chain, units)
    return (
        need[1, -1] + STAMP,
        need[0, -1] + STAMP + 1.5,
        need[1, 1] + STAMP,
        need[0, 1] + STAMP,
    )


def _plan_room(matter: Matter, paper: Paper, face: Face) -> Rect:
    """Where the plan itself may lie."""
    left, low, right, high = paper.room
    a, b, c, d = _gutters(_chains(matter, face), matter.units)
    lines = len(list(layer_words(matter.runs_of(face), matter.units)))
    heading = 3.2 * 1.9 + BODY * 1.75 * max(lines, 1) + 2.0
    return left + a, low + b + 3.0, right - c, high - d - heading


def draw_face(board: Board, matter: Matter, face: Face, scale: int, section: Section | None) -> int:
    """Draw the plan of a face, and where the section is taken; how many runs had no room for their length."""
    runs = matter.runs_of(face)
    lines = list(layer_words(runs, matter.units)) or ["No steel on this face."]
    draw_heading(board, face_title(face), lines)
    chains = _chains(matter, face)
    view = view_in(matter.shape, _plan_room(matter, board.paper, face), scale)
    layer = "runs show face" if face == "show" else "runs underside"
    open_window(board, view, matter.units, ("outline", "openings", "recesses", layer), 2)  # type: ignore[arg-type]
    for chain in chains:
        draw_chain(board, view, chain, matter.units)
    a, b, c, d = _gutters(chains, matter.units)
    around(board, view.rect, (a - STAMP, b - STAMP - 1.5, c - STAMP, d - STAMP))
    left, low, *_ = board.paper.room
    scale_bar(board, view, matter.units, (left, low))
    _names_of_openings(board, matter, view)
    if section is not None:
        draw_cut_mark(board, section, view)
    shortened = draw_labels(board, matter, view, runs)
    left, low, right, high = board.paper.room
    list_ends(board, matter, runs, (left, low + 6.0, right, high - 12.0), view)
    if shortened:
        board.text(LENGTHS, (right, low), SMALL, align="right", layer="faint words")
    return shortened


def _chains(matter: Matter, face: Face) -> list[Chain]:
    """The chains beside the plan: runs from left to right by their distance from the front, others from the left."""
    low, high = _corners(matter)
    chains = []
    for axis, way in ((1, "left to right"), (0, "front to back")):
        runs = [run for run in matter.runs_of(face) if way_of(run) == way]
        across = 1 - axis
        for side in (-1, 1):
            near = [run for run in runs if _side(run, across, low, high) == side]
            if near:
                chains.append(_chain(matter, near, axis, side))
    return chains


def _side(run: Run, across: int, low: FloatArray, high: FloatArray) -> int:
    """The side of the slab to which a run comes nearer."""
    ends = [point[across] for point in run.points]
    return -1 if min(ends) - low[across] <= high[across] - max(ends) + 1e-6 else 1


def _chain(matter: Matter, runs: Sequence[Run], axis: int, side: int) -> Chain:
    """One chain, from the edge at the front or the left to the one over against it."""
    across = 1 - axis
    low, high = _corners(matter)
    edge = low[across] if side < 0 else high[across]
    found: dict[float, float] = {}
    for run in sorted(runs, key=lambda one: _place(one, axis)):
        ends = [point[across] for point in run.points]
        end = min(ends) if side < 0 else max(ends)
        place = next((known for known in found if abs(known - _place(run, axis)) < SAME), _place(run, axis))
        best = found.get(place, end)
        found[place] = min(best, end, key=lambda value: abs(value - edge))
    return edged_chain(matter.shape, axis, side, found)


def _place(run: Run, axis: int) -> float:
    return (run.points[0][axis] + run.points[1][axis]) / 2


def _names_of_openings(board: Board, matter: Matter, view: View) -> None:
    for loop, name in zip(loops_of(matter.shape)[1:], matter.openings, strict=True):
        p = view.to_paper(loop)
        (width, height), (x, y) = np.ptp(p, axis=0).tolist(), ((p.min(axis=0) + p.max(axis=0)) / 2).tolist()
        if width_of(name, SMALL) + 2 < width and height > 2.5 * SMALL:
            board.text(name, (x, y - SMALL / 2), SMALL, align="middle", layer="faint words")
