"""Equivalent weights, ratios by weight and volume, doses, and how much to mix."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.core.mixing import Recipe, judge_ratio
from inventory.core.reasons import BadInput
from inventory.core.stoichiometry import (
    Layer,
    batch_size,
    blend_weight,
    by_volume,
    by_weight,
    cost_of_overmixing,
    dose,
    equivalent_weight,
    groups_ratio,
    judge_doses,
    judge_plausible,
    limits_around,
    phr,
)

G = 1_000_000
M2 = 10**8
LAM = Recipe("amine", 240_000, 250_000, 260_000)
# Suppliers' technical notes: resins 1.0–2.5 % (1.25–2.0 preferred), gelcoat 1.2–3 %.
PEROXIDE = Recipe("peroxide", 10_000, 15_000, 25_000, order=("resin", "promoter", "peroxide"))
PROMOTER = Recipe("acid", 1_000, 2_000, 5_000)


# --- values from outside -------------------------------------------------------------------------


def test_the_equivalent_weight_of_a_blend_with_filler() -> None:
    """A supplier's sheet "Calculating equivalent weight of epoxy mixtures", example 1: 80 @ 189 + 10 @ 183 + 10 filler → 209."""
    assert float(blend_weight([(80, 189), (10, 183), (10, None)])) == pytest.approx(209.24, abs=0.005)


def test_parts_per_hundred_of_that_blend() -> None:
    """The same sheet, example 2: AHEW 43 on 209 → 20.6."""
    assert float(phr(43, 209)) == pytest.approx(20.574, abs=5e-4)


def test_deta_and_teta() -> None:
    """Amine curing tables: DETA 103.17 g/mol, five active hydrogens → 20.6, 10.3 phr at EEW 200. TETA (146.23 g/mol and six, from memory)
    13 phr at EEW 188: a study of DGEBA/TETA at 5, 13, 20 phr."""
    deta = equivalent_weight(Fraction("103.17"), 5)
    assert float(deta) == pytest.approx(20.6, abs=0.05)
    assert float(phr(deta, 200)) == pytest.approx(10.3, abs=0.05)
    assert float(phr(equivalent_weight(Fraction("146.23"), 6), 188)) == pytest.approx(12.96, abs=0.01)


def test_a_quarter_more_is_mixed_when_a_fifth_is_lost() -> None:
    """Exact: 2 m² of two plies at 200 g/m² is 800 g; at half fibre 800 g of resin; 20 % lost of the mix → 1 000 g, at 25 per 100."""
    batch = batch_size([Layer(200_000, 2 * M2, 2)], 500_000, LAM, waste_ppm=200_000)
    assert (batch.fibre_ug, batch.laminate_ug, batch.whole_ug) == (800 * G, 800 * G, 1_000 * G)
    assert [(p.what, p.mass_ug) for p in batch.parts] == [("resin", 800 * G), ("hardener", 200 * G)]


def test_fillers_and_pigment_count_on_base_resin() -> None:
    """Exact: of 1 290 g with 25 hardener, 3 pigment and 1 thickener per 100 resin, 1 000 g are resin."""
    batch = batch_size([], 500_000, LAM, waste_ppm=0, others=[("pigment", 30_000), ("thickener", 10_000)], extra_ug=1_290 * G)
    assert [(p.what, p.mass_ug) for p in batch.parts] == [
        ("resin", 1_000 * G),
        ("hardener", 250 * G),
        ("pigment", 30 * G),
        ("thickener", 10 * G),
    ]


# --- ratios --------------------------------------------------------------------------------------


def test_by_volume_a_light_hardener_takes_more_room() -> None:
    """Exact: 100 : 25 by mass with 1.15 and 0.95 g/cm³ is 100 : 30.263 by volume."""
    volume = by_volume(250_000, 1150, 950)
    assert volume == Fraction(250_000 * 1150, 950)
    assert by_weight(volume, 1150, 950) == 250_000


@given(st.integers(1_000, 2_000_000), st.integers(700, 2500), st.integers(700, 2500))
def test_weight_and_volume_are_each_others_inverse(ppm: int, resin: int, hardener: int) -> None:
    assert by_weight(by_volume(ppm, resin, hardener), resin, hardener) == ppm


def test_the_groups_balance_at_the_computed_ratio() -> None:
    ppm = phr(43, 209) * 10_000
    assert groups_ratio(43, 209, round(ppm)) == pytest.approx(1.0, abs=1e-5)
    assert groups_ratio(43, 209, round(ppm / 3)) == pytest.approx(1 / 3, abs=1e-5)


def test_a_ratio_that_the_groups_do_not_bear_out_is_told_and_not_refused() -> None:
    assert judge_plausible(205_740, 43, 209) == []
    assert judge_plausible(230_000, 43, 209) == []
    (reason,) = judge_plausible(430_000, 43, 209)
    assert (reason.code, reason.cap) == ("mix.implausible_ratio", False)
    assert reason.text.startswith("The ratio of 43.00 per 100 does not fit the equivalent weights, which give 20.6")
    assert "supplier's ratio governs" in reason.text


@given(st.integers(1_000, 3_000_000), st.integers(0, 400_000))
def test_limits_around_a_target_are_within_the_tolerance_and_make_a_recipe(target: int, tolerance: int) -> None:
    low, middle, high = limits_around(target, tolerance)
    recipe = Recipe("amine", low, middle, high)
    assert recipe.target_ppm == target
    assert (target - low) * 1_000_000 <= tolerance * target
    assert (high - target) * 1_000_000 <= tolerance * target


