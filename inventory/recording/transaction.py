"""One recording in progress: what was read under the lock, and what is to be written."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.core import fold
from inventory.core.fold import State
from inventory.core.limits import Source
from inventory.models import Edge, Extension, Item, ItemState, Leg

from .claims import Who, canonical
from .facts import load_sources
from .use import Facts, Judging, ends_of


@dataclass
class Entry:
    """An item under this transaction: its facts, its state, and its next sequence number."""

    facts: Facts
    state: State
    head: int
    unit: str
    row: Item
    changed: bool = False
    stale: bool = False  # a record went in before its newest one: refold


@dataclass
class Transaction:
    """Handed to checks and effects: `entry(id)` for states, `who`, `now_us`, `judging()`; writes go through `recording`."""

    who: Who
    now_us: int
    exclusive: bool
    entries: dict[int, Entry] = field(default_factory=dict)
    sources: dict[int, Source] = field(default_factory=dict)
    extended: dict[tuple[int, int, str], int] = field(default_factory=dict)
    happened_us: int = 0
    names: dict[str, int] = field(default_factory=dict)
    edges_written: list[Edge] = field(default_factory=list)
    legs_written: list[Leg] = field(default_factory=list)
    to_refold: set[int] = field(default_factory=set)

    # --- reading -------------------------------------------------------------------------------

    def load(self, ids: Iterable[int], lock: bool = True) -> None:
        """Read states (locked, in primary-key order, in one statement) of items not read yet, with what judging needs."""
        wanted = sorted(set(ids) - self.entries.keys())
        if not wanted:
            return
        rows = ItemState.objects.filter(pk__in=wanted).order_by("pk")
        if lock:
            rows = rows.select_for_update()
        states = {row.pk: row for row in rows}
        for item in Item.objects.filter(pk__in=wanted).select_related("material"):
            row = states.get(item.pk)
            state = fold.from_doc(json.loads(row.doc)) if row else State()
            self.entries[item.pk] = Entry(facts_of(item), state, row.head if row else 0, item.unit, item)
        self.need_sources(s.source for i in wanted if i in self.entries for s in self.entries[i].state.strands)
        self.find_extensions(wanted)

    def entry(self, item: int) -> Entry:
        if item not in self.entries:
            self.load([item])
        return self.entries[item]

    def state(self, item: int) -> State:
        return self.entry(item).state

    def need_sources(self, lots: Iterable[int]) -> None:
        missing = set(lots) - self.sources.keys()
        if missing:
            self.sources.update(load_sources(missing))

    def find_extensions(self, items: Sequence[int]) -> None:
        """Extensions at the items or above them. Few lots ever have one, so the walk is made only where one exists."""
        lots = {s.source for i in items if i in self.entries for s in self.entries[i].state.strands}
        rows = list(Extension.objects.filter(item__lot__in=lots)) + list(Extension.objects.filter(item__in=lots)) if lots else []
        if not rows:
            return
        from inventory.lineage import up_ids

        for item in items:
            above = set(up_ids([item])) | {item}
            for row in rows:
                if row.item_id in above:
                    key = (item, row.item.lot_id or row.item_id, row.limit)
                    self.extended[key] = max(self.extended.get(key, 0), row.until_us)

    def judging(self) -> Judging:
        return Judging(self.who.zone, self.sources, self.extended)

    # --- writing -------------------------------------------------------------------------------

    def adopt(self, item: Item) -> Entry:
        """An item that was just brought into being."""
        entry = Entry(facts_of(item), State(), 0, item.unit, item, changed=True)
        self.entries[item.pk] = entry
        return entry

    def save_states(self) -> None:
        """Write every changed state in one statement."""
        judging = self.judging()
        rows = [state_row(e, judging) for _, e in sorted(self.entries.items()) if e.changed]
        if rows:
            ItemState.objects.bulk_create(
                rows, update_conflicts=True, unique_fields=["item"], update_fields=[*STATE_FIELDS], batch_size=500
            )
        for entry in self.entries.values():
            entry.changed = False


STATE_FIELDS = (
    "head", "qty", "overdrawn", "location", "ceiling_mc", "since_us", "gone", "back_us", "ends_us", "governs", "due_us", "last", "doc",
)  # fmt: skip

NOTICE_US = 7 * 86_400_000_000
"""People hear of an end this long before it."""


def state_row(entry: Entry, judging: Judging) -> ItemState:
    """The stored form of a state. What is searched for is repeated in columns; `doc` is the whole."""
    state = entry.state
    ends, governs = ends_of(entry.facts, state, judging)
    live = state.qty != 0 and not state.gone
    due = [t for t in (ends - NOTICE_US if ends is not None and live else None, state.back if live else None) if t is not None]
    return ItemState(
        item_id=entry.facts.id,
        head=entry.head,
        qty=state.qty,
        overdrawn=state.overdrawn,
        location_id=state.location,
        ceiling_mc=state.ceiling,
        since_us=state.since,
        gone=state.gone,
        back_us=state.back if live else None,
        ends_us=ends if live else None,
        governs=governs if live else "",
        due_us=min(due) if due else None,
        last=canonical(list(state.last)) if state.last else "",
        doc=canonical(fold.to_doc(state)),
    )


def facts_of(item: Item) -> Facts:
    m = item.material
    return Facts(
        id=item.pk,
        kind=item.kind,
        name=item.mark or item.code,
        material=item.material_id,
        thaw_roll_us=m.thaw_roll_us if m else 0,
        thaw_piece_us=m.thaw_piece_us if m else 0,
    )


def body_of(text: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(text)
    return loaded
