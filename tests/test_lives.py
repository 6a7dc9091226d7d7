"""A few random lives: each ends in faults with a remedy, or in an answer that passes every self-check of its own."""

from __future__ import annotations

from typing import Any

import pytest

from tests.life_checks import outcome_of
from tests.lives import life_case


def one_stage(number: int, k: int) -> dict[str, Any]:
    """The life of this number with the k-th of its own stages alone."""
    case = {key: value for key, value in life_case(number).items() if key != "life"}
    return {**case, "stage": [case["stage"][k]]}


def test_the_same_number_gives_the_same_life() -> None:
    assert life_case(7) == life_case(7)
    assert life_case(7) != life_case(8)


@pytest.mark.parametrize("number", [0, 1, 2, 4, 5, 6, 7, 8, 12, 13])
def test_random_life_is_answered_or_refused_with_a_remedy(number: int) -> None:
    outcome, wrong = outcome_of(life_case(number))
    assert outcome.removesuffix(", unsure") in ("holds", "marginal", "cracks", "tips", "faults")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("number", [10, 111, 112])
def test_a_bowed_piece_without_load_across_its_face_lies_surely(number: int) -> None:
    # On edge nothing presses the face but the bow: forces and openings were measured against next to nothing.
    outcome, wrong = outcome_of(one_stage(number, 1))
    assert not outcome.endswith("unsure")
    assert not wrong, "\n".join(wrong)


def test_a_clamp_that_carries_the_edge_alone_has_no_moment_and_no_nan() -> None:
    assert outcome_of(one_stage(132, 0)) == ("holds", [])


def test_a_piece_on_one_support_falls_and_no_force_is_told() -> None:
    case = life_case(143)
    case["life"] = {"stages": ["set"], "set": {**case["life"].get("set", {}), "slide": False}}
    outcome, wrong = outcome_of(case)
    assert outcome == "tips"
    assert not wrong
