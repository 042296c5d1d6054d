"""Many rows from a file: hand it in, look at what each row would become, then take all of it in, or nothing.

The file is kept as it came (it is evidence of what a supplier sent); the dry run and the run read it from there."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import attachments
from inventory.core.reasons import BadInput, Refused
from inventory.core.said import say, strung
from inventory.core.table import FIELDS
from inventory.imports import Mapping, Plan, plan_import, read_table, run_import
from inventory.verbs.registry import VERBS

from .deeds import told
from .door import Answer, Shop, call_of, page
from .ways import may, to

INTO = (("receive", say("deliveries that come in")), ("open_stock", say("opening stock")))
DEFAULTS = ("delivery", "material", "supplier", "lot", "place")
WORDS = {name: name.replace("_", " ").capitalize() for name in FIELDS}


class FileForm(forms.Form):
    """The file, and what its rows are."""

    file = forms.FileField(label=say("The file"), help_text=say("CSV or XLSX, the first row is the heading; at most 2000 rows."))
    into = forms.ChoiceField(label=say("Its rows are"), choices=INTO)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def import_file(request: HttpRequest) -> HttpResponse:
    """GET file (its SHA-256), into, c<n> (the field of a column), d_<field> (what every row says). POST: hand in, or run."""
    if "file" in request.GET and request.method != "POST":
        return looked_at(request, request.GET)
    if request.method == "POST" and "sha" in request.POST:
        return looked_at(request, request.POST, run=True)
    shop: Shop = request.shop  # type: ignore[attr-defined]
    posted = request.method == "POST"
    form = FileForm(request.POST if posted else None, request.FILES if posted else None)
    if posted and form.is_valid():
        try:
            _authorised(shop)  # before the file is kept: who may not record it has no business leaving it here
            call = call_of(request)
            kept = attachments.keep(form.cleaned_data["file"].chunks(), form.cleaned_data["file"].name, call.who, call.now_us)
            return redirect(to("receive-import", file=kept.sha256, into=form.cleaned_data["into"]))
        except BadInput as bad:
            form.add_error("file", bad.reason.text)
    context = {"title": say("Many from a file"), "form": form, "may": may(shop, "receive_many"), "fields": FIELDS}
    return render(request, "inventory/import.html", context, status=422 if form.errors else 200)


def _authorised(shop: Shop) -> None:
    if not may(shop, "receive_many"):
        roles = strung(say(" or "), VERBS["receive_many"].roles)
        raise BadInput("role.not_allowed", say("Receiving is for {roles}.", roles=roles), "file")


def looked_at(request: HttpRequest, said: QueryDict, run: bool = False) -> HttpResponse:
    """The dry run: every row with every reason. `run`: record it, if nothing stands against it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    sha, into = said.get("sha" if run else "file", ""), into_of(said.get("into", ""))
    answer, plan, data = Answer(), None, b""
    try:
        file = attachments.stored(sha)
        data, call = attachments.path_of(file.sha256).read_bytes(), call_of(request)
        plan = plan_import(data, file.name, mapping_of(said), call, into)
        if run:
            _authorised(shop)
            told(request, run_import(plan, call))
            return redirect("receive")
    except BadInput as bad:
        answer = Answer(reasons=[bad.reason], where=bad.where, understood=False)
    except Refused as refused:
        answer = Answer(reasons=list(refused.reasons))
    except OSError:
        return redirect("receive-import")
    context = {
        "title": (say("No – ") if answer.reasons else "") + say("What the file says"),
        "heading": say("What the file says"),
        "sha": sha,
        "into": into,
        "into_words": dict(INTO)[into],
        "plan": plan,
        "answer": answer,
        "may": may(shop, "receive_many"),
        **(shown(plan, said) if plan is not None else headings(data, answer, said)),
    }
    status = 409 if answer.reasons and answer.understood else 422 if answer.reasons else 200
    return render(request, "inventory/import_plan.html", context, status=status)


def headings(data: bytes, answer: Answer, said: QueryDict) -> dict[str, Any]:
    """When columns were taken for the wrong things: the headings, to choose again."""
    if answer.where != "mapping" or not data:
        return {}
    head = read_table(data)[0][0].cells
    columns = [{"n": i + 1, "header": cell, "field": said.get(f"c{i + 1}", "-")} for i, cell in enumerate(head)]
    return {
        "columns": columns,
        "choices": list(WORDS.items()),
        "defaults": [(name, WORDS[name], said.get(f"d_{name}", "")) for name in DEFAULTS],
    }


def into_of(text: str) -> str:
    return text if text in dict(INTO) else "receive"


def mapping_of(said: QueryDict) -> Mapping | None:
    """What the person chose for columns and for what every row says; None: nothing was chosen yet."""
    chosen = {name: str(value).strip()[:200] for name, value in said.dict().items() if str(value).strip()}
    columns = {name[1:]: value for name, value in chosen.items() if name[:1] == "c" and name[1:].isdecimal() and len(name) < 6}
    defaults = {name[2:]: value for name, value in chosen.items() if name.startswith("d_") and name[2:] in FIELDS}
    fields = {number: "" if value == "-" else value for number, value in columns.items()}
    return Mapping(fields, defaults) if fields or defaults else None


def shown(plan: Plan, said: QueryDict) -> dict[str, Any]:
    """The plan as the page shows it: columns to choose, and rows with what stands against them."""
    used = [c.field for c in plan.columns if c.field]
    rows = [
        {
            "number": row.number,
            "ok": row.ok,
            "cells": [(WORDS[name], row.values.get(name, "")) for name in used],
            "problems": [(p.column, p.reason) for p in row.problems],
        }
        for row in plan.rows
    ]
    return {
        "columns": [{"n": c.index + 1, "header": c.header, "field": c.field or "-"} for c in plan.columns],
        "choices": list(WORDS.items()),
        "defaults": [(name, WORDS[name], said.get(f"d_{name}", "")) for name in DEFAULTS if name not in used],
        "heads": [WORDS[name] for name in used],
        "rows": sorted(rows, key=lambda row: row["ok"]),
        "wrong": sum(not row.ok for row in plan.rows),
        "hidden": [
            (name, value) for name, value in said.items() if name.startswith(("c", "d_")) and value and name != "csrfmiddlewaretoken"
        ],
    }
