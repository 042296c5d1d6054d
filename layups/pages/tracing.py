"""A trace as a page: scan or type anything; back to every lot, forward to everything made of it; picture, tables, files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from inventory.core import codes
from inventory.core.units import display
from inventory.models import Item
from inventory.pages.door import Shop, page
from inventory.pages.finding import search
from inventory.pages.ways import query, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.reads.things import Thing
from layups.tracing import Back, Box, Drawing, Forward, Found, LotIn, trace_back, trace_forward

from . import words
from .about import item_named
from .folding import Folded, back_picture, forward_picture

ROWS = 300
"""Rows of a table on one page; the file has them all."""
TITLE, NOTE = 16, 22
"""Letters that fit into a box of the picture."""
LOTS = (
    Column("Material"),
    Column("Lot", lead=True),
    Column("Supplier"),
    Column("Amount", num=True),
    Column("Share", num=True),
    Column("Went in"),
    Column("Through", wide=True),
    Column("Known less exactly"),
)
THINGS = (
    Column("What", lead=True),
    Column("Sort"),
    Column("State"),
    Column("Amount of it", num=True),
    Column("In it since"),
    Column("Where"),
    Column("Customer"),
    Column("Known less exactly"),
)
KNOWN = {"item": "", "lot": "by its lot only", "box": "by the box only"}


@dataclass(frozen=True, slots=True)
class Shown:
    """A box as it is drawn: its two lines cut to what fits, the whole of them for those who cannot see the picture."""

    box: Box
    line1: str
    line2: str

    @property
    def y1(self) -> int:
        return self.box.y + 17

    @property
    def y2(self) -> int:
        return self.box.y + 33


@dataclass(frozen=True, slots=True)
class Way:
    """One direction of a trace: `rows` for its table, `cut` how many more the file has; `boxes` and `wires` for its picture."""

    slug: str
    title: str
    summary: str
    columns: tuple[Column, ...]
    rows: list[list[Any]]
    cut: int
    picture: Drawing
    boxes: list[Shown]
    folded: int
    whole_url: str
    csv: str
    json: str


@page
@require_safe
def trace(request: HttpRequest, code: str = "") -> HttpResponse:
    """GET /trace/?q=… or /trace/<code>/; whole=1 draws every box of a large picture."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    text = code or request.GET.get("q", "").strip()
    if not text:
        return render(request, "layups/trace.html", {"title": "Trace", "heading": "Trace"})
    item = item_named(shop, text)
    if item is None:
        return unknown(request, shop, text)
    if code != item.code:
        return redirect("trace", item.code)
    return render(request, "layups/trace.html", context(request, shop, item))


def unknown(request: HttpRequest, shop: Shop, text: str) -> HttpResponse:
    """Nothing has this code: what was read, and what is called alike."""
    scan = codes.normalise(text)
    rows = search(shop, scan) if scan.kind not in ("empty", "too_long") else []
    shown = scan.text[:60]
    context_ = {"title": f"Nothing here is called “{shown}”", "heading": "Trace", "read": shown, "reason": scan.reason, "alike": rows}
    return render(request, "layups/trace.html", context_, status=404)


def context(request: HttpRequest, shop: Shop, item: Item) -> dict[str, Any]:
    whole = request.GET.get("whole") == "1"
    back = trace_back(item.pk) if item.kind != "lot" else None
    forward = trace_forward(item.pk)
    root = forward.root
    ways = [
        *([back_way(request, shop, item, back, whole)] if back is not None and (back.lots or back.no_lot) else []),
        *([forward_way(request, shop, item, forward, whole)] if forward.found else []),
    ]
    return {
        "title": f"Trace of {name_of(root)}",
        "heading": f"Trace of {name_of(root)}",
        "root": root,
        "link": words.thing_link(root),
        "ways": ways,
        "customers": forward.customers,
        "recall": to("recall", item.code) if forward.found else "",
        "nothing": not ways,
    }


def name_of(thing: Thing) -> str:
    return f"lot {thing.number}" if thing.kind == "lot" and thing.number else thing.name


