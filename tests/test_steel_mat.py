"""The uniform mat against hand calculations and a plain search over all spacings."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf, pi

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from fem.steel.capacity import carried_by
from fem.steel.mat import MatFound, uniform_mat
from fem.steel.model import Covers, Demand, Face, Rules, Run, Steel

FloatArray = npt.NDArray[np.float64]

THICK = 0.04
WIRE = Steel("wire", "wire", 0.004, 0.004, 12.6e-6, 485e6, 550e6, 200e9)
COVERS = Covers(0.01, 0.01, 0.012, 0.012)
RULES = Rules(0.03, 0.12, (0.0, pi / 2), 0.005, 0.2, 0.3)
ANGLES = np.arange(12) * pi / 12


def depth_of(face: Face, layer: int) -> float:
    depth = 0.01 + 0.004 * (layer + 0.5)
    return depth if face == "show" else THICK - depth


def worth(steel: Steel, at: float) -> float:
    """A simple law: pull times arm less a little, nothing below."""
    return max(steel.area * steel.yield_strength * (at - 0.002), 0.0)


def grid(region: shapely.Polygon, step: float) -> FloatArray:
    x0, y0, x1, y1 = region.bounds
    x, y = np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return points[shapely.contains_xy(region, points[:, 0], points[:, 1])]


def demand_of(region: shapely.Polygon, show: FloatArray, underside: FloatArray, step: float = 0.1) -> Demand:
    """Moments (mx, my, mxy) owed on each face at points clear of the edge, where ends carry nothing yet."""
    points = grid(region, step)
    clear = np.where(shapely.distance(shapely.points(points), region.boundary) > 0.22, 1.0, 0.0)
    c, s = np.cos(ANGLES), np.sin(ANGLES)
    kernel = np.stack([c * c, s * s, 2 * s * c])
    needed: dict[Face, FloatArray] = {
        "show": np.maximum(show @ kernel, 0) * clear[:, None],
        "underside": np.maximum(underside @ kernel, 0) * clear[:, None],
    }
    zero = np.zeros((len(points), len(ANGLES)), dtype=np.int64)
    return Demand(points, ANGLES, needed, {"show": zero, "underside": zero}, ("use",))


def find(
    region: shapely.Polygon, demand: Demand, layers: int = 4, angle: float | None = None, rules: Rules = RULES
) -> MatFound:
    return uniform_mat(region, THICK, demand, WIRE, COVERS, rules, worth, depth_of, layers, angle)


NOTHING = np.zeros(3)
SLAB = shapely.box(0, 0, 1.5, 1.0)


# By hand: wires along x at a spacing s carry worth / s where most is a multiple of s (their tents then add up to one),
# and 1.25 to 1.5 times worth / most at 0.75 most. So 0.8 worth / s asks for s and not for the next wider one.
@pytest.mark.parametrize("spacing", [0.03, 0.06, 0.09, 0.12])
@pytest.mark.parametrize("face", ["show", "underside"])
def test_one_way_pull_gets_the_widest_spacing_that_carries_it(spacing: float, face: Face) -> None:
    each = worth(WIRE, THICK - 0.012)
    pull = np.array([0.8 * each / spacing, 0.0, 0.0])
    found = find(SLAB, demand_of(SLAB, *((pull, NOTHING) if face == "show" else (NOTHING, pull))))
    assert found.mat is not None
    assert found.mat.spacing[face] == pytest.approx((spacing, inf), rel=1e-9)
    assert found.mat.spacing["show" if face == "underside" else "underside"] == (inf, inf)
    assert all(run.points[0][1] == pytest.approx(run.points[1][1], rel=1e-9) for run in found.mat.runs)
    assert {(run.layer, run.face, run.depth) for run in found.mat.runs} == {(0, face, depth_of(face, 0))}
    count = int((1.0 - 2 * (0.012 + 0.002)) / spacing) + 1
    assert len(found.mat.runs) == count
    assert found.mat.length == pytest.approx(count * (1.5 - 2 * 0.014), rel=1e-6)
    assert 1 <= found.mat.carried.factor <= 1.5
    assert found.densest == pytest.approx(1 / 0.8 * spacing / 0.03, rel=1e-9)


def plain(demand: Demand, region: shapely.Polygon, rules: Rules, layers: int) -> tuple[float, float]:
    """Least length of all mats, and the best factor, each mat laid wire by wire and weighed by carried_by."""
    inset = shapely.difference(
        shapely.buffer(shapely.Polygon(region.exterior), -0.014),
        shapely.buffer(shapely.MultiPolygon([shapely.Polygon(ring) for ring in region.interiors]), 0.014),
    )
    x0, y0, x1, y1 = inset.bounds
    spacings: list[float | None] = [None, *(rules.pitch * k for k in range(1, round(rules.most / rules.pitch) + 1))]

    def wires(across: bool, spacing: float, face: Face, layer: int) -> list[Run]:
        low, high = (x0, x1) if across else (y0, y1)
        low, high = low + 1e-7, high - 1e-7
        count = int((high - low) / spacing) + 1
        out = []
        for k in range(count):
            at = (low + high) / 2 + (k - (count - 1) / 2) * spacing
            line = shapely.LineString([(at, -9), (at, 9)] if across else [(-9, at), (9, at)])
            for piece in shapely.get_parts(shapely.intersection(line, inset)):
                if piece.length >= rules.least_length:
                    a, b = shapely.get_coordinates(piece).tolist()
                    out.append(Run("", face, (tuple(a), tuple(b)), depth_of(face, layer), WIRE, layer))
        return out

    best, densest = inf, 0.0
    owed = {face: bool((demand.needed[face] > 0).any()) for face in demand.needed}
    for sx, sy, ux, uy in product(spacings, repeat=4):
        if sum(s is not None for s in (sx, sy, ux, uy)) > layers or (not owed["show"] and (sx or sy)):
            continue
        for first, second in product((0, 1), repeat=2):
            runs: list[Run] = []
            layouts: tuple[tuple[Face, float | None, float | None, int], ...] = (
                ("show", sx, sy, first),
                ("underside", ux, uy, second),
            )
            for face, along, across, x_first in layouts:
                x_layer, y_layer = (0, 1) if x_first else (1, 0)
                both = along is not None and across is not None
                runs += [] if along is None else wires(False, along, face, x_layer if both else 0)
                runs += [] if across is None else wires(True, across, face, y_layer if both else 0)
            factor = carried_by(runs, demand, region, THICK, rules, worth).factor
            densest = max(densest, factor)
            if factor >= 1:
                best = min(best, sum(run.length for run in runs))
    return best, densest


WITH_SINK = shapely.Polygon(SLAB.exterior, [shapely.box(0.5, 0.3, 1.0, 0.7).exterior])


@pytest.mark.parametrize("seed", range(4))
def test_shortest_of_all_mats_by_a_plain_search(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rules = replace(RULES, pitch=0.05, most=0.1)
    show, underside = rng.uniform(200, 900, 3) * (1, 1, 0.3), rng.uniform(200, 1400, 3) * (1, 1, 0.3)
    region, layers = (WITH_SINK, 4) if seed % 2 else (SLAB, 3)
    demand = demand_of(region, show, underside, 0.15)
    best, densest = plain(demand, region, rules, layers)
    found = find(region, demand, layers, rules=rules)
    assert found.densest == pytest.approx(densest, rel=1e-6)
    assert (found.mat is None) == (best == inf)
    if found.mat is not None:
        assert found.mat.length == pytest.approx(best, rel=1e-5)
        assert found.mat.carried.factor >= 1


def test_wires_are_cut_at_the_opening_and_each_piece_counts() -> None:
    each = worth(WIRE, THICK - 0.012)
    demand = demand_of(WITH_SINK, NOTHING, np.array([0.8 * each / 0.12, 0.0, 0.0]))
    found = find(WITH_SINK, demand).mat
    assert found is not None
    beside = [run for run in found.runs if 0.286 < run.points[0][1] < 0.714]
    assert {round(run.length, 3) for run in beside} == {0.472}
    assert len(beside) == 2 * len({run.points[0][1] for run in beside})
    assert found.length == pytest.approx(sum(run.length for run in found.runs), rel=1e-12)


def test_too_much_says_how_much_the_densest_carries() -> None:
    each = worth(WIRE, THICK - 0.012)
    found = find(SLAB, demand_of(SLAB, NOTHING, np.array([2 * each / 0.03, 0.0, 0.0])))
    assert found.mat is None
    assert found.densest == pytest.approx(0.5, rel=1e-9)


def test_nothing_owed_needs_no_mat() -> None:
    found = find(SLAB, demand_of(SLAB, NOTHING, NOTHING))
    assert found.mat is not None
    assert (found.mat.length, found.mat.runs, found.densest) == (0.0, (), inf)


# Two directions on two faces make four layers; where only three fit no mat carries strong pull both ways on both faces.
def test_only_so_many_layers_as_fit() -> None:
    each = worth(WIRE, THICK - 0.016)
    both = np.array([0.8 * each / 0.03, 0.8 * each / 0.03, 0.0])
    demand = demand_of(SLAB, both, both)
    four = find(SLAB, demand, layers=4).mat
    assert four is not None
    assert len({(run.face, run.layer) for run in four.runs}) == 4
    assert find(SLAB, demand, layers=3).mat is None


# A law: the slab turned with its demand gets the same mat, turned.
def test_a_turned_slab_gets_the_same_mat() -> None:
    demand = demand_of(WITH_SINK, np.array([500.0, 300.0, 100.0]), np.array([900.0, 600.0, -200.0]))
    turn = 0.4
    R = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    rings = [shapely.get_coordinates(ring) @ R.T for ring in (WITH_SINK.exterior, *WITH_SINK.interiors)]
    turned = replace(demand, points=demand.points @ R.T, angles=demand.angles + turn)
    before = find(WITH_SINK, demand)
    rules = replace(RULES, directions=(turn, turn + pi / 2))
    after = find(shapely.Polygon(rings[0], rings[1:]), turned, rules=rules)
    assert before.mat is not None
    assert after.mat is not None
    assert after.mat.length == pytest.approx(before.mat.length, rel=1e-6)
    assert after.densest == pytest.approx(before.densest, rel=1e-5)
