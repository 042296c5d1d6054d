"""A delivery comes in: what is recorded, what is refused, and that nothing is counted twice."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.core.reasons import Refused
from inventory.models import Act, Block, Delivery, Edge, Item, Leg, LifeLimit, LifeSpec, Refusal
from inventory.recording import Transaction
from inventory.verbs.moving import Move
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece, ReceiveMany, RollMark
from inventory.verbs.releasing import Release
from tests.ledger.bench import DAY, HOUR, MINUTE, Bench, cans, clock, day, doc, item, prepreg, reading, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    return Bench()


# --- scanning a delivery, piece by piece -----------------------------------------------------------------------------


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
    assert sum(e.qty for e in Edge.objects.filter(kind="receive")) == 300_000_000


def test_the_same_mark_again_in_this_delivery_is_refused_and_there_are_still_three_rolls(bench: Bench) -> None:
    for mark in ("G7-1", "G7-2", "G7-3"):
        bench.roll(mark)
    legs = Leg.objects.count()
    with pytest.raises(Refused) as refused:
        bench.roll("g7-1")
    assert [r.code for r in refused.value.reasons] == ["receive.already_here"]
    assert "already in this delivery" in str(refused.value)
    assert (Item.objects.filter(kind="roll").count(), Leg.objects.count(), Refusal.objects.count()) == (3, legs, 1)


@pytest.mark.parametrize("again", ["Ø-a1", "ø-A1", "Ø-A1"])
def test_a_mark_with_a_letter_that_is_none_of_a_to_z_is_one_mark_too(bench: Bench, again: str) -> None:
    """Unicode folds Ø (U+00D8) to ø (U+00F8): CaseFolding.txt of the Unicode Character Database; SQLite's own lower() folds ASCII only."""
    bench.roll("Ø-a1")
    same = Receive("D-118", (ReceivedLot("G7", (ReceivedPiece("100 m", again),)),), "Aldervane Weavers", "GB-600", "RACK")
    assert bench.refused("receive", same).keys() == {"receive.already_here"}
    bench.roll("ı-1")
    bench.roll("I-1")  # a dotless i is another letter, though both have one capital


def test_a_mark_that_is_on_something_else_is_refused_even_as_already_happened(bench: Bench) -> None:
    bench.roll("G7-1")
    other = Receive("D-121", (ReceivedLot("G8", (ReceivedPiece("50 m", "G7-1"),)),), "Aldervane Weavers", "GB-600")
    assert "receive.mark_taken" in bench.refused("receive", other)
    assert "receive.mark_taken" in bench.refused("receive", other, stance="observed", happened_us=bench.now_us - HOUR)
    assert Delivery.objects.filter(number="D-121").count() == 0, "a refused delivery leaves no row behind"


def test_the_same_call_twice_counts_once_and_is_told_the_same(bench: Bench) -> None:
    first = bench.roll("G7-1", key="scan")
    again = bench.roll("G7-1", key="scan", at=bench.now_us + DAY)
    assert again.replay and not first.replay
    assert again.data == first.data
    assert (Item.objects.count(), Act.objects.count(), Block.objects.count()) == (2, 2, 1)


def test_the_same_key_with_another_roll_is_an_error_and_changes_nothing(bench: Bench) -> None:
    bench.roll("G7-1", key="scan")
    with pytest.raises(Refused) as refused:
        bench.roll("G7-2", key="scan")
    assert refused.value.reasons[0].code == "key.reused"
    assert Item.objects.filter(kind="roll").count() == 1


def test_several_lots_in_one_call_are_recorded_or_none_and_repeat_as_one(bench: Bench) -> None:
    lots = (
        ReceivedLot("G7", (ReceivedPiece("100 m", "G7-1"),)),
        ReceivedLot("G8", (ReceivedPiece("100 m", "G8-1"), ReceivedPiece("80 m", "G8-2"))),
    )
    p = Receive("D-118", lots, "Aldervane Weavers", "GB-600", "RACK")
    first = bench.do("receive", p, key="both")
    assert len(first.data["pieces"]) == 3
    assert bench.do("receive", p, key="both").data == first.data
    assert Item.objects.filter(kind="lot").count() == 2
    assert Item.objects.filter(kind="roll").count() == 3


def test_a_piece_starts_waiting_and_cannot_be_cut_before_quality_releases_it(bench: Bench) -> None:
    from inventory.verbs.cutting import CutKit

    bench.roll("G7-1")
    assert "block.incoming" in bench.refused("cut_kit", CutKit("G7-1", "6.20 m"), "Bram")


def test_only_those_who_receive_may_receive(bench: Bench) -> None:
    assert "role.not_allowed" in bench.refused("receive", prepreg(ReceivedPiece("50 m", "T-7")), "Bram")
    assert "role.not_allowed" in bench.refused("receive", prepreg(ReceivedPiece("50 m", "T-7")), "Vera")


# --- what it has lived through ---------------------------------------------------------------------------------------


