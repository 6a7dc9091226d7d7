"""A plan of the slab on a sheet: a window onto the drawing at true size, the stamps of its sides and a scale bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from api.figures import Units
from api.map_marks import loops_of
from api.map_stamps import STEPS
from api.sheet.board import SMALL, Board, TextBox
from api.sheet.paper import Rect
from api.sheet.pens import LAYERS, Layer
from meshing.shape import Shape

__all__ = ["UNIT", "View", "around", "open_window", "scale_bar", "view_in"]

FloatArray = npt.NDArray[np.float64]
UNIT = {"us": 0.0254, "si": 0.001}
"""The unit of the drawing at true size [m]: inches or millimetres."""
LONGEST_BAR = 60.0


@dataclass(frozen=True, eq=False, slots=True)
class View:
    """How metres become millimetres of paper: origin + 1000 / scale * (xy - low); high: the other corner [m]."""

    scale: float
    origin: FloatArray
    low: FloatArray
    high: FloatArray

    def to_paper(self, points: npt.ArrayLike) -> FloatArray:
        """Points (..., 2) [m] on the paper [mm]."""
        return np.asarray(self.origin + 1000 / self.scale * (np.asarray(points, dtype=np.float64) - self.low))

    @property
    def rect(self) -> Rect:
        """What the slab takes of the paper."""
        (x0, y0), (x1, y1) = self.to_paper(self.low).tolist(), self.to_paper(self.high).tolist()
        return x0, y0, x1, y1


def view_in(shape: Shape, room: Rect, scale: float) -> View:
    """The slab at a scale in the middle of a room."""
    outline = loops_of(shape)[0]
    low, high = outline.min(axis=0), outline.max(axis=0)
    size = 1000 / scale * (high - low)
    middle = np.array([(room[0] + room[2]) / 2, (room[1] + room[3]) / 2])
    return View(scale, middle - size / 2, low, high)


def open_window(board: Board, view: View, units: Units, shown: Sequence[Layer], status: int) -> None:
    """A window onto the drawing at true size, where only some layers are to be seen."""
    x0, y0, x1, y1 = view.rect
    air = 1.5
    middle = (view.low + view.high) / 2 / UNIT[units]
    window = board.layout.add_viewport(
        center=((x0 + x1) / 2, (y0 + y1) / 2),
        size=(x1 - x0 + 2 * air, y1 - y0 + 2 * air),
        view_center_point=(float(middle[0]), float(middle[1])),
        view_height=(y1 - y0 + 2 * air) * view.scale / 1000 / UNIT[units],
        status=status,
    )
    window.dxf.layer = "windows"
    window.frozen_layers = [layer for layer in LAYERS if layer not in shown]


def around(board: Board, rect: Rect, off: Rect = (0.0, 0.0, 0.0, 0.0), *, small: bool = False) -> None:
    """Front edge, back, left and right beside a plan that fills rect, each so far off: left, below, right, above."""
    x0, y0, x1, y1 = rect
    size = SMALL * (0.85 if small else 1.0)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    board.text("FRONT EDGE", (x, y0 - off[1] - 1.9 * size), size, align="middle", bold=True)
    board.text("back", (x, y1 + off[3] + 0.9 * size), size, align="middle", layer="faint words")
    board.text("left", (x0 - off[0] - 0.9 * size, y), size, align="middle", turn=90, layer="faint words")
    board.text("right", (x1 + off[2] + 1.9 * size, y), size, align="middle", turn=90, layer="faint words")


def scale_bar(board: Board, view: View, units: Units, at: tuple[float, float]) -> TextBox:
    """A bar of a round length with its left end at a point, so that a print at another size betrays itself."""
    per_metre = 1000 / view.scale
    length, name = max((step for step in STEPS[units] if step[0] * per_metre <= LONGEST_BAR), default=STEPS[units][0])
    x, y = at
    end = x + length * per_metre
    board.outline([(x, y), (end, y), (end, y + 1.2), (x, y + 1.2)], "words")
    half = (x + end) / 2
    board.fill([(x, y), (half, y), (half, y + 1.2), (x, y + 1.2)], "words")
    board.keep_clear(shapely.box(x, y, end, y + 1.2))
    return board.text(name, (end + 1.5, y - 0.2), SMALL)
