"""What must be counted, what is being counted, and what counts have left to decide."""

from __future__ import annotations

from collections.abc import Iterator

from inventory.core.said import say
from inventory.core.spans import end_of_day_us, local_date
from inventory.core.units import display
from inventory.models import CountLine, Finding, Item

from . import counts
from .counts import Due
from .looking import OWNER, QUALITY, STOREKEEPER, Look, Need, provider, roles_of

WEEK_US = 7 * 86_400_000_000


@provider
def to_count(look: Look) -> Iterator[Need]:
    """Books that fell below nothing through something that had already happened: only a count settles them."""
    open_ones = Finding.objects.filter(item__site=look.site, closed_us__isnull=True, code__startswith="stock.below")
    items: dict[int, tuple[Item, int]] = {}
    for finding in open_ones.select_related("item").order_by("at_us", "pk"):
        items.setdefault(finding.item_id, (finding.item, finding.at_us))
    for item, at in items.values():
        text = say("{item}: more was used than the book had. Count it.", item=item)
        yield Need("today", "count.needed", text, roles_of(STOREKEEPER), ("item", item.code), at)


@provider
def places_to_count(look: Look) -> Iterator[Need]:
    """Places whose count is due, by the interval that the owner set, and counts that were begun and not ended."""
    for due in counts.places(look.site, look.zone, look.now_us):
        if due.under_way is not None:
            yield _going(look, due)
        elif due.days_over is not None:
            yield _due(look, due)


def _going(look: Look, due: Due) -> Need:
    sheet = due.under_way
    assert sheet is not None
    text = say(
        "{place} is being counted: {begun_by} began {day}. Go on, or leave it off.",
        place=due.place.name,
        begun_by=sheet.begun_by.name,
        day=_day(look, sheet.begun_us),
    )
    return Need("today", "count.under_way", text, roles_of(STOREKEEPER), ("count", str(sheet.pk)), tonight(look))


def _due(look: Look, due: Due) -> Need:
    place, last, roles = due.place, due.last, roles_of(STOREKEEPER)
    about = ("place", place.code)
    if last is None or last.ended_us is None or last.ended_by is None:
        return Need("today", "count.due", say("{place} has never been counted. Count it.", place=place.name), roles, about, tonight(look))
    when, who, days = _day(look, last.ended_us), last.ended_by.name, say("{count_days} days", count_days=place.count_days)
    text = say(
        "{place} was last counted {when} by {who}, and is counted every {days}. Count it.", place=place.name, when=when, who=who, days=days
    )
    return Need("today", "count.due", text, roles, about, tonight(look))


def tonight(look: Look) -> int:
    """After what is due today: counting can wait until the deliveries are in."""
    return end_of_day_us(local_date(look.now_us, look.zone), look.zone) + 1


def _day(look: Look, us: int) -> str:
    """As people say it, with the year when it is another one: a place may not have been counted for long."""
    year = local_date(us, look.zone).year
    return look.day(us) if year == local_date(look.now_us, look.zone).year else say("{day} in {year}", day=look.day(us), year=year)


@provider
def count_asks(look: Look) -> Iterator[Need]:
    """What was not found, stood elsewhere than booked, or was there though gone: the book waits for a decision."""
    for line in counts.to_decide(look.site):
        if counts.still_asks(line):
            urgency = "today" if look.now_us - (line.sheet.ended_us or 0) < WEEK_US else "soon"
            roles = roles_of(STOREKEEPER, QUALITY) if line.gone else roles_of(STOREKEEPER, OWNER)
            yield Need(urgency, asked_code(line), asked_text(look, line), roles, ("count", str(line.sheet_id)), line.sheet.ended_us or 0)


def asked_code(line: CountLine) -> str:
    return "count.missing" if line.seen_us is None else "count.gone" if line.gone else "count.elsewhere"


def asked_text(look: Look, line: CountLine) -> str:
    """The sentence for one thing."""
    item, place, when = line.item, line.sheet.location.name, _day(look, line.sheet.ended_us or 0)
    if line.seen_us is None:
        amount = display(line.item.state.qty, item.unit)
        return say(
            "{item} was not found in {place} when it was counted {when}; the book has {amount}. Find it, or scrap what is lost.",
            item=item,
            place=place,
            when=when,
            amount=amount,
        )
    if line.gone:
        return say(
            "{item} lay in {place} when it was counted {when}, but it is {gone} by the book. Throw it away, or ask quality.",
            item=item,
            place=place,
            when=when,
            gone=line.gone,
        )
    booked = line.booked.name if line.booked is not None else say("nowhere yet")
    return say(
        "{item} lay in {place} when it was counted {when}, but the book has it in {booked}. Put it where it belongs.",
        item=item,
        place=place,
        when=when,
        booked=booked,
    )
