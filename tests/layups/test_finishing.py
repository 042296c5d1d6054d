"""Parts are cured, tested, built in and shipped; late truth reaches them. Figures from the demo's acceptance script."""

from __future__ import annotations

import pytest

from inventory.core.reasons import Refused
from inventory.models import Edge, Finding, Flag, Nonconformance
from inventory.recording import Claim, Line, findings, record
from inventory.verbs.deciding import Dispose
from layups.models import CureRun, Defect, Shipment
from layups.reads.parts import sides
from layups.reads.results import inspections_of
from layups.tracing import recall, trace_forward
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureAbort, CureLoad, CureOff, CureOn, Step
from layups.verbs.inspecting import FoundDefect, Inspect
from layups.verbs.joining import Join, Unjoin
from layups.verbs.shipping import Ship

from .day import Day, codes, new_day
from .jobs import boat, cured, hold, tiller

pytestmark = pytest.mark.django_db
SOFT = "27 29 26 31 28 30 25 29 28 27"


@pytest.fixture
def day() -> Day:
    return new_day()


# --- cure ------------------------------------------------------------------------------------------------


def test_a_run_takes_what_is_loaded_in_it_and_nothing_else(day: Day) -> None:
    for n, number in enumerate(("TIL-020", "TIL-021", "TIL-022")):
        tiller(day, number, f"07:0{n}")
    day.do(day.at("08:00"), "cure_load", CureLoad("CR-1", "OV2", "TIL-020", ("TIL-021",)))
    day.do(day.at("08:01"), "cure_load", CureLoad("CR-2", "OV2", "TIL-022"))
    assert day.do(day.at("08:10"), "cure_on", CureOn("CR-1")).data["parts"] == ["TIL-020", "TIL-021"]
    assert day.bad(day.at("08:11"), "cure_on", CureOn("CR-1")) == "run.empty"
    assert codes(day.refused(day.at("08:11"), "cure_on", CureOn(parts=("TIL-020",)))) == ["cure.started"]
    assert day.bad(day.at("08:12"), "cure_load", CureLoad("CR-1", "OV1", "TIL-022")) == "run.elsewhere"
    assert day.do(day.at("09:40"), "cure_off", CureOff("CR-1")).data["parts"] == ["TIL-020", "TIL-021"]
    assert CureRun.objects.count() == 2


def test_the_same_start_of_a_run_sent_twice_counts_once(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "cure_load", CureLoad("CR-1", "OV2", "TIL-020"))
    key = day.key()
    first = day.do(day.at("08:10"), "cure_on", CureOn("CR-1"), key=key)
    again = day.do(day.at("08:11"), "cure_on", CureOn("CR-1"), key=key)
    assert again.replay
    assert again.data == first.data


def test_a_cure_that_was_not_started_cannot_end(day: Day) -> None:
    tiller(day)
    assert codes(day.refused(day.at("08:00"), "cure_off", CureOff(parts=("TIL-020",)))) == ["cure.not_started"]
    assert codes(day.refused(day.at("08:00"), "cure_abort", CureAbort("34", parts=("TIL-020",)))) == ["cure.not_started"]


def test_a_trip_below_the_cure_temperature_is_told_to_quality_and_holds_nothing_up(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "cure_on", CureOn(parts=("TIL-020",)))
    day.do(day.at("08:12"), "cure_abort", CureAbort("34 °C", parts=("TIL-020",)))
    flag = Flag.objects.get()
    assert (flag.role, flag.code, flag.at_us) == ("quality", "cure.void_start", day.at("08:12"))
    assert not Finding.objects.filter(closed_us=None).exists()
    day.do(day.at("08:20"), "cure_on", CureOn(parts=("TIL-020",)))


def test_a_trip_above_the_cure_temperature_is_for_quality_to_decide(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "cure_on", CureOn(parts=("TIL-020",)))
    out = day.do(day.at("08:40"), "cure_abort", CureAbort("95", parts=("TIL-020",)))
    assert out.data["kept"] == ["TIL-020"]
    assert Finding.objects.get(closed_us=None).code.startswith("cure.interrupted")
    day.do(day.at("10:00"), "cure_off", CureOff(parts=("TIL-020",)))
    assert "finding.open" in codes(day.refused(day.at("11:00"), "ship", Ship("TIL-020", "P-03"), "Ines"))


def test_a_part_held_may_still_be_cured_and_moved_but_not_shipped(day: Day) -> None:
    """Q10: or the hold would destroy it."""
    tiller(day)
    hold(day, day.at("08:00"), "TIL-020")
    day.do(day.at("08:01"), "cure_on", CureOn(parts=("TIL-020",)))
    day.do(day.at("09:00"), "cure_off", CureOff(parts=("TIL-020",)))
    day.do(day.at("09:01"), "step", Step("TIL-020", "demoulded", place="FIN"))
    assert codes(day.refused(day.at("10:00"), "ship", Ship("TIL-020", "P-03"), "Ines")) == ["block.quality"]


