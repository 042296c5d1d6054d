"""/layup/: a layup that is only tried. The address carries what was typed, so that it can be kept."""

from __future__ import annotations

import dataclasses

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.core.reasons import BadInput
from inventory.pages.door import Shop, page
from inventory.pages.numbers import form_class, shown
from inventory.pages.verbforms import instant_of
from layups.core.notation import Layer
from layups.reads.trying import TRIAL, Trial, Tried, tried

from .demand import cure_field, list_context
from .designs import MOST_STRIPS, picture


class TrialForm(form_class(TRIAL)):  # type: ignore[misc]
    """The trial's fields; the cure as a local time."""

    cure = cure_field()


@page
@require_safe
def layup(request: HttpRequest) -> HttpResponse:
    """GET with what is typed; without anything, the empty form."""
    form = TrialForm({"parts": "1", **request.GET.dict()}) if request.GET.get("layup") is not None else TrialForm(initial={"parts": "1"})
    found = answered(form, request.shop) if form.is_bound and form.is_valid() else None  # type: ignore[attr-defined]
    first = [form[name] for name in ("layup", "material", "mat", "core", "names")]
    context = {
        "title": TRIAL.title,
        "about": TRIAL.about,
        "form": form,
        "first": first,
        "second": [bound for bound in form if bound.name not in {field.name for field in first}],
        **({**shown(found.sheet), "tried": found, "strips": strips(found.layers)} if found else {}),
        **(list_context(found.shopping) if found and found.shopping else {}),
    }
    return render(request, "layups/try.html", context, status=422 if form.is_bound and form.errors else 200)


def answered(form: forms.Form, shop: Shop) -> Tried | None:
    """What is not understood stands beside its field."""
    typed = {f.name: form.cleaned_data[f.name] for f in dataclasses.fields(Trial) if f.name != "cure"}
    try:
        at = form.cleaned_data["cure"]
        cure_us = None if at is None else instant_of(at, shop.zone)
        return tried(Trial(**typed), shop.site, shop.zone, shop.now_us, cure_us)
    except BadInput as bad:
        where = {"time": "cure"}.get(bad.where, bad.where)
        form.add_error(where if where in form.fields else None, bad.reason.text)
        return None


def strips(layers: tuple[Layer, ...]) -> object:
    return picture(layers) if len(layers) <= MOST_STRIPS else ""
