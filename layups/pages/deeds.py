"""Small forms for what is done to a part: bag, test, load, heat, step, defect, build in, ship. One table, one view."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

from inventory.core.said import say
from inventory.pages.deeds import attempt, deed_page
from inventory.pages.door import Answer, Shop, page
from inventory.verbs.moving import Move
from layups.core.verdicts import DROP
from layups.models import Part
from layups.reads.part import PartPage, part_page
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureAbort, CureLoad, CureOff, CureOn, Step
from layups.verbs.inspecting import FoundDefect, Inspect
from layups.verbs.joining import Join, Unjoin
from layups.verbs.shipping import Ship
from layups.verbs.starting import CutParts, Piece, PlanCure

from . import deedforms as f
from . import words
from .at import done, part_at
from .parts import moment


@dataclass(frozen=True, slots=True)
class Deed:
    """One form. `button` stands on the part's page and `title` over the form; `form` makes it for a part, `params` reads it."""

    verb: str
    button: str
    title: str
    submit: str
    form: type[f.DeedForm]
    params: Callable[[Part, PartPage, dict[str, Any], Shop], Any]
    note: str = ""


def _lines(text: str) -> tuple[str, ...]:
    """Numbers or codes, one a line or with commas between."""
    return tuple(word.strip() for word in text.replace(",", "\n").splitlines() if word.strip())


def _passed(text: str) -> bool | None:
    return {"yes": True, "no": False}.get(text)


def _run(part: Part, d: dict[str, Any]) -> dict[str, Any]:
    """All that is loaded in the run, or this part alone where it stands."""
    return {"run": d["run"]} if d["run"] else {"parts": (part.item.code,)}


DEEDS: dict[str, Deed] = {
    "bag": Deed(
        "bag", say("Bag"), say("Bag"), say("It is bagged"), f.BagForm, lambda part, p, d, shop: Bag(part.item.code, _lines(d["also"]))
    ),
    "drop": Deed(
        "inspect",
        say("Drop test"),
        say("Drop test"),
        say("Record the test"),
        f.DropForm,
        lambda part, p, d, shop: Inspect(part.item.code, DROP, d["readings"], _passed(d["passed"]), d["instrument"]),
    ),
    "load": Deed(
        "cure_load",
        say("Load for cure"),
        say("Load for cure"),
        say("It is loaded"),
        f.LoadForm,
        lambda part, p, d, shop: CureLoad(d["run"], d["place"], part.item.code, _lines(d["also"])),
        note=say("Loading stops no clock. The clocks stand from the moment when heating begins."),
    ),
    "on": Deed(
        "cure_on",
        say("Heating begins"),
        say("Heating begins"),
        say("Heating begins now"),
        f.RunForm,
        lambda part, p, d, shop: CureOn(**_run(part, d)),
        note=say("The clocks of everything laid stop now."),
    ),
    "abort": Deed(
        "cure_abort",
        say("Cure interrupted"),
        say("Cure interrupted"),
        say("Record it"),
        f.AbortForm,
        lambda part, p, d, shop: CureAbort(d["reached"], **_run(part, d)),
        note=say("Below the temperature that the design calls cured, the start is void: the time since counts, and the clocks run on."),
    ),
    "off": Deed(
        "cure_off",
        say("Cure done"),
        say("Cure done"),
        say("The cure is done"),
        f.OffForm,
        lambda part, p, d, shop: CureOff(**_run(part, d), place=d["place"]),
    ),
    "step": Deed(
        "step",
        say("Record a step"),
        say("Record a step"),
        say("Record it"),
        f.StepForm,
        lambda part, p, d, shop: Step(part.item.code, d["other"] or d["step"], d["note"], d["place"]),
    ),
    "test": Deed(
        "inspect",
        say("Record a test"),
        say("Record a test"),
        say("Record the test"),
        f.TestForm,
        lambda part, p, d, shop: Inspect(part.item.code, d["kind"], d["readings"], _passed(d["passed"]), d["instrument"]),
    ),
    "defect": Deed(
        "defect",
        say("Record a defect"),
        say("Record a defect"),
        say("Record the defect"),
        f.DefectForm,
        lambda part, p, d, shop: FoundDefect(part.item.code, d["defect"], d["text"]),
        note=say("A defect is a fact: it is stored, the part is held, and quality decides."),
    ),
    "join": Deed(
        "join",
        say("Build in"),
        say("Build in"),
        say("Build it in"),
        f.JoinForm,
        lambda part, p, d, shop: Join(d["other"], part.item.code) if part.design.kind == "assembly" else Join(part.item.code, d["other"]),
    ),
    "unjoin": Deed(
        "unjoin",
        say("Take out"),
        say("Take out of its assembly"),
        say("Take it out"),
        f.PlaceForm,
        lambda part, p, d, shop: Unjoin(part.item.code, d["place"]),
    ),
    "ship": Deed(
        "ship",
        say("Ship"),
        say("Ship"),
        say("Ship it"),
        f.ShipForm,
        lambda part, p, d, shop: Ship(part.item.code, d["customer"], (), d["note"]),
    ),
    "plan": Deed(
        "plan_cure",
        say("Plan the cure"),
        say("Plan the cure"),
        say("Plan it"),
        f.PlanForm,
        lambda part, p, d, shop: PlanCure(part.item.code, moment(d["when"], shop) or 0),
        note=say("What is laid from now on must live until then."),
    ),
    "move": Deed("move", say("Move"), say("Move"), say("Move it"), f.MoveForm, lambda part, p, d, shop: Move(part.item.code, d["place"])),
    "cut": Deed(
        "cut_parts",
        say("Cut into pieces"),
        say("Cut into pieces"),
        say("Cut it"),
        f.CutForm,
        lambda part, p, d, shop: CutParts(
            part.item.code, d["design"], d["length"], tuple(Piece(n) for n in _lines(d["pieces"])), d["place"], d["customer"]
        ),
    ),
}


@page
def deed(request: HttpRequest, number: str, slug: str) -> HttpResponse:
    """GET the form, POST it. Back to the part's page when it is done."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    entry = DEEDS.get(slug)
    if entry is None:
        raise Http404
    row = part_at(shop, number)
    p = part_page(shop.signed_in.site, row.pk, shop.now_us)
    form = entry.form(shop=shop, page=p, initial=f.initial(request, entry.form, p, shop))
    answer = Answer()
    if request.method == "POST":
        form = entry.form(request.POST, shop=shop, page=p)
        answer = attempt(request, entry.verb, form, lambda: entry.params(row, p, form.cleaned_data, shop))
    back = words.part_url(row.number, row.item.code)
    if answer.outcome is not None and answer.outcome.receipts:
        return done(request, row, answer)
    context = {
        "title": say("{entry}: {number}", entry=entry.title, number=row.number),
        "back": back,
        "button": entry.submit,
        "note": entry.note,
        "together": together(row, form) if "run" in form.fields and slug != "load" else "",
        "floor": True,
    }
    return deed_page(request, "layups/deed.html", entry.verb, form, answer, context, back)


def together(part: Part, form: f.DeedForm) -> str:
    """Which parts a button for a run speaks of."""
    run = str(form["run"].value() or "")
    return say("For all parts in run {run}.", run=run) if run else say("For {part} alone, where it stands.", part=part.number)
