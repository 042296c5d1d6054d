"""What is on the shelf and what of it can be used: pieces judged now, sums per material, what to fetch, what to buy.

Every read takes `now_us` and asks a number of queries that does not grow with the number of pieces.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import Q

from inventory.core import fold, rollmap
from inventory.core.limits import Reading, governing, judge
from inventory.core.picking import Candidate, Choice, Want, pick
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.tighter import Tighter
from inventory.lineage import open_blocks
from inventory.models import Delivery, Item, ItemState, Material
from inventory.recording import Transaction, Who
from inventory.recording.transaction import facts_of
from inventory.recording.use import Facts, Judging, pot_reasons, readings_at, thaw_of

STOCK_KINDS = ("roll", "spool", "drum", "can", "box", "sheet", "kit", "remnant", "mix", "tank")


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing as it stands at an instant: what it is, how much, where, what speaks against using it, and its limits."""

    item: Item
    state: fold.State
    place: str
    place_code: str
    readings: tuple[Reading, ...]
    against: tuple[Reason, ...]
    thaw_ready_us: int | None
    stored: ItemState

    @property
    def facts(self) -> Facts:
        return facts_of(self.item)

    @property
    def usable(self) -> int:
        """Usable quantity in the item's unit, whatever speaks against using it: without bad metres."""
        qty = max(self.state.qty, 0)
        return rollmap.usable(qty, self.marks) if self.marks else qty

    @property
    def longest(self) -> int:
        return rollmap.longest_clear(max(self.state.qty, 0), self.marks).length_um if self.marks else self.usable

    @property
    def runs(self) -> tuple[int, ...]:
        """Lengths of the stretches without bad metres or splices, from the outer end."""
        return tuple(p.length_um for p in rollmap.clear_pieces(max(self.state.qty, 0), self.marks)) if self.marks else (self.usable,)

    @property
    def marks(self) -> rollmap.Marks:
        return tuple(rollmap.Mark(a, b, kind) for a, b, kind in self.state.marks)

    @property
    def fit(self) -> bool:
        """Nothing speaks against it but a thaw that is still to come."""
        return not self.against and self.usable > 0

    @property
    def governs(self) -> Reading | None:
        return governing(self.readings)


def judging_for(items: Sequence[int], zone: str, now_us: int) -> tuple[Judging, dict[int, fold.State]]:
    """States of items with the lots, limits and extensions that judging them needs; a handful of queries for any number."""
    tx = Transaction(Who(0, zone, 0, 0, ""), now_us, exclusive=True)
    tx.load(items, lock=False)
    return tx.judging(), {i: tx.entries[i].state for i in items if i in tx.entries}


def pieces(
    rows: Iterable[ItemState], zone: str, now_us: int, tighter: Sequence[Tighter] = (),
    supposed: Callable[[fold.State], fold.State] | None = None,
) -> list[Piece]:  # fmt: skip
    """Judge states (with item, material and location selected) as they stand now; `tighter`: for a part with tighter limits;
    `supposed`: what to take for granted that has not happened yet."""
    stored = list(rows)
    ids = [s.item_id for s in stored]
    judging, states = judging_for(ids, zone, now_us)
    judging = judging.tightened(tighter)
    blocked = open_blocks(ids) if ids else {}
    out = []
    for row in stored:
        state, facts = states[row.item_id], facts_of(row.item)
        state = supposed(state) if supposed is not None else state
        readings = tuple(readings_at(facts, state, max(now_us, state.since or now_us), judging))
        thaw = thaw_of(facts, state, now_us)
        against = judge(readings, "cut", judging.moment(facts.id, state, now_us)) + pot_reasons(facts, state, now_us, zone)
        name = str(row.item)
        against += [
            Reason(f"block.{hit.why}", hit.sentence(name, row.item_id), {"block": hit.block}) for hit in blocked.get(row.item_id, ())
        ]
        if state.gone:
            against.append(Reason("stock.gone", say("{name} is {gone}.", name=name, gone=state.gone), {"gone": state.gone}))
        place = row.location
        out.append(
            Piece(
                row.item,
                state,
                place.name if place else say("nowhere yet"),
                place.code if place else "",
                readings,
                tuple(against),
                None if thaw.ready else thaw.ready_at_us,
                row,
            )
        )
    return out


def on_hand(site: int, *wanted: Q, **filters: object) -> list[ItemState]:
    """States of what is in the shop and not used up, newest facts selected with them."""
    return list(
        ItemState.objects.filter(*wanted, item__site=site, gone="", item__kind__in=STOCK_KINDS, **filters)
        .exclude(qty=0)
        .select_related("item__material", "item__owner", "item__lot__batch", "location__storage")
        .order_by("ends_us", "item__mark", "pk")
    )


# --- what to fetch -------------------------------------------------------------------------------


