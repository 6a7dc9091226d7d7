"""What is owed beside free edges: the pull along them alone, nothing in outer corners, all of it in hollow ones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.edges import along_edges
from fem.steel.model import Demand

FloatArray = npt.NDArray[np.float64]

H = 0.04
ANGLES = np.arange(36) * np.pi / 36
L_SHAPE = shapely.Polygon([(0, 0), (2, 0), (2, 0.6), (0.6, 0.6), (0.6, 1.5), (0, 1.5)])
ROUND = shapely.Polygon(
    shapely.Point(0, 0).buffer(1.0, 64).exterior.coords, [shapely.Point(0.3, 0).buffer(0.2, 64).exterior.coords]
)


def even(points: list[tuple[float, float]]) -> Demand:
    """The same 100 N m/m in every direction, on both faces."""
    needed = np.full((len(points), 36), 100.0)
    governs = np.zeros((len(points), 36), dtype=np.int64)
    return Demand(
        np.array(points),
        ANGLES,
        {"show": needed, "underside": needed},
        {"show": governs, "underside": governs},
        ("one",),
    )


def test_beside_an_edge_only_the_pull_along_it_is_owed() -> None:
    found = along_edges(even([(1.0, 0.01), (1.0, 0.05), (1.99, 0.3)]), L_SHAPE, H)
    assert found.needed["show"][0] == pytest.approx(100 * np.cos(ANGLES) ** 2, abs=1e-9)
    assert found.needed["underside"][1] == pytest.approx(np.full(36, 100.0))
    assert found.needed["show"][2] == pytest.approx(100 * np.sin(ANGLES) ** 2, abs=1e-9)


def test_an_outer_corner_owes_nothing_and_a_hollow_one_all() -> None:
    found = along_edges(even([(0.01, 0.01), (1.99, 0.58), (0.59, 0.59), (0.6, 0.65), (0.59, 0.75)]), L_SHAPE, H)
    assert found.needed["show"][:2] == pytest.approx(0.0)
    assert found.needed["show"][2:4] == pytest.approx(100.0)
    assert found.needed["show"][4] == pytest.approx(100 * np.sin(ANGLES) ** 2, abs=1e-9)


@pytest.mark.parametrize("radius", [0.0, 0.02])
def test_a_rounded_corner_is_as_hollow_as_a_sharp_one(radius: float) -> None:
    shape = L_SHAPE.buffer(radius).buffer(-radius) if radius else L_SHAPE
    found = along_edges(even([(0.595, 0.595)]), shape, H)
    assert found.needed["show"] == pytest.approx(np.full((1, 36), 100.0))


def test_a_wide_hole_is_an_edge_like_any_other() -> None:
    found = along_edges(even([(0.505, 0.0), (0.3, 0.99)]), ROUND, H)
    assert found.needed["show"][0] == pytest.approx(100 * np.sin(ANGLES) ** 2, abs=6.0)
    assert found.needed["show"][1].max() < 100 + 1e-9


def test_less_is_owed_never_more() -> None:
    rng = np.random.default_rng(4)
    demand = even([tuple(p) for p in rng.uniform((0, 0), (0.6, 1.5), (200, 2))])
    found = along_edges(demand, L_SHAPE, H)
    for face in ("show", "underside"):
        assert (found.needed[face] <= demand.needed[face]).all()
    assert not any(array.base is demand.needed["show"] for array in found.needed.values())
