"""The drawing over the colours: level lines, paths, edges, supports, loads, the worst place, the axis of a fall."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import shapely

from api.map_contours import level_lines
from api.map_ink import resample
from api.map_labels import Box
from api.map_marks import LoadMark, PathMark, Place, StandMark, SupportMark, TipMark, WorstMark, ZoneMark
from api.map_scale import SCALE_END, color_at
from api.map_scene import Scene
from api.map_sheet import Sheet, around
from api.map_stamps import draw_stamps
from api.map_symbols import (
    DARK,
    NUMBER,
    WHITE,
    balance_point,
    crack,
    diamond,
    fall_axis,
    floor,
    gravity,
    hatch,
    level_line,
    number_sign,
    support_band,
    support_spot,
    target,
    zone_line,
)

__all__ = ["draw_plan"]

FloatArray = npt.NDArray[np.float64]

THINNEST, THICKEST = 0.35, 1.8
"""Width of a path where nothing pulls and at the end of the scale."""
LIGHT = np.array([255, 252, 246])
"""Colour of a path on dark ground."""
FAINT = 0.28
"""Strength of a path whose direction is not sure."""
TICK = 24.0
"""Length of the crack's tick to either side of the worst place."""
SQUARE = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])


def draw_plan(sheet: Sheet, scene: Scene) -> None:
    """Draw all of a scene that lies over the coloured grid, labels last."""
    if len(scene.share):
        _paths(sheet, scene)
        _borders(sheet, scene)
        _levels(sheet, scene)
    for zone in scene.zones:
        _zone(sheet, zone)
    _numbers(sheet, scene)
    _supports(sheet, [mark for mark in scene.supports if mark.place.kind != "edge"])
    for loop in scene.loops:
        edge = sheet.view.to_page(loop)
        sheet.ink.line(edge, 1.6, DARK, closed=True)
        sheet.marks.append(_along(edge, True, 4.0))
    _supports(sheet, [mark for mark in scene.supports if mark.place.kind == "edge"])
    for load in scene.loads:
        if load.place is not None:
            _load(sheet, load, load.place)
    draw_stamps(sheet, scene)
    if scene.stands is not None:
        _stand(sheet, scene.stands)
    if scene.worst is not None:
        _worst(sheet, scene, scene.worst)
    if scene.tips is not None:
        _fall(sheet, scene.tips, away=scene.gravity_away)
    sheet.settle()


def _paths(sheet: Sheet, scene: Scene) -> None:
    """Paths as lines, wider where they pull harder, dark on light and light on dark ground, fainter where not sure."""
    for path in scene.paths:
        p = sheet.view.to_page(path.points)
        sheet.ink.line(p, THINNEST + (THICKEST - THINNEST) * np.clip(path.share / SCALE_END, 0, 1), _path_colors(path))
        sheet.marks.append(p[path.share > 0.6][::3])


def _path_colors(path: PathMark) -> npt.NDArray[np.uint8]:
    ground = color_at(path.share).astype(np.float64)
    line = np.where((path.share > 1.0)[:, None], LIGHT, np.array(DARK))
    return np.asarray(ground + np.where(path.sure, 1.0, FAINT)[:, None] * (line - ground), dtype=np.uint8)


def _borders(sheet: Sheet, scene: Scene) -> None:
    """Where another stage governs: thin lines between the regions."""
    for line in scene.borders:
        p = sheet.view.to_page(line)
        if np.ptp(p, axis=0).max() > 6:
            sheet.ink.line(p, 1.9, WHITE)
            sheet.ink.line(p, 0.6, DARK)
            sheet.marks.append(resample(p, 8.0))


def _numbers(sheet: Sheet, scene: Scene) -> None:
    """Each region's number, where it has room."""
    for mark in scene.numbers:
        if mark.room * sheet.view.scale > 1.4 * NUMBER:
            at = sheet.view.to_page(mark.at)
            number_sign(sheet.ink, at, str(mark.number))
            sheet.taken.append(around(at, NUMBER + 0.5))


