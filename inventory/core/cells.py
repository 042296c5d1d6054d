"""Rows for a file that a spreadsheet will open: no cell can start a formula there.

A cell that begins with = + - @ or a control character is taken for a formula by spreadsheets; such a cell gets an
apostrophe in front, which they show as text. Our own numbers are never negative here, so nothing is lost.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence

_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def safe(value: object) -> str:
    """A value as the text of one cell that starts no formula."""
    text = "" if value is None else str(value)
    text = "".join(ch if ch.isprintable() else " " for ch in text)
    return f"'{text}" if text.lstrip().startswith(_STARTS) else text


class _Line:
    """What csv.writer writes to: it hands the line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """The file's lines, header first, ready to be streamed."""
    writer = csv.writer(_Line())
    yield writer.writerow([safe(cell) for cell in header])
    for row in rows:
        yield writer.writerow([safe(cell) for cell in row])
