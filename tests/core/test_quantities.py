"""Physical quantities as people type them. Factors against the units library Pint (BSD-3)."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.quantities import UNITS, read
from inventory.core.reasons import BadInput

PINT = pint.UnitRegistry()
NAMES = {
    "N/mm²": "newton/millimeter**2", "Msi": "1e6*psi", "ksi": "1000*psi", "um": "micrometer", "mil": "thou", "in": "inch", "ft": "foot",
    "m²": "m**2", "m2": "m**2", "cm²": "cm**2", "cm2": "cm**2", "mm²": "mm**2", "µm²": "micrometer**2", "D": "darcy", "d": "day",
    "Pa·s": "Pa*s", "Pas": "Pa*s", "mPa·s": "mPa*s", "mPas": "mPa*s", "P": "poise", "cP": "centipoise",
    "g/cm³": "g/cm**3", "g/cc": "g/cm**3",
    "kg/m³": "kg/m**3", "kg/m²": "kg/m**2", "g/m²": "g/m**2", "gsm": "g/m**2", "oz/yd²": "oz/yard**2", "1/K": "1/K", "/K": "1/K",
    "1e-6/K": "1e-6/K", "ppm/K": "1e-6/K", "µm/m/K": "micrometer/m/K", "%": "0.01",
}  # fmt: skip


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d, units in UNITS.items() for u in units if u])
def test_each_factor_is_that_of_a_units_library(dimension: str, unit: str) -> None:
    other = 1 * PINT.parse_expression(NAMES.get(unit, unit))  # its base units are ours: kilogram, metre, second
    magnitude = other.to_base_units().magnitude if hasattr(other, "to_base_units") else other
    assert UNITS[dimension][unit] == pytest.approx(magnitude, rel=1e-6)


def test_a_bare_number_takes_the_unit_beside_its_field() -> None:
    assert read("181", "pressure", "GPa", "e1") == 181e9
    assert read("26.25 Msi", "pressure", "GPa", "e1") == pytest.approx(180.99e9, rel=1e-4)
    assert read(" 0,125 mm", "length", "mm", "t") == pytest.approx(0.125e-3)
    assert read("−100", "number", "", "dT") == -100
    assert read("2.5e-10 m²", "area", "m²", "k") == 2.5e-10 and read("1E9", "pressure", "Pa", "e1") == 1e9
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
