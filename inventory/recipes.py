"""Recipes as the pure cores take them: one place that translates the table's rows."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from inventory.core import mixing as judging
from inventory.core import potlife
from inventory.core.gelpoints import GelPoint
from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.models import Location, Recipe


def core_kind(recipe: Recipe) -> Any:
    """The pure core's word for the system: how its pot life behaves, and what its second component is called."""
    if recipe.kind != "other":
        return recipe.kind
    return "acid" if recipe.hardener.hazard == "acid" else "isocyanate"


def core_ratio(recipe: Recipe) -> judging.Recipe:
    """Its ratio alone, without temperatures and additives: no query, when resin and hardener were read with it."""
    return judging.Recipe(core_kind(recipe), recipe.low_ppm, recipe.target_ppm, recipe.high_ppm, recipe.never_ppm)


def core_recipe(recipe: Recipe, place: Location | None = None) -> judging.Recipe:
    additives = [a.material.code for a in recipe.additives.select_related("material").order_by("place", "pk")]
    lowest = [t for t in (recipe.min_temp_mc, place.min_mix_mc if place and recipe.kind == "peroxide" else None) if t is not None]
    return judging.Recipe(
        kind=core_kind(recipe),
        low_ppm=recipe.low_ppm,
        target_ppm=recipe.target_ppm,
        high_ppm=recipe.high_ppm,
        cap_ppm=recipe.never_ppm,
        min_temp_mc=max(lowest, default=None),
        max_temp_mc=recipe.max_temp_mc,
        order=("resin", *additives, "hardener"),
    )


def core_system(recipe: Recipe) -> potlife.System:
    """What is known of the system without its kinetics and its own gels: the data sheet's pot life, and gel points."""
    sheet = None
    if recipe.pot_us and recipe.pot_mass_ug and recipe.pot_temp_mc is not None:
        sheet = potlife.PotSheet(recipe.pot_us, recipe.pot_temp_mc, recipe.pot_mass_ug, recipe.pot_method)
    return potlife.System(core_kind(recipe), sheet, gel_points(recipe.gel_points))


def gel_points(text: str) -> tuple[GelPoint, ...]:
    """ "20, 1.5, 30" a line: temperature °C, dose %, gel minutes (or a range "28-42"). BadInput recipe.gel_point names the line."""
    out = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            temp, dose, minutes = (part.strip() for part in line.split(","))
            low, _, high = minutes.partition("-")
            scale = 60_000_000
            out.append(GelPoint(milli(temp), milli(dose) * 10, milli(low) * scale // 1000, milli(high or low) * scale // 1000))
        except ValueError:
            raise BadInput(
                "recipe.gel_point", say("Gel point in line {number} is not “temperature, dose %, minutes”.", number=number), "gel_points"
            ) from None
    return tuple(out)


def milli(text: str) -> int:
    """A decimal text in thousandths, rounded towards zero. ValueError if it is none."""
    try:
        return int(Decimal(text) * 1000)
    except InvalidOperation:
        raise ValueError(text) from None
