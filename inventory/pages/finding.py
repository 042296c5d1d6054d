"""One box that takes anything: our labels, marks, places, badges, numbers, names. What is not understood is shown as it was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inventory.core import codes
from inventory.core.codes import Scan
from inventory.core.lots import number_key
from inventory.core.said import say
from inventory.models import Customer, Delivery, Item, Location, Lot, Material, Person
from inventory.reads import whereabouts
from inventory.reads.stock import STOCK_KINDS
from inventory.verbs import resolve
from inventory.verbs.scans import scanned

from .door import BADGE, Shop, Where, page
from .labelkinds import Led, led
from .signing import badge_digest
from .ways import item_url, to

MOST = 20


@dataclass(frozen=True, slots=True)
class Found:
    """One answer of a search: what it is, its name, where it is shown, and a word about it."""

    what: str
    name: str
    url: str
    note: str = ""


@page
@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """GET q. One clear answer leads straight there; several are listed; none says what was read, and what to do."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    raw = request.GET.get("q", "") or request.GET.get("code", "")
    if asked := asked_where(raw):
        return where_is(request, asked)
    scan = codes.normalise(raw)
    if scan.kind in ("empty", "too_long"):
        return not_understood(request, scan)
    there = goto(request, shop, scan)
    if there is not None:
        return there
    label = label_of(shop, raw)
    if label is not None:
        return redirect(label.url) if label.url else not_understood(request, scan, label)
    rows = search(shop, scan)
    if len(rows) == 1 and rows[0].name.casefold() == scan.text.casefold():
        return redirect(rows[0].url)
    if not rows:
        return not_understood(request, scan)
    return render(
        request,
        "inventory/found.html",
        {"title": say("Found for “{scan}”", scan=scan.text[:60]), "rows": rows, "read": scan.text, "most": MOST},
    )


def asked_where(raw: str) -> str:
    """What somebody asks the place of: "where is C-12?"; "" when nothing of the kind is asked."""
    text = raw.strip()
    for words in (say("where is"), say("where are"), _("where is"), _("where are")):
        if text[: len(words) + 1].casefold() == f"{words} ".casefold():
            return text[len(words) :].strip(" ?")
    return ""


