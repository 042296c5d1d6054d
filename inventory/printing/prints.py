"""Printing: labels drawn for a format, the file, and the row that says so. Who may, and what was printed before."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Q

from inventory.core.label_formats import Format, checked, slots
from inventory.core.labels import label, spoken
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say, strung
from inventory.models import Item, LabelPrint, Location, Role
from inventory.recording import Who

from .asked import Wanted
from .drawn import Drawn, draw
from .paper import pdf
from .thermal import commands

MAY = ("storekeeper", "builder", "quality", "owner")
FORMS = {"pdf": ("application/pdf", "pdf"), "zpl": ("text/plain; charset=us-ascii", "zpl")}
REASON_MOST = 200


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be printed: `start` is the first free place of a used sheet, `form` pdf or zpl, `dpi` of a printer that takes
    commands (0: there is none), `address` what the links lead to."""

    things: tuple[Wanted, ...]
    format: Format
    address: str
    copies: int = 1
    start: int = 1
    form: str = "pdf"
    dpi: int = 0
    reason: str = ""


def checked_order(order: Order) -> None:
    """BadInput: label.none, label.copies, label.many, label.start, label.form, label.reason."""
    number = checked(len(order.things), order.copies)
    slots(order.format, number, order.start)
    if order.form not in FORMS:
        raise BadInput("label.form", say("Labels come as {forms}.", forms=strung(say(" or "), FORMS)), "form")
    if order.form == "zpl" and not order.dpi:
        text = say("No label printer is set up here: set SELVEDGE_LABEL_DPI to its dots an inch, or take the PDF.")
        raise BadInput("label.no_printer", text, "form")
    if order.form == "zpl" and not order.format.roll:
        raise BadInput("label.roll_only", say("A printer that takes commands prints rolls: choose a roll’s format."), "format")
    if len(order.reason) > REASON_MOST:
        raise BadInput("label.reason", say("The reason has at most {reason_most} characters.", reason_most=REASON_MOST), "reason")


def drawn(order: Order, zone: str, now_us: int) -> list[Drawn]:
    """One for each thing."""
    return [draw(label(w.thing, zone, now_us, order.address), order.format) for w in order.things]


def file_of(order: Order, labels: Sequence[Drawn]) -> bytes:
    """The copies of one thing lie beside each other."""
    each = [one for one in labels for _ in range(order.copies)]
    return commands(each, order.dpi) if order.form == "zpl" else pdf(each, order.format, order.start)


def print_labels(order: Order, who: Who, now_us: int, key: uuid.UUID) -> bytes:
    """Make the file and record the print, in that order: what could not be drawn was not printed. The same key again gives the
    file again and counts once. Raises Refused (role.not_allowed, key.reused) and BadInput."""
    may_print(who)
    checked_order(order)
    labels = drawn(order, who.zone, now_us)
    data = file_of(order, labels)
    with transaction.atomic():
        before = list(LabelPrint.objects.filter(key=key).order_by("pk"))
        if not before:
            LabelPrint.objects.bulk_create([_row(order, w, one, who, now_us, key) for w, one in zip(order.things, labels, strict=True)])
        elif not _same(before, order, who):
            raise Refused(Reason("key.reused", say("This key was used for another print: take a new key for each."), {}))
    return data


def may_print(who: Who) -> None:
    """Refused role.not_allowed for those who only read."""
    if not Role.objects.filter(person=who.person, person__ended_us__isnull=True, role__in=MAY).exists():
        needs = strung(say(" or "), MAY)
        raise Refused(
            Reason("role.not_allowed", say("“Print labels” is for {needs}. Ask somebody who has that role.", needs=needs), {"needs": needs})
        )


def _row(order: Order, w: Wanted, one: Drawn, who: Who, now_us: int, key: uuid.UUID) -> LabelPrint:
    return LabelPrint(
        site_id=who.site,
        key=key,
        item=w.item,
        location=w.place,
        person_id=who.person,
        device_id=who.device,
        at_us=now_us,
        format=order.format.name,
        form=order.form,
        copies=order.copies,
        reason=order.reason.strip(),
        text="\n".join((one.label.code, spoken(one.label.fields))),
    )


def _same(before: Sequence[LabelPrint], order: Order, who: Who) -> bool:
    said = {(r.item_id, r.location_id) for r in before}
    asked = {(w.item.pk if w.item else None, w.place.pk if w.place else None) for w in order.things}
    first = before[0]
    return (
        said == asked
        and (first.site_id, first.person_id) == (who.site, who.person)
        and (first.format, first.form, first.copies, first.reason) == (order.format.name, order.form, order.copies, order.reason.strip())
    )


def times_printed(things: Iterable[Wanted]) -> dict[str, int]:
    """How often each was printed, by code; one question."""
    rows = list(things)
    items = [w.item.pk for w in rows if w.item is not None]
    places = [w.place.pk for w in rows if w.place is not None]
    found = LabelPrint.objects.filter(Q(item__in=items) | Q(location__in=places)).values_list("item_id", "location_id")
    counts: dict[tuple[int | None, int | None], int] = {}
    for pair in found:
        counts[pair] = counts.get(pair, 0) + 1
    return {w.thing.code: counts.get((w.item.pk if w.item else None, w.place.pk if w.place else None), 0) for w in rows}


def history(thing: Item | Location, most: int = 20) -> list[LabelPrint]:
    """Its prints, the first first; the newest of many."""
    mine = Q(item=thing) if isinstance(thing, Item) else Q(location=thing)
    rows = LabelPrint.objects.filter(mine).select_related("person", "device").order_by("-at_us", "-pk")[:most]
    return list(rows)[::-1]
