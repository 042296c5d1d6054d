"""What a label warns of, in our own plain words, and how it says to store a thing.

These are reminders for somebody who holds the thing, common practice and no source: they classify nothing, and they replace no
label that the law asks for. Each ends by naming who decides: the supplier's label and the safety data sheet. Each comes in two
lengths, for a label with room and for one without.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.compat import HAZARDS
from inventory.core.said import say
from inventory.core.temperature import display_celsius


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning: with room for it, and in short."""

    full: str
    short: str


DEFER = Caution(say("The supplier’s label and safety data sheet decide."), say("Data sheet decides."))
POT = Caution(
    say("It heats itself, may smoke and may burn: keep it open and shallow, and watch it. Gloves, goggles, fresh air."),
    say("Heats itself, may burn: open, shallow, watched. Gloves."),
)
_BY_HAZARD = {
    "peroxide": Caution(
        say(
            "Organic peroxide: can burn fiercely, harms eyes and skin. Cool, away from heat, sparks and metals. "
            "Never together with promoter."
        ),
        say("Organic peroxide: fire, eyes. Never with promoter."),
    ),
    "promoter": Caution(
        say("Promoter: never together with peroxide, they react violently. Gloves, goggles, fresh air."),
        say("Promoter: never with peroxide. Gloves."),
    ),
    "amine": Caution(
        say("Amine: burns skin and eyes, can make you allergic. Gloves, goggles, fresh air."),
        say("Amine: burns, allergy. Gloves, goggles."),
    ),
    "acid": Caution(
        say("Acid: burns skin and eyes. Gloves, goggles. Never together with peroxide."),
        say("Acid: burns. Gloves, goggles. Never with peroxide."),
    ),
    "isocyanate": Caution(
        say("Isocyanate: can bring on asthma and allergy. Fresh air or breathing protection, gloves, goggles. Keep it dry and closed."),
        say("Isocyanate: asthma, allergy. Air, gloves. Keep dry."),
    ),
}
_LIQUID = Caution(say("Can irritate and make you allergic. Gloves, goggles, fresh air."), say("Irritant, allergy. Gloves, goggles."))
_VAPOUR = Caution(
    say("Vapour can burn and dulls the senses: no flame, no sparks, fresh air. Gloves, goggles."),
    say("Vapour burns: no flame. Gloves, goggles."),
)
_UNCURED = Caution(say("Uncured resin: can make you allergic. Gloves."), say("Uncured resin: gloves."))
_BY_KIND = {
    "resin": _LIQUID, "hardener": _LIQUID, "gelcoat": _LIQUID, "paste": _LIQUID, "prepreg": _UNCURED, "film": _UNCURED,
}  # fmt: skip
_VAPOUR_FAMILIES = ("polyester", "vinylester", "methacrylate")
"""Resins that are sold dissolved in something that burns. Trade knowledge, from memory."""


def caution(hazard: str, material_kind: str, family: str = "") -> Caution | None:
    """What to warn of, by hazard class first, then by kind of material; None for what asks for nothing (dry fabric, cores)."""
    named = hazard.strip().casefold()
    if named in _BY_HAZARD:
        return _BY_HAZARD[named]
    if named:
        word = HAZARDS.get(named, hazard.strip())
        return Caution(say("Hazard: {word}. Gloves, goggles, fresh air.", word=word), say("Hazard: {word}.", word=word))
    if material_kind in ("resin", "gelcoat") and family.strip().casefold() in _VAPOUR_FAMILIES:
        return _VAPOUR
    return _BY_KIND.get(material_kind)


def storage(low_mc: int | None, high_mc: int | None) -> Caution | None:
    """Between which temperatures it is kept; None when the material says nothing."""
    low = display_celsius(low_mc) if low_mc is not None else ""
    high = display_celsius(high_mc) if high_mc is not None else ""
    if low and high:
        return Caution(say("Store at {low} to {high}", low=low, high=high), say("{low} to {high}", low=low, high=high))
    if high:
        return Caution(say("Store at {high} or colder", high=high), say("≤ {high}", high=high))
    return Caution(say("Store at {low} or warmer", low=low), say("≥ {low}", low=low)) if low else None
