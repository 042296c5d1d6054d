"""A table as suppliers and spreadsheets write it: bytes to text, text to rows, headings to what we call things.

Nothing is guessed in silence: how the text was read, which column was taken for what, and what was left out is all told."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung

MAX_ROWS = 2_000
MAX_COLUMNS = 200
MAX_CELL = 500
DELIMITERS = (";", "\t", ",", "|")

FIELDS: dict[str, tuple[str, ...]] = {
    "delivery": ("delivery", "delivery note", "consignment", "shipment"),
    "order": ("order", "po", "purchase order", "our order"),
    "material": ("material", "material code", "article", "item code", "product", "product code"),
    "supplier": ("supplier", "vendor"),
    "lot": ("lot", "batch", "charge"),
    "mark": ("mark", "roll", "spool", "drum", "can", "piece", "package"),
    "code": ("code", "label", "label code", "our label"),
    "serial": ("serial", "supplier serial", "supplier roll", "supplier s"),
    "kind": ("kind", "type", "packaging", "container"),
    "quantity": ("quantity", "qty", "amount", "length", "net", "net weight", "net mass", "weight", "mass", "area"),
    "unit": ("unit", "uom", "units"),
    "core": ("core", "tare", "core weight", "core mass"),
    "made": ("made", "manufactured", "date of manufacture", "manufacture date", "manufacturing date", "production date", "mfg date", "dom"),
    "printed": ("expiry", "expires", "expiry date", "expiration date", "use by", "best before", "printed", "printed date", "last day"),
    "out_time": ("out time", "outtime", "out time used", "out life used"),
    "transport": ("transport", "time above", "excursion", "transport time above"),
    "warmest": ("warmest", "maximum temperature", "max temperature", "max temp"),
    "coldest": ("coldest", "minimum temperature", "min temperature", "min temp"),
    "opened": ("opened", "opened on", "open since"),
    "place": ("place", "location", "store"),
    "owner": ("owner", "customer", "property of"),
}
"""What a row may say, by the words that head its column; "no", "nr" and "number" after them do not matter."""

_MEANS = {word: field for field, words in FIELDS.items() for word in words}
_UNIT = re.compile(r"[(\[]\s*([^()\[\]]{1,12}?)\s*[)\]]|\s+in\s+([^\s]{1,6})$")
_NUMBER_WORDS = frozenset({"no", "nr", "nos", "number", "num", "id"})


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text, how it was read, and what to tell about that ("" when there is nothing to tell)."""

    text: str
    encoding: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table, by the number that a spreadsheet shows beside it."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its place (from 0), heading, what it was taken for ("" for nothing) and the unit its heading names."""

    index: int
    header: str
    field: str
    unit: str = ""


def decode(data: bytes) -> Decoded:
    """Bytes as text: UTF-8 (marked or not), marked UTF-16, else Windows-1252, which is told. Raises BadInput
    import.encoding."""
    if data.startswith(b"\xef\xbb\xbf"):
        return Decoded(_strict(data[3:], "utf-8"), "UTF-8")
    if data.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        raise _unreadable()
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Decoded(_strict(data, "utf-16"), "UTF-16")
    if b"\x00" in data:
        raise _unreadable()
    try:
        return Decoded(data.decode("utf-8"), "UTF-8")
    except UnicodeDecodeError:
        note = say("The file is not UTF-8: it was read as Windows-1252. Look at letters with accents before you go on.")
        return Decoded(_strict(data, "cp1252"), "Windows-1252", note)


