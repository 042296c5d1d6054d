"""How much usable stock there is of each material, what is on order and what to buy."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.views.decorators.http import require_safe

from inventory.core.said import say
from inventory.core.units import display
from inventory.models import MaterialKind
from inventory.reads.needs_supply import spelled
from inventory.reads.stock import Stock, usable_now
from inventory.templatetags import words
from inventory.templatetags.tables import Column

from .door import Shop, page
from .sheets import csv_response
from .ways import query, to

COLUMNS = (
    Column(say("Material")),
    Column(say("Name"), wide=True),
    Column(say("Usable now"), num=True),
    Column(say("Thawing of that"), num=True),
    Column(say("Waiting or held"), num=True),
    Column(say("Over its life"), num=True),
    Column(say("On order")),
    Column(say("To do"), wide=True),
)
SHOWN = (("", say("what there is")), ("all", say("every material")), ("buy", say("to buy or ordered")))


@page
@require_safe
def stock(request: HttpRequest) -> HttpResponse:
    """GET q, kind, show, format=csv."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    text, kind, show = request.GET.get("q", "").strip()[:60], request.GET.get("kind", ""), request.GET.get("show", "")
    rows = [s for s in usable_now(shop.site, shop.zone, shop.now_us) if wanted(s, text, kind, show)]
    if request.GET.get("format") == "csv":
        return csv_response("stock", HEADER, (sheet_row(s) for s in rows))
    context = {
        "title": say("Usable stock"),
        "columns": COLUMNS,
        "rows": [row_of(s) for s in rows],
        "kinds": MaterialKind.choices,
        "shows": SHOWN,
        "q": text,
        "kind": kind,
        "show": show,
        "csv": query(request, format="csv"),
    }
    return render(request, "inventory/stock.html", context)


def wanted(s: Stock, text: str, kind: str, show: str) -> bool:
    m = s.material
    if text and text.casefold() not in f"{m.code} {m.name}".casefold():
        return False
    if kind and m.kind != kind:
        return False
    if show == "buy":
        return s.short or bool(s.on_order)
    return show == "all" or bool(text) or bool(s.pieces) or bool(s.on_order) or s.short


def row_of(s: Stock) -> list[Any]:
    m, unit = s.material, s.material.unit

    def some(value: int) -> Any:
        return words.qty(value, unit) if value else ""

    code = words.code_link(m.code, to("material", m.code))
    return [code, m.name, words.qty(s.usable, unit), some(s.thawing), some(s.blocked), some(s.over), ordered(s), to_do(s)]


def ordered(s: Stock) -> Any:
    if not s.on_order and not s.orders:
        return ""
    due = say(", due {spelled}", spelled=spelled(s.orders[0].due_on)) if s.orders[0].due_on else ""
    return format_html("{}{}", words.qty(s.on_order, s.material.unit), due)


def to_do(s: Stock) -> str:
    if s.to_buy:
        return say("Buy: below {reorder_at}", reorder_at=display(s.material.reorder_at or 0, s.material.unit))
    if s.short:
        return say("Ordered")
    return (
        say("{owned_by_others} are customers' property", owned_by_others=display(s.owned_by_others, s.material.unit))
        if s.owned_by_others
        else ""
    )


HEADER = [
    "material",
    "name",
    "unit",
    "usable",
    "thawing",
    "waiting or held",
    "over its life",
    "owned by others",
    "on order",
    "due",
    "to do",
]


def sheet_row(s: Stock) -> list[object]:
    """Plain numbers in the unit of the third column, so that a sheet can add them."""
    scale = {"um": (1_000_000, "m"), "ug": (1_000_000_000, "kg"), "cmm2": (100_000_000, "m²"), "pc": (1, "pieces")}
    per, unit = scale[s.material.unit]

    def number(value: int) -> str:
        whole, rest = divmod(abs(value), per)
        figures = f"{rest:0{len(str(per)) - 1}d}".rstrip("0") if per > 1 else ""
        return f"{'-' if value < 0 else ''}{whole}{'.' + figures if figures else ''}"

    amounts = [number(v) for v in (s.usable, s.thawing, s.blocked, s.over, s.owned_by_others, s.on_order)]
    due = s.orders[0].due_on.isoformat() if s.orders and s.orders[0].due_on else ""
    return [s.material.code, s.material.name, unit, *amounts, due, to_do(s)]
