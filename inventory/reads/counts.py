"""A place that is counted: what is expected there and was not seen yet, what was seen though the book has it elsewhere or gone, and what
differs. Worked out from the sheet's rows and the states as they are now, in a number of queries that does not grow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.core.units import display
from inventory.models import CountLine, CountSheet, ItemState, Leg, Location

from .stock import on_hand

SIGHTS = frozenset(
    {"receive", "move", "dry", "open", "cut", "pour", "mix", "lay", "heat", "count", "use", "scrap", "return", "ship", "sell", "join"}
)
"""Kinds of act by which somebody had the thing in hand: whoever recorded one has seen it."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A line of a sheet with the thing's state now."""

    line: CountLine
    state: ItemState

    @property
    def difference(self) -> int | None:
        """What was counted against what the book had then; None: its amount was not counted."""
        return None if self.line.counted is None else self.line.counted - self.line.book

    @property
    def differs(self) -> bool:
        return bool(self.difference)


@dataclass
class Count:
    """A count as it stands. `waiting` is expected and not seen yet; `handled`: a record has named it since the count began, which is
    as good as seen. When it is over, `missing` is what was not found."""

    sheet: CountSheet
    here: list[Seen] = field(default_factory=list)
    elsewhere: list[Seen] = field(default_factory=list)
    gone: list[Seen] = field(default_factory=list)
    missing: list[Seen] = field(default_factory=list)
    waiting: list[ItemState] = field(default_factory=list)
    handled: list[ItemState] = field(default_factory=list)

    @property
    def under_way(self) -> bool:
        return self.sheet.ended_us is None

    @property
    def seen(self) -> list[Seen]:
        return [*self.here, *self.elsewhere, *self.gone]

    @property
    def differing(self) -> list[Seen]:
        return [s for s in (*self.here, *self.elsewhere) if s.differs]

    @property
    def measured(self) -> list[Seen]:
        return [s for s in self.seen if s.line.counted is not None]

    def find(self, code: str) -> Seen | None:
        return next((s for s in self.seen if s.line.item.code == code), None)


def look(sheet: CountSheet) -> Count:
    """What was seen, and what is still expected."""
    rows = CountLine.objects.filter(sheet=sheet, struck=False).select_related(
        "item__material", "item__state__location", "booked", "seen_by", "act", "settled_by"
    )
    found = Count(sheet)
    for line in sorted(rows, key=lambda row: (-(row.seen_us or 0), -row.pk)):
        seen = Seen(line, line.item.state)
        _pile(found, seen).append(seen)
    if found.under_way:
        named = {s.line.item_id for s in found.seen}
        expected = [s for s in on_hand(sheet.site_id, location=sheet.location_id) if s.item_id not in named]
        touched = _touched([s.item_id for s in expected], sheet.begun_us)
        found.waiting = sorted((s for s in expected if s.item_id not in touched), key=lambda s: str(s.item))
        found.handled = sorted((s for s in expected if s.item_id in touched), key=lambda s: str(s.item))
    return found


def _pile(count: Count, seen: Seen) -> list[Seen]:
    """Where a line belongs. While the count is under way a record made in between counts too: booked here by now, or void."""
    line, state = seen.line, seen.state
    if line.seen_us is None:
        return count.missing
    open_ = count.under_way
    if line.gone and (state.gone or not open_):
        return count.gone
    if line.booked_id != count.sheet.location_id and not (open_ and state.location_id == count.sheet.location_id):
        return count.elsewhere
    return count.here


def _touched(items: Sequence[int], from_us: int) -> set[int]:
    """Which of these somebody had in hand since then, by the records."""
    legs = Leg.objects.filter(item__in=items, act__kind__in=SIGHTS, act__happened_us__gt=from_us, act__voided_by__isnull=True)
    return set(legs.values_list("item_id", flat=True)) if items else set()


# --- what a count left to decide --------------------------------------------------------------------------


def to_decide(site: int) -> QuerySet[CountLine]:
    """What counts have found that somebody must decide about: not found, seen elsewhere than booked, seen though gone. A record of the
    thing that came later answers it, a later count that saw it in its place too, and a word."""
    later = Leg.objects.filter(
        item=OuterRef("item"), act__kind__in=SIGHTS, act__recorded_us__gt=OuterRef("sheet__ended_us"), act__voided_by__isnull=True
    )
    again = CountLine.objects.filter(item=OuterRef("item"), sheet__ended_us__gt=OuterRef("sheet__ended_us"))
    rows = CountLine.objects.filter(asks=True, settled_us__isnull=True, sheet__site=site, sheet__dropped=False)
    rows = rows.filter(~Exists(later), ~Exists(again.filter(struck=False)))
    return rows.select_related("item__state", "item__material", "sheet__location", "sheet__ended_by", "booked").order_by("pk")


def still_asks(line: CountLine) -> bool:
    """What is gone by now is missed no more; what was gone and is not any more was put right."""
    return bool(line.item.state.gone) if line.gone else not line.item.state.gone


# --- which places are due ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Due:
    """A place with its last count. `days_over`: since when it is due; None: it is not, or nobody set an interval."""

    place: Location
    last: CountSheet | None
    under_way: CountSheet | None
    days_over: int | None


def places(site: int, zone: str, now_us: int) -> list[Due]:
    """Every place in use, with its last count and whether the next is due. A place that was never counted is due at once."""
    over = CountSheet.objects.filter(location=OuterRef("pk"), ended_us__isnull=False, dropped=False).order_by("-ended_us", "-pk")
    rows = Location.objects.filter(site=site, retired_us__isnull=True).annotate(last_count=Subquery(over.values("pk")[:1])).order_by("code")
    found = list(rows)
    wanted = CountSheet.objects.select_related("ended_by", "begun_by")
    last = wanted.in_bulk([p.last_count for p in found if p.last_count is not None])
    going = {s.location_id: s for s in wanted.filter(site=site, ended_us__isnull=True)}
    return [_due(p, last.get(p.last_count), going.get(p.pk), zone, now_us) for p in found]


def _due(place: Location, last: CountSheet | None, going: CountSheet | None, zone: str, now_us: int) -> Due:
    if place.count_days is None or going is not None:
        return Due(place, last, going, None)
    if last is None or last.ended_us is None:
        return Due(place, None, None, 0)
    over = (local_date(now_us, zone) - local_date(last.ended_us, zone) - timedelta(days=place.count_days)).days
    return Due(place, last, None, over if over >= 0 else None)


def change_text(seen: Seen) -> str:
    """ "−0.34 m", "+2 pieces", "as in the book"."""
    difference = seen.difference
    if not difference:
        return say("as in the book")
    return ("+" if difference > 0 else "−") + display(abs(difference), seen.line.item.unit)
