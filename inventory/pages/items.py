"""The page of one labelled thing: what it is, whether it may be used and why not, what happened to it; and the second scan."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.html import format_html
from django.views.decorators.http import require_POST, require_safe

from inventory import attachments
from inventory.balance import Balance, balance
from inventory.core import codes
from inventory.core.exposure import FROZEN_MC
from inventory.core.said import say
from inventory.core.spans import HOUR_US, local_date
from inventory.models import Act, Attachment, Item, Leg
from inventory.reads.ageing import aged
from inventory.reads.looking import clocks
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column
from inventory.verbs import resolve
from inventory.verbs.moving import Move
from inventory.verbs.voiding import UNDO_US

from . import itemfacts, potfacts
from .actions import buttons
from .deeds import offered, other, told
from .door import Answer, Shop, ask, call_of, page
from .finding import goto, not_understood, place_of
from .labelling import label_button
from .places import places_for
from .verbforms import instant_of
from .ways import item_link, item_name, item_url, may, to

DAY_ENDS_H, LEAST_US = 17, HOUR_US
"""When something fetched from the cold is planned back, if nobody says otherwise: at 17:00, or an hour from now when that is
later. Shop practice, no source."""
BACK = (
    ("auto", say("planned back by the end of the day")),
    ("1", say("in 1 hour")),
    ("4", say("in 4 hours")),
    ("24", say("tomorrow")),
    ("no", say("no return planned")),
)
PIECES = (Column(say("Piece")), Column(say("Left"), num=True), Column(say("Where")), Column(say("State")))


@page
@require_safe
def item(request: HttpRequest, code: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    thing = thing_at(shop, code)
    if thing is None:
        return not_understood(request, codes.normalise(code))
    if thing.code != code or item_url(thing) != request.path:
        return redirect(item_url(thing))
    return render(request, "inventory/item.html", context(request, thing))


def thing_at(shop: Shop, code: str) -> Item | None:
    """By label, further label or mark."""
    return resolve.find(shop.site, codes.normalise(code))


def context(request: HttpRequest, thing: Item, answer: Answer | None = None) -> dict[str, Any]:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    p = itemfacts.piece_of(thing, shop)
    made_from, went_into = itemfacts.relatives(thing)
    out: dict[str, Any] = {
        "title": say("{get_kind_display} {item_name}", get_kind_display=thing.get_kind_display().capitalize(), item_name=item_name(thing)),
        "name": item_name(thing),
        "item": thing,
        "p": p,
        "batch": batch_of(thing),
        "history": itemfacts.history(thing, shop),
        "made_from": made_from,
        "went_into": went_into,
        "papers": itemfacts.papers(thing),
        "files": itemfacts.attachments(thing),
        "findings": itemfacts.findings(thing),
        "extensions": itemfacts.extensions(thing),
        "answer": answer,
        "back": BACK,
        "label": label_button(shop, thing),
        "trace": to("trace", thing.code) or to("trace", q=thing.code),
    }
    if p is not None:
        daily, rest, decisions = buttons(p, shop)
        against = itemfacts.against_now(p, shop)
        out |= {"statuses": itemfacts.statuses(p, shop.now_us), "map": itemfacts.roll_map(p), "yes": itemfacts.fit_words(p, shop)}
        out |= {"daily": daily, "rest": rest, "decisions": decisions, "may_move": movable(p, shop), "undo": undoable(thing, shop)}
        out |= {
            "instead": instead_of(p, against, shop),
            "readings": itemfacts.shown_readings(p),
            "against": against,
            "aged": aged(thing, shop.now_us) if not p.state.gone else None,
        }
    if thing.kind == "lot":
        out |= lot_facts(thing, shop)
    if thing.kind == "mix":
        out["pot"] = potfacts.pot(thing, shop)
    return out


def batch_of(thing: Item) -> Any:
    lot = thing if thing.kind == "lot" else thing.lot
    return getattr(lot, "batch", None) if lot is not None else None


def movable(p: Any, shop: Shop) -> bool:
    return not p.state.gone and p.item.kind not in ("lot", "mix") and may(shop, "move")


def instead_of(p: Any, against: list[Any], shop: Shop) -> dict[str, str]:
    """For something that may not be used: what to fetch instead."""
    if p.state.gone or not against or p.item.material is None or p.item.kind in ("lot", "part", "assembly", "mix", "kit"):
        return {}
    best = other(shop, p.item)
    return {"offer": offered(best), "offer_url": item_url(best.item)} if best is not None else {}


def undoable(thing: Item, shop: Shop) -> int | None:
    """The number of the person's own newest record on this thing, while it can be undone (a minute)."""
    if not may(shop, "undo"):
        return None
    leg = Leg.objects.filter(item=thing).select_related("act").order_by("-seq").first()
    if leg is None or leg.act.kind == "void" or leg.act.person_id != shop.person.pk or shop.now_us - leg.act.recorded_us > UNDO_US:
        return None
    return None if Act.objects.filter(voids=leg.act).exists() else leg.act_id


