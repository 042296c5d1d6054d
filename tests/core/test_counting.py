"""Counts by weight, diameter and measure (R4)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.convert import MaterialProps, mass_from_length
from inventory.core.counting import Counted, by_diameter, by_measure, by_weight
from inventory.core.reasons import BadInput, Reason
from inventory.core.units import display

pytestmark = pytest.mark.core
KG = 10**9
TWILL = MaterialProps("um", width_um=1_270_000, usable_width_um=1_250_000, areal_mg_m2=204_000)


def test_a_twill_roll_weighed_less_its_core_gives_its_length_to_the_centimetre() -> None:
    # The storekeeper's day: 6.28 − 1.60 = 4.68 kg over 0.204 × 1.270 is 18.06 m; the book said 18.40.
    counted = by_weight(6_280_000_000, 1_600_000_000, TWILL)
    assert counted == Counted(18_063_918, "um", True, "count by weight")
    assert display(counted.value, "um") == "18.06 m"
    assert display(counted.value - 18_400_000, "um") == "−0.34 m"


def test_a_can_of_resin_is_weighed_exactly_and_a_spool_by_its_tex() -> None:
    assert by_weight(13 * KG, 600_000_000, MaterialProps("ug")) == Counted(12_400_000_000, "ug", False, "count by weight")
    assert by_weight(4_300_000_000, 300_000_000, MaterialProps("um", tex_ug_m=800_000)) == Counted(
        5_000_000_000, "um", True, "count by weight"
    )


def test_an_empty_core_counts_as_nothing_left() -> None:
    assert by_weight(KG, KG, TWILL) == Counted(0, "um", True, "count by weight")
    assert by_diameter(76_000, 76_000, 250) == Counted(0, "um", True, "count by diameter")


def test_a_roll_lighter_than_its_core_is_refused_with_both_masses() -> None:
    reason = by_weight(1_500_000_000, 1_600_000_000, TWILL)
    assert isinstance(reason, Reason) and reason.code == "count.gross_below_tare"
    assert reason.numbers == {"gross_ug": 1_500_000_000, "tare_ug": 1_600_000_000}
    assert "1.50 kg gross" in reason.text and "(1.60 kg)" in reason.text


def test_length_from_diameter_is_that_of_the_spiral() -> None:
    # Exact mathematics: 0.300/0.076 m, 0.25 mm → 264.597 m (relative 1e-6; whole turns would give 0.4 % less).
    counted = by_diameter(300_000, 76_000, 250)
    assert isinstance(counted, Counted) and counted.nominal
    assert counted.value == pytest.approx(264_597_000, abs=500)
    assert counted.value / 1e6 == pytest.approx(math.pi * (0.3**2 - 0.076**2) / (4 * 0.25e-3), rel=1e-8)


def test_a_roll_without_a_core_counts_from_the_middle() -> None:
    counted = by_diameter(2_000, 0, 100)
    assert isinstance(counted, Counted) and counted.value == 31_416  # π · 2² / (4 · 0.1) mm


def test_a_roll_thinner_than_its_core_is_refused_with_both_diameters() -> None:
    reason = by_diameter(75_000, 76_000, 250)
    assert isinstance(reason, Reason) and reason.code == "count.diameter_below_core"
    assert reason.numbers == {"outer_um": 75_000, "core_um": 76_000}
    assert "75.0 mm" in reason.text and "(76.0 mm)" in reason.text


def test_a_count_beyond_what_can_be_kept_is_refused() -> None:
    for reason in (by_diameter(10**10, 0, 1), by_weight(10**15, 0, MaterialProps("um", tex_ug_m=1))):
        assert isinstance(reason, Reason) and reason.code == "count.too_big"
    assert isinstance(by_weight(10**15, 0, MaterialProps("ug")), Counted)


def test_what_is_measured_directly_is_taken_as_it_is() -> None:
    assert by_measure(11_860_000, "um") == Counted(11_860_000, "um", False, "count by length")
    assert by_measure(0, "pc") == Counted(0, "pc", False, "count by pieces")
    assert by_measure(5, "ug").how == "count by mass"


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: by_weight(-1, 0, TWILL), "quantity.negative"),
        (lambda: by_weight(1, -1, TWILL), "quantity.negative"),
        (lambda: by_diameter(-1, 0, 250), "quantity.negative"),
        (lambda: by_diameter(1, -1, 250), "quantity.negative"),
        (lambda: by_measure(-1, "um"), "quantity.negative"),
        (lambda: by_weight(KG, 0, MaterialProps("pc")), "count.pieces"),
        (lambda: by_weight(KG, 0, MaterialProps("um", width_um=1)), "convert.missing_property"),
        (lambda: by_diameter(1, 0, None), "convert.missing_property"),
        (lambda: by_diameter(1, 0, 0), "convert.bad_property"),
    ],
)
def test_what_cannot_be_counted_says_what_is_wrong(call: object, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()  # type: ignore[operator]
    assert caught.value.reason.code == code


@given(st.integers(0, 10**9), st.integers(10**5, 3 * 10**6), st.integers(50_000, 2_000_000), st.integers(0, 5 * KG))
def test_weighing_a_known_length_gives_it_back_to_the_micrometre_or_two(um: int, width: int, areal: int, tare: int) -> None:
    gross = mass_from_length(um, width, areal) + tare
    counted = by_weight(gross, tare, MaterialProps("um", width_um=width, areal_mg_m2=areal))
    # One µg is at most 10⁹/(width · areal) µm long.
    assert isinstance(counted, Counted) and abs(counted.value - um) <= 1 + 10**9 / (2 * width * areal)


@given(st.integers(1, 10**6), st.integers(0, 10**6), st.integers(0, 10**6), st.integers(1, 10**4))
def test_what_lies_on_a_core_and_on_that_adds_up(core: int, inner: int, outer: int, thickness: int) -> None:
    steps = [by_diameter(core + inner, core, thickness), by_diameter(core + inner + outer, core + inner, thickness)]
    whole = by_diameter(core + inner + outer, core, thickness)
    assert abs(sum(step.value for step in steps if isinstance(step, Counted)) - (whole.value if isinstance(whole, Counted) else 0)) <= 1
