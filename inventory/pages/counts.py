"""Counting whole places: which are due, and the page of one count: scan, enter what is measured, look, end it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.units import exact, usual_unit
from inventory.models import CountSheet, Item, Location
from inventory.reads import counts
from inventory.templatetags import words
from inventory.templatetags.tables import Column
from inventory.verbs.count_ends import CountDrop, CountFinish, CountSettle
from inventory.verbs.count_sheets import CountBegin, CountSee, CountStrike
from inventory.verbs.moving import Move
from inventory.verbs.registry import Outcome
from inventory.verbs.scans import scanned

from . import countviews
from .countviews import SeenForm
from .deeds import attempt
from .door import Answer, Shop, ask, call_of, page
from .finding import badge
from .ways import may, to

PLACES = (
    Column(say("Place")),
    Column(say("Name")),
    Column(say("Last counted"), wide=True),
    Column(say("Every"), num=True),
    Column(say("Now"), wide=True),
)
NOT_SHOWN = 20
"""An amount that is typed into the scan box is no longer than this."""
deed = require_http_methods(["GET", "HEAD", "POST"])


@page
@deed
def overview(request: HttpRequest) -> HttpResponse:
    """The places with their last counts, the due ones first; a scan of a place begins its count, or goes on with it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    answer = Answer()
    if request.method == "POST":
        answer = begin(request, request.POST.get("code", ""))
        if answer.outcome is not None:
            messages.info(request, answer.outcome.text)
            return redirect("count-sheet", answer.outcome.data["sheet"])
    rows = sorted(counts.places(shop.site, shop.zone, shop.now_us), key=lambda d: (d.under_way is None, d.days_over is None, d.place.code))
    context = {
        "title": (say("No – ") if answer.reasons else "") + say("Count a place"),
        "heading": say("Count a place"),
        "answer": answer,
        "columns": PLACES,
        "rows": [place_row(due, shop) for due in rows],
        "may": may(shop, "count_begin"),
        "asks": [countviews.ask_row(line, shop) for line in counts.to_decide(shop.site) if counts.still_asks(line)],
        "asks_columns": countviews.ASKS,
    }
    return render(request, "inventory/counts.html", context, status=409 if answer.reasons else 200)


def begin(request: HttpRequest, raw: str) -> Answer:
    """A place by its label or its code."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    found = scanned(shop.site, shop.zone, shop.now_us, raw)
    return ask("count_begin", call_of(request), CountBegin(found.place.code if found.place is not None else raw))


def place_row(due: counts.Due, shop: Shop) -> list[Any]:
    place: Location = due.place
    every = say("{count_days} days", count_days=place.count_days) if place.count_days else ""
    return [words.code_link(place.code, to("place", place.code)), place.name, countviews.last_words(due, shop), every, countviews.now(due)]


@page
@deed
def sheet(request: HttpRequest, number: int) -> HttpResponse:
    """One count: under way with its scan box, or over with what it found."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    rows = CountSheet.objects.select_related("location__storage", "begun_by", "ended_by").filter(site=shop.site)
    row = get_object_or_404(rows, pk=min(number, 2**63 - 1))
    answer, form = Answer(), SeenForm()
    if request.method == "POST":
        done = deal(request, row)
        if isinstance(done, HttpResponse):
            return done
        answer, form = done
        row.refresh_from_db()
    return countviews.shown(request, row, counts.look(row), answer, form)


def deal(request: HttpRequest, row: CountSheet) -> HttpResponse | tuple[Answer, SeenForm]:
    """What was sent: a scan, an amount, a thing to take off or to book here, the end."""
    intent, item = request.POST.get("intent", "see"), request.POST.get("item", "")[:200]
    if intent == "see":
        return see(request, row)
    if intent == "amount":
        return amount(request, row, item)
    params: dict[str, tuple[str, Any]] = {
        "strike": ("count_strike", CountStrike(row.pk, item)),
        "here": ("move", Move(item, row.location.code)),
        "finish": ("count_finish", CountFinish(row.pk, _number(request.POST.get("rev", "")))),
        "drop": ("count_drop", CountDrop(row.pk)),
        "settle": ("count_settle", CountSettle(row.pk, item, request.POST.get("note", "")[:200])),
    }
    if intent not in params:
        return Answer(reasons=[BadInput("count.intent", say("This page does not know what was asked for.")).reason]), SeenForm()
    answer = ask(*_called(request, params[intent]))
    if answer.outcome is None:
        return answer, SeenForm()
    messages.success(request, answer.outcome.text)
    for reason in answer.outcome.reasons:
        messages.warning(request, say("Stored although it breaks a rule: {reason}", reason=reason.text))
    return redirect(to("counts") if intent == "drop" else to("count-sheet", row.pk))


def _called(request: HttpRequest, pair: tuple[str, Any]) -> tuple[str, Any, Any]:
    return pair[0], call_of(request), pair[1]


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1


def see(request: HttpRequest, row: CountSheet) -> HttpResponse | tuple[Answer, SeenForm]:
    """A scan: a thing that lies here; an amount of the thing scanned before; a place, to count there next; a badge."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    raw, last = request.POST.get("code", ""), request.GET.get("last", "")[:200]
    found = scanned(shop.site, shop.zone, shop.now_us, raw)
    if found.what == "badge" and badge(request, shop, found.reading.scan) is not None:
        return redirect(to("count-sheet", row.pk))
    if found.place is not None:
        return elsewhere(request, row, found.place)
    if found.what == "unknown" and last and is_amount(shop, raw, last):
        params = CountSee(row.pk, last, raw.strip())
    else:
        params = CountSee(row.pk, found.item.code if found.item is not None and found.item.kind != "lot" else raw)
    return seen(row, ask("count_see", call_of(request), params), SeenForm())


def elsewhere(request: HttpRequest, row: CountSheet, place: Location) -> HttpResponse:
    """A place was scanned: this one is being counted already; another one is counted on its own sheet."""
    if place.pk == row.location_id:
        messages.info(request, say("{place} is what is being counted here: scan what lies in it.", place=place.name))
        return redirect(to("count-sheet", row.pk))
    messages.info(
        request, say("{place} is another place: what you scan now is counted there. This count stays as it is.", place=place.name)
    )
    answer = begin(request, place.code)
    return redirect(to("count-sheet", answer.outcome.data["sheet"] if answer.outcome is not None else row.pk))


def is_amount(shop: Shop, raw: str, last: str) -> bool:
    """A figure typed where a code is scanned: "18.06 m", "4"."""
    text = raw.strip()
    item = Item.objects.filter(site=shop.site, code=last).first()
    if item is None or not text[:1].isdecimal() or len(text) > NOT_SHOWN:
        return False
    try:
        exact(text, usual_unit(item.unit), item.unit)
    except BadInput:
        return False
    return True


def amount(request: HttpRequest, row: CountSheet, item: str) -> HttpResponse | tuple[Answer, SeenForm]:
    """The amount of a thing that was seen, measured, weighed or by its diameter."""
    form = SeenForm(request.POST)
    answer = attempt(request, "count_see", form, lambda: CountSee(row.pk, item, **form.cleaned_data))
    return seen(row, answer, form)


def seen(row: CountSheet, answer: Answer, form: SeenForm) -> HttpResponse | tuple[Answer, SeenForm]:
    outcome: Outcome | None = answer.outcome
    if outcome is None:
        return answer, form
    return redirect(to("count-sheet", row.pk, last=outcome.data["item"], again="yes" if outcome.data["again"] else ""))
