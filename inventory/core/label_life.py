"""What a label says of life, so that it stays true after the thing has moved: a date that is fixed may stand on it; a clock that
runs only out of the cold stands with what is left and the instant at which that was so, never with an end of its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.core.limits import Limit, Reading
from inventory.core.lives import spoken
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
    return f"{d.day} {MONTHS[d.month - 1]} {d.year}"


def moment(us: int, zone: Zone) -> str:
    return f"{day(us, zone)} {clock_text(us, zone)}"


def end_text(end_us: int, zone: Zone) -> str:
    """The last day that is left, or the instant where a limit ends within a day (R41)."""
    whole = start_of_day_us(local_date(end_us, zone), zone) == end_us
    return day(end_us - 1, zone) if whole else moment(end_us, zone)


def life_of(readings: Sequence[Reading], zone: Zone, now_us: int) -> Life:
    """The words of all limits that bind a thing."""
    if any(r.missing for r in readings):
        return Life("Life not known: ask quality", "Life not known", True, _unless_same(_running(readings, zone, now_us)))
    over = next((r for r in readings if r.over), None)
    if over is not None:
        return _over(over, zone)
    dated = sorted((r for r in readings if r.limit.clock in DATED and r.ends_us is not None), key=lambda r: r.ends_us or 0)
    running = _running(readings, zone, now_us)
    if not dated:
        return Life(running[0].full, running[0].short, False, _unless_same(running[1:])) if running else Life()
    text = end_text(dated[0].ends_us or 0, zone)
    if not any(r.limit.clock in MOVING for r in readings):
        return Life(f"Use by {text}", f"Use by {text}", False, _unless_same(running))
    name = spoken(dated[0].limit.name, first=True)
    return Life(f"{name} to {text}", f"Stored to {text}", False, _unless_same(running))


def _over(r: Reading, zone: Zone) -> Life:
    name = spoken(r.limit.name)
    since = f" {end_text(r.ends_us, zone)}" if r.ends_us is not None else ""
    return Life(f"Not for use: {name} over{since}", f"Not for use: {name} over", True)


def _running(readings: Iterable[Reading], zone: Zone, now_us: int) -> list[Words]:
    """Clocks that stand still or run with what is done to the thing, the one with least left first."""
    live = [r for r in readings if not r.missing and not r.over]
    said = (_one(r, zone, now_us) for r in sorted(live, key=lambda r: r.left if r.left is not None else 2**62))
    return [words for words in said if words is not None]


def _one(r: Reading, zone: Zone, now_us: int) -> Words | None:
    name, full, short = spoken(r.limit.name, first=True), f"as of {moment(now_us, zone)}", f"on {moment(now_us, zone)}"
    if r.limit.clock == "above" and r.left is not None and r.allowed is not None:
        left = duration(r.left)
        return Words(f"{name}: {left} of {limit_text(r.allowed)} left, {full}", f"{name} {left} left {short}")
    if r.limit.clock in ("cycles", "heats") and r.used is not None:
        return Words(f"{name}: {r.used} of {r.allowed} used, {full}", f"{name} {r.used}/{r.allowed} {short}")
    if r.limit.clock == "fraction" and r.used is not None and r.allowed:
        return Words(f"{name}: {100 * r.used // r.allowed} % used, {full}", f"{name} {100 * r.used // r.allowed} % used {short}")
    if r.limit.clock == "opened" and r.ends_us is None:
        return Words(f"Once opened: {span(r.limit)}. Opened on ________", f"{span(r.limit)} once opened")
    return None


def span(limit: Limit) -> str:
    """ "3 months", "14 days", "48 h": a limit that has not begun."""
    if limit.months:
        return f"{limit.months} months" if limit.months != 1 else "1 month"
    us = limit.limit_us or 0
    return f"{us // DAY_US} days" if us % DAY_US == 0 and us >= 7 * DAY_US else limit_text(us)


def _unless_same(lines: Sequence[Words]) -> tuple[Words, ...]:
    """Several lots of one material often say the same."""
    return tuple(dict.fromkeys(lines))
