"""Durations as people read them, and the calendar of a site: what "through 31 March" means as an instant (R41).

Instants are ints, µs UTC; durations ints, µs. A zone is its IANA name ("Europe/Copenhagen") or a ZoneInfo. Every "end" here is
the first instant at which the thing is over, so the one test for alive is `at_us < end_us`: a limit of hours is over at exactly
the limit, and a date is over when the next local day begins. Text is in the trade's English; who reads
another language sees its names of days and months.
"""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from inventory.core.reasons import BadInput
from inventory.core.said import say

MINUTE_US = 60_000_000
HOUR_US = 60 * MINUTE_US
DAYS = (say("Mon"), say("Tue"), say("Wed"), say("Thu"), say("Fri"), say("Sat"), say("Sun"))
MONTHS = (
    say("Jan"),
    say("Feb"),
    say("Mar"),
    say("Apr"),
    say("May"),
    say("Jun"),
    say("Jul"),
    say("Aug"),
    say("Sep"),
    say("Oct"),
    say("Nov"),
    say("Dec"),
)
# A date outside these years is a slip of the finger; inside them no end of day can leave the calendar.
FIRST_YEAR, LAST_YEAR = 1970, 2199
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ISO = re.compile(r"(\d{4})-(\d{2})(?:-(\d{2}))?", re.ASCII)
_SHORT_YEAR = re.compile(
    r"\d{1,2}[-/. ]\d{1,2}(?:[-/. ]\d{1,2})?|[A-Za-z]{3,9}[-/. ]?'?\d{2}|\d{1,2}[-/. ][A-Za-z]{3,9}[-/. ]'?\d{2}", re.ASCII
)
_HOW = say("type a day as 2026-03-30 (year-month-day), or a month as 2026-03 when the label gives no day")

Zone = str | ZoneInfo


# --- durations -----------------------------------------------------------------------------------


