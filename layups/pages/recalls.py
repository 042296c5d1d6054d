"""The recall of a lot (R28): what is on the shelf, in work, cured, shipped and to whom, consumed; one action that holds all of
it; a file; how much is still open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.widgets import Textarea
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from inventory.core.said import say, say_n, strung
from inventory.models import Block, Item
from inventory.pages.deeds import PageForm, told
from inventory.pages.doing import status_of
from inventory.pages.door import Answer, Shop, ask, ask_confirmed, call_of, page
from inventory.pages.ways import may, to
from inventory.templatetags import shapes
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from inventory.verbs.holding import Hold
from layups.reads.things import CONSUMED, CURED, OUT_AGAIN, SHELF, SHIPPED, WORK
from layups.tracing import Found, Recall
from layups.tracing import recall as recalled
from layups.tracing.rows import recall_csv

from . import words
from .about import item_named
from .tracing import name_of, place_words, sort_words
from .turning import turned

COLUMNS = (
    Column(say("What"), lead=True),
    Column(say("Sort")),
    Column(say("State")),
    Column(say("Amount of it"), num=True),
    Column(say("Where")),
    Column(say("Customer")),
    Column(say("Held")),
)
ORDER = (SHIPPED, CURED, WORK, SHELF, CONSUMED, OUT_AGAIN)


class RecallForm(PageForm):
    """One action: a reason and the password."""

    reason = forms.CharField(
        max_length=240, label=say("Reason"), help_text=say("People read it when they scan what is held."), widget=Textarea({"rows": 2})
    )


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a recall has come, of the things that still exist. It is contained when every one of them is held, or was let go
    with evidence from a hold on the lot; settled is what was let go, for what is held still has to be decided on."""

    existing: int
    held: int
    customers: int
    holds: bool

    @property
    def settled(self) -> int:
        return self.existing - self.held if self.holds else 0

    @property
    def contained(self) -> int:
        return self.held + self.settled

    @property
    def bars(self) -> list[tuple[str, int]]:
        """What is drawn: its name, and how many of the existing things."""
        return [(say("Contained"), self.contained), *([(say("Settled"), self.settled)] if self.holds else [])]

    @property
    def words(self) -> str:
        if not self.holds:
            return say(
                "Not contained: {existing} of {existing_2} are not held.", existing=self.existing - self.held, existing_2=self.existing
            )
        tell = say_n(" {n} customer to tell.", " {n} customers to tell.", self.customers) if self.customers else ""
        return say(
            "Contained: {held} of {existing} held and open, {settled} let go.{tell}",
            held=self.held,
            existing=self.existing,
            settled=self.settled,
            tell=tell,
        )


@page
def recall(request: HttpRequest, code: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    item = item_at(shop, code)
    if item.code != code:
        return redirect("recall", item.code)
    form = RecallForm(request.POST) if request.method == "POST" else RecallForm()
    answer = Answer()
    if request.method == "POST" and form.is_valid():
        params = Hold(item.code, form.cleaned_data["reason"], "all", True)
        call = call_of(request)
        answer = ask_confirmed(request, "hold", call, params) if may(shop, "hold") else ask("hold", call, params)
        if answer.outcome is not None:
            told(request, answer.outcome)
            return redirect("recall", item.code)
    context = context_of(request, shop, item) | {"form": form, "answer": answer}
    context["title"] = say("No – {heading}", heading=context["heading"]) if answer.reasons else context["heading"]
    return render(request, "layups/recall.html", context, status=status_of(answer, form))


def item_at(shop: Shop, code: str) -> Item:
    item = item_named(shop, code)
    if item is None:
        raise Http404(say("Nothing here has this code, mark or lot number."))
    return item


def context_of(request: HttpRequest, shop: Shop, item: Item) -> dict[str, Any]:
    found = recalled(item.pk)
    rows = sorted(found.existing, key=lambda f: (ORDER.index(f.thing.where), f.thing.customer, f.thing.design, f.thing.name))
    groups = {where: found.by_where.get(where, []) for where in ORDER}
    open_ = Block.objects.filter(item=item, to_us__isnull=True).exclude(why="incoming").select_related("opened__person").order_by("pk")
    return {
        "heading": say("Recall of {name_of}", name_of=name_of(found.lot)),
        "item": item,
        "lot": found.lot,
        "link": words.thing_link(found.lot),
        "found": len(found.found),
        "progress": progress(found, bool(open_)),
        "counts": [(words.state(where), len(group), sorts(group)) for where, group in groups.items() if group],
        "customers": [(name, len(group), names(group)) for name, group in found.customers.items()],
        "columns": COLUMNS,
        "existing": turned(request, "rows", "existing", rows, lambda f: cells(f, found, shop)),
        "holds": [(row, said.instant(row.from_us, shop.zone, shop.now_us)) for row in open_],
        "may_hold": may(shop, "hold"),
        "csv": to("recall-csv", item.code),
        "trace": words.trace_url(item.code),
        "let_go": to("decide", "let-go", item=item.code, next=to("recall", item.code)) if open_ and may(shop, "unhold") else "",
    }


def progress(found: Recall, holds: bool) -> Progress:
    held = sum(1 for f in found.existing if found.holds.get(f.thing.id))
    return Progress(len(found.existing), held, len(found.customers), holds)


def sorts(group: list[Found]) -> str:
    """ "12 CAN, 3 HAT, 24 pots": what a group is made of."""
    kinds: dict[str, int] = {}
    for f in group:
        name = f.thing.design or {"mix": say("pot"), "tank": say("day tank")}.get(f.thing.kind, f.thing.kind)
        kinds[name] = kinds.get(name, 0) + 1
    ordered = sorted(kinds.items(), key=lambda row: (-row[1], row[0]))
    return strung(
        ", ", (say("{count} {name}{which}", count=n, name=name, which="s" if n > 1 and name.islower() else "") for name, n in ordered)
    )


def names(group: list[Found]) -> str:
    shown = sorted(f.thing.name for f in group)
    return strung(", ", shown[:12]) + (say(" and {shown} more", shown=len(shown) - 12) if len(shown) > 12 else "")


def cells(f: Found, found: Recall, shop: Shop) -> list[Any]:
    t = f.thing
    amount = said.qty(round(f.amount), found.lot.unit) if f.amount is not None else ""
    held = shapes.chip("held") if found.holds.get(t.id) else say("no")
    return [words.thing_link(t), sort_words(t), words.state(t.where), amount, place_words(t, shop), t.customer, held]


@page
@require_safe
def sheet(request: HttpRequest, code: str) -> StreamingHttpResponse:
    """What still exists, one row a thing, as a file."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    item = item_at(shop, code)
    response = StreamingHttpResponse(recall_csv(recalled(item.pk), shop.zone), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="recall-{item.code}.csv"'
    return response
