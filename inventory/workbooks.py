"""A workbook (XLSX) as rows of text, looked over before it is read.

An XLSX file is a zip of XML, and a few kilobytes can unpack to gigabytes or claim a cell in row 1 048 576. So the archive
is measured by unpacking it to nowhere, within limits; the sheet's cells are checked for place and for formulas; only then
is the workbook read."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
import zlib
from decimal import Decimal
from typing import Any

import python_calamine

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.table import MAX_COLUMNS, MAX_ROWS, Row, too_many_rows

MAX_MEMBERS = 500
MAX_UNPACKED = 40_000_000
MAX_RATIO = 200
_RATIO_FROM = 1_000_000
_TAG = re.compile(rb"<(?:\w+:)?(row|c)\b([^>]*)>")
_REF = re.compile(rb'\br="([A-Z]{1,3})?([0-9]{1,7})"')
_SHEET = re.compile(rb'<(?:\w+:)?sheet\b[^>]*\br:id="([^"]+)"')
_FORMULA = re.compile(rb"\s*<(?:\w+:)?f[\s/>]")


def read_workbook(data: bytes) -> list[Row]:
    """The rows of the first sheet, empty ones left out. Raises BadInput import.broken, .too_much_inside, .too_many_rows,
    .too_many_columns, .formula (with the cell)."""
    members = _measured(data)
    _checked(members, _first_sheet(members))
    try:
        sheet = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_index(0)
        table = sheet.to_python(skip_empty_area=False)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # the reader is not Python: its panics are no Exceptions
        raise _broken() from error
    rows = [Row(n, tuple(_text(cell) for cell in cells)) for n, cells in enumerate(table, start=1)]
    rows = [row for row in rows if any(row.cells)]
    if len(rows) > MAX_ROWS + 1:
        raise too_many_rows()
    return rows


def _broken() -> BadInput:
    return BadInput("import.broken", say("The workbook cannot be read: open it, save it as .xlsx, and hand it in again."), "file")


def _measured(data: bytes) -> dict[str, bytes]:
    """Every part of the archive, unpacked within limits whatever its headers claim."""
    members: dict[str, bytes] = {}
    total = 0
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as error:
        raise _broken() from error
    if len(infos) > MAX_MEMBERS:
        raise _too_much()
    for info in infos:
        part = _unpacked(data, info, MAX_UNPACKED - total)
        total += len(part)
        if len(part) > _RATIO_FROM and len(part) > MAX_RATIO * max(info.compress_size, 1):
            raise _too_much()
        members[info.filename] = part
    if b"<!DOCTYPE" in members.get("xl/workbook.xml", b""):
        raise _broken()
    return members


def _too_much() -> BadInput:
    most = MAX_UNPACKED // 10**6
    text = say("The workbook unpacks to more than {most} MB: keep the table that you need, and save it as CSV.", most=most)
    return BadInput("import.too_much_inside", text, "file")


def _unpacked(data: bytes, info: zipfile.ZipInfo, most: int) -> bytes:
    """A part's bytes from the stream itself: the sizes in the headers are only claims."""
    start = info.header_offset
    if data[start : start + 4] != b"PK\x03\x04" or info.flag_bits & 1:
        raise _broken()
    start += 30 + int.from_bytes(data[start + 26 : start + 28], "little") + int.from_bytes(data[start + 28 : start + 30], "little")
    packed = data[start : start + info.compress_size]
    if info.compress_type == zipfile.ZIP_STORED:
        part = packed
    elif info.compress_type == zipfile.ZIP_DEFLATED:
        stream = zlib.decompressobj(-15)
        try:
            part = stream.decompress(packed, most + 1)
        except zlib.error as error:
            raise _broken() from error
    else:
        raise _broken()
    if len(part) > most:
        raise _too_much()
    return part


def _first_sheet(members: dict[str, bytes]) -> str:
    """The path of the sheet that the workbook lists first; "" when its papers do not say (then every sheet is checked)."""
    found = _SHEET.search(members.get("xl/workbook.xml", b""))
    if not found:
        return ""
    links = members.get("xl/_rels/workbook.xml.rels", b"")
    for link in re.findall(rb"<(?:\w+:)?Relationship\b[^>]*>", links):
        if re.search(rb'\bId="' + re.escape(found[1]) + rb'"', link) and (target := re.search(rb'\bTarget="([^"]+)"', link)):
            path = target[1].decode("utf-8", "replace")
            return path.lstrip("/") if path.startswith("/") else f"xl/{path}"
    return ""


def _checked(members: dict[str, bytes], first: str) -> None:
    """Cells far out would make the reader set up a table of billions; a formula is not a value that somebody typed."""
    sheets = {name: part for name, part in members.items() if name.startswith("xl/worksheets/") and name.endswith(".xml")}
    if not sheets:
        raise _broken()
    for name, part in sheets.items():
        if b"\x00" in part or b"<!DOCTYPE" in part:
            raise _broken()
        if first not in sheets or name == first:
            _scan(part)


def _scan(part: bytes) -> None:
    row = column = 0
    for tag in _TAG.finditer(part):
        ref = _REF.search(tag[2])
        if tag[1] == b"row":
            row, column = int(ref[2]) if ref else row + 1, 0
            continue
        row = int(ref[2]) if ref else row
        column = _column(ref[1]) if ref and ref[1] else column + 1
        if tag[2].endswith(b"/"):
            continue  # a cell with a look, and nothing in it
        if row > MAX_ROWS + 100:
            raise too_many_rows()
        if column > MAX_COLUMNS:
            text = say(
                "There is something in column {column}; {most} at most are read. Delete what lies far out, and save it again.",
                column=column,
                most=MAX_COLUMNS,
            )
            raise BadInput("import.too_many_columns", text, "file", column=column)
        if _FORMULA.match(part, tag.end()):
            cell = f"{(ref[1] or b'').decode() if ref else ''}{row}"
            text = say("Cell {cell} holds a formula: copy the column, insert it as values, and hand the file in again.", cell=cell)
            raise BadInput("import.formula", text, "file", cell=cell, row=row)


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _text(cell: Any) -> str:
    """A cell as a person would have typed it: no exponent, no trailing .0, dates as 2026-03-30, spans as 6 h 30."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float):
        return format(Decimal(repr(cell)).normalize(), "f")
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat()
    if isinstance(cell, datetime.date):
        return cell.isoformat()
    if isinstance(cell, datetime.time):
        return f"{cell.hour} h {cell.minute:02d}"
    if isinstance(cell, datetime.timedelta):
        minutes = round(cell / datetime.timedelta(minutes=1))
        return f"{minutes // 60} h {minutes % 60:02d}"
    return str(cell).strip()