def lot_facts(lot: Item, shop: Shop) -> dict[str, Any]:
    """A lot's pieces and its balance (R3)."""
    rows = Item.objects.filter(lot=lot, kind__in=("roll", "spool", "drum", "can", "box", "sheet")).select_related(
        "state__location", "material"
    )
    cells = []
    for piece in rows.order_by("pk")[:500]:
        state = getattr(piece, "state", None)
        place = state.location.name if state is not None and state.location is not None else say("nowhere yet")
        chip = shapes.chip(state.gone if state.gone in shapes.STATUS else "gone") if state is not None and state.gone else ""
        cells.append([item_link(piece), words.qty(state.qty if state else None, piece.unit), "" if chip else place, chip])
    return {"pieces_columns": PIECES, "pieces": cells, "balance": balance_rows(balance(lot.pk), lot.unit)}


def balance_rows(b: Balance, unit: str) -> list[tuple[str, Any]]:
    names = (
        (say("Received"), b.received),
        (say("Counted and corrected"), b.adjusted),
        (say("On hand"), b.on_hand),
        (say("Used in parts"), b.used_in_parts),
        (say("Used otherwise"), b.used_otherwise),
        (say("Scrapped or waste"), b.scrapped),
        (say("Returned"), b.returned),
        (say("Sold"), b.sold),
    )
    return [(name, signed(value, unit)) for name, value in names if value or name in ("Received", "On hand")]


def signed(value: int, unit: str) -> Any:
    """A quantity that may be below nothing."""
    return words.qty(value, unit) if value >= 0 else format_html("−{}", words.qty(-value, unit))


@page
@require_POST
def scan(request: HttpRequest, code: str) -> HttpResponse:
    """The second scan: a place puts the thing there; another label goes to that one."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    thing = thing_at(shop, code)
    if thing is None:
        return not_understood(request, codes.normalise(code))
    read = codes.normalise(request.POST.get("code", ""))
    place = place_of(shop, read) if read.kind not in ("empty", "too_long") else None
    if place is None:
        there = goto(request, shop, read) if read.kind not in ("empty", "too_long") else None
        return there or not_understood(request, read)
    back = planned_back(request.POST.get("back", "auto"), thing, place, shop)
    answer = ask("move", call_of(request), Move(thing.code, place.code, back))
    if answer.outcome is None:
        page_context = context(request, thing, answer)
        refused = say("{thing} does not go into {place}", thing=thing, place=place.name)
        page_context |= {"title": say("No – {refused}", refused=refused), "refused": refused}
        page_context["places"] = places_for(thing, shop)
        return render(request, "inventory/item.html", page_context, status=409 if answer.understood else 422)
    if answer.outcome.data.get("already"):
        messages.info(request, answer.outcome.text)
    else:
        told(request, answer.outcome)
        used = moved_clocks(thing, shop)
        if used:
            messages.info(request, used)
    return redirect(item_url(thing))


def moved_clocks(thing: Item, shop: Shop) -> str:
    """What a return says: how much of out life is used and left (S2)."""
    p = itemfacts.piece_of(thing, shop)
    used = clocks(p, shop.zone) if p is not None and p.facts.thaw_us else ""
    return say("{thing}: {used}.", thing=thing, used=used) if used else ""


def planned_back(wanted: str, thing: Item, place: Any, shop: Shop) -> int | None:
    """When it should be back: only for what leaves the cold where it lives for somewhere warmer."""
    if wanted == "no":
        return None
    if wanted in ("1", "4"):
        return shop.now_us + int(wanted) * HOUR_US
    p = itemfacts.piece_of(thing, shop)
    leaves = p is not None and p.facts.thaw_us > 0 and resolve.ceiling_of(place) > FROZEN_MC
    if wanted == "24":
        return end_of_day(shop, 1) if leaves else None
    return max(end_of_day(shop, 0), shop.now_us + LEAST_US) if leaves else None


def end_of_day(shop: Shop, days: int) -> int:
    """17:00 on the shop's clock, today or so many days on."""
    day = local_date(shop.now_us, shop.zone) + timedelta(days=days)
    return instant_of(datetime.combine(day, time(DAY_ENDS_H)), shop.zone)


@page
@require_safe
def attachment(request: HttpRequest, pk: int) -> Any:
    """A file that was handed in, to those who are signed in: to be saved, never opened in the page."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = get_object_or_404(Attachment.objects.filter(person__site=shop.site), pk=pk)
    path = attachments.path_of(row.sha256)
    if not path.is_file():
        raise Http404(say("The file of attachment {pk} is not in {media_root}.", pk=pk, media_root=settings.MEDIA_ROOT))
    response = FileResponse(path.open("rb"), as_attachment=True, filename=row.name, content_type=row.media_type)
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Content-Security-Policy"] = say("default-src 'none'; sandbox")
    return response
