"""What a storekeeper says about goods that come in, in the words of labels and papers. Quantities, durations, dates and
temperatures are text as typed or printed ("100.00 m", "6 h 00", "2026-03-02" or "2026-03", "-3.1 °C")."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RollMark:
    """A flaw from the roll's ticket. `kind`: "bad" (from `at` to `end`) or "splice" (at `at`, no `end`)."""

    kind: str
    at: str
    end: str = ""


@dataclass(frozen=True, slots=True)
class ReceivedPiece:
    """One roll, spool, drum, can, box or sheet.

    `quantity` with its unit. `mark`: the short name written on it (G7-1). `code`: our label, if it has one already.
    `serial`: the supplier's own number. `kind`: roll, spool, drum, can, box or sheet (empty: what the material usually is).
    `core`: mass of the core or can, empty. `marks`: flaws on the roll, measured from its `marks_from` end ("outer" or
    "inner"). `out_time`: out time already used, as the label states it. `transport`: how long the logger read above the
    specification's line on the way, `warmest` and `coldest` what it read at most and at least. `opened`: the day when it
    was first opened, or "yes" when it is open and nobody knows since when. `package`: which package of how many ("2 of 5").
    `labels`: the supplier's labels as they were scanned, untouched."""

    quantity: str
    mark: str = ""
    code: str = ""
    serial: str = ""
    kind: str = ""
    core: str = ""
    marks: tuple[RollMark, ...] = ()
    marks_from: str = "outer"
    out_time: str = ""
    transport: str = ""
    warmest: str = ""
    coldest: str = ""
    opened: str = ""
    package: str = ""
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReceivedLot:
    """Pieces of one lot. `number` as on the label (a material that is booked by the box may have none). `made`: day of
    manufacture; `printed`: the printed last day. "unknown" where the label gives no date that its life is counted from."""

    number: str
    pieces: tuple[ReceivedPiece, ...]
    made: str = ""
    printed: str = ""


@dataclass(frozen=True, slots=True)
class Receive:
    """A delivery, or some pieces of it. `delivery`: its number, expected or not. `supplier` and `material` may be left
    out when the delivery is expected. `place`: where the pieces are put (empty: nowhere yet, which counts as warm).
    `owner`: the customer whose property it is. `order`: our order number."""

    delivery: str
    lots: tuple[ReceivedLot, ...]
    supplier: str = ""
    material: str = ""
    place: str = ""
    owner: str = ""
    order: str = ""


@dataclass(frozen=True, slots=True)
class ReceiveMany:
    """Several deliveries at once, and stock that was there before: all of it is recorded, or nothing."""

    deliveries: tuple[Receive, ...] = ()
    stock: tuple[OpenStock, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenStock:
    """Stock that was there before the records began (R36). A lot whose number nobody knows is left empty and gets a lot of
    its own. `out_time` left empty means that its history is unknown: quality gives it a starting value before release."""

    material: str
    lots: tuple[ReceivedLot, ...]
    supplier: str = ""
    place: str = ""
    owner: str = ""
