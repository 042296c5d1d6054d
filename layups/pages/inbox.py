"""Quality's desk: what waits for a decision, each once, with the numbers it rests on and the buttons that settle it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.core.reasons import ended
from inventory.core.said import say, say_as
from inventory.models import Flag, Item
from inventory.pages.door import Shop, page
from inventory.pages.today import row_of
from inventory.pages.ways import may, to
from inventory.reads import quality
from inventory.reads.looking import Look
from inventory.reads.needs import needs
from inventory.templatetags import shapes
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.reads.needs import to_chart, to_inspect
from layups.reads.things import Thing, things_of

from . import words
from .incoming import SHOWN, waiting_cards

NOTICED = 6
RECENT_US = 14 * 86_400_000_000
COVERED = ("release.", "nonconformance", "approval", "part.inspect", "part.chart")
"""Needs that stand in a section of their own on this page."""


@dataclass(frozen=True, slots=True)
class CaseCard:
    """A nonconformance: its cause, what it touches, whose parts they are."""

    title: Any
    text: str
    opened_us: int
    things: Any
    more: int
    parts: Any
    url: str


@page
@require_safe
def inbox(request: HttpRequest) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    found = quality.inbox(shop.site)
    look = Look(shop.site, shop.zone, shop.now_us)
    noticed = [n for n in needs(shop.site, shop.zone, shop.now_us, ("quality",), look) if not n.code.startswith(COVERED)]
    told = [row_of(n) for n in noticed] + flag_rows(shop)
    context: dict[str, object] = {
        "title": say("Quality"),
        "waits": waiting_cards(shop, found.waiting),
        "cases": case_cards(shop, found.cases),
        "holds": hold_rows(shop, found.holds),
        "hold_columns": (
            Column(say("What"), lead=True),
            Column(say("Why"), wide=True),
            Column(say("By")),
            Column(say("Since")),
            Column(say("Then")),
        ),
        "approvals": approval_rows(shop, found.approvals),
        "noticed": told[:NOTICED],
        "noticed_more": told[NOTICED:],
        "to_test": [row_of(n) for n in (*to_inspect(look), *to_chart(look))],
        "ways": [(label, to("decide", slug)) for label, slug, verb in OTHER if may(shop, verb)],
        "defects": to("defects"),
        "runs": to("runs"),
        "refused": to("refusals"),
    }
    context["empty"] = not any(context[name] for name in ("waits", "cases", "approvals", "noticed", "to_test"))
    return render(request, "layups/quality.html", context)


OTHER = (
    (say("Hold something"), "hold", "hold"),
    (say("Release"), "release", "release"),
    (say("Ask for an extension"), "extend", "extend_ask"),
    (say("Charge a freezer event"), "freezer", "expose"),
    (say("Set a starting value"), "start-value", "baseline"),
    (say("Void a record"), "void", "void"),
)


# --- nonconformances --------------------------------------------------------------------------------


def case_cards(shop: Shop, cases: Sequence[quality.Case]) -> list[CaseCard]:
    """Each with its parts and their customers; two more questions for any number of cases."""
    parts = things_of({t.item for case in cases for t in case.parts}) if cases else {}
    return [case_card(case, parts, shop) for case in cases]


def case_card(case: quality.Case, parts: dict[int, Thing], shop: Shop) -> CaseCard:
    others = [t for t in case.touched if t.item not in parts]
    return CaseCard(
        title=case.cause,
        text=case.text,
        opened_us=case.opened_us,
        things=words.listed([said.code_link(t.name, to("item", t.code)) for t in others[:SHOWN]]),
        more=max(0, len(others) - SHOWN),
        parts=[part_words(parts[t.item], shop) for t in case.parts if t.item in parts],
        url=to("nonconformance", case.id),
    )


def part_words(thing: Thing, shop: Shop) -> Any:
    """ "RUD-061 · Skerrow Sailing School · shipped 18 Mar"."""
    whose = say(", {customer}", customer=thing.customer) if thing.customer else ""
    sent = said.html_say(", shipped {day}", day=said.instant(thing.sent.at_us, shop.zone, shop.now_us, "day")) if thing.sent else ""
    inside = say(" in {inside}", inside=thing.sent.inside) if thing.sent and thing.sent.inside else ""
    return said.format_html("{}{}{}{} {}", words.thing_link(thing), whose, sent, inside, words.state(thing.where))


# --- holds, approvals, notices ----------------------------------------------------------------------


def hold_rows(shop: Shop, holds: Iterable[quality.Held]) -> list[list[Any]]:
    rows = []
    for h in holds:
        chip = shapes.chip("held", say("recall")) if h.why == "recall" else shapes.chip("held")
        way = said.format_html('<a href="{}">{}</a>{}', to("recall", h.code), "What it reaches", let_go(shop, h))
        when = said.instant(h.from_us, shop.zone, shop.now_us)
        second = say(" Letting go needs a second person.") if h.second_person else ""
        name = said.code_link(h.name, words.part_url(h.name, h.code) if h.kind in ("part", "assembly") else to("item", h.code))
        rows.append([said.format_html("{} {}", name, chip), h.text + second, h.by, when, way])
    return rows


def let_go(shop: Shop, h: quality.Held) -> Any:
    if not may(shop, "unhold"):
        return ""
    return said.format_html(' <a href="{}">Let go</a>', to("decide", "let-go", item=h.code, hold=h.block))


def approval_rows(shop: Shop, found: Iterable[quality.Approval]) -> list[dict[str, Any]]:
    """What waits for a second person; whoever asked is told that it must be another."""
    found = list(found)
    codes = dict(Item.objects.filter(pk__in=[a.item for a in found]).values_list("pk", "code"))
    rows = []
    for a in found:
        mine = a.asked_by_id == shop.person.pk
        extend = a.kind == "extend_ask"
        url = to("decide", "approve", item=codes.get(a.item, "")) if extend else to("decide", "countersign", record=a.record)
        allowed = may(shop, "extend" if extend else "countersign") and not mine
        text = say("{asked_by} asks for {name}: {text}", asked_by=a.asked_by, name=a.name, text=ended(a.text)) + (
            say(" You asked; another person approves.") if mine else ""
        )
        rows.append(
            {
                "urgency": "today",
                "text": text,
                "url": url if allowed else "",
                "action": say("Approve") if extend else say("Countersign"),
                "when_us": a.asked_us,
            }
        )
    return rows


def flag_rows(shop: Shop) -> list[dict[str, Any]]:
    """What jobs and records raised for quality in the last fortnight and no list above says."""
    rows = Flag.objects.filter(
        site=shop.site, role="quality", withdrawn_us__isnull=True, code="cure.void_start", at_us__gt=shop.now_us - RECENT_US
    )
    out = []
    for flag in rows.select_related("item").order_by("-at_us")[:20]:
        url = words.part_url(str(flag.item), flag.item.code) if flag.item is not None else ""
        out.append({"urgency": "note", "text": flag.text, "url": url, "action": say_as("a page", "Open"), "when_us": flag.at_us})
    return out
