"""A sentence's figures in the units of whoever reads it: "{size} mm" of a template becomes "3.54 in" where US units are read.

The rule stands here once, for every sentence and every language: a figure right before a unit in a template of ours is a measure. What
people wrote themselves is a value with words in it, and stays; so does what a template puts in quotes, which is what was typed. Per
cent, seconds, kelvins of a law and g/mol are read by everybody alike.

Factors: `quantities.UNITS` (exact by NIST SP 811, besides the inch of mercury, which is conventional: 3386.389 Pa).
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import lru_cache

from inventory.core.quantities import UNITS
from inventory.core.said import Said

INSTEAD = {
    "m": "yd", "cm": "in", "mm": "in", "µm": "mil", "m²": "ft²", "cm²": "in²", "mm²": "in²", "kg": "lb", "g": "oz",
    "g/m²": "oz/yd²", "g/cm³": "lb/in³", "kg/m³": "lb/ft³", "mbar": "inHg", "bar": "psi", "kPa": "psi", "/cm": "/in",
    "°C": "°F", "°C/min": "°F/min",
}  # fmt: skip
"""What stands for a unit where somebody reads in US units; one that is not named stays. mbar are vacuum here, bar and kPa pressure."""
_OF = {
    "length": "m cm mm µm", "area": "m² cm² mm²", "mass": "kg g", "areal weight": "g/m²", "density": "g/cm³ kg/m³",
    "pressure": "mbar bar kPa", "threads": "/cm",
}  # fmt: skip
DIMENSION = {unit: dimension for dimension, units in _OF.items() for unit in units.split()}
DIGITS = 4
"""Figures that count: an inch of 25.4 mm is not told to the micron."""

_HOLE = r"\{\w+\}"
_UNIT = "|".join(re.escape(unit) for unit in sorted(INSTEAD, key=len, reverse=True))
_MEASURE = re.compile(
    rf"(?P<figures>{_HOLE}(?:(?: to | bis | and | und | × |–| \(){_HOLE})*)(?P<gap>[ \u00a0])"
    rf"(?P<unit>{_UNIT}|{_HOLE}(?![ \u00a0](?:{_UNIT})))(?P<more>(?: \({_HOLE}(?: to | bis |–){_HOLE}\))?)(?![\w/·²³”“])"
)
_NAMES = re.compile(r"\{(\w+)\}")
_FIGURE = re.compile(r"[+\-−]?\d{1,15}(?:[ \u00a0\u202f]\d{3})*(?:\.\d{1,15})?")


def turned(value: Fraction | float, unit: str) -> Fraction | float:
    """A number of `unit` as a number of `INSTEAD[unit]`. A rate of change has no zero to be shifted."""
    if unit.startswith("°C"):
        degrees = value * 9 / 5
        return degrees + 32 if unit == "°C" else degrees
    factors = UNITS[DIMENSION[unit]]
    factor = factors[unit] / factors[INSTEAD[unit]]
    return value * factor if isinstance(value, Fraction) else value * float(factor)


def back(value: Fraction, unit: str) -> Fraction:
    """The other way: a number of `INSTEAD[unit]` as a number of `unit`, exactly."""
    zero, one = (Fraction(turned(Fraction(n), unit)) for n in (0, 1))
    return (value - zero) / (one - zero)


def text_of(value: Fraction | float, unit: str) -> str:
    """A number of `unit`, turned, as it is written: degrees to a tenth, everything else to four figures that count."""
    found = float(turned(value, unit))
    if not math.isfinite(found):
        return str(found)
    places = 1 if unit.startswith("°C") else max(0, DIGITS - 1 - math.floor(math.log10(abs(found)))) if found else 0
    text = f"{found:,.{places}f}".replace(",", " ")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "0") else text.replace("-", "−")


def number_of(text: str) -> Fraction | None:
    """A figure as our sentences write it; None for anything else, such as somebody's words."""
    if not _FIGURE.fullmatch(text):
        return None
    return Fraction("".join(text.split()).replace("−", "-").replace("\u00a0", "").replace("\u202f", ""))


@lru_cache(maxsize=4096)
def _measures(template: str) -> tuple[tuple[tuple[str, ...], str, int, int], ...]:
    """Names of the figures, unit, and where the unit stands in the template."""
    found = []
    for match in _MEASURE.finditer(template):
        names = tuple(_NAMES.findall(match["figures"] + match["more"]))
        found.append((names, match["unit"], *match.span("unit")))
    return tuple(found)


def _turned(value: object, unit: str) -> str | None:
    """A figure, or words of ours about figures ("at most {rate}"); None for what is neither."""
    if isinstance(value, Said):
        each = {name: _turned(inner, unit) for name, inner in value.values.items()}
        return Said(value.template, each, value.about, value.many, value.n) if each and None not in each.values() else None
    number = number_of(str(value))
    return None if number is None else text_of(number, unit)


def in_us_units(template: str, values: dict[str, object]) -> tuple[str, dict[str, object]]:
    """Template and values as they are read in US units. A measure of which some figure is no number stays as a whole."""
    changed = dict(values)
    for names, unit, start, end in reversed(_measures(template)):
        hole = _NAMES.fullmatch(unit)
        named = str(values.get(hole[1], "")) if hole else unit
        figures = {name: _turned(values.get(name), named) for name in names} if named in INSTEAD else {}
        if not figures or None in figures.values():
            continue
        changed |= figures
        template = template[:start] + INSTEAD[named] + template[end:]
    return template, changed
