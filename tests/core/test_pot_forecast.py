"""Vessels, the window of a pot with its range, and the cautions before mixing."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core import pot_forecast, pot_vessel
from inventory.core.gelation import Viscosity, anchored
from inventory.core.kinetic_sets import INFUSION, INFUSION_WARM, ROOM
from inventory.core.pot_forecast import Chemistry, Doubt, Forecast, Pot, kinetic_method, likely_us, side_by_side
from inventory.core.pot_heat import heat_pot
from inventory.core.pot_vessel import Resin, biot, critical, cup, film, hs_from_cooling, loss_per_s, own_loss_per_s, tray
from inventory.core.potlife import Batch, System, pot_window
from inventory.core.reasons import BadInput

forecast: Any = pot_forecast.forecast
RESIN = Resin()
CHEMISTRY = Chemistry(ROOM, 0.577)
HOUR_US = 3_600_000_000


def codes(told: Forecast) -> list[str]:
    return [reason.code for reason in told.cautions]


def one_cup(mass_kg: float, mc: int = 22_000) -> Pot:
    return Pot("cup", mass_kg, mc, mc, cup(mass_kg, 0.1, RESIN))


# --- vessels -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("shape", "delta"), [("slab", 0.87846), ("cylinder", 2.0), ("sphere", 3.32199)])
def test_runaway_limits_of_blocks_are_computed(shape: Any, delta: float) -> None:
    """Frank-Kamenetskii's critical values, from textbooks."""
    assert critical(shape) == pytest.approx(delta, abs=6e-6)


def test_a_cup_gives_off_heat_by_its_wall_and_its_open_top() -> None:
    """Exact: 1 kg of 1 000 kg/m³ in a cup 0.1 m wide stands 0.12732 m high."""
    water = Resin(density=1000.0)
    vessel = cup(1.0, 0.1, water)
    assert vessel.area_m2 == pytest.approx(math.pi * 0.1 * 0.127324 + math.pi / 4 * 0.01, rel=1e-5)
    assert (vessel.shape, vessel.depth_m) == ("cylinder", 0.05)
    assert cup(0.1, 0.2, water).shape == "slab"
    assert cup(1.0, 0.1, water, bottom=True).area_m2 == pytest.approx(vessel.area_m2 + math.pi / 4 * 0.01)


def test_a_film_loses_heat_by_its_thickness_alone_and_a_tray_by_its_area() -> None:
    thin = [loss_per_s(film(mass, 0.001, RESIN), mass, RESIN) for mass in (0.1, 5.0)]
    assert thin[0] == pytest.approx(thin[1])
    assert thin[0] == pytest.approx(10 / (1150 * 0.001 * 1800))
    flat = tray(1.0, 0.06, RESIN)
    assert (flat.area_m2, flat.depth_m) == (0.06, pytest.approx(1 / 1150 / 0.06))
    assert biot(film(1.0, 0.001, RESIN), RESIN) < 0.1 < biot(cup(1.0, 0.1, RESIN), RESIN)


def test_a_cooling_test_gives_back_its_own_loss() -> None:
    """Exact: Newton's cooling, 0.5 kg of water with 0.4 W/K over half an hour."""
    rate = 0.4 / (0.5 * 4186)
    later = 293.0 + 40 * math.exp(-rate * 1800)
    assert hs_from_cooling(0.5, 4186.0, 333.0, later, 293.0, 1800.0) == pytest.approx(0.4)
    assert own_loss_per_s(0.4, 0.5, RESIN) == pytest.approx(0.4 / (0.5 * 1800))


@pytest.mark.parametrize(
    "make",
    [
        lambda: cup(0.0, 0.1, RESIN),
        lambda: cup(1.0, math.nan, RESIN),
        lambda: tray(1.0, -1.0, RESIN),
        lambda: film(1.0, 0.001, RESIN, sides=3),
        lambda: Resin(heat_capacity=0.0),
        lambda: own_loss_per_s(math.inf, 1.0, RESIN),
        lambda: hs_from_cooling(1.0, 4186.0, 300.0, 310.0, 290.0, 60.0),
    ],
)
def test_vessels_that_cannot_be_are_refused(make: Any) -> None:
    with pytest.raises(BadInput) as caught:
        make()
    assert caught.value.reason.code == "pot.vessel"


# --- the window ----------------------------------------------------------------------------------


def test_a_kilogram_in_a_cup_is_said_to_smoke_and_small_cups_are_not() -> None:
    small, large = forecast(CHEMISTRY, [one_cup(0.05), one_cup(1.0)])
    assert "pot.will_smoke" in codes(large)
    assert not [code for code in codes(small) if "smoke" in code]
    assert small.stop_us is not None
    assert large.stop_us is not None
    assert small.stop_us > large.stop_us
    caution = next(c for c in large.cautions if c.code == "pot.will_smoke")
    assert "Split it" in caution.text


