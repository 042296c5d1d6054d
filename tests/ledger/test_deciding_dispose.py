"""What broke a rule is decided on by quality (R44); unknown history gets its starting value (R36)."""

from __future__ import annotations

import pytest

from inventory.models import Act, Block, Disposition, Finding, Item, Nonconformance
from inventory.recording import Flow, Line, NewItem, record
from inventory.verbs.certifying import Certify, PaperValue
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Baseline, Dispose
from inventory.verbs.moving import Move, Open
from inventory.verbs.receiving import OpenStock, Receive, ReceivedLot, ReceivedPiece
from inventory.verbs.releasing import Release
from inventory.verbs.voiding import Void
from layups.demo.master import build_master
from tests.ledger.bench import HOUR, MINUTE, MONDAY, Bench, clock, day, doc, item, last, reading, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    """U-2: a prepreg roll that was out for 96 h. Kit K-22 cut from it on 9 March went into RUD-061 whole; a scan that
    comes late says that the roll had been out since the Friday before."""
    bench = Bench(yard=build_master(MONDAY, tack_from_start=False))
    then = clock("08:00", day(2026, 2, 2))
    roll = ReceivedPiece("60 m", "U-2", out_time="96 h")
    bench.do("receive", Receive("D-80", (ReceivedLot("U26", (roll,), made="2026-01-05"),), "Kestrow Prepreg", "PP-U", "F1"), at=then)
    values = (PaperValue("areal mass", "150", "U-2"), PaperValue("resin", "36", "U-2"))
    bench.do("certify", Certify("U26", values), at=then + HOUR)
    bench.do("release", Release(("U-2",)), "Odile", at=then + 2 * HOUR)
    cut = clock("08:00", day(2026, 3, 9))
    bench.do("move", Move("U-2", "CLEAN"), "Bram", at=cut - 9 * HOUR)
    bench.do("cut_kit", CutKit("U-2", "2.00 m", mark="K-22"), "Bram", at=cut)
    lay(bench, "K-22", "RUD-061", cut + 2 * HOUR)
    bench.now_us = clock("09:05")
    friday = clock("15:00", day(2026, 3, 6))
    bench.do("move", Move("U-2", "CLEAN"), "Bram", stance="observed", happened_us=friday)
    return bench


def lay(bench: Bench, kit: str, part: str, at_us: int) -> None:
    """The kit goes into a new part, whole, through the write path itself."""
    call = bench.call("Bram", at_us)
    source, amount = item(kit), state(kit).qty
    born = call.claim("start", [Line("part", delta=1, location=bench.yard.place["CLEAN"].pk, ceiling=30_000)], Move("", ""), part="born",
                      new={"part": NewItem(f"P{part}", "part", "pc", mark=part)})  # fmt: skip
    laid = call.claim("lay", [Line(source.pk, delta=-amount), Line("part")], Move("", ""), flows=(Flow(source.pk, "part", amount),))
    record([born, laid], call.who, at_us)


def open_items() -> set[str]:
    return {str(f.item) for f in Finding.objects.filter(closed_us=None)}


def test_late_truth_is_one_nonconformance_that_names_kit_and_part(bench: Bench) -> None:
    case = Nonconformance.objects.get(closed_us=None)
    assert str(case.cause) == "U-2"
    assert open_items() == {"K-22", "RUD-061"}


def test_use_as_is_or_repair_without_a_reference_is_refused_and_waiting_for_the_customer_stays_open(bench: Bench) -> None:
    for meaning in ("use_as_is", "repair"):
        assert set(bench.refused("dispose", Dispose("RUD-061", meaning), "Odile")) == {"dispose.reference_needed"}
    told = bench.do("dispose", Dispose("RUD-061", "await_customer"), "Odile")
    assert told.data["open"] == 1 and Nonconformance.objects.get().closed_us is None
    assert Disposition.objects.get().meaning == "await_customer"


def test_use_as_is_with_a_reference_closes_the_case_with_the_kit_that_is_used_up(bench: Bench) -> None:
    bench.do("dispose", Dispose("RUD-061", "use_as_is", reference="Skerrow 2026-03-30", reason="low load"), "Odile")
    assert open_items() == set()
    assert {f.closed_by for f in Finding.objects.all()} == {"disposition"}
    case = Nonconformance.objects.get()
    assert (case.closed_us, case.closed_by) == (bench.now_us, "disposition")
    row = Disposition.objects.get()
    assert (row.reference, row.nonconformance_id, row.act.person.name) == ("Skerrow 2026-03-30", case.pk, "Odile")


