"""Parts begin and are filled: pots, owners, jobs, compatibility, rooms, trace grades. Figures from the demo's acceptance script
where a step is named; trade facts are common practice, no source."""

from __future__ import annotations

import pytest

from inventory.models import Finding
from inventory.verbs.cutting import CutKit
from inventory.verbs.mixing import Measure
from layups.models import Part
from layups.tracing import trace_back
from layups.verbs.laying import Into
from layups.verbs.starting import PlanCure, StartPart

from .day import KG, Day, G, M, codes, new_day
from .jobs import laminating, pot

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return new_day()


# --- beginning ----------------------------------------------------------------------------------------


def test_a_part_begins_with_its_number_its_place_and_its_plan(day: Day) -> None:
    out = day.start(day.at("07:00"), "RUD", "RUD-073", "CLEAN", customer="Skerrow Sailing School", planned_cure_us=day.at("17:00"))
    part = Part.objects.select_related("customer", "design", "item").get()
    assert (part.number, part.design.code, str(part.customer), part.planned_cure_us) == (
        "RUD-073",
        "RUD",
        "Skerrow Sailing School",
        day.at("17:00"),
    )
    assert out.data["items"] == {"part": part.item.code}
    state = day.state("RUD-073")
    assert (state.qty, state.location.code if state.location else "") == (1, "CLEAN")


def test_a_number_is_given_once_also_by_somebody_who_types_it_small(day: Day) -> None:
    day.start(day.at("07:00"), "RUD", "RUD-073", "CLEAN")
    for number in ("RUD-073", "rud-073"):
        assert codes(day.refused(day.at("07:01"), "start_part", StartPart("RUD", number, "CLEAN"))) == ["part.number_taken"]
    assert Part.objects.count() == 1


def test_the_same_start_sent_twice_makes_one_part(day: Day) -> None:
    key = day.key()
    for clock in ("07:00", "07:02"):
        day.do(day.at(clock), "start_part", StartPart("RUD", "RUD-073", "CLEAN"), key=key)
    assert Part.objects.count() == 1


@pytest.mark.parametrize(
    ("params", "code"),
    [
        (StartPart("XXX", "R-1", "CLEAN"), "design.unknown"),
        (StartPart("RUD", "R-1", "NOWHERE"), "place.unknown"),
        (StartPart("RUD", " ", "CLEAN"), "text.needed"),
        (StartPart("RUD", "R" * 41, "CLEAN"), "text.too_long"),
        (StartPart("RUD", "R\x00-1", "CLEAN"), "text.unprintable"),
        (StartPart("RUD", "R-1", "CLEAN", customer="Nobody"), "customer.unknown"),
    ],
)
def test_what_is_not_understood_is_asked_for_again(day: Day, params: StartPart, code: str) -> None:
    assert day.bad(day.at("07:00"), "start_part", params) == code


def test_a_storekeeper_begins_no_part(day: Day) -> None:
    assert codes(day.refused(day.at("07:00"), "start_part", StartPart("RUD", "RUD-073", "CLEAN"), "Ines")) == ["role.not_allowed"]


def test_a_moved_plan_is_what_the_next_scan_is_judged_by(day: Day) -> None:
    """Film taken out at 19:00 with 22 h left of its out life: over at exactly 17:00."""
    day.start(day.at("07:00"), "RUD", "RUD-073", "CLEAN", planned_cure_us=day.at("18:00"))
    day.receive("FA-8", "FA-B", 20 * M, "F1", out_us=(240 - 22) * 3600 * M)
    day.move(day.at("19:00", -1), "FA-8", "CLEAN")
    assert codes(day.no_lay(day.at("08:00"), "FA-8", "RUD-073", dry=True)) == ["life.too_short"]
    assert day.bad(day.at("08:01"), "plan_cure", PlanCure("RUD-073", day.at("07:00"))) == "plan.past"
    day.do(day.at("08:01"), "plan_cure", PlanCure("RUD-073", day.at("17:00")))
    assert codes(day.no_lay(day.at("08:02"), "FA-8", "RUD-073", dry=True)) == ["life.too_short"]
    day.do(day.at("08:03"), "plan_cure", PlanCure("RUD-073", day.at("17:00") - 1))
    day.lay(day.at("08:04"), "FA-8", "RUD-073", dry=True)