# --- tests ---------------------------------------------------------------------------------------------------


def test_quality_may_accept_a_bag_that_failed_its_drop_test(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "inspect", Inspect("TIL-020", "drop test", "14"))
    assert codes(day.refused(day.at("08:01"), "cure_on", CureOn(parts=("TIL-020",)))) == ["drop_test.failed"]
    day.do(day.at("08:10"), "dispose", Dispose("TIL-020", "use_as_is", "QB-17", "leak is in the outer bag"), "Odile")
    day.do(day.at("08:11"), "cure_on", CureOn(parts=("TIL-020",)))


def test_a_new_bag_needs_a_new_drop_test(day: Day) -> None:
    tiller(day)
    day.do(day.at("08:00"), "bag", Bag("TIL-020"))
    assert codes(day.refused(day.at("08:01"), "cure_on", CureOn(parts=("TIL-020",)))) == ["drop_test.missing"]


def test_soft_readings_open_a_defect_and_stop_shipping(day: Day) -> None:
    """Q7: mean 28.0, minimum 35."""
    day.start(day.at("07:00"), "CAN", "CAN-063", "BAY2", customer="Lunn Island Canoe Hire")
    out = day.do(day.at("09:40"), "inspect", Inspect("CAN-063", "hardness", SOFT, instrument="HT-1"), "Odile")
    assert (out.data["passed"], out.data["result"], out.data["limit"]) == (False, "mean 28.0 of 10", "minimum 35")
    assert Defect.objects.get().code == "soft laminate"
    assert Nonconformance.objects.get().cause == day.item("CAN-063")
    reasons = day.refused(day.at("09:41"), "ship", Ship("CAN-063"), "Odile")
    assert codes(reasons) == ["finding.open", "part.not_cured", "part.unfilled"]
    assert "28.0" in next(r.text for r in reasons if r.code == "finding.open")


def test_a_hull_that_was_never_measured_is_not_shipped(day: Day) -> None:
    day.start(day.at("07:00"), "CAN", "CAN-064", "BAY2")
    reasons = day.refused(day.at("09:41"), "ship", Ship("CAN-064", "P-03"), "Odile")
    assert codes(reasons) == ["inspection.missing", "part.not_cured", "part.unfilled"]


def test_a_voided_inspection_and_its_defect_do_not_count(day: Day) -> None:
    day.start(day.at("07:00"), "CAN", "CAN-063", "BAY2")
    act = day.do(day.at("09:40"), "inspect", Inspect("CAN-063", "hardness", SOFT), "Odile").receipts[0].act
    line = Line(day.item("CAN-063").pk)
    record([Claim(day.key(), "void", (line,), voids=act, reason="wrong hull")], day.yard.who("Odile"), day.at("09:45"))
    assert inspections_of([line.item]) == {}  # type: ignore[list-item]
    assert sides(day.yard.site, "CAN", "soft laminate") == ([], [])
    assert not Finding.objects.filter(closed_us=None).exists()


def test_a_defect_divides_the_tested_parts_and_leaves_out_the_untested(day: Day) -> None:
    for n, readings in enumerate((SOFT, "38 38", "40")):
        day.start(day.at("07:00") + n, "CAN", f"CAN-06{n}", "BAY2")
        day.do(day.at("09:00") + n, "inspect", Inspect(f"CAN-06{n}", "hardness", readings), "Odile")
    day.start(day.at("07:10"), "CAN", "CAN-065", "BAY2")
    day.do(day.at("07:20"), "inspect", Inspect("CAN-065", "drop test", "4"))
    bad, good = sides(day.yard.site, "CAN", "soft laminate")
    assert bad == [day.item("CAN-060").pk]
    assert good == [day.item("CAN-061").pk, day.item("CAN-062").pk]


def test_a_defect_seen_by_the_customer_is_recorded_on_a_shipped_part(day: Day) -> None:
    cured(day)
    day.do(day.at("10:00"), "ship", Ship("TIL-020", "P-03"), "Ines")
    day.do(day.at("11:00"), "defect", FoundDefect("TIL-020", "Print-through", "both sides"), "Odile")
    assert Defect.objects.get().code == "print-through"


# --- assemblies -------------------------------------------------------------------------------------------------


def test_a_mast_is_taken_off_one_boat_and_fitted_to_another_with_dates(day: Day) -> None:
    """E8 of the demo's history."""
    cured(day, "TIL-031")
    boat(day, "DIN-029", day.at("08:00"))
    boat(day, "DIN-034", day.at("08:01"))
    day.do(day.at("09:00"), "join", Join("TIL-031", "DIN-029"))
    assert codes(day.refused(day.at("09:10"), "join", Join("TIL-031", "DIN-034"))) == ["part.in_assembly", "stock.not_enough"]
    day.do(day.at("10:00"), "unjoin", Unjoin("TIL-031", "FIN"))
    day.do(day.at("11:00"), "join", Join("TIL-031", "DIN-034"))
    edges = Edge.objects.filter(kind="join").order_by("pk").values_list("dst__mark", "happened_us", "until_us")
    assert list(edges) == [("DIN-029", day.at("09:00"), day.at("10:00")), ("DIN-034", day.at("11:00"), None)]
    found = {f.thing.name: f for f in trace_forward(day.lots["TL"]).found}
    assert found["DIN-029"].until_us == day.at("10:00")
    assert found["DIN-034"].until_us is None
    assert day.bad(day.at("12:00"), "unjoin", Unjoin("DIN-034")) == "join.not_in_one"


