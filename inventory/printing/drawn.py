"""A label ready to be drawn: its layout in the face of this machine, its symbol, and what could not be shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.core.label_formats import Format
from inventory.core.label_layout import Layout, lay_out
from inventory.core.labels import Field, Label
from inventory.core.said import read_out

from .faces import Face, face, measure_with, printable
from .symbols import Matrix, matrix

SIGN = ((0.5, 0.0), (1.0, 1.0), (0.0, 1.0))
"""The corners of a warning triangle, in parts of its box."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """`lost`: characters of it that the face does not have."""

    label: Label
    layout: Layout
    matrix: Matrix
    face: Face
    lost: str = ""


def draw(label: Label, fmt: Format, found: Face | None = None) -> Drawn:
    """Lay one label out for a format."""
    found = found or face()
    fields, lost = _shown(label.fields, found)
    code, more = printable(label.code, found)
    symbol = matrix(label.symbology, label.payload)
    layout = lay_out(replace(label, fields=fields, code=code), fmt.width, fmt.height, len(symbol), measure_with(found))
    return Drawn(label, layout, symbol, found, "".join(dict.fromkeys(lost + more)))


def _shown(fields: Sequence[Field], found: Face) -> tuple[tuple[Field, ...], str]:
    out, lost = [], ""
    for field in fields:
        text, gone = printable(read_out(field.text), found)
        short, more = printable(field.short, found)
        out.append(replace(field, text=text, short=short))
        lost += gone + more
    return tuple(out), lost


def runs(rows: Matrix) -> Iterator[tuple[int, int, int]]:
    """(row, first module, how many): dark modules that lie beside each other are drawn in one."""
    for y, row in enumerate(rows):
        start = None
        for x, dark in enumerate((*row, False)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield y, start, x - start
                start = None
