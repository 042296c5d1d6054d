"""What is in each place, and what must never stand in it: the places, one place, and the list for the fire service."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from inventory.core.places import STORES
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.core.temperature import display_celsius
from inventory.core.units import display
from inventory.models import Item, ItemState, Location, Reading
from inventory.reads import counts, stock
from inventory.reads.misplaced import misplaced, out_of_band, too_full
from inventory.recording import Transaction, Who
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column
from inventory.verbs.moving import place_reasons

from . import countviews, itemfacts
from .door import Shop, page
from .labelling import label_button
from .logs import LOGS, log_rows
from .sheets import csv_response
from .ways import item_link, joined, may, to

PLACES = (
    Column(say("Place")),
    Column(say("Name")),
    Column(say("In it"), num=True),
    Column(say("Band")),
    Column(say("Latest reading")),
    Column(say("Last counted")),
    Column(say("Takes"), wide=True),
)
INSIDE = (Column(say("What")), Column(say("Material")), Column(say("Left"), num=True), Column(say("State"), wide=True), Column(say("Ends")))
FIRE = (
    Column(say("Place")),
    Column(say("Name")),
    Column(say("Organic peroxide"), num=True),
    Column(say("Limit"), num=True),
    Column(say("Cans"), num=True),
    Column(say("What stands there"), wide=True),
)


@page
@require_safe
def places(request: HttpRequest) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    rows = Location.objects.filter(site=shop.site, retired_us__isnull=True).select_related("storage").order_by("kind", "code")
    inside = dict(
        ItemState.objects.filter(item__site=shop.site, gone="", item__kind__in=stock.STOCK_KINDS)
        .exclude(qty=0)
        .values_list("location")
        .annotate(n=Count("pk"))
    )
    latest = latest_readings(shop, rows)
    counted = {due.place.pk: due for due in counts.places(shop.site, shop.zone, shop.now_us)}
    cells = [
        [
            words.code_link(p.code, to("place", p.code)),
            p.name,
            inside.get(p.pk, 0),
            band(p),
            reading_words(latest.get(p.pk), shop),
            countviews.last_words(counted[p.pk], shop),
            takes(p),
        ]
        for p in rows
    ]
    return render(request, "inventory/places.html", {"title": say("Places"), "columns": PLACES, "rows": cells})


def band(p: Location) -> str:
    low, high = p.storage.low_mc, p.storage.high_mc
    if high is None:
        return say("not logged")
    return (
        say("{low} to {high}", low=display_celsius(low), high=display_celsius(high))
        if low is not None
        else say("up to {high}", high=display_celsius(high))
    )


_GOODS = {
    "plain": say("goods without a hazard"),
    "frozen": say("frozen goods"),
    "peroxide": say("peroxides"),
    "promoter": say("promoters"),
    "amine": say("amines"),
    "acid": say("acids"),
    "isocyanate": say("isocyanates"),
}


def takes(p: Location) -> str:
    """What it accepts and refuses, in words."""
    accepts = strung(", ", (_GOODS.get(w, w) for w in p.accepts.split()))
    refuses = strung(", ", (_GOODS.get(w, w) for w in p.refuses.split()))
    limit = say("at most {max}", max=display(p.max_ug, "ug")) if p.max_ug else ""
    return strung(
        "; ",
        (
            part
            for part in (accepts or say("anything but peroxides"), say("never {refuses}", refuses=refuses) if refuses else "", limit)
            if part
        ),
    )


def latest_readings(shop: Shop, rows: Any) -> dict[int, Reading]:
    """The newest reading of each place, in one query."""
    newest = Reading.objects.filter(location__in=[p.pk for p in rows], at_us__lte=shop.now_us, at_us__gt=shop.now_us - 7 * 86_400_000_000)
    found: dict[int, Reading] = {}
    for reading in newest.order_by("at_us"):
        found[reading.location_id] = reading
    return found


def reading_words(reading: Reading | None, shop: Shop) -> Any:
    if reading is None:
        return ""
    humid = say(", {rh} %", rh=f"{reading.rh_ppm / 10000:.0f}") if reading.rh_ppm is not None else ""
    return format_html("{}{} {}", display_celsius(reading.temp_mc), humid, words.instant(reading.at_us, shop.zone, shop.now_us, "near"))


@page
@require_safe
def place(request: HttpRequest, code: str) -> HttpResponse:
    """One place with what lies there; `format=csv` for a sheet."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = get_object_or_404(Location.objects.select_related("storage"), site=shop.site, code__iexact=code)
    pieces = stock.pieces(stock.on_hand(shop.site, location=row), shop.zone, shop.now_us)
    if request.GET.get("format") == "csv":
        lines = [
            [
                str(p.item),
                p.item.material.code if p.item.material else "",
                display(p.state.qty, p.item.unit),
                strung("; ", (r.text for r in p.against)),
            ]
            for p in pieces
        ]
        return csv_response(f"place-{row.code}", ["what", "material", "left", say("against use")], lines)
    parts = Item.objects.filter(site=shop.site, kind__in=("part", "assembly"), state__location=row, state__gone="").select_related("state")
    latest = latest_readings(shop, [row]).get(row.pk)
    context = {
        "title": say("{code} {name}", code=row.code, name=row.name),
        "said": place_words(row, pieces),
        "wrong": what_is_wrong(row, pieces, latest),
        "due": next((d for d in counts.places(shop.site, shop.zone, shop.now_us) if d.place.pk == row.pk), None),
        "may_count": may(shop, "count_begin"),
        "place": row,
        "band": band(row),
        "takes": takes(row),
        "columns": INSIDE,
        "rows": [inside_row(p, shop) for p in pieces],
        "parts": [item_link(part) for part in parts.order_by("mark", "pk")[:200]],
        "reading": reading_words(latest, shop),
        "measure": to("do", "measure", place=row.code, next=request.path) if may(shop, "measure") else "",
        "expose": to("do", "expose", place=row.code, next=request.path) if may(shop, "expose") else "",
        "held": held_mass(row),
        "log_new": to("log-new", place=row.code) if may(shop, "take_log") else "",
        "log_columns": LOGS,
        "logs": log_rows(shop, location=row),
        "label": label_button(shop, row),
    }
    due = context["due"]
    context["counted"] = countviews.last_words(due, shop) if isinstance(due, counts.Due) else ""
    return render(request, "inventory/place.html", context)


