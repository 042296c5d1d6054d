"""A delivery comes in: what is recorded, what is refused, and that nothing is counted twice."""

from __future__ import annotations

import pytest

from inventory.models import Block, Delivery, Item, Leg, Refusal
from inventory.verbs.receiving import RollMark
from tests.ledger.bench import Bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_three_rolls_scanned_one_after_the_other_are_three_rolls_of_one_lot_none_released(bench: Bench) -> None:
    ticket = {"marks": (RollMark("bad", "31.0 m", "31.4 m"), RollMark("splice", "72.0 m"))}
    bench.roll("G7-1")
    second = bench.roll("G7-2", piece=ticket)
    bench.roll("G7-3")
    assert Item.objects.filter(kind="roll").count() == 3
    assert Item.objects.filter(kind="lot").count() == 1
    assert {b.item.mark for b in Block.objects.filter(why="incoming", to_us=None)} == {"G7-1", "G7-2", "G7-3"}
    (seen,) = second.data["pieces"]
    assert (seen["quantity"], seen["usable"], seen["longest"], seen["longest_from"]) == (100_000_000, 99_600_000, 40_600_000, 31_400_000)
    assert Delivery.objects.get().arrived_us == bench.now_us


def test_the_same_mark_again_in_this_delivery_is_refused_and_there_are_still_three_rolls(bench: Bench) -> None:
    for mark in ("G7-1", "G7-2", "G7-3"):
        bench.roll(mark)
    legs = Leg.objects.count()
    with pytest.raises(Exception) as refused:
        bench.roll("g7-1")
    assert [r.code for r in refused.value.reasons] == ["receive.already_here"]
    assert "already in this delivery" in str(refused.value)
    assert (Item.objects.filter(kind="roll").count(), Leg.objects.count(), Refusal.objects.count()) == (3, legs, 1)
