"""Strength that a moment asks of steel: the papers' formulas as published sheets print them, and every direction."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from fem.steel.model import Face
from fem.steel.required import nielsen, skew_strengths, spare, square_strengths, strength_tensor

FloatArray = npt.NDArray[np.float64]

FACES: tuple[Face, Face] = ("show", "underside")
SQUARE = np.array([0.0, np.pi / 2])
SCAN = np.arange(180) * np.pi / 180


def random_fields(count: int = 20_000) -> FloatArray:
    """Moments of every kind: all signs, twist from none to far more than bending, some one-way."""
    rng = np.random.default_rng(7)
    moment = rng.normal(size=(count, 3)) * 10.0 ** rng.uniform(-3, 2, (count, 3))
    moment[::50, 2] = 0.0
    moment[1::50, 0] = 0.0
    return moment


def in_directions(tensor: FloatArray, angles: FloatArray = SCAN) -> FloatArray:
    """Each tensor (p, 3) across each angle, (p, a), by turning the axes."""
    full = np.stack([tensor[:, [0, 2]], tensor[:, [2, 1]]], axis=1)
    axis = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return np.asarray(np.einsum("ai,pij,aj->pa", axis, full, axis))


def least_left(moment: FloatArray, strengths: FloatArray, angle: float, face: Face) -> float:
    """The least strength less pull over 180 directions and all fields, as a share of the field's size."""
    sign = 1.0 if face == "underside" else -1.0
    laid = strengths[:, :1] * np.cos(SCAN) ** 2 + strengths[:, 1:] * np.cos(SCAN - angle) ** 2
    left = laid - sign * in_directions(moment)
    size = np.abs(moment).max(axis=1) + strengths.max(axis=1)
    return float((left.min(axis=1) / size).min())


# A published worksheet of both papers' formulas prints these digits: steel at right angles.
def test_square_steel_as_a_published_sheet_has_it() -> None:
    moment = np.array([[103.393, 20.679, 2.784]])
    assert square_strengths(moment, "underside")[0] == pytest.approx([106.177, 23.463], abs=1e-9)
    assert skew_strengths(moment, np.pi / 2, "underside")[0] == pytest.approx([106.177, 23.463], abs=1e-9)
    assert square_strengths(moment, "show").tolist() == [[0.0, 0.0]]


# Another sheet of the same kind: -8, -8, -2 and 134 degrees clockwise. Counter-clockwise the twist changes sign.
def test_skew_steel_as_a_published_sheet_has_it() -> None:
    moment = np.array([[-8.0, -8.0, 2.0]])
    angle = np.radians(134)
    assert skew_strengths(moment, angle, "show")[0] == pytest.approx([19.55708, 23.419834], abs=5e-6)
    assert skew_strengths(moment, angle, "underside").tolist() == [[0.0, 0.0]]


# By hand from the two papers: one of the two would be negative.
@pytest.mark.parametrize("turned", [False, True])
def test_one_direction_takes_it_all_where_the_other_is_pressed(turned: bool) -> None:
    # my* = 20 + 92 / 50 = 21.62; pressed by -50 the other way.
    moment, expected = np.array([[-50.0, 20.0, 9.0]]), [0.0, 21.62]
    if turned:
        moment, expected = moment[:, [1, 0, 2]], expected[::-1]
    assert square_strengths(moment, "underside")[0] == pytest.approx(expected, rel=1e-12)
    assert square_strengths(-moment, "show")[0] == pytest.approx(expected, rel=1e-12)
    # Both pressed: the lesser principal moment is what matters, and it is negative too.
    assert square_strengths(np.array([[-50.0, -2.0, 9.9]]), "underside").tolist() == [[0.0, 0.0]]


# Law: strength is nowhere less than the pull, and somewhere just as much; Nielsen's criterion says the same.
@pytest.mark.parametrize("face", FACES)
def test_square_steel_carries_20000_fields_in_every_direction(face: Face) -> None:
    moment = random_fields()
    strengths = square_strengths(moment, face)
    assert (strengths >= 0).all()
    left = spare(strength_tensor(strengths, SQUARE), moment, face)
    size = np.abs(moment).max(axis=1)
    assert (left >= -1e-12 * size).all()
    owed = strengths.max(axis=1) > 0
    assert (left[owed] <= 1e-9 * size[owed]).all()
    assert least_left(moment, strengths, np.pi / 2, face) >= -1e-12
    more = strengths + 1e-9 * size[:, None]
    both = {"show": np.full_like(more, 1e9), "underside": np.full_like(more, 1e9), face: more}
    assert nielsen(moment, both["underside"], both["show"]).all()
    both[face] = strengths - 1e-6 * size[:, None]
    assert not nielsen(moment, both["underside"], both["show"])[owed].any()


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("degrees", [25, 60, 90, 134, 165])
def test_skew_steel_carries_20000_fields_in_every_direction(face: Face, degrees: float) -> None:
    moment, angle = random_fields(), float(np.radians(degrees))
    strengths = skew_strengths(moment, angle, face)
    assert (strengths >= 0).all()
    left = spare(strength_tensor(strengths, np.array([0.0, angle])), moment, face)
    size = np.abs(moment).max(axis=1) + strengths.max(axis=1)
    assert (left >= -1e-12 * size).all()
    owed = strengths.max(axis=1) > 1e-9 * size
    assert (left[owed] <= 1e-9 * size[owed]).all()
    assert least_left(moment, strengths, angle, face) >= -1e-12


def test_the_wrong_sign_of_the_twist_carries_far_too_little() -> None:
    moment = random_fields()
    angle = float(np.radians(60))
    wrong = skew_strengths(moment * np.array([1.0, 1.0, -1.0]), angle, "underside")
    assert least_left(moment, wrong, angle, "underside") < -0.4


# The sum of both strengths is the least there is: scan the first, and take the least second that Nielsen allows.
@pytest.mark.parametrize("degrees", [60.0, 90.0, 134.0])
def test_no_less_steel_would_do(degrees: float) -> None:
    moment = random_fields(60)
    angle = float(np.radians(degrees))
    best = skew_strengths(moment, angle, "underside").sum(axis=1)
    for tensor, least in zip(moment, best, strict=True):
        size = np.abs(tensor).max() / np.sin(angle) ** 2
        first = np.linspace(0.0, 4 * size, 4001)
        # Strength k along the second direction is needed until the lesser eigenvalue is 0: bisect on k.
        low, high = np.zeros_like(first), np.full_like(first, 40 * size)
        for _ in range(50):
            middle = (low + high) / 2
            laid = strength_tensor(np.stack([first, middle], axis=1), np.array([0.0, angle]))
            enough = spare(laid, tensor[None], "underside") >= 0
            low, high = np.where(enough, low, middle), np.where(enough, middle, high)
        total = np.where(high < 39 * size, first + high, np.inf)
        assert total.min() >= least - 1e-6 * size
        assert total.min() <= least + 2e-3 * size


def test_steel_in_one_direction_only_is_refused() -> None:
    with pytest.raises(ValueError, match="all in one direction"):
        skew_strengths(np.ones((1, 3)), np.pi, "show")