def place_words(row: Location, pieces: Sequence[stock.Piece]) -> str:
    """What is in it, in a sentence."""
    n, fit = len(pieces), sum(p.fit for p in pieces)
    if not n:
        return say("Nothing stands in {name}.", name=row.name)
    if fit == n:
        return (
            say("1 thing stands in {name}, fit for use.", name=row.name)
            if n == 1
            else say("{count} things stand in {name}, all fit for use.", count=n, name=row.name)
        )
    return (
        say("1 thing stands in {name}, not fit for use.", name=row.name)
        if n == 1
        else say("{count} things stand in {name}, {fit} of them fit for use.", count=n, name=row.name, fit=fit)
    )


def what_is_wrong(row: Location, pieces: Sequence[stock.Piece], latest: Reading | None) -> list[Reason]:
    """What should not be so: what stands there against the place's rule, too much of it, a reading out of its band."""
    found = [
        Reason(r.code, say("{item}: {text}", item=p.item, text=r.text), r.numbers) for p, reasons in misplaced(row, pieces) for r in reasons
    ]
    return [*found, *(r for r in (too_full(row, pieces), out_of_band(row, latest)) if r is not None)]


def held_mass(row: Location) -> str:
    """How much stands there of what the place has room for."""
    if row.max_ug is None:
        return ""
    total = ItemState.objects.filter(location=row, qty__gt=0, gone="", item__unit="ug").aggregate(total=Sum("qty"))["total"] or 0
    return say("{total} of {max}", total=display(total, "ug"), max=display(row.max_ug, "ug"))


def inside_row(p: stock.Piece, shop: Shop) -> list[Any]:
    chips = joined(shapes.chip(s) for s in itemfacts.statuses(p, shop.now_us))
    return [
        item_link(p.item),
        p.item.material.code if p.item.material else "",
        words.qty(p.state.qty, p.item.unit),
        chips,
        itemfacts.ends_words(p, shop),
    ]


@page
@require_safe
def fire(request: HttpRequest) -> HttpResponse:
    """Organic peroxides: where, how much, against each place's limit. For the fire service, so it prints on its own."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    found = stock.on_hand(shop.site, item__material__hazard="peroxide")
    by_place: dict[Location | None, list[ItemState]] = defaultdict(list)
    for row in found:
        by_place[row.location].append(row)
    meant = Location.objects.filter(Q(accepts__contains="peroxide"), site=shop.site, retired_us__isnull=True).select_related("storage")
    for p in meant:
        by_place.setdefault(p, [])
    rows = [_fire_row(p, states) for p, states in sorted(by_place.items(), key=lambda pair: pair[0].code if pair[0] else "")]
    total = sum(s.qty for s in found if s.qty > 0)
    if request.GET.get("format") == "csv":
        lines = [
            [str(s.item), s.item.material.code if s.item.material else "", display(s.qty, "ug"), s.location.code if s.location else ""]
            for s in found
        ]
        return csv_response("peroxides", ["can", "material", "left", "place"], lines)
    return render(
        request, "inventory/fire.html", {"title": say("Organic peroxides"), "columns": FIRE, "rows": rows, "total": words.qty(total, "ug")}
    )


def _fire_row(p: Location | None, states: list[ItemState]) -> list[Any]:
    held = sum(s.qty for s in states if s.qty > 0)
    limit = p.max_ug if p is not None else None
    over = shapes.chip("wrong", say("over the limit")) if limit is not None and held > limit else ""
    names = joined([joined((item_link(s.item) for s in states), ", "), over])
    code = words.code_link(p.code, to("place", p.code)) if p is not None else "–"
    return [
        code,
        p.name if p else say("nowhere yet"),
        words.qty(held, "ug"),
        words.qty(limit, "ug") if limit else say("no limit set"),
        len(states),
        names,
    ]


def places_for(item: Item, shop: Shop) -> list[Location]:
    """Stores that would take this thing: what to offer when a place refused it (R35)."""
    tx = Transaction(Who(shop.site, shop.zone, 0, 0, ""), shop.now_us, exclusive=True)
    tx.load([item.pk], lock=False)
    stores = Location.objects.filter(site=shop.site, retired_us__isnull=True, kind__in=STORES)
    return [p for p in stores.select_related("storage").order_by("code") if not place_reasons(tx, item, p)]
