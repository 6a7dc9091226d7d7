"""Which parts of given lines are laid beside others: rules of our own, common practice of even spacing, no source."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from fem.paths.choosing import Ground, Laid, choose
from fem.paths.cover import CELLS, Cover
from fem.paths.lines import Lines
from fem.paths.rastering import raster_under

ComplexArray = npt.NDArray[np.complex128]

SIDE = 120  # cells


def open_ground() -> Ground:
    """A square of evenly pulled ground, twenty spacings wide, nothing laid on it."""
    points = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * SIDE
    stress = np.tile([1.0, 0.2, 0.0], (1, 4, 1))
    raster = raster_under(points, np.array([[0, 1, 2], [0, 2, 3]]), stress, np.array([1e-9]), 1.0)
    return Ground(Cover(raster, np.array([0.1])), np.empty(0, dtype=complex), np.empty(0, dtype=complex))


def one_line(places: ComplexArray, *, closed: bool = False, whole: bool = False) -> Lines:
    """A line through places, given from the raster's middle [cells]."""
    w = np.asarray(places + 67.5 * (1 + 1j), dtype=np.complex128)
    step = np.diff(w)
    turn = np.array([np.angle(step[1:] / step[:-1]).sum()])
    arc = np.concatenate(([0.0], np.cumsum(np.abs(step))))
    tangent = np.append(step, step[-1]) / np.abs(np.append(step, step[-1]))
    zero, begin = np.zeros(1, dtype=np.intp), np.array([0, len(w)])
    return Lines(w, arc, tangent, begin, zero, zero, np.array([closed]), np.array([whole]), turn)


def lay(*lines: Lines) -> Laid:
    """What is laid of lines that are offered one after the other."""
    ground, laid = open_ground(), Laid()
    for line in lines:
        choose(ground, line, np.array([True]), laid)
    return laid


def straight(length: float, shift: complex = 0.0) -> ComplexArray:
    return np.asarray(np.arange(-length / 2, length / 2 + 0.1, 2.0) + shift, dtype=np.complex128)


def long(places: ComplexArray) -> float:
    return float(np.abs(np.diff(places)).sum()) / CELLS


RING = 25 * np.exp(2j * np.pi * np.arange(81) / 80)


def test_a_free_ring_is_laid_whole() -> None:
    laid = lay(one_line(RING, closed=True, whole=True))
    assert laid.rings == [True]
    assert len(laid.places[0]) == 81


def test_a_ring_that_meets_a_line_is_cut_there_and_nowhere_else() -> None:
    # The line crosses the ring on the side away from where it begins.
    laid = lay(one_line(straight(12, shift=-25)), one_line(RING, closed=True, whole=True))
    assert laid.rings == [False, False]
    rest = long(laid.places[1])
    assert 2 * np.pi * 25 / CELLS - 2.5 < rest < 2 * np.pi * 25 / CELLS - 1.2
    assert np.abs(laid.places[1] - laid.places[0][:, None]).min() > 0.48 * CELLS


@pytest.mark.parametrize(("spacings", "parts"), [(0.4, 1), (0.52, 1), (0.75, 2)])
def test_a_line_ends_where_another_is_close(spacings: float, parts: int) -> None:
    laid = lay(one_line(straight(80)), one_line(straight(80, shift=1j * spacings * CELLS)))
    assert len(laid.places) == parts


@pytest.mark.parametrize(("spacings", "half", "parts"), [(0.3, 0, 2), (0.52, 0, 1), (0.52, 15, 2)])
def test_a_line_passes_a_short_narrow_that_is_wide_enough(spacings: float, half: float, parts: int) -> None:
    x = straight(80).real
    bowed = x + 1j * CELLS * (spacings + (np.maximum(np.abs(x) - half, 0) / 20) ** 2)
    laid = lay(one_line(straight(80)), one_line(bowed))
    assert len(laid.places) == 1 + parts
    assert min(np.abs(laid.places[0][:, None] - w).min() for w in laid.places[1:]) > 0.48 * CELLS


def test_a_stub_is_laid_only_if_it_is_the_whole_path() -> None:
    stub = straight(6)
    assert lay(one_line(stub)).places == []
    assert len(lay(one_line(stub, whole=True)).places) == 1
    assert lay(one_line(straight(2), whole=True)).places == []


def test_a_hairpin_keeps_one_leg() -> None:
    legs = np.concatenate((straight(60) + 1j, straight(60)[::-1] - 1j))
    laid = lay(one_line(legs))
    assert len(laid.places) == 1
    assert 8 < long(laid.places[0]) < 12


def test_a_line_that_was_not_to_be_drawn_only_settles_its_ground() -> None:
    ground, laid = open_ground(), Laid()
    before = int(ground.cover.asks.sum())
    choose(ground, one_line(straight(60)), np.array([False]), laid)
    assert laid.places == []
    assert (ground.cover.owner < 0).all()
    # 60 cells by twice 0.8 spacings of six cells.
    assert before - int(ground.cover.asks.sum()) == pytest.approx(60 * 9.6, rel=0.2)
