"""Weighting a history by temperature, and the crossings of a threshold."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from inventory.core import readings
from inventory.core.reasons import BadInput, Reason
from inventory.core.warmth import GAS, MEDICINE_EA, Warmth, equivalent_many, rate, time_above, weighted

pytestmark = pytest.mark.core
MIN = 60_000_000
HOUR = 60 * MIN
histories = st.lists(st.tuples(st.integers(1, 100), st.integers(-30_000, 40_000)), min_size=2, max_size=40).map(
    lambda rows: ([HOUR * int(n) for n in np.cumsum([r[0] for r in rows])], [r[1] for r in rows])
)
WIDE = 10**15  # no gap


def done(*args: object, **kwargs: object) -> Warmth:
    found = weighted(*args, **kwargs)
    assert isinstance(found, Warmth)
    return found


def test_the_mean_kinetic_temperature_of_20_and_30_degrees_is_the_published_one() -> None:
    """USP general chapter on MKT, ΔH 83.144 kJ/mol; with ΔH/R = 10 000 K: 26.25989 °C. Half the time at each."""
    found = done([0, HOUR, 2 * HOUR], [20_000, 30_000, 30_000], 25_000, MEDICINE_EA, "held")
    assert found.kinetic_mc / 1000 == pytest.approx(26.25989, abs=2e-4)  # 83 144/8.314 463 is 9 999.9 K


@pytest.mark.parametrize(("rule", "expected"), [("straight", 19.394165), ("held", 22.281882)])
def test_the_rule_between_readings_decides_and_both_are_met(rule: str, expected: float) -> None:
    """Exact: 0/6/7/12/24 h at 5/5/25/25/5 °C, ΔH/R 10 000 K: trapezoid on exp(−ΔH/RT) 19.394165, left rectangle 22.281882."""
    found = done([h * HOUR for h in (0, 6, 7, 12, 24)], [5_000, 5_000, 25_000, 25_000, 5_000], 25_000, MEDICINE_EA, rule)
    assert found.kinetic_mc / 1000 == pytest.approx(expected, abs=2e-4)
    assert found.rule == rule
    assert found.mean_mc == pytest.approx({"straight": 350, "held": 460}[rule] / 24 * 1000)  # 30 + 15 + 125 + 180, 30 + 5 + 125 + 300


def test_ten_kelvin_that_double_the_rate_are_the_energy_that_the_rule_of_thumb_means() -> None:
    """Exact: a factor of 2 from 20 to 30 °C is 51.22 kJ/mol, from 25 to 35 °C 52.95."""
    assert rate(30_000, 20_000, 51_220) == pytest.approx(2, abs=2e-4)
    assert rate(35_000, 25_000, 52_950) == pytest.approx(2, abs=2e-4)


@given(histories, st.integers(20_000, 120_000), st.sampled_from(["straight", "held"]))
def test_the_kinetic_mean_lies_between_the_mean_and_the_warmest(history: tuple[list[int], list[int]], ea: int, rule: str) -> None:
    """Jensen on the "held" rule; on "straight" the mean of the rates is taken, which the same inequality covers."""
    at, mc = history
    found = done(at, mc, 23_000, ea, rule, WIDE)
    # exp(−E/RT) is convex in T while E/RT > 2: at 20 kJ/mol and 313 K it is 7.7.
    assert found.mean_mc - 0.01 <= found.kinetic_mc <= max(mc) + 0.01
    warmer = done(at, mc, 23_000, min(ea * 2, 300_000), rule, WIDE)
    assert warmer.kinetic_mc >= found.kinetic_mc - 0.01


@given(histories, st.integers(20_000, 120_000), st.integers(-20_000, 60_000))
def test_the_kinetic_mean_does_not_depend_on_the_reference_and_gives_the_time_back(history, ea: int, ref: int) -> None:
    at, mc = history
    one, two = done(at, mc, 23_000, ea, "straight", WIDE), done(at, mc, ref, ea, "straight", WIDE)
    assert one.kinetic_mc == pytest.approx(two.kinetic_mc, abs=1e-6)
    assert two.known_us * rate(two.kinetic_mc, ref, ea) == pytest.approx(two.equivalent_us, rel=1e-9, abs=1)


def test_equal_steps_in_another_order_are_worth_the_same() -> None:
    at = [n * HOUR for n in range(5)]
    one, two = (
        done(at, [*mc, 0], 23_000, 60_000, "held").equivalent_us for mc in ([1_000, 9_000, 4_000, 30_000], [30_000, 4_000, 1_000, 9_000])
    )
    assert one == two


def test_a_constant_temperature_at_the_reference_is_worth_its_own_time() -> None:
    found = done([0, HOUR, 2 * HOUR], [23_000] * 3, 23_000, 60_000)
    assert (found.equivalent_us, found.known_us, found.unknown) == (2 * HOUR, 2 * HOUR, ())


def test_a_slow_wave_read_by_the_minute_is_worth_its_integral() -> None:
    """Against scipy's quad over the true wave: −18 °C ± 3 K in six hours."""

    def wave(t_h: float) -> float:
        return -18_000 + 3_000 * math.sin(2 * math.pi * t_h / 6)

    at = [n * MIN for n in range(24 * 60 + 1)]
    found = done(at, [round(wave(t / HOUR)) for t in at], -18_000, 60_000)
    expected, _ = integrate.quad(lambda t: math.exp(60_000 / GAS * (1 / 255.15 - 1000 / (wave(t) + 273_150))), 0, 24, limit=500)
    assert found.equivalent_us / HOUR == pytest.approx(expected, rel=1e-5)


