"""Life limits read and judged: every clock at its very edge, all failures told, the governing one named, unknown is not fit.

Rules by their numbers in DEVELOPERS.md (R8, R9, R14, R41); figures by hand, with the calendar of Europe/Copenhagen (IANA data).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.exposure import UNKNOWN_MC, Exposure
from inventory.core.limits import BINDS, CHECKPOINTS, Limit, Moment, Reading, Source, governing, judge, read, read_all
from inventory.core.spans import HOUR_US, parse_date_text

pytestmark = pytest.mark.core
ZONE = "Europe/Copenhagen"
DAY = 24 * HOUR_US
NEW = Exposure(1)
ROOM, COLD = 25_000, -18_000


def us(local: str, zone: str = ZONE) -> int:
    return round(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp()) * 1_000_000


NOW = us("2026-03-30 08:00")
OUT = Limit("out life", "above", "cure", limit_us=120 * HOUR_US, threshold_mc=-18_000)
TACK = Limit("tack life", "above", "laid", limit_us=72 * HOUR_US, threshold_mc=-18_000)


def lot(*limits: Limit, made: str | None = None, printed: str | None = None) -> Source:
    printed_us = None if printed is None else parse_date_text(printed).end_us(ZONE)
    return Source(1, "PP-U lot 7", 1, limits, None if made is None else us(made), printed_us)


def out(h: int, more_us: int = 0, ceiling: int = ROOM) -> Exposure:
    return Exposure(1, ((ceiling, h * HOUR_US + more_us),))


def over(limit: Limit, total: Exposure, at: int, ceiling: int | None = COLD, zone: str = ZONE, **papers: str) -> bool:
    return read(limit, total, lot(limit, **papers), Moment(at, ceiling, zone)).over


# --- the very edge of each clock -----------------------------------------------------------------


def test_an_hours_limit_is_over_at_exactly_the_limit() -> None:
    assert not over(OUT, out(120, -1), NOW)
    assert over(OUT, out(120), NOW)


def test_time_counts_as_out_only_above_the_threshold() -> None:
    assert not over(OUT, out(500, ceiling=-18_000), NOW), "at the threshold is not above it"
    assert over(OUT, out(500, ceiling=-17_999), NOW)
    assert over(OUT, out(120, ceiling=UNKNOWN_MC), NOW), "a place nobody knows is out"


def test_a_printed_day_lasts_through_that_day_and_a_month_through_its_last() -> None:
    printed = Limit("printed date", "printed", "mixed")
    assert not over(printed, NEW, us("2026-03-30 23:59"), printed="2026-03-30")
    assert over(printed, NEW, us("2026-03-31 00:00"), printed="2026-03-30")
    assert not over(printed, NEW, us("2026-03-31 23:59"), printed="2026-03")
    assert over(printed, NEW, us("2026-04-01 00:00"), printed="2026-03")


@pytest.mark.parametrize(
    ("made", "months", "last"),
    [("2025-09-30", 6, "2026-03-30"), ("2025-12-15", 6, "2026-06-15"), ("2026-03-02", 12, "2027-03-02"), ("2025-08-31", 6, "2026-02-28")],
)
def test_months_are_calendar_months_and_the_last_day_counts(made: str, months: int, last: str) -> None:
    storage = Limit("storage life", "calendar", "laid", months=months)
    assert not over(storage, NEW, us(f"{last} 23:59"), made=made)
    assert over(storage, NEW, us(f"{last} 23:59") + 60_000_000, made=made)


def test_days_from_opening_are_days_of_the_calendar_over_both_changes_of_the_clocks() -> None:
    opened = Limit("opened", "opened", "used", limit_us=30 * DAY)
    for start, last in (("2026-03-27 23:30", "2026-04-26"), ("2026-10-24 00:30", "2026-11-23"), ("2026-05-01 00:00", "2026-05-31")):
        total = replace(NEW, opened_us=us(start))
        assert not over(opened, total, us(f"{last} 23:59"))
        assert over(opened, total, us(f"{last} 23:59") + 60_000_000)


def test_hours_from_opening_are_over_to_the_microsecond() -> None:
    for hours in (8, 24, 48, 72, 200):
        opened = Limit("opened", "opened", "used", limit_us=hours * HOUR_US)
        total = replace(NEW, opened_us=us("2026-03-28 22:15"))
        assert not over(opened, total, us("2026-03-28 22:15") + hours * HOUR_US - 1)
        assert over(opened, total, us("2026-03-28 22:15") + hours * HOUR_US)


def test_a_clock_from_receipt_runs_from_receipt() -> None:
    received = Limit("after receipt", "received", "used", months=3)
    total = replace(NEW, received_us=us("2025-12-30 14:00"))
    assert not over(received, total, us("2026-03-30 23:59"), made="2020-01-01")
    assert over(received, total, us("2026-03-31 00:00"), made="2020-01-01")


def test_something_never_opened_does_not_run_on_the_opened_clock() -> None:
    assert not over(Limit("opened", "opened", "used", months=1), NEW, NOW + 1_000 * DAY)


def test_a_count_may_reach_its_limit_and_not_pass_it() -> None:
    heats, cycles = Limit("heats", "heats", "laid", limit_n=3), Limit("thaws", "cycles", "laid", limit_n=2)
    assert [over(heats, replace(NEW, heats=n), NOW) for n in (2, 3, 4)] == [False, False, True]
    assert [over(cycles, replace(NEW, cycles=n), NOW) for n in (1, 2, 3)] == [False, False, True]


def test_moisture_runs_from_the_drying_wherever_it_lies() -> None:
    moisture = Limit("moisture", "moisture", "laid", limit_us=HOUR_US)
    total = replace(NEW, dried_us=NOW)
    assert not over(moisture, total, NOW + HOUR_US - 1, ceiling=None)
    assert over(moisture, total, NOW + HOUR_US, ceiling=None)


def test_the_same_instant_ends_a_date_in_one_zone_and_not_in_another() -> None:
    storage = Limit("storage life", "calendar", "laid", months=6)
    source = Source(1, "lot", 1, (storage,), made_us=us("2025-09-30 12:00", "UTC"))
    verdicts = {z: read(storage, NEW, source, Moment(us("2026-03-31 00:30"), COLD, z)).over for z in (ZONE, "UTC", "America/New_York")}
    assert verdicts == {ZONE: True, "UTC": False, "America/New_York": False}


# --- fractions of life ---------------------------------------------------------------------------

RESOLE = Limit("storage life", "fraction", "mixed", fractions=((10_000, 90 * DAY), (20_000, 28 * DAY)))


def test_fractions_of_life_add_up_exactly() -> None:
    half_cold_half_warm = Exposure(1, ((8_000, 45 * DAY), (20_000, 14 * DAY)))
    assert over(RESOLE, half_cold_half_warm, NOW)
    assert not over(RESOLE, replace(half_cold_half_warm, spent=((8_000, 45 * DAY), (20_000, 14 * DAY - 1))), NOW)


def test_fractions_do_not_drift_as_decimals_would() -> None:
    thirds = Limit("storage life", "fraction", "mixed", fractions=((1_000, 3), (2_000, 7), (3_000, 11)))
    assert not over(thirds, Exposure(1, ((1_000, 1), (2_000, 2), (3_000, 4))), NOW)  # 1/3 + 2/7 + 4/11 = 0.98…
    for n in (10**15, 3 * 10**17 + 1):
        long = Limit("storage life", "fraction", "mixed", fractions=((1_000, 3 * n), (2_000, 3 * n)))
        assert over(long, Exposure(1, ((1_000, n), (2_000, 2 * n))), NOW)
        assert not over(long, Exposure(1, ((1_000, n), (2_000, 2 * n - 1))), NOW)


def test_fractions_that_add_up_to_a_life_are_a_reason_with_its_words() -> None:
    total = Exposure(1, ((8_000, 45 * DAY), (20_000, 14 * DAY)))
    for ceiling in (8_000, None):
        when = Moment(NOW, ceiling, ZONE)
        [reason] = judge([read(RESOLE, total, lot(RESOLE), when)], "mix", when)
        assert (reason.code, reason.numbers["used"], reason.numbers["allowed"]) == ("life.over", 1_000_000, 1_000_000)
        assert "fractions" in reason.text


def test_storage_where_the_supplier_states_no_life_cannot_be_judged() -> None:
    reading = read(RESOLE, Exposure(1, ((25_000, 1),)), lot(RESOLE), Moment(NOW, 8_000, ZONE))
    assert reading.over and "above 20 °C" in reading.missing
    warm = read(RESOLE, NEW, lot(RESOLE), Moment(NOW, 25_000, ZONE))
    assert (warm.over, warm.ends_us) == (False, NOW + 1), "it ends as soon as it lies there"


# --- the end that is told is the first instant at which it is over ---------------------------------

starts = st.integers(NOW - 400 * DAY, NOW)
any_limit = st.one_of(
    st.builds(
        lambda n, t: Limit("l", "above", "cure", limit_us=n, threshold_mc=t), st.integers(1, 500 * HOUR_US), st.sampled_from((COLD, 0))
    ),
    st.builds(lambda n: Limit("l", "moisture", "laid", limit_us=n), st.integers(1, 300 * HOUR_US)),
    st.builds(lambda n: Limit("l", "opened", "used", limit_us=n), st.integers(1, 90 * DAY) | st.integers(1, 90).map(lambda d: d * DAY)),
    st.builds(lambda n, c: Limit("l", c, "used", months=n), st.integers(1, 24), st.sampled_from(("calendar", "received", "opened"))),
    st.builds(
        lambda a, b: Limit("l", "fraction", "mixed", fractions=((COLD, a + b), (ROOM, a))), st.integers(1, 10**13), st.integers(0, 10**14)
    ),
    st.just(Limit("l", "printed", "mixed")),
)


@settings(max_examples=400, deadline=None)
@given(
    any_limit,
    starts,
    st.integers(0, 500 * HOUR_US),
    st.integers(0, 500 * HOUR_US),
    st.sampled_from((COLD, ROOM)),
    st.sampled_from((ZONE, "Asia/Kathmandu", "America/St_Johns")),
)
def test_the_end_told_is_the_first_instant_at_which_it_is_over(
    limit: Limit, start: int, cold: int, warm: int, place: int, zone: str
) -> None:
    spent = tuple((c, u) for c, u in ((COLD, cold), (ROOM, warm)) if u)
    total = Exposure(1, spent, received_us=start, opened_us=start, dried_us=start)
    source = Source(1, "lot", 1, (limit,), made_us=start, printed_us=start)
    now = read(limit, total, source, Moment(NOW, place, zone))
    if now.ends_us is None or now.over:
        assert now.over or (limit.clock == "above" and place <= (limit.threshold_mc or 0))
        return

    def later(at: int) -> bool:
        grown = total.plus(Exposure(0, ((place, at - NOW),) if at > NOW else ()))
        return read(limit, grown, source, Moment(at, place, zone)).over

    assert now.ends_us > NOW and later(now.ends_us) and not later(now.ends_us - 1)


def test_an_end_that_has_passed_is_told_exactly_while_the_clock_runs() -> None:
    reading = read(OUT, out(161), lot(OUT), Moment(us("2026-03-09 08:00"), ROOM, ZONE))
    assert (reading.over, reading.ends_us) == (True, us("2026-03-07 15:00"))


def test_at_rest_in_the_cold_the_crossing_lies_before_the_return() -> None:
    when = Moment(us("2026-03-20 12:00"), COLD, ZONE, since=us("2026-03-09 08:00"))
    assert read(OUT, out(161), lot(OUT), when).ends_us == us("2026-03-07 15:00")


def test_at_rest_in_the_cold_an_out_life_has_no_end_and_some_left() -> None:
    reading = read(OUT, out(100), lot(OUT), Moment(NOW, COLD, ZONE))
    assert (reading.ends_us, reading.left) == (None, 20 * HOUR_US)


# --- unknown is not fit --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "total"),
    [
        (OUT, replace(NEW, unknown=True)),
        (RESOLE, replace(NEW, unknown=True)),
        (Limit("heats", "heats", "laid", limit_n=3), replace(NEW, unknown=True)),
        (Limit("thaws", "cycles", "laid", limit_n=3), replace(NEW, unknown=True)),
        (replace(RESOLE, fractions=()), out(1)),
        (Limit("printed date", "printed", "laid"), NEW),
        (Limit("storage life", "calendar", "laid", months=6), NEW),
        (Limit("after receipt", "received", "laid", months=6), NEW),
        (Limit("moisture", "moisture", "laid", limit_us=HOUR_US), NEW),
    ],
    ids=lambda v: v.clock if isinstance(v, Limit) else "",
)
def test_what_is_not_known_reads_as_over_and_says_what_is_missing(limit: Limit, total: Exposure) -> None:
    reading = read(limit, total, lot(limit), Moment(NOW, COLD, ZONE))
    assert reading.over and reading.missing
    [reason] = judge([reading], "lay" if limit.checkpoint in BINDS["lay"] else "mix", Moment(NOW, COLD, ZONE))
    assert reason.code == "life.unknown" and reading.missing in reason.text and "Quality" in reason.text


def test_a_lot_that_nobody_knows_reads_as_over() -> None:
    when = Moment(NOW, COLD, ZONE)
    [reading] = read_all([Exposure(99)], {1: lot(OUT)}, when)
    assert reading.over
    for deed in ("cut", "mix", "lay"):
        assert [r.code for r in judge([reading], deed, when)] == ["life.unknown"]


# --- judging -------------------------------------------------------------------------------------

STORAGE = Limit("storage life", "calendar", "laid", months=6)
THAWS = Limit("thaws", "cycles", "cure", limit_n=2)
FULL = lot(OUT, TACK, STORAGE, THAWS, made="2025-06-01")


def readings(total: Exposure, source: Source = FULL, ceiling: int | None = ROOM) -> list[Reading]:
    return read_all([total], {1: source}, Moment(NOW, ceiling, ZONE))


def codes(found: list[Reading], deed: str, **planned: int) -> set[tuple[str, object]]:
    return {(r.code, r.numbers["limit"]) for r in judge(found, deed, Moment(NOW, ROOM, ZONE), planned)}


def test_every_failure_is_told_and_not_only_the_first() -> None:
    found = readings(replace(out(130), cycles=3))
    assert codes(found, "lay") == {("life.over", n) for n in ("out life", "tack life", "storage life", "thaws")}


def test_reasons_carry_their_numbers_and_a_sentence_that_shows_them() -> None:
    reasons = {r.numbers["limit"]: r for r in judge(readings(replace(out(130, 600_000_000), cycles=3)), "lay", Moment(NOW, ROOM, ZONE))}
    assert "130 h 10 of 120 h" in reasons["out life"].text and "since Sun 29 Mar 21:50" in reasons["out life"].text
    assert reasons["out life"].numbers == {
        "limit": "out life", "source": 1, "used": 130 * HOUR_US + 600_000_000, "allowed": 120 * HOUR_US, "since_us": us("2026-03-29 21:50"),
    }  # fmt: skip
    assert "3 of 2" in reasons["thaws"].text and "Tue 2 Dec 00:00" in reasons["storage life"].text
    assert all(type(v) in (int, str) or v is None for r in reasons.values() for v in r.numbers.values())


def test_each_limit_binds_at_its_own_checkpoint_and_at_the_deeds_that_lead_to_it() -> None:
    """R8: component shelf life at mixing, where it ends; storage and tack when laid; handling when bagged; out life at cure."""
    binds = {point: {deed for deed in BINDS if point in BINDS[deed]} for point in CHECKPOINTS}
    assert binds == {
        "mixed": {"cut", "pour", "mix"},
        "laid": {"cut", "lay"},
        "bagged": {"cut", "lay", "bag"},
        "cure": {"cut", "lay", "bag", "cure"},
        "used": {"cut", "pour", "mix", "lay"},
    }
    found = readings(replace(out(130), cycles=0))
    assert codes(found, "cure") == {("life.over", "out life")}
    assert codes(found, "mix") == set()


def test_a_limit_that_ends_at_the_very_start_of_cure_is_too_short() -> None:
    found = readings(out(100), lot(OUT))
    assert codes(found, "lay", cure=NOW + 20 * HOUR_US - 1) == set()
    assert codes(found, "lay", cure=NOW + 20 * HOUR_US) == {("life.too_short", "out life")}
    assert codes(found, "lay", bagged=NOW + 90 * HOUR_US) == set(), "a plan for another checkpoint says nothing of this limit"


def test_two_plies_of_one_lot_give_one_reason_and_it_tells_the_worse() -> None:
    for plies in ([out(125), out(161)], [out(161), out(125)]):
        found = read_all(plies, {1: lot(OUT)}, Moment(NOW, ROOM, ZONE))
        [reason] = judge(found, "cure", Moment(NOW, ROOM, ZONE))
        assert reason.numbers["used"] == 161 * HOUR_US


def test_nothing_is_refused_while_everything_is_alive() -> None:
    assert codes(readings(out(10), lot(OUT, TACK, STORAGE, THAWS, made="2026-01-01")), "cut", cure=NOW + HOUR_US) == set()


# --- the governing one ---------------------------------------------------------------------------


def governs(total: Exposure, source: Source, ceiling: int | None = ROOM) -> str:
    found = governing(readings(total, source, ceiling))
    return found.limit.name if found else ""


def test_the_limit_that_ends_first_governs() -> None:
    fresh = lot(OUT, TACK, STORAGE, made="2026-01-01")
    assert governs(out(10), fresh) == "tack life"
    assert governs(out(10), fresh, COLD) == "storage life", "in the freezer only the calendar runs"
    assert governs(out(10), lot(OUT, STORAGE, made="2025-10-01")) == "storage life"
    assert governs(NEW, lot()) == ""


def test_what_is_over_governs_before_what_still_runs_and_unknown_before_all() -> None:
    assert governs(out(80), lot(OUT, TACK)) == "tack life"
    assert governs(replace(out(80), cycles=3), lot(OUT, TACK, THAWS)) == "thaws"
    assert governs(out(10), lot(OUT, TACK, STORAGE)) == "storage life", "its day of manufacture is not known"


# --- extensions ----------------------------------------------------------------------------------


def test_an_extension_moves_the_named_limit_of_that_lot_and_nothing_else() -> None:
    other = Limit("printed date", "printed", "laid")
    source = lot(STORAGE, other, OUT, made="2025-09-30", printed="2026-03-30")
    extended = {
        (1, "storage life"): us("2026-07-01 00:00"),
        (1, "out life"): us("2030-01-01 00:00"),
        (2, "printed date"): us("2030-01-01 00:00"),
    }
    when = Moment(us("2026-04-02 08:00"), COLD, ZONE, extended)
    assert [r.over for r in read_all([out(120)], {1: source}, when)] == [False, True, True]
    assert read(STORAGE, NEW, source, replace(when, at_us=us("2026-06-30 23:59"))).over is False
    assert read(STORAGE, NEW, source, replace(when, at_us=us("2026-07-01 00:00"))).over is True


def test_an_extension_to_an_earlier_day_shortens_nothing() -> None:
    source = lot(STORAGE, made="2026-01-01")
    when = Moment(NOW, COLD, ZONE, {(1, "storage life"): us("2026-02-01 00:00")})
    assert not read(STORAGE, NEW, source, when).over


# --- ageing never makes fit ------------------------------------------------------------------------


@settings(max_examples=300, deadline=None)
@given(
    any_limit, starts, st.integers(0, 300 * HOUR_US), st.integers(0, 300 * HOUR_US), st.integers(0, 30 * DAY), st.sampled_from((COLD, ROOM))
)
def test_what_is_over_stays_over(limit: Limit, start: int, warm: int, more: int, wait: int, place: int) -> None:
    total = Exposure(1, ((ROOM, warm),) if warm else (), received_us=start, opened_us=start, dried_us=start)
    source = Source(1, "lot", 1, (limit,), made_us=start, printed_us=start)
    older = total.plus(Exposure(0, ((ROOM, more),) if more else ()))
    assert not over_at(limit, total, source, NOW, place) or over_at(limit, older, source, NOW + wait, place)


def over_at(limit: Limit, total: Exposure, source: Source, at: int, place: int) -> bool:
    return read(limit, total, source, Moment(at, place, ZONE)).over
