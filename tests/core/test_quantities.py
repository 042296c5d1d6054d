"""Physical quantities as people type them. Factors against the units library Pint (BSD-3)."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.quantities import INVERSE, UNITS, exact, of, read
from inventory.core.reasons import BadInput

PINT = pint.UnitRegistry()
NAMES = {
    "N/mm²": "newton/millimeter**2", "Msi": "1e6*psi", "ksi": "1000*psi", "um": "micrometer", "mil": "thou", "in": "inch", "ft": "foot",
    "m²": "m**2", "m2": "m**2", "cm²": "cm**2", "cm2": "cm**2", "mm²": "mm**2", "µm²": "micrometer**2", "D": "darcy", "d": "day",
    "Pa·s": "Pa*s", "Pas": "Pa*s", "mPa·s": "mPa*s", "mPas": "mPa*s", "P": "poise", "cP": "centipoise",
    "g/cm³": "g/cm**3", "g/cc": "g/cm**3",
    "kg/m³": "kg/m**3", "kg/m²": "kg/m**2", "g/m²": "g/m**2", "gsm": "g/m**2", "oz/yd²": "oz/yard**2", "1/K": "1/K", "/K": "1/K",
    "g/cm3": "g/cm**3", "g/ml": "g/milliliter", "kg/l": "kg/liter", "g/l": "g/liter", "lb/in³": "lb/inch**3", "lb/in3": "lb/inch**3",
    "lb/ft³": "lb/foot**3", "lb/ft3": "lb/foot**3", "lb/US gal": "lb/US_liquid_gallon", "g/m2": "g/m**2", "oz/yd2": "oz/yard**2",
    "oz/ft²": "oz/foot**2", "lb/ft²": "lb/foot**2", "lb/yd²": "lb/yard**2", "tex": "tex", "dtex": "dtex", "ktex": "kilotex",
    "den": "denier", "g/km": "g/km", "lb/yd": "lb/yard", "lb/ft": "lb/foot", "/cm": "1/cm", "/in": "1/inch", "1/in": "1/inch",
    "/10 cm": "1/(10 cm)", "/m": "1/m", "ppm": "1e-6", "phr": "0.01", "per 100": "0.01", "yd": "yard", "mm2": "mm**2",
    "in²": "inch**2", "ft²": "foot**2", "ft2": "foot**2", "yd²": "yard**2", "yd2": "yard**2", "m³": "m**3", "cm³": "cm**3",
    "cc": "cm**3", "in³": "inch**3", "US gal": "US_liquid_gallon", "US qt": "US_liquid_quart", "US fl oz": "US_fluid_ounce",
    "t": "metric_ton", "m/g": "m/g", "g/eq": "g/mol", "yd/lb": "yard/lb", "ft/lb": "foot/lb",
    "1e-6/K": "1e-6/K", "ppm/K": "1e-6/K", "µm/m/K": "micrometer/m/K", "%": "0.01", "W/mK": "W/m/K", "W/m2K": "W/m**2/K",
    "W/m²K": "W/m**2/K", "J/kgK": "J/kg/K",
}  # fmt: skip


ROUNDED = ("D", "inHg")
"""The inch of mercury as NIST SP 811 prints it; the library computes it from density and gravity."""


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d, units in UNITS.items() for u in units if u])
def test_each_factor_is_that_of_a_units_library(dimension: str, unit: str) -> None:
    other = 1 * PINT.parse_expression(NAMES.get(unit, unit))  # its base units are ours: kilogram, metre, second
    magnitude = other.to_base_units().magnitude if hasattr(other, "to_base_units") else other
    ours = UNITS[dimension][unit] if dimension != "equivalent weight" else UNITS[dimension][unit] / 1000  # kept in g/mol
    assert float(ours) == pytest.approx(magnitude, rel=1e-6 if unit in ROUNDED else 1e-13)


@pytest.mark.parametrize("unit", sorted(INVERSE["linear density"]))
@given(number=st.decimals("0.001", "99999", places=3))
def test_a_yield_is_the_linear_density_that_reaches_so_far(unit: str, number: Decimal) -> None:
    metres_per_kg = (float(number) * PINT.parse_expression(NAMES.get(unit, unit))).to("m/kg").magnitude
    assert read(f"{number} {unit}", "linear density", "tex", "tow") == pytest.approx(1 / metres_per_kg, rel=1e-12)
    assert of(exact(f"{number} {unit}", "linear density", "tex", "tow"), "linear density", unit) == pytest.approx(float(number), rel=1e-12)


def test_the_trades_round_factors_follow_from_the_definitions() -> None:
    """496 054.648 yd/lb of one tex, 0.029 493 525 oz/yd² of one g/m² (exact by definition; the digits as the trade quotes them)."""
    assert of(exact("1 tex", "linear density", "tex", ""), "linear density", "yd/lb") == pytest.approx(496_054.648, abs=1e-3)
    assert of(exact("1 g/m²", "areal weight", "g/m²", ""), "areal weight", "oz/yd²") == pytest.approx(0.029493525, abs=1e-9)
    with pytest.raises(BadInput) as refused:
        exact("0 yd/lb", "linear density", "tex", "tow")
    assert (refused.value.reason.code, refused.value.where) == ("quantity.not_a_number", "tow")


def test_a_bare_number_takes_the_unit_beside_its_field() -> None:
    assert read("181", "pressure", "GPa", "e1") == 181e9
    assert read("26.25 Msi", "pressure", "GPa", "e1") == pytest.approx(180.99e9, rel=1e-4)
    assert read(" 0,125 mm", "length", "mm", "t") == pytest.approx(0.125e-3)
    assert read("−100", "number", "", "dT") == -100
    assert read("2.5e-10 m²", "area", "m²", "k") == 2.5e-10 and read("1E9", "pressure", "Pa", "e1") == 1e9
    assert read("7 \u00b5m", "length", "mm", "d") == read("7 \u03bcm", "length", "mm", "d") == 7e-6, "micro and the Greek letter"
    assert read("2 ft^2", "area", "m²", "a") == pytest.approx(2 * 0.3048**2)
    assert read("60 CP", "viscosity", "mPa·s", "mu") == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("text", "code"),
    [("", "quantity.empty"), ("  ", "quantity.empty"), ("abc", "quantity.not_a_number"), ("nan", "quantity.not_a_number"),
     ("1e9 kg", "quantity.unit"), ("1e999", "quantity.not_a_number"),
     ("5 kg", "quantity.unit"), ("1,234 GPa", "quantity.ambiguous"), ("5 GPa GPa", "quantity.unit"), ("∞", "quantity.not_a_number")],
)  # fmt: skip
def test_what_cannot_be_read_names_its_field(text: str, code: str) -> None:
    with pytest.raises(BadInput) as refused:
        read(text, "pressure", "GPa", "e1")
    assert (refused.value.reason.code, refused.value.where) == (code, "e1")


@given(st.text(max_size=20), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused(text: str, dimension: str) -> None:
    try:
        value = read(text, dimension, next(iter(UNITS[dimension])), "x")
    except BadInput as bad:
        assert bad.reason.code.startswith("quantity.") and bad.where == "x"
    else:
        assert value == value
        assert float(exact(text, dimension, next(iter(UNITS[dimension])), "x")) == value
