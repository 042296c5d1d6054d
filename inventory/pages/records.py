"""What was recorded, newest first; one record in full; and what was refused, with every reason."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django import forms
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from inventory.core import codes
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.models import Act, Attachment, Finding, Item, Leg, Person, Refusal
from inventory.templatetags import words
from inventory.verbs import resolve
from inventory.verbs.registry import VERBS
from inventory.verbs.voiding import UNDO_US

from . import acts
from .door import Shop, page
from .ways import item_links, may, query, to

PAGE = 50
SHOWN_ITEMS = 12
LED_BY_WHAT_CAME = ("mix", "pour", "lay", "join")
"""Acts that are told of what something went into; the others of what they were done to."""


class Filter(forms.Form):
    """What to show of the records."""

    item = forms.CharField(
        required=False, max_length=200, label=say("Thing"), widget=forms.TextInput({"placeholder": say("label or mark")})
    )
    kind = forms.ChoiceField(required=False, label=say("What happened"), choices=[("", say("anything")), *acts.KINDS.items()])
    person = forms.ModelChoiceField(required=False, label=say("Who"), queryset=Person.objects.none(), empty_label=say("anybody"))
    marked = forms.ChoiceField(
        required=False,
        label=say("Only"),
        choices=[("", say("all records")), ("late", say("told afterwards")), ("broke", say("broke a rule")), ("void", say("voided"))],
    )

    def __init__(self, data: Any, shop: Shop) -> None:
        super().__init__(data)
        self.fields["person"].queryset = Person.objects.filter(site=shop.site).order_by("name")  # type: ignore[attr-defined]


@page
@require_safe
def records(request: HttpRequest) -> HttpResponse:
    """GET item, kind, person, marked, before (the cursor)."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form = Filter(request.GET, shop)
    rows = filtered(Act.objects.filter(site=shop.site), form, shop) if form.is_valid() else Act.objects.none()
    before = cursor(request)
    if before is not None:
        rows = rows.filter(pk__lt=before)
    found = list(rows.select_related("person", "device", "voided_by__person").order_by("-pk")[: PAGE + 1])
    context = {
        "title": say("Records"),
        "form": form,
        "movements": movements(found[:PAGE], shop),
        "next": query(request, before=found[PAGE - 1].pk) if len(found) > PAGE else "",
        "first": query(request, before=None) if before is not None else "",
    }
    return render(request, "inventory/records.html", context, status=200 if form.is_valid() else 422)


def filtered(rows: QuerySet[Act], form: Filter, shop: Shop) -> QuerySet[Act]:
    said = form.cleaned_data
    if said["item"].strip():
        item = resolve.find(shop.site, codes.normalise(said["item"]))
        if item is None:
            form.add_error("item", say("Nothing here has this label or mark."))
            return rows.none()
        rows = rows.filter(pk__in=Leg.objects.filter(item=item).values("act"))
    if said["kind"]:
        rows = rows.filter(kind=said["kind"])
    if said["person"]:
        rows = rows.filter(person=said["person"])
    wanted = {"late": Q(stance="observed") & ~Q(kind="made"), "broke": Q(body__contains='"broke":['), "void": Q(voided_by__isnull=False)}
    return rows.filter(wanted[said["marked"]]) if said["marked"] else rows


