"""Death at any statement: a process that dies before or after the n-th statement or commit leaves the record whole.

A forked child performs one call and is ended with no chance to tidy up; the parent then looks, repeats the call under
the same key, and looks again. Few points here; SELVEDGE_TEST_CRASHES makes a long run.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from inventory.models import Act, Block, Edge, Item, Leg
from inventory.recording.rebuild import rebuild
from inventory.verbs.cutting import CutKit, Remnant
from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from tests.ledger.bench import HOUR, MINUTE, Bench, state

pytestmark = pytest.mark.django_db(transaction=True)

POINTS = int(os.environ.get("SELVEDGE_TEST_CRASHES", "40"))
DIED, FINISHED = 77, 0


class Death:
    """Ends the process at the n-th point: before and after each statement, before and after each commit."""

    def __init__(self, at: int) -> None:
        self.at, self.seen = at, 0

    def point(self) -> None:
        self.seen += 1
        if self.seen == self.at:
            os._exit(DIED)

    def wrap(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        self.point()
        result = execute(sql, params, many, context)
        self.point()
        return result

    def commits(self) -> None:
        commit = connection._commit

        def dying() -> None:
            self.point()
            commit()
            self.point()

        connection._commit = dying  # type: ignore[method-assign]


def die_at(n: int, call: Callable[[], Any]) -> int:
    """Perform `call` in a child that dies at point n. DIED, or FINISHED when it had fewer points."""
    connection.close()
    child = os.fork()
    if child == 0:
        try:
            death = Death(n)
            connection.ensure_connection()
            death.commits()
            with connection.execute_wrapper(death.wrap):
                call()
        except BaseException:
            os._exit(3)
        os._exit(FINISHED)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def counts() -> tuple[int, int, int, int]:
    return Act.objects.count(), Leg.objects.count(), Edge.objects.count(), Item.objects.count()


@pytest.mark.parametrize("what", ["cut", "late"])
def test_a_process_that_dies_anywhere_leaves_all_or_nothing(what: str) -> None:
    bench = Bench()
    bench.roll("G7-1")
    Block.objects.update(to_us=bench.now_us, closed=Act.objects.order_by("pk").last())
    bench.do("cut_kit", CutKit("G7-1", "2.00 m", mark="K-0"), at=bench.now_us + HOUR)
    finished = n = 0
    while n < POINTS and not finished:
        n += 1
        before, quantity = counts(), state("G7-1").qty
        call = Call(bench.yard.who("Ines"), bench.now_us + 2 * HOUR + n * MINUTE, uuid.uuid4())
        if what == "cut":
            params: Any = CutKit("G7-1", "1.00 m", "1.00 m²", mark=f"K-{n}", remnants=(Remnant("0.40 m", "0.40 m"),))
            verb, more = "cut_kit", (1, 3, 2, 2)
        else:  # a record older than the roll's last, which had been cut: refold and propagate
            call = Call(call.who, call.now_us, call.key, "observed", bench.now_us + n * MINUTE)
            params, verb, more = Move("G7-1", "DRY" if n % 2 else "RACK"), "move", (1, 1, 0, 0)
        code = die_at(n, lambda c=call, v=verb, p=params: perform(v, c, p))
        assert code in (DIED, FINISHED), f"point {n}: the child failed"
        finished = code == FINISHED
        whole = tuple(a + b for a, b in zip(before, more, strict=True))
        assert counts() in (before, whole), f"half a record after point {n}"
        assert rebuild(bench.yard.site, call.now_us).differences == []
        perform(verb, call, params)  # the sender does not know whether it was heard and sends again
        assert counts() == whole, f"lost or doubled after point {n}"
        assert quantity - state("G7-1").qty == (10**6 if what == "cut" else 0)
    assert n > 12, "too few points were tried to mean anything"
