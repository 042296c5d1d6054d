"""Tables as files for a spreadsheet: no cell starts a formula there."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence

from django.http import HttpResponse, StreamingHttpResponse

from inventory.core.cells import csv_lines
from inventory.templatetags.tables import Drawn

MARK = "\ufeff"
"""Tells spreadsheets that the text is UTF-8."""
FILE, TABLE = "file", "table"
"""What an address says to get a table of its page as a file: ?file=xlsx&table=2."""
KINDS = ("csv", "xlsx")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_NUMBER = re.compile(r"[-−]?(0|[1-9][0-9]{0,14})(\.[0-9]{1,15})?")
_SPREADSHEET_MOST = 32_767
"""Characters that a cell of a workbook can hold."""


def csv_response(name: str, header: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """A CSV file to be saved; `name` without its ending, plain letters only."""

    def lines() -> Iterable[str]:
        yield MARK
        yield from csv_lines(header, rows)

    response = StreamingHttpResponse(lines(), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{_safe(name)}.csv"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response  # type: ignore[return-value]  # both are what a view may give


def _safe(name: str) -> str:
    return "".join(ch if ch.isascii() and (ch.isalnum() or ch in "-_") else "-" for ch in name)[:60] or "table"


def table_file(drawn: Sequence[Drawn], kind: str, which: str) -> HttpResponse | None:
    """One table of a page, as it stands there. None where the page has no such table: then the page itself is the answer."""
    if kind not in KINDS or not re.fullmatch("[1-9][0-9]?", which) or int(which) > len(drawn):
        return None
    found = drawn[int(which) - 1]
    return csv_response(found.caption, found.columns, found.rows) if kind == "csv" else _workbook(found)


def _workbook(found: Drawn) -> HttpResponse:
    """Cells are texts or plain numbers; nothing that is written becomes a formula or a link."""
    import xlsxwriter  # only who asks for a workbook waits for it

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        bold = book.add_format({"bold": True})
        for column, label in enumerate(found.columns):
            sheet.write_string(0, column, label, bold)
        for n, row in enumerate(found.rows, start=1):
            for column, cell in enumerate(row):
                if _NUMBER.fullmatch(cell):
                    sheet.write_number(n, column, float(cell.replace("−", "-")))
                else:
                    sheet.write_string(n, column, cell[:_SPREADSHEET_MOST])
        sheet.freeze_panes(1, 0)
        sheet.autofit(300)
    response = HttpResponse(out.getvalue(), content_type=XLSX)
    response.headers["Content-Disposition"] = f'attachment; filename="{_safe(found.caption)}.xlsx"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
