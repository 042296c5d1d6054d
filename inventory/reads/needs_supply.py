"""What comes in and what must be bought or counted."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from inventory.core.packs import counted, usual_kind
from inventory.core.spans import DAYS, MONTHS, end_of_day_us, local_date
from inventory.core.units import display
from inventory.models import Delivery, Finding, Item

from .looking import OWNER, STOREKEEPER, Look, Need, provider, roles_of
from .stock import Stock

SOON_DAYS = 7


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
            text = f"{d.number}: {what} was due {spelled(d.due_on)} and has not come. Ask {d.supplier}."
            yield Need("now", "delivery.late", text, roles_of(STOREKEEPER, OWNER), about, at)
        else:
            text = f"{d.number}: {what}, due {'today' if not days else spelled(d.due_on)}."
            yield Need("soon" if days else "today", "delivery.due", text, roles_of(STOREKEEPER), about, at)


def described(d: Delivery) -> str:
    """ "3 rolls of GB-600, lot G7, 300.00 m in all"."""
    pieces = f"{counted(d.expected_pieces, usual_kind(d.material.kind, d.material.unit))} of " if d.expected_pieces else ""
    lot = f", lot {d.lot_number}" if d.lot_number else ""
    total = f", {display(d.expected_qty, d.material.unit)} in all" if d.expected_qty else ""
    return f"{pieces}{d.material.code}{lot}{total}"


def spelled(day: date) -> str:
    """ "Wed 1 Apr": weekdays are what people plan by."""
    return f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


@provider
def to_buy(look: Look) -> Iterator[Need]:
    """Below the reorder point: to buy, or ordered already (R38)."""
    for s in look.sums:
        if not s.short:
            continue
        unit, about = s.material.unit, ("material", s.material.code)
        stands = f"{s.material.code}: {display(s.usable, unit)} usable, reorder at {display(s.material.reorder_at or 0, unit)}"
        if s.to_buy:
            coming = f"; {_ordered(s)}, which is not enough" if s.on_order else ""
            yield Need("today", "stock.low", f"{stands}{coming}. To buy.", roles_of(STOREKEEPER, OWNER), about)
        else:
            yield Need("note", "stock.ordered", f"{stands}; {_ordered(s)}.", roles_of(STOREKEEPER, OWNER), about)


def _ordered(s: Stock) -> str:
    first = s.orders[0]
    number = f" ({first.order_number})" if first.order_number else ""
    due = f", due {spelled(first.due_on)}" if first.due_on else ", no date given"
    return f"{display(s.on_order, s.material.unit)} ordered{number}{due}"


@provider
def to_count(look: Look) -> Iterator[Need]:
    """Books that fell below nothing through something that had already happened: only a count settles them."""
    open_ones = Finding.objects.filter(item__site=look.site, closed_us__isnull=True, code__startswith="stock.below")
    items: dict[int, tuple[Item, int]] = {}
    for finding in open_ones.select_related("item").order_by("at_us", "pk"):
        items.setdefault(finding.item_id, (finding.item, finding.at_us))
    for item, at in items.values():
        text = f"{item}: more was used than the book had. Count it."
        yield Need("today", "count.needed", text, roles_of(STOREKEEPER), ("item", item.code), at)
