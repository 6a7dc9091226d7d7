"""Supports and loads against beam and plate theory: a settled rest, springs, a person at a lip, a foot in the middle.

At a user's default settings; D = 1 N m. Strips have no lateral contraction: they are beams of EI = 1 N m2 a metre.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import minimize_scalar

from fem.plate.kernel import westergaard_radius
from fem.plate.model import Action, AreaPlace, LinePlace, Load, PointPlace, Support
from meshing.shape import Shape, ellipse, polygon
from tests.plate_formulas import beam_on_springs, circle_under_disc, free_corner_power
from tests.plates import CENTER, FloatArray, Plate, Solved, all_round, held, rectangular, side

T = 0.04
WIDTH = 0.4
MIDDLE = LinePlace(((0.0, -WIDTH / 2), (0.0, WIDTH / 2)))


def two_spans(gap: float, action: Action = "rest") -> Solved:
    """A strip over two spans of 1 m under 1 Pa, its middle support low by gap [m]."""
    plate = Plate(rectangular(2, WIDTH), T, 0.0)
    supports = [
        Support("left", side(plate.shape, 3), action),
        Support("middle", MIDDLE, action, gap),
        Support("right", side(plate.shape, 1), action),
    ]
    return plate.solve(supports, spots=[CENTER, (0.5, 0.0)], pressure=1.0)


# The three-moment equation with a settled support: M = -q L2 / 8 + 3 EI gap / L2, R = 5/4 q L - 6 EI gap / L3. 1 % was
# promised over a line; 0.4 % measured.
@pytest.mark.parametrize("action", ["rest", "hold"])
@pytest.mark.parametrize("gap", [-0.003, 0.002, 0.015])
def test_a_settled_middle_support(gap: float, action: Action) -> None:
    solved = two_spans(gap, action)
    over = -1 / 8 + 3 * gap
    assert_allclose(solved.moment()[0], over, rtol=8e-3, atol=0)
    assert_allclose(solved.moment((0.5, 0.0))[0], 1 / 8 + over / 2, rtol=1e-4, atol=0)
    reaction = 5 / 4 - 6 * gap
    assert_allclose(
        solved.forces, WIDTH * np.array([(2 - reaction) / 2, reaction, (2 - reaction) / 2]), rtol=1e-5, atol=0
    )
    # What the line's spread takes from the deflection right over it.
    assert_allclose(solved.w(), gap, rtol=2e-3, atol=0)


@pytest.mark.parametrize("gap", [0.207, 0.25])
def test_a_middle_support_lower_than_the_sag_bears_nothing(gap: float) -> None:
    solved = two_spans(gap)
    sag = 5 * 2**4 / 384
    # 5 q L4 / (384 EI) = 0.20833: a rest at 0.207 bears very little, one at 0.25 nothing.
    assert solved.result.supports[1].lifted is (gap > sag)
    assert_allclose(solved.w(), min(gap, sag), rtol=1e-4, atol=0)
    assert_allclose(solved.moment()[0], 0.5 - 3 * max(sag - gap, 0.0), rtol=1e-3, atol=0)


def on_springs(stiffness: float, supports: Sequence[Support], width: float) -> None:
    plate = Plate(rectangular(2, width), T, 0.0)
    spots = [CENTER, (0.5, 0.0), (0.9, 0.0)]
    load = Load("across", LinePlace(((0.0, -width / 2), (0.0, width / 2))), 1.0)
    solved = plate.solve(supports, [load], spots)
    exact = np.array([beam_on_springs(2.0, stiffness, x) for x, _ in spots])
    # By the largest, as both change sign along the beam. Measured: 2e-3 along edges, 6e-3 on an area, whose pressure is
    # constant over cells of two triangles.
    found = np.array([[solved.w(at), solved.moment(at)[0]] for at in spots])
    assert np.abs(found / exact[0] - exact / exact[0]).max() < 8e-3
    assert solved.forces.sum() == pytest.approx(width, rel=1e-9)


# Hetenyi, Beams on Elastic Foundation (1946): a free beam under a force at its middle. Two-sided springs, as his are.
def test_a_strip_on_soft_edges() -> None:
    width, k = 0.1, 20.0
    shape = rectangular(2, width)
    on_springs(k, [Support(f"{n}", side(shape, n), "hold", 0.0, k * width / 2) for n in (0, 2)], width)


def test_a_strip_on_a_bed_of_springs() -> None:
    on_springs(20.0, [Support("bed", AreaPlace(), "hold", 0.0, 20.0)], WIDTH)


# Timoshenko & Woinowsky-Krieger (1959), after Jaramillo (1950): root moment .509 P for a very wide plate at nu = 0.3
# (from memory); the narrower ones recomputed by us with Ritz's method, to their last digit.
@pytest.mark.parametrize(("width", "root"), [(1.0, 1.13), (2.0, 0.645), (4.0, 0.516), (8.0, 0.509)])
def test_a_person_at_the_lip_of_an_overhang(width: float, root: float) -> None:
    plate = Plate(rectangular(width, 1.0), 0.06)
    solved = plate.solve(
        [Support("root", side(plate.shape, 0), "clamp")], [Load("person", PointPlace((0.0, 0.5)), 1.0)], [(0.0, -0.5)]
    )
    assert_allclose(-solved.moment((0.0, -0.5))[1], root, rtol=4e-3, atol=0)
    # The whole moment at the wall is P c, and the side of greater y is what it lifts.
    moment = solved.result.supports[0].moment
    assert moment is not None
    assert_allclose(moment, [1.0, 0.0], rtol=1e-9, atol=1e-9)


# Timoshenko & Woinowsky-Krieger (1959), art. 16 and 19: a round plate under an even load on a small disc, which here is
# Westergaard's for a square pad (Public Roads 7(2), 1926, from memory). Measured 0.4 % and less.
@pytest.mark.parametrize(("thickness", "size"), [(0.04, 0.0), (0.04, 0.05), (0.04, 0.1), (0.038, 0.2)])
def test_the_peak_under_a_foot(thickness: float, size: float) -> None:
    radius, nu = 0.6, 0.2
    plate = Plate(Shape(ellipse(CENTER, (2 * radius, 2 * radius))), thickness, nu)
    beside = (0.3, 0.0)
    solved = plate.solve(all_round(plate.shape), [Load("foot", PointPlace(CENTER, size), 1.0)], [CENTER, beside])
    pressed = float(westergaard_radius(size / np.sqrt(np.pi), thickness))
    w, m = circle_under_disc(nu, pressed / radius)
    assert_allclose(solved.w(), w * radius**2, rtol=2e-3, atol=0)
    assert_allclose(solved.moment()[:2], m, rtol=1e-2, atol=0)
    assert solved.result.peaks is not None
    peak = solved.result.peaks["underside"]
    assert peak.tension.local is not None
    assert_allclose(peak.tension.local, 6 / thickness**2 * m, rtol=1e-2, atol=0)
    assert np.hypot(*peak.at) < thickness / 4
    # The mean over a disc of one thickness, of a field known in closed form along the radius: (mx + my) / 2.
    assert_allclose(
        peak.tension.tension, 6 / thickness**2 * mean_over(thickness / 2, pressed, radius, nu), rtol=5e-3, atol=0
    )
    assert_allclose(solved.moment(beside)[:2], outside(0.3, pressed, radius, nu), rtol=1e-3, atol=0)


def outside(r: float, c: float, R: float, nu: float) -> list[float]:
    """Radial and hoop moment at r > c of a held plate of radius R under 1 N on a disc c (art. 16 and 19)."""
    log, small = np.log(R / r), (1 - nu) * c**2 / 4 * (1 / r**2 - 1 / R**2)
    radial = (1 + nu) * log + small
    hoop = (1 + nu) * log + 1 - nu - (1 - nu) * c**2 / 4 * (1 / R**2 + 1 / r**2)
    return [float(radial / (4 * np.pi)), float(hoop / (4 * np.pi))]


def mean_over(rho: float, c: float, R: float, nu: float) -> float:
    """Mean of (mr + mt) / 2 over the disc r < rho: the laplacian's mean is 2 w' / rho, and its own sum the shear's."""
    r = np.linspace(0.0, rho, 20001)[1:]
    centre = ((1 + nu) * np.log(R / c) + 1 - (1 - nu) * c**2 / (4 * R**2)) / (4 * np.pi)
    # d(mr + mt)/dr = -(1 + nu) Q with Q = f / (2 pi r), f the force inside r.
    inner = np.minimum(r, c)
    total = 2 * centre - (1 + nu) / (2 * np.pi) * (inner**2 / (2 * c**2) + np.log(np.maximum(r / c, 1.0)))
    return float(np.sum(total / 2 * 2 * r) * (r[1] - r[0]) / rho**2)


