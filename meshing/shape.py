"""The shape of a slab: closed loops of straight lines and true arcs, in metres.

Everything above this module asks a curve for points and tangents, so that a rounded corner, a round table and an
oval opening stay what they are: no mechanics and no mesh knows a polygon that merely stands in for them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["Arc", "Curve", "Line", "Loop", "Shape", "ellipse", "polygon", "rectangle"]

FloatArray = npt.NDArray[np.float64]
Point = tuple[float, float]


# Gauss's rule for the length of an elliptic arc.
_PLACES, _WEIGHTS = np.polynomial.legendre.leggauss(32)


@dataclass(frozen=True, slots=True)
class Line:
    """The straight curve from start to end [m]."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length [m]."""
        return math.dist(self.start, self.end)

    @property
    def turn(self) -> float:
        """Angle through which the tangent turns from start to end [rad]."""
        return 0.0

    def point(self, s: FloatArray) -> FloatArray:
        """Points at the parameters s (k,) in [0, 1]: (k, 2) [m]."""
        start, end = np.asarray(self.start), np.asarray(self.end)
        return np.asarray(start + np.multiply.outer(s, end - start), dtype=np.float64)

    def derivative(self, s: FloatArray) -> FloatArray:
        """Derivative of the point by s: (k, 2) [m]."""
        step = np.subtract(self.end, self.start)
        return np.broadcast_to(step, (*np.shape(s), 2)).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of an ellipse: center + u cos a + v sin a, with a running from begin to finish [rad].

    u and v [m] are its two half axes, at right angles; equally long for a circle. finish > begin runs from u towards v.
    """

    center: Point
    u: Point
    v: Point
    begin: float
    finish: float

    @property
    def start(self) -> Point:
        """First point [m]."""
        return self._at(self.begin)

    @property
    def end(self) -> Point:
        """Last point [m]."""
        return self._at(self.finish)

    @property
    def is_circle(self) -> bool:
        """Whether the two half axes are equally long (to 1e-9)."""
        return math.isclose(math.hypot(*self.u), math.hypot(*self.v), rel_tol=1e-9)

    @property
    def smallest_radius(self) -> float:
        """Smallest radius of curvature on the whole ellipse [m]: b2 / a."""
        b, a = sorted((math.hypot(*self.u), math.hypot(*self.v)))
        return b * b / a

    @property
    def turn(self) -> float:
        """Angle through which the tangent turns [rad], counter-clockwise positive."""
        handed = math.copysign(1.0, self.u[0] * self.v[1] - self.u[1] * self.v[0])
        return handed * (self.finish - self.begin)

    @property
    def length(self) -> float:
        """Length [m]; of an ellipse by Gauss's rule, to 1e-10 for the ellipses of this trade."""
        if self.is_circle:
            return math.hypot(*self.u) * abs(self.finish - self.begin)
        return float(np.hypot(*self.derivative((_PLACES + 1) / 2).T) @ _WEIGHTS / 2)

    def point(self, s: FloatArray) -> FloatArray:
        """Points at the parameters s (k,) in [0, 1]: (k, 2) [m]."""
        a = self.begin + (self.finish - self.begin) * np.asarray(s)
        return np.asarray(
            np.asarray(self.center) + np.multiply.outer(np.cos(a), self.u) + np.multiply.outer(np.sin(a), self.v),
            dtype=np.float64,
        )

    def derivative(self, s: FloatArray) -> FloatArray:
        """Derivative of the point by s: (k, 2) [m]."""
        sweep = self.finish - self.begin
        a = self.begin + sweep * np.asarray(s)
        return np.asarray(
            sweep * (np.multiply.outer(np.cos(a), self.v) - np.multiply.outer(np.sin(a), self.u)), dtype=np.float64
        )

    def _at(self, a: float) -> Point:
        c, s = math.cos(a), math.sin(a)
        return (
            self.center[0] + self.u[0] * c + self.v[0] * s,
            self.center[1] + self.u[1] * c + self.v[1] * s,
        )


Curve = Line | Arc


@dataclass(frozen=True)
class Loop:
    """A closed chain of curves, counter-clockwise; each curve starts where the one before it ends."""

    curves: tuple[Curve, ...]

    @cached_property
    def length(self) -> float:
        """Length all the way round [m]."""
        return sum(curve.length for curve in self.curves)

    @cached_property
    def curve_starts(self) -> FloatArray:
        """Distance along the loop at which each curve starts, and the whole length: (c + 1,) [m]."""
        return np.concatenate([[0.0], np.cumsum([curve.length for curve in self.curves])])

    @cached_property
    def corner_angles(self) -> FloatArray:
        """Angle at the start of each curve, as the loop's own inside sees it: (c,) [rad]; pi where it is smooth."""
        angles = []
        for before, after in zip((self.curves[-1], *self.curves[:-1]), self.curves, strict=True):
            (x0, y0), (x1, y1) = before.derivative(np.ones(1))[0], after.derivative(np.zeros(1))[0]
            angles.append(math.pi - math.atan2(x0 * y1 - y0 * x1, x0 * x1 + y0 * y1))
        return np.asarray(angles)

    def polyline(self, chord_error: float) -> FloatArray:
        """Points round the loop, none repeated, whose chords keep within chord_error [m] of the arcs: (k, 2) [m]."""
        pieces = []
        for curve in self.curves:
            pieces_of_curve = 1
            if isinstance(curve, Arc):
                radius = max(math.hypot(*curve.u), math.hypot(*curve.v))
                step = 2 * math.acos(max(1 - chord_error / radius, 0.0))
                pieces_of_curve = min(max(math.ceil(abs(curve.finish - curve.begin) / step), 2), 720)
            pieces.append(curve.point(np.arange(pieces_of_curve) / pieces_of_curve))
        return np.concatenate(pieces)


