"""What labels, tickets and papers say of goods that come in: read exactly, or asked again with the field named."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from inventory.core.reasons import BadInput
from inventory.models import Act, Delivery, Item, ItemState, LifeSpec, Lot
from inventory.verbs.receiving import Receive, ReceivedLot, ReceivedPiece, RollMark
from tests.ledger.bench import DAY, HOUR, Bench, cans, clock, day, doc, item, prepreg, reading, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    return Bench()


# --- dates and lots --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "printed", "code", "where"),
    [
        ("2026-03-31", "", "date.future", "made"),
        ("2026-04", "", "date.future", "made"),
        ("2026-03-02", "2026-03-01", "date.before_manufacture", "printed"),
        ("2026-03-02", "2026-02", "date.before_manufacture", "printed"),
        ("02/03/26", "", "date.short_year", "made"),
        ("2 March 2026", "", "date.form", "made"),
        ("2026-02-30", "", "date.no_such_day", "made"),
        ("", "", "lot.made_needed", "made"),
    ],
)
def test_dates_that_cannot_be_are_asked_again(bench: Bench, made: str, printed: str, code: str, where: str) -> None:
    wrong = bench.not_understood("receive", prepreg(ReceivedPiece("50 m", "T-7"), made=made, printed=printed))
    assert (wrong.reason.code, wrong.where) == (code, where)
    assert Item.objects.count() == 0


def test_made_today_and_a_printed_day_in_the_past_are_facts(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), made="2026-03-30"))
    bench.do("receive", cans("X4", printed="2026-02"))
    assert reading("X4", "printed date", bench).over


def test_a_month_alone_is_read_so_that_nothing_lives_longer(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), made="2026-03"))
    assert reading("T-7", "storage", bench).ends_us == clock("00:00", day(2027, 3, 2)), "counted from 1 March"
    bench.do("receive", cans("X6-1", printed="2026-03"))
    assert reading("X6-1", "printed date", bench).ends_us == clock("00:00", day(2026, 4, 1)), "through 31 March"


def test_a_label_without_its_date_is_said_to_be_unknown_and_stays_unfit(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7"), made="unknown"))
    assert reading("T-7", "storage", bench).missing == "the day of manufacture was not recorded"


def test_the_same_lot_written_otherwise_is_the_same_lot_also_in_a_second_delivery(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7")))
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), lot=" t26 – 031", delivery="D-140"), at=bench.now_us + DAY)
    assert Item.objects.filter(kind="lot").count() == 1
    assert item("T-7").lot_id == item("T-9").lot_id
    assert {i.delivery.number for i in Item.objects.filter(kind="roll") if i.delivery} == {"D-119", "D-140"}
    assert (doc("T-7")["received"], doc("T-9")["received"]) == (bench.now_us, bench.now_us + DAY)


def test_another_day_of_manufacture_for_a_known_lot_is_refused_with_both_dates(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7")))
    reasons = bench.refused("receive", prepreg(ReceivedPiece("50 m", "T-9"), made="2026-03-03"))
    assert reasons["lot.made_differs"].numbers == {"lot": "T26-031", "recorded": "2026-03-02", "given": "2026-03-03"}
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), made=""))  # what is known need not be said again


def test_one_lot_with_two_dates_in_one_call_is_asked_again(bench: Bench) -> None:
    lots = tuple(
        ReceivedLot("T26", (ReceivedPiece("50 m", mark),), made=made) for mark, made in (("T-7", "2026-03-02"), ("T-8", "2026-03-03"))
    )
    assert bench.not_understood("receive", Receive("D-119", lots, "Kestrow Prepreg", "PP-T")).reason.code == "lot.two_dates"


def test_a_lot_is_bound_to_the_newest_specification_when_it_arrives_and_stays_bound(bench: Bench) -> None:
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-7")))
    newer = LifeSpec.objects.create(material=bench.yard.material["PP-T"], version=2)
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-8")))
    bench.do("receive", prepreg(ReceivedPiece("50 m", "T-9"), lot="T26-044"))
    assert Lot.objects.get(number="T26-031").spec == bench.yard.spec["PP-T"]
    assert Lot.objects.get(number="T26-044").spec == newer


def test_the_same_lot_number_of_another_supplier_is_another_lot(bench: Bench) -> None:
    bench.roll("G7-1", lot="77")
    bench.roll("C-1", delivery="D-122", lot="77", to={"material": "CT-204"})
    assert Lot.objects.count() == 2


@pytest.mark.parametrize(
    ("number", "code"),
    [
        ("", "lot.number_needed"),
        ("  – ", "lot.number_needed"),
        ("A" * 57, "lot.number_too_long"),
        ("T2\x1d6", "lot.number_unreadable"),
    ],
)
def test_a_lot_number_must_be_one_readable_line(bench: Bench, number: str, code: str) -> None:
    with pytest.raises(BadInput) as wrong:
        bench.roll("G7-1", lot=number)
    assert wrong.value.reason.code == code and wrong.value.where == "lot"


def test_what_is_booked_by_the_box_needs_no_lot_number(bench: Bench) -> None:
    material = bench.yard.material["TAPE"]
    assert material.grade == "box"
    bench.do(
        "receive", Receive("D-150", (ReceivedLot("", (ReceivedPiece("12 pc", "TP-1"),), printed="2027-03"),), "Hask Consumables", "TAPE")
    )
    assert Lot.objects.get().number == "D-150"


# --- places ----------------------------------------------------------------------------------------------------------


def test_peroxide_is_refused_beside_promoters_below_its_minimum_and_beyond_the_cabinets_limit(bench: Bench) -> None:
    bench.do(
        "receive",
        replace(
            cans("X4", "X5"),
            delivery="D-100",
            lots=(ReceivedLot("X4", (ReceivedPiece("1.5 kg", "X4"), ReceivedPiece("5.0 kg", "X5")), printed="2026-12"),),
        ),
    )
    assert "place.never_together" in bench.refused("receive", cans("X6-1", place="AC"))
    assert "place.too_cold" in bench.refused("receive", cans("X6-1", place="F1"))
    for mark in ("X6-1", "X6-2", "X6-3"):
        bench.do("receive", cans(mark))
    full = bench.refused("receive", cans("X6-4"))["place.full"]
    assert (full.numbers["would_ug"], full.numbers["max_ug"]) == (26_500_000_000, 25_000_000_000)
    bench.do("receive", cans("X6-4", place="BK"))
    in_px = ItemState.objects.filter(location__code="PX").values_list("qty", flat=True)
    assert sum(in_px) == 21_500_000_000
    assert Delivery.objects.get(number="D-120").items.count() == 4


def test_cans_that_fit_one_by_one_but_not_together_are_refused_together(bench: Bench) -> None:
    assert "place.full" in bench.refused("receive", cans(*(f"X6-{n}" for n in range(1, 7))))
    assert Item.objects.count() == 0


def test_what_was_already_put_in_the_wrong_place_is_stored_and_marked(bench: Bench) -> None:
    told = bench.do("receive", cans("X6-1", place="AC"), stance="observed", happened_us=bench.now_us - HOUR)
    assert "place.never_together" in {reason.code for reason in told.reasons}
    place = state("X6-1").location
    assert place is not None and place.code == "AC"


@pytest.mark.parametrize(
    ("change", "code", "where"),
    [
        ({"place": "F9"}, "place.unknown", "place"),
        ({"material": "PP-X"}, "material.unknown", "material"),
        ({"supplier": "Nobody"}, "supplier.unknown", "supplier"),
        ({"owner": "Nobody"}, "customer.unknown", "owner"),
        ({"delivery": "  "}, "delivery.number_needed", "delivery"),
        ({"delivery": "9" * 41}, "delivery.number_too_long", "delivery"),
        ({"lots": ()}, "receive.nothing", "lots"),
        ({"material": ""}, "material.needed", "material"),
    ],
)
def test_what_is_not_known_here_is_named_with_its_field(bench: Bench, change: dict[str, Any], code: str, where: str) -> None:
    wrong = bench.not_understood("receive", prepreg(ReceivedPiece("50 m", "T-7"), **change))
    assert (wrong.reason.code, wrong.where) == (code, where)


@pytest.mark.parametrize(
    ("piece", "code", "where"),
    [
        ({"quantity": "-5 m"}, "quantity.negative", "quantity"),
        ({"quantity": "0 m"}, "quantity.zero", "quantity"),
        ({"quantity": "NaN m"}, "quantity.not_a_number", "quantity"),
        ({"quantity": "1e9 m"}, "quantity.not_a_number", "quantity"),
        ({"quantity": "99999999999 km"}, "quantity.too_big", "quantity"),
        ({"quantity": "50"}, "quantity.unknown_unit", "quantity"),
        ({"quantity": "1,234 m"}, "quantity.ambiguous", "quantity"),
        ({"quantity": "5 l"}, "convert.no_way", "quantity"),
        ({"mark": "x" * 41}, "piece.mark_too_long", "mark"),
        ({"code": "not ours"}, "code.not_ours", "code"),
        ({"kind": "bucket"}, "piece.kind", "kind"),
        ({"core": "1.6"}, "quantity.unknown_unit", "core"),
        ({"out_time": "6"}, "duration.unknown_unit", "out_time"),
        ({"out_time": "6 h 75"}, "duration.minutes", "out_time"),
        ({"transport": "-1 h"}, "duration.negative", "transport"),
        ({"warmest": "-400 °C", "transport": "1 h"}, "temperature.out_of_range", "warmest"),
        ({"warmest": "-9 °C", "coldest": "-3 °C", "transport": "1 h"}, "transport.order", "coldest"),
        ({"marks": (RollMark("bad", "31 m"),)}, "roll.bad_without_end", "marks"),
        ({"marks": (RollMark("bad", "31 m", "61 m"),)}, "roll.mark_outside", "marks"),
        ({"marks": (RollMark("hole", "31 m"),)}, "roll.mark_kind", "marks"),
        ({"marks": (RollMark("splice", "31 m"),), "marks_from": "left"}, "roll.map_from", "marks"),
    ],
)
def test_what_cannot_be_read_of_a_piece_is_named_with_its_field_and_nothing_changes(
    bench: Bench, piece: dict[str, Any], code: str, where: str
) -> None:
    values = {"quantity": "50 m", "mark": "T-7"} | piece
    wrong = bench.not_understood("receive", prepreg(ReceivedPiece(**values)))
    assert (wrong.reason.code, wrong.where) == (code, where)
    assert (Item.objects.count(), Act.objects.count(), Delivery.objects.count()) == (0, 0, 0)


def test_a_map_from_the_inner_end_is_turned_round(bench: Bench) -> None:
    bench.roll("G7-2", piece={"marks": (RollMark("bad", "68.6 m", "69.0 m"), RollMark("splice", "28.0 m")), "marks_from": "inner"})
    assert doc("G7-2")["marks"] == [[31_000_000, 31_400_000, "bad"], [72_000_000, 72_000_000, "splice"]]


def test_a_roll_weighed_by_the_supplier_is_kept_by_length(bench: Bench) -> None:
    bench.roll("G7-1", quantity="76.454 kg")
    assert state("G7-1").qty == 100_000_000, "76.454 kg / (0.602 kg/m² × 1.270 m), exact"


def test_the_same_mark_or_label_twice_in_one_go_is_asked_again(bench: Bench) -> None:
    twice = prepreg(ReceivedPiece("50 m", "T-7"), ReceivedPiece("50 m", "t-7"))
    assert bench.not_understood("receive", twice).reason.code == "receive.mark_twice"
    bench.roll("G7-1")
    code = item("G7-1").code
    assert "receive.label_taken" in bench.refused("receive", prepreg(ReceivedPiece("50 m", "T-7", code=code)))
    fresh = "S7KFM3XDQR"
    same = prepreg(ReceivedPiece("50 m", "T-7", code=fresh), ReceivedPiece("50 m", "T-8", code=fresh))
    assert bench.not_understood("receive", same).reason.code in ("receive.code_twice", "code.not_ours")
