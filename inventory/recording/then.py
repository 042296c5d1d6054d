"""What things were like when something happened that is told late: an old use is judged by what was true of it then, not by
what has become of things since (R12, R34)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from inventory.core import fold

from .propagate import histories
from .transaction import Transaction


@contextmanager
def as_it_was(tx: Transaction, items: Iterable[int | str], key: fold.Key) -> Iterator[None]:
    """Within this, the state of each item that has newer records than `key` is the one it had just before it. (An
    intention is of now, and asks for nothing here.)"""
    late = [i for i in items if isinstance(i, int) and key <= (tx.state(i).last or ())]
    now = {i: tx.state(i) for i in late}
    if late:
        for item, steps, _ in histories(tx, late):
            tx.entry(item).state, _ = fold.fold(s for s in steps if s.key < key)
            tx.need_sources(s.source for s in tx.state(item).strands)
    try:
        yield
    finally:
        for item, state in now.items():
            tx.entry(item).state = state
