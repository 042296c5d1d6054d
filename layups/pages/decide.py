"""Quality's decisions, each on a form of its own and signed with the password again. A badge never decides (R44)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from inventory import attachments
from inventory.core import codes
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.pages.deeds import told
from inventory.pages.doing import status_of
from inventory.pages.door import Answer, Shop, ask, ask_confirmed, call_of, page
from inventory.pages.signing import safe
from inventory.pages.ways import may
from inventory.verbs import resolve
from inventory.verbs.deciding import Baseline, Dispose
from inventory.verbs.exposing import Expose
from inventory.verbs.extending import Extend, ExtendAsk
from inventory.verbs.holding import Countersign, Hold, Unhold
from inventory.verbs.registry import VERBS
from inventory.verbs.releasing import AcceptTransport, Release, ReturnToSupplier
from inventory.verbs.voiding import Void

from . import about
from . import decideforms as f
from .parts import moment


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision: its verb, its words, its form, and how the form becomes the verb's parameters."""

    verb: str
    title: str
    submit: str
    form: type[f.DecideForm]
    params: Callable[[dict[str, Any], Shop], Any]
    danger: bool = False
    note: str = ""


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.replace(",", "\n").splitlines() if line.strip())


def _expose(d: dict[str, Any], shop: Shop) -> Expose:
    return Expose(
        d["place"],
        moment(d["from_us"], shop) or 0,
        moment(d["to_us"], shop) or 0,
        d["warmest"],
        d["evidence"],
        d["reason"],
        d["charged"],
        d["line"],
        d["air_time"],
        d["air_warmest"],
    )


DECISIONS: dict[str, Decision] = {
    "release": Decision(
        "release",
        say("Release"),
        say("Release"),
        f.ReleaseForm,
        lambda d, shop: Release(_lines(d["items"]), d["delivery"], d["evidence"], d["reason"], d["attachment"]),
    ),
    "transport": Decision(
        "accept_transport",
        say("Accept the transport"),
        say("Accept, time charged"),
        f.TransportForm,
        lambda d, shop: AcceptTransport(d["evidence"], d["delivery"], _lines(d["items"]), d["reason"]),
    ),
    "return": Decision(
        "return_supplier",
        say("Return to supplier"),
        say("Return all that is left"),
        f.ReturnForm,
        lambda d, shop: ReturnToSupplier(d["item"], d["reason"], d["reference"]),
        danger=True,
    ),
    "hold": Decision(
        "hold",
        say("Hold"),
        say("Hold it"),
        f.HoldForm,
        lambda d, shop: Hold(d["item"], d["reason"], d["scope"], d["recall"], d["second_person"]),
        danger=True,
        note=say("A held part may still be cured, moved and frozen; it may not be used, built in or shipped."),
    ),
    "let-go": Decision(
        "unhold",
        say("Let go"),
        say("Let go"),
        f.LetGoForm,
        lambda d, shop: Unhold(d["item"], d["evidence"], _lines(d["only"]), d["about"], d["reason"], d["hold"]),
    ),
    "countersign": Decision(
        "countersign", say("Countersign"), say("Countersign"), f.CountersignForm, lambda d, shop: Countersign(d["record"], d["reason"])
    ),
    "extend": Decision(
        "extend_ask",
        say("Ask for an extension"),
        say("Ask for it"),
        f.ExtendAskForm,
        lambda d, shop: ExtendAsk(d["item"], d["months"], d["value"], d["sample"], d["evidence"], d["limit"], d["reason"], d["attachment"]),
        note=say("A second person must approve it. The old date stays on record; out time is never given back."),
    ),
    "approve": Decision(
        "extend", say("Approve an extension"), say("Approve"), f.ExtendForm, lambda d, shop: Extend(d["item"], d["limit"], d["reason"])
    ),
    "decide": Decision(
        "dispose",
        say("Decide on a nonconformance"),
        say("Decide"),
        f.DisposeForm,
        lambda d, shop: Dispose(d["item"], d["meaning"], d["reference"], d["reason"], d["nonconformance"], d["attachment"]),
    ),
    "void": Decision("void", say("Void a record"), say("Void it"), f.VoidForm, lambda d, shop: Void(d["record"], d["reason"]), danger=True),
    "start-value": Decision(
        "baseline",
        say("Set a starting value"),
        say("Set it"),
        f.BaselineForm,
        lambda d, shop: Baseline(d["item"], d["out_time"], d["reason"]),
    ),
    "freezer": Decision(
        "expose",
        say("Charge a freezer event"),
        say("Charge it to what was inside"),
        f.ExposeForm,
        _expose,
        danger=True,
        note=say("Judged on the product probe. Air spikes of a defrost charge nothing."),
    ),
}


