"""Mix: two scans and the scale. Each Enter sends the page round, and it asks for what is still missing; when all is there it mixes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from inventory.core import codes
from inventory.core.mixing import celsius
from inventory.core.numerals import plain
from inventory.core.places import FRESH_US
from inventory.core.reasons import BadInput, Refused
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.units import display, parse
from inventory.models import Item, ItemState, Location, Material, Reading, Recipe
from inventory.reads import forecasts, stock
from inventory.reads.forecasts import Look, asked
from inventory.reads.pots import bench_mc, pot_system
from inventory.reads.stock import Piece
from inventory.verbs import resolve
from inventory.verbs.mixing import Component, Mix, may_meet

from . import itemfacts, looking
from .deeds import attempt, instead, told
from .doing import late_form, status_of
from .door import Answer, Shop, call_of, page
from .looking import VesselForm
from .measures import Measure, own, said_in
from .ways import may

ROWS, MORE, MOST = 2, 2, 12
STEPS = (
    ("", say("scale not said")),
    ("1 g", say("reads 1 g")),
    ("0.1 g", say("reads 0.1 g")),
    ("0.01 g", say("reads 0.01 g")),
    ("10 g", say("reads 10 g")),
)
STEPS_OZ = (STEPS[0], *((f"{step} oz", say("reads {step} oz", step=step)) for step in ("0.1", "0.01", "0.001")), *STEPS[1:])
"""Where ounces are read. The step names its unit either way: a scale may read grams all the same."""
PLACE = "mix_place"
IF_ANY = say(", if any")


@dataclass(frozen=True, slots=True)
class Row:
    """One component of the form: what was scanned, what it is, what was weighed."""

    i: int
    code: str = ""
    mass: str = ""
    step: str = ""
    role: str = ""
    item: Item | None = None
    note: str = ""
    error: str = ""
    offer: str = ""
    offer_code: str = ""

    @property
    def whole(self) -> bool:
        return self.item is not None and bool(self.mass)

    @property
    def empty(self) -> bool:
        return not self.code and not self.mass


class MixForm(VesselForm):
    place = forms.ChoiceField(label=say("Where"))
    temperature = Measure(
        unit="°C",
        required=False,
        label=say("At the bench"),
        max_length=20,
        help_text=say("Empty: the newest reading of the place."),
        widget=forms.TextInput({"inputmode": "decimal"}),
    )
    mark = forms.CharField(required=False, label=say("Name of the pot"), max_length=40)
    minutes = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=100_000,
        label=say("Stop after, from a gel cup"),
        help_text=say("Only where nothing is known to estimate it from."),
    )

    field_order = ("place", "temperature", "vessel", "size", "mark", "minutes")

    def __init__(self, data: Any, shop: Shop, initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial)
        self.fields["place"].choices = places(shop)  # type: ignore[attr-defined]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def mix(request: HttpRequest) -> HttpResponse:
    """GET recipe, c (labels of components that were scanned elsewhere)."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    data = request.POST if request.method == "POST" else request.GET
    recipe = Recipe.objects.select_related("resin", "hardener").filter(code__iexact=data.get("recipe", "").replace("\x00", "")[:24]).first()
    typed = rows_typed(request)
    recipe = recipe or guessed([row.item for row in typed if row.item is not None])
    rows = offered(shop, recipe, typed)
    initial = {"place": request.session.get(PLACE, ""), "mark": next_mark(shop)}
    form, answer = MixForm(request.POST if request.method == "POST" else None, shop, initial), Answer()
    gap, look = first_gap(rows), None
    if request.method == "POST" and "look" in request.POST:
        look, gap = looked(shop, recipe, form, rows), gap or ("mass", 0)
    elif request.method == "POST" and gap is None and "more" not in request.POST:
        answer = attempt(request, "mix", form, lambda: said(form, recipe, rows))
        if answer.outcome is not None:
            request.session[PLACE] = form.cleaned_data["place"]
            told(request, answer.outcome)
            return redirect(reverse("item", args=[answer.outcome.data["items"]["mix"]]))
    elif request.method == "POST":
        answer, rows = met(request, rows)
        gap = first_gap(rows)
    title = say("Mix {recipe}", recipe=recipe.code) if recipe else say("Mix")
    context = {
        "title": (say("No – ") if answer.reasons else "") + title,
        "heading": title,
        "recipe": recipe,
        "facts": recipe_facts(recipe) if recipe else (),
        "recipes": Recipe.objects.order_by("code") if recipe is None else (),
        "rows": rows,
        "steps": STEPS if own("g") == "g" else STEPS_OZ,
        "mass_unit": own("g"),
        "focus": gap or ("mass", len(rows) - 1),
        **(barred(shop, rows, answer) if answer.reasons else {}),
        "form": form,
        "answer": answer,
        "late": late_form(request),
        "may": may(shop, "mix"),
        "n": len(rows),
        **looking.shown(look),
    }
    wrong = form.errors and (gap is None or "look" in request.POST)
    return render(request, "inventory/mix.html", context, status=status_of(answer, form) if answer.reasons or wrong else 200)