# Williams 1952: bent about its bisector in opposite senses, the legs give the corner its stronger field. Two terms, of
# powers 1 - .633 and the next root's, are fitted to the twist along the bisector: the second is a tenth of the first
# where r is one thickness.
@pytest.mark.parametrize("nu", [0.2, 0.3])
def test_twist_along_the_bisector_of_a_sharp_corner(nu: float) -> None:
    t = 0.02
    shape = Shape(polygon(np.array([[0, 0], [1, 0], [1, 0.4], [0.4, 0.4], [0.4, 1], [0, 1]])))
    r = t * np.geomspace(1.05, 4.0, 9)
    spots = [(0.4 - float(x), 0.4 - float(x)) for x in r / np.sqrt(2)]
    loads = [Load("one", side(shape, 1), 1.0), Load("other", side(shape, 4), -1.0)]
    three = held(PointPlace((0.0, 0.0)), PointPlace((0.1, 0.3)), PointPlace((0.3, 0.1)))
    solved = Plate(shape, t, nu).solve(three, loads, spots)
    m = np.array([solved.moment(at) for at in spots])
    twist = (m[:, 1] - m[:, 0]) / 2

    def misfit(power: float) -> float:
        terms = np.stack([r**power, r ** next_power(nu)], axis=1) / twist[:, None]
        c, *_ = np.linalg.lstsq(terms, np.ones(len(r)), rcond=None)
        return float(np.sum((terms @ c - 1) ** 2))

    found = minimize_scalar(misfit, bounds=(-0.6, -0.1), method="bounded").x
    assert_allclose(found, free_corner_power(1.5 * np.pi, nu, symmetric=False), rtol=0, atol=2e-2)


