"""Count a whole place: begin, see one thing after another with or without its amount, take one off the sheet again.

A sheet under way is a working paper: nothing here is a record of stock. It stands in the database from the first scan, so a count
goes on where it was after a reload, on another device, or by somebody else."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import F

from inventory.core.reasons import BadInput, Reason, Refused, key_reused
from inventory.core.said import say, strung
from inventory.core.spans import day_text
from inventory.core.units import display
from inventory.models import CountLine, CountSheet, CountTold, Item, ItemState, Location
from inventory.reads.stock import STOCK_KINDS

from .counting import Count, counted_of, differs
from .registry import SHOP, Call, Outcome, refuse, verb
from .repeats import further
from .resolve import item_of, place_of

TRIES = 4


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
    found = next((found for _ in range(TRIES) if (found := _open_sheet(call, place)) is not None), None)
    if found is None:
        text = say("Others begin and end counts of {place} at this very moment: try again when they are done.", place=place.name)
        refuse(call, "count_begin", p, Reason("count.busy", text, {"place": place.code}))
    sheet, begun = found
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


def _open_sheet(call: Call, place: Location) -> tuple[CountSheet, bool] | None:
    """The place's count under way, and whether it is new. None: another began as we did and was over before we looked at it."""
    first = {"begun_by_id": call.who.person, "begun_us": call.now_us}
    rows = CountSheet.objects.select_related("begun_by")
    with suppress(IntegrityError):
        return rows.get_or_create(site_id=call.who.site, location=place, ended_us=None, defaults=first)
    return None


@verb("count_see", CountSee, SHOP, say("Seen on a count"), observable=False)
def count_see(call: Call, p: CountSee) -> Outcome:
    sheet = sheet_row(call, p.sheet)
    item = item_of(call, p.item)
    if told_before(call, sheet, p):
        return _seen(sheet, item, CountLine.objects.select_related("booked").get(sheet=sheet, item=item), False)
    still_open(call, "count_see", p, sheet)
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
        news = {"counted": found.value, "measured_us": call.now_us, "how": found.how, "typed": typed[:200], "book": state.qty, "gone": ""}
    elif amounts:
        raise BadInput("count.one_way", say("A core alone is no count: give the gross mass or the diameter as well."), next(iter(amounts)))
    if p.reason.strip():
        news["reason"] = p.reason.strip()[:200]
    line, again = _write(call, p, sheet, item, state, news)
    return _seen(sheet, item, line, again, bool(news))


def _write(call: Call, p: CountSee, sheet: CountSheet, item: Item, state: ItemState, news: dict[str, Any]) -> tuple[CountLine, bool]:
    """The thing's line, made or added to, and whether it was there before; a second read of the same thing changes nothing."""
    rows = CountLine.objects.select_related("booked").filter(sheet=sheet, item=item)
    line = rows.filter(struck=False).first()
    if line is not None and not news:
        return line, True
    first = {"seen_us": call.now_us, "seen_by_id": call.who.person, "booked_id": state.location_id, "book": state.qty, "gone": state.gone}
    again = False

    def write() -> None:
        nonlocal again
        there = rows.first()  # now that the sheet is ours: whoever saw it or took it off a moment ago has done so
        again = there is not None and not there.struck
        CountLine.objects.update_or_create(sheet=sheet, item=item, defaults=news if again else {**first, "struck": False, **news})

    change(call, "count_see", p, sheet, write)
    return rows.get(), again


def _seen(sheet: CountSheet, item: Item, line: CountLine, again: bool, news: bool = True) -> Outcome:
    return Outcome(_said(sheet, item, line, again and not news), [], _data(sheet, item, line, again))


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
    sheet = sheet_row(call, p.sheet)
    item = item_of(call, p.item)
    if not told_before(call, sheet, p):
        still_open(call, "count_strike", p, sheet)
        rows = CountLine.objects.filter(sheet=sheet, item=item, struck=False)
        if not rows.exists():
            return Outcome(say("{item} is not on this count.", item=item), [], {"sheet": sheet.pk, "item": item.code})
        off = {"struck": True, "counted": None, "measured_us": None, "how": "", "typed": "", "reason": ""}
        change(call, "count_strike", p, sheet, lambda: rows.update(**off))
    return Outcome(say("{item} is off the count again.", item=item), [], {"sheet": sheet.pk, "item": item.code})


# --- what the ends of a count share -------------------------------------------------------------------------


def sheet_row(call: Call, number: int) -> CountSheet:
    """A count of the caller's site. BadInput count.unknown."""
    rows = CountSheet.objects.select_related("location", "ended_by").filter(site=call.who.site)
    row = rows.filter(pk=number).first() if 0 < number < 2**63 else None
    if row is None:
        raise BadInput("count.unknown", say("There is no such count here: begin one with the place."), "sheet")
    return row


def still_open(call: Call, name: str, params: Any, sheet: CountSheet) -> None:
    """Refused count.over once it is not under way any more."""
    if sheet.ended_us is not None:
        refuse(call, name, params, over(sheet, call.who.zone))


def over(sheet: CountSheet, zone: str) -> Reason:
    assert sheet.ended_us is not None and sheet.ended_by is not None
    text = say(
        "This count of {location} ended {ended}, by {ended_by}: begin another.",
        location=sheet.location.name,
        ended=day_text(sheet.ended_us, zone),
        ended_by=sheet.ended_by.name,
    )
    return Reason("count.over", text, {"sheet": sheet.pk})


def change(call: Call, name: str, params: Any, sheet: CountSheet, write: Callable[[], object]) -> None:
    """`write` in a transaction in which the sheet changes, one after another, if it is still under way: whoever looked at it before has
    to look again. Nothing where somebody told the same under this key a moment ago. Refused count.over, key.reused."""
    try:
        with transaction.atomic():
            if not CountSheet.objects.filter(pk=sheet.pk, ended_us=None).update(rev=F("rev") + 1):
                sheet.refresh_from_db()
                raise Refused(over(sheet, call.who.zone))
            if told_before(call, sheet, params):
                transaction.set_rollback(True)  # the sheet stays as whoever looked at it last has seen it
                return
            CountTold.objects.create(sheet=sheet, key=call.key, said=_hash(params))
            write()
    except Refused as refused:  # told outside of the transaction, which takes nothing along
        refuse(call, name, params, *refused.reasons)


def told_before(call: Call, sheet: CountSheet, params: Any) -> bool:
    """This very change was told before, under the same key (R32). Refused key.reused when the key was used for another."""
    told = CountTold.objects.filter(sheet=sheet, key=call.key).first()
    if told is not None and told.said != _hash(params):
        raise Refused(key_reused())
    return told is not None


def _hash(params: Any) -> str:
    return further(params).of


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
