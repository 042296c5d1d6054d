"""How a count looks: the thing that was scanned last, what is still expected, what was seen, and what its end will write."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html

from inventory.core.units import display
from inventory.models import CountLine, CountSheet, Item, ItemState
from inventory.reads import counts
from inventory.reads.counts import Count, Due, Seen
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column

from .doing import status_of
from .door import Answer, Shop
from .itemforms import AmountForm
from .ways import item_link, may, to

WAITING = (Column("What"), Column("Material"), Column("By the book", num=True))
HANDLED = (*WAITING, Column("Why it counts as seen", wide=True))
SEEN = (
    Column("What"),
    Column("Material"),
    Column("By the book", num=True),
    Column("Counted", num=True),
    Column("Difference", num=True),
    Column("Why", wide=True),
    Column("Amount"),
)
ELSEWHERE = (Column("What"), Column("Material"), Column("Booked in", wide=True), Column("Counted", num=True), Column("Book it here"))
GONE = (Column("What"), Column("Material"), Column("By the book", wide=True))
ASKS = (Column("What"), Column("Place"), Column("Counted at"), Column("What to decide", wide=True))


class SeenForm(AmountForm):
    """The amount of what was seen, and why it differs. A claim to the supplier has the page of the single thing."""

    reason = forms.CharField(required=False, label="Why it differs", help_text="Empty: the way it was counted.", max_length=200)


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
    tone, word = {"gone": ("no", "Gone by the book"), "elsewhere": ("ask", "Booked elsewhere"), "here": ("yes", "Seen")}[pile]
    return Last(
        item,
        tone,
        "Seen already" if again and pile == "here" else word,
        answer_text(seen, pile),
        item.unit != "pc",
        item.unit == "um" and bool(item.material and item.material.thickness_um),
        display(item.core_ug, "ug") if item.core_ug is not None else "",
        pile,
    )


def answer_text(seen: Seen, pile: str) -> str:
    """What a person reads right after the scan."""
    item, line = seen.line.item, seen.line
    name = f"{item} ({item.material.code})" if item.material is not None else str(item)
    if pile == "gone":
        return f"{name} is {line.gone} by the book. Put it aside: throw it away, or ask quality."
    if pile == "elsewhere":
        return f"{name} is booked in {booked(line)}. Book it here if it is to stay, or carry it back."
    if line.counted is not None:
        return f"{name}: {display(line.counted, item.unit)} counted, {counts.change_text(seen)}."
    return f"{name}: the book has {display(line.book, item.unit)}."


def booked(line: CountLine) -> str:
    return line.booked.name if line.booked is not None else "no place yet"


def shown(request: HttpRequest, row: CountSheet, count: Count, answer: Answer, form: SeenForm) -> HttpResponse:
    """The page."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    heading = f"Count of {row.location.name}"
    code = request.POST.get("item", "") if form.is_bound else request.GET.get("last", "")
    last = last_of(count, code, "again" in request.GET) if count.under_way else None
    context = {
        "title": ("No – " if answer.reasons else "") + heading,
        "heading": heading,
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
        said.append(f"Amounts counted: {len(count.measured)}, of them differing from the book: {len(count.differing)}.")
    if count.waiting:
        said.append(f"Not seen yet: {len(count.waiting)}. Nothing of it is written off; it is listed as not found, for a decision.")
    if count.elsewhere:
        said.append(f"Booked elsewhere: {len(count.elsewhere)}. The book stays until somebody puts it right.")
    if count.gone:
        said.append(f"Gone by the book, and yet here: {len(count.gone)}. Quality is told.")
    return said


def tables_under_way(count: Count, row: CountSheet) -> dict[str, Any]:
    return {
        "waiting_columns": WAITING,
        "waiting": [book_row(s) for s in count.waiting],
        "handled_columns": HANDLED,
        "handled": [[*book_row(s), "a record has named it since the count began"] for s in count.handled],
        "seen_columns": SEEN,
        "seen": [[*seen_row(s), amount_link(s, row)] for s in count.here],
        "elsewhere_columns": ELSEWHERE,
        "elsewhere": [[*elsewhere_row(s), book_button(s)] for s in count.elsewhere],
        "gone_columns": GONE,
        "gone": [gone_row(s) for s in count.gone],
    }


def tables_over(count: Count, shop: Shop) -> dict[str, Any]:
    """What was found; each amount leads to its record."""
    asks = [*count.missing, *count.elsewhere, *count.gone]
    open_ = {line.pk for line in counts.to_decide(shop.site) if counts.still_asks(line)} if asks else set()
    to_settle = [s for s in asks if s.line.pk in open_]
    return {
        "seen_columns": SEEN,
        "seen": [[*seen_row(s), record_link(s)] for s in count.here],
        "asked_columns": (Column("What"), Column("Material"), Column("What was found", wide=True), Column("What became of it", wide=True)),
        "asked": [asked_row(s, s.line.pk in open_) for s in asks],
        "settle": [(s.line.item.code, str(s.line.item)) for s in to_settle] if may(shop, "count_settle") else [],
    }


def book_row(state: ItemState) -> list[Any]:
    return [item_link(state.item), _material(state.item), words.qty(state.qty, state.item.unit)]


def seen_row(seen: Seen) -> list[Any]:
    line, item = seen.line, seen.line.item
    counted = words.qty(line.counted, item.unit) if line.counted is not None else ""
    difference = "" if seen.difference is None else counts.change_text(seen)
    return [item_link(item), _material(item), words.qty(line.book, item.unit), counted, difference, line.reason or line.how]


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
    return format_html('<a href="{}">Enter for {}</a>', f"{to('count-sheet', row.pk, last=item.code)}#amount", str(item))


def book_button(seen: Seen) -> Any:
    """A button of the form that stands below the tables."""
    item = seen.line.item
    return format_html(
        '<button type="submit" class="button small" form="book-here" name="item" value="{}">Book {} here</button>', item.code, str(item)
    )


def record_link(seen: Seen) -> Any:
    return words.code_link(f"record {seen.line.act_id}", to("record", seen.line.act_id)) if seen.line.act_id else ""


def asked_row(seen: Seen, is_open: bool) -> list[Any]:
    """A question that the count asks, and its answer where there is one."""
    line = seen.line
    if line.seen_us is None:
        found = f"Not found; the book had {display(line.book, line.item.unit)}."
    elif line.gone:
        found = f"It lay here, though it is {line.gone} by the book."
    else:
        found = f"It lay here, though it is booked in {booked(line)}."
    became: Any = shapes.chip("waiting", "for a decision") if is_open else "A later record answers it."
    if line.settled_us is not None and line.settled_by is not None:
        became = f"{line.settled_by.name}: {line.settled}"
    return [item_link(line.item), _material(line.item), found, became]


def ask_row(line: CountLine, shop: Shop) -> list[Any]:
    """A question of any count, for the list of all."""
    said = "Not found." if line.seen_us is None else f"Here, though {line.gone} by the book." if line.gone else f"Booked in {booked(line)}."
    when = words.instant(line.sheet.ended_us, shop.zone, shop.now_us, "near")
    there = words.code_link(line.sheet.location.code, to("count-sheet", line.sheet_id))
    return [item_link(line.item), there, when, said]


def last_words(due: Due, shop: Shop) -> Any:
    """When a place was counted last, and by whom."""
    if due.last is None or due.last.ended_us is None or due.last.ended_by is None:
        return "never"
    when = words.instant(due.last.ended_us, shop.zone, shop.now_us, "near")
    return format_html('<a href="{}">{}</a>, {}', to("count-sheet", due.last.pk), when, due.last.ended_by.name)


def now(due: Due) -> Any:
    """Whether a place is due, or being counted."""
    if due.under_way is not None:
        return format_html('{} <a href="{}">Go on with {}</a>', shapes.chip("running"), to("count-sheet", due.under_way.pk), due.place.code)
    return shapes.chip("waiting", "to count") if due.days_over is not None else ""


def _material(item: Item) -> Any:
    return words.code_link(item.material.code, to("material", item.material.code)) if item.material is not None else ""