def next_power(nu: float) -> float:
    """The next power of the odd field at a free 270 degree corner: Williams's equation between 1.3 and 1.5."""
    lam = np.linspace(1.34, 1.5, 16001)
    equation: FloatArray = np.sin(1.5 * np.pi * lam) + (1 - nu) / (3 + nu) * lam * np.sin(1.5 * np.pi)
    return float(lam[np.argmin(np.abs(equation))]) - 1


# Two on one spot are one contact: they share what one would bear.
@pytest.mark.parametrize("size", [0.0, 0.05, 0.1])
def test_two_hands_on_one_spot_bear_what_one_would(size: float) -> None:
    plate = Plate(rectangular(2, 0.6), T)
    hand, others = PointPlace((0.5, 0.1), size), held(side(plate.shape, 3), PointPlace((0.9, -0.2), 0.1), action="rest")
    one = plate.solve([*others, Support("hand", hand, "rest")], pressure=1.0)
    two = plate.solve([*others, Support("hand", hand, "rest"), Support("again", hand, "rest")], pressure=1.0)
    assert two.result.converged
    # A hair of compliance keeps the two apart, and of two spread hands each gives a little by itself.
    assert_allclose(two.forces[2:].sum(), one.forces[2], rtol=1e-3, atol=0)
    assert_allclose(two.w(), one.w(), rtol=2e-3, atol=0)
