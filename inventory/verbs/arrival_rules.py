"""What is understood of an arrival but not allowed: asked under the lock, and without it by a dry run.

A mark or a label that is taken is never recorded, not even as "already happened": two things of one name are worse than
one that is missing. Everything else that has happened is stored and marked (R34)."""

from __future__ import annotations

import string
from collections.abc import Collection, Iterator

from django.db.models import Value
from django.db.models.functions import Concat, Lower

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.models import Delivery, Item, ItemCode, ItemState, Lot
from inventory.recording import Check, Transaction

from .arrivals import Arrival, OneLot
from .arriving_pieces import OnePiece
from .moving import place_reasons
from .registry import Call

_A_TO_Z = str.maketrans(string.ascii_uppercase, string.ascii_lowercase)


def rules(call: Call, arrival: Arrival) -> list[Check]:
    """All rules of one arrival. Each may be asked without a lock as well."""
    return [
        lambda tx: delivery_reasons(call, arrival),
        lambda tx: mark_reasons(call, arrival),
        lambda tx: label_reasons(call, arrival),
        lambda tx: serial_reasons(call, arrival),
        lambda tx: lot_reasons(call, arrival),
        lambda tx: put_reasons(tx, arrival),
    ]


def delivery_reasons(call: Call, arrival: Arrival) -> Iterator[Reason]:
    """It was cancelled, or something else was ordered."""
    if arrival.opening:
        return
    row = Delivery.objects.select_related("supplier", "material").filter(site=call.who.site, number__iexact=arrival.number).first()
    if row is None:
        return
    if row.cancelled_us is not None:
        text = say("Delivery {number} was cancelled: if it came all the same, receive it under a number of its own.", number=row.number)
        yield Reason("delivery.cancelled", text, {"delivery": row.number})
    if row.material_id != arrival.material.pk:
        text = say(
            "Delivery {number} is for {material}, not for {material_2}: what came besides is a delivery with a number of its own.",
            number=row.number,
            material=row.material.code,
            material_2=arrival.material.code,
        )
        numbers: dict[str, int | str | None] = {"delivery": row.number, "expected": row.material.code, "given": arrival.material.code}
        yield Reason("delivery.other_material", text, numbers)
    if row.supplier_id != arrival.supplier.pk:
        text = say(
            "Delivery {number} is from {supplier}, not from {supplier_2}: check the delivery note.",
            number=row.number,
            supplier=row.supplier,
            supplier_2=arrival.supplier,
        )
        yield Reason(
            "delivery.other_supplier", text, {"delivery": row.number, "expected": str(row.supplier), "given": str(arrival.supplier)}
        )


def mark_reasons(call: Call, arrival: Arrival) -> Iterator[Reason]:
    """The mark is on something already. What is on something whose receipt was voided may be used for the same thing again."""
    given = [(piece, lot) for lot in arrival.lots for piece in lot.pieces if piece.mark]
    marks = {piece.mark.casefold(): (piece, lot) for piece, lot in given}
    for item in standing(call.who.site, [piece.mark for piece, _ in given]):
        piece, lot = marks[item.mark.casefold()]
        if not never_there(item):
            yield _taken(item, arrival)
        elif not same_thing(item, piece, lot, arrival):
            text = say("{mark} was the mark of something else, whose record was voided: give this one another mark.", mark=item.mark)
            yield Reason("receive.mark_of_voided", text, {"mark": item.mark}, cap=True)


def _taken(item: Item, arrival: Arrival) -> Reason:
    if item.delivery is not None and item.delivery.number.casefold() == arrival.number.casefold():
        text = say("{mark} is already in this delivery ({delivery}): nothing was added.", mark=item.mark, delivery=item.delivery.number)
        return Reason("receive.already_here", text, {"mark": item.mark, "delivery": item.delivery.number, "item": item.pk}, cap=True)
    whose = say("{material} ", material=item.material.code) if item.material else ""
    came = say(", received with {delivery}", delivery=item.delivery.number) if item.delivery else ""
    text = say(
        "{mark} is on another {get_kind_display} already ({whose}{came}): give this one another mark.",
        mark=item.mark,
        get_kind_display=item.get_kind_display(),
        whose=whose.strip(),
        came=came,
    )
    return Reason("receive.mark_taken", text, {"mark": item.mark, "item": item.pk}, cap=True)


def spellings(texts: Collection[str]) -> list[str]:
    """These, and what they are once a database has folded them: PostgreSQL folds every letter, SQLite A to Z only."""
    return sorted({text.translate(_A_TO_Z) for said in texts for text in (said, said.casefold(), said.upper())})


def standing(site: int, marks: Collection[str]) -> list[Item]:
    """Items that carry one of these marks, whatever the case."""
    wanted = spellings(marks)
    rows = Item.objects.select_related("state", "delivery", "material").annotate(folded=Lower("mark")).filter(site=site).exclude(mark="")
    alike = {mark.casefold() for mark in marks}
    found: list[Item] = []
    for i in range(0, len(wanted), 1000):
        found += (item for item in rows.filter(folded__in=wanted[i : i + 1000]) if item.mark.casefold() in alike)
    return found


