"""How much to mix for a layup, and what is lost when more is mixed than it takes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from inventory.core import geometry, stoichiometry
from inventory.core.mixing import PPM, Recipe
from inventory.core.reasons import BadInput, told_at
from inventory.core.said import say
from inventory.core.stoichiometry import BatchSize, Layer

from .lines import Col, rows
from .ratios import GOVERNS, MASS, UG, ratio_of
from .registry import RESIN, Figure, Sheet, Table, figure, maybe, measured, needed, worksheet


@dataclass(frozen=True, slots=True)
class Batch:
    """Dry fabric layer by layer, the fibre that shall be in the laminate, and what stays behind in cup, roller and bleeder."""

    layers: str = figure(
        say("Layers of dry fabric"),
        default="204 g/m²; 1.8 m²; 4\n300 g/m²; 1.8 m²; 2",
        words=say("One a line: areal weight; area; plies."),
        rows=4,
    )
    fibre_weight: str = figure(say("Fibre by weight, target"), "share", "%", "60 %", optional=True)
    fibre_volume: str = figure(say("Fibre by volume, target"), "share", "%", "", say("Instead, with both densities."))
    fibre_density: str = figure(say("Density of the fibre"), "density", "g/cm³", "")
    resin_density: str = figure(say("Density of the cured resin"), "density", "g/cm³", "")
    ratio: str = figure(
        say("Hardener, by weight"), "ratio", "per 100", "28", say("Per 100 of resin: 28, 28 phr, 1.5 % of peroxide, or 100:28.")
    )
    waste: str = figure(say("Waste"), "share", "%", "15 %", say("Of what is mixed: what does not go into the laminate."))
    extra: str = figure(say("Resin for more than fabric"), "mass", "g", "", say("Such as to wet a core."))
    others: str = figure(say("Fillers, pigment, wax"), default="", words=say("One a line: name; per cent of base resin."), rows=3)
    price: str = figure(say("Price of a kilogram of mix"), "number", "", "", say("In your currency."))
    mixed: str = figure(say("Mixed, or meant to be"), "mass", "g", "", say("To see what is too much."))


@worksheet("batch-size", Batch, say("Batch size"), say("What to mix for a layup, what of each, and what over-mixing costs."), RESIN)
def batch_size(p: Batch) -> Sheet:
    ratio = ratio_of(p.ratio, "ratio")
    share = round(ratio * PPM)
    waste, extra = needed(p, "waste", say("Enter the waste: 0 % where nothing is lost.")), maybe(p, "extra") or Fraction(0)
    fibre = _fibre(p)
    recipe = Recipe("amine", share, share, share)
    with told_at({"plies": "layers", "area": "layers", "areal weight": "layers", "fibre fraction": _fibre_field(p), "waste": "waste"}):
        size = stoichiometry.batch_size(
            _layers(p.layers), round(fibre * PPM), recipe,
            waste_ppm=round(waste * PPM), others=_others(p.others), extra_ug=round(extra / UG),
        )  # fmt: skip
    found = [
        measured(say("fibre"), size.fibre_ug * UG, "mass", MASS),
        measured(say("resin in the laminate"), size.laminate_ug * UG, "mass", MASS, say("with its hardener")),
        measured(say("mix"), size.whole_ug * UG, "mass", MASS, say("with what is lost")),
        measured(say("waste"), (size.whole_ug - size.laminate_ug) * UG, "mass", MASS),
        *(measured(part.what, part.mass_ug * UG, "mass", MASS) for part in size.parts),
    ]
    cautions = _cost(p, size, found)
    parts = tuple((part.what, float(part.mass_ug * UG * 1000), float(part.share_ppm) / 10_000) for part in size.parts)
    return Sheet(
        say("Mix {measured}.", measured=measured("", size.whole_ug * UG, "mass", MASS, digits=4).text),
        tuple(found),
        (say("Limits and pot life belong to the system: see its mix ratio, and whether so much can be used in its time."),),
        (*cautions, GOVERNS),
        (Table(say("What to weigh"), (say("component"), "g", say("per 100 of base resin")), parts),),
    )


def _layers(text: str) -> list[Layer]:
    if not text.strip():
        return []
    columns = (Col(say("areal weight"), say("areal weight"), "g/m²"), Col("area", "area", "m²"), Col("plies", optional=True))
    found = []
    for n, (areal, area, plies) in enumerate(rows(text, "layers", columns), start=1):
        assert isinstance(areal, Fraction) and isinstance(area, Fraction) and not isinstance(plies, str)
        if plies is not None and (plies.denominator != 1 or not 1 <= plies <= 10_000):
            raise BadInput("quantity.whole", say("Layer {count}: the number of plies is a whole number.", count=n), "plies")
        if not 0 < areal <= 1000 or not 0 < area <= 10**6:
            raise BadInput(
                "mix.batch", say("Layer {count}: areal weight and area must be above zero; check them and their units.", count=n), "plies"
            )
        found.append(Layer(max(1, round(areal * PPM)), max(1, round(area * 10**8)), int(plies or 1)))
    return found


def _fibre_field(p: Batch) -> str:
    return "fibre_volume" if p.fibre_volume.strip() else "fibre_weight"


def _fibre(p: Batch) -> Fraction:
    """Fibre by weight."""
    if not p.fibre_volume.strip():
        return needed(p, "fibre_weight", say("Enter the fibre that shall be in the laminate, by weight or by volume."))
    if p.fibre_weight.strip():
        raise BadInput("ply.one_share", say("Enter the fibre by weight or by volume, not both."), "fibre_volume")
    why = say("From volume to weight it needs both densities.")
    volume = needed(p, "fibre_volume", why)
    fibre, resin = needed(p, "fibre_density", why), needed(p, "resin_density", why)
    with told_at({"fibre_volume": "fibre_volume", "fibre_mg_cm3": "fibre_density", "resin_mg_cm3": "resin_density"}):
        return geometry.fibre_weight(volume * PPM, fibre, resin)


def _others(text: str) -> list[tuple[str, int]]:
    found: list[tuple[str, int]] = []
    for name, share in rows(text, "others", (Col("share", "share", "%"),), named=True) if text.strip() else ():
        assert isinstance(name, str) and isinstance(share, Fraction)
        if not 0 < share <= 100:
            raise BadInput(
                "mix.batch",
                say("{name}: a share of base resin is above zero; check the figure and its unit.", name=name or say("A share")),
                "others",
            )
        if not name or name.casefold() in ("resin", "hardener", *(known.casefold() for known, _ in found)):
            raise BadInput("mix.batch", say("Give each a name of its own, such as: filler; 5 %."), "others")
        found.append((name, round(share * PPM)))
    return found


def _cost(p: Batch, size: BatchSize, found: list[Figure]) -> list[str]:
    """What the batch costs, and what was mixed and not needed."""
    price, mixed = maybe(p, "price"), maybe(p, "mixed")
    with told_at({"mass": "price" if price is not None and price < 0 else "mixed"}):
        if price is not None:
            whole = stoichiometry.cost_of_overmixing(size.whole_ug, 0, price)
            lost = stoichiometry.cost_of_overmixing(size.whole_ug, size.laminate_ug, price)
            found += [_money(say("cost of the mix"), whole), _money(say("cost of the waste"), lost)]
        if mixed is None:
            return []
        mixed_ug = round(mixed / UG)
        over = max(mixed_ug - size.whole_ug, 0)
        found.append(measured(say("mixed too much"), over * UG, "mass", MASS))
        if price is not None:
            found.append(_money(say("cost of over-mixing"), stoichiometry.cost_of_overmixing(mixed_ug, size.whole_ug, price)))
    if mixed_ug < size.whole_ug:
        return [
            say(
                "{measured} too little for this layup.", measured=measured("", (size.whole_ug - mixed_ug) * UG, "mass", MASS, digits=4).text
            )
        ]
    return []


def _money(name: str, value: Fraction) -> Figure:
    return Figure(name, f"{float(value):,.2f}".replace(",", " "), float(value), "", say("in the currency of the price"))
