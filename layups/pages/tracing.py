"""A trace as a page: scan or type anything; back to every lot, forward to everything made of it; picture, tables, files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from inventory.core import codes
from inventory.core.codewords import word
from inventory.core.said import say, strung
from inventory.core.units import display
from inventory.models import Item
from inventory.pages.door import Shop, page
from inventory.pages.finding import search
from inventory.pages.ways import to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.reads.things import Thing
from layups.tracing import Back, Forward, Found, LotIn, draw_back, draw_forward, trace_back, trace_forward

from . import words
from .about import item_named
from .against import Against, against
from .picturing import Pictured, pictured, steps_of
from .turning import Turned, turned

LOTS = (
    Column(say("Material")),
    Column(say("Lot"), lead=True),
    Column(say("State")),
    Column(say("Supplier")),
    Column(say("Amount"), num=True),
    Column(say("Share"), num=True),
    Column(say("Went in")),
    Column(say("Through"), wide=True),
    Column(say("Known less exactly")),
)
THINGS = (
    Column(say("What"), lead=True),
    Column(say("Sort")),
    Column(say("State")),
    Column(say("Amount of it"), num=True),
    Column(say("In it since")),
    Column(say("Where")),
    Column(say("Customer")),
    Column(say("Known less exactly")),
)
KNOWN = {"item": "", "lot": say("by its lot only"), "box": say("by the box only")}


@dataclass(frozen=True, slots=True)
class Way:
    """One direction of a trace: its picture, and a page of the table of all that was found."""

    slug: str
    title: str
    summary: str
    columns: tuple[Column, ...]
    table: Turned
    picture: Pictured
    csv: str
    json: str


@page
@require_safe
def trace(request: HttpRequest, code: str = "") -> HttpResponse:
    """GET /trace/?q=… or /trace/<code>/; open: boxes of the picture that are opened; whole=1: a box for each thing; back, forward,
    lines-back, lines-forward: which page of that table."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    text = code or request.GET.get("q", "").strip()
    if not text:
        return render(request, "layups/trace.html", {"title": say("Trace"), "heading": say("Trace")})
    item = item_named(shop, text)
    if item is None:
        return unknown(request, shop, text)
    if code != item.code:
        return redirect(to_code(request, item))
    return render(request, "layups/trace.html", context(request, shop, item))


def to_code(request: HttpRequest, item: Item) -> str:
    """The trace's own address, with all that was asked besides what was typed: opened boxes and pages of tables stay."""
    kept = request.GET.copy()
    kept.pop("q", None)
    return to("trace", item.code) + (f"?{kept.urlencode()}" if kept else "")


def unknown(request: HttpRequest, shop: Shop, text: str) -> HttpResponse:
    """Nothing has this code: what was read, and what is called alike."""
    scan = codes.normalise(text)
    rows = search(shop, scan) if scan.kind not in ("empty", "too_long") else []
    shown = scan.text[:60]
    context_ = {
        "title": say("Nothing here is called “{shown}”", shown=shown),
        "heading": say("Trace"),
        "read": shown,
        "reason": scan.reason,
        "alike": rows,
    }
    return render(request, "layups/trace.html", context_, status=404)


def context(request: HttpRequest, shop: Shop, item: Item) -> dict[str, Any]:
    whole = request.GET.get("whole") == "1"
    back = trace_back(item.pk) if item.kind != "lot" else None
    forward = trace_forward(item.pk)
    root = forward.root
    things = {t.id: t for t in (*(back.things.values() if back else ()), *(f.thing for f in forward.found), root)}
    warned = against(things.values(), shop)
    ways = [
        *([back_way(request, shop, item, back, whole, warned)] if back is not None and (back.lots or back.no_lot) else []),
        *([forward_way(request, shop, item, forward, whole, warned)] if forward.found else []),
    ]
    return {
        "title": say("Trace of {name_of}", name_of=name_of(root)),
        "heading": say("Trace of {name_of}", name_of=name_of(root)),
        "root": root,
        "link": words.thing_link(root),
        "ways": ways,
        "customers": forward.customers,
        "recall": to("recall", item.code) if forward.found else "",
        "nothing": not ways,
    }


def name_of(thing: Thing) -> str:
    return say("lot {thing}", thing=thing.number) if thing.kind == "lot" and thing.number else thing.name


def back_way(request: HttpRequest, shop: Shop, item: Item, found: Back, whole: bool, warned: Against) -> Way:
    materials = len({x.lot.material for x in found.lots})
    summary = say("{count} of {count_2}", count=count(len(found.lots), "lot"), count_2=count(materials, "material"))
    if found.no_lot:
        summary += say(", and {count} without a lot on record", count=count(len(found.no_lot), "source"))
    title = say("What is in {name_of}", name_of=name_of(found.root))
    picture = pictured(request, shop, "back", draw_back(found, whole, steps_of(request)), warned)
    rows = [*found.lots, *found.no_lot]
    return _way(request, title, summary + ".", LOTS, rows, lambda x: lot_cells(x, shop, warned), picture, item)


