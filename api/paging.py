"""Cursor pages and CSV for lists of rows."""

from __future__ import annotations

import base64
import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from django.http import HttpResponse
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.core.reasons import BadInput

PAGE, MOST = 50, 500
_RISKY = ("=", "+", "-", "@", "\t", "\r")


def size_of(request: Request) -> int:
    """How many rows a page: 1 to 500. BadInput page.size."""
    text = request.query_params.get("limit", str(PAGE))
    if not text.isascii() or not text.isdecimal() or not 1 <= int(text[:6]) <= MOST:
        raise BadInput("page.size", f"limit is a whole number from 1 to {MOST}.", "limit")
    return int(text)


def cursor_of(request: Request) -> int | None:
    """Where the page begins, from an opaque cursor. BadInput page.cursor."""
    text = request.query_params.get("cursor", "")
    if not text:
        return None
    try:
        value = int(base64.urlsafe_b64decode(text.encode("ascii") + b"=" * (-len(text) % 4)).decode("ascii"))
    except (ValueError, UnicodeError):
        value = -1
    if not 0 <= value < 2**63:
        raise BadInput("page.cursor", "This cursor is not one of ours: leave it out to begin again.", "cursor")
    return value


def cursor(value: int) -> str:
    return base64.urlsafe_b64encode(str(value).encode()).decode().rstrip("=")


def page(request: Request, rows: Sequence[Any], ids: Sequence[int], size: int) -> Response:
    """`rows` and their `ids` hold one more than a page when there is a next one."""
    more = len(rows) > size
    return Response({"results": list(rows[:size]), "next": cursor(ids[size - 1]) if more else None})


def wants_csv(request: Request) -> bool:
    wanted = request.query_params.get("format", "json")
    if wanted not in ("json", "csv"):
        raise BadInput("format.unknown", "format is json or csv.", "format")
    return wanted == "csv"


def cell(value: Any) -> str:
    """A cell that no spreadsheet takes for a formula: what begins like one gets an apostrophe in front."""
    text = "" if value is None else str(value)
    return "'" + text if text.startswith(_RISKY) and not _number(text) else text


def _number(text: str) -> bool:
    return text[:1] in "+-" and text[1:].replace(".", "", 1).isdecimal() and text.isascii()


def csv_response(name: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([cell(v) for v in row])
    response = HttpResponse(out.getvalue(), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response
