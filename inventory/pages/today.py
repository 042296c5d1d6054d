"""The first page: what needs you, and the one box to scan into."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from inventory.core.limits import Reading
from inventory.core.lives import spoken
from inventory.core.said import say, say_as
from inventory.reads.looking import Look, Need
from inventory.reads.needs import needs
from inventory.reads.stock import Piece
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column, table

from .door import Shop, page
from .ways import about_url, item_link

OPEN = {
    "delivery.due": say("Receive"),
    "delivery.late": say("Receive"),
    "delivery.partly": say("Receive"),
    "stock.low": say("Stock"),
    "stock.ordered": say("Stock"),
    "count.needed": say("Count"),
    "count.due": say("Count"),
    "count.under_way": say("Go on"),
    "count.missing": say("Decide"),
    "count.elsewhere": say("Decide"),
    "count.gone": say("Decide"),
    "pot.over": say("Pot"),
    "nonconformance": say("Decide"),
}


@dataclass(frozen=True, slots=True)
class Going:
    """Something that a person has in work: its name and page, its state as words and shapes, and what comes next in sentences."""

    name: str
    url: str
    states: Any
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Begun:
    """What this person may go on with, the likeliest first, and the page that lists all of it."""

    rows: tuple[Going, ...]
    all_url: str


Begins = Callable[[Shop], Begun | None]
BEGUN: list[Begins] = []
"""The seam for the app above: what its people have in work. The first that has something is shown."""
OUT = (Column(say("What")), Column(say("Where")), Column(say("Since")), Column(say("Planned back")), Column(say("Governing"), wide=True))


@page
@require_safe
def today(request: HttpRequest) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    look = Look(shop.site, shop.zone, shop.now_us)
    context = {
        "title": say("What needs you"),
        "begun": next((found for ask in BEGUN if (found := ask(shop)) is not None), None),
        "rows": [row_of(need) for need in needs(shop.site, shop.zone, shop.now_us, shop.roles, look)],
        "out": out_table(look) if look.out else "",
        "auditor": not shop.roles & {"storekeeper", "builder", "quality", "owner"},
    }
    return render(request, "inventory/today.html", context)


def row_of(need: Need) -> dict[str, Any]:
    """A need as the list of sentences takes it."""
    return {
        "urgency": need.urgency,
        "text": need.text,
        "url": about_url(need.about),
        "action": OPEN.get(need.code, say_as("a page", "Open")),
    }


def out_table(look: Look) -> Any:
    """What is out of its place, the first planned return first (S14)."""
    pieces = sorted(look.out, key=lambda p: (p.state.back is None, p.state.back or 0, str(p.item)))
    return table(say("What is out"), OUT, [_out_row(look, p) for p in pieces])


def _out_row(look: Look, p: Piece) -> list[Any]:
    since = look.out_since.get(p.item.pk)
    back: Any = words.instant(p.state.back, look.zone, look.now_us, "near") if p.state.back is not None else say("not planned")
    if p.state.back is not None and p.state.back <= look.now_us:
        back = format_html("{} {}", back, shapes.chip("overdue"))
    return [
        item_link(p.item),
        p.place,
        words.instant(since, look.zone, look.now_us, "near"),
        back,
        governing_words(p.governs, look.zone, look.now_us),
    ]


def governing_words(reading: Reading | None, zone: str, now_us: int) -> Any:
    """The limit that ends first, in a few words."""
    if reading is None:
        return ""
    name = spoken(reading.limit.name)
    if reading.over:
        return say("{name} over", name=name)
    if reading.left is not None and reading.limit.clock == "above":
        return words.html_say("{name} {duration} left", name=name, duration=words.duration(reading.left))
    return words.html_say("{name} through {day}", name=name, day=words.instant(reading.ends_us, zone, now_us, "last"))