def barred(shop: Shop, rows: list[Row], answer: Answer) -> dict[str, Any]:
    """After a refusal: the first component that may not be used itself gets the focus, with the piece that would pass instead."""
    for row in rows:
        p = itemfacts.piece_of(row.item, shop) if row.item is not None else None
        if row.item is not None and p is not None and itemfacts.against_now(p, shop):
            return {"focus": ("code", row.i), **instead(shop, row.item, answer)}
    return {}


def met(request: HttpRequest, rows: list[Row]) -> tuple[Answer, list[Row]]:
    """Whether what was scanned so far may be in one pot. What may not is out of the form again: it is not in the pot either."""
    parts = tuple(Component(row.item.code, said_in(row.mass, "g"), row.step) for row in rows if row.item is not None)
    try:
        may_meet(call_of(request), Mix(parts, request.POST.get("place", "")[:24]))
    except Refused as refused:
        reasons = list(refused.reasons)
        return Answer(reasons=reasons), [Row(row.i) if str(row.item) == reasons[0].numbers["what"] else row for row in rows]
    return Answer(), rows


def looked(shop: Shop, recipe: Recipe | None, form: MixForm, rows: list[Row]) -> Look | None:
    """What the pot would do, from the masses that were typed so far; nothing is recorded. What is missing is said at its field."""
    if not form.is_valid():
        return None
    if recipe is None:
        form.add_error(None, say("Choose the recipe first, or scan the resin and what goes with it."))
        return None
    given = form.cleaned_data
    temperature = given["temperature"]
    if not temperature and (mc := bench_mc(Location.objects.get(site=shop.site, code=given["place"]), shop.now_us)) is not None:
        temperature = say("{mc} °C", mc=f"{mc / 1000:g}")
    try:
        resin, hardener, others = weighed(recipe, rows)
        batch = asked(recipe, resin, hardener, others, temperature, given["vessel"], given["size"], shop.now_us)
        return forecasts.look(pot_system(shop.site, recipe, shop.now_us), batch)
    except BadInput as bad:
        form.add_error(bad.where if bad.where in form.fields else None, bad.reason.text)
        return None


def weighed(recipe: Recipe, rows: list[Row]) -> tuple[str, str, str]:
    """Resin, hardener and the rest, in grams, by what each row is of. BadInput mix.no_resin."""
    sums: dict[str, int] = {"resin": 0, "hardener": 0, "others": 0}
    for row in rows:
        if not row.mass:
            continue
        material = row.item.material.code if row.item is not None and row.item.material else row.role.removesuffix(IF_ANY)
        part = {recipe.resin.code: "resin", recipe.hardener.code: "hardener"}.get(material, "others")
        sums[part] += parse(said_in(row.mass, "g"), None, "ug")
    if not sums["resin"]:
        raise BadInput("mix.no_resin", say("Type the mass of {resin} first: that is enough to look.", resin=recipe.resin.code))
    resin, hardener, others = (say("{fraction} g", fraction=plain(Fraction(ug, 1000000), 6)) if ug else "" for ug in sums.values())
    return resin, hardener, others


