"""Temperatures as typed, kept and shown. Oracle: the units library `pint`, with fractions instead of floats."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.reasons import BadInput
from inventory.core.temperature import display_celsius, parse_celsius

pytestmark = pytest.mark.core
PINT = pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(
    ("text", "unit", "mc"),
    [
        ("-18", "°C", -18_000),
        ("−18 °C", None, -18_000),
        ("17,2 °C", None, 17_200),
        ("64 °F", None, 17_778),
        ("0 ° f", None, -17_778),
        ("5", "CEL", 5_000),
    ],
)
def test_a_temperature_is_read_in_either_scale(text: str, unit: str | None, mc: int) -> None:
    assert parse_celsius(text, unit) == mc


@pytest.mark.parametrize(
    ("mc", "metric", "us"),
    [
        (-18_000, "−18 °C", "−0.4 °F"),
        (17_200, "17.2 °C", "63 °F"),
        (0, "0 °C", "32 °F"),
        (100_000, "100 °C", "212 °F"),
        (-17_778, "−17.778 °C", "0 °F"),
    ],
)
def test_a_temperature_is_shown_without_idle_zeros(mc: int, metric: str, us: str) -> None:
    assert (display_celsius(mc), display_celsius(mc, "us")) == (metric, us)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("18", "temperature.unknown_unit"),
        ("18 K", "temperature.unknown_unit"),
        ("warm", "temperature.not_a_number"),
        ("1,234 °C", "temperature.ambiguous"),
        ("-273.151 °C", "temperature.out_of_range"),
        ("2000.001 °C", "temperature.out_of_range"),
        ("9" * 60 + " °C", "temperature.out_of_range"),
    ],
)
def test_what_is_no_temperature_is_refused(text: str, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_celsius(text)
    assert caught.value.reason.code == code


def test_a_refused_temperature_is_told_as_a_number_that_can_be_kept_or_not_at_all() -> None:
    for text, mc in (("-273.151 °C", -273_151), ("1000000000000 °C", 10**15), ("1000000000000.001 °C", None)):
        with pytest.raises(BadInput) as caught:
            parse_celsius(text)
        assert caught.value.reason.numbers == {"mc": mc}


def test_the_ends_of_the_range_are_in_it() -> None:
    assert parse_celsius("-273.15 °C") == -273_150 and parse_celsius("2000 °C") == 2_000_000


@given(st.integers(-273_150, 2_000_000))
def test_celsius_out_and_back_is_the_same(mc: int) -> None:
    assert parse_celsius(display_celsius(mc)) == mc


@given(st.integers(-4_500, 35_000))
def test_fahrenheit_agrees_with_the_units_library(tenths: int) -> None:
    kelvin = PINT.Quantity(Fraction(tenths, 10), "degF").to("kelvin").magnitude
    assert parse_celsius(f"{tenths / 10:.1f} °F") == round((Fraction(kelvin) - Fraction("273.15")) * 1000)