def test_out_time_on_the_label_and_the_journey_add_up_and_both_wait_for_quality(bench: Bench) -> None:
    lived: dict[str, Any] = {"out_time": "6 h 00", "transport": "9 h 20", "warmest": "-3.1 °C"}
    bench.do("receive", prepreg(ReceivedPiece("50.00 m", "T-7", **lived), ReceivedPiece("50.00 m", "T-8", **lived)), at=clock("08:40"))
    bench.now_us = clock("08:40")
    for mark in ("T-7", "T-8"):
        out = reading(mark, "out", bench)
        assert (out.used, out.allowed) == (15 * HOUR + 20 * MINUTE, 504 * HOUR)
        assert reading(mark, "storage", bench).ends_us == clock("00:00", day(2027, 3, 3)), "through 2 March 2027"
        block = Block.objects.get(item=item(mark), to_us=None)
        assert block.why == "incoming" and block.text.startswith("transport")


def test_the_journey_is_charged_at_what_the_logger_read_so_that_a_warmer_line_does_not_count_it(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7", transport="9 h 20", warmest="-3.1 °C", out_time="6 h")))
    assert doc("T-7")["spent"] == [[-3100, 9 * HOUR + 20 * MINUTE], [25_000, 6 * HOUR]]


def test_out_time_on_a_label_counts_whatever_the_line_is(bench: Bench) -> None:
    """A material whose clock runs only above 30 °C: its supplier's out time is time above that."""
    spec = LifeSpec.objects.create(material=bench.yard.material["PP-T"], version=2)
    LifeLimit.objects.create(spec=spec, name="out", clock="above", limit_us=100 * HOUR, threshold_mc=30_000, checkpoint="cure")
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7", out_time="6 h"), place="F1"))
    assert reading("T-7", "out", bench).used == 6 * HOUR


def test_a_journey_below_the_line_charges_nothing_and_one_above_it_needs_its_time(bench: Bench) -> None:
    below = bench.not_understood("receive", prepreg(ReceivedPiece("50 m", "T-7", transport="9 h 20", warmest="-14 °C")))
    assert (below.reason.code, below.where) == ("transport.below_line", "transport")
    untimed = bench.not_understood("receive", prepreg(ReceivedPiece("50 m", "T-7", warmest="-3.1 °C")))
    assert untimed.reason.code == "transport.time_needed"
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7", warmest="-14 °C")))
    assert "spent" not in doc("T-7") and Block.objects.get().text == ""


def test_goods_that_came_too_cold_wait_for_quality_with_what_was_read(bench: Bench) -> None:
    can = ReceivedPiece("5 kg", "PB-9", coldest="3 °C")
    bench.do("receive", Receive("D-130", (ReceivedLot("P9", (can,)),), "Orrisby Resin Works", "PU-B", "QUAR"))
    assert Block.objects.get().text == "transport: too cold"
    assert "transport.not_settled" in bench.refused("release", Release(("PB-9",)), "Odile")


def test_more_out_time_than_age_is_a_slip(bench: Bench) -> None:
    slip = bench.not_understood("receive", prepreg(ReceivedPiece("50 m", "T-7", out_time="2000 h")))
    assert slip.reason.code == "piece.out_longer_than_made"
    assert slip.reason.numbers == {"out_us": 2000 * HOUR, "age_us": 27 * DAY + 8 * HOUR + 23 * HOUR}


def test_a_roll_from_the_freezer_still_has_to_thaw_and_its_time_before_receipt_is_the_suppliers_storage(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place="F1"))
    assert doc("T-7")["frozen"] is True
    assert reading("T-7", "out", bench).used == 0


def test_a_piece_that_nobody_has_put_anywhere_yet_counts_as_out(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place=""))
    bench.now_us += 3 * HOUR
    assert reading("T-7", "out", bench).used == 3 * HOUR


def test_a_can_that_comes_open_has_been_open_since_the_day_said(bench: Bench) -> None:
    def open_can(mark: str, opened: str, made: str = "2026-01-05") -> Receive:
        piece = ReceivedPiece("3.10 kg", mark, opened=opened)
        return Receive("D-131", (ReceivedLot(f"B-{mark}", (piece,), made=made),), "Orrisby Resin Works", "LAM-B", "RS")

    bench.do("receive", open_can("LB-6", "2026-03-10"))
    assert doc("LB-6")["opened"] == clock("00:00") - 20 * DAY + HOUR, "the start of 10 March, which was an hour earlier by the sun"
    bench.do("receive", open_can("LB-7", "yes"))
    assert doc("LB-7")["opened"] == doc("LB-7")["opened"] and reading("LB-7", "opened", bench).ends_us == clock("00:00", day(2026, 4, 6))
    assert bench.not_understood("receive", open_can("LB-8", "2026-04-02")).reason.code == "date.future"
    assert bench.not_understood("receive", open_can("LB-8", "2026-01-04")).reason.code == "date.before_manufacture"
    assert bench.not_understood("receive", open_can("LB-8", "yes", made="unknown")).reason.code == "piece.opened_needed"


# --- expected or not, late, other people's ---------------------------------------------------------------------------


