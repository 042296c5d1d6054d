"""Durations as text, and the ends of days and months in a site's zone (R41).

The independent oracle for every zone rule is dateutil: its own reader of the time zone data and its own calendar arithmetic.
"""

from __future__ import annotations

import calendar
from datetime import UTC, date, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from dateutil.relativedelta import relativedelta
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.core import spans
from inventory.core.reasons import BadInput

MIN, HOUR = spans.MINUTE_US, spans.HOUR_US
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
CPH = "Europe/Copenhagen"
ZONES = (CPH, "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu")
# Clocks that jump over midnight or repeat the hour before it: the hard cases for "through that day".
MIDNIGHT_ZONES = ("America/Havana", "Asia/Beirut", "Africa/Cairo", "America/Santiago", "America/Nuuk", "America/Asuncion")
FIRST, LAST = date(2024, 1, 1), date(2030, 12, 31)

days = st.dates(FIRST, LAST)
zones = st.sampled_from(ZONES)


def us(*args: int, zone: str = CPH) -> int:
    """A local wall time as µs UTC, by dateutil."""
    local = datetime(*args, tzinfo=tz.gettz(zone))  # type: ignore[misc, arg-type]
    return (local.astimezone(UTC) - EPOCH) // timedelta(microseconds=1)


@cache
def oracle_zone(zone: str) -> tz.tzfile:
    found = tz.gettz(zone)
    assert isinstance(found, tz.tzfile)
    return found


def oracle_date(at_us: int, zone: str) -> date:
    return (EPOCH + timedelta(microseconds=at_us)).astimezone(oracle_zone(zone)).date()


def oracle_end_of_day(day: date, zone: str) -> int:
    """The first instant that shows a later date, by halving; knows nothing of midnights, offsets or folds."""
    noon = (datetime(day.year, day.month, day.day, 12, tzinfo=UTC) - EPOCH) // timedelta(microseconds=1)
    low, high = noon - 30 * HOUR, noon + 48 * HOUR
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if oracle_date(middle, zone) <= day else (low, middle)
    return high


# --- durations -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("span_us", "text"),
    [
        (114 * HOUR + 10 * MIN, "114 h 10"),  # the worked days: S2, B4, B3, S2, S1, S6, Q5
        (58 * HOUR + 49 * MIN, "58 h 49"),
        (55 * MIN, "55 min"),
        (5 * HOUR + 50 * MIN, "5 h 50"),
        (114 * HOUR, "114 h 00"),
        (44 * HOUR + 20 * MIN, "44 h 20"),
        (HOUR, "1 h 00"),
        (HOUR - 1, "59 min"),
        (HOUR + 5 * MIN + 59_999_999, "1 h 05"),
        (MIN, "1 min"),
        (MIN - 1, "under 1 min"),
        (1, "under 1 min"),
        (0, "0 min"),
    ],
)
def test_a_duration_reads_as_hours_and_minutes_rounded_down(span_us: int, text: str) -> None:
    assert spans.duration(span_us) == text


def test_a_negative_duration_is_refused() -> None:
    with pytest.raises(BadInput) as refused:
        spans.duration(-1)
    assert refused.value.reason.code == "span.negative"


@pytest.mark.parametrize(
    ("span_us", "text"), [(120 * HOUR, "120 h"), (90 * MIN, "1 h 30"), (30 * MIN, "30 min"), (100 * HOUR, "100 h"), (HOUR, "1 h")]
)
def test_a_limit_reads_as_the_data_sheet_writes_it(span_us: int, text: str) -> None:
    assert spans.limit_text(span_us) == text


@pytest.mark.parametrize(
    ("done", "needed", "text"),
    [
        (55 * MIN, 60 * MIN, "55 of 60 min"),  # B3
        (110 * MIN, 12 * HOUR, "1 h 50 of 12 h"),  # S6
        (55 * MIN, 12 * HOUR, "55 min of 12 h"),  # B14
        (114 * HOUR + 10 * MIN, 72 * HOUR, "114 h 10 of 72 h"),  # B2
        (0, 30 * MIN, "0 of 30 min"),
        (100 * MIN, 30 * MIN, "1 h 40 of 30 min"),
    ],
)
def test_progress_counts_short_spans_in_minutes(done: int, needed: int, text: str) -> None:
    assert spans.progress(done, needed) == text


