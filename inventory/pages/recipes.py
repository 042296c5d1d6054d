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
from inventory.core.said import say, say_as, say_n, strung
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

from . import charts, looking, ownsheets
from .door import Shop, page
from .looking import VesselForm
from .measures import Measure
from .ways import item_url, may, to

LIST = (
    Column(say("Recipe")),
    Column(say("Name"), wide=True),
    Column(say("Resin")),
    Column(say("With")),
    Column(say("Ratio by mass"), num=True),
    Column(say("Pot life"), wide=True),
    Column(say("Kinetics")),
)
POINTS = (
    Column(say("Temperature"), num=True, lead=True),
    Column(say("Dose"), num=True),
    Column(say("Gel"), num=True),
    Column(say_as("a source", "From")),
)
LESSONS = (
    Column(say("Pot")),
    Column(say("Gelled"), wide=True),
    Column(say("After"), num=True),
    Column(say("Predicted"), num=True),
    Column(say("Believed"), num=True),
    Column(say("Factor then"), num=True),
)
GEL_WORDS = {"sheet": say(", its rate fitted to the data sheet's pot life"), "viscosity": say(", or too thick to work if sooner")}
TESTED_UG = 1_000_000_000  # a kilogram, for which doses are shown
METHOD = say(
    "Each gel is compared with what the system as it stands would have said of that pot. The ratios "
    "scatter about the system's own by Student's t with four degrees of freedom, so that one pot that "
    "was mis-weighed stands apart and hardly counts. The interval covers {covered} of what is known. The "
    "newest {newest} gels count; a voided gel does not.",
    covered=f"{COVERED:.0%}",
    newest=NEWEST,
)


class LookForm(VesselForm):
    resin = Measure(unit="g", max_length=40, label=say("Resin"), widget=forms.TextInput({"inputmode": "decimal"}))
    hardener = Measure(
        unit="g",
        required=False,
        max_length=40,
        label=say("Hardener"),
        help_text=say("Empty: the target."),
        widget=forms.TextInput({"inputmode": "decimal"}),
    )
    others = Measure(
        unit="g", required=False, max_length=40, label=say("Fillers and the rest"), widget=forms.TextInput({"inputmode": "decimal"})
    )
    temperature = Measure(unit="°C", max_length=20, label=say("Resin and room"), widget=forms.TextInput({"inputmode": "decimal"}))
    field_order = ("resin", "hardener", "others", "temperature", "vessel", "size")


@page
@require_safe
def recipe_list(request: HttpRequest) -> HttpResponse:
    rows = [listed(row) for row in recipes()]
    return render(request, "inventory/recipes.html", {"title": say("Recipes"), "columns": LIST, "rows": rows})


def listed(row: Recipe) -> list[object]:
    versions = [found.version for found in row.kinetics.all()]
    known = say("version {versions}", versions=max(versions)) if versions else say("gel points") if row.gel_points.strip() else say("none")
    ratio = say(
        "{per} ({per_2} to {per_3}) {unit}", per=per(row.target_ppm), per_2=per(row.low_ppm), per_3=per(row.high_ppm), unit=unit(row)
    )
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
        "title": say("{recipe} {recipe_2}", recipe=view.recipe.code, recipe_2=view.recipe.name),
        "view": view,
        "recipe": view.recipe,
        "form": form,
        "facts": facts(view),
        "time": times(view.recipe),
        "doubts": [doubt.text for doubt in view.groups.doubts] if view.groups else [],
        "points": [point_row(p.temp_mc, p.dose_ppm, p.low_us, p.high_us, p.source or say("the recipe")) for p in view.points],
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
    return "%" if row.kind == "peroxide" else say("per 100")


def material(code: str) -> SafeString:
    return words.code_link(code, to("material", code))


