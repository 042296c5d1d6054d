"""The list of parts, and the beginning of a new one."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.core.said import say
from inventory.core.spans import local
from inventory.models import Customer, Location
from inventory.pages.deeds import PageForm, attempt, deed_page
from inventory.pages.door import Answer, Shop, page
from inventory.pages.verbforms import instant_of
from inventory.pages.ways import may, query, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.models import Design
from layups.reads.parts import Row
from layups.reads.parts import parts as listed_parts
from layups.verbs.starting import StartPart

from . import words

COLUMNS = (
    Column(say("Part"), lead=True),
    Column(say("What")),
    Column(say("State"), wide=True),
    Column(say("Where")),
    Column(say("Planned cure")),
    Column(say("For")),
)
WHICH = (
    ("shop", say("in the shop")),
    ("in_work", say("in work")),
    ("cured", say("cured")),
    ("assembled", say("assemblies")),
    ("held", say("held")),
    ("finding", say("with an open finding")),
    ("shipped", say("shipped")),
    ("scrapped", say("scrapped")),
    ("all", say("all, shipped and scrapped too")),
)


class Filter(forms.Form):
    """Which parts to show."""

    q = forms.CharField(
        required=False, max_length=40, label=say("Number"), widget=forms.TextInput({"placeholder": say("part of it, such as 073")})
    )
    design = forms.ChoiceField(required=False, label=say("What"))
    which = forms.ChoiceField(required=False, label=say("Which"), choices=WHICH)

    def __init__(self, data: Any) -> None:
        super().__init__(data)
        names = Design.objects.order_by("code").values_list("code", "name")
        named = ((code, say("{code} {name}", code=code, name=name)) for code, name in names)
        self.fields["design"].choices = [("", say("anything")), *named]  # type: ignore[attr-defined]


@page
@require_safe
def parts(request: HttpRequest) -> HttpResponse:
    """GET q, design, which, before (the cursor)."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form = Filter(request.GET)
    ok = form.is_valid()
    wanted = form.cleaned_data if ok else {}
    which = wanted.get("which") or "shop"
    before = cursor(request.GET.get("before", ""))
    found = listed_parts(
        shop.signed_in.site,
        design=wanted.get("design", ""),
        text=wanted.get("q", ""),
        in_shop=which == "shop",
        state="" if which in ("shop", "all") else which,
        before=before,
    )
    context = {
        "title": say("Parts"),
        "form": form,
        "columns": COLUMNS,
        "rows": [row_cells(row, shop) for row in found.rows],
        "next": query(request, before=found.before) if found.before is not None else "",
        "first": query(request, before=None) if before is not None else "",
        "filtered": bool(request.GET),
        "may_start": may(shop, "start_part"),
        "may_lay": may(shop, "lay"),
    }
    return render(request, "layups/parts.html", context, status=200 if ok else 422)


def cursor(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None


def row_cells(row: Row, shop: Shop) -> list[Any]:
    chips = [row.word, *(["held"] if row.held else []), *(["finding"] if row.findings else [])]
    where = said.html_say("in {part}", part=words.part_link(row.inside)) if row.inside else row.place
    waits = row.word in ("building", "bagged") and row.planned_cure_us is not None
    cure = said.instant(row.planned_cure_us, shop.zone, shop.now_us, "near") if waits else ""
    return [words.part_link(row.number, row.code), row.design, words.states(chips), where, cure, row.customer]


class Begin(PageForm):
    """What a new part needs."""

    design = forms.ChoiceField(label=say("What is built"))
    number = forms.CharField(max_length=40, label=say("Number"), help_text=say("As it will be written on the part, such as RUD-075."))
    place = forms.ChoiceField(label=say("Where"))
    planned_cure = forms.DateTimeField(
        required=False,
        label=say("Planned start of cure"),
        help_text=say("What is laid must live until then."),
        widget=forms.DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    customer = forms.ChoiceField(required=False, label=say("For"))
    length = forms.CharField(
        required=False, max_length=40, label=say("Length"), help_text=say("Only for a run that is cut into pieces later, such as 90.0 m.")
    )

    def __init__(self, *args: Any, site: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        designs = Design.objects.filter(active=True).order_by("code").values_list("code", "name")
        places = Location.objects.filter(site=site, retired_us__isnull=True, kind="bay").order_by("code").values_list("code", "name")
        customers = Customer.objects.order_by("name").values_list("name", flat=True)
        self.fields["design"].choices = [("", say("Choose")), *((c, say("{value} {count}", value=c, count=n)) for c, n in designs)]  # type: ignore[attr-defined]
        self.fields["place"].choices = [("", say("Choose")), *places]  # type: ignore[attr-defined]
        self.fields["customer"].choices = [("", say("nobody in particular")), *((c, c) for c in customers)]  # type: ignore[attr-defined]


@page
def start(request: HttpRequest) -> HttpResponse:
    """Begin a part; its page follows."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    initial = {k: v for k, v in request.GET.items() if k in Begin.base_fields}
    form = Begin(request.POST, site=shop.site) if request.method == "POST" else Begin(site=shop.site, initial=initial)
    answer = Answer()
    if request.method == "POST":
        answer = attempt(request, "start_part", form, lambda: start_params(form.cleaned_data, shop))
    done = words.part_url(answer.outcome.data["part"], answer.outcome.data["items"]["part"]) if answer.outcome is not None else ""
    context = {"title": say("Begin a part"), "back": to("parts"), "button": say("Begin it")}
    return deed_page(request, "layups/deed.html", "start_part", form, answer, context, done)


def start_params(d: dict[str, Any], shop: Shop) -> StartPart:
    planned = moment(d["planned_cure"], shop)
    return StartPart(d["design"], d["number"], d["place"], d["customer"], planned, d["length"])


def moment(typed: datetime | None, shop: Shop) -> int | None:
    """A local time as typed → µs UTC."""
    return instant_of(typed, shop.zone) if typed is not None else None


def typed_moment(us: int | None, shop: Shop) -> str:
    """µs UTC → what a field for a local time shows."""
    return local(us, shop.zone).strftime("%Y-%m-%dT%H:%M") if us is not None else ""