def test_nothing_is_built_into_what_is_built_into_it(day: Day) -> None:
    for n, number in enumerate(("DIN-001", "DIN-002", "DIN-003")):
        boat(day, number, day.at("08:00") + n)
    day.do(day.at("09:00"), "join", Join("DIN-001", "DIN-002"))
    day.do(day.at("09:01"), "join", Join("DIN-002", "DIN-003"))
    assert "graph.cycle" in codes(day.refused(day.at("09:02"), "join", Join("DIN-003", "DIN-001")))
    assert day.bad(day.at("09:03"), "join", Join("DIN-003", "DIN-003")) == "join.itself"


def test_what_is_not_cured_is_not_built_in(day: Day) -> None:
    tiller(day)
    boat(day, "DIN-029", day.at("08:00"))
    assert codes(day.refused(day.at("09:00"), "join", Join("TIL-020", "DIN-029"))) == ["part.not_cured"]


def test_a_component_comes_out_after_it_went_in(day: Day) -> None:
    cured(day)
    boat(day, "DIN-029", day.at("08:00"))
    day.do(day.at("09:00"), "join", Join("TIL-020", "DIN-029"))
    with pytest.raises(Refused) as refused:
        day.do(day.at("10:00"), "unjoin", Unjoin("TIL-020"), happened=day.at("08:30"))
    assert codes(list(refused.value.reasons)) == ["join.before_it_was_in"]


# --- shipping -----------------------------------------------------------------------------------------------------


def test_a_boat_ships_with_its_components_and_a_recall_names_the_customer(day: Day) -> None:
    cured(day)
    boat(day, "DIN-036", day.at("08:00"))
    day.do(day.at("09:00"), "join", Join("TIL-020", "DIN-036"))
    (reason,) = day.refused(day.at("09:30"), "ship", Ship("TIL-020", "P-03"), "Ines")
    assert reason.code == "part.in_assembly"
    day.do(day.at("10:00"), "ship", Ship("DIN-036"), "Ines")
    assert Shipment.objects.get().customer.name == "Skerrow Sailing School"
    found = recall(day.lots["TL"])
    where = {f.thing.name: f.thing.where for f in found.found}
    assert where == {"T-1": "on the shelf", "TIL-020": "shipped", "DIN-036": "shipped"}
    assert {name: len(rows) for name, rows in found.customers.items()} == {"Skerrow Sailing School": 2}
    assert next(f.thing.sent for f in found.found if f.thing.name == "TIL-020").inside == "DIN-036"  # type: ignore[union-attr]


def test_an_open_finding_on_a_component_stops_the_boat(day: Day) -> None:
    cured(day)
    boat(day, "DIN-036", day.at("08:00"))
    day.do(day.at("09:00"), "join", Join("TIL-020", "DIN-036"))
    day.do(day.at("09:30"), "defect", FoundDefect("TIL-020", "wrinkle"), "Odile")
    assert codes(day.refused(day.at("10:00"), "ship", Ship("DIN-036"), "Ines")) == ["finding.open"]
    rows = list(Finding.objects.filter(closed_us=None))
    findings.close(rows, day.at("10:10"), "disposition")
    day.do(day.at("10:11"), "ship", Ship("DIN-036"), "Ines")


def test_a_part_goes_to_its_own_customer_once(day: Day) -> None:
    cured(day, customer="Brae Loch Outfitters")
    assert codes(day.refused(day.at("10:00"), "ship", Ship("TIL-020", "P-03"), "Ines")) == ["ship.other_customer"]
    key = day.key()
    for n in range(2):
        day.do(day.at("10:01") + n, "ship", Ship("TIL-020"), "Ines", key=key)
    assert Shipment.objects.count() == 1
    assert codes(day.refused(day.at("10:02"), "ship", Ship("TIL-020"), "Ines")) == ["stock.gone"]


def test_several_parts_ship_together_or_not_at_all(day: Day) -> None:
    cured(day, "TIL-020", "07:00")
    tiller(day, "TIL-021", "08:00")
    reasons = day.refused(day.at("10:00"), "ship", Ship("TIL-020", "P-03", also=("TIL-021",)), "Ines")
    assert codes(reasons) == ["part.not_cured"]
    assert Shipment.objects.count() == 0


def test_a_part_for_nobody_needs_a_customer(day: Day) -> None:
    cured(day)
    assert day.bad(day.at("10:00"), "ship", Ship("TIL-020"), "Ines") == "ship.no_customer"