def test_a_late_observed_receipt_is_dated_when_it_happened(bench: Bench) -> None:
    yesterday = bench.now_us - DAY
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place="F1"), stance="observed", happened_us=yesterday)
    act = Act.objects.get(kind="receive")
    assert (act.happened_us, act.recorded_us, act.stance) == (yesterday, bench.now_us, "observed")
    assert doc("T-7")["received"] == yesterday
    assert Block.objects.get().from_us == yesterday
    late = bench.not_understood(
        "receive", prepreg(ReceivedPiece("50 m", "T-9"), made="2026-03-30", lot="T26-99"), stance="observed", happened_us=yesterday
    )
    assert late.reason.code == "date.future", "made after it was received"


def test_a_late_receipt_of_a_lot_that_already_gave_refolds_what_lies_below_to_the_same(bench: Bench) -> None:
    from inventory.recording.propagate import propagate

    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place="F1"))
    bench.do("receive", prepreg(ReceivedPiece("40 m", "T-9"), place="F1"), stance="observed", happened_us=bench.now_us - 2 * DAY)
    tx = Transaction(bench.yard.who("Odile"), bench.now_us, True)
    assert propagate(tx, set(Item.objects.values_list("pk", flat=True)), write=False).differing == []
    assert doc("T-7")["received"] == bench.now_us and doc("T-9")["received"] == bench.now_us - 2 * DAY


def test_what_a_late_scan_saw_before_is_completed_by_its_receipt(bench: Bench) -> None:
    from inventory.core import codes

    code = codes.make(b"a label from the cold store")
    Item.objects.create(site=bench.yard.site, code=code, kind="roll", unit="um", stub=True)
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7", code=code), place="F1"))
    assert Item.objects.get(code=code).mark == "T-7"
    assert state("T-7").qty == 50_000_000


def test_a_customers_roll_is_theirs_from_the_start(bench: Bench) -> None:
    bench.roll("CO-2", delivery="D-160", lot="CO", to={"material": "CU-300", "owner": "Ferrel Rowing Club"})
    assert str(item("CO-2").owner) == "Ferrel Rowing Club"


def test_a_receipt_that_was_voided_may_be_made_again_under_the_same_mark(bench: Bench) -> None:
    from inventory.verbs.voiding import Undo

    wrong = bench.roll("G7-1", quantity="10.00 m")
    bench.do("undo", Undo(wrong.receipts[-1].act), at=bench.now_us + 20_000_000)
    assert Block.objects.filter(to_us=None).count() == 0 and Delivery.objects.get().arrived_us is None
    bench.roll("G7-1", at=bench.now_us + 2 * MINUTE)
    assert (Item.objects.filter(mark="G7-1").count(), state("G7-1").qty) == (1, 100_000_000)
    assert Block.objects.filter(to_us=None, why="incoming").count() == 1


def test_the_mark_of_a_voided_record_is_not_given_to_another_lot(bench: Bench) -> None:
    from inventory.verbs.voiding import Undo

    wrong = bench.roll("G7-1")
    bench.do("undo", Undo(wrong.receipts[-1].act))
    assert "receive.mark_of_voided" in bench.refused(
        "receive", Receive("D-118", (ReceivedLot("G9", (ReceivedPiece("100.00 m", "G7-1"),)),), "Aldervane Weavers", "GB-600", "RACK")
    )


def test_a_lot_whose_making_was_voided_is_received_again_with_its_right_date(bench: Bench) -> None:
    from inventory.verbs.voiding import Void

    first = bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), made="2026-03-20"))
    made, received = first.receipts[0].act, first.receipts[1].act
    later = bench.refused("void", Void(made, "wrong date"), "Odile")["void.later_records"]
    assert later.numbers["records"] == str(received)
    bench.do("void", Void(received, "wrong date of manufacture"), "Odile")
    bench.do("void", Void(made, "wrong date of manufacture"), "Odile")
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7b"), made="2026-03-02"))
    assert reading("T-7b", "storage", bench).ends_us == clock("00:00", day(2027, 3, 3))
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-8b"), made="2026-03-02"))
    assert item("T-8b").lot_id == item("T-7b").lot_id


def test_many_at_once_are_all_recorded_or_none(bench: Bench) -> None:
    good, bad = prepreg(ReceivedPiece("50 m", "T-7")), cans("X6-1", place="AC")
    assert "place.never_together" in bench.refused("receive_many", ReceiveMany((good, bad)))
    assert (Item.objects.count(), Delivery.objects.count()) == (0, 0)
    told = bench.do("receive_many", ReceiveMany((good, cans("X6-1"))), key="many")
    assert len(told.data["pieces"]) == 2
    assert bench.do("receive_many", ReceiveMany((good, cans("X6-1"))), key="many").replay


def test_a_received_roll_can_be_put_away_while_it_waits(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), place=""))
    bench.do("move", Move("T-7", "F1"), at=bench.now_us + 10 * MINUTE)
    bench.now_us += 2 * HOUR
    assert reading("T-7", "out", bench).used == 10 * MINUTE
