"""Goods come in: received, papers entered, released by quality. Opening stock likewise, with what nobody knows of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from inventory.verbs import certifying, receiving, releasing

from .hands import Hands, minutes, said
from .packs import PACKS, Pack, value_of
from .script import code_of


@dataclass(frozen=True, slots=True)
class Arrival:
    """Some pieces of one lot: (mark, quantity). `values` replaces what the papers say; its "printed" is the printed last day,
    its "made" the day of manufacture, both as text. `clock`: when the delivery comes."""

    material: str
    lot: str
    day: int
    pieces: tuple[tuple[str, int], ...]
    values: Mapping[str, str] = field(default_factory=dict)
    clock: str = "08:40"
    out_time: str = ""
    owner: str = ""
    number: str = ""
    place: str = ""
    opened: str = ""
    kind: str = ""
    coldest: str = ""
    marks: Mapping[str, tuple[receiving.RollMark, ...]] = field(default_factory=dict)

    @property
    def pack(self) -> Pack:
        return PACKS[self.material]


def arrive(hands: Hands, a: Arrival, release: bool = True) -> None:
    """A delivery, its papers, and the release the same morning."""
    number = a.number or f"D-{a.lot}"
    at = hands.at(a.day, a.clock)
    params = receiving.Receive(
        number,
        (_lot(hands, a, a.out_time),),
        hands.yard.supplier[a.pack.supplier].name,
        a.material,
        a.place or a.pack.place,
        hands.yard.customer[a.owner].name if a.owner else "",
    )
    hands.call(at, "Ines", "receive", params, number)
    _papers(hands, a, at + minutes(25))
    if release:
        hands.call(at + minutes(110), "Odile", "release", releasing.Release(tuple(code_of(m) for m, _ in a.pieces)), number)


def opening_stock(hands: Hands, a: Arrival, known: bool = True) -> None:
    """What stood there before the records began. Not `known`: nobody knows how long it was out."""
    at = hands.at(a.day, a.clock)
    params = receiving.OpenStock(
        a.material,
        (_lot(hands, a, (a.out_time or "0 h 00") if known else ""),),
        hands.yard.supplier[a.pack.supplier].name,
        a.place or a.pack.place,
    )
    hands.call(at, "Ines", "open_stock", params, a.lot)
    _papers(hands, a, at + minutes(40))
    if known:
        hands.call(at + minutes(180), "Odile", "release", releasing.Release(tuple(code_of(m) for m, _ in a.pieces)), a.lot)


def _lot(hands: Hands, a: Arrival, out_time: str) -> receiving.ReceivedLot:
    unit = hands.unit(a.material)
    timed = out_time if hands.yard.material[a.material].kind in ("prepreg", "film") else ""
    pieces = tuple(
        receiving.ReceivedPiece(
            said(qty, unit),
            mark,
            code_of(mark),
            kind=a.kind or a.pack.kind,
            marks=a.marks.get(mark, ()),
            out_time=timed,
            opened=a.opened,
            coldest=a.coldest,
        )
        for mark, qty in a.pieces
    )
    made = a.values.get("made") or hands.anchor.text(a.day - a.pack.age)
    printed = a.values.get("printed") or (hands.anchor.text(a.day + a.pack.printed)[:7] if a.pack.printed else "")
    return receiving.ReceivedLot(a.lot, pieces, made, printed)


def _papers(hands: Hands, a: Arrival, at: int) -> None:
    if not a.pack.papers:
        return
    each = a.material in ("PP-T", "PP-U")
    values = [
        certifying.PaperValue(name, a.values.get(name) or value_of(name, least, most, f"{a.lot} {mark}"), code_of(mark) if each else "")
        for mark, _ in (a.pieces if each else a.pieces[:1])
        for name, least, most in a.pack.papers
    ]
    hands.call(at, "Ines", "certify", certifying.Certify(code_of(a.pieces[0][0]), tuple(values)), a.lot)
