"""The independent check against hand calculations: wide slab, strip, ends, openings, turned runs."""

from __future__ import annotations

from math import pi

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.check import Checked, check_points, check_runs, strength_at
from fem.steel.model import Face, Point, Rules, Run, Steel

FloatArray = npt.NDArray[np.float64]

WIRE = Steel("wire", "wire", 0.00376, 0.00376, 11.1e-6, 485e6, 550e6, 200e9)
RULES = Rules(pitch=0.02, most=0.12, directions=(0.0, pi / 2), placing=0.01, anchorage=0.3, lap=0.3)
SQUARE = shapely.box(0, 0, 3, 3)
ALONG = np.array([0.0, pi / 4, pi / 2])


def with_opening(region: shapely.Polygon, x0: float, y0: float, x1: float, y1: float) -> shapely.Polygon:
    return shapely.Polygon(region.exterior, [shapely.box(x0, y0, x1, y1).exterior])


def run(start: Point, end: Point, mark: str = "A") -> Run:
    return Run(mark, "underside", (start, end), 0.03, WIRE)


def rows(region: shapely.Polygon, spacing: float, mark: str = "A") -> list[Run]:
    x0, y0, x1, y1 = region.bounds
    return [run((x0, float(y)), (x1, float(y)), mark) for y in np.arange(y0 + spacing / 2, y1, spacing)]


def pulls(runs: list[Run], underside: float, show: float = 0.0) -> dict[Face, FloatArray]:
    return {"underside": np.full(len(runs), underside), "show": np.full(len(runs), show)}


def strength(points: list[Point], runs: list[Run], region: shapely.Polygon, each: float = 90.0) -> FloatArray:
    found = strength_at(np.array(points), ALONG, runs, region, RULES, pulls(runs, each, each / 3))
    assert found["show"] == pytest.approx(found["underside"] / 3, rel=1e-12)
    return found["underside"]


# Common practice, no source: wires of strength S at a spacing s carry S / s per width, whole along them, nothing
# across, half at 45 degrees. With s = most the tents add up to one everywhere; so they do for s = most / 2.
@pytest.mark.parametrize("spacing", [0.12, 0.06, 0.04])
@pytest.mark.parametrize("at", [(1.5, 1.5), (1.0, 1.533), (2.0, 0.71)])
def test_even_rows_carry_their_strength_by_their_spacing(spacing: float, at: Point) -> None:
    (found,) = strength([at], rows(SQUARE, spacing), SQUARE)
    assert found == pytest.approx([90 / spacing, 45 / spacing, 0.0], rel=1e-9, abs=1e-9)


# By hand: all of one run serves a strip narrower than the reach of the run. Left and right of the point 20 mm from the
# front edge of a strip 80 mm wide the tent holds 0.02 - 0.02^2/0.24 and 0.06 - 0.06^2/0.24.
def test_a_strip_is_served_by_what_lies_in_it() -> None:
    strip = shapely.box(0, 0, 3, 0.08)
    width = 0.02 - 0.02**2 / 0.24 + 0.06 - 0.06**2 / 0.24
    (found,) = strength([(1.5, 0.02)], [run((0, 0.05), (3, 0.05))], strip)
    assert found[0] == pytest.approx(90 * (1 - 0.03 / 0.12) / width, rel=1e-9)


def test_an_end_builds_up_over_the_anchorage_and_nothing_lies_beyond_it() -> None:
    runs = [run((0.5, 1.5), (2.5, 1.5))]
    found = strength([(0.4, 1.5), (0.5 + 0.1, 1.5), (0.5 + 0.3, 1.5), (1.5, 1.5), (2.44, 1.5)], runs, SQUARE)[:, 0]
    assert found == pytest.approx(np.array([0, 1 / 3, 1, 1, 0.2]) * 90 / 0.12, rel=1e-9, abs=1e-9)


# The run lies 60 mm in front of the point; between them an opening, or nothing.
def test_nothing_is_carried_across_an_opening() -> None:
    region = with_opening(SQUARE, 1.2, 1.41, 1.8, 1.49)
    runs = [run((0.0, 1.40), (3.0, 1.40))]
    behind, beside = strength([(1.5, 1.495), (1.0, 1.495)], runs, region)[:, 0]
    assert behind == 0
    assert beside == pytest.approx(90 * (1 - 0.095 / 0.12) / 0.12, rel=1e-9)
    assert strength([(1.5, 1.495)], runs, SQUARE)[0, 0] == pytest.approx(beside, rel=1e-9)