def never_there(item: Item) -> bool:
    """Its only records were voided: it stands in the table, and nowhere else."""
    state: ItemState | None = getattr(item, "state", None)
    return state is None or (state.since_us is None and not state.last)


def same_thing(item: Item, piece: OnePiece, lot: OneLot, arrival: Arrival) -> bool:
    return (
        item.kind == piece.kind
        and item.material_id == arrival.material.pk
        and lot.row is not None
        and item.lot_id == lot.row.pk
        and item.owner_id == (arrival.owner.pk if arrival.owner else None)
        and item.core_ug == piece.core_ug
        and item.supplier_serial == piece.serial
        and (item.delivery.number.casefold() if item.delivery else "") == arrival.number.casefold()
    )


def label_reasons(call: Call, arrival: Arrival) -> Iterator[Reason]:
    """A label that is on something already. One that a late scan has seen is waiting for just this record."""
    given = {piece.given: piece for piece in arrival.pieces if piece.given}
    if not given:
        return
    on_items = Item.objects.filter(site=call.who.site, code__in=given, stub=False).values_list("code", "mark")
    further = ItemCode.objects.filter(site=call.who.site, code__in=given).values_list("code", Concat("item__mark", Value("")))
    for code, mark in sorted({*on_items, *further}):
        text = say("The label {code} is on {mark} already: put a fresh label on this one.", code=code, mark=mark or say("something"))
        yield Reason("receive.label_taken", text, {"code": code, "mark": given[code].mark}, cap=True)


def serial_reasons(call: Call, arrival: Arrival) -> Iterator[Reason]:
    """A serial number of a lot is one piece: scanned again it is the same one. What never was there may come again."""
    for lot in arrival.lots:
        serials = {piece.serial for piece in lot.pieces if piece.serial}
        if lot.row is None or not serials:
            continue
        rows = Item.objects.select_related("state", "delivery").filter(site=call.who.site, lot=lot.row.pk).exclude(supplier_serial="")
        alike = {serial.casefold() for serial in serials}
        for item in rows.annotate(folded=Lower("supplier_serial")).filter(folded__in=spellings(serials)):
            if item.supplier_serial.casefold() in alike and not never_there(item):
                yield _came_before(item, lot, arrival)


def _came_before(item: Item, lot: OneLot, arrival: Arrival) -> Reason:
    number = item.delivery.number if item.delivery else ""
    here = number.casefold() == arrival.number.casefold()
    where = (
        say("already in this delivery ({number})", number=number)
        if here and number
        else say("here already, received with {number}", number=number or say("the opening stock"))
    )
    text = say(
        "Serial number {supplier_serial} of lot {lot} is {where} as {item}: nothing was added.",
        supplier_serial=item.supplier_serial,
        lot=lot.number,
        where=where,
        item=item,
    )
    return Reason("receive.serial_here", text, {"serial": item.supplier_serial, "lot": lot.number, "item": item.pk}, cap=True)


def lot_reasons(call: Call, arrival: Arrival) -> Iterator[Reason]:
    """A lot was made once: two dates for one lot number are a wrong label, a wrong number or a slip."""
    for lot in arrival.lots:
        if lot.row is not None:
            yield from _dates(lot, lot.row, call.who.zone)


def _dates(lot: OneLot, row: Lot, zone: str) -> Iterator[Reason]:
    pairs = (
        ("made", say("made on"), row.made_us, lot.dates.said_made_us, 0),
        ("printed", say("good through"), row.printed_us, lot.dates.said_printed_us, 1),
    )
    for code, word, known, said, back in pairs:
        if said is None or said == known:
            continue
        new = local_date(said - back, zone).isoformat()
        old = local_date(known - back, zone).isoformat() if known is not None else None
        if old is None:
            text = say(
                "Lot {number} is recorded without that date; this label says {new}. Leave the date empty, or have "
                "quality void the earlier receipt.",
                number=row.number,
                new=new,
            )
        else:
            text = say(
                "Lot {number} is recorded as {word} {old}; this label says {new}. Check label and lot number; if the "
                "record is wrong, quality voids it and it is received again.",
                number=row.number,
                word=word,
                old=old,
                new=new,
            )
        yield Reason(f"lot.{code}_differs", text, {"lot": row.number, "recorded": old, "given": new})


def two_dates(lot: OneLot) -> Reason:
    """One lot that is not known yet, listed twice with different dates: which one is right?"""
    text = say("Lot {lot} is listed with two dates of one kind: check the labels.", lot=lot.number)
    return Reason("lot.two_dates", text, {"lot": lot.number})


def put_reasons(tx: Transaction, arrival: Arrival) -> list[Reason]:
    """The place's rules (R35), for everything that is put there together."""
    if arrival.place is None:
        return []
    some = Item(material=arrival.material, unit=arrival.material.unit, kind="box")
    return place_reasons(tx, some, arrival.place, sum(piece.qty for piece in arrival.pieces))