def test_a_case_with_two_parts_stays_open_until_the_last_of_them_is_decided(bench: Bench) -> None:
    cut = clock("08:30", day(2026, 3, 9))
    bench.do("cut_kit", CutKit("U-2", "2.00 m", mark="K-23"), "Bram", stance="observed", happened_us=cut)
    lay_late(bench, "K-23", "RUD-062", cut + HOUR)
    bench.do("dispose", Dispose("RUD-061", "scrap", reason="over"), "Odile")
    assert open_items() == {"K-23", "RUD-062"} and Nonconformance.objects.filter(code="life", closed_us=None).count() == 1
    bench.do("dispose", Dispose("RUD-062", "use_as_is", reference="Skerrow 17"), "Odile")
    assert open_items() == set()


def lay_late(bench: Bench, kit: str, part: str, at_us: int, share: int = 1) -> None:
    call = bench.call("Bram", stance="observed", happened_us=at_us)
    source, amount = item(kit), state(kit).qty
    born = call.claim(
        "start", [Line("part", delta=1)], Move("", ""), part="born", new={"part": NewItem(f"P{part}", "part", "pc", mark=part)}
    )
    lines = [Line(source.pk, delta=-amount), Line("part")]
    record([born, call.claim("lay", lines, Move("", ""), flows=(Flow(source.pk, "part", amount),))], call.who, bench.now_us)


def test_a_kit_in_two_parts_is_settled_with_the_second_of_them(bench: Bench) -> None:
    cut = clock("08:30", day(2026, 3, 9))
    bench.do("cut_kit", CutKit("U-2", "2.00 m", mark="K-24"), "Bram", stance="observed", happened_us=cut)
    lay_late(bench, "K-24", "RUD-063", cut + HOUR, share=2)
    lay_late(bench, "K-24", "RUD-064", cut + 2 * HOUR)
    bench.do("dispose", Dispose("RUD-063", "scrap"), "Odile")
    assert {"K-24", "RUD-064"} <= open_items() and "RUD-063" not in open_items()
    bench.do("dispose", Dispose("RUD-064", "scrap"), "Odile")
    assert open_items() == {"K-22", "RUD-061"}


def test_accept_is_not_for_a_life_that_was_over(bench: Bench) -> None:
    assert set(bench.refused("dispose", Dispose("RUD-061", "accept"), "Odile")) == {"dispose.use_as_is_needed"}


def test_after_a_decision_that_lets_it_go_on_the_hold_that_the_broken_rule_put_on_it_ends(bench: Bench) -> None:
    cut = clock("08:30", day(2026, 3, 9))
    bench.do("cut_kit", CutKit("U-2", "2.00 m", mark="K-23"), "Bram", stance="observed", happened_us=cut)
    assert Block.objects.filter(item=item("K-23"), to_us=None, why="quality").count() == 1
    bench.do("dispose", Dispose("K-23", "await_customer"), "Odile")
    assert Block.objects.filter(item=item("K-23"), to_us=None).count() == 1
    bench.do("dispose", Dispose("K-23", "use_as_is", reference="Skerrow 18"), "Odile")
    assert Block.objects.filter(item=item("K-23"), to_us=None).count() == 0
    decision = last("dispose")
    bench.do("void", Void(decision.pk, "meant K-24"), "Odile")
    assert Block.objects.filter(item=item("K-23"), to_us=None).count() == 1
    assert "K-23" in open_items()


def test_scrapped_by_decision_stays_held(bench: Bench) -> None:
    cut = clock("08:30", day(2026, 3, 9))
    bench.do("cut_kit", CutKit("U-2", "2.00 m", mark="K-23"), "Bram", stance="observed", happened_us=cut)
    bench.do("dispose", Dispose("K-23", "scrap"), "Odile")
    assert Block.objects.filter(item=item("K-23"), to_us=None).count() == 1


def test_a_decision_repeats_as_one_and_nothing_open_is_nothing_to_decide(bench: Bench) -> None:
    p = Dispose("RUD-061", "scrap", reason="over")
    bench.do("dispose", p, "Odile", key="decide")
    assert bench.do("dispose", p, "Odile", key="decide").replay
    assert Disposition.objects.count() == 1
    assert "dispose.nothing_open" in bench.refused("dispose", Dispose("RUD-061", "scrap"), "Odile")
    assert bench.not_understood("dispose", Dispose("RUD-061", "burn"), "Odile").reason.code == "dispose.meaning"
    assert bench.not_understood("dispose", Dispose("RUD-061", "scrap", nonconformance=99), "Odile").reason.code == "dispose.unknown"


def test_only_quality_decides(bench: Bench) -> None:
    for who in ("Ines", "Bram", "Marek", "Vera"):
        assert "role.not_allowed" in bench.refused("dispose", Dispose("RUD-061", "scrap"), who)


def test_what_a_decision_closed_stays_closed_when_the_roll_is_refolded(bench: Bench) -> None:
    bench.do("dispose", Dispose("RUD-061", "use_as_is", reference="Skerrow 17"), "Odile")
    bench.do("move", Move("U-2", "F1"), "Bram", stance="observed", happened_us=clock("16:00", day(2026, 3, 9)))
    assert open_items() == set()


