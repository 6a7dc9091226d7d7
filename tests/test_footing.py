"""Where supports and loads meet the plate: one newton a contact, at the right place, whatever the kind of place."""

from __future__ import annotations

import numpy as np
import pytest

from fem.plate.bearing import halved
from fem.plate.bell import BellPlate
from fem.plate.footing import Footing, Place, Site, footing
from fem.plate.footings import MOST_CONTACTS, footings, stage_groups
from fem.plate.free_plate import FreePlate
from fem.plate.model import AreaPlace, EdgePlace, LinePlace, PlateCase, PointPlace, Stage, Support
from meshing.shape import Shape, ellipse, polygon, rectangle
from meshing.triangulate import triangulate

THICKNESS = 0.04
SHAPE = Shape(
    polygon(
        np.array([[0, 0], [2.0, 0], [2.0, 0.6], [0.7, 0.6], [0.7, 1.4], [0, 1.4]]), np.array([0, 0, 0, 0.03, 0, 0])
    ),
    (rectangle((1.3, 0.3), (0.5, 0.3), 0.02),),
)
RING = tuple((0.35 + 0.2 * np.cos(a), 0.35 + 0.2 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 25))
PLACES: dict[str, Place] = {
    "bare point": PointPlace((0.3, 0.5)),
    "hand": PointPlace((0.3, 0.5), 0.1),
    "hand near an edge": PointPlace((0.03, 0.9), 0.1),
    "corner": PointPlace((0.0, 0.0), 0.1),
    "line": LinePlace(((0.1, 0.1), (0.6, 1.2))),
    "line with a bend": LinePlace(((0.1, 0.1), (0.1, 0.8), (0.5, 0.8))),
    "line through the opening": LinePlace(((1.2, 0.0), (1.25, 0.6))),
    "line on the edge": LinePlace(((0.2, 0.0), (1.8, 0.0))),
    "ring": LinePlace(RING),
    "whole outline": EdgePlace(0, 0.0, SHAPE.outline.length),
    "stretch of the outline": EdgePlace(0, 1.5, 3.0),
    "rim of the opening": EdgePlace(1, 0.0, SHAPE.openings[0].length),
    "area": AreaPlace(((0.1, 0.1), (0.5, 0.2), (0.4, 1.0))),
    "area over the opening": AreaPlace(((0.9, 0.05), (1.7, 0.05), (1.7, 0.55), (0.9, 0.55))),
    "whole slab": AreaPlace(),
}


@pytest.fixture(scope="module")
def site() -> Site:
    return Site.of(triangulate(SHAPE, THICKNESS), THICKNESS)


@pytest.fixture(scope="module")
def bell(site: Site) -> BellPlate:
    return FreePlate(site.mesh, THICKNESS, 0.2).bell


@pytest.fixture(params=PLACES, scope="module")
def foot(request: pytest.FixtureRequest, site: Site) -> Footing:
    return footing(site, PLACES[request.param], clamp=False)


def test_each_contact_is_one_newton_where_it_says(foot: Footing, bell: BellPlate) -> None:
    columns = bell.functionals(foot.points, foot.weight, foot.contact, foot.size, foot.normal)
    motion = FreePlate(bell.mesh, THICKNESS, 0.2).rigid_motions.T @ columns
    assert motion[0] == pytest.approx(np.ones(foot.size), rel=1e-10)
    # A hat at the end of a row has its middle a third of an interval inside; nothing reaches farther than an interval.
    reach = np.hypot(*(motion[1:].T - foot.spots).T)
    assert reach.max() <= 1.5 * max(2 * 0.064, np.sqrt(foot.tributary.max()))


def test_shares_make_the_whole(foot: Footing) -> None:
    assert foot.share.sum() == pytest.approx(1.0, rel=1e-9)


def test_half_as_many_contacts_press_as_hard(foot: Footing) -> None:
    halves = halved(foot)
    assert halves.sum(axis=0) == pytest.approx(np.ones(halves.shape[1]), rel=1e-12)
    assert (halves >= 0).all()


@pytest.mark.parametrize(("name", "length"), [("line through the opening", 0.3), ("line on the edge", 1.6)])
def test_what_bridges_an_opening_bears_nothing_there(site: Site, name: str, length: float) -> None:
    # The slope of the first line makes 0.3 m of slab 0.301 m of line; its region is grown by 0.1 mm at each cut.
    assert footing(site, PLACES[name]).tributary.sum() == pytest.approx(length, rel=6e-3)


def test_the_spread_of_a_line_is_no_wider_than_to_the_nearest_edge(site: Site) -> None:
    foot = footing(site, LinePlace(((0.1, 0.02), (1.8, 0.02))))
    assert foot.points[:, 1].min() >= 0.0
    assert foot.points[:, 1].max() <= 0.04 + 1e-12


def test_a_clamp_holds_slopes_across_a_line_and_both_ways_at_a_point(site: Site) -> None:
    line = footing(site, PLACES["line"], clamp=True)
    across = line.normal[~np.isnan(line.normal[:, 0])]
    along = np.subtract((0.6, 1.2), (0.1, 0.1))
    assert np.abs(across @ along).max() < 1e-12
    point = footing(site, PLACES["hand"], clamp=True)
    assert point.slope.tolist() == [False, True, True]


def test_a_place_off_the_slab_has_no_contacts(site: Site) -> None:
    assert footing(site, LinePlace(((1.2, 0.3), (1.4, 0.3)))).size == 0


def test_stages_share_footings_and_crowds_are_thinned(site: Site) -> None:
    def stage(lines: int) -> Stage:
        xs = np.linspace(0.02, 0.68, lines)
        supports = tuple(Support(f"{x:.4f}", LinePlace(((x, 0.0), (x, 1.4))), "rest") for x in xs)
        return Stage(f"{lines}", "show", 1.0, 3e10, 3e6, 2e6, supports)

    feet = footings(site, PlateCase(THICKNESS, 2400, 0.2), [stage(4), stage(4), stage(70)])
    assert feet[0].states[0].feet[0] is feet[1].states[0].feet[0]
    assert [stage.crowded for stage in feet] == [False, False, True]
    # Each line needs two hats, two single forces at its ends and no more.
    assert sum(foot.size for foot in feet[2].feet) <= max(MOST_CONTACTS, 4 * 70)
    assert stage_groups(feet) == [range(3)]


def test_a_round_edge_is_a_ring_of_whole_hats() -> None:
    round_table = Shape(ellipse((0, 0), (1.2, 1.2)))
    site = Site.of(triangulate(round_table, THICKNESS), THICKNESS)
    foot = footing(site, EdgePlace(0, 0.0, round_table.outline.length))
    assert foot.tributary.std() < 0.02 * foot.tributary.mean()
    assert foot.tributary.sum() == pytest.approx(np.pi * 1.2, rel=1e-9)
    assert np.hypot(*foot.points.T) == pytest.approx(np.full(len(foot.points), 0.6), rel=1e-9)