def rows_typed(request: HttpRequest) -> list[Row]:
    """The rows as they came, each label looked up."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if request.method != "POST":
        return [read_row(shop, Row(i, code)) for i, code in enumerate(request.GET.getlist("c")[:MOST])]
    size = request.POST.get("n", "")
    n = min(MOST, (int(size) if size.isdecimal() and len(size) < 4 else ROWS) + (MORE if "more" in request.POST else 0))

    def typed(name: str, i: int) -> str:
        return request.POST.get(f"{name}{i}", "").strip()[:4096]

    raw = [Row(i, typed("code", i), typed("mass", i), typed("step", i)) for i in range(n)]
    return [read_row(shop, row) for row in raw]


def read_row(shop: Shop, row: Row) -> Row:
    """What was scanned in a row."""
    if not row.code:
        return row
    scan = codes.normalise(row.code)
    item = resolve.find(shop.site, scan)
    if item is None:
        return replace(row, error=f"Nothing here has the label “{scan.text[:40]}”: scan it again.")
    left = ItemState.objects.filter(pk=item.pk).values_list("qty", flat=True).first() or 0
    what = item.material.code if item.material else item.get_kind_display()
    return replace(row, item=item, code=str(item), note=say("{what}, {left} left", what=what, left=display(max(left, 0), item.unit)))


def guessed(items: list[Item]) -> Recipe | None:
    """The only recipe that has what was scanned."""
    materials = {i.material_id for i in items}
    if len(materials) < 2:
        return None
    found = list(Recipe.objects.select_related("resin", "hardener").filter(resin__in=materials, hardener__in=materials)[:2])
    return found[0] if len(found) == 1 else None


def offered(shop: Shop, recipe: Recipe | None, typed: list[Row]) -> list[Row]:
    """Rows in the recipe's order, each with the piece to fetch for it; without a recipe just enough rows. What was scanned
    keeps the order in which it was: the order is judged."""
    if recipe is None:
        return [*typed, *(Row(i) for i in range(len(typed), ROWS))]
    additives = [a.material for a in recipe.additives.select_related("material").order_by("place", "pk")]
    wanted = [recipe.resin, *additives, recipe.hardener]
    if len(typed) < len(wanted):
        typed = spread(wanted, typed)
    scanned = {row.item.material_id for row in typed if row.item is not None}
    missing = [m for m in wanted if m.pk not in scanned]
    out = []
    for row in typed:
        material = row.item.material if row.item is not None else missing.pop(0) if missing and not row.code else None
        needed = material in (recipe.resin, recipe.hardener)
        named = replace(row, role="further" if material is None else material.code + ("" if needed else IF_ANY))
        out.append(with_offer(shop, material, named) if needed and material is not None and not row.code else named)
    return out


def spread(wanted: list[Material], typed: list[Row]) -> list[Row]:
    """What was scanned so far, laid into the recipe's rows; what the recipe does not know stands behind them."""
    given = {row.item.material_id: row for row in typed if row.item is not None}
    rows = [replace(given.pop(m.pk, Row(0)), i=i) for i, m in enumerate(wanted)]
    rest = [*given.values(), *(row for row in typed if row.item is None and not row.empty)]
    return rows + [replace(row, i=len(rows) + n) for n, row in enumerate(rest)]


def with_offer(shop: Shop, material: Material, row: Row) -> Row:
    """First expired, first out; what is open already goes before (the bay's open drum)."""
    choice = stock.choose(shop.site, shop.zone, shop.now_us, material, 1)
    pieces = [c.ref for c in choice.order if isinstance(c.ref, Piece)]
    if not pieces:
        return replace(row, note=say("No usable {material} here.", material=material.code))
    best = next((p for p in pieces if p.state.opened is not None), pieces[0])
    return replace(
        row,
        offer=say("{item}, {usable}, in {place}", item=best.item, usable=display(best.usable, best.item.unit), place=best.place),
        offer_code=str(best.item),
    )


