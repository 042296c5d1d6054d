"""Small tables as people type them, one row a line: columns parted by semicolons, tabs or a comma and a blank; or by blanks alone,
where a unit stays with its number: "20 °C 1 % 62 min"."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.quantities import exact
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.temperature import parse_celsius

MOST = 200
_PARTED = re.compile(r"\s*(?:[;\t]|,\s)\s*")
_STARTS = re.compile(r"[+\-−]?[0-9.,]")


@dataclass(frozen=True, slots=True)
class Col:
    """One column: what it measures and the unit of a bare number, as in a figure. `dimension` "temperature" gives milli-°C, "text" the
    text as it is; `optional`: may be missing at the end of a line."""

    name: str
    dimension: str = "number"
    usual: str = ""
    optional: bool = False


def rows(text: str, where: str, columns: tuple[Col, ...], named: bool = False) -> list[list[Fraction | str | None]]:
    """The rows, each with a value for every column (None where an optional one is missing); with `named`, a name stands first ("" where
    the line has none). BadInput names the line at the field."""
    found: list[list[Fraction | str | None]] = []
    for n, line in _lines(text):
        if len(found) >= MOST:
            raise BadInput("lines.too_many", say("At most {most} lines.", most=MOST), where)
        try:
            found.append(_row(line, columns, named))
        except BadInput as bad:
            raise BadInput(bad.reason.code, say("Line {count}: {bad_reason}", count=n, bad_reason=bad.reason.text), where, line=n) from None
    return found


def _lines(text: str) -> Iterator[tuple[int, str]]:
    for n, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            yield n, line.strip()


def _row(line: str, columns: tuple[Col, ...], named: bool) -> list[Fraction | str | None]:
    cells = _cells(line, named)
    name = [cells.pop(0)] if named else []
    least = sum(not col.optional for col in columns)
    if not least <= len(cells) <= len(columns):
        words = strung(
            "; ",
            (
                say(
                    "{col}{usual}{which}",
                    col=col.name,
                    usual=say(", {usual}", usual=col.usual) if col.usual else "",
                    which=say(" (may be left out)") if col.optional else "",
                )
                for col in columns
            ),
        )
        raise BadInput(
            "lines.columns",
            say("{cells} figures. Type: {which}{words}.", cells=len(cells), which=say("a name; ") if named else "", words=words),
        )
    padded = cells + [""] * (len(columns) - len(cells))
    return [*name, *(_value(cell, col) for cell, col in zip(padded, columns, strict=True))]


def _cells(line: str, named: bool) -> list[str]:
    """The cells of a line; the first is the name where lines have one."""
    cells = _PARTED.split(line)
    if len(cells) > 1:
        return ["", *cells] if named and _STARTS.match(cells[0]) and not re.search(r"[^\W\d_]{2}", cells[0]) else cells
    words: list[str] = []
    for token in line.replace("@", " ").split():
        if _STARTS.match(token) or token in ("-", "–", "—") or not words:
            words.append(token)
        else:
            words[-1] = say("{words} {token}", words=words[-1], token=token)
    return ["", *words] if named and _STARTS.match(words[0] if words else "") else words


def _value(cell: str, col: Col) -> Fraction | str | None:
    if col.dimension == "text":
        return cell
    if col.optional and cell in ("", "-", "–", "—"):
        return None
    if col.dimension == "temperature":
        return Fraction(parse_celsius(cell, "°C"))
    return exact(cell, col.dimension, col.usual, "")
