"""How much hardener belongs to a resin by their groups, and how much to mix for a layup.

The supplier's ratio governs (`mixing`); equivalent weights only say whether it is plausible. An equivalent weight is grams of a substance
per mole of its reacting groups: EEW of epoxides, AHEW of active hydrogens. phr is parts of hardener per hundred of *base resin*
by mass. Peroxide and promoter are doses within a window of their system, not a stoichiometry.

Exact fractions throughout: ratios as ppm of base resin, masses µg, areal weights mg/m², areas 0.01 mm², densities mg/cm³ (= kg/m³),
as everywhere on the shelf; equivalent weights in g/mol as Fractions.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.core.mixing import PPM, WORDS, Recipe, judge_ratio
from inventory.core.numerals import plain
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say

Figure = Fraction | int
# How far a supplier's ratio may lie from the groups' before it is doubted: suppliers blend and choose off balance on purpose. Common
# practice, no source.
PLAUSIBLE_PPM = 150_000
# ± 5 % on the ratio: one adhesive maker's general advice. For a system that states only its target.
TOLERANCE_PPM = 50_000


# --- equivalent weights --------------------------------------------------------------------------


def equivalent_weight(molar_g: Figure, groups: Figure) -> Fraction:
    """g per mole of groups: molar mass over the number of reacting groups (DETA: 103.17/5). BadInput mix.equivalent."""
    return Fraction(_above(molar_g, say("molar mass"))) / Fraction(_above(groups, say("number of groups")))


def blend_weight(parts: Iterable[tuple[Figure, Figure | None]]) -> Fraction:
    """Equivalent weight of a blend of (mass, equivalent weight; None for a filler, which brings no groups): mass over moles of groups.
    BadInput mix.equivalent where nothing in it reacts."""
    mass, moles = Fraction(0), Fraction(0)
    for part, weight in parts:
        mass += _above(part, say("mass of a part"))
        if weight is not None:
            moles += Fraction(part) / _above(weight, say("equivalent weight"))
    if not moles:
        raise BadInput("mix.equivalent", say("Nothing in this blend reacts: enter the equivalent weight of at least one part."), "blend")
    return mass / moles


def phr(ahew: Figure, eew: Figure, groups_ratio: Figure = 1) -> Fraction:
    """Parts of hardener per hundred of resin by mass: 100·AHEW/EEW, times the hydrogens wanted per epoxide."""
    return 100 * Fraction(_above(ahew, "AHEW")) / _above(eew, "EEW") * _above(groups_ratio, say("ratio of the groups"))


def groups_ratio(ahew: Figure, eew: Figure, ratio_ppm: int) -> Fraction:
    """Active hydrogens per epoxide at a ratio of hardener to resin by mass; 1 is in balance. What `gelation.gel_point` asks is this or
    its inverse, whichever is at most 1."""
    return Fraction(_above(ratio_ppm, "ratio"), PPM) * _above(eew, "EEW") / _above(ahew, "AHEW")


def judge_plausible(target_ppm: int, ahew: Figure, eew: Figure, tolerance_ppm: int = PLAUSIBLE_PPM) -> list[Reason]:
    """Whether a supplier's ratio fits the groups. Never a refusal: the supplier's ratio governs, but a slip of typing shows here."""
    ours = phr(ahew, eew) * PPM / 100
    if abs(target_ppm - ours) * PPM <= tolerance_ppm * ours:
        return []
    text = say(
        "The ratio of {fraction} per 100 does not fit the equivalent weights, which give {ours}: compare "
        "both with the data sheet. The supplier's ratio governs.",
        fraction=plain(Fraction(target_ppm, 10000), 2),
        ours=plain(ours / 10000, 1),
    )
    return [Reason("mix.implausible_ratio", text, {"target_ppm": target_ppm, "computed_ppm": round(ours)})]


# --- by weight and by volume ---------------------------------------------------------------------


def by_volume(ratio_ppm: Figure, resin_mg_cm3: int, hardener_mg_cm3: int) -> Fraction:
    """A ratio by mass (ppm) as one by volume (ppm): times the resin's density over the hardener's."""
    return (
        Fraction(_above(ratio_ppm, "ratio"))
        * _above(resin_mg_cm3, say("resin's density"))
        / _above(hardener_mg_cm3, say("hardener's density"))
    )


def by_weight(volume_ppm: Figure, resin_mg_cm3: int, hardener_mg_cm3: int) -> Fraction:
    """A ratio by volume (ppm) as one by mass (ppm): the inverse of `by_volume`."""
    return by_volume(volume_ppm, hardener_mg_cm3, resin_mg_cm3)


def limits_around(target_ppm: int, tolerance_ppm: int = TOLERANCE_PPM) -> tuple[int, int, int]:
    """Low, target and high for a system that states only its target; rounded inwards, so that both ends are within the tolerance."""
    _above(target_ppm, "ratio")
    if not 0 <= tolerance_ppm < PPM:
        raise BadInput("mix.recipe", say("The tolerance on a ratio lies from 0 to below all of it."), "tolerance")
    low = -(-target_ppm * (PPM - tolerance_ppm) // PPM)
    return low, target_ppm, target_ppm * (PPM + tolerance_ppm) // PPM


# --- peroxide and promoter -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Dose:
    """One weighed-in thing by its share of base resin: µg at the low end, the target and the high end of its window."""

    what: str
    low_ug: int
    target_ug: int
    high_ug: int


def dose(recipe: Recipe, base_resin_ug: int, what: str = "") -> Dose:
    """What to weigh of the second component (hardener, peroxide, promoter, each with its own recipe's window) into so much base resin. The
    ends are rounded inwards: each of the three is allowed by `mixing.judge_ratio`."""
    _above(base_resin_ug, say("mass of the base resin"))
    low = -(-recipe.low_ppm * base_resin_ug // PPM)
    high = recipe.high_ppm * base_resin_ug // PPM
    if low > high:
        text = say("So little resin has no dose that can be weighed between the limits: make a larger batch.")
        raise BadInput("mix.too_small", text, "resin", base_resin_ug=base_resin_ug)
    target = min(max(round(Fraction(recipe.target_ppm * base_resin_ug, PPM)), low), high)
    return Dose(what or WORDS[recipe.kind], low, target, high)


def judge_doses(base_resin_ug: int, promoter: Recipe, promoter_ug: int, peroxide: Recipe, peroxide_ug: int) -> list[Reason]:
    """Both doses of a system whose promoter is added in the shop, each in its own window, and the order that keeps hands safe: the two
    never meet undiluted (suppliers' technical notes)."""
    found = judge_ratio(promoter, base_resin_ug, promoter_ug) + judge_ratio(peroxide, base_resin_ug, peroxide_ug)
    return found + judge_addition(peroxide.order)


def judge_addition(order: Sequence[str]) -> list[Reason]:
    """Whether promoter and peroxide go in in the order that keeps hands safe."""
    if "promoter" not in order or "peroxide" not in order or order.index("promoter") < order.index("peroxide"):
        return []
    text = say("Promoter goes in first and is stirred in; then the peroxide. The two never meet directly: they can explode.")
    return [Reason("mix.promoter_first", text, {"order": ",".join(order)}, cap=True)]


# --- the size of a batch -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Layer:
    """So much dry fabric of one sort: `areal_mg_m2` over `area_cmm2`, `plies` times."""

    areal_mg_m2: int
    area_cmm2: int
    plies: int = 1


@dataclass(frozen=True, slots=True)
class Part:
    """One component of a batch. `share_ppm`: of base resin."""

    what: str
    mass_ug: int
    share_ppm: int


@dataclass(frozen=True, slots=True)
class BatchSize:
    """What to mix. `fibre_ug` dry fabric; `laminate_ug` the resin that shall be in it; `whole_ug` with what is lost; then the parts,
    which sum to the whole."""

    fibre_ug: int
    laminate_ug: int
    whole_ug: int
    parts: tuple[Part, ...]


def batch_size(
    layers: Sequence[Layer],
    fibre_ppm: int,
    recipe: Recipe,
    *,
    waste_ppm: int,
    others: Sequence[tuple[str, int]] = (),
    extra_ug: int = 0,
) -> BatchSize:
    """The batch for a layup. `fibre_ppm`: target mass fraction of fibre in the laminate; `waste_ppm`: of the mix, what stays in cup,
    roller, lines and bleeder (of the whole, so 20 % waste means a quarter more); `extra_ug`: resin for more than fabric, as to wet a
    core; `others`: fillers, pigment and wax as (name, ppm of base resin). Masses round half to even; the base resin takes the
    remainder, so the parts sum to the whole."""
    if not 0 < fibre_ppm < PPM:
        raise BadInput("mix.batch", say("The fibre fraction of a laminate lies between 0 and 1, by mass."), "fibre fraction")
    if not 0 <= waste_ppm < PPM or extra_ug < 0:
        raise BadInput("mix.batch", say("Waste is a share of the mix from 0 to below all of it, and extras are not below zero."), "waste")
    fibre = sum((_ply(layer) for layer in layers), Fraction(0))
    if not fibre and not extra_ug:
        raise BadInput("mix.batch", say("Nothing to wet out: enter the plies with their areal weight and area."), "plies")
    laminate = fibre * (PPM - fibre_ppm) / fibre_ppm + extra_ug
    whole = laminate * PPM / (PPM - waste_ppm)
    shares = [(WORDS[recipe.kind], recipe.target_ppm), *((name, _above(ppm, say("share of {name}", name=name))) for name, ppm in others)]
    base = whole * PPM / (PPM + sum(ppm for _, ppm in shares))
    total = round(whole)
    rest = [Part(name, round(base * ppm / PPM), int(ppm)) for name, ppm in shares]
    resin = Part("resin", total - sum(part.mass_ug for part in rest), PPM)
    return BatchSize(round(fibre), round(laminate), total, (resin, *rest))


def cost_of_overmixing(mixed_ug: int, needed_ug: int, price_per_kg: Fraction) -> Fraction:
    """What was mixed and not needed, in the price's currency; zero where there was too little."""
    if mixed_ug < 0 or needed_ug < 0 or price_per_kg < 0:
        raise BadInput("mix.batch", say("Masses and prices are not below zero."), "mass")
    return Fraction(max(mixed_ug - needed_ug, 0), 10**9) * price_per_kg


def _ply(layer: Layer) -> Fraction:
    """µg of fabric: mg/m² × 0.01 mm² is 1e-8 mg, 1e-5 µg."""
    if layer.plies < 1:
        raise BadInput("mix.batch", say("A layer has at least one ply."), "plies")
    return Fraction(_above(layer.areal_mg_m2, say("areal weight")) * _above(layer.area_cmm2, "area") * layer.plies, 10**5)


def _above(value: Figure, name: str) -> Figure:
    if not isinstance(value, (int, Fraction)) or value <= 0:
        raise BadInput("mix.equivalent", say("The {name} must be a number above zero: see the data sheet.", name=name), name)
    return value
