"""Temperatures: typed in °C or °F, kept as whole milli-°C, shown in either. Exact, rounded half-even once."""

from __future__ import annotations

from fractions import Fraction
from functools import partial

from inventory.core.numerals import leading_number, plain, shown
from inventory.core.reasons import BadInput
from inventory.core.said import Measured, say

ABSOLUTE_ZERO_MC = -273_150
HOTTEST_MC = 2_000_000
_CELSIUS = {"c", "°c", "degc", "cel", "℃"}
_FAHRENHEIT = {"f", "°f", "degf", "fah", "℉"}


def parse_celsius(text: str, unit_text: str | None = None) -> int:
    """A temperature as typed ("-18", "17,2 °C", "64 °F") in milli-°C. A unit within `text` counts before `unit_text`,
    which says how to read a bare number; there must be one.

    Raises BadInput temperature.not_a_number, .ambiguous, .unknown_unit, .out_of_range."""
    value, rest = leading_number(text, "temperature")
    unit = "".join((rest or unit_text or "").split()).casefold()
    if unit not in _CELSIUS | _FAHRENHEIT:
        raise BadInput(
            "temperature.unknown_unit", say("Say °C or °F, for example “{text} °C”.", text=shown(text.strip())), given=shown(rest)
        )
    celsius = value if unit in _CELSIUS else (value - 32) * Fraction(5, 9)
    mc = round(celsius * 1000)
    if not ABSOLUTE_ZERO_MC <= mc <= HOTTEST_MC:
        text = say("{mc} is not a temperature found in a workshop: check the number and its unit.", mc=display_celsius(mc))
        raise BadInput("temperature.out_of_range", text, mc=mc if abs(mc) <= 10**15 else None)
    return mc


def display_celsius(mc: int, system: str = "metric") -> str:
    """`mc` (milli-°C) for a person: "−18 °C", "17.2 °C", or "−0.4 °F" with system "us". At most three decimals in °C (so
    that nothing is lost) and one in °F; no zeros at the end."""
    return Measured(_in_words(mc, system), partial(_in_words, mc))


def _in_words(mc: int, system: str) -> str:
    if system == "us":
        return f"{_short(Fraction(mc, 1000) * 9 / 5 + 32, 1)} °F"
    return f"{_short(Fraction(mc, 1000), 3)} °C"


def _short(value: Fraction, places: int) -> str:
    return plain(value, places).rstrip("0").rstrip(".")
