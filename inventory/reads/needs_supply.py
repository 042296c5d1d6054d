"""What comes in and what must be bought."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from inventory.core.packs import counted, usual_kind
from inventory.core.said import say
from inventory.core.spans import DAYS, MONTHS, end_of_day_us, local_date
from inventory.core.units import display
from inventory.models import Delivery

from .deliveries import pieces_here
from .looking import OWNER, STOREKEEPER, Look, Need, provider, roles_of
from .stock import Stock

SOON_DAYS = 7
RECENT_US = 14 * 86_400_000_000
"""How long a delivery that came in part stays on the list: as long as the page of receiving shows it. Shop practice, no source."""


@provider
def arriving(look: Look) -> Iterator[Need]:
    """Deliveries that are late, due today or due within a week."""
    today = local_date(look.now_us, look.zone)
    rows = Delivery.objects.filter(site=look.site, arrived_us__isnull=True, cancelled_us__isnull=True, due_on__isnull=False)
    for d in rows.select_related("material", "supplier").order_by("due_on", "number"):
        assert d.due_on is not None
        days = (d.due_on - today).days
        if days > SOON_DAYS:
            continue
        at, what, about = end_of_day_us(d.due_on, look.zone), described(d), ("delivery", d.number)
        if days < 0:
            text = say(
                "{number}: {what} was due {spelled} and has not come. Ask {supplier}.",
                number=d.number,
                what=what,
                spelled=spelled(d.due_on),
                supplier=d.supplier,
            )
            yield Need("now", "delivery.late", text, roles_of(STOREKEEPER, OWNER), about, at)
        else:
            text = say(
                "{number}: {what}, due {spelled}.", number=d.number, what=what, spelled=say("today") if not days else spelled(d.due_on)
            )
            yield Need("soon" if days else "today", "delivery.due", text, roles_of(STOREKEEPER), about, at)


@provider
def partly_here(look: Look) -> Iterator[Need]:
    """Deliveries of which something has come lately and something has not: who takes one in is told what is missing."""
    rows = Delivery.objects.filter(
        site=look.site, arrived_us__gt=look.now_us - RECENT_US, cancelled_us__isnull=True, expected_pieces__isnull=False
    )
    late = {d.number: d for d in rows.select_related("material", "supplier").annotate(came=pieces_here())}
    for d in sorted(late.values(), key=lambda d: (d.arrived_us or 0, d.number)):
        expected, kind = d.expected_pieces or 0, usual_kind(d.material.kind, d.material.unit)
        if d.came >= expected:
            continue
        text = say(
            "{number}: {came} of {counted} of {material} are here. Take in the rest, or ask {supplier}.",
            number=d.number,
            came=d.came,
            counted=counted(expected, kind),
            material=d.material.code,
            supplier=d.supplier,
        )
        today = local_date(d.arrived_us or 0, look.zone) == local_date(look.now_us, look.zone)
        yield Need("today" if today else "soon", "delivery.partly", text, roles_of(STOREKEEPER), ("delivery", d.number), d.arrived_us or 0)


def described(d: Delivery) -> str:
    """ "3 rolls of GB-600, lot G7, 300.00 m in all"."""
    pieces = (
        say("{counted} of ", counted=counted(d.expected_pieces, usual_kind(d.material.kind, d.material.unit))) if d.expected_pieces else ""
    )
    lot = say(", lot {lot_number}", lot_number=d.lot_number) if d.lot_number else ""
    total = say(", {expected_qty} in all", expected_qty=display(d.expected_qty, d.material.unit)) if d.expected_qty else ""
    return say("{pieces}{material}{lot}{total}", pieces=pieces, material=d.material.code, lot=lot, total=total)


def spelled(day: date) -> str:
    """ "Wed 1 Apr": weekdays are what people plan by."""
    return say("{days} {day} {months}", days=DAYS[day.weekday()], day=day.day, months=MONTHS[day.month - 1])


@provider
def to_buy(look: Look) -> Iterator[Need]:
    """Below the reorder point: to buy, or ordered already (R38)."""
    for s in look.sums:
        if not s.short:
            continue
        unit, about = s.material.unit, ("material", s.material.code)
        tonight = end_of_day_us(local_date(look.now_us, look.zone), look.zone)
        stands = say(
            "{material}: {usable} usable, reorder at {reorder_at}",
            material=s.material.code,
            usable=display(s.usable, unit),
            reorder_at=display(s.material.reorder_at or 0, unit),
        )
        if s.to_buy:
            coming = say("; {ordered}, which is not enough", ordered=_ordered(s)) if s.on_order else ""
            yield Need(
                "today",
                "stock.low",
                say("{stands}{coming}. To buy.", stands=stands, coming=coming),
                roles_of(STOREKEEPER, OWNER),
                about,
                tonight,
            )
        else:
            yield Need(
                "note",
                "stock.ordered",
                say("{stands}; {ordered}.", stands=stands, ordered=_ordered(s)),
                roles_of(STOREKEEPER, OWNER),
                about,
            )


def _ordered(s: Stock) -> str:
    first = s.orders[0]
    number = say(" ({order_number})", order_number=first.order_number) if first.order_number else ""
    due = say(", due {spelled}", spelled=spelled(first.due_on)) if first.due_on else say(", no date given")
    return say("{on_order} ordered{number}{due}", on_order=display(s.on_order, s.material.unit), number=number, due=due)
