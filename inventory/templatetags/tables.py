"""Data tables: columns and rows of cells in, accessible HTML out. Fast enough for 200 rows (no template per cell).

On a narrow tablet a table folds: each row becomes a small block in which every cell carries its column's label, so the roles
are written out (folding takes the table layout away, and with it the roles that a browser would give by itself).
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join, strip_tags
from django.utils.safestring import SafeString, mark_safe

from inventory.core.said import read_out


@dataclass(frozen=True, slots=True)
class Column:
    """One column. `num` right-aligns with tabular figures; `lead` marks the cell that heads the row (the first one unless
    another says so); `wide` lets a long text take the whole width when the table folds."""

    label: str
    num: bool = False
    lead: bool = False
    wide: bool = False

    @property
    def css(self) -> str:
        return " ".join(name for name, on in (("num", self.num), ("wide", self.wide)) if on)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A table that was put on a page, as text: what a file of it holds."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


_DRAWN: ContextVar[list[Drawn] | None] = ContextVar("tables of this page", default=None)


@contextmanager
def collecting() -> Iterator[list[Drawn]]:
    """While it lasts, every table that is drawn is noted, so that any table of a page can be had as a file."""
    seen: list[Drawn] = []
    token = _DRAWN.set(seen)
    try:
        yield seen
    finally:
        _DRAWN.reset(token)


def drawn() -> Sequence[Drawn]:
    """The tables of this page so far."""
    return _DRAWN.get() or ()


def _note(caption: str, columns: Sequence[Column], rows: Sequence[Sequence[object]]) -> None:
    seen = _DRAWN.get()
    if seen is not None:
        seen.append(
            Drawn(read_out(caption), tuple(read_out(c.label) for c in columns), tuple(tuple(plain(cell) for cell in row) for row in rows))
        )


def plain(cell: object) -> str:
    """A cell without its markup: one line, plain blanks."""
    if cell is None:
        return ""
    text = html.unescape(strip_tags(str(cell))) if isinstance(cell, SafeString) else read_out(cell)
    return " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").split())


def table(caption: str, columns: Sequence[Column], rows: Iterable[Sequence[object]], *, show_caption: bool = False) -> SafeString:
    """A whole table. Cells are escaped unless they are safe markup (`chip`, `qty`, `instant`, `code_link` give that).

    Raises ValueError when a row has another number of cells than there are columns.
    """
    rows = list(rows)
    _note(caption, columns, rows)
    lead = next((i for i, column in enumerate(columns) if column.lead), 0)
    head = format_html_join("", '<th role="columnheader" scope="col" class="{}">{}</th>', ((c.css, c.label) for c in columns))
    body = "".join(_row(columns, row, lead) for row in rows)
    return format_html(
        '<div class="table-frame" role="region" tabindex="0" aria-label="{}"><table class="cloth" role="table">'
        '<caption class="{}">{}</caption>'
        '<thead role="rowgroup"><tr role="row">{}</tr></thead><tbody role="rowgroup">{}</tbody></table></div>',
        caption,
        "" if show_caption else "quiet-caption",
        caption,
        head,
        mark_safe(body),  # made of rows that are escaped already
    )


def _row(columns: Sequence[Column], row: Sequence[object], lead: int) -> SafeString:
    if len(row) != len(columns):
        raise ValueError(f"a row has {len(row)} cells for {len(columns)} columns")
    cells = "".join(_cell(columns[i], cell, i == lead) for i, cell in enumerate(row))
    return format_html('<tr role="row">{}</tr>', mark_safe(cells))  # cells are escaped already


def _cell(column: Column, cell: object, lead: bool) -> SafeString:
    bare = cell is None or cell == ""
    shown = "–" if bare else cell
    css = f"{column.css} bare".strip() if bare and not lead else column.css
    if lead:
        return format_html('<th role="rowheader" scope="row" class="{}">{}</th>', column.css, shown)
    return format_html('<td role="cell" class="{}" data-label="{}">{}</td>', css, column.label, shown)