# A law: turned and shifted with all it contains, the slab carries the same.
def test_a_turned_slab_is_as_strong() -> None:
    outline = shapely.Polygon([(0, 0), (2, 0), (2, 0.7), (0.8, 0.7), (0.8, 1.5), (0, 1.5)])
    region = with_opening(outline, 0.3, 0.2, 0.6, 0.5)
    runs = [run((0.02, 0.1), (1.98, 0.1)), run((0.7, 0.02), (0.7, 1.48)), run((0.4, 1.0), (1.3, 0.2))]
    points = check_points(region, 400, 1)
    turn, shift = 0.7, np.array([5.0, -2.0])
    R = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])

    def moved(at: Point) -> Point:
        x, y = R @ np.asarray(at) + shift
        return float(x), float(y)

    moved_runs = [run(moved(one.points[0]), moved(one.points[1])) for one in runs]
    rings = [shapely.get_coordinates(ring) @ R.T + shift for ring in (region.exterior, *region.interiors)]
    moved_region = shapely.Polygon(rings[0], rings[1:])
    angles = np.linspace(0, pi, 12)
    before = strength_at(points, angles, runs, region, RULES, pulls(runs, 90.0))["underside"]
    after = strength_at(points @ R.T + shift, angles + turn, moved_runs, moved_region, RULES, pulls(moved_runs, 90.0))[
        "underside"
    ]
    assert before.max() > 500
    assert after == pytest.approx(before, rel=1e-7, abs=1e-7)


def needs(show: float, underside: float, spot: Point | None = None) -> object:
    """Owed in direction 0 alone, everywhere, and ten times that within 15 mm of a spot."""

    def needed(points: FloatArray, angles: FloatArray) -> dict[Face, FloatArray]:
        along = np.isclose(angles, 0.0)[None] * np.ones((len(points), 1))
        # Clear of the ends, where nothing can be carried yet.
        along = along * ((points[:, :1] > 0.35) & (points[:, :1] < 2.65))
        if spot is not None:
            along = along * np.where(np.hypot(*(points - spot).T) < 0.03, 10.0, 1.0)[:, None]
        return {"show": show * along, "underside": underside * along}

    return needed


def check(runs: list[Run], each: float, needed: object) -> Checked:
    return check_runs(runs, SQUARE, RULES, pulls(runs, each, each / 3), needed, count=8000)  # type: ignore[arg-type]


def test_even_rows_pass_up_to_their_strength_and_not_above() -> None:
    runs = rows(SQUARE, 0.06)
    enough = check(runs, 60.0, needs(300.0, 990.0))
    assert enough.passes
    assert len(enough.short) == 0
    assert enough.factor == pytest.approx(1000 / 990, rel=1e-9)
    assert (enough.face, enough.angle, enough.directions) == ("underside", 0.0, 180)
    assert enough.points > 7000
    over = check(runs, 60.0, needs(340.0, 990.0))
    assert not over.passes
    assert over.face == "show"
    assert over.factor == pytest.approx(1000 / 3 / 340, rel=1e-9)
    assert len(over.short) > 5000


def test_a_small_spot_is_found() -> None:
    spot = (1.77, 0.93)
    found = check(rows(SQUARE, 0.06), 60.0, needs(0.0, 500.0, spot))
    assert found.factor == pytest.approx(0.2, rel=1e-9)
    assert found.at is not None
    assert np.hypot(found.at[0] - spot[0], found.at[1] - spot[1]) < 0.03
    assert 0 < np.hypot(*(found.short - spot).T).max() < 0.03


def test_nothing_owed_is_carried_by_nothing() -> None:
    assert check([], 60.0, needs(0.0, 0.0)).factor == np.inf
    assert check([], 60.0, needs(0.0, 1.0)).factor == 0.0


def test_points_lie_inside_and_reach_close_to_every_edge() -> None:
    region = with_opening(SQUARE, 1, 1, 1.5, 2)
    points = check_points(region, 20_000, 3)
    assert shapely.contains_xy(region, points[:, 0], points[:, 1]).all()
    assert 17_000 < len(points) < 22_000
    for ring in (region.exterior, *region.interiors):
        along = shapely.line_interpolate_point(ring, np.arange(0, ring.length, 0.05))
        nearest = np.hypot(*(shapely.get_coordinates(along)[:, None] - points[None]).transpose(2, 0, 1)).min(axis=1)
        assert nearest.max() < 0.03


def test_points_keep_off_the_edges_by_the_inset() -> None:
    region = with_opening(SQUARE, 1, 1, 1.5, 2)
    points = check_points(region, 5000, 3, 0.05)
    off = shapely.distance(shapely.points(points), region.boundary)
    assert 0.05 <= np.min(off) < 0.051
    assert len(points) > 4000
    assert len(check_points(region, 5000, 3, 2.0)) == 0


def test_a_bent_run_is_refused() -> None:
    bent = Run("R", "show", ((0.1, 0.1), (1.0, 0.1), (1.0, 1.0)), 0.01, WIRE)
    with pytest.raises(ValueError, match="run 'R' has 3 points"):
        strength_at(np.array([[0.5, 0.5]]), ALONG, [bent], SQUARE, RULES, pulls([bent], 1.0))
