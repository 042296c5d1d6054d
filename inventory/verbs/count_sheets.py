"""Count a whole place: begin, see one thing after another with or without its amount, take one off the sheet again.

A sheet under way is a working paper: nothing here is a record of stock. It stands in the database from the first scan, so a count
goes on where it was after a reload, on another device, or by somebody else."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F

from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say, strung
from inventory.core.spans import day_text
from inventory.core.units import display
from inventory.models import CountLine, CountSheet, Item, ItemState
from inventory.reads.stock import STOCK_KINDS

from .counting import Count, counted_of, differs
from .registry import SHOP, Call, Outcome, refuse, verb
from .resolve import item_of, place_of


@dataclass(frozen=True, slots=True)
class CountBegin:
    """`place`: the place that is counted. There is one count of a place at a time: where one is under way, it goes on."""

    place: str


@dataclass(frozen=True, slots=True)
class CountSee:
    """`item` lies at the place of count `sheet`. Its amount, if it is counted: `quantity` as measured ("18.06 m"), or `gross` mass with
    `core` (tare), or `diameter` with `core_diameter`. `reason`: why it differs from the book."""

    sheet: int
    item: str
    quantity: str = ""
    gross: str = ""
    core: str = ""
    diameter: str = ""
    core_diameter: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class CountStrike:
    """`item` was put on count `sheet` by mistake: take it off again."""

    sheet: int
    item: str


@verb("count_begin", CountBegin, SHOP, say("Count a place"), observable=False)
def count_begin(call: Call, p: CountBegin) -> Outcome:
    place = place_of(call, p.place)
    going = CountSheet.objects.filter(location=place, ended_us=None).select_related("begun_by")
    try:
        with transaction.atomic():
            sheet, begun = going.first(), False
            if sheet is None:
                who = call.who
                sheet = CountSheet.objects.create(site_id=who.site, location=place, begun_by_id=who.person, begun_us=call.now_us)
                begun = True
    except IntegrityError:  # somebody began it at the same moment
        sheet, begun = going.get(), False
    if begun:
        text = say("The count of {place} has begun: scan what lies there, one after another.", place=place.name)
    else:
        text = say(
            "The count of {place} goes on: {begun_by} began it {begun}.",
            place=place.name,
            begun_by=sheet.begun_by.name,
            begun=day_text(sheet.begun_us, call.who.zone),
        )
    return Outcome(text, [], {"sheet": sheet.pk, "place": place.code, "rev": sheet.rev, "begun": begun})


@verb("count_see", CountSee, SHOP, say("Seen on a count"), observable=False)
def count_see(call: Call, p: CountSee) -> Outcome:
    sheet = sheet_of(call, "count_see", p, p.sheet)
    item = item_of(call, p.item)
    state = _state(item)
    given = Count(item.code, p.quantity, p.gross, p.core, p.diameter, p.core_diameter)
    amounts = {name: text for name in ("quantity", "gross", "core", "diameter", "core_diameter") if (text := getattr(given, name).strip())}
    news: dict[str, Any] = {}
    if set(amounts) & {"quantity", "gross", "diameter"}:
        if state.gone:
            text = say(
                "{item} is {gone} by the book: nothing of it can be counted. If that is wrong, quality can void the record.",
                item=item,
                gone=state.gone,
            )
            raise BadInput("count.gone", text, "quantity")
        found = counted_of(item, given)
        typed = strung(", ", (say("{name} {text}", name=name.replace("_", " "), text=text[:40]) for name, text in amounts.items()))
        news = {"counted": found.value, "measured_us": call.now_us, "how": found.how, "typed": typed[:200], "book": state.qty}
    elif amounts:
        raise BadInput("count.one_way", say("A core alone is no count: give the gross mass or the diameter as well."), next(iter(amounts)))
    if p.reason.strip():
        news["reason"] = p.reason.strip()[:200]
    line, again = _write(call, p, sheet, item, state, news)
    return Outcome(_said(sheet, item, line, again and not news), [], _data(sheet, item, line, again))


def _write(call: Call, p: CountSee, sheet: CountSheet, item: Item, state: ItemState, news: dict[str, Any]) -> tuple[CountLine, bool]:
    """The thing's line: made, or added to; a second read of the same thing changes nothing."""
    first = {"seen_us": call.now_us, "seen_by_id": call.who.person, "booked_id": state.location_id, "book": state.qty, "gone": state.gone}
    rows = CountLine.objects.select_related("booked").filter(sheet=sheet, item=item)
    for _ in range(2):
        line = rows.first()
        again = line is not None and not line.struck
        values = news if again else {**first, "struck": False, **news}
        if line is not None and not values:
            return line, True
        try:
            with changing(call, "count_see", p, sheet):
                if line is None:
                    CountLine.objects.create(sheet=sheet, item=item, **values)
                else:
                    CountLine.objects.filter(pk=line.pk).update(**values)
        except IntegrityError:  # two devices read the same thing at the same moment: it is there now
            continue
        return rows.get(), again
    raise BadInput("count.busy", say("Somebody else scanned this very thing just now: scan it again."), "item")