# --- pots ----------------------------------------------------------------------------------------------


def test_a_pot_goes_in_until_its_stop_time_and_not_after(day: Day) -> None:
    """B9, B10: 400.0 g and 100.2 g at 10:00; 320.2 g at 10:20; refused at 10:40."""
    laminating(day)
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    out = day.lay(day.at("10:20"), "M-1", "REP-019", qty="320.2 g")
    assert out.data["left_text"] == "180.0 g"
    reasons = day.no_lay(day.at("10:40"), "M-1", "REP-019", qty="180.0 g", extra=True)
    assert len(reasons) == 1
    assert "10:33" in reasons[0].text
    assert day.qty("M-1") == 180 * G


def test_a_part_knows_how_much_of_each_can_is_in_it(day: Day) -> None:
    laminating(day)
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    day.lay(day.at("10:20"), "M-1", "REP-019", qty="320.2 g")
    lots = {x.lot.material: x for x in trace_back(day.item("REP-019").pk).lots}
    assert set(lots) == {"GB-600", "LAM-A", "LAM-B"}
    assert lots["LAM-A"].amount is not None and lots["LAM-B"].amount is not None
    assert lots["LAM-A"].amount + lots["LAM-B"].amount == 320_200_000
    assert lots["LAM-A"].via == ("M-1",)
    assert lots["GB-600"].amount == 800_000


def test_one_pot_goes_into_several_parts_in_one_action(day: Day) -> None:
    laminating(day)
    day.start(day.at("09:01"), "REP", "REP-020", "BAY1")
    day.lay(day.at("09:31"), "G6-4", "REP-020")
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    out = day.lay(day.at("10:20"), "M-1", "REP-019", qty="300.0 g", also=(Into("REP-020", "150.0 g"),))
    assert len(out.receipts) == 1
    assert [(x["part"], x["qty"]) for x in out.data["parts"]] == [("REP-019", 300 * G), ("REP-020", 150 * G)]
    assert day.qty("M-1") == 50_200_000


def test_what_is_left_of_a_pot_is_shared_when_nobody_says_how_much(day: Day) -> None:
    laminating(day)
    day.start(day.at("09:01"), "REP", "REP-020", "BAY1")
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    out = day.lay(day.at("10:20"), "M-1", "REP-019", also=(Into("REP-020"),))
    assert [x["qty"] for x in out.data["parts"]] == [250_100_000, 250_100_000], "the schedule asks for 550 g each, the pot has 500.2 g"
    assert day.qty("M-1") == 0


def test_a_step_that_wants_a_mix_takes_no_resin_from_the_can(day: Day) -> None:
    laminating(day)
    assert codes(day.no_lay(day.at("10:00"), "LA-7", "REP-019", plies=(2,), qty="400 g")) == ["ply.wrong_material"]


def test_two_parts_with_one_wrong_answer_for_both_in_one_refusal(day: Day) -> None:
    laminating(day)
    day.start(day.at("09:01"), "HAT", "HAT-020", "BAY1")
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    reasons = day.no_lay(day.at("10:10"), "M-1", "REP-019", also=(Into("HAT-020"),))
    assert codes(reasons) == ["ply.none_fits"]
    assert "HAT-020" in reasons[0].text


def test_an_observed_pot_is_marked_only_at_the_part_it_was_wrong_for(day: Day) -> None:
    laminating(day)
    day.start(day.at("09:01"), "HAT", "HAT-020", "BAY1")
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    day.lay(day.at("11:00"), "M-1", "REP-019", qty="100 g", also=(Into("HAT-020", "100 g"),), happened=day.at("10:10"))
    assert set(Finding.objects.values_list("item__mark", flat=True)) == {"HAT-020"}
    assert day.qty("M-1") == 300_200_000


# --- whose, and for what ---------------------------------------------------------------------------------


