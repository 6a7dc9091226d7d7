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
        ["1 in", "38 mm", "1e999 m", "-0 in", "point", "line", "edge", "area", "circle", "rest", "show", "\ud800"]
    ),
)
KEYS = ["shape", "points", "at", "kind", "file", "center", "size", "name", "gap", "case", "\x00", "a" * 300, "roaming"]
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


ISLAND = island()


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
