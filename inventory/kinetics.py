"""How fast a system reacts, as the pure cores take it: one place that translates the rows of its kinetics.

`fitted_for` is what everything asks: the newest version of a recipe's or a material's kinetics, or None where nobody has entered any.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from inventory.core.gelation import Viscosity, anchored
from inventory.core.kinetic_text import Glass, law_of, viscosity_of
from inventory.core.kinetics import Fitted
from inventory.core.mixing import PPM
from inventory.core.pot_forecast import SMOKE_MC, US, Chemistry, likely_us
from inventory.core.pot_vessel import CONDUCTS, DENSITY, HEAT_CAPACITY, Resin
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.vessel_text import usual_pot
from inventory.models import GelBy, Kinetics, Material, Recipe

PREMIXED = ("prepreg", "film")
_FIELDS = {"form": "form", "start": "seed_ppm", "heat": "heat_j_kg", "gel": "gel_ppm", "glass": "tg1_mc", "range": "low_mc"}
"""Where the core's own names for a place stand in the table."""


@dataclass(frozen=True, slots=True)
class Known:
    """One version of a system's kinetics. `fit`: law, range, seed and heat (`cure_time` computes with it); `glass`: the glass
    temperature over conversion, None where not known; `gel`: conversion at gel. `anchored`: the law's rate is still to be fitted to the
    recipe's data sheet (`chemistry_of`); `strict`: outside the fitted range no answer is given."""

    fit: Fitted
    glass: Glass | None
    gel: float
    version: int
    pk: int | None
    anchored: bool = False
    strict: bool = False
    viscosity: Viscosity | None = None
    thick_pa_s: float | None = None
    heat_capacity: float = HEAT_CAPACITY
    smokes_mc: int = SMOKE_MC
    boils_mc: int | None = None
    note: str = ""

    def chemistry(self, density: float = DENSITY, speed: float = 1.0) -> Chemistry:
        """As a pot's forecast takes it; `density` of the mixed resin in kg/m³, `speed` a factor on the rate."""
        resin = Resin(self.heat_capacity, density, CONDUCTS)
        return Chemistry(self.fit, self.gel, resin, speed, self.viscosity, self.thick_pa_s, self.smokes_mc, self.boils_mc)


def fitted_for(*, recipe: Recipe | None = None, material: Material | None = None) -> Known | None:
    """The newest kinetics of a recipe, or of a material that comes mixed (a prepreg or a film); None: nobody entered any. One query."""
    if (recipe is None) == (material is None):
        raise TypeError("name a recipe or a material")
    owner = {"recipe": recipe} if recipe is not None else {"material": material}
    row = Kinetics.objects.filter(**owner).order_by("-version").first()
    return None if row is None else known(row)


def known(row: Kinetics) -> Known:
    """A row as the cores take it. BadInput at the field where something cannot be (rows in the database have been checked)."""
    with told_at(_FIELDS):
        law = law_of(row.form, row.constants)
        temps = None if row.low_mc is None or row.high_mc is None else (row.low_mc, row.high_mc)
        fit = Fitted(row.name, row.source, law, temps, None, row.seed_ppm / PPM, row.heat_j_kg)
        viscosity, thick = viscosity_of(row.viscosity) if row.gel_by == GelBy.VISCOSITY else (None, None)
        glass = None
        if row.tg0_mc is not None and row.tg1_mc is not None and row.lambda_ppm is not None:
            glass = Glass(row.tg0_mc, row.tg1_mc, row.lambda_ppm / PPM)
        found = Known(
            fit, glass, row.gel_ppm / PPM, row.version, row.pk, row.gel_by == GelBy.SHEET, row.strict, viscosity, thick,
            float(row.heat_capacity or HEAT_CAPACITY), row.smokes_mc or SMOKE_MC, row.boils_mc, row.note,
        )  # fmt: skip
        found.chemistry()
    return found


def check(row: Kinetics) -> Known:
    """What must hold before a row is stored: `known`, and that it belongs to something that has kinetics."""
    if (row.recipe is None) == (row.material is None):
        text = say("Kinetics belong to one recipe, or to one material that comes mixed: choose one of the two.")
        raise BadInput("kinetics.owner", text, "recipe")
    if row.recipe is not None and row.recipe.kind == "peroxide":
        text = say(
            "A peroxide system has no rate law here, since inhibitor and promoter do what they like: enter gel points with the recipe."
        )
        raise BadInput("kinetics.peroxide", text, "recipe")
    if row.material is not None and row.material.kind not in PREMIXED:
        text = say("Only a prepreg or a film comes mixed: for a resin name the recipe it is mixed by.")
        raise BadInput("kinetics.owner", text, "material")
    if row.gel_by == GelBy.SHEET and (row.recipe is None or not (row.recipe.pot_us and row.recipe.pot_mass_ug and row.recipe.pot_temp_mc)):
        text = say("There is no data sheet to fit to: enter the recipe's pot life with its mass and temperature, or a conversion at gel.")
        raise BadInput("kinetics.no_sheet", text, "gel_by")
    if (row.low_mc is None) != (row.high_mc is None):
        raise BadInput("kinetics.range", say("A range has two ends: enter both, or neither where the source does not say."), "high_mc")
    if len({row.tg0_mc is None, row.tg1_mc is None, row.lambda_ppm is None}) > 1:
        raise BadInput(
            "kinetics.glass", say("The glass temperature needs all three: uncured, fully cured and λ; or none of them."), "tg0_mc"
        )
    return known(row)


def next_version(row: Kinetics) -> int:
    """One more than the newest of the same recipe or material."""
    owner = {"recipe": row.recipe_id} if row.recipe_id is not None else {"material": row.material_id}
    last = Kinetics.objects.filter(**owner).order_by("-version").values_list("version", flat=True).first()
    return (last or 0) + 1


def chemistry_of(recipe: Recipe, found: Known) -> Chemistry:
    """A recipe's chemistry before any gel taught it: where it says so, with the rate that its data sheet's own pot has. BadInput
    gel.anchor where that pot life is out of reach. `recipe.resin` and `.hardener` are read."""
    chemistry = found.chemistry(density_of(recipe))
    if not found.anchored or not (recipe.pot_us and recipe.pot_mass_ug and recipe.pot_temp_mc is not None):
        return chemistry
    return _anchored(chemistry, recipe.pot_us, recipe.pot_mass_ug, recipe.pot_temp_mc)


@lru_cache(maxsize=64)
def _anchored(chemistry: Chemistry, life_us: int, mass_ug: int, temp_mc: int) -> Chemistry:
    """The sheet's mass stands in a cup as tall as it is wide, since sheets seldom say in which."""
    pot = usual_pot("sheet", mass_ug / 1e9, temp_mc, chemistry.resin)

    def gels(speed: float) -> float:
        (us,) = likely_us(replace(chemistry, speed=speed), [pot])
        return math.inf if us is None else us / US

    return replace(chemistry, speed=anchored(gels, life_us / US))


def density_of(recipe: Recipe) -> float:
    """Of the mix at its target ratio, kg/m³; the usual one where the materials do not state theirs."""
    resin, hardener = recipe.resin.density_mg_cm3, recipe.hardener.density_mg_cm3
    if not resin or not hardener:
        return DENSITY
    share = recipe.target_ppm / PPM
    return (1 + share) / (1 / resin + share / hardener)
