"""Tension paths against closed forms and laws.

With d = (sx - sy)/2 + i sxy as a function of z = x + i y the direction of the larger principal stress is half the
argument of d. If that of d is the argument of conj(f'(z)) squared, it is the direction in which f(z) changes by a real
amount: the paths are the curves Im f(z) = const. From f all the conics and flows below follow (complex analysis, from
memory; the flow round a cylinder: Lamb, Hydrodynamics, 6th ed., art. 68).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from scipy.spatial import cKDTree

from fem.paths import Path, tension_paths
from tests.paths_fields import (
    Grid,
    corner_supported,
    from_deviator,
    grid_over,
    l_with_hole,
    polygon,
    ring_region,
    turned,
)

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]

L_SHAPE = l_with_hole()
L_GRID = grid_over(L_SHAPE, 0.012, 0.06, growth=0.35)
HOLE = ring_region(0.15, 0.6)
HOLE_GRID = grid_over(HOLE, 0.008, 0.03)
SQUARE = shapely.box(-0.5, -0.5, 0.5, 0.5)
SQUARE_GRID = grid_over(SQUARE, 0.02, 0.03)
MPA = 1e6


def at_points(grid: Grid) -> ComplexArray:
    return np.asarray(grid[0][:, 0] + 1j * grid[0][:, 1])


def places(path: Path) -> ComplexArray:
    return np.asarray(path.points[:, 0] + 1j * path.points[:, 1])


def length(paths: Sequence[Path]) -> float:
    return float(sum(np.abs(np.diff(places(path))).sum() for path in paths))


def tension_of(stress: FloatArray) -> FloatArray:
    d = np.hypot((stress[:, 0] - stress[:, 1]) / 2, stress[:, 2])
    return np.asarray((stress[:, 0] + stress[:, 1]) / 2 + d)


def all_points(paths: Sequence[Path]) -> FloatArray:
    return np.vstack([path.points for path in paths])


def apart(paths: Sequence[Path], others: Sequence[Path]) -> FloatArray:
    """Distance of every point of either set from the other set, in both directions."""
    a, b = all_points(paths), all_points(others)
    return np.concatenate((cKDTree(a).query(b)[0], cKDTree(b).query(a)[0]))


def closest_pair(paths: Sequence[Path]) -> float:
    """Least distance between points of two different paths."""
    trees = [cKDTree(path.points) for path in paths]
    return min(float(np.min(trees[i].query(paths[j].points)[0])) for i in range(len(paths)) for j in range(i))


def soft_spots(seed: int, grid: Grid = L_GRID) -> tuple[FloatArray, float]:
    """An L-shape's field with pulled, pressed and isotropic places, and its floor."""
    rng = np.random.default_rng(seed)
    spots = [(0.3, 1.4), (0.4, 0.3), (1.0, 0.5), (2.1, 0.2)]
    stress = corner_supported(grid[0], spots, list(MPA * rng.uniform(0.5, 1.5, 4) * rng.choice([-1, 1], 4)))
    return stress, 0.15 * MPA


# --- closed forms


def test_a_constant_field_gives_straight_even_lines_from_edge_to_edge() -> None:
    angle, spacing = np.radians(15), 0.05
    stress = np.tile(from_deviator(np.array([0.5 * MPA * np.exp(2j * angle)]), 0.6 * MPA), (len(L_GRID[0]), 1))
    (paths,) = tension_paths(*L_GRID, [stress], [0.1 * MPA], spacing)
    for path in paths:
        z = places(path) * np.exp(-1j * angle)
        assert np.ptp(z.imag) < 1e-6
        assert (np.abs(np.diff(z.real)) > 0).all()
        np.testing.assert_allclose(path.tension, 1.1 * MPA, rtol=1e-9, atol=0)
        assert path.distinct.all()
        ends = shapely.points(path.points[[0, -1]])
        assert np.max(shapely.distance(L_SHAPE.boundary, ends)) < 1e-9
    # Lines one spacing apart have the area's length per spacing.
    assert length(paths) * spacing == pytest.approx(L_SHAPE.area, rel=0.1)
    # Within the spacing's limits: no two lines nearer than half of it, save where an edge ends a longer neighbour.
    offsets = np.sort([(places(path) * np.exp(-1j * angle)).imag.mean() for path in paths])
    assert closest_pair(paths) > 0.55 * spacing
    assert np.median(np.diff(offsets)[np.diff(offsets) > 1e-6]) < 1.5 * spacing


