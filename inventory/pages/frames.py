"""The frame around every page: the site, who acts, and where they can go. One list of places to go, for both apps' pages."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from . import Frame, NavItem, navigation

# (label, url name, roles; no roles: everybody). Pages of the layups app are named, not imported.
PLACES: tuple[tuple[str, str, frozenset[str]], ...] = (
    ("Today", "today", frozenset()),
    ("Stock", "stock", frozenset()),
    ("Receive", "receive", frozenset({"storekeeper", "owner", "quality"})),
    ("Mix", "mix", frozenset({"builder", "quality", "storekeeper"})),
    ("Parts", "parts", frozenset()),
    ("Quality", "quality", frozenset({"quality", "owner", "auditor"})),
    ("Trace", "trace", frozenset()),
    ("Records", "records", frozenset()),
    ("Numbers", "numbers", frozenset()),
    ("Floor", "floor", frozenset()),
    ("Overview", "overview", frozenset({"owner", "quality", "auditor"})),
)


def address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context processor: `frame`, `zone` and `now_us` for the base template."""
    shop = getattr(request, "shop", None)
    if shop is None:
        return {}
    items = [NavItem(label, address(name), roles=roles) for label, name, roles in PLACES if address(name)]
    who = shop.person.name + (f" (on {shop.signed_in.name}’s sign-in)" if shop.by_badge else "")
    return {
        "frame": Frame(
            site=shop.signed_in.site.name,
            person=who,
            roles=tuple(sorted(shop.roles)),
            nav=navigation(items, shop.roles, request.path),
            home_url=address("today") or "/",
            scan_url=address("find"),
            badge_url=address("badge"),
            sign_out_url=address("sign-out"),
        ),
        "zone": shop.zone,
        "now_us": shop.now_us,
    }
