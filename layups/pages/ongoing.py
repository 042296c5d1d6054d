"""How a part that is being made is said: what comes next, and until when it must be in the heat, by which clock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.core.limits import DATED_CLOCKS
from inventory.core.lives import spoken
from inventory.core.reasons import ended
from inventory.core.said import say
from inventory.core.spans import HOUR_US, clock_text, day_name, day_text, duration, local_date
from inventory.pages.door import Shop
from layups.reads.deadlines import EARLY, HOLDS, LATE, OVER, UNKNOWN, Deadline
from layups.reads.lives import Life
from layups.reads.underway import UnderWay

from . import words

NEAR_US = 4 * HOUR_US
DEEDS = {
    "bag": say("bag it"),
    "drop": say("test the bag for leaks"),
    "load": say("load it for cure"),
    "on": say("start the heat"),
}
STATES = {OVER: "deadline_over", UNKNOWN: "deadline_unknown", EARLY: "deadline_early", LATE: "deadline_late", HOLDS: "deadline_holds"}


def next_words(u: UnderWay) -> str:
    """ "Next: ply 7, twill: PP-T, 0.85 m." """
    if u.line is None:
        return say("Next: {deeds}.", deeds=DEEDS[u.deed]) if u.deed in DEEDS else ""
    label = say(", {line}", line=u.line.label) if u.line.label else ""
    amount = say(", {wants}", wants=u.wants) if u.wants else ""
    return say("Next: {line}{label}: {wants}{amount}.", line=u.line.name, label=label, wants=u.line.wants, amount=amount)


@dataclass(frozen=True, slots=True)
class Until:
    """A deadline as it stands on a page. `state`: word and shape, empty where nothing in it ends; `left`: time that is left, empty
    when none is; `governs` and `planned`: sentences; `stop_us`: the end, where it is so near that it is counted down."""

    state: Any
    left: str
    governs: str
    planned: str
    word: str
    stop_us: int | None


def until(d: Deadline, shop: Shop) -> Until:
    word = d.word(shop.now_us)
    ends = d.governs.ends_us if d.governs is not None else None
    running = ends if ends is not None and ends > shop.now_us else None
    return Until(
        state=words.state(STATES[word]) if word in STATES else "",
        left=duration(running - shop.now_us) if running is not None else "",
        governs=governs_words(d, word, shop),
        planned=planned_words(d, word, shop),
        word=word,
        stop_us=running if running is not None and running - shop.now_us <= NEAR_US else None,
    )


def against(u: UnderWay, word: str) -> list[str]:
    """What speaks against it, as states; a deadline that is in time says nothing here."""
    late = [STATES[word]] if word in (OVER, UNKNOWN, EARLY, LATE) else []
    waits = any(hit.why == "incoming" for hit in u.holds)
    return [*late, *(["held"] if u.held else []), *(["unreleased"] if waits else []), *(["finding"] if u.findings else [])]


def governs_words(d: Deadline, word: str, shop: Shop) -> str:
    """Which clock governs and until when, in a sentence; empty where nothing ends."""
    if word == UNKNOWN and d.unknown is not None:
        return say("{clock_of} is not known: {missing}", clock_of=clock_of(d.unknown), missing=ended(d.unknown.missing))
    if d.governs is None:
        return ""
    if word == OVER:
        return over_words(d.governs, shop)
    name, g = clock_of(d.governs), d.governs
    assert g.ends_us is not None  # what ends is over, or says when
    if g.clock in DATED_CLOCKS:
        return say("{name} governs: it lasts through {last_day}.", name=name, last_day=last_day(g.ends_us, shop))
    return say("{name} governs: it ends {moment}.", name=name, moment=moment(g.ends_us, shop))


def planned_words(d: Deadline, word: str, shop: Shop) -> str:
    if d.planned_us is None:
        return ""
    when = moment(d.planned_us, shop)
    return say("The cure was planned for {when}.", when=when) if word == LATE else say("The cure is planned for {when}.", when=when)


def over_words(life: Life, shop: Shop) -> str:
    name = clock_of(life)
    if life.ends_us is None:
        return say("{name} is over. Ask quality.", name=name)
    if life.clock in DATED_CLOCKS:
        return say("{name} is over: its last day was {last_day}. Ask quality.", name=name, last_day=last_day(life.ends_us, shop))
    return say("{name} is over since {moment}. Ask quality.", name=name, moment=moment(life.ends_us, shop))


def clock_of(life: Life) -> str:
    """ "Tack life of PP-U lot U26-02"."""
    return say("{limit} of {life}", limit=spoken(life.limit, first=True), life=life.label)


def last_day(ends_us: int, shop: Shop) -> str:
    if local_date(ends_us - 1, shop.zone) == local_date(shop.now_us, shop.zone):
        return say("today")
    return day_name(ends_us - 1, shop.zone)


def moment(us: int, shop: Shop) -> str:
    """An instant as people say it: the clock alone when it is today."""
    today = local_date(us, shop.zone) == local_date(shop.now_us, shop.zone)
    return clock_text(us, shop.zone) if today else day_text(us, shop.zone)
