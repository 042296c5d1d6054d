"""Numbers as typed, and as printed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.numerals import MAX_CHARS, number, plain, shown
from inventory.core.reasons import BadInput

pytestmark = pytest.mark.core


def test_a_number_alone_is_read_exactly() -> None:
    assert number(" 45,1 ") == Fraction(451, 10)
    assert number("-0.005") == Fraction(-1, 200)
    assert number("0" * MAX_CHARS) == 0


@pytest.mark.parametrize("text", ["45.1 %", "<0.05", "n/a", "", "1e5", "0" * (MAX_CHARS + 1)])
def test_a_number_with_anything_beside_it_is_refused_under_the_callers_topic(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        number(text, "certificate")
    assert caught.value.reason.code == "certificate.not_a_number"


def test_what_is_repeated_in_a_message_is_cut_only_when_it_is_long() -> None:
    assert shown("x" * 24) == "x" * 24
    assert shown("x" * 25) == "x" * 24 + "…"


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        ("0.5", 0, "0"),
        ("1.5", 0, "2"),
        ("-0.04", 1, "0.0"),
        ("-0.05", 1, "0.0"),
        ("-0.06", 1, "−0.1"),
        ("12", 2, "12.00"),
        ("0.005", 3, "0.005"),
    ],
)
def test_a_number_is_printed_half_to_even_and_zero_has_no_sign(value: str, places: int, text: str) -> None:
    assert plain(Fraction(value), places) == text


@given(st.fractions(-(10**9), 10**9), st.integers(0, 12))
def test_what_is_printed_is_read_back_within_half_the_last_digit(value: Fraction, places: int) -> None:
    assert abs(number(plain(value, places)) - value) <= Fraction(1, 2 * 10**places)