def where_is(request: HttpRequest, name: str) -> HttpResponse:
    """ "Where is C-12?": each thing that is meant with its place, its amount and how it stands, in a sentence."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    scan = codes.normalise(name)
    if scan.kind in ("empty", "too_long", "damaged"):
        return not_understood(request, scan)
    item = resolve.find(shop.site, scan) if scan.on in (None, "item") else None
    if item is not None and item.kind in STOCK_KINDS:
        said = whereabouts.sentences([item], shop.zone, shop.now_us)
        rows = [Found(item.get_kind_display().capitalize(), str(item), item_url(item), said.get(item.pk, ""))]
    else:
        pieces = whereabouts.pieces_of(shop.site, shop.zone, shop.now_us, scan.text[:60])
        told = [(p.item, whereabouts.where(p, shop.zone, shop.now_us)) for p in pieces]
        rows = [Found(i.get_kind_display().capitalize(), str(i), item_url(i), text) for i, text in told] or search(shop, scan)
    if not rows:
        return not_understood(request, scan)
    return render(
        request,
        "inventory/found.html",
        {"title": say("Where is “{scan}”?", scan=scan.text[:60]), "rows": rows, "read": scan.text, "most": MOST},
    )


def goto(request: HttpRequest, shop: Shop, scan: Scan) -> HttpResponse | None:
    """Straight to what was scanned: a thing, a place, a badge, a delivery. None: it is none of these."""
    if scan.on == "person":
        return badge(request, shop, scan)
    item = resolve.find(shop.site, scan) if scan.on in (None, "item") else None
    if item is not None:
        return redirect(item_url(item))
    place = place_of(shop, scan)
    if place is not None:
        return redirect("place", place.code)
    number = Delivery.objects.filter(site=shop.site, number__iexact=scan.text[:40]).values_list("number", flat=True).first()
    return redirect(to("delivery", number=number)) if number else None


def place_of(shop: Shop, scan: Scan) -> Location | None:
    """The place with this code, if it is still in use."""
    named = Q(code__iexact=scan.text[:24]) | Q(code__iexact=scan.code or scan.text[:24])
    return Location.objects.select_related("storage").filter(named, site=shop.site, retired_us__isnull=True).first()


def badge(request: HttpRequest, shop: Shop, scan: Scan) -> HttpResponse | None:
    """A badge at any box says who does the next thing (R31)."""
    person = Person.objects.filter(badge_sha256=badge_digest(scan.code or ""), ended_us__isnull=True, site=shop.site).first()
    if person is None:
        return None
    request.session[BADGE] = person.pk
    messages.success(request, say("{person}: the next records carry this name.", person=person.name))
    return redirect("today")


def search(shop: Where, scan: Scan) -> list[Found]:
    """By part of a name or number, the most exact first; a handful of queries."""
    text = scan.text[:60]
    found = [*_lots(shop, text), *_materials(text), *_items(shop, text), *_deliveries(shop, text), *_places(shop, text), *_customers(text)]
    return sorted(found, key=lambda f: (f.name.casefold() != text.casefold(), not f.name.casefold().startswith(text.casefold())))[
        : MOST * 2
    ]


def _lots(shop: Where, text: str) -> list[Found]:
    by_number = Q(number__icontains=text) | Q(number_key__contains=number_key(text))
    rows = Lot.objects.filter(by_number, item__site=shop.site).select_related("item", "material", "supplier").order_by("-pk")[:MOST]
    return [
        Found(say("Lot"), r.number, item_url(r.item), say("{material}, {supplier}", material=r.material.code, supplier=r.supplier))
        for r in rows
    ]


def _materials(text: str) -> list[Found]:
    rows = Material.objects.filter(Q(code__icontains=text) | Q(name__icontains=text)).order_by("code")[:MOST]
    return [Found(say("Material"), r.code, to("material", r.code), r.name) for r in rows]


def _items(shop: Where, text: str) -> list[Found]:
    rows = Item.objects.filter(Q(mark__icontains=text) | Q(supplier_serial__icontains=text), site=shop.site).exclude(kind="lot")
    found = list(rows.select_related("material", "state__location").order_by("-pk")[:MOST])
    said = whereabouts.sentences(found, shop.zone, shop.now_us)
    return [Found(r.get_kind_display().capitalize(), str(r), item_url(r), said.get(r.pk) or _part(r)) for r in found]


def _part(item: Item) -> str:
    """Where a part is; a label that nobody recorded yet is nowhere."""
    state: Any = getattr(item, "state", None)
    if state is None:
        return ""
    place = state.location
    return (
        say("It is {gone}.", gone=state.gone)
        if state.gone
        else say("In {place} ({place_2}).", place=place.name, place_2=place.code)
        if place is not None
        else say("In no place yet.")
    )


def _deliveries(shop: Where, text: str) -> list[Found]:
    hit = Q(number__icontains=text) | Q(order_number__icontains=text) | Q(lot_number__icontains=text)
    rows = Delivery.objects.filter(hit, site=shop.site).select_related("material").order_by("-pk")[:MOST]
    return [
        Found(
            say("Delivery"),
            r.number,
            to("delivery", number=r.number),
            say("{material} {order_number}", material=r.material.code, order_number=r.order_number).strip(),
        )
        for r in rows
    ]


def _places(shop: Where, text: str) -> list[Found]:
    rows = Location.objects.filter(Q(name__icontains=text) | Q(code__icontains=text), site=shop.site, retired_us__isnull=True)
    return [Found(say("Place"), r.code, to("place", r.code), r.name) for r in rows.order_by("code")[:MOST]]


def _customers(text: str) -> list[Found]:
    rows = Customer.objects.filter(name__icontains=text).order_by("name")[:MOST]
    return [Found(say("Customer"), r.name, url, "") for r in rows if (url := to("customer", r.pk))]


def label_of(shop: Shop, raw: str) -> Led | None:
    """A supplier's label, and where it leads; None: it is none."""
    found = scanned(shop.site, shop.zone, shop.now_us, raw)
    return led(shop, found, raw) if found.reading.is_label or found.reading.kind == "broken" else None


def not_understood(request: HttpRequest, scan: Scan, label: Led | None = None) -> HttpResponse:
    """A page of its own for what nobody knows: this is what was read, this is what to do."""
    word = say("A label: {label_word}", label_word=label.word) if label is not None and label.tone == "ask" else say("Not understood")
    context = {"title": word, "read": scan.text, "reason": scan.reason, "kind": scan.kind, "label": label}
    return render(request, "inventory/not_understood.html", context, status=404)
