"""A reader that keeps a point in the records is never short of one, however the writers' commits fall."""

from __future__ import annotations

import threading
import uuid

import pytest
from django.db import connection

from inventory.models import Act
from inventory.reads.frontier import frontier, touched_since
from inventory.recording import Claim, Line, record
from inventory.recording.gate import gate
from inventory.verbs.moving import Move
from inventory.verbs.registry import Call, perform
from tests.ledger.bench import MINUTE, Bench, item
from tests.ledger.test_races import ROUNDS, released, together

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.postgresql
def test_a_record_with_a_lower_number_that_is_committed_later_is_not_passed_over() -> None:
    bench = Bench()
    first, second = released(bench, "G-1", "10 m"), released(bench, "G-2", "10 m")
    before = frontier(bench.yard.site.pk)
    assert before is not None and before == Act.objects.order_by("-pk").values_list("pk", flat=True).first()
    written, go_on = threading.Event(), threading.Event()

    def slow() -> None:
        with gate(bench.yard.site.pk, False):
            record([Claim(uuid.uuid4(), "open", (Line(first.pk),))], bench.yard.who("Ines"), bench.now_us + 1)
            written.set()
            go_on.wait(20)
        connection.close()

    writer = threading.Thread(target=slow)
    writer.start()
    assert written.wait(20)
    perform("move", Call(bench.yard.who("Ines"), bench.now_us + 2, uuid.uuid4()), Move("G-2", "BAY1"))
    assert touched_since(bench.yard.site.pk, before) == {second.pk}
    assert frontier(bench.yard.site.pk, tries=3) is None, "somebody who was inside is inside still"
    go_on.set()
    writer.join(20)
    after = frontier(bench.yard.site.pk)
    assert after is not None and after > before and touched_since(bench.yard.site.pk, before) == {first.pk, second.pk}


@pytest.mark.postgresql
def test_ones_own_transaction_is_not_waited_for_but_that_of_another_is() -> None:
    bench = Bench()
    released(bench, "G-1", "10 m")
    inside, out = threading.Event(), threading.Event()
    seen: list[int | None] = []

    def later() -> None:
        with gate(bench.yard.site.pk, False):
            inside.set()
            out.wait(20)
        connection.close()

    with gate(bench.yard.site.pk, False):  # this connection's own: it is not waited for either
        seen.append(frontier(bench.yard.site.pk, tries=2))
    writer = threading.Thread(target=later)
    writer.start()
    assert inside.wait(20)
    seen.append(frontier(bench.yard.site.pk, tries=2))
    out.set()
    writer.join(20)
    assert seen[0] is not None and seen[1] is None


def test_a_reader_beside_four_writers_hears_of_every_record() -> None:
    bench = Bench()
    for n in range(4):
        released(bench, f"G-{n}", "10 m")
    start = frontier(bench.yard.site.pk)
    assert start is not None
    heard: set[tuple[int, int]] = set()

    def write(n: int) -> None:
        for i in range(ROUNDS):
            call = Call(bench.yard.who("Ines"), bench.now_us + (i + 1) * MINUTE, uuid.uuid4())
            perform("move", call, Move(f"G-{n}", ("BAY1", "RACK")[i % 2]))

    def listen() -> None:
        point = start
        for _ in range(ROUNDS * 4):
            upto = frontier(bench.yard.site.pk)
            legs = Act.objects.filter(pk__gt=point, pk__lte=upto if upto is not None else point).values_list("pk", "legs__item")
            heard.update(legs)
            point = upto if upto is not None else point

    results = together([*(lambda n=n: write(n) for n in range(4)), listen])
    assert not any(isinstance(r, Exception) for r in results), results
    upto = frontier(bench.yard.site.pk)
    point = max((act for act, _ in heard), default=start)
    heard.update(Act.objects.filter(pk__gt=point, pk__lte=upto).values_list("pk", "legs__item"))
    wanted = set(Act.objects.filter(pk__gt=start).values_list("pk", "legs__item"))
    assert len(wanted) == 4 * ROUNDS and heard == wanted
    assert {i for _, i in heard} == {item(f"G-{n}").pk for n in range(4)}
