"""How a count looks: the thing that was scanned last, what is still expected, what was seen, and what its end will write."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html

from inventory.core.said import say
from inventory.core.units import display
from inventory.models import CountLine, CountSheet, Item, ItemState
from inventory.reads import counts
from inventory.reads.counts import Count, Due, Seen
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column

from .doing import status_of
from .door import Answer, Shop
from .itemforms import AmountForm
from .ways import item_link, item_url, joined, may, to, verb_url

WAITING = (Column(say("What")), Column(say("Material")), Column(say("By the book"), num=True))
HANDLED = (*WAITING, Column(say("Why it counts as seen"), wide=True))
SEEN = (
    Column(say("What")),
    Column(say("Material")),
    Column(say("By the book"), num=True),
    Column(say("Counted"), num=True),
    Column(say("Difference"), num=True),
    Column(say("Why"), wide=True),
    Column(say("Amount")),
)
ELSEWHERE = (
    Column(say("What")),
    Column(say("Material")),
    Column(say("Booked in"), wide=True),
    Column(say("Counted"), num=True),
    Column(say("Book it here")),
)
GONE = (Column(say("What")), Column(say("Material")), Column(say("By the book"), wide=True))
ASKS = (Column(say("What")), Column(say("Place")), Column(say("Counted at")), Column(say("What to decide"), wide=True))


class SeenForm(AmountForm):
    """The amount of what was seen, and why it differs. A claim to the supplier has the page of the single thing."""

    reason = forms.CharField(required=False, label=say("Why it differs"), help_text=say("Empty: the way it was counted."), max_length=200)


@dataclass(frozen=True, slots=True)
class Last:
    """The thing that was scanned last, and what was answered."""

    item: Item
    tone: str
    word: str
    text: str
    by_weight: bool
    by_diameter: bool
    core_known: str
    pile: str

    @property
    def colour(self) -> str:
        return {"yes": "fit", "ask": "soon"}.get(self.tone, "stop")

    @property
    def shape(self) -> str:
        return {"yes": "tick", "ask": "diamond"}.get(self.tone, "octagon")


def last_of(count: Count, code: str, again: bool) -> Last | None:
    seen = count.find(code) if code else None
    if seen is None:
        return None
    item = seen.line.item
    pile = "gone" if seen in count.gone else "elsewhere" if seen in count.elsewhere else "here"
    tone, word = {"gone": ("no", say("Gone by the book")), "elsewhere": ("ask", say("Booked elsewhere")), "here": ("yes", say("Seen"))}[
        pile
    ]
    return Last(
        item,
        tone,
        say("Seen already") if again and pile == "here" else word,
        answer_text(seen, pile),
        item.unit != "pc",
        item.unit == "um" and bool(item.material and item.material.thickness_um),
        display(item.core_ug, "ug") if item.core_ug is not None else "",
        pile,
    )


def answer_text(seen: Seen, pile: str) -> str:
    """What a person reads right after the scan."""
    item, line = seen.line.item, seen.line
    name = say("{item} ({material})", item=item, material=item.material.code) if item.material is not None else str(item)
    if pile == "gone":
        return say("{name} is {gone} by the book. Put it aside: throw it away, or ask quality.", name=name, gone=line.gone)
    if pile == "elsewhere":
        return say("{name} is booked in {booked}. Book it here if it is to stay, or carry it back.", name=name, booked=booked(line))
    if line.counted is not None:
        return say(
            "{name}: {counted} counted, {change_text}.",
            name=name,
            counted=display(line.counted, item.unit),
            change_text=counts.change_text(seen),
        )
    return say("{name}: the book has {book}.", name=name, book=display(line.book, item.unit))


def booked(line: CountLine) -> str:
    return line.booked.name if line.booked is not None else say("no place yet")


def shown(request: HttpRequest, row: CountSheet, count: Count, answer: Answer, form: SeenForm) -> HttpResponse:
    """The page."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    heading = say("Count of {location}", location=row.location.name)
    code = request.POST.get("item", "") if form.is_bound else request.GET.get("last", "")
    if answer.reasons and not form.is_bound:
        code = ""  # what was scanned was refused: a figure that follows belongs to nothing
    last = last_of(count, code, "again" in request.GET) if count.under_way else None
    wanted = last_of(count, request.POST.get("item", ""), False) if request.POST.get("intent") == "here" else None
    # What was refused names the thing: with its row far below, "Count of" alone would not say which.
    refused = say("{thing} does not go into {place}", thing=wanted.item, place=row.location.name) if wanted is not None else heading
    context = {
        "title": say("No – ") + refused if answer.reasons else heading,
        "heading": heading,
        "refused": refused,
        "sheet": row,
        "count": count,
        "answer": answer,
        "last": last,
        "form": form,
        "here_url": to("count-sheet", row.pk, last=last.item.code if last else ""),
        "may": may(shop, "count_see"),
        "summary": summary(count),
        **(tables_under_way(count, row) if count.under_way else tables_over(count, shop)),
    }
    return render(request, "inventory/count_sheet.html", context, status=status_of(answer, form))


