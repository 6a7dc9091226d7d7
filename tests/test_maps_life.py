"""The map of the whole life, and maps of the state that governs a face: what they show and say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from scipy.spatial import Delaunay

from api.case import Case
from api.map_life import life_scene, zone_marks
from api.map_page import compose
from api.map_regions import regions_of
from api.map_scene import scene_from
from api.map_state import governing_state
from api.translate import Piece
from fem.plate.analysis import Analysis
from fem.plate.model import Edgewise
from tests.maps_samples import example, tipping, walked

CARRY, USE = 2, 5
PLACE = (0.9, 0.3)
NO_PATHS: list[Any] = [{}] * 6


@pytest.fixture(scope="module")
def solved(project: Path) -> tuple[Case, Piece, Analysis]:
    """An invented analysis with a load that roams in use."""
    case, piece, analysis = example(project)
    return case, *walked(piece, analysis, USE, PLACE)


def test_the_life_is_the_most_of_all_stages(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    life = life_scene(case, piece, analysis, "show")
    each = [scene_from(case, piece, analysis, NO_PATHS, k, "show").share for k in range(6)]
    assert life.share == pytest.approx(np.max(each, axis=0))
    assert life.paths == ()
    assert "not one state: no paths are drawn" in life.look
    assert [number for number, _ in life.stages] == [1, 2, 3, 4, 5, 6]
    assert {mark.number for mark in life.numbers} <= set(range(1, 7))


def test_the_worst_place_of_a_life_names_its_stage(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    for face in ("show", "underside"):
        life = life_scene(case, piece, analysis, face)
        shares = [
            result.peaks[face].tension.tension / stage.allowed
            for stage, result in zip(piece.stages, analysis.stages, strict=True)
            if result.peaks
        ]
        k = int(np.argmax(shares))
        peaks = analysis.stages[k].peaks
        assert life.worst is not None
        assert peaks is not None
        assert life.worst.at == peaks[face].at
        assert life.worst.whose == f"stage {k + 1}: {piece.stages[k].name}"


def test_a_stage_that_tips_is_not_in_the_colours(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    stages = (*analysis.stages[:CARRY], tipping(piece), *analysis.stages[CARRY + 1 :])
    life = life_scene(case, piece, replace(analysis, stages=stages), "show")
    assert life.status == "tips"
    assert life.stages[CARRY][1].endswith("it tips; not in the colours")
    assert CARRY + 1 not in {mark.number for mark in life.numbers}
    nothing = life_scene(case, piece, replace(analysis, stages=(tipping(piece),) * 6), "show")
    assert len(nothing.share) == 0
    assert compose(nothing, lambda text, size, bold: 0.6 * size * len(text)).ink.words


def test_cracking_is_each_stage_s_own(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    lasting = replace(piece.stages[USE], allowed=0.7 * piece.stages[USE].allowed)
    life = life_scene(case, replace(piece, stages=(*piece.stages[:USE], lasting)), analysis, "show")
    assert life.cracking == float("inf")
    plain = life_scene(case, piece, analysis, "show")
    assert life.cracked == pytest.approx(plain.cracked)


def test_zones_are_drawn_as_the_case_has_them(solved: tuple[Case, Piece, Analysis]) -> None:
    zone = SimpleNamespace(kind="nobody", name=None, points=[(0, 0), (1, 0), (1, 1)])
    (mark,) = zone_marks(cast(Case, SimpleNamespace(zone=[zone])))
    assert (mark.kind, mark.name, mark.points[1]) == ("nobody", "", (1.0, 0.0))


def test_each_face_shows_its_own_state(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    show, underside = (scene_from(case, piece, analysis, NO_PATHS, USE, face) for face in ("show", "underside"))
    assert show.shown.startswith("Shown: the worst for this face, with 300 lbf of 'walker', ")
    assert underside.shown == "Shown: the worst for this face, hand lets go"
    assert len(show.supports) == len(underside.supports) + 1
    (person,) = [load for load in show.loads if load.words.startswith("walker")]
    assert person.place is not None
    assert person.place.points[0].tolist() == list(PLACE)
    assert not any(load.words.startswith("walker") for load in underside.loads)
    assert scene_from(case, piece, analysis, NO_PATHS, CARRY, "show").shown == ""


def test_the_stress_in_the_plane_is_part_of_the_pull(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    result = analysis.stages[USE]
    pressed = np.tile([-9e9, -9e9, 0.0], (len(analysis.grid.points), 1))
    worst = {**result.worst, "show": replace(result.worst["show"], membrane=pressed)}
    stages = (*analysis.stages[:USE], replace(result, worst=worst))
    assert scene_from(case, piece, replace(analysis, stages=stages), NO_PATHS, USE, "show").share.max() == 0


def test_a_stage_without_states_shows_itself(project: Path) -> None:
    _, piece, analysis = example(project)
    state = governing_state(piece.stages[USE], analysis.stages[USE], "show")
    assert state.moment is analysis.stages[USE].moment
    assert not state.varies


def test_the_lower_side_is_marked(solved: tuple[Case, Piece, Analysis]) -> None:
    case, piece, analysis = solved
    edge = replace(piece.stages[CARRY], edgewise=Edgewise((0.0, -1.0), 1.5, ()))
    stages = (*piece.stages[:CARRY], edge, *piece.stages[CARRY + 1 :])
    scene = scene_from(case, replace(piece, stages=stages), analysis, NO_PATHS, CARRY, "show")
    assert scene.stands is not None
    assert scene.stands.words == "stands on this side"
    assert scene.stands.ends[:, 1] == pytest.approx(0, abs=1e-3)
    assert np.ptp(scene.stands.ends[:, 0]) == pytest.approx(96 * 0.0254, rel=1e-6)
    assert any(load.words == "own weight: 426 lb x 1.5, in its plane" for load in scene.loads)


def test_regions_meet_where_the_fields_are_equal() -> None:
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(0, 1, 21), np.linspace(0, 1, 21)))
    points = np.column_stack([x, y])
    triangles = Delaunay(points).simplices.astype(np.int64)
    found = regions_of(points, triangles, np.stack([1 - x, x - 0.03]), 0.0)
    assert sorted(region.field for region in found.regions) == [0, 1]
    assert found.share == pytest.approx([0.515, 0.485], abs=0.03)
    assert np.concatenate(found.borders)[:, 0] == pytest.approx(0.515)
    none = regions_of(points, triangles, np.stack([x, x]) * 1e-3, 0.1)
    assert none.regions == ()
    assert none.share.tolist() == [0, 0]


def test_specks_belong_to_their_neighbours() -> None:
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(0, 1, 41), np.linspace(0, 1, 41)))
    points = np.column_stack([x, y])
    triangles = Delaunay(points).simplices.astype(np.int64)
    speck = np.where(np.hypot(x - 0.5, y - 0.5) < 0.02, 2.0, 0.0)
    found = regions_of(points, triangles, np.stack([np.ones(len(x)), speck]), 0.1)
    assert [region.field for region in found.regions] == [0]
    assert found.borders == ()