def test_tension_round_a_hole_gives_closed_rings() -> None:
    # Lame's tube under inner pressure: hoop tension q (1/r2 + 1/R2), radial pressure (Timoshenko & Goodier, art. 28).
    spacing = 0.05
    z = at_points(HOLE_GRID)
    stress = from_deviator(-MPA * 0.15**2 * z**2 / np.abs(z) ** 4, MPA * (0.15 / 0.6) ** 2)
    (paths,) = tension_paths(*HOLE_GRID, [stress], [0.01 * MPA], spacing)
    assert len(paths) == 9  # a wall of 0.45 m
    radii = np.sort([np.abs(places(path)).mean() for path in paths])
    for path in paths:
        assert path.closed
        radius = np.abs(places(path))
        # A ring that did not close would drift; the grid's own triangles (30 mm) leave a ripple of a millimetre.
        assert np.ptp(radius) < 0.03 * spacing
        turn = np.angle(np.diff(places(path))[1:] / np.diff(places(path))[:-1]).sum()
        assert abs(turn) == pytest.approx(2 * np.pi, rel=0.05)
        exact = MPA * 0.15**2 * (1 / radius**2 + 1 / 0.6**2)
        # Away from the inner edge, where a linear field on a raster cannot follow 1/r2, within 3 %.
        assert (np.abs(path.tension / exact - 1) < 0.03).all() or radius.mean() < 0.2
    np.testing.assert_allclose(radii, 0.15 + spacing * (np.arange(9) + 0.5), rtol=0, atol=0.05 * spacing)


def test_pull_away_from_a_hole_gives_straight_rays() -> None:
    z = at_points(HOLE_GRID)
    (paths,) = tension_paths(*HOLE_GRID, [from_deviator(MPA * z**2 / np.abs(z) ** 2, MPA)], [0.1 * MPA], 0.05)
    for path in paths:
        angle = np.unwrap(np.angle(places(path)))
        assert np.ptp(angle) * 0.15 < 0.03 * 0.05
    # As many rays at the rim as fit once round at two thirds to one and a half of the spacing.
    outer = [path for path in paths if np.abs(places(path)).max() > 0.59]
    assert 2 * np.pi * 0.6 / (1.5 * 0.05) < len(outer) < 2 * np.pi * 0.6 / (0.66 * 0.05)


@pytest.mark.parametrize(
    ("f", "derivative"),
    [
        pytest.param(np.sqrt, lambda z: 0.5 / np.sqrt(z), id="wedge: confocal parabolas, Im sqrt(z)"),
        pytest.param(lambda z: z**1.5, lambda z: 1.5 * np.sqrt(z), id="trisector: Im z^1.5"),
        pytest.param(lambda z: z**2, lambda z: 2 * z, id="saddle: rectangular hyperbolas, Im z^2"),
        pytest.param(np.exp, np.exp, id="Im exp(z)"),
    ],
)
def test_paths_follow_the_level_curves_of_a_known_function(
    f: Callable[[ComplexArray], ComplexArray], derivative: Callable[[ComplexArray], ComplexArray]
) -> None:
    spacing = 0.04
    center = 0.013 + 0.008j
    slope = derivative(at_points(SQUARE_GRID) - center)
    # d must be linear near its zero to have a sound grid: the size is chosen so, the direction is what counts.
    d = slope.conjugate() / slope * np.abs(at_points(SQUARE_GRID) - center)
    (paths,) = tension_paths(*SQUARE_GRID, [from_deviator(MPA * d, MPA)], [0.1 * MPA], spacing)
    assert length(paths) > 0.6 * SQUARE.area / spacing
    for path in paths:
        z = places(path) - center
        if np.abs(z).min() < spacing:  # so close to the point the grid's triangles, not the formula, make the field
            continue
        level = f(z).imag
        level = np.abs(level)  # on the two sides of a root's cut it differs in sign
        # How far a path strays is the change over the slope.
        stray = np.ptp(level) / np.abs(derivative(z)).min()
        assert stray < 0.12 * spacing


