"""What other pages say of labels: the way to print them, what was printed, and what came into being and has no label yet."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from inventory.core.label_formats import DEFAULT, FORMATS
from inventory.core.said import say, template
from inventory.core.spans import MINUTE_US
from inventory.models import Item, LabelPrint, Location
from inventory.printing.prints import MAY, history
from inventory.templatetags import words
from inventory.verbs.registry import Outcome

from .door import Shop
from .ways import joined, to

SIZE, FRESH, ONCE = "label_size", "fresh_labels", "labels_at_once"
FRESH_MOST = 60
"""Codes that the session carries: it is a cookie, and has no room for a whole delivery."""
FRESH_US, ONCE_S = 30 * MINUTE_US, 365 * 86_400


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
    """After what brought new things into being: their labels, at once, on the page that comes. What was not printed a while ago waits
    along: three rolls taken in one by one are one print."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    codes = new_codes(outcome)
    if not codes or not set(MAY) & shop.roles:
        return
    before = request.session.get(FRESH) or {}
    kept = before["codes"] if 0 <= shop.now_us - before.get("at", 0) < FRESH_US else []
    codes = list(dict.fromkeys([*kept, *codes]))
    request.session[FRESH] = {"codes": codes[:FRESH_MOST], "more": len(codes[FRESH_MOST:]), "key": str(uuid.uuid4()), "at": shop.now_us}


@dataclass(frozen=True, slots=True)
class Offer:
    """New labels to print with one press: `more` had no room here; `once` says that this browser prints without being asked."""

    codes: tuple[str, ...]
    more: int
    key: str
    size: str
    words: str
    form: str
    once: bool
    url: str

    @property
    def things(self) -> str:
        return ",".join(self.codes)


def _waiting(request: HttpRequest) -> dict[str, Any]:
    said = request.session.get(FRESH)
    return said if isinstance(said, dict) and not said.get("shown") else {}


def fresh_labels(request: HttpRequest) -> Offer | None:
    """What the page offers to print: once, so that a page that is looked at again prints nothing."""
    said = _waiting(request)
    if not said:
        return None
    request.session[FRESH] = {**said, "shown": True}
    chosen = at_once(request)
    size, form = chosen or (request.session.get(SIZE, DEFAULT), "pdf")
    codes = tuple(said["codes"])
    words = FORMATS[size].words if size in FORMATS else size
    return Offer(codes, said["more"], said["key"], size, words, form, chosen is not None, to("labels", things=",".join(codes)))


def printed_fresh(request: HttpRequest, key: uuid.UUID) -> None:
    """They are printed: nothing waits any more."""
    if (request.session.get(FRESH) or {}).get("key") == str(key):
        del request.session[FRESH]


def at_once(request: HttpRequest) -> tuple[str, str] | None:
    """The size, and pdf or zpl, in which this browser prints new labels without being asked; None: it asks."""
    size, _, form = request.COOKIES.get(ONCE, "").partition(" ")
    return (size, form) if size in FORMATS and form in printable(size) else None


def printable(size: str) -> tuple[str, ...]:
    """How labels of a size can be printed here."""
    return ("pdf", "zpl") if settings.SELVEDGE_LABEL_DPI and FORMATS[size].roll else ("pdf",)


def keep_at_once(response: HttpResponse, size: str, form: str) -> None:
    """Kept in this browser, whoever works in it: the printer stands beside it. Without a form it asks again."""
    if form:
        secure = settings.SESSION_COOKIE_SECURE
        response.set_cookie(ONCE, f"{size} {form}", max_age=ONCE_S, httponly=True, samesite="Lax", secure=secure)
    else:
        response.delete_cookie(ONCE, samesite="Lax")


def new_codes(outcome: Outcome) -> list[str]:
    """The codes of things that a verb made: received pieces, a kit with its remnants, a pot, a tank, a part."""
    items = outcome.data.get("items", ())
    made = items.values() if isinstance(items, dict) else items if "pieces" in outcome.data else ()
    return [code for code in made if isinstance(code, str)]
