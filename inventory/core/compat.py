"""What goes with what (R40): binder and sizing with resin, resin over resin, and what must never meet directly.

The pairs are trade practice, not physics: common practice, no source. A shop may add its own; a supplier's statement
stands above them (a fabric that names the resins it suits is judged by that alone).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason

FAMILIES = {
    "epoxy": "epoxy",
    "vinylester": "vinyl ester",
    "polyester": "polyester",
    "phenolic": "phenolic",
    "polyurethane": "polyurethane",
    "acrylic": "acrylic",
}
HAZARDS = {
    "peroxide": "organic peroxide",
    "promoter": "promoter",
    "amine": "amine",
    "acid": "acid",
    "isocyanate": "isocyanate",
}
# (below, above) → why not. Common practice, no source.
NOT_OVER: Mapping[tuple[str, str], str] = {
    ("epoxy", "polyester"): "polyester bonds poorly to epoxy, and free amine stops its cure",
    ("epoxy", "vinylester"): "free amine in epoxy stops the cure of vinyl ester at the joint",
}
_NEVER = frozenset(frozenset({"peroxide", other}) for other in ("promoter", "amine", "acid"))


@dataclass(frozen=True, slots=True)
class Fibre:
    """Fabric, mat, tow or core. `suits`: the resin families its binder and sizing suit; empty: no statement. `why`
    explains the others ("binder needs styrene")."""

    name: str
    suits: frozenset[str]
    why: str = ""


@dataclass(frozen=True, slots=True)
class Resin:
    """Anything that cures: laminating resin, gelcoat, prepreg's matrix, adhesive. `family` "" when not stated."""

    name: str
    family: str


def families(text: str) -> frozenset[str]:
    """The families in a list such as "polyester, vinyl ester". Raises BadInput compat.unknown_family."""
    return frozenset(family(part) for part in text.replace(";", ",").split(",") if part.strip())


def family(text: str) -> str:
    """The code of one resin family, however it is spelt. Raises BadInput compat.unknown_family."""
    code = "".join(ch for ch in text.casefold() if ch.isalnum())
    if code not in FAMILIES:
        known = ", ".join(FAMILIES.values())
        raise BadInput("compat.unknown_family", f"“{shown(text)}” is not a resin family known here. Use {known}.", given=shown(text))
    return code


def fibre_and_resin(fibre: Fibre, resin: Resin) -> Reason | None:
    """Why this fibre's binder or sizing must not meet this resin; None when it may, or when either says nothing."""
    if not fibre.suits or not resin.family or family(resin.family) in fibre.suits:
        return None
    suited = ", ".join(FAMILIES[code] for code in sorted(fibre.suits))
    why = f"{fibre.why}: not with {FAMILIES[family(resin.family)]}" if fibre.why else f"not made for {FAMILIES[family(resin.family)]}"
    text = f"{fibre.name} with {resin.name}: {why}. It suits {suited}."
    return Reason("compat.fibre_resin", text, {"fibre": fibre.name, "resin": resin.name, "family": family(resin.family), "suits": suited})


def resin_over_resin(below: Resin, above: Resin, own: Mapping[tuple[str, str], str] | None = None) -> Reason | None:
    """Why `above` must not be laid over `below`; None when it may, or when either family is not stated. `own` adds the
    shop's pairs, or with "" allows one of ours."""
    if not below.family or not above.family:
        return None
    pair = family(below.family), family(above.family)
    why = {**NOT_OVER, **(own or {})}.get(pair, "")
    if not why:
        return None
    text = f"{above.name} over {below.name}: {why}."
    return Reason("compat.resin_over", text, {"below": below.name, "above": above.name, "pair": f"{pair[1]} over {pair[0]}"})


def never_meet(one: str, other: str) -> bool:
    """Whether two hazard classes must never meet directly: an organic peroxide with a promoter, an amine or an acid."""
    return frozenset({one, other}) in _NEVER


def never_into(what: str, hazard: str, into: str, into_hazard: str, sds_url: str = "") -> Reason | None:
    """Why `what` must never be poured into `into` (names and hazard classes). Nobody may override it."""
    if not never_meet(hazard, into_hazard):
        return None
    text = (
        f"{what} into {into}: {HAZARDS[hazard]} and {HAZARDS[into_hazard]} never meet directly, they can react violently. "
        f"Stir each into the resin on its own.{sheet(sds_url)}"
    )
    return Reason("compat.never_together", text, {"what": what, "into": into, "sds_url": sds_url or None}, cap=True)


@dataclass(frozen=True, slots=True)
class Added:
    """What goes into a pot: its name and hazard class, whether it is resin, its safety data sheet."""

    name: str
    hazard: str = ""
    resin: bool = False
    sds_url: str = ""


def never_in_turn(added: Iterable[Added]) -> Reason | None:
    """Why these must not go into one pot in this order: two of them would meet with no resin between them."""
    there: list[Added] = []
    for one in added:
        if one.resin:
            return None
        for before in there:
            danger = never_into(one.name, one.hazard, before.name, before.hazard, one.sds_url or before.sds_url)
            if danger is not None:
                return danger
        there.append(one)
    return None


def sheet(sds_url: str) -> str:
    """The end of a sentence that points to the safety data sheet, when there is one."""
    return f" Safety data sheet: {sds_url}" if sds_url else ""
