"""Observed gels that teach the next prediction (R19): the stated method, its interval, and an outlier that does not wreck it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from inventory.core.gel_update import FREEDOM, LEAST_SCATTER, MOST_SCATTER, PRIOR, SeenGel, applied, rate_doubt, speed_of, update
from inventory.core.potlife import Window
from inventory.core.reasons import BadInput
from inventory.core.spans import MINUTE_US as MIN


def seen(*ratios: float) -> list[SeenGel]:
    return [SeenGel(f"g{n}", n, 30 * MIN, round(30 * MIN * ratio)) for n, ratio in enumerate(ratios)]


def test_before_any_gel_the_prediction_stands_with_its_own_doubt() -> None:
    """Exact: nine tenths of a normal are within 1.644854 of its deviations."""
    told = update([])
    assert told.now.factor_ppm == pytest.approx(1_000_000, abs=2)
    assert told.now.high_ppm == pytest.approx(1e6 * math.exp(1.644854 * PRIOR), rel=1e-4)
    assert told.now.low_ppm == pytest.approx(1e6 * math.exp(-1.644854 * PRIOR), rel=1e-4)
    assert told.history == (told.now,)


@pytest.mark.parametrize("ratios", [(1.4,), (1.3, 1.5, 1.2), (0.8, 0.85, 0.9, 2.5)])
def test_the_median_is_that_of_the_stated_method_by_another_integrator(ratios: tuple[float, ...]) -> None:
    """scipy's adaptive quadrature over m and ln scatter: half of what is known lies below the median."""
    logs = [math.log(r) for r in ratios]

    def density(log_scatter: float, m: float) -> float:
        scatter = math.exp(log_scatter)
        value = -((m / PRIOR) ** 2) / 2
        for log in logs:
            value -= math.log(scatter) + (FREEDOM + 1) / 2 * math.log1p(((log - m) / scatter) ** 2 / FREEDOM)
        return math.exp(value)

    ends = math.log(LEAST_SCATTER), math.log(MOST_SCATTER)
    median = math.log(update(seen(*ratios)).now.factor_ppm / 1e6)
    below, above = (dblquad(density, a, b, *ends, epsabs=0, epsrel=1e-5)[0] for a, b in ((-3, median), (median, 3)))
    assert below / (below + above) == pytest.approx(0.5, abs=0.01)


def test_gels_that_agree_move_the_prediction_there_and_narrow_it() -> None:
    """The slow lot of the demo shop: 47 to 58 min against 30 predicted."""
    told = update(seen(47 / 30, 52 / 30, 58 / 30, 50 / 30, 53 / 30))
    assert told.now.factor_ppm == pytest.approx(1.7e6, rel=0.04)
    widths = [f.high_ppm / f.low_ppm for f in told.history]
    assert widths[-1] < 1.3 < 2.5 < widths[0]
    assert [f.gels for f in told.history] == [0, 1, 2, 3, 4, 5]
    assert told.apart == ()


def test_one_outlier_does_not_wreck_it_and_is_told() -> None:
    steady = (1.18, 1.22, 1.2, 1.25, 1.15, 1.21)
    clean, spoiled = update(seen(*steady)), update(seen(*steady, 6.0))
    assert spoiled.now.factor_ppm == pytest.approx(clean.now.factor_ppm, rel=0.03)
    (reason,) = spoiled.apart
    assert (reason.code, reason.numbers["key"]) == ("gel.stands_apart", "g6")
    assert spoiled.weights_ppm["g6"] < 100_000 < 600_000 < spoiled.weights_ppm["g2"]
    mean = math.exp(sum(math.log(r) for r in (*steady, 6.0)) / 7)
    assert abs(mean - 1.2) > 5 * abs(spoiled.now.factor_ppm / 1e6 - 1.2)


