"""Durations as labels and people write them: read exactly, or asked again."""

from __future__ import annotations

import pytest

from inventory.core.durations import LONGEST_US, parse_duration
from inventory.core.reasons import BadInput
from inventory.core.spans import HOUR_US, MINUTE_US, duration

pytestmark = pytest.mark.core


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ("6 h 00", 6 * HOUR_US),
        ("9 h 20", 9 * HOUR_US + 20 * MINUTE_US),
        ("9h20", 9 * HOUR_US + 20 * MINUTE_US),
        ("9 h 20 min", 9 * HOUR_US + 20 * MINUTE_US),
        ("9h 20m", 9 * HOUR_US + 20 * MINUTE_US),
        ("6:30", 6 * HOUR_US + 30 * MINUTE_US),
        ("114 h 10", 114 * HOUR_US + 10 * MINUTE_US),
        ("55 min", 55 * MINUTE_US),
        ("55 Minutes", 55 * MINUTE_US),
        ("1.5 h", 90 * MINUTE_US),
        ("1,5 hours", 90 * MINUTE_US),
        ("0 h", 0),
        ("0:00", 0),
        ("100000 h", LONGEST_US),
    ],
)
def test_a_duration_is_read_exactly(text: str, us: int) -> None:
    assert parse_duration(text) == us


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "duration.empty"),
        ("  ", "duration.empty"),
        ("6", "duration.unknown_unit"),
        ("6 m", "duration.unknown_unit"),
        ("6 days", "duration.unknown_unit"),
        ("6 h 60", "duration.minutes"),
        ("6:75", "duration.minutes"),
        ("-1 h", "duration.negative"),
        ("100001 h", "duration.too_long"),
        ("NaN h", "duration.not_a_number"),
        ("1e5 h", "duration.not_a_number"),
        ("1,234 h", "duration.ambiguous"),
        ("six hours", "duration.not_a_number"),
        ("9" * 70 + " h", "duration.not_a_number"),
    ],
)
def test_what_can_be_read_otherwise_or_not_at_all_is_asked_again(text: str, code: str) -> None:
    with pytest.raises(BadInput) as wrong:
        parse_duration(text)
    assert wrong.value.reason.code == code


@pytest.mark.parametrize("minutes", [0, 1, 59, 60, 61, 1_440, 6_850, 99_999])
def test_what_a_screen_shows_can_be_typed_again(minutes: int) -> None:
    assert parse_duration(duration(minutes * MINUTE_US)) == minutes * MINUTE_US
