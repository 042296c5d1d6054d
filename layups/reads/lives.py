"""How much life is left in things: every limit of everything in them, read at an instant (R8), in a few queries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.limits import Reading
from inventory.core.tighter import Tighter
from inventory.recording import Transaction, Who
from inventory.recording.use import readings_at


@dataclass(frozen=True, slots=True)
class Life:
    """One limit as it stands: used, allowed and left in the clock's own unit (µs, or a count); `ends_us` is when it will
    be over if the thing stays where it is; `by`: who tightened it."""

    source: int
    label: str
    limit: str
    clock: str
    checkpoint: str
    over: bool
    used: int | None
    allowed: int | None
    left: int | None
    ends_us: int | None
    missing: str = ""
    by: str = ""

    def to_json(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__dataclass_fields__}


def lives_of(
    zone: str, items: Iterable[int], at_us: int, checkpoints: tuple[str, ...] = (), tighter: Sequence[Tighter] = ()
) -> dict[int, list[Life]]:
    """The limits of each item, the one that ends first before the others; only those judged at `checkpoints`, if given.
    `zone` is the site's; `tighter`: by limits that a customer or a design tightens."""
    tx = Transaction(Who(0, zone, 0, 0, ""), at_us, False)
    ids = list(dict.fromkeys(items))
    tx.load(ids, lock=False)
    return {item: lives_in(tx, item, at_us, checkpoints, tighter) for item in ids}


def lives_in(tx: Transaction, item: int, at_us: int, checkpoints: tuple[str, ...] = (), tighter: Sequence[Tighter] = ()) -> list[Life]:
    """The same of one item that a transaction has read."""
    entry = tx.entries.get(item)
    if entry is None or entry.state.since is None:
        return []
    readings = readings_at(entry.facts, entry.state, max(at_us, entry.state.since), tx.judging().tightened(tighter))
    wanted = [r for r in readings if not checkpoints or r.limit.checkpoint in checkpoints]
    return sorted({_life(r) for r in wanted}, key=_urgency)


def _life(r: Reading) -> Life:
    return Life(
        source=r.source.id,
        label=r.source.label,
        limit=r.limit.name,
        clock=r.limit.clock,
        checkpoint=r.limit.checkpoint,
        over=r.over,
        used=r.used,
        allowed=r.allowed,
        left=r.left,
        ends_us=r.ends_us,
        missing=r.missing,
        by=r.limit.by,
    )


def _urgency(life: Life) -> tuple[bool, bool, int, str, int]:
    return not life.over, life.ends_us is None, life.ends_us or 0, life.limit, life.source
