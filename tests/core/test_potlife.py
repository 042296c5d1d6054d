"""The pot-life window (R18, R20) and the gel points of peroxide systems."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from statistics import linear_regression
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core import potlife, spans
from inventory.core.gelpoints import GelPoint, interpolate
from inventory.core.potlife import METHODS, Batch, Estimate, PotSheet, System, Window, amine_life, judge_pot, pot_window, revised_stop_us
from inventory.core.reasons import BadInput

MIN, G = spans.MINUTE_US, 1_000_000
CPH = "Europe/Copenhagen"
clock = partial(spans.clock_text, zone=CPH)
LAM = System("amine", PotSheet(25 * MIN, 25_000, 500 * G, "data sheet"))
TEN = int(datetime(2026, 3, 30, 8, 0, tzinfo=UTC).timestamp()) * 1_000_000  # 10:00 in the yard
R = 8.314462618


def window(system: System, **batch: Any) -> Window:
    estimate = pot_window(system, Batch(**({"mass_ug": 100 * G} | batch)))
    assert estimate.window is not None, estimate.missing
    assert estimate.missing is None
    return estimate.window


def missing(system: System, **batch: Any) -> str:
    estimate = pot_window(system, Batch(**({"mass_ug": 100 * G} | batch)))
    assert estimate.window is None
    assert estimate.missing is not None
    return estimate.missing.code


def codes(found: Window) -> list[str]:
    return [c.code for c in found.cautions]


# --- the worked day ------------------------------------------------------------------------------


def test_a_pot_of_laminating_epoxy_in_a_cool_shop_lasts_a_third_longer() -> None:
    """B9: 25 min at 25 °C and 500 g, mixed at 10:00 on a bench at 21.0 °C: 33.8–34.7 min, stop by 10:33. 500.2 g is 500 g."""
    found = window(LAM, mass_ug=500_200_000, temp_mc=21_000, start_us=TEN)
    assert (round(found.low_us / MIN, 1), round(found.high_us / MIN, 1)) == (33.8, 34.7)
    assert found.estimate
    assert found.stop_us == TEN + found.low_us
    assert spans.local_text(found.stop_us, CPH) == "2026-03-30 10:33"
    assert codes(found) == []


def test_the_pot_is_good_at_twenty_past_with_thirteen_minutes_left_and_refused_at_twenty_to() -> None:
    """B10."""
    stop = window(LAM, mass_ug=500_200_000, temp_mc=21_000, start_us=TEN).stop_us
    assert stop is not None
    assert judge_pot(stop, TEN + 20 * MIN, clock) == []
    assert spans.duration(stop - (TEN + 20 * MIN)) == "13 min"
    (reason,) = judge_pot(stop, TEN + 40 * MIN, clock)
    assert (reason.code, reason.text) == ("pot.over", "Stop time 10:33 passed: mix a new pot.")


def test_a_pot_is_over_at_exactly_its_stop_and_one_without_a_window_is_never_waved_through() -> None:
    assert judge_pot(TEN, TEN - 1, clock) == []
    assert [r.code for r in judge_pot(TEN, TEN, clock)] == ["pot.over"]
    assert [r.code for r in judge_pot(None, TEN, clock)] == ["pot.no_window"]


@pytest.mark.parametrize(
    ("current", "later", "by_person", "stop"),
    [
        (100, 90, False, 90),
        (100, 110, False, 100),
        (100, 110, True, 110),
        (100, None, False, 100),
        (100, None, True, None),
        (None, 110, False, 110),
    ],
)
def test_a_later_estimate_shortens_by_itself_and_lengthens_only_by_a_person(
    current: int | None, later: int | None, by_person: bool, stop: int | None
) -> None:
    assert revised_stop_us(current, later, by_person) == stop


# --- amine systems -------------------------------------------------------------------------------


def test_a_rule_of_thumb_that_ten_degrees_halve_is_the_same_law_with_another_energy() -> None:
    """Exact: "10 K halves the gel time" is Ea 51.22 kJ/mol from 20 to 30 °C and 52.95 from 25 to 35 °C."""
    for temp, ea in ((20_000, 51_220), (25_000, 52_950)):
        sheet = PotSheet(1_000 * MIN, temp, G)
        assert amine_life(sheet, temp + 10_000, ea) == pytest.approx(500 * MIN, rel=2e-4)


def test_the_energies_used_speed_the_reaction_up_by_a_factor_of_2_10_to_2_25_over_ten_degrees() -> None:
    """Published: 55–60 kJ/mol for primary amine with epoxide, Thermochim. Acta 447 (2006) 167, abstract; Q10 from 20 to 30 °C."""
    found = window(System("amine", PotSheet(1_000 * MIN, 20_000, 500 * G)), temp_mc=30_000)
    assert 1_000 * MIN / found.high_us == pytest.approx(2.10, abs=0.006)
    assert 1_000 * MIN / found.low_us == pytest.approx(2.25, abs=0.006)


# Product data sheets: a construction epoxy (Sikadur-32 Normal, °C → min) and another hand mix (Powercrete J, °F → min).
SHEETS = {
    "Sikadur-32 Normal": [(5.0, 120), (10.0, 60), (20.0, 25), (30.0, 15)],
    "Powercrete J": [((f - 32) / 1.8, minutes) for f, minutes in ((40, 180), (60, 62), (70, 52), (90, 25), (100, 18))],
}


def fitted_ea(points: list[tuple[float, int]]) -> float:
    line = linear_regression([1 / (t + 273.15) for t, _ in points], [math.log(minutes) for _, minutes in points])
    return line.slope * R / 1000


def test_published_pot_lives_over_temperature_fit_energies_near_those_used() -> None:
    """Least squares on the logarithm: 57.6 kJ/mol for the first; 48.2 for the second."""
    assert fitted_ea(SHEETS["Sikadur-32 Normal"]) == pytest.approx(57.6, abs=0.1)
    assert fitted_ea(SHEETS["Powercrete J"]) == pytest.approx(48.2, abs=0.1)


@pytest.mark.parametrize("name", SHEETS)
def test_a_published_sheet_predicted_from_one_of_its_points_is_missed_by_no_more_than_the_caution_says(name: str) -> None:
    """Within 10 K the window lies within 40 % of the sheet's own figure; beyond that it carries the caution, and has missed by 73 %."""
    near: list[float] = []
    far: list[float] = []
    for t0, life0 in SHEETS[name]:
        for t, life in SHEETS[name]:
            if t == t0:
                continue
            found = window(System("amine", PotSheet(life0 * MIN, round(t0 * 1000), 500 * G)), temp_mc=round(t * 1000))
            worst = max(abs(found.low_us / (life * MIN) - 1), abs(found.high_us / (life * MIN) - 1))
            cautioned = bool({"pot.far_from_sheet", "pot.outside_range"} & set(codes(found)))
            assert cautioned == (abs(round(t * 1000) - round(t0 * 1000)) > potlife.FAR_MC)
            (far if cautioned else near).append(worst)
    assert max(near) < 0.36
    assert max(far) < 0.74


