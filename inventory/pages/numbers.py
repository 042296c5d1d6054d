"""/numbers/: worksheets to try figures out. Nothing is recorded; the address carries the figures, so that it can be kept."""

from __future__ import annotations

import dataclasses
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.core.reasons import BadInput
from inventory.templatetags.tables import Column
from inventory.worksheets.registry import SECTIONS, WORKSHEETS, Sheet, Worksheet

from . import charts
from .door import page

MOST = 4096


@page
@require_safe
def numbers(request: HttpRequest) -> HttpResponse:
    grouped = [(section, [sheet for sheet in WORKSHEETS.values() if sheet.section == section]) for section in SECTIONS]
    return render(request, "inventory/numbers.html", {"title": "Numbers", "sections": [found for found in grouped if found[1]]})


@page
@require_safe
def worksheet(request: HttpRequest, name: str) -> HttpResponse:
    """GET with the worksheet's own figures; without any, those of its example."""
    found = WORKSHEETS.get(name)
    if found is None:
        raise Http404
    form = form_class(found)(request.GET or {f.name: f.default for f in dataclasses.fields(found.params) if isinstance(f.default, str)})
    sheet = None
    if form.is_valid():
        try:
            sheet = found.run(found.params(**form.cleaned_data))
        except BadInput as bad:
            form.add_error(bad.where if bad.where in form.fields else None, bad.reason.text)
    context = {
        "title": found.title,
        "worksheet": found,
        "form": form,
        **_groups(found, form),
        "example": not request.GET,
        **(shown(sheet) if sheet else {}),
    }
    return render(request, "inventory/worksheet.html", context, status=422 if form.errors else 200)


def _groups(found: Worksheet, form: forms.Form) -> dict[str, Any]:
    """What stands in the example, and what may be added; the latter stands open once something is in it."""
    first = {f.name for f in dataclasses.fields(found.params) if f.default != ""}
    more = [bound for bound in form if bound.name not in first]
    return {"needed": [b for b in form if b.name in first], "more": more, "open": any(b.value() or b.errors for b in more)}


def form_class(found: Worksheet) -> type[forms.Form]:
    """A field for each figure, its label with the unit that a bare number counts in."""
    fields: dict[str, forms.Field] = {}
    for f in dataclasses.fields(found.params):
        about = f.metadata
        label = about["label"] + (f", {about['usual']}" if about["usual"] else "")
        widget = forms.Textarea({"rows": about["rows"]}) if about["rows"] > 1 else forms.TextInput()
        needed = not about["optional"]
        fields[f.name] = forms.CharField(label=label, help_text=about["words"], required=needed, max_length=MOST, widget=widget)
    return type(f"{found.params.__name__}Form", (forms.Form,), fields)


def shown(sheet: Sheet) -> dict[str, Any]:
    """What the template draws."""
    return {
        "sheet": sheet,
        "charts": [(chart, charts.svg(chart)) for chart in sheet.charts],
        "tables": [
            (table.caption, [Column(c, lead=not n) for n, c in enumerate(table.columns)], [[cell(c) for c in row] for row in table.rows])
            for table in sheet.tables
        ],
    }


def cell(value: str | float | int) -> str:
    if isinstance(value, float):
        return f"{value:.6g}".replace("-", "−") if abs(value) > 1e-9 else "0"
    return str(value)
