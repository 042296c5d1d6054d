"""Resin systems: one on a page, with its ratio by weight and by volume, whether that is plausible, what is known of its time, and what its
gels taught."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core.gelpoints import GelPoint
from inventory.core.kinetics import range_reasons
from inventory.core.mixing import PPM
from inventory.core.mixing import Recipe as Limits
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say
from inventory.core.stoichiometry import by_volume, groups_ratio, judge_plausible, phr
from inventory.kinetics import Known, known
from inventory.models import Kinetics, Recipe, RecipeAdditive
from inventory.recipes import core_recipe

from .pots import PotSystem, pot_system

MOST = 500


@dataclass(frozen=True, slots=True)
class Groups:
    """A ratio against the equivalent weights, g/mol: what they give in ppm, hydrogens per epoxide at the target, and doubts."""

    eew: Fraction
    ahew: Fraction
    computed_ppm: int
    balance: Fraction
    doubts: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Version:
    """One version of the kinetics. `known` None: its text can no longer be read, `why`."""

    row: Kinetics
    known: Known | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class RecipeView:
    """`volume_ppm`: low, target and high by volume, None without both densities (`no_volume` names whose are missing)."""

    recipe: Recipe
    limits: Limits
    additives: tuple[RecipeAdditive, ...]
    volume_ppm: tuple[int, int, int] | None
    no_volume: tuple[str, ...]
    groups: Groups | None
    versions: tuple[Version, ...]
    system: PotSystem
    points: tuple[GelPoint, ...]


def recipes() -> list[Recipe]:
    """Every system by its code."""
    return list(Recipe.objects.select_related("resin", "hardener").prefetch_related("kinetics").order_by("code")[:MOST])


def recipe_view(site: int, code: str) -> RecipeView:
    """One system. Raises Recipe.DoesNotExist."""
    if "\x00" in code:  # which PostgreSQL does not take, not even to look for
        raise Recipe.DoesNotExist
    recipe = Recipe.objects.select_related("resin", "hardener").get(code__iexact=code[:24])
    system = pot_system(site, recipe)
    resin, hardener = recipe.resin, recipe.hardener
    volume = None
    if resin.density_mg_cm3 and hardener.density_mg_cm3:
        low, target, high = (
            round(by_volume(ppm, resin.density_mg_cm3, hardener.density_mg_cm3))
            for ppm in (recipe.low_ppm, recipe.target_ppm, recipe.high_ppm)
        )
        volume = (low, target, high)
    return RecipeView(
        recipe,
        core_recipe(recipe),
        tuple(recipe.additives.select_related("material").order_by("place", "pk")),
        volume,
        tuple(m.code for m in (resin, hardener) if not m.density_mg_cm3),
        groups_of(recipe),
        tuple(_version(row) for row in recipe.kinetics.order_by("-version")),
        system,
        tuple(sorted(system.core.points, key=lambda p: (p.dose_ppm, p.temp_mc))),
    )


def groups_of(recipe: Recipe) -> Groups | None:
    """None where an equivalent weight is not known, or where it is no stoichiometry (a peroxide)."""
    if recipe.kind == "peroxide" or not recipe.resin.eew_mg_mol or not recipe.hardener.ahew_mg_mol:
        return None
    eew, ahew = Fraction(recipe.resin.eew_mg_mol, 1000), Fraction(recipe.hardener.ahew_mg_mol, 1000)
    doubts = tuple(judge_plausible(recipe.target_ppm, ahew, eew))
    return Groups(eew, ahew, round(phr(ahew, eew) * PPM / 100), groups_ratio(ahew, eew, recipe.target_ppm), doubts)


def _version(row: Kinetics) -> Version:
    try:
        return Version(row, known(row))
    except BadInput as bad:
        return Version(row, None, bad.reason.text)


def range_words(found: Known) -> str:
    """Where a version was fitted, or that nobody said."""
    temps = found.fit.temps_mc
    if temps is None:
        (reason,) = range_reasons(found.fit, 20_000, 20_000)
        return reason.text
    return say("{temps} to {temps_2} °C", temps=f"{temps[0] / 1000:g}", temps_2=f"{temps[1] / 1000:g}") + (
        say(", refused outside") if found.strict else say(", flagged outside")
    )
