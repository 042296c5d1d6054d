"""/recipes/: the resin systems; one of them with all that is known of it, and a look before mixing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from inventory.core.gel_update import COVERED, Factor
from inventory.core.kinetic_text import set_of
from inventory.core.mixing import WORDS, celsius
from inventory.core.numerals import plain
from inventory.core.reasons import BadInput
from inventory.core.spans import duration
from inventory.core.stoichiometry import dose
from inventory.core.units import display
from inventory.models import Kinetics, Recipe
from inventory.reads import forecasts
from inventory.reads.gels import NEWEST, Lesson
from inventory.reads.recipes import RecipeView, Version, range_words, recipe_view, recipes
from inventory.templatetags import words
from inventory.templatetags.tables import Column
from inventory.worksheets.registry import Chart, Series

from . import charts, looking
from .door import Shop, page
from .looking import VesselForm
from .ways import item_url, may, to

LIST = (
    Column("Recipe"),
    Column("Name", wide=True),
    Column("Resin"),
    Column("With"),
    Column("Ratio by mass", num=True),
    Column("Pot life", wide=True),
    Column("Kinetics"),
)
POINTS = (Column("Temperature", num=True, lead=True), Column("Dose", num=True), Column("Gel", num=True), Column("From"))
LESSONS = (
    Column("Pot"),
    Column("Gelled", wide=True),
    Column("After", num=True),
    Column("Predicted", num=True),
    Column("Believed", num=True),
    Column("Factor then", num=True),
)
GEL_WORDS = {"sheet": ", its rate fitted to the data sheet's pot life", "viscosity": ", or too thick to work if sooner"}
TESTED_UG = 1_000_000_000  # a kilogram, for which doses are shown
METHOD = (
    "Each gel is compared with what the system as it stands would have said of that pot. The ratios scatter about the system's own by "
    "Student's t with four degrees of freedom, so that one pot that was mis-weighed stands apart and hardly counts. "
    f"The interval covers {COVERED:.0%} of what is known. The newest {NEWEST} gels count; a voided gel does not."
)


class LookForm(VesselForm):
    resin = forms.CharField(max_length=40, label="Resin", widget=forms.TextInput({"inputmode": "decimal"}))
    hardener = forms.CharField(
        required=False, max_length=40, label="Hardener", help_text="Empty: the target.", widget=forms.TextInput({"inputmode": "decimal"})
    )
    others = forms.CharField(required=False, max_length=40, label="Fillers and the rest", widget=forms.TextInput({"inputmode": "decimal"}))
    temperature = forms.CharField(max_length=20, label="Resin and room", widget=forms.TextInput({"inputmode": "decimal"}))
    field_order = ("resin", "hardener", "others", "temperature", "vessel", "size")


@page
@require_safe
def recipe_list(request: HttpRequest) -> HttpResponse:
    rows = [listed(row) for row in recipes()]
    return render(request, "inventory/recipes.html", {"title": "Recipes", "columns": LIST, "rows": rows})


def listed(row: Recipe) -> list[object]:
    versions = [found.version for found in row.kinetics.all()]
    known = f"version {max(versions)}" if versions else "gel points" if row.gel_points.strip() else "none"
    ratio = f"{per(row.target_ppm)} ({per(row.low_ppm)} to {per(row.high_ppm)}) {unit(row)}"
    link = words.code_link(row.code, to("recipe", row.code))
    return [link, row.name, material(row.resin.code), material(row.hardener.code), ratio, sheet_words(row), known]


@page
@require_safe
def recipe(request: HttpRequest, code: str) -> HttpResponse:
    """GET resin, hardener, others, temperature, vessel, size: a look before mixing."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    try:
        view = recipe_view(shop.site, code)
    except Recipe.DoesNotExist:
        raise Http404 from None
    form = LookForm(request.GET if "resin" in request.GET else None)
    form.fields["hardener"].label = WORDS[view.limits.kind].capitalize()
    look = looked(form, view, shop)
    context = {
        "title": f"{view.recipe.code} {view.recipe.name}",
        "view": view,
        "recipe": view.recipe,
        "form": form,
        "facts": facts(view),
        "time": times(view.recipe),
        "doubts": [doubt.text for doubt in view.groups.doubts] if view.groups else [],
        "points": [point_row(p.temp_mc, p.dose_ppm, p.low_us, p.high_us, p.source or "the recipe") for p in view.points],
        "points_columns": POINTS,
        "points_drawn": gel_chart(view),
        "versions": [version_facts(v) for v in view.versions],
        "lessons": [lesson_row(lesson, shop) for lesson in reversed(view.system.taught.lessons)],
        "lessons_columns": LESSONS,
        "apart": [(str(lesson.gel.item), lesson.apart) for lesson in view.system.taught.lessons if lesson.apart],
        "now": now_words(view),
        "method": METHOD,
        "trouble": view.system.trouble,
        "may": may(shop, "mix"),
        **looking.shown(look),
    }
    return render(request, "inventory/recipe.html", context, status=422 if form.is_bound and form.errors else 200)


