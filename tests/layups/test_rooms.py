"""What a design asks of the room, at the scan: by the newest reading of the place, or not known (R21)."""

from __future__ import annotations

import pytest

from inventory.models import Block, Finding, Reading
from inventory.recording.rebuild import rebuild
from inventory.verbs.mixing import Measure
from layups.models import Design, RoomLimit
from layups.reads.part import part_page

from .day import Day, M, codes, new_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    """TIL-1 is begun in CLEAN at 08:00, its rolls are open; laid between 15 and 25 °C, at most 70 % RH."""
    day = new_day(logger=False)
    RoomLimit.objects.create(design=Design.objects.get(code="TIL"), low_mc=15_000, high_mc=25_000, rh_high_ppm=700_000)
    for roll, material in (("T-1", "PP-T"), ("U-1", "PP-U")):
        day.receive(roll, material, 50 * M, "F1", lot=f"lot {roll}")
        day.move(day.at("12:00", -1), roll, "CLEAN")
        day.open(day.at("06:00"), roll)
    day.start(day.at("08:00"), "TIL", "TIL-1", "CLEAN")
    return day


def measure(day: Day, clock: str, temperature: str, humidity: str = "", place: str = "CLEAN", told: str = "") -> None:
    day.do(day.at(told or clock), "measure", Measure(place, temperature, humidity), happened=day.at(clock) if told else None)


def test_a_room_that_nobody_measured_is_not_known_and_one_measured_within_goes(day: Day) -> None:
    assert codes(day.no_lay(day.at("09:00"), "T-1", "TIL-1")) == ["room.unknown"]
    measure(day, "08:30", "21.0", "45", place="BAY1")
    assert codes(day.no_lay(day.at("09:00"), "T-1", "TIL-1")) == ["room.unknown"]
    measure(day, "08:40", "21.0", "45")
    day.lay(day.at("09:00"), "T-1", "TIL-1")


def test_a_reading_of_four_hours_ago_says_nothing_of_now(day: Day) -> None:
    measure(day, "08:00", "21.0", "45")
    reasons = day.no_lay(day.at("12:00"), "T-1", "TIL-1")
    assert codes(reasons) == ["room.unknown"] and "08:00" in reasons[0].text
    assert reasons[0].numbers["what"] == "temperature and humidity"
    day.lay(day.at("12:00") - 1, "T-1", "TIL-1")


def test_the_newest_reading_counts_and_humidity_by_the_newest_that_has_it(day: Day) -> None:
    measure(day, "08:00", "21.0", "75")
    measure(day, "08:30", "26.0")
    reasons = day.no_lay(day.at("09:00"), "T-1", "TIL-1")
    assert codes(reasons) == ["room.too_hot", "room.too_humid"]
    assert "26 °C" in reasons[0].text and "75 % RH" in reasons[1].text
    measure(day, "08:50", "25.0", "70")
    day.lay(day.at("09:00"), "T-1", "TIL-1")


def test_a_reading_that_comes_with_its_humidity_later_is_kept(day: Day) -> None:
    measure(day, "08:30", "21.0")
    measure(day, "08:30", "21.0", "80", told="08:40")
    measure(day, "08:30", "21.0", "80", told="08:41")
    assert Reading.objects.count() == 2
    assert codes(day.no_lay(day.at("09:00"), "T-1", "TIL-1")) == ["room.too_humid"]


def test_what_happened_in_a_room_outside_is_stored_held_and_told(day: Day) -> None:
    measure(day, "08:30", "12.0", "45")
    out = day.lay(day.at("10:00"), "T-1", "TIL-1", happened=day.at("09:00"))
    assert [r.code for r in out.reasons] == ["room.too_cold"]
    assert day.qty("T-1") == 50 * M - 400_000
    assert [f.code.split("/")[0] for f in Finding.objects.filter(closed_us__isnull=True)] == ["room.too_cold"]
    assert Block.objects.filter(item=day.item("TIL-1"), to_us__isnull=True).exists()
    assert rebuild(day.yard.site, day.at("12:00")).differences == []


def test_what_is_told_late_is_judged_by_the_room_where_the_part_stood_then(day: Day) -> None:
    measure(day, "08:30", "21.0", "45")
    measure(day, "08:30", "12.0", "45", place="BAY1")
    day.move(day.at("09:30"), "TIL-1", "BAY1")
    assert day.lay(day.at("10:00"), "T-1", "TIL-1", happened=day.at("09:00")).reasons == []
    told = day.lay(day.at("10:01"), "U-1", "TIL-1", happened=day.at("09:45"))
    assert [r.code for r in told.reasons] == ["room.too_cold"]


def test_a_line_asks_for_its_own(day: Day) -> None:
    til = Design.objects.get(code="TIL")
    RoomLimit.objects.create(design=til, line=til.plies.get(seq=2), high_mc=18_000)
    measure(day, "08:30", "21.0", "45")
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    assert codes(day.no_lay(day.at("09:01"), "U-1", "TIL-1")) == ["room.too_hot"]


def test_the_part_shows_the_room_beside_what_the_next_line_asks(day: Day) -> None:
    measure(day, "08:30", "12.0")
    view = part_page(day.yard.site, day.item("TIL-1").pk, day.at("09:00")).room
    assert view is not None and view.room is not None and view.room.temp is not None
    assert (view.room.code, view.room.temp.value, view.asked) == ("CLEAN", 12_000, "15–25 °C and at most 70 % RH")
    assert [r.code for r in view.reasons] == ["room.unknown", "room.too_cold"]
    RoomLimit.objects.all().delete()
    assert part_page(day.yard.site, day.item("TIL-1").pk, day.at("09:00")).room is None
