"""Kinetics of the yard's systems: published shapes, brought to the yard's own times, and named so. None of them is a product's.

The laminating epoxy has none, as most hand-layup epoxies have none that were published: its pot life is scaled from the data sheet.
"""

from __future__ import annotations

from typing import Any

from inventory.models import Kinetics, Material, Recipe

SHAPE = "A published shape, not this product: replace it by figures of the supplier or of your own calorimetry."
INFUSION: dict[str, Any] = {
    "name": "room-temperature infusion epoxy, a published shape",
    "source": "an institute's own fit in a public file, here fitted to the data sheet's 120 min for 150 g at 25 °C",
    "form": "published",
    "constants": '{"set": "room"}',
    "heat_j_kg": 450_000,
    "gel_by": "sheet",
    "gel_ppm": 577_000,
    "note": SHAPE,
}
# The glass temperatures are invented, as the material is.
PREPREG: dict[str, Any] = {
    "name": "aerospace prepreg in two regimes, a published shape made five times as fast",
    "source": "Lee, Loos and Springer 1982; the factor of five is invented, for a resin that cures at 85 to 120 °C",
    "form": "published",
    "constants": '{"set": "two regimes", "speed": 5}',
    "gel_ppm": 460_000,
    "tg0_mc": 0,
    "tg1_mc": 135_000,
    "lambda_ppm": 500_000,
    "note": SHAPE,
}


def build_kinetics(recipes: dict[str, Recipe], materials: dict[str, Material]) -> None:
    Kinetics.objects.create(recipe=recipes["INF"], version=1, **INFUSION)
    for code in ("PP-T", "PP-U"):
        Kinetics.objects.create(material=materials[code], version=1, **PREPREG)
