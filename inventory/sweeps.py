"""Sweeps: push along what is due. Running one twice, late or in parallel changes nothing, and nothing depends on one having run:
the gate and the screens judge by records and the clock alone.

A sweep reads only rows that are due. Every flag is dated by the instant that was computed, not by when the sweep ran.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from django.db.models import Q

from inventory.core.lives import spoken
from inventory.core.said import say
from inventory.core.spans import day_text, end_of_day_us
from inventory.core.units import display
from inventory.flags import raise_flag
from inventory.models import Delivery, Flag, ItemState, Site
from inventory.reads.stock import usable_now
from inventory.recording.transaction import NOTICE_US

BATCH = 500


class Event(NamedTuple):
    """Something that comes due on an item: when, under which code, for whom, in which words."""

    at_us: int
    code: str
    role: str
    text: str


def sweep(site: Site, now_us: int) -> int:
    """Raise and withdraw flags for one site. Gives how many are new."""
    new = sweep_items(site, now_us) + sweep_deliveries(site, now_us) + sweep_stock(site, now_us)
    withdraw(site, now_us)
    return new


def sweep_items(site: Site, now_us: int) -> int:
    """Items whose next notice is due, in batches; each then waits for its next instant."""
    new = 0
    while True:
        rows = list(
            ItemState.objects.filter(item__site=site, due_us__lte=now_us)
            .select_related("item", "location")
            .order_by("due_us", "pk")[:BATCH]
        )
        for row in rows:
            events = list(events_of(row, site.zone))
            new += sum(
                raise_flag(site.pk, f"item:{row.pk}", e.code, e.role, e.text, e.at_us, now_us, row.pk) for e in events if e.at_us <= now_us
            )
            following = min((e.at_us for e in events if e.at_us > now_us), default=None)
            # Only if nobody has recorded anything meanwhile: a newer state has its own next instant.
            ItemState.objects.filter(pk=row.pk, head=row.head, due_us=row.due_us).update(due_us=following)
        if len(rows) < BATCH:
            return new


def events_of(row: ItemState, zone: str) -> Iterator[Event]:
    """What comes due on an item that is still in use: its end announced, its end, its planned return."""
    if row.gone or not row.qty:
        return
    name = str(row.item)
    if row.ends_us is not None:
        when, governs = day_text(row.ends_us, zone), spoken(row.governs)
        yield Event(
            row.ends_us - NOTICE_US,
            "life.ending",
            "storekeeper",
            say("{name}: {governs} ends {when}.", name=name, governs=governs, when=when),
        )
        yield Event(
            row.ends_us, "life.over", "storekeeper", say("{name}: {governs} was over {when}.", name=name, governs=governs, when=when)
        )
    if row.back_us is not None:
        place = row.location.name if row.location else "?"
        yield Event(
            row.back_us,
            "out.overdue",
            "storekeeper",
            say("{name} should have been back {back}; it is in {place}.", name=name, back=day_text(row.back_us, zone), place=place),
        )


def sweep_deliveries(site: Site, now_us: int) -> int:
    """Deliveries that should have come."""
    new = 0
    for d in Delivery.objects.filter(site=site, arrived_us__isnull=True, cancelled_us__isnull=True, due_on__isnull=False).select_related(
        "material"
    ):
        assert d.due_on is not None
        late = end_of_day_us(d.due_on, site.zone)
        if late <= now_us:
            text = say(
                "{number} ({material}) was due {due_on} and has not come.",
                number=d.number,
                material=d.material.code,
                due_on=d.due_on.isoformat(),
            )
            new += raise_flag(site.pk, f"delivery:{d.pk}", "delivery.late", "storekeeper", text, late, now_us)
    return new


def sweep_stock(site: Site, now_us: int) -> int:
    """Materials below their reorder point with too little on order. Dated by the last movement of the material, so that
    two sweeps of the same stock raise the same flag."""
    new = 0
    low = [s for s in usable_now(site.pk, site.zone, now_us) if s.to_buy]
    subjects = {f"material:{s.material.pk}": s for s in low}
    standing = set(Flag.objects.filter(site=site, code="stock.low", withdrawn_us__isnull=True).values_list("subject", flat=True))
    for subject, s in subjects.items():
        if subject in standing:
            continue
        last = ItemState.objects.filter(item__material=s.material).order_by("-since_us").values_list("since_us", flat=True).first() or 0
        unit = s.material.unit
        text = say(
            "{material}: {usable} usable, reorder at {reorder_at}.",
            material=s.material.code,
            usable=display(s.usable, unit),
            reorder_at=display(s.material.reorder_at or 0, unit),
        )
        new += raise_flag(site.pk, subject, "stock.low", "storekeeper", text, last, now_us)
    gone = Flag.objects.filter(site=site, code="stock.low", withdrawn_us__isnull=True).exclude(subject__in=subjects)
    gone.update(withdrawn_us=now_us)
    return new


def withdraw(site: Site, now_us: int) -> None:
    """Take down flags whose cause has gone: used up, brought back, extended, arrived."""
    standing = Flag.objects.filter(site=site, withdrawn_us__isnull=True)
    items = standing.filter(item__isnull=False)
    items.filter(code__in=["life.ending", "life.over", "out.overdue"]).filter(Q(item__state__qty=0) | ~Q(item__state__gone="")).update(
        withdrawn_us=now_us
    )
    for flag in items.filter(code="out.overdue").select_related("item__state"):
        if flag.item is not None and flag.item.state.back_us != flag.at_us:
            Flag.objects.filter(pk=flag.pk).update(withdrawn_us=now_us)
    for flag in items.filter(code__in=["life.ending", "life.over"]).select_related("item__state"):
        ends = flag.item.state.ends_us if flag.item is not None else None
        shift = NOTICE_US if flag.code == "life.ending" else 0
        if ends is None or ends - shift > now_us:
            Flag.objects.filter(pk=flag.pk).update(withdrawn_us=now_us)
    arrived = (
        Delivery.objects.filter(site=site).filter(Q(arrived_us__isnull=False) | Q(cancelled_us__isnull=False)).values_list("pk", flat=True)
    )
    standing.filter(code="delivery.late", subject__in=[f"delivery:{pk}" for pk in arrived]).update(withdrawn_us=now_us)