def summary(count: Count) -> list[str]:
    """What the end of the count will write, in sentences."""
    said = []
    if count.measured:
        said.append(
            say(
                "Amounts counted: {measured}, of them differing from the book: {differing}.",
                measured=len(count.measured),
                differing=len(count.differing),
            )
        )
    if count.waiting:
        said.append(
            say(
                "Not seen yet: {waiting}. Nothing of it is written off; it is listed as not found, for a decision.",
                waiting=len(count.waiting),
            )
        )
    if count.elsewhere:
        said.append(say("Booked elsewhere: {elsewhere}. The book stays until somebody puts it right.", elsewhere=len(count.elsewhere)))
    if count.gone:
        said.append(say("Gone by the book, and yet here: {gone}. Quality is told.", gone=len(count.gone)))
    return said


MOST = 100
"""So many rows of a list are shown: a page that answers each scan has to stay quick in a large store."""


def tables_under_way(count: Count, row: CountSheet) -> dict[str, Any]:
    return {
        "most": MOST,
        "waiting_columns": WAITING,
        "waiting": [book_row(s) for s in count.waiting[:MOST]],
        "handled_columns": HANDLED,
        "handled": [[*book_row(s), say("a record has named it since the count began")] for s in count.handled[:MOST]],
        "seen_columns": SEEN,
        "seen": [[*seen_row(s), amount_link(s, row)] for s in count.here[:MOST]],
        "elsewhere_columns": ELSEWHERE,
        "elsewhere": [[*elsewhere_row(s), book_button(s)] for s in count.elsewhere[:MOST]],
        "gone_columns": GONE,
        "gone": [gone_row(s) for s in count.gone[:MOST]],
    }


def tables_over(count: Count, shop: Shop) -> dict[str, Any]:
    """What was found; each amount leads to its record."""
    asks = [*count.missing, *count.elsewhere, *count.gone]
    open_ = {line.pk for line in counts.to_decide(shop.site) if counts.still_asks(line)} if asks else set()
    to_settle = [s for s in asks if s.line.pk in open_]
    return {
        "seen_columns": SEEN,
        "seen": [[*seen_row(s), record_link(s)] for s in count.here],
        "asked_columns": (
            Column(say("What")),
            Column(say("Material")),
            Column(say("What was found"), wide=True),
            Column(say("What became of it"), wide=True),
        ),
        "asked": [asked_row(s, s.line.pk in open_, shop) for s in asks],
        "settle": [(s.line.item.code, str(s.line.item)) for s in to_settle] if may(shop, "count_settle") else [],
    }


def book_row(state: ItemState) -> list[Any]:
    return [item_link(state.item), _material(state.item), words.qty(state.qty, state.item.unit)]


def seen_row(seen: Seen) -> list[Any]:
    line, item = seen.line, seen.line.item
    counted = words.qty(line.counted, item.unit) if line.counted is not None else ""
    difference = "" if seen.difference is None else counts.change_text(seen)
    return [
        item_link(item),
        _material(item),
        words.qty(line.book, item.unit),
        counted,
        difference,
        words.emphasise(line.reason or line.how),
    ]