@pytest.mark.parametrize(("done", "needed"), [(-1, 60 * MIN), (1, -60 * MIN), (-1, -1)])
def test_negative_progress_is_refused(done: int, needed: int) -> None:
    with pytest.raises(BadInput):
        spans.progress(done, needed)


@given(st.integers(0, 10**16))
def test_a_duration_read_back_is_never_more_than_it_was_and_short_by_less_than_a_minute(span_us: int) -> None:
    text = spans.duration(span_us)
    if text == "under 1 min":
        assert 0 < span_us < MIN
        return
    hours, _, minutes = text.removesuffix(" min").rpartition(" h ")
    assert 0 <= span_us - (int(hours or 0) * 60 + int(minutes)) * MIN < MIN


# --- instants as text ----------------------------------------------------------------------------


def test_an_instant_is_shown_in_the_sites_time_rounded_down_to_the_minute() -> None:
    at = us(2026, 3, 30, 8, 15, 59)
    assert spans.local_text(at, CPH) == "2026-03-30 08:15"
    assert spans.clock_text(at, CPH) == "08:15"
    assert spans.weekday_text(us(2026, 3, 27, 16, 30), CPH) == "Fri 16:30"
    assert spans.day_text(us(2026, 3, 28, 12, 30), CPH) == "Sat 28 Mar 12:30"
    assert spans.day_text(us(2026, 3, 7, 15, 0), ZoneInfo(CPH)) == "Sat 7 Mar 15:00"
    assert spans.local_text(-1, "Asia/Kathmandu") == "1970-01-01 05:29"


def test_a_roll_left_out_over_the_clock_change_counts_elapsed_hours() -> None:
    """E13: Friday 16:30 to Monday 07:40, with 52 h before, is 114 h 10; wall-clock arithmetic would give 115 h 10."""
    out = us(2026, 3, 30, 7, 40) - us(2026, 3, 27, 16, 30)
    assert spans.duration(52 * HOUR + out) == "114 h 10"


@settings(deadline=None)
@given(st.datetimes(datetime(2024, 1, 1), datetime(2030, 12, 31)), st.sampled_from(ZONES + MIDNIGHT_ZONES))
@example(datetime(2026, 3, 29, 1, 0), CPH)
@example(datetime(2026, 10, 25, 0, 59, 59, 999999), CPH)
@example(datetime(2026, 4, 4, 15, 0), "Australia/Lord_Howe")
def test_local_text_agrees_with_an_independent_reader_of_the_time_zone_data(utc: datetime, zone: str) -> None:
    at = (utc.replace(tzinfo=UTC) - EPOCH) // timedelta(microseconds=1)
    expected = utc.replace(tzinfo=UTC).astimezone(oracle_zone(zone))
    assert spans.local_text(at, zone) == f"{expected:%Y-%m-%d %H:%M}"
    assert spans.day_text(at, zone).endswith(f"{expected:%H:%M}")
    assert spans.weekday_text(at, zone)[:3] == ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[expected.weekday()]


@pytest.mark.parametrize(
    "name", ["", "Europe", "Mars/Base", "../../etc/passwd", "/etc/passwd", "Europe/Copenhagen\x00", "é" * 300, "\ud800"]
)
def test_an_unknown_zone_is_refused_with_an_example(name: str) -> None:
    with pytest.raises(BadInput, match="Europe/Copenhagen") as refused:
        spans.local_text(0, name)
    assert refused.value.reason.code == "zone.unknown"


@pytest.mark.parametrize("at", [10**18, -(10**18), 10**40])
def test_an_instant_outside_the_calendar_is_refused(at: int) -> None:
    with pytest.raises(BadInput) as refused:
        spans.local_text(at, CPH)
    assert refused.value.reason.code == "instant.range"


