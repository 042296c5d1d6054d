"""Durations as people and labels write them: "6 h 00", "9 h 20 min", "55 min", "6:30", "1.5 h". Read exactly or refused."""

from __future__ import annotations

import re
from fractions import Fraction

from inventory.core.numerals import MAX_CHARS, leading_number, shown
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import HOUR_US, MINUTE_US

LONGEST_US = 100_000 * HOUR_US
"""Over eleven years: more than any label states."""

_HOUR = "h|hr|hrs|hour|hours"
_MINUTE = "min|mins|minute|minutes"
_SPACE = " \u00a0\u2009\u202f"
_BOTH = re.compile(rf"([0-9]{{1,6}})[{_SPACE}]*(?:{_HOUR})[{_SPACE}]*([0-9]{{1,2}})[{_SPACE}]*(?:m|{_MINUTE})?", re.ASCII | re.IGNORECASE)
_CLOCK = re.compile(r"([0-9]{1,6}):([0-9]{2})", re.ASCII)
_HOW = say("Type it like 6 h 30 or 45 min.")


def parse_duration(text: str) -> int:
    """A duration as typed, in µs, rounded half-even once; zero is a duration.

    Raises BadInput duration.empty, .not_a_number, .ambiguous, .unknown_unit, .minutes, .negative, .too_long."""
    trimmed = text.strip()
    if not trimmed:
        raise BadInput("duration.empty", say("No duration is given. {how}", how=_HOW))
    found = _BOTH.fullmatch(trimmed[: MAX_CHARS + 1]) or _CLOCK.fullmatch(trimmed[: MAX_CHARS + 1])
    if found:
        hours, minutes = int(found[1]), int(found[2])
        if minutes > 59:
            raise BadInput(
                "duration.minutes",
                say("“{trimmed}” has more than 59 minutes beside the hours. {how}", trimmed=shown(trimmed), how=_HOW),
                given=shown(trimmed),
            )
        return _within(Fraction(hours * HOUR_US + minutes * MINUTE_US))
    value, rest = leading_number(trimmed, "duration")
    unit = rest.casefold().rstrip(".")
    if unit in _HOUR.split("|"):
        return _within(value * HOUR_US)
    if unit in _MINUTE.split("|"):
        return _within(value * MINUTE_US)
    raise BadInput(
        "duration.unknown_unit",
        say("“{trimmed}” does not say hours or minutes. {how}", trimmed=shown(trimmed), how=_HOW),
        given=shown(trimmed),
    )


def _within(us: Fraction) -> int:
    if us < 0:
        raise BadInput("duration.negative", say("A duration cannot be below zero. {how}", how=_HOW))
    if us > LONGEST_US:
        raise BadInput("duration.too_long", say("That is longer than any label states. {how}", how=_HOW), max_us=LONGEST_US)
    return round(us)
