"""What other pages say of labels: the way to print them, what was printed, and the offer after something came into being."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest

from inventory.core.said import say, template
from inventory.models import Item, LabelPrint, Location
from inventory.printing.prints import MAY, history
from inventory.templatetags import words
from inventory.verbs.registry import Outcome

from .door import Shop
from .ways import joined, to


def label_url(shop: Shop, *codes: str, **more: str) -> str:
    """The page with these things in it; "" for those who may not print."""
    return to("labels", things=",".join(codes), **more) if set(MAY) & shop.roles and (codes or more) else ""


def label_button(shop: Shop, item: Item | Location) -> dict[str, Any]:
    """For the page of a thing or a place: the address, and what was printed so far."""
    if isinstance(item, Item) and item.kind == "lot":
        return {"url": label_url(shop, lot=item.code), "lot": True, "said": ""}
    rows = history(item)
    return {"url": label_url(shop, item.code), "said": told(rows, shop), "again": bool(rows)}


def told(rows: list[LabelPrint], shop: Shop) -> Any:
    """ "printed 30 Mar 07:40 by Ines, again 08:10 by Bram (lost), 2 copies"."""
    parts = []
    for n, row in enumerate(rows):
        when = words.instant(row.at_us, shop.zone, shop.now_us, "near")
        why = say(" ({reason})", reason=row.reason) if row.reason else ""
        copies = say(", {copies} copies", copies=row.copies) if row.copies > 1 else ""
        way = template("again {when} by {person}{why}{copies}") if n else template("printed {when} by {person}{why}{copies}")
        parts.append(words.html_say(way, when=when, person=row.person.name, why=why, copies=copies))
    return joined(parts, ", ")


def offer_labels(request: HttpRequest, outcome: Outcome) -> None:
    """After what brought new things into being: their labels, at once."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    codes = new_codes(outcome)
    url = label_url(shop, *codes) if codes else ""
    if url:
        what = say("its label") if len(codes) == 1 else say("the {codes} labels", codes=len(codes))
        messages.info(request, words.html_say('<a href="{url}">Print {what}</a>', url=url, what=what))


def new_codes(outcome: Outcome) -> list[str]:
    """The codes of things that a verb made: received pieces, a kit with its remnants, a pot, a tank, a part."""
    items = outcome.data.get("items", ())
    made = items.values() if isinstance(items, dict) else items if "pieces" in outcome.data else ()
    return [code for code in made if isinstance(code, str)]
