"""Labels: what to print, how it will look, and the file. Every print is recorded; what is shown here is not one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.core.label_formats import COPIES_MOST, DEFAULT, FORMATS, format_named
from inventory.core.labels import label, spoken
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.core.said import say, strung
from inventory.printing.asked import Wanted, texts_of, wanted
from inventory.printing.drawn import Drawn, draw
from inventory.printing.pictures import DPI, png
from inventory.printing.prints import FORMS, MAY, Order, checked_order, drawn, print_labels, times_printed
from inventory.reads.looking import together
from inventory.recording import Who

from .deeds import PageForm
from .door import Shop, device_of, key_of, page
from .labelling import SIZE, at_once, keep_at_once, printable, printed_fresh
from .ways import to

SHOWN = 6
"""Labels shown as pictures; of the rest the page says what it has to."""
MM = 5
"""Pixels a millimetre in the page: about natural size on a screen at arm's length."""
_TYPED = {"autocomplete": "off", "spellcheck": "false"}


class LabelForm(PageForm):
    things = forms.CharField(
        required=False,
        max_length=20_000,
        label=say("What"),
        help_text=say("Codes, marks or places, one a line or with commas between them."),
        widget=forms.Textarea({**_TYPED, "rows": 3}),
    )
    size = forms.ChoiceField(label=say("Format"), choices=[(f.name, f.words) for f in FORMATS.values()], initial=DEFAULT)
    copies = forms.IntegerField(label=say("Copies of each"), min_value=1, max_value=COPIES_MOST, initial=1)
    start = forms.IntegerField(
        label=say("First free place"),
        min_value=1,
        max_value=99,
        initial=1,
        help_text=say("On a sheet that was used before; counted row by row."),
    )
    reason = forms.CharField(
        required=False,
        max_length=200,
        label=say("Why again"),
        help_text=say("If a label is lost or dirty."),
        widget=forms.TextInput(_TYPED),
    )
    delivery = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput())
    lot = forms.CharField(required=False, max_length=16, widget=forms.HiddenInput())


