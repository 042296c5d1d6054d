"""Receive a delivery (R6): pieces of one or more lots, unreleased until quality has looked at them."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.core import rollmap
from inventory.core.lots import number_key
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.units import display
from inventory.models import Act, Block, Delivery, Item, Leg
from inventory.recording import Check, Claim, Effect, Flow, Line, LotFacts, NewItem, Receipt, Transaction

from . import repeats
from .arrival_rules import never_there, rules, standing, two_dates
from .arrivals import Arrival, OneLot, Rows, read_receive, read_stock
from .arriving_pieces import OnePiece
from .births import new_code
from .lots import free_key, live_lots
from .papers import OpenStock, Receive, ReceivedLot, ReceivedPiece, ReceiveMany, RollMark
from .registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb
from .resolve import ceiling_of

__all__ = ["OpenStock", "Receive", "ReceiveMany", "ReceivedLot", "ReceivedPiece", "RollMark", "receive", "receive_many"]

Group = Receive | OpenStock


@verb("receive", Receive, (STOREKEEPER, QUALITY, OWNER), say("Receive"))
def receive(call: Call, p: Receive) -> Outcome:
    return bring_in(call, p, "receive", lambda rows: [read_receive(call, p, rows)])


@verb("receive_many", ReceiveMany, (STOREKEEPER, QUALITY, OWNER), say("Receive many at once"))
def receive_many(call: Call, p: ReceiveMany) -> Outcome:
    def read(rows: Rows) -> list[Arrival]:
        return [*(read_receive(call, group, rows) for group in p.deliveries), *(read_stock(call, group, rows) for group in p.stock)]

    return bring_in(call, p, "receive_many", read)


class Stale(Exception):
    """A lot that was new at the look is known at the lock: look again."""


def bring_in(call: Call, p: Any, name: str, read: Callable[[Rows], list[Arrival]]) -> Outcome:
    """Record arrivals, all or none. Somebody may bring in the same new lot at the same moment: then it is looked up again
    and found there."""
    receipts = repeats.again(call, p, name, "receive")
    while receipts is None:
        try:
            receipts = call.record(claims_of(call, p, read(Rows(call))), name)
        except Stale:
            receipts = repeats.again(call, p, name, "receive")
    return _outcome(receipts)


def claims_of(call: Call, p: Any, arrivals: Sequence[Arrival]) -> list[Claim]:
    """The claims of some arrivals: a lot is made where it is not known, then its pieces are received from it. The first
    receipt carries the call's own key and the names of the others."""
    if not arrivals:
        raise BadInput("receive.nothing", say("Nothing is listed: scan at least one piece."), "deliveries")
    names = [f"{a}.{n}" for a, arrival in enumerate(arrivals) for n in range(len(arrival.lots))]
    further, rest = repeats.parts(names[1:]), repeats.further(p)
    lots = _Lots(call, rest)
    out: list[Claim] = []
    for a, arrival in enumerate(arrivals):
        news: list[dict[str, NewItem]] = [{} for _ in arrival.lots]
        checks = (*rules(call, arrival), _book(call, arrival, news))
        for n, lot in enumerate(arrival.lots):
            ref, born = lots.ref(arrival, lot, f"{a}.{n}")
            part = "" if (a, n) == (0, 0) else f"{a}.{n}"
            pieces = Pieces(call, arrival, lot, ref, f"{a}.")
            out += [*born, pieces.claim(rest if part else p, part, news[n], () if n else checks, {} if part else further)]
    return out


