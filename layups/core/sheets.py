"""A picture cut into sheets of paper, so that it stays legible in print: columns by letter, rows by number, like a map.

Columns are cut between layers, so no box is cut there. Rows overlap by more than a box is high, so that each box is whole on
one sheet at least. Sheets without a box are left out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MOST = 40
"""Sheets at most: more than that nobody would hang on a wall."""


@dataclass(frozen=True, slots=True)
class Paper:
    """What fits on a sheet at a size that can be read: `layers` side by side, `height` in units of the picture."""

    name: str
    layers: int
    height: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """The part of the picture that a sheet shows, and its name ("B2")."""

    name: str
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Spot:
    """A box, as far as a sheet needs to know it."""

    layer: int
    y: int


def best(papers: Sequence[Paper], boxes: Iterable[Spot], step: int, box: int, lead: int, overlap: int) -> tuple[Paper, list[Sheet]]:
    """The paper that needs the fewest sheets, the first of equals. `step`: from layer to layer; `box`: height of a box; `lead`:
    from the cut to the first box; `overlap`: of rows, more than `box`."""
    spots = list(boxes)
    tried = [(paper, cut(paper, spots, step, box, lead, overlap)) for paper in papers]
    return min(tried, key=lambda found: len(found[1]))


def cut(paper: Paper, boxes: Sequence[Spot], step: int, box: int, lead: int, overlap: int) -> list[Sheet]:
    out: list[Sheet] = []
    columns = range(0, max((b.layer for b in boxes), default=-1) + 1, paper.layers)
    for letter, first in zip(_letters(), columns, strict=False):
        mine = sorted(b.y for b in boxes if first <= b.layer < first + paper.layers)
        number, shown = 0, None
        while mine:
            top = mine[0] - overlap // 4 if shown is None else max(shown - overlap, mine[0] - overlap // 4)
            shown = top + paper.height
            number += 1
            out.append(Sheet(f"{letter}{number}", first * step - lead, top, paper.layers * step, paper.height))
            mine = [y for y in mine if y + box > shown]
    return out


def _letters() -> Iterable[str]:
    """A, B, … Z, then AA, AB …: a trace may be deep."""
    names = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    yield from names
    for first in names:
        yield from (first + second for second in names)
