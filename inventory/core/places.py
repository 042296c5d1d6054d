"""Whether something may be put away in a place (R35): what the place takes, temperature, mass, and neighbours.

A place that is too warm refuses frozen goods only: anything else merely ages there, which its clocks tell; `cautions`
says so. Too cold is refused for everything that cold ruins. Work places are not stores: taking out is another verb.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.core.compat import HAZARDS, never_meet, sheet
from inventory.core.reasons import Reason
from inventory.core.temperature import display_celsius
from inventory.core.units import display, display_apart

FRESH_US = 4 * 3_600_000_000
"""A room reading older than this says nothing about now: shop practice, no source."""
FROZEN = "frozen"
PLAIN = "plain"
_WORDS = {**{code: f"{word}s" for code, word in HAZARDS.items()}, FROZEN: "frozen goods", PLAIN: "goods without a hazard"}


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
    text = f"{rule.name} may reach {display_celsius(rule.high_mc)}; {storage.name} keeps at up to {display_celsius(storage.max_mc)}."
    return [Reason("place.may_be_warm", text, {"place": rule.name, "high_mc": rule.high_mc, "max_mc": storage.max_mc})]


def _because(code: str, text: str, rule: PlaceRule, storage: Storage, **numbers: int | str | None) -> Reason:
    base: dict[str, int | str | None] = {"place": rule.name, "material": storage.name, "sds_url": storage.sds_url or None}
    return Reason(code, f"{text}{sheet(storage.sds_url)}", base | numbers)


def hazard_words(codes: Iterable[str]) -> str:
    """What a place takes or refuses, in words."""
    return ", ".join(sorted(_WORDS.get(code, code) for code in codes))


def _never_together(rule: PlaceRule, storage: Storage, neighbours: frozenset[str]) -> Reason | None:
    """Also when the place is empty but kept for the other kind: the next delivery would meet this one."""
    clash = {other for other in neighbours | rule.accepts if never_meet(storage.hazard, other)}
    if not clash:
        return None
    text = f"{storage.name} not into {rule.name}: organic peroxides never with promoters, amines or acids (there: {hazard_words(clash)})."
    return _because("place.never_together", text, rule, storage, there=", ".join(sorted(clash)))


def _taken(rule: PlaceRule, storage: Storage) -> Reason | None:
    if storage.hazard == "peroxide":
        if "peroxide" in rule.accepts - rule.refuses:
            return None
        text = f"{rule.name} does not take organic peroxides: {storage.name} goes only into a place kept for them, on hold too."
        return _because("place.peroxide_only_in_its_own", text, rule, storage)
    if storage.kinds & rule.refuses:
        text = f"{rule.name} does not take {hazard_words(storage.kinds & rule.refuses)}: put {storage.name} elsewhere."
        return _because("place.refuses", text, rule, storage)
    if rule.accepts and not storage.kinds & rule.accepts:
        text = f"{rule.name} takes only {hazard_words(rule.accepts)}: put {storage.name} elsewhere."
        return _because("place.takes_only", text, rule, storage, accepts=", ".join(sorted(rule.accepts)))
    return None


def _too_cold(rule: PlaceRule, storage: Storage) -> Reason | None:
    if storage.min_mc is None or rule.low_mc is None or rule.low_mc >= storage.min_mc:
        return None
    text = (
        f"{rule.name} goes down to {display_celsius(rule.low_mc)}; {storage.name} is damaged by cold: "
        f"below its minimum {display_celsius(storage.min_mc)}."
    )
    return _because("place.too_cold", text, rule, storage, low_mc=rule.low_mc, min_mc=storage.min_mc)


def _too_warm(rule: PlaceRule, storage: Storage) -> Reason | None:
    if FROZEN not in storage.kinds or storage.max_mc is None or rule.high_mc is None or rule.high_mc <= storage.max_mc:
        return None
    text = (
        f"{rule.name} may reach {display_celsius(rule.high_mc)}; {storage.name} is kept frozen at "
        f"{display_celsius(storage.max_mc)} or colder. To use it, take it out instead."
    )
    return _because("place.too_warm", text, rule, storage, high_mc=rule.high_mc, max_mc=storage.max_mc)


def _full(rule: PlaceRule, storage: Storage, adding_ug: int | None) -> Reason | None:
    if rule.max_ug is None:
        return None
    if adding_ug is None:
        text = f"{rule.name} has a limit of {display(rule.max_ug, 'ug')}, and the mass of this {storage.name} is not known: weigh it first."
        return _because("place.mass_unknown", text, rule, storage, max_ug=rule.max_ug)
    would = rule.held_ug + adding_ug
    if would <= rule.max_ug:
        return None
    shown, limit = display_apart("ug", would, rule.max_ug)
    text = f"{rule.name} would hold {shown} of {limit} ({display(rule.held_ug, 'ug')} there, {display(adding_ug, 'ug')} more)."
    return _because("place.full", text, rule, storage, held_ug=rule.held_ug, adding_ug=adding_ug, would_ug=would, max_ug=rule.max_ug)
