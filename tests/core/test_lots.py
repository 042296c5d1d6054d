"""Lot numbers: kept as printed, compared without what a keyboard changes."""

from __future__ import annotations

import pytest

from inventory.core.lots import MAX_CHARS, lot_number, number_key
from inventory.core.reasons import BadInput

pytestmark = pytest.mark.core


@pytest.mark.parametrize("written", ["T26-031", "t26-031", " T26 - 031 ", "T26–031", "T26‑031", "Ｔ２６－０３１", "T26\u00a0-031"])
def test_one_lot_written_otherwise_is_the_same_lot(written: str) -> None:
    assert number_key(written) == "t26-031"


@pytest.mark.parametrize("other", ["T26-0310", "T26031", "T26/031", "T26-O31", "T26-031A"])
def test_another_number_is_another_lot(other: str) -> None:
    assert number_key(other) != number_key("T26-031")


def test_a_key_holds_no_blank_so_that_a_suffix_can() -> None:
    assert " " not in number_key("A B\tC\u2003D")


def test_a_number_is_kept_as_it_is_printed() -> None:
    assert lot_number("  T26 – 031 ") == "T26 – 031"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "lot.number_needed"),
        (" \t", "lot.number_needed"),
        ("---", "lot.number_needed"),
        ("A" * (MAX_CHARS + 1), "lot.number_too_long"),
        ("ﷺ" * 20, "lot.number_too_long"),
        ("T26\x1dQ5", "lot.number_unreadable"),
        ("T26\x00", "lot.number_unreadable"),
        ("T26\u202e13", "lot.number_unreadable"),
    ],
)
def test_what_is_no_lot_number_is_asked_again(text: str, code: str) -> None:
    with pytest.raises(BadInput) as wrong:
        lot_number(text)
    assert (wrong.value.reason.code, wrong.value.where) == (code, "lot")


def test_the_longest_number_is_taken() -> None:
    assert lot_number("A" * MAX_CHARS) == "A" * MAX_CHARS
