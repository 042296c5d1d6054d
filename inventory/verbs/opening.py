"""Opening stock (R36): what stood there before the records began, entered honestly.

Unknown history is not zero: a piece whose out time nobody knows is entered as such, and may be used only after quality has
given it a starting value (`baseline`) and released it."""

from __future__ import annotations

from inventory.core.said import say

from .arrivals import read_stock
from .papers import OpenStock
from .receiving import bring_in
from .registry import OWNER, QUALITY, STOREKEEPER, Call, Outcome, verb

__all__ = ["OpenStock", "open_stock"]


@verb("open_stock", OpenStock, (STOREKEEPER, QUALITY, OWNER), say("Enter opening stock"))
def open_stock(call: Call, p: OpenStock) -> Outcome:
    return bring_in(call, p, "open_stock", lambda rows: [read_stock(call, p, rows)])
