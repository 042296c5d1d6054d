"""Designs, to look at: the schedule, and what kind of laminate its plies make. They are made and changed in the admin."""

from __future__ import annotations

import math
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from inventory.core.reasons import BadInput, ended
from inventory.core.said import say, strung
from inventory.core.spans import duration
from inventory.core.units import display
from inventory.pages.door import Shop, page
from inventory.pages.numbers import shown
from inventory.pages.ways import to
from inventory.templatetags.tables import Column
from inventory.templatetags.words import html_say
from layups.core.infusion import Fill
from layups.core.notation import CORE, FABRIC, Layer
from layups.core.schedule import Line
from layups.core.strips import strokes
from layups.core.windows import Window, times_of
from layups.models import Design
from layups.reads.designs import DesignView, Laminate, design_view
from layups.reads.designs import designs as all_designs
from layups.reads.infusing import filling_of
from layups.reads.plydata import laminate_numbers
from layups.worksheets.drawn import answer

COLUMNS = (
    Column(say("Design"), lead=True),
    Column(say("Name")),
    Column(say("Process")),
    Column(say("Layup"), wide=True),
    Column(say("In plane")),
)
LINES = (
    Column(say("Line"), lead=True),
    Column(say("Wants")),
    Column(say("Angle"), num=True),
    Column(say("Amount"), num=True),
    Column(say("Or")),
)
WIDTH, STRIP = 300, 24
MOST_STRIPS = 60


@page
@require_safe
def designs(request: HttpRequest) -> HttpResponse:
    rows = [design_cells(view) for view in all_designs()]
    return render(request, "layups/designs.html", {"title": say("Designs"), "columns": COLUMNS, "rows": rows, **_ways(request)})


@page
@require_safe
def design(request: HttpRequest, code: str) -> HttpResponse:
    try:
        view = design_view(code)
    except Design.DoesNotExist:
        raise Http404 from None
    laminate = view.laminate
    context = {
        **(numbers_of(laminate) if laminate else {}),
        "title": say("{design} {design_2}", design=view.design.code, design_2=view.design.name),
        "design": view.design,
        "laminate": laminate,
        "areal": areal(laminate),
        **infused(view.design),
        "reasons": [*laminate.unknown, *(laminate.kind.reasons if laminate.kind else ())] if laminate else [],
        "strips": picture(laminate.layers) if laminate and len(laminate.layers) <= MOST_STRIPS else "",
        "columns": LINES,
        "lines": [line_cells(line) for line in view.lines],
        "windows": [window_words(window) for window in view.windows],
        "rooms": [(say("line {line}", line=band.line) if band.line is not None else say("every line"), str(band)) for band in view.bands],
        **_ways(request, view.design),
    }
    return render(request, "layups/design.html", context)


def numbers_of(laminate: Laminate) -> dict[str, Any]:
    """What the materials' data give: figures, plot, tables; or why not."""
    try:
        return {**shown(answer(laminate.layers, laminate.kind, laminate_numbers(laminate))), "sheet_title": say("Stiffness and weight")}
    except BadInput as bad:
        return {"wrong": bad.reason.text}


FILLS = (
    Column(say("Way of feeding"), lead=True),
    *(
        Column(label, num=True)
        for label in (say("Fills in"), say("At the soonest"), say("At the latest"), say("Wet at the stop"), say("Surely wet"))
    ),
)


def infused(design: Design) -> dict[str, Any]:
    """Whether the panel fills, by each way of feeding it."""
    found = filling_of(design)
    if found is None:
        return {}
    best = found.fills[0] if found.fills else None
    return {
        "filling": found,
        "fill_says": say("{best} Way: {best_2}, at {at}.", best=best.text, best_2=best.name, at=found.at) if best is not None else "",
        "fill_cautions": [reason.text for reason in best.cautions] if best is not None else [],
        "fill_columns": FILLS,
        "fill_rows": [fill_cells(fill) for fill in found.fills],
        "fill_scatter": say("{scatter} %", scatter=f"{found.scatter * 100:.0f}"),
        "fill_sheet": reverse("worksheet", args=["infusion"]) + (f"?{urlencode(found.typed)}" if found.typed else ""),
    }


