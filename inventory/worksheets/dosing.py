"""Peroxide and promoter: what to weigh, each within its own window, and in which order."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from inventory.core import mixing, stoichiometry
from inventory.core.mixing import PPM, Recipe
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say

from .ratios import MASS, UG, ceil_ppm, floor_ppm
from .registry import RESIN, Figure, Sheet, exactly, figure, maybe, measured, needed, plainly, worksheet


@dataclass(frozen=True, slots=True)
class Dose:
    """Windows by mass of base resin, from the supplier of the resin. The promoter only where it is added in the shop."""

    resin: str = figure(say("Base resin"), "mass", "g", "1000 g", say("Without filler, pigment, wax or added styrene."))
    peroxide_low: str = figure(say("Peroxide at least"), "share", "%", "1.0 %")
    peroxide: str = figure(say("Peroxide, target"), "share", "%", "1.5 %")
    peroxide_high: str = figure(say("Peroxide at most"), "share", "%", "2.5 %")
    promoter_low: str = figure(say("Promoter at least"), "share", "%", "")
    promoter: str = figure(say("Promoter, target"), "share", "%", "")
    promoter_high: str = figure(say("Promoter at most"), "share", "%", "")
    peroxide_weighed: str = figure(say("Peroxide weighed in"), "mass", "g", "")
    promoter_weighed: str = figure(say("Promoter weighed in"), "mass", "g", "")
    peroxide_density: str = figure(say("Density of the peroxide"), "density", "g/cm³", "", say("To measure it by volume."))
    order: str = figure(say("Order of addition"), default="", words=say("As you mean to add them: promoter, peroxide."))


NEVER = say(
    "Never bring promoter and peroxide together: they can explode. Stir the promoter into all of the resin first, then the peroxide."
)
HARD = say("Goggles and gloves: peroxide blinds. An overdosed laminate can still read hard, so weigh rather than guess by hardness.")


@worksheet(
    "dose", Dose, say("Peroxide and promoter"), say("What to weigh for a mass of resin, within each window, and in which order."), RESIN
)
def dose(p: Dose) -> Sheet:
    base = exactly(p, "resin")
    if base <= 0 or base / UG < 1:
        raise BadInput("mix.mass", say("Weigh the base resin first: its mass must be above zero."), "resin")
    order = _order(p.order)
    names = [name for name in ("promoter", "peroxide") if getattr(p, name).strip() or name == "peroxide"]
    found, told = [], []
    for name in names:
        recipe = _window(p, name, order)
        with told_at("resin"):
            sizes = stoichiometry.dose(recipe, round(base / UG), name)
        for word, ug in ((say("low"), sizes.low_ug), (say("target"), sizes.target_ug), (say("high"), sizes.high_ug)):
            found.append(measured(say("{name}, {word}", name=name, word=word), ug * UG, "mass", MASS))
        told += _poured(p, name, recipe, base, found)
        told += [] if name == "promoter" else _density(p, sizes.target_ug * UG, found)
    bad = stoichiometry.judge_addition(order)
    target = next(f for f in found if f.name == "peroxide, target")
    resin = measured("", base, "mass", ("g",)).text
    return Sheet(
        say("Not in this order: the promoter goes in first.")
        if bad
        else say("{target} of peroxide for {resin} of resin.", target=target.text, resin=resin),
        tuple(found),
        (say("A dosage window belongs to its resin and its peroxide; it is no stoichiometry. By mass of base resin."),),
        (*(reason.text for reason in bad), NEVER, *told, HARD),
    )


def _window(p: Dose, name: str, order: tuple[str, ...]) -> Recipe:
    low, target, high = (
        needed(p, f"{name}{end}", say("The window of the {name} has a low end, a target and a high end.", name=name))
        for end in ("_low", "", "_high")
    )
    for field, value in ((f"{name}_low", low), (name, target), (f"{name}_high", high)):
        if not 0 < value <= Fraction(1, 2):
            raise BadInput(
                "mix.recipe",
                say("A dose of {name} is above 0 and at most 50 % of the resin: check the figure and its unit.", name=name),
                field,
            )
    with told_at({"ratio": name}):
        return Recipe("peroxide", ceil_ppm(low), round(target * PPM), floor_ppm(high), order=order)


def _poured(p: Dose, name: str, recipe: Recipe, base: Fraction, found: list[Figure]) -> list[str]:
    poured = maybe(p, f"{name}_weighed")
    if poured is None:
        return []
    with told_at({"resin": "resin", "hardener": f"{name}_weighed"}):
        told = mixing.judge_ratio(recipe, round(base / UG), round(poured / UG))
    share = poured / base * 100
    found += [
        Figure(say("{name} weighed", name=name), say("{share} %", share=plainly(float(share))), float(share), "%", say("of base resin")),
        Figure(say("{name} within its window", name=name), say("no") if told else say("yes"), not told),
    ]
    return [reason.text.replace(" peroxide", f" {name}") for reason in told]


def _density(p: Dose, mass: Fraction, found: list[Figure]) -> list[str]:
    density = maybe(p, "peroxide_density")
    if density is not None:
        if density <= 0:
            raise BadInput("geometry.not_above_zero", say("A density must be above zero."), "peroxide_density")
        found.append(measured(say("peroxide, by volume"), mass / density, "volume", ("ml", "US fl oz"), say("of the target")))
    return []


def _order(text: str) -> tuple[str, ...]:
    words = tuple(word.casefold() for word in re.split(r"[\s,;>→]+", text) if word)
    strange = [word for word in words if word not in ("resin", "wax", "filler", "pigment", "promoter", "peroxide")]
    if strange or len(set(words)) != len(words):
        raise BadInput("mix.order_unknown", say("Name each once: resin, filler, pigment, wax, promoter, peroxide."), "order")
    return words