def test_paths_turn_round_an_opening_as_a_flow_round_a_cylinder() -> None:
    # f = z + a2/z: the circle of radius a itself is a path, and no path ends on it but where it divides.
    a, spacing = 0.15, 0.05
    z = at_points(HOLE_GRID)
    slope = 1 - a**2 / z**2
    (paths,) = tension_paths(*HOLE_GRID, [from_deviator(MPA * slope.conjugate() ** 2, MPA)], [0.1 * MPA], spacing)
    for path in paths:
        w = places(path)
        level = np.abs((w + a**2 / w).imag)
        far = level.mean() > 0.3 * spacing
        if far:
            assert np.ptp(level) < 0.1 * spacing
        # Only the two lines that run straight at the opening may end there.
        on_hole = np.abs(np.abs(w[[0, -1]]) - a) < 1e-3
        assert not (on_hole.any() and far)
    # Beside the opening, but for where the flow divides, a line runs all along within a spacing of its rim.
    rim = a * np.exp(1j * np.radians(np.concatenate((np.arange(30, 151), np.arange(210, 331)))))
    assert np.max(cKDTree(all_points(paths)).query(np.column_stack((rim.real, rim.imag)))[0]) < spacing


def test_paths_at_45_degrees_to_the_rays_are_logarithmic_spirals() -> None:
    # The slip lines round a hole under pressure: r = const exp(+-theta) (Hill, Mathematical Theory of Plasticity,
    # 1950).
    z = at_points(HOLE_GRID)
    (paths,) = tension_paths(*HOLE_GRID, [from_deviator(1j * MPA * z**2 / np.abs(z) ** 2, MPA)], [0.1 * MPA], 0.05)
    for path in paths:
        w = places(path)
        kept = np.log(np.abs(w)) - np.unwrap(np.angle(w))
        assert np.ptp(kept) * 0.15 < 0.04 * 0.05
        assert not path.closed


def test_a_spiral_is_drawn_only_where_its_turns_are_apart() -> None:
    # At 89 degrees to the rays r grows by 1.116 each turn: by 0.3 to 1.4 spacings within this ring, too much to be
    # closed.
    spacing = 0.05
    z = at_points(HOLE_GRID)
    d = MPA * np.exp(2j * np.radians(89)) * z**2 / np.abs(z) ** 2
    (paths,) = tension_paths(*HOLE_GRID, [from_deviator(d, MPA)], [0.1 * MPA], spacing)
    assert max(length([path]) for path in paths) > 1.0
    for path in paths:
        assert not path.closed
        w = places(path)
        arc = np.concatenate(([0], np.cumsum(np.abs(np.diff(w)))))
        returns = np.abs(arc[:, None] - arc) > 3 * spacing
        if returns.any():
            assert np.abs(w[:, None] - w)[returns].min() > 0.45 * spacing


