"""Rate laws and times to a conversion, against published constants and a general solver."""

from __future__ import annotations

import math
import subprocess
import sys
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from inventory.core.cure_time import adiabatic_k, conversion_along, conversion_at, time_to
from inventory.core.kinetic_sets import INFUSION, INFUSION_WARM, PREPREG, ROOM, SETS, TWO_REGIME
from inventory.core.kinetics import GAS, Arrhenius, Fitted, FreeVolume, Kamal, Logistic, TwoRegime, nth_order, range_reasons, rate
from inventory.core.reasons import BadInput

K = 273.15
HOUR = 3600.0


def hours(fit: Fitted, celsius: float, alpha: float) -> float:
    return float(time_to(fit.law, celsius + K, alpha, start=fit.seed)) / HOUR


# --- values from outside -------------------------------------------------------------------------


def test_nth_order_in_closed_form() -> None:
    """Exact: α = 1 − [1 + (n−1)kt]^(1/(1−n)); n 1.5, k 0.001/s, 3 000 s."""
    law = nth_order(1e-3, 0.0, 1.5)
    assert conversion_at(law, 300.0, 3000.0) == pytest.approx(0.84, abs=1e-8)
    assert float(time_to(law, 300.0, 0.84)) == pytest.approx(3000.0, rel=1e-10)


def test_autocatalysis_of_first_orders_in_closed_form() -> None:
    """Exact: α = (E−1)/(E + k2/k1), E = exp((k1+k2)t); 1e-4 and 1e-3 /s, 3 000 s."""
    law = Kamal(1.0, k1=Arrhenius(1e-4, 0.0), k2=Arrhenius(1e-3, 0.0), m=1.0)
    assert conversion_at(law, 300.0, 3000.0) == pytest.approx(0.7036050165, abs=1e-8)


@pytest.mark.parametrize(("celsius", "expected"), [(25, 13.50), (40, 4.29)])
def test_infusion_epoxy_of_a_course_notebook(celsius: float, expected: float) -> None:
    """Computed from the constants of a published university course notebook on cure kinetics (infusion epoxy)."""
    assert hours(INFUSION, celsius, 0.577) == pytest.approx(expected, abs=0.005)


def test_its_ratio_between_twenty_and_thirty_degrees() -> None:
    """The same notebook's activation energy; 2.2310 with R rounded to 8.314, hence the tolerance."""
    assert hours(INFUSION, 20, 0.577) / hours(INFUSION, 30, 0.577) == pytest.approx(2.2310, abs=1e-4)


@pytest.mark.parametrize(
    ("celsius", "expected"), [(25, (20.040, 49.445, 110.52)), (50, (1.0081, 2.2922, 4.6857)), (80, (0.1586, 0.3587, 0.7241))]
)
def test_diffusion_by_free_volume(celsius: float, expected: tuple[float, ...]) -> None:
    """Constants from a public file citing Thermochim. Acta 2015, doi 10.1016/j.tca.2015.11.014."""
    assert [hours(INFUSION_WARM, celsius, a) for a in (0.30, 0.577, 0.80)] == pytest.approx(expected, rel=4e-4)


def test_a_day_at_23_degrees_with_diffusion() -> None:
    """The same source."""
    assert conversion_at(INFUSION_WARM.law, 23 + K, 24 * HOUR) == pytest.approx(0.2655, abs=5e-5)


def test_at_room_temperature_that_set_is_outside_its_range_and_says_so() -> None:
    """The trap: there its diffusion rules from conversion 0, so that ten kelvins make a factor of five (4.95, from the same source)."""
    assert hours(INFUSION_WARM, 20, 0.577) / hours(INFUSION_WARM, 30, 0.577) == pytest.approx(4.95, abs=0.005)
    (reason,) = range_reasons(INFUSION_WARM, 23_000, 23_000)
    assert (reason.code, reason.numbers["low_mc"]) == ("kinetics.outside_range", 50_000)
    (refused,) = range_reasons(INFUSION_WARM, 23_000, 60_000, strict=True)
    assert refused.code == "kinetics.refused_outside"
    assert range_reasons(INFUSION_WARM, 50_000, 80_000) == []


@pytest.mark.parametrize(("celsius", "expected"), [(20, 24.80), (25, 16.88), (40, 5.721), (80, 0.4962)])
def test_the_plain_room_temperature_set(celsius: float, expected: float) -> None:
    """An institute's own fit, in the same public file."""
    assert hours(ROOM, celsius, 0.577) == pytest.approx(expected, rel=3e-4)


