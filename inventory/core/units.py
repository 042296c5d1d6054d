"""Exact quantities: what a person types becomes an integer in a base unit, and back.

Stored bases: um (µm), cmm2 (0.01 mm²: an inch², foot² and yard² are whole numbers of it), ug (µg), pc (pieces). Entered
only: ul (mm³, for cans in litres). Properties: ug_m (linear density), mg_m2 (areal weight), mg_cm3 (density). Inch, foot,
yard and pound are exact by definition (1959). A number that does not land on the base rounds half-even, once, here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Literal

from inventory.core.convert import DIMENSIONS, MaterialProps, convert
from inventory.core.numerals import leading_number, plain, shown
from inventory.core.ownunits import INSTEAD
from inventory.core.reasons import BadInput
from inventory.core.said import Measured, say, say_n

__all__ = [
    "BASES",
    "MAX",
    "Entered",
    "MaterialProps",
    "Unit",
    "display",
    "display_apart",
    "exact",
    "parse",
    "to_stock",
    "unit_named",
    "usual_unit",
]

System = Literal["metric", "us"]
BASES = ("um", "cmm2", "ug", "pc")
MAX = 10**15
_KNOWN = say("mm, cm, m, in, ft, yd, m², ft², yd², g, kg, oz, lb, l, pc")
_LB = Fraction(453_592_370)
_WORDS = DIMENSIONS | {"ug_m": say("linear density"), "mg_m2": say("areal weight"), "mg_cm3": say("density")}


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as shown ("m²"), its base, how many base units it is, and the decimals it is usually shown with."""

    symbol: str
    base: str
    factor: Fraction
    places: int


def _unit(symbol: str, base: str, factor: int | Fraction, places: int) -> Unit:
    return Unit(symbol, base, Fraction(factor), places)


_TABLE: tuple[tuple[Unit, str], ...] = (
    (_unit("m", "um", 10**6, 2), "mtr metre metres meter meters"),
    (_unit("cm", "um", 10**4, 1), "centimetre centimetres centimeter centimeters"),
    (_unit("mm", "um", 10**3, 1), "millimetre millimetres millimeter millimeters"),
    (_unit("µm", "um", 1, 0), "micron microns"),
    (_unit("km", "um", 10**9, 3), "kilometre kilometres kilometer kilometers"),
    (_unit("yd", "um", 914_400, 2), "yds yard yards"),
    (_unit("ft", "um", 304_800, 2), "foot feet '"),
    (_unit("in", "um", 25_400, 2), 'inch inches "'),
    (_unit("m²", "cmm2", 10**8, 2), "mtk"),
    (_unit("cm²", "cmm2", 10**4, 1), ""),
    (_unit("mm²", "cmm2", 10**2, 2), ""),
    (_unit("cmm2", "cmm2", 1, 0), ""),
    (_unit("yd²", "cmm2", 83_612_736, 2), ""),
    (_unit("ft²", "cmm2", 9_290_304, 2), ""),
    (_unit("in²", "cmm2", 64_516, 2), ""),
    (_unit("kg", "ug", 10**9, 2), "kgm kgs kilo kilos kilogram kilograms"),
    (_unit("g", "ug", 10**6, 1), "grm gram grams"),
    (_unit("mg", "ug", 10**3, 1), "milligram milligrams"),
    (_unit("µg", "ug", 1, 0), "microgram micrograms"),
    (_unit("t", "ug", 10**12, 3), "tne tonne tonnes"),
    (_unit("lb", "ug", _LB, 2), "lbs lbr pound pounds"),
    (_unit("oz", "ug", _LB / 16, 2), "onz ounce ounces"),
    (_unit("l", "ul", 10**6, 2), "ltr litre litres liter liters"),
    (_unit("ml", "ul", 10**3, 0), "millilitre millilitres milliliter milliliters"),
    (_unit("µl", "ul", 1, 0), ""),
    (_unit("US gal", "ul", Fraction(231 * 254**3, 1000), 2), ""),
    (_unit("US qt", "ul", Fraction(231 * 254**3, 4000), 2), ""),
    (_unit("pc", "pc", 1, 0), "pcs piece pieces sheet sheets c62 ea each"),
    (_unit("tex", "ug_m", 10**3, 1), ""),
    (_unit("den", "ug_m", Fraction(1000, 9), 0), "denier"),
    (_unit("µg/m", "ug_m", 1, 0), "ug_m"),
    (_unit("g/m²", "mg_m2", 10**3, 1), "gsm"),
    (_unit("oz/yd²", "mg_m2", _LB / 16 * 10**9 / 914_400**2, 2), ""),
    (_unit("mg/m²", "mg_m2", 1, 0), "mg_m2"),
    (_unit("g/cm³", "mg_cm3", 1000, 2), ""),
    (_unit("kg/m³", "mg_cm3", 1, 0), "mg_cm3"),
)


