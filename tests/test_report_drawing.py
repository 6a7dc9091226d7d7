"""Drawings of the report: every run has its mark, and no mark lies on another or on the name of an edge."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from api.report.drawing import runs_drawing, shape_drawing
from api.report.marks import WIDE, Mark, place_marks
from fem.steel.model import Run
from tests.report_samples import WIRE

FloatArray = npt.NDArray[np.float64]
SLAB = np.array([[0.0, 0.0], [2.4, 0.0], [2.4, 0.6], [0.6, 0.6], [0.6, 1.8], [0.0, 1.8]])
SINK = np.array([[1.0, 0.2], [1.6, 0.2], [1.6, 0.4], [1.0, 0.4]])
NAMES = {"FRONT EDGE", "back", "left", "right"}


def runs(apart: float) -> list[Run]:
    """Runs along x, across and aslant, so far apart."""
    region = shapely.Polygon(SLAB, [SINK]).buffer(-0.015)
    found: list[Run] = []
    for angle in (0.0, math.pi / 2, math.pi / 4):
        along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
        for k in range(-60, 60):
            line = shapely.LineString(k * apart * across + 4 * np.array([[-1.0], [1.0]]) * along)
            for part in shapely.get_parts(shapely.intersection(region, line)):
                if part.length > 0.15:
                    ends = tuple((float(x), float(y)) for x, y in part.coords)
                    found.append(Run(f"S{len(found) + 1}", "show", ends, 0.01, WIRE))
    return found


def box_of(mark: Mark, size: float) -> shapely.Polygon:
    a = math.radians(mark.angle)
    along, across = np.array([math.cos(a), math.sin(a)]), np.array([-math.sin(a), math.cos(a)])
    wide = WIDE * size * len(mark.text)
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return shapely.Polygon([mark.at + x * wide / 2 * along + y * size / 2 * across for x, y in corners])


@pytest.mark.parametrize("apart", [0.1, 0.2, 0.3])
def test_marks_keep_apart(apart: float) -> None:
    drawing = runs_drawing([SLAB, SINK], runs(apart), None, "")
    words = [item for item in drawing["items"] if "text" in item]
    marks = [Mark(w["text"], tuple(w["at"]), w["angle"], w["boxed"]) for w in words if w["text"] not in NAMES]
    sizes = [w["size"] for w in words if w["text"] not in NAMES]
    assert {mark.text for mark in marks} == {run.mark for run in runs(apart)}
    boxes = [box_of(mark, size) for mark, size in zip(marks, sizes, strict=True)]
    covered = [
        (one.text, other.text)
        for k, (one, box) in enumerate(zip(marks, boxes, strict=True))
        for other, second in zip(marks[:k], boxes[:k], strict=True)
        if box.intersection(second).area > 1.0
    ]
    assert len(covered) <= 0.02 * len(marks)
    room = shapely.box(0, 0, drawing["width"], drawing["height"])
    assert all(room.buffer(0.5).covers(box) for box in boxes)


def test_a_mark_reads_along_its_run() -> None:
    lines = [np.array([[10.0, 50.0], [90.0, 50.0]]), np.array([[50.0, 90.0], [50.0, 10.0]])]
    edge = np.array([[5.0, 5.0], [95.0, 5.0], [95.0, 95.0], [5.0, 95.0]])
    first, second = place_marks(["A1", "B1"], lines, [edge], (0.0, 0.0, 120.0, 120.0), [], 6.0)
    assert first.angle == 0.0
    assert first.at[0] > 95
    assert second.angle == -90.0


def test_a_run_without_room_past_its_ends_has_its_mark_on_it() -> None:
    line = np.array([[2.0, 50.0], [98.0, 50.0]])
    edge = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    (mark,) = place_marks(["A1"], [line], [edge], (0.0, 0.0, 100.0, 100.0), [], 6.0)
    assert mark.boxed
    assert mark.at[1] == 50.0


def test_measures_of_the_slab_are_on_its_drawing() -> None:
    texts = {item["text"] for item in shape_drawing([SLAB, SINK], ["sink"], "si")["items"] if "text" in item}
    assert {"2400 mm", "1800 mm", "1: sink"} | NAMES <= texts
    assert "94.49 in" in {i["text"] for i in shape_drawing([SLAB, SINK], [""], "us")["items"] if "text" in i}
