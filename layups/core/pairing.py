"""What meets in a part: the new material against what lies there and what the schedule will bring (R40)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.core.compat import Fibre, Resin, families, family, fibre_and_resin, resin_over_resin
from inventory.core.reasons import Reason
from inventory.core.said import say

FIBRES = frozenset({"fabric", "ud", "mat", "tow", "core"})
RESINS = frozenset({"resin", "gelcoat", "prepreg", "film", "paste"})
STYRENATED = frozenset({"polyester", "vinylester"})


@dataclass(frozen=True, slots=True)
class Stuff:
    """A material as compatibility sees it: its code, kind, resin family, and the families that its sizing suits as text."""

    name: str
    kind: str
    family: str = ""
    suits: str = ""

    @property
    def fibre(self) -> Fibre | None:
        if self.kind not in FIBRES or not self.suits:
            return None
        suits = families(self.suits) if "," in self.suits or ";" in self.suits else frozenset(family(w) for w in self.suits.split())
        return Fibre(self.name, suits, say("its binder needs styrene") if self.kind == "mat" and suits <= STYRENATED else "")

    @property
    def resin(self) -> Resin | None:
        return Resin(self.name, self.family) if self.kind in RESINS and self.family else None


def pair_reasons(new: Stuff, there: Iterable[Stuff], planned: Iterable[Stuff] = ()) -> list[Reason]:
    """Why the new material must not go with what lies in the part, or with a resin that its schedule will bring."""
    found = []
    for other in there:
        found += [_fibre(new, other), _fibre(other, new), _over(other, new)]
    for other in planned:
        found += [_fibre(new, other)]
    return list({r.text: r for r in found if r is not None}.values())


def _fibre(fibre: Stuff, resin: Stuff) -> Reason | None:
    return fibre_and_resin(fibre.fibre, resin.resin) if fibre.fibre and resin.resin else None


def _over(below: Stuff, above: Stuff) -> Reason | None:
    return resin_over_resin(below.resin, above.resin) if below.resin and above.resin else None
