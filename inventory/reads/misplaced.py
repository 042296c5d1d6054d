"""What stands in a place although it should not, by the place's own rule (R35) and by what the book knows of each thing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from inventory.core.places import PlaceRule, Storage, put_away
from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.core.temperature import display_celsius
from inventory.core.units import display
from inventory.models import Location, Material, Reading

from .stock import Piece


def rule_of(place: Location, held_ug: int = 0) -> PlaceRule:
    """What the place takes and refuses, with what stands there by mass."""
    return PlaceRule(
        name=place.name,
        low_mc=place.storage.low_mc,
        high_mc=place.storage.high_mc,
        accepts=frozenset(place.accepts.split()),
        refuses=frozenset(place.refuses.split()),
        max_ug=place.max_ug,
        held_ug=held_ug,
        kind=place.kind,
    )


def storage_of(m: Material) -> Storage:
    """How a material is to be kept."""
    return Storage(m.hazard, m.min_store_mc, m.max_store_mc, m.code, m.sds_url)


def misplaced(place: Location, pieces: Sequence[Piece]) -> list[tuple[Piece, list[Reason]]]:
    """The things that the place would refuse today, each with why. How full it is, is a matter of the place: see `too_full`."""
    hazards = Counter(p.item.material.hazard for p in pieces if p.item.material is not None and p.item.material.hazard)
    rule, found = rule_of(place), []
    for p in pieces:
        m = p.item.material
        if m is None:
            continue
        others = frozenset((hazards - Counter([m.hazard] if m.hazard else [])).keys())
        reasons = put_away(rule, storage_of(m), 0, others)
        if reasons:
            found.append((p, reasons))
    return found


def too_full(place: Location, pieces: Sequence[Piece]) -> Reason | None:
    """More mass than the place has room for."""
    held = sum(p.state.qty for p in pieces if p.item.unit == "ug" and p.state.qty > 0)
    if place.max_ug is None or held <= place.max_ug:
        return None
    text = say(
        "{place} holds {held} of {max}: take some of it elsewhere.",
        place=place.name,
        held=display(held, "ug"),
        max=display(place.max_ug, "ug"),
    )
    return Reason("place.full", text, {"held_ug": held, "max_ug": place.max_ug})


def out_of_band(place: Location, reading: Reading | None) -> Reason | None:
    """The last reading lies outside the place's band."""
    low, high = place.storage.low_mc, place.storage.high_mc
    if reading is None or high is None or (reading.temp_mc <= high and (low is None or reading.temp_mc >= low)):
        return None
    side = say("warmer") if reading.temp_mc > high else say("colder")
    text = say(
        "{place} was {temp} at the last reading, {side} than its band.", place=place.name, temp=display_celsius(reading.temp_mc), side=side
    )
    return Reason("place.out_of_band", text, {"temp_mc": reading.temp_mc, "low_mc": low, "high_mc": high})
