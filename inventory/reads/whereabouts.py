"""Where something is, in a sentence: how much, in which place, and how it stands."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from inventory.core.lots import number_key
from inventory.core.said import say
from inventory.core.spans import day_text
from inventory.core.units import display
from inventory.models import Item, ItemState, Lot, Material

from . import stock
from .stock import Piece

MOST = 20


def where(p: Piece, zone: str, now_us: int) -> str:
    """ "C-12 (CT-204): 18.40 m in Rack (RACK). It may be used." """
    name = say("{item} ({material})", item=p.item, material=p.item.material.code) if p.item.material is not None else str(p.item)
    if p.state.gone:
        return say("{name} is {gone}: it is in no place any more.", name=name, gone=p.state.gone)
    return say(
        "{name}: {amount} {place}{back}. {stands}",
        name=name,
        amount=_amount(p),
        place=_place(p),
        back=_back(p, zone),
        stands=_stands(p, zone, now_us),
    )


def _amount(p: Piece) -> str:
    return say("less than nothing by the book") if p.state.qty < 0 else display(p.state.qty, p.item.unit)


def _place(p: Piece) -> str:
    return say("in {place} ({place_code})", place=p.place, place_code=p.place_code) if p.place_code else say("in no place yet")


def _back(p: Piece, zone: str) -> str:
    return say(", planned back {back}", back=day_text(p.state.back, zone)) if p.state.back is not None else ""


def _stands(p: Piece, zone: str, now_us: int) -> str:
    if p.against:
        more = len(p.against) - 1
        rest = (
            say(" There {more}.", more=say("is 1 more reason") if more == 1 else say("are {more} more reasons", more=more)) if more else ""
        )
        return say("It may not be used: {against}{rest}", against=p.against[0].text, rest=rest)
    if p.thaw_ready_us is not None:
        return (
            say("It is frozen.")
            if p.state.frozen
            else say("It thaws, and may be opened from {thaw_ready}.", thaw_ready=day_text(p.thaw_ready_us, zone))
        )
    return say("It may be used, for {reserved} only.", reserved=p.state.reserved) if p.state.reserved else say("It may be used.")


def sentences(items: Iterable[Item], zone: str, now_us: int) -> dict[int, str]:
    """The sentence of each of these things, in a number of queries that does not grow with them."""
    rows = ItemState.objects.filter(item__in=[i.pk for i in items], item__kind__in=stock.STOCK_KINDS)
    rows = rows.select_related("item__material", "item__owner", "item__lot__batch", "location__storage")
    return {p.item.pk: where(p, zone, now_us) for p in stock.pieces(rows, zone, now_us)}


def pieces_of(site: int, zone: str, now_us: int, text: str) -> list[Piece]:
    """What is here of a material or a lot that is called so, what ends first first; nothing where no such name is known."""
    material = Material.objects.filter(Q(code__iexact=text) | Q(name__iexact=text)).first()
    if material is not None:
        return stock.pieces(stock.on_hand(site, item__material=material)[:MOST], zone, now_us)
    lots = Lot.objects.filter(item__site=site, number_key=number_key(text)).values_list("item_id", flat=True)[:2]
    return stock.pieces(stock.on_hand(site, item__lot__in=list(lots))[:MOST], zone, now_us) if lots else []
