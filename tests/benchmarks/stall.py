"""SQLite: the worst stall of 8 concurrent scanners, processes of their own, each scan a whole move. Limit: 100 ms."""

from __future__ import annotations

import multiprocessing
import statistics
import time
import uuid
from typing import Any

from django.db import connection

from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from tests.benchmarks import shop
from tests.benchmarks.ground import say

SCANNERS, SCANS, PAUSE_S = 8, 60, 0.25


def scanner(n: int, code: str, who: Any, start: Any, out: Any) -> None:
    """A person who scans a few times a second: the time from the scan to its receipt."""
    connection.close()
    waits = []
    start.wait()
    time.sleep(n * PAUSE_S / SCANNERS)
    for i in range(SCANS):
        call = Call(who, shop.NOW + shop.HOUR + (i * SCANNERS + n) * 1000, uuid.uuid4())
        begun = time.perf_counter()
        perform("move", call, Move(code, "DRY" if i % 2 else "BAY1"))
        waits.append(time.perf_counter() - begun)
        time.sleep(PAUSE_S)
    out.put(waits)


def main() -> None:
    y = shop.yard()
    codes = [roll.code for roll in shop.rolls(y, SCANNERS)]
    connection.close()
    context = multiprocessing.get_context("fork")
    start, out = context.Event(), context.Queue()
    who = y.who("Ines")
    people = [context.Process(target=scanner, args=(n, codes[n], who, start, out)) for n in range(SCANNERS)]
    for person in people:
        person.start()
    start.set()
    waits = sorted(w for _ in people for w in out.get(timeout=300))
    for person in people:
        person.join()
    worst, middle = waits[-1] * 1000, statistics.median(waits) * 1000
    p99 = waits[int(len(waits) * 0.99)] * 1000
    found = f"worst {worst:.0f} ms, p99 {p99:.0f} ms, median {middle:.0f} ms"
    say("stall", f"{SCANNERS} scanners, {len(waits)} scans", found, "worst under 100 ms", worst < 100)
