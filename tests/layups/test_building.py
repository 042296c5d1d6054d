"""Parts begin and are filled: pots, owners, jobs, compatibility, rooms, trace grades. Figures from the demo's acceptance script
where a step is named; trade facts are common practice, no source."""

from __future__ import annotations

import pytest

from inventory.lineage import down_ids
from inventory.models import Edge, Finding, Leg
from inventory.recording import Claim, Line, record
from inventory.verbs.cutting import CutKit
from inventory.verbs.mixing import Component, Measure, Mix
from layups.models import Part
from layups.reads.parts import parts
from layups.reads.schedules import laid_into
from layups.tracing import shared_lots, trace_back, trace_forward
from layups.verbs.bagging import Bag, BookBox
from layups.verbs.laying import Into, Lay
from layups.verbs.starting import CutParts, Piece, PlanCure, StartPart

from .day import KG, Day, G, M, codes, new_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return new_day()


def pot(day: Day, clock: str, mark: str, *parts: tuple[str, str], place: str = "BAY1", temperature: str = "21.0") -> None:
    components = tuple(Component(item, mass) for item, mass in parts)
    day.do(day.at(clock), "mix", Mix(components, place, temperature=temperature, mark=mark))


def laminating(day: Day) -> None:
    """LA-7 12.40 kg and LB-5 3.10 kg, opened 20 days ago; REP-019 with its glass in it."""
    day.receive("LA-7", "LAM-A", 12_400 * G, "RS", kind="can")
    day.receive("LB-5", "LAM-B", 3_100 * G, "RS", kind="can")
    day.open(day.at("08:00", -20), "LB-5")
    day.receive("G6-4", "GB-600", 100 * M, "RACK")
    day.start(day.at("09:00"), "REP", "REP-019", "BAY1")
    day.lay(day.at("09:30"), "G6-4", "REP-019")


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


# --- how exactly it is followed -------------------------------------------------------------------------------


def test_peel_ply_is_followed_by_its_lot_without_a_quantity(day: Day) -> None:
    day.receive("PL-1", "PEEL-85", 38 * M, "RACK", lot="PEEL-77")
    day.start(day.at("07:00"), "RUD", "RUD-073", "CLEAN")
    lot = day.lots["PEEL-77"]
    for n, item in enumerate(("PEEL-77", "PL-1")):
        day.lay(day.at("08:00") + n, item, "RUD-073", step="peel ply")
    assert day.qty("PL-1") == 38 * M
    assert set(Edge.objects.filter(kind="lay").values_list("grade", "qty")) == {("lot", 0)}
    found = {f.thing.name: f.grade for f in trace_forward(lot).found}
    assert found["RUD-073"] == "lot"
    (inside,) = trace_back(day.item("RUD-073").pk).lots
    assert (inside.grade, inside.amount) == ("lot", None)


