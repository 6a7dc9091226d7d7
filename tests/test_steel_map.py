"""The map of demand over strength: a picture of its own, with colours of its own, drawn as the other maps are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from PIL import Image

from api.map_page import PAGE
from api.map_scale import SCALE_END, lab_to_srgb, scale_lab
from api.maps import MapPool, use_scene
from api.steel.found import SteelFound
from api.steel.use_page import compose_use
from api.steel.use_scale import CARRIED, NOT_CARRIED, PLAIN, use_colors
from api.steel.use_scene import NOT_TENSION, UseScene, use_words
from fem.steel.model import Carried, Face
from tests.maps_samples import example
from tests.report_samples import invented_steel_of

FloatArray = npt.NDArray[np.float64]
FACES: tuple[Face, Face] = ("show", "underside")
WIDE = 880


@pytest.fixture(scope="module")
def found(project: Path) -> SteelFound:
    """Steel made by hand on an island with a sink."""
    _, piece, analysis = example(project)
    return invented_steel_of(piece, analysis)


@pytest.fixture(scope="module")
def pool() -> Iterator[MapPool]:
    with MapPool(1, WIDE) as open_pool:
        yield open_pool


def scene(project: Path, found: SteelFound, face: Face = "show") -> UseScene:
    case, piece, _ = example(project)
    return use_scene(case, piece, found, face)


def evenly(found: SteelFound, use: float) -> SteelFound:
    """The same with one demand over strength everywhere."""
    assert found.plan is not None
    count = len(found.demand.points)
    uses: dict[Face, FloatArray] = {face: np.full(count, use) for face in FACES}
    factor = 1 / use if use else math.inf
    at = None if not use else (0.3, 0.2)
    carried = Carried(factor, uses, at, "show" if use else None, 0.0 if use else None, "use: 1.4 D")
    return replace(found, plan=replace(found.plan, carried=carried))


def measure(text: str, size: float, bold: bool) -> float:
    return 0.55 * size * len(text)


def texts(scene: UseScene) -> str:
    return "\n".join(word.text for word in compose_use(scene, measure).ink.words)


def oklab(color: npt.ArrayLike) -> FloatArray:
    """OKLab of sRGB bytes (Ottosson 2020, as published)."""
    srgb = np.asarray(color, dtype=np.float64) / 255
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    lms = linear @ np.array(
        [
            [0.4122214708, 0.2119034982, 0.0883024619],
            [0.5363325363, 0.6806995451, 0.2817188376],
            [0.0514459929, 0.1073969566, 0.6299787005],
        ]
    )
    return np.asarray(
        np.cbrt(lms)
        @ np.array(
            [
                [0.2104542553, 1.9779984951, 0.0259040371],
                [0.7936177850, -2.4285922050, 0.7827717662],
                [-0.0040720468, 0.4505937099, -0.8086757660],
            ]
        )
    )


def test_what_is_carried_and_what_is_not_are_told_apart_in_grey_too() -> None:
    light = oklab(use_colors(np.linspace(0.01, 1.5, 300)))[:, 0]
    assert np.all(np.diff(light) < 1e-3)
    leap = oklab(use_colors([1.0]))[0] - oklab(use_colors([1.0001]))[0]
    assert leap[0] > 0.08
    assert np.hypot(*leap[1:]) > 0.2
    assert CARRIED[1][0] - NOT_CARRIED[0][0] > 10


def test_its_colours_are_not_those_of_the_tension_map() -> None:
    tension = oklab(np.round(255 * lab_to_srgb(scale_lab(np.linspace(0, SCALE_END, 200)))))
    own = oklab(use_colors(np.concatenate([np.linspace(0.4, 1, 60), np.linspace(1.001, 1.5, 60)])))
    apart = np.linalg.norm(own[:, None] - tension, axis=-1).min(axis=1)
    # Two colours 0.02 apart in OKLab can just be told apart side by side; this is twice as much.
    assert apart.min() > 0.04


def test_nothing_owed_is_plain() -> None:
    assert use_colors([0.0, math.inf, 0.5]).tolist()[0] == list(PLAIN)
    assert use_colors([math.inf]).tolist() == use_colors([1.5]).tolist()


@pytest.mark.parametrize("face", FACES)
def test_it_says_what_it_is_and_where_one_looks(project: Path, found: SteelFound, face: Face) -> None:
    words = texts(scene(project, found, face))
    for wanted in (
        "After cracking: demand over strength of the steel, not the tension map",
        NOT_TENSION,
        "SHOW FACE" if face == "show" else "UNDERSIDE",
        "FRONT EDGE",
        "carried",
        "not carried",
        "nothing owed here",
        "Demand over strength, in %",
        "CARRIED",
        "Use, rare: 1.2 D + 1.6 L",
        "run near this face",
    ):
        assert wanted in words
    assert ("through the slab" in words) == (face == "underside")


def test_a_layout_of_the_case_is_shown_where_there_is_no_plan(project: Path, found: SteelFound) -> None:
    given = scene(project, replace(found, plan=None))
    words = texts(given)
    assert "NOT CARRIED" in words
    assert "Shown: the layout of the case" in words
    assert found.judged is not None
    assert given.use.max() == pytest.approx(found.judged.carried.use["show"].max())
    with pytest.raises(ValueError, match="no layout"):
        scene(project, replace(found, plan=None, judged=None))


def test_colours_cover_the_whole_face_wherever_demand_was_asked(project: Path, found: SteelFound) -> None:
    _, piece, _ = example(project)
    region = piece.shape.region()
    inner = found.demand.points
    inside = shapely.contains_xy(region.buffer(-0.03), inner)
    few = replace(found.demand, points=inner[inside], needed={f: n[inside] for f, n in found.demand.needed.items()})
    assert found.plan is not None
    thin = replace(found.plan.carried, use={f: u[inside] for f, u in found.plan.carried.use.items()})
    for steel in (found, replace(found, demand=few, plan=replace(found.plan, carried=thin))):
        drawn = scene(project, steel)
        a, b, c = (drawn.page.points[drawn.page.triangles[:, k]] for k in range(3))
        area = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2
        assert area == pytest.approx(region.area, rel=0.01)
        assert drawn.use.shape == (len(drawn.page.points),)


@pytest.mark.parametrize("use", [0.0, 0.6, 1.3])
def test_it_is_drawn_in_the_colour_of_the_use(
    pool: MapPool, project: Path, found: SteelFound, tmp_path: Path, use: float
) -> None:
    flat = scene(project, evenly(found, use))
    pool.draw([(flat, tmp_path / "use.png")])
    with Image.open(tmp_path / "use.png") as image:
        assert image.width / image.info["dpi"][0] == pytest.approx(PAGE[0] / 72, rel=1e-3)
        picture = np.asarray(image.convert("RGB"))
    color = use_colors([use])[0].astype(int)
    assert np.mean(np.abs(picture.astype(int) - color).max(axis=2) < 6) > 0.08


def test_a_demand_that_nothing_carries_is_told_and_drawn(
    pool: MapPool, project: Path, found: SteelFound, tmp_path: Path
) -> None:
    assert found.plan is not None
    uses = {face: one.copy() for face, one in found.plan.carried.use.items()}
    uses["show"][10] = math.inf
    at = (float(found.demand.points[10, 0]), float(found.demand.points[10, 1]))
    bare = replace(found.plan.carried, factor=0.0, use=uses, at=at, face="show", angle=0.5)
    drawn = scene(project, replace(found, plan=replace(found.plan, carried=bare)))
    words = texts(drawn)
    assert "owed, and nothing carries it" in words
    assert "leaves some place without steel" in words.replace("\n", " ")
    pool.draw([(drawn, tmp_path / "bare.png")])
    assert (tmp_path / "bare.png").stat().st_size > 10_000


def test_no_use_above_strength_reads_as_carried() -> None:
    assert use_words(1.0004) == "101 % of strength"
    assert use_words(1.0) == "100 % of strength"
    assert use_words(0.004) == "0 % of strength"


def test_words_keep_apart_on_the_page(project: Path, found: SteelFound) -> None:
    """No two words of the page overlap, by their measured boxes; opening names and stamps included."""
    for face in FACES:
        for steel in (found, evenly(found, 1.3), evenly(found, 0.0)):
            words = compose_use(scene(project, steel, face), measure).ink.words
            boxes = np.array([_box(word.text, word.at, word.size, word.across, word.up, word.turned) for word in words])
            for k, (left, low, right, high) in enumerate(boxes):
                others = np.delete(boxes, k, axis=0)
                wide = np.minimum(right, others[:, 2]) - np.maximum(left, others[:, 0])
                tall = np.minimum(high, others[:, 3]) - np.maximum(low, others[:, 1])
                assert not np.any((wide > 1) & (tall > 1)), words[k].text


def _box(text: str, at: tuple[float, float], size: float, across: int, up: int, turned: bool) -> tuple[float, ...]:
    wide, tall = 0.5 * size * len(text), 0.6 * size
    if turned:
        wide, tall = tall, wide
    x, y = at[0] - (across + 1) / 2 * wide, at[1] - (up + 1) / 2 * tall
    return x, y, x + wide, y + tall
