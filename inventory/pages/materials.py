"""One material: its pieces in the order in which to fetch them, with why one is passed over; lots, orders, properties."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.core.lives import spoken
from inventory.core.picking import Passed
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.core.spans import limit_text
from inventory.core.temperature import display_celsius
from inventory.core.units import display, to_stock, usual_unit
from inventory.models import CertLimit, Delivery, LifeLimit, LifeSpec, Lot, Material, Recipe
from inventory.properties import props_of
from inventory.reads import stock
from inventory.reads.stock import Piece
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column

from . import itemfacts
from .door import Shop, page
from .sheets import csv_response
from .ways import item_link, item_url, joined, to

ORDER = (
    Column(say("Piece")),
    Column(say("Usable"), num=True),
    Column(say("In one piece"), num=True),
    Column(say("Where")),
    Column(say("Ends")),
    Column(say("State"), wide=True),
)
LOTS = (Column(say("Lot")), Column(say("Supplier")), Column(say("Made")), Column(say("Pieces"), num=True))


class WantForm(forms.Form):
    """How much is wanted, and whether in one piece."""

    amount = forms.CharField(required=False, max_length=40, label=say("How much"), widget=forms.TextInput({"inputmode": "decimal"}))
    one_piece = forms.BooleanField(required=False, label=say("in one piece"))


@page
@require_safe
def material(request: HttpRequest, code: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = get_object_or_404(Material.objects.select_related("supplier"), code__iexact=code)
    form = WantForm(request.GET if "amount" in request.GET else None)
    amount, one_piece = asked(form, row)
    choice = stock.choose(shop.site, shop.zone, shop.now_us, row, amount or 1, one_piece=one_piece)
    fit = [c.ref for c in choice.order if isinstance(c.ref, Piece)]
    if request.GET.get("format") == "csv":
        return sheet(row, fit, [*choice.passed_over, *choice.unfit])
    context = {
        "title": say("{code} {name}", code=row.code, name=row.name),
        "material": row,
        "form": form,
        "unit": usual_unit(row.unit),
        "columns": ORDER,
        "rows": [piece_row(p, shop) for p in fit],
        "first": fit[0] if fit else None,
        "first_url": item_url(fit[0].item) if fit else "",
        "passed": [passed_row(p) for p in choice.passed_over],
        "unfit": [passed_row(p) for p in choice.unfit],
        "lots_columns": LOTS,
        "lots": lots(row, shop),
        "facts": facts(row),
        "limits": limits(row),
        "required": CertLimit.objects.filter(material=row).order_by("pk"),
        "orders": orders(row, shop),
        "systems": systems(row),
    }
    return render(request, "inventory/material.html", context)


def systems(row: Material) -> list[tuple[str, str]]:
    """The recipes that it goes into, each with its address."""
    asked = Q(resin=row) | Q(hardener=row) | Q(additives__material=row)
    found = Recipe.objects.filter(asked).distinct().order_by("code").values_list("code", "name")
    return [(say("{code} {name}", code=code, name=name), to("recipe", code)) for code, name in found[:50]]


def asked(form: WantForm, row: Material) -> tuple[int | None, bool]:
    """The amount that was typed, in base units; what cannot be read is said at its field."""
    if not form.is_bound or not form.is_valid() or not form.cleaned_data["amount"].strip():
        return None, bool(form.is_bound and form.cleaned_data.get("one_piece"))
    try:
        return to_stock(form.cleaned_data["amount"], None, props_of(row, row.unit)).value, form.cleaned_data["one_piece"]
    except BadInput as bad:
        form.add_error("amount", bad.reason.text)
        return None, False


def piece_row(p: Piece, shop: Shop) -> list[Any]:
    state = joined(shapes.chip(s) for s in itemfacts.statuses(p, shop.now_us))
    ends = itemfacts.ends_words(p, shop)
    longest = words.qty(p.longest, p.item.unit) if p.marks else ""
    return [item_link(p.item), words.qty(p.usable, p.item.unit), longest, p.place, ends, state]


def passed_row(passed: Passed) -> dict[str, Any]:
    ref = passed.candidate.ref
    assert isinstance(ref, Piece)
    return {"item": item_link(ref.item), "qty": words.qty(ref.usable, ref.item.unit), "place": ref.place, "reasons": passed.reasons}


def lots(row: Material, shop: Shop) -> list[list[Any]]:
    """The newest lots with how many pieces came of each."""
    from django.db.models import Count

    found = Lot.objects.filter(material=row, item__site=shop.site).select_related("item", "supplier").annotate(n=Count("item__pieces"))
    return [
        [words.code_link(r.number, item_url(r.item)), str(r.supplier), words.instant(r.made_us, shop.zone, shop.now_us, "day"), r.n]
        for r in found.order_by("-pk")[:50]
    ]


def orders(row: Material, shop: Shop) -> list[Delivery]:
    """What is on order of it, the earliest first."""
    found = Delivery.objects.filter(site=shop.site, material=row, arrived_us__isnull=True, cancelled_us__isnull=True)
    return list(found.order_by("due_on", "pk")[:20])


def limits(row: Material) -> list[str]:
    """The life limits in words, of the newest version of the specification."""
    spec = LifeSpec.objects.filter(material=row).order_by("-version").first()
    return [limit_words(limit) for limit in LifeLimit.objects.filter(spec=spec).order_by("name")] if spec is not None else []


FROM = {"calendar": say("manufacture"), "received": say("receipt"), "opened": say("opening")}
OTHER = {"printed": say("the printed date"), "fraction": say("by fractions at each storage temperature")}


def limit_words(limit: LifeLimit) -> str:
    """One limit as the specification states it."""
    if limit.clock in FROM:
        how = say(
            "{months} from {from_}",
            months=say("{months} months", months=limit.months) if limit.months else limit_text(limit.limit_us or 0),
            from_=FROM[limit.clock],
        )
    elif limit.clock in ("cycles", "heats"):
        how = say("at most {limit_n}", limit_n=limit.limit_n)
    else:
        how = OTHER.get(limit.clock) or limit_text(limit.limit_us or 0)
    above = (
        say(" above {threshold}", threshold=display_celsius(limit.threshold_mc))
        if limit.clock == "above" and limit.threshold_mc is not None
        else ""
    )
    return say(
        "{limit}: {how}{above}, judged {get_checkpoint_display}.",
        limit=spoken(limit.name, first=True),
        how=how,
        above=above,
        get_checkpoint_display=limit.get_checkpoint_display(),
    )


def facts(row: Material) -> list[tuple[str, Any]]:
    """What is known of it, only what is."""
    found: list[tuple[str, Any]] = [
        (say("Kind"), row.get_kind_display()),
        (say("Usual supplier"), str(row.supplier) if row.supplier else ""),
    ]
    found += [
        (say("Width"), say("{width} mm", width=f"{row.width_um / 1000:g}") if row.width_um else ""),
        (say("Usable width"), say("{usable_width} mm", usable_width=f"{row.usable_width_um / 1000:g}") if row.usable_width_um else ""),
    ]
    found += [
        (say("Areal weight"), say("{areal_mg_m2} g/m²", areal_mg_m2=f"{row.areal_mg_m2 / 1000:g}") if row.areal_mg_m2 else ""),
        ("EEW", say("{eew_mg_mol} g/mol", eew_mg_mol=f"{row.eew_mg_mol / 1000:g}") if row.eew_mg_mol else ""),
        ("AHEW", say("{ahew_mg_mol} g/mol", ahew_mg_mol=f"{row.ahew_mg_mol / 1000:g}") if row.ahew_mg_mol else ""),
        (say("Linear density"), say("{tex_ug_m} tex", tex_ug_m=f"{row.tex_ug_m / 1000:g}") if row.tex_ug_m else ""),
        (say("Threads"), threads(row)),
    ]
    found += [
        (say("Hazard"), row.hazard),
        (say("Keep"), keep_words(row)),
        (say("Thaw, whole"), limit_text(row.thaw_roll_us) if row.thaw_roll_us else ""),
    ]
    found += [
        (say("Thaw, cut"), limit_text(row.thaw_piece_us) if row.thaw_piece_us else ""),
        (say("Goes with"), ", ".join(row.suits.split())),
        (say("Traced"), row.get_grade_display()),
    ]
    found += [(say("Reorder at"), display(row.reorder_at, row.unit) if row.reorder_at else ""), (say("Notes"), row.notes)]
    return [(name, value) for name, value in found if value]


def threads(row: Material) -> str:
    """What certificates are checked against, in a line."""
    said = [
        say("{filaments} filaments", filaments=row.filaments) if row.filaments else "",
        say("{filament_nm} µm", filament_nm=f"{row.filament_nm / 1000:g}") if row.filament_nm else "",
    ]
    said += [say("fibre {fibre_mg_cm3} g/cm³", fibre_mg_cm3=f"{row.fibre_mg_cm3 / 1000:g}") if row.fibre_mg_cm3 else ""]
    counts = [f"{count / 100:g}" for count in (row.ends_per_m, row.picks_per_m) if count]
    return ", ".join([text for text in said if text] + ([f"{' × '.join(counts)} /cm"] if counts else []))


def keep_words(row: Material) -> str:
    low, high = row.min_store_mc, row.max_store_mc
    if low is not None and high is not None:
        return say("{low} to {high}", low=display_celsius(low), high=display_celsius(high))
    return (
        say("above {low}", low=display_celsius(low))
        if low is not None
        else say("below {high}", high=display_celsius(high))
        if high is not None
        else ""
    )


def sheet(row: Material, fit: list[Piece], unfit: list[Passed]) -> HttpResponse:
    lines: list[list[object]] = [[str(p.item), display(p.usable, p.item.unit), p.place, "fit", ""] for p in fit]
    for passed in unfit:
        ref = passed.candidate.ref
        assert isinstance(ref, Piece)
        lines.append(
            [
                str(ref.item),
                display(ref.usable, ref.item.unit),
                ref.place,
                say("passed over"),
                strung(" ", (r.text for r in passed.reasons)),
            ]
        )
    return csv_response(f"stock-{row.code}", ["piece", "usable", "place", "verdict", "reasons"], lines)