def back_way(request: HttpRequest, shop: Shop, item: Item, found: Back, whole: bool) -> Way:
    rows = [*found.lots, *found.no_lot]
    picture = back_picture(found, whole)
    materials = len({x.lot.material for x in found.lots})
    summary = f"{count(len(found.lots), 'lot')} of {count(materials, 'material')}"
    if found.no_lot:
        summary += f", and {count(len(found.no_lot), 'source')} without a lot on record"
    cells = [lot_cells(x, shop) for x in rows[:ROWS]]
    title = f"What is in {name_of(found.root)}"
    return _way(request, "back", title, summary + ".", LOTS, cells, len(rows) - len(cells), picture, item)


def forward_way(request: HttpRequest, shop: Shop, item: Item, found: Forward, whole: bool) -> Way:
    picture = forward_picture(found, whole)
    cells = [found_cells(f, found.root.unit, shop) for f in found.found[:ROWS]]
    made = sum(1 for f in found.found if f.thing.made)
    summary = f"{count(len(found.found), 'thing')}, {made} of them parts or assemblies; {count(len(found.customers), 'customer')}."
    title = f"Where {name_of(found.root)} went"
    return _way(request, "forward", title, summary, THINGS, cells, len(found.found) - len(cells), picture, item)


def _way(
    request: HttpRequest,
    slug: str,
    title: str,
    summary: str,
    columns: tuple[Column, ...],
    cells: list[list[Any]],
    cut: int,
    picture: Folded,
    item: Item,
) -> Way:
    whole = query(request, whole=1) if picture.folded else ""
    files = {kind: to("api-trace", item.code, direction=slug, format=kind) for kind in ("csv", "json")}
    boxes = [drawn(b) for b in picture.drawing.boxes]
    return Way(slug, title, summary, columns, cells, cut, picture.drawing, boxes, picture.folded, whole, files["csv"], files["json"])


def drawn(b: Box) -> Shown:
    note = f"lot of {b.sub}" if b.kind == "lot" else b.sub if b.kind == "customer" else f"{b.sub}, {b.state}"
    return Shown(b, cut_to(b.title, TITLE), cut_to(note, NOTE))


def cut_to(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def lot_cells(x: LotIn, shop: Shop) -> list[Any]:
    amount = said.qty(round(x.amount), x.lot.unit) if x.amount is not None else ""
    share = f"{float(x.share) * 100:.1f} %" if x.share and x.share != 1 else ""
    went = span_words(x.first_us, x.last_us, shop)
    if x.until_us is not None:
        went = said.format_html("{}, no longer in it since {}", went, said.instant(x.until_us, shop.zone, shop.now_us))
    known = KNOWN[x.grade] if x.lot.kind == "lot" else "no lot on record"
    via = ", ".join(x.via[:12]) + (f" and {len(x.via) - 12} more" if len(x.via) > 12 else "")
    return [x.lot.material, words.thing_link(x.lot), x.lot.supplier, amount, share, went, via, known]


def span_words(first_us: int, last_us: int, shop: Shop) -> Any:
    first = said.instant(first_us, shop.zone, shop.now_us)
    return first if first_us == last_us else said.format_html("{} to {}", first, said.instant(last_us, shop.zone, shop.now_us))


def found_cells(f: Found, unit: str, shop: Shop) -> list[Any]:
    t = f.thing
    amount = said.qty(round(f.amount), unit) if f.amount is not None else ""
    since = said.instant(f.from_us, shop.zone, shop.now_us)
    if f.until_us is not None:
        since = said.format_html("{} to {}", since, said.instant(f.until_us, shop.zone, shop.now_us))
    return [words.thing_link(t), sort_words(t), words.state(t.where), amount, since, place_words(t, shop), t.customer, KNOWN[f.grade]]


def sort_words(t: Thing) -> str:
    left = f", {display(t.qty, t.unit)} left" if not t.made and t.qty > 0 else ""
    return f"{t.design or t.material or t.kind}{left}" if t.kind != "mix" else f"pot of {t.material}{left}" if t.material else f"pot{left}"


def place_words(t: Thing, shop: Shop) -> Any:
    if t.sent is None:
        return t.place if t.exists else ""
    when = said.instant(t.sent.at_us, shop.zone, shop.now_us, "day")
    return said.format_html("shipped {}{}", when, f" in {t.sent.inside}" if t.sent.inside else "")
