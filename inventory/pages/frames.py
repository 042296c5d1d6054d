"""The frame around every page: the site, who acts, and where they can go. One list of places to go, for both apps' pages."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from inventory.core.said import say

from . import Frame, NavItem, navigation
from .gloves import worn

# (label, url name, roles; no roles: everybody). Pages of the layups app are named, not imported.
PLACES: tuple[tuple[str, str, frozenset[str]], ...] = (
    (say("Today"), "today", frozenset()),
    (say("Stock"), "stock", frozenset()),
    (say("Receive"), "receive", frozenset({"storekeeper", "owner", "quality"})),
    (say("Mix"), "mix", frozenset({"builder", "quality", "storekeeper"})),
    (say("Parts"), "parts", frozenset()),
    (say("Quality"), "quality", frozenset({"quality", "owner", "auditor"})),
    (say("Trace"), "trace", frozenset()),
    (say("Records"), "records", frozenset()),
    (say("Numbers"), "numbers", frozenset()),
    (say("Floor"), "floor", frozenset()),
    (say("Overview"), "overview", frozenset({"owner", "quality", "auditor"})),
)


# Addresses that only take what a form sends: the page that the form stands on goes by the same name without its last word.
ANSWERS = ("item-scan", "part-undo", "job-cancel", "badge-back")


def here(request: HttpRequest) -> str:
    """The address of the page that is shown, to come back to."""
    found = request.resolver_match
    if found is None or found.url_name not in ANSWERS:
        return request.get_full_path()
    return reverse(found.url_name.rpartition("-")[0], args=found.args, kwargs=found.kwargs)


def address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context processor: `frame`, `zone`, `now_us` and `gloves` (is glove mode on here) for the base template."""
    shop, gloves = getattr(request, "shop", None), worn(request)
    if shop is None:
        return {"gloves": gloves}
    items = [NavItem(label, address(name), roles=roles) for label, name, roles in PLACES if address(name)]
    who = shop.person.name + (say(" (on {signed_in}’s sign-in)", signed_in=shop.signed_in.name) if shop.by_badge else "")
    return {
        "frame": Frame(
            site=shop.signed_in.site.name,
            person=who,
            roles=tuple(sorted(shop.roles)),
            nav=navigation(items, shop.roles, request.path),
            home_url=address("today") or "/",
            scan_url=address("find"),
            ask_url=address("api-scan"),
            badge_url=address("badge"),
            mine_url=address("mine"),
            sign_out_url=address("sign-out"),
            here=here(request),
        ),
        "zone": shop.zone,
        "now_us": shop.now_us,
        "gloves": gloves,
    }
