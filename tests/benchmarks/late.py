"""Late truth through 27, 250 and 25 000 things below, each in one transaction."""

from __future__ import annotations

import uuid

from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from tests.benchmarks import shop
from tests.benchmarks.ground import say, timed


def main() -> None:
    y = shop.yard()
    sizes = (27, 250, 25_000)
    made = shop.rolls(y, len(sizes))
    for roll, size in zip(made, sizes, strict=True):
        shop.below(y, roll, size)
        runs = []
        for n in range(3 if size > 1000 else 7):
            place = "DRY" if n % 2 else "RACK"
            call = Call(y.who("Ines"), shop.NOW + 40 * shop.HOUR + n, uuid.uuid4(), "observed", shop.NOW + 60_000_000 + n)
            runs.append(timed(lambda c=call, r=roll, p=place: perform("move", c, Move(r.code, p))))
        runs.sort()
        middle, best = runs[len(runs) // 2] * 1000, runs[0] * 1000
        say("late", f"a late move, {size:,} things below", f"{middle:.0f} ms, best {best:.0f} ms of {len(runs)}", "one transaction")