# --- laws of a family


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("spacing", [0.045, 0.07])
def test_lines_are_evenly_spaced_and_never_cross(seed: int, spacing: float) -> None:
    stress, floor = soft_spots(seed)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], spacing)
    assert len(paths) > 10
    assert closest_pair(paths) >= 0.45 * spacing
    lines = [shapely.LineString(path.points) for path in paths]
    pairs = shapely.STRtree(lines).query(lines, predicate="intersects")
    assert (pairs[0] == pairs[1]).all()
    # Nothing pulled is farther than a spacing from a line, a gap of two; but for scraps smaller than a stub.
    middle = L_GRID[0][L_GRID[1]].mean(axis=1)
    pulled = tension_of(stress)[L_GRID[1]].min(axis=1) > floor
    gap = cKDTree(all_points(paths)).query(middle[pulled])[0] / spacing
    assert np.quantile(gap, 0.95) < 0.85
    assert np.quantile(gap, 0.99) < 1.25
    # And the lines are about one spacing apart on the whole: half a length more or less of them than the area asks for.
    corner = L_GRID[0][L_GRID[1][pulled]]
    b, c = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = 0.5 * np.abs(b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]).sum()
    assert 0.75 < length(paths) * spacing / area < 1.25


@pytest.mark.parametrize("seed", range(4))
def test_lines_are_smooth_finely_stepped_and_no_stubs(seed: int) -> None:
    spacing = 0.06
    stress, floor = soft_spots(seed)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], spacing)
    for path in paths:
        step = np.diff(places(path))
        assert 0 < np.abs(step).min()
        assert np.abs(step).max() < spacing / 6 * 1.02
        # A turn of 0.35 rad on each half step, the tracer's limit, is 0.7 a step: half that between two points.
        assert np.abs(np.angle(step[1:] / step[:-1])).max() < 0.4
        assert np.abs(step).sum() >= 0.5 * spacing
    short = [path for path in paths if length([path]) < 1.5 * spacing]
    edge = L_SHAPE.boundary
    for path in short:
        # Whole paths of narrow places only: each end on the edge or at the floor.
        at_edge = shapely.distance(edge, shapely.points(path.points[[0, -1]])) < 1e-6
        at_floor = np.abs(path.tension[[0, -1]] / floor - 1) < 0.05
        assert (at_edge | at_floor).all()


@pytest.mark.parametrize("seed", range(4))
def test_lines_stay_in_the_slab_and_where_tension_counts(seed: int) -> None:
    stress, floor = soft_spots(seed)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], 0.05)
    for path in paths:
        assert shapely.distance(L_SHAPE, shapely.points(path.points)).max() < 2e-4  # the bulge of a step beside an arc
        assert path.tension.min() > 0.97 * floor  # straight between the raster's nodes
        assert np.isfinite(path.points).all()


def test_no_line_where_nothing_is_pulled() -> None:
    # Bending about one axis, pulled for x > 0 and pressed for x < 0: sx = k x; the floor is at x = 0.1.
    points, triangles = SQUARE_GRID
    stress = np.column_stack((10 * MPA * points[:, 0], np.zeros(len(points)), np.zeros(len(points))))
    (paths,) = tension_paths(points, triangles, [stress], [MPA], 0.05)
    for path in paths:
        assert path.points[:, 0].min() == pytest.approx(0.1, abs=1e-9)
        assert path.points[:, 0].max() == pytest.approx(0.5, abs=1e-9)
        np.testing.assert_allclose(np.ptp(path.points[:, 1]), 0, atol=1e-9)
    assert len(paths) == 20
    np.testing.assert_allclose(
        np.sort([p.points[0, 1] for p in paths]), -0.475 + 0.05 * np.arange(20), rtol=0, atol=0.005
    )


def test_tension_along_a_path_is_that_of_the_field() -> None:
    # A linear field is exact on triangles and on the raster, but within a cell or two of the edge.
    points, triangles = SQUARE_GRID
    sx, sy, sxy = (np.array([3, 1, 2]), np.array([1, -1, 0.5]), np.array([0.2, 0.4, -0.6]))
    basis = np.column_stack((np.ones(len(points)), points))
    stress = MPA * np.column_stack((basis @ sx, basis @ sy, basis @ sxy))
    (paths,) = tension_paths(points, triangles, [stress], [0.1 * MPA], 0.05)
    at = all_points(paths)
    inner = (np.abs(at) < 0.5 - 0.02).all(axis=1)
    at_basis = np.column_stack((np.ones(len(at)), at))
    exact = tension_of(MPA * np.column_stack((at_basis @ sx, at_basis @ sy, at_basis @ sxy)))
    found = np.concatenate([path.tension for path in paths])
    np.testing.assert_allclose(found[inner], exact[inner], rtol=1e-9, atol=0)
    np.testing.assert_allclose(found, exact, rtol=0.02, atol=0)
    assert inner.mean() > 0.8


