"""How exactly material is followed, runs that are cut up, scans that are stored all the same or asked for again."""

from __future__ import annotations

import pytest

from inventory.lineage import down_ids
from inventory.models import Edge, Finding, Leg
from inventory.recording import Claim, Line, record
from inventory.verbs.cutting import CutKit
from layups.models import Part
from layups.reads.parts import parts
from layups.reads.schedules import laid_into
from layups.tracing import shared_lots, trace_back, trace_forward
from layups.verbs.bagging import Bag, BookBox
from layups.verbs.laying import Into, Lay
from layups.verbs.starting import CutParts, Piece

from .day import KG, Day, M, codes, new_day
from .jobs import pot

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return new_day()


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
