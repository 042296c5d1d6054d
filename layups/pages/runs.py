"""A cure run: hand in its chart, see where it failed, and put a start of heating right that the chart puts elsewhere."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from inventory import attachments
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.pages.doing import status_of
from inventory.pages.door import Answer, Shop, ask, call_of, page
from inventory.pages.ways import may
from inventory.templatetags import words as said
from inventory.templatetags.tables import Column
from layups.core.cure import PASSES
from layups.models import CureRun
from layups.reads.runs import RunPage, lone_page, run_page
from layups.reads.runs import runs as all_runs
from layups.verbs.charting import ChartColumn, CureChart

from . import words
from .at import part_at
from .runfacts import chart_word, context_of

RUNS = (
    Column(say("Run"), lead=True),
    Column(say("Where")),
    Column(say("Chart")),
    Column(say("Charts"), num=True),
    Column(say("Parts"), wide=True),
)


class ChartForm(forms.Form):
    """The file first; the rest only where it has to be said."""

    attachment = forms.CharField(required=False, widget=forms.HiddenInput, max_length=64)
    file = forms.FileField(
        label=say("The chart"),
        help_text=say("CSV or text, as the logger exports it: a column a thermocouple."),
        error_messages={"required": say("Hand in the chart first: choose its file.")},
    )
    columns = forms.CharField(
        required=False,
        max_length=20_000,
        label=say("Columns that count"),
        help_text=say("One a line: heading; parts that it is on; last day of its calibration. Example: TC1; RUD-073, RUD-074; 2026-12-31."),
        widget=forms.Textarea({"rows": 3}),
    )
    unit = forms.ChoiceField(required=False, label=say("Unit"), choices=[("", say("as the file says")), ("C", "°C"), ("F", "°F")])
    dates = forms.ChoiceField(
        required=False,
        label=say("Dates"),
        choices=[("", say("as the file says")), ("day", say("the day first")), ("month", say("the month first"))],
    )
    zone = forms.CharField(required=False, max_length=60, label=say("Zone of the logger’s clock"), help_text=say("Empty: the shop’s own."))
    begins = forms.CharField(
        required=False,
        max_length=40,
        label=say("When it began"),
        help_text=say("Only for a chart that counts seconds or minutes: 2026-03-30 15:40."),
    )


@page
@require_safe
def runs(request: HttpRequest) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    text = request.GET.get("before", "")
    before = int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else None
    found = all_runs(shop.site, before, 51)
    rows = [
        [
            said.code_link(r.run.number, run_url(r.run.number)),
            r.run.location.name,
            words.state(chart_word(r.verdict)) if r.verdict else say("no chart"),
            str(r.charts),
            words.listed([words.part_link(n) for n in r.parts[:6]]) if r.parts else "",
        ]
        for r in found[:50]
    ]
    more = f"?before={found[49].run.pk}" if len(found) > 50 else ""
    return render(request, "layups/runs.html", {"title": say("Cure runs"), "columns": RUNS, "rows": rows, "more": more})


@page
@require_http_methods(["GET", "HEAD", "POST"])
def run(request: HttpRequest, number: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    try:
        found = run_page(shop.site, number)
    except (CureRun.DoesNotExist, ValueError):
        raise Http404(say("There is no cure run {number} here.", number=number[:60])) from None
    return _page(request, found, say("Cure run {found}", found=found.number), run_url(found.number), {"run": found.number})


@page
@require_http_methods(["GET", "HEAD", "POST"])
def lone(request: HttpRequest, number: str) -> HttpResponse:
    """The chart of a part that was cured where it stood."""
    row = part_at(request.shop, number)  # type: ignore[attr-defined]
    url = words.part_url(row.number, row.item.code) + "chart/"
    return _page(request, lone_page(row), say("Cure of {number}", number=row.number), url, {"parts": (row.item.code,)})


def run_url(number: str) -> str:
    return reverse("run", args=[number])


# --- handing in ---------------------------------------------------------------------------------------


def _page(request: HttpRequest, found: RunPage, title: str, url: str, about: dict[str, Any]) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    form, answer = ChartForm(*((request.POST, request.FILES) if request.method == "POST" else ())), Answer()
    form.fields["file"].required = not request.POST.get("attachment")
    if request.method == "POST":
        answer = _hand_in(request, form, about)
        if answer.outcome is not None:
            (messages.success if answer.outcome.data["verdict"] == PASSES else messages.warning)(request, answer.outcome.text)
            return redirect(url)
    context = context_of(request, found, url) | {
        "title": (say("No – ") if answer.reasons else "") + title,
        "heading": title,
        "form": form,
        "more": [form[n] for n in ("columns", "unit", "dates", "zone", "begins")],
        "more_open": bool(form.is_bound and (form.errors or any(form.data.get(n) for n in ("columns", "unit", "dates", "zone", "begins")))),
        "answer": answer,
        "may": may(shop, "cure_chart"),
        "url": url,
    }
    return render(request, "layups/run.html", context, status=status_of(answer, form))


def _hand_in(request: HttpRequest, form: ChartForm, about: dict[str, Any]) -> Answer:
    """The file is kept first, so that the record can name it; after a slip elsewhere the form still has it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if not form.is_valid():
        return Answer(understood=False)
    d, call = form.cleaned_data, call_of(request)
    try:
        if d["file"] is not None and may(shop, "cure_chart"):
            d["attachment"] = attachments.keep(d["file"].chunks(), d["file"].name, call.who, call.now_us).sha256
        rest = {n: d[n] for n in ("zone", "unit", "dates", "begins")}
        params = CureChart(d["attachment"], columns=columns_of(d["columns"]), **rest, **about)
        answer = ask("cure_chart", call, params)
    except BadInput as bad:
        answer = Answer(reasons=[bad.reason], where=bad.where, understood=False)
    if answer.outcome is None:
        _keep_hold(form, d["attachment"], answer)
    return answer


def _keep_hold(form: ChartForm, sha: str, answer: Answer) -> None:
    where = {"attachment": "file"}.get(answer.where, answer.where)
    if not answer.understood and where in form.fields:
        form.add_error(where, answer.reasons[0].text)
        answer.reasons = []
    if sha and where != "file":
        form.data = {name: form.data.get(name) for name in form.data} | {"attachment": sha}
        form["file"].help_text = say(
            "{stored} is kept already: choose a file only to take another one.", stored=attachments.stored(sha).name
        )


def columns_of(text: str) -> tuple[ChartColumn, ...]:
    """One a line: heading; parts; last day of its calibration. BadInput chart.columns."""
    found = []
    for n, line in enumerate(text.splitlines(), 1):
        cells = [cell.strip() for cell in line.split(";")]
        if not any(cells):
            continue
        if len(cells) > 3 or not cells[0]:
            raise BadInput(
                "chart.columns", say("Line {count} of the columns: heading; parts; last day of its calibration.", count=n), "columns"
            )
        found.append(ChartColumn(*cells))
    return tuple(found)