def fill_cells(fill: Fill) -> list[Any]:
    times = [say("not in time") if us is None else duration(us) for us in (fill.needs_us, fill.soon_us, fill.late_us)]
    return [
        fill.name,
        *times,
        say("{floor} %", floor=math.floor(fill.part * 100)),
        say("{floor} %", floor=math.floor(fill.sure_part * 100)),
    ]


def _ways(request: HttpRequest, row: Design | None = None) -> dict[str, Any]:
    """Where the owner goes to change it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    if not ({"owner", "quality"} & set(shop.roles)) or not request.user.is_staff:
        return {"edit": ""}
    name = "admin:layups_design_changelist" if row is None else "admin:layups_design_change"
    return {"edit": reverse(name, args=[] if row is None else [row.pk])}


def design_cells(view: DesignView) -> list[Any]:
    link = format_html('<a class="code" href="{}">{}</a>', reverse("design", args=[view.design.code]), view.design.code)
    laminate = view.laminate
    kind = laminate.kind.in_plane if laminate and laminate.kind else say("not known") if laminate else ""
    return [link, view.design.name, view.design.process, laminate.notation if laminate else "", kind]


def line_cells(line: Line) -> list[Any]:
    return [
        say("{line} {line_2}", line=line.name.capitalize(), line_2=line.label).strip(),
        wanted(line),
        f"{line.angle}°".replace("-", "−") if line.angle is not None else "",
        display(line.qty, line.unit) if line.qty is not None and line.unit else "",
        strung(", ", (code for _, code in line.alternates)),
    ]


def wanted(line: Line) -> object:
    """What a line wants, with a way to it."""
    if line.recipe is not None:
        code = line.wants.rpartition(" ")[2]
        return html_say('a mix of <a class="code" href="{url}">{code}</a>', url=to("recipe", code), code=code)
    return line.wants


def window_words(window: Window) -> str:
    over = say(" When it is over: {remedy}", remedy=ended(window.remedy)) if window.remedy else ""
    return say(
        "{window}: {then_words} {times_of} after {first_words}.{over}",
        window=window.name,
        then_words=window.then_words,
        times_of=times_of(window),
        first_words=window.first_words,
        over=over,
    )


def areal(laminate: Laminate | None) -> str:
    """The weight of all plies on a square metre."""
    if laminate is None or laminate.areal_mg_m2 is None:
        return ""
    return say("{areal_mg_m2} g/m²", areal_mg_m2=f"{laminate.areal_mg_m2 / 1000:.0f}")


def picture(layers: tuple[Layer, ...]) -> SafeString:
    """A strip for each ply, the tool side at the bottom, as the hand lays them."""
    high = len(layers) * (STRIP + 4)
    strips = format_html_join("", "{}", ((_strip(layer, n, high),) for n, layer in enumerate(layers, start=1)))
    return format_html('<svg class="plies" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}</svg>', WIDTH + 190, high, strips)


def _strip(layer: Layer, n: int, high: int) -> SafeString:
    y = high - n * (STRIP + 4) + 2
    lines = format_html_join("", '<path d="M{} {}L{} {}"/>', strokes(layer, WIDTH, STRIP))
    words = strung(" ", filter(None, (layer.material, direction(layer))))
    return format_html(
        '<g class="{}" transform="translate(0 {})"><rect width="{}" height="{}"/>{}<text x="{}" y="{}">{}. {}</text></g>',
        layer.form, y, WIDTH, STRIP, lines, WIDTH + 10, STRIP - 7, n, words,
    )  # fmt: skip


def direction(layer: Layer) -> str:
    if layer.form not in (FABRIC, "ud"):
        return "" if layer.form == CORE and layer.material else layer.form
    degrees = f"{layer.angle_md / 1000:g}".replace("-", "−")
    return say("{degrees}° fabric", degrees=degrees) if layer.form == FABRIC else f"{degrees}°"