# --- ends ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "zone", "end_utc"),
    [
        (date(2026, 3, 30), CPH, datetime(2026, 3, 30, 22, 0)),
        (date(2026, 3, 28), CPH, datetime(2026, 3, 28, 23, 0)),  # the day before the change, UTC+1
        (date(2026, 3, 29), CPH, datetime(2026, 3, 29, 22, 0)),  # the day of 23 hours
        (date(2026, 10, 25), CPH, datetime(2026, 10, 25, 23, 0)),  # the day of 25 hours
        (date(2026, 11, 1), "America/New_York", datetime(2026, 11, 2, 5, 0)),
        (date(2026, 4, 5), "Australia/Lord_Howe", datetime(2026, 4, 5, 13, 30)),  # +11 to +10:30
        (date(2026, 4, 4), "Australia/Lord_Howe", datetime(2026, 4, 4, 13, 0)),
        (date(2026, 4, 5), "Asia/Kathmandu", datetime(2026, 4, 5, 18, 15)),  # +5:45 all year
    ],
)
def test_a_date_lasts_through_that_local_day(day: date, zone: str, end_utc: datetime) -> None:
    assert spans.end_of_day_us(day, zone) == (end_utc.replace(tzinfo=UTC) - EPOCH) // timedelta(microseconds=1)


@settings(deadline=None)
@given(days, st.sampled_from(ZONES + MIDNIGHT_ZONES))
def test_the_end_of_a_day_is_the_first_instant_that_shows_a_later_date(day: date, zone: str) -> None:
    assert spans.end_of_day_us(day, zone) == oracle_end_of_day(day, zone)


@pytest.mark.parametrize("zone", ZONES + MIDNIGHT_ZONES)
def test_every_day_of_seven_years_ends_where_the_next_begins(zone: str) -> None:
    day = FIRST
    while day <= LAST:
        end = spans.end_of_day_us(day, zone)
        assert (oracle_date(end - 1, zone), oracle_date(end, zone)) == (day, day + timedelta(days=1))
        assert end == spans.start_of_day_us(day + timedelta(days=1), zone)
        day += timedelta(days=1)


def test_a_month_without_a_day_lasts_through_its_last_day() -> None:
    """X4 in the demo shop is printed "2026-03": good on the evening of 31 March, over at midnight (UTC+2)."""
    end = spans.end_of_month_us(2026, 3, CPH)
    assert end == us(2026, 4, 1)
    assert spans.local_text(end - 1, CPH) == "2026-03-31 23:59"
    assert spans.end_of_month_us(2028, 2, CPH) == us(2028, 3, 1)
    assert spans.end_of_month_us(2026, 12, CPH) == us(2027, 1, 1)


@settings(deadline=None)
@given(st.integers(2024, 2030), st.integers(1, 12), zones)
def test_the_end_of_a_month_is_the_end_of_its_last_day(year: int, month: int, zone: str) -> None:
    last = date(year, month, 1) + relativedelta(months=1) - timedelta(days=1)
    assert spans.end_of_month_us(year, month, zone) == oracle_end_of_day(last, zone)


@pytest.mark.parametrize(
    ("day", "months", "end"),
    [
        (date(2025, 12, 15), 6, date(2026, 6, 15)),  # U-3
        (date(2025, 9, 30), 6, date(2026, 3, 30)),  # FA-9
        (date(2026, 3, 30), 3, date(2026, 6, 30)),  # FA-9 extended
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 1, 15), -1, date(2025, 12, 15)),
        (date(2026, 5, 7), 0, date(2026, 5, 7)),
    ],
)
def test_months_are_calendar_months_clipped_to_the_last_day(day: date, months: int, end: date) -> None:
    assert spans.add_months(day, months) == end


@given(days, st.integers(-600, 600))
def test_adding_months_agrees_with_dateutil(day: date, months: int) -> None:
    assert spans.add_months(day, months) == day + relativedelta(months=months)


@settings(deadline=None)
@given(st.integers(0, (LAST - FIRST).days * 24 * 60), st.integers(0, 36), zones)
def test_a_life_in_months_ends_with_the_local_day_it_falls_on(minutes: int, months: int, zone: str) -> None:
    made = (datetime(2024, 1, 1, tzinfo=UTC) - EPOCH) // timedelta(microseconds=1) + minutes * MIN
    last_day = oracle_date(made, zone) + relativedelta(months=months)
    assert spans.calendar_end_us(made, months, zone) == oracle_end_of_day(last_day, zone)


