"""Forms of their own for what is done with a thing every day: open it, cut a kit, count it, scrap what is left in a pot."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from inventory.core import codes
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.units import display
from inventory.models import Item
from inventory.verbs import resolve
from inventory.verbs.counting import Count, Scrap
from inventory.verbs.cutting import ROLLS, CutKit, Remnant
from inventory.verbs.moving import Open

from . import itemfacts
from .actions import leftover_caution
from .deeds import attempt, deed_page, instead
from .door import Answer, Shop, page
from .measures import Measure, own, said_in
from .ways import item_url

REMNANTS = 3
_DECIMAL = {"inputmode": "decimal"}
DRY = (("yes", say("Yes, dry")), ("no", say("No, wet or frosted")))
deed = require_http_methods(["GET", "HEAD", "POST"])


def found(request: HttpRequest, code: str) -> Item:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    item = resolve.find(shop.site, codes.normalise(code))
    if item is None:
        raise Http404
    return item


def _text(label: str, required: bool = False, help_text: str = "", **attrs: Any) -> forms.CharField:
    return forms.CharField(required=required, label=label, help_text=help_text, max_length=200, widget=forms.TextInput(attrs))


def _measure(unit: str, label: str, required: bool = False, help_text: str = "", **attrs: Any) -> Measure:
    widget = forms.TextInput(_DECIMAL | attrs)
    return Measure(unit=unit, required=required, label=label, help_text=help_text, max_length=200, widget=widget)


class OpenForm(forms.Form):
    dry = forms.ChoiceField(required=False, label=say("Is the bag dry?"), choices=DRY)


@page
@deed
def open_item(request: HttpRequest, code: str) -> HttpResponse:
    """Open it: its thaw time is over, and somebody looked at the bag (R15)."""
    item = found(request, code)
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form, answer = OpenForm(request.POST or None), Answer()
    p = itemfacts.piece_of(item, shop)
    if request.method == "POST":
        answer = attempt(request, "open", form, lambda: Open(item.code, {"yes": True, "no": False}.get(form.cleaned_data["dry"])))
    context = {
        "title": say("Open {item}", item=item),
        "item": item,
        "p": p,
        "ask_dry": bool(p and p.facts.thaw_us),
        "button": say("Open it"),
    }
    return deed_page(request, "inventory/open.html", "open", form, answer, context | instead(shop, item, answer), item_url(item))


class CutForm(forms.Form):
    taken = _measure("m", say("Length off the roll"), True, say("As cut, with the waste at both ends."), autofocus=True)
    net = _measure(
        "m²",
        say("Area of the plies"),
        False,
        say("Net, so that the waste is known ({example} m²). Empty: all of the cut goes into the kit.", example="5.94"),
    )
    mark = _text(say("Name of the kit"), False, say("As it stands on its label (K-40)."))
    job = _text(say("For"), False, say("The part that it is for."))
    plies = _text(say("Plies"), False, say("Their numbers, with blanks between them."))
    place = _text(say("Where the kit lies"), False, say("The place's code. Empty: where the roll is."))

    def clean_plies(self) -> tuple[int, ...]:
        try:
            return tuple(int(n) for n in self.cleaned_data["plies"].replace(",", " ").split())
        except ValueError:
            raise forms.ValidationError(say("Give the numbers of the plies: 1 2 3.")) from None

    @property
    def remnants(self) -> tuple[Remnant, ...]:
        """The rows that were filled in."""
        rows = [tuple(self.data.get(f"{name}{i}", "").strip() for name in ("length", "width", "name")) for i in range(REMNANTS)]
        for length, width, _ in rows:
            if bool(length) != bool(width):
                raise BadInput(
                    "cut.remnant_size", say("A remnant has a length and a width: give both, or leave the row empty."), "remnants"
                )
        return tuple(Remnant(said_in(length, "m"), said_in(width, "m"), name) for length, width, name in rows if length)


@page
@deed
def cut(request: HttpRequest, code: str) -> HttpResponse:
    """Cut a kit off a roll, with what is kept of the rest."""
    item = found(request, code)
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if item.kind not in ROLLS or item.unit != "um":
        raise Http404
    form, answer = CutForm(request.POST if request.method == "POST" else None), Answer()
    if request.method == "POST":
        answer = attempt(request, "cut_kit", form, lambda: CutKit(item=item.code, remnants=form.remnants, **form.cleaned_data))
    context: dict[str, Any] = {"title": say("Cut a kit from {item}", item=item), "item": item, "p": itemfacts.piece_of(item, shop)}
    context["remnants"] = [
        {name: request.POST.get(f"{name}{i}", "") for name in ("length", "width", "name")} | {"i": i} for i in range(REMNANTS)
    ]
    context["length_unit"] = own("m")
    context["map"] = itemfacts.roll_map(context["p"]) if context["p"] is not None else None
    context |= instead(shop, item, answer, wanted(item, form), one_piece=True)
    return deed_page(request, "inventory/cut.html", "cut_kit", form, answer, context, kit_url(answer, item))


def wanted(item: Item, form: forms.Form) -> int | None:
    """How much was asked for, to offer a piece that has it."""
    try:
        return resolve.amount(item, said_in(form.data.get("taken", ""), "m")) if form.is_bound else None
    except BadInput:
        return None


def kit_url(answer: Answer, item: Item) -> str:
    """The new kit's page: its label is what comes next."""
    code = answer.outcome.data["items"]["kit"] if answer.outcome is not None else ""
    return reverse("item", args=[code]) if code else item_url(item)


