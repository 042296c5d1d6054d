"""A day tank that was emptied and filled again: what is poured in starts anew, in its clocks, its traces and its holds (R42)."""

from __future__ import annotations

import pytest

from inventory import lineage
from inventory.balance import composition
from inventory.models import Edge
from inventory.recording.rebuild import rebuild
from inventory.verbs.counting import Count, Scrap
from inventory.verbs.cutting import NewTank, Pour
from inventory.verbs.mixing import Component, Mix
from inventory.verbs.voiding import Void
from layups.tracing import recall, trace_back, trace_forward

from .day import KG, Day, new_day
from .jobs import hold

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    """DT-9 with 10 kg of a lot that is over by now, all of it drawn for POT-1 while it was good; then 10 kg of a fresh lot."""
    day = new_day()
    day.receive("OLD", "PE-L", 50 * KG, "RS", kind="drum", made=day.at("12:00", -180), at=day.at("08:00", -170))
    day.receive("NEW", "PE-L", 50 * KG, "RS", kind="drum", made=day.at("12:00", -40))
    day.receive("X", "MEKP", 5 * KG, "PX", kind="can", printed=day.at("12:00", 200))
    day.do(day.at("06:00", -170), "new_tank", NewTank("DT-9", "PE-L", "BAY1"), "Ines")
    day.do(day.at("07:00", -20), "pour", Pour("OLD", "DT-9", "10 kg"), "Ines")
    pot(day, day.at("08:00", -20), "POT-1")
    day.do(day.at("07:00"), "pour", Pour("NEW", "DT-9", "10 kg"), "Ines")
    return day


def pot(day: Day, at: int, mark: str, mass: str = "10 kg", happened: int | None = None, dose: str = "150 g") -> int:
    mix = Mix((Component("DT-9", mass), Component("X", dose)), "BAY1", "PE", "21.0", mark)
    return day.do(at, "mix", mix, happened=happened).receipts[0].act


def lots(day: Day, mark: str) -> set[str]:
    return {x.lot.number for x in trace_back(day.item(mark).pk).lots if x.lot.material == "PE-L"}


def no_difference(day: Day) -> None:
    assert rebuild(day.yard.site, day.at("23:00")).differences == []


def test_the_next_mix_is_of_the_new_lot_alone(day: Day) -> None:
    pot(day, day.at("08:00"), "POT-2")
    assert lots(day, "POT-1") == {"lot of OLD"} and lots(day, "POT-2") == {"lot of NEW"}
    fresh = {life.label for life in day.lives("DT-9", day.at("08:00"))}
    assert not any("OLD" in label for label in fresh)
    assert day.item("POT-2").pk not in {f.thing.id for f in trace_forward(day.lots["lot of OLD"]).found}
    assert {a.lot for a in composition([day.item("POT-2").pk])[day.item("POT-2").pk]} >= {day.lots["lot of NEW"]}
    no_difference(day)


def test_a_recall_of_the_lot_that_was_used_up_does_not_reach_what_the_tank_holds_now(day: Day) -> None:
    pot(day, day.at("08:00"), "POT-2", "4 kg", dose="60 g")
    hold(day, day.at("08:10"), "lot of OLD")
    assert set(lineage.open_blocks(day.item(m).pk for m in ("DT-9", "POT-1", "POT-2"))) == {day.item("POT-1").pk}
    found = recall(day.lots["lot of OLD"])
    assert "DT-9" not in {f.thing.name for f in found.existing} and {"OLD", "POT-1"} <= {f.thing.name for f in found.existing}
    hold(day, day.at("08:11"), "lot of NEW")
    assert set(lineage.open_blocks([day.item("DT-9").pk, day.item("POT-2").pk])) == {day.item("DT-9").pk, day.item("POT-2").pk}


def test_a_tank_with_something_left_in_it_mixes_the_lots(day: Day) -> None:
    day.do(day.at("08:00"), "pour", Pour("NEW", "DT-9", "1 kg"), "Ines")
    pot(day, day.at("08:10"), "POT-2", "8 kg", dose="120 g")
    day.receive("MORE", "PE-L", 50 * KG, "RS", kind="drum", made=day.at("12:00", -40))
    day.do(day.at("08:20"), "pour", Pour("MORE", "DT-9", "10 kg"), "Ines")
    pot(day, day.at("08:30"), "POT-3", "5 kg", dose="75 g")
    assert lots(day, "POT-3") == {"lot of NEW", "lot of MORE"}
    no_difference(day)


def test_a_late_draw_that_empties_the_tank_is_found_and_its_void_brings_the_lots_back(day: Day) -> None:
    """The book says that 4 kg were left when MORE went in; later somebody tells of a pot that had taken them."""
    pot(day, day.at("08:00"), "POT-2", "6 kg", dose="90 g")
    day.receive("MORE", "PE-L", 50 * KG, "RS", kind="drum", made=day.at("12:00", -40))
    day.do(day.at("09:00"), "pour", Pour("MORE", "DT-9", "10 kg"), "Ines")
    pot(day, day.at("10:00"), "POT-3", "5 kg", dose="75 g")
    assert lots(day, "POT-3") == {"lot of NEW", "lot of MORE"}
    late = pot(day, day.at("11:00"), "POT-L", "4 kg", happened=day.at("08:30"), dose="60 g")
    assert lots(day, "POT-3") == {"lot of MORE"} and lots(day, "POT-L") == {"lot of NEW"}
    no_difference(day)
    day.do(day.at("11:30"), "void", Void(late, "it was another tank"), "Odile")
    assert lots(day, "POT-3") == {"lot of NEW", "lot of MORE"}
    no_difference(day)


def test_a_draw_beyond_the_book_keeps_the_lots_until_a_count(day: Day) -> None:
    pot(day, day.at("08:00"), "POT-2", "10 kg")
    pot(day, day.at("08:30"), "POT-3", "2 kg", happened=day.at("08:20"), dose="30 g")
    assert lots(day, "POT-3") == {"lot of NEW"}, "what was told of an empty tank is still traced"
    day.receive("MORE", "PE-L", 50 * KG, "RS", kind="drum", made=day.at("12:00", -40))
    day.do(day.at("09:00"), "pour", Pour("MORE", "DT-9", "10 kg"), "Ines")
    pot(day, day.at("09:10"), "POT-4", "8 kg", dose="120 g")
    assert lots(day, "POT-4") == {"lot of NEW", "lot of MORE"}
    day.do(day.at("09:20"), "count", Count("DT-9", "0 kg"), "Ines")
    day.do(day.at("09:30"), "pour", Pour("MORE", "DT-9", "1 kg"), "Ines")
    pot(day, day.at("09:40"), "POT-5", "1 kg", dose="15 g")
    assert lots(day, "POT-5") == {"lot of MORE"}
    no_difference(day)


def test_a_tank_whose_rest_was_scrapped_is_filled_again(day: Day) -> None:
    day.do(day.at("08:00"), "scrap", Scrap("DT-9", "gelled in the tank"), "Ines")
    assert day.state("DT-9").gone == "" and day.qty("DT-9") == 0
    day.do(day.at("08:10"), "pour", Pour("NEW", "DT-9", "3 kg"), "Ines")
    assert day.qty("DT-9") == 3 * KG
    assert Edge.objects.filter(dst=day.item("DT-9"), until_us=None).count() == 1