def _key(text: str) -> str:
    """One spelling for a unit: case, dots, µ, raised figures and "square" do not matter."""
    key = text.casefold().strip().rstrip(".")
    for old, new in (("µ", "u"), ("μ", "u"), ("²", "2"), ("³", "3"), ("^", ""), ("square ", "sq "), (" / ", "/")):
        key = key.replace(old, new)
    if key.startswith("sq"):
        side = _UNITS.get(key[2:].lstrip(". "))
        key = f"{side.symbol}2" if side else key
    return key


_UNITS: dict[str, Unit] = {}
_UNITS.update({_key(name): unit for unit, names in _TABLE for name in (unit.symbol, *names.split())})

# The unit to show a value in: the first whose threshold (in base units) the value reaches.
_LADDERS: dict[tuple[str, str], tuple[tuple[str, int], ...]] = {
    ("metric", "um"): (("m", 10**5), ("mm", 10**3), ("µm", 0)),
    ("metric", "cmm2"): (("m²", 10**7), ("cm²", 10**4), ("mm²", 0)),
    ("metric", "ug"): (("kg", 10**9), ("g", 10**6), ("mg", 10**3), ("µg", 0)),
    ("us", "um"): (("yd", 914_400), ("in", 0)),
    ("us", "cmm2"): (("ft²", 9_290_304), ("in²", 0)),
    ("us", "ug"): (("lb", 453_592_370), ("oz", 0)),
    ("us", "mg_m2"): (("oz/yd²", 0),),
}
_ALWAYS = {"ul": "l", "pc": "pc", "ug_m": "tex", "mg_m2": "g/m²", "mg_cm3": "g/cm³"}
_USUAL = {"um": ("m", "yd"), "cmm2": ("m²", "ft²"), "ug": ("kg", "lb"), "mg_m2": ("g/m²", "oz/yd²")}


def usual_unit(base: str, system: System = "metric") -> str:
    """The unit that a bare number most likely means, for a form's default ("m" for um)."""
    return _USUAL[base][system == "us"] if base in _USUAL else _ALWAYS[base]


def unit_named(given: str) -> Unit:
    """The unit with this name. Raises BadInput quantity.unknown_unit."""
    unit = _UNITS.get(_key(given))
    if unit is None:
        text = say("“{given}” is not a unit known here. Use one of {known}.", given=shown(given), known=_KNOWN)
        raise BadInput("quantity.unknown_unit", text, given=shown(given))
    return unit


def exact(text: str, unit_text: str | None, base: str) -> tuple[Fraction, Unit]:
    """What was typed, in units of its own base, before rounding. A unit within `text` counts before `unit_text`, which
    says how to read a bare number; `base` is what is hoped for (a bare number of pieces needs no unit).
    Raises BadInput quantity.not_a_number, .ambiguous, .unknown_unit."""
    value, rest = leading_number(text, "quantity")
    named = rest or unit_text or ("pc" if base == "pc" else "")
    if not named:
        text = say("Say the unit too, for example “{text} {usual_unit}”.", text=shown(text.strip()), usual_unit=usual_unit(base))
        raise BadInput("quantity.unknown_unit", text, given="")
    unit = unit_named(named)
    return value * unit.factor, unit


def _within(value: Fraction, base: str, allow_zero: bool, allow_negative: bool) -> int:
    """Rounds to the base unit and refuses what is out of range."""
    if value < 0 and not allow_negative:
        raise BadInput("quantity.negative", say("A quantity cannot be below zero."))
    rounded = round(value)
    if abs(rounded) > MAX:
        raise BadInput(
            "quantity.too_big", say("That is more than can be kept here ({max}): check number and unit.", max=display(MAX, base)), max=MAX
        )
    if base == "pc" and value.denominator != 1:
        raise BadInput(
            "quantity.not_whole", say("Pieces are counted whole; that is {value}. Enter a whole number of pieces.", value=plain(value, 3))
        )
    if rounded == 0 and not allow_zero:
        raise BadInput("quantity.zero", say("The quantity is zero, or too small to be kept. Enter how much there is."))
    return rounded