def test_aerospace_prepreg_held_and_along_a_cycle() -> None:
    """Constants repeated in three public files citing Johnston 1997: 30 min at 177 °C, and 20→110 at 2 °C/min, 60 min, →180, 120 min."""
    assert conversion_at(PREPREG.law, 177 + K, 1800.0, start=PREPREG.seed) == pytest.approx(0.5548, abs=5e-5)
    minutes, temps = [0, 45, 105, 140, 260], [20, 110, 110, 180, 180]
    cycle = conversion_along(PREPREG.law, [60.0 * m for m in minutes], [t + K for t in temps], start=PREPREG.seed)
    assert cycle[-1] == pytest.approx(0.8264, abs=5e-5)
    assert cycle == sorted(cycle)


def test_two_regimes_jump_where_the_source_says() -> None:
    """Lee, Loos, Springer 1982: 57.518 min to 0.3 at 121 °C, then ln 7/k3 = 314.80 min to 0.9."""
    assert hours(TWO_REGIME, 121, 0.3) * 60 == pytest.approx(57.518, abs=5e-4)
    assert (hours(TWO_REGIME, 121, 0.9) - hours(TWO_REGIME, 121, 0.3)) * 60 == pytest.approx(314.80, abs=5e-3)
    k3 = 1.960e5 * math.exp(-5.66e4 / 8.314 / (121 + K))
    assert (hours(TWO_REGIME, 121, 0.9) - hours(TWO_REGIME, 121, 0.3)) * 60 == pytest.approx(math.log(7) / k3, rel=1e-9)
    below, above = rate(TWO_REGIME.law, 121 + K, np.array([0.3 - 1e-9, 0.3 + 1e-9]))
    assert above / below == pytest.approx(2.83, abs=0.01)  # computed; the published form does not join


def test_two_regimes_never_run_backwards_in_the_cold() -> None:
    """k2's factor is negative: as written, the formula is below zero at −3 °C from 0.287 on. It stands still there, for good."""
    assert float(rate(TWO_REGIME.law, 270.0, 0.295)) == 0.0
    assert float(TWO_REGIME.law.raw(np.array(270.0), np.array(0.295))) == 0.0
    assert math.isfinite(float(time_to(TWO_REGIME.law, 270.0, 0.27)))
    assert math.isinf(float(time_to(TWO_REGIME.law, 270.0, 0.299)))


def test_a_brake_halves_the_rate_at_its_centre_in_the_unit_it_was_published_in() -> None:
    """Exact: at α = αc + αT·T the logistic is one half; T in °C for the one set, in K for the other."""
    for fit, temp, centre in ((INFUSION, 298.15, 0.77 + 0.0016 * 25), (PREPREG, 430.0, -1.684 + 5.475e-3 * 430)):
        law: Any = fit.law
        free = Kamal(law.n, k2=law.k2, m=law.m)
        assert float(rate(law, temp, centre)) == pytest.approx(float(rate(free, temp, centre)) / 2, rel=1e-12)


def test_ninety_five_percent_at_two_temperatures_gives_the_energy_between() -> None:
    """A thermal-analysis maker's application note on epoxy: 16.4 min at 150 °C and 4.2 min at 200 °C, so 45.35 kJ/mol."""
    ea = GAS * math.log(16.4 / 4.2) / (1 / (150 + K) - 1 / (200 + K))
    assert ea == pytest.approx(45_350, abs=10)
    law = nth_order(1.0, ea, 1.0)
    ratio = float(time_to(law, 150 + K, 0.95)) / float(time_to(law, 200 + K, 0.95))
    assert ratio == pytest.approx(16.4 / 4.2, rel=1e-9)


def test_ten_kelvins_halve_the_time_at_these_energies() -> None:
    """Exact: ln 2 · R/(1/T1 − 1/T2): 51.22 kJ/mol from 20 to 30 °C, 52.95 from 25 to 35 °C."""
    for ea, low in ((51_220, 20), (52_950, 25)):
        law = nth_order(1.0, ea, 1.0)
        assert float(time_to(law, low + K, 0.5)) / float(time_to(law, low + 10 + K, 0.5)) == pytest.approx(2.0, abs=2e-4)


