"""Two people and the last metre; a hold and a use in the same instant; the same scan from two tablets at once.

Threads with connections of their own against the real locks: the queue of writers on SQLite, row and advisory locks on
PostgreSQL. Rounds are few here; SELVEDGE_TEST_ROUNDS makes a long run.
"""

from __future__ import annotations

import os
import threading
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from inventory.core.reasons import Refused
from inventory.models import Act, Block, Item, Leg
from inventory.recording import Claim, Flow, Line, NewItem, record
from inventory.recording.rebuild import rebuild
from inventory.verbs.counting import UseOtherwise
from inventory.verbs.registry import Call, perform
from tests.ledger.bench import HOUR, MINUTE, Bench, item, state

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = int(os.environ.get("SELVEDGE_TEST_ROUNDS", "20"))
PEOPLE = 6


def together(jobs: list[Callable[[], Any]]) -> list[Any]:
    """Run jobs at the same instant in threads; give what each returned or raised."""
    start, results = threading.Barrier(len(jobs)), [None] * len(jobs)

    def run(n: int) -> None:
        try:
            start.wait(timeout=20)
            results[n] = jobs[n]()
        except Exception as error:  # what a thread raised is looked at by the test
            results[n] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(n,)) for n in range(len(jobs))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert not any(thread.is_alive() for thread in threads), "a writer is stuck"
    return results


def released(bench: Bench, mark: str, quantity: str) -> Item:
    bench.roll(mark, quantity=quantity)
    Block.objects.filter(to_us__isnull=True).update(to_us=bench.now_us, closed=Act.objects.order_by("pk").last())
    return item(mark)


def test_of_six_people_one_gets_the_last_metre() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        roll = released(bench, f"G-{n}", "1.00 m")
        calls = [Call(bench.yard.who("Ines"), bench.now_us + MINUTE + i, uuid.uuid4()) for i in range(PEOPLE)]
        got = together([lambda c=call: perform("use", c, UseOtherwise(f"G-{n}", "1.00 m", "panel")) for call in calls])  # noqa: B023 – run now
        refused = [r for r in got if isinstance(r, Refused)]
        assert len(refused) == PEOPLE - 1, got
        assert {r.reasons[0].code for r in refused} == {"stock.not_enough"}
        assert state(f"G-{n}").qty == 0
        assert Leg.objects.filter(item=roll, act__kind="use").count() == 1
    assert rebuild(bench.yard.site, bench.now_us + HOUR).differences == []


def test_the_same_scan_from_six_threads_counts_once() -> None:
    bench = Bench()
    for n in range(ROUNDS):
        released(bench, f"G-{n}", "10.00 m")
        call = Call(bench.yard.who("Ines"), bench.now_us + MINUTE, uuid.uuid4())
        got = together([lambda c=call: perform("use", c, UseOtherwise(f"G-{n}", "1.00 m", "panel"))] * PEOPLE)  # noqa: B023 – run now
        assert sum(not r.replay for r in got) == 1, got
        assert len({r.receipts[0].act for r in got}) == 1
        assert state(f"G-{n}").qty == 9_000_000


def test_after_a_hold_is_acknowledged_nothing_below_is_used() -> None:
    """A hold on the roll against a lay of the kit cut from it, at once: either the lay came first, or it is refused."""
    bench = Bench()
    who = bench.yard.who("Odile")
    for n in range(ROUNDS):
        roll = released(bench, f"G-{n}", "10.00 m")
        at = bench.now_us + (n + 1) * MINUTE
        kit = NewItem(f"K{uuid.uuid4().hex[:10].upper()}", "kit", "cmm2", f"K-{n}", roll.material_id, roll.lot_id)
        lines = (Line(roll.pk, delta=-(10**6)), Line("kit", delta=10**8))
        record([Claim(uuid.uuid4(), "cut", lines, (Flow(roll.pk, "kit", 10**6, 10**8),), {"kit": kit})], who, at)
        part = NewItem(f"R{uuid.uuid4().hex[:10].upper()}", "part", "pc", f"DIN-{n}")
        record([Claim(uuid.uuid4(), "start", (Line("part", delta=1),), new={"part": part})], who, at)
        kit_id, part_id = item(f"K-{n}").pk, item(f"DIN-{n}").pk

        def block(tx: Any, act: Act, names: dict[str, int], roll: Item = roll) -> None:
            Block.objects.create(site_id=who.site, item=roll, why="quality", text="soft", opened=act, from_us=tx.now_us)

        hold = Claim(uuid.uuid4(), "hold", (Line(roll.pk),), effects=(block,))
        lay = Claim(uuid.uuid4(), "lay", (Line(kit_id, delta=-(10**8)), Line(part_id)), (Flow(kit_id, part_id, 10**8),))
        held, laid = together([lambda h=hold: record([h], who, at + 1), lambda ly=lay: record([ly], who, at + 1)])  # noqa: B023 – run now
        assert not isinstance(held, Exception), held
        if isinstance(laid, Exception):
            assert isinstance(laid, Refused) and laid.reasons[0].code == "block.quality", laid
        else:
            assert laid[0].act < held[0].act, "a use committed after the hold was recorded"
