"""Length, area, mass, volume and sheets of one material, through its properties (R1). Exact fractions, rounded once.

Base units: um (µm), cmm2 (0.01 mm²), ug (µg), ul (mm³, entered only), pc (pieces or sheets). What a roll weighs depends
on its full width, what can be cut from it on its usable width; an area of a roll's material here is usable area, so that
length → mass → area and length → area agree. Every conversion between dimensions is nominal: an areal weight is
a specification with a tolerance (±5 % is normal), not a measurement.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from inventory.core.reasons import BadInput
from inventory.core.said import say

Exact = int | Fraction
N = TypeVar("N", bound=Exact)

# Fifty digits: the longest roll that can be kept differs by less than 1e-30 µm from one with the true π.
PI = Fraction(314159265358979323846264338327950288419716939937510, 10**50)

NAMES = {
    "width_um": say("width"),
    "usable_width_um": say("usable width"),
    "areal_mg_m2": say("areal weight"),
    "tex_ug_m": say("linear density (tex)"),
    "density_mg_cm3": say("density"),
    "sheet_w_um": say("sheet width"),
    "sheet_l_um": say("sheet length"),
    "thickness_um": say("thickness"),
}
DIMENSIONS = {"um": say("length"), "cmm2": say("area"), "ug": say("mass"), "ul": say("volume"), "pc": say("pieces")}


@dataclass(frozen=True, slots=True)
class MaterialProps:
    """What a conversion may need. Lengths µm, areal weight mg/m², linear density µg/m (800 tex = 800 000), density
    mg/cm³. `unit` is the base that stock is kept in. `usable_width_um` None: the whole width is usable."""

    unit: str
    width_um: int | None = None
    usable_width_um: int | None = None
    areal_mg_m2: int | None = None
    tex_ug_m: int | None = None
    density_mg_cm3: int | None = None
    sheet_w_um: int | None = None
    sheet_l_um: int | None = None


def need(name: str, value: N | None) -> N:
    """A property that must be there and above zero. Raises BadInput convert.missing_property or convert.bad_property."""
    if value is None:
        text = say(
            "This material has no {names}: add it to the material, or enter the quantity in its stock unit.", names=NAMES.get(name, name)
        )
        raise BadInput("convert.missing_property", text, where=name, property=name)
    if value <= 0:
        text = say(
            "This material's {names} is {value}; it must be above zero. Correct the material first.",
            names=NAMES.get(name, name),
            value=value,
        )
        raise BadInput("convert.bad_property", text, where=name, property=name, value=value if isinstance(value, int) else str(value))
    return value


def _usable_width(p: MaterialProps) -> int:
    if p.usable_width_um is None:
        return need("width_um", p.width_um)
    return need("usable_width_um", p.usable_width_um)


def _area_of_length(p: MaterialProps) -> Fraction:
    return Fraction(_usable_width(p), 10**4)


def _mass_of_length(p: MaterialProps) -> Fraction:
    """Areal weight comes first: a fabric may also state the tex of its yarn, which is not the fabric's."""
    if p.areal_mg_m2 is None and p.tex_ug_m is not None:
        return Fraction(need("tex_ug_m", p.tex_ug_m), 10**6)
    if p.areal_mg_m2 is None and p.width_um is None:
        need("tex_ug_m", None)
    return Fraction(need("width_um", p.width_um) * need("areal_mg_m2", p.areal_mg_m2), 10**9)


def _mass_of_area(p: MaterialProps) -> Fraction:
    edge = Fraction(1)
    if p.width_um is not None and p.usable_width_um is not None:
        edge = Fraction(need("width_um", p.width_um), need("usable_width_um", p.usable_width_um))
    return Fraction(need("areal_mg_m2", p.areal_mg_m2), 10**5) * edge


def _mass_of_volume(p: MaterialProps) -> Fraction:
    return Fraction(need("density_mg_cm3", p.density_mg_cm3))


def _area_of_sheet(p: MaterialProps) -> Fraction:
    return Fraction(need("sheet_w_um", p.sheet_w_um) * need("sheet_l_um", p.sheet_l_um), 10**4)


