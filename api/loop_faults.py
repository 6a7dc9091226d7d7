"""Faults of one closed loop by itself: repeated points, crossing sides, needles, corner radii that do not fit."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from api.errors import Problem
from api.shapes import Curved, Rectangle, Shaped, corners_of, loop_of
from api.units import LENGTH, UnitSystem, in_words
from api.wording import spot_text

__all__ = ["loop_problems"]

Corner = tuple[float, float, float]
FloatArray = npt.NDArray[np.float64]

SAME_POINT = 1e-4
SHORTEST_SIDE = 2e-3
SHARPEST_CORNER = math.radians(5)
STRAIGHT = math.radians(0.1)


def loop_problems(shape: Shaped | tuple[Corner, ...], where: str, system: UnitSystem) -> list[Problem]:
    """Every fault of the loop, none if `loop_of` gives a sound one."""
    if isinstance(shape, Rectangle):
        return _rectangle_faults(shape, where, system)
    corners = shape.points if isinstance(shape, Curved) else corners_of(shape)
    if not corners:
        return []
    listed = where if isinstance(shape, tuple) else f"{where}.points"
    problems = _side_faults(corners, listed, system)
    if problems:
        return problems
    if isinstance(shape, Curved):
        ring = Polygon(loop_of(shape).polyline(1e-4))
        return [] if ring.is_valid and ring.area > 1e-6 else [_crossing_curve(where)]
    problems = _crossing_faults(corners, listed, system)
    if problems:
        return problems
    return _corner_faults(corners, listed, system)


def _rectangle_faults(shape: Rectangle, where: str, system: UnitSystem) -> list[Problem]:
    largest = min(shape.size) / 2
    if shape.corner_radius <= largest:
        return []
    what = f"a corner radius of {in_words(shape.corner_radius, LENGTH, system)} does not fit"
    fix = f"the largest that fits is {in_words(largest, LENGTH, system, 6)}, half the shorter side"
    return [Problem(f"{where}.corner_radius", what, fix)]


def _side_faults(corners: tuple[Corner, ...], where: str, system: UnitSystem) -> list[Problem]:
    """The same point twice, side by side or apart, and sides too short to be meant."""
    problems = []
    count = len(corners)
    points = np.array([corner[:2] for corner in corners])
    for k in range(count):
        before = (k - 1) % count
        length = math.dist(corners[before][:2], corners[k][:2])
        if length < SAME_POINT:
            closing = k == 0
            place = count - 1 if closing else k
            what = "the last point repeats the first" if closing else f"the same point as {where}[{before}]"
            problems.append(Problem(f"{where}[{place}]", what, "leave it out: the outline closes by itself"))
        elif length < SHORTEST_SIDE and count > 2:
            what = f"the side from {where}[{before}] is only {in_words(length, LENGTH, system)} long"
            least = in_words(SHORTEST_SIDE, LENGTH, system)
            problems.append(Problem(f"{where}[{k}]", what, f"leave the point out: sides must be {least} or longer"))
    if problems:
        return problems
    gap = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    for i, k in zip(*np.nonzero(np.triu(gap < SAME_POINT, 2)), strict=True):
        if not (i == 0 and k == count - 1):
            what = f"the same point as {where}[{i}]"
            problems.append(Problem(f"{where}[{k}]", what, "an edge must not pass a point twice: move one of the two"))
    return problems


def _crossing_faults(corners: tuple[Corner, ...], where: str, system: UnitSystem) -> list[Problem]:
    """Sides that cross or touch others, sides folded back on themselves, and a loop without area."""
    count = len(corners)
    points = np.array([corner[:2] for corner in corners])
    if np.linalg.matrix_rank(points - points[0], tol=SAME_POINT) < 2:
        return [Problem(where, "the corners lie on one line", "give a shape with some area")]
    following = np.roll(points, -1, axis=0)
    sides = [shapely.LineString(ends) for ends in zip(points, following, strict=True)]
    pairs = shapely.STRtree(sides).query(sides, predicate="intersects").T
    problems = []
    for i, k in pairs[np.lexsort(pairs.T[::-1])]:
        if i < k and (k - i) % count not in (1, count - 1):
            at = spot_text(sides[i].intersection(sides[k]).centroid.coords[0], system)
            what = f"the side from {where}[{i}] crosses or touches the side from {where}[{k}] near {at}"
            problems.append(Problem(f"{where}[{i}]", what, "list the corners in order, once round the piece"))
    if problems:
        return problems[:5]
    for k, angle in enumerate(_inside_angles(points)):
        if angle < SHARPEST_CORNER:
            what = f"the corner is a needle of {math.degrees(angle):.2g} degrees"
            problems.append(Problem(f"{where}[{k}]", what, "cut it off with one more corner: 5 degrees is the least"))
    return problems


def _corner_faults(corners: tuple[Corner, ...], where: str, system: UnitSystem) -> list[Problem]:
    """Radii that reach over half of what the sides beside the corner have, and radii at corners that are straight."""
    points = np.array([corner[:2] for corner in corners])
    radius = np.array([corner[2] for corner in corners])
    angle = _inside_angles(points)
    problems = []
    for k in np.flatnonzero((radius > 0) & (angle > math.pi - STRAIGHT)):
        problems.append(Problem(f"{where}[{k}]", "a radius at a corner that is straight", "leave the radius out"))
    if problems:
        return problems
    reach = np.tan(angle / 2)
    setback = radius / reach
    side = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    left = side - setback - np.roll(setback, -1)
    for k in np.flatnonzero((left > side * 1e-9) & (left < SHORTEST_SIDE / 4)):
        what = f"only {in_words(left[k], LENGTH, system)} of this side is left between its rounded corners"
        problems.append(Problem(f"{where}[{k}]", what, "make a radius smaller, or so large that they meet"))
    for k in np.flatnonzero(setback + np.roll(setback, -1) > side * (1 + 1e-9)):
        ends = (int(k), (int(k) + 1) % len(points))
        worst = max(ends, key=lambda end: setback[end])
        room_after = side[worst] - setback[(worst + 1) % len(points)]
        room_before = side[worst - 1] - setback[worst - 1]
        largest = min(room_after, room_before) * reach[worst]
        what = f"a corner radius of {in_words(radius[worst], LENGTH, system)} does not fit"
        fix = f"the largest that fits beside its neighbours is {in_words(largest, LENGTH, system, 4)}"
        if largest <= 0:
            fix = f"the side has {in_words(side[k], LENGTH, system)} for both its corners: make both radii smaller"
        problem = Problem(f"{where}[{worst}]", what, fix)
        if problem not in problems:
            problems.append(problem)
    return problems


def _crossing_curve(where: str) -> Problem:
    return Problem(where, "the sides and arcs cross or touch one another", "list the points in order, once round")


def _inside_angles(points: FloatArray) -> FloatArray:
    """Angle between the two sides at each point, (k,) in [0, pi]: pi where the edge runs straight on."""
    back, forth = np.roll(points, 1, axis=0) - points, np.roll(points, -1, axis=0) - points
    cross = back[:, 0] * forth[:, 1] - back[:, 1] * forth[:, 0]
    angles: FloatArray = np.abs(np.arctan2(cross, np.einsum("ki,ki->k", back, forth)))
    return angles
