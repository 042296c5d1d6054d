"""Resin systems: ratios in ppm of base resin by mass, pot lives as the data sheets state them."""

from __future__ import annotations

from typing import Any

from inventory.models import Material, Recipe, RecipeAdditive

from .anchor import MINUTE_US

G = 1_000_000
PPM = 10_000  # of one per cent
# Never: three times the highest dose. A system's own bound governs; this is the yard's, common practice, no source.
TIMES_HIGH = 3


def _amine(resin: str, target: int, tolerance: int, minutes: int, grams: int) -> dict[str, Any]:
    middle, spread = int(target) * PPM, int(tolerance) * PPM
    return {
        "kind": "amine",
        "resin": f"{resin}-A",
        "hardener": f"{resin}-B",
        "low_ppm": middle - spread,
        "target_ppm": middle,
        "high_ppm": middle + spread,
        "pot_us": minutes * MINUTE_US,
        "pot_mass_ug": grams * G,
        "pot_temp_mc": 25_000,
        "pot_method": "data sheet, 25 °C",
    }


def _peroxide(resin: str, low: int, target: int, high: int, gel_points: str) -> dict[str, Any]:
    return {
        "kind": "peroxide",
        "resin": resin,
        "hardener": "MEKP",
        "low_ppm": low,
        "target_ppm": target,
        "high_ppm": high,
        "never_ppm": TIMES_HIGH * high,
        "min_temp_mc": 18_000,
        "gel_points": gel_points,
    }


# Gel cups of the yard: temperature °C, dose %, gel minutes. They are made in the size of a pot, which heats itself.
VE_POINTS = """16, 1.0, 46
16, 1.5, 32
16, 2.0, 26
20, 1.0, 43
20, 1.5, 30
20, 2.0, 24
25, 1.0, 40
25, 1.5, 28
25, 2.0, 22
32, 1.0, 30
32, 1.5, 22
32, 2.0, 17"""
PE_POINTS = """16, 1.0, 44
16, 1.5, 31
16, 2.0, 24
20, 1.0, 38
20, 1.5, 26
20, 2.0, 20
25, 1.0, 31
25, 1.5, 21
25, 2.0, 17
32, 1.0, 21
32, 1.5, 14
32, 2.0, 11"""
GC_POINTS = """16, 1.5, 22
16, 2.0, 17
16, 2.5, 14
20, 1.5, 19
20, 2.0, 14
20, 2.5, 11
25, 1.5, 15
25, 2.0, 11
25, 2.5, 9
32, 1.5, 10
32, 2.0, 7
32, 2.5, 6"""

RECIPES: dict[str, tuple[str, dict[str, Any]]] = {
    "LAM": ("Laminating epoxy 100 : 25", _amine("LAM", 25, 1, 25, 500)),
    "INF": ("Infusion epoxy 100 : 30", _amine("INF", 30, 1, 120, 150)),
    "WND": ("Winding epoxy 100 : 32", _amine("WND", 32, 1, 300, 500)),
    "VE": ("Vinyl ester, peroxide 1.5 %", _peroxide("VE-I", 10_000, 15_000, 20_000, VE_POINTS)),
    "PE": ("Polyester, peroxide 1.5 %", _peroxide("PE-L", 10_000, 15_000, 20_000, PE_POINTS)),
    "GC": ("Gelcoat, peroxide 2 %", _peroxide("GC-W", 15_000, 20_000, 25_000, GC_POINTS)),
    "PH": (
        "Phenolic, 6 per 100 acid hardener",
        {
            "kind": "other",
            "resin": "PH-R",
            "hardener": "PH-C",
            "low_ppm": 50_000,
            "target_ppm": 60_000,
            "high_ppm": 70_000,
            "pot_us": 40 * MINUTE_US,
            "pot_mass_ug": 200 * G,
            "pot_temp_mc": 25_000,
            "pot_method": "data sheet, 25 °C",
        },
    ),
    "PU": (
        "Core bond 100 : 25",
        {
            "kind": "other",
            "resin": "PU-A",
            "hardener": "PU-B",
            "low_ppm": 237_500,
            "target_ppm": 250_000,
            "high_ppm": 262_500,
            "pot_us": 20 * MINUTE_US,
            "pot_mass_ug": 500 * G,
            "pot_temp_mc": 25_000,
            "pot_method": "data sheet, 25 °C",
        },
    ),
    "BP": (
        "Bonding paste 2 : 1",
        {
            "kind": "other",
            "resin": "BP-A",
            "hardener": "BP-B",
            "low_ppm": 475_000,
            "target_ppm": 500_000,
            "high_ppm": 525_000,
            "pot_us": 30 * MINUTE_US,
            "pot_mass_ug": 100 * G,
            "pot_temp_mc": 25_000,
            "pot_method": "data sheet, 25 °C",
        },
    ),
}
# recipe: ((additive, at most ppm of base resin), …), added before the peroxide
ADDITIVES: dict[str, tuple[tuple[str, int], ...]] = {
    "LAM": (("SIL", 200_000), ("MB", 600_000)),
    "VE": (("WAX-5", 20_000), ("STY", 50_000)),
    "PE": (("WAX-5", 20_000), ("STY", 50_000)),
    "GC": (("PIG-W", 100_000),),
}


def build_recipes(materials: dict[str, Material]) -> dict[str, Recipe]:
    rows = Recipe.objects.bulk_create(
        Recipe(code=code, name=name, resin=materials[values["resin"]], hardener=materials[values["hardener"]], **_without_materials(values))
        for code, (name, values) in RECIPES.items()
    )
    recipes = {row.code: row for row in rows}
    RecipeAdditive.objects.bulk_create(
        RecipeAdditive(recipe=recipes[code], material=materials[name], max_ppm=most, place=place)
        for code, additives in ADDITIVES.items()
        for place, (name, most) in enumerate(additives, 1)
    )
    return recipes


def _without_materials(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if name not in ("resin", "hardener")}