def test_a_late_scan_of_the_kit_alone_does_not_clear_it_of_what_the_roll_was(bench: Bench) -> None:
    bench.do("move", Move("K-22", "BAY1"), "Bram", stance="observed", happened_us=clock("08:30", day(2026, 3, 9)))
    assert open_items() == {"K-22", "RUD-061"}
    assert Nonconformance.objects.get().closed_us is None


# --- opening stock ---------------------------------------------------------------------------------------------------


def stock(mark: str = "PT-1", **more: str) -> OpenStock:
    piece = ReceivedPiece("17.5 m", mark, **more)  # type: ignore[arg-type]
    return OpenStock("PP-T", (ReceivedLot("OLD-1", (piece,), made="2025-11-03"),), "Kestrow Prepreg", "F1")


def test_opening_stock_of_unknown_history_is_unknown_and_not_zero(bench: Bench) -> None:
    told = bench.do("open_stock", stock())
    assert told.data["pieces"][0]["unknown_history"] is True
    assert reading("PT-1", "out", bench).missing == "its earlier out time is unknown"
    assert Block.objects.filter(item=item("PT-1"), why="incoming", to_us=None).exists()


def test_it_is_used_only_after_a_starting_value_and_a_release(bench: Bench) -> None:
    bench.do("open_stock", stock())
    papers = (PaperValue("areal mass", "204", "PT-1"), PaperValue("resin", "42", "PT-1"))
    bench.do("certify", Certify("OLD-1", papers))
    assert set(bench.refused("release", Release(("PT-1",)), "Odile")) == {"history.unknown"}
    assert bench.not_understood("baseline", Baseline("PT-1", "100 h", " "), "Odile").reason.code == "reason.missing"
    assert bench.not_understood("baseline", Baseline("PT-1", "long", "x"), "Odile").where == "out_time"
    assert "role.not_allowed" in bench.refused("baseline", Baseline("PT-1", "100 h", "x"), "Ines")
    bench.do("baseline", Baseline("PT-1", "100 h", "freezer book, pages 3 to 9, plus a day"), "Odile")
    bench.do("release", Release(("PT-1",)), "Odile")
    assert (reading("PT-1", "out", bench).used, reading("PT-1", "out", bench).missing) == (100 * HOUR, "")
    bench.do("move", Move("PT-1", "CLEAN"), "Bram", at=bench.now_us + MINUTE)
    bench.do("open", Open("PT-1", True), "Bram", at=bench.now_us + 13 * HOUR)
    bench.do("cut_kit", CutKit("PT-1", "1 m", mark="K-60"), "Bram", at=bench.now_us + 14 * HOUR)


def test_a_starting_value_is_set_once_and_set_again_only_after_a_void(bench: Bench) -> None:
    bench.do("open_stock", stock())
    bench.do("baseline", Baseline("PT-1", "100 h", "freezer book"), "Odile")
    assert "baseline.known" in bench.refused("baseline", Baseline("PT-1", "10 h", "rather less"), "Odile")
    bench.do("void", Void(last("baseline").pk, "read the wrong page"), "Odile")
    assert reading("PT-1", "out", bench).missing
    bench.do("baseline", Baseline("PT-1", "120 h", "freezer book"), "Odile")
    assert reading("PT-1", "out", bench).used == 120 * HOUR


def test_zero_that_somebody_knows_is_not_unknown(bench: Bench) -> None:
    bench.do("open_stock", stock(out_time="0 h"))
    assert reading("PT-1", "out", bench).used == 0 and not reading("PT-1", "out", bench).missing


def test_glass_has_no_history_to_know_and_a_lot_nobody_knows_is_a_lot_of_its_own(bench: Bench) -> None:
    pieces = (ReceivedPiece("31 m", "G-1"), ReceivedPiece("8 m", "G-2"))
    told = bench.do("open_stock", OpenStock("GB-600", (ReceivedLot("", pieces),), place="RACK"))
    assert [p["lot"] for p in told.data["pieces"]] == ["unknown, G-1", "unknown, G-2"]
    assert "unknown" not in doc("G-1")
    assert item("G-1").lot_id != item("G-2").lot_id


def test_opening_stock_entered_twice_counts_once(bench: Bench) -> None:
    for _ in range(2):
        bench.do("open_stock", stock(), key="first day")
    assert Item.objects.filter(mark="PT-1").count() == 1
    assert "receive.mark_taken" in bench.refused("open_stock", stock())
    assert Act.objects.filter(kind="receive").count() == 2


def test_part_used_stock_that_is_open_is_as_old_as_it_can_be(bench: Bench) -> None:
    can = ReceivedPiece("1.2 kg", "LB-1", opened="yes")
    bench.do("open_stock", OpenStock("LAM-B", (ReceivedLot("B7", (can,), made="2026-01-05"),), place="RS"))
    assert doc("LB-1")["opened"] == clock("00:00", day(2026, 1, 5))