def cursor(request: HttpRequest) -> int | None:
    """The record to go on after; what is no number counts as none."""
    text = request.GET.get("before", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None


def movements(found: list[Act], shop: Shop) -> list[dict[str, Any]]:
    """Acts as the timeline takes them, with the things that they touched; three queries for any number."""
    legs: dict[int, list[Leg]] = {}
    for leg in Leg.objects.filter(act__in=[a.pk for a in found]).select_related("item__batch", "location").order_by("pk"):
        legs.setdefault(leg.act_id, []).append(leg)
    edges = acts.edges_of(a.pk for a in found)
    return [act_movement(act, legs[act.pk], edges.get(act.pk, ()), shop) for act in found if act.pk in legs]


def act_movement(act: Act, legs: list[Leg], edges: Any, shop: Shop) -> dict[str, Any]:
    """One act in a line: what it did to the first thing it touched, and what else it touched."""
    for leg in legs:
        leg.act = act
    made = {e.dst_id for e in edges} if act.kind in LED_BY_WHAT_CAME else set()
    lead = next((leg for leg in legs if leg.item_id in made), None) or next((leg for leg in legs if leg.item.kind != "lot"), legs[0])
    mine = [e for e in edges if lead.item_id in (e.src_id, e.dst_id)]
    told = {end for e in mine for end in (e.src_id, e.dst_id)}
    others = [leg.item for leg in legs if leg is not lead and leg.item_id not in told]
    row = acts.movement(lead, mine, shop)
    text = format_html("{} {}", item_links([lead.item]), row["text"])
    if others:
        more = say(" and {others} more", others=len(others) - SHOWN_ITEMS) if len(others) > SHOWN_ITEMS else ""
        text = words.html_say("{text} · also {others}{more}", text=text, others=item_links(others[:SHOWN_ITEMS]), more=more)
    return row | {"text": text}


@page
@require_safe
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """One record in full: who, when, from where, what it did, what it broke, and its exact text."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    act = get_object_or_404(Act.objects.select_related("person", "device", "user", "voided_by__person", "voids"), site=shop.site, pk=pk)
    legs = list(Leg.objects.filter(act=act).select_related("item__batch", "location").order_by("pk"))
    edges = acts.edges_of([act.pk]).get(act.pk, ())
    for leg in legs:
        leg.act = act
    void = getattr(act, "voided_by", None)
    context = {
        "title": say("Record {pk}: {kind_words}", pk=act.pk, kind_words=acts.kind_words(act.kind).lower()),
        "act": act,
        "legs": [
            (leg, acts.leg_text(leg, [e for e in edges if leg.item_id in (e.src_id, e.dst_id)], shop), item_links([leg.item]))
            for leg in legs
        ],
        "broke": acts.broke(act),
        "file": file_of(act),
        "void": void,
        "void_words": acts.void_words(void, shop) if void is not None else "",
        "findings": Finding.objects.filter(leg__act=act).select_related("item").order_by("pk")[:50],
        "void_url": to("do", "void", record=act.pk, next=request.path) if may(shop, "void") and void is None and act.kind != "void" else "",
        "undo": can_undo(act, shop),
        "told_late": act.stance == "observed" and act.kind != "made",
    }
    return render(request, "inventory/record.html", context)


def file_of(act: Act) -> Attachment | None:
    """The file that the record rests on."""
    named = json.loads(act.body).get("file")
    return Attachment.objects.filter(sha256=named[0], person__site=act.site_id).order_by("pk").first() if named else None


def can_undo(act: Act, shop: Shop) -> bool:
    fresh = shop.now_us - act.recorded_us <= UNDO_US and act.person_id == shop.person.pk
    return may(shop, "undo") and fresh and act.kind != "void" and getattr(act, "voided_by", None) is None


@page
@require_safe
def refusals(request: HttpRequest) -> HttpResponse:
    """What was wanted and not allowed: it changed nothing, and it is kept."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    rows = Refusal.objects.filter(site=shop.site).select_related("person", "device").order_by("-pk")
    before = cursor(request)
    if before is not None:
        rows = rows.filter(pk__lt=before)
    found = list(rows[: PAGE + 1])
    context = {
        "title": say("Refused"),
        "movements": refusal_rows(found[:PAGE], shop),
        "next": query(request, before=found[PAGE - 1].pk) if len(found) > PAGE else "",
        "first": query(request, before=None) if before is not None else "",
    }
    return render(request, "inventory/refusals.html", context)


def refusal_rows(found: list[Refusal], shop: Shop) -> list[dict[str, Any]]:
    """Refusals as the timeline takes them; labels are read as the names written on the things, in one query."""
    said = [json.loads(r.body) for r in found]
    labels = {text for body in said for text in texts(body) if codes.is_code(text)}
    names = {item.code: str(item) for item in Item.objects.filter(site=shop.site, code__in=labels)}
    return [refusal_row(r, body, names) for r, body in zip(found, said, strict=True)]


def texts(value: Any) -> Iterator[str]:
    """Every text in what was said."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from texts(inner)


def refusal_row(r: Refusal, said: dict[str, Any], names: dict[str, str]) -> dict[str, Any]:
    entry = VERBS.get(r.verb)
    words = strung(
        ", ",
        (
            say("{name}: {value}", name=name, value=shown(value, names))
            for name, value in said.items()
            if value not in (None, "", [], {}, False)
        ),
    )
    return {
        "when_us": r.at_us,
        "verb": entry.title if entry is not None else r.verb,
        "text": words[:600],
        "person": r.person.name if r.person else "",
        "device": r.device.name if r.device else "",
        "marks": tuple(Reason(code, text, numbers) for code, text, numbers in json.loads(r.reasons)),
    }


def shown(value: Any, names: dict[str, str]) -> str:
    if isinstance(value, dict):
        return strung(" ", (shown(v, names) for v in value.values() if v not in (None, "", [], False)))
    return strung("; ", (shown(v, names) for v in value)) if isinstance(value, list) else names.get(str(value), str(value))
