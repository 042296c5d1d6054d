"""Suppliers' labels: the list of those that are known, the form that tells of another, and where a label leads."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.core.codes import visible
from inventory.core.labelfacts import WORDS
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.models import Delivery, Material, Supplier, SupplierLabel
from inventory.templatetags import words
from inventory.templatetags.tables import Column
from inventory.verbs.label_kinds import ForgetLabel, KnowLabel
from inventory.verbs.scans import Scanned, scanned

from .deeds import attempt, told
from .doing import status_of
from .door import Answer, Shop, Where, ask, call_of, page
from .receiveforms import line
from .ways import item_url, may, to

KNOWN = (
    Column(say("Supplier")),
    Column(say("Known by")),
    Column(say("Value"), wide=True),
    Column(say("Material")),
    Column(say("Told")),
    Column(say("Until")),
)
MOST = 500
deed = require_http_methods(["GET", "HEAD", "POST"])


class KindForm(forms.Form):
    """Whose label it is, of what, and how it is known."""

    supplier = line(say("Supplier"), "", True, list="suppliers")
    material = forms.ModelChoiceField(
        label=say("Material"), queryset=Material.objects.none(), to_field_name="code", empty_label=say("Choose a material")
    )
    known_by = forms.ChoiceField(
        label=say("Known by"),
        required=False,
        choices=(
            ("", say("its number, as scanned")),
            ("gtin", say("article number (GTIN)")),
            ("part", say("supplier's part number")),
            ("pattern", say("how it is built")),
        ),
    )
    value = line(
        say("Number, or how it is built"),
        say(
            "What changes stands in braces: GF{{lot}}/{{serial}}*{{expires:DDMMYY}}; also {{made:…}}, {{quantity:m}}, {{skip}}, {{lot:6}}."
        ),
    )
    means = line(say("Identifiers that mean something else here"), say("Such as T=serial; 9D=made DDMMYY. Mostly empty."))

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["material"].queryset = Material.objects.order_by("code")  # type: ignore[attr-defined]


@page
@deed
def kinds(request: HttpRequest) -> HttpResponse:
    """The labels that are known, with the button that ends one."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    answer = Answer()
    if request.method == "POST":
        number = request.POST.get("label", "")
        answer = ask("forget_label", call_of(request), ForgetLabel(int(number) if number.isdecimal() and len(number) < 15 else 0))
        if answer.outcome is not None:
            told(request, answer.outcome)
            return redirect("label-kinds")
    rows = list(SupplierLabel.objects.select_related("supplier", "material").order_by("ended_us", "supplier__name", "pk")[:MOST])
    context = {
        "title": (say("No – ") if answer.reasons else "") + say("Suppliers’ labels"),
        "heading": say("Suppliers’ labels"),
        "answer": answer,
        "columns": KNOWN,
        "rows": [kind_row(row, shop) for row in rows],
        "live": [row for row in rows if row.ended_us is None],
        "may": may(shop, "know_label"),
    }
    return render(request, "inventory/label_kinds.html", context, status=status_of(answer, forms.Form()))


def kind_row(row: SupplierLabel, shop: Shop) -> list[Any]:
    ended = words.instant(row.ended_us, shop.zone, shop.now_us, "near") if row.ended_us is not None else ""
    value = say("{value} ({means})", value=row.value, means=row.means) if row.means else row.value
    material = words.code_link(row.material.code, to("material", row.material.code))
    return [
        str(row.supplier),
        row.get_known_by_display(),
        value,
        material,
        words.instant(row.told_us, shop.zone, shop.now_us, "near"),
        ended,
    ]


