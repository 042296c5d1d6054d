"""Control charts and basis values. Sources stand beside each check; scipy is the second opinion."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.core.basis import basis, factor, noncentral_t, normalised
from inventory.core.reasons import BadInput
from inventory.core.spc import individuals, signals

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_the_handbooks_individuals_chart() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches: mean 50.81, limits 45.8159 and 55.8041 (data and results from
    memory; the handbook rounds 1.1284 to 1.128)."""
    found = individuals(FLOW)
    assert found.mean == pytest.approx(50.81)
    assert (found.low, found.high) == pytest.approx((45.8159, 55.8041), abs=0.003)
    assert found.provisional and not [s for s in found.signals if s.rule == 1]


def test_each_rule_is_told_at_the_value_that_completes_it() -> None:
    assert [(s.rule, s.at) for s in signals([0, 3.1, 0])] == [(1, 1)]
    assert [(s.rule, s.at) for s in signals([0, 2.1, 0.5, 2.2])] == [(2, 3)]
    assert [(s.rule, s.at) for s in signals([2.1, -2.1, 0])] == [], "one on each side"
    assert [(s.rule, s.at) for s in signals([1.1, 1.2, 0, 1.3, 1.4])] == [(3, 4)]
    assert [(s.rule, s.at) for s in signals([0.1] * 9)] == [(4, 7), (4, 8)]
    assert [(s.rule, s.at) for s in signals([0.1] * 7 + [-0.1] + [0.1] * 7)] == []


def test_rule_one_alone_is_seldom_broken_by_chance() -> None:
    """The in-control run length of rule 1 is 1/(2Φ(−3)) = 370.398 (NIST/SEMATECH e-Handbook 6.3.2; exact)."""
    assert 1 / (2 * stats.norm.cdf(-3)) == pytest.approx(370.398, abs=1e-3)
    rng = random.Random(8)
    values = [rng.gauss(0, 1) for _ in range(200_000)]
    told = sum(1 for s in signals(values) if s.rule == 1)
    assert told == pytest.approx(200_000 / 370.398, rel=0.15)


def test_what_makes_no_chart_is_refused() -> None:
    for values, code in (([1.0] * 7, "chart.too_few"), ([1.0] * 8, "chart.no_scatter"), ([1.0, math.nan] * 8, "chart.number")):
        with pytest.raises(BadInput) as refused:
            individuals(values)
        assert refused.value.reason.code == code


@pytest.mark.parametrize(("n", "kind", "k"), [(10, "B", 2.355), (10, "A", 3.981)])
def test_the_tables_factors(n: int, kind: str, k: float) -> None:
    """CMH-17-1G, tables of one-sided tolerance factors for the normal distribution: within 0.002."""
    assert factor(n, kind) == pytest.approx(k, abs=2e-3)


@settings(max_examples=60, deadline=None)
@given(st.floats(-2, 12), st.integers(1, 200), st.floats(0, 8))
def test_the_non_central_t_is_that_of_scipy(t: float, degrees: int, shift: float) -> None:
    assert noncentral_t(t, degrees, shift) == pytest.approx(float(stats.nct.cdf(t, degrees, shift)), abs=2e-6)


@pytest.mark.parametrize("kind", ["A", "B"])
@pytest.mark.parametrize("n", [3, 5, 18, 55, 300])
def test_a_factor_is_the_point_of_the_distribution(n: int, kind: str) -> None:
    share = {"A": 0.99, "B": 0.90}[kind]
    assert factor(n, kind) == pytest.approx(stats.nct.ppf(0.95, n - 1, stats.norm.ppf(share) * math.sqrt(n)) / math.sqrt(n), rel=1e-5)


def test_a_b_basis_value_is_kept_by_nine_of_ten_in_nineteen_of_twenty_samples() -> None:
    """What it is for, tried out: 2 000 samples of ten."""
    rng = random.Random(4)
    kept = 0
    for _ in range(2000):
        sample = [rng.gauss(100, 10) for _ in range(10)]
        kept += basis(sample, "B").value <= 100 - 10 * 1.2815515655
    assert kept / 2000 == pytest.approx(0.95, abs=0.015)


def test_few_values_are_called_thin_and_fewer_refused() -> None:
    assert basis([1.0, 2.0, 3.0], "B").thin and not basis([float(n) for n in range(18)], "B").thin
    for values, kind, code in (([1.0, 2.0], "B", "basis.too_few"), ([1.0] * 5, "C", "basis.kind"), ([math.inf] * 5, "A", "basis.number")):
        with pytest.raises(BadInput) as refused:
            basis(values, kind)
        assert refused.value.reason.code == code


def test_a_thick_panel_counts_for_more() -> None:
    assert normalised(1000, 0.26, 0.25) == pytest.approx(1040)
    with pytest.raises(BadInput):
        normalised(1000, 0, 0.25)
