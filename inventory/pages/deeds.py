"""What forms of their own share: perform a verb, put what was not understood beside its field, offer what would pass."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.core.packs import usual_kind
from inventory.core.picking import Choice
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.units import display
from inventory.models import Item
from inventory.reads import stock
from inventory.reads.stock import Piece
from inventory.verbs.registry import VERBS, Outcome

from .doing import late_form, late_of, status_of
from .door import Answer, Shop, ask, call_of
from .labelling import offer_labels
from .ways import item_url

OFFERED_FOR = ("life.", "thaw.", "block.", "stock.", "roll.", "pot.", "owner.", "reserved.", "gone")


class PageForm(forms.Form):
    """A form whose fields carry the verb's own names, so that what is not understood finds its field."""

    def read(self) -> dict[str, Any]:
        return self.cleaned_data


def attempt(request: HttpRequest, verb: str, form: forms.Form, params: Callable[[], Any]) -> Answer:
    """Ask the verb; what was not understood goes to the field it names."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if not form.is_valid():
        return Answer(understood=False)
    try:
        answer = ask(verb, call_of(request, **late_of(request, VERBS[verb], shop)), params())
    except BadInput as bad:
        answer = Answer(reasons=[bad.reason], where=bad.where, understood=False)
    if not answer.done and not answer.understood and answer.where in form.fields:
        form.add_error(answer.where, answer.reasons[0].text)
        answer.reasons = []
    return answer


def told(request: HttpRequest, outcome: Outcome, loud: bool = False) -> None:
    """What was done, and which rules it broke, as messages for the next page. `loud`: it is done, and somebody must look at it."""
    (messages.warning if loud else messages.success)(request, outcome.text)
    for reason in outcome.reasons:
        messages.warning(request, say("Stored although it breaks a rule: {reason}", reason=reason.text))
    offer_labels(request, outcome)


def deed_page(
    request: HttpRequest, template: str, verb: str, form: forms.Form, answer: Answer, context: dict[str, Any], done: str = ""
) -> HttpResponse:
    """The page after an attempt: on to `done`, or the form again with every reason."""
    if answer.outcome is not None:
        told(request, answer.outcome)
        return redirect(done)
    title = context["title"]
    shown = {
        "verb": VERBS[verb],
        "form": form,
        "answer": answer,
        "heading": title,
        "late": late_form(request),
        "may": bool(set(VERBS[verb].roles) & request.shop.roles),  # type: ignore[attr-defined]
        "form_key": request.POST.get("key") if form.errors else None,
    }
    return render(
        request, template, {**context, **shown, "title": (say("No – ") if answer.reasons else "") + title}, status=status_of(answer, form)
    )


def instead(shop: Shop, item: Item, answer: Answer, amount: int | None = None, one_piece: bool = False) -> dict[str, str]:
    """What would pass instead of a refused piece: the first by first expired, first out (R5)."""
    if item.material is None or not any(r.code.startswith(OFFERED_FOR) for r in answer.reasons):
        return {}
    best = other(shop, item, amount, one_piece)
    return {} if best is None else {"offer": offered(best), "offer_url": item_url(best.item)}


def other(shop: Shop, item: Item, amount: int | None = None, one_piece: bool = False) -> Piece | None:
    """The piece of the same material to fetch instead, if there is one that fits now."""
    assert item.material is not None
    if item.unit != item.material.unit and amount is not None:
        amount = None
    choice = chosen(shop, item, amount, one_piece)
    refs = [c.ref for c in choice.order if isinstance(c.ref, Piece) and c.ref.item.pk != item.pk]
    return refs[0] if refs else None


def chosen(shop: Shop, item: Item, amount: int | None, one_piece: bool) -> Choice:
    assert item.material is not None
    return stock.choose(shop.site, shop.zone, shop.now_us, item.material, max(amount or 1, 1), one_piece=one_piece, customer=item.owner_id)


def offered(p: Piece) -> str:
    word = p.item.get_kind_display() or usual_kind(p.item.material.kind if p.item.material else "", p.item.unit)
    return say("{word} {item}, {usable}, in {place}", word=word, item=p.item, usable=display(p.usable, p.item.unit), place=p.place)