@page
@require_http_methods(["GET", "HEAD", "POST"])
def labels(request: HttpRequest) -> HttpResponse:
    """GET things, delivery or lot, size: what would be printed. POST: the file, or with `show` the page again; with `once` how this
    browser prints new labels from now on."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form = LabelForm(request.POST if request.method == "POST" else _asked(request))
    reasons: list[Reason] = []
    order = None
    try:
        order = order_of(request, form) if form.is_valid() else None
        if order is not None and "once" in request.POST:
            return chosen_once(request, order, request.POST["once"])
        if order is not None and order.things:
            checked_order(order)
        if order is not None and request.method == "POST" and "show" not in request.POST:
            return printed(request, shop, order)
    except BadInput as bad:
        if bad.where in form.fields and not form.fields[bad.where].widget.is_hidden:
            form.add_error(bad.where, bad.reason.text)
        else:
            reasons = [bad.reason]
        order = None if bad.where in ("things", "delivery", "lot") else order
    except Refused as refused:
        reasons = list(refused.reasons)
    return shown(request, shop, form, order, reasons)


def _asked(request: HttpRequest) -> dict[str, str]:
    """The form as a link fills it: what is named in the address, the format of last time."""
    said = {name: request.GET[name] for name in ("things", "delivery", "lot", "reason") if name in request.GET}
    size = request.GET.get("size") or request.session.get(SIZE, DEFAULT)
    return said | {"size": size, "copies": request.GET.get("copies", "1"), "start": request.GET.get("start", "1")}


def order_of(request: HttpRequest, form: LabelForm) -> Order:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    said = form.cleaned_data
    things = wanted(shop.site, shop.zone, shop.now_us, texts_of(said["things"]), said["delivery"], said["lot"])
    zpl = "zpl" in request.POST
    return Order(
        tuple(things),
        format_named(said["size"]),
        address_of(request),
        said["copies"],
        said["start"],
        "zpl" if zpl else "pdf",
        settings.SELVEDGE_LABEL_DPI,
        said["reason"],
    )


def address_of(request: HttpRequest) -> str:
    """Where links on labels lead: what is set, else the address by which this page was called."""
    return settings.SELVEDGE_ADDRESS or request.build_absolute_uri("/")


def printed(request: HttpRequest, shop: Shop, order: Order) -> HttpResponse:
    """The file, after the print is recorded. Each press of the button is a print of its own, unless its form carries a key: then the
    same key again gives the file again and counts once."""
    who = Who(shop.site, shop.zone, shop.person.pk, device_of(request, shop), "", shop.user.pk)
    key = key_of(request)
    data = print_labels(order, who, shop.now_us, key)
    printed_fresh(request, key)
    request.session[SIZE] = order.format.name
    media, ending = FORMS[order.form]
    response = HttpResponse(data, content_type=media)
    how = "inline" if order.form == "pdf" else "attachment"
    response.headers["Content-Disposition"] = f'{how}; filename="labels.{ending}"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def chosen_once(request: HttpRequest, order: Order, form: str) -> HttpResponse:
    """How this browser prints what comes into being: pdf or zpl without being asked, or only when it is asked."""
    size = order.format.name
    form = form if form in printable(size) else ""
    if form:
        messages.success(request, say("This browser prints new labels at once from now on: {format}.", format=order.format.words))
    else:
        messages.success(request, say("This browser asks before it prints new labels."))
    response = redirect(to("labels", things=request.POST.get("things", ""), size=size))
    keep_at_once(response, size, form)
    return response


def shown(request: HttpRequest, shop: Shop, form: LabelForm, order: Order | None, reasons: list[Reason]) -> HttpResponse:
    context: dict[str, Any] = {"title": say("Labels"), "form": form, "may": bool(set(MAY) & shop.roles), "formats": FORMATS.values()}
    context["dpi"] = settings.SELVEDGE_LABEL_DPI
    context["once"] = at_once(request)
    if order is not None and order.things:
        try:
            context |= preview(order, shop)
        except BadInput as bad:
            form.add_error("size", bad.reason.text)
    context["reasons"] = reasons
    if reasons or form.errors:
        context["title"] = say("No – Labels")
    status = 403 if any(r.code == "role.not_allowed" for r in reasons) else 422 if reasons or form.errors else 200
    return render(request, "inventory/labels.html", context, status=status)


def preview(order: Order, shop: Shop) -> dict[str, Any]:
    """The first few as pictures, and what is to be known of all."""
    before = times_printed(order.things)
    made = drawn(order, shop.zone, shop.now_us)
    width, height = round(order.format.width * MM), round(order.format.height * MM)
    rows = [
        {
            "name": w.thing.name or w.thing.code,
            "src": to("label-picture", w.thing.code, size=order.format.name),
            "alt": say("Label: {one}. {fields}", one=one.label.code, fields=spoken(one.label.fields)),
            "before": before[w.thing.code],
        }
        for w, one in zip(order.things[:SHOWN], made[:SHOWN], strict=True)
    ]
    return {
        "pictures": rows,
        "width": width,
        "height": height,
        "number": len(order.things) * order.copies,
        "things": len(order.things),
        "more": len(order.things) - len(rows),
        "again": sum(1 for n in before.values() if n),
        "warnings": warnings(order.things, made),
        "roll": order.format.roll,
    }


def warnings(things: Iterable[Wanted], made: Iterable[Drawn]) -> list[str]:
    """What a label does not show as it is: one sentence for each kind, with the names it is about."""
    said: dict[str, list[str]] = {}
    for w, one in zip(things, made, strict=True):
        name = w.thing.name or w.thing.code
        if one.layout.left_out:
            said.setdefault(f"No room for {strung(', ', (ROLES[r] for r in one.layout.left_out))}:", []).append(name)
        if one.layout.cut:
            said.setdefault(f"Cut short ({strung(', ', dict.fromkeys(ROLES[r] for r in one.layout.cut))}):", []).append(name)
        if one.lost:
            said.setdefault(f"The face of labels does not have “{one.lost[:20]}”, so something else stands there:", []).append(name)
        if w.thing.gone:
            said.setdefault("No longer in stock; the label says so:", []).append(name)
    return [say("{text} {together}.", text=text, together=together(names, SHOWN)) for text, names in said.items()]


ROLES = {
    "word": say("the kind"),
    "name": say("the name"),
    "what": say("the material’s name"),
    "lot": say("the lot"),
    "life": say("its life"),
    "more": say("further limits"),
    "store": say("the storage temperature"),
    "fact": say("further facts"),
    "caution": say("cautions"),
    "foot": say("when it was printed"),
    "bad": say("why not"),
    "stop": say("the stop time"),
}


@page
@require_safe
def picture(request: HttpRequest, code: str) -> HttpResponse:
    """How the label of one thing looks."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    try:
        fmt = format_named(request.GET.get("size", ""))
        found = wanted(shop.site, shop.zone, shop.now_us, [code])
        data = png(draw(label(found[0].thing, shop.zone, shop.now_us, address_of(request)), fmt), DPI[1])
    except (BadInput, IndexError):
        raise Http404 from None
    return HttpResponse(data, content_type="image/png")
