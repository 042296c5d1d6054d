"""Temperature logs in the shapes that loggers export. Every file here is made up."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.reasons import BadInput
from inventory.core.tlog import Log, read_log, to_mc

pytestmark = pytest.mark.core
CPH = "Europe/Copenhagen"
MIN, HOUR, DAY = 60_000_000, 3_600_000_000, 86_400_000_000


def utc(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp()) * 1_000_000


def local(*parts: int, fold: int = 0) -> int:
    return int(datetime(*parts, tzinfo=ZoneInfo(CPH), fold=fold).astimezone(UTC).timestamp()) * 1_000_000


def codes(log: Log) -> list[str]:
    return [n.code for n in log.notes]


def refused(text: str, **kwargs: object) -> str:
    with pytest.raises(BadInput) as caught:
        read_log(text, CPH, **kwargs)
    return caught.value.reason.code


PLAIN = "Time,Temp (°C)\n2026-03-30 08:00,-18.5\n2026-03-30 08:01,-18.4\n2026-03-30 08:02,-18.25\n"


def test_a_plain_log_becomes_instants_and_thousandths_of_a_degree() -> None:
    log = read_log(PLAIN, CPH)
    (probe,) = log.probes
    assert probe.name == "Temp (°C)"
    assert probe.at_us == tuple(local(2026, 3, 30, 8, m) for m in range(3))
    assert probe.mc == (-18_500, -18_400, -18_250)
    assert (log.left, log.notes, log.order) == ((), (), "ymd")


@pytest.mark.parametrize(
    "text",
    [
        # junk above the data, semicolons, decimal commas, day first with points
        "Logger export\nSerial;4711;;\nInterval;60 s;;\n\nNo.;Date/Time;Temperature [°C];Humidity [%RH]\n"
        "1;30.03.2026 08:00:00;-18,5;41,2\n2;30.03.2026 08:01:00;-18,4;41,3\n3;30.03.2026 08:02:00;-18,25;41,1\n",
        # tabs, date and clock in two columns, units on a line of their own, a point too many at the end
        "Date\tTime\tProbe 1\n\t\t°C\n2026/03/30\t08:00:00\t-18.5\n2026/03/30\t08:01:00\t-18.4\n2026/03/30\t08:02:00\t-18.25\n",
        # quoted decimal commas between commas
        '"Time","Temp °C"\n"2026-03-30 08:00","-18,5"\n"2026-03-30 08:01","-18,4"\n"2026-03-30 08:02","-18,25"\n',
        # UTC in the heading, a month's name, half-days
        "Date Time (UTC),T1 (C)\n30-Mar-2026 06:00:00 AM,-18.5\n30-Mar-2026 06:01:00 AM,-18.4\n30-Mar-2026 06:02:00 AM,-18.25\n",
        # an offset in each cell, and in the heading
        "time,temperature_c\n2026-03-30T08:00:00+02:00,-18.5\n2026-03-30T06:01:00Z,-18.4\n2026-03-30T07:02:00.000+0100,-18.25\n",
        'Plot\n"#","Date Time, GMT+01:00","Temp, °C"\n1,30/03/26 07:00:00,-18.5\n2,30/03/26 07:01:00,-18.4\n3,30/03/26 07:02:00,-18.25\n',
        # a unit in each cell; no heading at all
        "2026-03-30 08:00;-18.5 °C\n2026-03-30 08:01;-18.4 °C\n2026-03-30 08:02;-18.25 °C\n",
        # a unit named above; a byte that lost its sign; old Mac line ends
        "Unit: Celsius\rTime,Product probe\r2026-03-30 08:00,-18.5\r2026-03-30 08:01,-18.4\r2026-03-30 08:02,-18.25\r",
        "Time;Temp (\ufffdC)\n2026-03-30 08:00;-18.5\n2026-03-30 08:01;-18.4\n2026-03-30 08:02;-18.25\n",
        # Fahrenheit: −18.5, −18.4 and −18.25 °C exactly
        "Time,Temp (°F)\n2026-03-30 08:00,-1.3\n2026-03-30 08:01,-1.12\n2026-03-30 08:02,-0.85\n",
        # newest first, and a line twice
        "Time,Temp (°C)\n2026-03-30 08:02,-18.25\n2026-03-30 08:01,-18.4\n2026-03-30 08:01,-18.4\n2026-03-30 08:00,-18.5\n",
    ],
)
def test_every_shape_of_the_same_log_gives_the_same_readings(text: str) -> None:
    (probe,) = read_log(text, CPH).probes
    assert probe.at_us == tuple(local(2026, 3, 30, 8, m) for m in range(3))
    assert probe.mc == (-18_500, -18_400, -18_250)


def test_half_days_are_told_apart_by_their_letters() -> None:
    text = "Time,Temp (°C)\n03/30/2026 11:59 AM,1\n03/30/2026 12:00 PM,2\n03/30/2026 01:00 p.m.,3\n03/31/2026 12:01 AM,4\n"
    want = [(30, 11, 59), (30, 12, 0), (30, 13, 0), (31, 0, 1)]
    assert read_log(text, CPH).probes[0].at_us == tuple(local(2026, 3, *when) for when in want)
    assert [e.first_line for e in read_log(text + "03/31/2026 13:01 PM,5\n", CPH).left] == [6]


def test_a_column_that_numbers_the_lines_is_no_probe() -> None:
    text = "1;2026-03-30 08:00;-18.5\n2;2026-03-30 08:01;-18.4\n3;2026-03-30 08:02;-18.4\n"
    (probe,) = read_log(text, CPH, unit="°C").probes
    assert (probe.name, probe.mc) == ("column 3", (-18_500, -18_400, -18_400))


def test_a_dew_point_and_a_set_point_are_in_degrees_and_no_probes() -> None:
    text = "Time,Air (°C),Dew point (°C),Set point (°C)\n2026-03-30 08:00,21,9,180\n2026-03-30 08:01,21,9,180\n"
    log = read_log(text, CPH)
    assert [p.name for p in log.probes] == ["Air (°C)"]
    assert "“Dew point (°C)”, “Set point (°C)”" in log.notes[0].text
    assert [p.name for p in read_log(text, CPH, probes=["Set point (°C)"]).probes] == ["Set point (°C)"]


def test_several_probes_are_kept_apart_and_other_columns_are_told() -> None:
    text = (
        "Time,Air (°C),Product (°C),Humidity (%),Battery (V)\n2026-03-30 08:00,-17.0,-18.5,40,3.6\n"
        "2026-03-30 08:01,-12.0,---,41,3.6\n2026-03-30 08:02,-17.5,-18.4,40,3.6\n"
    )
    log = read_log(text, CPH)
    assert [(p.name, p.mc) for p in log.probes] == [("Air (°C)", (-17_000, -12_000, -17_500)), ("Product (°C)", (-18_500, -18_400))]
    assert codes(log) == ["tlog.unused"]
    (left,) = log.left
    assert (left.first_line, left.last_line, left.probe, left.code, left.given) == (3, 3, "Product (°C)", "tlog.no_value", "---")
    assert [p.name for p in read_log(text, CPH, probes=["product (°c)"]).probes] == ["Product (°C)"]
    assert refused(text, probes=["Core"]) == "tlog.unknown_probe"


def test_every_line_that_is_not_understood_is_told_and_nothing_else_is_lost() -> None:
    text = PLAIN + "2026-03-30 08:03,oops\n2026-03-30 25:00,-18\nLog stopped\n2026-03-30 08:04,-400\n2026-03-30 08:05,-18\n\nEnd\n"
    log = read_log(text, CPH)
    assert len(log.probes[0].mc) == 4
    assert [(e.first_line, e.last_line, e.code) for e in log.left] == [
        (5, 5, "tlog.not_a_number"),
        (6, 7, "tlog.not_a_time"),
        (8, 8, "tlog.out_of_range"),
        (11, 11, "tlog.not_a_time"),
    ]


def test_disorder_and_lines_that_stand_twice_are_put_right_and_told() -> None:
    log = read_log(PLAIN + "2026-03-30 07:59,-18.6\n2026-03-30 08:01,-18.4\n", CPH)
    assert log.probes[0].at_us == tuple(local(2026, 3, 30, 7, 59) + n * MIN for n in range(4))
    assert codes(log) == ["tlog.sorted", "tlog.twice"]
    assert refused(PLAIN + "2026-03-30 08:01,-17\n") == "tlog.two_values"


# --- the clock change --------------------------------------------------------------------------------

HEAD = "Time;Temp (°C)\n"


def test_the_hour_that_comes_twice_is_told_apart_by_the_order_of_the_lines() -> None:
    """Copenhagen, 25 October 2026: 03:00 becomes 02:00."""
    clock = [f"{h:02d}:{m:02d}" for h, m in [(1, 30), (2, 0), (2, 30), (2, 0), (2, 30), (3, 0)]]
    rows = [f"25.10.2026 {c};{n}" for n, c in enumerate(clock)]
    want = tuple(utc(2026, 10, 24, 23, 30) + n * 30 * MIN for n in range(6))
    for order in (rows, rows[::-1]):
        probe = read_log(HEAD + "\n".join(order), CPH).probes[0]
        assert probe.at_us == want
        assert probe.mc == tuple(n * 1000 for n in range(6))


def test_by_the_hour_the_same_time_twice_is_two_passes() -> None:
    rows = [f"2026-10-25 {h:02d}:00;{n}" for n, h in enumerate([0, 1, 2, 2, 3, 4])]
    assert read_log(HEAD + "\n".join(rows), CPH).probes[0].at_us == tuple(utc(2026, 10, 24, 22) + n * HOUR for n in range(6))


def test_a_log_that_shows_one_pass_is_taken_where_it_runs_on() -> None:
    stopped = [f"2026-10-25 {c};1" for c in ("01:50", "01:55", "02:00", "02:05")]
    log = read_log(HEAD + "\n".join(stopped), CPH)
    assert log.probes[0].at_us[-1] == local(2026, 10, 25, 2, 5)
    assert codes(log) == ["tlog.hour_once"]
    started = [f"2026-10-25 {c};1" for c in ("02:50", "02:55", "03:00", "03:05")]
    assert read_log(HEAD + "\n".join(started), CPH).probes[0].at_us[0] == local(2026, 10, 25, 2, 50, fold=1)


def test_a_time_that_the_clocks_jumped_over_shows_that_the_loggers_clock_did_not() -> None:
    """Copenhagen, 29 March 2026: 02:00 becomes 03:00."""
    assert refused(HEAD + "2026-03-29 01:30;1\n2026-03-29 02:30;1\n2026-03-29 03:30;1\n") == "tlog.no_such_time"
    odd = read_log(HEAD + "2026-03-29 01:00;1\n2026-03-29 02:00;1\n2026-03-29 04:00;1\n", CPH)  # the jump, one reading late
    assert odd.probes[0].at_us == tuple(utc(2026, 3, 29, n) for n in range(3))
    assert codes(odd) == ["tlog.hour_skipped"]
    fine = read_log(HEAD + "2026-03-29 01:30;1\n2026-03-29 03:30;1\n", CPH)
    assert fine.probes[0].at_us[1] - fine.probes[0].at_us[0] == HOUR
    assert len(read_log("Time (GMT+01:00);Temp (°C)\n2026-03-29 01:30;1\n2026-03-29 02:30;1\n", CPH).probes[0].mc) == 2


@given(
    st.integers(0, 365 * 24 * 4 - 200), st.sampled_from([5, 15, 20, 60]), st.sampled_from([CPH, "America/New_York", "Australia/Lord_Howe"])
)
def test_an_unbroken_log_in_any_zone_comes_back_as_it_was(start: int, step: int, zone: str) -> None:
    at = [utc(2026, 1, 1) + start * 15 * MIN + n * step * MIN for n in range(100)]
    lines = [f"{datetime.fromtimestamp(t // 1_000_000, ZoneInfo(zone)):%Y-%m-%d %H:%M:%S};{n % 7}" for n, t in enumerate(at)]
    log = read_log(HEAD + "\n".join(lines), zone)
    if not any(n.code == "tlog.hour_once" for n in log.notes):
        assert log.probes[0].at_us == tuple(at)
    assert log.left == ()


# --- dates, units, years -------------------------------------------------------------------------------


def test_two_orders_of_the_date_are_asked_for_unless_the_file_or_the_period_tells() -> None:
    one_day = HEAD + "03/04/2026 08:00;1\n03/04/2026 08:01;1\n"
    assert refused(one_day) == "tlog.date_order"
    assert read_log(one_day, CPH, day_first=True).probes[0].at_us[0] == local(2026, 4, 3, 8)
    assert read_log(one_day, CPH, day_first=False).probes[0].at_us[0] == local(2026, 3, 4, 8)
    assert read_log(one_day, CPH, stated=(utc(2026, 4, 1), utc(2026, 4, 10))).order == "dmy"
    over_night = HEAD + "03/04/2026 23:59;1\n04/04/2026 00:00;1\n"
    assert read_log(over_night, CPH).order == "dmy"  # in the other order it would jump by a month
    assert read_log(HEAD + "03/30/2026 08:00;1\n03/31/2026 08:01;1\n", CPH).order == "mdy"
    assert refused(HEAD + "13/13/2026 08:00;1\n13/13/2026 08:01;1\n") == "tlog.no_such_day"


def test_a_unit_is_never_guessed_and_a_wrong_one_is_found_by_the_values() -> None:
    bare = "Time,Probe 1\n2026-03-30 08:00,-1.3\n2026-03-30 08:01,-1.2\n"
    assert refused(bare) == "tlog.no_unit"
    assert read_log(bare, CPH, unit="°F").probes[0].mc == (-18_500, -18_444)
    assert refused(bare, unit="rankine") == "tlog.no_unit"
    assert refused(PLAIN, unit="°F") == "tlog.unit_conflict"
    freezer = (-30_000, -15_000)
    assert refused(bare, unit="°C", expected_mc=freezer) == "tlog.wrong_unit"
    assert read_log(bare, CPH, unit="F", expected_mc=freezer).probes[0].mc == (-18_500, -18_444)
    # A freezer that stood open is warm in either unit: that is a finding, not a slip.
    assert read_log(bare.replace("-1.", "21."), CPH, unit="°C", expected_mc=freezer).probes[0].mc[0] == 21_300
    oven = "Time,TC1 (°C)\n2026-03-30 08:00,356\n2026-03-30 08:01,357\n"
    assert refused(oven, expected_mc=(170_000, 190_000)) == "tlog.wrong_unit"
    assert read_log("Time,Probe A,Probe B,Probe C\n2026-03-30 08:00,1,2,3\n", CPH, unit="F").probes[2].mc == (-16_111,)


def test_a_log_of_another_year_or_time_is_refused() -> None:
    assert refused(PLAIN, stated=(utc(2027, 3, 29), utc(2027, 4, 2))) == "tlog.other_year"
    assert refused(PLAIN, stated=(utc(2026, 3, 1), utc(2026, 3, 2))) == "tlog.other_time"
    assert len(read_log(PLAIN, CPH, stated=(utc(2026, 3, 30), utc(2026, 3, 31))).probes[0].mc) == 3


def test_an_elapsed_time_counts_from_the_start_that_is_given() -> None:
    text = "Elapsed (min),TC1 (°C),TC2 (°C)\n0,20.1,20.3\n0.5,20.2,20.4\n1,20.4,20.9\n"
    assert refused(text) == "tlog.no_time"
    log = read_log(text, CPH, start_us=utc(2026, 3, 30, 6))
    assert log.probes[1].at_us == tuple(utc(2026, 3, 30, 6) + n * 30_000_000 for n in range(3))
    assert log.probes[1].mc == (20_300, 20_400, 20_900)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "tlog.empty"),
        ("Temp (°C)\n1\n2\n", "tlog.no_time"),
        ("Time,Humidity (%)\n2026-03-30 08:00,40\n2026-03-30 08:01,41\n", "tlog.no_probe"),
        ("Time,Temp (°C)\n2026-03-30 08:00,-18,5\n2026-03-30 08:01,-18,4\n", "tlog.decimal_comma"),
        ("Time;Temp (°C)\n2026-03-30 08:00;-18,5\n2026-03-30 08:01;-18.4\n", "tlog.two_decimals"),
        ("Time,Temp (°C)\n2026-03-30T08:00Z,1\n2026-03-30T08:01,1\n", "tlog.mixed_offsets"),
        ("Time,Temp (°C)\n2026-03-30 08:00,999999\n", "tlog.nothing"),
        ("\x00\x01 junk \ufffd\n;;;\n", "tlog.no_time"),
    ],
)
def test_a_file_that_would_be_read_wrong_is_refused(text: str, code: str) -> None:
    assert refused(text) == code


@given(st.text(max_size=200), st.sampled_from(["", "°C"]))
def test_any_text_is_a_log_or_a_refusal_and_never_a_crash(text: str, unit: str) -> None:
    for body in (text, HEAD + text, PLAIN + text, PLAIN.replace(",", text[:1] or ",")):
        try:
            log = read_log(body, CPH, unit=unit)
        except BadInput as refusal:
            assert refusal.reason.code.startswith("tlog.")
        else:
            for p in log.probes:
                assert len(p.at_us) == len(p.mc)
                assert list(p.at_us) == sorted(set(p.at_us))


@given(st.integers(-80_000, 400_000))
def test_a_figure_in_fahrenheit_is_rounded_once(mc: int) -> None:
    assert to_mc(f"{mc / 1000:.3f}", "C") == mc
    assert to_mc(f"{mc / 1000:.3f}".replace(".", ","), "C") == mc
    exact = (mc / 1000 * 9 / 5) + 32
    assert to_mc(f"{exact:.4f}", "F") == mc
