"""One look at the shop, shared by all who say what is needed, and the list of those who are asked.

`PROVIDERS` is the seam for the app above: a function of a `Look` that yields needs of its own (parts to inspect).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Max

from inventory.core.limits import Reading
from inventory.core.lives import spoken
from inventory.core.said import say, strung
from inventory.core.spans import clock_text, day_name, day_text, duration, limit_text, local_date
from inventory.models import Leg

from . import stock
from .stock import Piece, Stock

STOREKEEPER, BUILDER, QUALITY, OWNER = "storekeeper", "builder", "quality", "owner"
URGENCY = ("now", "today", "soon", "note")


@dataclass(frozen=True, slots=True)
class Need:
    """One sentence. `about` is what it is of and its name: ("item", code), ("delivery", number), ("material", code), …;
    `at_us` orders what is equally urgent, the longest waiting first (`needs.BEFORE`: what comes before that)."""

    urgency: str
    code: str
    text: str
    roles: frozenset[str]
    about: tuple[str, str]
    at_us: int = 0


@dataclass
class Look:
    """One look at the shop, shared by everything that asks what is needed."""

    site: int
    zone: str
    now_us: int
    judged: Sequence[Piece] | None = None

    @cached_property
    def pieces(self) -> list[Piece]:
        if self.judged is not None:
            return list(self.judged)
        return stock.pieces(stock.on_hand(self.site), self.zone, self.now_us)

    @cached_property
    def sums(self) -> list[Stock]:
        return stock.sums(self.site, self.pieces)

    @cached_property
    def out(self) -> list[Piece]:
        """What is out of the place where it lives: with a planned return, or taken from the cold."""
        return [p for p in self.pieces if is_out(p)]

    @cached_property
    def out_since(self) -> dict[int, int]:
        """When each of these was put where it is."""
        legs = Leg.objects.filter(item__in=[p.item.pk for p in self.out], location__isnull=False, act__voided_by__isnull=True)
        found: dict[int, int] = {}
        for item, at in legs.order_by("act__happened_us", "seq").values_list("item_id", "act__happened_us"):
            found[item] = at
        return found

    @cached_property
    def used_at(self) -> dict[int, int]:
        """When each of these was last opened or taken from: a bag that is open needs no word about opening it."""
        legs = Leg.objects.filter(
            item__in=[p.item.pk for p in self.out], act__kind__in=("open", "cut", "lay", "use"), act__voided_by__isnull=True
        )
        return dict(legs.values_list("item_id").annotate(at=Max("act__happened_us")))

    @property
    def overdue(self) -> list[Piece]:
        return [p for p in self.out if p.state.back is not None and p.state.back <= self.now_us]

    def day(self, us: int) -> str:
        """An instant as people say it: the clock alone when it is today."""
        today = local_date(us, self.zone) == local_date(self.now_us, self.zone)
        return clock_text(us, self.zone) if today else day_text(us, self.zone)

    def last_day(self, end_us: int) -> str:
        """The last whole day before an end, without the clock (R41)."""
        if local_date(end_us - 1, self.zone) == local_date(self.now_us, self.zone):
            return say("last day today")
        return say("last day {day}", day=day_name(end_us - 1, self.zone))


Provider = Callable[[Look], Iterable[Need]]
PROVIDERS: list[Provider] = []


def provider(function: Provider) -> Provider:
    """Enter a function in the list of those that are asked."""
    PROVIDERS.append(function)
    return function


def is_out(p: Piece) -> bool:
    if p.state.back is not None:
        return True
    return p.state.thaw_from is not None and p.facts.thaw_us > 0 and p.state.location != p.state.home


def roles_of(*roles: str) -> frozenset[str]:
    return frozenset(roles)


def together(names: Sequence[str], most: int = 6) -> str:
    """ "FA-9-1, FA-9-2 and FK-12"; a long list is cut off with how many more there are."""
    if len(names) > most:
        return say("{names} and {names_2} more", names=strung(", ", names[:most]), names_2=len(names) - most)
    return strung(say(" and "), [", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def stood(reading: Reading, zone: str) -> str:
    """One running limit in a few words: "114 h 00 of 120 h out life used", "tack life 72 h passed Sat 28 Mar 12:30"."""
    name = spoken(reading.limit.name)
    if reading.over and reading.ends_us is not None:
        limit = (
            say(" {allowed}", allowed=limit_text(reading.allowed)) if reading.limit.clock == "above" and reading.allowed is not None else ""
        )
        return say("{name}{limit} passed {ends}", name=name, limit=limit, ends=day_text(reading.ends_us, zone))
    if reading.limit.clock == "above" and reading.used is not None and reading.allowed is not None:
        return say("{used} of {allowed} {name} used", used=duration(reading.used), allowed=limit_text(reading.allowed), name=name)
    return ""


def clocks(p: Piece, zone: str) -> str:
    """The clocks of out time, the ones still alive first."""
    running = [r for r in p.readings if r.limit.clock == "above"]
    said = [stood(r, zone) for r in sorted(running, key=lambda r: (r.over, -(r.allowed or 0)))]
    return strung("; ", (s for s in dict.fromkeys(said) if s))