# --- against a general solver --------------------------------------------------------------------

LAWS: tuple[Any, ...] = tuple(fit.law for fit in SETS.values())


def solved(law: Any, temp: float, rise: float, start: float, end: float) -> float:
    """The time by scipy, the same law: an independent way from rate to time. Time over conversion, since it must end there."""
    edges = [start, *(b for b in law.breaks if start < b < end), end]
    total = 0.0
    for low, high in pairwise(edges):

        def slow(a: float, t: Any) -> list[float]:
            inside = min(max(a, math.nextafter(low, 1)) if low in law.breaks else a, high)  # noqa: B023
            return [1 / float(rate(law, temp + rise * (inside - start), inside))]

        total += solve_ivp(slow, (low, high), [0.0], method="DOP853", rtol=3e-13, atol=1e-12).y[0, -1]
    return total


@pytest.mark.parametrize("law", LAWS, ids=list(SETS))
@pytest.mark.parametrize("rise", [0.0, 180.0])
def test_times_agree_with_a_general_solver_to_eight_places(law: Any, rise: float) -> None:
    rng = np.random.default_rng(7)
    for _ in range(3):
        temp, end = rng.uniform(380, 440), rng.uniform(0.35, 0.7)
        start = 0.01 if law.needs_seed else rng.choice([1e-3, 0.02])
        assert float(time_to(law, temp, end, start=start, rise_k=rise)) == pytest.approx(solved(law, temp, rise, start, end), rel=1e-8)


def test_through_a_sharp_brake_panels_are_halved_until_they_agree() -> None:
    """Far beyond the centre of the brake (0.81 at 25 °C) the integrand grows as exp(47.7·α)."""
    exact = solved(INFUSION.law, 298.15, 0.0, 1e-4, 0.95)
    assert float(time_to(INFUSION.law, 298.15, 0.95, start=1e-4)) == pytest.approx(exact, rel=1e-8)


def test_from_conversion_zero_it_is_as_exact() -> None:
    """A power of 0.3 has an infinite slope at zero. Substituting α = s^10 makes it smooth for the solver too."""
    law: Any = ROOM.law

    def slow(s: float, t: Any) -> list[float]:
        return [10 * s**9 / float(rate(law, 298.15 + 225 * s**10, s**10))]

    exact = solve_ivp(slow, (0, 0.577**0.1), [0.0], method="DOP853", rtol=1e-13, atol=1e-12).y[0, -1]
    assert float(time_to(law, 298.15, 0.577, rise_k=225.0)) == pytest.approx(exact, rel=1e-9)


def test_many_scenarios_are_the_single_ones() -> None:
    temps, rises = np.linspace(290, 320, 5)[:, None], np.array([0.0, 150.0, 250.0])
    many = time_to(ROOM.law, temps, 0.577, rise_k=rises)
    assert many.shape == (5, 3)
    assert many[3, 1] == pytest.approx(float(time_to(ROOM.law, float(temps[3, 0]), 0.577, rise_k=150.0)), rel=1e-12)


# --- properties ----------------------------------------------------------------------------------


@given(st.sampled_from(LAWS), st.floats(200, 800), st.floats(0, 2))
def test_no_rate_is_ever_below_zero_or_not_a_number(law: Any, temp: float, alpha: float) -> None:
    found = float(rate(law, temp, alpha))
    assert found >= 0
    assert math.isfinite(found)


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(LAWS), st.lists(st.floats(260, 480), min_size=2, max_size=5))
def test_conversion_never_falls_along_any_chart(law: Any, temps: list[float]) -> None:
    along = conversion_along(law, [600.0 * n for n in range(len(temps))], temps, start=0.01)
    assert along == sorted(along)
    assert 0 <= along[0] <= along[-1] <= 1


@settings(max_examples=25, deadline=None)
@given(st.floats(290, 340), st.floats(60, 40_000))
def test_time_and_conversion_are_each_others_inverse(temp: float, seconds: float) -> None:
    alpha = conversion_at(ROOM.law, temp, seconds)
    assert float(time_to(ROOM.law, temp, alpha)) == pytest.approx(seconds, rel=1e-6)