def forward_way(request: HttpRequest, shop: Shop, item: Item, found: Forward, whole: bool, warned: Against) -> Way:
    made = sum(1 for f in found.found if f.thing.made)
    summary = say(
        "{count}, {made} of them parts or assemblies; {count_2}.",
        count=count(len(found.found), "thing"),
        made=made,
        count_2=count(len(found.customers), "customer"),
    )
    title = say("Where {name_of} went", name_of=name_of(found.root))
    picture = pictured(request, shop, "forward", draw_forward(found, whole, steps_of(request)), warned)
    return _way(request, title, summary, THINGS, found.found, lambda f: found_cells(f, found.root.unit, shop, warned), picture, item)


def _way(
    request: HttpRequest,
    title: str,
    summary: str,
    columns: tuple[Column, ...],
    rows: Sequence[Any],
    cells: Callable[[Any], list[Any]],
    picture: Pictured,
    item: Item,
) -> Way:
    slug = picture.slug
    files = {kind: to("api-trace", item.code, direction=slug, format=kind) for kind in ("csv", "json")}
    table = turned(request, slug, f"table-{slug}", rows, cells)
    columns, body = filled(columns, table.rows)
    return Way(slug, title, summary, columns, replace(table, rows=body), picture, files["csv"], files["json"])


def filled(columns: tuple[Column, ...], rows: list[list[Any]]) -> tuple[tuple[Column, ...], list[list[Any]]]:
    """Without the columns in which no row says anything: they only make the others narrow."""
    kept = [n for n in range(len(columns)) if not rows or any(row[n] != "" for row in rows)]
    return tuple(columns[n] for n in kept), [[row[n] for n in kept] for row in rows]


def count(n: int, what: str) -> str:
    return say("{count} {what}", count=n, what=what) if n == 1 else say("{count} {what}s", count=n, what=what)


def lot_cells(x: LotIn, shop: Shop, warned: Against) -> list[Any]:
    amount = said.qty(round(x.amount), x.lot.unit) if x.amount is not None else ""
    share = say("{share} %", share=f"{float(x.share) * 100:.1f}") if x.share and x.share != 1 else ""
    went = span_words(x.first_us, x.last_us, shop)
    if x.until_us is not None:
        went = said.html_say("{went}, no longer in it since {when}", went=went, when=said.instant(x.until_us, shop.zone, shop.now_us))
    known = KNOWN[x.grade] if x.lot.kind == "lot" else say("no lot on record")
    via = strung(", ", x.via[:12]) + (say(" and {via} more", via=len(x.via) - 12) if len(x.via) > 12 else "")
    return [
        x.lot.material,
        words.thing_link(x.lot),
        words.states(warned.get(x.lot.id, ())),
        x.lot.supplier,
        amount,
        share,
        went,
        via,
        known,
    ]


def span_words(first_us: int, last_us: int, shop: Shop) -> Any:
    first = said.instant(first_us, shop.zone, shop.now_us)
    return (
        first
        if first_us == last_us
        else said.html_say("{first} to {last}", first=first, last=said.instant(last_us, shop.zone, shop.now_us))
    )


def found_cells(f: Found, unit: str, shop: Shop, warned: Against) -> list[Any]:
    t = f.thing
    amount = said.qty(round(f.amount), unit) if f.amount is not None else ""
    since = said.instant(f.from_us, shop.zone, shop.now_us)
    if f.until_us is not None:
        since = said.html_say("{first} to {last}", first=since, last=said.instant(f.until_us, shop.zone, shop.now_us))
    return [
        words.thing_link(t),
        sort_words(t),
        words.states([t.where, *warned.get(t.id, ())]),
        amount,
        since,
        place_words(t, shop),
        t.customer,
        KNOWN[f.grade],
    ]


def sort_words(t: Thing) -> str:
    left = say(", {qty} left", qty=display(t.qty, t.unit)) if not t.made and t.qty > 0 else ""
    return (
        word(t.design or t.material or t.kind) + left
        if t.kind != "mix"
        else say("pot of {material}{left}", material=t.material, left=left)
        if t.material
        else say("pot") + left
    )


def place_words(t: Thing, shop: Shop) -> Any:
    if t.sent is None:
        return t.place if t.exists else ""
    when = said.instant(t.sent.at_us, shop.zone, shop.now_us, "day")
    return (
        said.html_say("shipped {when} in {whole}", when=when, whole=t.sent.inside)
        if t.sent.inside
        else said.html_say("shipped {when}", when=when)
    )
