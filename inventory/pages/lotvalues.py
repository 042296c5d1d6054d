"""/materials/<code>/values/: what the papers of a material's lots stated, as control charts in the order in which the lots came."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from inventory.core import lotvalues
from inventory.core.said import say, strung
from inventory.models import Material
from inventory.reads.histories import History, LotValue, histories
from inventory.templatetags import words
from inventory.templatetags.tables import Column
from inventory.worksheets.registry import Chart, Series, plainly

from . import charts
from .door import Shop, page
from .ways import item_url

LOTS = (
    Column(say("Lot"), lead=True),
    Column(say("Supplier")),
    Column(say("Came")),
    Column(say("Value"), num=True),
    Column(say("Sigmas from the mean"), num=True),
    Column(say("Rules"), wide=True),
)


@page
@require_safe
def values(request: HttpRequest, code: str) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = get_object_or_404(Material, code__iexact=code)
    found = [drawn(history, shop) for history in histories(shop.site, row.pk)]
    return render(
        request,
        "inventory/values.html",
        {"title": say("Values of {code}", code=row.code), "material": row, "found": found, "columns": LOTS},
    )


def drawn(history: History, shop: Shop) -> dict[str, Any]:
    """One value: what it says, its chart and its lots, the newest first."""
    chart = chart_of(history)
    return {
        "history": history,
        "says": says(history),
        "chart": (chart, charts.svg(chart)) if chart is not None else None,
        "facts": facts(history),
        "rows": lots(history, shop),
        "left_out": [row for row in history.rows if row.value is None],
    }


def says(history: History) -> str:
    """The sentence above the chart."""
    judged = history.judged
    if not history.rows:
        return say("No lot's papers state it yet.")
    if judged.chart is None:
        return judged.no_chart
    told = [s for s in judged.chart.signals if s.at == len(history.charted) - 1]
    newest = history.charted[-1].lot.number
    if told:
        return say("Newest lot {newest}: {words}.", newest=newest, words=strung("; ", (lotvalues.words(s) for s in told)))
    earlier = say(" Earlier lots broke a rule {signals} times.", signals=len(judged.chart.signals)) if judged.chart.signals else ""
    return say("Newest lot {newest}: in control.{earlier}", newest=newest, earlier=earlier)


def facts(history: History) -> list[tuple[str, str]]:
    """Limits, the newest lot beside those before it, and the basis value; or why not."""
    judged, unit = history.judged, history.unit
    if not history.charted:
        return []
    chart, change, found = judged.chart, judged.change, judged.basis
    rows: list[tuple[str, str]] = []  # without limits, the sentence above says why
    if chart is not None:
        few = say(", provisional") if chart.provisional else ""
        span = say("{low} to {high} {unit}", low=plainly(chart.low), high=plainly(chart.high), unit=unit).strip()
        rows = [
            (say("Mean"), say("{mean} {unit}", mean=plainly(chart.mean), unit=unit).strip()),
            (say("Limits of the process"), say("{span} (first {baseline} lots{few})", span=span, baseline=judged.baseline, few=few)),
        ]
    newest = judged.no_change
    if change is not None:
        span = say("{low} to {high} {unit}", low=plainly(change.low), high=plainly(change.high), unit=unit).strip()
        newest = say(
            "{which} {span}, where 95 % of lots like those before would lie",
            which=say("outside") if judged.changed else say("within"),
            span=span,
        )
    basis = judged.no_basis
    if found is not None:
        basis = say("{found_value} {unit}", found_value=plainly(found.value), unit=unit).strip() + say(
            ": nine lots in ten exceed it, with 95 % confidence ({count} lots)", count=found.n
        )
    return [*rows, (say("Newest lot"), newest), (say("B-basis value"), basis)]


def chart_of(history: History) -> Chart | None:
    judged = history.judged.chart
    points = [(float(n), row.value) for n, row in enumerate(history.charted, start=1) if row.value is not None]
    if judged is None or len(points) < 2:
        return None
    marks = ((judged.mean, "mean"), (judged.high, say("upper limit")), (judged.low, say("lower limit")))
    lines = tuple(Series(name, ((1.0, level), (float(len(points)), level))) for level, name in marks)
    y = say("{history}, {history_unit}", history=history.name, history_unit=history.unit) if history.unit else history.name
    return Chart(
        history.name, "line", say("lot, in the order in which they came"), y, (Series(say("lots"), tuple(points)), *lines), says(history)
    )


def lots(history: History, shop: Shop) -> list[list[Any]]:
    """The lots, the newest first; each leads to its page."""
    chart = history.judged.chart
    charted = history.charted
    broken: dict[int, list[str]] = {}
    for signal in chart.signals if chart is not None else ():
        broken.setdefault(charted[signal.at].lot.pk, []).append(lotvalues.words(signal))
    found = []
    for row in reversed(history.rows):
        sigmas = "" if chart is None or row.value is None else f"{(row.value - chart.mean) / chart.sigma:+.2f}".replace("-", "−")
        came = words.instant(row.received_us, shop.zone, shop.now_us, "day") if row.received_us is not None else ""
        rules = strung("; ", broken.get(row.lot.pk, ())) or row.why
        found.append([words.code_link(row.lot.number, item_url(row.lot.item)), str(row.lot.supplier), came, stated(row), sigmas, rules])
    return found


def stated(row: LotValue) -> str:
    """As the papers state it; of several pieces, the mean and how many."""
    if row.value is None:
        return strung(", ", row.texts[:3])
    return row.texts[0] if len(row.texts) == 1 else say("{value} (mean of {texts})", value=plainly(row.value), texts=len(row.texts))
