"""Tables as files for a spreadsheet: no cell starts a formula there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.http import HttpResponse, StreamingHttpResponse

from inventory.core.cells import csv_lines

MARK = "\ufeff"
"""Tells spreadsheets that the text is UTF-8."""


def csv_response(name: str, header: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """A CSV file to be saved; `name` without its ending, plain letters only."""

    def lines() -> Iterable[str]:
        yield MARK
        yield from csv_lines(header, rows)

    safe = "".join(ch if ch.isascii() and (ch.isalnum() or ch in "-_") else "-" for ch in name)
    response = StreamingHttpResponse(lines(), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{safe}.csv"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response  # type: ignore[return-value]  # both are what a view may give