@given(st.integers(-30_000, 120_000), st.integers(-30_000, 120_000), st.integers(1, 2_000 * MIN))
def test_the_window_agrees_with_the_arrhenius_law_in_floating_point(temp: int, sheet_temp: int, life: int) -> None:
    found = window(System("amine", PotSheet(life, sheet_temp, 500 * G)), temp_mc=temp)
    both = [life * math.exp(ea / R * (1000 / (temp + 273_150) - 1000 / (sheet_temp + 273_150))) for ea in (55_000, 60_000)]
    assert found.low_us == pytest.approx(min(both), rel=1e-9, abs=1)
    assert found.high_us == pytest.approx(max(both), rel=1e-9, abs=1)
    assert 0 <= found.low_us <= found.high_us


@given(st.integers(-30_000, 119_999), st.integers(1, 20_000))
def test_the_window_falls_with_temperature_and_is_never_above_the_sheet_when_hotter(temp: int, more: int) -> None:
    cool, warm = window(LAM, temp_mc=temp), window(LAM, temp_mc=min(temp + more, 120_000))
    assert warm.low_us < cool.low_us
    assert warm.high_us < cool.high_us
    if temp >= 25_000:
        assert warm.high_us < 25 * MIN
    assert (window(LAM, temp_mc=25_000).low_us, window(LAM, temp_mc=25_000).high_us) == (25 * MIN, 25 * MIN)