def _zone(sheet: Sheet, zone: ZoneMark) -> None:
    """Where people may stand (green), sit or lean (broken green), or nobody may be (hatched)."""
    p = sheet.view.to_page(zone.points)
    if zone.kind == "nobody":
        hatch(sheet.ink, p)
    else:
        zone_line(sheet.ink, p, broken=zone.kind != "stand")
    sheet.marks.append(_along(p, True, 6.0))
    words = {"stand": "stand", "sit": "sit", "lean": "lean", "nobody": "nobody stands here"}[zone.kind]
    sheet.note([(f"{words}: {zone.name}" if zone.name else words, 7.0, False)], _along(p, True, 16.0), gap=3.0)


def _stand(sheet: Sheet, stand: StandMark) -> None:
    """The floor under the side on which the piece stands."""
    ends, down = sheet.view.to_page(stand.ends), np.asarray(stand.down)
    if math.dist(*ends) < 24:
        along = np.array([-down[1], down[0]])
        ends = ends.mean(axis=0) + 12 * np.stack([-along, along])
    floor(sheet.ink, ends, down)
    sheet.marks.append(resample(ends + 4 * down, 4.0))
    sheet.note([(stand.words, 8.0, True)], resample(ends, 14.0)[1:-1], gap=8.5)


def _levels(sheet: Sheet, scene: Scene) -> None:
    """Where the pull reaches allowed and cracking."""
    cracked = scene.share / scene.cracking if scene.cracked is None else scene.cracked
    for field, cracking in ((scene.share, False), (cracked, True)):
        lines = [sheet.view.to_page(line) for line in level_lines(scene.points, scene.triangles, field, 1.0)]
        lines = [line for line in lines if np.ptp(line, axis=0).max() > 1.5]
        level_line(sheet.ink, lines, cracking)
        sheet.marks += [resample(line, 5.0) for line in lines]
        if lines and np.ptp(lines[0], axis=0).max() > 14:
            sheet.note([("cracking" if cracking else "allowed", 7.0, False)], resample(lines[0], 12.0), gap=2.0)


def _supports(sheet: Sheet, supports: list[SupportMark]) -> None:
    for mark in supports:
        place, p = mark.place, sheet.view.to_page(mark.place.points)
        if place.kind == "point":
            support_spot(sheet.ink, p[0], mark.action, mark.lifted, place.size * sheet.view.scale)
            sheet.taken.append(around(p[0], 6.5))
            sheet.badge(str(mark.number), p, 5.0, WHITE, mark.force)
        else:
            support_band(sheet.ink, p, mark.action, mark.lifted, place.closed)
            sheet.marks.append(_along(p, place.closed, 4.0))
            sheet.badge(str(mark.number), _middles(p, place.closed), 3.4, WHITE, mark.force)


def _load(sheet: Sheet, mark: LoadMark, place: Place) -> None:
    ink, p = sheet.ink, sheet.view.to_page(place.points)
    spots, radius = p, 5.0
    if place.kind == "point" and (side := place.size * sheet.view.scale) > 5:
        ink.line(p[0] + side * SQUARE, 2.6, WHITE, closed=True)
        ink.line(p[0] + side * SQUARE, 0.9, DARK, closed=True)
    elif place.kind == "area":
        ink.line(p, 2.4, WHITE, closed=True)
        ink.line(p, 1.0, DARK, closed=True, dash=(7, 2.2, 1.4, 2.2))
        spots = shapely.get_coordinates(shapely.point_on_surface(shapely.Polygon(p)))
    elif place.kind != "point":
        if place.kind == "line":
            ink.line(p, 2.4, WHITE)
            ink.line(p, 0.9, DARK)
        spots, radius = _along(p, place.closed, 26.0), 3.4
    for at in spots[:-1] if place.closed and place.kind == "edge" else spots:
        gravity(ink, at, mark.away, radius)
        sheet.taken.append(around(at, radius + 1.5))
    sheet.badge(mark.badge, spots, radius + 1.5, DARK)