def sheet_words(row: Recipe) -> str:
    if row.pot_us and row.pot_mass_ug and row.pot_temp_mc is not None:
        return say(
            "{pot} for {pot_mass} at {celsius}",
            pot=duration(row.pot_us),
            pot_mass=display(row.pot_mass_ug, "ug"),
            celsius=celsius(row.pot_temp_mc),
        )
    return say("by gel points") if row.gel_points.strip() else ""


def facts(view: RecipeView) -> list[tuple[str, Any]]:
    """Resin, ratio by weight and by volume, order, bounds."""
    row, limits = view.recipe, view.limits
    kind = unit(row)
    found: list[tuple[str, Any]] = [
        (say("Resin"), row.resin),
        (say("With"), row.hardener),
        (
            say("By mass, low – target – high"),
            say("{per} – {per_2} – {per_3} {kind}", per=per(row.low_ppm), per_2=per(row.target_ppm), per_3=per(row.high_ppm), kind=kind),
        ),
    ]
    if view.volume_ppm:
        found.append(
            (
                say("By volume, low – target – high"),
                say("{per} {kind}", per=strung(" – ", (per(ppm) for ppm in view.volume_ppm)), kind=kind),
            )
        )
    else:
        found.append((say("By volume"), say("not known: no density of {no_volume}", no_volume=strung(say(" and "), view.no_volume))))
    found.append((say("Into 1 kg of resin"), weigh_words(view)))
    if limits.bound_ppm:
        found.append((say("Never over"), say("{per} {kind}", per=per(limits.bound_ppm), kind=kind)))
    found.append((say("In this order"), " → ".join(order(view))))
    lowest, highest = row.min_temp_mc, row.max_temp_mc
    found += [(say("Not below"), celsius(lowest))] if lowest is not None else []
    found += [(say("Not above"), celsius(highest))] if highest is not None else []
    return [*found, *balance(view)]


def weigh_words(view: RecipeView) -> str:
    found = dose(view.limits, TESTED_UG)
    low, target, high = (plain_grams(ug) for ug in (found.low_ug, found.target_ug, found.high_ug))
    return say("{target} g ({low} to {high})", target=target, low=low, high=high)


def plain_grams(ug: int) -> str:
    return f"{ug / 1e6:.4g}"


def order(view: RecipeView) -> list[str]:
    """The components as they go in, additives with their most."""
    between = [say("{material} (at most {per} %)", material=a.material.code, per=per(a.max_ppm)) for a in view.additives]
    return [view.recipe.resin.code, *between, view.recipe.hardener.code]


def balance(view: RecipeView) -> list[tuple[str, str]]:
    groups = view.groups
    if groups is None:
        return []
    said = say(
        "{per} phr by EEW {eew} and AHEW {ahew} g/mol", per=per(groups.computed_ppm), eew=plain(groups.eew, 1), ahew=plain(groups.ahew, 1)
    )
    return [(say("Equivalent weights give"), said), (say("Hydrogens per epoxide"), plain(groups.balance, 2))]


def times(row: Recipe) -> list[tuple[str, str]]:
    """What the data sheet says of time, with what belongs to each figure."""
    found = []
    if words_ := sheet_words(row):
        found.append((say("Pot life"), words_ + (say(" ({pot_method})", pot_method=row.pot_method) if row.pot_method else "")))
    if row.ready_us is not None:
        found.append((say("Ready after"), duration(row.ready_us)))
    if row.open_us and row.open_temp_mc is not None:
        found.append(
            (say("Open time on the laminate"), say("{open} at {celsius}", open=duration(row.open_us), celsius=celsius(row.open_temp_mc)))
        )
    return found


def point_row(temp_mc: int, dose_ppm: int, low_us: int, high_us: int, source: str) -> list[object]:
    return [celsius(temp_mc), say("{per} %", per=per(dose_ppm)), forecasts.span(low_us, high_us), source]


