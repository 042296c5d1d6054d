"""Where everything stands on a label: the symbol with its quiet zone on the left, its code in plain text below it, the fields on
the right. Text shrinks to a least size that can still be read, then the short forms are taken, then the least important fields
stay away, and what is too long all the same ends in "…". Nothing ever stands in the quiet zone.

Lengths in mm, from the upper left corner. Sizes are the em of the face. Pure: how wide a text is, the caller tells.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from inventory.core.label_text import Measure, fitted
from inventory.core.labels import Field, Label
from inventory.core.reasons import BadInput
from inventory.core.said import say

DOT = 0.125
"""One dot of a printer of 203 dpi, 8 a millimetre. A module is a whole number of them, so that none is drawn wider than the next."""
QUIET = {"qr": 4, "datamatrix": 1}
"""Modules kept white around a symbol: ISO/IEC 18004 and ISO/IEC 16022, from memory."""
DOTS_LEAST, DOTS_MOST = 3, {"qr": 6, "datamatrix": 10}
LINE = 1.2
AIR = 0.25
ASCENT = 0.93
CODE_WANT, CODE_LEAST = 3.4, 1.8


@dataclass(frozen=True, slots=True)
class Style:
    """How a role is set: sizes as parts of the label's height, its least size in mm, bold, lines at most."""

    want: float
    least: float
    bold: bool = False
    lines: int = 1


STYLES = {
    "word": Style(0.07, 1.8),
    "name": Style(0.21, 2.6, True, 2),
    "what": Style(0.085, 2.0, False, 2),
    "lot": Style(0.085, 2.0, True, 2),
    "bad": Style(0.1, 2.0, True, 3),
    "stop": Style(0.15, 2.4, True, 2),
    "life": Style(0.115, 2.0, True, 2),
    "more": Style(0.062, 1.8, False, 3),
    "store": Style(0.075, 1.9, True),
    "fact": Style(0.065, 1.8, False, 2),
    "caution": Style(0.062, 1.8, False, 4),
    "foot": Style(0.05, 1.7),
}
"""Least sizes: 1.7 mm em is 5 points, where capitals are 10 dots high at 203 dpi. Common practice, no source."""
BANDED = ("bad", "stop")
"""White on black: what nobody may overlook."""
SCALES = (1.0, 0.92, 0.84, 0.76, 0.68, 0.6, 0.52, 0.45, 0.38)