def test_splitting_and_the_tray_stand_side_by_side_and_cool_the_pot() -> None:
    told = forecast(CHEMISTRY, side_by_side(1.0, 22_000, 22_000, 0.12, RESIN))
    assert [t.name for t in told] == ["one cup", "2 cups", "4 cups", "tray"]
    peaks = [t.peak_mc.likely for t in told if t.peak_mc]
    assert peaks[0] > peaks[1] > peaks[2]
    assert peaks[3] < peaks[0]
    gels = [t.over.likely for t in told if t.over]
    assert gels[0] < gels[1] < gels[2]
    assert gels[0] < gels[3]


def test_pots_told_together_are_told_as_each_alone() -> None:
    pots = side_by_side(0.6, 20_000, 18_000, 0.1, RESIN)
    together = forecast(CHEMISTRY, pots)
    for pot, told in zip(pots, together, strict=True):
        (alone,) = forecast(CHEMISTRY, [pot])
        assert alone.over and told.over and alone.peak_mc and told.peak_mc
        assert alone.over.likely == pytest.approx(told.over.likely, rel=1e-5)
        assert alone.peak_mc.likely == pytest.approx(told.peak_mc.likely, abs=20)


def test_the_range_holds_the_likely_and_shrinks_to_it_without_doubt() -> None:
    (told,) = forecast(CHEMISTRY, [one_cup(0.4)])
    assert told.over and told.peak_mc
    assert told.over.low < told.over.likely < told.over.high
    assert told.peak_mc.low < told.peak_mc.likely < told.peak_mc.high
    assert told.stop_us == told.over.low
    (sure,) = forecast(CHEMISTRY, [one_cup(0.4)], Doubt(0.0, 0.0, 0.0))
    assert sure.over
    assert sure.over.high - sure.over.low <= 2
    assert sure.over.likely == pytest.approx(told.over.likely, rel=1e-5)


def test_each_doubt_alone_is_the_pot_with_that_number_moved() -> None:
    (told,) = forecast(CHEMISTRY, [one_cup(0.4)], Doubt(2.0, 0.0, 0.0))
    warmer = Pot("cup", 0.4, 24_000, 24_000, cup(0.4, 0.1, RESIN))
    (moved,) = forecast(CHEMISTRY, [warmer], Doubt(0.0, 0.0, 0.0))
    assert told.over and moved.over
    assert told.over.low == pytest.approx(moved.over.likely, rel=1e-5)


def test_a_doubt_of_mass_is_more_or_less_heat_behind_the_same_surface() -> None:
    doubted = forecast(CHEMISTRY, [one_cup(0.4)], Doubt(0.0, 0.2, 0.0))[0].over
    assert doubted.low < doubted.likely * 0.97
    assert doubted.high > doubted.likely * 1.03


