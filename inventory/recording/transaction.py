"""One recording in progress: what was read under the lock, and what is to be written."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.core import fold
from inventory.core.fold import State
from inventory.core.limits import Source
from inventory.models import Edge, Item, ItemState, Leg

from . import rows
from .claims import Who, canonical
from .facts import sources_of_lots
from .use import Facts, Judging, ends_of


@dataclass
class Entry:
    """An item under this transaction: its facts, its state, and its next sequence number."""

    facts: Facts
    state: State
    head: int
    unit: str
    lot: int | None = None
    changed: bool = False

    @property
    def row(self) -> Item:
        """The item's own row: for the few rules that need more of it than judging does."""
        return rows.row_of(self.facts.id)


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
    lots_born: bool = False

    # --- reading -------------------------------------------------------------------------------

    def load(self, ids: Iterable[int], lock: bool = True) -> None:
        """Read states (locked, in primary-key order, in one statement) of items not read yet, with what judging needs."""
        wanted = sorted(set(ids) - self.entries.keys())
        if not wanted:
            return
        lock = lock and not self.exclusive
        step = rows.TOGETHER if lock else len(wanted)
        for i in range(0, len(wanted), step):
            for facts, state, head, unit, lot in rows.load(wanted[i : i + step], lock):
                self.entries[facts.id] = Entry(facts, state, head, unit, lot)
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
            self.sources.update(sources_of_lots(missing, self.lots_born))

    def find_extensions(self, items: Sequence[int]) -> None:
        """Extensions at the items or above them. Few lots ever have one, so the walk is made only where one exists."""
        lots = {s.source for i in items if i in self.entries for s in self.entries[i].state.strands}
        if not lots:
            return
        found = rows.extensions(lots)
        if not found:
            return
        from inventory.lineage import up_ids

        for item in items:
            above = set(up_ids([item])) | {item}
            for at, lot, limit, until_us in found:
                if at in above:
                    key = (item, lot, limit)
                    self.extended[key] = max(self.extended.get(key, 0), until_us)

    def judging(self) -> Judging:
        return Judging(self.who.zone, self.sources, self.extended)

    # --- writing -------------------------------------------------------------------------------

    def adopt(self, item: Item) -> Entry:
        """An item that was just brought into being, or whose birth has just arrived: it keeps what it lived through."""
        if item.pk in self.to_refold:
            self.load([item.pk])
        before = self.entries.get(item.pk)
        state, head = (before.state, before.head) if before is not None else (State(), 0)
        entry = Entry(facts_of(item), state, head, item.unit, item.lot_id, changed=True)
        self.entries[item.pk] = entry
        self.lots_born = self.lots_born or item.kind == "lot"
        return entry

    def save_states(self) -> None:
        """Write every changed state in one statement."""
        judging = self.judging()
        rows.upsert_states([state_row(e, judging) for _, e in sorted(self.entries.items()) if e.changed])
        for entry in self.entries.values():
            entry.changed = False


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
        stub=item.stub,
    )


def body_of(text: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(text)
    return loaded
