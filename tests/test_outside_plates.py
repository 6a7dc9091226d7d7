"""Plates whose answers have been known for a century, at a user's default settings; D = 1 N m.

The formulas in plate_formulas.py are summed to more digits than the tables print, so a tolerance here is the mesh's own
error: about three times what was measured, and never more than was promised (0.3 % of a Navier square, 0.5 % of a
circle, 1 % over an interior line). Digits of Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed.
(1959), or recomputed by us with other methods, stand beside as a second road.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fem.plate.model import EdgePlace, LinePlace, Load, PointPlace, Support
from meshing.shape import Shape, ellipse
from tests.plate_formulas import (
    Edge,
    annulus,
    circle_under_disc,
    clamped_square,
    levy,
    lifting_square,
    navier_disc,
    on_corners,
)
from tests.plates import CENTER, FloatArray, Plate, all_round, held, rectangular, side

# Radius on which a bare point presses: Westergaard's for a radius of nothing, (1 - 0.675) h; Public Roads 7(2) (1926),
# from memory.
PRESSED = 0.325
POINT = [Load("point", PointPlace(CENTER), 1.0)]


def twist_at(points: FloatArray, moment: FloatArray, x: float, y: float) -> float:
    return float(moment[np.argmin(np.hypot(*(points - [x, y]).T)), 2])


# Table 8: w .00406, .00772, .01013 p a4 / D; m .0479, .0812, .1017 and .0479, .0498, .0464 p a2 (nu = 0.3).
@pytest.mark.parametrize(
    ("b", "w", "short", "long"),
    [(1.0, 0.00406, 0.0479, 0.0479), (1.5, 0.00772, 0.0812, 0.0498), (2.0, 0.01013, 0.1017, 0.0464)],
)
def test_held_rectangle_under_even_load(b: float, w: float, short: float, long: float) -> None:
    plate = Plate(rectangular(1, b), 0.05)
    solved = plate.solve(all_round(plate.shape), pressure=1.0)
    exact = levy(b, 0.3, ("held", "held"), 0.5, 0.0)
    assert_allclose(solved.w(), exact[0], rtol=1e-6, atol=0)
    assert_allclose(solved.moment()[:2], exact[1:], rtol=1e-4, atol=0)
    # Half a unit of the tables' last digit.
    assert_allclose(exact[0], w, rtol=0, atol=6e-6)
    assert_allclose(exact[1:], [short, long], rtol=0, atol=6e-5)


@pytest.mark.parametrize("nu", [0.0, 0.2])
def test_held_square_with_other_lateral_contraction(nu: float) -> None:
    plate = Plate(rectangular(1, 1), 0.06, nu)
    solved = plate.solve(all_round(plate.shape), pressure=1.0)
    exact = levy(1.0, nu, ("held", "held"), 0.5, 0.0)
    assert_allclose([solved.w(), solved.moment()[0]], exact[:2], rtol=1e-4, atol=0)


# Table 23, from memory: w .01160, .01527, .01651 P a2 / D for 1:1, 1.5:1 (series: .01533), 2:1. The spot itself lies
# where the load is spread over the mesh, which costs w there 0.15 %; the moment peaks like a logarithm.
@pytest.mark.parametrize("b", [1.0, 1.5, 2.0])
def test_held_rectangle_under_a_point(b: float) -> None:
    plate = Plate(rectangular(1, b), 0.04)
    solved = plate.solve(all_round(plate.shape), POINT, [CENTER, (0.25, 0.0)])
    under = navier_disc(1.0, b, 0.3, PRESSED * 0.04, 0.0, 0.0)
    beside = navier_disc(1.0, b, 0.3, PRESSED * 0.04, 0.25, 0.0)
    assert_allclose(solved.w(), under[0], rtol=2e-3, atol=0)
    assert_allclose(solved.moment()[:2], under[1:], rtol=1.5e-2, atol=0)
    assert_allclose(solved.w((0.25, 0.0)), beside[0], rtol=1e-4, atol=0)
    assert_allclose(solved.moment((0.25, 0.0))[:2], beside[1:], rtol=1e-3, atol=0)


# Table 8: R = .065 p a2 at nu = 0.3, pulling down; Kirchhoff's corner force is twice the twisting moment there.
# The twist right in the corner is 0.25 % off, 0.16 % with triangles a fifth smaller.
# Navier: mxy = (1 - nu) sum of 16 / pi4 / (m2 + n2)2 over odd m, n.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_corner_pull_down_of_a_held_square(nu: float) -> None:
    plate = Plate(rectangular(1, 1), 0.05, nu)
    solved = plate.solve(all_round(plate.shape), pressure=1.0)
    square = np.arange(1, 2000, 2.0) ** 2
    pull = 2 * (1 - nu) * float((16 / np.pi**4 / (square[:, None] + square) ** 2).sum())
    twist = twist_at(solved.analysis.grid.points, solved.result.local_moment, -0.5, -0.5)
    assert_allclose(2 * abs(twist), pull, rtol=5e-3, atol=0)
    if nu == 0.3:
        assert_allclose(pull, 0.065, rtol=0, atol=5e-4)


# Table 35: w .00126, m centre .0231, edge -.0513 (the book's .0231 is a rounding of an old series; we sum to .02291).
def test_clamped_square_under_even_load() -> None:
    plate = Plate(rectangular(1, 1))
    solved = plate.solve(all_round(plate.shape, "clamp"), spots=[CENTER, (0.0, -0.5)], pressure=1.0)
    exact = clamped_square(0.3, "even")
    found = [solved.w(), solved.moment()[0], solved.moment((0.0, -0.5))[1]]
    assert_allclose(found, exact, rtol=5e-4, atol=0)
    assert_allclose(exact, [0.00126, 0.0231, -0.0513], rtol=9e-3, atol=0)


# Table 37, from memory: w .00560, edge -.1257. The exact w is that of a sharp point: a disc of 13 mm and the spread of
# the load on the mesh take 0.3 % and 0.35 % from it.
def test_clamped_square_under_a_point() -> None:
    plate = Plate(rectangular(1, 1))
    solved = plate.solve(all_round(plate.shape, "clamp"), POINT, [CENTER, (0.0, -0.5)])
    exact = clamped_square(0.3, "middle")
    assert_allclose(solved.w(), exact[0], rtol=9e-3, atol=0)
    assert_allclose(solved.moment((0.0, -0.5))[1], exact[2], rtol=5e-4, atol=0)
    assert_allclose(exact[[0, 2]], [0.00560, -0.1257], rtol=3e-3, atol=0)


# Recomputed by us with Ritz's method (the book's .0257, .109, .140 come from an old approximation): nu = 0.3 w .02551
# and .01775, m .1117 and .1504.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_square_on_four_corner_points(nu: float) -> None:
    plate = Plate(rectangular(1, 1), 0.05, nu)
    corners = held(*(PointPlace((x, y)) for x in (-0.5, 0.5) for y in (-0.5, 0.5)))
    solved = plate.solve(corners, spots=[CENTER, (0.0, -0.5)], pressure=1.0)
    edge = (0.0, -0.5)
    found = [solved.w(), solved.w(edge), solved.moment()[0], solved.moment(edge)[0]]
    assert_allclose(found, on_corners(nu), rtol=3e-4, atol=0)
    assert_allclose(solved.forces, 0.25, rtol=1e-6, atol=0)


# Art. 48, values recomputed by us; nu = 0.3: w .01309, .01501; m .1225, .1311.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_square_held_along_two_sides(nu: float) -> None:
    plate = Plate(rectangular(1, 1), 0.05, nu)
    edge = (0.0, 0.5)
    solved = plate.solve(held(side(plate.shape, 1), side(plate.shape, 3)), spots=[CENTER, edge], pressure=1.0)
    centre, lip = (levy(1.0, nu, ("free", "free"), 0.5, y) for y in (0.0, 0.5))
    assert_allclose([solved.w(), solved.w(edge)], [centre[0], lip[0]], rtol=1e-6, atol=0)
    found = [*solved.moment()[:2], solved.moment(edge)[0]]
    assert_allclose(found, [*centre[1:], lip[1]], rtol=1e-4, atol=0)


# Art. 47, values recomputed by us; nu = 0.3: w .01285 and m .1117 at the free edge; m .0799, .0390 at the centre.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_square_held_along_three_sides(nu: float) -> None:
    plate = Plate(rectangular(1, 1), 0.05, nu)
    edge = (0.0, 0.5)
    solved = plate.solve(held(*(side(plate.shape, k) for k in (3, 0, 1))), spots=[CENTER, edge], pressure=1.0)
    centre, lip = (levy(1.0, nu, ("held", "free"), 0.5, y) for y in (0.0, 0.5))
    assert_allclose([solved.w(), solved.w(edge)], [centre[0], lip[0]], rtol=1e-6, atol=0)
    found = [*solved.moment()[:2], solved.moment(edge)[0]]
    assert_allclose(found, [*centre[1:], lip[1]], rtol=3e-4, atol=0)


# Beam theory, to round-off: without lateral contraction a strip is a beam, and a quintic holds its quartic.
def test_cantilever_strip_is_a_beam() -> None:
    plate = Plate(rectangular(1, 0.3), 0.04, 0.0)
    root, tip, inside = (-0.5, 0.0), (0.5, 0.0), (-0.25, 0.1)
    wall = [Support("wall", side(plate.shape, 3), "clamp")]
    even = plate.solve(wall, spots=[root, tip, inside], pressure=1.0)
    assert_allclose(even.w(tip), 1 / 8, rtol=1e-8, atol=0)
    assert_allclose([even.moment(root)[0], even.moment(inside)[0]], [-1 / 2, -9 / 32], rtol=1e-7, atol=0)
    end = plate.solve(wall, [Load("end", side(plate.shape, 1), 1.0)], [root, tip, inside])
    assert_allclose(end.w(tip), 1 / 3, rtol=1e-8, atol=0)
    assert_allclose([end.moment(root)[0], end.moment(inside)[0]], [-1, -3 / 4], rtol=1e-7, atol=0)


# Art. 16: closed forms. A mesh of chords with held edges would answer 1 to 2 % too stiff here, however fine.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_round_plate_under_even_load(nu: float) -> None:
    plate = Plate(Shape(ellipse(CENTER, (2, 2))), 0.06, nu)
    rim = (1.0, 0.0)
    plain = plate.solve(all_round(plate.shape), pressure=1.0)
    assert_allclose(plain.w(), (5 + nu) / (1 + nu) / 64, rtol=1e-7, atol=0)
    assert_allclose(plain.moment()[:2], (3 + nu) / 16, rtol=1e-6, atol=0)
    built_in = plate.solve(all_round(plate.shape, "clamp"), spots=[CENTER, rim], pressure=1.0)
    assert_allclose(built_in.w(), 1 / 64, rtol=1e-7, atol=0)
    assert_allclose(built_in.moment()[:2], (1 + nu) / 16, rtol=1e-6, atol=0)
    assert_allclose(built_in.moment(rim)[:2], [-1 / 8, -nu / 8], rtol=1e-5, atol=0)


# Art. 19. The spread takes 0.22 % from w right under the load, and nothing beside it. At the clamped rim:
# -P / 4 pi (1 - c2 / 2), c the disc's radius over the plate's.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_round_plate_under_a_point(nu: float) -> None:
    plate = Plate(Shape(ellipse(CENTER, (2, 2))), 0.06, nu)
    rim = (1.0, 0.0)
    c = PRESSED * 0.06
    plain = plate.solve(all_round(plate.shape), POINT)
    w, m = circle_under_disc(nu, c)
    assert_allclose(plain.w(), w, rtol=3e-3, atol=0)
    assert_allclose(plain.moment()[:2], m, rtol=1e-2, atol=0)
    built_in = plate.solve(all_round(plate.shape, "clamp"), POINT, [CENTER, rim])
    w = (1 + c**2 * np.log(c) - 0.75 * c**2) / (16 * np.pi)
    assert_allclose(built_in.w(), w, rtol=5e-3, atol=0)
    assert_allclose(built_in.moment(rim)[0], -(1 - c**2 / 2) / (4 * np.pi), rtol=1e-4, atol=0)


# Art. 17: the general axisymmetric solution.
@pytest.mark.parametrize("edges", [("free", "held"), ("held", "clamped"), ("clamped", "free")])
def test_ring(edges: tuple[Edge, Edge]) -> None:
    inner, outer, between = 0.4, 1.0, 0.7
    shape = Shape(ellipse(CENTER, (2, 2)), (ellipse(CENTER, (0.8, 0.8)),))
    supports = [
        Support(edge, EdgePlace(loop, 0.0, shape.loops[loop].length), "hold" if edge == "held" else "clamp")
        for loop, edge in zip((1, 0), edges, strict=True)
        if edge != "free"
    ]
    solved = Plate(shape, 0.05).solve(supports, spots=[(r, 0.0) for r in (inner, between, outer)], pressure=1.0)
    exact = {r: annulus(inner, outer, 0.3, edges, r) for r in (inner, between, outer)}
    assert_allclose(solved.w((between, 0.0)), exact[between][0], rtol=1e-5, atol=0)
    assert_allclose(solved.moment((between, 0.0))[:2], exact[between][1:], rtol=1.5e-3, atol=0)
    for r, edge in ((inner, edges[0]), (outer, edges[1])):
        mx, my, _ = solved.moment((r, 0.0))
        found, known = (mx, exact[r][1]) if edge == "clamped" else (my, exact[r][2])
        assert_allclose(found, known, rtol=3e-3, atol=0)


# The three-moment equation (Clapeyron 1857) for a strip of unit width without lateral contraction; 1 % was promised for
# the field's own moment, whose kink lies inside triangles.
@pytest.mark.parametrize("x", [0.0, 0.013, 0.031])
def test_moment_over_an_interior_line(x: float) -> None:
    t = 0.04
    plate = Plate(rectangular(2.4, 0.6), t, 0.0)
    spots = [(x, 0.0), (x, 0.2)]
    line = LinePlace(((x, -0.3), (x, 0.3)))
    solved = plate.solve(held(side(plate.shape, 3), line, side(plate.shape, 1)), spots=spots, pressure=1.0)
    left, right = 1.2 + x, 1.2 - x
    m = -(left**3 + right**3) / (8 * (left + right))
    reaction = (left + right) / 2 - m / left - m / right
    assert_allclose([solved.moment(at)[0] for at in spots], m, rtol=1e-2, atol=0)
    assert_allclose(solved.forces[1], 0.6 * reaction, rtol=1e-3, atol=0)
    # m + reaction |s| / 2 - s2 / 2 near the line, averaged over a disc of radius rho = t / 2: the mean of |s| over a
    # disc is 4 rho / (3 pi), that of s2 is rho2 / 4. So the tension on the show face is 6 / t2 times:
    rho = t / 2
    averaged = m + reaction / 2 * 4 * rho / (3 * np.pi) - rho**2 / 8
    show = solved.result.probes[0].show
    assert show is not None
    assert_allclose(show.tension, -6 / t**2 * averaged, rtol=2e-3, atol=0)


def test_means_over_a_disc_by_brute_force() -> None:
    s = (np.arange(2000) + 0.5) / 1000 - 1
    x, y = np.meshgrid(s, s)
    inside = x**2 + y**2 < 1
    assert_allclose([np.abs(x[inside]).mean(), (x[inside] ** 2).mean()], [4 / (3 * np.pi), 1 / 4], rtol=1e-4, atol=0)


# Recomputed by us with Ritz's method and one-sided places along the edges, 8 to 14 terms a side and 40 to 90 places:
# w centre .004379 to .004383, corner -.000749 to -.000759, m .05084 to .05089, a bearing share of .43 to .46. A side's
# share is known here to a hat at each end, 1/16 of the side.
def test_corners_of_a_square_lift_from_edges_that_only_push() -> None:
    plate = Plate(rectangular(1, 1))
    corner = (-0.5, -0.5)
    sides = [side(plate.shape, k) for k in range(4)]
    resting = plate.solve(held(*sides, action="rest"), spots=[CENTER, corner], pressure=1.0)
    w, w_corner, m, share = lifting_square(0.3)
    assert_allclose(resting.w(), w, rtol=1e-3, atol=0)
    assert_allclose(resting.w(corner), w_corner, rtol=2e-2, atol=0)
    assert_allclose(resting.moment()[:2], m, rtol=2e-3, atol=0)
    assert_allclose(resting.forces, 0.25, rtol=1e-4, atol=0)
    for support in resting.result.supports:
        assert_allclose(support.contact_share, share, rtol=0, atol=0.13)
    tied = plate.solve(held(*sides), spots=[CENTER, corner], pressure=1.0)
    assert abs(tied.w(corner)) < 1e-6 * tied.w()
    assert resting.w() > 1.07 * tied.w()
