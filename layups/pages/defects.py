"""Defects: record one on some parts; and which lots do the bad parts share that the good ones do not."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.forms.widgets import Textarea
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.core.said import say
from inventory.core.spans import add_months, local_date, start_of_day_us
from inventory.pages.deeds import PageForm
from inventory.pages.door import Answer, Shop, ask, call_of, key_of, page
from inventory.pages.ways import may, query, to
from inventory.recording import derived_key
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.models import Design
from layups.reads.parts import defects_known, sides
from layups.reads.parts import parts as listed_parts
from layups.tracing import SharedLot, shared_lots
from layups.verbs.inspecting import FoundDefect

from . import words
from .deedforms import known_defects
from .widgets import Suggested, suggest

WINDOWS = (
    ("3", say("3 months")),
    ("6", say("6 months")),
    ("12", say("12 months")),
    ("18", say("18 months")),
    ("36", say("3 years")),
    ("0", say("all time")),
)
SHARED = (
    Column(say("Lot"), lead=True),
    Column(say("In bad parts"), num=True),
    Column(say("In good parts"), num=True),
    Column(say("Material")),
    Column(say("Supplier")),
    Column(say("Recall, or hold with all made of it")),
)
KNOWN = (Column(say("Defect"), lead=True), Column(say("On")), Column(say("Parts with it"), num=True))
MOST = 60
SHOWN = 40


class RecordForm(PageForm):
    """A defect, on one part or on several."""

    parts = forms.CharField(
        max_length=20_000, label=say("Parts"), help_text=say("Numbers or labels, one a line."), widget=Textarea({"rows": 3})
    )
    defect = forms.CharField(
        max_length=40,
        label=say("What is wrong"),
        help_text=say("The shop’s own word for it."),
        widget=Suggested({"placeholder": say("soft laminate")}),
    )
    text = forms.CharField(required=False, max_length=2000, label=say("Where, and how much"), widget=Textarea({"rows": 2}))


class AskForm(forms.Form):
    """Which parts are compared."""

    design = forms.ChoiceField(label=say("What"))
    defect = forms.ChoiceField(label=say("Defect"))
    months = forms.ChoiceField(label=say("In the last"), choices=WINDOWS)


@page
def defects(request: HttpRequest) -> HttpResponse:
    """GET design, defect, months: what the bad parts share. POST: record a defect."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    record, answer = record_form(request, shop), Answer()
    if request.method == "POST" and record.is_valid():
        answer, done = recorded(request, record)
        if not answer.reasons:
            return redirect(f"{to('defects')}?{request.GET.urlencode()}" if request.GET else to("defects"))
        record = RecordForm({**dict(record.data.items()), "parts": "\n".join(n for n in parts_of(record) if n not in done)})
        suggest(record.fields["defect"], known_defects(shop))
    known = defects_known(shop.signed_in.site)
    ask_form = AskForm(request.GET if "design" in request.GET else None, initial={"months": "18"})
    choose(ask_form, known)
    found = shared(shop, ask_form) if ask_form.is_bound and ask_form.is_valid() else {}
    context = {
        "title": say("No – defect not recorded") if answer.reasons else say("Defects"),
        "heading": say("Defects"),
        "record": record,
        "answer": answer,
        "ask": ask_form,
        "known": [known_cells(row, request) for row in known[:MOST]],
        "known_columns": KNOWN,
        "may_record": may(shop, "defect"),
        "columns": SHARED,
        "asked": bool(found),
        **found,
    }
    bad = request.method == "POST" and (bool(answer.reasons) or bool(record.errors))
    return render(request, "layups/defects.html", context, status=status(answer) if bad else 200)


def status(answer: Answer) -> int:
    codes = [r.code for r in answer.reasons]
    return 403 if codes and codes[0].startswith("role.") else 409 if codes and answer.understood else 422


# --- record one -------------------------------------------------------------------------------------