def elsewhere_row(seen: Seen) -> list[Any]:
    line, item = seen.line, seen.line.item
    counted = words.qty(line.counted, item.unit) if line.counted is not None else ""
    return [item_link(item), _material(item), booked(line), counted]


def gone_row(seen: Seen) -> list[Any]:
    item = seen.line.item
    code = seen.line.gone if seen.line.gone in shapes.STATUS else "gone"
    return [item_link(item), _material(item), shapes.chip(code, "" if code == seen.line.gone else seen.line.gone)]


def amount_link(seen: Seen, row: CountSheet) -> Any:
    item = seen.line.item
    url = f"{to('count-sheet', row.pk, last=item.code)}#amount"
    return words.html_say('<a href="{url}">Enter for {item}</a>', url=url, item=str(item))


def book_button(seen: Seen) -> Any:
    """A button of the form that stands below the tables."""
    item = seen.line.item
    return words.html_say(
        '<button type="submit" class="button small" form="book-here" name="item" value="{code}">Book {item} here</button>',
        code=item.code,
        item=str(item),
    )


def record_link(seen: Seen) -> Any:
    return words.code_link(say("record {act}", act=seen.line.act_id), to("record", seen.line.act_id)) if seen.line.act_id else ""


def ways_on(seen: Seen, shop: Shop) -> list[Any]:
    """What answers the question, as links: it is there after all, it is lost; it goes where it belongs."""
    item, found = seen.line.item, []
    if seen.line.seen_us is None:
        if may(shop, "count"):
            found.append(words.html_say('<a href="{url}">Count {item}</a>', url=to("item-count", item.code), item=str(item)))
        if url := verb_url("scrap", item, shop, cause="not found when it was counted"):
            found.append(words.html_say('<a href="{url}">Scrap {item}</a>', url=url, item=str(item)))
    elif not seen.line.gone:
        found.append(words.html_say('<a href="{url}">Put {item} away</a>', url=item_url(item), item=str(item)))
    return found


def asked_row(seen: Seen, is_open: bool, shop: Shop) -> list[Any]:
    """A question that the count asks, and its answer where there is one."""
    line = seen.line
    if line.seen_us is None:
        found = say("Not found; the book had {book}.", book=display(line.book, line.item.unit))
    elif line.gone:
        found = say("It lay here, though it is {gone} by the book.", gone=line.gone)
    else:
        found = say("It lay here, though it is booked in {booked}.", booked=booked(line))
    became: Any = joined([shapes.chip("waiting"), *ways_on(seen, shop)]) if is_open else say("A later record answers it.")
    if line.settled_us is not None and line.settled_by is not None:
        became = say("{settled_by}: {settled}", settled_by=line.settled_by.name, settled=line.settled)
    return [item_link(line.item), _material(line.item), found, became]


def ask_row(line: CountLine, shop: Shop) -> list[Any]:
    """A question of any count, for the list of all."""
    said = (
        say("Not found.")
        if line.seen_us is None
        else say("Here, though {gone} by the book.", gone=line.gone)
        if line.gone
        else say("Booked in {booked}.", booked=booked(line))
    )
    when = words.instant(line.sheet.ended_us, shop.zone, shop.now_us, "near")
    there = words.code_link(line.sheet.location.code, to("count-sheet", line.sheet_id))
    return [item_link(line.item), there, when, said]


def last_words(due: Due, shop: Shop) -> Any:
    """When a place was counted last, and by whom."""
    if due.last is None or due.last.ended_us is None or due.last.ended_by is None:
        return say("never")
    when = words.instant(due.last.ended_us, shop.zone, shop.now_us, "near")
    return format_html('<a href="{}">{}</a>, {}', to("count-sheet", due.last.pk), when, due.last.ended_by.name)


def now(due: Due) -> Any:
    """Whether a place is due, or being counted."""
    if due.under_way is not None:
        url = to("count-sheet", due.under_way.pk)
        return words.html_say('{chip} <a href="{url}">Go on with {place}</a>', chip=shapes.chip("running"), url=url, place=due.place.code)
    return shapes.chip("waiting", say("to count")) if due.days_over is not None else ""


def _material(item: Item) -> Any:
    return words.code_link(item.material.code, to("material", item.material.code)) if item.material is not None else ""
