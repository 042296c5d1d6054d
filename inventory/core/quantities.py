"""Physical quantities as people type them, for computations: "181 GPa", "0.25 mm", "60 cP". Read into SI as floats; stock is never
kept in these (see `units` for exact quantities).

A number without a unit takes the unit that stands beside its field. Factors are exact by definition (the pound-force and the inch
by the international yard and pound agreement of 1959; NIST SP 811 lists them all).
"""

from __future__ import annotations

import math
import re

from inventory.core.numerals import leading_number, shown
from inventory.core.reasons import BadInput, told_at

_POWER = re.compile(r"([+\-−]?[0-9]{1,20}(?:\.[0-9]{1,20})?[eE][+\-−]?[0-9]{1,2})(\D.{0,20})?", re.DOTALL)
"""Powers of ten, which stock never has and permeabilities are written in."""
_PSI = 4.4482216152605 / 0.0254**2

UNITS: dict[str, dict[str, float]] = {
    "pressure": {
        "Pa": 1.0, "hPa": 1e2, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "mbar": 1e2, "bar": 1e5, "N/mm²": 1e6, "psi": _PSI, "ksi": _PSI * 1e3,
        "Msi": _PSI * 1e6,
    },
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "µm": 1e-6, "um": 1e-6, "in": 0.0254, "ft": 0.3048, "mil": 0.0254e-3},
    "area": {"m²": 1.0, "m2": 1.0, "cm²": 1e-4, "cm2": 1e-4, "mm²": 1e-6, "µm²": 1e-12, "D": 9.869233e-13},
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86_400.0},
    "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": 0.45359237, "oz": 0.45359237 / 16},
    "viscosity": {"Pa·s": 1.0, "Pas": 1.0, "mPa·s": 1e-3, "mPas": 1e-3, "cP": 1e-3, "P": 0.1},
    "energy per mole": {"J/mol": 1.0, "kJ/mol": 1e3},
    "energy per mass": {"J/kg": 1.0, "kJ/kg": 1e3, "J/g": 1e3},
    "density": {"kg/m³": 1.0, "g/cm³": 1e3, "g/cc": 1e3},
    "areal weight": {"kg/m²": 1.0, "g/m²": 1e-3, "gsm": 1e-3, "oz/yd²": 0.45359237 / 16 / 0.9144**2},
    "expansion": {"1/K": 1.0, "/K": 1.0, "1e-6/K": 1e-6, "ppm/K": 1e-6, "µm/m/K": 1e-6},
    "share": {"%": 0.01, "": 1.0},
    "number": {"": 1.0},
}  # fmt: skip
"""For each dimension its units, with the factor to SI."""


def read(text: str, dimension: str, usual: str, where: str) -> float:
    """The quantity in SI units. `usual`: the unit of a bare number. BadInput quantity.empty, .not_a_number, .ambiguous, .unit; the
    sentence says what to type."""
    if not text.strip():
        raise BadInput("quantity.empty", f"Enter a figure, such as 1.5 {usual}".rstrip() + ".", where)
    power = _POWER.fullmatch(text.strip())
    with told_at(where):
        number, rest = (float(power[1].replace("−", "-")), power[2]) if power else leading_number(text, "quantity")
    unit = (rest or "").strip() or usual
    known = UNITS[dimension]
    factor = known.get(unit)
    if factor is None:
        alike = [name for name in known if name.lower() == unit.lower()]
        factor = known[alike[0]] if len(alike) == 1 else None
    if factor is None:
        units = ", ".join(name for name in known if name)
        said = f"is no unit of {dimension} here: use one of {units}." if units else "is not expected: this figure has no unit."
        raise BadInput("quantity.unit", f"“{shown(unit)}” {said}", where)
    value = float(number) * factor
    if not math.isfinite(value):
        raise BadInput("quantity.not_a_number", f"“{shown(text)}” is too large.", where)
    return value
