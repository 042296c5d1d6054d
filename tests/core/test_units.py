"""Quantities as typed, as stored, as shown. Oracle: the units library `pint`, with fractions instead of floats."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.core import units
from inventory.core.reasons import BadInput
from inventory.core.units import MAX, display, parse, unit_named

pytestmark = pytest.mark.core
PINT = pint.UnitRegistry(non_int_type=Fraction)
BASE_IN_PINT = {"um": "um", "cmm2": "0.01 mm**2", "ug": "ug", "ul": "mm**3", "ug_m": "ug/m", "mg_m2": "mg/m**2", "mg_cm3": "mg/cm**3"}
IN_PINT = {
    **{name: name for name in ("m", "cm", "mm", "km", "yd", "ft", "in", "kg", "g", "mg", "lb", "oz", "l", "ml", "tex", "den")},
    "µm": "um",
    "µg": "ug",
    "µl": "mm**3",
    "t": "tonne",
    "US gal": "gallon",
    "US qt": "quart",
    "cmm2": "0.01 mm**2",
    **{f"{side}²": f"{side}**2" for side in ("m", "cm", "mm", "yd", "ft", "in")},
    "µg/m": "ug/m",
    "g/m²": "g/m**2",
    "mg/m²": "mg/m**2",
    "oz/yd²": "oz/yd**2",
    "g/cm³": "g/cm**3",
    "kg/m³": "kg/m**3",
}
SYMBOLS = [unit.symbol for unit, _ in units._TABLE]


def refused(*args: object, **kwargs: object) -> BadInput:
    with pytest.raises(BadInput) as caught:
        parse(*args, **kwargs)  # type: ignore[arg-type]
    assert caught.value.reason.text
    return caught.value


def code_of(*args: object, **kwargs: object) -> str:
    return refused(*args, **kwargs).reason.code


@pytest.mark.parametrize(
    ("text", "unit", "base", "value"),
    [
        ("6.20", "m", "um", 6_200_000),
        ("6,20", "m", "um", 6_200_000),
        ("6.20 m", None, "um", 6_200_000),
        (" 6.20m ", None, "um", 6_200_000),
        ("100 yd", None, "um", 91_440_000),
        ("4.68 kg", None, "ug", 4_680_000_000),
        ("14 g", None, "ug", 14_000_000),
        ("3 lb", None, "ug", 1_360_777_110),
        ("+0.5", "m²", "cmm2", 50_000_000),
        (",5", "m", "um", 500_000),
        ("0,204", "m", "um", 204_000),
        ("1234,567", "m", "um", 1_234_567_000),
        ("1,2345", "m", "um", 1_234_500),
        ("1.234", "m", "um", 1_234_000),
        ("1 000 m", None, "um", 10**9),
        ("12\u00a0000,5 m", None, "um", 12_000_500_000),
        ("6", None, "pc", 6),
        ("6 pieces", None, "pc", 6),
        ("2 sheets", None, "pc", 2),
        ("5", "um", "um", 5),
        ("12", "FT.", "um", 3_657_600),
        ('3"', None, "um", 76_200),
        ("3 sq. yd", None, "cmm2", 250_838_208),
        ("3 square metres", None, "cmm2", 3 * 10**8),
        ("3 sqft", None, "cmm2", 27_870_912),
        ("3 m^2", None, "cmm2", 3 * 10**8),
        ("3 MTK", None, "cmm2", 3 * 10**8),
        ("198 tex", None, "ug_m", 198_000),
    ],
)
def test_a_quantity_is_read_as_the_person_means_it(text: str, unit: str | None, base: str, value: int) -> None:
    assert parse(text, unit, base) == value


def test_a_unit_in_the_text_counts_before_the_unit_beside_the_box() -> None:
    assert parse("100 yd", "m", "um") == 91_440_000


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "NaN",
        "nan",
        "Infinity",
        "-inf",
        "1e999",
        "1e3",
        "1E-3",
        "9e999999999",
        "m",
        "..",
        "5.",
        "1.2.3",
        "1,2,3",
        "--5",
        "٣",
        "12 34",
        "1,234 567",
        "9" * 65,
    ],
)
def test_what_is_not_a_plain_number_is_refused(text: str) -> None:
    assert code_of(text, "m", "um") == "quantity.not_a_number"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1,234", "1.234 or 1234"),
        ("999,000 m", "999.000 or 999000"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("1.234.567", "1234567"),
        ("1,234,567", "1234567"),
        ("1.234.567,89 m", "1234567.89"),
    ],
)
def test_a_number_that_can_be_read_in_two_ways_is_refused_with_what_to_type(text: str, told: str) -> None:
    error = refused(text, "m", "um")
    assert error.reason.code == "quantity.ambiguous"
    assert f"type {told}." in error.reason.text


def test_a_message_repeats_at_most_a_few_printable_characters() -> None:
    error = refused("\x00\x1b[31m" + "a" * 50, "m", "um")
    assert error.reason.numbers["given"] == "\ufffd\ufffd[31m" + "a" * 18 + "…"


def test_an_unknown_unit_is_refused_and_so_is_none_at_all() -> None:
    assert code_of("6.20 furlong", None, "um") == "quantity.unknown_unit"
    assert code_of("6.20", "furlong", "um") == "quantity.unknown_unit"
    assert code_of("6.20 sq furlong", None, "cmm2") == "quantity.unknown_unit"
    assert code_of("6.20 gal", None, "ul") == "quantity.unknown_unit"  # US or imperial: not to be guessed
    error = refused("6.20", None, "ug")
    assert error.reason.code == "quantity.unknown_unit" and "“6.20 kg”" in error.reason.text


def test_a_unit_of_another_dimension_is_refused_with_what_is_needed() -> None:
    error = refused("3 kg", None, "um")
    assert error.reason.code == "quantity.unit_mismatch"
    assert error.reason.text == "kg measures mass; here length is needed, for example in m."


def test_below_zero_is_refused_unless_asked_for() -> None:
    assert code_of("-3", "m", "um") == "quantity.negative"
    assert code_of("−3", "m", "um") == "quantity.negative"
    assert code_of("-1e20", "m", "um") == "quantity.not_a_number"
    assert parse("−3 m", None, "um", allow_negative=True) == -3_000_000


def test_zero_and_what_rounds_to_zero_are_refused_unless_asked_for() -> None:
    assert code_of("0", "m", "um") == "quantity.zero"
    assert code_of("-0", "m", "um") == "quantity.zero"
    assert code_of("0.0000005", "m", "um") == "quantity.zero"
    assert parse("0", "m", "um", allow_zero=True) == 0


def test_more_than_can_be_kept_is_refused_at_the_limit_and_not_before() -> None:
    assert parse("1000000000", "m", "um") == MAX
    assert code_of("1000000000.000001", "m", "um") == "quantity.too_big"
    assert code_of("-1000000000.000001", "m", "um", allow_negative=True) == "quantity.too_big"
    assert code_of("9" * 60, "m", "um") == "quantity.too_big"


def test_pieces_are_whole() -> None:
    error = refused("2.5", "pc", "pc")
    assert error.reason.code == "quantity.not_whole" and "2.500" in error.reason.text
    assert parse("2.0", "pc", "pc") == 2


def test_what_falls_between_two_base_units_rounds_half_to_even() -> None:
    assert [parse(f"{n}.5", "µm", "um") for n in (1, 2, 3)] == [2, 2, 4]
    assert parse("2.51", "µm", "um") == 3


# Source: definitions of the international yard and pound (1959), exact.
@pytest.mark.parametrize(
    ("text", "base", "value"),
    [
        ("1 in²", "cmm2", 64_516),
        ("1 ft²", "cmm2", 9_290_304),
        ("1 yd²", "cmm2", 83_612_736),
        ("1 in", "um", 25_400),
        ("16 oz", "ug", 453_592_370),
    ],
)
def test_inch_foot_yard_and_pound_are_exact(text: str, base: str, value: int) -> None:
    assert parse(text, None, base) == value
    assert unit_named(text.split()[1]).factor.denominator in (1, 8)


def test_every_unit_but_the_piece_is_checked_against_the_oracle() -> None:
    assert set(SYMBOLS) == set(IN_PINT) | {"pc"}


@pytest.mark.parametrize("symbol", sorted(IN_PINT))
@given(number=st.decimals(0, 10**6, places=4))
@settings(max_examples=20)
def test_any_number_in_any_unit_agrees_with_the_units_library(symbol: str, number: Decimal) -> None:
    unit = unit_named(symbol)
    quantity = PINT.Quantity(Fraction(number)) * PINT.parse_expression(IN_PINT[symbol])
    base = PINT.parse_expression(BASE_IN_PINT[unit.base])
    expected = Fraction((quantity / base).to("").magnitude)
    if expected <= MAX:
        assert parse(f"{number:f}", symbol, unit.base, allow_zero=True) == round(expected)
    else:
        assert code_of(f"{number:f}", symbol, unit.base) == "quantity.too_big"


@pytest.mark.parametrize(
    ("value", "base", "shows"),
    [
        (11_860_000, "um", "11.86 m"),
        (54_000_000, "cmm2", "0.54 m²"),
        (400_000_000, "ug", "400.0 g"),
        (12_400_000_000, "ug", "12.40 kg"),
        (6, "pc", "6 pieces"),
        (1, "pc", "1 piece"),
        (-2, "pc", "−2 pieces"),
        (0, "um", "0.00 m"),
        (0, "ug", "0.00 kg"),
        (-340_000, "um", "−0.34 m"),
        (99_999, "um", "100.0 mm"),
        (100_000, "um", "0.10 m"),
        (3_000, "um", "3.0 mm"),
        (999, "um", "999 µm"),
        (400_000, "cmm2", "40.0 cm²"),
        (9_999, "cmm2", "99.99 mm²"),
        (1_000_000, "ug", "1.0 g"),
        (400_000, "ug", "400.0 mg"),
        (999, "ug", "999 µg"),
        (10**9, "ug", "1.00 kg"),
        (5_500_000, "ul", "5.50 l"),
        (198_000, "ug_m", "198.0 tex"),
        (204_000, "mg_m2", "204.0 g/m²"),
        (1_790, "mg_cm3", "1.79 g/cm³"),
    ],
)
def test_a_quantity_is_shown_as_the_trade_writes_it(value: int, base: str, shows: str) -> None:
    assert display(value, base) == shows


@pytest.mark.parametrize(
    ("value", "base", "shows"),
    [
        (11_860_000, "um", "12.97 yd"),
        (914_399, "um", "36.00 in"),
        (100_000_000, "cmm2", "10.76 ft²"),
        (54_000, "cmm2", "0.84 in²"),
        (12_400_000_000, "ug", "27.34 lb"),
        (400_000_000, "ug", "14.11 oz"),
        (193_000, "mg_m2", "5.69 oz/yd²"),
        (6, "pc", "6 pieces"),
        (1, "um", "0.00004 in"),
    ],
)
def test_the_same_quantity_in_us_units(value: int, base: str, shows: str) -> None:
    assert display(value, base, "us") == shows


def test_the_unit_can_be_chosen_but_not_a_wrong_one() -> None:
    assert display(6_200_000, "um", unit="ft") == "20.34 ft"
    with pytest.raises(BadInput) as caught:
        display(6_200_000, "um", unit="kg")
    assert caught.value.reason.code == "quantity.unit_mismatch"


DECIMALS = {
    0: "µm cmm2 µg µl ml pc den µg/m mg/m² kg/m³",
    1: "cm mm cm² g mg tex g/m²",
    2: "m yd ft in m² mm² yd² ft² in² kg lb oz l oz/yd² g/cm³",
    3: "km t",
}


def test_every_unit_has_its_usual_number_of_decimals() -> None:
    usual = {symbol: places for places, symbols in DECIMALS.items() for symbol in symbols.split()} | {"US gal": 2, "US qt": 2}
    assert {symbol: unit_named(symbol).places for symbol in SYMBOLS} == usual


@pytest.mark.parametrize(
    ("least", "base", "system", "at", "below"),
    [
        (10**5, "um", "metric", "m", "mm"),
        (10**3, "um", "metric", "mm", "µm"),
        (10**7, "cmm2", "metric", "m²", "cm²"),
        (10**4, "cmm2", "metric", "cm²", "mm²"),
        (10**9, "ug", "metric", "kg", "g"),
        (10**6, "ug", "metric", "g", "mg"),
        (10**3, "ug", "metric", "mg", "µg"),
        (914_400, "um", "us", "yd", "in"),
        (9_290_304, "cmm2", "us", "ft²", "in²"),
        (453_592_370, "ug", "us", "lb", "oz"),
    ],
)
def test_the_unit_shown_changes_at_its_step_and_not_beside_it(least: int, base: str, system: units.System, at: str, below: str) -> None:
    assert [display(sign * least, base, system).split()[1] for sign in (1, -1)] == [at, at]
    assert [display(sign * (least - 1), base, system).split()[1] for sign in (1, -1)] == [below, below]


def test_a_small_value_gets_more_decimals_where_it_would_be_off_by_over_a_twentieth() -> None:
    assert display(21, "um", unit="mm") == "0.02 mm"  # off by 1 in 21
    assert display(19, "um", unit="mm") == "0.019 mm"  # 0.02 would be off by 1 in 19
    assert display(20 * 25_400 // 100, "um", unit="in") == "0.20 in"


@given(value=st.integers(-MAX, MAX), symbol=st.sampled_from(SYMBOLS))
@example(value=MAX, symbol="yd")
def test_out_to_any_display_unit_and_back_is_the_same_integer(value: int, symbol: str) -> None:
    base = unit_named(symbol).base
    text = display(value, base, unit=symbol, exact=True)
    assert parse(text, None, base, allow_zero=True, allow_negative=True) == value


@given(value=st.integers(-MAX // 2, MAX // 2), base=st.sampled_from(units.BASES), system=st.sampled_from(["metric", "us"]))
def test_what_is_shown_is_never_zero_for_something_and_never_far_off(value: int, base: str, system: units.System) -> None:
    text = display(value, base, system)
    back = parse(text, None, base, allow_zero=True, allow_negative=True)
    assert (back == 0) == (value == 0)
    assert abs(back - value) <= Fraction(abs(value), 20) + 1
    assert parse(display(value, base, system, exact=True), None, base, allow_zero=True, allow_negative=True) == value


def test_two_quantities_that_differ_never_look_the_same_in_a_refusal() -> None:
    assert units.display_apart("um", 11_860_000, 12_000_000) == ["11.86 m", "12.00 m"]
    assert units.display_apart("um", 11_860_000, 11_860_001) == ["11.86 m", "11.860001 m"]
    assert units.display_apart("um", 11_860_000, 11_860_000) == ["11.86 m", "11.86 m"]
    assert units.display_apart("ug", 10**9, 10**9 + 1, system="us") == ["2.204622622 lb", "2.204622624 lb"]


@given(st.text(), st.none() | st.text())
def test_any_text_is_either_a_quantity_or_refused_with_a_reason(text: str, unit: str | None) -> None:
    try:
        assert 0 < parse(text, unit, "um") <= MAX
    except BadInput as error:
        assert error.reason.code.startswith("quantity.")


@pytest.mark.parametrize(
    ("base", "metric", "us"), [("um", "m", "yd"), ("cmm2", "m²", "ft²"), ("ug", "kg", "lb"), ("pc", "pc", "pc"), ("ug_m", "tex", "tex")]
)
def test_the_usual_unit_of_a_bare_number(base: str, metric: str, us: str) -> None:
    assert (units.usual_unit(base), units.usual_unit(base, "us")) == (metric, us)