def test_without_loss_the_temperature_follows_the_conversion_alone() -> None:
    """Exact, for any law: T − T0 = (H/cp)·(α − α0). With no rise both are the isothermal answer."""
    assert adiabatic_k(298.15, 225.0, 0.6, start=0.1) == pytest.approx(298.15 + 112.5)
    held = float(time_to(ROOM.law, 298.15, 0.577))
    assert float(time_to(ROOM.law, 298.15, 0.577, rise_k=0.0)) == held
    assert float(time_to(ROOM.law, 298.15, 0.577, rise_k=1e-6)) == pytest.approx(held, rel=1e-6)
    assert float(time_to(ROOM.law, 298.15, 0.577, rise_k=100.0)) < held


def test_what_has_vitrified_never_arrives() -> None:
    """Free volume gone: at −20 °C nothing moves, and infinity is said rather than a number."""
    assert math.isinf(float(time_to(INFUSION_WARM.law, 253.15, 0.9)))


# --- bad input -----------------------------------------------------------------------------------


def refused(code: str, call: Any) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.reason.code == code
    assert len(caught.value.reason.text) > 20


@pytest.mark.parametrize("temp", [0.0, -5.0, 25.0, 1000.0, math.nan, math.inf])
def test_absolute_zero_and_celsius_given_as_kelvin_are_refused(temp: float) -> None:
    refused("kinetics.temperature", lambda: rate(ROOM.law, temp, 0.1))
    refused("kinetics.temperature", lambda: time_to(ROOM.law, temp, 0.5))
    refused("kinetics.temperature", lambda: time_to(ROOM.law, np.array([300.0, temp]), 0.5))


def test_a_law_that_never_starts_asks_for_a_seed() -> None:
    law = Kamal(1.6, k2=Arrhenius(1e5, 55e3), m=0.3)
    refused("kinetics.needs_seed", lambda: time_to(law, 300.0, 0.5))
    refused("kinetics.needs_seed", lambda: Fitted("a", "b", law, None))
    assert math.isfinite(float(time_to(law, 300.0, 0.5, start=1e-4)))


@pytest.mark.parametrize("alpha", [-0.1, 1.0, 1.5, math.nan])
def test_conversions_that_no_resin_reaches_are_refused(alpha: float) -> None:
    refused("kinetics.conversion", lambda: time_to(ROOM.law, 300.0, alpha))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Arrhenius(math.nan, 5e4),
        lambda: Arrhenius(1e5, -1.0),
        lambda: Kamal(1.0),
        lambda: Kamal(1.0, k1=Arrhenius(-1.0, 1.0)),
        lambda: Kamal(-1.0, k1=Arrhenius(1.0, 1.0)),
        lambda: Logistic(-1.0, 0.7, 0.0, True),
        lambda: FreeVolume(Arrhenius(1.0, 1.0), 0.009, 4.8e-4, 0.025, 380.0, 300.0, 0.4),
        lambda: TwoRegime(Arrhenius(1, 1), Arrhenius(1, 1), Arrhenius(1, 1), 0.2, 0.3),
        lambda: Fitted("", "b", ROOM.law, None),
        lambda: Fitted("a", "b", ROOM.law, None, heat_j_kg=0.0),
    ],
)
def test_constants_that_cannot_be_a_law_are_refused(make: Any) -> None:
    refused("kinetics.constants", make)


def test_a_set_whose_source_gives_no_range_says_so_with_every_answer() -> None:
    assert [r.code for r in range_reasons(ROOM, 20_000, 25_000)] == ["kinetics.range_unknown"]
    limited = Fitted("a", "b", ROOM.law, (10_000, 40_000), (0.0, 0.9))
    assert [r.code for r in range_reasons(limited, 20_000, 45_000, 0.95)] == ["kinetics.outside_range"] * 2
    assert range_reasons(limited, 10_000, 40_000, 0.9) == []


def test_a_chart_that_goes_back_in_time_is_refused() -> None:
    refused("kinetics.chart", lambda: conversion_along(ROOM.law, [0.0, 0.0], [300.0, 300.0]))
    refused("kinetics.chart", lambda: conversion_along(ROOM.law, [0.0], [300.0]))


def test_numpy_is_not_imported_before_something_is_computed() -> None:
    names = ("kinetics", "kinetic_sets", "cure_time", "pot_heat", "pot_vessel", "pot_forecast", "gelation", "stoichiometry", "gel_update")
    code = f"import sys\nfor n in {names!r}: __import__('inventory.core.' + n)\nprint('numpy' in sys.modules, 'scipy' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["False", "False"]
