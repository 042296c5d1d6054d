"""One pot, kit or roll into many parts: scan the parts, then what goes into all of them. One record, one answer."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from inventory.core import codes
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.units import display
from inventory.models import ItemState
from inventory.pages.deeds import told
from inventory.pages.doing import status_of
from inventory.pages.door import Answer, Shop, page
from inventory.pages.ways import item_url, may
from inventory.verbs import resolve
from layups.core import schedule
from layups.models import Part
from layups.reads import schedules
from layups.verbs.laying import Into, Lay

from . import words
from .scanning import UNASKED, LayForm, asked_of, late_form

MOST = 60


@dataclass(frozen=True, slots=True)
class Chosen:
    """A part on the list: its next open line, and how much the person said goes into it."""

    part: Part
    link: Any
    line: str
    wants: str
    amount: str
    qty: str
    drop_url: str

    @property
    def code(self) -> str:
        return str(self.part.item.code)


@page
def several(request: HttpRequest) -> HttpResponse:
    """GET part (repeated): the list. POST the scan: a part joins the list, anything else is laid into all of them."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    asked = request.POST if request.method == "POST" else request.GET
    numbers = list(dict.fromkeys(n for n in asked.getlist("part") if n.strip()))[:MOST]
    form = LayForm(request.POST) if request.method == "POST" else LayForm()
    answer, ask_dry, name = Answer(), False, ""
    if request.method == "POST" and form.is_valid():
        scan = codes.normalise(form.cleaned_data["code"])
        thing = resolve.find(shop.site, scan) if scan.kind not in ("empty", "too_long") else None
        if thing is not None and thing.kind in ("part", "assembly"):
            return redirect(address([*numbers, thing.code]))
        name = str(thing) if thing is not None else scan.text[:40]
        answer = laid(request, form, numbers, thing.code if thing is not None else form.cleaned_data["code"])
        if answer.outcome is not None:
            told(request, answer.outcome)
            return redirect(address(numbers))
        ask_dry = [r.code for r in answer.reasons] == [UNASKED]
        answer = Answer() if ask_dry else answer
    title = say("One pot, kit or roll into several parts")
    context = {
        "title": say("No – {name}", name=name) if answer.reasons else title,
        "heading": title,
        "form": form,
        "chosen": chosen(shop, numbers, asked),
        "answer": answer,
        "ask_dry": ask_dry,
        "name": name,
        "late": late_form(request, shop),
        "may_lay": may(shop, "lay"),
        "pots": pots(shop),
    }
    return render(request, "layups/several.html", context, status=409 if ask_dry else status_of(answer, form))


def address(numbers: list[str]) -> str:
    return f"{reverse('lay-many')}?{urlencode({'part': list(dict.fromkeys(numbers))}, doseq=True)}" if numbers else reverse("lay-many")


def laid(request: HttpRequest, form: LayForm, numbers: list[str], code: str) -> Answer:
    """One record for all of them."""
    if not numbers:
        text = say("No part is on the list yet: scan the parts first, then what goes into them.")
        return Answer(reasons=[Reason("part.needed", text)], understood=False)
    d = form.cleaned_data
    into = [Into(n, request.POST.get(f"qty-{n}", "")[:60], d["plies"]) for n in numbers]
    dry = {"yes": True, "no": False}.get(d["dry"])
    params = Lay(code, into[0].part, d["plies"], "", into[0].qty, tuple(into[1:]), dry, d["extra"])
    return asked_of(request, "lay", params)


def chosen(shop: Shop, numbers: list[str], asked: Any) -> list[Chosen]:
    """The parts on the list with their next open line, in a constant number of queries."""
    rows = {
        p.item.code: p
        for p in Part.objects.select_related("item", "design", "customer").filter(item__code__in=numbers, item__site=shop.site)
    }
    found = [rows[n] for n in numbers if n in rows]
    lines = schedules.lines_of(p.design_id for p in found)
    laid_ = schedules.laid_into(p.pk for p in found)
    out = []
    for p in found:
        there = schedules.fillings(laid_.get(p.pk, ()))
        line = next((x for x in lines.get(p.design_id, ()) if not schedule.is_filled(x, there) and not x.box), None)
        out.append(
            Chosen(
                part=p,
                link=words.part_link(p.number, p.item.code),
                line=line.name if line is not None else say("every line is filled"),
                wants=line.wants if line is not None else "",
                amount=display(line.qty, line.unit) if line is not None and line.qty and line.unit else "",
                qty=asked.get(f"qty-{p.item.code}", "")[:60],
                drop_url=address([n for n in numbers if n != p.item.code]),
            )
        )
    return out


def pots(shop: Shop) -> list[tuple[str, str, str, int]]:
    """(name, how much is left, address, stop time) of the pots that can still be used."""
    rows = ItemState.objects.filter(item__site=shop.site, item__kind="mix", gone="", qty__gt=0).select_related("item").order_by("-pk")[:60]
    found = [(r, json.loads(r.doc).get("stop")) for r in rows]
    return [
        (str(r.item), display(r.qty, r.item.unit), item_url(r.item), stop) for r, stop in found if stop is not None and stop > shop.now_us
    ][:8]
