"""A long table a page at a time, each page with its own address; several tables of one page turn by themselves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from inventory.core.said import say
from inventory.pages.ways import query

ROWS = 200
"""Rows of a table on one page."""


@dataclass(frozen=True, slots=True)
class Turned:
    """The rows of one page; `shown` says which of how many, `earlier` and `further` lead to the pages beside it."""

    rows: list[list[Any]]
    shown: str = ""
    earlier: str = ""
    further: str = ""


def turned(request: HttpRequest, name: str, anchor: str, rows: Sequence[Any], cells: Callable[[Any], list[Any]]) -> Turned:
    """GET `name` says which page, from 1; what lies beyond the last is the last. `anchor`: where the table stands."""
    text = request.GET.get(name, "")
    wanted = int(text) - 1 if text.isascii() and text.isdecimal() and len(text) < 9 else 0
    at = max(0, min(wanted, (len(rows) - 1) // ROWS))
    first, last = at * ROWS, min((at + 1) * ROWS, len(rows))

    def leaf(number: int) -> str:
        return f"{query(request, **{name: number if number > 1 else None})}#{anchor}"

    return Turned(
        [cells(row) for row in rows[first:last]],
        say("{first} to {last} of {rows} rows", first=first + 1, last=last, rows=len(rows)) if len(rows) > ROWS else "",
        leaf(at) if at else "",
        leaf(at + 2) if last < len(rows) else "",
    )