def looked(form: LookForm, view: RecipeView, shop: Shop) -> forecasts.Look | None:
    if not form.is_bound or not form.is_valid():
        return None
    try:
        return forecasts.look(view.system, forecasts.asked(view.recipe, **form.cleaned_data, at_us=shop.now_us))
    except BadInput as bad:
        form.add_error(bad.where if bad.where in form.fields else None, bad.reason.text)
        return None


# --- words ---------------------------------------------------------------------------------------


def per(ppm: int) -> str:
    return f"{ppm / 10_000:.4g}"


def unit(row: Recipe) -> str:
    return "%" if row.kind == "peroxide" else "per 100"


def material(code: str) -> SafeString:
    return words.code_link(code, to("material", code))


def sheet_words(row: Recipe) -> str:
    if row.pot_us and row.pot_mass_ug and row.pot_temp_mc is not None:
        return f"{duration(row.pot_us)} for {display(row.pot_mass_ug, 'ug')} at {celsius(row.pot_temp_mc)}"
    return "by gel points" if row.gel_points.strip() else ""


def facts(view: RecipeView) -> list[tuple[str, Any]]:
    """Resin, ratio by weight and by volume, order, bounds."""
    row, limits = view.recipe, view.limits
    kind = unit(row)
    found: list[tuple[str, Any]] = [
        ("Resin", row.resin),
        ("With", row.hardener),
        ("By mass, low – target – high", f"{per(row.low_ppm)} – {per(row.target_ppm)} – {per(row.high_ppm)} {kind}"),
    ]
    if view.volume_ppm:
        found.append(("By volume, low – target – high", f"{' – '.join(per(ppm) for ppm in view.volume_ppm)} {kind}"))
    else:
        found.append(("By volume", f"not known: no density of {' and '.join(view.no_volume)}"))
    found.append(("Into 1 kg of resin", weigh_words(view)))
    if limits.bound_ppm:
        found.append(("Never over", f"{per(limits.bound_ppm)} {kind}"))
    found.append(("In this order", " → ".join(order(view))))
    lowest, highest = row.min_temp_mc, row.max_temp_mc
    found += [("Not below", celsius(lowest))] if lowest is not None else []
    found += [("Not above", celsius(highest))] if highest is not None else []
    return [*found, *balance(view)]


def weigh_words(view: RecipeView) -> str:
    found = dose(view.limits, TESTED_UG)
    low, target, high = (plain_grams(ug) for ug in (found.low_ug, found.target_ug, found.high_ug))
    return f"{target} g ({low} to {high})"


def plain_grams(ug: int) -> str:
    return f"{ug / 1e6:.4g}"


def order(view: RecipeView) -> list[str]:
    """The components as they go in, additives with their most."""
    between = [f"{a.material.code} (at most {per(a.max_ppm)} %)" for a in view.additives]
    return [view.recipe.resin.code, *between, view.recipe.hardener.code]


def balance(view: RecipeView) -> list[tuple[str, str]]:
    groups = view.groups
    if groups is None:
        return []
    said = f"{per(groups.computed_ppm)} phr by EEW {plain(groups.eew, 1)} and AHEW {plain(groups.ahew, 1)} g/mol"
    return [("Equivalent weights give", said), ("Hydrogens per epoxide", plain(groups.balance, 2))]