@given(st.integers(1, 50_000 * G), st.integers(0, 40_000))
def test_mass_never_lengthens_the_window_and_too_much_of_it_is_cautioned_without_inventing_a_law(mass: int, temp: int) -> None:
    found, test = window(LAM, mass_ug=mass, temp_mc=temp), window(LAM, mass_ug=500 * G, temp_mc=temp)
    assert (found.low_us, found.high_us) == (test.low_us, test.high_us)
    assert ("pot.over_test_mass" in codes(found)) == (mass > 505 * G)


def test_a_pot_over_the_test_mass_is_told_to_split_or_tray_it() -> None:
    (caution,) = window(LAM, mass_ug=2_000 * G, temp_mc=25_000).cautions
    assert "split or tray it" in caution.text.lower()
    assert caution.numbers == {"mass_ug": 2_000 * G, "test_mass_ug": 500 * G}


def test_a_temperature_far_from_the_sheet_or_from_any_checked_sheet_is_cautioned() -> None:
    assert codes(window(LAM, temp_mc=15_000)) == []
    assert codes(window(LAM, temp_mc=14_999)) == ["pot.far_from_sheet"]
    assert codes(window(LAM, temp_mc=4_400)) == codes(window(LAM, temp_mc=37_800)) == ["pot.far_from_sheet"]
    assert codes(window(LAM, temp_mc=4_399)) == ["pot.outside_range"]
    assert codes(window(LAM, temp_mc=37_801)) == ["pot.outside_range"]


def test_no_window_without_a_temperature_or_a_data_sheet() -> None:
    assert missing(LAM, temp_mc=None) == "pot.temperature_missing"
    assert missing(System("amine"), temp_mc=21_000) == "pot.no_sheet"


def test_a_plan_has_a_window_and_no_stop_time() -> None:
    assert window(LAM, temp_mc=21_000).stop_us is None


# --- other two-part systems ----------------------------------------------------------------------


def test_a_system_without_a_law_keeps_its_sheet_when_cooler_and_cannot_be_told_when_hotter() -> None:
    sheet = PotSheet(30 * MIN, 23_000, 200 * G)
    for system in (System("isocyanate", sheet), System("acid", sheet)):
        for temp in (15_000, 23_000):
            found = window(system, temp_mc=temp)
            assert (found.low_us, found.high_us) == (30 * MIN, 30 * MIN)
        assert missing(system, temp_mc=23_001) == "pot.hotter_than_sheet"
        assert codes(window(system, temp_mc=20_000, mass_ug=300 * G)) == ["pot.over_test_mass"]


# --- peroxide systems ----------------------------------------------------------------------------


def point(temp: int, dose: int, minutes: int, to: int | None = None) -> GelPoint:
    return GelPoint(temp, dose, minutes * MIN, (to or minutes) * MIN)


# A polyester data sheet (Crystic): at 15 °C 62 min with 1 % and 41 min with 2 %.
CRYSTIC = System("peroxide", points=(point(15_000, 10_000, 62), point(15_000, 20_000, 41)))
# A shop's own cups (invented): three temperatures, three doses.
CUPS = System(
    "peroxide",
    points=tuple(
        point(t, d, minutes)
        for t, row in {18_000: (60, 42, 33), 21_000: (50, 35, 27), 25_000: (38, 27, 21)}.items()
        for d, minutes in zip((10_000, 15_000, 20_000), row, strict=True)
    ),
)


def test_measured_points_are_met_exactly_and_between_them_the_answer_lies_between_them() -> None:
    """Crystic data sheet, 15 °C: 62 and 41 min."""
    for dose, minutes in ((10_000, 62), (20_000, 41)):
        found = window(CRYSTIC, temp_mc=15_000, dose_ppm=dose, start_us=TEN)
        assert (found.low_us, found.high_us, found.stop_us) == (minutes * MIN, minutes * MIN, TEN + minutes * MIN)
    found = window(CRYSTIC, temp_mc=15_000, dose_ppm=15_000)
    assert found.high_us == 51.5 * MIN  # the chord
    assert found.low_us == pytest.approx(62 * MIN * 1.5 ** (math.log(41 / 62) / math.log(2)), rel=1e-9)  # the power law through both