def parse(text: str, unit_text: str | None, base: str, *, allow_zero: bool = False, allow_negative: bool = False) -> int:
    """A quantity as typed ("6,20 m", "100 yd", "14 g") in `base` units, without any conversion through a material.

    Raises BadInput with code quantity.not_a_number, .ambiguous, .unknown_unit, .unit_mismatch, .negative, .zero,
    .too_big, .not_whole; the sentence says what to type."""
    value, unit = exact(text, unit_text, base)
    if unit.base != base:
        text = say(
            "{unit_symbol} measures {words}; here {words_2} is needed, for example in {usual_unit}.",
            unit_symbol=unit.symbol,
            words=_WORDS[unit.base],
            words_2=_WORDS[base],
            usual_unit=usual_unit(base),
        )
        raise BadInput("quantity.unit_mismatch", text, given=unit.symbol, base=base)
    return _within(value, base, allow_zero, allow_negative)


def display(value: int, base: str, system: System = "metric", *, unit: str | None = None, exact: bool = False) -> str:
    """`value` for a person: "11.86 m", "0.54 m²", "400.0 g", "12.40 kg", "6 pieces".

    `unit` fixes the unit (BadInput quantity.unit_mismatch if it measures something else). `exact` gives as many
    decimals as it takes for `parse` to return this very integer, in any unit; otherwise there are as many as the unit
    usually has, and more where a small value would be off by over a twentieth (or show as zero)."""
    if base == "pc":
        return say_n("{pieces} piece", "{pieces} pieces", abs(value), pieces=plain(Fraction(value), 0))
    return Measured(_measured(value, base, unit, exact, system), partial(_measured, value, base, unit, exact))


def _measured(value: int, base: str, unit: str | None, exact: bool, system: str) -> str:
    if unit is None:
        ladder = _LADDERS.get((system, base), ((_ALWAYS.get(base, ""), 0),))
        unit = next(symbol for symbol, least in ladder if abs(value) >= least or value == 0)
    elif system == "us":
        other = INSTEAD.get(unit, unit)
        unit = other if _key(other) in _UNITS else unit  # stock has fewer units than sentences
    chosen = unit_named(unit)
    if chosen.base != base:
        raise BadInput(
            "quantity.unit_mismatch", say("{chosen_symbol} does not measure {words}.", chosen_symbol=chosen.symbol, words=_WORDS[base])
        )
    places = chosen.places
    while not _faithful(abs(value), chosen.factor, places, exact):
        places += 1
    return f"{plain(value / chosen.factor, places)} {chosen.symbol}"


def _faithful(size: int, factor: Fraction, places: int, exact: bool) -> bool:
    """Whether that many decimals say enough: the same integer comes back, or at least nearly the same."""
    step = factor / 10**places
    shows: Fraction = round(size / step) * step
    return round(shows) == size if exact else abs(shows - size) * 20 <= size


def display_apart(base: str, *values: int, system: System = "metric") -> list[str]:
    """Each value as `display` shows it, but exactly when two different ones would look the same: a refusal must never
    read "11.86 m left; 11.86 m needed"."""
    if base == "pc":
        return [display(value, base) for value in values]
    texts = _apart(base, values, system)
    return [Measured(text, partial(_apart_at, base, values, n)) for n, text in enumerate(texts)]


def _apart(base: str, values: tuple[int, ...], system: str) -> list[str]:
    texts = [_measured(value, base, None, False, system) for value in values]
    if len(set(texts)) < len(set(values)):
        return [_measured(value, base, None, True, system) for value in values]
    return texts


def _apart_at(base: str, values: tuple[int, ...], n: int, system: str) -> str:
    return _apart(base, values, system)[n]


@dataclass(frozen=True, slots=True)
class Entered:
    """A quantity in the material's stock unit. `nominal`: it went through a property of the material (R1), so it is an
    estimate and must be shown as one. `unit` is the unit that was typed."""

    value: int
    base: str
    nominal: bool
    unit: str


def to_stock(text: str, unit_text: str | None, props: MaterialProps, *, allow_zero: bool = False, allow_negative: bool = False) -> Entered:
    """Any entered quantity in the stock unit of the material: "4.68 kg" of a fabric kept by length becomes µm.

    Rounds once. Raises what `parse` raises, and BadInput convert.missing_property, convert.no_way,
    convert.bad_property (see `convert`)."""
    value, unit = exact(text, unit_text, props.unit)
    through = convert(value, unit.base, props.unit, props)
    stock = _within(through, props.unit, allow_zero, allow_negative)
    return Entered(stock, props.unit, nominal=unit.base != props.unit, unit=unit.symbol)
