"""Whatever comes in, the outcome is a case that reads back, or problems with a place and a fix: never anything else."""

from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.case import load_case, read_case
from api.errors import CaseError, Problem
from api.translate import piece_from

FAST = settings(
    max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)

leaves = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**300, max_value=10**320),
    st.floats(),
    st.text(max_size=12),
    st.sampled_from(
        [
            *("1 in", "38 mm", "1e999 m", "-0 in", "point", "line", "edge", "area", "hand", "circle", "rest", "show"),
            *("hold", "flat", "leaning", "on edge", "turning", "both", "0.01 1/m", "\ud800"),
        ]
    ),
)
KEYS = ["shape", "points", "at", "kind", "file", "center", "size", "name", "gap", "case", "\x00", "a" * 300, "roaming"]
KEYS += [
    "posture",
    "angle",
    "down",
    "across",
    "slide",
    "shims",
    "bow",
    "carries",
    "to",
    "region",
    "tolerance",
    "may_go",
]
values = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.one_of(st.sampled_from(KEYS), st.text(max_size=5)), inner, max_size=4),
    ),
    max_leaves=8,
)


def island() -> dict[str, Any]:
    """The L-shaped island, parsed."""
    path = Path(__file__).resolve().parents[1] / "cases" / "l-island-with-sink.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


def lively() -> dict[str, Any]:
    """The island with everything in it that a stage may ask for besides supports and loads that stand still."""
    case = island()
    hands = [{"kind": "hand", "at": [x, 0]} for x in (20, 76)]
    panels = [{"kind": "line", "points": [[x, 0], [x, 20]], "action": "rest", "may_go": True} for x in (2, 40, 90)]
    peel = {"kind": "line", "points": [[0, 0], [0, 25]], "to": [[96, 0], [96, 25]], "force_per_length": 2}
    roaming = {"kind": "point", "roaming": [[0, 0], [20, 0], [20, 20]], "force": 300, "size": 4}
    bows = [{"drying": "show", "strain": 1e-4}, {"warmer": "show", "difference": 9, "points": [[1, 1], [9, 1], [9, 9]]}]
    whole = {"age": 3, "up": "show"}
    case["slab"]["tolerance"] = 0.0625
    case["slab"]["region"] = [{"shape": "circle", "center": [12, 12], "diameter": 6, "depth": 1}]
    case["stage"] = [
        {**whole, "name": "edge", "posture": "on edge", "down": [[0, 0], [96, 0]], "across": 0.2, "support": hands},
        {**whole, "name": "lean", "posture": "leaning", "angle": 10, "support": [{**hands[0], "carries": "both"}]},
        {**whole, "name": "turn", "posture": "turning", "multiplier": 1.5, "support": hands},
        {**whole, "name": "set", "slide": [9, 0], "shims": 0.0625, "levels": True, "support": panels},
        {**whole, "name": "strip", "form_pull": "21 psf", "support": panels, "load": [peel]},
        {**whole, "name": "use", "lasting": True, "creep": 2, "support": panels, "load": [roaming], "bow": bows},
    ]
    return case


ISLAND = island()
LIVELY = lively()


