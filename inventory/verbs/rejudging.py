"""What a decision changes for everything made of a thing: its old uses are judged again, with what is decided now."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.recording import Transaction
from inventory.recording.propagate import propagate


def rejudge(tx: Transaction, items: Sequence[int]) -> None:
    """Read extensions anew, and judge every use of these items by them. The gate must be held
    alone."""
    ids = set(items)
    tx.load(ids)
    tx.extended = {key: end for key, end in tx.extended.items() if key[0] not in ids}
    tx.find_extensions(sorted(ids))
    propagate(tx, ids)
