"""A pot that heats itself: against a general solver, the limits of no and of endless loss, and the balance of energy."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp, trapezoid
from scipy.interpolate import make_interp_spline

from inventory.core import pot_heat
from inventory.core.cure_time import time_to
from inventory.core.kinetic_sets import INFUSION, INFUSION_WARM, PREPREG, ROOM, SETS, TWO_REGIME
from inventory.core.kinetics import rate
from inventory.core.pot_heat import FULL, heat_pot
from inventory.core.reasons import BadInput

GEL = 0.577


def solved(law: Any, start: float, t0: float, ta: float, rise: float, loss: float) -> tuple[float, float]:
    """(time to gel, peak temperature) of one pot by scipy, over time."""

    def flow(_t: float, y: Any) -> list[float]:
        r = float(rate(law, min(max(y[1], 201.0), 799.0), min(max(y[0], start), 1.0)))
        return [r, rise * r - loss * (y[1] - ta)]

    def gelled(_t: float, y: Any) -> float:
        return y[0] - GEL

    def turned(t: float, y: Any) -> float:
        return flow(t, y)[1]

    def over(t: float, y: Any) -> float:
        return -1.0 if y[0] > 0.6 and turned(t, y) < 0 else 1.0

    turned.direction, over.direction, over.terminal = -1, -1, True  # type: ignore[attr-defined]
    run = solve_ivp(flow, (0, 1e9), [start, t0], method="LSODA", rtol=1e-11, atol=[1e-14, 1e-9], events=[gelled, turned, over])
    peaks = [t0, float(run.y[1, -1]), *(y[1] for y in run.y_events[1])]
    return float(run.t_events[0][0]), max(peaks)


def integral(u: Any, time: Any, over: Any) -> float:
    """∫ over dt along the curve, by splines of seventh degree through its points."""
    fine = np.linspace(u[0], u[-1], 400_001)
    slow, height = make_interp_spline(u, time, k=7).derivative()(fine), make_interp_spline(u, over, k=7)(fine)
    return float(trapezoid(slow * height, fine))


def scenarios(count: int, seed: int) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    return rng.uniform(288, 308, count), rng.uniform(288, 308, count), rng.uniform(150, 280, count), 10 ** rng.uniform(-5, -2.3, count)


def test_pots_agree_with_a_general_solver_to_two_millionths() -> None:
    """From films to drums, warm and cold, followed together; each against its own run of scipy."""
    t0, ta, rise, loss = scenarios(40, 3)
    pots = heat_pot(ROOM.law, GEL, t0, ta, rise, loss)
    for n in range(0, 40, 2):
        gel, peak = solved(ROOM.law, 0.0, t0[n], ta[n], rise[n], loss[n])
        assert pots.gel_s[n] == pytest.approx(gel, rel=2e-6)
        assert pots.peak_k[n] == pytest.approx(peak, abs=2e-6 * rise[n])


@pytest.mark.parametrize(("fit", "warm"), [(INFUSION, 20.0), (PREPREG, 120.0)])
def test_other_laws_agree_with_a_general_solver(fit: Any, warm: float) -> None:
    for loss in (3e-5, 1e-3):
        pots = heat_pot(fit.law, GEL, 295.0 + warm, 293.0 + warm, 150.0, loss, start=fit.seed)
        gel, peak = solved(fit.law, fit.seed, 295.0 + warm, 293.0 + warm, 150.0, loss)
        assert pots.gel_s[0] == pytest.approx(gel, rel=5e-6)
        assert pots.peak_k[0] == pytest.approx(peak, abs=2e-3)


def test_a_pot_without_loss_is_the_adiabatic_integral() -> None:
    """Exact limit: loss → 0; and its peak is the full rise."""
    pots = heat_pot(ROOM.law, GEL, [293.0, 303.0], 250.0, 225.0, 0.0)
    assert pots.gel_s == pytest.approx(time_to(ROOM.law, np.array([293.0, 303.0]), GEL, rise_k=225.0), rel=2e-6)
    assert pots.peak_k == pytest.approx(np.array([293.0, 303.0]) + 225.0 * FULL, abs=1e-3)


def test_a_pot_with_endless_loss_is_the_isothermal_integral() -> None:
    """Exact limit: loss → ∞ holds the resin at the room's temperature."""
    pots = heat_pot(ROOM.law, GEL, 293.0, 298.15, 225.0, 1e3)
    assert pots.gel_s[0] == pytest.approx(float(time_to(ROOM.law, 298.15, GEL)), rel=1e-5)
    assert pots.peak_k[0] == pytest.approx(298.15, abs=1e-4)


def test_energy_is_neither_made_nor_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    """Exact: ∫ loss·(T − Ta) dt + T − T0 = rise·(α − α0), to the gel. A spline through the curve's points integrates;
    the points within a step are known less well than its end, so the steps are made fine."""
    monkeypatch.setattr(pot_heat, "TOLERANCE", 1e-5)
    t0, ta, rise, loss = scenarios(6, 11)
    pots = heat_pot(ROOM.law, GEL, t0, ta, rise, loss)
    alphas, times, temps = pots.curve()
    stop = int(np.searchsorted(alphas, GEL - 1e-9)) + 1
    u = np.log(alphas[:stop] / (1 - alphas[:stop]))
    lost = np.array([loss[n] * integral(u, times[:stop, n], temps[:stop, n] - ta[n]) for n in range(6)])
    assert alphas[stop - 1] == pytest.approx(GEL, abs=1e-12)
    assert lost + temps[stop - 1] - t0 == pytest.approx(rise * GEL, rel=1e-6)


