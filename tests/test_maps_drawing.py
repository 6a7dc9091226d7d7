"""The parts a map is drawn with: thick lines, dashes, level lines, labels, text in columns."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import Delaunay

from api.map_contours import level_lines
from api.map_ink import Ink, cut_dashes, stroke
from api.map_labels import Label, place_labels
from api.map_text import wrap

FloatArray = npt.NDArray[np.float64]


def covered(vertices: FloatArray, triangles: npt.NDArray[np.int64], cover: FloatArray) -> float:
    """Area times cover: what the eye adds up."""
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    area = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    return float(area @ cover[triangles].mean(axis=1))


def test_a_straight_line_covers_its_length_times_its_width() -> None:
    vertices, triangles, owner, cover = stroke(np.array([[0.0, 0.0], [30.0, 40.0]]), 4.0, pixel=0.3)
    # Both ends fade over one pixel beyond the line, which adds half a pixel each.
    assert covered(vertices, triangles, cover) == pytest.approx(50.3 * 4.0, rel=2e-2)
    assert set(owner.tolist()) == {0, 1}


def test_a_closed_square_is_mitred() -> None:
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    vertices, triangles, _, cover = stroke(square, 2.0, pixel=0.1, closed=True)
    assert covered(vertices, triangles, cover) == pytest.approx(12**2 - 8**2, rel=1e-9)
    assert vertices.max() == pytest.approx(11.05)


def test_a_hairline_is_pale_and_not_broken() -> None:
    vertices, triangles, _, cover = stroke(np.array([[0.0, 0.0], [10.0, 0.0]]), 0.1, pixel=0.4)
    assert cover.max() == pytest.approx(0.4)
    assert covered(vertices, triangles, cover) == pytest.approx(1.0, rel=0.05)


def test_points_that_repeat_do_no_harm() -> None:
    ink = Ink()
    ink.line([[0, 0], [0, 0], [1, 0], [1, 0]], 1.0, (0, 0, 0))
    ink.line([[2, 2], [2, 2]], 1.0, (0, 0, 0))
    assert np.isfinite(np.concatenate(ink.vertices)).all()
    assert ink.layer == 1


def test_dashes_keep_their_lengths() -> None:
    pieces = cut_dashes(np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 6.0]]), (4.0, 1.0))
    lengths = [float(np.hypot(*np.diff(piece, axis=0).T).sum()) for piece in pieces]
    assert lengths == pytest.approx([4, 4, 2])
    assert pieces[1].tolist() == [[5, 0], [6, 0], [6, 3]]


def test_the_level_line_of_a_cone_is_a_circle() -> None:
    rng = np.random.default_rng(3)
    points = rng.uniform(-1, 1, (4000, 2))
    triangles = Delaunay(points).simplices.astype(np.int64)
    lines = level_lines(points, triangles, np.hypot(*points.T), 0.5)
    assert len(lines) == 1
    assert lines[0][0].tolist() == lines[0][-1].tolist()
    assert np.hypot(*np.diff(lines[0], axis=0).T).sum() == pytest.approx(np.pi, rel=5e-3)
    assert np.hypot(*lines[0].T) == pytest.approx(0.5, abs=5e-3)


def test_a_level_that_is_not_reached_has_no_line() -> None:
    square = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    triangle = np.array([[0, 1, 2]])
    assert level_lines(square, triangle, np.array([0.0, 1.0, 1.0]), 1.5) == []
    assert level_lines(square, triangle, np.array([1.0, 1.0, 1.0]), 1.0) == []


def test_labels_keep_clear_of_each_other() -> None:
    rng = np.random.default_rng(5)
    labels = [Label(rng.uniform(60, 240, (1, 2)), (40.0, 12.0), 4.0) for _ in range(12)]
    taken = [(100.0, 100.0, 140.0, 140.0)]
    placed = [box for box, _ in place_labels(labels, (0.0, 0.0, 300.0, 300.0), taken, np.zeros((0, 2)))]
    boxes = np.array(taken + placed)
    for k, (left, low, right, high) in enumerate(boxes):
        others = np.delete(boxes, k, axis=0)
        apart = (others[:, 0] >= right) | (others[:, 2] <= left) | (others[:, 1] >= high) | (others[:, 3] <= low)
        assert apart.all()
        assert left >= 0
        assert low >= 0
        assert right <= 300
        assert high <= 300


def test_a_label_shuns_the_line_it_must_not_cover() -> None:
    label = Label(np.array([[100.0, 100.0]]), (20.0, 20.0), 4.0, shun=0.0)
    ((_, low, _, high), _), *_ = place_labels([label], (0.0, 0.0, 200.0, 200.0), [], np.zeros((0, 2)))
    assert not low < 100 < high


def test_words_are_broken_by_their_width() -> None:
    def measure(text: str, size: float, bold: bool) -> float:
        return len(text) * size

    assert wrap("the worst place of all", 10, 1.0, False, measure) == ["the worst", "place of", "all"]
    assert wrap("unbreakable", 4, 1.0, False, measure) == ["unbr", "eaka", "ble"]
    assert wrap("", 4, 1.0, False, measure) == []