def choose(
    site: int, zone: str, now_us: int, material: Material, amount: int, *, until_us: int | None = None, one_piece: bool = True,
    customer: int | None = None, job: str = "", tighter: Sequence[Tighter] = (),
) -> Choice:  # fmt: skip
    """First expired, first out, among what is fit (R5): with why an older one was passed over."""
    found = pieces(on_hand(site, item__material=material), zone, now_us, tighter)
    mine = [p for p in found if p.item.unit == material.unit and p.item.kind != "lot"]
    candidates = [candidate_of(p, bool(tighter), customer, job, p.thaw_ready_us) for p in mine]
    want = Want(amount, material.unit, now_us, until_us, one_piece and material.unit == "um", zone)
    return pick(candidates, want)


def candidate_of(p: Piece, tightened: bool, customer: int | None, job: str, thaw_ready_us: int | None) -> Candidate:
    return Candidate(
        mark=str(p.item),
        expires_us=_expires(p) if tightened else p.stored.ends_us,
        usable=p.usable,
        longest=p.longest,
        against=(*p.against, *_spoken_for(p, customer, job)),
        thaw_ready_us=thaw_ready_us,
        ref=p,
        frozen=p.state.frozen,
    )


def _expires(p: Piece) -> int | None:
    """The end of what was judged by tighter limits, if it comes before the one that is stored."""
    ends = [us for us in (p.stored.ends_us, p.governs.ends_us if p.governs is not None else None) if us is not None]
    return min(ends) if ends else None


def _spoken_for(p: Piece, customer: int | None, job: str) -> list[Reason]:
    reasons = []
    if p.item.owner_id is not None and p.item.owner_id != customer:
        text = say("{item} belongs to {owner}: only for its jobs.", item=p.item, owner=p.item.owner)
        reasons.append(Reason("owner.other", text, {"owner": p.item.owner_id}))
    if p.state.reserved and p.state.reserved != job:
        reasons.append(
            Reason(
                "reserved.other", say("{item} is kept for {reserved}.", item=p.item, reserved=p.state.reserved), {"job": p.state.reserved}
            )
        )
    return reasons


# --- sums ----------------------------------------------------------------------------------------


@dataclass
class Stock:
    """One material: usable now, not usable and why, on order with the next date, and whether to buy."""

    material: Material
    usable: int = 0
    thawing: int = 0
    blocked: int = 0
    over: int = 0
    owned_by_others: int = 0
    pieces: int = 0
    on_order: int = 0
    due_on: object | None = None
    orders: list[Delivery] = field(default_factory=list)

    @property
    def on_hand(self) -> int:
        return self.usable + self.blocked + self.over + self.owned_by_others

    @property
    def short(self) -> bool:
        return self.material.reorder_at is not None and self.usable < self.material.reorder_at

    @property
    def to_buy(self) -> bool:
        """Below its reorder point, counting what is ordered already (R38)."""
        return self.short and self.usable + self.on_order < (self.material.reorder_at or 0)


def usable_now(site: int, zone: str, now_us: int) -> list[Stock]:
    """How much usable stock of each material there is. Kits, remnants and mixes are spoken for and do not count."""
    return sums(site, pieces([s for s in on_hand(site) if counts(s)], zone, now_us))


def counts(row: ItemState) -> bool:
    """Stock, as against what was cut or mixed for something."""
    return row.item.kind not in ("kit", "mix") and row.item.material is not None and row.item.unit == row.item.material.unit


def sums(site: int, judged: Iterable[Piece]) -> list[Stock]:
    """The sums over pieces that were judged already, one for each material, and what is on order."""
    out: dict[int, Stock] = {m.pk: Stock(m) for m in Material.objects.all()}
    for p in judged:
        if not counts(p.stored):
            continue
        stock = out[p.item.material_id or 0]
        stock.pieces += 1
        if any(r.code.startswith("life.") for r in p.against):
            stock.over += p.usable
        elif p.against:
            stock.blocked += p.usable
        elif p.item.owner_id is not None:
            stock.owned_by_others += p.usable
        else:
            stock.usable += p.usable
            stock.thawing += p.usable if p.thaw_ready_us is not None and not p.state.frozen else 0
    for d in Delivery.objects.filter(site=site, arrived_us__isnull=True, cancelled_us__isnull=True).order_by("due_on", "pk"):
        stock = out[d.material_id]
        stock.on_order += d.expected_qty or 0
        stock.orders.append(d)
        stock.due_on = stock.due_on or d.due_on
    return sorted(out.values(), key=lambda s: s.material.code)


def in_places(site: int, zone: str, now_us: int) -> dict[str, list[Piece]]:
    """What is in each place."""
    out: dict[str, list[Piece]] = defaultdict(list)
    for p in pieces(on_hand(site), zone, now_us):
        out[p.place].append(p)
    return dict(out)


def history(item: int, limit: int = 200) -> list[dict[str, object]]:
    """What happened to one thing, newest first: facts, not judgements."""
    from inventory.models import Leg

    rows = (
        Leg.objects.filter(item=item)
        .select_related("act__person", "act__device", "location", "act__voided_by")
        .order_by("-act__happened_us", "-seq")
    )
    return [
        {
            "leg": leg,
            "act": leg.act,
            "body": json.loads(leg.act.body),
            "place": leg.location,
            "void": getattr(leg.act, "voided_by", None),
        }
        for leg in rows[:limit]
    ]