def test_what_is_structural_is_scanned_by_the_piece_and_not_by_its_lot(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK", lot="C-77")
    day.start(day.at("07:00"), "DAG", "DAG-041", "BAY2")
    assert "trace.needs_the_piece" in codes(day.no_lay(day.at("08:00"), "C-77", "DAG-041", qty="1 m"))


def test_parts_bagged_in_a_bay_have_the_boxes_that_are_booked_to_it(day: Day) -> None:
    day.receive("BX-1", "BAG", 10, "RACK", kind="box", lot="BAG-5")
    day.receive("BX-2", "TAPE", 10, "RACK", kind="box", lot="TAPE-9", printed=day.at("00:00", 100))
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    for number, place in (("DAG-041", "CLEAN"), ("DAG-042", "BAY2")):
        day.start(day.at("07:00"), "DAG", number, place)
    for box in ("BX-1", "BX-2"):
        day.do(day.at("07:30"), "book_box", BookBox(box, "CLEAN"), "Ines")
    key = day.key()
    for _ in range(2):
        day.do(day.at("09:00"), "bag", Bag("DAG-041", also=("DAG-042",)), key=key)
    edges = Edge.objects.filter(grade="box").values_list("src__mark", "dst__mark", "qty")
    assert sorted(edges) == [("BX-1", "DAG-041", 0), ("BX-2", "DAG-041", 0)]
    assert day.qty("BX-1") == 10
    assert {f.thing.name: f.grade for f in trace_forward(day.lots["BAG-5"]).found} == {"BX-1": "item", "DAG-041": "box"}
    assert day.bad(day.at("09:10"), "book_box", BookBox("C-12", "CLEAN"), "Ines") == "box.not_by_box"
    day.lay(day.at("09:20"), "C-12", "DAG-041")
    day.lay(day.at("09:21"), "C-12", "DAG-042")
    shared = shared_lots([day.item("DAG-041").pk], [day.item("DAG-042").pk])
    assert [(x.lot.number, x.rank) for x in shared] == [("lot of C-12", 0), ("BAG-5", 1), ("TAPE-9", 1)], "less exact comes after"


def test_a_box_of_tape_past_its_date_stops_the_bag(day: Day) -> None:
    day.receive("BX-2", "TAPE", 10, "CLEAN", kind="box", printed=day.at("00:00"))
    day.start(day.at("07:00"), "DAG", "DAG-041", "CLEAN")
    assert codes(day.refused(day.at("09:00"), "bag", Bag("DAG-041"))) == ["life.over"]


# --- undone, and cut up --------------------------------------------------------------------------------------


def test_a_voided_scan_opens_its_ply_again(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    day.start(day.at("07:00"), "DAG", "DAG-041", "BAY2")
    act = day.lay(day.at("08:00"), "C-12", "DAG-041").receipts[0].act
    lines = tuple(Line(item) for item in Leg.objects.filter(act=act).values_list("item_id", flat=True))
    record([Claim(day.key(), "void", lines, voids=act, reason="wrong part")], day.yard.who("Odile"), day.at("08:01"))
    assert laid_into([day.item("DAG-041").pk]) == {}
    assert day.qty("C-12") == 18_400_000
    day.lay(day.at("08:02"), "C-12", "DAG-041")


def test_a_run_is_cut_into_pieces_that_carry_their_share(day: Day) -> None:
    """A run of 90.0 m with 4.30 kg of resin in it: each piece of 1.20 m has 57.33 g."""
    from layups.verbs.curing import CureOff, CureOn

    day.receive("V6", "VE-I", 225 * KG, "RS", kind="drum", lot="V6-lot")
    day.receive("X5", "MEKP", 5 * KG, "PX", kind="can", printed=day.at("00:00", 200))
    day.start(day.at("07:00"), "ROD", "ROD-6", "PULT", length="90.0 m")
    pot(day, "07:30", "B-6", ("V6", "4.30 kg"), ("X5", "64.5 g"), place="PULT")
    day.lay(day.at("07:40"), "B-6", "ROD-6")
    pieces = tuple(Piece(f"6-{n}") for n in range(1, 71))
    cut = CutParts("ROD-6", "ROD", "1.20 m", pieces, "STOCK")
    assert codes(day.refused(day.at("08:00"), "cut_parts", cut)) == ["part.not_cured"]
    day.do(day.at("08:00"), "cure_on", CureOn(parts=("ROD-6",)))
    day.do(day.at("08:30"), "cure_off", CureOff(parts=("ROD-6",)))
    day.do(day.at("09:00"), "cut_parts", cut)
    assert day.qty("ROD-6") == 6_000_000
    assert [r.word for r in parts(day.yard.site, text="6-26").rows] == ["cured"], "as cured as the run it was cut from"
    assert Part.objects.filter(design__code="ROD").count() == 71
    forward = trace_forward(day.lots["V6-lot"])
    piece = next(f for f in forward.found if f.thing.name == "6-26")
    assert piece.amount is not None and round(piece.amount) == 57_333_333
    assert set(down_ids([day.item("V6").pk])) >= {day.item("6-26").pk, day.item("6-70").pk}
    assert {x.lot.number for x in trace_back(day.item("6-26").pk).lots} >= {"V6-lot"}
    assert codes(
        day.refused(day.at("09:10"), "cut_parts", CutParts("ROD-6", "ROD", "1.20 m", tuple(Piece(f"7-{n}") for n in range(6))))
    ) == ["stock.not_enough"]


def test_a_part_is_not_laid_into_a_part(day: Day) -> None:
    for number in ("RUD-073", "RUD-074"):
        day.start(day.at("07:00"), "RUD", number, "CLEAN")
    assert day.bad(day.at("08:00"), "lay", Lay("RUD-073", "RUD-074")) == "lay.not_material"


def test_a_quantity_that_nobody_knows_is_asked_for(day: Day) -> None:
    day.start(day.at("07:00"), "BOAT", "DIN-036", "FIN")
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    assert day.bad(day.at("08:00"), "lay", Lay("C-12", "DIN-036", step="patch")) == "quantity.missing"
    day.lay(day.at("08:00"), "C-12", "DIN-036", step="patch", qty="0.30 m")


def test_two_people_and_the_last_metre_one_is_told_what_is_left(day: Day) -> None:
    day.receive("C-13", "CT-204", 7 * M, "RACK")
    for number in ("DAG-041", "DAG-042"):
        day.start(day.at("07:00"), "DAG", number, "BAY2")
    day.lay(day.at("08:00"), "C-13", "DAG-041")
    (reason,) = day.no_lay(day.at("08:01"), "C-13", "DAG-042")
    assert (reason.code, reason.numbers["left"]) == ("stock.not_enough", 800_000)


def test_nothing_is_laid_into_a_part_that_is_in_the_oven(day: Day) -> None:
    from layups.verbs.curing import CureOff, CureOn

    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    day.start(day.at("07:00"), "BOAT", "DIN-036", "FIN")
    day.do(day.at("07:30"), "cure_on", CureOn(parts=("DIN-036",)))
    assert codes(day.no_lay(day.at("08:00"), "C-12", "DIN-036", qty="0.30 m")) == ["part.curing"]
    assert codes(day.refused(day.at("08:00"), "bag", Bag("DIN-036"))) == ["part.curing"]
    day.do(day.at("08:30"), "cure_off", CureOff(parts=("DIN-036",)))
    day.lay(day.at("09:00"), "C-12", "DIN-036", qty="0.30 m")


def test_a_step_that_the_schedule_does_not_have_is_told(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    day.start(day.at("07:00"), "DAG", "DAG-041", "BAY2")
    assert codes(day.no_lay(day.at("08:00"), "C-12", "DAG-041", step="varnish", qty="1 m")) == ["ply.none_fits"]
    assert codes(day.no_lay(day.at("08:00"), "C-12", "DAG-041", plies=(9,))) == ["ply.unknown"]
    assert codes(day.no_lay(day.at("08:00"), "C-12", "DAG-041", step="infusion", qty="1 m")) == ["ply.wrong_material"]


def test_a_wrong_fabric_that_is_in_already_is_stored_and_holds_the_part(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    day.start(day.at("07:00"), "RUD", "RUD-073", "CLEAN")
    out = day.lay(
        day.at("09:00"),
        "C-12",
        "RUD-073",
        plies=(7,),
        qty="0.85 m",
        happened=day.at("08:00"),
    )
    assert codes(out.reasons) == ["ply.wrong_material"]
    assert day.qty("C-12") == 17_550_000
    assert Finding.objects.get().item == day.item("RUD-073")
    assert [seq for x in laid_into([day.item("RUD-073").pk])[day.item("RUD-073").pk] for seq, _ in x.fills] == [7]


def test_more_than_there_is_was_laid_already_and_the_roll_must_be_counted(day: Day) -> None:
    day.receive("C-13", "CT-204", 5 * M, "RACK")
    day.start(day.at("07:00"), "DAG", "DAG-041", "BAY2")
    out = day.lay(day.at("09:00"), "C-13", "DAG-041", happened=day.at("08:00"))
    assert codes(out.reasons) == ["stock.not_enough"]
    assert day.qty("C-13") == -1_200_000
    assert Finding.objects.filter(code__startswith="stock.below").exists()


def test_a_kit_goes_into_two_parts_in_equal_shares(day: Day) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    for number in ("DAG-041", "DAG-042"):
        day.start(day.at("07:00"), "DAG", number, "BAY2")
    day.do(day.at("07:30"), "cut_kit", CutKit("C-12", "12.40 m", "11.88 m²", "K-41", job="DAG-041, DAG-042", place="BAY2"), "Ines")
    out = day.lay(day.at("08:00"), "K-41", "DAG-041", also=(Into("DAG-042"),))
    assert [(x["plies"], x["qty"]) for x in out.data["parts"]] == [([1], 594_000_000), ([1], 594_000_000)]
    assert day.qty("K-41") == 0


@pytest.mark.parametrize(
    ("params", "code"),
    [
        (Lay("NOTHING", "DAG-041"), "code.unknown"),
        (Lay("C-12", "DAG-999"), "code.unknown"),
        (Lay("C-12", "C-12"), "code.wrong_kind"),
        (Lay("C-12", "DAG-041", qty="1,234 m"), "quantity.ambiguous"),
        (Lay("C-12", "DAG-041", qty="3 kg of it"), "quantity.unknown_unit"),
        (Lay("C-12", "DAG-041", qty="-1 m"), "quantity.negative"),
        (Lay("C-12", "DAG-041", also=(Into("DAG-041"),)), "lay.part_twice"),
        (Lay("C-12", "DAG-041", qty="1 m", also=(Into("DAG-042"),)), "quantity.missing"),
        (Lay("C-12", "DAG-041", step="x\x07"), "text.unprintable"),
        (Lay("\x00", "DAG-041"), "code.unknown"),
    ],
)
def test_a_scan_that_makes_no_sense_is_asked_for_again(day: Day, params: Lay, code: str) -> None:
    day.receive("C-12", "CT-204", 18_400_000, "RACK")
    for number in ("DAG-041", "DAG-042"):
        day.start(day.at("07:00"), "DAG", number, "BAY2")
    assert day.bad(day.at("08:00"), "lay", params) == code


def test_a_fabric_laid_by_weight_comes_off_the_roll_by_length(day: Day) -> None:
    """11.7 kg of 602 g/m² at 1 270 mm is 15.303 m: nominal, through width and areal weight."""
    day.receive("G6-4", "GB-600", 100 * M, "RACK")
    day.start(day.at("07:00"), "CAN", "CAN-066", "BAY2")
    day.lay(day.at("08:00"), "G6-4", "CAN-066", plies=(2, 3, 5), qty="11.7 kg")
    laid = laid_into([day.item("CAN-066").pk])[day.item("CAN-066").pk][0]
    assert laid.qty == 15_303_320
    assert sum(q or 0 for _, q in laid.fills) == laid.qty
