"""/do/<verb>/: one page for each verb: its form, the answer with every reason, and what already happened reported late."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.verbs.registry import VERBS, Verb

from .door import Answer, Shop, ask, ask_confirmed, call_of, page
from .labelling import offer_labels
from .signing import safe
from .verbforms import form_class, instant_of, params_of
from .ways import to


@page
def do(request: HttpRequest, name: str) -> HttpResponse:
    verb = VERBS.get(name)
    if verb is None:
        raise Http404
    shop: Shop = request.shop  # type: ignore[attr-defined]
    cls = form_class(verb)
    answer = Answer()
    if request.method == "POST":
        form = cls(request.POST)
        if form.is_valid():
            answer = attempt(request, verb, form, shop)
            if answer.outcome is not None:
                messages.success(request, answer.outcome.text)
                for reason in answer.outcome.reasons:
                    messages.warning(request, say("Stored although it breaks a rule: {reason}", reason=reason.text))
                offer_labels(request, answer.outcome)
                return redirect(next_page(request, answer))
    else:
        form = cls(initial={k: v for k, v in request.GET.items() if k in cls.base_fields})
    context = {
        "title": (say("No – ") if answer.reasons else "") + verb.title,
        "heading": verb.title,
        "verb": verb,
        "form": form,
        "answer": answer,
        "late": late_form(request),
        "next": request.POST.get("next") or request.GET.get("next", ""),
        "may": bool(set(verb.roles) & shop.roles),
    }
    return render(request, "inventory/do.html", context, status=status_of(answer, form))


def status_of(answer: Answer, form: forms.Form) -> int:
    if answer.reasons:
        return 403 if answer.reasons[0].code.startswith(("role.", "password.")) else 409 if answer.understood else 422
    return 422 if form.errors else 200


class Late(forms.Form):
    """For what already happened: when, and why it is told late."""

    already = forms.BooleanField(required=False, label=say("This already happened"))
    happened_at = forms.DateTimeField(
        required=False,
        label=say("When"),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text=say("In the shop's own time."),
    )
    why_late = forms.CharField(required=False, max_length=500, label=say("Why it is told late"))


def late_form(request: HttpRequest) -> Late:
    """As sent; or as the address says, where a page knows when it happened."""
    if request.method == "POST":
        return Late(request.POST)
    return Late(initial={name: value for name, value in request.GET.items() if name in Late.base_fields})


def attempt(request: HttpRequest, verb: Verb, form: forms.Form, shop: Shop) -> Answer:
    """Perform the verb with what the form says; a decision asks those who may decide for their password, and tells others whom to ask."""
    try:
        params = params_of(verb, form.cleaned_data, shop.zone)
        more = late_of(request, verb, shop)
    except BadInput as bad:
        return Answer(reasons=[bad.reason], where=bad.where, understood=False)
    call = call_of(request, **more)
    signed = verb.confirm and bool(set(verb.roles) & shop.roles)
    return ask_confirmed(request, verb.name, call, params) if signed else ask(verb.name, call, params)


def late_of(request: HttpRequest, verb: Verb, shop: Shop) -> dict[str, Any]:
    late = late_form(request)
    if not verb.observable or not late.is_valid() or not late.cleaned_data["already"]:
        return {}
    when = late.cleaned_data["happened_at"]
    happened = instant_of(when, shop.zone) if when else shop.now_us
    if happened > shop.now_us:
        raise BadInput("time.future", say("That time lies in the future: what already happened cannot."), "happened_at")
    return {"stance": "observed", "happened_us": happened, "claimed_us": happened, "reason": late.cleaned_data["why_late"]}


def next_page(request: HttpRequest, answer: Answer) -> str:
    wanted = request.POST.get("next", "")
    if wanted and safe(wanted):
        return wanted
    data: dict[str, Any] = answer.outcome.data if answer.outcome else {}
    things = data.get("items") or ()  # new things by name, or names of those that were meant
    first = data.get("item") or next(iter(things.values() if isinstance(things, dict) else things), "")
    return to("item", first) or to("find", q=first) if first else to("today")  # a mark with a slash has no address of its own
