"""Data tables: columns and rows of cells in, accessible HTML out. Fast enough for 200 rows (no template per cell).

On a narrow tablet a table folds: each row becomes a small block in which every cell carries its column's label, so the roles
are written out (folding takes the table layout away, and with it the roles that a browser would give by itself).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe


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


def table(caption: str, columns: Sequence[Column], rows: Iterable[Sequence[object]], *, show_caption: bool = False) -> SafeString:
    """A whole table. Cells are escaped unless they are safe markup (`chip`, `qty`, `instant`, `code_link` give that).

    Raises ValueError when a row has another number of cells than there are columns.
    """
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