def record_form(request: HttpRequest, shop: Shop) -> RecordForm:
    form = RecordForm(request.POST) if request.method == "POST" else RecordForm(initial={"parts": request.GET.get("parts", "")[:4000]})
    suggest(form.fields["defect"], known_defects(shop))
    return form


def parts_of(form: RecordForm) -> list[str]:
    return list(dict.fromkeys(line.strip() for line in form.cleaned_data["parts"].replace(",", "\n").splitlines() if line.strip()))[:MOST]


def recorded(request: HttpRequest, form: RecordForm) -> tuple[Answer, set[str]]:
    """One record a part; those that were understood are stored, the first that was not is told (and stays in the form)."""
    d, key, done = form.cleaned_data, key_of(request), set[str]()
    problem = Answer()
    for number in parts_of(form):
        answer = ask("defect", call_of(request, key_for(key, number)), FoundDefect(number, d["defect"], d["text"]))
        if answer.outcome is None:
            problem = Answer(reasons=[*problem.reasons, *answer.reasons], understood=answer.understood)
            continue
        done.add(number)
        messages.warning(request, answer.outcome.text)
    return problem, done


def key_for(key: uuid.UUID, number: str) -> uuid.UUID:
    """Each part's record has a key of its own, so that the form sent twice counts once for each."""
    return derived_key(key, number)


# --- what the bad ones share ------------------------------------------------------------------------


def choose(form: AskForm, known: list[tuple[str, str, int]]) -> None:
    names = dict(Design.objects.values_list("code", "name"))
    designs = sorted({design for design, _, _ in known})
    form.fields["design"].choices = [(c, say("{value} {names}", value=c, names=names.get(c, ""))) for c in designs]  # type: ignore[attr-defined]
    form.fields["defect"].choices = [(d, d) for d in sorted({defect for _, defect, _ in known})]  # type: ignore[attr-defined]


def known_cells(row: tuple[str, str, int], request: HttpRequest) -> list[Any]:
    design, defect, n = row
    url = query(request, design=design, defect=defect, months=request.GET.get("months", "18"))
    return [said.format_html('<a href="{}">{}</a>', url, defect), design, n]


def shared(shop: Shop, form: AskForm) -> dict[str, Any]:
    d = form.cleaned_data
    since = since_us(shop, int(d["months"]))
    bad, good = sides(shop.signed_in.site, d["design"], d["defect"], since)
    rows = shared_lots(bad, good) if bad else []
    return {
        "design": d["design"],
        "defect": d["defect"],
        "bad": len(bad),
        "good": len(good),
        "total": len(bad) + len(good),
        "bad_parts": named(shop, bad),
        "bad_more": max(0, len(bad) - SHOWN),
        "rows": [shared_cells(row, shop, d["defect"]) for row in rows[:MOST]],
        "rows_more": max(0, len(rows) - MOST),
    }


def since_us(shop: Shop, months: int) -> int | None:
    """So many calendar months back, from the beginning of that day; None for all time."""
    if not months:
        return None
    return start_of_day_us(add_months(local_date(shop.now_us, shop.zone), -months), shop.zone)


def named(shop: Shop, ids: list[int]) -> Any:
    found = listed_parts(shop.signed_in.site, ids=ids, limit=SHOWN)
    return words.listed([words.part_link(row.number, row.code) for row in reversed(found.rows)])


def shared_cells(row: SharedLot, shop: Shop, defect: str) -> list[Any]:
    c, lot = row.counts, row.lot
    ways = [said.format_html('<a href="{}">Recall list</a>', to("recall", lot.code))]
    if may(shop, "hold"):
        url = to("decide", "hold", item=lot.code, reason=defect, next=to("recall", lot.code))
        ways.append(said.format_html('<a href="{}">Hold</a>', url))
    return [
        words.thing_link(lot),
        said.format_html("<b>{}</b> of {}", c.bad_with, c.bad),
        said.format_html("<b>{}</b> of {}", c.good_with, c.good),
        lot.material,
        lot.supplier,
        said.format_html(" · ".join(["{}"] * len(ways)), *ways),
    ]
