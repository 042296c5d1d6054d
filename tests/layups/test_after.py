"""Late truth, pages and lists, holds that begin at a defect, records that are taken back, the recall file."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.reasons import Refused
from inventory.lineage import down_ids
from inventory.models import Block, Finding, Nonconformance, Site
from inventory.recording import canonical
from inventory.verbs.cutting import CutKit
from inventory.verbs.holding import Unhold
from inventory.verbs.registry import Call
from inventory.verbs.voiding import Void
from layups.models import Inspection
from layups.reads.part import part_page
from layups.reads.parts import parts
from layups.tracing import recall, trace_back, trace_forward
from layups.tracing.rows import back_csv, back_json, forward_csv, forward_json, recall_csv, recall_json
from layups.verbs.curing import CureOn, Step
from layups.verbs.holding import hold_shared
from layups.verbs.inspecting import Inspect
from layups.verbs.joining import Join, Unjoin
from layups.verbs.shipping import Ship

from .day import HOUR, Day, M, brams_day, codes, new_day
from .jobs import boat, cured, hold, tiller

pytestmark = pytest.mark.django_db
SOFT = "27 29 26 31 28 30 25 29 28 27"


@pytest.fixture
def day() -> Day:
    return new_day()


# --- late truth ------------------------------------------------------------------------------------------------------


def test_a_late_take_out_reaches_the_shipped_rudder_with_one_nonconformance(day: Day) -> None:
    """Q5: out 96 h when taken out on Friday 6 March at 15:00; at the cut on Monday 9 March 08:00 it was at 161 h of 120 h, over
    since Saturday 15:00, 41 h before."""
    at = day.at
    day.receive("U-2", "PP-U", 60 * M, "F1", at=at("08:00", -40), out_us=96 * HOUR)
    assert day.used("U-2", at("07:00", -21), "out", "PP-U") == 96 * 60
    day.start(at("07:00", -21), "TIL", "RUD-061", "CLEAN", customer="Skerrow Sailing School")
    day.receive("T-5", "PP-T", 50 * M, "F1", at=at("08:00", -40))
    day.move(at("12:00", -22), "T-5", "CLEAN")
    # The kit was cut and laid on a paper slip's word; the book said that the roll was in the freezer.
    day.do(
        at("08:30", -21), "cut_kit", CutKit("U-2", "2.20 m", mark="K-22", job="RUD-061", place="CLEAN"), "Ines", happened=at("08:00", -21)
    )
    before = set(Nonconformance.objects.values_list("pk", flat=True))
    day.lay(at("09:00", -21), "T-5", "RUD-061", dry=True)
    day.lay(at("09:05", -21), "K-22", "RUD-061", happened=at("09:04", -21))
    assert before, "cut out of the freezer: thaw, as the book had it"
    day.move(at("09:05"), "U-2", "CLEAN", happened=at("15:00", -24))
    over = Finding.objects.filter(closed_us=None, code__startswith="life.over")
    assert set(over.values_list("item__mark", flat=True)) == {"K-22", "RUD-061"}
    assert over.values("nonconformance").distinct().count() == 1
    finding = over.get(item__mark="K-22", code__contains="out")
    assert "161 h 00 of 120 h" in finding.text
    assert finding.nonconformance.cause.mark == "U-2"
    assert day.item("RUD-061").pk in down_ids([day.item("U-2").pk])


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_of_a_part_says_what_to_fetch_and_how_long_it_may_wait(day: Day) -> None:
    """B1: plies 1–6, kit K-31 in the clean room, from 08:15."""
    brams_day(day)
    page = part_page(Site.objects.get(), day.item("RUD-073").pk, day.at("08:10"))
    assert page.next is not None
    assert (page.next.seqs, page.next.name, page.next.place) == ((1, 2, 3, 4, 5, 6), "K-31", "Clean room")
    assert page.next.ready_us == day.at("08:15")
    assert (page.word, [v.done for v in page.lines]) == ("building", [False] * 11)
    day.lay(day.at("08:16"), "K-31", "RUD-073", dry=True)
    page = part_page(Site.objects.get(), day.item("RUD-073").pk, day.at("08:20"))
    assert page.next is not None
    assert (page.next.seqs, page.next.name, page.next.amount) == ((7,), "T-2", "0.85 m")
    assert [f.name for f in page.lines[0].filled] == ["K-31"]
    (out,) = [x for x in page.lives if x.limit == "out"]
    assert out.left == (106 * 60 + 45) * 60 * M
    assert [v.line.seq for v in page.missing] == [7, 8, 9, 10, 11]


def test_the_page_asks_as_many_queries_for_a_full_part_as_for_an_empty_one(day: Day) -> None:
    brams_day(day)
    site, counts = Site.objects.get(), []
    for _ in range(2):
        for number in ("RUD-073", "RUD-074"):
            item = day.item(number).pk
            with CaptureQueriesContext(connection) as found:
                part_page(site, item, day.at("08:50"))
            counts.append(len(found))
        if len(counts) == 2:
            day.lay(day.at("08:16"), "K-31", "RUD-073", dry=True)
            day.lay(day.at("08:20"), "T-2", "RUD-073")
            for n in range(6):
                day.lay(day.at("08:21") + n, "T-2", "RUD-073", plies=(8,), extra=True)
    assert max(counts) <= min(counts) + 8, counts
    assert max(counts) <= 40


def test_a_list_of_parts_is_paged_in_a_constant_number_of_queries(day: Day) -> None:
    site = day.yard.site
    for n in range(12):
        day.start(day.at("07:00") + n, "RUD", f"RUD-{100 + n}", "CLEAN")
    hold(day, day.at("08:00"), "RUD-111")
    counts = []
    for limit in (2, 10):
        with CaptureQueriesContext(connection) as found:
            page = parts(site, limit=limit)
        counts.append(len(found))
    assert counts[0] == counts[1]
    assert [r.number for r in page.rows][:2] == ["RUD-111", "RUD-110"]
    assert [r.number for r in page.rows if r.held] == ["RUD-111"]
    rest = parts(site, limit=10, before=page.before)
    assert [r.number for r in rest.rows] == ["RUD-101", "RUD-100"]
    assert rest.before is None
    assert [r.number for r in parts(site, text="105").rows] == ["RUD-105"]
    assert Inspection.objects.count() == 0


# --- from a defect to a hold -----------------------------------------------------------------------------------------


def test_a_lot_that_bad_parts_share_is_held_with_everything_made_of_it(day: Day) -> None:
    """Q9, Q10, Q12 in small: one hold on the lot; cure and moves go on, shipping does not; evidence frees only its own product."""
    cured(day, "TIL-020", "07:00", "Brae Loch Outfitters")
    tiller(day, "TIL-021", "08:00")
    lot = day.lots["UL"]
    call = Call(day.yard.who("Odile"), day.at("10:00"), day.key())
    out = hold_shared(call, lot, "soft laminate")
    assert out.data["below"] == 3
    assert Block.objects.filter(to_us=None).count() == 1
    day.do(day.at("10:01"), "cure_on", CureOn(parts=("TIL-021",)))
    day.do(day.at("10:02"), "step", Step("TIL-020", "demoulded", place="STOCK"))
    assert codes(day.refused(day.at("10:03"), "ship", Ship("TIL-020"), "Ines")) == ["block.quality"]
    found = recall(lot)
    assert set(found.holds) == {f.thing.id for f in found.found} | {lot}
    assert found.uncontained == []
    free = Unhold("UL", "shear of 12 coupons", only=("TIL-020",), about="ROD")
    assert codes(day.refused(day.at("10:20"), "unhold", free, "Odile")) == ["evidence.other_product"]
    day.do(day.at("10:21"), "unhold", Unhold("UL", "shear of 12 coupons", only=("TIL-020",), about="TIL"), "Odile")
    day.do(day.at("10:22"), "ship", Ship("TIL-020"), "Ines")


def test_only_quality_holds_what_bad_parts_share(day: Day) -> None:
    tiller(day)
    with pytest.raises(Refused) as refused:
        hold_shared(Call(day.yard.who("Bram"), day.at("10:00"), day.key()), day.lots["UL"], "soft")
    assert codes(list(refused.value.reasons)) == ["role.not_allowed"]


# --- taken back ------------------------------------------------------------------------------------------------------


def void(day: Day, at: int, act: int) -> None:
    day.do(at, "void", Void(act, "wrong boat"), "Odile")


def test_a_voided_taking_out_leaves_the_component_where_it_was(day: Day) -> None:
    cured(day, "TIL-031")
    boat(day, "DIN-029", day.at("08:00"))
    boat(day, "DIN-034", day.at("08:01"))
    put_in = day.do(day.at("09:00"), "join", Join("TIL-031", "DIN-029")).receipts[0].act
    out = day.do(day.at("10:00"), "unjoin", Unjoin("TIL-031")).receipts[0].act
    again = day.do(day.at("11:00"), "join", Join("TIL-031", "DIN-034")).receipts[0].act
    assert "void.taken_out" in codes(day.refused(day.at("11:01"), "void", Void(put_in, "wrong boat"), "Odile"))
    assert codes(day.refused(day.at("11:01"), "void", Void(out, "wrong boat"), "Odile")) == ["void.built_in_since"]
    void(day, day.at("11:02"), again)
    void(day, day.at("11:03"), out)
    found = {f.thing.name: f for f in trace_forward(day.lots["TL"]).found}
    assert (found["DIN-029"].until_us, found["DIN-029"].thing.where) == (None, "cured")
    assert "DIN-034" not in found
    assert codes(day.refused(day.at("11:04"), "join", Join("TIL-031", "DIN-034"))) == ["part.in_assembly", "stock.not_enough"]


def test_a_voided_pass_leaves_the_bag_failed(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "inspect", Inspect("TIL-020", "drop test", "14"))
    passed = day.do(day.at("08:10"), "inspect", Inspect("TIL-020", "drop test", "4")).receipts[0].act
    assert not Finding.objects.filter(closed_us=None).exists()
    void(day, day.at("08:11"), passed)
    assert Finding.objects.filter(closed_us=None, code__startswith="drop_test.failed").count() == 1
    assert codes(day.refused(day.at("08:12"), "cure_on", CureOn(parts=("TIL-020",)))) == ["drop_test.failed"]


def test_a_voided_shipment_brings_the_part_back(day: Day) -> None:
    cured(day)
    act = day.do(day.at("10:00"), "ship", Ship("TIL-020", "P-03"), "Ines").receipts[0].act
    void(day, day.at("10:30"), act)
    found = {f.thing.name: f.thing for f in trace_forward(day.lots["TL"]).found}
    assert (found["TIL-020"].where, found["TIL-020"].sent) == ("cured", None)
    day.do(day.at("10:31"), "ship", Ship("TIL-020", "P-07"), "Ines")


def test_the_recall_file_has_a_row_for_everything_that_exists_and_no_formula(day: Day) -> None:
    cured(day, customer="Skerrow Sailing School")
    day.do(day.at("10:00"), "ship", Ship("TIL-020"), "Ines")
    found = recall(day.lots["UL"])
    lines = list(recall_csv(found, day.yard.site.zone))
    assert len(lines) == 1 + len(found.existing) == 3
    assert all(not line.startswith(("=", "+", "-", "@", "\t")) for line in lines)
    row = next(line for line in lines if line.startswith("TIL-020"))
    for word in ("shipped", "2.20 m", "Skerrow Sailing School", "2026-03-30T10:00+02:00"):
        assert word in row
    doc = recall_json(found)
    assert (doc["found"], len(doc["existing"]), doc["customers"]) == (2, 2, {"Skerrow Sailing School": 1})
    assert canonical(doc) and canonical(forward_json(trace_forward(day.lots["UL"]))), "whole numbers and texts only"
    back = trace_back(day.item("TIL-020").pk)
    assert canonical(back_json(back))
    assert [line.split(",")[1] for line in back_csv(back, day.yard.site.zone)] == ["lot", "TL", "UL"]
    assert len(list(forward_csv(trace_forward(day.lots["UL"]), day.yard.site.zone))) == 3