def gel_chart(view: RecipeView) -> SafeString | None:
    """Minutes over temperature, a line for each dose that has more than one point."""
    doses = sorted({p.dose_ppm for p in view.points})
    series = [
        Series(say("{per} %", per=per(d)), tuple((p.temp_mc / 1000, p.high_us / 60e6) for p in view.points if p.dose_ppm == d))
        for d in doses
    ]
    lines = tuple(s for s in series if len(s.points) > 1)[:4]
    return charts.svg(ownsheets.chart(Chart(say("Gel points"), "line", "°C", say("minutes to gel"), lines, ""))) if lines else None


def version_facts(found: Version) -> dict[str, Any]:
    """One version as a heading with rows."""
    row, read = found.row, found.known
    rows: list[tuple[str, str]] = [(say("Source"), row.source)]
    if read is None:
        return {"version": row.version, "name": row.name, "rows": [*rows, (say("Cannot be read"), found.why)]}
    rows += [
        (say("Fitted"), range_words(read)),
        (say("Law"), law_words(row)),
        (
            say("Heat of reaction"),
            say("{heat_j_kg} kJ/kg", heat_j_kg=f"{row.heat_j_kg / 1000:g}")
            if row.heat_j_kg
            else say("not known: no peak temperature is told"),
        ),
        (say("Gels"), say("at {gel} % conversion", gel=f"{row.gel_ppm / 10000:g}") + GEL_WORDS.get(row.gel_by, "")),
        (
            say("Glass temperature"),
            say("{celsius} uncured to {celsius_2} cured", celsius=celsius(read.glass.tg0_mc), celsius_2=celsius(read.glass.tg1_mc))
            if read.glass
            else say("not known"),
        ),
    ]
    return {"version": row.version, "name": row.name, "rows": [*rows, *([(say("Note"), row.note)] if row.note else [])]}


def law_words(row: Kinetics) -> str:
    """The form, and the constants by their names: "nth order: a 10000, e 60000, n 1.5"."""
    named = set_of(row.form, row.constants)
    if named:
        return say("the published set “{named}”", named=named)
    return say("{form}: {constants}", form=row.form, constants=row.constants.strip()[1:-1]).translate(
        {ord('"'): None, ord("{"): "(", ord("}"): ")"}
    )


def lesson_row(lesson: Lesson, shop: Shop) -> list[object]:
    gel, after = lesson.gel, lesson.after
    return [
        words.code_link(str(gel.item), item_url(gel.item)),
        words.code_link(words.instant(gel.happened_us, shop.zone, shop.now_us, "near"), reverse("record", args=[gel.act])),
        duration(gel.observed_us),
        duration(lesson.predicted_us) if lesson.predicted_us else "",
        say("{weight} %", weight=f"{lesson.weight_ppm / 10000:.0f}") if lesson.weight_ppm is not None else say("left out"),
        factor_words(after) if after is not None else "",
    ]


def factor_words(found: Factor) -> str:
    return say(
        "{factor} ({low} to {high})",
        factor=f"{found.factor_ppm / 1000000.0:.2f}",
        low=f"{found.low_ppm / 1000000.0:.2f}",
        high=f"{found.high_ppm / 1000000.0:.2f}",
    )


def now_words(view: RecipeView) -> str:
    """What its gels say of it now, in one sentence."""
    taught = view.system.taught
    now = taught.known.now
    if not now.gels:
        return ""
    said = say_n(
        "{n} gel say: {factor_words} times as long as predicted",
        "{n} gels say: {factor_words} times as long as predicted",
        now.gels,
        factor_words=factor_words(now),
    )
    then = say(
        "the next single pot {next_low} to {next_high} times",
        next_low=f"{now.next_low_ppm / 1000000.0:.2f}",
        next_high=f"{now.next_high_ppm / 1000000.0:.2f}",
    )
    if view.system.core.kind == "peroxide":
        return say("{said}. A peroxide system takes no factor: these gels widen the range between its points.", said=said)
    if view.system.known is None:
        return say(
            "{said}; {then}. Earlier gels bring the stop forward; later ones move only the high end, since a pot life ends before the gel.",
            said=said,
            then=then,
        )
    return say("{said}; {then}. The rate of its kinetics follows.", said=said, then=then)
