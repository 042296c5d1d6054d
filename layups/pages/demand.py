"""/designs/…/demand/: what so many parts of a design take, what to fetch for them and what to buy."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from inventory.core.numerals import plain
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.units import display
from inventory.pages.door import Shop, page
from inventory.pages.verbforms import instant_of
from inventory.reads.stock import Piece
from inventory.templatetags import words
from inventory.templatetags.tables import Column
from layups.core.demand import MAX_PARTS, Mix, Order, Taken
from layups.models import Design
from layups.reads.demand import Demand, design_demand
from layups.reads.designs import design_at
from layups.reads.shopping import Row, Shopping, shopping
from layups.reads.tightening import tighter_for_design

LIST = (
    Column(say("Material"), lead=True),
    Column(say("Needed"), num=True),
    Column(say("In pieces")),
    Column(say("Fetch, in this order"), wide=True),
    Column(say("Missing"), num=True),
    Column(say("On order"), wide=True),
    Column(say("To buy"), num=True),
)
LINES = (
    Column(say("Material"), lead=True),
    Column(say("Line")),
    Column(say("Net area"), num=True),
    Column(say("Yield"), num=True),
    Column(say("In one part"), num=True),
)
MIXES = (
    Column(say("Line"), lead=True),
    *(
        Column(label, num=True)
        for label in (
            say("Fibre"),
            say("Resin in it"),
            say("With losses"),
            say("Schedule"),
            say("Mixed"),
            say("Hardener"),
            say("Pots"),
        )
    ),
)
PASSED = (Column(say("Piece"), lead=True), Column(say("Material")), Column(say("Why it is not taken"), wide=True))


def cure_field() -> forms.DateTimeField:
    return forms.DateTimeField(
        label=say("Planned cure"),
        required=False,
        widget=forms.DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text=say("What is fetched lives until then."),
    )


class AskForm(forms.Form):
    """How many parts, and when they are cured."""

    parts = forms.IntegerField(label=say("Parts"), min_value=1, max_value=MAX_PARTS)
    cure = cure_field()


@page
@require_safe
def demand(request: HttpRequest, code: str) -> HttpResponse:
    """GET parts, cure (in the shop's own time); without parts, those of one."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    try:
        design = design_at(code)
    except Design.DoesNotExist:
        raise Http404 from None
    form = AskForm({"parts": request.GET.get("parts", "1"), "cure": request.GET.get("cure", "")})
    found = None
    if form.is_valid():
        found = asked(form, shop, lambda parts: design_demand(design, parts), design)
    context = {
        "title": say("{design} {design_2}: what it takes", design=design.code, design_2=design.name),
        "design": design,
        "form": form,
        "parts": found.demand.parts if found else None,
        **(list_context(found) if found else {}),
    }
    return render(request, "layups/demand.html", context, status=422 if form.errors else 200)


def asked(form: forms.Form, shop: Shop, ask: Any, design: Design | None = None) -> Shopping | None:
    """The list for a form with `parts` and `cure`; what is not understood stands beside its field."""
    try:
        typed = form.cleaned_data.get("cure")
        cure_us = None if typed is None else instant_of(typed, shop.zone)
        tighter = tighter_for_design(design.pk) if design is not None else ()
        return shopping(shop.site, shop.zone, ask(form.cleaned_data["parts"]), shop.now_us, cure_us, tighter)
    except BadInput as bad:
        where = {"time": "cure"}.get(bad.where, bad.where)
        form.add_error(where if where in form.fields else None, bad.reason.text)
        return None


def list_context(found: Shopping) -> dict[str, Any]:
    """The tables of a list."""
    rows = found.rows
    short = [row.material.code for row in rows if row.missing]
    return {
        "shopping": found,
        "says": say("Missing: {short}.", short=strung(", ", short)) if short else say("The stock has all of it.") if rows else "",
        "list_columns": LIST,
        "list_rows": [list_cells(row) for row in rows],
        "line_columns": LINES,
        "line_rows": [line_cells(order, one) for order in found.demand.orders for one in order.taken],
        "mix_columns": MIXES,
        "mix_rows": [mix_cells(one) for one in found.demand.mixes],
        "passed_columns": PASSED,
        "passed_rows": [passed_cells(row, n) for row in rows for n in range(len(row.passed))],
        "weighs": weighs(found.demand),
        "demand_notes": found.demand.notes,
    }


def list_cells(row: Row) -> list[Any]:
    unit = row.order.unit
    link = words.code_link(row.material.code, reverse("material", args=[row.material.code]))
    return [
        format_html("{} {}", link, row.material.name),
        words.qty(row.order.whole, unit),
        sizes(row.order.sizes),
        format_html_join("", "{}<br>", ((fetched(take.candidate.ref, take.amount, take.pieces, unit),) for take in row.takes)),
        _some(row.missing, unit, sizes(row.pieces)),
        on_order(row),
        _some(row.buy, unit),
    ]


def _some(value: int, unit: str, note: str = "") -> Any:
    if not value:
        return ""
    return format_html("{}{}", words.qty(value, unit), format_html("<br>{}", note) if note else "")


def sizes(found: Any) -> str:
    """ "9 × 5.10 m, 3 × 2.00 m"."""
    return strung(", ", (say("{count} × {size}", count=n, size=display(size, "um")) for size, n in sorted(found.items(), reverse=True)))


def fetched(piece: Any, amount: int, pieces: int, unit: str) -> SafeString:
    """ "C-12: 18.60 m (3 pieces), Rack"."""
    assert isinstance(piece, Piece)
    link = words.code_link(str(piece.item), reverse("item", args=[piece.item.code]))
    count = say(" ({pieces} {which})", pieces=pieces, which=say("piece") if pieces == 1 else say("pieces")) if pieces else ""
    return format_html("{}: {}{}, {}", link, words.qty(amount, unit), count, piece.place)


def on_order(row: Row) -> str:
    told = []
    for order in row.orders:
        amount = display(order.expected_qty, row.order.unit) if order.expected_qty else say("an amount that is not stated")
        told.append(
            say("{order}: {amount}", order=order.number, amount=amount)
            + (say(", due {due_on}", due_on=order.due_on.isoformat()) if order.due_on else say(", no date"))
        )
    return strung("; ", told)


def line_cells(order: Order, one: Taken) -> list[Any]:
    return [
        order.code,
        one.line.what,
        words.qty(one.line.net_cmm2, "cmm2") if one.line.net_cmm2 is not None else "",
        share(one.yield_ppm),
        words.qty(one.amount, order.unit) if one.amount is not None else say("not known"),
    ]


def share(ppm: int | None) -> str:
    return "" if ppm is None else say("{ppm} %", ppm=f"{ppm / 10000:.0f}")


def mix_cells(one: Mix) -> list[Any]:
    computed = one.computed
    hardener = one.parts.parts[1].mass_ug if one.parts is not None else None
    pots = "" if one.pots is None else say("{pots} of {pot}", pots=one.pots, pot=display(one.pot_ug or 0, "ug"))
    known = [computed.fibre_ug, computed.laminate_ug, computed.whole_ug] if computed is not None else [None] * 3
    return [one.what, *(_mass(value) for value in (*known, one.stated_ug, one.amount_ug, hardener)), pots]


def _mass(value: int | None) -> Any:
    return "" if value is None else words.qty(value, "ug")


def passed_cells(row: Row, n: int) -> list[Any]:
    passed = row.passed[n]
    piece = passed.candidate.ref
    assert isinstance(piece, Piece)
    link = words.code_link(passed.candidate.mark, reverse("item", args=[piece.item.code]))
    return [link, row.material.code, strung(" ", (reason.text for reason in passed.reasons))]


def weighs(demand: Demand) -> str:
    """What one part weighs, as far as areas and data say."""
    named = (("fibre", demand.weights.fibre), ("resin", demand.weights.resin), ("core", demand.weights.core))
    known = [say("{mass} kg {name}", mass=plain(mass / 10**9, 2), name=name) for name, mass in named if mass]
    if not known:
        return ""
    whole = demand.weights.whole
    together = say(", {whole} kg together", whole=plain(whole / 10**9, 2)) if whole else say("; the whole is not known")
    return say(
        "By areas and data one part has {known}{together}; without gelcoat, bond lines and resin that a core takes.",
        known=strung(", ", known),
        together=together,
    )
