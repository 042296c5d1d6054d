"""Sizes that labels are printed on: sheets of A4 with a grid of labels, and rolls with one label a page. Our own names, sizes in mm."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

COPIES_MOST = 20
LABELS_MOST = 400
"""Of one print, copies counted: more is a slip of the finger, and a page that nobody waits for. Shop practice, no source."""


@dataclass(frozen=True, slots=True)
class Format:
    """`name` for addresses and records, `words` for people. Sizes in mm. A roll is a sheet of one label; `gap_x` lies between
    columns, and the grid stands in the middle of the sheet."""

    name: str
    words: str
    width: float
    height: float
    columns: int = 1
    rows: int = 1
    sheet_width: float = 0.0
    sheet_height: float = 0.0
    gap_x: float = 0.0

    @property
    def roll(self) -> bool:
        return not self.sheet_width

    @property
    def page(self) -> tuple[float, float]:
        return (self.width, self.height) if self.roll else (self.sheet_width, self.sheet_height)

    @property
    def per_page(self) -> int:
        return self.columns * self.rows

    def corner(self, slot: int) -> tuple[float, float]:
        """The upper left corner of a place on the sheet (from 0, row by row), from the sheet's own upper left."""
        if self.roll:
            return 0.0, 0.0
        left = (self.sheet_width - self.columns * self.width - (self.columns - 1) * self.gap_x) / 2
        top = (self.sheet_height - self.rows * self.height) / 2
        row, column = divmod(slot, self.columns)
        return left + column * (self.width + self.gap_x), top + row * self.height


def _size(width: float, height: float) -> str:
    """In mm for everybody, a name more than a measure: label stock is sold so (common practice, no source)."""
    return f"{width:g} × {height:g} mm"


def _a4(name: str, columns: int, rows: int, width: float, height: float, gap_x: float = 0.0) -> Format:
    words = say("Sheet A4, {columns} labels of {size}", columns=columns * rows, size=_size(width, height))
    return Format(name, words, width, height, columns, rows, 210.0, 297.0, gap_x)


def _roll(width: float, height: float) -> Format:
    return Format(f"roll-{width:g}x{height:g}", say("Roll, {size}", size=_size(width, height)), width, height)


FORMATS: dict[str, Format] = {
    f.name: f
    for f in (
        _roll(100, 50),
        _roll(70, 35),
        _roll(50, 25),
        _a4("sheet-8", 2, 4, 99, 67, 2),
        _a4("sheet-24", 3, 8, 64, 34, 2),
        _a4("sheet-40", 4, 10, 48.5, 25.4),
    )
}
DEFAULT = "roll-100x50"


def format_named(name: str) -> Format:
    """BadInput label.format."""
    found = FORMATS.get(name or DEFAULT)
    if found is None:
        text = say("There is no label format “{name}”: choose one of {formats}.", name=name[:40], formats=strung(", ", FORMATS))
        raise BadInput("label.format", text, "format")
    return found


def slots(fmt: Format, labels: int, start: int) -> list[tuple[int, int]]:
    """(page, place on it) for each label; `start`: the first free place of a used sheet, from 1. BadInput label.start."""
    if not 1 <= start <= fmt.per_page:
        what = (
            say("A sheet has the places 1 to {per_page}", per_page=fmt.per_page)
            if fmt.per_page > 1
            else say("On a roll each label is a page: begin at 1")
        )
        raise BadInput(
            "label.start", say("{what}; {start} is none of them.", what=what, start=start), "start", start=start, places=fmt.per_page
        )
    return [divmod(n, fmt.per_page) for n in range(start - 1, start - 1 + labels)]


def checked(things: int, copies: int) -> int:
    """How many labels that makes. BadInput label.none, label.copies, label.many."""
    if not things:
        raise BadInput("label.none", say("Nothing is named: scan or type the codes of what needs a label."), "things")
    if not 1 <= copies <= COPIES_MOST:
        raise BadInput(
            "label.copies",
            say("From 1 to {copies_most} copies of each; {copies} is not.", copies_most=COPIES_MOST, copies=copies),
            "copies",
            copies=copies,
        )
    if things * copies > LABELS_MOST:
        text = say(
            "That is {things} labels; one print has at most {labels_most}. Print them in parts.",
            things=things * copies,
            labels_most=LABELS_MOST,
        )
        raise BadInput("label.many", text, "things", labels=things * copies, most=LABELS_MOST)
    return things * copies