def test_use_stops_at_the_shops_share_of_the_low_end_and_begins_when_ready() -> None:
    (told,) = forecast(CHEMISTRY, [one_cup(0.4)], ready_us=300_000_000, usable_ppm=750_000)
    assert told.over
    assert (told.ready_us, told.stop_us) == (300_000_000, told.over.low * 750_000 // 1_000_000)
    (late,) = forecast(CHEMISTRY, [one_cup(0.4)], ready_us=40 * HOUR_US)
    assert "pot.no_time" in codes(late)


def test_without_a_heat_of_reaction_no_temperature_is_told() -> None:
    (told,) = forecast(Chemistry(INFUSION, 0.577), [one_cup(1.0, 25_000)])
    assert (told.peak_mc, told.peak_us, told.curve) == (None, None, ())
    assert "pot.no_heat" in codes(told)
    assert told.over
    assert told.over.likely / HOUR_US == pytest.approx(13.50, abs=0.005)  # the course notebook's, as for the law alone


def test_outside_the_fitted_range_the_answer_is_flagged() -> None:
    (told,) = forecast(Chemistry(INFUSION_WARM, 0.577), [one_cup(0.1, 23_000)])
    assert "kinetics.outside_range" in codes(told)


def test_what_thickens_before_it_gels_is_over_when_it_is_too_thick() -> None:
    thick = Viscosity(3e-9, 50_000.0, 0.577, 1.5, 1.0)
    by_gel, by_thickness = (forecast(c, [one_cup(0.2)])[0] for c in (CHEMISTRY, Chemistry(ROOM, 0.577, viscosity=thick, thick_pa_s=20.0)))
    assert (by_gel.why, by_thickness.why) == ("gels", "too thick")
    assert by_gel.over and by_thickness.over
    assert by_thickness.over.likely < by_gel.over.likely
    assert by_thickness.over.low <= by_gel.over.low


def test_a_law_anchored_to_the_data_sheet_gels_when_the_sheet_says_and_scales_from_there() -> None:
    sheet = one_cup(0.1, 23_000)
    rise, loss = CHEMISTRY.rise_k, sheet.loss(RESIN)

    def gels(factor: float) -> float:
        return float(heat_pot(ROOM.law, 0.577, 296.15, 296.15, rise, loss, speed=factor).gel_s[0])

    factor = anchored(gels, 25 * 60.0)
    fast = Chemistry(ROOM, 0.577, speed=factor)
    sure = Doubt(0.0, 0.0, 0.0)
    (told,), (larger,) = forecast(fast, [sheet], sure), forecast(fast, [one_cup(0.5, 23_000)], sure)
    assert told.over and larger.over
    assert told.over.likely / 60e6 == pytest.approx(25.0, abs=1e-3)
    assert larger.over.likely < told.over.likely


def test_kinetics_join_the_table_of_methods_as_one_more_entry() -> None:
    method = kinetic_method(CHEMISTRY, one_cup(0.1))
    system = System("amine", method="kinetics", usable_ppm=800_000)
    told = pot_window(system, Batch(400_000_000, 22_000, start_us=5), {"kinetics": method})
    (direct,) = forecast(CHEMISTRY, [Pot("x", 0.4, 22_000, 22_000, one_cup(0.1).vessel)])
    assert told.window and direct.over
    assert (told.window.low_us, told.window.high_us) == (direct.over.low, direct.over.high)
    assert told.window.stop_us == 5 + direct.over.low * 800_000 // 1_000_000


def test_what_never_gels_has_no_stop_and_says_so() -> None:
    cold = Pot("frozen", 0.1, -40_000, -40_000, film(0.1, 0.001, RESIN))
    (told,) = forecast(Chemistry(INFUSION_WARM, 0.9), [cold])
    assert (told.stop_us, told.over) == (None, None)
    assert "pot.never_gels" in codes(told)
    told_too = pot_window(System("amine", method="k"), Batch(10**8, -30_000), {"k": kinetic_method(Chemistry(INFUSION_WARM, 0.9), cold)})
    assert told_too.window is None
    assert told_too.missing and told_too.missing.code == "pot.never_gels"


@settings(max_examples=15, deadline=None)
@given(st.floats(0.02, 3.0), st.integers(12_000, 32_000), st.integers(12_000, 32_000), st.floats(0.06, 0.25))
def test_no_pot_yields_anything_but_numbers_in_order(mass: float, resin: int, around: int, wide: float) -> None:
    (told,) = forecast(CHEMISTRY, [Pot("p", mass, resin, around, cup(mass, wide, RESIN))])
    assert told.over and told.peak_mc
    assert 0 < told.over.low <= told.over.likely <= (told.over.high or 10**18)
    assert resin <= told.peak_mc.likely <= 290_000
    assert told.peak_mc.low <= told.peak_mc.likely <= told.peak_mc.high
    assert [p[0] for p in told.curve] == sorted({p[0] for p in told.curve})


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Chemistry(ROOM, 0.995), "kinetics.conversion"),
        (lambda: Chemistry(ROOM, 0.5, speed=0.0), "pot.scenario"),
        (lambda: Chemistry(ROOM, 0.5, thick_pa_s=3.0), "gel.viscosity"),
        (lambda: Doubt(rate=1.0), "pot.doubt"),
        (lambda: forecast(CHEMISTRY, [Pot("x", 0.0, 20_000, 20_000, cup(1.0, 0.1, RESIN))]), "pot.mass"),
        (lambda: forecast(CHEMISTRY, [one_cup(1.0, -273_150)]), "kinetics.temperature"),
        (lambda: forecast(CHEMISTRY, [one_cup(1.0)], usable_ppm=0), "pot.system"),
    ],
)
def test_what_cannot_be_told_is_refused_with_its_code(make: Any, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        make()
    assert caught.value.reason.code == code


def test_still_air_and_the_bound_of_one_temperature_are_the_ones_stated() -> None:
    """8–12 W/(m² K): common practice, no source; Bi 0.1: heat-transfer tables."""
    assert 8 <= pot_vessel.STILL_AIR <= 12
    assert pot_vessel.LUMPED_BIOT == 0.1


def test_the_likely_times_are_those_of_the_forecast_without_its_doubt() -> None:
    pots = side_by_side(0.5, 21_000, 21_000, 0.09, Resin())
    told = forecast(CHEMISTRY, pots)
    assert likely_us(CHEMISTRY, pots) == pytest.approx([one.over.likely for one in told if one.over is not None], rel=1e-6)
    assert likely_us(CHEMISTRY, []) == []


def test_where_it_is_too_thick_before_it_gels_both_are_told() -> None:
    thick = dataclasses.replace(CHEMISTRY, viscosity=Viscosity(3e-9, 50_000.0, 0.577, 1.5, 1.0), thick_pa_s=10.0)
    (told,) = forecast(thick, side_by_side(0.5, 21_000, 21_000, 0.09, Resin())[:1])
    assert told.why == "too thick" and told.over is not None and told.gel is not None
    assert (told.over.likely or 0) < (told.gel.likely or 0)
