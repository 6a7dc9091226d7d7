"""The picture of a bent shape: where the slab bears and where it is off, the forces, and how it is laid out."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from api.case import Case
from api.map_axes import axes_for
from api.map_page import PAGE
from api.map_shape import shape_scene, values_at
from api.map_shape_page import compose_shape
from api.map_words import sag_words
from api.translate import Piece
from fem.plate.analysis import Analysis
from tests.maps_samples import example, tipping

STRIP, CARRY, USE = 0, 2, 5


@pytest.fixture(scope="module")
def solved(project: Path) -> tuple[Case, Piece, Analysis]:
    """The example case under a made-up deflection."""
    return example(project)


def rough_width(text: str, size: float, bold: bool) -> float:
    return 0.62 * size * len(text)


def test_a_support_bears_on_as_much_of_it_as_the_solver_found(solved: tuple[Case, Piece, Analysis]) -> None:
    scene = shape_scene(*solved, USE)
    results = solved[2].stages[USE].supports
    for bearing, result in zip(scene.bearings, results, strict=True):
        share = 0.0 if result.lifted else result.contact_share
        assert bearing.bears.mean() == pytest.approx(share, abs=0.02)
    # Where it bears, the slab lies lower than where it does not.
    some = scene.bearings[1]
    w = values_at(scene.points, scene.triangles, scene.w, some.points)
    assert w[some.bears].min() >= w[~some.bears].max()


def test_every_force_has_its_arrow(solved: tuple[Case, Piece, Analysis]) -> None:
    scene = shape_scene(*solved, USE)
    told = {arrow.words: arrow for arrow in scene.arrows}
    assert told["own weight: 426 lbf"].body
    assert not told["A: 300 lbf"].up
    assert any(words.startswith("B: ") and words.endswith(" in all") for words in told)
    bearing = [result for result in solved[2].stages[USE].supports if not result.lifted]
    assert sum(arrow.up for arrow in scene.arrows) == len(bearing)


def test_a_slab_that_tips_is_drawn_flat_with_what_would_hold_it(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    stages = (*analysis.stages[:CARRY], tipping(piece), *analysis.stages[CARRY + 1 :])
    scene = shape_scene(case, piece, replace(analysis, stages=stages), CARRY)
    assert np.all(scene.w == 0)
    assert scene.lowest is None
    assert scene.axis is not None
    assert "it tips" in scene.look
    assert [arrow.words for arrow in scene.arrows if "hold" in arrow.words] == ["would hold it: 75 lbf"]


def test_the_factor_is_round_and_the_slab_fits() -> None:
    outline = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 0.6], [0.0, 0.6]])
    w = np.array([0.0, 0.0, 0.004, 0.001])
    for turned in (False, True):
        axes = axes_for(outline, w, (10.0, 20.0, 510.0, 320.0), turned)
        assert axes.times == 20
        page = axes.to_page(outline, w)
        assert page.min(axis=0)[0] >= 10 - 1e-9
        assert page.max(axis=0)[0] <= 510 + 1e-9
        # The front edge is the near one unless the slab is turned over.
        assert (axes.deep[1] < 0) == turned
    assert axes_for(outline, 0 * w, (0.0, 0.0, 100.0, 100.0), False).times == 0


def test_small_lengths_keep_their_bar() -> None:
    assert sag_words(0.00107, "us", 1.27e-5) == "0.042 ± 0.001 in"
    assert sag_words(0.0042, "si") == "4.20 mm"


def test_a_shape_crosses_to_another_process(solved: tuple[Case, Piece, Analysis]) -> None:
    scene = shape_scene(*solved, STRIP)
    assert "turned over" in scene.look
    assert pickle.loads(pickle.dumps(scene)).arrows == scene.arrows


@pytest.mark.parametrize("name", ["l-island-with-sink", "three-gables", "round-table", "bar-with-overhang"])
def test_the_words_of_a_shape_stay_on_the_page(project: Path, name: str) -> None:
    case, piece, analysis = example(project, name)
    for k in range(len(piece.stages)):
        page = compose_shape(shape_scene(case, piece, analysis, k), rough_width)
        for word in page.ink.words:
            left = word.at[0] - (word.across + 1) / 2 * rough_width(word.text, word.size, word.bold)
            assert left > 0, word.text
            assert left + rough_width(word.text, word.size, word.bold) < PAGE[0], word.text
            assert 0 < word.at[1] < PAGE[1], word.text
        assert np.isfinite(np.concatenate(page.ink.vertices)).all()
