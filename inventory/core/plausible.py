"""What a certificate states beside what the material's geometry gives. A caution, never a refusal: the certificate is the truth, and a
figure that cannot be is asked about."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import geometry, textile
from inventory.core.geometry import Check
from inventory.core.numerals import leading_number
from inventory.core.quantities import INVERSE, UNITS, exact
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

DRY = ("fabric", "ud", "mat")


@dataclass(frozen=True, slots=True)
class Geometry:
    """What is known of a material's threads: filaments and their diameter (nm), density of the fibre (mg/cm³), threads per metre, linear
    densities (µg/m; that of the fill when it is not that of the warp)."""

    kind: str
    filaments: int | None = None
    filament_nm: int | None = None
    fibre_mg_cm3: int | None = None
    ends_per_m: int | None = None
    picks_per_m: int | None = None
    tex_ug_m: int | None = None
    fill_tex_ug_m: int | None = None


def caution(name: str, text: str, unit: str, known: Geometry) -> Reason | None:
    """Why a stated value cannot well be, by geometry; None where it can, or where nobody can tell. `unit`: of the required value, "" where
    the text carries its own."""
    try:
        _, rest = leading_number(text, "certificate")
        check = _check(name, text, rest or unit, known)
    except BadInput:
        return None  # no number, or no figure that can be compared: nothing to say of it
    if check is None or check.reason is None:
        return None
    reason = check.reason
    return Reason(
        reason.code,
        say("{name} {text}: {reason}", name=name, text=text, reason=reason.text),
        {**reason.numbers, "name": name, "value": text},
    )


def _check(name: str, text: str, unit: str, known: Geometry) -> Check | None:
    dimension = _dimension(unit)
    if dimension == "linear density":
        if known.filaments and known.filament_nm and known.fibre_mg_cm3:
            stated = exact(text, dimension, unit, name) * 10**9
            return geometry.check_tex(stated, known.filaments, known.filament_nm, known.fibre_mg_cm3)
    elif dimension == "areal weight" and (known.kind in DRY or _of_fibre(name)):
        computed = by_threads(known)
        if computed is not None:
            return geometry.check_areal(exact(text, dimension, unit, name) * 10**6, computed)
    return None


def by_threads(known: Geometry) -> Fraction | None:
    """Areal weight (mg/m²) by ends and picks, or by ends alone (a unidirectional); None where something of it is not known."""
    if not known.ends_per_m or not known.tex_ug_m:
        return None
    ends = Fraction(known.ends_per_m, 100)
    if known.picks_per_m:
        return textile.weave_areal(ends, known.tex_ug_m, Fraction(known.picks_per_m, 100), known.fill_tex_ug_m or known.tex_ug_m)
    return geometry.areal_from_tows(known.ends_per_m, known.tex_ug_m, 10**6) if known.kind in ("ud", "prepreg") else None


def _dimension(unit: str) -> str:
    folded = unit.strip().casefold()
    for dimension in (say("linear density"), say("areal weight")):
        if folded in {name.casefold() for name in (*UNITS[dimension], *INVERSE.get(dimension, ()))}:
            return dimension
    return ""


def _of_fibre(name: str) -> bool:
    return any(word in name.casefold() for word in ("fibre", "fiber", "faw"))
