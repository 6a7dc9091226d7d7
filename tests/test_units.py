"""Quantities as text and numbers: right values, and errors that name the right dimension."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api import units
from api.units import (
    ANGLE,
    DENSITY,
    FORCE,
    FORCE_PER_LENGTH,
    LENGTH,
    MOMENT_PER_LENGTH,
    PRESSURE,
    STIFFNESS_AREA,
    STIFFNESS_LINE,
    TEMPERATURE_DIFFERENCE,
    TIME,
    Dimension,
    QuantityError,
    to_si,
)

# Inch 0.0254 m and pound 0.45359237 kg: international yard and pound agreement of 1959; standard gravity 9.80665 m/s2:
# 3rd CGPM (1901). All values below follow from these three by arithmetic.
POUND_FORCE = 0.45359237 * 9.80665


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("38 mm", LENGTH, 0.038),
        ("1.5 in", LENGTH, 0.0381),
        ("1 1/2 in", LENGTH, 0.0381),
        ("1-1/2 in", LENGTH, 0.0381),
        ("-1/16 in", LENGTH, -0.0015875),
        ('1.5"', LENGTH, 0.0381),
        ("\u22122 mm", LENGTH, -0.002),
        ("500 lbf", FORCE, 500 * POUND_FORCE),
        ("2 kip", FORCE, 2000 * POUND_FORCE),
        ("45 MPa", PRESSURE, 45e6),
        ("6000 psi", PRESSURE, 6000 * POUND_FORCE / 0.0254**2),
        ("21 psf", PRESSURE, 21 * POUND_FORCE / 0.3048**2),
        ("2.5 N/mm2", PRESSURE, 2.5e6),
        ("145 lb/ft3", DENSITY, 145 * 0.45359237 / 0.3048**3),
        ("145 lb/ft^3", DENSITY, 145 * 0.45359237 / 0.3048**3),
        ("2.4 t/m\u00b3", DENSITY, 2400.0),
        ("50 lbf/ft", FORCE_PER_LENGTH, 50 * POUND_FORCE / 0.3048),
        ("20 lbf*in/in", MOMENT_PER_LENGTH, 20 * POUND_FORCE),
        ("20 lbf-in/in", MOMENT_PER_LENGTH, 20 * POUND_FORCE),
        ("100 lbf/in2", STIFFNESS_LINE, 100 * POUND_FORCE / 0.0254**2),
        ("20 lbf/in3", STIFFNESS_AREA, 20 * POUND_FORCE / 0.0254**3),
        ("20 h", TIME, 72000.0),
        ("2 weeks", TIME, 14 * 86400.0),
        ("0.5 rad", ANGLE, 28.64788975654116),
        ("15 K", TEMPERATURE_DIFFERENCE, 15.0),
        ("9 delta_degF", TEMPERATURE_DIFFERENCE, 5.0),
    ],
)
def test_text_with_a_unit_is_converted(text: str, dimension: Dimension, value: float) -> None:
    # rtol: values are kept to 12 digits
    assert to_si(text, dimension, "us") == pytest.approx(value, rel=1e-11, abs=0)
    assert to_si(text, dimension, "si") == to_si(text, dimension, "us")


@pytest.mark.parametrize(
    ("dimension", "us", "si"),
    [
        (LENGTH, 0.0254, 1.0),
        (FORCE, POUND_FORCE, 1.0),
        (PRESSURE, POUND_FORCE / 0.0254**2, 1.0),
        (FORCE_PER_LENGTH, POUND_FORCE / 0.0254, 1.0),
        (MOMENT_PER_LENGTH, POUND_FORCE, 1.0),
        (STIFFNESS_LINE, POUND_FORCE / 0.0254**2, 1.0),
        (STIFFNESS_AREA, POUND_FORCE / 0.0254**3, 1.0),
        (DENSITY, 0.45359237 / 0.3048**3, 1.0),
        (TIME, 86400.0, 86400.0),
        (ANGLE, 1.0, 1.0),
        (TEMPERATURE_DIFFERENCE, 1.0, 1.0),
    ],
)
def test_bare_numbers_are_in_the_units_of_the_file(dimension: Dimension, us: float, si: float) -> None:
    assert to_si(1, dimension, "us") == pytest.approx(us, rel=1e-11, abs=0)
    assert to_si(1.0, dimension, "si") == pytest.approx(si, rel=1e-11, abs=0)


@pytest.mark.parametrize(
    ("value", "dimension", "match"),
    [
        ("500 lb", FORCE, "is a mass, not a force.*lbf"),
        ("24 kN/m3", DENSITY, "not a density.*lb/ft3"),
        ("5 psi", LENGTH, "is a pressure, not a length"),
        ("20 h", LENGTH, "is a time, not a length"),
        ("38", LENGTH, "has no unit"),
        ("38 mn", LENGTH, 'unknown unit "mn"; did you mean'),
        ("45 mpa", PRESSURE, 'did you mean "MPa"'),
        ("1,5 in", LENGTH, "decimal comma"),
        ("1e999 in", LENGTH, "not a finite number"),
        ("1/0 in", LENGTH, "not a finite number"),
        ("nan", LENGTH, "not a quantity"),
        ("inf m", LENGTH, "not a quantity"),
        ("1 m**99", LENGTH, "unit that cannot be read"),
        ("1 __import__('os')", LENGTH, "unit that cannot be read"),
        ("9**9**9 m", LENGTH, "unit that cannot be read"),
        ("1" * 70 + " m", LENGTH, "too long"),
        (float("nan"), LENGTH, "not a finite number"),
        (float("-inf"), LENGTH, "not a finite number"),
        (10**400, LENGTH, "not a finite number"),
        (True, LENGTH, "a length is needed here, not true or false"),
        (None, FORCE, "a force is needed here, not null"),
        ([1], FORCE, "a force is needed here, not a list"),
        ({}, FORCE, "a force is needed here, not a table"),
    ],
)
def test_what_is_no_such_quantity_is_refused_with_the_right_dimension(
    value: object, dimension: Dimension, match: str
) -> None:
    with pytest.raises(QuantityError, match=match):
        to_si(value, dimension, "us")


def test_one_length_in_two_systems_is_one_number() -> None:
    for sixteenths in range(1, 400):
        inches = sixteenths / 16
        assert to_si(inches, LENGTH, "us") == to_si(f"{inches * 25.4:.6f} mm", LENGTH, "si")


@given(st.text(max_size=80), st.sampled_from([LENGTH, FORCE, DENSITY, TIME, STIFFNESS_AREA]))
@settings(max_examples=150, deadline=None)
def test_no_text_does_anything_but_convert_or_be_refused(text: str, dimension: Dimension) -> None:
    for candidate in (text, f"1 {text}", f"2 {text[:10]}/m"):
        with contextlib.suppress(QuantityError):
            assert abs(to_si(candidate, dimension, "si")) < float("inf")


def test_figures_for_the_reader_are_rounded() -> None:
    assert units.in_words(0.00123, LENGTH, "us") == "0.0484 in"
    assert units.in_words(1.2345, LENGTH, "si") == "1.23 m"
    assert units.in_words(27.6e9, PRESSURE, "si") == "27.6 GPa"
    assert units.in_words(0.0, FORCE, "si") == "0 N"
