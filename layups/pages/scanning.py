"""What a scan on a part's page means: material goes in, a component is built in, a place takes the part, a badge changes who acts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from inventory.core import codes
from inventory.core.codes import Scan
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.spans import local
from inventory.models import Item
from inventory.pages.deeds import PageForm
from inventory.pages.doing import Late, late_of
from inventory.pages.door import Answer, Shop, ask, call_of
from inventory.pages.finding import goto, place_of
from inventory.pages.ways import item_url
from inventory.verbs import resolve
from inventory.verbs.lots import lot_by_number
from inventory.verbs.moving import Move
from inventory.verbs.registry import VERBS
from layups.core import schedule
from layups.models import Part
from layups.reads import schedules
from layups.verbs.joining import Join
from layups.verbs.laying import Lay

from . import words

UNASKED, FILLED = "thaw.bag_unasked", "ply.filled"


class LayForm(PageForm):
    """The scan, and what is said with it only in exceptions."""

    code = forms.CharField(max_length=4096, label=say("Scan what goes in"))
    dry = forms.ChoiceField(required=False, choices=(("", ""), ("yes", "yes"), ("no", "no")))
    plies = forms.CharField(
        required=False, max_length=200, label=say("Lines"), help_text=say("Their numbers, such as 7 or 7 8. Empty: the next open one.")
    )
    qty = forms.CharField(required=False, max_length=60, label=say("Quantity"), help_text=say("Empty: as in the schedule."))
    extra = forms.BooleanField(required=False, label=say("Extra: more goes into a line that is filled"))

    def clean_plies(self) -> tuple[int, ...]:
        text = self.cleaned_data["plies"].replace(",", " ").replace(";", " ")
        if not all(w.isascii() and w.isdecimal() and len(w) < 6 for w in text.split()):
            raise forms.ValidationError(say("Give the numbers of the lines, such as 7 or 7 8."))
        return tuple(int(w) for w in text.split())


@dataclass(frozen=True, slots=True)
class Scanned:
    """What came of a scan: `answer`; the question that it asks first (`ask_dry`); `code` and `name` of what was scanned;
    `filled`: nothing speaks against it but that its line has what it wants."""

    answer: Answer
    code: str = ""
    name: str = ""
    ask_dry: bool = False
    filled: bool = False


def late_form(request: HttpRequest, shop: Shop) -> Late:
    """ "It already happened", with the shop's present time to start from."""
    if request.method == "POST":
        return Late(request.POST)
    return Late(initial={"happened_at": local(shop.now_us, shop.zone).strftime("%Y-%m-%dT%H:%M")})


def scanned(request: HttpRequest, shop: Shop, part: Part, form: LayForm) -> Scanned | HttpResponse:
    """A response where the scan leads elsewhere; else what came of it. The form is valid."""
    read = codes.normalise(form.cleaned_data["code"])
    if read.kind in ("empty", "too_long"):
        return Scanned(_not_understood(read, say("Nothing was scanned: scan or type the code on the label.")))
    thing = resolve.find(shop.site, read)
    if thing is None:
        return _no_thing(request, shop, part, form, read)
    if thing.pk == part.pk:
        return Scanned(
            _not_understood(read, say("This is {part} itself: scan what goes into it.", part=part.number)), thing.code, str(thing)
        )
    if thing.kind in ("part", "assembly"):
        if part.design.kind != "assembly":
            there = Part.objects.filter(pk=thing.pk).first()
            return redirect(words.part_url(there.number, thing.code) if there is not None else item_url(thing))
        return Scanned(asked_of(request, "join", Join(thing.code, part.item.code)), thing.code, str(thing))
    return laid(request, part, form, thing.code, str(thing), thing)


def _no_thing(request: HttpRequest, shop: Shop, part: Part, form: LayForm, read: Scan) -> Scanned | HttpResponse:
    """A badge, a place, a lot that is followed by its number; or nothing that is known."""
    if read.on == "person":
        there = goto(request, shop, read)
        if there is not None:
            return redirect(words.part_url(part.number, part.item.code))
    place = place_of(shop, read)
    if place is not None and place.kind == "oven":
        return redirect(f"{words.part_url(part.number, part.item.code)}load/?place={place.code}")
    if place is not None:
        return Scanned(asked_of(request, "move", Move(part.item.code, place.code)), place.code, place.name)
    try:
        lot = lot_by_number(shop.site, read.text)
    except BadInput as bad:
        return Scanned(Answer(reasons=[bad.reason], understood=False))
    return laid(request, part, form, lot.item.code if lot is not None else form.cleaned_data["code"], read.text)


def wanted(part: Part, thing: Item) -> tuple[int, ...]:
    """The next open line, for what fits none: so that the answer says what that line needs instead."""
    if thing.kind != "mix" and (thing.material is None or thing.material.grade != "item"):
        return ()
    recipe = schedules.recipes_of([thing.pk]).get(thing.pk) if thing.kind == "mix" else None
    lines = schedules.lines_of([part.design_id]).get(part.design_id, ())
    offer = schedules.offer_of(thing, recipe)
    if any(schedule.fits(offer, line) for line in lines):
        return ()
    there = schedules.fillings(schedules.laid_into([part.pk]).get(part.pk, ()))
    return next(((line.seq,) for line in lines if not line.box and not schedule.is_filled(line, there)), ())


def laid(request: HttpRequest, part: Part, form: LayForm, code: str, name: str, thing: Item | None = None) -> Scanned:
    """Lay it in. Only the question of the bag stands open: then it is asked, and nothing else is said."""
    d = form.cleaned_data
    plies = d["plies"] or (wanted(part, thing) if thing is not None else ())
    dry = {"yes": True, "no": False}.get(d["dry"])
    answer = asked_of(request, "lay", Lay(code, part.item.code, plies, "", d["qty"], (), dry, d["extra"]))
    against = [r.code for r in answer.reasons]
    unasked = against == [UNASKED]
    if unasked:
        answer = Answer(understood=True)
    return Scanned(answer, code, name, unasked, against == [FILLED])


def asked_of(request: HttpRequest, verb: str, params: Any) -> Answer:
    """Ask a verb, now or (as the form says) as what already happened."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    try:
        return ask(verb, call_of(request, **late_of(request, VERBS[verb], shop)), params)
    except BadInput as bad:
        return Answer(reasons=[bad.reason], where=bad.where, understood=False)


def _not_understood(read: Scan, text: str) -> Answer:
    reason = read.reason or Reason("code.not_for_here", text)
    return Answer(reasons=[reason], understood=False)