@dataclass
class _Lots:
    """The lots of a call: each new one comes into being once, where it was made."""

    call: Call
    params: Any
    made: dict[tuple[int, int, str], tuple[str, OneLot]] = field(default_factory=dict)

    def ref(self, arrival: Arrival, lot: OneLot, name: str) -> tuple[int | str, list[Claim]]:
        """The lot's id, or its name in this call and the claim that makes it."""
        if lot.row is not None:
            return lot.row.pk, []
        key = (arrival.supplier.pk, arrival.material.pk, number_key(lot.number))
        if key in self.made:
            ref, first = self.made[key]
            if first.dates != lot.dates:
                wrong = two_dates(lot)
                raise BadInput(wrong.code, wrong.text, "made", **wrong.numbers)
            return ref, []
        self.made[key] = (f"lot{name}", lot)
        return f"lot{name}", [self._claim(arrival, lot, f"lot{name}")]

    def _claim(self, arrival: Arrival, lot: OneLot, ref: str) -> Claim:
        m, dates = arrival.material, lot.dates
        key = free_key(arrival.supplier.pk, m.pk, lot.number)
        facts = LotFacts(arrival.supplier.pk, lot.number, key, dates.made_us, dates.printed_us, arrival.spec)
        node = NewItem(new_code(self.call, ref), "lot", m.unit, material=m.pk, facts=facts)
        at_us = self.call.at_us if dates.made_us is None else dates.made_us
        line = Line(ref, ceiling=m.declared_mc)

        def still_new(tx: Transaction) -> Sequence[Reason]:
            there = live_lots(self.call.who.site, lot.number).filter(supplier=arrival.supplier.pk, material=m.pk)
            if there.exists() or free_key(arrival.supplier.pk, m.pk, lot.number) != key:
                raise Stale  # it may have come between the look for the lot and the choice of the key
            return ()

        more: dict[str, Any] = {"new": {ref: node}, "checks": (still_new,), "stance": "observed", "happened_us": at_us}
        return self.call.claim("made", [line], self.params, part=ref, **more)


@dataclass(frozen=True, slots=True)
class Pieces:
    """The pieces of one lot of an arrival, as one act: what came, from which lot, to which place."""

    call: Call
    arrival: Arrival
    lot: OneLot
    ref: int | str
    prefix: str

    def claim(self, p: Any, part: str, new: dict[str, NewItem], checks: Sequence[Check], further: dict[str, Any]) -> Claim:
        place = self.arrival.place
        where: dict[str, Any] = {"location": place.pk, "ceiling": ceiling_of(place)} if place else {}
        again = self._voided()
        things: list[int | str] = [again.get(piece.mark.casefold(), self.prefix + piece.name) for piece in self.lot.pieces]
        lines, flows = [Line(self.ref)], []
        for thing, piece in zip(things, self.lot.pieces, strict=True):
            if isinstance(thing, str):
                new[thing] = self._new(piece, thing)
            lines.append(Line(thing, delta=piece.qty, body=piece.body, **where))
            flows.append(Flow(self.ref, thing, piece.qty))
        body = {"delivery": self.arrival.number, "opening": self.arrival.opening, **further}
        return self.call.claim(
            "receive", lines, p, part=part, new=new, flows=tuple(flows), body=body, checks=tuple(checks), effects=(self._wait(things),)
        )

    def _new(self, piece: OnePiece, name: str) -> NewItem:
        a = self.arrival
        return NewItem(
            code=piece.given or new_code(self.call, name),
            kind=piece.kind,
            unit=a.material.unit,
            mark=piece.mark,
            material=a.material.pk,
            lot=self.ref,
            delivery=a.delivery.pk if a.delivery else None,
            owner=a.owner.pk if a.owner else None,
            supplier_serial=piece.serial,
            core_ug=piece.core_ug,
        )

    def _voided(self) -> dict[str, int]:
        """Pieces of this lot whose receipt was voided and that are received again: the same things, under their marks.
        (Whether they may be is for the rules to say.)"""
        if self.lot.row is None:
            return {}
        marks = {piece.mark for piece in self.lot.pieces if piece.mark}
        there = standing(self.call.who.site, marks)
        return {item.mark.casefold(): item.pk for item in there if never_there(item) and item.lot_id == self.lot.row.pk}

    def _wait(self, things: Sequence[int | str]) -> Effect:
        """Every piece waits for its release (R6), and the delivery has arrived."""

        def effect(tx: Transaction, act: Act, names: dict[str, int]) -> None:
            Block.objects.bulk_create(
                [
                    Block(
                        site_id=tx.who.site,
                        item_id=names[thing] if isinstance(thing, str) else thing,
                        why="incoming",
                        text=piece.waits,
                        opened=act,
                        from_us=act.happened_us,
                    )
                    for thing, piece in zip(things, self.lot.pieces, strict=True)
                ],
                batch_size=500,
            )
            arrived = Delivery.objects.filter(site=tx.who.site, number__iexact=self.arrival.number, arrived_us__isnull=True)
            arrived.update(arrived_us=act.happened_us)

        return effect


