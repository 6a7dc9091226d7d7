"""The cut list against a published instance, exhaustive search and hand calculations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fem.steel.cutting import CutList, cut_list, pieces_of
from fem.steel.model import Run, Steel

WIRE = Steel("wire", "wire", 0.00376, 0.00376, 11.1e-6, 485e6, 550e6, 200e9, stock=3.0)


def runs_of(lengths: list[float], steel: Steel = WIRE) -> list[Run]:
    return [Run(f"A{k + 1}", "show", ((0.0, 0.0), (x, 0.0)), 0.015, steel) for k, x in enumerate(lengths)]


def holds_together(found: CutList, stock: float) -> None:
    """Patterns give just the cuts, none longer than the stock, and waste is what is left of the stock."""
    given: dict[float, int] = {}
    for pattern in found.patterns:
        used = sum(size * n for size, n in pattern.pieces)
        assert used + pattern.rest == pytest.approx(stock, rel=1e-12)
        assert pattern.rest >= 0
        for size, n in pattern.pieces:
            given[round(size, 6)] = given.get(round(size, 6), 0) + n * pattern.count
    assert given == {round(cut.length, 6): cut.count for cut in found.cuts}
    assert found.stock_pieces == sum(pattern.count for pattern in found.patterns) >= found.least
    total = sum(cut.length * cut.count for cut in found.cuts)
    assert found.waste == pytest.approx(1 - total / (found.stock_pieces * stock), abs=1e-12)


# Few patterns are all written out; with a limit of one, patterns are asked for one by one even in small cases.
@pytest.fixture(params=[2000, 1], ids=["all patterns", "those asked for"], autouse=True)
def limit(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fem.steel.cutting._ALL_PATTERNS", request.param)


# The open encyclopaedia's article on the cutting stock problem: 5600 mm stock, 13 widths, 219 pieces; the optimum is
# 73 stock pieces with 0.401 % of waste.
def test_paper_mill_instance_needs_73() -> None:
    widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200]
    counts = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20]
    steel = replace(WIRE, stock=5.6)
    found = cut_list(runs_of(np.repeat(np.array(widths) / 1000, counts).tolist(), steel), 0.3)
    assert (found.stock_pieces, found.least) == (73, 73)
    assert found.waste == pytest.approx(0.00401, abs=5e-6)
    holds_together(found, 5.6)


def fewest(pieces: list[int], full: int) -> int:
    """The fewest stock pieces, by trying every way to put each piece, longest first, into one opened or the next."""
    best = len(pieces)

    def put(number: int, room: tuple[int, ...]) -> None:
        nonlocal best
        if len(room) >= best:
            return
        if number == len(pieces):
            best = len(room)
            return
        size = pieces[number]
        for left in sorted({left for left in room if left >= size}):
            at = room.index(left)
            put(number + 1, (*room[:at], left - size, *room[at + 1 :]))
        put(number + 1, (*room, full - size))

    put(0, ())
    return best


@pytest.mark.parametrize("seed", range(30))
def test_small_cases_need_as_few_as_exhaustive_search_finds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sizes = rng.integers(3, 24, int(rng.integers(1, 5)))
    pieces = np.repeat(sizes, rng.integers(1, 5, len(sizes)))[:11]
    found = cut_list(runs_of((pieces / 10).tolist()), 0.3)
    assert found.stock_pieces == fewest(sorted(pieces.tolist(), reverse=True), 30)
    holds_together(found, 3.0)


# By hand: longest first into the first with room gives 1.4 + 1.2, 1.0 + 0.8 + 0.8 and 0.8; but 1.4 + 0.8 + 0.8 and
# 1.2 + 1.0 + 0.8 fill two stock pieces to the last millimetre.
def test_better_than_longest_first() -> None:
    lengths = [1.4, 1.2, 1.0, 0.8, 0.8, 0.8]
    found = cut_list(runs_of(lengths), 0.3)
    assert found.stock_pieces == 2
    assert found.waste == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_many_lengths_are_proven_by_their_bound(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lengths = np.round(rng.uniform(0.2, 2.9, 45), 3)
    found = cut_list(runs_of(lengths.tolist()), 0.3)
    assert found.stock_pieces <= found.least + 1
    assert found.least >= lengths.sum() / 3.0
    holds_together(found, 3.0)


# By hand: 7 m of 3 m stock with 0.3 m laps: 3 + 3 + 1.6 cover 7.6 - 0.6.
@pytest.mark.parametrize(
    ("length", "pieces"),
    [
        (3.0, [3.0]),
        (2.9999999, [3.0]),
        (7.0, [3.0, 3.0, 1.6]),
        (5.7, [3.0, 3.0]),
        # The last would be 0.35 long, not worth two laps: it shares with the one before.
        (3.05, [1.675, 1.675]),
    ],
)
def test_a_run_longer_than_the_stock_is_lapped(length: float, pieces: list[float]) -> None:
    (run,) = runs_of([length])
    found = pieces_of(run, 0.3)
    assert found == pytest.approx(pieces, rel=1e-9)
    assert sum(found) - 0.3 * (len(found) - 1) == pytest.approx(length, abs=0.0011)
    listed = cut_list([run], 0.3)
    assert listed.laps == len(pieces) - 1
    assert listed.lapped == (("A1",) if len(pieces) > 1 else ())


def test_equal_lengths_share_a_line_and_longest_comes_first() -> None:
    found = cut_list(runs_of([1.2, 2.5, 1.2000000001, 1.1999999999, 0.4]), 0.3)
    assert [(round(cut.length, 6), cut.count, cut.marks) for cut in found.cuts] == [
        (2.5, 1, ("A2",)),
        (1.2, 3, ("A1", "A3", "A4")),
        (0.4, 1, ("A5",)),
    ]


def test_lengths_are_rounded_down_to_the_step() -> None:
    (cut,) = cut_list(runs_of([1.2349]), 0.3, step=0.005).cuts
    assert cut.length == pytest.approx(1.23, rel=1e-12)


def test_each_steel_has_its_own_stock() -> None:
    bar = replace(WIRE, name="bar", stock=6.0)
    found = cut_list([*runs_of([2.0, 2.0]), *runs_of([2.0, 2.0, 2.0], bar)], 0.3)
    assert [(pattern.steel, pattern.count) for pattern in found.patterns] == [("wire", 2), ("bar", 1)]
    assert found.waste == pytest.approx(1 - 10 / 12, rel=1e-12)
    assert [cut.steel for cut in found.cuts] == ["wire", "bar"]


def test_a_coil_has_no_stock_pieces() -> None:
    found = cut_list(runs_of([7.0, 2.0], replace(WIRE, stock=float("inf"))), 0.3)
    assert (found.stock_pieces, found.waste, found.laps) == (0, 0.0, 0)
    assert [cut.length for cut in found.cuts] == pytest.approx([7.0, 2.0], rel=1e-12)


def test_stock_no_longer_than_a_lap_is_refused() -> None:
    with pytest.raises(ValueError, match=r"stock of 0\.250 m is no longer than a lap"):
        cut_list(runs_of([1.0], replace(WIRE, stock=0.25)), 0.3)
    with pytest.raises(ValueError, match="no longer than a lap"):
        cut_list(runs_of([4.0]), float("inf"))


def test_nothing_to_cut() -> None:
    assert cut_list([], 0.3) == CutList((), 0, 0, 0.0, (), 0, ())
