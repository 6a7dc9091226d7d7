"""Maps as files: drawn by processes of their own, which may die and load nothing from the folder one stands in."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

from api import map_worker, maps
from api.map_page import PAGE
from api.map_scale import color_at
from api.map_scene import Scene, scene_from
from api.maps import MapError, MapPool, draw_maps
from tests.maps_samples import example, tipping

WIDE = 880


@pytest.fixture(scope="module")
def pool() -> Iterator[MapPool]:
    """One drawing process for all tests here: to start one takes two seconds."""
    with MapPool(1, WIDE) as open_pool:
        yield open_pool


@pytest.fixture(scope="module")
def scenes(project: Path) -> list[Scene]:
    """A stage that cracks, and one that tips."""
    case, piece, analysis = example(project)
    stages = (tipping(piece), *analysis.stages[1:])
    analysis = replace(analysis, stages=stages)
    return [scene_from(case, piece, analysis, [{}] * len(stages), k, "show") for k in (2, 0)]


def pixels(file: Path) -> npt.NDArray[np.uint8]:
    with Image.open(file) as image:
        assert image.format == "PNG"
        # Printed as the file says, the picture fits on letter and on A4 paper lying down.
        assert image.width / image.info["dpi"][0] == pytest.approx(PAGE[0] / 72, rel=1e-3)
        return np.asarray(image.convert("RGB"))


def share_like(picture: npt.NDArray[np.uint8], color: npt.NDArray[np.uint8]) -> float:
    """Share of the pixels that have about this colour."""
    return float(np.mean(np.abs(picture.astype(int) - color.astype(int)).max(axis=2) < 6))


def test_maps_are_drawn(pool: MapPool, scenes: list[Scene], tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []
    pool.draw([(scenes[0], tmp_path / "a.png"), (scenes[1], tmp_path / "b.png")], lambda *step: told.append(step))
    assert [step[:2] for step in told] == [(0, 2), (1, 2), (2, 2)]
    cracks, tips = pixels(tmp_path / "a.png"), pixels(tmp_path / "b.png")
    assert cracks.shape == tips.shape == (660, WIDE, 3)
    for picture in (cracks, tips):
        # A sheet of paper with something on it.
        assert np.all(picture[0] == 255)
        assert np.all(picture[:, -1] == 255)
        assert 0.5 < np.mean(picture.min(axis=2) > 250) < 0.9
        assert np.mean(picture.max(axis=2) < 60) > 0.01
    # No colour at all on a slab that tips.
    saturation = tips.max(axis=2).astype(int) - tips.min(axis=2)
    assert saturation.max() < 30


@pytest.mark.parametrize("share", [0.0, 0.5, 1.7])
def test_the_colour_is_that_of_the_share(pool: MapPool, scenes: list[Scene], tmp_path: Path, share: float) -> None:
    flat = replace(scenes[0], share=np.full(len(scenes[0].share), share), worst=None)
    pool.draw([(flat, tmp_path / "flat.png")])
    wanted = color_at(share)
    assert share_like(pixels(tmp_path / "flat.png"), wanted) > 0.1


def test_the_same_scene_gives_the_same_picture(pool: MapPool, scenes: list[Scene], tmp_path: Path) -> None:
    pool.draw([(scenes[0], tmp_path / "a.png"), (scenes[1], tmp_path / "b.png"), (scenes[0], tmp_path / "c.png")])
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "c.png").read_bytes()
    assert (tmp_path / "a.png").read_bytes() != (tmp_path / "b.png").read_bytes()


def test_a_picture_that_cannot_be_written_is_an_error(pool: MapPool, scenes: list[Scene], tmp_path: Path) -> None:
    with pytest.raises(MapError, match=r"could not be drawn: FileNotFoundError"):
        pool.draw([(scenes[1], tmp_path / "nowhere" / "a.png")])


def test_a_process_that_dies_is_a_message(scenes: list[Scene], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(maps, "DRAW", "tests.maps_samples:die")
    monkeypatch.setattr(maps, "READY", "tests.maps_samples:lack_nothing")
    with pytest.raises(MapError, match=r"ended by SIGSEGV.*apt-get install libgl1 libegl1"):
        draw_maps([(scenes[0], tmp_path / "a.png"), (scenes[1], tmp_path / "b.png")])
    assert list(tmp_path.iterdir()) == []


def test_a_missing_library_is_named(scenes: list[Scene], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(maps, "READY", "tests.maps_samples:lack")
    with pytest.raises(MapError, match=r"libEGL.so.1 cannot be loaded; apt-get install libegl1 \(Debian's names\)"):
        draw_maps([(scenes[0], tmp_path / "a.png")])


def test_libraries_are_asked_for_before_anything_is_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(map_worker, "LIBRARIES", {"libnosuchthing.so.9": "libnosuchthing9"})
    assert map_worker.make_ready(WIDE) == ("libnosuchthing.so.9",)


def test_nothing_is_loaded_from_the_folder_one_stands_in(tmp_path: Path, project: Path) -> None:
    (tmp_path / "api").mkdir()
    (tmp_path / "api" / "__init__.py").write_text("raise RuntimeError('this is the wrong api')\n")
    program = f"import sys; sys.path.insert(0, {str(project)!r}); from api.maps import check_drawing; check_drawing()"
    # -P as for an installed command: the folder one stands in is not on the path.
    done = subprocess.run(
        [sys.executable, "-P", "-c", program], cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr


def test_a_pool_draws_only_while_it_is_open(scenes: list[Scene], tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="inside its block"):
        MapPool(1).draw([(scenes[0], tmp_path / "a.png")])
    with pytest.raises(ValueError, match="at least one process"):
        MapPool(0)
