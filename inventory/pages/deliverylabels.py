"""The page of a delivery and its suppliers' labels: which scan is to be read, what is told once, what the form carries along."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse

from inventory.core import codes
from inventory.core.labelfill import packages_told
from inventory.core.reasons import BadInput
from inventory.core.units import to_stock
from inventory.models import Delivery, Item, Leg
from inventory.properties import props_of
from inventory.reads.deliveries import still_expected
from inventory.verbs.label_kinds import KnowLabel

from .door import Shop, ask, call_of
from .finding import goto, place_of
from .labelreading import BOX, FILLED, Goods, LabelRead, is_whole_label, put_of, read_label
from .receiveforms import PieceForm, labels_of, with_label, with_labels
from .ways import to

if TYPE_CHECKING:
    from .receive import Named


def scan_of(request: HttpRequest, shop: Shop) -> str:
    """The label that is to be read: from the scan box, or from the field for a name when the scanner's focus stood there. A place's
    label says where the piece is put away."""
    raw = (request.POST if request.method == "POST" else request.GET).get(BOX, "")
    mark = request.POST.get("mark", "")
    if raw.strip() or not mark.strip():
        return raw
    whole = len(mark) > 15 and is_whole_label(mark, shop)
    return mark if whole or place_of(shop, codes.normalise(mark)) is not None else ""


def led_away(request: HttpRequest, shop: Shop, number: str) -> HttpResponse | None:
    """Where the field for a name was given something else by the scanner: another delivery's note, or somebody's badge."""
    scan = codes.normalise(request.POST.get("mark", ""))
    if scan.kind in ("empty", "too_long") or request.POST.get(BOX, "").strip():
        return None
    if scan.on == "person":
        return goto(request, shop, scan)
    other = Delivery.objects.filter(site=shop.site, number__iexact=scan.text[:40]).exclude(number__iexact=number).exists()
    return goto(request, shop, scan) if other else None


def remembered(request: HttpRequest) -> str:
    """The button that says what a supplier's labels are of: told once, then the label is read again."""
    raw: str = request.POST.get("remember_raw", "") if "remember" in request.POST else ""
    if raw:
        told_of = KnowLabel(request.POST.get("remember_supplier", ""), request.POST.get("material", ""), raw)
        answer = ask("know_label", call_of(request), told_of)
        if answer.outcome is not None:
            messages.success(request, answer.outcome.text)
        for reason in answer.reasons:
            messages.warning(request, reason.text)
    return raw


def label_read(request: HttpRequest, shop: Shop, named: Named, raw: str, put: dict[str, str]) -> LabelRead:
    """Reads a label into the form; what was typed stays."""
    d, posted = named.row, request.method == "POST"
    assert named.material is not None
    supplier = named.supplier or (str(d.supplier) if d is not None else str(named.material.supplier or ""))
    typed = (
        {name: request.POST.get(name, "") for name in PieceForm.base_fields}
        if posted
        else {n: put.get(n, "") for n in PieceForm.base_fields}
    )
    if typed.get("mark", "") == raw:
        typed["mark"] = ""
    return read_label(
        shop, raw, Goods(named.material, named.number, supplier, named.order, d), typed, put_of(request.POST) if posted else put
    )


def at_once(request: HttpRequest, named: Named, read: LabelRead | None, raw: str, put: dict[str, str]) -> PieceForm | None:
    """The form as a label fills it, where the box is ticked that takes a piece in as soon as its label says everything; None: it waits
    for somebody to look, as it does with more than is still expected."""
    if request.method != "POST" or read is None or not read.one_piece or not request.POST.get("at_once"):
        return None
    data = {**request.POST.dict(), **read.values, "labels": with_label(labels_of(request.POST), raw)}
    form = PieceForm(data, initial=put, material=named.material, delivery=named.row)
    if not form.is_valid() or named.material is None:
        return None
    try:
        qty = to_stock(form.cleaned_data["quantity"], None, props_of(named.material, named.material.unit)).value
    except BadInput:
        return None
    return form if named.row is None or still_expected(named.row, qty) else None


def carried(request: HttpRequest, read: LabelRead | None, raw: str, put: dict[str, str], form: PieceForm) -> dict[str, Any]:
    """What the form carries along: the labels of this piece as they were scanned, and what the page itself put into its fields."""
    posted = request.method == "POST"
    labels = labels_of(request.POST) if posted else ()
    shown = put if not posted else put_of(request.POST) if read is None else read.values
    return {
        "read": read,
        "labels_read": with_label(labels, raw) if read is not None and read.tone != "no" else with_labels(labels),
        "put": [(name, shown.get(name, "")) for name in FILLED if name in form.fields],
        "form_key": request.POST.get("key") if read is not None else None,
        "kinds_url": to("label-kinds"),
    }


def packages_of(items: list[Item]) -> list[str]:
    """Which packages of how many have come, by the labels, and which are missing."""
    bodies = Leg.objects.filter(item__in=[i.pk for i in items], act__kind="receive", body__contains='"package"').values_list(
        "body", flat=True
    )
    return packages_told((n, of) for n, of in (json.loads(body)["package"] for body in bodies))
