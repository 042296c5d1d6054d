"""Bram's Monday with exact figures: what goes into a rudder, what is refused with which reasons, what is stored all the same.

Figures from the demo's acceptance script; the durations are elapsed hours over the night the clocks went forward."""

from __future__ import annotations

import pytest

from inventory.models import Block, Edge, Finding, Nonconformance, Refusal
from layups.reads.schedules import laid_into
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureAbort, CureLoad, CureOn
from layups.verbs.inspecting import Inspect
from layups.verbs.shipping import Ship

from .day import Day, M, brams_day, codes, minutes, new_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return brams_day(new_day())


def test_a_roll_over_its_tack_is_refused_with_all_four_reasons(day: Day) -> None:
    """B2: 114 h 10 of 72 h; not released; 8 h thaw, 16:10; out life would end 14:00, before the cure at 17:00."""
    reasons = {r.code: r for r in day.no_lay(day.at("08:10"), "U-3", "RUD-073", plies=(1,))}
    assert set(reasons) == {"life.over", "block.incoming", "thaw.frozen", "life.too_short"}
    over = reasons["life.over"]
    assert over.numbers["limit"] == "tack"
    assert "114 h 10 of 72 h" in over.text
    assert "Sat 28 Mar 12:30" in over.text
    assert reasons["thaw.frozen"].numbers["ready_at_us"] == day.at("16:10")
    assert reasons["life.too_short"].numbers["ends_us"] == day.at("14:00")
    assert "17:00" in reasons["life.too_short"].text
    assert laid_into([day.item("RUD-073").pk]) == {}
    assert Refusal.objects.get().verb == "lay"


def test_a_kit_still_thawing_is_refused_for_that_alone(day: Day) -> None:
    """B3: 55 of 60 min, from 08:15."""
    (reason,) = day.no_lay(day.at("08:10"), "K-31", "RUD-073")
    assert reason.code == "thaw.short"
    assert "55 of 60 min" in reason.text
    assert "08:15" in reason.text


def test_a_thawed_kit_is_asked_for_its_bag_and_then_fills_six_plies_in_one_scan(day: Day) -> None:
    """B4: tack 58 h 49 left (13 h 11 used), out 106 h 49 left."""
    assert codes(day.no_lay(day.at("08:16"), "K-31", "RUD-073")) == ["thaw.bag_unasked"]
    out = day.lay(day.at("08:16"), "K-31", "RUD-073", dry=True)
    assert [r.kind for r in out.receipts] == ["open", "lay"]
    (laid,) = laid_into([day.item("RUD-073").pk])[day.item("RUD-073").pk]
    assert [seq for seq, _ in laid.fills] == [1, 2, 3, 4, 5, 6]
    assert day.qty("K-31") == 0
    lives = {(x["limit"], x["label"][:4]): x for x in out.data["lives"]}
    assert lives[("tack", "PP-U")]["used"] == minutes(13, 11) * 60 * M
    assert lives[("tack", "PP-U")]["left"] == minutes(58, 49) * 60 * M
    assert lives[("out", "PP-U")]["left"] == minutes(106, 49) * 60 * M


def test_a_wet_bag_is_not_opened(day: Day) -> None:
    assert codes(day.no_lay(day.at("08:16"), "K-31", "RUD-073", dry=False)) == ["thaw.bag_wet"]


def test_the_wrong_fabric_is_refused_with_what_the_ply_needs(day: Day) -> None:
    """B5: the design allows no alternate."""
    (reason,) = day.no_lay(day.at("08:30"), "C-12", "RUD-073", plies=(7,))
    assert reason.code == "ply.wrong_material"
    for word in ("CT-204", "ply 7", "PP-T", "no alternate"):
        assert word in reason.text


def test_the_schedules_length_is_offered_and_taken_off_the_roll(day: Day) -> None:
    """B6: 0.85 m into ply 7 leaves 23.75 m at out 44 h 32; the next one goes into ply 8."""
    out = day.lay(day.at("08:32"), "T-2", "RUD-073")
    assert out.data["parts"] == [{"part": "RUD-073", "plies": [7], "qty": 850_000}]
    assert out.data["left_text"] == "23.75 m"
    assert day.used("T-2", day.at("08:32"), "out", "PP-T") == minutes(44, 32)
    assert day.lay(day.at("08:34"), "T-2", "RUD-073").data["parts"][0]["plies"] == [8]
    assert day.qty("T-2") == 22_900_000


def test_more_into_a_filled_ply_must_be_said_to_be_extra(day: Day) -> None:
    """B8: 0.85 m more into ply 8."""
    for clock in ("08:32", "08:34"):
        day.lay(day.at(clock), "T-2", "RUD-073")
    assert codes(day.no_lay(day.at("09:10"), "T-2", "RUD-073", plies=(8,))) == ["ply.filled"]
    day.lay(day.at("09:10"), "T-2", "RUD-073", plies=(8,), extra=True)
    assert day.qty("T-2") == 22_050_000


def test_a_sheet_on_its_last_day_is_laid_whole(day: Day) -> None:
    """B7: film adhesive made 30 Sep 2025 lasts through today."""
    whole = day.qty("FK-12")
    out = day.lay(day.at("08:40"), "FK-12", "RUD-073", dry=True)
    assert out.data["parts"] == [{"part": "RUD-073", "plies": [9], "qty": whole}]


