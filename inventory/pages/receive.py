"""Receiving: what is expected and what has come; a delivery taken in piece by piece, or many rows at once; opening stock."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.html import format_html
from django.views.decorators.http import require_http_methods, require_safe

from inventory.core.packs import counted, usual_kind
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.core.units import display
from inventory.models import Delivery, Item, Material, Supplier
from inventory.reads.needs_quality import waits_for
from inventory.reads.needs_supply import described, spelled
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column
from inventory.verbs.registry import Outcome

from .deeds import attempt, told
from .deliverylabels import at_once, carried, label_read, led_away, packages_of, remembered, scan_of
from .doing import late_form, status_of
from .door import Answer, Shop, page
from .labelkinds import label_here
from .labelling import label_url
from .labelreading import BOX
from .logs import LOGS, log_rows
from .measures import own
from .receiveforms import (
    KEPT,
    ON_THE_WAY,
    ROW_FIELDS,
    ROW_WORDS,
    HeadForm,
    NewForm,
    PieceForm,
    filled,
    marks_of,
    opening_of,
    piece_of,
    receive_of,
    rows_of,
)  # fmt: skip
from .ways import item_link, may, to

EXPECTED = (Column(say("Delivery")), Column(say("Due")), Column(say("What"), wide=True), Column(say("Supplier")), Column(say("Order")))
ARRIVED = (Column(say("Delivery")), Column(say("Came")), Column(say("Material")), Column(say("Supplier")), Column(say("Pieces"), num=True))
INSIDE = (
    Column(say("Piece")),
    Column(say("Lot")),
    Column(say("How much"), num=True),
    Column(say("Label")),
    Column(say("State"), wide=True),
)
RECENT_US = 14 * 86_400_000_000
ROWS, MORE, MOST = 6, 6, 200
deed = require_http_methods(["GET", "HEAD", "POST"])


@page
@require_safe
def receive(request: HttpRequest) -> HttpResponse:
    """What is expected, the earliest first, and what came lately."""
    from django.db.models import Count

    shop: Shop = request.shop  # type: ignore[attr-defined]
    rows = Delivery.objects.filter(site=shop.site).select_related("material", "supplier")
    expected = rows.filter(arrived_us__isnull=True, cancelled_us__isnull=True).order_by("due_on", "number")
    arrived = rows.filter(arrived_us__gt=shop.now_us - RECENT_US).annotate(n=Count("items")).order_by("-arrived_us")
    raw = request.GET.get(BOX, "")
    found = label_here(shop, raw) if raw.strip() else None
    if found is not None and found.url:
        return redirect(found.url)
    context = {
        "title": say("Receive"),
        "read": found,
        "focus": found is None,  # a label that was read is looked at first
        "expected_columns": EXPECTED,
        "expected": [expected_row(d, shop) for d in expected[:200]],
        "arrived_columns": ARRIVED,
        "arrived": [arrived_row(d, shop) for d in arrived[:100]],
        "may": may(shop, "receive"),
        "ways": [(label, url) for label, url in ways(shop) if url],
    }
    return render(request, "inventory/receive.html", context)


def ways(shop: Shop) -> list[tuple[str, str]]:
    if not may(shop, "receive"):
        return []
    return [
        (say("Something not expected"), to("receive-new")),
        (say("Many from a file"), to("receive-import")),
        (say("Opening stock"), to("receive-opening")),
        (say("Expect a delivery"), to("do", "expect", next=to("receive")) if may(shop, "expect") else ""),
    ]


def expected_row(d: Delivery, shop: Shop) -> list[Any]:
    today = local_date(shop.now_us, shop.zone)
    due: Any = say("no date")
    if d.due_on is not None:
        due = say("today") if d.due_on == today else spelled(d.due_on)
        due = shapes.chip("overdue", due) if d.due_on < today else due
    return [words.code_link(d.number, to("delivery", number=d.number)), due, described(d), str(d.supplier), d.order_number]


def arrived_row(d: Any, shop: Shop) -> list[Any]:
    when = words.instant(d.arrived_us, shop.zone, shop.now_us, "near")
    return [words.code_link(d.number, to("delivery", number=d.number)), when, d.material.code, str(d.supplier), d.n]


@page
@deed
def new(request: HttpRequest) -> HttpResponse:
    """A delivery that nobody expected: its number and what it is; then its pieces."""
    form = NewForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        return redirect(
            to("delivery", number=said["number"], material=said["material"].code, supplier=said["supplier"], order=said["order"])
        )
    context = {"title": say("Receive something not expected"), "form": form, "suppliers": Supplier.objects.order_by("name")}
    return render(request, "inventory/receive_new.html", context, status=422 if form.errors else 200)


class Named:
    """The delivery that a page is about: expected or not, from the address or the form."""

    def __init__(self, request: HttpRequest) -> None:
        data = request.POST if request.method == "POST" else request.GET
        shop: Shop = request.shop  # type: ignore[attr-defined]
        self.number = " ".join((data.get("number") or request.GET.get("number", "")).split())[:40]
        rows = Delivery.objects.filter(site=shop.site, number__iexact=self.number).select_related("material", "supplier")
        self.row: Delivery | None = rows.first() if self.number else None
        self.supplier = data.get("supplier", "").strip()[:120]
        self.order = data.get("order", "").strip()[:40]
        code = data.get("material", "").strip()[:24]
        self.material = self.row.material if self.row is not None else Material.objects.filter(code__iexact=code).first()

    @property
    def known(self) -> bool:
        return self.material is not None and bool(self.number)

    @property
    def code(self) -> str:
        return self.material.code if self.material is not None else ""


@page
@deed
def delivery(request: HttpRequest) -> HttpResponse:
    """One delivery: its pieces so far, and the form for the next one. The lot's values stay from piece to piece."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    named = Named(request)
    if not named.known:
        return redirect("receive-new")
    away = led_away(request, shop, named.number) if request.method == "POST" else None
    if away is not None:
        return away
    put, raw = kept(request, named), remembered(request) or scan_of(request, shop)
    read = label_read(request, shop, named, raw, put) if raw else None
    whole = at_once(request, named, read, raw, put)
    posted = request.POST if request.method == "POST" and (read is None or whole is not None) else None
    form = whole or PieceForm(posted, initial=put if read is None else read.values, material=named.material, delivery=named.row)
    answer = Answer()
    if posted is not None:
        answer = attempt(request, "receive", form, lambda: said_of(form, named))
        if answer.outcome is not None:
            piece_told(request, answer.outcome)
            said = {name: request.GET.get(name, "") for name in ON_THE_WAY}  # of the whole delivery, by its log
            return redirect(to("delivery", **said, **{name: form.data.get(name, "") for name in KEPT}))
    context = {
        "title": (say("No – ") if answer.reasons else "") + say("Delivery {named}", named=named.number),
        "heading": say("Delivery {named}", named=named.number),
        "named": named,
        "form": form,
        "answer": answer,
        "late": late_form(request),
        "may": may(shop, "receive"),
        "columns": INSIDE,
        **carried(request, read, raw, put, form),
        "log_new": to("log-new", delivery=named.number) if named.row is not None and may(shop, "take_log") else "",
        "log_columns": LOGS,
        "logs": log_rows(shop, delivery=named.row) if named.row is not None else [],
        "labels": label_url(shop, delivery=named.number) if named.row is not None and named.row.arrived_us is not None else "",
        **inside(named, shop),
    }
    return render(request, "inventory/delivery.html", context, status=status_of(answer, form))


