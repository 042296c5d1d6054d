"""The shop at a glance, for who owns it: what the stock will be, what was lost, what parts took, how full the freezers were."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from inventory.core.said import say, strung
from inventory.core.spans import day_text
from inventory.core.units import display
from inventory.pages import charts
from inventory.pages.door import Shop, page
from inventory.pages.ways import to
from inventory.reads import outlook
from inventory.reads.outlook import Loss, Outlook
from inventory.templatetags import words
from inventory.templatetags.tables import Column, table
from inventory.worksheets.registry import Chart, Series
from layups.reads.consumption import Taken, consumption

WEEKS = (4, 12, 26, 52)
DAY_US = outlook.DAY_US
STOCK = (
    Column(say("Material")),
    Column(say("Usable now"), num=True),
    Column(say("Alive then"), num=True),
    Column(say("Arriving"), num=True),
    Column(say("Usual use"), num=True),
    Column(say("Expected then"), num=True),
    Column(say("To mind"), wide=True),
)
LOST = (
    Column(say("Cause")),
    Column(say("Material")),
    Column(say("Amount"), num=True),
    Column(say("Mass, about"), num=True),
    Column(say("Times"), num=True),
)
TAKEN = (
    Column(say("Design")),
    Column(say("Material")),
    Column(say("Parts"), num=True),
    Column(say("Taken in all"), num=True),
    Column(say("For each part"), num=True),
)
BAR, TALL = 88, 10


@page
@require_safe
def overview(request: HttpRequest) -> HttpResponse:
    """GET weeks: how far back to look, one of WEEKS."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    asked = request.GET.get("weeks", "")
    weeks = int(asked) if asked in {str(w) for w in WEEKS} else WEEKS[1]
    from_us = shop.now_us - weeks * 7 * DAY_US
    stock = outlook.outlooks(shop.site, shop.zone, shop.now_us, weeks * 7)
    lost = outlook.losses(shop.site, from_us, shop.now_us)
    taken = consumption(shop.site, from_us, shop.now_us)
    cold = outlook.freezers(shop.site, shop.now_us, weeks * 7)
    context = {
        "title": say("The shop at a glance"),
        "weeks": weeks,
        "choices": WEEKS,
        "since": day_text(from_us, shop.zone),
        "short": [o for o in stock if o.short or (o.used and not o.expected)],
        "stock": table(say("Usable stock, now and in two weeks"), STOCK, [stock_row(o, weeks * 7) for o in stock]) if stock else "",
        "lost": table(say("Lost, by cause"), LOST, [lost_row(x) for x in lost]) if lost else "",
        "lost_mass": mass_words(lost),
        "taken": table(say("What parts took"), TAKEN, [taken_row(t) for t in taken]) if taken else "",
        "cold": cold_chart(cold) if cold.counts else None,
        "cold_table": cold_table(cold, shop) if cold.counts else "",
    }
    return render(request, "layups/overview.html", context)


def stock_row(o: Outlook, days: int) -> list[Any]:
    unit = o.material.unit
    code = words.code_link(o.material.code, to("material", o.material.code))
    goes = round(o.used * outlook.AHEAD_DAYS / days)
    some = [words.qty(v, unit) if v else "" for v in (o.arriving, goes)]
    return [
        code,
        words.qty(o.usable, unit),
        words.qty(o.living, unit),
        *some,
        format_html("{}{}", words.qty(o.expected, unit), bar(o)),
        to_mind(o),
    ]


def to_mind(o: Outlook) -> str:
    if o.short:
        return say("runs short: below {reorder_at}", reorder_at=display(o.material.reorder_at or 0, o.material.unit))
    if o.usable and not o.living:
        return say("all of it ends by then")
    if o.used and not o.expected:
        return say("runs out")
    return say("part of it ends by then") if o.living < o.usable else ""


def bar(o: Outlook) -> SafeString | str:
    """What is expected, beside what is there now; the figures stand in the row, so the picture is hidden from screen readers."""
    whole = max(o.usable, o.expected)
    if not whole:
        return ""
    now, then = round(BAR * o.usable / whole), round(BAR * o.expected / whole)
    picture = (
        '<svg class="bar" viewBox="0 0 {0} {1}" width="{0}" height="{1}" aria-hidden="true" focusable="false">'
        '<rect class="now" width="{2}" height="{1}"/><rect class="then" y="3" width="{3}" height="4"/></svg>'
    )
    return format_html(picture, BAR, TALL, now, then)


def lost_row(x: Loss) -> list[Any]:
    return [x.cause or say("no cause given"), x.what, words.qty(x.qty, x.unit), "" if x.ug is None else words.qty(x.ug, "ug"), x.times]


def mass_words(lost: list[Loss]) -> str:
    """Each cause with its mass, the heaviest first."""
    sums: dict[str, int] = {}
    for x in lost:
        sums[x.cause] = sums.get(x.cause, 0) + (x.ug or 0)
    heavy = sorted(((ug, cause) for cause, ug in sums.items() if ug), reverse=True)
    return strung(", ", (say("{cause} {ug}", cause=cause, ug=display(ug, "ug")) for ug, cause in heavy))


def taken_row(t: Taken) -> list[Any]:
    design = words.code_link(t.design, to("design", t.design))
    return [design, t.what or say("mixed resin"), t.parts, words.qty(t.qty, t.unit), words.qty(t.each, t.unit)]


def cold_chart(cold: outlook.Cold) -> dict[str, Any]:
    days = len(cold.instants) - 1
    series = tuple(
        Series(code, tuple((float(n - days), float(count)) for n, count in enumerate(counts))) for code, counts in cold.counts.items()
    )
    says = strung(
        "; ",
        (
            say(
                "{code}: {counts} now, {counts_2} at most, {counts_3} at least",
                code=code,
                counts=counts[-1],
                counts_2=max(counts),
                counts_3=min(counts),
            )
            for code, counts in cold.counts.items()
        ),
    )
    chart = Chart(say("Things in each freezer"), "line", say("days before now"), say("things"), series, says)
    return {"svg": charts.svg(chart), "says": says, "title": chart.title}


def cold_table(cold: outlook.Cold, shop: Shop) -> SafeString:
    """Week by week; the picture has every day."""
    columns = (Column(say("When"), lead=True), *(Column(code, num=True) for code in cold.counts))
    rows = []
    for n in range(len(cold.instants) - 1, -1, -7):
        rows.append([words.instant(cold.instants[n], shop.zone, shop.now_us, "day"), *(counts[n] for counts in cold.counts.values())])
    return table(say("Things in each freezer, by week"), columns, rows)
