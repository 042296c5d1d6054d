"""Dates as labels print them in figures: which century, which day.

A year of two figures is taken as the one nearest to now: 51 to 99 years ahead is the century before, 50 to 99 years behind the next.
Day 00 stands for the last day of its month, so it is read as that month."""

from __future__ import annotations

import calendar

from inventory.core.spans import DateText

FORMS = ("YYMMDD", "YYYYMMDD", "DDMMYY", "DDMMYYYY", "MMDDYYYY", "YYMM", "YYYYMM", "YYYY-MM-DD", "DD.MM.YYYY", "DD/MM/YYYY", "YYYY-MM")
"""The ways of writing a date that a supplier's own label may be said to use."""
ODD_YEARS = 15
"""An end further away than this, or a making further back, is more likely a wrong century or a wrong field (no source)."""


def full_year(two: int, this_year: int) -> int:
    """The year that two figures stand for, seen from `this_year`."""
    ahead = two - this_year % 100
    century = this_year // 100 - (1 if ahead >= 51 else 0) + (1 if ahead <= -50 else 0)
    return century * 100 + two


def dated(year: int, month: int, day: int | None) -> DateText | None:
    """A date that exists, or None. Day 0 is the month's last, as None."""
    if not (1 <= year <= 9999 and 1 <= month <= 12):
        return None
    if not day:
        return DateText(year, month, None)
    return DateText(year, month, day) if day <= calendar.monthrange(year, month)[1] else None


def date_in(text: str, form: str, this_year: int) -> DateText | None:
    """The date that `text` writes in one of FORMS; None where it does not."""
    if len(text) != len(form) or not text.isascii():
        return None
    parts = {"Y": "", "M": "", "D": ""}
    for ch, place in zip(text, form, strict=True):
        if place in parts and ch.isdigit():
            parts[place] += ch
        elif place in parts or ch != place:
            return None
    year = int(parts["Y"])
    if len(parts["Y"]) == 2:
        year = full_year(year, this_year)
    return dated(year, int(parts["M"]), int(parts["D"]) if parts["D"] else None)


def odd(date: DateText, this_year: int) -> bool:
    """Whether a label's date lies so far away that it was hardly meant."""
    return abs(date.year - this_year) > ODD_YEARS
