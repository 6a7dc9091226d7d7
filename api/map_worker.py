"""What a picture's own process does: look for the system libraries, load pyvista once, draw scene after scene.

Loading or first using OpenGL without its libraries kills a process without a Python error, so only a process that may
die loads pyvista, and asks for each library by name before.
"""

from __future__ import annotations

import ctypes
import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from api.map_scene import Scene
from api.map_shape import ShapeScene
from api.progress import Progress, silent
from api.steel.use_scene import UseScene

if TYPE_CHECKING:
    from api.map_draw import Press

__all__ = ["LIBRARIES", "draw_map", "make_ready"]

LIBRARIES = {"libGL.so.1": "libgl1", "libEGL.so.1": "libegl1"}
"""Libraries that VTK opens for itself when it first draws, and the Debian packages that bring them."""


def make_ready(wide: int, progress: Progress = silent) -> tuple[str, ...]:
    """Load everything and open the window, so that no picture need wait; or else tell which libraries are missing."""
    missing = tuple(library for library in LIBRARIES if not _loads(library))
    if not missing:
        _press(wide)
    return missing


def draw_map(scene: Scene | ShapeScene | UseScene, path: Path, wide: int, progress: Progress = silent) -> None:
    """Draw a scene into a PNG file, wide pixels wide."""
    _press(wide).print(scene, path)


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


# One window a process: opening it costs a second, using it again costs nothing.
@lru_cache(maxsize=1)
def _press(wide: int) -> Press:
    # Before VTK is loaded: draw by EGL, which needs no display, and leave no shaders in anybody's home.
    os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = "vtkEGLRenderWindow"
    os.environ["MESA_SHADER_CACHE_DISABLE"] = "true"
    from api.map_draw import Press

    return Press(wide)