@dataclass(frozen=True)
class Shape:
    """A slab as seen looking at its show face: one outline and the openings inside it, all loops counter-clockwise."""

    outline: Loop
    openings: tuple[Loop, ...] = ()

    @property
    def loops(self) -> tuple[Loop, ...]:
        """The outline first, then the openings."""
        return (self.outline, *self.openings)

    @property
    def corners(self) -> tuple[tuple[Point, float], ...]:
        """Where each curve starts, and the angle of slab there [rad]; pi where the edge is smooth."""
        return tuple(
            (curve.start, float(angle) if number == 0 else 2 * math.pi - float(angle))
            for number, loop in enumerate(self.loops)
            for curve, angle in zip(loop.curves, loop.corner_angles, strict=True)
        )

    def region(self, chord_error: float = 2e-5) -> shapely.Polygon:
        """The slab as a shapely polygon whose chords keep within chord_error [m] of the arcs."""
        return shapely.Polygon(
            self.outline.polyline(chord_error), [opening.polyline(chord_error) for opening in self.openings]
        )


def polygon(corners: npt.ArrayLike, radii: npt.ArrayLike | None = None) -> Loop:
    """Loop through corners (k, 2) [m], each rounded by its radius (k,) [m] (0: sharp); either sense of rotation.

    ValueError if a radius does not fit on the sides beside its corner.
    """
    points = np.asarray(corners, dtype=np.float64)
    radius = np.zeros(len(points)) if radii is None else np.asarray(radii, dtype=np.float64)
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    if np.sum(points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]) < 0:
        points, radius = points[::-1], radius[::-1]
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)

    inward, outward = before - points, after - points
    side_in, side_out = np.hypot(*inward.T), np.hypot(*outward.T)
    inward, outward = inward / side_in[:, None], outward / side_out[:, None]
    half = 0.5 * np.arccos(np.clip(np.einsum("ki,ki->k", inward, outward), -1, 1))
    setback = radius / np.tan(half)
    if np.any(setback + np.roll(setback, -1) > side_out * (1 + 1e-9)):
        worst = int(np.argmax(setback + np.roll(setback, -1) - side_out))
        raise ValueError(f"corner radius {radius[worst]:.6g} m does not fit at corner {worst}")

    bisector = inward + outward
    with np.errstate(invalid="ignore", divide="ignore"):
        center = points + bisector / np.hypot(*bisector.T)[:, None] * (radius / np.sin(half))[:, None]
    first, last = points + inward * setback[:, None], points + outward * setback[:, None]
    curves: list[Curve] = []
    for k in range(len(points)):
        following = (k + 1) % len(points)
        if radius[k] > 0:
            curves.append(_fillet(center[k], first[k], last[k]))
        if math.dist(last[k], first[following]) > 1e-9 * side_out[k]:
            curves.append(Line(_point(last[k]), _point(first[following])))
    return Loop(tuple(curves))


def rectangle(center: Point, size: Point, corner_radius: float = 0.0, angle: float = 0.0) -> Loop:
    """Rectangle of size (width, depth) [m] about its center, turned by angle [rad] counter-clockwise."""
    half = np.asarray(size) / 2
    turned = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half @ turned + np.asarray(center)
    return polygon(corners, np.full(4, corner_radius))


def ellipse(center: Point, size: Point, angle: float = 0.0) -> Loop:
    """Ellipse of size (width, depth) [m] about its center, turned by angle [rad]; a circle if the two are equal."""
    c, s = math.cos(angle), math.sin(angle)
    u, v = (size[0] / 2 * c, size[0] / 2 * s), (-size[1] / 2 * s, size[1] / 2 * c)
    quarter = math.pi / 2
    return Loop(tuple(Arc(center, u, v, k * quarter, (k + 1) * quarter) for k in range(4)))


def _fillet(center: FloatArray, first: FloatArray, last: FloatArray) -> Arc:
    u = first - center
    swing = last - center
    turn = math.atan2(u[0] * swing[1] - u[1] * swing[0], float(u @ swing))
    side = math.copysign(1.0, turn)
    return Arc(_point(center), _point(u), (-u[1] * side, u[0] * side), 0.0, abs(turn))


def _point(xy: FloatArray) -> Point:
    return float(xy[0]), float(xy[1])
