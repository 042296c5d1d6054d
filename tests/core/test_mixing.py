"""The mix ratio, its mend, temperatures, the scale and the order of addition (R17)."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.core.mixing import (
    Recipe,
    base_resin,
    celsius,
    corrected_mass_ug,
    corrected_ratio,
    judge_mix,
    judge_order,
    judge_ratio,
    judge_scale,
    judge_temperature,
    ratio_text,
)
from inventory.core.reasons import BadInput, Reason

G = 1_000_000
# The demo shop's laminating epoxy, and its polyester (1.0–1.5–2.0 % peroxide, not below 18 °C).
LAM = Recipe("amine", 240_000, 250_000, 260_000)
PE = Recipe("peroxide", 10_000, 15_000, 20_000, min_temp_mc=18_000, order=("resin", "wax", "pigment", "peroxide"))
masses = st.integers(G, 500_000 * G)


def codes(reasons: list[Reason]) -> list[str]:
    return [r.code for r in reasons]


# --- the worked day ------------------------------------------------------------------------------


def test_too_little_hardener_is_refused_with_what_to_add() -> None:
    """B9: 400.0 g with 92.0 g."""
    (reason,) = judge_mix(LAM, 400 * G, 92 * G, 21_000, G // 10)
    assert reason.text == "23.0 per 100, limits 24.0–26.0: add 8.0 g hardener for 25.0."
    assert reason.code == "mix.ratio_low"
    assert (reason.numbers["ratio_ppm"], reason.numbers["add"], reason.numbers["add_ug"]) == (230_000, "hardener", 8 * G)
    assert not reason.cap


def test_the_mended_mix_is_allowed_and_shows_its_ratio() -> None:
    """B9: 8.2 g more, 100.2 g in all."""
    assert judge_mix(LAM, 400 * G, 100_200_000, 21_000, G // 10) == []
    assert ratio_text(LAM, 400 * G, 100_200_000) == "25.05 per 100"


def test_too_much_hardener_is_refused_with_the_resin_to_add() -> None:
    (reason,) = judge_mix(LAM, 400 * G, 110 * G, 21_000, G // 10)
    assert reason.text == "27.5 per 100, limits 24.0–26.0: add 40.0 g resin for 25.0."
    assert (reason.code, reason.numbers["add"], reason.numbers["add_ug"]) == ("mix.ratio_high", "resin", 40 * G)


def test_too_little_peroxide_in_a_cold_bay_is_refused_twice_over() -> None:
    """B11 at 11:00: 2 000 g with 14 g, bay 17.2 °C."""
    low, cold = judge_mix(PE, 2_000 * G, 14 * G, 17_200, G // 10)
    assert (low.code, low.text) == ("mix.ratio_low", "0.70 %, minimum 1.0 %: add 16.0 g peroxide for 1.5 %.")
    assert (cold.code, cold.text) == ("mix.too_cold", "Too cold: bay 17.2 °C, minimum 18.0 °C. Warm it first.")
    assert cold.numbers == {"where": "bay", "temp_mc": 17_200, "min_temp_mc": 18_000, "max_temp_mc": None}


def test_a_gross_overdose_of_peroxide_is_a_reason_that_nobody_may_override() -> None:
    """B11 at 11:40: 300 g into 2 000 g. No mend is offered: only the weighing can be wrong."""
    (reason,) = judge_mix(PE, 2_000 * G, 300 * G, 18_600, G // 10)
    assert (reason.code, reason.cap) == ("mix.over_cap", True)
    assert reason.text.startswith("15.0 % peroxide")
    assert "nobody may override" in reason.text
    assert "add" not in reason.numbers
    assert judge_mix(PE, 2_000 * G, 30 * G, 18_600, G // 10) == []
    assert ratio_text(PE, 2_000 * G, 30 * G) == "1.50 %"


def test_thirty_grams_of_peroxide_want_a_finer_scale_than_one_of_whole_grams() -> None:
    """B11: the 0.1 g scale is offered for the small weight."""
    (reason,) = judge_mix(PE, 2_000 * G, 30 * G, 18_600, G)
    assert reason.code == "mix.scale_too_coarse"
    assert reason.text == "30 g peroxide is too little for a scale that reads in steps of 1 g: use a scale that reads 0.5 g or finer."
    assert reason.numbers["finer_step_ug"] == G // 2


# --- limits --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hardener", "expected"),
    [
        (96 * G, []),
        (104 * G, []),
        (96 * G - 1, ["mix.ratio_low"]),
        (104 * G + 1, ["mix.ratio_high"]),
        (0, ["mix.ratio_low"]),
    ],
)
def test_limits_are_inclusive_to_the_microgram(hardener: int, expected: list[str]) -> None:
    assert codes(judge_ratio(LAM, 400 * G, hardener)) == expected


def test_a_ratio_a_hair_outside_never_reads_as_the_limit() -> None:
    (low,) = judge_ratio(LAM, 400 * G, 96 * G - 1)
    (high,) = judge_ratio(LAM, 400 * G, 104 * G + 1)
    assert low.text.startswith("23.99 per 100")
    assert high.text.startswith("26.01 per 100")
    assert (low.numbers["ratio_ppm"], high.numbers["ratio_ppm"]) == (239_999, 260_001)


@pytest.mark.parametrize(
    ("recipe", "grams", "expected"),
    [
        (PE, 40, ""),
        (PE, 41, "mix.ratio_high"),
        (PE, 80, "mix.ratio_high"),  # 4.0 %: twice the maximum, the bound where none is stated
        (PE, 80.001, "mix.over_cap"),
        (Recipe("peroxide", 10_000, 15_000, 20_000, cap_ppm=30_000), 60, "mix.ratio_high"),
        (Recipe("peroxide", 10_000, 15_000, 20_000, cap_ppm=30_000), 60.001, "mix.over_cap"),
        (Recipe("amine", 10_000, 15_000, 20_000), 1_000, "mix.ratio_high"),  # no bound but a stated one outside peroxides
        (Recipe("amine", 10_000, 15_000, 20_000, cap_ppm=100_000), 1_000, "mix.over_cap"),
    ],
)
def test_a_dose_is_judged_against_maximum_and_bound(recipe: Recipe, grams: float, expected: str) -> None:
    assert "".join(codes(judge_ratio(recipe, 2_000 * G, round(grams * G)))) == expected


def test_the_target_need_not_be_the_middle() -> None:
    """Gelcoat of the demo shop: 1.5–2.0–2.5; a system whose target is its lower limit mends to that."""
    (reason,) = judge_ratio(Recipe("amine", 250_000, 250_000, 300_000), 400 * G + 1, 90 * G)
    assert reason.numbers["add_ug"] == 10 * G + 1
    (reason,) = judge_ratio(Recipe("amine", 250_000, 300_000, 300_000), 400 * G + 1, 90 * G)
    assert reason.numbers["add_ug"] == 30 * G


@given(masses, st.integers(0, 500_000 * G), st.sampled_from(["amine", "peroxide", "isocyanate", "acid"]), st.data())
def test_the_verdict_is_the_exact_comparison_of_fractions(resin: int, hardener: int, kind: Any, data: st.DataObject) -> None:
    low, target, high = sorted(data.draw(st.tuples(*[st.integers(1, 2_000_000)] * 3)))
    hardener = data.draw(st.sampled_from([hardener, low * resin // 1_000_000, high * resin // 1_000_000 + 1]))
    reasons = judge_ratio(Recipe(kind, low, target, high, cap_ppm=10**9), resin, hardener)
    ratio = Fraction(hardener, resin) * 1_000_000
    assert codes(reasons) == (
        ["mix.ratio_low"] if ratio < low else ["mix.over_cap"] if ratio > 10**9 else ["mix.ratio_high"] if ratio > high else []
    )
    for reason in reasons:
        shown = reason.numbers["ratio_ppm"]
        assert isinstance(shown, int)
        assert (shown < low) if ratio < low else (shown > high)
        assert abs(shown - ratio) < 1


@given(masses, masses, st.data())
def test_following_the_mend_makes_the_mix_allowed(resin: int, hardener: int, data: st.DataObject) -> None:
    low, target, high = sorted(data.draw(st.tuples(*[st.integers(1_000, 2_000_000)] * 3)))
    assume(high - low > 2)
    recipe = Recipe("amine", low, target, high)
    for reason in judge_ratio(recipe, resin, hardener):
        add = reason.numbers["add_ug"]
        assert isinstance(add, int)
        assert add > 0
        more_resin = reason.numbers["add"] == "resin"
        assert judge_ratio(recipe, resin + add * more_resin, hardener + add * (not more_resin)) == []


@given(st.integers(G, 500 * G), st.integers(0, 1_000_000))
def test_following_the_printed_mend_lands_within_a_percent_of_the_target(resin: int, ppm: int) -> None:
    """What a person reads is rounded; from a cup of one gram up the rounding must not spoil the mix."""
    hardener = resin * ppm // 1_000_000
    for reason in judge_ratio(LAM, resin, hardener):
        found = re.search(r"add ([0-9.]+) g (\w+)", reason.text)
        assert found
        add = round(Fraction(found[1]) * G)
        more_resin = found[2] == "resin"
        assert abs(Fraction(hardener + add * (not more_resin), resin + add * more_resin) - Fraction(1, 4)) <= Fraction(1, 4) / 100


def test_fillers_and_pigment_do_not_count_as_base_resin() -> None:
    weighed = [("resin", 300 * G), ("filler", 90 * G), ("resin", 100 * G), ("pigment", 40 * G), ("hardener", 100 * G)]
    assert base_resin(weighed) == 400 * G
    assert judge_ratio(LAM, base_resin(weighed), 100 * G) == []


@pytest.mark.parametrize("recipe", [LAM, PE, Recipe("isocyanate", 2, 3, 4), Recipe("acid", 50_000, 60_000, 70_000)])
def test_no_screen_says_catalyst(recipe: Recipe) -> None:
    """It means peroxide to one shop and hardener to the next."""
    for hardener in (0, 500 * G):
        for reason in judge_mix(recipe, 400 * G, hardener, None, 50 * G, added=("x",)):
            assert "catalyst" not in reason.text.lower()


@pytest.mark.parametrize(("resin", "hardener"), [(0, G), (-1, G), (G, -1), (0, 0)])
def test_masses_that_cannot_be_a_mix_are_bad_input(resin: int, hardener: int) -> None:
    for ask in (judge_ratio, ratio_text):
        with pytest.raises(BadInput) as refused:
            ask(LAM, resin, hardener)
        assert refused.value.reason.code == "mix.mass"


@pytest.mark.parametrize(
    "fields",
    [
        {"low_ppm": 0},
        {"low_ppm": 251_000},
        {"high_ppm": 249_000},
        {"cap_ppm": 259_999},
        {"min_temp_mc": 20_000, "max_temp_mc": 19_000},
        {"order": ("resin", "resin")},
        {"scale_steps": 0},
    ],
)
def test_a_recipe_that_contradicts_itself_is_bad_input(fields: dict[str, Any]) -> None:
    base: dict[str, Any] = {"kind": "amine", "low_ppm": 240_000, "target_ppm": 250_000, "high_ppm": 260_000}
    with pytest.raises(BadInput) as refused:
        Recipe(**(base | fields))
    assert refused.value.reason.code == "mix.recipe"


# --- a scale found to read wrong -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("read", "true", "verdict"), [(97_000_000, 23.8, ["mix.ratio_low"]), (96_500_000, 23.7, ["mix.ratio_low"]), (100_200_000, 24.6, [])]
)
def test_a_scale_that_read_too_much_gives_the_true_ratio_and_raises_two_of_three_mixes(read: int, true: float, verdict: list[str]) -> None:
    """E10: only the hardener was weighed on the scale that read +1.8 %; as read, all three mixes were allowed."""
    assert round(corrected_ratio(400 * G, read, hardener_gain_ppm=18_000) / 10_000, 1) == true
    assert judge_ratio(LAM, 400 * G, read) == []
    assert codes(judge_ratio(LAM, 400 * G, corrected_mass_ug(read, 18_000))) == verdict


@given(masses, masses, st.integers(-500_000, 500_000))
def test_two_masses_from_one_scale_keep_their_ratio_whatever_its_error(resin: int, hardener: int, gain: int) -> None:
    same = corrected_ratio(resin, hardener, resin_gain_ppm=gain, hardener_gain_ppm=gain)
    assert same == corrected_ratio(resin, hardener) == round(Fraction(hardener * 1_000_000, resin))


@given(masses, st.integers(-500_000, 500_000))
def test_the_corrected_mass_read_on_the_wrong_scale_gives_the_reading(read: int, gain: int) -> None:
    true = corrected_mass_ug(read, gain)
    assert abs(Fraction(true * (1_000_000 + gain), 1_000_000) - read) <= 1


def test_a_scale_that_reads_nothing_at_all_is_bad_input() -> None:
    with pytest.raises(BadInput):
        corrected_mass_ug(G, -1_000_000)
    with pytest.raises(BadInput):
        corrected_ratio(G, G, resin_gain_ppm=-1_000_000)


# --- temperature ---------------------------------------------------------------------------------

WARM = Recipe("amine", 1, 2, 3, min_temp_mc=15_000, max_temp_mc=30_000)


@pytest.mark.parametrize(
    ("recipe", "temp", "expected"),
    [
        (PE, 18_000, []),
        (PE, 17_999, ["mix.too_cold"]),
        (PE, None, ["mix.temperature_missing"]),
        (LAM, None, []),
        (LAM, -20_000, []),
        (WARM, 30_000, []),
        (WARM, 30_001, ["mix.too_hot"]),
        (WARM, 14_999, ["mix.too_cold"]),
        (Recipe("amine", 1, 2, 3, max_temp_mc=30_000), None, ["mix.temperature_missing"]),
    ],
)
def test_the_temperature_is_judged_inclusively_and_missed_where_it_is_needed(recipe: Recipe, temp: int | None, expected: list[str]) -> None:
    assert codes(judge_temperature(recipe, temp)) == expected


def test_a_temperature_a_hair_outside_never_reads_as_the_limit() -> None:
    assert "bay 17.9 °C, minimum 18.0 °C" in judge_temperature(PE, 17_999)[0].text
    assert "mould 30.1 °C, maximum 30.0 °C" in judge_temperature(WARM, 30_001, "mould")[0].text


def test_a_missing_temperature_names_the_place_and_the_limit() -> None:
    (reason,) = judge_temperature(PE, None, "mould")
    assert reason.text == "Temperature not recorded for the mould, minimum 18.0 °C: measure it and enter it."


def test_a_temperature_below_absolute_zero_is_bad_input() -> None:
    with pytest.raises(BadInput, match="unit"):
        judge_temperature(PE, -273_151)


def test_a_temperature_is_shown_with_a_real_minus() -> None:
    assert (celsius(-18_000), celsius(17_250), celsius(0)) == ("−18.0 °C", "17.25 °C", "0.0 °C")


# --- scale and order -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mass", "step", "finer"),
    [
        (40 * G, G, None),
        (40 * G - 1, G, G // 2),
        (14 * G, G // 10, None),
        (14 * G, G, G // 5),  # 0.35 g would do: 0.2 g is the next scale that is made
        (G, G // 10, G // 50),
        (40_000, G, 1_000),
    ],
)
def test_a_mass_must_be_at_least_forty_steps_of_its_scale(mass: int, step: int, finer: int | None) -> None:
    reasons = judge_scale("peroxide", mass, step)
    assert [r.numbers["finer_step_ug"] for r in reasons] == ([finer] if finer else [])
    if finer:
        assert judge_scale("peroxide", mass, finer) == []


def test_a_mass_too_small_for_any_scale_wants_a_larger_batch() -> None:
    (reason,) = judge_scale("peroxide", 39_999, 1_000)
    assert "make a larger batch" in reason.text


def test_a_scale_whose_step_is_not_known_is_not_judged_and_a_step_of_nothing_is_bad_input() -> None:
    assert judge_scale("resin", 1, None) == []
    for step in (0, -1):
        with pytest.raises(BadInput):
            judge_scale("resin", G, step)


@pytest.mark.parametrize(
    ("added", "expected"),
    [
        (None, []),
        ((), []),
        (("resin", "wax", "pigment", "peroxide"), []),
        (("resin", "peroxide"), []),  # nothing is missed
        (("resin", "peroxide", "peroxide", "resin"), []),  # mended twice
        (("resin", "peroxide", "wax"), ["mix.order"]),
        (("peroxide", "resin"), ["mix.order"]),
        (("resin", "promoter", "peroxide"), ["mix.order_unknown"]),
    ],
)
def test_components_go_in_in_the_recipes_order(added: tuple[str, ...] | None, expected: list[str]) -> None:
    assert codes(judge_order(PE, added)) == expected


def test_a_recipe_without_an_order_takes_any() -> None:
    assert judge_order(LAM, ("hardener", "resin")) == []


def test_all_reasons_are_given_in_one_answer() -> None:
    reasons = judge_mix(PE, 2_000 * G, 14 * G, None, G, added=("peroxide", "resin"))
    assert codes(reasons) == ["mix.ratio_low", "mix.temperature_missing", "mix.scale_too_coarse", "mix.order"]
