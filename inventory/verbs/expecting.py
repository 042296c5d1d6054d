"""What is on order (R38): a delivery that is expected, with due date and price; cancelled when it will not come.

An order is a plan and not something that happened to a thing: it is kept with the deliveries, not in the ledger."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import IntegrityError, transaction

from inventory.core.lots import lot_number
from inventory.core.numerals import number
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import parse_date_text
from inventory.core.units import to_stock
from inventory.models import Delivery
from inventory.properties import props_of

from .arrivals import NUMBER_CHARS, at_field
from .registry import OWNER, STOREKEEPER, Call, Outcome, refuse, verb
from .resolve import material_of, supplier_of

_PRICE = re.compile(r"(.*[0-9])\s*([A-Z]{3}|€|£|\$|kr)?", re.DOTALL)
MOST_PIECES = 10_000


@dataclass(frozen=True, slots=True)
class Expect:
    """`delivery`: its number. `quantity` in all, with its unit, and `pieces`, as far as known. `due`: the day, as
    2026-03-30. `price` as ordered ("412.00 EUR"). `order`: our order number. `lot`: the lot number, if it was announced.
    `cancel`: it will not come; then the number alone is enough."""

    delivery: str
    material: str = ""
    supplier: str = ""
    quantity: str = ""
    pieces: int | None = None
    due: str = ""
    price: str = ""
    order: str = ""
    lot: str = ""
    cancel: bool = False


@verb("expect", Expect, (STOREKEEPER, OWNER), say("Expect a delivery"), observable=False)
def expect(call: Call, p: Expect) -> Outcome:
    number_said = " ".join(p.delivery.split())
    if not number_said or len(number_said) > NUMBER_CHARS or not number_said.isprintable():
        raise BadInput(
            "delivery.number_needed",
            say("Give the delivery a number of at most {number_chars} characters.", number_chars=NUMBER_CHARS),
            "delivery",
        )
    if p.cancel:
        return _cancel(call, p, number_said)
    wanted = _read(call, p, number_said)
    try:
        with transaction.atomic():
            row = _there(call, number_said) or Delivery.objects.create(**wanted)
    except IntegrityError:  # somebody entered the same number at the same moment
        row = Delivery.objects.select_related("material", "supplier").get(site=call.who.site, number=number_said)
    if any(getattr(row, name) != value for name, value in wanted.items()) or row.cancelled_us is not None:
        text = say(
            "There is a delivery {number} already, and it says something else: give this one another number, or cancel that one.",
            number=row.number,
        )
        refuse(call, "expect", p, Reason("delivery.number_taken", text, {"delivery": row.number}))
    due = say(", due {due_on}", due_on=row.due_on.isoformat()) if row.due_on else ""
    return Outcome(
        say(
            "Delivery {number} is expected: {material} from {supplier}{due}.",
            number=row.number,
            material=row.material.code,
            supplier=row.supplier,
            due=due,
        ),
        [],
        {"delivery": row.number},
    )


def _read(call: Call, p: Expect, number_said: str) -> dict[str, Any]:
    for name in ("material", "supplier"):
        if not getattr(p, name).strip():
            raise BadInput(f"{name}.needed", say("Say which {name} is expected.", name=name), name)
    material, supplier = material_of(p.material), supplier_of(p.supplier)
    if p.pieces is not None and not 0 < p.pieces <= MOST_PIECES:
        raise BadInput(
            "delivery.pieces",
            say("The number of pieces is between 1 and {most_pieces}.", most_pieces=MOST_PIECES),
            "pieces",
            pieces=p.pieces,
        )
    with at_field("quantity"):
        quantity = to_stock(p.quantity, None, props_of(material, material.unit)).value if p.quantity.strip() else None
    return {
        "site_id": call.who.site,
        "number": number_said,
        "order_number": p.order.strip()[:40],
        "supplier": supplier,
        "material": material,
        "lot_number": lot_number(p.lot) if p.lot.strip() else "",
        "expected_qty": quantity,
        "expected_pieces": p.pieces,
        "due_on": _due(p.due) if p.due.strip() else None,
        "price": _price(p.price) if p.price.strip() else "",
    }


def _due(text: str) -> date:
    with at_field("due"):
        return parse_date_text(text).last_day


def _price(text: str) -> str:
    """As ordered: an amount and a currency. It is shown, not computed with."""
    trimmed = " ".join(text.split())
    found = _PRICE.fullmatch(trimmed)
    if not found or len(trimmed) > 40:
        raise BadInput("delivery.price", say("Type the price as an amount and a currency, for example 412.00 EUR."), "price")
    with at_field("price"):
        if number(found[1], "price") < 0:
            raise BadInput("price.negative", say("A price is not below zero."), "price")
    return trimmed


def _cancel(call: Call, p: Expect, number_said: str) -> Outcome:
    row = _there(call, number_said)
    if row is None:
        raise BadInput(
            "delivery.unknown", say("No delivery {number_said} is expected: check the number.", number_said=number_said), "delivery"
        )
    if row.arrived_us is not None:
        text = say(
            "Delivery {number} has arrived already: what came stays recorded. Send it back with “return to supplier”.", number=row.number
        )
        refuse(call, "expect", p, Reason("delivery.arrived", text, {"delivery": row.number}))
    Delivery.objects.filter(pk=row.pk, cancelled_us__isnull=True, arrived_us__isnull=True).update(cancelled_us=call.now_us)
    return Outcome(say("Delivery {number} is cancelled.", number=row.number), [], {"delivery": row.number, "cancelled": True})


def _there(call: Call, number_said: str) -> Delivery | None:
    rows = Delivery.objects.select_related("material", "supplier")
    return rows.filter(site=call.who.site, number__iexact=number_said).first()