def first_gap(rows: list[Row]) -> tuple[str, int] | None:
    """The first field that is still missing; None when every row that was begun is whole and there are two of them."""
    for row in rows:
        if row.error or (row.mass and row.item is None):
            return "code", row.i
        if row.item is not None and not row.mass:
            return "mass", row.i
        if row.empty and not row.role.endswith(IF_ANY) and row.role != "further":
            return "code", row.i
    return None if sum(row.whole for row in rows) >= ROWS else ("code", next((r.i for r in rows if r.empty), 0))


def said(form: MixForm, recipe: Recipe | None, rows: list[Row]) -> Mix:
    parts = tuple(Component(row.item.code, said_in(row.mass, "g"), row.step) for row in rows if row.item is not None)
    given = form.cleaned_data
    code = recipe.code if recipe is not None else ""
    vessel, size = given["vessel"], given["size"]
    return Mix(parts, given["place"], code, given["temperature"], given["mark"], minutes=given["minutes"], vessel=vessel, size=size)


def next_mark(shop: Shop) -> str:
    """M-1, M-2, …: one more than the newest pot's."""
    last = Item.objects.filter(site=shop.site, kind="mix", mark__startswith="M-").order_by("-pk").values_list("mark", flat=True).first()
    number = last[2:] if last else "0"
    return f"M-{int(number) + 1}" if number.isdecimal() and len(number) < 9 else ""


def places(shop: Shop) -> list[tuple[str, str]]:
    """Where mixing is done, each with its newest reading if it is fresh enough to judge by."""
    rows = list(
        Location.objects.filter(site=shop.site, retired_us__isnull=True, kind__in=("bay", "store", "oven")).order_by("kind", "code")
    )
    fresh: dict[int, int] = {}
    readings = Reading.objects.filter(location__in=[r.pk for r in rows], at_us__lte=shop.now_us, at_us__gt=shop.now_us - FRESH_US)
    for location, temp in readings.order_by("at_us").values_list("location_id", "temp_mc"):
        fresh[location] = temp
    return [
        (
            r.code,
            say("{code} {name}", code=r.code, name=r.name)
            + (say(" – {celsius} measured", celsius=celsius(fresh[r.pk])) if r.pk in fresh else ""),
        )
        for r in rows
    ]


def recipe_facts(recipe: Recipe) -> list[tuple[str, str]]:
    """What the recipe allows, as the data sheet gives it."""

    def per(ppm: int) -> str:
        return f"{ppm / 10_000:g}"

    unit = "%" if recipe.kind == "peroxide" else say("per 100")
    facts = [(say("Resin"), str(recipe.resin)), (say("With"), str(recipe.hardener))]
    facts.append(
        (
            say("Ratio by mass"),
            say(
                "{per} {unit} ({per_2} to {per_3})",
                per=per(recipe.target_ppm),
                unit=unit,
                per_2=per(recipe.low_ppm),
                per_3=per(recipe.high_ppm),
            ),
        )
    )
    if recipe.never_ppm:
        facts.append((say("Never over"), say("{per} {unit}", per=per(recipe.never_ppm), unit=unit)))
    if recipe.min_temp_mc is not None:
        facts.append((say("Not below"), celsius(recipe.min_temp_mc)))
    if recipe.pot_us and recipe.pot_mass_ug and recipe.pot_temp_mc is not None:
        facts.append(
            (
                say("Pot life"),
                say(
                    "{pot} for {pot_mass} at {celsius} (data sheet)",
                    pot=duration(recipe.pot_us),
                    pot_mass=display(recipe.pot_mass_ug, "ug"),
                    celsius=celsius(recipe.pot_temp_mc),
                ),
            )
        )
    additives = strung(
        ", ",
        (
            say("{material} up to {per} %", material=a.material.code, per=per(a.max_ppm))
            for a in recipe.additives.select_related("material")
        ),
    )
    return [*facts, (say("May hold"), additives)] if additives else facts
