"""A new lot beside its history. Sources stand beside each check; scipy and simulation are the second opinion."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import integrate, stats
from statsmodels.stats import weightstats

from inventory.core import student
from inventory.core.equivalence import allowing, changed, compare, factors
from inventory.core.reasons import BadInput

pytestmark = pytest.mark.core


@settings(max_examples=400)
@example(t=1e-8, degrees=0.6)
@example(t=5e-8, degrees=300.0)
@example(t=5.8, degrees=300.0)
@given(st.floats(-60, 60), st.floats(0.6, 500))
def test_students_t_is_that_of_scipy(t: float, degrees: float) -> None:
    assert student.upper_tail(t, degrees) == pytest.approx(float(stats.t.sf(t, degrees)), rel=1e-9, abs=1e-300)
    assert student.two_tails(t, degrees) == pytest.approx(float(2 * stats.t.sf(abs(t), degrees)), rel=1e-9, abs=1e-300)


@given(st.floats(1e-6, 1 - 1e-6), st.floats(1, 300))
def test_a_point_of_t_is_that_of_scipy(tail: float, degrees: float) -> None:
    assert student.point(tail, degrees) == pytest.approx(float(stats.t.isf(tail, degrees)), rel=1e-8, abs=1e-8)


def test_the_published_factors_for_five_values() -> None:
    """CMH-17-1G tables, five values at 1 %: 3.0715 and 1.1425 (from memory). The tables rest on an approximation of the joint
    probability, which is solved here: they agree to 2 in 10 000."""
    found = factors(5, 0.01)
    assert (found.lowest, found.mean) == pytest.approx((3.071482, 1.142506), rel=2e-4)


@pytest.mark.parametrize("alpha", [0.01, 0.05, 0.3])
def test_two_values_fail_together_just_as_often_as_was_asked(alpha: float) -> None:
    """For two values the joint probability is one integral, taken by scipy."""
    k = factors(2, alpha)

    def stays(x: float) -> float:
        return float(stats.norm.pdf(x) * stats.norm.sf(max(-k.lowest, -2 * k.mean - x)))

    both, _ = integrate.quad(stays, -k.lowest, 9, points=[k.lowest - 2 * k.mean], epsabs=1e-12)
    assert 1 - both == pytest.approx(alpha, rel=1e-6)
    each = stats.norm.sf(k.mean * math.sqrt(2))
    assert each == pytest.approx(1 - stats.norm.sf(-k.lowest) ** 2, rel=1e-9), "each alone fails equally often"


@pytest.mark.parametrize(("n", "m", "alpha"), [(5, 20, 0.05), (3, 8, 0.05), (12, 30, 0.1), (1, 10, 0.05)])
def test_a_good_lot_fails_as_seldom_as_is_said(n: int, m: int, alpha: float) -> None:
    """Tried out: 200 000 histories and new lots of one normal population. With a history taken for the truth, α; with limits that allow
    for its length at most α, and each of the two at α/2 (one value: at α)."""
    rng = np.random.default_rng(20261126)
    old, new = rng.normal(size=(200_000, m)), rng.normal(size=(200_000, n))
    k, wide = factors(n, alpha), allowing(n, m, alpha)
    assert np.mean((new.mean(1) < -k.mean) | (new.min(1) < -k.lowest)) == pytest.approx(alpha, rel=0.04)
    x, s = old.mean(1), old.std(1, ddof=1)
    by_mean, by_lowest = new.mean(1) < x - wide.mean * s, new.min(1) < x - wide.lowest * s
    each = alpha if n == 1 else alpha / 2
    assert (np.mean(by_mean), np.mean(by_lowest)) == pytest.approx((each, each), rel=0.06)
    assert np.mean(by_mean | by_lowest) <= alpha * 1.03
    assert np.mean((new.mean(1) < x - k.mean * s) | (new.min(1) < x - k.lowest * s)) > alpha, "a short history fails good lots oftener"


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-100, 100), min_size=8, max_size=30), st.lists(st.floats(-100, 100), min_size=1, max_size=12))
def test_a_change_of_the_mean_is_that_of_scipy(old: list[float], new: list[float]) -> None:
    if np.std(old) < 1e-3:
        return
    found = changed(old, new, 0.05)
    if len(new) > 1:
        theirs = stats.ttest_ind(new, old, equal_var=False)
        assert (found.t, found.p) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-6, abs=1e-9)
        assert found.degrees == pytest.approx(theirs.df, rel=1e-6)
    else:  # one value: pooled with the history's scatter alone
        theirs = stats.ttest_ind(new, old, equal_var=True)
        assert (found.t, found.p) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-6, abs=1e-9)


def test_a_lot_passes_fails_or_cannot_be_told_from_a_short_history() -> None:
    rng = random.Random(3)
    old = [rng.gauss(1500, 20) for _ in range(20)]
    assert compare(old, [1500, 1505, 1490]).passes
    low = compare(old, [1400, 1405, 1390])
    assert not low.passes and low.clearly and low.change.p < 0.001
    assert low.mean_limit == pytest.approx(low.history.mean - low.factors.mean * low.history.deviation)
    between = (low.mean_limit + low.allowing_mean) / 2
    found = compare(old, [between] * 3)
    assert not found.passes and not found.clearly
    assert compare(old, [1600, 1605]).passes, "a strength that is higher is no worse"
    assert not compare(old, [1600, 1605], side="high").passes
    mirrored = compare([-v for v in old], [-1400, -1405, -1390], side="high")
    assert mirrored.mean_limit == pytest.approx(-low.mean_limit) and mirrored.lowest_limit == pytest.approx(-low.lowest_limit)
    assert compare(old[:12], [1500]).provisional and not low.provisional


@pytest.mark.parametrize(
    ("old", "new", "alpha", "side", "code", "where"),
    [
        ([1.0, 2.0, 3.0], [1.0], 0.05, "low", "equivalence.too_few", "history"),
        ([1.0, 2.0] * 5, [], 0.05, "low", "equivalence.too_few", "new"),
        ([1.0] * 10, [1.0], 0.05, "low", "equivalence.no_scatter", "history"),
        ([1.0, math.nan] * 5, [1.0], 0.05, "low", "equivalence.number", "history"),
        ([1.0, 2.0] * 5, [1.0], 0.0, "low", "equivalence.alpha", "alpha"),
        ([1.0, 2.0] * 5, [1.0], 0.05, "both", "equivalence.side", "side"),
        ([1.0, 2.0] * 5, [1.0] * 201, 0.05, "low", "equivalence.too_many", "new"),
    ],
)
def test_what_cannot_be_compared_is_said(old: list[float], new: list[float], alpha: float, side: str, code: str, where: str) -> None:
    with pytest.raises(BadInput) as refused:
        compare(old, new, alpha, side)
    assert (refused.value.reason.code, refused.value.where) == (code, where)
    if code == "equivalence.too_few" and old:
        assert where == "new" or "3 of 8" in refused.value.reason.text


@pytest.mark.parametrize("seed", range(5))
def test_a_change_of_the_mean_is_that_of_statsmodels(seed: int) -> None:
    """`CompareMeans.ttest_ind` with unequal variances."""
    chance = random.Random(seed)
    old = [chance.gauss(600, 4) for _ in range(chance.randint(8, 30))]
    new = [chance.gauss(598, 7) for _ in range(chance.randint(3, 9))]
    both = weightstats.CompareMeans.from_data(np.array(new), np.array(old))
    t, p, degrees = both.ttest_ind(usevar="unequal")
    found = changed(old, new)
    assert (found.t, found.p, found.degrees) == pytest.approx((t, p, degrees), rel=1e-9)
