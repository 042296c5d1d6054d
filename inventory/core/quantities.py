"""Physical quantities as people type them, for computations: "181 GPa", "0.25 mm", "60 cP", "7 516 ft/lb". Read into SI, exactly or as
floats; stock is never kept in these (see `units` for the whole numbers that it is kept in).

A number without a unit takes the unit that stands beside its field. Factors are exact by definition (inch, yard and pound by the
international agreement of 1959, the US gallon of 231 cubic inches, tex and denier by ISO 1144; NIST SP 811 lists them all); the darcy
and the conventional inch of mercury (3386.389 Pa, SP 811) are rounded.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from inventory.core.numerals import leading_number, shown
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say, strung

_POWER = re.compile(r"([+\-−]?[0-9]{1,20}(?:\.[0-9]{1,20})?[eE][+\-−]?[0-9]{1,2})(\D.{0,20})?", re.DOTALL)
"""Powers of ten, which stock never has and permeabilities are written in."""
_F = Fraction
_IN, _FT, _YD = _F("0.0254"), _F("0.3048"), _F("0.9144")
_LB = _F("0.45359237")
_OZ = _LB / 16
_PSI = _F("4.4482216152605") / _IN**2
_GAL = 231 * _IN**3


def _table(**factors: str) -> dict[str, Fraction]:
    return {name: _F(factor) for name, factor in factors.items()}


UNITS: dict[str, dict[str, Fraction]] = {
    "pressure": {
        **_table(Pa="1", hPa="1e2", kPa="1e3", MPa="1e6", GPa="1e9", mbar="1e2", bar="1e5"), "N/mm²": _F(10**6), "psi": _PSI,
        "inHg": _F("3386.389"),
        "ksi": _PSI * 1000, "Msi": _PSI * 10**6,
    },
    "length": {
        **_table(m="1", cm="1e-2", mm="1e-3", um="1e-6", nm="1e-9"), "µm": _F("1e-6"), "in": _IN, "ft": _FT, "yd": _YD,
        "mil": _IN / 1000,
    },
    "area": {
        **_table(m2="1", cm2="1e-4", mm2="1e-6"), "m²": _F(1), "cm²": _F("1e-4"), "mm²": _F("1e-6"), "µm²": _F("1e-12"),
        "D": _F("9.869233e-13"), "in²": _IN**2, "ft²": _FT**2, "ft2": _FT**2, "yd²": _YD**2, "yd2": _YD**2,
    },
    "volume": {
        **_table(ml="1e-6", l="1e-3"), "m³": _F(1), "cm³": _F("1e-6"), "cc": _F("1e-6"), "US gal": _GAL, "US qt": _GAL / 4,
        "US fl oz": _GAL / 128, "in³": _IN**3,
    },
    "time": _table(s="1", min="60", h="3600", d="86400"),
    "mass": {**_table(kg="1", g="1e-3", mg="1e-6", t="1e3"), "lb": _LB, "oz": _OZ},
    "viscosity": {"Pa·s": _F(1), "Pas": _F(1), "mPa·s": _F("1e-3"), "mPas": _F("1e-3"), "cP": _F("1e-3"), "P": _F("0.1")},
    "energy per mole": {"J/mol": _F(1), "kJ/mol": _F(1000)},
    "energy per mass": {"J/kg": _F(1), "kJ/kg": _F(1000), "J/g": _F(1000)},
    "density": {
        "kg/m³": _F(1), "g/cm³": _F(1000), "g/cc": _F(1000), "g/cm3": _F(1000), "g/ml": _F(1000), "kg/l": _F(1000), "g/l": _F(1),
        "lb/in³": _LB / _IN**3, "lb/in3": _LB / _IN**3, "lb/ft³": _LB / _FT**3, "lb/ft3": _LB / _FT**3, "lb/US gal": _LB / _GAL,
    },
    "areal weight": {
        "kg/m²": _F(1), "g/m²": _F("1e-3"), "g/m2": _F("1e-3"), "gsm": _F("1e-3"), "oz/yd²": _OZ / _YD**2, "oz/yd2": _OZ / _YD**2,
        "oz/ft²": _OZ / _FT**2, "lb/ft²": _LB / _FT**2, "lb/yd²": _LB / _YD**2,
    },
    "linear density": {
        **_table(tex="1e-6", dtex="1e-7", ktex="1e-3"), "g/km": _F("1e-6"), "g/m": _F("1e-3"), "den": _F(1, 9_000_000),
        "denier": _F(1, 9_000_000), "lb/yd": _LB / _YD, "lb/ft": _LB / _FT,
    },
    "threads": {"/cm": _F(100), "1/cm": _F(100), "/in": 1 / _IN, "1/in": 1 / _IN, "/10 cm": _F(10), "/m": _F(1), "1/m": _F(1)},
    "equivalent weight": {"g/mol": _F(1), "g/eq": _F(1)},
    "expansion": {"1/K": _F(1), "/K": _F(1), "1e-6/K": _F("1e-6"), "ppm/K": _F("1e-6"), "µm/m/K": _F("1e-6")},
    "share": {"%": _F("0.01"), "ppm": _F("1e-6"), "": _F(1)},
    "ratio": {"phr": _F("0.01"), "per 100": _F("0.01"), "%": _F("0.01"), "": _F(1)},
    "number": {"": _F(1)},
    "conductivity": {"W/(m·K)": _F(1), "W/m/K": _F(1), "W/mK": _F(1), "W/(m K)": _F(1)},
    "heat transfer": {"W/(m²·K)": _F(1), "W/m²/K": _F(1), "W/m²K": _F(1), "W/m2K": _F(1), "W/(m² K)": _F(1)},
    "heat capacity": {"J/(kg·K)": _F(1), "J/kg/K": _F(1), "J/kgK": _F(1), "J/(kg K)": _F(1), "kJ/(kg·K)": _F(1000), "J/(g·K)": _F(1000)},
}  # fmt: skip
"""For each dimension its units, with the factor to SI."""

INVERSE: dict[str, dict[str, Fraction]] = {"linear density": {"m/kg": _F(1), "m/g": _F(1000), "yd/lb": _YD / _LB, "ft/lb": _FT / _LB}}
"""Units that say the inverse: how far a mass reaches, for a linear density."""


def read(text: str, dimension: str, usual: str, where: str) -> float:
    """The quantity in SI units. `usual`: the unit of a bare number. BadInput quantity.empty, .not_a_number, .ambiguous, .unit; the
    sentence says what to type."""
    try:
        value = float(exact(text, dimension, usual, where))
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise BadInput("quantity.not_a_number", say("“{text}” is too large.", text=shown(text)), where)
    return value


def exact(text: str, dimension: str, usual: str, where: str) -> Fraction:
    """The same as a fraction, without any rounding."""
    if not text.strip():
        raise BadInput("quantity.empty", say("Enter a figure, such as 1.5 {usual}", usual=usual).rstrip() + ".", where)
    power = _POWER.fullmatch(text.strip())
    with told_at(where):
        number, rest = (Fraction(power[1].replace("−", "-")), power[2]) if power else leading_number(text, "quantity")
    unit = " ".join((rest or "").split()) or usual
    factor = _factor(unit, UNITS[dimension])
    if factor is not None:
        return number * factor
    inverse = _factor(unit, INVERSE.get(dimension, {}))
    if inverse is None:
        units = strung(", ", (name for name in (*UNITS[dimension], *INVERSE.get(dimension, ())) if name))
        said = (
            say("is no unit of {dimension} here: use one of {units}.", dimension=dimension, units=units)
            if units
            else say("is not expected: this figure has no unit.")
        )
        raise BadInput("quantity.unit", say("“{unit}” {said}", unit=shown(unit), said=said), where)
    if not number:
        raise BadInput("quantity.not_a_number", say("Nothing reaches 0 {unit}: enter a figure above zero.", unit=unit), where)
    return 1 / (number * inverse)


def _factor(unit: str, known: dict[str, Fraction]) -> Fraction | None:
    """A unit by its name; by another case of it where only one is meant. A Greek mu is a micro, and ^2 a raised 2."""
    unit = unit.replace("μ", "µ").replace("^2", "²").replace("^3", "³")
    if unit in known:
        return known[unit]
    alike = [name for name in known if name.lower() == unit.lower()]
    return known[alike[0]] if len(alike) == 1 else None


def of(value: Fraction | float, dimension: str, unit: str) -> float:
    """A quantity in SI units as a number of `unit`."""
    factor = UNITS[dimension].get(unit)
    if factor is None:
        return float(1 / (value * INVERSE[dimension][unit]))
    return float(value / factor) if isinstance(value, Fraction) else float(value) / float(factor)
