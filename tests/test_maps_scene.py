"""What a map shows and says, without drawing it."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from api.case import Case
from api.map_marks import edge_points
from api.map_page import PAGE, compose
from api.map_scene import Scene, scene_from
from api.map_words import support_words
from api.translate import Piece
from fem.paths import Path as TensionPath
from fem.plate.analysis import Analysis
from fem.plate.model import Face, PointPlace, Support, SupportResult
from meshing.shape import polygon
from tests.maps_samples import example, tipping

STRIP, TURN, CARRY, HAUL, SET, USE = range(6)


@pytest.fixture(scope="module")
def solved(project: Path) -> tuple[Case, Piece, Analysis]:
    """The example case under a made-up moment field."""
    return example(project)


def scene(solved: tuple[Case, Piece, Analysis], stage: int, face: Face) -> Scene:
    paths = [dict[Face, tuple[TensionPath, ...]]() for _ in solved[1].stages]
    return scene_from(*solved, paths, stage, face)


def rough_width(text: str, size: float, bold: bool) -> float:
    """Width of a text, near enough for a layout without fonts."""
    return 0.62 * size * len(text)


def test_the_worst_place_is_the_peak_of_its_face(solved: tuple[Case, Piece, Analysis]) -> None:
    for face in ("show", "underside"):
        drawn = scene(solved, CARRY, face)
        peaks = solved[2].stages[CARRY].peaks
        assert peaks is not None
        assert drawn.worst is not None
        assert drawn.worst.at == peaks[face].at
        assert drawn.worst.angle == peaks[face].tension.angle
        assert drawn.share.max() == pytest.approx(peaks[face].tension.tension / solved[1].stages[CARRY].allowed)
        assert drawn.share.min() >= 0


def test_the_figures_are_rounded_and_carry_their_bar(solved: tuple[Case, Piece, Analysis]) -> None:
    worst = scene(solved, CARRY, "show").worst
    assert worst is not None
    number, sign, bar, unit = worst.words.split()
    assert (sign, unit) == ("±", "psi")
    assert int(number) % 10 == 0
    assert int(bar) % 10 == 0


def test_the_verdict_is_said_in_plain_words(solved: tuple[Case, Piece, Analysis]) -> None:
    drawn = scene(solved, CARRY, "underside")
    assert drawn.status == "cracks"
    assert "by the ends" in drawn.verdict[0]
    assert "will probably crack it: the pull is " in drawn.verdict[0]
    assert "it can take 320 on day 7" in drawn.verdict[0]
    assert drawn.verdict[1].startswith("Worst place: ")
    assert any("% of allowed" in text and "% of cracking" in text for text in drawn.here)
    assert "licensed engineer" in drawn.cautions[-1]
    assert drawn.cautions[0].startswith("Not checked: ")


def test_the_page_says_which_way_one_looks(solved: tuple[Case, Piece, Analysis]) -> None:
    strip = scene(solved, STRIP, "underside")
    assert strip.face == "Underside"
    assert strip.look == "drawn as seen from the show face, through the slab; this face looks up in this stage"
    carried = scene(solved, CARRY, "underside")
    assert carried.look.endswith("this face looks down in this stage")
    assert "as you look at it" in scene(solved, CARRY, "show").look
    # One always looks at the show face: gravity comes towards the reader while the underside looks up.
    assert carried.gravity_away
    assert not strip.gravity_away


def test_supports_and_loads_are_told(solved: tuple[Case, Piece, Analysis]) -> None:
    drawn = scene(solved, USE, "show")
    assert [mark.number for mark in drawn.supports] == [1, 2, 3, 4, 5, 6]
    assert [mark.lifted for mark in drawn.supports] == [False, False, True, False, False, False]
    assert drawn.supports[2].words == "corner cabinet, right: rests, lifted off"
    assert drawn.supports[1].words.endswith("on 60 % of it")
    assert "0.06 in low" in drawn.supports[4].words
    assert [(load.badge, load.words) for load in drawn.loads] == [
        ("A", "person: 300 lbf on 4 in square"),
        ("B", "bowl full of water: 13.2 lbf/ft along this edge"),
        ("", "own weight: 426 lb"),
    ]
    assert drawn.loads[1].place is not None
    assert drawn.loads[1].place.closed
    assert drawn.size == "96 x 72 in, 1.5 in thick"


def test_what_stands_on_its_edge_is_borne_there() -> None:
    under = Support("foam", PointPlace((0.0, 0.0), 0.1), "rest", face=False)
    bears = SupportResult(0, "foam", 0.0, None, False, 1.0, edgewise=890.0)
    assert support_words(under, bears, "si") == "foam: rests, carries 890 N of it on its edge"
    hand = Support("hand", PointPlace((0.0, 0.0), 0.1), "hold")
    grips = SupportResult(0, "hand", -50.0, None, False, 1.0, edgewise=890.0)
    words = "hand: held both ways, carries 890 N of it on its edge, must hold down 50 N"
    assert support_words(hand, grips, "si") == words


def test_units_follow_the_case(project: Path) -> None:
    drawn = scene(example(project, "odd-island-si"), 2, "show")
    assert drawn.units == "si"
    assert drawn.worst is not None
    assert drawn.worst.words.endswith("MPa")
    assert drawn.size == "2286 x 1270 mm, 44.5 mm thick"
    assert any(" N" in mark.words for mark in drawn.supports)


def test_a_stage_that_tips_shows_how(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    stages = (*analysis.stages[:CARRY], tipping(piece), *analysis.stages[CARRY + 1 :])
    drawn = scene((case, piece, replace(analysis, stages=stages)), CARRY, "show")
    assert drawn.worst is None
    assert drawn.paths == ()
    assert len(drawn.share) == 0
    assert drawn.here == ()
    assert drawn.tips is not None
    assert drawn.tips.hold_words == "75 lbf"
    assert drawn.tips.center == analysis.center_of_gravity
    assert "75 lbf" in drawn.verdict[0]
    assert not any(mark.lifted for mark in drawn.supports)


def test_only_what_concerns_the_stage_is_assumed(solved: tuple[Case, Piece, Analysis]) -> None:
    drawn = scene(solved, CARRY, "show")
    assert drawn.assumed[0].startswith("Cracks at 487 psi")
    assert not any("393 psi" in text for text in drawn.assumed)
    assert len(set(drawn.assumed)) == len(drawn.assumed)


def test_paths_keep_their_share_and_their_doubt(solved: tuple[Case, Piece, Analysis]) -> None:
    allowed = solved[1].stages[HAUL].allowed
    path = TensionPath(np.array([[0.1, 0.1], [0.2, 0.1]]), np.array([allowed, allowed / 2]), np.array([True, False]))
    paths: list[dict[Face, tuple[TensionPath, ...]]] = [{} for _ in solved[1].stages]
    paths[HAUL] = {"show": (path,)}
    (mark,) = scene_from(*solved, paths, HAUL, "show").paths
    assert mark.share.tolist() == [1.0, 0.5]
    assert mark.sure.tolist() == [True, False]


def test_a_stretch_of_edge_follows_the_true_edge() -> None:
    loop = polygon([[0, 0], [1, 0], [1, 1], [0, 1]], [0.2] * 4)
    stretch = edge_points(loop, loop.length - 0.3, loop.length + 0.3)
    assert np.hypot(*np.diff(stretch, axis=0).T).sum() == pytest.approx(0.6, rel=1e-4)
    whole = loop.polyline(2e-5)
    assert np.min(np.hypot(*(stretch[len(stretch) // 2] - whole).T)) < 0.05


def test_a_scene_crosses_to_another_process(solved: tuple[Case, Piece, Analysis]) -> None:
    drawn = scene(solved, USE, "underside")
    copy = pickle.loads(pickle.dumps(drawn))
    assert copy.verdict == drawn.verdict
    assert np.array_equal(copy.share, drawn.share)


@pytest.mark.parametrize("name", ["l-island-with-sink", "galley-top", "round-table", "odd-island-us"])
def test_the_words_of_a_page_keep_clear_of_each_other(project: Path, name: str) -> None:
    solved = example(project, name)
    for k in range(len(solved[1].stages)):
        page = compose(scene(solved, k, "show"), rough_width)
        boxes = []
        for word in page.ink.words:
            width, height = rough_width(word.text, word.size, word.bold), 0.8 * word.size
            if word.turned:
                width, height = height, width
            left = word.at[0] - (word.across + 1) / 2 * width
            low = word.at[1] - (word.up + 1) / 2 * height
            boxes.append((left, low, left + width, low + height))
            assert min(left - 5, low - 2, PAGE[0] - 5 - left - width, PAGE[1] - 2 - low - height) > 0, word.text
        overlaps = [
            (page.ink.words[i].text, page.ink.words[j].text)
            for i, a in enumerate(boxes)
            for j, b in enumerate(boxes[:i])
            if min(a[2], b[2]) - max(a[0], b[0]) > 0.5 and min(a[3], b[3]) - max(a[1], b[1]) > 0.5
        ]
        assert overlaps == []