def test_direction_is_interpolated_as_a_tensor() -> None:
    # Directions of 178 and 2 degrees side by side: the mean of the angles is 90, that of the tensors 0.
    points, triangles = SQUARE_GRID
    side = np.sign(np.sin(np.arange(len(points)) * 12.9898))
    stress = from_deviator(MPA * np.exp(2j * np.radians(2) * side), MPA)
    (paths,) = tension_paths(points, triangles, [stress], [0.1 * MPA], 0.05)
    assert length(paths) * 0.05 == pytest.approx(1.0, rel=0.15)
    for path in paths:
        step = np.diff(places(path))
        assert np.abs((step / np.abs(step)).imag).max() < np.sin(np.radians(2.5))


def test_equal_principal_stresses_are_marked() -> None:
    # The smaller stress falls from 0.9 to 0.7 of the larger across the square: a fifth of a difference at the middle.
    points, triangles = SQUARE_GRID
    stress = MPA * np.column_stack((np.ones(len(points)), 0.8 - 0.2 * points[:, 0], np.zeros(len(points))))
    (paths,) = tension_paths(points, triangles, [stress], [0.1 * MPA], 0.05)
    for path in paths:
        assert (path.distinct == (path.points[:, 0] > 0)).mean() > 0.9
        clear = np.abs(path.points[:, 0]) > 0.02
        assert (path.distinct[clear] == (path.points[clear, 0] > 0)).all()


def test_lines_stop_at_an_isotropic_point() -> None:
    # A trisector: one line aimed straight at it would have to turn by 60 degrees on the spot.
    spacing = 0.04
    d = at_points(SQUARE_GRID).conjugate()
    (paths,) = tension_paths(*SQUARE_GRID, [from_deviator(MPA * d, MPA)], [0.1 * MPA], spacing)
    for path in paths:
        step = np.diff(places(path))
        radius = np.minimum(np.abs(step[1:]), np.abs(step[:-1])) / np.abs(np.angle(step[1:] / step[:-1])).clip(1e-12)
        assert radius.min() > spacing / 12  # nothing turns on the spot
        assert abs(np.angle(step[1:] / step[:-1]).sum()) < np.radians(125)


def test_a_rail_narrower_than_the_spacing_has_a_line_along_its_middle() -> None:
    rail = shapely.box(0, 0, 1.2, 0.05)
    grid = grid_over(rail, 0.0125, 0.0125)
    stress = np.tile([MPA, 0.1 * MPA, 0.0], (len(grid[0]), 1))
    (paths,) = tension_paths(*grid, [stress], [0.1 * MPA], 0.08)
    assert len(paths) == 1
    np.testing.assert_allclose(paths[0].points[:, 1], 0.025, rtol=0, atol=1e-4)
    assert length(paths) == pytest.approx(1.2, abs=1e-6)


def test_lines_round_an_inner_corner_turn_with_it() -> None:
    # Circles about a point in the notch of the L, pulled along: every line passes from one leg into the other.
    z = at_points(L_GRID) - (0.75 + 0.75j)
    (paths,) = tension_paths(*L_GRID, [from_deviator(-MPA * z**2 / np.abs(z) ** 2, MPA)], [0.1 * MPA], 0.05)
    round_it = [p for p in paths if p.points[:, 0].max() > 0.7 and p.points[:, 1].max() > 0.7]
    assert len(round_it) >= 10
    nearest = min(float(shapely.LineString(p.points).distance(shapely.Point(0.65, 0.65))) for p in round_it)
    assert nearest < 0.05
    for path in round_it:
        assert np.ptp(np.abs(places(path) - (0.75 + 0.75j))) < 0.05 * 0.05


