"""Length, area, mass and sheets of one material (R1), yarn and fabric weights."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core import convert as c
from inventory.core import textile
from inventory.core.reasons import BadInput
from inventory.core.units import Entered, MaterialProps, to_stock

pytestmark = pytest.mark.core
TWILL = MaterialProps("um", width_um=1_270_000, usable_width_um=1_250_000, areal_mg_m2=204_000, tex_ug_m=200_000)
TOW = MaterialProps("um", tex_ug_m=800_000)
RESIN = MaterialProps("ug", density_mg_cm3=1_150)
CORE = MaterialProps("pc", sheet_w_um=1_100_000, sheet_l_um=2_150_000, areal_mg_m2=800_000)


def code_of(call: object, *args: object) -> str:
    with pytest.raises(BadInput) as caught:
        call(*args)  # type: ignore[operator]
    assert caught.value.reason.text
    return f"{caught.value.reason.code} {caught.value.reason.numbers.get('property', '')}".strip()


def test_a_roll_weighs_by_its_full_width_and_is_cut_by_its_usable_width() -> None:
    # The demo shop's pack: 50 m of 204 g/m², 1 270 mm wide, weighs 12.95 kg.
    assert to_stock("50 m", None, MaterialProps("ug", width_um=1_270_000, areal_mg_m2=204_000)).value == 12_954_000_000
    assert to_stock("6.20 m", None, MaterialProps("cmm2", width_um=1_270_000, usable_width_um=1_250_000)).value == 775_000_000
    assert to_stock("6.20 m", None, MaterialProps("cmm2", width_um=1_270_000)).value == 787_400_000


def test_a_weighed_roll_kept_by_length_gives_its_length_and_says_that_it_is_nominal() -> None:
    assert to_stock("4.68 kg", None, TWILL) == Entered(18_063_918, "um", True, "kg")
    assert to_stock("18.06", "m", TWILL) == Entered(18_060_000, "um", False, "m")


def test_the_tex_of_a_fabrics_yarn_is_not_mistaken_for_the_fabrics() -> None:
    assert to_stock("1 kg", None, TWILL).value == round(Fraction(10**9 * 10**9, 1_270_000 * 204_000))


def test_tow_by_mass_goes_through_its_linear_density() -> None:
    # The demo shop's packs: a 4 kg spool of 800 tex holds 5 000 m; 20 kg of 2 400 tex 8 333 m.
    assert to_stock("4 kg", None, TOW).value == 5_000_000_000
    assert c.length_from_tex(20 * 10**9, 2_400_000) == 8_333_333_333
    assert c.mass_from_tex(5_000_000_000, 800_000) == 4 * 10**9


def test_litres_become_kilograms_through_the_density() -> None:
    assert to_stock("5 l", None, RESIN) == Entered(5_750_000_000, "ug", True, "l")
    assert c.mass_from_volume(1_000, 1_150) == 1_150_000


def test_sheets_become_area_and_whole_sheets_come_back() -> None:
    assert to_stock("3 sheets", None, MaterialProps("cmm2", sheet_w_um=1_100_000, sheet_l_um=2_150_000)).value == 709_500_000
    assert to_stock("4.73 m²", None, CORE).value == 2
    assert to_stock("3.784 kg", None, CORE).value == 2
    assert c.area_from_sheets(3, 1_100_000, 2_150_000) == 709_500_000
    assert code_of(to_stock, "4.00 m²", None, CORE) == "quantity.not_whole"


def test_one_width_alone_says_nothing_about_the_edges() -> None:
    for props in (
        MaterialProps("cmm2", width_um=1_270_000, areal_mg_m2=204_000),
        MaterialProps("cmm2", usable_width_um=9, areal_mg_m2=204_000),
    ):
        assert to_stock("204 g", None, props).value == 10**8


def test_an_areal_weight_makes_area_and_mass_of_each_other() -> None:
    assert c.mass_from_area(10**8, 204_000) == 204_000_000
    assert c.area_from_mass(204_000_000, 204_000) == 10**8


@pytest.mark.parametrize(
    ("text", "props", "code"),
    [
        ("5 m²", MaterialProps("um"), "convert.missing_property width_um"),
        ("5 kg", MaterialProps("um", width_um=1), "convert.missing_property areal_mg_m2"),
        ("5 kg", MaterialProps("um", areal_mg_m2=1), "convert.missing_property width_um"),
        ("5 kg", MaterialProps("um"), "convert.missing_property tex_ug_m"),
        ("5 kg", MaterialProps("cmm2"), "convert.missing_property areal_mg_m2"),
        ("5 l", MaterialProps("ug"), "convert.missing_property density_mg_cm3"),
        ("5 m²", MaterialProps("pc"), "convert.missing_property sheet_w_um"),
        ("5 m²", MaterialProps("pc", sheet_w_um=1), "convert.missing_property sheet_l_um"),
        ("5 kg", MaterialProps("pc", sheet_w_um=1, sheet_l_um=1), "convert.missing_property areal_mg_m2"),
        ("5 m²", MaterialProps("um", width_um=0), "convert.bad_property width_um"),
        ("5 m²", MaterialProps("um", width_um=1, usable_width_um=-1), "convert.bad_property usable_width_um"),
        ("5 l", MaterialProps("um"), "convert.no_way"),
        ("5 pc", MaterialProps("um"), "convert.no_way"),
    ],
)
def test_a_missing_property_is_named(text: str, props: MaterialProps, code: str) -> None:
    assert code_of(to_stock, text, None, props) == code


def test_the_named_steps_name_what_is_missing_too() -> None:
    assert code_of(c.length_to_area, 1, None) == "convert.missing_property width_um"
    assert code_of(c.mass_from_length, 1, 1, None) == "convert.missing_property areal_mg_m2"
    assert code_of(c.length_from_mass, 1, None, 1) == "convert.missing_property width_um"
    assert code_of(c.length_from_tex, 1, None) == "convert.missing_property tex_ug_m"


def test_a_quantity_too_big_after_conversion_is_refused() -> None:
    assert code_of(to_stock, "1000000 kg", None, MaterialProps("um", tex_ug_m=1)) == "quantity.too_big"


lengths = st.integers(1, 10**12)
widths = st.integers(1, 10**8)
areals = st.integers(1, 10**8)


@given(lengths, widths, widths, areals)
def test_every_way_round_length_area_and_mass_agrees(um: int, width: int, usable: int, areal: int) -> None:
    props = MaterialProps("um", width_um=width, usable_width_um=usable, areal_mg_m2=areal)
    area, mass = c.convert(um, "um", "cmm2", props), c.convert(um, "um", "ug", props)
    assert c.convert(mass, "ug", "cmm2", props) == area
    assert c.convert(area, "cmm2", "ug", props) == mass
    assert c.convert(area, "cmm2", "um", props) == c.convert(mass, "ug", "um", props) == um


@given(lengths, widths, areals, st.integers(1, 10**9))
def test_the_named_steps_round_once_and_by_at_most_half_a_unit(um: int, width: int, areal: int, tex: int) -> None:
    half = Fraction(1, 2)
    assert abs(c.length_to_area(um, width) - Fraction(um * width, 10**4)) <= half
    assert abs(c.area_to_length(um, width) - Fraction(um * 10**4, width)) <= half
    assert abs(c.mass_from_length(um, width, areal) - Fraction(um * width * areal, 10**9)) <= half
    assert abs(c.length_from_mass(um, width, areal) - Fraction(um * 10**9, width * areal)) <= half
    assert abs(c.mass_from_tex(um, tex) - Fraction(um * tex, 10**6)) <= half
    assert abs(c.length_from_tex(um, tex) - Fraction(um * 10**6, tex)) <= half


def test_yield_and_denier_of_a_published_tow() -> None:
    # Source: carbon fibre data sheet CFA-001 (198 tex, published 7 523 ft/lb); 0.2 %.
    assert float(textile.yards_per_pound(198_000) * 3) == pytest.approx(7_516, rel=1e-4)
    assert float(textile.yards_per_pound(198_000) * 3) == pytest.approx(7_523, rel=2e-3)
    assert float(textile.metres_per_kg(198_000)) == pytest.approx(5_050.5, abs=0.05)
    assert textile.denier(198_000) == 1_782


def test_the_trades_factors_follow_from_yard_and_pound() -> None:
    # Exact mathematics from the definitions (1959): 496 054.648 and 0.029 493 525.
    assert float(textile.yards_per_pound(1_000)) == pytest.approx(496_054.648, abs=5e-4)
    assert float(textile.oz_per_yd2(1_000)) == pytest.approx(0.029493525, abs=1e-9)
    assert float(textile.oz_per_yd2(193_000)) == pytest.approx(5.692, abs=5e-4)


@given(st.integers(1, 10**8))
def test_a_yield_given_back_is_the_same_tex(tex: int) -> None:
    assert textile.tex_from_yield(textile.yards_per_pound(tex)) == tex


def test_areal_weight_from_ends_and_picks() -> None:
    assert textile.areal_from_weave(5, 198_000, 5, 198_000) == 198_000  # exact mathematics: 5 × 5 per cm, 198 tex
    assert textile.areal_from_weave(Fraction("5.1"), 200_000, Fraction("5.1"), 200_000) == 204_000  # the demo shop's twill


def test_a_weave_without_ends_and_a_yield_of_zero_are_refused() -> None:
    assert code_of(textile.areal_from_weave, 0, 1, 1, 1) == "convert.bad_property ends"
    assert code_of(textile.areal_from_weave, 1, 1, 1, -1) == "convert.bad_property tex_ug_m"
    assert code_of(textile.tex_from_yield, 0) == "convert.bad_property yield"
    assert code_of(textile.yards_per_pound, 0) == "convert.bad_property tex_ug_m"