def _book(call: Call, arrival: Arrival, news: Sequence[dict[str, NewItem]]) -> Check:
    """A delivery that nobody expected gets its row here, under the lock, so that a refusal takes the row away again."""

    def check(tx: Transaction) -> Sequence[Reason]:
        if arrival.opening:
            return ()
        row = Delivery.objects.filter(site=call.who.site, number__iexact=arrival.number).first()
        if row is None:
            row = Delivery.objects.create(
                site_id=call.who.site,
                number=arrival.number,
                order_number=arrival.order,
                supplier=arrival.supplier,
                material=arrival.material,
                lot_number=arrival.lots[0].number if len(arrival.lots) == 1 else "",
            )
        for new in news:
            new.update({name: replace(item, delivery=row.pk) for name, item in new.items()})
        return ()

    return check


def _outcome(receipts: list[Receipt]) -> Outcome:
    """What came in, read back from the records, so that a repeat is told the same."""
    ids = [item for receipt in receipts for item in receipt.touched]
    rows = Item.objects.select_related("state", "material", "lot__batch", "delivery").filter(pk__in=ids).exclude(kind="lot").order_by("pk")
    pieces = [piece_data(item) for item in rows]
    kinds = sorted({f"{item.get_kind_display()}s" if len(pieces) > 1 else item.get_kind_display() for item in rows})
    codes = sorted({item.material.code for item in rows if item.material})
    them = "them" if len(pieces) > 1 else "it"
    text = say(
        "{pieces} {kinds} of {codes} received; quality has not released {them} yet.",
        pieces=len(pieces),
        kinds=strung(say(" and "), kinds),
        codes=strung(", ", codes),
        them=them,
    )
    if len(pieces) == 1 and pieces[0]["mark"]:  # scanned one after the other: the answer names the one that was just scanned
        text = say(
            "{mark} received, {quantity} of {material}; quality has not released it yet.",
            mark=pieces[0]["mark"],
            quantity=display(_came_in(receipts, rows[0].pk), rows[0].unit),
            material=strung(", ", codes),
        )
    return Outcome(text, receipts, {"pieces": pieces, "items": [item.code for item in rows]})


def _came_in(receipts: list[Receipt], item: int) -> int:
    """How much of it was received, in its base unit: of the records, since some may be used by the time the answer is asked for again."""
    return Leg.objects.values_list("delta", flat=True).get(act__in=[receipt.act for receipt in receipts], item=item)


def piece_data(item: Item) -> dict[str, Any]:
    """A piece as a door shows it after receipt."""
    doc = json.loads(item.state.doc)
    marks = tuple(rollmap.Mark(*mark) for mark in doc.get("marks", ()))
    data = {
        "code": item.code,
        "mark": item.mark,
        "kind": item.kind,
        "lot": item.lot.batch.number if item.lot_id and item.lot else "",
        "delivery": item.delivery.number if item.delivery else "",
        "quantity": item.state.qty,
        "text": display(item.state.qty, item.unit),
        "unknown_history": bool(doc.get("unknown")),
        "waiting": True,
    }
    if item.unit == "um":
        longest = rollmap.longest_clear(item.state.qty, marks)
        data |= {"usable": rollmap.usable(item.state.qty, marks), "longest": longest.length_um, "longest_from": longest.start_um}
    return data
