"""The error bars hold the truth, on seven of the forty slabs of the study in tests/bench_error_bars.py.

The truths are snapshots: our own fine solutions of 2026-11-25 (field 0.7 of the thickness, 12 sides a quarter turn,
contacts as much finer), which differ from the default ones in every part of the discretisation. They do not show that
the theory is right; the outside checks do.
"""

from __future__ import annotations

from functools import cache

import pytest

from fem.plate.analysis import analyse
from fem.plate.model import Face, StageResult
from meshing.triangulate import triangulate
from tests.shapes_zoo import zoo

# slab, kind of number, face, truth [Pa, or m for the deflection]
TRUTHS: tuple[tuple[str, str, Face | str, float], ...] = (
    ("L with sink, foot", "deflection", "", 0.0011446),
    ("L with sink, foot", "averaged peak", "show", 4.2208e06),
    ("L with sink, foot", "local peak", "show", 6.6194e06),
    ("L with sink, foot", "averaged peak", "underside", 6.5136e06),
    ("L with sink, foot", "local peak", "underside", 6.7608e06),
    ("galley, sharp sink", "deflection", "", 1.8991e-05),
    ("galley, sharp sink", "averaged peak", "show", 2.2731e05),
    ("galley, sharp sink", "local peak", "show", 2.153e05),
    ("galley, sharp sink", "averaged peak", "underside", 1.9007e05),
    ("galley, sharp sink", "local peak", "underside", 1.9093e05),
    ("strip on three", "deflection", "", 0.00015404),
    ("strip on three", "averaged peak", "show", 9.2467e05),
    ("strip on three", "local peak", "show", 9.8332e05),
    ("strip on three", "averaged peak", "underside", 5.1734e05),
    ("strip on three", "local peak", "underside", 5.1848e05),
    ("cups", "deflection", "", 0.00019757),
    ("cups", "averaged peak", "show", 2.1461e05),
    ("cups", "local peak", "show", 3.4899e05),
    ("cups", "averaged peak", "underside", 6.7602e05),
    ("cups", "local peak", "underside", 8.0215e05),
    ("odd with two openings", "deflection", "", 8.6087e-05),
    ("odd with two openings", "averaged peak", "show", 4.7793e05),
    ("odd with two openings", "local peak", "show", 5.01e05),
    ("odd with two openings", "averaged peak", "underside", 5.7674e05),
    ("odd with two openings", "local peak", "underside", 7.9964e05),
    ("bar with overhang, held", "deflection", "", 0.00038265),
    ("bar with overhang, held", "averaged peak", "show", 1.9831e06),
    ("bar with overhang, held", "local peak", "show", 2.0616e06),
    ("bar with overhang, held", "averaged peak", "underside", 1.9728e06),
    ("bar with overhang, held", "local peak", "underside", 2.0071e06),
    ("round table, loose ring", "deflection", "", 1.3682e-05),
    ("round table, loose ring", "averaged peak", "show", 3.7328e05),
    ("round table, loose ring", "local peak", "show", 4.7189e05),
    ("round table, loose ring", "averaged peak", "underside", 87199),
    ("round table, loose ring", "local peak", "underside", 92715),
)


@cache
def solved(name: str) -> StageResult:
    (slab,) = [slab for slab in zoo() if slab.name == name]
    mesh = triangulate(slab.shape, slab.plate.thickness)
    return analyse(mesh, slab.plate, [slab.stage]).stages[0]


@pytest.mark.parametrize(("name", "kind", "face", "truth"), TRUTHS)
def test_the_bar_holds_the_truth_and_is_no_wider_than_a_third_of_it(
    name: str, kind: str, face: str, truth: float
) -> None:
    result = solved(name)
    assert result.peaks is not None
    if kind == "deflection":
        value, bar = result.deflection, result.deflection_error
    else:
        tension = result.peaks["show" if face == "show" else "underside"].tension
        value, bar = (tension.local, tension.local_error) if kind == "local peak" else (tension.tension, tension.error)
    assert value is not None
    assert bar is not None
    assert abs(value - truth) <= bar
    assert bar < truth / 3
