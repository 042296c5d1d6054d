"""What a tablet takes along into the cold store: the things that are there, in a form that stays true while time passes.

No row says "good" or "over": it gives ends and what is left, and who holds the row judges by their clock. So rows change only
when something is recorded, and a difference is what records since then have touched. Instants and durations are in ms, cut off
and not rounded: an end is rather told a little too early.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.core.fold import State
from inventory.core.limits import BINDS, Reading
from inventory.core.lives import spoken
from inventory.core.said import say
from inventory.core.units import display
from inventory.lineage import among, open_blocks
from inventory.models import Customer, Finding, Item, ItemCode, ItemState, Leg, LifeLimit, Location, Material
from inventory.recording.facts import limit_of
from inventory.recording.transaction import facts_of
from inventory.recording.use import WHOLE_PIECES, Judging, readings_at

from .stock import STOCK_KINDS, judging_for

Row = dict[str, Any]
_LIMIT = ("name", "clock", "checkpoint", "months", "limit_us", "limit_n", "threshold_mc", "fractions", "ladder", "unopened_only")


def things(stored: Sequence[ItemState], zone: str, now_us: int) -> list[Row]:
    """Rows of things on hand (with item, material, owner, lot and place selected), in a number of queries that does not grow
    with them."""
    ids = [s.item_id for s in stored]
    if not ids:
        return []
    judging, states = judging_for(ids, zone, now_us)
    blocked, found, more = open_blocks(ids), _findings(ids), _further(ids)
    jobs, numbers = _jobs(stored), _numbers()
    return [
        _thing(s, states[s.item_id], judging, now_us, numbers)
        | _if(against=[[hit.why, hit.sentence(str(s.item), s.item_id)] for hit in blocked.get(s.item_id, ())])
        | _if(notes=found.get(s.item_id), also=more.get(s.item_id))
        | ({} if states[s.item_id].reserved else jobs.get(s.item_id, {}))
        for s in stored
    ]


def _thing(row: ItemState, state: State, judging: Judging, now_us: int, numbers: Mapping[Any, int]) -> Row:
    item, facts = row.item, facts_of(row.item)
    out: Row = {"code": item.code, "kind": item.kind, "qty": state.qty, "unit": item.unit, "text": display(state.qty, item.unit)}
    out |= _if(mark=item.mark, material=item.material.code if item.material else "", place=row.location.code if row.location else "")
    out |= _if(lot=item.lot.batch.number if item.lot and hasattr(item.lot, "batch") else "", owner=str(item.owner or ""))
    out |= _if(job=state.reserved, stub=item.stub, frozen=state.frozen, warm_ms=_ms(state.thaw_from), stop_ms=_ms(state.stop))
    out |= _if(bag=state.thaw_from is not None and (state.dry is None or state.dry < state.thaw_from))
    binds = ("used",) if item.kind == "mix" else BINDS["cut"]
    at_us = max(now_us, state.since or now_us)
    readings = [r for r in readings_at(facts, state, at_us, judging) if r.limit.checkpoint in binds]
    return out | _if(lives=_lives(readings, numbers))


def _if(**fields: Any) -> Row:
    """The fields that say something."""
    return {name: value for name, value in fields.items() if value not in (None, "", False, [])}


def _ms(us: int | None) -> int | None:
    return None if us is None else us // 1000


def _lives(readings: Iterable[Reading], numbers: Mapping[Any, int]) -> list[list[Any]]:
    """[number of the limit, end, left, why it is over whatever the clock says]; the worst of each limit and lot. `left` is
    given where no end is: its clock stands still here, and begins to run again elsewhere."""
    worst: dict[tuple[int, int], list[Any]] = {}
    for r in readings:
        said = r.missing or (
            say("{used} of {allowed}", used=r.used, allowed=r.allowed) if r.over and r.ends_us is None and r.used is not None else ""
        )
        number = numbers.get(_key(r.limit), 0)
        left = r.left // 1000 if r.ends_us is None and r.left is not None and r.limit.clock == "above" else None
        if r.ends_us is None and left is None and not said:
            continue  # nothing runs towards it: counted from opening, and not open yet
        entry = [number, _ms(r.ends_us), left, said]
        key = (number, r.source.id)
        if key not in worst or _sooner(entry, worst[key]):
            worst[key] = entry
    return [_trim(e) for e in sorted(worst.values(), key=lambda e: (e[0], e[1] or 0))]


def _sooner(a: list[Any], b: list[Any]) -> bool:
    def when(e: list[Any]) -> tuple[bool, int, int]:
        return not e[3], e[1] if e[1] is not None else 2**60, e[2] if e[2] is not None else 2**60

    return when(a) < when(b)


def _trim(entry: list[Any]) -> list[Any]:
    while entry[-1] in (None, ""):
        entry.pop()
    return entry


# --- beside the state -----------------------------------------------------------------------------


def _findings(ids: list[int]) -> dict[int, list[str]]:
    """Open findings on the thing itself: to be seen, they do not stop a use."""
    out: dict[int, list[str]] = defaultdict(list)
    rows = Finding.objects.filter(item__in=among(ids), closed_us__isnull=True).order_by("pk")
    for item, text in rows.values_list("item_id", "text"):
        out[item].append(text)
    return out


def _further(ids: list[int]) -> dict[int, list[str]]:
    out: dict[int, list[str]] = defaultdict(list)
    for item, code in ItemCode.objects.filter(item__in=among(ids)).order_by("pk").values_list("item_id", "code"):
        out[item].append(code)
    return out


def _jobs(stored: Iterable[ItemState]) -> dict[int, Row]:
    """The job and the plies that kits and sheets were cut for."""
    cut = [s.item_id for s in stored if s.item.kind in ("kit", "sheet")]
    out: dict[int, Row] = {}
    if not cut:
        return out
    legs = Leg.objects.filter(item__in=among(cut), act__kind="cut", delta__gt=0).order_by("item", "seq")
    for item, body in legs.values_list("item_id", "act__body"):
        said = json.loads(body)
        out.setdefault(item, _if(job=str(said.get("job", "")), plies=[int(seq) for seq in said.get("plies", ())]))
    return out


# --- what all rows share --------------------------------------------------------------------------


def _key(limit: Any) -> tuple[Any, ...]:
    return tuple(getattr(limit, name) for name in _LIMIT)


def _numbers() -> dict[tuple[Any, ...], int]:
    """The number of each limit; equal ones of several specifications share the first."""
    out: dict[tuple[Any, ...], int] = {}
    for row in LifeLimit.objects.order_by("pk"):
        out.setdefault(_key(limit_of(row)), row.pk)
    return out


def limits() -> dict[str, list[Any]]:
    """{number: [name in a sentence, clock, checkpoint, threshold in m°C, allowed in ms]}. 0: what has no limits entered."""
    out: dict[str, list[Any]] = {"0": ["life", "unstated", "used", None, None]}
    for key, number in _numbers().items():
        name, clock, checkpoint, _, limit_us, _, threshold_mc = key[:7]
        out[str(number)] = [spoken(name, first=True), clock, checkpoint, threshold_mc, _ms(limit_us)]
    return out


def materials() -> dict[str, list[Any]]:
    """{code: [name, thaw of a whole piece in ms, thaw of a cut one in ms, followed by, hazard, kept above, kept below in m°C]}"""
    rows = Material.objects.order_by("code").values_list(
        "code", "name", "thaw_roll_us", "thaw_piece_us", "grade", "hazard", "min_store_mc", "max_store_mc"
    )
    return {code: [name, roll // 1000, piece // 1000, *rest] for code, name, roll, piece, *rest in rows}


def places(site: int) -> dict[str, list[Any]]:
    """{code: [name, kind, upper end of its band in m°C or None, lower end, accepts, refuses, most µg]} of the places in use."""
    rows = Location.objects.filter(site=site, retired_us__isnull=True).order_by("code")
    told = rows.values_list("code", "name", "kind", "storage__high_mc", "storage__low_mc", "accepts", "refuses", "max_ug")
    return {code: rest for code, *rest in told}


def customers() -> list[str]:
    return list(Customer.objects.order_by("pk").values_list("name", flat=True))


def whole() -> list[str]:
    """Kinds that are thawed as a whole."""
    return sorted(WHOLE_PIECES)


# --- which things ---------------------------------------------------------------------------------


def on_shelf(site: int, kinds: Sequence[str], after: int, among_ids: Iterable[int] | None, size: int) -> list[ItemState]:
    """States of what is there, in order of id, from after one on; of some things only, if they are given."""
    rows = ItemState.objects.filter(item__site=site, gone="", item__kind__in=kinds, pk__gt=after).exclude(qty=0)
    if among_ids is not None:
        rows = rows.filter(pk__in=among(among_ids))
    return list(rows.select_related("item__material", "item__owner", "item__lot__batch", "location").order_by("pk")[:size])


def ids_on_shelf(site: int, kinds: Sequence[str], ids: Iterable[int]) -> set[int]:
    rows = ItemState.objects.filter(item__site=site, gone="", item__kind__in=kinds, pk__in=among(ids)).exclude(qty=0)
    return set(rows.values_list("pk", flat=True))


def not_there(site: int, kinds: Sequence[str], ids: Iterable[int], there: Iterable[int]) -> list[list[str]]:
    """[code, what is written on it, what became of it] of those that are not on the shelf any more."""
    rows = Item.objects.filter(site=site, kind__in=kinds, pk__in=among(set(ids) - set(there)), state__isnull=False).order_by("pk")
    return [[code, mark, gone or say("used up")] for code, mark, gone in rows.values_list("code", "mark", "state__gone")]


KINDS = STOCK_KINDS
