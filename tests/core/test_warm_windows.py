"""The worst window of a temperature history, against a plain walk over many windows."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.reasons import BadInput, Reason
from inventory.core.warm_windows import Window, worst_window
from inventory.core.warmth import MEDICINE_EA, RULES, Warmth, rate, weighted

pytestmark = pytest.mark.core
HOUR = 3_600_000_000


def walked(at: list[int], mc: list[int], start: int, length: int, ea: int, rule: str) -> float:
    """The mean rate of one window, by the rule, step by step."""
    total = 0.0
    for (a, x), (b, y) in zip(zip(at, mc, strict=True), list(zip(at, mc, strict=True))[1:], strict=False):
        low, high = max(a, start), min(b, start + length)
        if low >= high:
            continue
        first, last = rate(x, 20_000, ea), rate(y, 20_000, ea)
        if rule == "held":
            total += first * (high - low)
        else:
            at_low, at_high = (first + (last - first) * (t - a) / (b - a) for t in (low, high))
            total += (at_low + at_high) / 2 * (high - low)
    return total / length


@settings(max_examples=60)
@given(st.lists(st.integers(-25_000, 40_000), min_size=3, max_size=40), st.floats(0.05, 1.0), st.sampled_from(RULES))
def test_no_window_at_a_reading_is_worse_than_the_worst(mc: list[int], share: float, rule: str) -> None:
    at = [n * HOUR for n in range(len(mc))]
    length = max(1, int(at[-1] * share))
    found = worst_window(at, mc, length, 60_000, rule)
    assert isinstance(found, Window) and found.end_us - found.start_us == length
    assert at[0] <= found.start_us and found.end_us <= at[-1]
    starts = [s for t in at for s in (t, t - length) if at[0] <= s <= at[-1] - length]
    rates = {s: walked(at, mc, s, length, 60_000, rule) for s in starts}
    mean = math.exp(60_000 / 8.314462618 * (1000 / 293_150 - 1000 / (found.kinetic_mc + 273_150)))
    assert mean == pytest.approx(max(rates.values()), rel=1e-9)
    assert rates[found.start_us] == pytest.approx(max(rates.values()), rel=1e-9)


def test_the_window_of_all_the_time_is_the_mean_kinetic_temperature_of_all() -> None:
    """0, 6, 7, 12, 24 h at 5, 5, 25, 25, 5 °C: 19.394165 by the trapezoid and 22.281882 by left rectangles, computed with numpy from
    the pharmacopoeia's formula (ΔH/R 10 000 K; here R = 8.314462618, which moves the fifth decimal)."""
    at, mc = [h * HOUR for h in (0, 6, 7, 12, 24)], [5_000, 5_000, 25_000, 25_000, 5_000]
    for rule, expected in (("straight", 19_394.165), ("held", 22_281.882)):
        whole, found = weighted(at, mc, 20_000, MEDICINE_EA, rule), worst_window(at, mc, 24 * HOUR, MEDICINE_EA, rule)
        assert isinstance(whole, Warmth) and isinstance(found, Window)
        assert found.kinetic_mc == pytest.approx(whole.kinetic_mc, abs=1e-6)
        assert found.kinetic_mc == pytest.approx(expected, abs=0.2)


def test_a_window_with_a_gap_in_it_is_no_candidate() -> None:
    at = [*range(0, 10 * HOUR, HOUR), *range(100 * HOUR, 110 * HOUR, HOUR)]
    mc = [5_000] * 10 + [20_000] * 10
    assert isinstance(worst_window(at, mc, 50 * HOUR, 60_000), Reason)
    found = worst_window(at, mc, 9 * HOUR, 60_000)
    assert isinstance(found, Window) and found.start_us == 100 * HOUR and found.kinetic_mc == pytest.approx(20_000)
    assert isinstance(worst_window([0], [5_000], HOUR, 60_000), Reason)


def test_what_is_no_window_is_told() -> None:
    for length, energy, rule, code in (
        (0, 60_000, "held", "window.length"),
        (1, 60, "held", "warmth.energy"),
        (1, 60_000, "x", "warmth.rule"),
    ):
        with pytest.raises(BadInput) as caught:
            worst_window([0, 1], [0, 0], length, energy, rule)
        assert caught.value.reason.code == code