def test_the_interval_covers_the_truth_about_as_often_as_it_says() -> None:
    """150 systems drawn from the prior, six gels each with 12 % normal scatter: between 83 and 98 % are covered."""
    rng = np.random.default_rng(5)
    covered = next_covered = 0
    for _ in range(150):
        truth = rng.normal(0, PRIOR)
        now = update(seen(*np.exp(truth + rng.normal(0, 0.12, 6)))).now
        covered += now.low_ppm <= 1e6 * math.exp(truth) <= now.high_ppm
        next_covered += now.next_low_ppm <= 1e6 * math.exp(truth + rng.normal(0, 0.12)) <= now.next_high_ppm
    assert 125 <= covered <= 147
    assert 125 <= next_covered <= 149


def test_the_next_pot_is_less_certain_than_the_system() -> None:
    now = update(seen(1.1, 1.2, 1.15)).now
    assert now.next_low_ppm < now.low_ppm < now.factor_ppm < now.high_ppm < now.next_high_ppm


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(0.1, 10), min_size=1, max_size=8), st.randoms())
def test_order_of_arrival_does_not_matter_and_the_last_of_the_history_is_now(ratios: list[float], random: Any) -> None:
    gels = seen(*ratios)
    shuffled = random.sample(gels, len(gels))
    told = update(gels)
    assert update(shuffled) == told
    assert told.history[-1] == told.now
    assert told.history[:-1] == update(gels[:-1]).history


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(0.03, 30), min_size=1, max_size=6))
def test_every_answer_is_a_number_in_order(ratios: list[float]) -> None:
    now = update(seen(*ratios)).now
    assert 0 < now.next_low_ppm <= now.low_ppm <= now.factor_ppm <= now.high_ppm <= now.next_high_ppm


def test_later_gels_open_the_window_upwards_and_leave_the_stop() -> None:
    now = update(seen(1.5, 1.5, 1.5)).now
    window = Window(20 * MIN, 40 * MIN, 100 * MIN + 16 * MIN, "data sheet")
    moved = applied(window, now, "amine", 100 * MIN)
    assert (moved.low_us, moved.stop_us) == (20 * MIN, 116 * MIN)
    assert moved.high_us == 40 * MIN * now.factor_ppm // 1_000_000
    assert moved.method == "data sheet; corrected by 3 own gels"
    assert speed_of(now) == pytest.approx(1 / 1.5, rel=0.05)


def test_earlier_gels_pull_the_stop_forward() -> None:
    now = update(seen(0.7, 0.7, 0.7)).now
    moved = applied(Window(20 * MIN, 40 * MIN, 100 * MIN + 16 * MIN, "data sheet"), now, "amine", 100 * MIN)
    assert moved.low_us == 20 * MIN * now.factor_ppm // 1_000_000 < 16 * MIN
    assert moved.stop_us == 100 * MIN + 16 * MIN * now.factor_ppm // 1_000_000
    assert moved.high_us == 40 * MIN


def test_gels_that_agree_narrow_the_doubt_of_the_rate_and_never_widen_it() -> None:
    few, many = update(seen(1.0)).now, update(seen(*[1.0, 1.05, 0.97, 1.02] * 5)).now
    assert rate_doubt(update([]).now, 0.3) == rate_doubt(few, 0.3) == 0.3
    assert 0.03 < rate_doubt(many, 0.3) < 0.15


def test_a_peroxide_system_takes_no_factor_and_none_leaves_the_window() -> None:
    window = Window(20 * MIN, 40 * MIN, None, "gel points, interpolated")
    assert applied(window, update(seen(1.5, 1.5)).now, "peroxide") is window
    assert applied(window, update([]).now, "amine") is window


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: SeenGel("a", 0, 0, MIN), "gel.time"),
        (lambda: SeenGel("a", 0, MIN, 0), "gel.time"),
        (lambda: SeenGel("a", 0, MIN, 51 * MIN), "gel.time"),
        (lambda: SeenGel("a", 0, 51 * MIN, MIN), "gel.time"),
        (lambda: update([SeenGel("a", 0, MIN, MIN)] * 2), "gel.twice"),
        (lambda: update([], prior=0.0), "gel.prior"),
    ],
)
def test_gels_that_cannot_be_are_refused(make: Any, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        make()
    assert caught.value.reason.code == code