class AmountForm(forms.Form):
    """What is there, in one of three ways."""

    quantity = _text(say("Measured"), False, say("What is really there, with its unit."), **_DECIMAL)
    gross = _measure("kg", say("Gross mass"), False, say("With the core or the can."))
    core = _measure("kg", say("Core or can"), False, say("Empty: as recorded when it came."))
    diameter = _measure("mm", say("Outer diameter"))
    core_diameter = _measure("mm", say("Core diameter"))


class CountForm(AmountForm):
    claim = forms.BooleanField(required=False, label=say("It came short: claim it from the supplier"))


@page
@deed
def count(request: HttpRequest, code: str) -> HttpResponse:
    """What is really there: by measure, by weight less the core, or by diameter (R4)."""
    item = found(request, code)
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form, answer = CountForm(request.POST if request.method == "POST" else None), Answer()
    if request.method == "POST":
        answer = attempt(request, "count", form, lambda: Count(item=item.code, **form.cleaned_data))
    p = itemfacts.piece_of(item, shop)
    by_weight = item.unit != "pc"
    context = {
        "title": say("Count {item}", item=item),
        "item": item,
        "p": p,
        "by_weight": by_weight,
        "by_diameter": item.unit == "um" and bool(item.material and item.material.thickness_um),
        "book": display(p.state.qty, item.unit) if p is not None and p.state.qty >= 0 else "",
        "core_known": display(item.core_ug, "ug") if item.core_ug is not None else "",
    }
    return deed_page(request, "inventory/count.html", "count", form, answer, context, item_url(item))


class LeftoverForm(forms.Form):
    quantity = _text(say("How much"), False, say("Empty: all that is left."), **_DECIMAL)
    cause = _text(say("Why"), True, initial=say("left over in the pot"))


@page
@deed
def leftover(request: HttpRequest, code: str) -> HttpResponse:
    """What is left in a pot is scrapped by quantity, with the caution that it may be hot (R20)."""
    item = found(request, code)
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form, answer = (
        LeftoverForm(request.POST if request.method == "POST" else None, initial={"cause": say("left over in the pot")}),
        Answer(),
    )
    if request.method == "POST":
        answer = attempt(request, "scrap", form, lambda: Scrap(item.code, form.cleaned_data["cause"], form.cleaned_data["quantity"]))
    context = {
        "title": say("Scrap what is left of {item}", item=item),
        "item": item,
        "p": itemfacts.piece_of(item, shop),
        "caution": leftover_caution(item),
    }
    return deed_page(request, "inventory/leftover.html", "scrap", form, answer, context, item_url(item))
