"""A roll's map (R37): bad metres and splices, in µm from the outer end, where the next cut is taken.

A bad span takes away usable length; a splice takes nothing away, but no piece may lie across it. Overlapping bad spans
count once. Marks beyond the length (after a count found the roll short) do not count.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.units import display, display_apart


class Mark(NamedTuple):
    """A bad span [start, end), or a splice (start == end). `kind` is "bad" or "splice"."""

    start_um: int
    end_um: int
    kind: str


class Piece(NamedTuple):
    """A stretch of the roll without bad metres or splices inside."""

    start_um: int
    end_um: int

    @property
    def length_um(self) -> int:
        return self.end_um - self.start_um


Marks = tuple[Mark, ...]
_BEYOND = 10**16  # further in than any roll reaches


def read_marks(length_um: int, rows: Iterable[tuple[int, int, str]], start: Literal["outer", "inner"] = "outer") -> Marks:
    """A checked, sorted map from what a ticket says, measured from either end of the roll.

    Raises BadInput roll.mark_kind, roll.mark_outside, roll.bad_without_length or roll.splice_with_length."""
    marks = []
    for low, high, kind in rows:
        if kind not in ("bad", "splice"):
            raise BadInput("roll.mark_kind", say("A mark on a roll is a bad span or a splice."), where="marks", kind=kind[:24])
        if low < 0 or high > length_um:
            text = say("The mark at {span} does not lie on a roll of {length}.", span=_span(low, high), length=display(length_um, "um"))
            raise BadInput("roll.mark_outside", text, where="marks", from_um=low, to_um=high, length_um=length_um)
        if kind == "bad" and low >= high:
            raise BadInput(
                "roll.bad_without_length", say("A bad span must end further in than it starts."), where="marks", from_um=low, to_um=high
            )
        if kind == "splice" and low != high:
            raise BadInput(
                "roll.splice_with_length", say("A splice is at one point: give one figure."), where="marks", from_um=low, to_um=high
            )
        marks.append(Mark(low, high, kind))
    return tuple(sorted(marks)) if start == "outer" else flipped(length_um, tuple(marks))


def flipped(length_um: int, marks: Marks) -> Marks:
    """The same marks measured from the other end (the roll was rewound)."""
    return tuple(sorted(Mark(length_um - m.end_um, length_um - m.start_um, m.kind) for m in marks))


def _bad_spans(length_um: int, marks: Marks) -> list[Piece]:
    """Bad spans on the roll, in order, overlaps merged."""
    spans: list[Piece] = []
    for mark in sorted(marks):
        low, high = max(mark.start_um, 0), min(mark.end_um, length_um)
        if mark.kind != "bad" or low >= high:
            continue
        if spans and low <= spans[-1].end_um:
            low, high = spans[-1].start_um, max(high, spans.pop().end_um)
        spans.append(Piece(low, high))
    return spans


def usable(length_um: int, marks: Marks) -> int:
    """Length without the bad metres."""
    return length_um - sum(span.length_um for span in _bad_spans(length_um, marks))


def clear_pieces(length_um: int, marks: Marks) -> tuple[Piece, ...]:
    """All stretches with neither bad metres nor a splice inside, from the outer end."""
    stops = [
        *_bad_spans(length_um, marks),
        *(Piece(m.start_um, m.start_um) for m in marks if m.kind == "splice" and 0 < m.start_um < length_um),
    ]
    pieces, at = [], 0
    for stop in sorted([*stops, Piece(length_um, length_um)]):
        if stop.start_um > at:
            pieces.append(Piece(at, stop.start_um))
        at = max(at, stop.end_um)
    return tuple(pieces)


def longest_clear(length_um: int, marks: Marks) -> Piece:
    """The longest clear stretch (the outermost of equals); Piece(0, 0) when there is none."""
    return max(clear_pieces(length_um, marks), key=lambda piece: (piece.length_um, -piece.start_um), default=Piece(0, 0))


def after_cut(marks: Marks, taken_um: int) -> Marks:
    """The map of what is left after `taken_um` came off the outer end."""
    return within(marks, taken_um, _BEYOND)


def within(marks: Marks, start_um: int, end_um: int) -> Marks:
    """The map of the stretch [start, end), measured from its own outer end: what a piece takes along."""
    kept = []
    for mark in sorted(marks):
        if start_um < mark.end_um and mark.start_um < end_um:
            kept.append(Mark(max(mark.start_um - start_um, 0), min(mark.end_um, end_um) - start_um, mark.kind))
    return tuple(sorted(kept))


def find_piece(length_um: int, marks: Marks, wanted_um: int) -> int | Reason:
    """Where the outermost clear stretch of `wanted_um` begins (µm from the outer end), or why there is none.

    Raises BadInput roll.nothing_wanted for a length that is not above zero."""
    if wanted_um <= 0:
        raise BadInput("roll.nothing_wanted", say("Say how long the piece must be."), where="wanted", wanted_um=wanted_um)
    for piece in clear_pieces(length_um, marks):
        if piece.length_um >= wanted_um:
            return piece.start_um
    best = longest_clear(length_um, marks)
    where = say(", between {span}", span=_span(*best)) if best.length_um else ""
    wanted, longest = display_apart("um", wanted_um, best.length_um)
    text = say("{wanted} in one piece: the longest clear piece is {longest}{where}.", wanted=wanted, longest=longest, where=where)
    numbers: dict[str, int | str | None] = {
        "wanted_um": wanted_um,
        "longest_um": best.length_um,
        "from_um": best.start_um,
        "to_um": best.end_um,
    }
    return Reason("roll.no_clear_piece", text, numbers)


def _span(low: int, high: int) -> str:
    return say("{low} and {high}", low=display(low, "um"), high=display(high, "um"))
