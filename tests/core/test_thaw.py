"""Thaw time, a dry bag, and the dew point (R15)."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from zoneinfo import ZoneInfo

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core import spans
from inventory.core.reasons import BadInput
from inventory.core.thaw import Thaw, bag_advice, dew_point_mc, open_reasons, thaw_reasons, thaw_status

MIN, HOUR = spans.MINUTE_US, spans.HOUR_US
CPH = "Europe/Copenhagen"
clock = partial(spans.clock_text, zone=CPH)
instants = st.integers(0, 4 * 10**15)
lengths = st.integers(1, 200 * HOUR)


def at(day: int, hour: int, minute: int = 0) -> int:
    """A local time in March 2026."""
    return int(datetime(2026, 3, day, hour, minute, tzinfo=ZoneInfo(CPH)).astimezone(UTC).timestamp()) * 1_000_000


# --- the worked day ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("out", "needed", "ready"),
    [
        (at(29, 19), 12 * HOUR, "2026-03-30 07:00"),  # T-2
        (at(30, 6, 30), 12 * HOUR, "2026-03-30 18:30"),  # T-4
        (at(30, 7, 30), 12 * HOUR, "2026-03-30 19:30"),  # T-6
        (at(30, 7, 15), HOUR, "2026-03-30 08:15"),  # K-31
        (at(28, 19), 12 * HOUR, "2026-03-29 08:00"),  # over the clock change: twelve hours have passed, not thirteen
    ],
)
def test_an_item_may_be_opened_from_its_thaw_time_after_the_take_out(out: int, needed: int, ready: str) -> None:
    thaw = thaw_status(False, out, needed, at(30, 7, 30))
    assert thaw.ready_at_us is not None
    assert spans.local_text(thaw.ready_at_us, CPH) == ready


def test_a_kit_scanned_five_minutes_early_is_told_how_long_and_from_when() -> None:
    """B3 and B4: K-31 out since 07:15 with an hour to thaw; refused at 08:10, free at 08:15 exactly."""
    early = thaw_status(False, at(30, 7, 15), HOUR, at(30, 8, 10))
    (reason,) = thaw_reasons(early, clock)
    assert (reason.code, reason.text) == ("thaw.short", "Still thawing: 55 of 60 min, from 08:15.")
    assert reason.numbers == {"done_us": 55 * MIN, "needed_us": 60 * MIN, "ready_at_us": at(30, 8, 15)}
    assert not thaw_status(False, at(30, 7, 15), HOUR, at(30, 8, 15) - 1).ready
    assert thaw_status(False, at(30, 7, 15), HOUR, at(30, 8, 15)).ready
    assert thaw_reasons(thaw_status(False, at(30, 7, 15), HOUR, at(30, 8, 15)), clock) == []


def test_a_roll_opened_after_two_of_twelve_hours_is_refused_in_hours() -> None:
    """S6: T-4 out since 06:30, tried at 08:20."""
    (reason,) = thaw_reasons(thaw_status(False, at(30, 6, 30), 12 * HOUR, at(30, 8, 20)), clock)
    assert reason.text == "Still thawing: 1 h 50 of 12 h, from 18:30."


def test_a_frozen_roll_is_told_when_it_would_be_ready_if_taken_out_now() -> None:
    """B2: U-3 back in the freezer, eight hours to thaw, scanned at 08:10. What it did before it was frozen does not count."""
    thaw = thaw_status(True, at(27, 16, 30), 8 * HOUR, at(30, 8, 10))
    (reason,) = thaw_reasons(thaw, clock)
    assert (reason.code, reason.text) == ("thaw.frozen", "Frozen: 8 h thaw, 16:10 if taken out now.")
    assert reason.numbers["ready_at_us"] == at(30, 16, 10)
    assert thaw.done_us == 0


def test_an_item_without_a_recorded_take_out_is_not_taken_for_thawed() -> None:
    (reason,) = thaw_reasons(thaw_status(False, None, 12 * HOUR, at(30, 8)), clock)
    assert reason.code == "thaw.unknown"
    assert reason.numbers["ready_at_us"] is None


def test_an_item_that_needs_no_thaw_is_ready_wherever_it_is() -> None:
    for frozen, since in ((True, None), (False, None), (False, at(30, 8))):
        thaw = thaw_status(frozen, since, 0, at(30, 8))
        assert thaw.ready
        assert open_reasons(thaw, None, clock) == []


def test_a_negative_thaw_time_is_refused() -> None:
    with pytest.raises(BadInput):
        thaw_status(False, 0, -1, 0)


@given(instants, lengths, instants)
def test_ready_means_that_the_whole_time_has_passed(since: int, needed: int, now: int) -> None:
    thaw = thaw_status(False, since, needed, now)
    assert thaw.ready == (now - since >= needed)
    assert thaw.ready == (thaw.done_us >= needed)
    assert thaw.ready_at_us is not None
    assert thaw_status(False, since, needed, thaw.ready_at_us).ready
    assert not thaw_status(False, since, needed, thaw.ready_at_us - 1).ready
    assert thaw.done_us >= 0


@given(instants, lengths)
def test_a_frozen_item_is_never_ready_and_taking_it_out_now_makes_it_ready_when_it_said(now: int, needed: int) -> None:
    thaw = thaw_status(True, None, needed, now)
    assert not thaw.ready
    assert thaw.ready_at_us == thaw_status(False, now, needed, now).ready_at_us


# --- the bag -------------------------------------------------------------------------------------

READY = Thaw(True, 0, HOUR, HOUR)
SHORT = Thaw(False, HOUR, 0, HOUR)


@pytest.mark.parametrize(
    ("thaw", "bag_dry", "codes"),
    [
        (READY, True, []),
        (READY, False, ["thaw.bag_wet"]),
        (READY, None, ["thaw.bag_unasked"]),
        (SHORT, True, ["thaw.short"]),
        (SHORT, False, ["thaw.short", "thaw.bag_wet"]),
        (SHORT, None, ["thaw.short"]),
    ],
)
def test_opening_needs_both_the_time_and_a_dry_bag(thaw: Thaw, bag_dry: bool | None, codes: list[str]) -> None:
    assert [r.code for r in open_reasons(thaw, bag_dry, clock)] == codes


# --- dew point -----------------------------------------------------------------------------------


def test_the_dew_point_of_a_room_at_20_degrees_and_half_saturated() -> None:
    """9.255 ± 0.03 °C: Magnus 6.112 / 17.62 / 243.12, WMO-No. 8, Annex 4.B."""
    assert abs(dew_point_mc(20_000, 500_000) - 9_255) <= 30


@given(st.integers(1_000, 45_000), st.integers(100_000, 1_000_000))
def test_the_dew_point_agrees_with_a_psychrometrics_library(temp_mc: int, rh_ppm: int) -> None:
    """PsychroLib 2.5 solves the ASHRAE saturation curve; where the dew point is above freezing the two agree within 0.05 K.
    (Below, that library turns to the curve over ice, and ours stays with water.)"""
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(temp_mc / 1000, rh_ppm / 1_000_000)
    if expected > 0.02:
        assert abs(dew_point_mc(temp_mc, rh_ppm) / 1000 - expected) < 0.05


@given(st.integers(-45_000, 60_000))
def test_saturated_air_is_at_its_dew_point(temp_mc: int) -> None:
    assert dew_point_mc(temp_mc, 1_000_000) in (temp_mc, temp_mc + 1)  # rounded up from a quotient that need not end


@given(st.integers(-45_000, 60_000), st.integers(1, 999_999))
def test_damper_air_has_a_higher_dew_point_and_never_one_above_the_air(temp_mc: int, rh_ppm: int) -> None:
    assert dew_point_mc(temp_mc, rh_ppm) <= dew_point_mc(temp_mc, rh_ppm + 1) <= temp_mc + 1


@pytest.mark.parametrize(("temp_mc", "rh_ppm"), [(70_000, 500_000), (-46_000, 500_000), (20_000, 0), (20_000, -1), (20_000, 1_000_001)])
def test_a_reading_that_cannot_be_right_is_refused(temp_mc: int, rh_ppm: int) -> None:
    with pytest.raises(BadInput, match="unit"):
        dew_point_mc(temp_mc, rh_ppm)


@pytest.mark.parametrize(
    ("surface", "code"),
    [
        (None, None),
        (-5_000, "bag.below_dew_point"),
        (9_256, "bag.below_dew_point"),
        (9_257, "bag.near_dew_point"),
        (12_256, "bag.near_dew_point"),
        (12_257, None),
    ],
)
def test_a_cold_bag_is_advised_against(surface: int | None, code: str | None) -> None:
    advice = bag_advice(surface, 9_256)
    assert (advice.code if advice else None) == code


def test_the_advice_shows_both_temperatures() -> None:
    advice = bag_advice(-5_000, 9_256)
    assert advice is not None
    assert "bag −5.0 °C, dew point 9.3 °C" in advice.text
    assert advice.numbers == {"surface_mc": -5_000, "dew_mc": 9_256, "margin_mc": -14_256}
