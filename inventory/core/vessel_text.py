"""How a pot stands, as it is typed and kept: a cup by its diameter, a tray by its area, a film by its thickness, or the shop's own h·S.

Kept as whole numbers, because it belongs to a record: µm, 0.01 mm², µm, mW/K.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from inventory.core import pot_vessel
from inventory.core.numerals import shown
from inventory.core.pot_forecast import Pot
from inventory.core.pot_vessel import Resin, Vessel
from inventory.core.quantities import read
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung

WORDS: Mapping[str, str] = MappingProxyType(
    {
        "cup": say("Cup, by its inner diameter"),
        "tray": say("Tray, by its area"),
        "film": say("Film, by its thickness"),
        "own": say("Own heat loss h·S"),
    }
)
ASKED: Mapping[str, str] = MappingProxyType(
    {"cup": say("an inner diameter, such as 90 mm"), "tray": say("an area, such as 20 × 30 cm or 600 cm²"),
     "film": say("a thickness, such as 1 mm"), "own": say("the heat loss, such as 0.25 W/K")}
)  # fmt: skip
_NAMES: Mapping[str, str] = MappingProxyType({"cup": "um", "tray": "cmm2", "film": "um", "own": "mw_k"})
_SIDES = re.compile(r"\s*([0-9.,]{1,12})\s*(mm|cm|m|in)?\s*[x×*]\s*([0-9.,]{1,12})\s*(mm|cm|m|in)?\s*", re.IGNORECASE)
_LOSS = re.compile(r"\s*([0-9.,]{1,12})\s*(W/K|mW/K)?\s*", re.IGNORECASE)
# What a vessel can be at all: beyond it the unit is wrong. Common practice, no source.
_BOUNDS: Mapping[str, tuple[int, int]] = MappingProxyType(
    {"cup": (5_000, 2_000_000), "tray": (10_000, 10**11), "film": (10, 100_000), "own": (0, 1_000_000)}
)


@dataclass(frozen=True, slots=True)
class Stand:
    """`size`: µm across (cup), 0.01 mm² (tray), µm thick (film), mW/K (own)."""

    kind: str
    size: int

    def __str__(self) -> str:
        if self.kind == "cup":
            return say("cup, {size} mm across", size=f"{self.size / 1000:g}")
        if self.kind == "tray":
            return say("tray, {size} cm²", size=f"{self.size / 10000:g}")
        if self.kind == "film":
            return say("film, {size} mm thick", size=f"{self.size / 1000:g}")
        return say("own heat loss, {size} W/K", size=f"{self.size / 1000:g}")

    def to_doc(self) -> dict[str, Any]:
        return {"kind": self.kind, _NAMES[self.kind]: self.size}

    def pot(self, name: str, mass_kg: float, temp_mc: int, resin: Resin) -> Pot:
        """Resin and room at one temperature."""
        if self.kind == "own":
            # The vessel only says how deep it is; the loss is the shop's own.
            return Pot(name, mass_kg, temp_mc, temp_mc, usual_cup(mass_kg, resin), hs_w_per_k=self.size / 1000)
        return Pot(name, mass_kg, temp_mc, temp_mc, self._vessel(mass_kg, resin))

    def _vessel(self, mass_kg: float, resin: Resin) -> Vessel:
        if self.kind == "cup":
            return pot_vessel.cup(mass_kg, self.size / 1e6, resin)
        if self.kind == "tray":
            return pot_vessel.tray(mass_kg, self.size / 1e8, resin)
        return pot_vessel.film(mass_kg, self.size / 1e6, resin)


def usual_cup(mass_kg: float, resin: Resin) -> Vessel:
    """A cup as tall as it is wide: what is assumed where nobody said."""
    if not (math.isfinite(mass_kg) and mass_kg > 0):
        raise BadInput("pot.mass", say("The mass of a pot must be above zero."), "mass")
    return pot_vessel.cup(mass_kg, (4 * mass_kg / resin.density / math.pi) ** (1 / 3), resin)


def usual_pot(name: str, mass_kg: float, temp_mc: int, resin: Resin) -> Pot:
    return Pot(name, mass_kg, temp_mc, temp_mc, usual_cup(mass_kg, resin))


def stand_of(kind: str, size: str) -> Stand | None:
    """What was typed; None where nothing was. BadInput pot.vessel at “vessel” or “size”."""
    kind, size = kind.strip().lower(), size.strip()
    if not kind and not size:
        return None
    if kind not in WORDS:
        raise BadInput("pot.vessel", say("Say how it stands: {words}.", words=strung(", ", WORDS)), "vessel")
    if not size:
        raise BadInput("pot.vessel", say("Say its size: {asked}.", asked=ASKED[kind]), "size")
    value = round(_size(kind, size))
    low, high = _BOUNDS[kind]
    if not low <= value <= high:
        raise BadInput("pot.vessel", say("“{size}” is no size for it: {asked}.", size=shown(size), asked=ASKED[kind]), "size")
    return Stand(kind, value)


def stand_from(doc: object) -> Stand | None:
    """As a record has it."""
    if not isinstance(doc, dict) or doc.get("kind") not in _NAMES:
        return None
    size = doc.get(_NAMES[doc["kind"]])
    return Stand(doc["kind"], size) if isinstance(size, int) else None


def _size(kind: str, text: str) -> float:
    if kind == "own":
        found = _LOSS.fullmatch(text)
        if found is None:
            raise BadInput("pot.vessel", say("“{text}” is no heat loss: {asked}.", text=shown(text), asked=ASKED[kind]), "size")
        watts = read(found[1], "number", "", "size")
        return watts * (1 if (found[2] or "").lower() == "mw/k" else 1000)
    if kind == "tray":
        sides = _SIDES.fullmatch(text)
        if sides is None:
            return read(text, "area", "cm²", "size") * 1e8
        unit = sides[4] or sides[2] or "cm"
        one = read(f"{sides[1]} {(sides[2] or unit).lower()}", "length", "cm", "size")
        return one * read(f"{sides[3]} {unit.lower()}", "length", "cm", "size") * 1e8
    return read(text, "length", "mm", "size") * 1e6
