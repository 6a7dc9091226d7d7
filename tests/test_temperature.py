"""Temperatures as text and numbers: with a zero of their own, so no product of units."""

from __future__ import annotations

import pytest

from api.units import (
    LENGTH,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    Dimension,
    QuantityError,
    in_words,
    likely_slip,
    to_si,
)


# The Celsius and Fahrenheit scales agree at -40; 32 F is 0 C, 68 F is 20 C, 212 F is 100 C by their definition.
@pytest.mark.parametrize(
    ("written", "celsius"),
    [
        ("20 degC", 20.0),
        ("68 degF", 20.0),
        ("20 \u00b0C", 20.0),
        ("32\u00b0F", 0.0),
        ("-40 degF", -40.0),
        ("-40 degC", -40.0),
        ("212 F", 100.0),
    ],
)
def test_text_with_a_unit(written: str, celsius: float) -> None:
    assert to_si(written, TEMPERATURE, "si") == pytest.approx(celsius, abs=1e-9)
    assert to_si(written, TEMPERATURE, "us") == to_si(written, TEMPERATURE, "si")


def test_a_bare_number_is_in_the_degrees_of_the_file() -> None:
    assert to_si(20, TEMPERATURE, "si") == 20.0
    assert to_si(68, TEMPERATURE, "us") == pytest.approx(20.0, abs=1e-9)


def test_words() -> None:
    assert in_words(20.0, TEMPERATURE, "si") == "20 degC"
    assert in_words(20.0, TEMPERATURE, "us") == "68 degF"
    assert likely_slip(68.0, TEMPERATURE, "si", 0.0, 40.0) == '"68 degF"'


@pytest.mark.parametrize(
    ("written", "dimension", "message"),
    [
        ("20 K", TEMPERATURE, "is not a temperature"),
        ("20 mm", TEMPERATURE, "is not a temperature"),
        ("20", TEMPERATURE, "no unit"),
        ("20 degC", LENGTH, "is a temperature, not a length"),
        ("20 degC", TEMPERATURE_DIFFERENCE, "is a temperature, not a temperature difference"),
    ],
)
def test_what_is_no_temperature_is_refused(written: str, dimension: Dimension, message: str) -> None:
    with pytest.raises(QuantityError, match=message):
        to_si(written, dimension, "si")
