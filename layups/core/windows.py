"""Windows between steps: how long after one thing the next may come (R23): gelcoat and laminate, surface and bond.

A window begins with what goes into a line of the schedule, or with a step by its name; it is judged by the first thing that
goes into its second line, or into a line after it (a schedule is in the order of the work), or by its second step. From then
on it is closed: the bond is made, a second pot changes nothing. Of a line that several pots fill, the youngest must be old
enough and the oldest not too old. A step that is done again begins anew, and so does the step that the design asks for when
the window is over. A limit of hours is over at exactly the limit.

What the window says is copied into the record that it judges, so that an old record keeps its meaning when a design changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.reasons import Reason
from inventory.core.said import say, strung
from inventory.core.spans import clock_text, day_text, duration, limit_text, local_date

WAITS, OPEN, OVER = "waits", "open", "over"


@dataclass(frozen=True, slots=True)
class Window:
    """`first` and `then`: a line's number, or a step's name; with the words for people. `least_us` and `most_us` in µs, None
    where there is no such limit. `remedy`: what to do when it is over; `again`: the step that says it was done."""

    name: str
    first: int | str
    then: int | str
    first_words: str
    then_words: str
    least_us: int | None = None
    most_us: int | None = None
    remedy: str = ""
    again: str = ""

    def to_doc(self) -> dict[str, Any]:
        """As it stands in a record: plain values, empty ones left out."""
        return {n: getattr(self, n) for n in self.__dataclass_fields__ if getattr(self, n) not in (None, "")}

    @classmethod
    def from_doc(cls, doc: Mapping[str, Any]) -> Window:
        return cls(**doc)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a part: the lines it filled, or the name of the step. Instants in µs UTC."""

    at_us: int
    lines: frozenset[int] = frozenset()
    step: str = ""


@dataclass(frozen=True, slots=True)
class Running:
    """A window as it stands: since when (of the youngest and of the oldest), and whether what closes it has happened.
    `again`: it counts from the step that began it anew, which needs no waiting."""

    window: Window
    youngest_us: int | None = None
    oldest_us: int | None = None
    again: bool = False
    closed: bool = False

    @property
    def opens_us(self) -> int | None:
        """From when on what follows may come."""
        if self.youngest_us is None or self.again or self.window.least_us is None:
            return self.youngest_us
        return self.youngest_us + self.window.least_us

    @property
    def ends_us(self) -> int | None:
        """The first instant at which it is over; None where there is no such limit."""
        return None if self.oldest_us is None or self.window.most_us is None else self.oldest_us + self.window.most_us

    def word(self, now_us: int) -> str:
        """waits, open or over; empty when it has not begun or is closed."""
        if self.closed or self.oldest_us is None:
            return ""
        if self.ends_us is not None and now_us >= self.ends_us:
            return OVER
        return WAITS if self.opens_us is not None and now_us < self.opens_us else OPEN


def begins(window: Window, event: Event) -> bool:
    return window.first in event.lines if isinstance(window.first, int) else same_step(event.step, window.first)


def closes(window: Window, event: Event) -> bool:
    if isinstance(window.then, int):
        return any(line >= window.then for line in event.lines)
    return same_step(event.step, window.then)


def same_step(said: str, name: str) -> bool:
    return " ".join(said.split()).casefold() == " ".join(name.split()).casefold() != ""


def stands(window: Window, before: Iterable[Event]) -> Running:
    """The window after these events, which are in the order in which they happened."""
    now = Running(window)
    for event in before:
        now = _after(now, event)
    return now


def _after(now: Running, event: Event) -> Running:
    window, at = now.window, event.at_us
    if closes(window, event):
        return Running(window, now.youngest_us, now.oldest_us, now.again, True)
    if isinstance(window.first, str) and begins(window, event):
        return Running(window, at, at)
    if now.closed:
        return now
    if begins(window, event):
        return Running(window, at, at if now.oldest_us is None else now.oldest_us)
    if now.oldest_us is not None and same_step(event.step, window.again):
        return Running(window, at, at, True)
    return now


def judge(windows: Iterable[Window], before: Sequence[Event], event: Event, part: str, zone: str) -> Iterator[Reason]:
    """Everything that the windows of a part have against what now happens to it. `before`: what happened until then, in
    order."""
    for window in windows:
        if closes(window, event):
            now = stands(window, before)
            if not now.closed:
                yield from _against(now, event.at_us, part, zone)


def _against(now: Running, at_us: int, part: str, zone: str) -> Iterator[Reason]:
    window, youngest, oldest = now.window, now.youngest_us, now.oldest_us
    numbers: dict[str, int | str | None] = {
        "limit": window.name,
        "part": part,
        "since_us": oldest,
        "least_us": window.least_us,
        "most_us": window.most_us,
    }
    if youngest is None or oldest is None:
        text = say(
            "{first_words} is not recorded for {part}, and {then_words} comes {times_of} after it: ",
            first_words=_capital(window.first_words),
            part=part,
            then_words=window.then_words,
            times_of=times_of(window),
        )
        yield Reason("window.not_started", text + say("record it if it was done, else do it first."), numbers)
        return
    what = window.again if now.again else window.first_words
    if now.word(at_us) == OVER:
        ago = say(
            "{what} of {part} is {at} ago, at most {most}",
            what=_capital(what),
            part=part,
            at=duration(at_us - oldest),
            most=limit_text(window.most_us or 0),
        )
        do = (
            say("{remedy}; then record the step “{again}”", remedy=window.remedy or say("ask quality what to do"), again=window.again)
            if window.again
            else say("ask quality")
        )
        yield Reason(
            "window.over",
            say("{ago} before {then_words}: {do}.", ago=ago, then_words=window.then_words, do=do),
            numbers | {"used": at_us - oldest},
        )
    elif now.opens_us is not None and at_us < now.opens_us:
        near = local_date(at_us, zone) == local_date(now.opens_us, zone)
        when = (clock_text if near else day_text)(now.opens_us, zone)
        ago = say(
            "{what} of {part} is {at} ago, at least {least}",
            what=_capital(what),
            part=part,
            at=duration(at_us - youngest),
            least=limit_text(window.least_us or 0),
        )
        text = say("{ago} before {then_words}: wait until {when}.", ago=ago, then_words=window.then_words, when=when)
        yield Reason("window.too_early", text, numbers | {"used": at_us - youngest, "from_us": now.opens_us})


def times_of(window: Window) -> str:
    """ "at least 1 h and at most 24 h"."""
    least = say("at least {least}", least=limit_text(window.least_us)) if window.least_us is not None else ""
    most = say("at most {most}", most=limit_text(window.most_us)) if window.most_us is not None else ""
    return strung(say(" and "), filter(None, (least, most)))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
