"""What a temperature log comes to, the picture that loses no peak, and readings kept as bytes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.calibrated import Cover, calibration_text, uncovered
from inventory.core.logfacts import facts_of, packed, thinned, unpacked

pytestmark = pytest.mark.core
HOUR = 3_600_000_000
logs = st.lists(st.tuples(st.integers(1, 10**11), st.integers(-90_000, 60_000)), min_size=1, max_size=400)


def laid_out(rows: list[tuple[int, int]]) -> tuple[list[int], list[int]]:
    at, now = [], 0
    for step, _ in rows:
        now += step
        at.append(now)
    return at, [mc for _, mc in rows]


def test_the_mean_kinetic_temperature_is_that_of_the_stated_rule() -> None:
    """0, 6, 7, 12, 24 h at 5, 5, 25, 25, 5 °C, ΔH 83.144 kJ/mol, trapezoid on the rate: 19.394165 °C (computed by numpy from the
    pharmacopoeia's formula, with R = 8.3144 J/(mol·K) so that ΔH/R is its 10 000 K)."""
    at = [h * HOUR for h in (0, 6, 7, 12, 24)]
    found = facts_of(at, [5_000, 5_000, 25_000, 25_000, 5_000])
    assert found.kinetic_mc == pytest.approx(19_394.165, abs=2)
    assert (found.readings, found.least_mc, found.most_mc, found.known_us, found.gaps) == (5, 5_000, 25_000, 24 * HOUR, ())


def test_a_gap_is_left_out_of_the_mean_and_told() -> None:
    at = [n * 60_000_000 for n in (0, 1, 2, 3, 600, 601)]
    found = facts_of(at, [-18_000] * 4 + [10_000] * 2)
    assert [(g.start_us, g.end_us) for g in found.gaps] == [(at[3], at[4])]
    assert found.known_us == 4 * 60_000_000
    assert found.mean_mc == (-18_000 * 3 + 10_000) // 4


def test_a_single_reading_has_no_mean() -> None:
    found = facts_of([5], [-18_000])
    assert (found.mean_mc, found.kinetic_mc, found.known_us, found.step_us) == (None, None, 0, None)


@given(logs, st.integers(4, 60))
def test_a_thinned_log_keeps_both_ends_the_coldest_and_the_warmest_of_every_slice(rows: list[tuple[int, int]], most: int) -> None:
    at, mc = laid_out(rows)
    lines = thinned(at, mc, most)
    points = [p for line in lines for p in line]
    assert points == sorted(set(points)), "in order of time, none twice"
    assert set(points) <= set(zip(at, mc, strict=True)), "nothing is made up between readings"
    assert points[0][0] == at[0] and points[-1][0] == at[-1]
    assert max(v for _, v in points) == max(mc) and min(v for _, v in points) == min(mc)
    assert len(points) <= max(most, 4 * max(1, most // 4))


def test_a_spike_of_one_reading_in_half_a_million_survives() -> None:
    mc = [-18_000] * 500_000
    mc[333_333] = 4_200
    lines = thinned(range(0, 500_000 * 60, 60), mc, 400)
    assert len(lines) == 1 and len(lines[0]) <= 400
    assert (333_333 * 60, 4_200) in lines[0]


def test_a_line_stops_at_a_gap() -> None:
    at = [*range(0, 600, 60), *range(10_000, 10_600, 60)]
    assert [len(line) for line in thinned(at, [0] * 20)] == [10, 10]


@given(logs)
def test_what_is_kept_as_bytes_comes_back_exactly(rows: list[tuple[int, int]]) -> None:
    at, mc = laid_out(rows)
    back = unpacked(packed(at, mc))
    assert (back[0].tolist(), back[1].tolist()) == (at, mc)


def test_a_year_of_minutes_is_kept_in_less_than_a_megabyte() -> None:
    mc = [-18_000 + (n * 7919) % 13 * 100 for n in range(525_600)]
    assert len(packed(range(1_767_222_000_000_000, 1_767_222_000_000_000 + 525_600 * 60_000_000, 60_000_000), mc)) < 1_000_000


# --- calibration -------------------------------------------------------------------------------------------

MARCH, APRIL = date(2026, 3, 1), date(2026, 4, 30)


def test_a_calibration_holds_on_its_first_and_its_last_day() -> None:
    assert uncovered([Cover(MARCH, APRIL)], MARCH, APRIL) is None
    assert uncovered([Cover(MARCH, APRIL)], MARCH, date(2026, 5, 1)) == date(2026, 5, 1)
    assert uncovered([Cover(MARCH, APRIL)], date(2026, 2, 28), APRIL) == date(2026, 2, 28)


def test_calibrations_may_follow_each_other_without_a_day_between() -> None:
    later = Cover(date(2026, 5, 1), date(2026, 8, 1))
    assert uncovered([later, Cover(MARCH, APRIL)], MARCH, date(2026, 7, 1)) is None
    assert uncovered([Cover(date(2026, 5, 2), date(2026, 8, 1)), Cover(MARCH, APRIL)], MARCH, date(2026, 7, 1)) == date(2026, 5, 1)


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 15)), max_size=5), st.integers(0, 40), st.integers(0, 15))
def test_the_uncovered_day_is_what_a_walk_day_by_day_finds(spans: list[tuple[int, int]], start: int, long: int) -> None:
    zero = date(2026, 1, 1)
    covers = [Cover(zero + timedelta(days=a), zero + timedelta(days=a + n)) for a, n in spans]
    first, last = zero + timedelta(days=start), zero + timedelta(days=start + long)
    walked = next((d for d in (first + timedelta(days=n) for n in range(long + 1)) if not any(c.done <= d <= c.due for c in covers)), None)
    assert uncovered(covers, first, last) == walked


def test_why_a_log_is_not_evidence_names_the_day() -> None:
    assert calibration_text([Cover(MARCH, APRIL)], MARCH, APRIL) == ""
    assert "No calibration" in calibration_text([], MARCH, APRIL)
    assert "due on 2026-04-30" in calibration_text([Cover(MARCH, APRIL)], APRIL, date(2026, 5, 3))
    assert "first calibration on record is of 2026-03-01" in calibration_text([Cover(MARCH, APRIL)], date(2026, 2, 1), APRIL)