# --- what must not matter


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("degrees", [31.0, 90.0, -137.0])
def test_the_same_paths_when_the_slab_is_turned(seed: int, degrees: float) -> None:
    spacing = 0.06
    stress, floor = soft_spots(seed)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], spacing)
    points, moved = turned(L_GRID[0], stress, degrees)
    (found,) = tension_paths(points, L_GRID[1], [moved], [floor], spacing)
    back = [
        Path(turned(path.points, np.zeros((len(path.points), 3)), -degrees)[0], path.tension, path.distinct)
        for path in found
    ]
    distance = apart(paths, back) / spacing
    assert distance.max() < 0.6
    assert np.quantile(distance, 0.95) < 0.1
    assert length(back) == pytest.approx(length(paths), rel=0.02)
    assert abs(len(back) - len(paths)) <= 1


@pytest.mark.parametrize("seed", range(3))
def test_much_the_same_paths_on_another_grid_of_the_turned_slab(seed: int) -> None:
    # The grid's triangles bend the field a little, and a line more or less may follow from it: not more.
    spacing = 0.06
    stress, floor = soft_spots(seed)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], spacing)
    other = grid_over(L_SHAPE, 0.012, 0.06, growth=0.35, seed=5)
    points, moved = turned(other[0], soft_spots(seed, other)[0], 31.0)
    (found,) = tension_paths(points, other[1], [moved], [floor], spacing)
    back = [Path(turned(p.points, np.zeros((len(p.points), 3)), -31.0)[0], p.tension, p.distinct) for p in found]
    distance = apart(paths, back) / spacing
    assert np.quantile(distance, 0.95) < 0.6
    assert np.quantile(distance, 0.75) < 0.4
    assert length(back) == pytest.approx(length(paths), rel=0.05)


def test_a_round_slab_turned_keeps_its_paths() -> None:
    # Its edge names no direction, so that the raster must take one from the stresses, alike on both faces.
    disc = polygon(shapely.Point(0, 0).buffer(0.6, quad_segs=32))
    grid = grid_over(disc, 0.02, 0.05)
    stress = corner_supported(grid[0], [(0.2, 0.1), (-0.3, 0.2)], [MPA, -MPA])
    floor = 0.1 * float(tension_of(stress).max())
    faces = tension_paths(*grid, [stress, -stress], [floor, floor], 0.06)
    points, moved = turned(grid[0], stress, 31.0)
    for paths, found in zip(faces, tension_paths(points, grid[1], [moved, -moved], [floor, floor], 0.06), strict=True):
        back = [Path(turned(p.points, np.zeros((len(p.points), 3)), -31.0)[0], p.tension, p.distinct) for p in found]
        assert apart(paths, back).max() < 0.6 * 0.06
        assert length(back) == pytest.approx(length(paths), rel=0.02)


def test_a_symmetric_slab_turned_by_half_keeps_its_paths() -> None:
    # Its shape does not tell one end from the other: the stresses must.
    grid = grid_over(shapely.box(-1.2, -0.4, 1.2, 0.4), 0.02, 0.05)
    stress = corner_supported(grid[0], [(-0.7, 0.1), (0.4, -0.2)], [MPA, -0.7 * MPA])
    floor = 0.1 * float(tension_of(stress).max())
    (paths,) = tension_paths(*grid, [stress], [floor], 0.06)
    points, moved = turned(grid[0], stress, 180.0)
    (found,) = tension_paths(points, grid[1], [moved], [floor], 0.06)
    back = [Path(-p.points, p.tension, p.distinct) for p in found]
    assert np.quantile(apart(paths, back), 0.95) < 1e-6
    assert apart(paths, back).max() < 0.6 * 0.06


