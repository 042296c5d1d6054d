"""What the owner asks of the shelf: what is usable now and in two weeks, what was lost and why, how full the freezers were.

Each read asks a number of queries that does not grow with what it looks over.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from django.db.models import F, Sum

from inventory.core import fold, outlook
from inventory.core.convert import convert
from inventory.core.exposure import UNKNOWN_MC
from inventory.core.kinds import RANK
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import local_date
from inventory.models import Leg, Location, Material
from inventory.properties import props_of

from . import stock

DAY_US = 86_400_000_000
AHEAD_DAYS = 14
USED_BY = ("cut", "mix", "lay", "use")
"""Acts that take material off the shelf for good. A pour only moves it into another vessel; scrap is told apart."""
MADE_HERE = ("kit", "remnant", "mix", "part", "assembly")


@dataclass(frozen=True, slots=True)
class Outlook:
    """One material, in its stock unit. `living`: usable then if nobody touched it; `expected`: with arrivals and the usual use."""

    material: Material
    usable: int
    living: int
    arriving: int
    used: int
    expected: int

    @property
    def short(self) -> bool:
        return self.material.reorder_at is not None and self.expected < self.material.reorder_at


def outlooks(site: int, zone: str, now_us: int, past_days: int) -> list[Outlook]:
    """Every material of which there is, was or will be something. What is planned back is taken to go back then; any other thing
    stays where it is, and its clocks run on there."""
    rows = [row for row in stock.on_hand(site) if row.item.kind not in ("kit", "mix")]
    then_us = now_us + AHEAD_DAYS * DAY_US
    now = {s.material.pk: s for s in stock.sums(site, stock.pieces(rows, zone, now_us))}
    then = {s.material.pk: s for s in stock.sums(site, stock.pieces(rows, zone, then_us, supposed=_put_back(site, now_us)))}
    used = _used(site, now_us - past_days * DAY_US, now_us)
    last = local_date(then_us, zone)
    found = []
    for pk, s in now.items():
        arriving = sum(d.expected_qty or 0 for d in s.orders if d.due_on is not None and d.due_on <= last)
        goes = used.get(pk, 0)
        likely = outlook.expected(then[pk].usable, arriving, goes, past_days, AHEAD_DAYS)
        if s.usable or then[pk].usable or arriving or goes:
            found.append(Outlook(s.material, s.usable, then[pk].usable, arriving, goes, likely))
    return found


def _put_back(site: int, now_us: int) -> Callable[[fold.State], fold.State]:
    """The state of a thing once its planned return has happened; an overdue one goes back now."""
    ceilings = dict(Location.objects.filter(site=site).values_list("pk", "storage__high_mc"))

    def supposed(state: fold.State) -> fold.State:
        if state.back is None or state.home not in ceilings or state.last is None:
            return state
        at, high = max(state.back, now_us, state.last[0] + 1), ceilings[state.home]
        step = fold.Step((at, RANK["move"], 0, 0, ""), "move", location=state.home, ceiling=UNKNOWN_MC if high is None else high)
        return fold.apply(state, step)

    return supposed


def _used(site: int, from_us: int, to_us: int) -> dict[int, int]:
    legs = Leg.objects.filter(
        act__site=site, act__kind__in=USED_BY, act__voided_by__isnull=True, act__happened_us__gt=from_us, act__happened_us__lte=to_us,
        delta__lt=0, item__material__isnull=False, item__unit=F("item__material__unit"),
    ).exclude(item__kind__in=MADE_HERE)  # fmt: skip
    return {m: -total for m, total in legs.values_list("item__material").annotate(total=Sum("delta"))}


# --- what was lost ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Loss:
    """What was lost of one material for one cause. `ug`: its nominal mass, None where nothing says what it weighs."""

    cause: str
    what: str
    unit: str
    qty: int
    times: int
    ug: int | None


OFFCUT, BOOK = say("left over in cutting"), say("book corrected")


def losses(site: int, from_us: int, to_us: int) -> list[Loss]:
    """Scrapped, by the reason that was given; what cutting left over; and what was missing when the book was put right. By cause and
    material, the heaviest first; what has no mass comes last."""
    sums: dict[tuple[str, str, str], tuple[int, int, int | None]] = {}
    for cause, material, name, unit, qty in (*_scrapped(site, from_us, to_us), *_cut(site, from_us, to_us)):
        before = sums.get((cause, name, unit), (0, 0, 0))
        mass = _mass(material, unit, qty)
        total = None if before[2] is None or mass is None else before[2] + mass
        sums[cause, name, unit] = (before[0] + qty, before[1] + 1, total)
    found = [Loss(cause, what, unit, qty, times, ug) for (cause, what, unit), (qty, times, ug) in sums.items()]
    return sorted(found, key=lambda x: (x.ug is None, -(x.ug or 0), x.cause, x.what))


_Lost = tuple[str, Material | None, str, str, int]


def _legs(site: int, kinds: Sequence[str], from_us: int, to_us: int) -> Iterator[Leg]:
    rows = Leg.objects.filter(act__site=site, act__kind__in=kinds, act__voided_by__isnull=True)
    rows = rows.filter(act__happened_us__gt=from_us, act__happened_us__lte=to_us, delta__lt=0)
    yield from rows.select_related("act", "item__material").order_by("pk")


def _scrapped(site: int, from_us: int, to_us: int) -> Iterator[_Lost]:
    for leg in _legs(site, ("scrap", "adjust"), from_us, to_us):
        item = leg.item
        if item.kind in ("part", "assembly"):
            continue  # what is in it was counted when it went in
        cause = BOOK if leg.act.kind == "adjust" else leg.act.reason.strip().casefold()
        name = item.material.code if item.material else say("mixed resin")
        yield cause, item.material, name, item.unit, -leg.delta


def _cut(site: int, from_us: int, to_us: int) -> Iterator[_Lost]:
    for leg in _legs(site, ("cut",), from_us, to_us):
        waste = json.loads(leg.act.body).get("waste_um", 0)
        if waste and leg.item.material:
            yield OFFCUT, leg.item.material, leg.item.material.code, "um", waste


def _mass(material: Material | None, unit: str, qty: int) -> int | None:
    """Nominal mass in µg; None where the material does not say what it weighs."""
    if unit == "ug":
        return qty
    if material is None:
        return None
    try:
        return round(convert(qty, unit, "ug", replace(props_of(material, "ug"), unit="ug")))
    except BadInput:
        return None


# --- the cold -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Cold:
    """How many things stood in each freezer at each instant."""

    instants: tuple[int, ...]
    counts: dict[str, list[int]]


def freezers(site: int, now_us: int, days: int) -> Cold:
    """A count for each day, up to now. Records as they stand, voided ones left out."""
    places = dict(Location.objects.filter(site=site, kind="freezer").order_by("code").values_list("pk", "code"))
    instants = tuple(now_us - n * DAY_US for n in range(days, -1, -1))
    things = Leg.objects.filter(location__in=places, item__site=site).values("item")
    legs = Leg.objects.filter(item__in=things, act__voided_by__isnull=True, act__happened_us__lte=now_us).exclude(act__kind__in=("void",))
    rows = legs.order_by("act__happened_us", "act__rank", "act__device", "act__device_seq", "seq")
    moves = _moves(rows.values_list("item", "act__happened_us", "location", "delta", "counted", "act__kind"))
    found = outlook.occupancy(outlook.stays(moves), places, instants)
    return Cold(instants, {code: found[pk] for pk, code in places.items()})


_ENDS = ("scrap", "return", "ship", "sell")


def _moves(rows: Iterable[tuple[int, int, int | None, int, int | None, str]]) -> Iterator[tuple[int, int, int | None]]:
    """A thing moves where a record says so, and is gone when nothing is left of it."""
    left: dict[int, int] = defaultdict(int)
    for item, at, place, delta, counted, kind in rows:
        left[item] = counted if counted is not None else left[item] + delta
        if left[item] <= 0 and (delta < 0 or counted == 0 or kind in _ENDS):
            yield item, at, None
        elif place is not None:
            yield item, at, place
