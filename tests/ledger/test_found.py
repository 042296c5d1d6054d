"""What random days found once, each as a day of its own."""

from __future__ import annotations

import pytest

from inventory.models import Finding
from inventory.recording.rebuild import rebuild
from inventory.verbs.cutting import CutKit
from inventory.verbs.deciding import Dispose
from inventory.verbs.moving import Move, Open
from inventory.verbs.papers import Receive, ReceivedLot, ReceivedPiece
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureOn
from layups.verbs.laying import Lay
from layups.verbs.starting import StartPart
from tests.ledger.bench import DAY, HOUR, Bench, clock, prepreg

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench() -> Bench:
    made = Bench()
    made.do("receive", prepreg(ReceivedPiece("50 m", "T-7")), at=clock("05:00") - 3 * DAY)
    made.do("move", Move("T-7", "CLEAN"), at=clock("06:00"))
    return made


def prepreg_left_out(bench: Bench, *parts: str) -> None:
    """U-1 lay in the clean room for six days (out life 120 h), and was laid into tillers all the same."""
    pieces = (ReceivedPiece("40 m", "U-1"), ReceivedPiece("40 m", "U-2"))
    receipt = Receive("D-9", (ReceivedLot("L9", pieces, "2026-02-02"),), "Kestrow Prepreg", "PP-U", "F1")
    bench.do("receive", receipt, at=clock("05:00") - 7 * DAY)
    for roll in ("U-1", "U-2"):
        bench.do("move", Move(roll, "CLEAN"), at=clock("06:00") - 6 * DAY)
    for part in parts:
        bench.do("start_part", StartPart("TIL", part, "CLEAN"), "Bram", at=clock("06:00"))
        told(bench, "lay", Lay("U-1", part, qty="1 m", dry=True), "07:00", "07:05")


def causes(code: str) -> set[str]:
    return set(Finding.objects.filter(code__startswith=code).values_list("nonconformance__cause__mark", flat=True))


def test_what_broke_a_limit_first_is_the_cause_of_the_cure_that_follows(bench: Bench) -> None:
    prepreg_left_out(bench, "TIL-1")
    told(bench, "cure_on", CureOn(parts=("TIL-1",)), "08:00", "08:05")
    assert causes("life.over") == {"U-1"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences


@pytest.mark.parametrize("first", ["U-1", "U-2"])
def test_of_two_rolls_of_a_lot_the_one_that_was_laid_first_is_the_cause_whichever_was_told_first(bench: Bench, first: str) -> None:
    prepreg_left_out(bench)
    bench.do("start_part", StartPart("TIL", "TIL-1", "CLEAN"), "Bram", at=clock("06:00"))
    second = {"U-1": "U-2", "U-2": "U-1"}[first]
    told(bench, "lay", Lay(second, "TIL-1", qty="1 m", dry=True), "07:20", "07:25")
    told(bench, "lay", Lay(first, "TIL-1", qty="1 m", dry=True, extra=True), "07:00", "07:30")
    told(bench, "cure_on", CureOn(parts=("TIL-1",)), "08:00", "08:05")
    cure = Finding.objects.filter(leg__act__kind="cure_on", code__startswith="life.over/out")
    assert set(cure.values_list("nonconformance__cause__mark", flat=True)) == {first}
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def test_what_quality_has_decided_since_takes_no_cause_away(bench: Bench) -> None:
    prepreg_left_out(bench, "TIL-1")
    bench.do("dispose", Dispose("TIL-1", "use_as_is", "DA-7", "tested"), "Odile", at=clock("07:30"))
    told(bench, "cure_on", CureOn(parts=("TIL-1",)), "08:00", "08:05")
    assert causes("life.over") == {"U-1"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def test_a_late_record_that_breaks_a_rule_of_the_hour_keeps_what_the_refold_found(bench: Bench) -> None:
    """Cut out of a roll that waits for release and was over, told after the roll had been moved on."""
    prepreg_left_out(bench)
    bench.do("move", Move("U-1", "BAY1"), at=clock("08:00"))
    told(bench, "cut_kit", CutKit("U-1", "1 m", mark="K-1"), "07:30", "08:05")
    assert {"life.over", "block.incoming"} <= open_findings()
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def test_a_late_record_is_judged_by_its_source_also_where_only_the_part_has_gone_on(bench: Bench) -> None:
    prepreg_left_out(bench)
    bench.do("start_part", StartPart("TIL", "TIL-1", "CLEAN"), "Bram", at=clock("06:00"))
    bench.do("move", Move("TIL-1", "BAY1"), "Bram", at=clock("08:00"))
    told(bench, "lay", Lay("U-1", "TIL-1", qty="41 m", dry=True), "07:30", "08:05")
    assert {"life.over", "stock.below_zero"} <= open_findings()
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def test_each_part_under_one_bag_has_its_own_finding(bench: Bench) -> None:
    prepreg_left_out(bench, "TIL-1", "TIL-2")
    told(bench, "bag", Bag("TIL-1", ("TIL-2",)), "08:00", "08:05")
    rows = Finding.objects.filter(leg__act__kind="bag", code__startswith="life.over/out")
    assert set(rows.values_list("item__mark", flat=True)) == {"TIL-1", "TIL-2"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def test_an_expired_release_agent_that_was_used_stays_a_finding(bench: Bench) -> None:
    """It is followed by its lot; that its date was over is known all the same."""
    pieces = (ReceivedPiece("1 kg", "REL-1"),)
    receipt = Receive("D-8", (ReceivedLot("L8", pieces, printed="2026-03-29"),), "Hask Consumables", "REL", "RACK")
    bench.do("receive", receipt, at=clock("05:00"))
    bench.do("start_part", StartPart("REP", "REP-1", "BAY1"), "Bram", at=clock("06:00"))
    told(bench, "lay", Lay("REL-1", "REP-1"), "07:00", "07:05")
    assert "life.over" in open_findings()
    assert not rebuild(bench.yard.site, clock("20:00")).differences


def open_findings() -> set[str]:
    return {code.split("/")[0] for code in Finding.objects.filter(closed_us__isnull=True).values_list("code", flat=True)}


def told(bench: Bench, verb: str, params: object, happened: str, at: str) -> None:
    who = "Ines" if verb in ("open", "move") else "Bram"
    bench.do(verb, params, who, clock(at), stance="observed", happened_us=clock(happened))


def test_a_wet_bag_that_was_opened_stays_a_finding_when_the_record_is_folded_again(bench: Bench) -> None:
    told(bench, "open", Open("T-7", False), "19:00", "19:05")
    assert open_findings() == {"thaw.bag_wet"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences
    told(bench, "move", Move("T-7", "BAY1"), "18:00", "20:00")
    assert open_findings() == {"thaw.bag_wet"}, "somebody saw it: no later record takes that away"


def test_an_opening_too_early_is_judged_again_when_the_take_out_turns_out_earlier(bench: Bench) -> None:
    """12 h of thaw from 06:00; opened 08:00; and then: it had been out since Sunday evening."""
    told(bench, "open", Open("T-7", True), "08:00", "08:05")
    assert open_findings() == {"thaw.short"}
    assert not rebuild(bench.yard.site, clock("20:00")).differences
    bench.do("move", Move("T-7", "CLEAN"), at=clock("20:00"), stance="observed", happened_us=clock("00:00") - 6 * HOUR)
    assert not open_findings()
    assert not rebuild(bench.yard.site, clock("20:00")).differences