def test_more_resin_a_warmer_room_and_less_loss_all_gel_sooner() -> None:
    base = heat_pot(ROOM.law, GEL, 295.0, 295.0, 225.0, 3e-4)
    for change in ((300.0, 295.0, 225.0, 3e-4), (295.0, 300.0, 225.0, 3e-4), (295.0, 295.0, 250.0, 3e-4), (295.0, 295.0, 225.0, 2e-4)):
        assert heat_pot(ROOM.law, GEL, *change).gel_s[0] < base.gel_s[0]


def test_a_law_twice_as_fast_in_a_pot_without_loss_takes_half_the_time() -> None:
    one, two = heat_pot(ROOM.law, GEL, 295.0, 295.0, 225.0, 0.0, speed=[1.0, 2.0]).gel_s
    assert two == pytest.approx(one / 2, rel=1e-6)


def test_a_film_peaks_before_it_gels_and_a_bulk_after() -> None:
    film, bulk = (heat_pot(ROOM.law, GEL, 295.0, 295.0, 225.0, loss) for loss in (5e-3, 5e-5))
    assert film.peak_s[0] < film.gel_s[0]
    assert film.peak_k[0] < 297
    assert bulk.peak_s[0] > bulk.gel_s[0]
    assert bulk.peak_k[0] > 450


def test_a_pot_that_freezes_never_gels_and_stays_a_number() -> None:
    """Two regimes in the cold stand still (the rate is zero), and free volume runs out."""
    for law in (TWO_REGIME.law, INFUSION_WARM.law):
        pots = heat_pot(law, 0.9 if law is INFUSION_WARM.law else 0.4, 250.0, 250.0, 200.0, 1e-2)
        assert math.isinf(pots.gel_s[0])
        assert np.isfinite(pots.peak_k).all()
        assert not np.isnan(pots.curve()[2]).any()


def test_the_curve_rises_in_time_and_conversion() -> None:
    pots = heat_pot(ROOM.law, GEL, *scenarios(5, 2))
    alphas, times, temps = pots.curve()
    assert times.shape == temps.shape == (len(alphas), 5)
    assert (np.diff(alphas) > 0).all()
    assert (np.diff(times, axis=0) >= 0).all()
    assert temps.max(axis=0) == pytest.approx(pots.peak_k, abs=1.0)


@pytest.mark.parametrize(
    ("numbers", "code"),
    [
        ((0.0, 295.0, 200.0, 1e-3), "kinetics.temperature"),
        ((295.0, 22.0, 200.0, 1e-3), "kinetics.temperature"),
        ((295.0, 295.0, -1.0, 1e-3), "pot.scenario"),
        ((295.0, 295.0, math.nan, 1e-3), "pot.scenario"),
        ((295.0, 295.0, 200.0, -1e-3), "pot.scenario"),
    ],
)
def test_scenarios_that_cannot_be_are_refused(numbers: tuple[float, ...], code: str) -> None:
    with pytest.raises(BadInput) as caught:
        heat_pot(ROOM.law, GEL, *numbers)
    assert caught.value.reason.code == code


def test_a_gel_point_at_or_above_full_cure_is_refused() -> None:
    with pytest.raises(BadInput) as caught:
        heat_pot(ROOM.law, 1.0, 295.0, 295.0, 200.0, 1e-3)
    assert caught.value.reason.code == "kinetics.conversion"


@pytest.mark.parametrize("name", list(SETS))
def test_pots_of_every_kind_in_one_run_are_all_followed(name: str) -> None:
    """Films and wrapped-up drums, fast and slow systems; those of a prepreg that vitrify are said never to gel."""
    fit, rng = SETS[name], np.random.default_rng(9)
    low, high = (340, 420) if fit in (PREPREG, TWO_REGIME) else (280, 325)
    t0, ta = rng.uniform(low, high, 300), rng.uniform(low, high, 300)
    rise, loss, speed = rng.uniform(0, 320, 300), 10 ** rng.uniform(-6, -1.3, 300), 10 ** rng.uniform(-1, 2, 300)
    pots = heat_pot(fit.law, 0.6, t0, ta, rise, loss, start=fit.seed, speed=speed)
    assert (pots.gel_s > 0).all()
    assert (pots.peak_k >= t0).all()
    assert (pots.peak_k <= np.maximum(t0, ta) + rise + 1e-3).all()
    assert not any(np.isnan(part).any() for part in pots.curve())
    gelled = np.isfinite(pots.gel_s)
    assert gelled.all() or fit is PREPREG
    assert gelled.sum() > 100


def test_numbers_that_lie_too_far_apart_are_refused_in_words() -> None:
    rng = np.random.default_rng(9)
    wide = [rng.uniform(255, 460, 400), rng.uniform(255, 460, 400), rng.uniform(0, 400, 400), 10 ** rng.uniform(-7, 1, 400)]
    with pytest.raises(BadInput) as caught:
        heat_pot(PREPREG.law, GEL, *wide, start=PREPREG.seed, speed=10 ** rng.uniform(-2, 3, 400))
    assert caught.value.reason.code == "pot.not_followed"
