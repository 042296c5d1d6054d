"""What the trade calls yarn and fabric weights, as exact fractions of our integers (µg/m and mg/m²).

The pound is 453.592 37 g and the yard 0.9144 m by definition (international yard and pound, 1959), so the factors are
exact; the trade's round figures (496 055 and 0.029 494) follow from them.
"""

from __future__ import annotations

from fractions import Fraction

from inventory.core.convert import NAMES, Exact, need
from inventory.core.reasons import BadInput
from inventory.core.said import say

POUND_UG = 453_592_370
YARD_UM = 914_400


def _above_zero(name: str, value: Fraction | int) -> None:
    if value <= 0:
        text = say("The {names} is {value}; it must be above zero.", names=NAMES.get(name, name), value=value)
        raise BadInput("convert.bad_property", text, where=name, property=name, value=str(value))


def metres_per_kg(tex_ug_m: Exact) -> Fraction:
    """Length of a kilogram, m/kg: 10⁶/tex."""
    return Fraction(10**9) / need("tex_ug_m", tex_ug_m)


def yards_per_pound(tex_ug_m: Exact) -> Fraction:
    """Yield, yd/lb: 496 054.648/tex."""
    return Fraction(POUND_UG * 10**6, YARD_UM) / need("tex_ug_m", tex_ug_m)


def tex_from_yield(yards_per_lb: Fraction | int) -> int:
    """Linear density (µg/m) of a tow whose yield is given in yd/lb; rounded half-even. Raises BadInput on yield ≤ 0."""
    _above_zero("yield", yards_per_lb)
    return round(Fraction(POUND_UG * 10**6, YARD_UM) / yards_per_lb)


def denier(tex_ug_m: Exact) -> Fraction:
    """Linear density in denier: g per 9 000 m."""
    return Fraction(tex_ug_m) * 9 / 1000


def oz_per_yd2(areal_mg_m2: Exact) -> Fraction:
    """Areal weight in oz/yd²: 0.029 493 525 × g/m²."""
    return areal_mg_m2 * Fraction(YARD_UM**2, POUND_UG) * 16 / 10**9


def areal_from_weave(ends_per_cm: Exact, warp_ug_m: Exact, picks_per_cm: Exact, fill_ug_m: Exact) -> int:
    """`weave_areal`, rounded half-even to whole mg/m²."""
    return round(weave_areal(ends_per_cm, warp_ug_m, picks_per_cm, fill_ug_m))


def weave_areal(ends_per_cm: Exact, warp_ug_m: Exact, picks_per_cm: Exact, fill_ug_m: Exact) -> Fraction:
    """Areal weight (mg/m²) = (ends·tex_warp + picks·tex_fill)/10, without crimp. Raises BadInput convert.bad_property when a count
    or a tex is not above zero."""
    for name, value in (("ends", ends_per_cm), ("picks", picks_per_cm), ("tex_ug_m", warp_ug_m), ("tex_ug_m", fill_ug_m)):
        _above_zero(name, value)
    return Fraction(ends_per_cm * warp_ug_m + picks_per_cm * fill_ug_m) / 10
