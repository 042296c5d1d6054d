"""The room beside what a design asks: edges, what nobody measured, and a line's own band. The band of a prepreg workshop, 15 to
25 °C and below 70 % RH, is a prepreg supplier's processing guide's."""

from __future__ import annotations

import pytest

from inventory.core.spans import HOUR_US
from layups.core.rooms import Air, Band, Room, bands_for, judge

ZONE = "Europe/Copenhagen"
AT = 1_774_821_600_000_000 + 8 * HOUR_US  # Monday 30 March 2026, 08:00 there
WORKSHOP = Band(None, 15_000, 25_000, None, 700_000)


def codes(band: Band, temp: int | None, rh: int | None, known: int | None = AT) -> list[str]:
    room = Room("CLEAN", "Clean room", Air(temp, AT) if temp is not None else None, Air(rh, AT) if rh is not None else None, known)
    return [r.code for r in judge(band, room, "RUD-073", 4 * HOUR_US, ZONE)]


@pytest.mark.parametrize(
    ("temp", "rh", "found"),
    [
        (21_000, 450_000, []),
        (15_000, 700_000, []),
        (25_000, 0, []),
        (14_999, 450_000, ["room.too_cold"]),
        (25_001, 700_001, ["room.too_hot", "room.too_humid"]),
        (None, None, ["room.unknown"]),
        (21_000, None, ["room.unknown"]),
        (30_000, None, ["room.unknown", "room.too_hot"]),
    ],
)
def test_both_ends_belong_to_the_band_and_not_known_is_not_met(temp: int | None, rh: int | None, found: list[str]) -> None:
    assert codes(WORKSHOP, temp, rh) == found


def test_only_what_is_asked_is_judged() -> None:
    assert codes(Band(low_mc=18_000), 40_000, None) == []
    assert codes(Band(rh_low_ppm=400_000), None, 399_999) == ["room.too_dry"]
    assert codes(Band(rh_low_ppm=400_000), None, 400_000) == []


def test_the_sentences_have_the_numbers_and_say_what_to_do() -> None:
    room = Room("CLEAN", "Clean room", Air(27_500, AT), None, AT)
    unknown, hot = judge(WORKSHOP, room, "RUD-073", 4 * HOUR_US, ZONE)
    assert "Nobody knows the humidity of Clean room" in unknown.text and "Measure it first" in unknown.text and "15–25 °C" in unknown.text
    assert "at most 70 % RH" in unknown.text and "Mon 30 Mar 08:00" in unknown.text
    assert "27.5 °C" in hot.text and "at most 25 °C" in hot.text and hot.numbers["temp_mc"] == 27_500
    (nowhere,) = judge(WORKSHOP, None, "RUD-073", 4 * HOUR_US, ZONE)
    assert nowhere.code == "room.unknown" and "where it stands" in nowhere.text


def test_a_line_has_its_own_band_instead_of_the_designs() -> None:
    own = Band(3, 18_000, 22_000)
    assert bands_for([WORKSHOP, own], (1, 2)) == [WORKSHOP]
    assert bands_for([WORKSHOP, own], (3,)) == [own]
    assert bands_for([own, WORKSHOP], (2, 3)) == [WORKSHOP, own]
    assert bands_for([own], (1,)) == []
    assert bands_for([WORKSHOP, own], ()) == [WORKSHOP]