def test_a_last_day_lasts_through_midnight_and_no_longer(day: Day) -> None:
    assert codes(day.no_lay(day.at("00:00", 1), "FK-12", "RUD-073", dry=True)) == ["life.over"]
    day.lay(day.at("00:00", 1) - 1, "FK-12", "RUD-073", dry=True)


def build(day: Day) -> None:
    """RUD-073 up to the bag."""
    day.lay(day.at("08:16"), "K-31", "RUD-073", dry=True)
    day.lay(day.at("08:32"), "T-2", "RUD-073")
    day.lay(day.at("08:34"), "T-2", "RUD-073")
    day.lay(day.at("08:40"), "FK-12", "RUD-073", dry=True)


def test_the_bag_must_hold_before_the_part_is_heated(day: Day) -> None:
    """B12: +14 mbar fails at a limit of 10, loading is refused; +4 mbar passes."""
    build(day)
    out = day.do(day.at("13:30"), "bag", Bag("RUD-073"))
    assert out.data["missing"] == {"RUD-073": ["core (10)", "core (11)"]}
    load = CureLoad("CR-311", "OV2", "RUD-073")
    assert codes(day.refused(day.at("13:31"), "cure_load", load)) == ["drop_test.missing"]
    assert not day.do(day.at("13:36"), "inspect", Inspect("RUD-073", "drop test", "+14 mbar", instrument="VG-1")).data["passed"]
    (reason,) = day.refused(day.at("13:37"), "cure_load", load)
    assert (reason.code, reason.numbers["result"], reason.numbers["limit_pa"]) == ("drop_test.failed", "14 mbar", 1000)
    assert codes(day.refused(day.at("13:38"), "cure_on", CureOn(parts=("RUD-073",)))) == ["drop_test.failed"]
    day.do(day.at("13:45"), "inspect", Inspect("RUD-073", "drop test", "4", instrument="VG-1"))
    day.do(day.at("15:40"), "cure_load", load)
    assert not Finding.objects.filter(item__mark="RUD-073", closed_us=None).exists(), "a leak that was mended is no nonconformance"
    assert day.used("RUD-073", day.at("15:40"), "out", "PP-U") == minutes(20, 35), "debulk, bag and loading stop no clock"


def test_a_trip_below_the_cure_temperature_voids_the_start_and_the_gap_counts(day: Day) -> None:
    """B13: start 15:52, trip 16:04 at 34 °C, restart 16:20: UD 20 h 47 then 21 h 15, T-2's plies 52 h 20, FK-12 27 h 35."""
    build(day)
    day.do(day.at("13:30"), "bag", Bag("RUD-073"))
    day.do(day.at("13:45"), "inspect", Inspect("RUD-073", "drop test", "4"))
    day.do(day.at("15:40"), "cure_load", CureLoad("CR-311", "OV2", "RUD-073"))
    day.do(day.at("15:52"), "cure_on", CureOn("CR-311"))
    for clock in ("15:52", "16:03"):
        assert day.used("RUD-073", day.at(clock), "out", "PP-U") == minutes(20, 47)
    out = day.do(day.at("16:04"), "cure_abort", CureAbort("34", "CR-311"))
    assert out.data["void"] == ["RUD-073"]
    day.do(day.at("16:20"), "cure_on", CureOn("CR-311"))
    for material, used in (("PP-U", minutes(21, 15)), ("PP-T", minutes(52, 20)), ("FA-B", minutes(27, 35))):
        assert day.used("RUD-073", day.at("17:30"), "out", material) == used


def test_what_is_already_in_the_part_is_stored_and_the_part_is_held(day: Day) -> None:
    """B14: 0.60 m of T-6 laid at 08:25, 55 min into a thaw of 12 h."""
    out = day.lay(day.at("16:30"), "T-6", "RUD-074", plies=(7,), qty="0.60 m", happened=day.at("08:25"))
    (reason,) = out.reasons
    assert reason.code == "thaw.short"
    assert "55 min of 12 h" in reason.text
    assert day.qty("T-6") == 49_400_000
    block = Block.objects.get(item__mark="RUD-074", to_us=None)
    assert "55 min of 12 h" in block.text
    assert Nonconformance.objects.filter(closed_us=None).count() == 1
    day.do(day.at("16:31"), "bag", Bag("RUD-074"))
    day.do(day.at("16:32"), "inspect", Inspect("RUD-074", "drop test", "4"))
    day.do(day.at("16:33"), "cure_on", CureOn(parts=("RUD-074",)))
    assert "block.quality" in codes(day.refused(day.at("16:34"), "ship", Ship("RUD-074", "Skerrow Sailing School"), "Ines"))


def test_after_brams_day_the_rudder_lists_its_lots(day: Day) -> None:
    build(day)
    from inventory.lineage import up_ids

    above = set(up_ids([day.item("RUD-073").pk]))
    assert {day.lots["U26"], day.lots["T25"], day.lots["FA-9"]} <= above


def test_the_same_scan_sent_twice_counts_once(day: Day) -> None:
    key = day.key()
    from layups.verbs.laying import Lay

    first = day.do(day.at("08:16"), "lay", Lay("K-31", "RUD-073", dry=True), key=key)
    again = day.do(day.at("08:17"), "lay", Lay("K-31", "RUD-073", dry=True), key=key)
    assert again.replay
    assert again.text == first.text
    assert again.data["parts"] == first.data["parts"]
    assert Edge.objects.filter(src__mark="K-31").count() == 1