def test_a_symmetric_field_has_nearly_symmetric_paths() -> None:
    slab = shapely.box(-1.2, -0.4, 1.2, 0.4)
    grid = grid_over(slab, 0.02, 0.05)
    stress = corner_supported(grid[0], [(-0.7, 0.0), (0.7, 0.0)], [MPA, MPA])
    (paths,) = tension_paths(*grid, [stress], [0.1 * float(tension_of(stress).max())], 0.06)
    for mirror in ([-1, 1], [1, -1]):
        mirrored = [Path(path.points * mirror, path.tension, path.distinct) for path in paths]
        distance = apart(paths, mirrored) / 0.06
        assert np.median(distance) < 0.2
        assert np.quantile(distance, 0.95) < 0.6


def test_the_unit_of_stress_and_the_slabs_place_do_not_matter() -> None:
    stress, floor = soft_spots(1)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], 0.06)
    (scaled,) = tension_paths(*L_GRID, [stress * 2.0**-40], [floor * 2.0**-40], 0.06)
    assert len(scaled) == len(paths)
    for a, b in zip(paths, scaled, strict=True):
        np.testing.assert_array_equal(a.points, b.points)
        np.testing.assert_array_equal(a.tension, b.tension * 2.0**40)
    (moved,) = tension_paths(L_GRID[0] + [64.0, -32.0], L_GRID[1], [stress], [floor], 0.06)
    back = [Path(path.points - [64.0, -32.0], path.tension, path.distinct) for path in moved]
    distance = apart(paths, back)
    assert np.quantile(distance, 0.95) < 1e-6
    assert distance.max() < 0.06  # where two lines come just as close as is allowed the last digit may decide


def test_a_field_has_the_same_paths_alone_and_in_company_and_every_time() -> None:
    fields, floors = zip(*(soft_spots(seed) for seed in range(3)), strict=True)
    together = tension_paths(*L_GRID, fields, floors, 0.06)
    assert tension_paths(*L_GRID, [], [], 0.06) == []
    for k in range(3):
        (alone,) = tension_paths(*L_GRID, [fields[k]], [floors[k]], 0.06)
        assert len(alone) == len(together[k])
        for a, b in zip(alone, together[k], strict=True):
            # The processor adds in another order in arrays of another length.
            np.testing.assert_allclose(a.points, b.points, rtol=0, atol=1e-9)
            np.testing.assert_allclose(a.tension, b.tension, rtol=1e-6, atol=0)
    for first, again in zip(together, tension_paths(*L_GRID, fields, floors, 0.06), strict=True):
        assert all((a.points == b.points).all() for a, b in zip(first, again, strict=True))


def test_the_sense_of_the_triangles_does_not_matter() -> None:
    stress, floor = soft_spots(2)
    (paths,) = tension_paths(*L_GRID, [stress], [floor], 0.06)
    (clockwise,) = tension_paths(L_GRID[0], L_GRID[1][:, ::-1], [stress], [floor], 0.06)
    distance = apart(paths, clockwise)
    assert np.quantile(distance, 0.95) < 1e-9
    assert distance.max() < 0.6 * 0.06


# --- hostile input

TRIANGLE: Grid = (np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]), np.array([[0, 1, 2]]))
PULL = np.tile([MPA, 0.0, 0.0], (3, 1))


def test_fields_that_pull_nowhere_have_no_paths() -> None:
    zero, equal = np.zeros((3, 3)), np.tile([MPA, MPA, 0.0], (3, 1))
    fields = [zero, zero, -PULL, equal, np.empty((0, 3)), PULL]
    found = tension_paths(*TRIANGLE, fields, [0.0, -1.0, -1e9, 0.0, 0.0, 2 * MPA], 0.1)
    assert found == [()] * 6