def test_a_customers_roll_goes_only_into_that_customers_parts(day: Day) -> None:
    day.receive("CO-2", "CT-204", 50 * M, "RACK", owner="Ferrel Rowing Club")
    day.start(day.at("07:00"), "DAG", "DAG-041", "BAY2", customer="Skerrow Sailing School")
    day.start(day.at("07:01"), "DAG", "DAG-042", "BAY2", customer="Ferrel Rowing Club")
    (reason,) = day.no_lay(day.at("08:00"), "CO-2", "DAG-041")
    assert reason.code == "owner.other"
    assert "Ferrel Rowing Club" in reason.text
    day.lay(day.at("08:00"), "CO-2", "DAG-042")


def test_a_kit_cut_for_one_part_is_not_laid_into_another(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    for number in ("DAG-041", "DAG-042"):
        day.start(day.at("07:00"), "DAG", number, "BAY2")
    day.do(day.at("07:30"), "cut_kit", CutKit("C-12", "6.20 m", "5.94 m²", "K-40", job="DAG-041", place="BAY2"), "Ines")
    assert codes(day.no_lay(day.at("08:00"), "K-40", "DAG-042")) == ["reserved.other"]
    day.lay(day.at("08:00"), "K-40", "DAG-041")
    assert day.qty("K-40") == 0


def test_an_alternate_of_the_design_may_be_laid(day: Day) -> None:
    day.receive("T-3", "PP-T", 20 * M, "F1")
    day.move(day.at("19:00", -1), "T-3", "CLEAN")
    day.start(day.at("07:00"), "DAG", "DAG-041", "CLEAN")
    out = day.lay(day.at("08:00"), "T-3", "DAG-041", dry=True)
    assert out.data["parts"][0]["qty"] == 6_200_000


# --- what goes with what, and where -------------------------------------------------------------------------


def test_a_mat_whose_binder_needs_styrene_is_refused_in_an_epoxy_repair(day: Day) -> None:
    """E6 of the demo's history."""
    laminating(day)
    day.receive("CS-1", "CSM-300", 80 * M, "RACK")
    reasons = day.no_lay(day.at("10:00"), "CS-1", "REP-019", qty="0.5 m")
    assert codes(reasons) == ["compat.fibre_resin", "ply.none_fits"]
    assert "styrene" in next(r.text for r in reasons if r.code == "compat.fibre_resin")


def test_vinyl_ester_is_not_laid_over_epoxy(day: Day) -> None:
    """Free amine stops its cure; as observed it is stored, and the part is held."""
    laminating(day)
    pot(day, "10:00", "M-1", ("LA-7", "400.0 g"), ("LB-5", "100.2 g"))
    day.lay(day.at("10:10"), "M-1", "REP-019", qty="320.2 g")
    day.receive("V7", "VE-I", 200 * KG, "RS", kind="drum")
    day.receive("X5", "MEKP", 5 * KG, "PX", kind="can", printed=day.at("00:00", 200))
    pot(day, "11:00", "M-2", ("V7", "1000 g"), ("X5", "15 g"))
    reasons = day.no_lay(day.at("11:10"), "M-2", "REP-019", qty="300 g")
    assert codes(reasons) == ["compat.resin_over", "ply.none_fits"]


def test_resin_is_not_laid_in_a_room_that_is_too_cold_for_it(day: Day) -> None:
    """The minimum is the recipe's 18 °C; a reading of four hours ago says nothing of now."""
    day.receive("V7", "VE-I", 200 * KG, "RS", kind="drum")
    day.receive("X5", "MEKP", 5 * KG, "PX", kind="can", printed=day.at("00:00", 200))
    day.receive("G6-4", "GB-600", 100 * M, "RACK")
    day.start(day.at("07:00"), "HAT", "HAT-020", "BAY1")
    day.lay(day.at("07:10"), "G6-4", "HAT-020")
    pot(day, "11:00", "M-2", ("V7", "1000 g"), ("X5", "15 g"), place="BAY2", temperature="21")
    day.do(day.at("11:02"), "measure", Measure("BAY1", "17.2"))
    (reason,) = day.no_lay(day.at("11:05"), "M-2", "HAT-020", qty="1000 g")
    assert (reason.code, reason.numbers["temp_mc"], reason.numbers["min_mc"]) == ("room.too_cold", 17_200, 18_000)
    day.do(day.at("11:06"), "measure", Measure("BAY1", "18.6"))
    day.lay(day.at("11:07"), "M-2", "HAT-020", qty="1000 g")
