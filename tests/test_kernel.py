"""What spreading a force takes from the moments, and what is given back: closed forms against plain integration."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid

from fem.plate.kernel import (
    across_line,
    line_moment,
    mean_line_moment,
    mean_round_moment,
    round_curvatures,
    round_give,
    round_kernel,
    westergaard_radius,
)


def test_line_kernel_keeps_force_and_has_no_second_moment() -> None:
    x, weight = across_line(10)
    assert [weight @ x**k for k in range(4)] == pytest.approx([1, 0, 0, 0], abs=1e-13)


@pytest.mark.parametrize("pressed", [0.0, 0.2, 0.8])
def test_round_kernel_has_the_force_and_the_second_moment_of_an_even_disc(pressed: float) -> None:
    places, weight = round_kernel(6, 14, pressed)
    x, y = places.T
    assert weight.sum() == pytest.approx(1, rel=1e-13)
    second = pressed**2 / 4
    assert [weight @ v for v in (x, y, x * y, x**2, y**2)] == pytest.approx([0, 0, 0, second, second], abs=1e-14)


# M'' = -q across a line (Timoshenko & Woinowsky-Krieger 1959, art. 4), integrated twice by trapezoids for the spread
# load.
def test_line_moment_is_the_sharp_load_less_the_spread_one() -> None:
    x = np.linspace(-1, 1, 40001)
    kernel = 105 / 64 * (1 - 3 * x**2) * (1 - x**2) ** 2
    spread = -cumulative_trapezoid(cumulative_trapezoid(kernel, x, initial=0), x, initial=0)
    sharp = -np.maximum(x, 0.0)
    # The trapezoids' own error is h2 / 12 = 2e-10 of the second derivative.
    assert line_moment(np.abs(x)) == pytest.approx(sharp - spread, abs=1e-8)
    assert line_moment(np.array([1.0, 2.0])) == pytest.approx([0.0, 0.0], abs=1e-15)


def test_mean_over_a_disc_is_the_area_mean() -> None:
    at, radius, width = 0.01, 0.019, 0.05
    x = np.linspace(-radius, radius, 20001)
    chord = np.sqrt(radius**2 - x**2)
    plain = np.trapezoid(line_moment(np.abs(at + x) / width) * width * chord, x) / np.trapezoid(chord, x)
    # 24 Gauss points across a kink: 1e-3 of the peak 0.068 width is what they reach.
    assert mean_line_moment(np.array([at]), np.array([width]), radius)[0] == pytest.approx(plain, abs=7e-5 * width)


# Outside an even disc the moments of a force on an infinite plate are those of the point (art. 19); inside the
# spread's rim the laplacian of w must come from the enclosed force. Both are checked by integrating the laplacian
# from the rim inwards.
def test_round_curvatures_obey_the_plate_equation() -> None:
    pressed, spread = 0.012, 0.06
    r = np.linspace(1e-4, spread * 1.2, 60001)
    radial, hoop = round_curvatures(r, pressed, spread)
    laplacian = -(radial + hoop)
    x2 = np.minimum((r / spread) ** 2, 1)
    second = (pressed / spread) ** 2 / 2
    A, B = 8 - 20 * second, 80 * second - 20
    of_kernel = A * (x2 - x2**2 + x2**3 / 3) + B * (x2**2 / 2 - 2 * x2**3 / 3 + x2**4 / 4)
    enclosed = np.minimum((r / pressed) ** 2, 1) - of_kernel
    slope = np.gradient(laplacian, r)
    inside = (r > 0.002) & (np.abs(r - pressed) > 1e-3) & (np.abs(r - spread) > 1e-3)
    expected = enclosed / (2 * np.pi * r)
    # A table of 800 radii read linearly has a stepwise slope: its mean over 1 mm is what can be compared.
    smooth = np.convolve(slope - expected, np.ones(800) / 800, mode="same")
    assert np.abs(smooth[inside]).max() < 0.02 * np.abs(expected[inside]).max()
    # Nothing is cut off at the rim: the two loads bend the plate alike from there on.
    rim = np.argmin(np.abs(r - 0.999 * spread))
    assert np.abs([radial[rim], hoop[rim]]).max() < 1e-4 * np.abs(hoop[0])
    assert np.all(radial[r >= spread] == 0)
    assert np.all(hoop[r >= spread] == 0)


def test_mean_round_moment_is_the_area_mean() -> None:
    radius, pressed, spread, nu = 0.019, 0.012, 0.06, 0.2
    offset = np.array([0.01, 0.005])
    grid = np.linspace(-radius, radius, 601)
    x, y = (v.ravel() for v in np.meshgrid(grid, grid))
    inside = np.hypot(x, y) < radius
    p = np.stack([x, y], axis=1)[inside] + offset
    r = np.hypot(*p.T)
    radial, hoop = round_curvatures(r, pressed, spread)
    n = p / r[:, None]
    kxx = radial * n[:, 0] ** 2 + hoop * n[:, 1] ** 2
    kyy = radial * n[:, 1] ** 2 + hoop * n[:, 0] ** 2
    plain = [np.mean(kxx + nu * kyy), np.mean(kyy + nu * kxx), np.mean((1 - nu) * (radial - hoop) * n[:, 0] * n[:, 1])]
    # The grid's ragged rim is good for about 1e-3.
    assert mean_round_moment(offset[None], pressed, spread, radius, nu)[0] == pytest.approx(plain, rel=2e-3)


# Westergaard (1926), from memory: a 2 x 2 in pad on 1.5 in has an equivalent radius of 1.06 in.
def test_westergaards_radius() -> None:
    assert westergaard_radius(2 / np.sqrt(np.pi), 1.5) == pytest.approx(1.06, abs=0.005)
    assert westergaard_radius(0.0, 1.5) == pytest.approx(0.325 * 1.5, rel=1e-12)
    assert westergaard_radius(5.0, 1.5) == 5.0


# A negative give would make two hands on one spot push each other for ever.
@pytest.mark.parametrize("pressed", [0.001, 0.01, 0.03, 0.05, 0.066])
def test_spreading_never_stiffens_a_point(pressed: float) -> None:
    assert round_give(pressed, 0.08) >= 0.0
