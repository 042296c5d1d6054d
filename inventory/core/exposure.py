"""What an item has lived through, as exact integers: the quantity that every life limit is judged on.

An exposure holds no limits and no verdict. It grows with time in every component, so one exposure that is at least
as large as another in each component can never be fresher, which is what makes pruning safe.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

UNKNOWN_MC = 999_999_000
"""Ceiling of a place whose temperature nobody knows: hotter than every threshold (unknown counts as out)."""

FROZEN_MC = 0
"""A place whose band ends at or below 0 °C keeps things frozen; leaving it starts a thaw (R15)."""

Spent = tuple[tuple[int, int], ...]
"""Time spent by storage ceiling: ((ceiling in milli-°C, µs), …), sorted, without zeros."""


def add_spent(a: Spent, b: Spent, sign: int = 1) -> Spent:
    """a + sign·b, ceiling by ceiling."""
    if not b:
        return a
    total = dict(a)
    for ceiling, us in b:
        total[ceiling] = total.get(ceiling, 0) + sign * us
    if 0 in total.values():
        total = {c: us for c, us in total.items() if us}
    return tuple(sorted(total.items()))


def _earliest(a: int | None, b: int | None) -> int | None:
    return b if a is None else a if b is None else min(a, b)


def _latest(a: int | None, b: int | None) -> int | None:
    return b if a is None else a if b is None else max(a, b)


@dataclass(frozen=True, slots=True)
class Exposure:
    """Exposure of material from one life source (a lot). As a *strand* of an item it is an offset to that item's own
    exposure, so that it needs no update while the item lives on (R10, R11)."""

    source: int
    spent: Spent = ()
    cycles: int = 0
    heats: int = 0
    received_us: int | None = None
    opened_us: int | None = None
    dried_us: int | None = None
    unknown: bool = False

    def plus(self, own: Exposure) -> Exposure:
        """This offset on top of an item's own exposure: the total."""
        return Exposure(
            self.source,
            add_spent(self.spent, own.spent),
            self.cycles + own.cycles,
            self.heats + own.heats,
            _earliest(self.received_us, own.received_us),
            _earliest(self.opened_us, own.opened_us),
            _latest(self.dried_us, own.dried_us),
            self.unknown or own.unknown,
        )

    def offset_from(self, own: Exposure) -> Exposure:
        """The offset that gives this total again when added to `own` now."""
        return Exposure(
            self.source,
            add_spent(self.spent, own.spent, -1),
            self.cycles - own.cycles,
            self.heats - own.heats,
            self.received_us,
            self.opened_us,
            self.dried_us,
            self.unknown,
        )

    def dominates(self, other: Exposure) -> bool:
        """At least as old as `other` in every component, so `other` can never be the one that ends first."""
        if self.source != other.source or self.unknown < other.unknown:
            return False
        if self.cycles < other.cycles or self.heats < other.heats:
            return False
        mine, theirs = dict(self.spent), dict(other.spent)
        if any(mine.get(c, 0) < theirs.get(c, 0) for c in mine.keys() | theirs.keys()):
            return False
        return (
            (self.received_us is None) == (other.received_us is None)  # an unknown receipt reads as over: keep both
            and _not_later(self.received_us, other.received_us)
            and _not_later(self.opened_us, other.opened_us)
            and self.dried_us == other.dried_us  # never dried and dried early are both worse than dried late: keep both
        )

    def to_doc(self) -> list[Any]:
        return [
            self.source,
            [[c, us] for c, us in self.spent],
            self.cycles,
            self.heats,
            self.received_us,
            self.opened_us,
            self.dried_us,
            int(self.unknown),
        ]

    @staticmethod
    def from_doc(doc: list[Any]) -> Exposure:
        return Exposure(doc[0], tuple((c, us) for c, us in doc[1]), doc[2], doc[3], doc[4], doc[5], doc[6], bool(doc[7]))


def _not_later(a: int | None, b: int | None) -> bool:
    """a happened no later than b; something that never happened is the freshest."""
    return b is None or (a is not None and a <= b)


def prune(strands: Iterable[Exposure]) -> tuple[Exposure, ...]:
    """Drop strands that another one of the same source dominates; a canonical order, so that equal sets are equal."""
    some = set(strands)
    if len(some) < 2:
        return tuple(some)
    kept: list[Exposure] = []
    for strand in sorted(some, key=lambda s: str(s.to_doc())):
        if any(k.dominates(strand) for k in kept):
            continue
        kept = [k for k in kept if not strand.dominates(k)] + [strand]
    return tuple(sorted(kept, key=lambda s: str(s.to_doc())))