@pytest.mark.parametrize(
    ("temp", "dose", "lacking"),
    [
        (14_999, 15_000, "colder"),
        (15_001, 15_000, "hotter"),
        (15_000, 9_999, "less"),
        (15_000, 20_001, "more"),
        (12_000, 25_000, "colder,more"),
    ],
)
def test_outside_the_points_nobody_can_tell_and_the_answer_says_what_is_missing(temp: int, dose: int, lacking: str) -> None:
    estimate = pot_window(CRYSTIC, Batch(100 * G, temp, dose))
    assert estimate.window is None
    assert estimate.missing is not None
    assert estimate.missing.code == "pot.outside_points"
    assert estimate.missing.numbers["missing"] == lacking
    assert "gel cup" in estimate.missing.text


def test_the_words_for_what_is_missing() -> None:
    found = pot_window(CUPS, Batch(100 * G, 17_200, 15_000)).missing
    assert found is not None
    assert found.text == (
        "Cannot tell when it gels at 17.2 °C with 1.50 %: no point as cold (known: 18.0 °C to 25.0 °C with 1.00 % to 2.00 %). "
        "Make a gel cup and time it."
    )


def test_a_peroxide_system_never_falls_back_on_its_data_sheet_or_the_amine_rule() -> None:
    system = System("peroxide", PotSheet(25 * MIN, 25_000, 100 * G))
    assert missing(system, temp_mc=21_000, dose_ppm=15_000) == "pot.no_points"
    assert missing(replace(system, points=CRYSTIC.points), temp_mc=21_000, dose_ppm=15_000) == "pot.outside_points"
    assert missing(CUPS, temp_mc=21_000) == "pot.dose_missing"
    assert missing(CUPS, temp_mc=None, dose_ppm=15_000) == "pot.temperature_missing"


@given(st.integers(18_000, 25_000), st.integers(10_000, 20_000), st.integers(0, 3_000), st.integers(0, 3_000))
def test_between_the_points_gel_falls_with_temperature_and_dose_and_stays_between_its_neighbours(
    temp: int, dose: int, dt: int, dd: int
) -> None:
    found = interpolate(CUPS.points, temp, dose)
    hotter = interpolate(CUPS.points, min(temp + dt, 25_000), min(dose + dd, 20_000))
    assert found and hotter
    assert found[0] <= found[1]
    assert hotter[0] <= found[0] + 1 and hotter[1] <= found[1] + 1  # each rounded down
    slower = [p.high_us for p in CUPS.points if p.temp_mc <= temp and p.dose_ppm <= dose]
    faster = [p.low_us for p in CUPS.points if p.temp_mc >= temp and p.dose_ppm >= dose]
    assert max(faster) - 2 <= found[0] <= found[1] <= min(slower)


@given(st.permutations(CUPS.points), st.integers(17_000, 26_000), st.integers(9_000, 21_000))
def test_the_order_of_the_points_changes_nothing(points: list[GelPoint], temp: int, dose: int) -> None:
    assert interpolate(points, temp, dose) == interpolate(CUPS.points, temp, dose)


SCATTER = st.builds(point, st.sampled_from([12_000, 18_000, 20_000, 25_000]), st.sampled_from([8_000, 15_000, 20_000]), st.integers(5, 90))


@given(st.lists(SCATTER, min_size=2, max_size=8), st.sampled_from([12_000, 16_000, 20_000]), st.sampled_from([8_000, 12_000, 15_000]))
def test_scattered_points_never_answer_beyond_their_own_reach(points: list[GelPoint], temp: int, dose: int) -> None:
    """Also where they contradict each other: a cup that gelled later although it was hotter."""
    found = interpolate(points, temp, dose)
    temps, doses = [p.temp_mc for p in points], [p.dose_ppm for p in points]
    if found is None:
        assert not any((p.temp_mc, p.dose_ppm) == (temp, dose) for p in points)
        return
    assert min(temps) <= temp <= max(temps)
    assert min(doses) <= dose <= max(doses)
    assert min(p.low_us for p in points) - 2 <= found[0] <= found[1] <= max(p.high_us for p in points)


def test_cups_made_at_one_dose_answer_at_that_dose_and_a_gap_between_rows_is_told() -> None:
    one_dose = System("peroxide", points=(point(18_000, 15_000, 42), point(25_000, 15_000, 27)))
    assert window(one_dose, temp_mc=21_000, dose_ppm=15_000).high_us == pytest.approx(35.57 * MIN, rel=1e-3)
    corners = System("peroxide", points=(point(18_000, 10_000, 60), point(25_000, 20_000, 21)))
    found = pot_window(corners, Batch(100 * G, 21_000, 15_000)).missing
    assert found is not None
    assert found.numbers["missing"] == "around"


