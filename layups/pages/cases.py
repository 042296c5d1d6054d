"""One nonconformance: its cause, every record that broke the rule, whose parts it reached, and what was decided."""

from __future__ import annotations

from typing import Any

from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.core.said import say
from inventory.models import Disposition, Finding, Item, Leg, Nonconformance
from inventory.pages import acts
from inventory.pages.door import Shop, page
from inventory.pages.ways import item_link, may, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from inventory.verbs.deciding import MEANINGS
from layups.reads.things import Thing, things_of

from . import words

MOST = 500
LATE_US = 60_000_000
"""A record that arrives within a minute is not late."""
COLUMNS = (
    Column(say("What"), lead=True),
    Column(say("What broke the rule"), wide=True),
    Column(say("Happened")),
    Column(say("Arrived")),
    Column(say("Whose")),
    Column(say("State, and what to do")),
)
DECIDED = (
    Column(say("What"), lead=True),
    Column(say("Decision")),
    Column(say("Reference")),
    Column(say("Reason"), wide=True),
    Column(say("Who")),
    Column(say("When")),
)
CLOSED = {"disposition": "decided"}


@page
@require_safe
def case(request: HttpRequest, pk: int) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = get_object_or_404(Nonconformance.objects.select_related("cause"), site=shop.site, pk=pk)
    found = list(Finding.objects.filter(nonconformance=row).select_related("item", "leg__act").order_by("at_us", "pk")[:MOST])
    made = things_of({f.item_id for f in found if f.item.kind in ("part", "assembly")})
    decided = Disposition.objects.filter(nonconformance=row).select_related("item", "act__person", "act__voided_by")
    context = {
        "title": say("Nonconformance {pk}: {cause}", pk=row.pk, cause=row.cause),
        "case": row,
        "cause": item_link(row.cause),
        "columns": COLUMNS,
        "rows": finding_rows(found, made, shop, row),
        "late": late_records(row.cause, shop),
        "decided": [decision_cells(d, shop) for d in decided.order_by("pk")],
        "decided_columns": DECIDED,
        "cut": len(found) == MOST,
        "customers": sorted({t.customer for t in made.values() if t.customer}),
    }
    return render(request, "layups/case.html", context)


def late_records(cause: Item, shop: Shop) -> list[dict[str, Any]]:
    """What was told of the cause long after it happened: when it was scanned, and when it arrived (R31)."""
    legs = Leg.objects.filter(item=cause, act__stance="observed", act__recorded_us__gt=F("act__happened_us") + LATE_US).exclude(
        act__kind="made"
    )
    found = list(
        legs.select_related("act__person", "act__device", "act__voided_by__person", "item", "location").order_by("-act__recorded_us")[:5]
    )
    edges = acts.edges_of(leg.act_id for leg in found)
    return [acts.movement(leg, [e for e in edges.get(leg.act_id, ()) if cause.pk in (e.src_id, e.dst_id)], shop) for leg in found]


def finding_rows(found: list[Finding], made: dict[int, Thing], shop: Shop, case_: Nonconformance) -> list[list[Any]]:
    """One row a record; a thing is decided on once, beside the first of its records that is open."""
    first: dict[int, int] = {}
    for f in found:
        if f.closed_us is None:
            first.setdefault(f.item_id, f.pk)
    return [finding_cells(f, made.get(f.item_id), shop, case_, first.get(f.item_id) == f.pk) for f in found]


def finding_cells(f: Finding, thing: Thing | None, shop: Shop, case_: Nonconformance, decidable: bool) -> list[Any]:
    """When it happened and when the record that shows it arrived stand side by side (R31)."""
    act = f.leg.act
    late = act.recorded_us - act.happened_us > LATE_US
    arrived = said.instant(act.recorded_us, shop.zone, shop.now_us) if late else ""
    whose, sent = "", ""
    if thing is not None:
        sent = said.html_say(", shipped {day}", day=said.instant(thing.sent.at_us, shop.zone, shop.now_us, "day")) if thing.sent else ""
        whose = said.format_html("{}{}", thing.customer, sent)
    state = words.state("finding") if f.closed_us is None else words.state("done", CLOSED.get(f.closed_by, f.closed_by))
    way = ""
    if decidable and may(shop, "dispose"):
        url = to("decide", "decide", item=f.item.code, nonconformance=case_.pk, next=to("nonconformance", case_.pk))
        way = said.format_html('<a class="button small" href="{}">{}</a>', url, say("Decide"))
    link = words.thing_link(thing) if thing is not None else item_link(f.item)
    return [
        link,
        said.emphasise(f.text),
        said.instant(f.at_us, shop.zone, shop.now_us),
        arrived,
        whose,
        said.format_html("{} {}", state, way),
    ]


def decision_cells(d: Disposition, shop: Shop) -> list[Any]:
    void = getattr(d.act, "voided_by", None)
    meaning = MEANINGS.get(d.meaning, d.meaning)
    shown = said.format_html("{} {}", meaning, words.state("void")) if void is not None else meaning
    when = said.instant(d.act.happened_us, shop.zone, shop.now_us)
    return [item_link(d.item), shown, d.reference, d.act.reason, d.act.person.name, when]
