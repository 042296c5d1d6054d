"""Pages: a request in, one domain call, a page out. The clock is read here, at the edge, once a request.

This module holds what every page gives its frame (see templates/inventory/base.html); views stand beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class NavItem:
    """One entry of the main navigation. `count` is shown when it is not zero ("Needs you 4"); `roles` empty = everyone."""

    label: str
    url: str
    count: int = 0
    roles: frozenset[str] = frozenset()
    current: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around every page. An empty address leaves its part out."""

    site: str = ""
    person: str = ""
    roles: tuple[str, ...] = ()
    nav: tuple[NavItem, ...] = ()
    home_url: str = "/"
    scan_url: str = ""
    badge_url: str = ""
    mine_url: str = ""
    sign_out_url: str = ""
    here: str = "/"
    ask_url: str = ""


def navigation(items: Iterable[NavItem], roles: Iterable[str], path: str) -> tuple[NavItem, ...]:
    """The entries that these roles may see, with the one that `path` lies under marked as current (the longest match wins,
    so that "/" does not claim every page)."""
    held = set(roles)
    seen = [item for item in items if not item.roles or item.roles & held]
    under = [item.url for item in seen if path == item.url or (item.url != "/" and path.startswith(item.url.rstrip("/") + "/"))]
    here = max(under, key=len, default=None)
    return tuple(replace(item, current=item.url == here) for item in seen)
