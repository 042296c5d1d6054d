"""The supplier's papers of a lot: the values that are required, for the lot and for each roll, and the file itself."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import attachments
from inventory.core import codes
from inventory.core.said import say
from inventory.models import CertLimit, Item
from inventory.reads.release import papers_of
from inventory.verbs import resolve
from inventory.verbs.certifying import Certify, PaperValue

from .deeds import attempt, told
from .doing import status_of
from .door import Answer, Shop, call_of, page
from .ways import item_url, may, to

PIECES = ("roll", "spool", "drum", "can", "box", "sheet")
MOST = 100


class PapersForm(forms.Form):
    file = forms.FileField(
        required=False, label=say("The certificate as a file"), help_text=say("{known}. It is kept as it is.", known=attachments.KNOWN)
    )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def papers(request: HttpRequest) -> HttpResponse:
    """GET lot: the lot's label, or any piece of it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    lot = lot_of(shop, request.GET.get("lot", "") or request.POST.get("lot", ""))
    needed = list(CertLimit.objects.filter(material=lot.material_id).order_by("per_item", "pk"))
    pieces = list(pieces_of(lot))
    form, answer = PapersForm(request.POST if request.method == "POST" else None, request.FILES or None), Answer()
    if request.method == "POST":
        answer = attempt(request, "certify", form, lambda: said(request, form, lot, needed, pieces))
        if answer.outcome is not None:
            told(request, answer.outcome, loud=any(line["verdict"] == "outside" for line in answer.outcome.data["lines"]))
            number = pieces[0].delivery.number if pieces and pieces[0].delivery else ""
            return redirect(to("delivery", number=number) if number else item_url(lot))
    title = say("Papers of lot {batch}", batch=lot.batch.number)
    context = {
        "title": (say("No – ") if answer.reasons else "") + title,
        "heading": title,
        "lot": lot,
        "form": form,
        "answer": answer,
        "may": may(shop, "certify"),
        **values(request, lot, needed, pieces),
    }
    return render(request, "inventory/papers.html", context, status=status_of(answer, form))


def lot_of(shop: Shop, text: str) -> Item:
    item = resolve.find(shop.site, codes.normalise(text))
    lot = item if item is not None and item.kind == "lot" else item.lot if item is not None else None
    if lot is None:
        raise Http404
    return Item.objects.select_related("material", "batch__supplier").get(pk=lot.pk)


def pieces_of(lot: Item) -> Any:
    rows = Item.objects.filter(lot=lot, kind__in=PIECES, state__gone="").select_related("material", "state", "delivery")
    return rows.order_by("pk")[:MOST]


def values(request: HttpRequest, lot: Item, needed: list[CertLimit], pieces: list[Item]) -> dict[str, Any]:
    """The boxes to fill in: for the lot, and a table of pieces for what is required of each."""
    on_file = papers_of([*pieces, Item(pk=lot.pk, lot_id=lot.pk, material_id=lot.material_id)])
    each = [need for need in needed if need.per_item]
    return {
        "of_lot": [box(request, f"v-{need.pk}", need, on_file.of_lot[lot.pk]) for need in needed if not need.per_item],
        "of_pieces": [(str(p), [box(request, f"p-{p.pk}-{need.pk}", need, on_file.of_piece[p.pk]) for need in each]) for p in pieces],
        "each": [(need.name, need.unit, limits_of(need)) for need in each],
    }


def box(request: HttpRequest, name: str, need: CertLimit, on_file: dict[str, str]) -> dict[str, str]:
    known = on_file.get(" ".join(need.name.split()).casefold(), "")
    return {
        "name": name,
        "label": need.name,
        "unit": need.unit,
        "limits": limits_of(need),
        "known": known,
        "value": request.POST.get(name, ""),
    }


def limits_of(need: CertLimit) -> str:
    if need.low and need.high:
        return say("{low}–{high} {need_unit}", low=need.low, high=need.high, need_unit=need.unit).strip()
    return say(
        "{low} {need_unit}", low="at least " + need.low if need.low else "at most " + need.high if need.high else "", need_unit=need.unit
    ).strip()


def said(request: HttpRequest, form: PapersForm, lot: Item, needed: list[CertLimit], pieces: list[Item]) -> Certify:
    """What was filled in; the file is kept first, so that the record can name it."""
    found = []
    for need in needed:
        names = [(f"p-{p.pk}-{need.pk}", p.code) for p in pieces] if need.per_item else [(f"v-{need.pk}", "")]
        found += [PaperValue(need.name, text, code) for name, code in names if (text := request.POST.get(name, "").strip())]
    shop: Shop = request.shop  # type: ignore[attr-defined]
    file = form.cleaned_data.get("file")
    sha = ""
    if file is not None and may(shop, "certify"):
        call = call_of(request)
        sha = attachments.keep(file.chunks(), file.name, call.who, call.now_us, lot).sha256
    return Certify(lot.code, tuple(found), sha)
