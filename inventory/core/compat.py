"""What goes with what (R40): binder and sizing with resin, resin over resin, and what must never meet directly.

The pairs are trade practice, not physics: common practice, no source. A shop may add its own; a supplier's statement
stands above them (a fabric that names the resins it suits is judged by that alone).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.core.numerals import shown
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung

FAMILIES = {
    "epoxy": say("epoxy"),
    "vinylester": say("vinyl ester"),
    "polyester": say("polyester"),
    "phenolic": say("phenolic"),
    "polyurethane": say("polyurethane"),
    "acrylic": say("acrylic"),
}
HAZARDS = {
    "peroxide": say("organic peroxide"),
    "promoter": say("promoter"),
    "amine": say("amine"),
    "acid": say("acid"),
    "isocyanate": say("isocyanate"),
}
# (below, above) → why not. Common practice, no source.
NOT_OVER: Mapping[tuple[str, str], str] = {
    ("epoxy", "polyester"): say("polyester bonds poorly to epoxy, and free amine stops its cure"),
    ("epoxy", "vinylester"): say("free amine in epoxy stops the cure of vinyl ester at the joint"),
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
        known = strung(", ", FAMILIES.values())
        raise BadInput(
            "compat.unknown_family",
            say("“{text}” is not a resin family known here. Use {known}.", text=shown(text), known=known),
            given=shown(text),
        )
    return code


def fibre_and_resin(fibre: Fibre, resin: Resin) -> Reason | None:
    """Why this fibre's binder or sizing must not meet this resin; None when it may, or when either says nothing."""
    if not fibre.suits or not resin.family or family(resin.family) in fibre.suits:
        return None
    suited = strung(", ", (FAMILIES[code] for code in sorted(fibre.suits)))
    why = (
        say("{why}: not with {families}", why=fibre.why, families=FAMILIES[family(resin.family)])
        if fibre.why
        else say("not made for {families}", families=FAMILIES[family(resin.family)])
    )
    text = say("{fibre} with {resin}: {why}. It suits {suited}.", fibre=fibre.name, resin=resin.name, why=why, suited=suited)
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
    text = say("{above} over {below}: {why}.", above=above.name, below=below.name, why=why)
    return Reason(
        "compat.resin_over",
        text,
        {"below": below.name, "above": above.name, "pair": f"{pair[1]} over {pair[0]}"},
    )


def never_meet(one: str, other: str) -> bool:
    """Whether two hazard classes must never meet directly: an organic peroxide with a promoter, an amine or an acid."""
    return frozenset({one, other}) in _NEVER


def never_into(what: str, hazard: str, into: str, into_hazard: str, sds_url: str = "") -> Reason | None:
    """Why `what` must never be poured into `into` (names and hazard classes). Nobody may override it."""
    if not never_meet(hazard, into_hazard):
        return None
    text = say(
        "{what} into {into}: {hazards} and {hazards_2} never meet directly, they can react violently. Stir "
        "each into the resin on its own.{sheet}",
        what=what,
        into=into,
        hazards=HAZARDS[hazard],
        hazards_2=HAZARDS[into_hazard],
        sheet=sheet(sds_url),
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
    return say(" Safety data sheet: {sds_url}", sds_url=sds_url) if sds_url else ""
