"""The demo yard at work: verbs performed by its people at stated instants, for tests of what the verbs do."""

from __future__ import annotations

import itertools
import json
import uuid
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.spans import start_of_day_us
from inventory.models import Act, Item, ItemState, Lot
from inventory.recording import Transaction
from inventory.recording.use import readings_at
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.registry import Call, Outcome, perform
from layups.demo.master import Yard, build_master

DAY, HOUR, MINUTE = 86_400_000_000, 3_600_000_000, 60_000_000
MONDAY = start_of_day_us(date(2026, 3, 30), "Europe/Copenhagen")
"""Monday 30 March 2026, 00:00 in the yard: the day after the clocks went forward."""


def clock(text: str, day: date | None = None) -> int:
    """An instant of that Monday (or another day), by the yard's wall clock."""
    hours, minutes = (int(part) for part in text.split(":"))
    return (MONDAY if day is None else start_of_day_us(day, "Europe/Copenhagen")) + hours * HOUR + minutes * MINUTE


@dataclass
class Bench:
    """`do` performs a verb as somebody; the key is the caller's or a new one."""

    yard: Yard = field(default_factory=lambda: build_master(MONDAY))
    now_us: int = clock("08:00")
    keys: Any = field(default_factory=itertools.count)

    def call(self, who: str = "Ines", at: int | None = None, key: str = "", **more: Any) -> Call:
        name = key or f"call {next(self.keys)}"
        return Call(self.yard.who(who), at or self.now_us, uuid.uuid5(uuid.NAMESPACE_URL, name), **more)

    def do(self, verb: str, params: Any, who: str = "Ines", at: int | None = None, key: str = "", **more: Any) -> Outcome:
        return perform(verb, self.call(who, at, key, **more), params)

    def refused(self, verb: str, params: Any, who: str = "Ines", at: int | None = None, **more: Any) -> dict[str, Reason]:
        """The reasons by code of a call that must be refused."""
        try:
            outcome = self.do(verb, params, who, at, **more)
        except Refused as refused:
            return {reason.code: reason for reason in refused.reasons}
        raise AssertionError(f"{verb} was not refused: {outcome.text}")

    def not_understood(self, verb: str, params: Any, who: str = "Ines", at: int | None = None, **more: Any) -> BadInput:
        try:
            outcome = self.do(verb, params, who, at, **more)
        except BadInput as bad:
            return bad
        raise AssertionError(f"{verb} was understood: {outcome.text}")

    def roll(self, mark: str, delivery: str = "D-118", lot: str = "G7", **more: Any) -> Outcome:
        """A glass roll of 100 m, received by Ines."""
        quantity = more.pop("quantity", "100.00 m")
        piece = ReceivedPiece(quantity, mark, **more.pop("piece", {}))
        values = {"material": "GB-600", "supplier": "Aldervane Weavers", "place": "RACK"} | more.pop("to", {})
        return self.do("receive", Receive(delivery, (ReceivedLot(lot, (piece,), more.pop("made", "")),), **values), **more)


def item(mark: str) -> Item:
    return Item.objects.select_related("state", "lot").get(mark=mark)


def state(mark: str) -> ItemState:
    return ItemState.objects.get(item__mark=mark)


def doc(mark: str) -> dict[str, Any]:
    return json.loads(state(mark).doc)


def lot(number: str) -> Lot:
    return Lot.objects.get(number=number)


def last(kind: str) -> Act:
    found = Act.objects.filter(kind=kind).order_by("pk").last()
    assert found is not None
    return found


def prepreg(*pieces: ReceivedPiece, **more: Any) -> Receive:
    """D-119 of the yard: prepreg made on 2 March."""
    values = {"made": "2026-03-02"} | {k: more.pop(k) for k in ("made", "printed") if k in more}
    number = more.pop("lot", "T26-031")
    return replace(Receive("D-119", (ReceivedLot(number, pieces, **values),), "Kestrow Prepreg", "PP-T", "QUARF"), **more)


def cans(*marks: str, place: str = "PX", printed: str = "2026-12", **more: Any) -> Receive:
    pieces = tuple(ReceivedPiece("5 kg", mark) for mark in marks)
    return replace(Receive("D-120", (ReceivedLot("X6", pieces, printed=printed),), "Tarnfold Peroxides", "MEKP", place), **more)


def reading(mark: str, name: str, bench: Bench) -> Any:
    tx = Transaction(bench.yard.who("Odile"), bench.now_us, True)
    entry = tx.entry(item(mark).pk)
    return next(r for r in readings_at(entry.facts, entry.state, bench.now_us, tx.judging()) if r.limit.name == name)


def day(year: int, month: int, number: int) -> date:
    return date(year, month, number)