def test_a_gap_is_said_and_counts_nowhere() -> None:
    at = [n * MIN for n in range(60)] + [n * MIN for n in range(180, 240)]
    mc = [-18_000] * 60 + [5_000] * 60
    found = done(at, mc, -18_000, 60_000)
    assert found.unknown == (readings.Span(59 * MIN, 180 * MIN),)
    assert (found.known_us, found.unknown_us) == (118 * MIN, 121 * MIN)
    assert found.equivalent_us == pytest.approx(59 * MIN + 59 * MIN * rate(5_000, -18_000, 60_000), abs=1)
    assert done(at, mc, -18_000, 60_000, most_us=WIDE).unknown == ()
    alone = weighted([0, HOUR], [0, 0], 0, 60_000, most_us=MIN)
    assert isinstance(alone, Reason)
    assert alone.code == "warmth.too_few"


def test_without_an_activation_energy_nothing_is_weighted() -> None:
    found = weighted([0, HOUR], [0, 0], 23_000, None)
    assert isinstance(found, Reason)
    assert found.code == "warmth.off"


@pytest.mark.parametrize("spread", [0, 10], ids=["by the clock", "as it comes"])
@given(number=st.integers(0, 2**31), rule=st.sampled_from(["straight", "held"]))
def test_many_logs_at_once_agree_with_each_alone(number: int, rule: str, spread: int) -> None:
    chance = np.random.default_rng(number)
    logs = []
    for size in (2, 1_000, 80_000):  # the last is more than a block
        steps = (60 + chance.integers(-spread, spread + 1, size)) * 1_000_000
        steps[chance.random(size) < 0.001] *= 100
        logs.append((np.cumsum(steps), (-18_000 + chance.normal(0, 3_000, size)).astype(np.int32)))
    many = equivalent_many(logs, -18_000, 60_000, rule, 5 * MIN)
    for (at, mc), found in zip(logs[1:], many[1:], strict=True):
        assert found == pytest.approx(done(at, mc, -18_000, 60_000, rule, 5 * MIN).equivalent_us, rel=1e-5)
    assert equivalent_many(logs, -18_000, 60_000, rule, 45_000_000)[1] == 0, "a rule by which every step is a gap leaves nothing to weight"
    assert equivalent_many([(np.array([HOUR]), np.array([0], np.int32))], 0, 60_000, rule) == [0]


@given(histories, st.integers(-30_000, 40_000))
def test_time_above_and_below_a_threshold_add_up(history: tuple[list[int], list[int]], level: int) -> None:
    at, mc = history
    over, under = readings.above(at, mc, level, WIDE), readings.below(at, mc, level, WIDE)
    ends = [(e.start_us, e.end_us) for e in sorted([*over, *under], key=lambda e: e.start_us)]
    assert all(a[1] <= b[0] for a, b in pairwise(ends))
    at_level = sum(b - a for a, b, x, y in zip(at, at[1:], mc, mc[1:], strict=False) if x == y == level)
    assert sum(e - s for s, e in ends) == at[-1] - at[0] - at_level
    dense = np.interp(np.linspace(at[0], at[-1], 20_001), at, mc)
    share = float((dense > level).mean())
    assert sum(e.end_us - e.start_us for e in over) / (at[-1] - at[0]) == pytest.approx(share, abs=0.005)
    assert all(level < e.peak_mc <= max(mc) for e in over)


def test_a_thaw_of_a_freezer_is_timed_to_the_crossing_and_not_to_the_reading() -> None:
    # −18 → −10 → −18 in two minutes; above −14 from half-way up to half-way down.
    (found,) = time_above([0, MIN, 2 * MIN], [-18_000, -10_000, -18_000], -14_000)
    assert (found.start_us, found.end_us, found.peak_mc) == (MIN // 2, MIN + MIN // 2, -10_000)
    assert time_above([0, MIN, 2 * MIN], [-18_000, -14_000, -18_000], -14_000) == []
    # A gap ends a stretch: what the probe did meanwhile nobody knows.
    both = time_above([0, MIN, 2 * MIN, 60 * MIN, 61 * MIN], [-10_000] * 5, -14_000)
    assert [(e.start_us, e.end_us) for e in both] == [(0, 2 * MIN), (60 * MIN, 61 * MIN)]
    assert readings.gaps([0, MIN, 2 * MIN, 60 * MIN, 61 * MIN]) == [readings.Span(2 * MIN, 60 * MIN)]


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: weighted([0, HOUR], [0, 0], 23_000, 60), "warmth.energy"),
        (lambda: weighted([0, HOUR], [0, 0], 23_000, 60_000, "middle"), "warmth.rule"),
        (lambda: weighted([0, HOUR], [0, 0], -273_150, 60_000), "warmth.reference"),
        (lambda: weighted([], [], 23_000, 60_000), "readings.none"),
        (lambda: weighted([0, 0], [1, 2], 23_000, 60_000), "readings.order"),
        (lambda: weighted([0, 1], [1], 23_000, 60_000), "readings.lengths"),
        (lambda: weighted([0, HOUR], [0, -273_150], 23_000, 60_000), "readings.cold"),
        (lambda: weighted([0, HOUR], [0, 0], 23_000, 60_000, most_us=0), "readings.step"),
    ],
)
def test_a_history_that_cannot_be_is_refused(call: Callable[[], object], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