@dataclass(frozen=True, slots=True)
class Text:
    """One line; (x, y) is the left end of its baseline. `role` is the field's, "code" for the code."""

    x: float
    y: float
    size: float
    bold: bool
    text: str
    role: str
    white: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A black rectangle; `sign`: a warning triangle in it instead."""

    x: float
    y: float
    width: float
    height: float
    sign: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """`symbol`: (x, y, module, quiet modules) of the symbol's first module. `left_out`: fields for which there was no room, `cut`:
    those that end in "…"."""

    width: float
    height: float
    symbol: tuple[float, float, float, int]
    modules: int
    texts: tuple[Text, ...]
    boxes: tuple[Box, ...]
    left_out: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()

    @property
    def kept_white(self) -> Box:
        """The symbol with its quiet zone."""
        x, y, module, quiet = self.symbol
        side = (self.modules + 2 * quiet) * module
        return Box(x - quiet * module, y - quiet * module, side, side)


def lay_out(label: Label, width: float, height: float, modules: int, measure: Measure) -> Layout:
    """Lay a label out on `width` × `height` mm; `modules`: the side of its symbol. BadInput label.too_small when a module would
    be under three dots: the address in the link is too long for this size."""
    margin = 2.0 if width >= 60 else 1.5
    quiet = QUIET[label.symbology]
    module = _module(label, width, height, modules, margin)
    side = (modules + 2 * quiet) * module
    block = max(side, measure(label.code, CODE_LEAST, True))
    size = min(CODE_WANT, max(CODE_LEAST, CODE_LEAST * block / max(measure(label.code, CODE_LEAST, True), 0.01)))
    line = size * LINE
    top = margin + (height - 2 * margin - side - line) / 2
    x0 = margin + (block - side) / 2
    beside = margin + (block - measure(label.code, size, True)) / 2
    code = Text(beside, top + side + (ASCENT + 0.1) * size, size, True, label.code, "code")
    left = margin + block + max(1.5, 0.02 * width)
    column = _Column(left, margin, width - margin - left, height - 2 * margin, height, measure)
    texts, boxes, left_out, cut = column.filled(label.fields)
    symbol = (x0 + quiet * module, top + quiet * module, module, quiet)
    return Layout(width, height, symbol, modules, (code, *texts), tuple(boxes), tuple(left_out), tuple(cut))


def _module(label: Label, width: float, height: float, modules: int, margin: float) -> float:
    """The largest whole number of dots at which symbol, quiet zone and code fit beside the text."""
    room = min(height - 2 * margin - CODE_LEAST * LINE, 0.42 * width)
    dots = int(room / ((modules + 2 * QUIET[label.symbology]) * DOT))
    if dots < DOTS_LEAST:
        text = say(
            "The symbol does not fit on {width} × {height} mm: take a larger label, or a shorter address for the links.",
            width=f"{width:g}",
            height=f"{height:g}",
        )
        raise BadInput("label.too_small", text, "format", modules=modules)
    return min(dots, DOTS_MOST[label.symbology]) * DOT


@dataclass(frozen=True, slots=True)
class _Row:
    """A field as it was set: its lines at a size."""

    field: Field
    size: float
    lines: tuple[str, ...]
    cut: bool
    indent: float = 0.0

    @property
    def band(self) -> float:
        """White space above and below the text of a band."""
        return 0.18 * self.size if self.field.role in BANDED else 0.0

    @property
    def height(self) -> float:
        return len(self.lines) * self.size * LINE + 2 * self.band


@dataclass(frozen=True, slots=True)
class _Column:
    """The room for text."""

    x: float
    y: float
    width: float
    height: float
    label_height: float
    measure: Measure

    def filled(self, fields: Sequence[Field]) -> tuple[list[Text], list[Box], list[str], list[str]]:
        for kept, most in _fewer(fields):
            for scale in SCALES:
                rows = [self._row(f, scale, most) for f in kept]
                if sum(r.height for r in rows) + self._air(rows, scale) <= self.height + 1e-6 and not _needless(rows, scale):
                    texts, boxes = self._placed(rows, scale)
                    said = {k.text for k in kept}
                    gone = {f.role for f in fields if not said & {f.text, f.short or f.text}}
                    return texts, boxes, sorted(gone), [r.field.role for r in rows if r.cut]
        raise BadInput("label.too_small", say("The text does not fit on this label: take a larger one."), "format")

    def _row(self, field: Field, scale: float, most: Mapping[str, int] | None) -> _Row:
        style = STYLES[field.role]
        lines = style.lines if most is None else min(style.lines, most.get(field.role, 1))
        indent = max(style.least, style.want * self.label_height * scale) * 1.25 if field.role == "caution" else 0.0
        pad = 0.5 if field.role in BANDED else 0.0
        want = max(style.least, min(style.want, 0.4) * self.label_height * scale)
        size, found, cut = fitted(field.text, self.width - indent - 2 * pad, lines, want, style.least, style.bold, self.measure)
        return _Row(field, size, found, cut, indent)

    @staticmethod
    def _air(rows: Sequence[_Row], scale: float) -> float:
        return AIR * scale * max(len(rows) - 1, 0)

    def _placed(self, rows: Sequence[_Row], scale: float) -> tuple[list[Text], list[Box]]:
        """From the top, with a little air; warning and small print at the foot, what room is left between them."""
        texts: list[Text] = []
        boxes: list[Box] = []
        air = AIR * scale
        spare = self.height - sum(r.height for r in rows) - self._air(rows, scale)
        foot = next((n for n, r in enumerate(rows) if r.field.role in ("caution", "foot")), len(rows))
        step = min(spare / max(foot, 1), 0.9 * scale) if foot else 0.0
        y = self.y
        for n, row in enumerate(rows):
            y += spare - step * max(foot - 1, 0) if n == foot else 0.0
            self._set(row, y, texts, boxes)
            y += row.height + air + (step if n < foot - 1 else 0.0)
        return texts, boxes

    def _set(self, row: _Row, y: float, texts: list[Text], boxes: list[Box]) -> None:
        style, banded = STYLES[row.field.role], row.field.role in BANDED
        pad = 0.5 if banded else 0.0
        if banded:
            boxes.append(Box(self.x, y, self.width, row.height))
        if row.indent:
            side = row.indent * 0.8
            boxes.append(Box(self.x, y + 0.1 * side, side, side * 0.9, sign=True))
        for n, line in enumerate(row.lines):
            base = y + row.band + n * row.size * LINE + ASCENT * row.size + 0.06 * row.size
            texts.append(Text(self.x + row.indent + pad, base, row.size, style.bold, line, row.field.role, banded))


def _needless(rows: Sequence[_Row], scale: float) -> bool:
    """Whether something is cut that need not be (smaller type or its short form may still hold it), or must not be: half a date
    is another date."""
    return any(r.cut and (r.field.role in _WHOLE or r.field.short or scale != SCALES[-1]) for r in rows)


_WHOLE = {"life": 2, "more": 3, "bad": 3, "stop": 2}
FEWEST: tuple[Mapping[str, int], ...] = (_WHOLE | {"lot": 2, "caution": 3}, _WHOLE | {"caution": 2}, _WHOLE)
"""At most so many lines of each role, one of what is not named, where even the needed fields are too many."""


def _fewer(fields: Sequence[Field]) -> Iterator[tuple[list[Field], Mapping[str, int] | None]]:
    """All fields; then with short forms; then without the least important, one after the other, until only the needed are left;
    at last these in fewer lines."""
    yield list(fields), None
    kept = [replace(f, text=f.short, short="") if f.short else f for f in fields]
    yield list(kept), None
    for field in [f for f in reversed(kept) if not f.needed]:
        kept.remove(field)
        yield list(kept), None
    for most in FEWEST:
        yield list(kept), most
