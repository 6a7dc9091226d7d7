"""Straight runs that might be laid: covers kept, no closer than the pitch, past openings, trimmers across corners."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from fem.steel.lines import candidates, main_directions
from fem.steel.model import Covers, Rules, Steel
from meshing.shape import Shape, ellipse, polygon, rectangle

WIRE = Steel("wire", "wire", 0.004, 0.004, 12e-6, 500e6, 550e6, 200e9)
COVERS = Covers(0.01, 0.01, 0.02, 0.03)
RULES = Rules(0.04, 0.12, (0.0, np.pi / 4, np.pi / 2, 3 * np.pi / 4), 0.01, anchorage=0.1, lap=0.2)

L_SHAPE = polygon([(0, 0), (2, 0), (2, 0.6), (0.7, 0.6), (0.7, 1.5), (0, 1.5)], [0, 0, 0, 0.025, 0, 0])
SLABS = {
    "L with sink": Shape(L_SHAPE, (rectangle((1.3, 0.3), (0.6, 0.35), 0.02),)).region(),
    "round with a round hole": Shape(ellipse((0, 0), (1.2, 1.2)), (ellipse((0.1, 0.1), (0.3, 0.3)),)).region(),
    "kite": Shape(polygon([(0, 0), (1, -0.4), (2, 0), (1, 0.9)])).region(),
}


@pytest.mark.parametrize("name", SLABS)
@pytest.mark.parametrize("angle", [0.0, 0.3, np.pi / 4, np.pi / 2, 2.7])
def test_every_run_keeps_its_cover_on_both_sides_and_at_its_ends(name: str, angle: float) -> None:
    region = SLABS[name]
    bars = candidates(region, angle, WIRE, COVERS, RULES, trimmers=True)
    assert len(bars.offset) > 10
    lines = _lines(bars.angle, bars.offset, bars.begin, bars.end)
    outline = shapely.LinearRing(region.exterior.coords)
    # Covers are measured to the side of the wire; polygons stand for arcs within 0.02 mm.
    assert shapely.distance(outline, lines).min() >= COVERS.edge - 3e-5
    sideways = shapely.distance(outline, shapely.line_interpolate_point(lines, 0.5, normalized=True))
    assert sideways.min() >= COVERS.edge + WIRE.diameter / 2 - 3e-5
    for hole in region.interiors:
        assert shapely.distance(shapely.Polygon(hole), lines).min() >= COVERS.opening - 3e-5
    assert bars.length.min() >= RULES.least_length


@pytest.mark.parametrize("name", SLABS)
@pytest.mark.parametrize("angle", [0.0, 1.0])
def test_lines_lie_a_pitch_apart_and_no_wider_than_needed(name: str, angle: float) -> None:
    bars = candidates(SLABS[name], angle, WIRE, COVERS, RULES)
    gaps = np.diff(np.unique(bars.offset))
    assert gaps.min() >= RULES.pitch - 1e-9
    assert np.median(gaps) < 1.3 * RULES.pitch


# By hand: chords of an L through the sink. Below the sink, y < 0.125, a run passes; at its height it is cut in two.
def test_a_run_passes_the_sink_through_the_rails_and_is_never_cut_by_it() -> None:
    bars = candidates(SLABS["L with sink"], 0.0, WIRE, COVERS, RULES)
    rail = bars.offset < 0.095
    np.testing.assert_allclose([bars.begin[rail].min(), bars.end[rail].max()], [0.02, 1.98], atol=1e-4)
    assert rail.sum() == 2  # as many as fit: the first by the front edge, the last by the sink, a pitch and more apart
    beside = (bars.offset > 0.2) & (bars.offset < 0.4)
    ends = np.unique(np.round([*bars.begin[beside], *bars.end[beside]], 3))
    np.testing.assert_allclose(ends, [0.02, 0.97, 1.63, 1.98])
    assert not shapely.crosses(
        shapely.Polygon(SLABS["L with sink"].interiors[0]), _lines(0.0, bars.offset, bars.begin, bars.end)
    ).any()


def test_a_trimmer_ends_once_it_is_anchored_past_the_corner() -> None:
    region = SLABS["L with sink"]
    whole = candidates(region, 3 * np.pi / 4, WIRE, COVERS, RULES)
    both = candidates(region, 3 * np.pi / 4, WIRE, COVERS, RULES, trimmers=True)
    short = slice(len(whole.offset), None)
    assert len(both.offset[short]) > 5
    corner = np.array([0.7, 0.6])
    along, across = corner @ (-np.sqrt(0.5), np.sqrt(0.5)), corner @ (-np.sqrt(0.5), -np.sqrt(0.5))
    at_corner = (both.begin[short] < along) & (both.end[short] > along)
    beside = at_corner & (abs(both.offset[short] - across) < RULES.most)
    begin, end = both.begin[short][beside], both.end[short][beside]
    past = np.minimum(along - begin, end - along)
    assert past.min() >= RULES.anchorage
    # The fillet of 25 mm is 35 mm wide this way; a trimmer reaches its anchorage and half the widest spacing past it.
    assert (end - begin).min() <= 0.036 + 2 * (RULES.anchorage + RULES.most / 2)
    assert (end - begin).max() > 2 * (end - begin).min()  # the whole chord may be laid as well
    # Nearest to the corner: as near as its cover allows, half a wire more; the fillet of 25 mm keeps 10.4 mm off it.
    nearest = abs(both.offset[short] - across)[at_corner].min()
    assert nearest <= COVERS.edge + WIRE.diameter / 2 + 0.0104 + 1e-4


def test_main_directions_are_those_of_the_edges() -> None:
    directions = (0.0, np.pi / 4, np.pi / 2, 3 * np.pi / 4)
    assert main_directions(SLABS["L with sink"], directions) == (0.0, np.pi / 2)
    turned = affinity.rotate(SLABS["L with sink"], 45)
    assert main_directions(turned, directions) == (np.pi / 4, 3 * np.pi / 4)
    assert main_directions(turned, ()) == ()


def test_a_slab_too_narrow_for_its_covers_has_no_runs() -> None:
    assert not len(candidates(shapely.box(0, 0, 1, 0.03), 0.0, WIRE, COVERS, RULES).offset)
    one = candidates(shapely.box(0, 0, 1, 0.05), 0.0, WIRE, COVERS, RULES)
    np.testing.assert_allclose([one.offset, one.begin, one.end], [[0.025], [0.02], [0.98]], atol=1e-6)


def _lines(angle: float, offset, begin, end):  # type: ignore[no-untyped-def]  # arrays in, shapely lines out
    c, s = np.cos(angle), np.sin(angle)
    ends = [np.stack([x * c - offset * s, x * s + offset * c], axis=-1) for x in (begin, end)]
    return shapely.linestrings(np.stack(ends, axis=1))
