"""The builder's screen: one part, the next line, one box for every scan, and the answer, big."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from inventory.core.said import say
from inventory.pages.doing import status_of
from inventory.pages.door import Answer, Shop, ask, call_of, page
from inventory.pages.labelling import label_button
from inventory.pages.ways import may, to
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from inventory.verbs.voiding import Undo
from layups.models import Part
from layups.reads.part import part_page

from . import facts, past, told, words
from .at import ANSWER, done, part_at
from .buttons import OPEN, buttons
from .ongoing import until
from .scanning import LayForm, Scanned, late_form, scanned

BESIDE = (Column(say("What"), lead=True), Column(say("Material")), Column(say("Amount"), num=True), Column(say("When")), Column(say("Who")))
SEATS = (Column(say("What"), lead=True), Column(say("In"), lead=False), Column(say("From")), Column(say("Until")))


@page
def part(request: HttpRequest, number: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = part_at(shop, number)
    form = LayForm(request.POST) if request.method == "POST" else LayForm()
    result = None
    if request.method == "POST" and form.is_valid():
        found = scanned(request, shop, row, form)
        if isinstance(found, HttpResponse):
            return found
        if found.answer.outcome is not None:
            return done(request, row, found.answer)
        result = found
    return shown(request, row, form, result)


def shown(request: HttpRequest, row: Part, form: LayForm, result: Scanned | None) -> HttpResponse:
    answer = result.answer if result is not None else Answer()
    context = context_of(request, row, form, result)
    if answer.reasons:
        name = result.name if result is not None else ""
        context["refused"] = say("{name} does not go into {number}", name=name, number=row.number) if name else row.number
        context["title"] = (
            say("No – {name} does not go into {number}", name=name, number=row.number) if name else say("No – {number}", number=row.number)
        )
    status = 409 if result is not None and result.ask_dry else status_of(answer, form)
    return render(request, "layups/part.html", context, status=status)


def context_of(request: HttpRequest, row: Part, form: LayForm, result: Scanned | None) -> dict[str, Any]:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    site = shop.signed_in.site
    p = part_page(site, row.pk, shop.now_us)
    others = list(messages.get_messages(request))
    text = next((str(m) for m in others if ANSWER in (m.extra_tags or "")), "")
    answer = told.told_of(p, request.GET.get("did", ""), shop, text) if request.method == "GET" else None
    upcoming = facts.next_of(p, shop)
    main, more, decisions = buttons(p, shop)
    may_lay = may(shop, "lay") and p.word in OPEN
    deed = main[0] if main and may_lay and upcoming is None else None
    return {
        "title": row.number,
        "heading": row.number,
        "messages": [m for m in others if answer is None or ANSWER not in (m.extra_tags or "")],
        "p": p,
        "part": row,
        "url": words.part_url(row.number, row.item.code),
        "chips": facts.chips(p),
        "word": p.word,
        "form": form,
        "late": late_form(request, shop),
        "late_open": bool(request.method == "POST" and request.POST.get("already")),
        "more_open": bool(form.errors or (form.is_bound and (form.data.get("plies") or form.data.get("qty") or form.data.get("extra")))),
        "answer": result.answer if result is not None else Answer(),
        "result": result,
        "told": answer,
        "next": upcoming,
        "deed": deed,
        "until": until(p.deadline, shop) if p.lives else None,
        "pots": facts.pots_for(p, shop),
        "room": facts.room_of(p, shop),
        "windows": facts.windows(p, shop),
        "offer": offer(upcoming, result, shop),
        "again": told.again_of(p) if result is None else None,
        "last": told.last_of(p, shop),
        "may_lay": may_lay,
        "lines": facts.schedule_rows(p, shop),
        "beside": beside_rows(p, shop),
        "beside_columns": BESIDE,
        "holds": [hit.sentence(row.number, row.pk) for hit in p.holds],
        "readings": facts.readings(p),
        "too_early": facts.too_early(p),
        "steps": past.steps(p, shop),
        "cures": facts.cures(p, shop),
        "seats": seat_rows(p, shop),
        "seat_columns": SEATS,
        "finished": p.word in facts.DONE,
        "lot_columns": facts.LOTS,
        "lots": facts.lots(p, shop) if p.word in facts.DONE else [],
        "buttons": main[1:] if deed else main,
        "more": more,
        "decisions": decisions,
        "label": label_button(shop, row.item),
        "trace": words.trace_url(row.item.code),
        "records": to("records", item=row.item.code),
    }


def offer(upcoming: facts.Next | None, result: Scanned | None, shop: Shop) -> dict[str, str]:
    """What would pass instead of what was refused: what the next line asks to be fetched. A pot that is over is scrapped first."""
    over = result is not None and any(r.code == "pot.over" for r in result.answer.reasons)
    if result is not None and over and may(shop, "scrap"):
        return {"text": say("scrap what is left of {name}", name=result.name), "url": to("item-leftover", result.code)}
    if result is None or not result.answer.reasons or upcoming is None or not upcoming.name or upcoming.name == result.name:
        return {}
    when = "" if upcoming.ready else say(" (still thawing)")
    return {"text": say("{fetch}, for {lines}{when}", fetch=upcoming.fetch, lines=upcoming.lines, when=when), "url": upcoming.url}


def beside_rows(p: Any, shop: Shop) -> list[list[Any]]:
    """What went in beside the schedule: consumables, boxes of the bay, what was told without a line."""
    return [
        [said.code_link(f.name, to("item", f.code)), f.material, f.qty, said.instant(f.at_us, shop.zone, shop.now_us, "near"), f.person]
        for f in p.beside
    ]


def seat_rows(p: Any, shop: Shop) -> list[list[Any]]:
    """What is built into it, and what it is built into, with dates (R43)."""
    rows = []
    for s in (*p.components, *p.seats):
        until = said.instant(s.until_us, shop.zone, shop.now_us) if s.until_us is not None else say("still in it")
        ends = words.part_link(s.component_number), words.part_link(s.number)
        rows.append([*ends, said.instant(s.from_us, shop.zone, shop.now_us), until])
    return rows


@page
@require_POST
def undo(request: HttpRequest, number: str) -> HttpResponse:
    """Take back one's own record, within a minute."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = part_at(shop, number)
    text = request.POST.get("record", "")
    record = int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else 0
    answer = ask("undo", call_of(request), Undo(record))
    if answer.outcome is not None:
        return done(request, row, answer)
    return shown(request, row, LayForm(), Scanned(answer))