def times(row: Recipe) -> list[tuple[str, str]]:
    """What the data sheet says of time, with what belongs to each figure."""
    found = []
    if words_ := sheet_words(row):
        found.append(("Pot life", words_ + (f" ({row.pot_method})" if row.pot_method else "")))
    if row.ready_us is not None:
        found.append(("Ready after", duration(row.ready_us)))
    if row.open_us and row.open_temp_mc is not None:
        found.append(("Open time on the laminate", f"{duration(row.open_us)} at {celsius(row.open_temp_mc)}"))
    return found


def point_row(temp_mc: int, dose_ppm: int, low_us: int, high_us: int, source: str) -> list[object]:
    return [celsius(temp_mc), f"{per(dose_ppm)} %", forecasts.span(low_us, high_us), source]


def gel_chart(view: RecipeView) -> SafeString | None:
    """Minutes over temperature, a line for each dose that has more than one point."""
    doses = sorted({p.dose_ppm for p in view.points})
    series = [Series(f"{per(d)} %", tuple((p.temp_mc / 1000, p.high_us / 60e6) for p in view.points if p.dose_ppm == d)) for d in doses]
    lines = tuple(s for s in series if len(s.points) > 1)[:4]
    return charts.svg(Chart("Gel points", "line", "°C", "minutes to gel", lines, "")) if lines else None


def version_facts(found: Version) -> dict[str, Any]:
    """One version as a heading with rows."""
    row, read = found.row, found.known
    rows: list[tuple[str, str]] = [("Source", row.source)]
    if read is None:
        return {"version": row.version, "name": row.name, "rows": [*rows, ("Cannot be read", found.why)]}
    rows += [
        ("Fitted", range_words(read)),
        ("Law", law_words(row)),
        ("Heat of reaction", f"{row.heat_j_kg / 1000:g} kJ/kg" if row.heat_j_kg else "not known: no peak temperature is told"),
        ("Gels", f"at {row.gel_ppm / 10_000:g} % conversion" + GEL_WORDS.get(row.gel_by, "")),
        ("Glass temperature", f"{celsius(read.glass.tg0_mc)} uncured to {celsius(read.glass.tg1_mc)} cured" if read.glass else "not known"),
    ]
    return {"version": row.version, "name": row.name, "rows": [*rows, *([("Note", row.note)] if row.note else [])]}


def law_words(row: Kinetics) -> str:
    """The form, and the constants by their names: "nth order: a 10000, e 60000, n 1.5"."""
    named = set_of(row.form, row.constants)
    if named:
        return f"the published set “{named}”"
    return f"{row.form}: {row.constants.strip()[1:-1]}".translate({ord('"'): None, ord("{"): "(", ord("}"): ")"})


def lesson_row(lesson: Lesson, shop: Shop) -> list[object]:
    gel, after = lesson.gel, lesson.after
    return [
        words.code_link(str(gel.item), item_url(gel.item)),
        words.code_link(words.instant(gel.happened_us, shop.zone, shop.now_us, "near"), reverse("record", args=[gel.act])),
        duration(gel.observed_us),
        duration(lesson.predicted_us) if lesson.predicted_us else "",
        f"{lesson.weight_ppm / 10_000:.0f} %" if lesson.weight_ppm is not None else "left out",
        factor_words(after) if after is not None else "",
    ]


def factor_words(found: Factor) -> str:
    return f"{found.factor_ppm / 1e6:.2f} ({found.low_ppm / 1e6:.2f} to {found.high_ppm / 1e6:.2f})"


def now_words(view: RecipeView) -> str:
    """What its gels say of it now, in one sentence."""
    taught = view.system.taught
    now = taught.known.now
    if not now.gels:
        return ""
    said = f"{now.gels} gel{'s' if now.gels > 1 else ''} say: {factor_words(now)} times as long as predicted"
    then = f"the next single pot {now.next_low_ppm / 1e6:.2f} to {now.next_high_ppm / 1e6:.2f} times"
    if view.system.core.kind == "peroxide":
        return f"{said}. A peroxide system takes no factor: these gels widen the range between its points."
    if view.system.known is None:
        return (
            f"{said}; {then}. Earlier gels bring the stop forward; later ones move only the high end, since a pot life ends before the gel."
        )
    return f"{said}; {then}. The rate of its kinetics follows."
