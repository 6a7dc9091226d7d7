"""A composed page becomes a picture: the one module that talks to pyvista. Import it only in a process that may die.

A machine without the system libraries for OpenGL kills the process that loads or first uses them, without a Python
error: api/map_worker.py runs in one for that.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import matplotlib
import numpy as np
import numpy.typing as npt
import pyvista
from PIL import Image
from vtkmodules.vtkRenderingCore import vtkTextActor, vtkTextProperty, vtkTextRenderer

from api.map_ink import Ink, Word
from api.map_page import PAGE, compose
from api.map_scale import SCALE_END, scale_colors
from api.map_scene import Scene
from api.map_shape import ShapeScene
from api.map_shape_page import compose_shape
from api.steel.use_page import compose_use
from api.steel.use_scene import UseScene

__all__ = ["Press"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

FONT_FROM_FILE = 4
"""VTK_FONT_FILE."""


class Press:
    """Draws one scene after another with one window; wide is the width of a picture in pixels."""

    def __init__(self, wide: int) -> None:
        """Open the window, off screen, and draw next to nothing: the first picture takes a second more."""
        self._dots = wide / PAGE[0]
        self._size = (wide, round(wide * PAGE[1] / PAGE[0]))
        self._plotter = pyvista.Plotter(off_screen=True, window_size=list(self._size))
        # All ink has soft edges of its own (api/map_ink.py), and the coloured grid's edge lies under the outline.
        self._plotter.disable_anti_aliasing()
        # Soft edges are mixed in the order in which they were put down, not averaged over all layers.
        self._plotter.renderer.SetUseOIT(False)
        self._plotter.set_background("white")  # type: ignore[arg-type]  # pyvista's wrapper hides the signature
        self._warm_up()

    def print(self, scene: Scene | ShapeScene | UseScene, path: Path) -> None:
        """Draw the scene into a PNG file."""
        dot = 1 / self._dots
        if isinstance(scene, UseScene):
            page = compose_use(scene, measure, dot)
        elif isinstance(scene, ShapeScene):
            page = compose_shape(scene, measure, dot)
        else:
            page = compose(scene, measure, dot)
        shot = self._shot(page.ink, page.field, page.triangles, page.share)
        resolution = 72 * self._dots
        Image.fromarray(shot).save(path, format="PNG", dpi=(resolution, resolution), compress_level=3)

    def _shot(self, ink: Ink, field: FloatArray, triangles: IntArray, share: FloatArray) -> npt.NDArray[np.uint8]:
        """The picture (rows, columns, 3) of a page with a coloured grid under its ink."""
        plotter = self._plotter
        plotter.clear_actors()
        if len(triangles):
            self._field(field, triangles, share)
        self._ink(ink)
        for word in ink.words:
            actor = _text_actor(word, self._dots)
            plotter.add_actor(actor, render=False, reset_camera=False)  # type: ignore[arg-type]  # as above
        self._aim(ink.layer)
        # A screenshot alone shows what was drawn last; before the first screenshot this does nothing.
        plotter.render()
        return np.asarray(plotter.screenshot(None, return_img=True), dtype=np.uint8)

    def close(self) -> None:
        """Close the window."""
        self._plotter.close()

    def _warm_up(self) -> None:
        ink = Ink(1 / self._dots)
        ink.disc((0, 0), 1, (0, 0, 0))
        ink.word(Word("a", (9, 9), 9))
        corner = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
        self._shot(ink, corner, np.array([[0, 1, 2]]), np.zeros(3))

    def _field(self, points: FloatArray, triangles: IntArray, share: FloatArray) -> None:
        """The coloured grid; plain grey if there is no share, for the slab tips."""
        grid = _surface(np.column_stack([points, np.zeros(len(points))]), triangles)
        if len(share) == 0:
            self._plotter.add_mesh(grid, color=(0.92, 0.925, 0.93), lighting=False, reset_camera=False, render=False)
            return
        colors = np.column_stack([scale_colors(512), np.full(512, 255, dtype=np.uint8)])
        table = pyvista.LookupTable(values=colors, scalar_range=(0.0, SCALE_END))
        self._plotter.add_mesh(
            grid,
            scalars=share,
            cmap=table,
            lighting=False,
            show_scalar_bar=False,
            reset_camera=False,
            render=False,
        )

    def _ink(self, ink: Ink) -> None:
        mesh = _surface(np.concatenate(ink.vertices), np.concatenate(ink.triangles))
        self._plotter.add_mesh(
            mesh,
            scalars=np.concatenate(ink.colors),  # type: ignore[arg-type]  # bytes are colours, whatever the hint says
            rgb=True,
            lighting=False,
            show_scalar_bar=False,
            reset_camera=False,
            render=False,
        )

    def _aim(self, layers: int) -> None:
        """Look straight at the page, one point of it one point of the camera, the last layer nearest."""
        camera = self._plotter.camera
        middle = (PAGE[0] / 2, PAGE[1] / 2)
        camera.parallel_projection = True
        camera.focal_point = (*middle, 0.0)
        camera.position = (*middle, layers + 10.0)
        camera.up = (0.0, 1.0, 0.0)
        camera.parallel_scale = PAGE[1] / 2
        camera.clipping_range = (1.0, layers + 20.0)


def measure(text: str, size: float, bold: bool) -> float:
    """Width of a text in points."""
    return _measured(text, bold) * size


@lru_cache(maxsize=4096)
def _measured(text: str, bold: bool) -> float:
    """Width of a text set 1 point high, measured at 40 pixels."""
    box = [0, 0, 0, 0]
    vtkTextRenderer.GetInstance().GetBoundingBox(_style(Word(text, (0, 0), 40, bold), 40), text, box, 72)
    return (box[1] - box[0] + 1) / 40


def _text_actor(word: Word, dots: float) -> vtkTextActor:
    actor = vtkTextActor()
    actor.SetInput(word.text)
    actor.SetTextProperty(_style(word, round(word.size * dots)))
    x, y = (c * dots for c in word.at)
    actor.SetPosition(round(x), round(y))
    return actor


def _style(word: Word, pixels: int) -> vtkTextProperty:
    style = vtkTextProperty()
    style.SetFontSize(pixels)
    font = _font_file(word.bold)
    if font:
        style.SetFontFamily(FONT_FROM_FILE)
        style.SetFontFile(font)
    else:
        style.SetFontFamilyToArial()
        style.SetBold(word.bold)
    style.SetColor(*(c / 255 for c in word.color))
    style.SetOrientation(90 if word.turned else 0)
    style.SetJustification(word.across + 1)
    style.SetVerticalJustification(word.up + 1)
    return style


@lru_cache(maxsize=2)
def _font_file(bold: bool) -> str:
    """The font of matplotlib, which pyvista brings along: it has more letters than VTK's own; "" if it is gone."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name
    return str(path) if path.is_file() else ""


def _surface(points: FloatArray, triangles: IntArray) -> pyvista.PolyData:
    faces = np.column_stack([np.full(len(triangles), 3), triangles])
    return pyvista.PolyData(points, faces)
