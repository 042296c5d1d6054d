"""Addresses, and small things that several pages say alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, QueryDict
from django.shortcuts import redirect
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.models import Item
from inventory.templatetags import words
from inventory.verbs.registry import VERBS

from .door import Shop

_PAGES = {"part": "part", "assembly": "part"}  # kinds that may have a page of their own in the app above


def to(name: str, *args: Any, **query: Any) -> str:
    """The address of a page, with a query; "" when there is no such page."""
    try:
        path = reverse(name, args=args)
    except NoReverseMatch:
        return ""
    kept = {k: v for k, v in query.items() if v not in (None, "", ())}
    return f"{path}?{urlencode(kept, doseq=True)}" if kept else path


def item_url(item: Item) -> str:
    """Where a labelled thing is shown: its own page in the app above, if it has one, else the shelf's."""
    special = _PAGES.get(item.kind)
    return (to(special, item.code) if special else "") or reverse("item", args=[item.code])


def item_name(item: Item) -> str:
    """What is written on it; a lot goes by its number. (Select `batch` along where lots may be named.)"""
    batch = getattr(item, "batch", None) if item.kind == "lot" else None
    return batch.number if batch is not None else str(item)


def item_link(item: Item) -> SafeString:
    return words.code_link(item_name(item), item_url(item))


def item_links(items: Iterable[Item], between: str = ", ") -> SafeString:
    return format_html_join(between, "{}", ((item_link(item),) for item in items))


def joined(parts: Iterable[object], between: str = " ") -> SafeString:
    """Words and links in one line; what is no markup is escaped."""
    return format_html_join(between, "{}", ((part,) for part in parts))


def about_url(about: tuple[str, str]) -> str:
    """The page of what a sentence is about."""
    what, name = about
    if what == "delivery":
        return to("delivery", number=name)
    named = {
        "item": "item",
        "part": "part",
        "record": "record",
        "material": "material",
        "nonconformance": "nonconformance",
        "place": "place",
        "count": "count-sheet",
    }
    return (to(named[what], name) if what in named else "") or to("find", q=name)


def verb_url(verb: str, item: Item, shop: Shop, back: str = "", **more: Any) -> str:
    """The page of a verb for this thing; "" when the person may not do it or there is no such verb."""
    entry = VERBS.get(verb)
    if entry is None or not set(entry.roles) & shop.roles:
        return ""
    return to("do", verb, item=item.code, next=back or item_url(item), **more)


def may(shop: Shop, verb: str) -> bool:
    return verb in VERBS and bool(set(VERBS[verb].roles) & shop.roles)


def query(request: HttpRequest, **changes: Any) -> str:
    """The page's own query with some values changed; None or "" takes one away."""
    kept: QueryDict = request.GET.copy()
    for name, value in changes.items():
        kept.pop(name, None)
        if value not in (None, ""):
            kept[name] = str(value)
    return f"?{kept.urlencode()}" if kept else "?"


def back_to(request: HttpRequest, fallback: str) -> Any:
    """Back to a page of our own that was named, else to the fallback."""
    from .signing import safe

    wanted = request.POST.get("next") or request.GET.get("next", "")
    return redirect(wanted if wanted and safe(wanted) else fallback)


def sentence(text: str) -> SafeString:
    """A sentence whose figures stand out."""
    return format_html("{}", words.emphasise(text))
