"""Whether something may be put away in a place (R35): what the place takes, temperature, mass, and neighbours.

A place that is too warm refuses frozen goods only: anything else merely ages there, which its clocks tell; `cautions`
says so. Too cold is refused for everything that cold ruins. Where things are taken out to, their clocks run, which is what
they are taken out for: nothing is too warm there. `js/floor/putaway.js` says the same where there is no network.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.core.compat import never_meet, sheet
from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.core.temperature import display_celsius
from inventory.core.units import display, display_apart

FRESH_US = 4 * 3_600_000_000
"""A room reading older than this says nothing about now: shop practice, no source."""
STORES = frozenset({"freezer", "fridge", "store", "rack"})
"""Kinds of places to put things away in: what is offered where another place refused."""
TAKEN_OUT = frozenset({"bay", "oven", "quarantine"})
"""Kinds to which things are taken out of the cold to be worked with, or set aside: their clocks run there."""
FROZEN = "frozen"
PLAIN = "plain"
_WORDS = {  # each class of compat.HAZARDS, as many of it
    "peroxide": say("organic peroxides"),
    "promoter": say("promoters"),
    "amine": say("amines"),
    "acid": say("acids"),
    "isocyanate": say("isocyanates"),
    FROZEN: say("frozen goods"),
    PLAIN: say("goods without a hazard"),
}


@dataclass(frozen=True, slots=True)
class PlaceRule:
    """A place: its band (milli-°C; None: not known), what it takes and refuses, and its limit and present mass (µg).

    `accepts` and `refuses` hold hazard classes ("peroxide", "amine", …), "frozen" or "plain" (no hazard). An empty
    `accepts` takes everything but organic peroxides, which go only where they are named."""

    name: str
    low_mc: int | None = None
    high_mc: int | None = None
    accepts: frozenset[str] = frozenset()
    refuses: frozenset[str] = frozenset()
    max_ug: int | None = None
    held_ug: int = 0
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Storage:
    """What the material asks: its hazard class ("" for none), the temperatures it is kept between, its name and the
    link to its safety data sheet ("" when there is none)."""

    hazard: str
    min_mc: int | None
    max_mc: int | None
    name: str
    sds_url: str = ""

    @property
    def kinds(self) -> frozenset[str]:
        """What a place may accept or refuse it as."""
        frozen = {FROZEN} if self.max_mc is not None and self.max_mc < 0 else set()
        return frozenset({self.hazard or PLAIN} | frozen)


def put_away(rule: PlaceRule, storage: Storage, adding_ug: int | None, neighbours_hazards: Iterable[str] = ()) -> list[Reason]:
    """All reasons against putting `adding_ug` of this into this place; an empty list when it may go there.

    `adding_ug` None: its mass is not known. `neighbours_hazards`: hazard classes of what stands there now."""
    found = [_never_together(rule, storage, frozenset(neighbours_hazards)), _taken(rule, storage), _too_cold(rule, storage)]
    found += [_too_warm(rule, storage), _full(rule, storage, adding_ug)]
    return [reason for reason in found if reason]


def cautions(rule: PlaceRule, storage: Storage) -> list[Reason]:
    """What to know about a place that is allowed: it may get warmer than the material is to be kept."""
    if storage.max_mc is None or rule.high_mc is None or rule.high_mc <= storage.max_mc or FROZEN in storage.kinds:
        return []
    text = say(
        "{rule} may reach {high}; {storage} keeps at up to {max}.",
        rule=rule.name,
        high=display_celsius(rule.high_mc),
        storage=storage.name,
        max=display_celsius(storage.max_mc),
    )
    return [Reason("place.may_be_warm", text, {"place": rule.name, "high_mc": rule.high_mc, "max_mc": storage.max_mc})]


def _because(code: str, text: str, rule: PlaceRule, storage: Storage, **numbers: int | str | None) -> Reason:
    base: dict[str, int | str | None] = {"place": rule.name, "material": storage.name, "sds_url": storage.sds_url or None}
    return Reason(code, text + sheet(storage.sds_url), base | numbers)


def hazard_words(codes: Iterable[str]) -> str:
    """What a place takes or refuses, in words."""
    return strung(", ", sorted(_WORDS.get(code, code) for code in codes))


def _never_together(rule: PlaceRule, storage: Storage, neighbours: frozenset[str]) -> Reason | None:
    """Also when the place is empty but kept for the other kind: the next delivery would meet this one."""
    clash = {other for other in neighbours | rule.accepts if never_meet(storage.hazard, other)}
    if not clash:
        return None
    text = say(
        "{storage} not into {rule}: organic peroxides never with promoters, amines or acids (there: {hazard_words}).",
        storage=storage.name,
        rule=rule.name,
        hazard_words=hazard_words(clash),
    )
    return _because("place.never_together", text, rule, storage, there=", ".join(sorted(clash)))


def _taken(rule: PlaceRule, storage: Storage) -> Reason | None:
    if storage.hazard == "peroxide":
        if "peroxide" in rule.accepts - rule.refuses:
            return None
        text = say(
            "{rule} does not take organic peroxides: {storage} goes only into a place kept for them, on hold too.",
            rule=rule.name,
            storage=storage.name,
        )
        return _because("place.peroxide_only_in_its_own", text, rule, storage)
    if storage.kinds & rule.refuses:
        text = say(
            "{rule} does not take {hazard_words}: put {storage} elsewhere.",
            rule=rule.name,
            hazard_words=hazard_words(storage.kinds & rule.refuses),
            storage=storage.name,
        )
        return _because("place.refuses", text, rule, storage)
    if rule.accepts and not storage.kinds & rule.accepts:
        text = say(
            "{rule} takes only {hazard_words}: put {storage} elsewhere.",
            rule=rule.name,
            hazard_words=hazard_words(rule.accepts),
            storage=storage.name,
        )
        return _because("place.takes_only", text, rule, storage, accepts=", ".join(sorted(rule.accepts)))
    return None


def _too_cold(rule: PlaceRule, storage: Storage) -> Reason | None:
    if storage.min_mc is None or rule.low_mc is None or rule.low_mc >= storage.min_mc:
        return None
    text = say(
        "{rule} goes down to {low}; {storage} is damaged by cold: below its minimum {min}.",
        rule=rule.name,
        low=display_celsius(rule.low_mc),
        storage=storage.name,
        min=display_celsius(storage.min_mc),
    )
    return _because("place.too_cold", text, rule, storage, low_mc=rule.low_mc, min_mc=storage.min_mc)


def _too_warm(rule: PlaceRule, storage: Storage) -> Reason | None:
    if (
        rule.kind in TAKEN_OUT
        or FROZEN not in storage.kinds
        or storage.max_mc is None
        or rule.high_mc is None
        or rule.high_mc <= storage.max_mc
    ):
        return None
    text = say(
        "{rule} may reach {high}; {storage} is kept frozen at {max} or colder. To use it, take it out instead.",
        rule=rule.name,
        high=display_celsius(rule.high_mc),
        storage=storage.name,
        max=display_celsius(storage.max_mc),
    )
    return _because("place.too_warm", text, rule, storage, high_mc=rule.high_mc, max_mc=storage.max_mc)


def _full(rule: PlaceRule, storage: Storage, adding_ug: int | None) -> Reason | None:
    if rule.max_ug is None:
        return None
    if adding_ug is None:
        text = say(
            "{rule} has a limit of {max}, and the mass of this {storage} is not known: weigh it first.",
            rule=rule.name,
            max=display(rule.max_ug, "ug"),
            storage=storage.name,
        )
        return _because("place.mass_unknown", text, rule, storage, max_ug=rule.max_ug)
    would = rule.held_ug + adding_ug
    if would <= rule.max_ug:
        return None
    shown, limit = display_apart("ug", would, rule.max_ug)
    text = say(
        "{rule} would hold {shown} of {limit} ({held} there, {adding} more).",
        rule=rule.name,
        shown=shown,
        limit=limit,
        held=display(rule.held_ug, "ug"),
        adding=display(adding_ug, "ug"),
    )
    return _because("place.full", text, rule, storage, held_ug=rule.held_ug, adding_ug=adding_ug, would_ug=would, max_ug=rule.max_ug)