def test_a_life_that_begins_just_before_local_midnight_counts_from_that_day_and_not_from_the_utc_day() -> None:
    assert spans.calendar_end_us(us(2026, 3, 30, 23, 59), 1, CPH) == us(2026, 5, 1)
    assert spans.calendar_end_us(us(2026, 3, 31, 0, 30), 1, CPH) == us(2026, 5, 1)
    assert spans.calendar_end_us(us(2026, 3, 29, 23, 59), 1, CPH) == us(2026, 4, 30)


@pytest.mark.parametrize(
    "leave",
    [
        lambda: spans.end_of_day_us(date.max, CPH),
        lambda: spans.start_of_day_us(date.min, "Asia/Kathmandu"),
        lambda: spans.end_of_month_us(2026, 13, CPH),
        lambda: spans.end_of_month_us(10_000, 1, CPH),
        lambda: spans.add_months(date(2026, 1, 1), 10**6),
        lambda: spans.add_months(date(2026, 1, 1), -(10**6)),
    ],
)
def test_leaving_the_calendar_is_a_clear_error(leave: object) -> None:
    with pytest.raises(BadInput) as refused:
        leave()  # type: ignore[operator]
    assert refused.value.reason.code == "date.range"


# --- dates as text -------------------------------------------------------------------------------


def test_a_day_and_a_month_are_read_as_iso_dates() -> None:
    assert spans.parse_date_text(" 2026-03-30 ") == spans.DateText(2026, 3, 30)
    assert spans.parse_date_text("2026-03") == spans.DateText(2026, 3, None)
    assert str(spans.parse_date_text("2026-03")) == "2026-03"
    assert spans.parse_date_text("2026-03").last_day == date(2026, 3, 31)
    assert spans.parse_date_text("2026-03").end_us(CPH) == spans.parse_date_text("2026-03-31").end_us(CPH) == us(2026, 4, 1)
    assert spans.parse_date_text("2028-02-29").last_day == date(2028, 2, 29)


@given(st.dates(date(1970, 1, 1), date(2199, 12, 31)))
def test_every_date_reads_back_as_itself(day: date) -> None:
    assert str(spans.parse_date_text(day.isoformat())) == day.isoformat()
    assert spans.parse_date_text(day.isoformat()).last_day == day
    assert spans.parse_date_text(f"{day:%Y-%m}").last_day.day == calendar.monthrange(day.year, day.month)[1]


@pytest.mark.parametrize("text", ["26-03-30", "30.03.26", "3/30/26", "03/26", "26-03", "MAR 26", "Mar-26", "30 Mar 26", "30 mar '26"])
def test_a_year_of_two_figures_is_refused_with_what_to_type(text: str) -> None:
    with pytest.raises(BadInput, match="2026-03-30") as refused:
        spans.parse_date_text(text)
    assert refused.value.reason.code == "date.short_year"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "date.form"),
        ("MAR 2026", "date.form"),
        ("30.03.2026", "date.form"),
        ("03/04/2026", "date.form"),
        ("20260330", "date.form"),
        ("2026-3-30", "date.form"),
        ("2026-03-30T08:00", "date.form"),
        ("２０２６-03-30", "date.form"),  # full-width figures
        ("2026‐03‐30", "date.form"),  # a hyphen that is not the minus key
        ("x" * 4000, "date.form"),
        ("2026-00", "date.no_such_day"),
        ("2026-13-01", "date.no_such_day"),
        ("2026-02-29", "date.no_such_day"),
        ("2026-02-00", "date.no_such_day"),
        ("0026-03-30", "date.range"),
        ("9999-12-31", "date.range"),
        ("1969-12", "date.range"),
    ],
)
def test_anything_else_is_refused_and_says_what_to_type(text: str, code: str) -> None:
    with pytest.raises(BadInput, match="2026-03-30") as refused:
        spans.parse_date_text(text)
    assert refused.value.reason.code == code
    assert len(str(refused.value)) < 250


@given(st.text(max_size=30))
def test_no_text_at_all_breaks_the_reader(text: str) -> None:
    try:
        parsed = spans.parse_date_text(text)
    except BadInput:
        return
    assert str(parsed) == text.strip()