def _mass_of_sheet(p: MaterialProps) -> Fraction:
    return _area_of_sheet(p) * Fraction(need("areal_mg_m2", p.areal_mg_m2), 10**5)


_FACTORS: dict[tuple[str, str], Callable[[MaterialProps], Fraction]] = {
    ("um", "cmm2"): _area_of_length,
    ("um", "ug"): _mass_of_length,
    ("cmm2", "ug"): _mass_of_area,
    ("ul", "ug"): _mass_of_volume,
    ("pc", "cmm2"): _area_of_sheet,
    ("pc", "ug"): _mass_of_sheet,
}


def convert(value: Exact, source: str, target: str, props: MaterialProps) -> Fraction:
    """`value` of base `source` in base `target`, exactly. Raises BadInput convert.missing_property (names it),
    convert.bad_property, or convert.no_way when no property links the two."""
    if source == target:
        return Fraction(value)
    if (source, target) in _FACTORS:
        return value * _FACTORS[source, target](props)
    if (target, source) in _FACTORS:
        return value / _FACTORS[target, source](props)
    names = DIMENSIONS.get(source, source), DIMENSIONS.get(target, target)
    text = say(
        "This material is kept by {names}, and {names_2} cannot be turned into {names}. Enter it as {names}.",
        names=names[1],
        names_2=names[0],
    )
    raise BadInput("convert.no_way", text, source=source, target=target)


# One named function for each step, rounded half-even to the base unit.


def length_to_area(um: int, width_um: int | None) -> int:
    """Area (0.01 mm²) of a length (µm) at a width (µm)."""
    return round(convert(um, "um", "cmm2", MaterialProps("cmm2", width_um=width_um)))


def area_to_length(cmm2: int, width_um: int | None) -> int:
    """Length (µm) that has this area (0.01 mm²) at a width (µm)."""
    return round(convert(cmm2, "cmm2", "um", MaterialProps("um", width_um=width_um)))


def mass_from_length(um: int, width_um: int | None, areal_mg_m2: int | None) -> int:
    """Nominal mass (µg) of a length (µm) of full width (µm)."""
    width, areal = need("width_um", width_um), need("areal_mg_m2", areal_mg_m2)
    return round(convert(um, "um", "ug", MaterialProps("ug", width_um=width, areal_mg_m2=areal)))


def length_from_mass(ug: int, width_um: int | None, areal_mg_m2: int | None) -> int:
    """Nominal length (µm) of a net mass (µg) of full width (µm)."""
    width, areal = need("width_um", width_um), need("areal_mg_m2", areal_mg_m2)
    return round(convert(ug, "ug", "um", MaterialProps("um", width_um=width, areal_mg_m2=areal)))


def mass_from_area(cmm2: int, areal_mg_m2: int | None) -> int:
    """Nominal mass (µg) of an area (0.01 mm²)."""
    return round(convert(cmm2, "cmm2", "ug", MaterialProps("ug", areal_mg_m2=areal_mg_m2)))


def area_from_mass(ug: int, areal_mg_m2: int | None) -> int:
    """Nominal area (0.01 mm²) of a mass (µg)."""
    return round(convert(ug, "ug", "cmm2", MaterialProps("cmm2", areal_mg_m2=areal_mg_m2)))


def mass_from_tex(um: int, tex_ug_m: int | None) -> int:
    """Nominal mass (µg) of a length (µm) of tow."""
    return round(um * Fraction(need("tex_ug_m", tex_ug_m), 10**6))


def length_from_tex(ug: int, tex_ug_m: int | None) -> int:
    """Nominal length (µm) of a net mass (µg) of tow."""
    return round(ug / Fraction(need("tex_ug_m", tex_ug_m), 10**6))


def mass_from_volume(ul: int, density_mg_cm3: int | None) -> int:
    """Mass (µg) of a volume (mm³)."""
    return round(convert(ul, "ul", "ug", MaterialProps("ug", density_mg_cm3=density_mg_cm3)))


def area_from_sheets(sheets: int, width_um: int | None, length_um: int | None) -> int:
    """Area (0.01 mm²) of a number of sheets (width and length µm)."""
    return round(convert(sheets, "pc", "cmm2", MaterialProps("cmm2", sheet_w_um=width_um, sheet_l_um=length_um)))
