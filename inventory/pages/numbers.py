"""/numbers/: worksheets to try figures out. Nothing is recorded; the address carries the figures, so that it can be kept."""

from __future__ import annotations

import dataclasses
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.core.codewords import word
from inventory.core.ownunits import INSTEAD, number_of, text_of
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.table import decode
from inventory.readers import system
from inventory.templatetags.tables import Column
from inventory.worksheets.registry import MOST, SECTIONS, WORKSHEETS, Sheet, Table, Worksheet

from . import charts, ownsheets
from .door import page
from .measures import Measure, own

WHOSE = "in_units"
"""The name under which the address says whose units its bare numbers are in; metric where it does not."""
FILE = "_file"
"""What the name of a file's field ends in."""


@page
@require_safe
def numbers(request: HttpRequest) -> HttpResponse:
    grouped = [(section, [sheet for sheet in WORKSHEETS.values() if sheet.section == section]) for section in SECTIONS]
    return render(request, "inventory/numbers.html", {"title": say("Numbers"), "sections": [found for found in grouped if found[1]]})


@page
@require_http_methods(["GET", "HEAD", "POST"])
def worksheet(request: HttpRequest, name: str) -> HttpResponse:
    """GET with the worksheet's own figures; without any, those of its example. POST: the same, with a file in the place of a figure
    that may be long."""
    found = WORKSHEETS.get(name)
    if found is None:
        raise Http404
    said = request.POST if request.method == "POST" else request.GET
    example = {f.name: _own_example(f) for f in dataclasses.fields(found.params) if isinstance(f.default, str)}
    form = form_class(found)(_whose(found, said) if said else example, request.FILES if request.method == "POST" else None)
    sheet = None
    if form.is_valid():
        try:
            sheet = found.run(found.params(**figures_of(form)))
        except BadInput as bad:
            form.add_error(bad.where if bad.where in form.fields else None, bad.reason.text)
    context = {
        "title": found.title,
        "worksheet": found,
        "form": form,
        **_groups(found, form),
        "example": not said,
        "whose": system(),
        "by_file": any(bound.name.endswith(FILE) for bound in form),
        **(shown(sheet) if sheet else {}),
    }
    return render(request, "inventory/worksheet.html", context, status=422 if form.errors else 200)


def _groups(found: Worksheet, form: forms.Form) -> dict[str, Any]:
    """What stands in the example, and what may be added; the latter stands open once something is in it."""
    first = {f.name for f in dataclasses.fields(found.params) if f.default != ""}
    first |= {f"{name}{FILE}" for name in first}
    more = [bound for bound in form if bound.name not in first]
    return {"needed": [b for b in form if b.name in first], "more": more, "open": any(b.value() or b.errors for b in more)}


class BesideLabel(Measure):
    """Its unit stands in the label."""

    @property
    def shown(self) -> str:
        return ""


def _measured(f: dataclasses.Field[Any]) -> bool:
    """One figure in a unit that some people read otherwise. Small tables name the units of their columns, the same for everybody; and
    what is written in powers of ten, a permeability in m², is read by everybody alike."""
    text = f.default.removesuffix(f.metadata["usual"]).strip() if isinstance(f.default, str) else ""
    return f.metadata["usual"] in INSTEAD and f.metadata["rows"] == 1 and (not text or number_of(text) is not None)


def _own_example(f: dataclasses.Field[Any]) -> str:
    """The figure of the example, in the units of whoever reads."""
    text, unit = str(f.default), f.metadata["usual"]
    number = number_of(text.removesuffix(unit).strip()) if _measured(f) and own(unit) != unit else None
    return text if number is None else f"{text_of(number, unit)} {own(unit)}"


def _whose(found: Worksheet, said: Any) -> dict[str, str]:
    """The figures of an address. It carries whose units its bare numbers are in; for a reader of others, each gets that unit."""
    typed = {name: said[name] for name in said}
    theirs = typed.get(WHOSE, "") == "us"
    if theirs == (system() == "us"):
        return typed
    for f in dataclasses.fields(found.params):
        unit, text = f.metadata["usual"], typed.get(f.name, "").strip()
        if _measured(f) and text[-1:].isdecimal():
            typed[f.name] = f"{text} {INSTEAD[unit] if theirs else unit}"
    return typed


def form_class(found: Worksheet) -> type[forms.Form]:
    """A field for each figure, its label with the unit that a bare number counts in."""
    fields: dict[str, forms.Field] = {}
    for f in dataclasses.fields(found.params):
        about = f.metadata
        unit = about["usual"]
        label = about["label"] + (say(", {usual}", usual=own(unit) if _measured(f) else unit) if unit else "")
        widget = forms.Textarea({"rows": about["rows"]}) if about["rows"] > 1 else forms.TextInput()
        long = about["most"] > MOST
        needed = not about["optional"] and not long
        common = {"label": label, "help_text": about["words"], "required": needed, "max_length": about["most"], "widget": widget}
        fields[f.name] = BesideLabel(unit=unit, **common) if _measured(f) else forms.CharField(**common)
        if long:
            words = say("In the place of what is typed above; at most {most} MB.", most=f"{about['most'] / 1000000.0:g}")
            fields[f"{f.name}{FILE}"] = forms.FileField(required=False, label=say("{label} as a file", label=label), help_text=words)
    return type(f"{found.params.__name__}Form", (forms.Form,), fields)


def figures_of(form: forms.Form) -> dict[str, str]:
    """What was typed, or what stands in the file that was chosen for it. BadInput worksheet.file_too_large, import.encoding."""
    figures = {name: value for name, value in form.cleaned_data.items() if not name.endswith(FILE)}
    for name in list(figures):
        file = form.cleaned_data.get(f"{name}{FILE}")
        if file is None:
            continue
        most = form.fields[name].max_length  # type: ignore[attr-defined]  # a text field
        if file.size > most:
            text = say(
                "The file is larger than {most} MB, which is the most that is read here: take a shorter time.", most=f"{most / 1000000.0:g}"
            )
            raise BadInput("worksheet.file_too_large", text, f"{name}{FILE}")
        with told_at(f"{name}{FILE}"):
            figures[name] = decode(file.read()).text
    return figures


def shown(sheet: Sheet) -> dict[str, Any]:
    """What the template draws."""
    return {
        "sheet": sheet,
        "charts": [(chart, charts.svg(chart)) for chart in map(ownsheets.chart, sheet.charts)],
        "tables": [_table(table) for table in sheet.tables],
    }


def _table(table: Table) -> tuple[str, list[Column], list[list[str]]]:
    heads, rows = ownsheets.table(table.columns, table.rows)
    return table.caption, [Column(c, lead=not n) for n, c in enumerate(heads)], [[cell(c) for c in row] for row in rows]


def cell(value: str | float | int) -> str:
    if isinstance(value, float):
        return f"{value:.6g}".replace("-", "−") if abs(value) > 1e-9 else "0"
    return word(value)
