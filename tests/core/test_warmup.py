"""A cold roll that warms through, against tables of heat transfer and the exact series."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special

from inventory.core.reasons import BadInput
from inventory.core.warmup import Roll, bessel, first_root, warm_through

pytestmark = pytest.mark.core
HOUR = 3_600_000_000
PREPREG = Roll(radius_m=0.15, conductivity=0.25, density=1_500, heat_capacity=1_000, film=8)
rolls = st.builds(Roll, st.floats(0.02, 0.4), st.floats(0.1, 1.0), st.floats(500, 2_000), st.floats(800, 2_000), st.floats(2, 30))


def exact(roll: Roll, fourier: float, terms: int = 60) -> float:
    """What is left in the middle by the whole series, roots by scipy."""
    zeros = np.concatenate([[0.0], special.jn_zeros(1, terms)])
    total = 0.0
    for low, high in pairwise(zeros):
        z = optimize.brentq(lambda z: z * special.j1(z) - roll.biot * special.j0(z), low + 1e-12, high - 1e-12, xtol=1e-14)
        j0, j1 = special.j0(z), special.j1(z)
        total += 2 * j1 / (z * (j0**2 + j1**2)) * math.exp(-z * z * fourier)
    return total


def test_the_first_root_and_its_factor_are_those_of_the_tables() -> None:
    """Heat-transfer tables, long cylinder, Bi 1: ζ 1.25578, C1 1.20709. Limits: Bi → ∞ gives 2.4048 and 1.6020 (same tables)."""
    zeta, c1 = first_root(1.0)
    assert (round(zeta, 5), round(c1, 5)) == (1.25578, 1.20709)
    zeta, c1 = first_root(1e9)
    assert (round(zeta, 4), round(c1, 4)) == (2.4048, 1.6020)
    zeta, c1 = first_root(1e-6)  # lumped: ζ² → 2·Bi, C1 → 1
    assert zeta**2 == pytest.approx(2e-6, rel=1e-5)
    assert c1 == pytest.approx(1, abs=1e-6)


@given(st.integers(0, 1), st.floats(0, 3))
def test_the_bessel_functions_agree_with_scipy(order: int, x: float) -> None:
    assert bessel(order, x) == pytest.approx(special.jv(order, x), abs=1e-14)


@given(rolls, st.floats(0.02, 0.9))
def test_the_middle_has_warmed_by_the_time_that_is_told_and_not_long_before(roll: Roll, left: float) -> None:
    start, air = -18_000, 23_000
    wanted = round(air - left * (air - start))
    found = warm_through(roll, start, air, wanted)
    share = (air - wanted) / (air - start)
    assert found.time_us == pytest.approx(found.fourier * roll.radius_m**2 / roll.diffusivity * 1e6, rel=1e-9, abs=1)
    assert found.fourier >= 0.2  # below, one term alone does not hold
    if found.bound:
        assert found.fourier == 0.2
        assert exact(roll, found.fourier) <= share * 1.000001
    else:
        assert exact(roll, found.fourier) == pytest.approx(share, rel=0.02)
    assert wanted <= found.surface_mc + 1_000  # the surface is the warmer


def test_a_full_roll_takes_a_day_or_two_as_suppliers_say() -> None:
    """Prepreg suppliers' storage notes: a full roll up to 48 h in its closed bag. The figures of this roll are made up."""
    found = warm_through(PREPREG, -18_000, 23_000, 20_000)
    assert 24 * HOUR < found.time_us < 48 * HOUR
    assert found.method == "first term"
    assert found.biot == pytest.approx(4.8)
    colder = warm_through(PREPREG, -25_000, 23_000, 20_000)
    assert colder.time_us > found.time_us


def test_the_lumped_form_is_for_thin_rolls_only_and_agrees_there() -> None:
    with pytest.raises(BadInput) as caught:
        warm_through(PREPREG, -18_000, 23_000, 20_000, "lumped")
    assert caught.value.reason.code == "warmup.not_lumped"
    thin = Roll(radius_m=0.003, conductivity=0.3, density=1_500, heat_capacity=1_000, film=8)  # Bi 0.08
    lumped, first = warm_through(thin, -18_000, 23_000, 20_000, "lumped"), warm_through(thin, -18_000, 23_000, 20_000)
    assert lumped.time_us == pytest.approx(first.time_us, rel=0.05)
    assert lumped.method == "lumped"
    # Exactly at 0.1 it is refused.
    with pytest.raises(BadInput):
        warm_through(Roll(0.1, 1.0, 1_500, 1_000, 1.0), -18_000, 23_000, 20_000, "lumped")


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: warm_through(PREPREG, -18_000, 23_000, 23_000), "warmup.order"),
        (lambda: warm_through(PREPREG, 24_000, 23_000, 20_000), "warmup.order"),
        (lambda: warm_through(PREPREG, -18_000, 23_000, 20_000, "quick"), "warmup.method"),
        (lambda: Roll(0.15, 0.0, 1_500, 1_000, 8), "warmup.not_above_zero"),
        (lambda: Roll(0.15, math.nan, 1_500, 1_000, 8), "warmup.not_above_zero"),
        (lambda: Roll(math.inf, 0.25, 1_500, 1_000, 8), "warmup.not_above_zero"),
        (lambda: warm_through(Roll(150, 0.25, 1_500, 1_000, 8), -18_000, 23_000, 20_000), "warmup.too_long"),
        (lambda: first_root(0.0), "warmup.not_above_zero"),
    ],
)
def test_a_roll_that_cannot_be_is_refused(call: Callable[[], object], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