def places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every path into parsed data."""
    found = [path] if path else []
    if isinstance(value, dict):
        for key, child in value.items():
            found += places(child, (*path, key))
    elif isinstance(value, list):
        for k, child in enumerate(value):
            found += places(child, (*path, k))
    return found


PLACES = places(ISLAND)
LIVELY_PLACES = places(LIVELY)


def outcome_is_clean(data: Any) -> None:
    """Read, and look at what comes out."""
    problems: tuple[Problem, ...] = ()
    try:
        case = read_case(data)
    except CaseError as error:
        problems = error.problems
    else:
        assert read_case(json.loads(json.dumps(case.si(), allow_nan=False))).si() == case.si()
        piece_from(case)
        return
    assert problems
    assert all(problem.what and problem.fix for problem in problems)
    "".join(str(problem) for problem in problems).encode("utf-8")


@given(values)
@FAST
def test_any_data_at_all(data: Any) -> None:
    outcome_is_clean(data)
    outcome_is_clean({"case": 1, "units": "si", "title": "x", "slab": data, "concrete": data, "stage": [data]})


@given(st.sampled_from(PLACES), values)
@FAST
def test_a_good_case_with_one_value_replaced(path: tuple[str | int, ...], value: Any) -> None:
    data = copy.deepcopy(ISLAND)
    table: Any = data
    for step in path[:-1]:
        table = table[step]
    table[path[-1]] = value
    outcome_is_clean(data)


@given(st.sampled_from(PLACES), st.one_of(st.sampled_from(KEYS), st.text(max_size=8)), values)
@FAST
def test_a_good_case_with_one_key_more(path: tuple[str | int, ...], key: str, value: Any) -> None:
    data = copy.deepcopy(ISLAND)
    table: Any = data
    for step in path:
        table = table[step]
    if isinstance(table, dict):
        table[key] = value
    outcome_is_clean(data)


def test_the_lively_case_is_sound() -> None:
    assert read_case(LIVELY).si()


@given(st.sampled_from(LIVELY_PLACES), values)
@settings(FAST, max_examples=100)
def test_a_lively_case_with_one_value_replaced(path: tuple[str | int, ...], value: Any) -> None:
    data = copy.deepcopy(LIVELY)
    table: Any = data
    for step in path[:-1]:
        table = table[step]
    table[path[-1]] = value
    outcome_is_clean(data)


@given(st.sampled_from(LIVELY_PLACES), st.sampled_from(LIVELY_PLACES))
@settings(FAST, max_examples=60)
def test_a_lively_case_with_one_part_in_place_of_another(
    one: tuple[str | int, ...], other: tuple[str | int, ...]
) -> None:
    data = copy.deepcopy(LIVELY)
    table, taken = data, data
    for step in one[:-1]:
        table = table[step]  # type: ignore[index]  # the path leads there
    for step in other:
        taken = taken[step]  # type: ignore[index]  # the path leads there
    table[one[-1]] = copy.deepcopy(taken)  # type: ignore[index]  # the path leads there
    outcome_is_clean(data)


coordinate = st.one_of(
    st.integers(min_value=-3, max_value=40), st.floats(min_value=-3, max_value=40, allow_nan=False, width=32)
)
corner = st.one_of(
    st.tuples(coordinate, coordinate), st.tuples(coordinate, coordinate, st.floats(min_value=0, max_value=20))
).map(list)


@given(st.lists(corner, min_size=3, max_size=8))
@settings(max_examples=100, deadline=None)
def test_any_outline_is_sound_or_refused(corners: list[list[float]]) -> None:
    support = {"kind": "edge", "action": "rest"}
    data = {
        "case": 1,
        "title": "x",
        "units": "us",
        "slab": {"thickness": 1, "outline": corners},
        "concrete": {"density": 145, "compressive_strength": 5000},
        "stage": [{"name": "a", "age": 28, "up": "show", "support": [support]}],
    }
    try:
        case = read_case(data)
    except CaseError:
        return
    shape = piece_from(case).shape
    region = shape.region()
    assert region.is_valid
    assert region.area > 0
    ends = [(curve.point(np.zeros(1))[0], curve.point(np.ones(1))[0]) for curve in shape.outline.curves]
    for (_, last), (first, _) in zip(ends, [*ends[1:], ends[0]], strict=True):
        assert float(abs(last - first).max()) < 1e-9


@given(st.binary(max_size=300))
@settings(max_examples=100, deadline=None)
def test_any_bytes_in_a_file(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "hostile.toml"
    for name in ("hostile.toml", "hostile.json"):
        path = path.with_name(name)
        path.write_bytes(content)
        with pytest.raises(CaseError):
            load_case(path)