def duration(us: int) -> str:
    """A duration to the minute, rounded down: "114 h 10", "114 h 00", "55 min"; "under 1 min" for what is left of a minute.
    Hours are not folded into days, because every limit of the trade is stated in hours. A negative one is refused: it is a
    difference taken the wrong way round, and the caller must say "over by" instead."""
    if us < 0:
        raise BadInput("span.negative", say("A duration cannot be negative: check which of the two times came first."), us=us)
    hours, minutes = divmod(us // MINUTE_US, 60)
    if hours:
        return f"{hours} h {minutes:02d}"
    return say("{minutes} min", minutes=minutes) if minutes or not us else say("under 1 min")


def limit_text(us: int) -> str:
    """A limit, as the data sheet writes it: "120 h", "1 h 30", "30 min"."""
    return duration(us).removesuffix(" 00")


def progress(done_us: int, needed_us: int) -> str:
    """How much of a span is done: "55 of 60 min" for what is counted in minutes (up to 90), else "1 h 50 of 12 h"."""
    if 0 <= needed_us <= 90 * MINUTE_US and 0 <= done_us <= 90 * MINUTE_US and not needed_us % MINUTE_US:
        return say("{done} of {needed} min", done=done_us // MINUTE_US, needed=needed_us // MINUTE_US)
    return say("{done} of {needed}", done=duration(done_us), needed=limit_text(needed_us))


# --- instants as local text ----------------------------------------------------------------------


def zone_of(zone: Zone) -> ZoneInfo:
    """The zone itself. BadInput "zone.unknown" for a name that the time zone data does not know."""
    if isinstance(zone, ZoneInfo):
        return zone
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError) as error:  # not found, "../x", the folder "Europe"
        text = say("There is no time zone “{zone}”: use a name such as Europe/Copenhagen.", zone=zone[:40])
        raise BadInput("zone.unknown", text, "zone") from error


def local(us: int, zone: Zone) -> datetime:
    """The instant as an aware local datetime, for display only (arithmetic stays in µs)."""
    try:
        return (_EPOCH + timedelta(microseconds=us)).astimezone(zone_of(zone))
    except OverflowError as error:
        raise BadInput("instant.range", say("This instant lies outside the calendar (year 1 to 9999)."), us=us) from error


def local_date(us: int, zone: Zone) -> date:
    """The day on the site's wall calendar at that instant."""
    return local(us, zone).date()


def local_text(us: int, zone: Zone) -> str:
    """ "2026-03-30 08:15", rounded down to the minute."""
    t = local(us, zone)
    return f"{t.year:04d}-{t.month:02d}-{t.day:02d} {t.hour:02d}:{t.minute:02d}"


def clock_text(us: int, zone: Zone) -> str:
    """ "08:15": for an instant that everybody takes for today's."""
    t = local(us, zone)
    return f"{t.hour:02d}:{t.minute:02d}"


def weekday_text(us: int, zone: Zone) -> str:
    """ "Fri 16:30": for an instant less than a week away."""
    t = local(us, zone)
    return say("{weekday} {clock}", weekday=DAYS[t.weekday()], clock=f"{t.hour:02d}:{t.minute:02d}")


def day_text(us: int, zone: Zone) -> str:
    """ "Sat 28 Mar 12:30": for an instant less than a year away."""
    return at_clock(day_name(us, zone), clock_text(us, zone))


def at_clock(day: str, clock: str) -> str:
    """ "Sat 28 Mar 12:30", of its two parts."""
    return say("{day} {clock}", day=day, clock=clock)


def day_name(us: int, zone: Zone) -> str:
    """ "Sat 28 Mar": a day less than a year away."""
    t = local(us, zone)
    return day_words(DAYS[t.weekday()], t.day, MONTHS[t.month - 1])


def day_words(weekday: str, number: int, month: str) -> str:
    """ "Sat 28 Mar", of its three parts."""
    return say("{weekday} {number} {month}", weekday=weekday, number=number, month=month)


# --- ends ----------------------------------------------------------------------------------------


def start_of_day_us(day: date, zone: Zone) -> int:
    """The first instant of a local day. Where the clocks jump over midnight, the day begins at the jump; where midnight comes
    twice, at the first (both are what PEP 495 gives for fold 0)."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone_of(zone))
    try:
        return (midnight.astimezone(UTC) - _EPOCH) // timedelta(microseconds=1)
    except OverflowError as error:
        raise _off_calendar() from error


def end_of_day_us(day: date, zone: Zone) -> int:
    """The first instant after a local day: a date lasts *through* that day (R41)."""
    if day == date.max:
        raise _off_calendar()
    return start_of_day_us(day + timedelta(days=1), zone)


def end_of_month_us(year: int, month: int, zone: Zone) -> int:
    """The first instant after a local month: "2026-03" lasts through 31 March (R41)."""
    return end_of_day_us(_last_day(year, month), zone)


def add_months(day: date, months: int) -> date:
    """Calendar months, clipped to the last day of a shorter month: 31 Aug + 6 = 28 Feb (R41). `months` may be negative."""
    ordinal = day.year * 12 + day.month - 1 + months
    year, month = ordinal // 12, ordinal % 12 + 1
    last = _last_day(year, month)
    return last if day.day > last.day else date(year, month, day.day)


def calendar_end_us(from_us: int, months: int, zone: Zone) -> int:
    """The end of a life of so many calendar months that began at an instant: the end of the local day it falls on (R41)."""
    return end_of_day_us(add_months(local_date(from_us, zone), months), zone)


def _last_day(year: int, month: int) -> date:
    if not (1 <= year <= 9999 and 1 <= month <= 12):
        raise _off_calendar()
    return date(year, month, calendar.monthrange(year, month)[1])


def _off_calendar() -> BadInput:
    return BadInput("date.range", say("This date lies outside the calendar: {how}.", how=_HOW))


# --- dates as printed on labels and typed by people ------------------------------------------------


@dataclass(frozen=True, slots=True)
class DateText:
    """A date as it was written: a day, or a month without a day (`day` is None), which lasts through its last day."""

    year: int
    month: int
    day: int | None

    @property
    def last_day(self) -> date:
        return date(self.year, self.month, self.day) if self.day else _last_day(self.year, self.month)

    def end_us(self, zone: Zone) -> int:
        """The first instant at which a life that is printed with this date is over."""
        return end_of_day_us(self.last_day, zone)

    def __str__(self) -> str:
        return f"{self.year:04d}-{self.month:02d}" + (f"-{self.day:02d}" if self.day else "")


def parse_date_text(text: str) -> DateText:
    """Read "2026-03-30" or "2026-03". Nothing else: every other order of the figures means two dates to two people, so a guess
    could lengthen a life. BadInput with what to type: "date.short_year", "date.form", "date.no_such_day", "date.range"."""
    text = text.strip()
    found = _ISO.fullmatch(text)
    shown = text if len(text) <= 40 else text[:40] + "…"
    if not found:
        if _SHORT_YEAR.fullmatch(text):
            raise BadInput(
                "date.short_year", say("“{shown}” does not show the year with four figures: {how}.", shown=shown, how=_HOW), "date"
            )
        raise BadInput("date.form", say("“{shown}” is not read as a date: {how}.", shown=shown, how=_HOW), "date")
    year, month, day = int(found[1]), int(found[2]), int(found[3]) if found[3] else None
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise BadInput(
            "date.range",
            say(
                "The year {year} cannot be right (from {first_year} to {last_year}): {how}.",
                year=year,
                first_year=FIRST_YEAR,
                last_year=LAST_YEAR,
                how=_HOW,
            ),
            "date",
        )
    if not 1 <= month <= 12:
        raise BadInput("date.no_such_day", say("There is no month {found}: {how}.", found=found[2], how=_HOW), "date")
    last = calendar.monthrange(year, month)[1]
    if found[3] and not 1 <= int(found[3]) <= last:
        text = say(
            "{months} {year} has no day {found}, it has {last} days: {how}.",
            months=MONTHS[month - 1],
            year=year,
            found=found[3],
            last=last,
            how=_HOW,
        )
        raise BadInput("date.no_such_day", text, "date")
    return DateText(year, month, day)