@page
@deed
def new(request: HttpRequest) -> HttpResponse:
    """Tell of a label, once: with the scan at hand, so that a pattern can be tried on it."""
    data = request.POST if request.method == "POST" else request.GET
    raw = data.get("raw", "")[:4096]
    shop: Shop = request.shop  # type: ignore[attr-defined]
    numbered = bool(raw.strip()) and scanned(shop.site, shop.zone, shop.now_us, raw, bare=True).reading.is_label
    guess = {"known_by": "pattern", "value": visible(raw)[:200]} if raw.strip() and not numbered else {}
    form = KindForm(request.POST if request.method == "POST" else None, initial={**guess, **request.GET.dict()})
    answer = Answer()
    if request.method == "POST":
        answer = attempt(request, "know_label", form, lambda: said_of(form.cleaned_data, raw))
        if answer.outcome is not None:
            messages.success(request, answer.outcome.text)
            number = data.get("number", "")[:40]
            return redirect(
                to("delivery", number=number, material=form.cleaned_data["material"].code, scan=raw) if number else to("label-kinds")
            )
    context = {
        "title": (say("No – ") if answer.reasons else "") + say("A supplier’s label"),
        "heading": say("A supplier’s label"),
        "form": form,
        "answer": answer,
        "raw": raw,
        "read": visible(raw),
        "number": data.get("number", "")[:40],
        "suppliers": Supplier.objects.order_by("name"),
    }
    return render(request, "inventory/label_new.html", context, status=status_of(answer, form))


def said_of(said: dict[str, Any], raw: str) -> KnowLabel:
    return KnowLabel(said["supplier"], said["material"].code, raw, said["known_by"], said["value"], said["means"])


# --- where a label leads --------------------------------------------------------------------------------


@dataclass
class Led:
    """Where a scan leads: an address, or why it leads nowhere."""

    tone: str
    word: str
    text: str
    read: str
    url: str = ""
    marks: list[tuple[str, str, str]] = field(default_factory=list)
    told: list[Reason] = field(default_factory=list)
    colour: str = "stop"
    shape: str = "octagon"
    map_url: str = ""


def label_here(shop: Where, raw: str) -> Led:
    """From a label to the delivery that expects it; a thing that has come leads to itself."""
    return led_here(shop, scanned(shop.site, shop.zone, shop.now_us, raw, bare=True), raw)


def led_here(shop: Where, found: Scanned, raw: str) -> Led:
    """The same of what was scanned already."""
    more = found.what == "lot" and bool(found.kinds)  # another piece of a lot that is here
    return led(shop, replace(found, what="label", item=None) if more else found, raw)


def led(shop: Where, found: Scanned, raw: str) -> Led:
    """Where what was scanned leads."""
    marks = [(mark.id, WORDS.get(mark.name, ""), mark.value) for mark in found.reading.marks]
    out = Led("no", say("Not understood"), "", found.reading.text, marks=marks)
    out.url = where(found)
    if out.url:
        return out
    if found.what == "label":
        return _expected(shop, found, raw, out)
    reason = found.reading.reason
    if found.what == "unmapped":
        out.tone, out.word, out.colour, out.shape = "ask", say("not known yet"), "soon", "diamond"
        out.text = say("Nobody has said yet what this label is of. Open its delivery and scan it there, or say it here.")
        out.map_url = to("label-new", raw=raw[:1000])
    else:
        out.text = reason.text if reason is not None else say("No delivery, thing or label is known that is called so.")
        out.map_url = to("label-new", raw=raw[:1000]) if found.reading.kind == "plain" else ""
    return out


def where(found: Scanned) -> str:
    """The page of what has this name here."""
    if found.delivery is not None:
        return to("delivery", number=found.delivery.number)
    if found.item is not None:
        return item_url(found.item)
    return to("place", found.place.code) if found.place is not None else ""


def _expected(shop: Where, found: Scanned, raw: str, out: Led) -> Led:
    """The one delivery that is expected of this material, from this supplier."""
    rows = Delivery.objects.filter(site=shop.site, arrived_us__isnull=True, cancelled_us__isnull=True)
    pairs = {(row.supplier_id, row.material_id) for row in found.kinds}
    due = [
        d
        for d in rows.filter(material__in=[m for _, m in pairs]).order_by("due_on", "number")[:50]
        if (d.supplier_id, d.material_id) in pairs
    ]
    codes = strung(say(" or "), sorted({row.material.code for row in found.kinds}))
    out.tone, out.word, out.colour, out.shape = "ask", codes, "soon", "diamond"
    if len(due) == 1:
        out.url = to("delivery", number=due[0].number, scan=raw)
    elif due:
        out.text = say(
            "{due} deliveries of {codes} are expected ({number}): open the right one and scan it there.",
            due=len(due),
            codes=codes,
            number=strung(", ", (d.number for d in due[:6])),
        )
    else:
        out.text = say("This label is {codes}; no delivery of it is expected. Receive it as something not expected.", codes=codes)
    return out
