"""What needs whom today: sentences worked out from records at the instant asked for. No flag is read, so the list is right
whether or not any job has run. A number of queries that does not grow with the shop.
"""

from __future__ import annotations

from collections.abc import Iterable

from . import needs_counts, needs_quality, needs_shelf, needs_supply
from .looking import BUILDER, OWNER, PROVIDERS, QUALITY, STOREKEEPER, URGENCY, Look, Need, provider

__all__ = ["Look", "Need", "needs", "needs_counts", "needs_quality", "needs_shelf", "needs_supply", "provider"]


BEFORE = {"pot.over": 0, "out.overdue": 1, "life.passed": 1}
"""Of what is needed now: first what may burn, then what ages by the minute; a delivery that is days late waits for both. Shop practice,
no source."""


def needs(site: int, zone: str, now_us: int, roles: Iterable[str], look: Look | None = None) -> list[Need]:
    """What needs somebody with these roles, most urgent first. A person who changes nothing (an auditor) sees it all."""
    look = look or Look(site, zone, now_us)
    held = frozenset(roles) & {STOREKEEPER, BUILDER, QUALITY, OWNER}
    found = [need for provider in PROVIDERS for need in provider(look) if not held or need.roles & held]
    return sorted(found, key=lambda n: (URGENCY.index(n.urgency), BEFORE.get(n.code, 2), n.at_us, n.text))