# --- doses ---------------------------------------------------------------------------------------


@given(st.integers(1_000, 50_000 * G), st.sampled_from([LAM, PEROXIDE, PROMOTER]))
def test_each_end_of_a_dose_is_allowed_and_one_more_is_not(resin: int, recipe: Recipe) -> None:
    window = dose(recipe, resin)
    assert window.low_ug <= window.target_ug <= window.high_ug
    for mass in (window.low_ug, window.target_ug, window.high_ug):
        assert judge_ratio(recipe, resin, mass) == []
    assert [r.code for r in judge_ratio(recipe, resin, window.high_ug + 1)] == ["mix.ratio_high"]
    assert [r.code for r in judge_ratio(recipe, resin, window.low_ug - 1)] == ["mix.ratio_low"]


def test_peroxide_for_two_kilograms() -> None:
    """Exact: 1.0, 1.5 and 2.5 % of 2 000 g."""
    window = dose(PEROXIDE, 2_000 * G)
    assert (window.what, window.low_ug, window.target_ug, window.high_ug) == ("peroxide", 20 * G, 30 * G, 50 * G)


def test_so_little_resin_that_no_dose_can_be_weighed_is_refused() -> None:
    with pytest.raises(BadInput) as caught:
        dose(Recipe("peroxide", 10_500, 10_500, 10_600), 30)
    assert caught.value.reason.code == "mix.too_small"


def test_promoter_after_peroxide_is_a_reason_nobody_may_override() -> None:
    assert judge_doses(1_000 * G, PROMOTER, 2 * G, PEROXIDE, 15 * G) == []
    wrong = Recipe("peroxide", 10_000, 15_000, 25_000, order=("resin", "peroxide", "promoter"))
    (reason,) = judge_doses(1_000 * G, PROMOTER, 2 * G, wrong, 15 * G)
    assert (reason.code, reason.cap) == ("mix.promoter_first", True)
    assert [r.code for r in judge_doses(1_000 * G, PROMOTER, 20 * G, PEROXIDE, 5 * G)] == ["mix.ratio_high", "mix.ratio_low"]


# --- the batch -----------------------------------------------------------------------------------


@given(
    st.lists(st.builds(Layer, st.integers(20_000, 2_000_000), st.integers(10**5, 10**10), st.integers(1, 12)), min_size=1, max_size=6),
    st.integers(100_000, 900_000),
    st.integers(0, 600_000),
    st.lists(st.tuples(st.sampled_from(["pigment", "wax", "filler"]), st.integers(1_000, 900_000)), max_size=3),
)
def test_a_batch_holds_what_the_laminate_asks_and_its_parts_sum_to_it(layers: Any, fibre: int, waste: int, others: Any) -> None:
    batch = batch_size(layers, fibre, LAM, waste_ppm=waste, others=others)
    assume(batch.whole_ug > 10_000_000)
    assert sum(p.mass_ug for p in batch.parts) == batch.whole_ug
    assert batch.fibre_ug / (batch.fibre_ug + batch.laminate_ug) == pytest.approx(fibre / 1e6, rel=1e-6)
    assert batch.laminate_ug / batch.whole_ug == pytest.approx(1 - waste / 1e6, rel=1e-6)
    resin, hardener = batch.parts[0].mass_ug, batch.parts[1].mass_ug
    assert hardener / resin == pytest.approx(0.25, rel=1e-5)
    assert judge_ratio(LAM, resin, hardener) == []


def test_what_was_mixed_too_much_has_its_price() -> None:
    assert cost_of_overmixing(1_250 * G, 1_000 * G, Fraction(18)) == Fraction(9, 2)
    assert cost_of_overmixing(900 * G, 1_000 * G, Fraction(18)) == 0


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: equivalent_weight(100, 0), "mix.equivalent"),
        (lambda: equivalent_weight(float("nan"), 2), "mix.equivalent"),  # type: ignore[arg-type]
        (lambda: blend_weight([(10, None)]), "mix.equivalent"),
        (lambda: blend_weight([(-1, 100)]), "mix.equivalent"),
        (lambda: phr(0, 100), "mix.equivalent"),
        (lambda: by_volume(250_000, 0, 950), "mix.equivalent"),
        (lambda: limits_around(250_000, 1_000_000), "mix.recipe"),
        (lambda: batch_size([], 500_000, LAM, waste_ppm=0), "mix.batch"),
        (lambda: batch_size([Layer(200_000, M2)], 0, LAM, waste_ppm=0), "mix.batch"),
        (lambda: batch_size([Layer(200_000, M2)], 1_000_000, LAM, waste_ppm=0), "mix.batch"),
        (lambda: batch_size([Layer(200_000, M2)], 500_000, LAM, waste_ppm=1_000_000), "mix.batch"),
        (lambda: batch_size([Layer(200_000, M2, 0)], 500_000, LAM, waste_ppm=0), "mix.batch"),
        (lambda: batch_size([Layer(0, M2)], 500_000, LAM, waste_ppm=0), "mix.equivalent"),
        (lambda: cost_of_overmixing(-1, 0, Fraction(1)), "mix.batch"),
    ],
)
def test_figures_that_cannot_be_are_refused_with_their_code(make: Any, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        make()
    assert caught.value.reason.code == code
