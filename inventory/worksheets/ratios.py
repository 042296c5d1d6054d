"""Resin and hardener: what their groups say of the supplier's ratio, the ratio by weight and by volume. The
supplier's ratio governs; nothing here replaces it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from inventory.core import mixing, stoichiometry
from inventory.core.mixing import PPM, Recipe
from inventory.core.quantities import exact
from inventory.core.reasons import BadInput, Reason, told_at
from inventory.core.said import say, strung

from .lines import Col, rows
from .registry import RESIN, Figure, Sheet, Table, exactly, figure, maybe, measured, plainly, worksheet

GOVERNS = say("The supplier's ratio governs: equivalent weights only tell a slip of typing. Gloves, goggles, and the safety data sheet.")
MASS = ("g", "oz")
UG = Fraction(1, 10**9)  # a microgram in kg
_OVER = re.compile(r"(.+?)\s*/\s*([0-9.,]+)\s*")


@dataclass(frozen=True, slots=True)
class EquivalentWeight:
    """Blends of components by mass. An equivalent weight may be typed as molar mass over groups: 103.17/5. One that is left out is that
    of a filler, which brings no groups."""

    resin: str = figure(
        say("Resin"),
        default="resin; 80; 189\ndiluent; 10; 183\nfiller; 10",
        words=say("One a line: name; parts by mass; EEW."),
        rows=4,
    )
    hardener: str = figure(
        say("Hardener"), default=say("amine; 100; 43"), words=say("One a line: name; parts by mass; AHEW."), rows=3, optional=True
    )
    groups: str = figure(say("Hydrogens per epoxide"), "number", "", "", say("1 when left out: in balance."))


@worksheet(
    "equivalent-weight", EquivalentWeight, say("Equivalent weight"), say("EEW and AHEW of a blend, and the phr that they give."), RESIN
)
def equivalent_weight(p: EquivalentWeight) -> Sheet:
    if not (p.resin.strip() or p.hardener.strip()):
        raise BadInput("worksheet.needed", say("Type the components of the resin, of the hardener, or of both."), "resin")
    found, tables = [], []
    blends: dict[str, Fraction] = {}
    for field, word in (("resin", "EEW"), ("hardener", "AHEW")):
        if getattr(p, field).strip():
            parts = _components(getattr(p, field), field)
            with told_at(field):
                blends[word] = stoichiometry.blend_weight((mass, weight) for _, mass, weight in parts)
            found.append(_weight(word, blends[word], say("of the {field}", field=field)))
            tables.append(_shares(field, parts))
    says = strung(", ", (say("{word} {weight}", word=word, weight=plainly(float(weight), 6)) for word, weight in blends.items()))
    if len(blends) == 2:
        wanted = maybe(p, "groups")
        with told_at("groups"):
            phr = stoichiometry.phr(blends["AHEW"], blends["EEW"], Fraction(1) if wanted is None else wanted)
        found.append(
            Figure(
                say("phr"), say("{phr} per 100 by weight", phr=plainly(float(phr))), float(phr), "phr", say("hardener per hundred of resin")
            )
        )
        says += say(": {phr} per 100 by weight", phr=plainly(float(phr), 4))
    return Sheet(says + ".", tuple(found), cautions=(GOVERNS,), tables=tuple(tables))


def _components(text: str, where: str) -> list[tuple[str, Fraction, Fraction | None]]:
    columns = (Col(say("parts by mass")), Col(say("equivalent weight"), "text", "g/mol", optional=True))
    found = []
    for n, (name, mass, weight) in enumerate(rows(text, where, columns, named=True), start=1):
        assert isinstance(name, str) and isinstance(mass, Fraction) and isinstance(weight, str)
        try:
            found.append((name or say("component {count}", count=n), mass, _of_text(weight)))
        except BadInput as bad:
            raise BadInput(
                bad.reason.code,
                say("{name}: {bad_reason}", name=name or say("Component {count}", count=n), bad_reason=bad.reason.text),
                where,
            ) from None
    return found


def _of_text(text: str) -> Fraction | None:
    """ "189", "189 g/mol", "103.17/5"; None for a filler."""
    if text in ("", "-", "–", "—"):
        return None
    over = _OVER.fullmatch(text)
    if over is None:
        return exact(text, say("equivalent weight"), "g/mol", "")
    return stoichiometry.equivalent_weight(exact(over[1], say("equivalent weight"), "g/mol", ""), exact(over[2], "number", "", ""))


def _weight(name: str, value: Fraction, note: str) -> Figure:
    return Figure(name, say("{value} g/mol", value=plainly(float(value))), float(value), "g/mol", note)


def _shares(field: str, parts: list[tuple[str, Fraction, Fraction | None]]) -> Table:
    moles = [mass / weight if weight else Fraction(0) for _, mass, weight in parts]
    body = tuple(
        (name, float(mass), "–" if weight is None else float(weight), float(100 * mole / (sum(moles) or 1)))
        for (name, mass, weight), mole in zip(parts, moles, strict=True)
    )
    return Table(
        say("The {field}'s components", field=field),
        (say("component"), say("parts by mass"), say("equivalent weight, g/mol"), say("of the groups, %")),
        body,
    )


# --- the ratio -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class MixRatio:
    """One of the two ratios; densities turn it into the other. Low and high as the supplier states them, or a tolerance."""

    ratio: str = figure(
        say("Ratio by weight"), "ratio", "per 100", "28", say("Hardener per 100 of resin: 28, 28 phr, or 100:28."), optional=True
    )
    volume_ratio: str = figure(say("Ratio by volume"), "ratio", "per 100", "", say("Hardener per 100 of resin, or 3:1."))
    resin_density: str = figure(say("Density of the resin"), "density", "g/cm³", "1.13 g/cm³", optional=True)
    hardener_density: str = figure(say("Density of the hardener"), "density", "g/cm³", "0.96 g/cm³", optional=True)
    low: str = figure(say("Lowest ratio by weight"), "ratio", "per 100", "")
    high: str = figure(say("Highest ratio by weight"), "ratio", "per 100", "")
    tolerance: str = figure(say("Tolerance, where only the target is stated"), "share", "%", "", say("5 % when left out."))
    eew: str = figure(say("EEW of the resin"), "equivalent weight", "g/mol", "190", optional=True)
    ahew: str = figure(say("AHEW of the hardener"), "equivalent weight", "g/mol", "53", optional=True)
    plausible: str = figure(say("May lie from the groups' ratio by"), "share", "%", "", say("15 % when left out."))
    resin_mass: str = figure(say("Resin weighed in"), "mass", "g", "500 g", optional=True)
    hardener_mass: str = figure(say("Hardener weighed in"), "mass", "g", "")
    scale_step: str = figure(say("Step of the scale"), "mass", "g", "")


@worksheet(
    "mix-ratio",
    MixRatio,
    say("Mix ratio"),
    say("By weight and by volume, with its limits; whether it can be; what to weigh, and how to mend."),
    RESIN,
)
def mix_ratio(p: MixRatio) -> Sheet:
    target, by_volume = _ratios(p)
    low, high = _limits(p, target)
    if not 0 < low <= target <= high:
        field = "low" if p.low.strip() and not 0 < low <= target else "high" if p.high.strip() else "ratio"
        raise BadInput("mix.recipe", say("The limits of a ratio must rise: 0 < low ≤ target ≤ high."), field)
    found = [_per(say("by weight"), target)]
    if by_volume is not None:
        found.append(_per(say("by volume"), by_volume))
    found += [_per(say("low"), low, say("by weight")), _per(say("high"), high, say("by weight"))]
    if by_volume is not None:
        found += [_per(say("low by volume"), low * by_volume / target), _per(say("high by volume"), high * by_volume / target)]
    shares = ((say("resin in the mix"), float(100 / (1 + target))), (say("hardener in the mix"), float(100 * target / (1 + target))))
    found += [
        *(Figure(name, say("{share} %", share=plainly(share)), share, "%", say("by weight")) for name, share in shares),
    ]  # fmt: skip
    cautions = _groups(p, target, found)
    recipe = Recipe("amine", floor_ppm(low), round(target * PPM), ceil_ppm(high))
    cautions += _weighed(p, recipe, target, low, high, found)
    volume = say(", {by_volume} by volume", by_volume=plainly(float(by_volume) * 100, 4)) if by_volume is not None else ""
    return Sheet(
        say("{target} of hardener per 100 of resin by weight{volume}.", target=plainly(float(target) * 100, 5), volume=volume),
        tuple(found),
        cautions=(*cautions, GOVERNS),
    )


def ratio_of(text: str, where: str) -> Fraction:
    """ "28", "28 phr", "28 per 100", "100:28" or "2:1" (resin : hardener), as hardener over resin."""
    sides = text.split(":")
    if len(sides) != 2:
        value = exact(text, "ratio", say("per 100"), where)
    else:
        resin, hardener = (exact(side, "number", "", where) for side in sides)
        if resin <= 0:
            raise BadInput("mix.recipe", say("In a ratio such as 100:28 the resin comes first, and is above zero."), where)
        value = hardener / resin
    if not Fraction(1, PPM) <= value <= 1000:
        raise BadInput("mix.recipe", say("A ratio is above zero and at most a thousand to one: check the figure."), where)
    return value


def _ratios(p: MixRatio) -> tuple[Fraction, Fraction | None]:
    """By weight, and by volume where the densities are known."""
    resin, hardener = maybe(p, "resin_density"), maybe(p, "hardener_density")
    for name, density in (("resin_density", resin), ("hardener_density", hardener)):
        if density is not None and density <= 0:
            raise BadInput("geometry.not_above_zero", say("A density must be above zero."), name)
    lighter = resin / hardener if resin is not None and hardener is not None else None
    if p.ratio.strip():
        target = ratio_of(p.ratio, "ratio")
        ours = None if lighter is None else target * lighter
        if p.volume_ratio.strip():
            stated = ratio_of(p.volume_ratio, "volume_ratio")
            if ours is not None and abs(stated - ours) > ours / 20:
                computed = plainly(float(ours) * 100, 4)
                text = say(
                    "By weight and densities the ratio by volume is {computed} per 100: check the densities and both ratios.",
                    computed=computed,
                )
                raise BadInput("mix.ratios_differ", text, "volume_ratio")
            return target, ours or stated
        return target, ours
    if not p.volume_ratio.strip():
        raise BadInput("worksheet.needed", say("Enter the ratio by weight or by volume."), "ratio")
    by_volume = ratio_of(p.volume_ratio, "volume_ratio")
    if lighter is None:
        lacks = "resin_density" if resin is None else "hardener_density"
        raise BadInput("worksheet.needed", say("From volume to weight it needs both densities."), lacks)
    return by_volume / lighter, by_volume


def _limits(p: MixRatio, target: Fraction) -> tuple[Fraction, Fraction]:
    slack = maybe(p, "tolerance")
    share = Fraction(stoichiometry.TOLERANCE_PPM, PPM) if slack is None else slack
    if not 0 <= share < 1:
        raise BadInput("mix.recipe", say("The tolerance on a ratio lies from 0 to below all of it."), "tolerance")
    low = ratio_of(p.low, "low") if p.low.strip() else target * (1 - share)
    return low, ratio_of(p.high, "high") if p.high.strip() else target * (1 + share)


def _groups(p: MixRatio, target: Fraction, found: list[Figure]) -> list[str]:
    """What the equivalent weights say of the ratio."""
    if not (p.eew.strip() and p.ahew.strip()):
        return []
    eew, ahew = exactly(p, "eew"), exactly(p, "ahew")
    with told_at({"EEW": "eew", "AHEW": "ahew"}):
        phr = stoichiometry.phr(ahew, eew)
        balance = target * 100 / phr
    slack = maybe(p, "plausible")
    told = stoichiometry.judge_plausible(round(target * PPM), ahew, eew, *(() if slack is None else (round(slack * PPM),)))
    found += [
        Figure(
            say("phr by the groups"),
            say("{phr} per 100", phr=plainly(float(phr))),
            float(phr),
            "phr",
            say("hydrogens and epoxides in balance"),
        ),
        Figure(say("hydrogens per epoxide"), plainly(float(balance), 4), float(balance), "", say("at the stated ratio")),
        Figure(say("plausible"), say("no") if told else say("yes"), not told),
    ]
    return [reason.text for reason in told]


def _weighed(p: MixRatio, recipe: Recipe, target: Fraction, low: Fraction, high: Fraction, found: list[Figure]) -> list[str]:
    """What to weigh, or how what was weighed stands and is mended."""
    resin = maybe(p, "resin_mass")
    if resin is None:
        return []
    if resin <= 0:
        raise BadInput("mix.mass", say("Weigh the base resin first: its mass must be above zero."), "resin_mass")
    for name, share in ((say("hardener, low"), low), ("hardener", target), (say("hardener, high"), high)):
        found.append(measured(name, resin * share, "mass", MASS, say("for the resin weighed in")))
    step = maybe(p, "scale_step")
    step_ug = None if step is None else round(step / UG)
    told: list[Reason] = []
    poured = maybe(p, "hardener_mass")
    with told_at({"resin": "resin_mass", "hardener": "hardener_mass", "scale": "scale_step"}):
        if poured is not None:
            resin_ug, poured_ug = max(1, round(resin / UG)), round(poured / UG)
            told += mixing.judge_ratio(recipe, resin_ug, poured_ug)
            found.append(_per("weighed", poured / resin))
            found.append(Figure(say("within limits"), say("no") if told else say("yes"), not told))
            add = next((reason.numbers["add_ug"] for reason in told if "add_ug" in reason.numbers), None)
            if isinstance(add, int):
                found.append(measured(say("add {add}", add=told[0].numbers["add"]), add * UG, "mass", MASS))
        told += mixing.judge_scale("hardener", round((resin * target if poured is None else poured) / UG), step_ug)
    return [reason.text for reason in told]


def _per(name: str, ratio: Fraction, note: str = "") -> Figure:
    return Figure(name, say("{ratio} per 100", ratio=plainly(float(ratio) * 100)), float(ratio * 100), say("per 100 of resin"), note)


def floor_ppm(share: Fraction) -> int:
    return max(1, (share * PPM).__floor__())


def ceil_ppm(share: Fraction) -> int:
    return (share * PPM).__ceil__()