def _worst(sheet: Sheet, scene: Scene, worst: WorstMark) -> None:
    at = sheet.view.to_page(worst.at)
    tick = _tick(sheet, scene, at, math.radians(worst.angle + 90))
    crack(sheet.ink, tick)
    target(sheet.ink, at)
    sheet.marks.append(np.repeat(resample(tick, 4.0), 6, axis=0))
    sheet.taken.append(around(at, 8))
    lines = [(worst.words, 9.5, True)]
    if worst.whose:
        lines.append((worst.whose, 7.6, False))
    local = [] if worst.local_words is None else [(f"local {worst.local_words}", 7.6, False)]
    if local and worst.apart:
        beside = sheet.view.to_page(worst.local_at)
        diamond(sheet.ink, beside)
        sheet.taken.append(around(beside, 5))
        sheet.note(local, beside[None], gap=8.0, framed=True)
    else:
        lines += local
    sheet.note(lines, at[None], gap=14.0, framed=True, first=True, shun=math.radians(worst.angle + 90))


def _tick(sheet: Sheet, scene: Scene, at: FloatArray, direction: float) -> FloatArray:
    """Where a crack would run, in a direction [rad] through the worst place, as far as there is slab: (2, 2)."""
    along = np.array([math.cos(direction), math.sin(direction)])
    slab = shapely.Polygon(*_rings(sheet, scene))
    reach = []
    for way in (-1.0, 1.0):
        ray = shapely.LineString([at + 0.8 * way * along, at + TICK * way * along])
        inside = [part for part in shapely.get_parts(slab.intersection(ray)) if part.distance(shapely.Point(at)) < 1.5]
        far = max((math.dist(at, end) for part in inside for end in part.coords), default=0.0)
        reach.append(at + far * way * along)
    if math.dist(*reach) < 4:
        return np.stack([at - TICK / 2 * along, at + TICK / 2 * along])
    return np.stack(reach)


def _rings(sheet: Sheet, scene: Scene) -> tuple[FloatArray, list[FloatArray]]:
    outline, *openings = (sheet.view.to_page(loop) for loop in scene.loops)
    return outline, openings


def _fall(sheet: Sheet, tips: TipMark, away: bool) -> None:
    """The axis it turns about, the centre of gravity, and where to hold it down."""
    ends = sheet.view.to_page(tips.axis)
    line = _clipped(ends[0], (ends[1] - ends[0]) / max(math.dist(*ends), 1e-9), sheet.view.box)
    fall_axis(sheet.ink, line)
    sheet.marks.append(resample(line, 4.0))
    sheet.note([("turns about this line", 7.6, False)], resample(line, 15.0), gap=4.0)
    center, hold = sheet.view.to_page(tips.center), sheet.view.to_page(tips.hold_at)
    balance_point(sheet.ink, center)
    sheet.taken += [around(center, 7), around(hold, 9)]
    sheet.note([("centre of gravity", 7.6, False)], center[None], gap=8.0)
    sheet.ink.ring(hold, 8.6, 3.4, WHITE)
    sheet.ink.ring(hold, 8.6, 1.4, DARK)
    gravity(sheet.ink, hold, away, 5.2)
    sheet.note([(f"hold down {tips.hold_words} here", 9.0, True)], hold[None], gap=11.0, framed=True)


def _clipped(point: FloatArray, along: FloatArray, box: Box) -> FloatArray:
    """The part of an endless line that lies in a box, (2, 2)."""
    low, high = np.array(box[:2]), np.array(box[2:])
    with np.errstate(divide="ignore", invalid="ignore"):
        t0, t1 = (low - point) / along, (high - point) / along
    enter, leave = np.nanmax(np.minimum(t0, t1)), np.nanmin(np.maximum(t0, t1))
    return np.stack([point + enter * along, point + leave * along])


def _along(points: FloatArray, closed: bool, step: float) -> FloatArray:
    """Points at even distances along a line."""
    return resample(np.vstack([points, points[:1]]) if closed else points, step)


def _middles(points: FloatArray, closed: bool) -> FloatArray:
    """Points along a line where its badge may hang: not at its ends."""
    even = _along(points, closed, 8.0)
    return even if len(even) < 4 else even[1:-1]