def test_one_triangle_is_a_slab() -> None:
    (paths,) = tension_paths(*TRIANGLE, [PULL], [0.0], 0.1)
    # Ten strips of it from the foot up; the topmost is shorter than half a spacing only if laid above 0.95.
    assert 8 <= len(paths) <= 10
    for path in paths:
        assert path.points[:, 0].min() == pytest.approx(0, abs=1e-9)
        assert (path.points.sum(axis=1)).max() == pytest.approx(1, abs=1e-9)
    assert tension_paths(*TRIANGLE, [PULL], [0.0], 100.0) == [()]


def test_flat_triangles_and_no_triangles_do_no_harm() -> None:
    points = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0]])
    pull = np.tile([MPA, 0.0, 0.0], (4, 1))
    (paths,) = tension_paths(points, np.array([[0, 1, 2], [0, 3, 1]]), [pull], [0.0], 0.1)
    assert len(paths) >= 8
    assert tension_paths(points, np.array([[0, 3, 1]]), [pull], [0.0], 0.1) == [()]
    assert tension_paths(points, np.empty((0, 3), dtype=np.intp), [pull], [0.0], 0.1) == [()]
    assert tension_paths(np.empty((0, 2)), np.empty((0, 3), dtype=np.intp), [np.empty((0, 3))], [0.0], 0.1) == [()]


@pytest.mark.parametrize("size", [1e-30, 1.0, 1e30, 1e150])
def test_noise_gives_finite_lines_that_do_not_cross(size: float) -> None:
    rng = np.random.default_rng(3)
    n = len(L_GRID[0])
    rough = np.exp(10 * rng.normal(size=(n, 1))) * rng.normal(size=(n, 3))
    spike = np.where(np.arange(n)[:, None] == n // 2, 1e12, 1.0) * np.array([1.0, 0.2, 0.3])
    for field in (rng.normal(size=(n, 3)), rough, spike):
        (paths,) = tension_paths(*L_GRID, [size * field], [0.5 * size], 0.06)
        lines = [shapely.LineString(path.points) for path in paths]
        pairs = shapely.STRtree(lines).query(lines, predicate="intersects")
        assert (pairs[0] == pairs[1]).all()
        for path in paths:
            assert np.isfinite(path.points).all()
            assert np.isfinite(path.tension).all()
            assert (path.tension > 0).all()
        assert field is not spike or len(paths) > 30  # the spike's surroundings are pulled evenly


@pytest.mark.parametrize(
    ("stresses", "floors", "spacing", "says"),
    [
        ([PULL], [0.0], 0.0, "must be a positive number"),
        ([PULL], [0.0], np.nan, "must be a positive number"),
        ([PULL], [0.0], 1e-5, "take a larger spacing"),
        ([PULL], [0.0, 1.0], 0.1, "one is needed for each"),
        ([PULL], [np.nan], 0.1, "a floor is not a finite number"),
        ([PULL, np.full((3, 3), np.nan)], [0.0, 0.0], 0.1, "stress field 1 has 9 numbers that are not finite"),
        ([PULL[:2]], [0.0], 0.1, "stress field 0 must be"),
    ],
)
def test_what_cannot_be_is_refused(stresses: list[FloatArray], floors: list[float], spacing: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        tension_paths(*TRIANGLE, stresses, floors, spacing)


def test_a_grid_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="must name points 0 to 2"):
        tension_paths(TRIANGLE[0], TRIANGLE[1] + 1, [PULL], [0.0], 0.1)
    with pytest.raises(ValueError, match="grid points must be finite"):
        tension_paths(TRIANGLE[0] * np.nan, TRIANGLE[1], [PULL], [0.0], 0.1)


def test_a_path_is_checked_and_read_only() -> None:
    path = Path(np.array([[0.0, 0.0], [1.0, 0.0]]), np.ones(2), np.ones(2, dtype=np.bool_))
    assert not path.closed
    with pytest.raises(ValueError, match="read-only"):
        path.points[0, 0] = 1.0
    with pytest.raises(ValueError, match="as many tensions"):
        Path(np.zeros((2, 2)), np.ones(3), np.ones(2, dtype=np.bool_))
