"""What tells where one looks and how large it is: the edges by name, the scale bar, the size, the openings' names."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from api.map_ink import Word
from api.map_labels import Box
from api.map_scene import Scene
from api.map_sheet import Sheet, View, around
from api.map_symbols import DARK, GREY, WHITE

__all__ = ["SIZE", "STEPS", "draw_stamps", "fit"]

FloatArray = npt.NDArray[np.float64]

PADDING = (17.0, 31.0, 17.0, 15.0)
"""Room round the slab for the stamps and the scale bar: left, below, right, above."""

SIZE = 7.4
INCH = 0.0254
LONGEST_BAR = 150.0
STEPS = {
    "us": [
        (inches * INCH, f"{inches} in" if inches < 12 else f"{inches // 12} ft") for inches in (3, 6, 12, 24, 60, 120)
    ],
    "si": [(mm / 1000, f"{mm} mm" if mm < 1000 else f"{mm // 1000} m") for mm in (100, 200, 500, 1000, 2000, 5000)],
}
"""Lengths [m] that a scale bar may have, and their names."""


def fit(scene: Scene, box: Box) -> View:
    """The slab as large as it goes into a box of the page with its stamps, at the box's top."""
    low, high = scene.loops[0].min(axis=0), scene.loops[0].max(axis=0)
    corner = np.array([box[0] + PADDING[0], box[1] + PADDING[1]])
    room = np.array([box[2] - PADDING[2], box[3] - PADDING[3]]) - corner
    scale = float(np.min(room / (high - low)))
    aside, down = (room - scale * (high - low)) / (2, 1)
    taken = (box[0], box[1] + float(down), box[2], box[3])
    return View(taken, scale, corner + np.array([aside, down]), low)


def draw_stamps(sheet: Sheet, scene: Scene) -> None:
    """Front edge, back, left and right beside the slab; scale bar and size below it; names in the openings."""
    loop = sheet.view.to_page(scene.loops[0])
    (x0, y0), (x1, y1) = loop.min(axis=0).tolist(), loop.max(axis=0).tolist()
    # The floor under a piece that stands takes the place next to its lower side.
    down = scene.stands.down if scene.stands else (0.0, 0.0)
    front, back, left, right = (4.5 if way > 0.1 else 0.0 for way in (-down[1], down[1], -down[0], down[0]))
    for text, y, edge, bold in (("FRONT EDGE", y0 - 8.5 - front, y0, True), ("back", y1 + 8.5 + back, y1, False)):
        x = _clear_of_worst(sheet, scene, _middle(loop, 1, edge), y, sheet.measure(text, SIZE, bold) / 2)
        sheet.word(Word(text, (x, y), SIZE, bold, DARK if bold else GREY, 0, 0))
    sheet.word(Word("left", (x0 - 9.5 - left, _middle(loop, 0, x0)), SIZE, False, GREY, 0, 0, True))
    sheet.word(Word("right", (x1 + 9.5 + right, _middle(loop, 0, x1)), SIZE, False, GREY, 0, 0, True))
    _scale_and_size(sheet, scene, x0, x1, y0 - 25.0)
    _opening_names(sheet, scene)


def _clear_of_worst(sheet: Sheet, scene: Scene, x: float, y: float, half: float) -> float:
    """Where a word goes along its edge: aside if the mark of the worst place would lie on it."""
    if scene.worst is None:
        return x
    at = sheet.view.to_page(scene.worst.at)
    near = abs(at[0] - x) < half + 9 and abs(at[1] - y) < 13
    return float(at[0]) + half + 11 if near else x


def _middle(loop: FloatArray, axis: int, side: float) -> float:
    """Middle of the part of an edge that reaches a side of its box, along the other axis."""
    near = loop[np.abs(loop[:, axis] - side) < 2.0, 1 - axis]
    return float((near.min() + near.max()) / 2)


def _scale_and_size(sheet: Sheet, scene: Scene, left: float, right: float, y: float) -> None:
    """The scale bar at the slab's left end and its size at the right, or one behind the other below a narrow slab."""
    steps, scale = STEPS[scene.units], sheet.view.scale
    length, name = max((step for step in steps if step[0] * scale <= LONGEST_BAR), default=steps[0])
    needed = length * scale + 22 + sheet.measure(name, SIZE, False) + sheet.measure(scene.size, SIZE, False)
    if needed > right - left:
        left, right = (left + right - needed) / 2, (left + right + needed) / 2
    sheet.word(Word(scene.size, (right, y), SIZE, False, GREY, 1, 0))
    end = left + length * scale
    sheet.ink.box(left, y - 1.7, end, y + 1.7, DARK)
    sheet.ink.box((left + end) / 2, y - 1.0, end - 0.7, y + 1.0, WHITE)
    sheet.taken.append((left, y - 4, end, y + 4))
    sheet.word(Word(name, (end + 4, y), SIZE, False, DARK, -1, 0))


def _opening_names(sheet: Sheet, scene: Scene) -> None:
    """The openings' names in their middles, where they fit."""
    for loop, name in zip(scene.loops[1:], scene.openings, strict=True):
        text = name or "opening"
        p = sheet.view.to_page(loop)
        (width, height), (x, y) = np.ptp(p, axis=0), ((p.min(axis=0) + p.max(axis=0)) / 2).tolist()
        if sheet.measure(text, SIZE, False) + 8 < width and height > 14:
            sheet.word(Word(text, (x, y), SIZE, False, GREY, 0, 0))
            sheet.taken[-1] = around((x, y), sheet.measure(text, SIZE, False) / 2, 5)