def test_days_with_different_doses_answer_by_way_of_each_days_own_row() -> None:
    """At 18 °C cups with 1 and 2 %, at 25 °C one with 1.5 %: no dose was tried on both days, and 1.5 % at 21.5 °C is still between."""
    system = System("peroxide", points=(point(18_000, 10_000, 60), point(18_000, 20_000, 30), point(25_000, 15_000, 25)))
    assert window(system, temp_mc=21_500, dose_ppm=15_000).high_us == (45 + 25) / 2 * MIN


def test_cups_that_contradict_each_other_still_give_a_range_the_right_way_round() -> None:
    """Hotter gelled later, by scatter: there the curve rises above the chord."""
    found = window(System("peroxide", points=(point(10_000, 15_000, 40), point(38_000, 15_000, 41))), temp_mc=24_000, dose_ppm=15_000)
    assert 40 * MIN < found.low_us < found.high_us < 41 * MIN


def test_a_certificates_range_and_repeated_cups_give_the_range() -> None:
    """VE-I of the demo shop: gel 28–42 min at 25 °C with 1.5 %; a second cup at the same point widens it."""
    system = System("peroxide", points=(point(25_000, 15_000, 28, 42), point(25_000, 15_000, 44)))
    found = window(system, temp_mc=25_000, dose_ppm=15_000)
    assert (found.low_us, found.high_us) == (28 * MIN, 44 * MIN)


def test_gel_is_not_pot_life_and_a_shop_may_stop_earlier() -> None:
    assert codes(window(CUPS, temp_mc=21_000, dose_ppm=15_000)) == ["pot.gel_not_pot_life"]
    found = window(replace(CUPS, usable_ppm=700_000), temp_mc=21_000, dose_ppm=15_000, start_us=TEN)
    assert codes(found) == []
    assert (found.low_us, found.stop_us) == (35 * MIN, TEN + 24.5 * MIN)


def test_a_pot_larger_than_the_cups_is_cautioned() -> None:
    system = System("peroxide", points=(GelPoint(25_000, 15_000, 27 * MIN, 27 * MIN, "gel cup", 100 * G),))
    assert "pot.over_test_mass" in codes(window(system, temp_mc=25_000, dose_ppm=15_000, mass_ug=2_000 * G))
    assert "pot.over_test_mass" not in codes(window(system, temp_mc=25_000, dose_ppm=15_000, mass_ug=100 * G))


# --- the seam, and bad input ---------------------------------------------------------------------


def test_another_method_joins_by_its_name_and_an_unknown_one_cannot_tell() -> None:
    def kinetics(system: System, batch: Batch, temp_mc: int) -> Estimate:
        return Estimate(Window(1, 2, None, "kinetics"))

    system = replace(LAM, method="kinetics")
    assert pot_window(system, Batch(G, 21_000), {**METHODS, "kinetics": kinetics}).window == Window(1, 2, None, "kinetics")
    assert missing(system, temp_mc=21_000) == "pot.no_method"


@pytest.mark.parametrize(
    ("system", "batch", "code"),
    [
        (LAM, Batch(0, 21_000), "pot.mass"),
        (LAM, Batch(-1, 21_000), "pot.mass"),
        (LAM, Batch(G, -273_151), "pot.temperature"),
        (LAM, Batch(G, 294_150), "pot.temperature"),  # kelvin
        (replace(LAM, usable_ppm=0), Batch(G, 21_000), "pot.system"),
        (replace(LAM, usable_ppm=1_000_001), Batch(G, 21_000), "pot.system"),
    ],
)
def test_what_cannot_be_a_pot_is_bad_input(system: System, batch: Batch, code: str) -> None:
    with pytest.raises(BadInput) as refused:
        pot_window(system, batch)
    assert refused.value.reason.code == code


def test_a_sheet_or_a_point_that_cannot_be_is_bad_input() -> None:
    for life, temp, mass in ((0, 25_000, G), (MIN, 25_000, 0), (MIN, 298_150, G)):
        with pytest.raises(BadInput):
            PotSheet(life, temp, mass)
    for temp, dose, low, high in ((-273_150, 1, 1, 1), (1, 0, 1, 1), (1, 1, 0, 1), (1, 1, 2, 1)):
        with pytest.raises(BadInput):
            GelPoint(temp, dose, low, high)