@page
def decide(request: HttpRequest, slug: str) -> HttpResponse:
    """GET the form with what the address says; POST it with the password."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    entry = DECISIONS.get(slug)
    if entry is None:
        raise Http404
    allowed = may(shop, entry.verb)
    answer = Answer()
    if request.method == "POST":
        form = entry.form(request.POST, request.FILES, shop=shop)
        answer = attempt(request, entry, form, allowed)
        if answer.outcome is not None:
            told(request, answer.outcome)
            return redirect(next_of(request))
    else:
        form = entry.form(shop=shop, initial={k: v for k, v in request.GET.items() if k in entry.form.base_fields})
        if not allowed:
            answer = Answer(reasons=[not_allowed(entry)])
    return render(request, "layups/decide.html", context(request, entry, form, answer, allowed), status=status_of(answer, form))


def attempt(request: HttpRequest, entry: Decision, form: f.DecideForm, allowed: bool) -> Answer:
    """Who may not decide is refused for that, and the refusal is kept; else the password, then the decision."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if not form.is_valid():
        return Answer(reasons=[] if allowed else [not_allowed(entry)], understood=False)
    try:
        if allowed and "file" in form.fields:
            keep_file(request, form)
        params = entry.params(form.cleaned_data, shop)
    except BadInput as bad:
        answer = Answer(reasons=[bad.reason], where=bad.where, understood=False)
    else:
        confirm = VERBS[entry.verb].confirm and allowed
        answer = ask_confirmed(request, entry.verb, call_of(request), params) if confirm else ask(entry.verb, call_of(request), params)
    if not answer.done and not answer.understood and answer.where in form.fields:
        form.add_error(answer.where, answer.reasons[0].text)
        answer.reasons = []
    return answer


def keep_file(request: HttpRequest, form: f.DecideForm) -> None:
    """The file is kept first, so that the record can name it; after a wrong password, or another mistake, the form still has
    it. Raises BadInput attachment.*."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    d = form.cleaned_data
    file = d["file"]
    if file is not None:
        call = call_of(request)
        named = [*_lines(d.get("item", "")), *_lines(d.get("items", ""))]
        thing = resolve.find(shop.site, codes.normalise(named[0])) if len(named) == 1 else None
        d["attachment"] = attachments.keep(file.chunks(), file.name, call.who, call.now_us, thing).sha256
    if d["attachment"]:
        form.data = {name: form.data.get(name) for name in form.data} | {"attachment": d["attachment"]}
        name = attachments.stored(d["attachment"]).name
        form["file"].help_text = say("{name} is kept already: choose a file only to take another one.", name=name)


def not_allowed(entry: Decision) -> Reason:
    roles = strung(say(" or "), VERBS[entry.verb].roles)
    return Reason(
        "role.not_allowed",
        say("“{entry}” is for {roles}. Ask somebody who has that role.", entry=entry.title, roles=roles),
        {"needs": roles},
    )


def next_of(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next", "")
    return wanted if wanted and safe(wanted) else reverse("quality")


def context(request: HttpRequest, entry: Decision, form: f.DecideForm, answer: Answer, allowed: bool) -> dict[str, Any]:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    wrong = answer.where == "password"
    return {
        "title": (say("No – ") if answer.reasons else "") + entry.title,
        "heading": entry.title,
        "entry": entry,
        "form": form,
        "answer": answer,
        "allowed": allowed,
        "confirm": VERBS[entry.verb].confirm,
        "wrong_password": wrong,
        "next": next_of(request),
        "facts": about.facts_of(shop, form),
        "by_badge": shop.by_badge,
    }