def _strict(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _unreadable() from error


def _unreadable() -> BadInput:
    return BadInput(
        "import.encoding", say("The text cannot be read: save the file as “CSV UTF-8” or as XLSX, and hand it in again."), "file"
    )


def delimiter_of(text: str) -> str:
    """What parts the cells: of ; tab , | the one that parts the first line most often outside of quotes ("" when it has
    one cell). A decimal comma in the data below does not count."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    bare = re.sub(r'"[^"]*"', "", first)
    counts = {d: bare.count(d) for d in DELIMITERS}
    best = max(DELIMITERS, key=lambda d: counts[d])
    return best if counts[best] else ""


def read_csv(text: str, delimiter: str) -> list[Row]:
    """The rows, empty ones left out. Raises BadInput import.broken, import.too_many_rows."""
    reader = csv.reader(_lines(text), delimiter=delimiter or ",", strict=True)
    rows: list[Row] = []
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell.strip() for cell in cells):
                rows.append(Row(number, tuple(cell.strip() for cell in cells)))
            if len(rows) > MAX_ROWS + 1:
                raise too_many_rows()
    except csv.Error as error:
        text = say(
            "The file is broken after row {number}, probably at a quotation mark: open it, save it again, and hand it in.", number=number
        )
        raise BadInput("import.broken", text, "file", row=number) from error
    return rows


def _lines(text: str) -> Iterator[str]:
    yield from text.replace("\r\n", "\n").replace("\r", "\n").splitlines(keepends=True)


def too_many_rows() -> BadInput:
    return BadInput(
        "import.too_many_rows", say("The file has more than {max_rows} rows: divide it.", max_rows=MAX_ROWS), "file", most=MAX_ROWS
    )


def fold_header(header: str) -> str:
    """A heading without its unit, case, signs and "no.": "Lot No." and "LOT-Nr" are lot."""
    words = re.sub(r"[^0-9a-z]+", " ", _UNIT.sub(" ", header).casefold()).split()
    while len(words) > 1 and words[-1] in _NUMBER_WORDS:
        words.pop()
    return " ".join(words)


def columns_of(headers: Sequence[str], chosen: Mapping[str, str] | None = None) -> list[Column]:
    """What each column is taken for: by the heading's words, unless `chosen` says otherwise ({heading or column number from
    1: field, or "" for nothing}).

    Raises BadInput import.unknown_field, import.unknown_column, import.two_columns (two for one field), import.too_many_columns."""
    if len(headers) > MAX_COLUMNS:
        raise BadInput(
            "import.too_many_columns",
            say("The table has {headers} columns, {max_columns} at most are read.", headers=len(headers), max_columns=MAX_COLUMNS),
            "file",
        )
    said = _chosen(headers, chosen or {})
    taken = set(said.values())
    found: list[Column] = []
    for index, header in enumerate(headers):
        guess = _MEANS.get(fold_header(header), "")
        field = said.get(index, "" if guess in taken else guess)
        unit = _UNIT.search(header)
        found.append(Column(index, header, field, (unit[1] or unit[2]) if unit else ""))
    for field in {c.field for c in found if c.field}:
        same = [c for c in found if c.field == field]
        if len(same) > 1:
            text = say(
                "Two columns were taken for “{field}”: {header}. Say which one it is.",
                field=field,
                header=strung(", ", (say("“{header}”", header=shown(c.header)) for c in same)),
            )
            raise BadInput("import.two_columns", text, "mapping", field=field)
    return found


def _chosen(headers: Sequence[str], chosen: Mapping[str, str]) -> dict[int, str]:
    out: dict[int, str] = {}
    for name, field in chosen.items():
        if field and field not in FIELDS:
            raise BadInput(
                "import.unknown_field",
                say("“{field}” is nothing that a row says. Known: {fields}.", field=shown(field), fields=strung(", ", FIELDS)),
                "mapping",
            )
        places = [i for i, header in enumerate(headers) if header.casefold().strip() == name.casefold().strip()]
        if not places and name.strip().isascii() and name.strip().isdigit() and 0 < int(name) <= len(headers):
            places = [int(name) - 1]
        if len(places) != 1:
            raise BadInput(
                "import.unknown_column", say("The table has no single column “{name}”.", name=shown(name)), "mapping", column=shown(name)
            )
        out[places[0]] = field
    return out


def notes_of(columns: Sequence[Column]) -> list[str]:
    """What to tell of the columns: those that nothing was made of."""
    left = [shown(c.header) or say("column {index}", index=c.index + 1) for c in columns if not c.field]
    return [say("Not used: {left}.", left=strung(", ", left))] if left else []


def said_by(row: Row, columns: Sequence[Column]) -> dict[str, str]:
    """What a row says, by field; a bare number takes the unit that its heading names."""
    values: dict[str, str] = {}
    for column in columns:
        cell = row.cells[column.index].strip() if column.index < len(row.cells) else ""
        if column.field and cell:
            bare = re.fullmatch(r"[+\-\u2212]?[0-9][0-9.,\u00a0\u2009\u202f ]*", cell)
            values[column.field] = f"{cell} {column.unit}" if column.unit and bare else cell
    return values


def problems_of(row: Row, columns: Sequence[Column]) -> list[tuple[str, Reason]]:
    """What is wrong with a row's cells as such, each with its heading: formulas, overlong cells, more cells than headings."""
    found: list[tuple[str, Reason]] = []
    for column in columns:
        cell = row.cells[column.index] if column.index < len(row.cells) else ""
        if column.field and is_formula(cell):
            text = say("“{cell}” begins like a formula: type the value itself, or leave out the sign in front.", cell=shown(cell))
            found.append((column.header, Reason("import.formula", text, {"given": shown(cell)})))
        elif column.field and len(cell) > MAX_CELL:
            text = say("This cell has {cell} characters; {max_cell} at most are read.", cell=len(cell), max_cell=MAX_CELL)
            found.append((column.header, Reason("import.cell_too_long", text, {"length": len(cell)})))
    beyond = [cell for cell in row.cells[len(columns) :] if cell]
    if beyond:
        text = say(
            "The row has more cells than there are headings (“{beyond}”): is a decimal comma read as the sign "
            "between two cells? Put such numbers in quotation marks, or use a point.",
            beyond=shown(beyond[0]),
        )
        found.append(("", Reason("import.too_many_cells", text, {"cells": len(row.cells), "headings": len(columns)})))
    return found


def is_formula(cell: str) -> bool:
    """Whether a spreadsheet would compute this cell: it begins with = or @, or with a sign that no number follows."""
    text = cell.lstrip()
    return text[:1] in ("=", "@") or (text[:1] in ("+", "-") and len(text) > 1 and not re.match(r"[+-]\s*[0-9.,]", text))
