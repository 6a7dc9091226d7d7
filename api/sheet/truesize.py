"""The drawing at true size: outline and openings as closed curves with true arcs, runs as lines, in the shop's unit."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from ezdxf.layouts.layout import Modelspace

from api.sheet.matter import Matter
from api.sheet.pens import Layer
from api.sheet.view import UNIT
from fem.steel.model import Run
from meshing.shape import Arc, Loop

__all__ = ["bulged", "draw_true_size", "wires_of"]

FloatArray = npt.NDArray[np.float64]
FLAT = 1e-5
"""An oval is drawn as true arcs that keep within this of it [m]."""
MARK = 0.012
"""Height of the marks beside the runs [m]."""
Bulged = list[tuple[float, float, float]]


def draw_true_size(space: Modelspace, matter: Matter) -> None:
    """The slab and its runs, each layer by itself."""
    unit = UNIT[matter.units]
    for number, loop in enumerate(matter.shape.loops):
        points = [(x / unit, y / unit, bulge) for x, y, bulge in bulged(loop)]
        layer: Layer = "openings" if number else "outline"
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
    for corners, _, _ in matter.regions:
        outline = [(x / unit, y / unit) for x, y in corners]
        space.add_lwpolyline(outline, close=True, dxfattribs={"layer": "recesses"})
    for run in matter.runs:
        name: Layer = "runs show face" if run.face == "show" else "runs underside"
        for wire in wires_of(run):
            space.add_lwpolyline((wire / unit).tolist(), dxfattribs={"layer": name})
        _mark(space, run, unit)


def bulged(loop: Loop) -> Bulged:
    """The corners of a closed curve (x, y, bulge) [m]: bulge = tan(angle / 4) of the arc to the next, + left."""
    corners: Bulged = []
    for curve in loop.curves:
        if not isinstance(curve, Arc):
            corners.append((*curve.start, 0.0))
        elif curve.is_circle:
            corners.append((*curve.start, math.tan(curve.turn / 4)))
        else:
            corners += _oval(curve)
    return corners


def wires_of(run: Run) -> list[FloatArray]:
    """The wires of a run side by side, each through as many points as the run [m]."""
    points = np.asarray(run.points, dtype=np.float64)
    steel = run.steel
    if steel.wires < 2 or steel.width <= 0 or len(points) != 2:
        return [points]
    along = points[1] - points[0]
    across = np.array([-along[1], along[0]]) / math.hypot(*along)
    half = (steel.width - steel.diameter) / 2
    return [points + shift * across for shift in np.linspace(-half, half, steel.wires)]


def _oval(arc: Arc) -> Bulged:
    """A piece of an ellipse as arcs of circles through its own points, each tangent on average to both neighbours."""
    count = 2
    while True:
        count *= 2
        s = np.linspace(0.0, 1.0, count + 1)
        ends, middles = arc.point(s), arc.point((s[1:] + s[:-1]) / 2)
        chord = ends[1:] - ends[:-1]
        length = np.hypot(*chord.T)
        offset = middles - (ends[1:] + ends[:-1]) / 2
        # The height of the arc over its chord, + to the right of it: an arc that turns left bulges to the right.
        height = (chord[:, 1] * offset[:, 0] - chord[:, 0] * offset[:, 1]) / length
        bulges = 2 * height / length
        if count >= 256 or _off(arc, s, ends, bulges) < FLAT:
            return [(float(x), float(y), float(b)) for (x, y), b in zip(ends[:-1], bulges, strict=True)]


def _off(arc: Arc, s: FloatArray, ends: FloatArray, bulges: FloatArray) -> float:
    """How far the arcs stray from the ellipse at their quarters [m]."""
    chord = ends[1:] - ends[:-1]
    length = np.hypot(*chord.T)
    radius = length * (1 + bulges**2) / (4 * bulges)
    normal = np.column_stack([-chord[:, 1], chord[:, 0]]) / length[:, None]
    center = (ends[1:] + ends[:-1]) / 2 + (radius * (1 - bulges**2) / (1 + bulges**2))[:, None] * normal
    quarter = arc.point(s[:-1] + np.diff(s) / 4)
    return float(np.max(np.abs(np.hypot(*(quarter - center).T) - np.abs(radius))))


def _mark(space: Modelspace, run: Run, unit: float) -> None:
    """The run's mark beside its middle."""
    points = np.asarray(run.points, dtype=np.float64)
    k = int(np.argmax(np.hypot(*np.diff(points, axis=0).T)))
    along = points[k + 1] - points[k]
    angle = math.degrees(math.atan2(along[1], along[0]))
    angle = angle - 180 if angle > 90.5 else angle + 180 if angle <= -89.5 else angle
    up = np.array([-math.sin(math.radians(angle)), math.cos(math.radians(angle))])
    at = ((points[k] + points[k + 1]) / 2 + 0.3 * MARK * up) / unit
    layer: Layer = "marks show face" if run.face == "show" else "marks underside"
    text = space.add_text(run.mark, height=MARK / unit, rotation=angle, dxfattribs={"layer": layer, "style": "plain"})
    text.set_placement((float(at[0]), float(at[1])))