def kept(request: HttpRequest, named: Named) -> dict[str, str]:
    """What the last piece said, or what the order says."""
    found = {name: request.GET[name] for name in (*KEPT, *ON_THE_WAY) if request.GET.get(name)}
    d = named.row
    if d is not None and d.expected_qty and d.expected_pieces and "quantity" not in found and d.expected_qty % d.expected_pieces == 0:
        found["quantity"] = display(d.expected_qty // d.expected_pieces, d.material.unit, exact=True)
    return found


def said_of(form: PieceForm, named: Named) -> Any:
    piece = piece_of(form.cleaned_data, marks_of(form), form.cleaned_data.get("marks_from", ""), form.labels)
    return receive_of(form.cleaned_data, named.number, named.code, named.supplier, named.order, (piece,))


def piece_told(request: HttpRequest, outcome: Outcome) -> None:
    """What came, with what its map leaves usable."""
    told(request, outcome)
    for data in outcome.data.get("pieces", ()):
        if data.get("usable", data["quantity"]) != data["quantity"] or data.get("longest", data["quantity"]) != data["quantity"]:
            usable, longest = display(data["usable"], "um", exact=True), display(data["longest"], "um", exact=True)
            messages.info(
                request,
                say(
                    "{mark}: usable {usable}, longest clear piece {longest}.",
                    mark=data["mark"] or data["code"],
                    usable=usable,
                    longest=longest,
                ),
            )


def inside(named: Named, shop: Shop) -> dict[str, Any]:
    """The pieces of a delivery that have come, against what was ordered."""
    if named.row is None:
        return {"rows": [], "so_far": ""}
    items = list(Item.objects.filter(delivery=named.row).select_related("state", "lot__batch", "material").order_by("pk")[:MOST])
    from inventory.reads.release import against_release, waiting_pieces

    waiting = waiting_pieces(shop.site, [i.pk for i in items]) if items else []
    reasons = against_release(waiting) if waiting else {}
    total = sum(i.state.qty for i in items if hasattr(i, "state"))
    return {
        "rows": [piece_row(i, reasons) for i in items],
        "so_far": so_far(named.row, len(items), total),
        "lots": lots_of(items),
        "packages": packages_of(items),
    }


def piece_row(item: Item, reasons: dict[int, Any]) -> list[Any]:
    """A piece with how it stands: what it waits for, or that it was released."""
    if item.pk in reasons:
        said = waits_for(item, reasons[item.pk]) or say("papers in order")
        state = format_html("{} {}", shapes.chip("unreleased"), words.emphasise(said))
    else:
        gone = item.state.gone if hasattr(item, "state") else "void"
        state = shapes.chip(gone if gone in shapes.STATUS else "gone") if gone else shapes.chip("done", say("released"))
    batch = getattr(item.lot, "batch", None)
    qty = item.state.qty if hasattr(item, "state") else 0
    return [item_link(item), batch.number if batch else "", words.qty(qty, item.unit), words.code_link(item.code), state]


def lots_of(items: list[Item]) -> list[tuple[str, str]]:
    """The lots in it, each with the page for its papers."""
    found = {i.lot_id: getattr(i.lot, "batch", None) for i in items if i.lot_id}
    return [(batch.number, to("papers", lot=batch.item.code)) for batch in found.values() if batch is not None]


def so_far(d: Delivery, pieces: int, total: int) -> str:
    """ "2 of 3 rolls, 200.00 of 300.00 m"."""
    kind = usual_kind(d.material.kind, d.material.unit)
    said = (
        say("{pieces} of {counted}", pieces=pieces, counted=counted(d.expected_pieces, kind))
        if d.expected_pieces
        else counted(pieces, kind)
    )
    amount = display(total, d.material.unit)
    return said + (
        say(", {amount} of {expected_qty}", amount=amount, expected_qty=display(d.expected_qty, d.material.unit))
        if d.expected_qty
        else say(", {amount}", amount=amount)
    )


# --- many rows at once ------------------------------------------------------------------------------


@page
@deed
def rows(request: HttpRequest) -> HttpResponse:
    """A whole lot in one table: all of it is recorded, or nothing."""
    named = Named(request)
    if not named.known:
        return redirect("receive-new")

    def params(head: dict[str, Any], pieces: tuple[Any, ...]) -> Any:
        return receive_of(head, named.number, named.code, named.supplier, named.order, pieces)

    extra = {
        "title": say("Delivery {named}, many at once", named=named.number),
        "named": named,
        "back": to("delivery", number=named.number, material=named.code),
    }
    return table_page(request, "receive", named.material, named.row, params, extra)


@page
@deed
def opening(request: HttpRequest) -> HttpResponse:
    """Stock that was there before the records began (R36): unknown is not zero."""
    data = request.POST if request.method == "POST" else request.GET
    material = Material.objects.filter(code__iexact=data.get("material", "").strip()[:24]).first()

    def params(head: dict[str, Any], pieces: tuple[Any, ...]) -> Any:
        return opening_of(head, material.code if material else "", data.get("supplier", ""), pieces)

    extra = {
        "title": say("Opening stock"),
        "opening": True,
        "materials": Material.objects.order_by("code"),
        "material": material,
        "back": to("receive"),
    }
    return table_page(request, "open_stock", material, None, params, extra)


def table_page(
    request: HttpRequest, verb: str, material: Material | None, row: Delivery | None, params: Any, extra: dict[str, Any]
) -> HttpResponse:
    """A form of rows. The button for more rows sends the page round once, recording nothing."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    posted, more = request.method == "POST", "more" in request.POST
    size = request.POST.get("n", "") if posted else request.GET.get("n", "")
    n = min(MOST, (int(size) if size.isdecimal() and len(size) < 5 else ROWS) + (MORE if more else 0))
    form = HeadForm(
        request.POST if posted and not more else None,
        initial=request.POST.dict() if more else {},
        material=material,
        delivery=row,
        opening=row is None,
    )
    typed = rows_of(request.POST, n)
    answer = Answer()
    if posted and not more:
        answer = attempt(request, verb, form, lambda: params(form.cleaned_data, tuple(piece_of(r) for r in filled(typed))))
        if answer.outcome is not None:
            piece_told(request, answer.outcome)
            return redirect(extra["back"])
    fields = [name for name in ROW_FIELDS if wanted_column(name, material, verb)]
    context = {
        **extra,
        "title": (say("No – ") if answer.reasons else "") + extra["title"],
        "heading": extra["title"],
        "form": form,
        "answer": answer,
        "may": may(shop, verb),
        "n": n,
        "columns": [ROW_WORDS[name] + (f", {own('°C')}" if name == "warmest" else "") for name in fields],
        "rows": [
            [
                {"name": f"{name}-{i}", "value": r[name], "label": say("{row_words}, row {value}", row_words=ROW_WORDS[name], value=i + 1)}
                for name in fields
            ]
            for i, r in enumerate(typed)
        ],
        "form_key": request.POST.get("key") if more or form.errors else None,
    }
    return render(request, "inventory/receive_rows.html", context, status=status_of(answer, form))


def wanted_column(name: str, material: Material | None, verb: str) -> bool:
    """Columns that could matter for this material."""
    if name in ("transport", "warmest"):
        return verb == "receive" and (material is None or material.thaw_roll_us > 0 or material.min_store_mc is not None)
    if name == "out_time":
        return material is None or material.thaw_roll_us > 0
    return True
