"""Figures in US units, against NIST Special Publication 811 (2008), Appendix B.8 (its factors are repeated here as they are printed)."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from inventory.core import ownunits
from inventory.core.ownunits import INSTEAD, back, in_us_units, text_of, turned
from inventory.core.quantities import UNITS
from inventory.core.said import say

pytestmark = pytest.mark.core

SP_811 = (
    ("kg", Fraction("0.45359237"), "1 lb in kg, exact"),
    ("mm", Fraction("25.4"), "1 in in mm, exact"),
    ("m", Fraction("0.9144"), "1 yd in m, exact"),
    ("m²", Fraction("0.09290304"), "1 ft² in m², exact"),
    ("cm²", Fraction("6.4516"), "1 in² in cm², exact"),
)
ROUNDED = (
    ("bar", 0.06894757, "1 psi in bar"),
    ("kPa", 6.894757, "1 psi in kPa"),
    ("mbar", 33.86389, "1 conventional inch of mercury in mbar"),
    ("g", 28.34952, "1 oz in g"),
    ("g/m²", 33.90575, "1 oz/yd² in g/m²"),
    ("g/cm³", 27.67990, "1 lb/in³ in g/cm³"),
    ("kg/m³", 16.01846, "1 lb/ft³ in kg/m³"),
    ("µm", 25.4, "1 mil in µm"),
)


@pytest.mark.parametrize(("unit", "one", "source"), SP_811)
def test_exact_factors_are_exact(unit: str, one: Fraction, source: str) -> None:
    assert turned(one, unit) == 1, source
    assert back(Fraction(1), unit) == one, source


@pytest.mark.parametrize(("unit", "one", "source"), ROUNDED)
def test_rounded_factors_agree_to_their_last_figure(unit: str, one: float, source: str) -> None:
    assert float(back(Fraction(1), unit)) == pytest.approx(one, rel=1e-6), source


def test_degrees_have_another_zero_and_rates_have_none() -> None:
    # NIST SP 811, 8.5 and B.8: t/°F = 1.8 t/°C + 32, and an interval of 1 °C is one of 1.8 °F
    assert [turned(Fraction(c), "°C") for c in (-40, 0, 100)] == [-40, 32, 212]
    assert turned(Fraction(3), "°C/min") == Fraction("5.4") and turned(Fraction(0), "°C/min") == 0
    assert back(Fraction(212), "°C") == 100


def test_every_unit_that_is_replaced_has_its_factor() -> None:
    for unit, other in INSTEAD.items():
        assert back(Fraction(turned(Fraction(7), unit)), unit) == 7, unit
        assert unit.startswith("°C") or other in UNITS[ownunits.DIMENSION[unit]]


SENTENCES = (
    ("dwell {mc} to {mc_2} °C for ", {"mc": "180", "mc_2": "185"}, "dwell 356 to 365 °F for "),
    ("{word} {rate} °C/min", {"word": "at most", "rate": "3"}, "at most 5.4 °F/min"),
    ("cup, {size} mm across", {"size": "90"}, "cup, 3.543 in across"),
    ("{text} mbar", {"text": "4"}, "0.1181 inHg"),
    ("{likely} °C ({low} to {high})", {"likely": "145", "low": "27", "high": "223"}, "293 °F (80.6 to 433.4)"),
    ("{value} {unit}", {"value": "−18", "unit": "°C"}, "−0.4 °F"),
    ("{width} × {height} mm", {"width": "254", "height": "25.4"}, "10 × 1 in"),
    ("{word} {rates} °C/min", {"word": "ramp", "rates": say("at most {rate}", rate="3")}, "ramp at most 5.4 °F/min"),
    ("{mass} kg", {"mass": "1 000"}, "2 205 lb"),
    ("{low} bis {high} mm", {"low": "25.4", "high": "50.8"}, "1 bis 2 in"),
    ("{cold} °C", {"cold": "−17.78"}, "0 °F"),
)


@pytest.mark.parametrize(("template", "values", "read"), SENTENCES)
def test_a_figure_before_a_unit_is_a_measure(template: str, values: dict[str, object], read: str) -> None:
    changed, figures = in_us_units(template, values)
    assert changed.format(**figures) == read


def test_what_has_no_end_is_no_figure_to_round() -> None:
    assert text_of(math.inf, "mm") == "inf"


KEPT = (
    ("say °C or °F, for example “{text} °C”", {"text": "5"}),
    ("{eew} g/mol", {"eew": "189"}),
    ("{share} %", {"share": "2"}),
    ("dried {note} °C", {"note": "somebody's words"}),
    ("{speed} m/s", {"speed": "3"}),
    ("{surface} K", {"surface": "3.0"}),
)


@pytest.mark.parametrize(("template", "values"), KEPT)
def test_what_is_no_measure_of_ours_stays(template: str, values: dict[str, object]) -> None:
    assert in_us_units(template, values) == (template, values)
