"""One log, written as loggers write it – any delimiter, decimal sign, unit, order of the date, zone, order of lines, junk and doubles –
and read back equal. What the layouts look like is made up here; none is any maker's."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.logtimes import Stamps, stamp
from inventory.core.tlog import read_log

pytestmark = pytest.mark.core
CPH = "Europe/Copenhagen"
JUNK = ["Logger export", "Serial 4711", "Interval: 60 s", "", ";;;", "Site\tBoatyard", "Battery 3.1 V", "Start of data"]
DATES = ["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%d/%m/%Y %H:%M:%S", "%m/%d/%Y %H:%M:%S", "%d-%b-%Y %H:%M:%S", "%Y/%m/%d %I:%M:%S %p"]


@st.composite
def written(draw: Any) -> tuple[str, dict[str, Any], list[int], list[int]]:
    """(text, what is said along, instants, tenths of a degree in m°C)."""
    start = draw(st.datetimes(datetime(2020, 1, 1), datetime(2030, 12, 1), timezones=st.just(UTC))).replace(microsecond=0)
    steps = draw(st.lists(st.sampled_from([30, 60, 60, 60, 300, 86_400]), min_size=30, max_size=60))
    at = [start]
    for step in steps:
        at.append(at[-1] + timedelta(seconds=step))
    mc = [draw(st.integers(-300, 400)) * 100 for _ in at]
    delimiter, decimal = draw(st.sampled_from([(";", ","), (";", "."), ("\t", ","), ("\t", "."), (",", "."), ("|", ",")]))
    unit = draw(st.sampled_from(["C", "F"]))
    shape = draw(st.sampled_from(DATES))
    offset = draw(st.sampled_from(["utc", "heading", "cell"]))
    zone = timezone(timedelta(hours=draw(st.integers(-11, 12)))) if offset != "utc" else UTC
    rows = [_row(moment.astimezone(zone), value, delimiter, decimal, unit, shape, offset) for moment, value in zip(at, mc, strict=True)]
    doubled = draw(st.lists(st.integers(0, len(rows) - 1), max_size=4))
    rows += [rows[n] for n in doubled]
    order = draw(st.sampled_from(["as it was", "newest first", "shuffled"]))
    rows = rows[::-1] if order == "newest first" else draw(st.permutations(rows)) if order == "shuffled" else rows
    junk = draw(st.lists(st.sampled_from(JUNK), max_size=6))
    heading = "Date Time" + (f" (UTC{_offset(zone)})" if offset == "heading" else " UTC" if offset == "utc" else "")
    head = delimiter.join([heading, f"Temperature [°{unit}]"])
    text = draw(st.sampled_from(["\n", "\r\n", "\r"])).join([*junk, head, *rows, *([""] * draw(st.integers(0, 2)))])
    return text, {"day_first": "%m/%d" not in shape}, [int(m.timestamp()) * 1_000_000 for m in at], mc


def _row(moment: datetime, mc: int, delimiter: str, decimal: str, unit: str, shape: str, offset: str) -> str:
    value = mc / 1000 if unit == "C" else mc / 1000 * 9 / 5 + 32
    time = f"{moment:{shape}}" + (_offset(moment.tzinfo) if offset == "cell" else "")
    return delimiter.join([time, f"{value:.2f}".replace(".", decimal)])


def _offset(zone: Any) -> str:
    minutes = int(zone.utcoffset(None).total_seconds()) // 60
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


@settings(max_examples=200, deadline=None)
@given(written())
def test_a_log_written_in_any_layout_is_read_back_equal(made: tuple[str, dict[str, Any], list[int], list[int]]) -> None:
    text, said, at, mc = made
    (probe,) = read_log(text, CPH, **said).probes
    assert list(probe.at_us) == at
    assert list(probe.mc) == mc


@settings(max_examples=100, deadline=None)
@given(
    st.datetimes(datetime(2020, 1, 1), datetime(2030, 12, 1)),
    st.sampled_from([CPH, "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata"]),
    st.integers(60, 200),
)
def test_local_time_over_any_clock_change_is_read_back_equal(begin: datetime, zone: str, count: int) -> None:
    """Twice a year the clocks change; a logger that keeps the wall's time writes an hour twice, or leaves one out."""
    start = int(begin.replace(tzinfo=UTC).timestamp()) // 1800 * 1800
    at = [start + n * 1800 for n in range(count)]
    rows = [f"{datetime.fromtimestamp(t, ZoneInfo(zone)):%Y-%m-%d %H:%M};{-18 - n % 7 / 10:.1f}" for n, t in enumerate(at)]
    (probe,) = read_log("\n".join(["Time;Temp °C", *rows]), zone).probes
    assert list(probe.at_us) == [t * 1_000_000 for t in at]


@pytest.mark.parametrize("change", [datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)])
def test_the_nights_of_the_change_itself_are_read_back_equal(change: datetime) -> None:
    at = [int(change.timestamp()) + n * 600 for n in range(-60, 60)]
    rows = [f"{datetime.fromtimestamp(t, ZoneInfo(CPH)):%d.%m.%Y %H:%M};-18,5" for t in at]
    (probe,) = read_log("\n".join(["Time;Temp °C", *rows]), CPH).probes
    assert list(probe.at_us) == [t * 1_000_000 for t in at]


halves = st.sampled_from([
    "2026-03-30", "30.03.2026", "30 Mar 2026", "3/4/26", " 2026/1/2", "30-Mar-26", "2026-13-40", "99.99.9999", "2026-03-3", "x", "",
    "30 Foo 2026",
])  # fmt: skip
rests = st.sampled_from([
    " 08:00", "T08:00:01Z", ", 8:15 PM", " 08:00:00,5", " 25:00", " 13:00 PM", " 08:61", " 08:00+02:00", "08:00", "", " x", " 6 08:00",
    "26 08:00",
    "  23:59:59.999999 UTC-7 ", "\t08:00",
])  # fmt: skip


@given(st.lists(st.tuples(halves, rests), min_size=1, max_size=60))
def test_times_that_are_remembered_by_halves_are_read_as_each_by_itself(cells: list[tuple[str, str]]) -> None:
    read = Stamps()
    for date, clock in cells:
        assert read(date + clock) == stamp(date + clock), date + clock