def _said(sheet: CountSheet, item: Item, line: CountLine, again: bool) -> str:
    """One sentence that answers the scan."""
    if again:
        return say("{item} was seen already.", item=item)
    if line.gone:
        return say("{item} lies here, but it is {gone} by the book.", item=item, gone=line.gone)
    if line.booked_id != sheet.location_id:
        booked = line.booked.name if line.booked is not None else say("nowhere yet")
        return say("{item} lies here, but the book has it in {booked}.", item=item, booked=booked)
    if line.counted is not None:
        return say(
            "{item}: {counted}; {differs}.",
            item=item,
            counted=display(line.counted, item.unit),
            differs=differs(item, line.counted - line.book, line.how),
        )
    if line.book < 0:
        return say("{item} is seen. More was used than the book had: count it.", item=item)
    return say("{item} is seen. The book has {book}.", item=item, book=display(line.book, item.unit))


def _data(sheet: CountSheet, item: Item, line: CountLine, again: bool) -> dict[str, Any]:
    saw = "gone" if line.gone else "here" if line.booked_id == sheet.location_id else "elsewhere"
    return {
        "sheet": sheet.pk,
        "item": item.code,
        "saw": saw,
        "again": again,
        "booked": line.booked.code if line.booked is not None else None,
        "book": line.book,
        "counted": line.counted,
        "difference": None if line.counted is None else line.counted - line.book,
    }


@verb("count_strike", CountStrike, SHOP, say("Take off a count"), observable=False)
def count_strike(call: Call, p: CountStrike) -> Outcome:
    sheet = sheet_of(call, "count_strike", p, p.sheet)
    item = item_of(call, p.item)
    rows = CountLine.objects.filter(sheet=sheet, item=item, struck=False)
    if not rows.exists():
        return Outcome(say("{item} is not on this count.", item=item), [], {"sheet": sheet.pk, "item": item.code})
    with changing(call, "count_strike", p, sheet):
        rows.update(struck=True, counted=None, measured_us=None, how="", typed="", reason="")
    return Outcome(say("{item} is off the count again.", item=item), [], {"sheet": sheet.pk, "item": item.code})


# --- what the ends of a count share -------------------------------------------------------------------------


def sheet_row(call: Call, number: int) -> CountSheet:
    """A count of the caller's site. BadInput count.unknown."""
    rows = CountSheet.objects.select_related("location", "ended_by").filter(site=call.who.site)
    row = rows.filter(pk=number).first() if 0 < number < 2**63 else None
    if row is None:
        raise BadInput("count.unknown", say("There is no such count here: begin one with the place."), "sheet")
    return row


def sheet_of(call: Call, name: str, params: Any, number: int) -> CountSheet:
    """The same, while it is under way; refused once it is over."""
    row = sheet_row(call, number)
    if row.ended_us is not None:
        refuse(call, name, params, over(row, call.who.zone))
    return row


def over(sheet: CountSheet, zone: str) -> Reason:
    assert sheet.ended_us is not None and sheet.ended_by is not None
    text = say(
        "This count of {location} ended {ended}, by {ended_by}: begin another.",
        location=sheet.location.name,
        ended=day_text(sheet.ended_us, zone),
        ended_by=sheet.ended_by.name,
    )
    return Reason("count.over", text, {"sheet": sheet.pk})


@contextmanager
def changing(call: Call, name: str, params: Any, sheet: CountSheet) -> Iterator[None]:
    """A transaction in which the sheet changes, if it is still under way: whoever looked at it before has to look again."""
    try:
        with transaction.atomic():
            if not CountSheet.objects.filter(pk=sheet.pk, ended_us=None).update(rev=F("rev") + 1):
                sheet.refresh_from_db()
                raise Refused(over(sheet, call.who.zone))
            yield
    except Refused as refused:  # told outside of the transaction, which takes nothing along
        refuse(call, name, params, *refused.reasons)


def _state(item: Item) -> ItemState:
    """The state of a thing that is counted as stock. BadInput count.not_stock, count.unborn."""
    if item.kind not in STOCK_KINDS:
        raise BadInput(
            "count.not_stock",
            say(
                "{item} is a {get_kind_display}: a count is of material, parts are left out.",
                item=item,
                get_kind_display=item.get_kind_display(),
            ),
            "item",
        )
    state = ItemState.objects.filter(pk=item.pk).first()
    if state is None:
        raise BadInput("count.unborn", say("{item} has a label, but nobody recorded what it is yet: receive it first.", item=item), "item")
    return state
