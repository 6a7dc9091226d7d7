"""What everybody in the trade knows, held against the program. Common practice, no source, unless said."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fem.plate.model import Face, LinePlace, Load, Point, PointPlace, Tension
from tests.plates import CENTER, Plate, Solved, held, rectangular, side

INCH = 0.0254
LBF = 4.4482216
PSI = LBF / INCH**2
PCF = 16.018463


def faces(solved: Solved, at: Point) -> dict[Face, Tension]:
    spot = solved.spots[at]
    assert spot.show is not None
    assert spot.underside is not None
    return {"show": spot.show, "underside": spot.underside}


# Bending alone: the stress runs straight from face to face, so one face pulls exactly as the other is pressed.
def test_nothing_is_pulled_at_mid_depth() -> None:
    t = 0.038
    plate = Plate(rectangular(1.8, 0.6), t, 0.2)
    load = [Load("hand", PointPlace((0.3, 0.1), 0.1), 300.0)]
    solved = plate.solve(held(side(plate.shape, 1), side(plate.shape, 3)), load, [(0.3, 0.1)], pressure=1000.0)
    moment = solved.result.moment
    half = np.hypot((moment[:, 0] - moment[:, 1]) / 2, moment[:, 2])
    mean = (moment[:, 0] + moment[:, 1]) / 2
    # The peaks of the two faces are the most sagging and the most hogging principal moment, in opposite senses.
    assert solved.result.peaks is not None
    top, bottom = solved.result.peaks["show"].tension.tension, solved.result.peaks["underside"].tension.tension
    assert_allclose(bottom, 6 / t**2 * (mean + half).max(), rtol=1e-2, atol=0)
    assert top < 0.3 * bottom
    # Half-way between the faces' stress tensors lies no stress at all.
    spot = faces(solved, (0.3, 0.1))
    mx, my, mxy = solved.moment((0.3, 0.1))
    principal = 6 / t**2 * ((mx + my) / 2 + np.array([-1, 1]) * np.hypot((mx - my) / 2, mxy))
    assert spot["underside"].local is not None
    assert spot["show"].local is not None
    assert_allclose([-spot["show"].local, spot["underside"].local], principal, rtol=1e-9, atol=0)


# Over an overhang's support the face that looks up is pulled, and the other pressed, whichever it is.
@pytest.mark.parametrize("up", ["show", "underside"])
def test_over_an_overhang_the_face_that_looks_up_is_pulled(up: Face) -> None:
    t, density, gravity, lip = 0.04, 2323.0, 9.80665, 0.8
    plate = Plate(rectangular(2.0, 0.6), t, 0.0, density, 27e9, up)
    lines = [LinePlace(((x, -0.3), (x, 0.3))) for x in (-0.9, 0.2)]
    root: Point = (0.2, 0.0)
    solved = plate.solve(held(*lines, action="rest"), spots=[root])
    down: Face = "underside" if up == "show" else "show"
    tension = faces(solved, root)
    local = tension[up].local
    assert local is not None
    # A cantilever's root: q lip2 / 2.
    assert_allclose(local, 6 / t**2 * density * gravity * t * lip**2 / 2, rtol=1e-2, atol=0)
    assert tension[down].tension < 0.01 * tension[up].tension
    assert solved.result.peaks is not None
    assert solved.result.peaks[up].tension.tension > 10 * solved.result.peaks[down].tension.tension
    # Signs of the contract: + pulls the underside.
    assert np.sign(solved.moment(root)[0]) == (-1 if up == "show" else 1)


# A strip 8 ft x 6 in x 1.5 in freely supported at its ends sagged almost 1.5 in under 500 lbf of evenly spread sand: a
# shop's trial, no source. The modulus it implies by beam theory, 5 q L4 / (384 I w): 2.28 million psi from the sand
# alone, 2.61 million with its own 72.5 lbf at 145 pcf counted in. Plain concrete of a good shop has 4 to 5 million
# (ACI 318-19, 57000 sqrt f'c), so the strip was no plain concrete still whole: see the next test.
@pytest.mark.parametrize(("density", "modulus"), [(0.0, 2.28e6), (145 * PCF, 2.61e6)])
def test_the_modulus_that_the_sand_trial_implies(density: float, modulus: float) -> None:
    solved = sand_strip(density, 1e6 * PSI)
    implied = 1e6 * solved.w() / (1.5 * INCH)
    # Three digits are stated; a plate's lateral contraction of 0.2 takes 0.05 % off the beam.
    assert_allclose(implied, modulus, rtol=3e-3, atol=0)
    assert implied < 0.7 * 57000 * np.sqrt(6000)
    if density:
        assert_allclose(solved.analysis.weight / LBF, 72.5, rtol=1e-4, atol=0)


# 7.5 sqrt f'c is the modulus of rupture of ACI 318-19, 19.2.3.1: 750 psi at a very strong 10,000 psi. The strip's
# middle is pulled with M / S = q L2 / 8 / (t2 / 6), four times as hard: 3053 psi, or 2667 without its own weight.
@pytest.mark.parametrize(("density", "tension"), [(0.0, 2667.0), (145 * PCF, 3053.0)])
def test_plain_concrete_would_have_cracked_in_the_sand_trial(density: float, tension: float) -> None:
    solved = sand_strip(density, 2.6e6 * PSI, cracking=7.5 * np.sqrt(10000) * PSI)
    underside = faces(solved, CENTER)["underside"]
    assert_allclose(underside.tension / PSI, tension, rtol=2e-3, atol=0)
    assert underside.tension - underside.error > 3.5 * 7.5 * np.sqrt(10000) * PSI
    assert solved.result.status == "cracks"


def sand_strip(density: float, modulus: float, cracking: float = 1e12) -> Solved:
    length, width = 96 * INCH, 6 * INCH
    plate = Plate(rectangular(length, width), 1.5 * INCH, 0.2, density, modulus, cracking=cracking)
    ends = held(side(plate.shape, 1), side(plate.shape, 3), action="rest")
    return plate.solve(ends, pressure=500 * LBF / (length * width))
