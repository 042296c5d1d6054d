"""What a label says of life, so that it stays true after the thing has moved: a date that is fixed may stand on it; a clock that
runs only out of the cold stands with what is left and the instant at which that was so, never with an end of its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.core.limits import Limit, Reading
from inventory.core.lives import spoken
from inventory.core.said import say
from inventory.core.spans import MONTHS, Zone, clock_text, duration, limit_text, local_date, start_of_day_us

DATED = ("printed", "calendar", "received", "opened", "moisture")
MOVING = ("above", "fraction")
"""Clocks that run by where the thing lies: with one of them no date alone says how long it lasts."""
DAY_US = 86_400_000_000


@dataclass(frozen=True, slots=True)
class Words:
    """One line: with room for it, and in short."""

    full: str
    short: str = ""


@dataclass(frozen=True, slots=True)
class Life:
    """`head`: the line that governs; `short`: the same where there is little room; `bad`: it says not to use it. `more`: what
    else binds, each line complete by itself."""

    head: str = ""
    short: str = ""
    bad: bool = False
    more: tuple[Words, ...] = ()


def day(us: int, zone: Zone) -> str:
    """ "30 Sep 2026": always with its year, a label hangs on for long."""
    d = local_date(us, zone)
    return say("{day} {months} {year}", day=d.day, months=MONTHS[d.month - 1], year=d.year)


def moment(us: int, zone: Zone) -> str:
    return say("{day} {us}", day=day(us, zone), us=clock_text(us, zone))


def end_text(end_us: int, zone: Zone) -> str:
    """The last day that is left, or the instant where a limit ends within a day (R41)."""
    whole = start_of_day_us(local_date(end_us, zone), zone) == end_us
    return day(end_us - 1, zone) if whole else moment(end_us, zone)


def life_of(readings: Sequence[Reading], zone: Zone, now_us: int) -> Life:
    """The words of all limits that bind a thing."""
    if any(r.missing for r in readings):
        return Life(say("Life not known: ask quality"), say("Life not known"), True, _unless_same(_running(readings, zone, now_us)))
    over = next((r for r in readings if r.over), None)
    if over is not None:
        return _over(over, zone)
    dated = sorted((r for r in readings if r.limit.clock in DATED and r.ends_us is not None), key=lambda r: r.ends_us or 0)
    running = _running(readings, zone, now_us)
    if not dated:
        return Life(running[0].full, running[0].short, False, _unless_same(running[1:])) if running else Life()
    text = end_text(dated[0].ends_us or 0, zone)
    if not any(r.limit.clock in MOVING for r in readings):
        return Life(say("Use by {text}", text=text), say("Use by {text}", text=text), False, _unless_same(running))
    name = spoken(dated[0].limit.name, first=True)
    return Life(say("{name} to {text}", name=name, text=text), say("Stored to {text}", text=text), False, _unless_same(running))


def _over(r: Reading, zone: Zone) -> Life:
    name = spoken(r.limit.name)
    since = say(" {end_text}", end_text=end_text(r.ends_us, zone)) if r.ends_us is not None else ""
    return Life(say("Not for use: {name} over{since}", name=name, since=since), say("Not for use: {name} over", name=name), True)


def _running(readings: Iterable[Reading], zone: Zone, now_us: int) -> list[Words]:
    """Clocks that stand still or run with what is done to the thing, the one with least left first."""
    live = [r for r in readings if not r.missing and not r.over]
    said = (_one(r, zone, now_us) for r in sorted(live, key=lambda r: r.left if r.left is not None else 2**62))
    return [words for words in said if words is not None]


def _one(r: Reading, zone: Zone, now_us: int) -> Words | None:
    name, full, short = (
        spoken(r.limit.name, first=True),
        say("as of {moment}", moment=moment(now_us, zone)),
        say("on {moment}", moment=moment(now_us, zone)),
    )
    if r.limit.clock == "above" and r.left is not None and r.allowed is not None:
        left = duration(r.left)
        return Words(
            say("{name}: {left} of {allowed} left, {full}", name=name, left=left, allowed=limit_text(r.allowed), full=full),
            say("{name} {left} left {short}", name=name, left=left, short=short),
        )
    if r.limit.clock in ("cycles", "heats") and r.used is not None:
        return Words(
            say("{name}: {used} of {allowed} used, {full}", name=name, used=r.used, allowed=r.allowed, full=full),
            say("{name} {used}/{allowed} {short}", name=name, used=r.used, allowed=r.allowed, short=short),
        )
    if r.limit.clock == "fraction" and r.used is not None and r.allowed:
        return Words(
            say("{name}: {used} % used, {full}", name=name, used=100 * r.used // r.allowed, full=full),
            say("{name} {used} % used {short}", name=name, used=100 * r.used // r.allowed, short=short),
        )
    if r.limit.clock == "opened" and r.ends_us is None:
        return Words(say("Once opened: {span}. Opened on ________", span=span(r.limit)), say("{span} once opened", span=span(r.limit)))
    return None


def span(limit: Limit) -> str:
    """ "3 months", "14 days", "48 h": a limit that has not begun."""
    if limit.months:
        return say("{months} months", months=limit.months) if limit.months != 1 else say("1 month")
    us = limit.limit_us or 0
    return say("{us} days", us=us // DAY_US) if us % DAY_US == 0 and us >= 7 * DAY_US else limit_text(us)


def _unless_same(lines: Sequence[Words]) -> tuple[Words, ...]:
    """Several lots of one material often say the same."""
    return tuple(dict.fromkeys(lines))
